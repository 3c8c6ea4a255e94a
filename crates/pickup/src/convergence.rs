//! How far a number computed on a grid may lie from what an endlessly fine one would give, from the same number on
//! two or three grids.
//!
//! On three grids with cells h₁ < h₂ < h₃ the error is taken as `C hᵖ`: from φ₃ − φ₂ and φ₂ − φ₁ follow the observed
//! order p and the value at h = 0 (Richardson), and the half-width of the band round φ₁ is a safety factor on the
//! distance to it. Whether that holds shows in how the three values lie:
//!
//! | values | band |
//! | --- | --- |
//! | all the same | nothing |
//! | they close in, order up to [`HIGHEST`] | 1.25 · distance to h = 0, the order not below [`LOWEST`] |
//! | they close in faster than the method can | the same with order [`HIGHEST`], and no less than 1.25 · spread |
//! | they swing | [`SWING`] · spread: such values scatter, they do not converge |
//! | they run apart, or close in slower than order [`LOWEST`] | 3 · spread |
//! | two grids only | 3 · distance to h = 0 with the order [`ASSUMED`] |
//!
//! Sources: ASME V&V 20-2009; Celik and others 2008, J. Fluids Eng. 130, 078001 (order from unequal ratios, 1.25);
//! Roache 1994 (3 for two grids); Eça and Hoekstra 2009, J. Mar. Sci. Technol. 14 (limits of the order, spread).
//! The factor for swinging values is our own, see [`SWING`].

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Order taken where only two grids are known: the steps in time and the cut cells are of first order.
pub const ASSUMED: f64 = 1.0;

/// Lowest order from which a value at h = 0 is still drawn; below it the distance grows without sense.
pub const LOWEST: f64 = 0.5;

/// Highest order believed: that of the method where all is smooth.
pub const HIGHEST: f64 = 2.0;

/// Safety factor with an observed order.
pub const OBSERVED: f64 = 1.25;

/// Safety factor without one.
pub const UNSURE: f64 = 3.0;

/// Factor on the spread of three values that swing. Of three numbers drawn from one normal scatter whose middle one
/// is an extreme, 95 of 100 have the mean of the scatter within 1.5 times their range of the first (200 000 draws;
/// 1.25 gives 93, 2 gives 97).
pub const SWING: f64 = 1.5;

/// A number on one grid.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct OnGrid {
    /// Cell edge [m].
    pub cell: f64,
    /// The number.
    pub value: f64,
}

/// How the values lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Approach {
    /// All the same.
    Same,
    /// They close in on one value.
    Closing,
    /// They swing: the middle grid's is the largest or the smallest.
    Swinging,
    /// They run apart, or close in too slowly to say on what.
    Apart,
    /// Two grids only: nothing is known of the order.
    TwoGrids,
}

impl Approach {
    /// In words that follow the name of the quantity.
    pub fn said(self) -> &'static str {
        match self {
            Approach::Same => "the same on all grids",
            Approach::Closing => "closes in",
            Approach::Swinging => "swings from grid to grid: no order, the spread is taken",
            Approach::Apart => "does not close in yet: no order, three times the spread is taken",
            Approach::TwoGrids => "two grids only: the order is assumed",
        }
    }
}

/// What the grids say about one number.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// The values, finest grid first.
    pub grids: Vec<OnGrid>,
    /// How they lie.
    pub approach: Approach,
    /// Order that the three values show, where they show one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub observed_order: Option<f64>,
    /// Order that the band stands on, where it stands on one: the observed one between its limits, or the assumed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order_used: Option<f64>,
    /// Value at h = 0 with that order.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_zero: Option<f64>,
    /// Safety factor.
    pub factor: f64,
    /// Half-width of the band round the finest grid's value, same unit.
    pub band: f64,
}

impl Estimate {
    /// Value on the finest grid.
    pub fn value(&self) -> f64 {
        self.grids[0].value
    }
}

/// Why nothing can be estimated.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ConvergenceFault {
    /// Fewer than two or more than three grids.
    #[error("{0} grids; two or three are needed")]
    Grids(usize),
    /// A cell or value that is no number, or cells that do not grow by a tenth at least.
    #[error("the grids are of no use: cell {cell} m with the value {value}")]
    BadGrid {
        /// Cell edge [m].
        cell: f64,
        /// The value on it.
        value: f64,
    },
}

/// Reads two or three grids, finest first.
pub fn estimate(grids: &[OnGrid]) -> Result<Estimate, ConvergenceFault> {
    if !(2..=3).contains(&grids.len()) {
        return Err(ConvergenceFault::Grids(grids.len()));
    }
    let mut finer = 0.0;
    for grid in grids {
        let OnGrid { cell, value } = *grid;
        // Nearer to each other than a tenth, round-off and chance speak louder than the cells.
        if !(cell.is_finite() && value.is_finite() && cell > 0.0 && cell >= 1.1 * finer) {
            return Err(ConvergenceFault::BadGrid { cell, value });
        }
        finer = cell;
    }
    let values = grids.iter().map(|g| g.value);
    let spread = values.clone().fold(f64::MIN, f64::max) - values.clone().fold(f64::MAX, f64::min);
    let largest = values.fold(0.0, |most: f64, v| most.max(v.abs()));
    let plain = |approach, factor: f64| Estimate {
        grids: grids.to_vec(),
        approach,
        observed_order: None,
        order_used: None,
        at_zero: None,
        factor,
        band: factor * spread,
    };
    if spread <= 1e-12 * largest {
        return Ok(Estimate {
            band: 0.0,
            ..plain(Approach::Same, 0.0)
        });
    }
    let fine_ratio = grids[1].cell / grids[0].cell;
    let change = grids[0].value - grids[1].value;
    let to_zero = |order: f64| change / (fine_ratio.powf(order) - 1.0);
    let Some(coarse) = grids.get(2) else {
        return Ok(Estimate {
            order_used: Some(ASSUMED),
            at_zero: Some(grids[0].value + to_zero(ASSUMED)),
            band: UNSURE * to_zero(ASSUMED).abs(),
            ..plain(Approach::TwoGrids, UNSURE)
        });
    };
    let coarse_change = grids[1].value - coarse.value;
    if coarse_change * change < 0.0 {
        return Ok(plain(Approach::Swinging, SWING));
    }
    let Some(order) = observed_order(fine_ratio, coarse.cell / grids[1].cell, coarse_change / change) else {
        return Ok(plain(Approach::Apart, UNSURE));
    };
    if order < LOWEST {
        return Ok(Estimate {
            observed_order: Some(order),
            ..plain(Approach::Apart, UNSURE)
        });
    }
    let used = order.min(HIGHEST);
    let least = if order > HIGHEST { OBSERVED * spread } else { 0.0 };
    Ok(Estimate {
        observed_order: Some(order),
        order_used: Some(used),
        at_zero: Some(grids[0].value + to_zero(used)),
        band: (OBSERVED * to_zero(used).abs()).max(least),
        ..plain(Approach::Closing, OBSERVED)
    })
}

/// Order p > 0 at which `C hᵖ` changes by `changes` times as much between the coarse pair as between the fine one;
/// none when no such p exists (the values run apart). At most [`STEEPEST`].
///
/// `changes = r₂₁ᵖ (r₃₂ᵖ − 1) / (r₂₁ᵖ − 1)`, which rises with p from `ln r₃₂ / ln r₂₁`: halved until found. The same
/// equation as Celik's for values that close in.
fn observed_order(fine_ratio: f64, coarse_ratio: f64, changes: f64) -> Option<f64> {
    const STEEPEST: f64 = 20.0;
    let shown = |p: f64| {
        let r = fine_ratio.powf(p);
        r * (coarse_ratio.powf(p) - 1.0) / (r - 1.0)
    };
    if changes.is_nan() || changes <= coarse_ratio.ln() / fine_ratio.ln() {
        return None;
    }
    let (mut low, mut high) = (0.0, STEEPEST);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if shown(middle) < changes {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(0.5 * (low + high))
}

#[cfg(test)]
mod tests;
