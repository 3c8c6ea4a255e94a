//! The joint, as facts: faces, pressure along the seal, bolts, order.

use serde::{Deserialize, Serialize};

/// What is said of the joint of pan and block.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SealFacts {
    /// In a sentence or two.
    pub said: String,
    /// True when nothing speaks against the joint.
    pub holds: bool,
    /// What is wrong or doubtful: faces, bolts, pressure.
    pub warnings: Vec<Warning>,
    /// The faces as measured: pan, block, both together.
    pub faces: Vec<FaceFact>,
    /// The flange on its joint under the bolts; absent when the bolts leave nothing to press with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub press: Option<PressFact>,
    /// Torque and clamp load.
    pub bolts: BoltFact,
    /// Order of tightening.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order: Option<OrderFact>,
    /// What torque and angle read at the bench tell of each bolt; empty when none were read.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub turned: Vec<String>,
    /// What was counted with: ranges, sizes, sources.
    pub counted: Vec<String>,
    /// Cautions that go with torques.
    pub cautions: Vec<String>,
    /// What the flange looks like. Pictures only: not in the JSON.
    #[serde(skip)]
    pub view: SealView,
}

/// Something wrong, and its mend.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Warning {
    /// What is wrong.
    pub said: String,
    /// How to mend it.
    pub mend: String,
}

/// A face.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FaceFact {
    /// "pan", "block" or "both".
    pub face: String,
    /// In a sentence or two: flatness, worst span, what mends it.
    pub said: String,
    /// Minimum zone [m]; absent when straight-edge lines do not fix the face.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flatness: Option<f64>,
    /// It is no flatter than that, by the worst single line [m]; of straight-edge readings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_least: Option<f64>,
    /// Range about the plane of least squares [m].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least_squares: Option<f64>,
    /// Root of the mean square distance from that plane [m].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rms: Option<f64>,
    /// Asked [m].
    pub target: f64,
    /// What the heights count from.
    pub datum: String,
    /// x, y and height over the lower plane of the minimum zone [m].
    pub points: Vec<[f64; 3]>,
    /// From bolt to bolt; empty without readings between bolts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub spans: Vec<SpanFact>,
    /// The least cut that mends it; absent when nothing need be cut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub skim: Option<SkimFact>,
    /// Straight-edge lines: least strip, least squares, ends [m].
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lines: Vec<[f64; 3]>,
    /// The most by which straight-edge lines disagree where they cross [m].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub disagree: Option<f64>,
}

/// The face between two bolts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SpanFact {
    /// Bolts at its ends, from 1.
    pub bolts: [usize; 2],
    /// Its length [m].
    pub length: f64,
    /// Deepest below the straight line from bolt to bolt [m].
    pub hollow: f64,
    /// Highest above it [m].
    pub crown: f64,
    /// Readings between the bolts.
    pub readings: usize,
}

/// A cut.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SkimFact {
    /// The most that goes [m].
    pub depth: f64,
    /// What a cut that cleans up the whole face takes at its highest place [m].
    pub clean_up: f64,
    /// Where: x, y and depth of the readings that stand over the cut, deepest first [m].
    pub places: Vec<[f64; 3]>,
}

/// The joint under its bolts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PressFact {
    /// In a sentence or two.
    pub said: String,
    /// True when the need is met all round with the least clamp load to count with.
    pub holds: bool,
    /// Clamp load of a bolt that is counted with: least, and middle [N].
    pub clamp: [f64; 2],
    /// How many times the need is met at the worst place: with the least, and with the middle clamp load.
    pub service: [f64; 2],
    /// Mean pressure of the seal [Pa]; 0 for a seal that carries nothing.
    pub mean: f64,
    /// Least over greatest pressure along the seal.
    pub evenness: f64,
    /// Widest opening [m].
    pub widest: f64,
    /// Runs that fall short.
    pub short: Vec<ShortFact>,
    /// Out-of-flat before and after the bolts pull it in [m]; absent for flat faces.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pulled_in: Option<[f64; 2]>,
    /// What changes would do.
    pub what_ifs: Vec<WhatIfFact>,
    /// Along the seal: x, y [m], mean pressure [Pa], opening [m], how many times the need is met.
    pub along: Vec<[f64; 5]>,
}

/// A run of the seal that falls short.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ShortFact {
    /// Bolts on either side, from 1.
    pub bolts: [usize; 2],
    /// Its length [m].
    pub length: f64,
    /// Its worst place [m].
    pub at: [f64; 2],
    /// How many times the need is met there.
    pub service: f64,
    /// Opening there [m].
    pub opening: f64,
}

/// A change and what comes of it, with the least clamp load.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WhatIfFact {
    /// The change.
    pub said: String,
    /// How many times the need is met at the worst place.
    pub service: f64,
    /// Length that falls short [m].
    pub short: f64,
    /// Widest opening [m].
    pub widest: f64,
}

/// Torque and clamp load of one bolt.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BoltFact {
    /// "18 bolts M6 x 25, 8.8".
    pub said: String,
    /// How many.
    pub count: usize,
    /// Torque stated [N·m].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stated: Option<f64>,
    /// Torque suggested [N·m]; absent when no torque is safe.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub suggested: Option<f64>,
    /// Least torque that still leaves the gasket what it needs [N·m].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least: Option<f64>,
    /// The torque counted with [N·m].
    pub torque: f64,
    /// Friction, least and most.
    pub friction: [f64; 2],
    /// Nut factor K for the least and the most friction.
    pub nut_factor: [f64; 2],
    /// Clamp load: least, middle, most to count with [N].
    pub clamp: [f64; 3],
    /// Limits, lowest torque first.
    pub limits: Vec<LimitFact>,
    /// Proof load and least breaking load [N].
    pub proof: [f64; 2],
    /// Thread in thread [m].
    pub engaged: f64,
    /// Engagement at which the bolt breaks before the hole strips, on limit sizes and on basic sizes [m].
    pub engagement_wanted: [f64; 2],
    /// The tapped thread strips at, on limit sizes and on basic sizes [N].
    pub strips: [f64; 2],
    /// Before the bolt bottoms [m]; absent when not known or a through hole.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spare: Option<f64>,
    /// Pressure under the head at the most clamp load, and what the flange bears [Pa].
    pub under_head: [f64; 2],
    /// Lost by settling [N].
    pub settles: f64,
    /// Gained at the coldest and at the hottest; below zero lost [N].
    pub heat: [f64; 2],
    /// Lost by creep of the gasket, as shares, least and most.
    pub creep: [f64; 2],
    /// Left after settling and creep, least and most [N].
    pub left: [f64; 2],
    /// The same at the temperature that makes it least and most [N].
    pub left_at_worst: [f64; 2],
    /// How far pan and block slip on each other from cold to hot over the flange's length [m].
    pub slip: f64,
}

/// A limit of the torque.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LimitFact {
    /// What gives.
    pub said: String,
    /// Clamp load that it allows as tightened [N]; absent for a plain torque.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub force: Option<f64>,
    /// Torque at which the most clamp load to count with reaches it [N·m].
    pub torque: f64,
}

/// Order of tightening.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OrderFact {
    /// In a sentence or two.
    pub said: String,
    /// Bolts, from 1, first to last.
    pub order: Vec<usize>,
    /// Torque of each pass [N·m].
    pub passes: Vec<f64>,
    /// After each pass: least and most clamp load over its target.
    pub spread: Vec<[f64; 2]>,
    /// Number of passes that is worth it; absent when six would not do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub worth: Option<usize>,
}

/// What the flange looks like, pan frame [m].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SealView {
    /// Outer edge.
    pub outer: Vec<[f64; 2]>,
    /// Inner edge.
    pub inner: Vec<[f64; 2]>,
    /// Bolts.
    pub bolts: Vec<[f64; 2]>,
    /// Diameter of their holes.
    pub hole: f64,
}
