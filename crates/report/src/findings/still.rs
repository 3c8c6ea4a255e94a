//! Oil at rest as facts.

use serde::{Deserialize, Serialize};

/// Oil at rest under steady accelerations.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StillFacts {
    /// Oil in the pan that the maps are computed with [m³], and why this much.
    pub volume: f64,
    /// Why that volume.
    pub volume_why: String,
    /// Plates ignored: the oil has had time to find its level.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub long_corner: Option<RoundMapFacts>,
    /// Each space between plates keeps the oil it had.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_instant: Option<RoundMapFacts>,
    /// Dipstick table, engine off, rising.
    pub dipstick: Vec<DipstickRow>,
}

/// Cover over the mouth for all directions and sizes of horizontal acceleration.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoundMapFacts {
    /// Upward acceleration of the car that goes with it [g]; 0 on a level road.
    pub vertical: f64,
    /// Direction in which the *oil is pushed*, seen from above in the car: 0 forward (braking), π/2 to the
    /// left (a right-hand corner), counter-clockwise [rad]; rising, evenly spread over a turn.
    pub directions: Vec<f64>,
    /// Horizontal acceleration of each ring [g, 9.80665 m/s²], rising.
    pub rings: Vec<f64>,
    /// Cover [m] as `cover[direction][ring]`; 0 when bare.
    pub cover: Vec<Vec<f64>>,
    /// Where the mouth first goes dry, one entry for each direction in which it does within the rings.
    pub first_dry: Vec<FirstDry>,
}

/// The horizontal acceleration at which the mouth first goes dry.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FirstDry {
    /// Direction as in [`RoundMapFacts::directions`] [rad].
    pub direction: f64,
    /// Acceleration [g].
    pub g: f64,
}

/// A row of the dipstick table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DipstickRow {
    /// What this row is: "full", "low", "crank touch"; empty for a plain row.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub mark: String,
    /// Oil in the pan, engine off [m³].
    pub volume: f64,
    /// Level over the flange face at the mouth [m].
    pub level: f64,
    /// Length along the stick from its lower end, when a stick is described [m].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub along_stick: Option<f64>,
}
