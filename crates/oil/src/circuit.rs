//! The oil circuit outside the pan: pump draw, oil aloft in the engine, oil on its way home.
//!
//! Ledger, true at every instant: `pan + engine + in flight = fill`. The pump takes oil out of the pan;
//! it belongs to the engine until it leaves for a return place; it is in flight for that place's delay;
//! then it enters the pan.
//!
//! *Oil aloft* is all the oil that the pan misses at an engine speed, so in a steady state
//! `engine + in flight = aloft(speed)`. After a change of speed the engine gives back what it draws plus
//! a part of its surplus, with the time constant [`DRAIN_BACK`].

use serde::{Deserialize, Serialize};
use thiserror::Error;

mod state;

pub use state::CircuitState;

/// Time constant with which the engine gives back a surplus of oil (or fills up a lack of it) [s].
///
/// Common practice, no source: hot oil is home some seconds after the throttle shuts; trade figures for
/// regaining the full static level run from 5 s to 30 s, about three to ten of these constants.
pub const DRAIN_BACK: f64 = 2.0;

/// Shares may miss a sum of 1 by this much (a table typed to three places).
const SHARE_TOLERANCE: f64 = 1e-3;

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

/// Why a circuit cannot be used. All volumes [m³], speeds [rev/s].
#[derive(Clone, Debug, PartialEq, Error)]
pub enum CircuitFault {
    /// A number that must be finite and not below zero (or above it) is not.
    #[error("{what} is {value}; it must be a number {due}")]
    BadNumber {
        /// Which number.
        what: &'static str,
        /// What it was.
        value: f64,
        /// What is due.
        due: &'static str,
    },
    /// The speeds of the table of oil aloft do not rise.
    #[error("row {row} of the oil aloft repeats or falls back in engine speed; put the rows in rising order")]
    SpeedsNotRising {
        /// Row, from 1.
        row: usize,
    },
    /// The table of oil aloft is empty.
    #[error("the oil aloft has no rows; give at least one engine speed with its volume")]
    NoAloft,
    /// As many shares as delays and at least one are due.
    #[error("{shares} return shares and {delays} delays; every return place needs one of each")]
    ReturnsUneven {
        /// Shares given.
        shares: usize,
        /// Delays given.
        delays: usize,
    },
    /// The shares do not sum to one.
    #[error("the return shares sum to {sum:.4}; they must sum to 1")]
    SharesNotWhole {
        /// Their sum.
        sum: f64,
    },
    /// At this speed the whole fill (or more) would be outside the pan.
    #[error(
        "at {:.0} rpm {:.2} L of oil is out of the pan but the fill is {:.2} L; add oil or check the oil aloft",
        speed * 60.0, outside * 1e3, fill * 1e3
    )]
    NothingLeft {
        /// Engine speed.
        speed: f64,
        /// Oil in the engine and in flight.
        outside: f64,
        /// The fill.
        fill: f64,
    },
}

impl Circuit {
    /// All faults of the numbers, in the order of the fields; empty when the circuit can be used.
    pub fn check(&self) -> Vec<CircuitFault> {
        let mut faults = Vec::new();
        let mut positive = |what, value: f64| {
            if !(value.is_finite() && value > 0.0) {
                faults.push(CircuitFault::BadNumber {
                    what,
                    value,
                    due: "above zero",
                });
            }
        };
        positive("the pump's delivery per revolution", self.displacement);
        positive("the flow at relief", self.relief_flow);
        let mut not_negative = |what, value: f64| {
            if !(value.is_finite() && value >= 0.0) {
                faults.push(CircuitFault::BadNumber {
                    what,
                    value,
                    due: "of zero or more",
                });
            }
        };
        not_negative("the factor on the oil aloft", self.aloft_factor);
        for &(speed, volume) in &self.aloft {
            not_negative("an engine speed of the oil aloft", speed);
            not_negative("a volume of the oil aloft", volume);
        }
        for &share in &self.shares {
            not_negative("a return share", share);
        }
        for &delay in &self.delays {
            not_negative("a return delay", delay);
        }
        if self.aloft.is_empty() {
            faults.push(CircuitFault::NoAloft);
        }
        for row in 1..self.aloft.len() {
            if self.aloft[row].0 <= self.aloft[row - 1].0 {
                faults.push(CircuitFault::SpeedsNotRising { row: row + 1 });
            }
        }
        if self.shares.is_empty() || self.shares.len() != self.delays.len() {
            faults.push(CircuitFault::ReturnsUneven {
                shares: self.shares.len(),
                delays: self.delays.len(),
            });
        } else {
            let sum: f64 = self.shares.iter().sum();
            if sum.is_finite() && (sum - 1.0).abs() > SHARE_TOLERANCE {
                faults.push(CircuitFault::SharesNotWhole { sum });
            }
        }
        faults
    }

    /// The same circuit with another factor on the oil aloft (the low or high allowance).
    pub fn with_aloft_factor(&self, aloft_factor: f64) -> Circuit {
        Circuit {
            aloft_factor,
            ..self.clone()
        }
    }

    /// What the pump takes at `engine_speed` [rev/s] from a covered mouth [m³/s]: delivery per revolution
    /// times speed, capped where the relief valve opens. (Oil that the relief bypasses goes round inside
    /// the pump and never leaves the suction side.)
    pub fn demand(&self, engine_speed: f64) -> f64 {
        (self.displacement * engine_speed.max(0.0)).min(self.relief_flow)
    }

    /// All the oil that the pan misses at a steady `engine_speed` [rev/s], allowance included [m³].
    pub fn aloft_at(&self, engine_speed: f64) -> f64 {
        let table = &self.aloft;
        let above = table.partition_point(|row| row.0 <= engine_speed);
        let volume = if above == 0 {
            table[0].1
        } else if above == table.len() {
            table[above - 1].1
        } else {
            let ((s0, v0), (s1, v1)) = (table[above - 1], table[above]);
            v0 + (v1 - v0) * (engine_speed - s0) / (s1 - s0)
        };
        volume * self.aloft_factor
    }

    /// Oil in flight at a steady `engine_speed` [rev/s] with the mouth covered [m³].
    pub fn in_flight_at(&self, engine_speed: f64) -> f64 {
        let flow = self.demand(engine_speed);
        self.shares
            .iter()
            .zip(&self.delays)
            .map(|(share, delay)| share * delay * flow)
            .sum()
    }

    /// Oil out of the pan at a steady `engine_speed` [rev/s] [m³]: the oil aloft, or the oil in flight
    /// where long delays keep more than that on the way (see [`Circuit::cautions`]).
    pub fn outside_at(&self, engine_speed: f64) -> f64 {
        self.aloft_at(engine_speed).max(self.in_flight_at(engine_speed))
    }

    /// Oil in the pan at a steady `engine_speed` [rev/s] with `fill` [m³] in the whole engine [m³].
    ///
    /// Errors when nothing would be left in the pan.
    pub fn pan_at(&self, engine_speed: f64, fill: f64) -> Result<f64, CircuitFault> {
        let outside = self.outside_at(engine_speed);
        let left = fill - outside;
        if left > 0.0 {
            Ok(left)
        } else {
            Err(CircuitFault::NothingLeft {
                speed: engine_speed,
                outside,
                fill,
            })
        }
    }

    /// Sentences for the report about numbers that can be used but do not fit together.
    pub fn cautions(&self) -> Vec<String> {
        let mut said = Vec::new();
        let worst = self
            .aloft
            .iter()
            .map(|row| (row.0, self.in_flight_at(row.0) - self.aloft_at(row.0)))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((speed, excess)) = worst
            && excess > 0.0
        {
            said.push(format!(
                "At {:.0} rpm the return delays keep {:.2} L on the way home, more than the {:.2} L stated as \
                 aloft; the larger figure is used. Shorten the delays or raise the oil aloft.",
                speed * 60.0,
                self.in_flight_at(speed) * 1e3,
                self.aloft_at(speed) * 1e3
            ));
        }
        said
    }
}

#[cfg(test)]
mod tests;
