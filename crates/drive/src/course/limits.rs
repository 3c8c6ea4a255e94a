//! What the car can do, and what a lap cannot be driven with.

use crate::GearingFault;
use measure::STANDARD_GRAVITY;
use serde::{Deserialize, Serialize};

/// What the car can do on a level road.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CarLimits {
    /// Most lateral acceleration [m/s²].
    pub lateral: f64,
    /// Most deceleration by the tyres [m/s²]; drag comes on top.
    pub braking: f64,
    /// Most driving acceleration by the tyres [m/s²].
    pub driving: f64,
    /// What the engine can do: driving acceleration [m/s²] against road speed [m/s], straight lines between, ends
    /// held; empty leaves it to the tyres.
    pub engine: Vec<(f64, f64)>,
    /// Drag deceleration over speed squared [1/m]: `½ ρ c_d A / m`; 0 for none.
    pub drag: f64,
    /// Top speed [m/s].
    pub top_speed: f64,
}

impl CarLimits {
    /// Checks the numbers.
    pub fn check(&self) -> Result<(), LapFault> {
        let within = |what, value: f64, least: f64, most: f64| {
            // NaN fails both comparisons and so is refused.
            let good = value >= least && value <= most;
            if good {
                Ok(())
            } else {
                Err(LapFault::OutOfRange {
                    what,
                    value,
                    least,
                    most,
                })
            }
        };
        let most = 10.0 * STANDARD_GRAVITY;
        within("the lateral limit", self.lateral, 0.1, most)?;
        within("the braking limit", self.braking, 0.1, most)?;
        within("the driving limit", self.driving, 0.1, most)?;
        within("the drag", self.drag, 0.0, 0.1)?;
        within("the top speed", self.top_speed, 1.0, 200.0)?;
        for (i, &(v, a)) in self.engine.iter().enumerate() {
            within("a speed of the engine limit", v, 0.0, 500.0)?;
            within("an acceleration of the engine limit", a, 0.0, most)?;
            if i > 0 && v <= self.engine[i - 1].0 {
                return Err(LapFault::EngineTable { row: i + 1 });
            }
        }
        Ok(())
    }

    /// What the engine can do at a speed [m/s²].
    pub(super) fn engine_at(&self, speed: f64) -> f64 {
        let t = &self.engine;
        let Some(i) = t.iter().rposition(|r| r.0 <= speed) else {
            return t.first().map_or(f64::INFINITY, |r| r.1);
        };
        match t.get(i + 1) {
            Some(next) => t[i].1 + (next.1 - t[i].1) * (speed - t[i].0) / (next.0 - t[i].0),
            None => t[i].1,
        }
    }
}

/// Why a lap cannot be driven.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LapFault {
    /// A number out of its range.
    #[error("{what} is {value}; it must lie between {least} and {most}")]
    OutOfRange {
        /// Which number.
        what: &'static str,
        /// Its value, SI.
        value: f64,
        /// Least allowed.
        least: f64,
        /// Most allowed.
        most: f64,
    },
    /// Speeds of the engine table do not rise.
    #[error("row {row} of the engine limit does not lie above the speed before it; list speeds rising")]
    EngineTable {
        /// Row, from 1.
        row: usize,
    },
    /// The road leans out so far that the car slides off at any speed.
    #[error(
        "at {station:.0} m the road leans out of the corner more than the lateral limit can hold; check the sign of the banking"
    )]
    SlidesOff {
        /// Distance along the course [m].
        station: f64,
    },
    /// The engine cannot move the car.
    #[error("at {station:.0} m the car comes to a stand: the engine limit does not overcome the drag there")]
    Stands {
        /// Distance along the course [m].
        station: f64,
    },
    /// Engine speed cannot be had.
    #[error(transparent)]
    Gearing(#[from] GearingFault),
}
