//! Gaps round the pan and inside it, as facts.

use serde::{Deserialize, Serialize};

/// What was measured round the pan and inside it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ClearanceFacts {
    /// In a sentence.
    pub said: String,
    /// Each pair, in the order of the design.
    pub pairs: Vec<GapFact>,
    /// How far each side of each pocket may move; empty without bodies round the pan.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub growth: Vec<GrowthFact>,
    /// Whether and how the pan comes off with the engine in the car; absent when nothing could be in its way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub removal: Option<RemovalFact>,
    /// What the pan and the bodies look like. Pictures only: not in the JSON.
    #[serde(skip)]
    pub views: Vec<ClearanceView>,
}

impl ClearanceFacts {
    /// True when every gap is as large as wanted.
    pub fn holds(&self) -> bool {
        self.pairs.iter().all(|p| p.state == GapState::Clear)
    }
}

/// A gap to the hundredth of a millimetre that it is known to [m], so that no digits are shown beyond.
pub fn rounded(gap: f64) -> f64 {
    let hundredths = (gap * 1e5).round();
    if hundredths == 0.0 { 0.0 } else { hundredths * 1e-5 }
}

/// How a gap stands against the gap wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GapState {
    /// As large as wanted.
    Clear,
    /// Smaller than wanted.
    Close,
    /// None: they touch or overlap.
    Touches,
}

impl GapState {
    /// One word.
    pub fn said(self) -> &'static str {
        match self {
            GapState::Clear => "clear",
            GapState::Close => "too close",
            GapState::Touches => "touches",
        }
    }
}

/// The least gap of a pair.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct GapFact {
    /// The body.
    pub body: String,
    /// Which part of it; empty when it has but one.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub body_part: String,
    /// What it is measured against: the pan, its inside, a plate, the pickup mouth.
    pub against: String,
    /// Which part of that; empty when it has but one.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub part: String,
    /// As everything stands [m]; negative when they overlap: the shortest straight move that parts them.
    pub at_rest: f64,
    /// With the engine moved as far as it may in the worst way [m].
    pub moved: f64,
    /// Wanted [m].
    pub wanted: f64,
    /// How it stands.
    pub state: GapState,
    /// Where on the pan, as it stands, and where on the body the least gap with movement lies [m].
    pub on_pan: [f64; 3],
    /// On the body [m].
    pub on_body: [f64; 3],
}

impl GapFact {
    /// The body, or that part of it.
    pub fn body_said(&self) -> String {
        if self.body_part.is_empty() {
            self.body.clone()
        } else {
            self.body_part.clone()
        }
    }

    /// The other with its part: "pan's flange", "pan's inside wall".
    pub fn against_said(&self) -> String {
        let (whole, part) = (&self.against, &self.part);
        match part.as_str() {
            "" => whole.clone(),
            _ if whole.contains('\'') => format!("{whole} {part}"),
            _ => format!("{whole}'s {part}"),
        }
    }
}

/// Room on one side of a pocket.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct GrowthFact {
    /// The pocket.
    pub pocket: String,
    /// Which side: left, right, front, rear, down.
    pub toward: String,
    /// How far it may move [m].
    pub free: f64,
    /// True when nothing stops it within the distance that was asked.
    pub open: bool,
    /// What the pan gains by that [m³].
    pub gained: f64,
    /// The body that stops it; absent when nothing does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stopped_by: Option<String>,
}

/// Whether and how the pan comes off.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RemovalFact {
    /// In a sentence or two.
    pub said: String,
    /// True when a way out was found.
    pub comes_out: bool,
    /// How far the pan must come down to be under everything [m].
    pub needed: f64,
    /// How far it comes straight down [m].
    pub straight: f64,
    /// The way, corner by corner; empty when none was found.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub way: Vec<WayFact>,
    /// Bodies each of which alone is in the way.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub without: Vec<String>,
}

/// A position on the way out, from where the pan was bolted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WayFact {
    /// What to do to get there.
    pub said: String,
    /// Let down [m].
    pub drop: f64,
    /// Slid to the front and to the left [m].
    pub slide: [f64; 2],
    /// Front end down, left side up [rad].
    pub tilt: [f64; 2],
}

/// From where a picture of the bodies looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SeenFrom {
    /// From above: engine front to the right, left is up.
    Above,
    /// From the engine's right: front to the right, up is up.
    Right,
    /// From the rear: left on the left.
    Rear,
}

/// The pan and the bodies from one side. All coordinates are those of the paper [m]: to the right, up.
#[derive(Clone, Debug, PartialEq)]
pub struct ClearanceView {
    /// From where.
    pub side: SeenFrom,
    /// Low and high corner of what is shown.
    pub window: [[f64; 2]; 2],
    /// The pan's outline: closed loops.
    pub pan: Vec<Vec<[f64; 2]>>,
    /// The bodies.
    pub bodies: Vec<BodyOutline>,
    /// Lines of the least gaps.
    pub gaps: Vec<GapLine>,
}

/// A body's outline.
#[derive(Clone, Debug, PartialEq)]
pub struct BodyOutline {
    /// Its name.
    pub name: String,
    /// Closed loops.
    pub loops: Vec<Vec<[f64; 2]>>,
    /// True inside the pan: drawn dashed.
    pub hidden: bool,
}

/// A least gap on paper.
#[derive(Clone, Debug, PartialEq)]
pub struct GapLine {
    /// Number of the pair, from 1.
    pub number: usize,
    /// On the pan.
    pub from: [f64; 2],
    /// On the body.
    pub to: [f64; 2],
    /// How it stands.
    pub state: GapState,
}
