//! One run on two or three grids: how far cover, bare time and air may lie from what finer cells would give.

use serde::{Deserialize, Serialize};

use crate::convergence::{ConvergenceFault, Estimate, OnGrid, estimate};
use crate::history::CoverHistory;
use crate::limits::AIR_SPAN;

/// What the grids say about one stretch of oil motion.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct GridStudy {
    /// Least cover [m].
    pub least_cover: Estimate,
    /// Longest stretch with the mouth bare [s].
    pub longest_bare: Estimate,
    /// Air drawn [m³].
    pub air: Estimate,
    /// Share of air in all that the pump took, 0..1.
    pub air_share: Estimate,
    /// Largest share of air in any [`AIR_SPAN`], 0..1: what the limit is set on.
    pub worst_second: Estimate,
}

/// Half-widths of uncertainty that a verdict is read with.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bands {
    /// Of the least cover [m].
    pub cover: f64,
    /// Of the longest bare stretch [s]; absent when the mouth is bare on no grid: the cover then says how near it is.
    pub longest_bare: Option<f64>,
    /// Of the largest share of air in a second, 0..1; absent when no grid drew air.
    pub worst_second: Option<f64>,
    /// Of the air drawn [m³]; absent when no grid drew air.
    pub air: Option<f64>,
}

impl GridStudy {
    /// Reads the window `start..=end` [s] of each grid's history; `grids` are (cell edge [m], history), finest first.
    ///
    /// # Panics
    /// When a history has no row in the window.
    pub fn read(grids: &[(f64, &CoverHistory)], start: f64, end: f64) -> Result<GridStudy, ConvergenceFault> {
        let of = |number: &dyn Fn(&CoverHistory) -> f64| {
            let on: Vec<OnGrid> = grids
                .iter()
                .map(|&(cell, history)| OnGrid {
                    cell,
                    value: number(history),
                })
                .collect();
            estimate(&on)
        };
        let mut longest_bare = of(&|h| h.gulps(start, end).iter().map(|g| g.length()).fold(0.0, f64::max))?;
        if longest_bare.grids.iter().any(|g| g.value > 0.0) {
            // A stretch is known to the row at each end, whatever the cells.
            let row = grids.iter().map(|(_, h)| row_length(h)).fold(0.0, f64::max);
            longest_bare.band = longest_bare.band.max(row);
        }
        Ok(GridStudy {
            least_cover: of(&|h| h.least_cover(start, end).expect("the window has rows").0)?,
            longest_bare,
            air: of(&|h| h.air_in(start, end))?,
            air_share: of(&|h| {
                let (air, oil) = (h.air_in(start, end), h.drawn_in(start, end));
                if air > 0.0 { air / (air + oil) } else { 0.0 }
            })?,
            worst_second: of(&|h| h.worst_air_share(AIR_SPAN, start, end))?,
        })
    }

    /// The half-widths.
    pub fn bands(&self) -> Bands {
        let any = |e: &Estimate| e.grids.iter().any(|g| g.value > 0.0).then_some(e.band);
        Bands {
            cover: self.least_cover.band,
            longest_bare: any(&self.longest_bare),
            worst_second: any(&self.worst_second),
            air: any(&self.air),
        }
    }
}

/// Time between two rows [s].
fn row_length(history: &CoverHistory) -> f64 {
    match history.time[..] {
        [first, .., last] => (last - first) / (history.len() - 1) as f64,
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::history::{Ledger, Row};

    /// 2 s at 50 rows a second; bare from 1 s for `bare` seconds, `cover` [m] elsewhere.
    fn history(cover: f64, bare: f64) -> CoverHistory {
        let mut history = CoverHistory::default();
        let (mut air, mut drawn) = (0.0, 0.0);
        for step in 0..=100 {
            let time = f64::from(step) * 0.02;
            let dry = time >= 1.0 && time < 1.0 + bare - 1e-9;
            *(if dry { &mut air } else { &mut drawn }) += 6e-6;
            let row = Row {
                time,
                cover: if dry { 0.0 } else { cover },
                demand: 3e-4,
                air,
                drawn,
                ledger: Ledger {
                    pan: 3e-3,
                    ..Ledger::default()
                },
                ..Row::default()
            };
            history.push(row).expect("a sound row");
        }
        history
    }

    #[test]
    fn bare_time_and_air_are_read_from_each_grid() {
        let grids = [history(0.02, 0.20), history(0.02, 0.24), history(0.02, 0.30)];
        let cells = [4e-3, 5e-3, 6.25e-3];
        let on: Vec<(f64, &CoverHistory)> = cells.into_iter().zip(&grids).collect();
        let study = GridStudy::read(&on, 0.0, 2.0).expect("sound grids");
        let bare: Vec<f64> = study.longest_bare.grids.iter().map(|g| g.value).collect();
        for (got, wanted) in bare.iter().zip([0.20, 0.24, 0.30]) {
            assert!((got - wanted).abs() < 1e-9, "got {bare:?}");
        }
        // Changes of 0.04 and 0.06 s over ratios of 1.25: order ln 1.5 / ln 1.25.
        let order = study.longest_bare.observed_order.expect("they close in");
        assert!((order - 1.5f64.ln() / 1.25f64.ln()).abs() < 1e-6, "got {order}");
        assert!((study.air.value() - 10.0 * 6e-6).abs() < 1e-12, "{:?}", study.air);
        let bands = study.bands();
        assert_eq!(bands.cover, 0.0);
        assert!(bands.longest_bare.is_some_and(|b| b > 0.0));
        assert!(bands.air.is_some_and(|b| b > 0.0));
    }

    #[test]
    fn a_bare_time_is_never_known_better_than_a_row() {
        let grids = [history(0.02, 0.2), history(0.02, 0.2), history(0.02, 0.2)];
        let on = [(4e-3, &grids[0]), (5e-3, &grids[1]), (6e-3, &grids[2])];
        let band = GridStudy::read(&on, 0.0, 2.0)
            .expect("sound grids")
            .bands()
            .longest_bare;
        assert!(band.is_some_and(|b| (b - 0.02).abs() < 1e-9), "{band:?}");
    }

    #[test]
    fn a_mouth_that_is_never_bare_leaves_the_word_to_the_cover() {
        let grids = [history(0.020, 0.0), history(0.018, 0.0)];
        let on = [(4e-3, &grids[0]), (5e-3, &grids[1])];
        let bands = GridStudy::read(&on, 0.0, 2.0).expect("sound grids").bands();
        // Two grids: three times 2 mm over a ratio of 1.25 at order one.
        assert!((bands.cover - 3.0 * 2e-3 / 0.25).abs() < 1e-9, "{}", bands.cover);
        assert_eq!(
            (bands.longest_bare, bands.worst_second, bands.air),
            (None, None, None)
        );
    }
}
