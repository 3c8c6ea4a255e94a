//! How fine a lattice should be.

use super::Lattice;
use crate::{Mouth, Pan};

/// A cell size for the slosh solver, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct CellChoice {
    /// Cell edge [m].
    pub cell: f64,
    /// The reason in a sentence.
    pub reason: String,
}

/// Finest and coarsest cell chosen [m]. Finer than 4 mm costs more than it tells (time grows with the fourth
/// power); coarser than 10 mm blurs a usual mouth and doors.
const FINEST: f64 = 4e-3;
const COARSEST: f64 = 10e-3;

impl Lattice {
    /// Chooses a cell size for about `target_cells` cells.
    ///
    /// Wanted are two cells under the mouth, four across it and three across each door (from the solver's own
    /// trials: with fewer the share of air drawn is only indicative). The budget of cells may forbid that. The
    /// result lies between 4 and 10 mm, and is nudged by up to 15 % so that a face plane lies at the mouth.
    pub fn choose_cell(pan: &Pan, target_cells: usize) -> CellChoice {
        let mm = |v: f64| format!("{:.1} mm", v * 1e3);
        let Mouth { diameter, at } = pan.mouth;
        let gap = pan.mouth_over_floor();
        let mut wishes = vec![(
            diameter / 4.0,
            format!("four cells across the {} mouth", mm(diameter)),
        )];
        if let Some(gap) = gap {
            wishes.push((gap / 2.0, format!("two cells in the {} under the mouth", mm(gap))));
        }
        for d in &pan.doors {
            let (low, high) = d.corners();
            let side = (high - low).min_element();
            wishes.push((side / 3.0, format!("three cells across door \"{}\"", d.name)));
        }
        let wish = wishes
            .into_iter()
            .filter(|w| w.0 > 0.0)
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let (wanted, why) = wish.unwrap_or((FINEST, "the finest cell".into()));
        let (low, high) = pan.cavity.bounds();
        let size = high - low;
        let affordable = (size.x * size.y * size.z / target_cells.max(1) as f64).cbrt();
        let rough = wanted.max(affordable).clamp(FINEST, COARSEST);
        let mut cell = rough;
        // A face plane at the mouth, when the floor under it is the lowest and so on a face plane too.
        let over_lowest = at.z - low.z;
        if over_lowest > 0.5 * rough && gap.is_some_and(|g| (g - over_lowest).abs() < 1e-3) {
            let even = over_lowest / (over_lowest / rough).round();
            if (even / rough - 1.0).abs() <= 0.15 && (FINEST..=COARSEST).contains(&even) {
                cell = even;
            }
        }
        let cells = (size.x * size.y * size.z / cell.powi(3)).round();
        let mut reason = format!(
            "{} cells ({cells:.0} of them): {why} would ask for {}",
            mm(cell),
            mm(wanted)
        );
        if affordable > wanted.max(FINEST) {
            reason += &format!(", {target_cells} cells allow {}", mm(affordable));
        }
        if rough == FINEST && wanted.max(affordable) < FINEST {
            reason += &format!(", {} is the finest used", mm(FINEST));
        }
        if rough == COARSEST && wanted.max(affordable) > COARSEST {
            reason += &format!(", {} is the coarsest used", mm(COARSEST));
        }
        if cell != rough {
            reason += "; set so that a row of faces lies at the mouth";
        }
        CellChoice { cell, reason }
    }
}
