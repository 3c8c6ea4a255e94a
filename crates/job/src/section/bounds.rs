//! Bounds of a number, and how a message says them.

use measure::{Dimension, UnitOrder, show};

/// Bounds of a number [SI], both allowed unless `open_low`.
#[derive(Clone, Copy)]
pub(crate) struct Bounds {
    pub low: f64,
    pub high: f64,
    /// The low bound itself is refused.
    pub open_low: bool,
}

impl Bounds {
    pub const ANY: Bounds = Bounds {
        low: f64::NEG_INFINITY,
        high: f64::INFINITY,
        open_low: false,
    };
    pub const POSITIVE: Bounds = Bounds {
        low: 0.0,
        high: f64::INFINITY,
        open_low: true,
    };
    pub const NOT_NEGATIVE: Bounds = Bounds {
        low: 0.0,
        high: f64::INFINITY,
        open_low: false,
    };

    pub const fn within(low: f64, high: f64) -> Bounds {
        Bounds {
            low,
            high,
            open_low: false,
        }
    }

    pub const fn above_to(low: f64, high: f64) -> Bounds {
        Bounds {
            low,
            high,
            open_low: true,
        }
    }

    pub(super) fn hold(&self, value: f64) -> bool {
        let low = if self.open_low {
            value > self.low
        } else {
            value >= self.low
        };
        low && value <= self.high
    }

    pub(super) fn said(&self, due: Dimension, order: UnitOrder) -> String {
        let low = (self.low.is_finite()).then(|| {
            let word = if self.open_low { "above" } else { "at least" };
            let bound = if self.low == 0.0 {
                "zero".to_owned()
            } else {
                show(self.low, due, order)
            };
            format!("{word} {bound}")
        });
        let high = (self.high.is_finite()).then(|| format!("at most {}", show(self.high, due, order)));
        [low, high]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" and ")
    }
}
