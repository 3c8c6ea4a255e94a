// Written from crates/serve/src/wire.rs, where every field is explained, by `cargo test -p sumpwright-serve`.
// Do not change by hand: run that test with SUMPWRIGHT_WRITE=1.
export type Change = { 
/**
 * The key as a study writes it: `fill.volume`, `plate "front wall".z[1]`, `pickup.mouth[2]`.
 */
key: string, 
/**
 * The value as TOML: `"4.8 L"` with its quotes, `0.3`, `true`.
 */
value: string, };
export type Variant = { 
/**
 * The design file, relative to the project's folder, with `/` between parts.
 */
design: string, 
/**
 * What is changed; a later change of a key takes the place of an earlier one.
 */
changes: Array<Change>, };
export type Fault = { 
/**
 * What is wrong, as a sentence.
 */
what: string, 
/**
 * File and line, or another place.
 */
place: string, 
/**
 * The key it belongs to, when it belongs to one.
 */
key: string | null, 
/**
 * How to mend it.
 */
mend: string, };
export type Refusal = { 
/**
 * All that is wrong.
 */
faults: Array<Fault>, };
export type Project = { 
/**
 * Version of the program.
 */
version: string, 
/**
 * Name of the folder.
 */
folder: string, 
/**
 * The design named on the command line.
 */
opened: string | null, 
/**
 * All designs found in the folder.
 */
designs: Array<DesignFile>, 
/**
 * Cautions that the page shows once, plainly.
 */
cautions: Array<string>, };
export type DesignFile = { 
/**
 * Relative to the folder.
 */
file: string, 
/**
 * Its own name.
 */
name: string, 
/**
 * The file it revises.
 */
base: string | null, };
export type PanAnswer = { 
/**
 * Name of the design.
 */
name: string, 
/**
 * Hash of the design's files as they stand on disk, without the changes.
 */
digest: string, 
/**
 * `metric` or `inch`: which is written first.
 */
units: string, 
/**
 * The pan in three dimensions.
 */
scene: SceneWire, 
/**
 * What can be changed, in the order of the page.
 */
controls: Array<Control>, 
/**
 * Notes on the design: what is unusual in it.
 */
notes: Array<string>, 
/**
 * What the changes come to against the file, in words.
 */
differences: Array<string>, };
export type MeshWire = { 
/**
 * x, y, z of each point.
 */
points: Array<number>, 
/**
 * Three points each.
 */
triangles: Array<number>, 
/**
 * Two points each.
 */
edges: Array<number>, };
export type PlateWire = { 
/**
 * Name.
 */
name: string, 
/**
 * Its surface, openings cut out.
 */
mesh: MeshWire, };
export type DoorWire = { 
/**
 * Name.
 */
name: string, 
/**
 * Four corners when shut, the first two on the hinge.
 */
corners: Array<number>, 
/**
 * Unit vector; a positive turn about it opens.
 */
hinge: Array<number>, };
export type MouthWire = { 
/**
 * Centre.
 */
at: [number, number, number], 
/**
 * Bore [m].
 */
diameter: number, };
export type SweepWire = { 
/**
 * Ends of its axis.
 */
ends: [[number, number, number], [number, number, number]], 
/**
 * Radius [m].
 */
radius: number, };
export type SpaceWire = { 
/**
 * Where it is, in words: its name.
 */
name: string, 
/**
 * All that it holds [m³].
 */
volume: number, 
/**
 * Its middle.
 */
middle: [number, number, number], 
/**
 * Whether the mouth is in it.
 */
mouth: boolean, };
export type SceneWire = { 
/**
 * Cells along x, y, z.
 */
n: [number, number, number], 
/**
 * Cell edge [m].
 */
cell: number, 
/**
 * Low corner of cell (0, 0, 0).
 */
origin: [number, number, number], 
/**
 * Open share of each cell, packed as the replay packs a frame (16 levels); cell `i + nx*(j + ny*k)`.
 */
open: string, 
/**
 * Base64 of one byte for each cell whose level in `open` is above 0, in order: its space, 255 for none.
 */
space_of: string, 
/**
 * Surface of the cavity.
 */
shell: MeshWire, 
/**
 * Plates.
 */
plates: Array<PlateWire>, 
/**
 * Doors.
 */
doors: Array<DoorWire>, 
/**
 * The mouth.
 */
mouth: MouthWire | null, 
/**
 * What the crank sweeps.
 */
crank: SweepWire | null, 
/**
 * Forward of the car (unit vector).
 */
car_forward: [number, number, number], 
/**
 * Up of the standing car (unit vector).
 */
car_up: [number, number, number], 
/**
 * Spaces, in the order of all lists of spaces.
 */
spaces: Array<SpaceWire>, };
export type Group = "oil" | "plates" | "doors" | "pickup" | "drive" | "limits";
export type Control = { 
/**
 * Its key, for [`Change`].
 */
key: string, 
/**
 * Short words: "wall B, height of its top".
 */
label: string, 
/**
 * Which group it stands in.
 */
group: Group, 
/**
 * What it is and why it matters.
 */
help: string, 
/**
 * As TOML, with the changes of the variant.
 */
value: string, 
/**
 * As TOML in the file; none when the file leaves it out.
 */
saved: string | null, 
/**
 * The number in the unit that it is written in.
 */
number: number, 
/**
 * The unit as written; empty when it has none.
 */
unit: string, 
/**
 * A sensible slider: low, high, step, in the same unit; typing may go beyond it.
 */
low: number, 
/**
 * Upper end.
 */
high: number, 
/**
 * Step.
 */
step: number, };
export type StillAsk = { 
/**
 * Which pan.
 */
variant: Variant, 
/**
 * Acceleration of the car in g, car frame: forward, left, up. (0, 0, 0) is standing.
 */
acceleration: [number, number, number], 
/**
 * Engine speed [rev/s], which decides how much oil is in the pan; 0 is the engine off, all oil home.
 */
engine_speed: number, };
export type SurfaceWire = { 
/**
 * Square to the surface, out of the oil.
 */
up: [number, number, number], 
/**
 * The surface is where `up · x = height` [m].
 */
height: number, 
/**
 * Oil in the space [m³].
 */
volume: number, };
export type StillAnswer = { 
/**
 * Oil in the pan [m³].
 */
oil: number, 
/**
 * Each space's surface.
 */
surfaces: Array<SurfaceWire>, 
/**
 * Oil over the mouth along the pull [m]; 0 when bare. None without a mouth.
 */
cover: number | null, 
/**
 * `covered`, `thin` or `bare`.
 */
word: string, 
/**
 * Oil in what the crank sweeps [m³].
 */
at_crank: number, 
/**
 * Level over the flange's face at the mouth when the car stands [m].
 */
level: number, };
export type LapAnswer = { 
/**
 * What was driven.
 */
drive: string, 
/**
 * Time of each row [s]; all series below have a row each.
 */
time: string, 
/**
 * Distance [m]; empty when it is not known.
 */
distance: string, 
/**
 * Road speed [m/s]; empty when it is not known.
 */
speed: string, 
/**
 * Engine speed [rev/s].
 */
engine_speed: string, 
/**
 * Acceleration of the car in g, car frame, three numbers a row.
 */
acceleration: string, 
/**
 * Place on the course [m], two numbers a row; empty when it is not known.
 */
place: string, 
/**
 * Oil over the mouth [m].
 */
cover: string, 
/**
 * 1 where the verdict counts the mouth as bare.
 */
bare: string, 
/**
 * Oil in each space [m³], as many numbers a row as there are spaces.
 */
spaces: string, 
/**
 * `up` and `height` of each space's surface, four numbers a space and row.
 */
surfaces: string, 
/**
 * Opening of each door [rad].
 */
doors: string, 
/**
 * Cover under which the mouth is called thin [m].
 */
limit: number, 
/**
 * The verdict's word: `covered`, `thin`, ...
 */
word: string, 
/**
 * The verdict as a sentence: place, cause and cure.
 */
sentence: string, 
/**
 * Least cover [m] and its time [s].
 */
least_cover: number, 
/**
 * When.
 */
least_at: number, 
/**
 * Time that the mouth was bare [s].
 */
bare_time: number, 
/**
 * Air drawn [m³].
 */
air: number, 
/**
 * Marks to jump to, worst first.
 */
moments: Array<MomentWire>, 
/**
 * Laps: name, start, end [s].
 */
laps: Array<LapWire>, 
/**
 * What a sketch cannot see.
 */
blind: string, 
/**
 * How the drive was read.
 */
said: Array<string>, };
export type MomentWire = { 
/**
 * Short name.
 */
name: string, 
/**
 * Where on the lap.
 */
place: string, 
/**
 * Start [s].
 */
start: number, 
/**
 * End [s].
 */
end: number, 
/**
 * The worst instant [s].
 */
worst: number, 
/**
 * Least cover within [m].
 */
least_cover: number, };
export type LapWire = { 
/**
 * Name.
 */
name: string, 
/**
 * Start [s].
 */
start: number, 
/**
 * End [s].
 */
end: number, };
export type RoundAnswer = { 
/**
 * Directions that oil is pushed to, seen from above in the car's frame [rad]: 0 is forward, counted to the left.
 */
directions: Array<number>, 
/**
 * Least g at which the mouth is dry in a long corner; none where it is covered up to `most_g`.
 */
first_dry_long: Array<number | null>, 
/**
 * The same in the first instant, each space keeping its oil; empty when the pan has one space.
 */
first_dry_instant: Array<number | null>, 
/**
 * Largest g of the map.
 */
most_g: number, 
/**
 * The drive's points: acceleration forward and left in g, two numbers each.
 */
points: string, };
export type SectionAsk = { 
/**
 * Which pan.
 */
variant: Variant, 
/**
 * Which part.
 */
part: Part, };
export type Part = "feed" | "seal" | "cards" | "clearance";
export type SectionAnswer = { 
/**
 * Markup made by the report, all of a user's text escaped; no scripts, no inline styles.
 */
html: string, 
/**
 * Bolts in their order of tightening, for the card with a tick per bolt; empty elsewhere.
 */
bolts: Array<string>, 
/**
 * Why there is nothing to show, when the design does not speak of it.
 */
nothing: string | null, };
export type SaveAsk = { 
/**
 * What is saved.
 */
variant: Variant, 
/**
 * [`PanAnswer::digest`] that the changes were made on; another digest on disk is a conflict (409).
 */
digest: string, 
/**
 * Name of the new design.
 */
name: string, 
/**
 * New file, relative to the folder; one that exists is a conflict (409).
 */
file: string, };
export type SaveAnswer = { 
/**
 * The file.
 */
file: string, 
/**
 * Its text.
 */
text: string, };
export type RunKind = "check" | "sketch" | "shop";
export type RunAsk = { 
/**
 * Which pan.
 */
variant: Variant, 
/**
 * What to do.
 */
kind: RunKind, 
/**
 * Cell edge as written, such as `6 mm`; chosen from the pan when left out.
 */
cell: string | null, 
/**
 * Skip the search for the lowest fill.
 */
brief: boolean, };
export type RunState = "waiting" | "running" | "stopped" | "done" | "failed";
export type Run = { 
/**
 * Its number, counted up.
 */
id: number, 
/**
 * What was asked.
 */
ask: RunAsk, 
/**
 * Name of the design.
 */
name: string, 
/**
 * How it stands.
 */
state: RunState, 
/**
 * The line that tells how far it is: "the worst moments: 1.2 of 4.8 s, about 40 s left". Empty when `state` says all.
 */
line: string, 
/**
 * Share that is done, 0..1, when it is known.
 */
share: number | null, 
/**
 * Seconds left, when it is known.
 */
left: number | null, 
/**
 * Frames that can be looked at by now, over all moments computed.
 */
frames: number, 
/**
 * The verdict when done.
 */
verdict: VerdictWire | null, 
/**
 * What went wrong.
 */
faults: Array<Fault>, 
/**
 * Files that it wrote: GET /api/runs/ID/files/NAME.
 */
files: Array<RunFile>, };
export type RunFile = { 
/**
 * Relative to the run's folder, with `/` between parts.
 */
name: string, 
/**
 * Bytes.
 */
size: number, };
export type Shown = { 
/**
 * Begins with `/shown/`.
 */
address: string, };
export type VerdictWire = { 
/**
 * Its word.
 */
word: string, 
/**
 * Its sentence.
 */
sentence: string, 
/**
 * Least cover [m].
 */
least_cover: number | null, };
export type FramesAnswer = { 
/**
 * All moments of the run, M counts in them; one that has no pictures yet gives none. Empty before the run has begun.
 */
moments: Array<string>, 
/**
 * The pan on the grid of this run, without its spaces; only with `from` 0.
 */
scene: SceneWire | null, 
/**
 * Time of each frame [s].
 */
times: Array<number>, 
/**
 * Oil over the mouth [m], as far as the run's history is known.
 */
cover: Array<number | null>, 
/**
 * Apparent gravity, pan frame, three a frame [m/s²].
 */
gravity: Array<number>, 
/**
 * Opening of each door [rad].
 */
doors: Array<number>, 
/**
 * Oil of the open cells, each frame packed by itself as the replay packs (16 levels, from an empty pan), base64.
 */
fills: Array<string>, };
export type Event = { "kind": "run", 
/**
 * The run.
 */
run: Run, } | { "kind": "forgotten", 
/**
 * Its number.
 */
id: number, } | { "kind": "changed", 
/**
 * The design.
 */
design: string, 
/**
 * Its new digest; none when the file is gone.
 */
digest: string | null, } | { "kind": "alive" };
