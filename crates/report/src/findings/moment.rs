//! One moment computed in three dimensions.

use crate::section::Section;
use pickup::{CoverHistory, GridStudy};
use serde::{Deserialize, Serialize};

/// An instant of the drive, with its place when known.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Instant {
    /// On the drive's clock [s].
    pub time: f64,
    /// In words: "lap 2, turn 5, 1 240 m".
    pub place: String,
}

/// A stretch of the drive that was computed in three dimensions.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Moment {
    /// 1 is the worst.
    pub rank: usize,
    /// Short name: "long left, lap 2".
    pub name: String,
    /// What the car does, one sentence.
    pub said: String,
    /// Start of the stretch, run-in included [s].
    pub start: f64,
    /// From here on it counts; before it the oil only settles into motion [s].
    pub counts_from: f64,
    /// End [s].
    pub end: f64,
    /// The worst instant.
    pub worst: Instant,
    /// Least cover from `counts_from` on [m].
    pub least_cover: f64,
    /// Half-width of the uncertainty of `least_cover` from the grid [m], when known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least_cover_band: Option<f64>,
    /// Time with less than the limit over the mouth [s].
    pub thin_for: f64,
    /// Time with the mouth bare [s]: nothing over its middle, or more than a tenth of what the pump takes is air.
    pub bare_for: f64,
    /// Air drawn [m³].
    pub air: f64,
    /// Longest single gulp of air [s].
    pub longest_gulp: f64,
    /// Half-width of the uncertainty of `air` from the grid [m³], when known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub air_band: Option<f64>,
    /// Most oil inside the crank sweep [m³].
    pub most_at_crank: f64,
    /// Apparent gravity at the worst instant, pan frame [m/s²].
    pub gravity_at_worst: [f64; 3],
    /// Why: where the oil went and which plate or door decided it.
    pub why: String,
    /// The same moment on other cell sizes, when that was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grids: Option<GridStudy>,
    /// The whole history, thinned for drawing by [`thin`].
    pub history: CoverHistory,
    /// Cuts through the pan at the worst instant. Pictures only: not in the JSON.
    #[serde(skip)]
    pub sections: Vec<Section>,
}

/// A history of at most about `most` rows. Each kept row is the one of least cover in its bin, the first and
/// the last row are kept, so neither a short bare spell nor the totals get lost.
pub fn thin(history: &CoverHistory, most: usize) -> CoverHistory {
    let count = history.time.len();
    if count <= most || most < 4 {
        return history.clone();
    }
    let bins = most - 2;
    let mut keep = vec![0];
    for bin in 0..bins {
        let (from, to) = (1 + bin * (count - 2) / bins, 1 + (bin + 1) * (count - 2) / bins);
        if let Some(least) = (from..to).min_by(|&a, &b| history.cover[a].total_cmp(&history.cover[b])) {
            keep.push(least);
        }
    }
    keep.push(count - 1);
    fn pick<T: Clone>(series: &[T], keep: &[usize]) -> Vec<T> {
        keep.iter().filter_map(|&i| series.get(i).cloned()).collect()
    }
    CoverHistory {
        time: pick(&history.time, &keep),
        cover: pick(&history.cover, &keep),
        demand: pick(&history.demand, &keep),
        air: pick(&history.air, &keep),
        drawn: pick(&history.drawn, &keep),
        spaces: pick(&history.spaces, &keep),
        doors: pick(&history.doors, &keep),
        at_crank: pick(&history.at_crank, &keep),
        ledger: pick(&history.ledger, &keep),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thinning_keeps_the_shortest_bare_spell_and_the_last_totals() {
        let count = 5000;
        let history = CoverHistory {
            time: (0..count).map(|i| i as f64 * 1e-3).collect(),
            cover: (0..count).map(|i| if i == 3217 { 0.0 } else { 0.03 }).collect(),
            air: (0..count).map(|i| if i < 3217 { 0.0 } else { 2e-6 }).collect(),
            ..Default::default()
        };
        let thinned = thin(&history, 300);
        assert!(thinned.time.len() <= 300, "got {} rows", thinned.time.len());
        assert!(thinned.cover.contains(&0.0), "the bare spell at 3.217 s got lost");
        assert_eq!(thinned.air.last(), Some(&2e-6));
        assert!(thinned.time.windows(2).all(|w| w[0] < w[1]), "time must rise");
    }
}
