//! What counts as thin, as bare for too long, and as too much oil at the crank.

use serde::{Deserialize, Serialize};

/// Span over which the share of air is taken [s]: what the trade tolerates is told in "a second or so".
pub const AIR_SPAN: f64 = 1.0;

/// Limits of the verdict. The defaults are common practice, no source: change them to what the engine's
/// builder says.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Limits {
    /// Cover over the mouth below which it is called thin [m].
    pub least_cover: f64,
    /// Longest bare stretch that is let pass [s].
    pub longest_gulp: f64,
    /// Largest share of air in what the pump takes over any [`AIR_SPAN`], 0..1.
    pub air_share: f64,
    /// Smallest gap between the level at rest and the crank sweep [m].
    pub crank_gap: f64,
    /// Most oil inside the crank sweep at once before it is said [m³].
    pub at_crank: f64,
}

impl Default for Limits {
    /// 5 mm over the mouth; bare for 0.1 s at most; 10 % air in any second; 25 mm from the level at rest to
    /// the crank (trade figures run from 25 mm to 60 mm); 0.05 L inside the sweep. Common practice, no
    /// source.
    fn default() -> Limits {
        Limits {
            least_cover: 0.005,
            longest_gulp: 0.1,
            air_share: 0.1,
            crank_gap: 0.025,
            at_crank: 0.05e-3,
        }
    }
}

impl Limits {
    /// Names of the limits that are not finite, below zero, or (the share) above one.
    pub fn faults(&self) -> Vec<&'static str> {
        let top = f64::MAX;
        [
            ("least cover", self.least_cover, top),
            ("longest gulp", self.longest_gulp, top),
            ("air share", self.air_share, 1.0),
            ("crank gap", self.crank_gap, top),
            ("oil at the crank", self.at_crank, top),
        ]
        .into_iter()
        .filter(|&(_, value, most)| !(0.0..=most).contains(&value))
        .map(|(what, _, _)| what)
        .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_defaults_are_limits_and_poison_is_named() {
        assert!(Limits::default().faults().is_empty());
        let bad = Limits {
            least_cover: f64::NAN,
            air_share: 1.5,
            ..Limits::default()
        };
        assert_eq!(bad.faults(), ["least cover", "air share"]);
    }
}
