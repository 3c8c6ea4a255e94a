//! The command line.

use clap::{Args, Parser, Subcommand};
use std::net::IpAddr;
use std::path::{Path, PathBuf};

/// Where does the oil in this pan go, and does the pickup stay covered?
///
/// Describe the pan in one design file, name a logged lap or a course, run `sumpwright check`.
/// Results are an aid to judgement and not a certificate: keep the pressure alarm connected.
#[derive(Parser)]
#[command(name = "sumpwright", version, max_term_width = 100)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// Commands.
#[derive(Subcommand)]
pub enum Command {
    /// Write a commented starter design into a new folder
    New(New),
    /// The main job: read the design, compute the oil on the worst moments of the drive, give the verdict
    Check(Check),
    /// Open the page: change the pan and see at once where the oil goes, start runs and watch them
    Open(Open),
    /// Look at a log before it is driven: columns, rates, what was inferred and why, laps, hardest moments, what is missing
    Drive(Log),
    /// Read an outline from a drawing (DXF, SVG), a typed table or a scan: what was understood, holes, scale; write it true to size
    Outline(Outline),
    /// What a key of a design file means, how it is written, what it takes when left out, how much it matters
    Explain(Explain),
    /// What one design changes against another, in words and numbers: litres, depth, plates, mouth
    Diff(Diff),
    /// Look at a mesh file (STL, OBJ, 3MF) before it is used: units, size, volume, flange, holes, oil side, what was healed
    Solid(Solid),
    /// Oil at rest: capacity, level, dipstick table, and the g at which the mouth runs bare
    Still(Still),
    /// Does the pan clear the car round it and the crank inside it? Least gaps, room to grow, the way out
    Clearance(Clearance),
    /// Is the pump fed through its suction line? Inlet pressure over speed and oil temperature, losses, air at the joint
    Feed(Feed),
    /// Will the flange seal? Flatness as measured, pressure along the joint, torque and its range, order of tightening
    Seal(Seal),
    /// What the bench and the mill work from, as one folder: files to cut, templates on paper, cards, lists
    Shop(Shop),
    /// The whole drive in seconds: oil between the spaces that plates and doors make; a sketch, for trying ideas
    Bays(Bays),
    /// Many variants of a design: what each comes to, what is best, which number decides, how likely air is drawn
    Study(Study),
    /// Compute the oil in three dimensions over a stretch of the drive that you name
    Slosh(Slosh),
    /// Write a run's pictures for general viewers: VTK ImageData and glTF
    Export(Export),
}

/// `new`
#[derive(Args)]
pub struct New {
    /// Folder to make
    pub folder: PathBuf,
}

/// What every computing command takes.
#[derive(Args)]
pub struct Common {
    /// Design file
    pub design: PathBuf,
    /// Drive over this logged lap (CSV) instead of the design's own drive
    #[arg(long, value_name = "FILE", conflicts_with = "course")]
    pub log: Option<PathBuf>,
    /// Drive over a lap computed on this course (CSV of x, y in metres) instead of the design's own drive
    #[arg(long, value_name = "FILE")]
    pub course: Option<PathBuf>,
    /// Print one JSON object on stdout (docs/results.md), everything else on stderr
    #[arg(long)]
    pub json: bool,
}

impl Common {
    /// A design by itself.
    pub fn of(design: &Path) -> Common {
        Common {
            design: design.to_owned(),
            log: None,
            course: None,
            json: false,
        }
    }
}

/// What the commands with a slosh run take.
#[derive(Args)]
pub struct Computing {
    /// Folder for the report and the runs [default: DESIGN-results beside the design]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Cell size, such as "6 mm" [default: chosen from the pan, and said]
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub cell: Option<String>,
    /// Use about the smallest cells with which everything ends within this time on this machine, such as "5min"
    #[arg(
        long,
        value_name = "TIME",
        conflicts_with = "cell",
        allow_hyphen_values = true
    )]
    pub within: Option<String>,
    /// Compute on two or three cell sizes [three unless stated: --refine=2] and say how far the answer may move
    #[arg(
        long,
        value_name = "GRIDS",
        num_args = 0..=1,
        require_equals = true,
        default_missing_value = "3",
        value_parser = clap::value_parser!(u8).range(2..=3)
    )]
    pub refine: Option<u8>,
    /// Threads to compute with [default: all cores]; the answer does not depend on it
    #[arg(long, value_name = "N", value_parser = at_least_one)]
    pub threads: Option<usize>,
}

/// `check`
#[derive(Args)]
pub struct Check {
    /// Common arguments.
    #[command(flatten)]
    pub common: Common,
    /// Computing arguments.
    #[command(flatten)]
    pub computing: Computing,
    /// How many of the worst moments to compute in three dimensions
    #[arg(long, value_name = "N", default_value_t = 4, value_parser = clap::value_parser!(u8).range(1..=20))]
    pub moments: u8,
    /// Compute the whole drive in three dimensions instead of its worst moments
    #[arg(long, conflicts_with = "moments")]
    pub whole: bool,
    /// Skip the search for the lowest fill and the low and high oil aloft
    #[arg(long)]
    pub brief: bool,
    /// End with code 1 when the verdict is against the pan
    #[arg(long)]
    pub gate: bool,
}

/// `open`
#[derive(Args)]
pub struct Open {
    /// Design file, or the folder that holds designs [default: the current folder]
    pub design: Option<PathBuf>,
    /// Port to listen at; 0 is any free one [default: the folder's own, so that the browser finds what it kept for this page]
    #[arg(long, value_name = "N")]
    pub port: Option<u16>,
    /// Listen at this address of the machine instead of for this machine alone: whoever has the page's address may then use it
    #[arg(long, value_name = "ADDRESS")]
    pub listen: Option<IpAddr>,
    /// Only print the address
    #[arg(long)]
    pub no_browser: bool,
}

/// `drive`
#[derive(Args)]
pub struct Log {
    /// The log (CSV); by default the one that --design names
    #[arg(required_unless_present = "design")]
    pub log: Option<PathBuf>,
    /// Take the log as the [drive] of this design says
    #[arg(long, value_name = "PAN.TOML")]
    pub design: Option<PathBuf>,
    /// A line as it would stand under [drive], such as 'channels.lateral = { column = "#4", sign = "-" }'; may be repeated
    #[arg(long, value_name = "LINE")]
    pub with: Vec<String>,
    /// Draw the g-g cloud and the speed into this SVG file
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
    /// Print one JSON object on stdout (docs/results.md)
    #[arg(long)]
    pub json: bool,
}

/// `outline`
#[derive(Args)]
pub struct Outline {
    /// The drawing (DXF, SVG), table (CSV) or picture (PNG, JPEG) that holds the outline
    pub file: PathBuf,
    /// Unit of the file, where it does not say or says wrong: mm, cm, m, in, ft, mil, um, px (1/96 in), pt (1/72 in)
    #[arg(long, value_name = "UNIT")]
    pub unit: Option<String>,
    /// Take only this layer or group (may be given several times) [default: all that are shown]
    #[arg(long, value_name = "NAME")]
    pub layer: Vec<String>,
    /// Widest gap between loose ends that is closed [default: 0.05 mm]
    #[arg(long, value_name = "LENGTH")]
    pub join: Option<String>,
    /// How far arcs may lie from the curve, lines from the traced edge [default: 0.01 mm; 0.1 mm for a picture]
    #[arg(long, value_name = "LENGTH")]
    pub fit: Option<String>,
    /// Picture: its resolution in dots per inch, where the file does not say or says wrong
    #[arg(long, value_name = "DPI")]
    pub dpi: Option<f64>,
    /// Picture: straighten it by the sheet it lies on: a4, a3, letter, legal or "WIDTH, HEIGHT"; found, or at --corners
    #[arg(long, value_name = "SHEET")]
    pub sheet: Option<String>,
    /// Picture: four corners in pixels from the upper left, "x,y x,y x,y x,y": lower left, lower right, upper right, upper left
    #[arg(long, value_name = "CORNERS")]
    pub corners: Option<String>,
    /// Picture: distances between the corners: first to second, second to third, third to fourth, fourth to first, first to third
    #[arg(long, value_name = "LENGTHS", requires = "corners", conflicts_with = "sheet")]
    pub sides: Option<String>,
    /// Picture: the part is lighter than the ground it lies on
    #[arg(long)]
    pub light_part: bool,
    /// Give round holes the nearest clearance size for bolts, within 0.1 mm
    #[arg(long, value_enum)]
    pub snap: Option<Snap>,
    /// A distance measured on the part, such as "H1 H4 212.5 mm", "width 300 mm" or "H3 diameter 8.4 mm"; two prove the scale
    #[arg(long, value_name = "DISTANCE")]
    pub measured: Vec<String>,
    /// How far measured distances may be off [default: 0.5 mm]
    #[arg(long, value_name = "LENGTH")]
    pub agree: Option<String>,
    /// Take the scale from the measured distances
    #[arg(long, requires = "measured")]
    pub rescale: bool,
    /// Lay it level: the first of two holes becomes the origin, and the way to the second runs along x, such as "H1 H5"
    #[arg(long, value_name = "HOLES")]
    pub level: Option<String>,
    /// Write the outline true to size, in mm, as .dxf, .svg or .csv (may be given several times)
    #[arg(long, value_name = "FILE")]
    pub write: Vec<PathBuf>,
    /// Draw what was understood into this SVG file
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
    /// Print one JSON object on stdout (docs/outlines.md)
    #[arg(long)]
    pub json: bool,
}

/// `explain`
#[derive(Args)]
pub struct Explain {
    /// A section or a key, such as pickup or pickup.mouth [default: list the sections]
    pub key: Option<String>,
    /// Of which kind of file
    #[arg(long, value_enum, default_value_t = FileWord::Pan)]
    pub of: FileWord,
    /// Print the JSON schema (draft 4) that lets an editor complete and check a file, of a pan unless stated
    #[arg(
        long,
        value_enum,
        value_name = "KIND",
        num_args = 0..=1,
        require_equals = true,
        default_missing_value = "pan",
        conflicts_with_all = ["key", "of"]
    )]
    pub schema: Option<FileWord>,
    /// Print a JSON list on stdout
    #[arg(long)]
    pub json: bool,
}

/// What a file describes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum FileWord {
    /// A pan.
    Pan,
    /// An experiment.
    Experiment,
    /// A study.
    Study,
}

/// `diff`
#[derive(Args)]
pub struct Diff {
    /// The first design
    pub first: PathBuf,
    /// The design that is held against it
    pub second: PathBuf,
    /// Print one JSON object on stdout (docs/results.md)
    #[arg(long)]
    pub json: bool,
}

/// Which standard sizes holes take.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum Snap {
    /// For metric bolts.
    Metric,
    /// For inch bolts.
    Inch,
}

/// `solid`
#[derive(Args)]
pub struct Solid {
    /// The mesh file (STL, OBJ or 3MF, told by its bytes)
    pub file: PathBuf,
    /// Unit of the file, where it does not say or says nothing: um, mm, cm, m, in, ft
    #[arg(long, value_name = "UNIT")]
    pub unit: Option<String>,
    /// The oil's space itself, or the pan as a part with walls [default: seen from its shape]
    #[arg(long, value_enum)]
    pub shows: Option<Shows>,
    /// The file's way from pan to block, such as "+z" or "0 -1 0" [default: found]
    #[arg(long, value_name = "WAY", allow_hyphen_values = true)]
    pub up: Option<String>,
    /// The file's way to the engine's front, such as "-x", or from one hole toward another: --front "hole 9" "hole 1"
    #[arg(long, value_name = "WAY", num_args = 1..=2, allow_hyphen_values = true)]
    pub front: Vec<String>,
    /// What is x = 0, y = 0: a hole such as "hole 3", or a place of the file: "10 mm" "0 mm" "0 mm"
    #[arg(long, value_name = "PLACE", num_args = 1..=3, allow_hyphen_values = true)]
    pub origin: Vec<String>,
    /// A place on the flange's face, in the axes of the file: "0 mm" "0 mm" "0 mm"
    #[arg(long, value_name = "LENGTH", num_args = 3, allow_hyphen_values = true)]
    pub flange: Vec<String>,
    /// Widest hole through the wall that is closed [default: 45 mm]
    #[arg(long, value_name = "LENGTH")]
    pub opening: Option<String>,
    /// How far the flange's face may be off a plane; more for a scan [default: 0.1 mm]
    #[arg(long, value_name = "LENGTH")]
    pub flat: Option<String>,
    /// Edges nearer than this are sewn together [default: 0.05 mm]
    #[arg(long, value_name = "LENGTH")]
    pub gap: Option<String>,
    /// Holes up to this across are closed flat [default: 2 mm]
    #[arg(long, value_name = "LENGTH")]
    pub hole: Option<String>,
    /// Draw it, cut open, into this SVG file; a solid that is refused is drawn with the places of its faults
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
    /// Write the oil's space as a binary STL file in mm, in the axes it will be used in
    #[arg(long, value_name = "FILE")]
    pub write: Option<PathBuf>,
    /// Print one JSON object on stdout (docs/results.md)
    #[arg(long)]
    pub json: bool,
}

/// What a mesh file shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum Shows {
    /// The oil's space itself, in the pan's axes
    Cavity,
    /// The pan as a part with walls
    Part,
}

/// `still`
#[derive(Args)]
pub struct Still {
    /// Common arguments.
    #[command(flatten)]
    pub common: Common,
    /// Upward acceleration of the car that goes with it, in g: below zero over a crest, above on a banking
    #[arg(long, value_name = "G", default_value_t = 0.0, allow_hyphen_values = true)]
    pub vertical: f64,
}

/// `clearance`
#[derive(Args)]
pub struct Clearance {
    /// Design file
    pub design: PathBuf,
    /// Draw the pan among the bodies, from three sides, into this SVG file
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
    /// Print one JSON object on stdout (docs/results.md)
    #[arg(long)]
    pub json: bool,
    /// End with code 1 when a gap is smaller than wanted
    #[arg(long)]
    pub gate: bool,
}

/// `feed`
#[derive(Args)]
pub struct Feed {
    /// Common arguments.
    #[command(flatten)]
    pub common: Common,
    /// Write the pictures (SVG) and the map (CSV) into this folder
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// End with code 1 when the pump is not fed
    #[arg(long)]
    pub gate: bool,
}

/// `seal`
#[derive(Args)]
pub struct Seal {
    /// Design file
    pub design: PathBuf,
    /// Write pictures (SVG), text and JSON into this folder
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Readings of torque and angle taken while bolts were turned (CSV, docs/seal.md): finds a thread that gives way
    #[arg(long, value_name = "FILE")]
    pub turned: Option<PathBuf>,
    /// Print one JSON object on stdout (docs/results.md)
    #[arg(long)]
    pub json: bool,
    /// End with code 1 when anything speaks against the joint
    #[arg(long)]
    pub gate: bool,
}

/// `shop`
#[derive(Args)]
pub struct Shop {
    /// Design file
    pub design: PathBuf,
    /// The folder, which appears whole or not at all [default: DESIGN-shop beside the design]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print one JSON object on stdout (docs/shop.md)
    #[arg(long)]
    pub json: bool,
}

/// `bays`
#[derive(Args)]
pub struct Bays {
    /// Common arguments.
    #[command(flatten)]
    pub common: Common,
    /// Compute the worst moments by another depth as well and tell how far bays are off
    #[arg(long, value_enum)]
    pub against: Option<Against>,
    /// How many of the worst moments are compared
    #[arg(long, value_name = "N", default_value_t = 4, requires = "against", value_parser = clap::value_parser!(u8).range(1..=20))]
    pub moments: u8,
    /// Draw the spaces, what joins them and the doors into this SVG file
    #[arg(long, value_name = "FILE", conflicts_with = "against")]
    pub picture: Option<PathBuf>,
    /// Drive the quickest whole lap over and over for this long ("2 h"): in which lap, and where, does the margin go?
    #[arg(long, value_name = "TIME", conflicts_with_all = ["against", "report"])]
    pub race: Option<String>,
    /// Oil that the engine burns in the race ("0.3 L/h") [default: none]
    #[arg(long, value_name = "FLOW", requires = "race")]
    pub burns: Option<String>,
    /// Write the report of the sketch too: bays.html and bays.json
    #[arg(long, conflicts_with = "against")]
    pub report: bool,
    /// Folder for the report, or for the runs that are compared with [default: DESIGN-results beside the design]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Threads to compute with [default: all cores]
    #[arg(long, value_name = "N", value_parser = at_least_one)]
    pub threads: Option<usize>,
}

/// What bays are held against.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum Against {
    /// The three-dimensional solver.
    Slosh,
}

/// `study`
#[derive(Args)]
pub struct Study {
    /// Study file; it names its design (docs/study.md)
    pub study: PathBuf,
    /// Drive over this logged lap (CSV) instead of the design's own drive
    #[arg(long, value_name = "FILE", conflicts_with = "course")]
    pub log: Option<PathBuf>,
    /// Drive over a lap computed on this course (CSV of x, y in metres) instead of the design's own drive
    #[arg(long, value_name = "FILE")]
    pub course: Option<PathBuf>,
    /// Folder of the study [default: STUDY-results beside the study file]; several machines may share it
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Work only these cases, the last one not among them, such as 200..400
    #[arg(long, value_name = "A..B", value_parser = slice)]
    pub cases: Option<Slice>,
    /// Compute so many of the best designs in three dimensions, as `check` does
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = clap::value_parser!(u8).range(0..=20))]
    pub prove: u8,
    /// Write the best design, or the one of --case, as a design file that states only what changes
    #[arg(long, value_name = "FILE")]
    pub write: Option<PathBuf>,
    /// Which case --write and --prove take instead of the best
    #[arg(long, value_name = "N")]
    pub case: Option<usize>,
    /// Threads to compute with [default: all cores]; the answer does not depend on it
    #[arg(long, value_name = "N", value_parser = at_least_one)]
    pub threads: Option<usize>,
    /// Print one JSON object on stdout (docs/results.md), everything else on stderr
    #[arg(long)]
    pub json: bool,
}

/// A slice of the cases.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slice {
    /// First.
    pub from: usize,
    /// One after the last.
    pub to: usize,
}

fn slice(text: &str) -> Result<Slice, String> {
    let wanted = || "state the first case and the one after the last, such as 0..500".to_owned();
    let (from, to) = text.split_once("..").ok_or_else(wanted)?;
    let number = |text: &str| text.trim().parse::<usize>().map_err(|_| wanted());
    let slice = Slice {
        from: number(from)?,
        to: number(to)?,
    };
    if slice.from < slice.to {
        Ok(slice)
    } else {
        Err(wanted())
    }
}

/// `slosh`
#[derive(Args)]
pub struct Slosh {
    /// Common arguments.
    #[command(flatten)]
    pub common: Common,
    /// Computing arguments.
    #[command(flatten)]
    pub computing: Computing,
    /// Start on the drive's clock [s]
    #[arg(long, value_name = "SECONDS", default_value_t = 0.0)]
    pub from: f64,
    /// End on the drive's clock [s] [default: the end of the drive]
    #[arg(long, value_name = "SECONDS")]
    pub to: Option<f64>,
    /// Oil aloft: low, mid or high allowance
    #[arg(long, value_enum, default_value_t = Aloft::Mid)]
    pub aloft: Aloft,
}

/// `export`
#[derive(Args)]
pub struct Export {
    /// Folder of the run: they lie in DESIGN-results/runs
    pub run: PathBuf,
    /// Folder to write to [default: `export` in the run's folder]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Write only the cells (.vti) or only the oil's surface in the pan (.glb) [default: both]
    #[arg(long, value_enum)]
    pub only: Option<ExportKind>,
    /// Take every Nth picture
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..))]
    pub every: u32,
    /// First picture on the drive's clock [s]
    #[arg(long, value_name = "SECONDS", allow_hyphen_values = true)]
    pub from: Option<f64>,
    /// Last picture on the drive's clock [s]
    #[arg(long, value_name = "SECONDS")]
    pub to: Option<f64>,
}

/// What is exported.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum ExportKind {
    /// The cells.
    Cells,
    /// The oil's surface in the pan.
    Surface,
}

/// Which allowance of oil aloft.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum Aloft {
    /// The least the user thinks possible.
    Low,
    /// As stated.
    Mid,
    /// The most.
    High,
}

/// A count of threads.
fn at_least_one(text: &str) -> Result<usize, String> {
    match text.parse() {
        Ok(0) | Err(_) => Err("state a whole number from 1 up".into()),
        Ok(count) => Ok(count),
    }
}
