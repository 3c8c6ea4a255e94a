//! The lowest safe fill, by search.

use serde::{Deserialize, Serialize};
use thiserror::Error;

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
/// [m³], by halving. `compute` is called once for each fill tried: `high` first, then `low`, then the
/// halves, at last one fill between the answer and `high` to see whether holding is one-sided.
pub fn lowest_safe_fill<E>(
    low: f64,
    high: f64,
    tolerance: f64,
    mut compute: impl FnMut(f64) -> Result<Outcome, E>,
) -> Result<FillSearch, SearchFault<E>> {
    let sound = low.is_finite() && high.is_finite() && tolerance.is_finite();
    if !(sound && low >= 0.0 && high > low && tolerance > 0.0) {
        return Err(SearchFault::BadBounds { low, high, tolerance });
    }
    let mut tried: Vec<(f64, Outcome)> = Vec::new();
    let mut holds = |fill: f64| -> Result<bool, SearchFault<E>> {
        let outcome = compute(fill).map_err(|fault| SearchFault::Compute { fill, fault })?;
        let at = tried.partition_point(|&(f, _)| f < fill);
        tried.insert(at, (fill, outcome));
        Ok(outcome.holds)
    };
    let answer = if !holds(high)? {
        if holds(low)? {
            Answer::NotOneSided {
                holds_at: low,
                fails_at: high,
            }
        } else {
            Answer::HoldsNowhere
        }
    } else if holds(low)? {
        Answer::HoldsThroughout
    } else {
        let (mut fails_at, mut fill) = (low, high);
        while fill - fails_at > tolerance {
            let middle = 0.5 * (fails_at + fill);
            if holds(middle)? {
                fill = middle
            } else {
                fails_at = middle
            }
        }
        if high - fill > 2.0 * tolerance {
            holds(0.5 * (fill + high))?;
        }
        Answer::Found { fill, fails_at }
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

    fn outcome(holds: bool) -> Result<Outcome, String> {
        Ok(Outcome {
            holds,
            least_cover: if holds { 0.01 } else { 0.0 },
            air: 0.0,
        })
    }

    #[test]
    fn the_edge_is_found_to_the_tolerance_with_few_computations() {
        let mut calls = 0;
        let found = lowest_safe_fill(3.0e-3, 7.0e-3, 0.05e-3, |fill| {
            calls += 1;
            outcome(fill >= 5.237e-3)
        })
        .unwrap();
        let Answer::Found { fill, fails_at } = found.answer else {
            panic!("{:?}", found.answer)
        };
        assert!(fails_at < 5.237e-3 && fill >= 5.237e-3 && fill - fails_at <= 0.05e-3);
        assert_eq!(calls, found.tried.len());
        assert!(calls <= 10, "{calls} computations");
        assert!(found.tried.windows(2).all(|w| w[0].0 < w[1].0));
    }

    #[test]
    fn ends_that_decide_are_said() {
        assert_eq!(
            lowest_safe_fill(1.0, 2.0, 0.1, |_| outcome(true)).unwrap().answer,
            Answer::HoldsThroughout
        );
        assert_eq!(
            lowest_safe_fill(1.0, 2.0, 0.1, |_| outcome(false))
                .unwrap()
                .answer,
            Answer::HoldsNowhere
        );
    }

    #[test]
    fn more_oil_that_fails_again_is_found_out() {
        let found =
            lowest_safe_fill(1.0, 2.0, 0.01, |f| outcome((1.2..1.58).contains(&f) || f > 1.9)).unwrap();
        assert!(
            matches!(found.answer, Answer::NotOneSided { .. }),
            "{:?}",
            found.answer
        );
        let upside_down = lowest_safe_fill(1.0, 2.0, 0.01, |f| outcome(f < 1.3)).unwrap();
        assert!(matches!(upside_down.answer, Answer::NotOneSided { .. }));
    }

    #[test]
    fn nonsense_and_faults_are_handed_on() {
        assert!(matches!(
            lowest_safe_fill(2.0, 1.0, 0.1, |_| outcome(true)),
            Err(SearchFault::BadBounds { .. })
        ));
        assert!(lowest_safe_fill(1.0, f64::NAN, 0.1, |_| outcome(true)).is_err());
        let fault = lowest_safe_fill(1.0, 2.0, 0.1, |_| Err::<Outcome, _>("no oil".to_string())).unwrap_err();
        assert_eq!(
            fault,
            SearchFault::Compute {
                fill: 2.0,
                fault: "no oil".to_string()
            }
        );
    }
}
