//! Everything that the report and `--json` say about one design, as plain data.
//!
//! All numbers are SI: metre, cubic metre, second, kelvin, radian; accelerations in m/s², engine speed in
//! revolutions a second. The g axis of the round map is the one exception and says so. Frames are those of
//! `measure`: *car* and *pan*, ISO 8855 axes (x forward, y left, z up).
//!
//! Series of one struct have the same length. A value that was not computed is absent, never zero.

mod answer;
mod cards;
mod clearance;
mod feed;
mod moment;
mod place;
mod seal;
mod still;
mod time;

pub use answer::*;
pub use cards::*;
pub use clearance::*;
pub use feed::*;
pub use moment::*;
pub use place::*;
pub use seal::*;
pub use still::*;
pub use time::*;

use serde::{Deserialize, Serialize};

/// Date of the layout of this object; changes when a field changes its meaning or goes away.
pub const FORMAT: &str = "sumpwright-findings 2026-11";

/// One design, driven, computed and judged.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Findings {
    /// [`FORMAT`].
    pub format: String,
    /// Who computed it.
    pub program: Program,
    /// How deep the oil in motion was computed.
    #[serde(default)]
    pub depth: Depth,
    /// What was asked.
    pub design: DesignFacts,
    /// The oil at the temperature of the drive.
    pub oil: OilFacts,
    /// The pan as built and filled.
    pub pan: PanFacts,
    /// The drive.
    pub drive: DriveFacts,
    /// What counts as thin and as bare.
    pub limits: LimitFacts,
    /// Oil at rest: round maps and dipstick.
    pub still: StillFacts,
    /// The moments computed, worst first.
    pub moments: Vec<Moment>,
    /// The answer.
    pub verdict: Verdict,
    /// The same question with less and with more oil aloft: low, mid, high.
    pub aloft: Vec<AloftCase>,
    /// Lowest fill that keeps the mouth covered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lowest_fill: Option<LowestFill>,
    /// Gaps round the pan and inside it, when the design states bodies.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clearance: Option<ClearanceFacts>,
    /// Whether the pump is fed, when the design states its suction line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub feed: Option<FeedFacts>,
    /// The joint of pan and block, when the design states it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seal: Option<SealFacts>,
    /// What the cards of the bench say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cards: Option<CardsFacts>,
    /// What the answer rests on.
    pub assumptions: Vec<Remark>,
    /// What is not known, and what would settle it.
    pub not_known: Vec<Remark>,
    /// Whether all the oil is accounted for.
    pub ledger: LedgerFacts,
    /// How it was computed: one entry a step, in order.
    pub method: Vec<MethodStep>,
    /// How long it took. The only part that differs between two runs on the same input.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub timings: Vec<Timing>,
}

impl Findings {
    /// The same findings without timings: equal for equal input, whatever the machine.
    pub fn reproducible(&self) -> Findings {
        Findings {
            timings: Vec::new(),
            ..self.clone()
        }
    }
}

/// The program that computed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Program {
    /// "Sumpwright".
    pub name: String,
    /// Version, and commit when known.
    pub version: String,
}

/// The design as it was read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DesignFacts {
    /// Name in the file.
    pub name: String,
    /// The file given to the program, as the user typed it.
    pub file: String,
    /// Files it is based on, nearest first.
    pub bases: Vec<String>,
    /// What the user said about it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
    /// Every input as read, in the order of the sections of the design file.
    pub inputs: Vec<Input>,
}

/// One input as read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Input {
    /// Key in the design file, e.g. `pickup.mouth`.
    pub key: String,
    /// As typed; empty for a default.
    pub text: String,
    /// As understood, with units.
    pub shown: String,
    /// Where it comes from.
    pub origin: Origin,
}

/// Where an input comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// Typed in a design file.
    Stated {
        /// File.
        file: String,
        /// Line, from 1.
        line: usize,
    },
    /// Not stated; the house's value.
    Default {
        /// Why this value, and its source.
        reason: String,
    },
    /// Worked out from other inputs.
    Derived {
        /// From what.
        reason: String,
    },
}

/// The oil at the temperature of the drive.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OilFacts {
    /// Grade or the two points, in words.
    pub said: String,
    /// Temperature [K].
    pub temperature: f64,
    /// Density with its air [kg/m³].
    pub density: f64,
    /// Kinematic viscosity [m²/s].
    pub viscosity: f64,
    /// Volume share of air carried as bubbles, 0..1.
    pub aeration: f64,
}

/// How deep the oil in motion was computed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Depth {
    /// Between the spaces of the pan: a sketch.
    Bays,
    /// The free surface in three dimensions.
    #[default]
    Slosh,
}

impl Depth {
    /// How the moments were computed, after "computed".
    pub fn said(self) -> &'static str {
        match self {
            Depth::Bays => "between the spaces of the pan",
            Depth::Slosh => "in three dimensions",
        }
    }
}

/// What counts as thin and as bare.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LimitFacts {
    /// Cover under which the mouth is called thin [m].
    pub least_cover: f64,
    /// Longest time that air may be drawn [s].
    pub longest_gulp: f64,
}

/// Where all the oil is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LedgerFacts {
    /// Oil poured in [m³].
    pub fill: f64,
    /// Largest difference between pan + engine + in flight and the fill, at any step [m³].
    pub worst_error: f64,
    /// Steps at which it was checked.
    pub steps: u64,
}

/// One step of the computation.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MethodStep {
    /// Short name, e.g. "oil at rest".
    pub step: String,
    /// What was solved, on which grid, to what tolerance.
    pub said: String,
    /// Equation, book or paper it stands on.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub source: String,
}

/// A sentence with its weight.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Remark {
    /// The sentence.
    pub said: String,
    /// What it would change, or what would settle it; empty when there is nothing to add.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub effect: String,
}

/// How long one step took.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Timing {
    /// Step.
    pub step: String,
    /// Wall time [s].
    pub seconds: f64,
}
