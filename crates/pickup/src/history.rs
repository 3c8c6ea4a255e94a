//! What every depth of oil motion returns.

use serde::{Deserialize, Serialize};

/// Where all the oil is at one instant [m³].
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Ledger {
    /// In the pan.
    pub pan: f64,
    /// Held up in the engine (galleries, heads, filter, air).
    pub engine: f64,
    /// Left the engine, not yet home.
    pub in_flight: f64,
}

impl Ledger {
    /// All of it; equals the fill.
    pub fn total(&self) -> f64 {
        self.pan + self.engine + self.in_flight
    }
}

/// Oil over the mouth and where the rest is, against time. All series have the length of `time`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct CoverHistory {
    /// Time on the drive's clock [s].
    pub time: Vec<f64>,
    /// Oil over the mouth along apparent gravity [m]; 0 when the mouth is bare.
    pub cover: Vec<f64>,
    /// Pump demand [m³/s].
    pub demand: Vec<f64>,
    /// Air drawn since the start [m³].
    pub air: Vec<f64>,
    /// Oil drawn since the start [m³].
    pub drawn: Vec<f64>,
    /// Oil in each space of the lattice [m³], one row a time.
    pub spaces: Vec<Vec<f64>>,
    /// Opening angle of each door [rad], one row a time.
    pub doors: Vec<Vec<f64>>,
    /// Oil inside the crank sweep [m³].
    pub at_crank: Vec<f64>,
    /// Where all the oil is.
    pub ledger: Vec<Ledger>,
}
