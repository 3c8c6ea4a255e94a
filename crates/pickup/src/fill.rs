//! The lowest safe fill, by search.

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Fills tried at the same time. Fixed, so that the answer does not depend on the machine.
const TOGETHER: usize = 2;

/// What came out at one fill.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// True when the pan holds at this fill.
    pub holds: bool,
    /// Least cover [m].
    pub least_cover: f64,
    /// Air drawn [m³].
    pub air: f64,
}

/// What the search came to.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Answer {
    /// Holds at `fill` and fails at `fails_at`, which is no more than the tolerance below [m³].
    Found {
        /// Lowest fill found to hold.
        fill: f64,
        /// Highest fill below it found to fail.
        fails_at: f64,
    },
    /// Holds at the lowest fill that was asked for: the limit lies below it.
    HoldsThroughout,
    /// Fails at the highest fill that was asked for.
    HoldsNowhere,
    /// A higher fill failed where a lower one held: more oil is not simply better here (a roof that fills,
    /// oil at the crank), and one lowest fill has no meaning.
    NotOneSided {
        /// Held [m³].
        holds_at: f64,
        /// Failed [m³].
        fails_at: f64,
    },
}

/// The search with all that was tried.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FillSearch {
    /// The answer.
    pub answer: Answer,
    /// Fills tried [m³] with what came out, rising.
    pub tried: Vec<(f64, Outcome)>,
    /// Tolerance of the search [m³].
    pub tolerance: f64,
}

/// Why a search cannot start or go on.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum SearchFault<E> {
    /// Bounds or tolerance are no numbers, crossed, or not above zero.
    #[error(
        "a search for the lowest fill from {low} m³ to {high} m³ to within {tolerance} m³ makes no sense"
    )]
    BadBounds {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
        /// Tolerance.
        tolerance: f64,
    },
    /// A computation at one fill failed.
    #[error("at a fill of {fill} m³: {fault}")]
    Compute {
        /// The fill [m³].
        fill: f64,
        /// Why.
        fault: E,
    },
}

/// Searches the lowest fill between `low` and `high` [m³] at which the pan holds, to within `tolerance`
/// [m³]. `compute` is handed fills that it may compute at the same time and gives one outcome each: first
/// both ends, then two fills that cut the stretch in question into equal parts, and so on; at last
/// one fill between the answer and `high`, to see whether holding is one-sided.
pub fn lowest_safe_fill<E>(
    low: f64,
    high: f64,
    tolerance: f64,
    mut compute: impl FnMut(&[f64]) -> Result<Vec<Outcome>, E>,
) -> Result<FillSearch, SearchFault<E>> {
    let sound = low.is_finite() && high.is_finite() && tolerance.is_finite();
    if !(sound && low >= 0.0 && high > low && tolerance > 0.0) {
        return Err(SearchFault::BadBounds { low, high, tolerance });
    }
    let mut tried: Vec<(f64, Outcome)> = Vec::new();
    let mut hold = |fills: &[f64]| -> Result<Vec<bool>, SearchFault<E>> {
        let outcomes = compute(fills).map_err(|fault| SearchFault::Compute {
            fill: fills[0],
            fault,
        })?;
        assert_eq!(outcomes.len(), fills.len(), "one outcome for each fill");
        for (&fill, &outcome) in fills.iter().zip(&outcomes) {
            let at = tried.partition_point(|&(f, _)| f < fill);
            tried.insert(at, (fill, outcome));
        }
        Ok(outcomes.iter().map(|o| o.holds).collect())
    };
    let ends = hold(&[low, high])?;
    let answer = match (ends[0], ends[1]) {
        (true, false) => Answer::NotOneSided {
            holds_at: low,
            fails_at: high,
        },
        (false, false) => Answer::HoldsNowhere,
        (true, true) => Answer::HoldsThroughout,
        (false, true) => {
            let (mut fails_at, mut fill) = (low, high);
            while fill - fails_at > tolerance {
                let part = (fill - fails_at) / (TOGETHER + 1) as f64;
                let fills: Vec<f64> = (1..=TOGETHER).map(|i| fails_at + part * i as f64).collect();
                let held = hold(&fills)?;
                match held.iter().rposition(|held| !held) {
                    Some(last) => {
                        fails_at = fills[last];
                        fill = fills.get(last + 1).copied().unwrap_or(fill);
                    }
                    None => fill = fills[0],
                }
            }
            if high - fill > 2.0 * tolerance {
                hold(&[0.5 * (fill + high)])?;
            }
            Answer::Found { fill, fails_at }
        }
    };
    let crossed = tried.iter().enumerate().find_map(|(i, &(holds_at, outcome))| {
        let above = tried[i + 1..].iter().find(|(_, higher)| !higher.holds);
        above
            .filter(|_| outcome.holds)
            .map(|&(fails_at, _)| Answer::NotOneSided { holds_at, fails_at })
    });
    Ok(FillSearch {
        answer: crossed.unwrap_or(answer),
        tried,
        tolerance,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn each(fills: &[f64], holds: impl Fn(f64) -> bool) -> Result<Vec<Outcome>, String> {
        let outcome = |&fill: &f64| Outcome {
            holds: holds(fill),
            least_cover: if holds(fill) { 0.01 } else { 0.0 },
            air: 0.0,
        };
        Ok(fills.iter().map(outcome).collect())
    }

    #[test]
    fn the_edge_is_found_to_the_tolerance_with_few_computations() {
        let mut calls = 0;
        let found = lowest_safe_fill(3.0e-3, 7.0e-3, 0.05e-3, |fills| {
            calls += fills.len();
            each(fills, |fill| fill >= 5.237e-3)
        })
        .unwrap();
        let Answer::Found { fill, fails_at } = found.answer else {
            panic!("{:?}", found.answer)
        };
        assert!(fails_at < 5.237e-3 && fill >= 5.237e-3 && fill - fails_at <= 0.05e-3);
        assert_eq!(calls, found.tried.len());
        assert!(calls <= 12, "{calls} computations");
        assert!(found.tried.windows(2).all(|w| w[0].0 < w[1].0));
    }

    #[test]
    fn ends_that_decide_are_said() {
        assert_eq!(
            lowest_safe_fill(1.0, 2.0, 0.1, |f| each(f, |_| true))
                .unwrap()
                .answer,
            Answer::HoldsThroughout
        );
        assert_eq!(
            lowest_safe_fill(1.0, 2.0, 0.1, |f| each(f, |_| false))
                .unwrap()
                .answer,
            Answer::HoldsNowhere
        );
    }

    #[test]
    fn more_oil_that_fails_again_is_found_out() {
        let found = lowest_safe_fill(1.0, 2.0, 0.01, |fills| {
            each(fills, |f| (1.2..1.55).contains(&f) || f > 1.9)
        })
        .unwrap();
        assert!(
            matches!(found.answer, Answer::NotOneSided { .. }),
            "{:?}",
            found.answer
        );
        let upside_down = lowest_safe_fill(1.0, 2.0, 0.01, |fills| each(fills, |f| f < 1.3)).unwrap();
        assert!(matches!(upside_down.answer, Answer::NotOneSided { .. }));
    }

    #[test]
    fn nonsense_and_faults_are_handed_on() {
        assert!(matches!(
            lowest_safe_fill(2.0, 1.0, 0.1, |f| each(f, |_| true)),
            Err(SearchFault::BadBounds { .. })
        ));
        assert!(lowest_safe_fill(1.0, f64::NAN, 0.1, |f| each(f, |_| true)).is_err());
        let fault =
            lowest_safe_fill(1.0, 2.0, 0.1, |_| Err::<Vec<Outcome>, _>("no oil".to_string())).unwrap_err();
        assert_eq!(
            fault,
            SearchFault::Compute {
                fill: 1.0,
                fault: "no oil".to_string()
            }
        );
    }
}
