//! The suction side as facts. Pressures are absolute.

use serde::{Deserialize, Serialize};

/// Whether the pump is fed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FeedFacts {
    /// In a sentence.
    pub said: String,
    /// True when the inlet keeps the least pressure over the whole drive and at the highest speed with working oil.
    pub holds: bool,
    /// Pressure over the oil [Pa].
    pub over: f64,
    /// Least pressure in the pump's inlet that is counted as fed [Pa].
    pub least: f64,
    /// Temperature of working oil [K].
    pub working: f64,
    /// The line.
    pub line: FeedLine,
    /// What the body of the oil takes on its way up.
    pub lift: LiftFacts,
    /// Pressure in the inlet over speed and temperature, under the worst lift of the drive.
    pub map: FeedMap,
    /// The largest engine speed that is fed, coldest oil first.
    pub speeds: Vec<FedSpeed>,
    /// From which temperature on the highest speed is fed [K]; left out when no temperature asked for does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub warm_enough: Option<f64>,
    /// The line at a few speeds and temperatures, part by part.
    pub states: Vec<FeedState>,
    /// The lowest inlet pressure of the drive, with working oil.
    pub drive: FeedMoment,
    /// What a blocked screen does, with working oil at the highest speed; empty without a screen.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub blocked: Vec<BlockedScreen>,
    /// The largest share of the screen that may be blocked there; left out without a screen, or when none may.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_blocked: Option<f64>,
    /// What changes to the line would do, with working oil at the highest speed.
    pub changes: Vec<FeedChange>,
    /// The mouth.
    pub mouth: MouthFacts,
    /// The joint.
    pub joint: JointFacts,
    /// What should be known beside the numbers.
    pub remarks: Vec<String>,
}

/// The line in numbers.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FeedLine {
    /// Length of the tube [m].
    pub length: f64,
    /// Its narrowest bore, the pump's inlet counted in [m].
    pub narrowest: f64,
    /// Height of the pump's inlet over the mouth, car standing level [m].
    pub rise: f64,
    /// Open area of the screen over that of the tube; left out without a screen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub screen_open: Option<f64>,
}

/// What the body of the oil takes between mouth and pump [Pa], with working oil; below zero it helps.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LiftFacts {
    /// Car standing level.
    pub standing: f64,
    /// The worst of the drive.
    pub worst: f64,
    /// When that is [s].
    pub at: f64,
}

/// Pressure in the inlet over engine speed and oil temperature.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FeedMap {
    /// Engine speeds, rising [rev/s].
    pub speeds: Vec<f64>,
    /// Oil temperatures, rising [K].
    pub temperatures: Vec<f64>,
    /// `pressure[i + n j]` [Pa] at `speeds[i]`, `temperatures[j]`, `n` speeds. At or below zero the flow is impossible.
    pub pressure: Vec<f64>,
}

/// The largest engine speed that is fed at a temperature.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FedSpeed {
    /// Oil temperature [K].
    pub temperature: f64,
    /// Kinematic viscosity, air counted in [m²/s].
    pub viscosity: f64,
    /// Up to this speed [rev/s]; left out when not even idle is fed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speed: Option<f64>,
    /// True when that is the highest speed in use: nothing limits it.
    pub free: bool,
}

/// The line at one speed and temperature.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FeedState {
    /// In a few words.
    pub name: String,
    /// Oil temperature [K].
    pub temperature: f64,
    /// Engine speed [rev/s].
    pub engine_speed: f64,
    /// Flow in the line [m³/s].
    pub flow: f64,
    /// Speed of the oil in the narrowest bore [m/s].
    pub flow_speed: f64,
    /// Reynolds number there.
    pub reynolds: f64,
    /// What each part takes, in the way of the oil.
    pub losses: Vec<PartLoss>,
    /// Pressure in the inlet [Pa].
    pub pressure: f64,
}

/// What a part of the line takes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartLoss {
    /// The part.
    pub part: String,
    /// [Pa]; only the lift may be below zero.
    pub loss: f64,
}

/// The worst instant of the drive for the inlet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FeedMoment {
    /// When [s].
    pub time: f64,
    /// Where on the drive.
    pub place: String,
    /// Engine speed [rev/s].
    pub engine_speed: f64,
    /// Pressure in the inlet [Pa].
    pub pressure: f64,
}

/// A blocked screen.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct BlockedScreen {
    /// Share that is shut, 0..1.
    pub share: f64,
    /// Pressure in the inlet [Pa].
    pub pressure: f64,
}

/// A change to the line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FeedChange {
    /// What is changed.
    pub what: String,
    /// Pressure in the inlet then [Pa].
    pub pressure: f64,
    /// Cold: the temperature from which on the highest speed is fed [K]; left out when no temperature asked for does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub warm_enough: Option<f64>,
}

/// The mouth and the bells that might stand in its place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MouthFacts {
    /// From the rim to what lies below [m].
    pub floor: f64,
    /// Bells, narrowest first.
    pub bells: Vec<BellFact>,
}

/// A bell at the largest flow.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct BellFact {
    /// Diameter [m].
    pub diameter: f64,
    /// True for the design's own.
    pub own: bool,
    /// Speed into it [m/s].
    pub speed: f64,
    /// Depth that the rule for water intakes asks for [m]. For ranking: see docs/feed.md.
    pub asked: f64,
    /// Area of the ring under it over that of the tube's bore.
    pub ring: f64,
    /// Clearance over diameter.
    pub clearance: f64,
}

/// The joint.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct JointFacts {
    /// What seals it, in words.
    pub seal: String,
    /// How wide a gap the seal closes [m].
    pub follows: f64,
    /// Names of the states that each row of `leaks` has, in order.
    pub states: Vec<String>,
    /// Air by what the joint is like.
    pub leaks: Vec<LeakFact>,
}

/// Air at the pump with a joint of some kind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LeakFact {
    /// The joint.
    pub what: String,
    /// True for the design's own.
    pub own: bool,
    /// Air at each state.
    pub air: Vec<AirFact>,
}

/// Air in what the pump takes, as shares of its volume, 0..1.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct AirFact {
    /// In through the joint.
    pub leak: f64,
    /// Bubbles that the oil carried, grown under the suction.
    pub bubbles: f64,
    /// Dissolved air: the most that comes out in the end.
    pub released: f64,
}
