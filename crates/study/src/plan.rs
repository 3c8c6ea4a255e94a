//! What moves, and how cases are picked.

use crate::sample;
use crate::search::Search;
use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, Normal};

/// A normal input is cut off so many standard deviations from its middle.
pub const NORMAL_CUT: f64 = 3.0;

/// How one input spreads.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Spread {
    /// One of so many stated values, all as likely.
    Levels(usize),
    /// Anything between two values [SI], all as likely.
    Even {
        /// Low end.
        from: f64,
        /// High end.
        to: f64,
    },
    /// Likeliest at `mid`, falling straight to nothing at both ends [SI].
    Triangular {
        /// Low end.
        low: f64,
        /// Likeliest.
        mid: f64,
        /// High end.
        high: f64,
    },
    /// The normal distribution, cut off at three standard deviations [SI].
    Normal {
        /// Middle.
        mean: f64,
        /// Standard deviation.
        deviation: f64,
    },
}

impl Spread {
    /// The value at the share `u` of the distribution, 0 < u < 1: its quantile. For levels, the number of the level.
    pub fn at(&self, u: f64) -> f64 {
        match *self {
            Spread::Levels(count) => (u * count as f64).floor().clamp(0.0, count as f64 - 1.0),
            Spread::Even { from, to } => from + u * (to - from),
            Spread::Triangular { low, mid, high } => {
                let turn = (mid - low) / (high - low);
                if u < turn {
                    low + (u * (high - low) * (mid - low)).sqrt()
                } else {
                    high - ((1.0 - u) * (high - low) * (high - mid)).sqrt()
                }
            }
            Spread::Normal { mean, deviation } => {
                let normal = Normal::standard();
                let below = normal.cdf(-NORMAL_CUT);
                let u = below + u * (1.0 - 2.0 * below);
                mean + deviation * normal.inverse_cdf(u)
            }
        }
    }

    /// Both ends of what it may give; for levels, the numbers of the first and the last.
    pub fn ends(&self) -> (f64, f64) {
        match *self {
            Spread::Levels(count) => (0.0, count as f64 - 1.0),
            Spread::Even { from, to } => (from, to),
            Spread::Triangular { low, high, .. } => (low, high),
            Spread::Normal { mean, deviation } => {
                (mean - NORMAL_CUT * deviation, mean + NORMAL_CUT * deviation)
            }
        }
    }
}

/// How cases are picked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Method {
    /// Every combination of levels.
    Grid,
    /// Points that fill the room evenly, however many are taken.
    Sobol {
        /// How many.
        cases: usize,
    },
    /// Each input cut into as many strips as there are cases, one case in each strip.
    LatinHypercube {
        /// How many.
        cases: usize,
    },
    /// Generations that learn from the ones before.
    Search {
        /// How many generations.
        generations: usize,
        /// Cases of each.
        population: usize,
    },
}

/// Why a plan cannot be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PlanFault {
    /// A grid has an input without levels.
    #[error("a grid needs levels, and input {input} has none")]
    NoLevels {
        /// Number of the input.
        input: usize,
    },
    /// More cases than can be numbered and kept.
    #[error("{cases} cases are asked for; at most {most} are")]
    TooMany {
        /// Asked for.
        cases: f64,
        /// Most.
        most: usize,
    },
    /// More inputs than the points of the method have directions.
    #[error("{inputs} inputs vary; at most {most} can")]
    TooWide {
        /// Inputs.
        inputs: usize,
        /// Most.
        most: usize,
    },
}

/// Most cases of a study.
pub const MOST_CASES: usize = 1_000_000;

/// A study as numbers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    spreads: Vec<Spread>,
    method: Method,
    seed: u64,
}

impl Plan {
    /// Checks that the method can do with the inputs.
    pub fn new(spreads: Vec<Spread>, method: Method, seed: u64) -> Result<Plan, PlanFault> {
        let plan = Plan {
            spreads,
            method,
            seed,
        };
        let (cases, most) = match method {
            Method::Grid => {
                let levels = plan
                    .spreads
                    .iter()
                    .enumerate()
                    .map(|(input, spread)| match spread {
                        Spread::Levels(count) => Ok(*count as f64),
                        _ => Err(PlanFault::NoLevels { input }),
                    });
                let product = levels.into_iter().try_fold(1.0, |so_far, n| Ok(so_far * n?))?;
                (product, MOST_CASES)
            }
            Method::Sobol { cases } => (cases as f64, sample::MOST_SOBOL),
            Method::LatinHypercube { cases } => (cases as f64, MOST_CASES),
            Method::Search {
                generations,
                population,
            } => (generations as f64 * population as f64, MOST_CASES),
        };
        if cases > most as f64 {
            return Err(PlanFault::TooMany { cases, most });
        }
        if plan.spreads.len() > sample::MOST_INPUTS {
            return Err(PlanFault::TooWide {
                inputs: plan.spreads.len(),
                most: sample::MOST_INPUTS,
            });
        }
        Ok(plan)
    }

    /// How each input spreads.
    pub fn spreads(&self) -> &[Spread] {
        &self.spreads
    }

    /// How cases are picked.
    pub fn method(&self) -> Method {
        self.method
    }

    /// How many cases there are.
    pub fn cases(&self) -> usize {
        match self.method {
            Method::Grid => self.levels().iter().product(),
            Method::Sobol { cases } | Method::LatinHypercube { cases } => cases,
            Method::Search {
                generations,
                population,
            } => generations * population,
        }
    }

    /// The search, when it is one.
    pub fn search(&self) -> Option<Search> {
        match self.method {
            Method::Search {
                generations,
                population,
            } => Some(Search {
                inputs: self.spreads.len(),
                generations,
                population,
                seed: self.seed,
            }),
            _ => None,
        }
    }

    /// The draws of all cases, in order; none for a search, whose draws follow from its scores.
    pub fn draws(&self) -> Option<Vec<Vec<f64>>> {
        let inputs = self.spreads.len();
        match self.method {
            Method::Grid => Some(sample::grid(&self.levels())),
            Method::Sobol { cases } => Some(sample::sobol(cases, inputs, self.seed)),
            Method::LatinHypercube { cases } => Some(sample::latin_hypercube(cases, inputs, self.seed)),
            Method::Search { .. } => None,
        }
    }

    fn levels(&self) -> Vec<usize> {
        let count = |spread: &Spread| match spread {
            Spread::Levels(count) => *count,
            _ => 1,
        };
        self.spreads.iter().map(count).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The quantile of the triangular distribution on 0, 1, 4: F(1) = 1/4; the median is 4 − √6 (by hand, from its density).
    #[test]
    fn a_triangle_has_its_quantiles() {
        let spread = Spread::Triangular {
            low: 0.0,
            mid: 1.0,
            high: 4.0,
        };
        assert!((spread.at(0.25) - 1.0).abs() < 1e-12);
        assert!((spread.at(0.5) - (4.0 - 6f64.sqrt())).abs() < 1e-12);
        let edge = Spread::Triangular {
            low: 0.0,
            mid: 0.0,
            high: 1.0,
        };
        assert!((edge.at(0.75) - 0.5).abs() < 1e-12);
    }

    /// Tables of the normal distribution: z(0.975) = 1.959964 (Abramowitz & Stegun, table 26.5). The cut at three deviations
    /// takes 0.135 % off each end, so the share is moved by that much.
    #[test]
    fn a_normal_input_has_its_quantiles_and_is_cut_off() {
        let spread = Spread::Normal {
            mean: 10.0,
            deviation: 2.0,
        };
        let below = 0.001_349_898;
        let u = (0.975 - below) / (1.0 - 2.0 * below);
        assert!((spread.at(u) - 10.0 - 2.0 * 1.959_964).abs() < 1e-5);
        assert!((spread.at(0.5) - 10.0).abs() < 1e-9);
        assert!(spread.at(1.0 - 1e-12) <= 16.0 + 1e-6);
    }

    #[test]
    fn a_plan_that_cannot_be_is_refused() {
        let even = Spread::Even { from: 0.0, to: 1.0 };
        assert_eq!(
            Plan::new(vec![Spread::Levels(3), even.clone()], Method::Grid, 1),
            Err(PlanFault::NoLevels { input: 1 })
        );
        assert!(matches!(
            Plan::new(vec![Spread::Levels(1000); 3], Method::Grid, 1),
            Err(PlanFault::TooMany { .. })
        ));
        assert!(matches!(
            Plan::new(vec![even; 300], Method::Sobol { cases: 8 }, 1),
            Err(PlanFault::TooWide { .. })
        ));
    }
}
