//! The oil circuit outside the pan: pump draw, oil aloft in the engine, oil on its way home.
//!
//! Ledger, true at every instant: `pan + engine + in flight = fill`. The pump takes oil out of the pan;
//! it belongs to the engine until it leaves for a return place; it is in flight for that place's delay;
//! then it enters the pan.

use serde::{Deserialize, Serialize};

/// Pump, held-up oil and returns of one engine.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Circuit {
    /// Pump delivery per crank revolution [m³/rev], drive ratio and efficiency included.
    pub displacement: f64,
    /// Largest flow the engine takes before the relief valve bypasses the rest [m³/s].
    pub relief_flow: f64,
    /// Oil held up in the engine against engine speed: (speed [rev/s], volume [m³]), rising speeds,
    /// straight lines between, flat beyond the ends.
    pub aloft: Vec<(f64, f64)>,
    /// Factor on `aloft` for this computation (1 = as stated; the low and high allowance use others).
    pub aloft_factor: f64,
    /// Share of the returning oil that each return place of the pan takes; sums to 1.
    pub shares: Vec<f64>,
    /// How long oil is in flight to each return place [s].
    pub delays: Vec<f64>,
}
