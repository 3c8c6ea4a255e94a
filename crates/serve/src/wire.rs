//! What passes between the page and the server, as JSON. `web/src/wire/types.ts` is written from these types by the test
//! `the_page_knows_these_types`.
//!
//! SI units; pan frame (x to the engine's front, y to its left, z up from the flange's face) unless a field says the car's
//! frame (x forward, y left, z up). Series of numbers are flat lists; those that are long travel as base64 of little-endian
//! f32, named [`Packed`].

use serde::{Deserialize, Serialize};

/// Base64 of f32 numbers, little-endian.
pub type Packed = String;

/// A value of the design that is not what its file says.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Change {
    /// The key as a study writes it: `fill.volume`, `plate "front wall".z[1]`, `pickup.mouth[2]`.
    pub key: String,
    /// The value as TOML: `"4.8 L"` with its quotes, `0.3`, `true`.
    pub value: String,
}

/// A design as it stands on disk with some changes; what every question begins with.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Variant {
    /// The design file, relative to the project's folder, with `/` between parts.
    pub design: String,
    /// What is changed; a later change of a key takes the place of an earlier one.
    pub changes: Vec<Change>,
}

/// What is wrong, where, and how to mend it. Answers with a status of 4xx or 5xx hold a list of these.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Fault {
    /// What is wrong, as a sentence.
    pub what: String,
    /// File and line, or another place.
    pub place: String,
    /// The key it belongs to, when it belongs to one.
    pub key: Option<String>,
    /// How to mend it.
    pub mend: String,
}

/// Why a question has no answer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Refusal {
    /// All that is wrong.
    pub faults: Vec<Fault>,
}

/// GET /api/project: the folder that is served.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Project {
    /// Version of the program.
    pub version: String,
    /// Name of the folder.
    pub folder: String,
    /// The design named on the command line.
    pub opened: Option<String>,
    /// All designs found in the folder.
    pub designs: Vec<DesignFile>,
    /// Cautions that the page shows once, plainly.
    pub cautions: Vec<String>,
}

/// A design file of the folder.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct DesignFile {
    /// Relative to the folder.
    pub file: String,
    /// Its own name.
    pub name: String,
    /// The file it revises.
    pub base: Option<String>,
}

/// POST /api/pan with a [`Variant`]: the pan as it stands, and what can be changed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct PanAnswer {
    /// Name of the design.
    pub name: String,
    /// Hash of the design's files as they stand on disk, without the changes.
    pub digest: String,
    /// `metric` or `inch`: which is written first.
    pub units: String,
    /// The pan in three dimensions.
    pub scene: SceneWire,
    /// What can be changed, in the order of the page.
    pub controls: Vec<Control>,
    /// Notes on the design: what is unusual in it.
    pub notes: Vec<String>,
    /// What the changes come to against the file, in words.
    pub differences: Vec<String>,
}

/// A surface of triangles with the edges worth a line; flat lists.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct MeshWire {
    /// x, y, z of each point.
    pub points: Vec<f32>,
    /// Three points each.
    pub triangles: Vec<u32>,
    /// Two points each.
    pub edges: Vec<u32>,
}

/// A plate.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct PlateWire {
    /// Name.
    pub name: String,
    /// Its surface, openings cut out.
    pub mesh: MeshWire,
}

/// A door as a rectangle that turns about its hinge.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct DoorWire {
    /// Name.
    pub name: String,
    /// Four corners when shut, the first two on the hinge.
    pub corners: Vec<f32>,
    /// Unit vector; a positive turn about it opens.
    pub hinge: Vec<f32>,
}

/// The mouth of the pickup.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct MouthWire {
    /// Centre.
    pub at: [f32; 3],
    /// Bore [m].
    pub diameter: f32,
}

/// What the crank and rods sweep: a cylinder.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SweepWire {
    /// Ends of its axis.
    pub ends: [[f32; 3]; 2],
    /// Radius [m].
    pub radius: f32,
}

/// A space between plates.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SpaceWire {
    /// Where it is, in words: its name.
    pub name: String,
    /// All that it holds [m³].
    pub volume: f64,
    /// Its middle.
    pub middle: [f32; 3],
    /// Whether the mouth is in it.
    pub mouth: bool,
}

/// The pan in three dimensions.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SceneWire {
    /// Cells along x, y, z.
    pub n: [u32; 3],
    /// Cell edge [m].
    pub cell: f32,
    /// Low corner of cell (0, 0, 0).
    pub origin: [f32; 3],
    /// Open share of each cell, packed as the replay packs a frame (16 levels); cell `i + nx*(j + ny*k)`.
    pub open: String,
    /// Base64 of one byte for each cell whose level in `open` is above 0, in order: its space, 255 for none.
    pub space_of: String,
    /// Surface of the cavity.
    pub shell: MeshWire,
    /// Plates.
    pub plates: Vec<PlateWire>,
    /// Doors.
    pub doors: Vec<DoorWire>,
    /// The mouth.
    pub mouth: Option<MouthWire>,
    /// What the crank sweeps.
    pub crank: Option<SweepWire>,
    /// Forward of the car (unit vector).
    pub car_forward: [f32; 3],
    /// Up of the standing car (unit vector).
    pub car_up: [f32; 3],
    /// Spaces, in the order of all lists of spaces.
    pub spaces: Vec<SpaceWire>,
}

/// Which kind of thing a control changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub enum Group {
    /// Fill, grade, temperature, aloft.
    Oil,
    /// Walls, shelves, roofs.
    Plates,
    /// One-way doors.
    Doors,
    /// Mouth and pump.
    Pickup,
    /// Grip, log or course scale.
    Drive,
    /// What the verdict is held to.
    Limits,
}

/// A value of the design that the page can change.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Control {
    /// Its key, for [`Change`].
    pub key: String,
    /// Short words: "wall B, height of its top".
    pub label: String,
    /// Which group it stands in.
    pub group: Group,
    /// What it is and why it matters.
    pub help: String,
    /// As TOML, with the changes of the variant.
    pub value: String,
    /// As TOML in the file; none when the file leaves it out.
    pub saved: Option<String>,
    /// The number in the unit that it is written in.
    pub number: f64,
    /// The unit as written; empty when it has none.
    pub unit: String,
    /// A sensible slider: low, high, step, in the same unit; typing may go beyond it.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Step.
    pub step: f64,
}

/// POST /api/still: a [`Variant`] under a steady pull.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct StillAsk {
    /// Which pan.
    pub variant: Variant,
    /// Acceleration of the car in g, car frame: forward, left, up. (0, 0, 0) is standing.
    pub acceleration: [f64; 3],
    /// Engine speed [rev/s], which decides how much oil is in the pan; 0 is the engine off, all oil home.
    pub engine_speed: f64,
}

/// Where the oil of a space lies.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SurfaceWire {
    /// Square to the surface, out of the oil.
    pub up: [f32; 3],
    /// The surface is where `up · x = height` [m].
    pub height: f32,
    /// Oil in the space [m³].
    pub volume: f64,
}

/// Oil at rest.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct StillAnswer {
    /// Oil in the pan [m³].
    pub oil: f64,
    /// Each space's surface.
    pub surfaces: Vec<SurfaceWire>,
    /// Oil over the mouth along the pull [m]; 0 when bare. None without a mouth.
    pub cover: Option<f64>,
    /// `covered`, `thin` or `bare`.
    pub word: String,
    /// Oil in what the crank sweeps [m³].
    pub at_crank: f64,
    /// Level over the flange's face at the mouth when the car stands [m].
    pub level: f64,
}

/// POST /api/lap with a [`Variant`]: the whole drive by bays.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct LapAnswer {
    /// What was driven.
    pub drive: String,
    /// Time of each row [s]; all series below have a row each.
    pub time: Packed,
    /// Distance [m]; empty when it is not known.
    pub distance: Packed,
    /// Road speed [m/s]; empty when it is not known.
    pub speed: Packed,
    /// Engine speed [rev/s].
    pub engine_speed: Packed,
    /// Acceleration of the car in g, car frame, three numbers a row.
    pub acceleration: Packed,
    /// Place on the course [m], two numbers a row; empty when it is not known.
    pub place: Packed,
    /// Oil over the mouth [m].
    pub cover: Packed,
    /// 1 where the verdict counts the mouth as bare.
    pub bare: Packed,
    /// Oil in each space [m³], as many numbers a row as there are spaces.
    pub spaces: Packed,
    /// `up` and `height` of each space's surface, four numbers a space and row.
    pub surfaces: Packed,
    /// Opening of each door [rad].
    pub doors: Packed,
    /// Cover under which the mouth is called thin [m].
    pub limit: f64,
    /// The verdict's word: `covered`, `thin`, ...
    pub word: String,
    /// The verdict as a sentence: place, cause and cure.
    pub sentence: String,
    /// Least cover [m] and its time [s].
    pub least_cover: f64,
    /// When.
    pub least_at: f64,
    /// Time that the mouth was bare [s].
    pub bare_time: f64,
    /// Air drawn [m³].
    pub air: f64,
    /// Marks to jump to, worst first.
    pub moments: Vec<MomentWire>,
    /// Laps: name, start, end [s].
    pub laps: Vec<LapWire>,
    /// What a sketch cannot see.
    pub blind: String,
    /// How the drive was read.
    pub said: Vec<String>,
}

/// A moment worth looking at.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct MomentWire {
    /// Short name.
    pub name: String,
    /// Where on the lap.
    pub place: String,
    /// Start [s].
    pub start: f64,
    /// End [s].
    pub end: f64,
    /// The worst instant [s].
    pub worst: f64,
    /// Least cover within [m].
    pub least_cover: f64,
}

/// A lap.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct LapWire {
    /// Name.
    pub name: String,
    /// Start [s].
    pub start: f64,
    /// End [s].
    pub end: f64,
}

/// POST /api/round with a [`Variant`]: at which steady g the mouth runs dry, by direction.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct RoundAnswer {
    /// Directions that oil is pushed to, seen from above in the car's frame [rad]: 0 is forward, counted to the left.
    pub directions: Vec<f64>,
    /// Least g at which the mouth is dry in a long corner; none where it is covered up to `most_g`.
    pub first_dry_long: Vec<Option<f64>>,
    /// The same in the first instant, each space keeping its oil; empty when the pan has one space.
    pub first_dry_instant: Vec<Option<f64>>,
    /// Largest g of the map.
    pub most_g: f64,
    /// The drive's points: acceleration forward and left in g, two numbers each.
    pub points: Packed,
}

/// POST /api/section: a part of the report by itself.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SectionAsk {
    /// Which pan.
    pub variant: Variant,
    /// Which part.
    pub part: Part,
}

/// Parts of the job that have a place on the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub enum Part {
    /// Is the pump fed?
    Feed,
    /// Flange, gasket, bolts, torque.
    Seal,
    /// Cards of the bench.
    Cards,
    /// Clearance.
    Clearance,
}

/// A part of the report.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SectionAnswer {
    /// Markup made by the report, all of a user's text escaped; no scripts, no inline styles.
    pub html: String,
    /// Bolts in their order of tightening, for the card with a tick per bolt; empty elsewhere.
    pub bolts: Vec<String>,
    /// Why there is nothing to show, when the design does not speak of it.
    pub nothing: Option<String>,
}

/// POST /api/save: the variant as a revision.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SaveAsk {
    /// What is saved.
    pub variant: Variant,
    /// [`PanAnswer::digest`] that the changes were made on; another digest on disk is a conflict (409).
    pub digest: String,
    /// Name of the new design.
    pub name: String,
    /// New file, relative to the folder; one that exists is a conflict (409).
    pub file: String,
}

/// Saved.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SaveAnswer {
    /// The file.
    pub file: String,
    /// Its text.
    pub text: String,
}

/// What a run does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub enum RunKind {
    /// The main job: worst moments in three dimensions, verdict, report.
    Check,
    /// The drive by bays, as a report.
    Sketch,
    /// The folder for the bench.
    Shop,
}

/// POST /api/runs: put a run into the queue.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct RunAsk {
    /// Which pan.
    pub variant: Variant,
    /// What to do.
    pub kind: RunKind,
    /// Cell edge as written, such as `6 mm`; chosen from the pan when left out.
    pub cell: Option<String>,
    /// Skip the search for the lowest fill.
    pub brief: bool,
}

/// How a run stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub enum RunState {
    /// Waits for its turn.
    Waiting,
    /// Computes.
    Running,
    /// Was stopped by the user; can go on.
    Stopped,
    /// Ended well.
    Done,
    /// Could not be computed.
    Failed,
}

/// A run of the queue (GET /api/runs gives all; POST /api/runs/ID/stop, /resume, /forget change one).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Run {
    /// Its number, counted up.
    pub id: u32,
    /// What was asked.
    pub ask: RunAsk,
    /// Name of the design.
    pub name: String,
    /// How it stands.
    pub state: RunState,
    /// The line that tells how far it is: "the worst moments: 1.2 of 4.8 s, about 40 s left". Empty when `state` says all.
    pub line: String,
    /// Share that is done, 0..1, when it is known.
    pub share: Option<f64>,
    /// Seconds left, when it is known.
    pub left: Option<f64>,
    /// Frames that can be looked at by now, over all moments computed.
    pub frames: u32,
    /// The verdict when done.
    pub verdict: Option<VerdictWire>,
    /// What went wrong.
    pub faults: Vec<Fault>,
    /// Files that it wrote: GET /api/runs/ID/files/NAME.
    pub files: Vec<RunFile>,
}

/// A file that a run wrote.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct RunFile {
    /// Relative to the run's folder, with `/` between parts.
    pub name: String,
    /// Bytes.
    #[cfg_attr(test, ts(type = "number"))]
    pub size: u64,
}

/// POST /api/runs/ID/show/NAME: an address at which a file of a run can be looked at in a tab of its own, such as the report,
/// whose scripts and styles the page's rules would not let run. Good until the server ends; it can ask nothing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Shown {
    /// Begins with `/shown/`.
    pub address: String,
}

/// A verdict in short.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct VerdictWire {
    /// Its word.
    pub word: String,
    /// Its sentence.
    pub sentence: String,
    /// Least cover [m].
    pub least_cover: Option<f64>,
}

/// GET /api/runs/ID/frames?moment=M&from=F: pictures of a moment that is being computed, from frame F on; at most 100, the
/// rest when asked on from there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct FramesAnswer {
    /// All moments of the run, M counts in them; one that has no pictures yet gives none. Empty before the run has begun.
    pub moments: Vec<String>,
    /// The pan on the grid of this run, without its spaces; only with `from` 0.
    pub scene: Option<SceneWire>,
    /// Time of each frame [s].
    pub times: Vec<f64>,
    /// Oil over the mouth [m], as far as the run's history is known.
    pub cover: Vec<Option<f64>>,
    /// Apparent gravity, pan frame, three a frame [m/s²].
    pub gravity: Vec<f32>,
    /// Opening of each door [rad].
    pub doors: Vec<f32>,
    /// Oil of the open cells, each frame packed by itself as the replay packs (16 levels, from an empty pan), base64.
    pub fills: Vec<String>,
}

/// Server-sent events of GET /api/events, each named by `kind`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(tag = "kind", rename_all = "lowercase")]
#[allow(clippy::large_enum_variant, reason = "most events are runs")]
pub enum Event {
    /// A run is new or stands otherwise.
    Run {
        /// The run.
        run: Box<Run>,
    },
    /// A run was forgotten.
    Forgotten {
        /// Its number.
        id: u32,
    },
    /// A design or what it reads is another on disk.
    Changed {
        /// The design.
        design: String,
        /// Its new digest; none when the file is gone.
        digest: Option<String>,
    },
    /// Nothing happened; sent so that a lost connection is noticed.
    Alive,
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;
    use ts_rs::TS;

    const HEAD: &str = "\
// Written from crates/serve/src/wire.rs, where every field is explained, by `cargo test -p sumpwright-serve`.
// Do not change by hand: run that test with SUMPWRIGHT_WRITE=1.
";

    fn declared() -> String {
        let all = [
            Change::decl(),
            Variant::decl(),
            Fault::decl(),
            Refusal::decl(),
            Project::decl(),
            DesignFile::decl(),
            PanAnswer::decl(),
            MeshWire::decl(),
            PlateWire::decl(),
            DoorWire::decl(),
            MouthWire::decl(),
            SweepWire::decl(),
            SpaceWire::decl(),
            SceneWire::decl(),
            Group::decl(),
            Control::decl(),
            StillAsk::decl(),
            SurfaceWire::decl(),
            StillAnswer::decl(),
            LapAnswer::decl(),
            MomentWire::decl(),
            LapWire::decl(),
            RoundAnswer::decl(),
            SectionAsk::decl(),
            Part::decl(),
            SectionAnswer::decl(),
            SaveAsk::decl(),
            SaveAnswer::decl(),
            RunKind::decl(),
            RunAsk::decl(),
            RunState::decl(),
            Run::decl(),
            RunFile::decl(),
            Shown::decl(),
            VerdictWire::decl(),
            FramesAnswer::decl(),
            Event::decl(),
        ];
        let lines: Vec<String> = all.iter().map(|line| format!("export {line}\n")).collect();
        format!("{HEAD}{}", lines.join(""))
    }

    #[test]
    fn the_page_knows_these_types() {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../web/src/wire/types.ts");
        let due = declared();
        if std::env::var_os("SUMPWRIGHT_WRITE").is_some() {
            std::fs::write(&path, &due).expect("the page's folder can be written to");
        }
        let found = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(
            found == due,
            "web/src/wire/types.ts is not what crates/serve/src/wire.rs says; run this test with SUMPWRIGHT_WRITE=1"
        );
    }
}
