//! How fine a lattice should be.

use super::{Lattice, cut, tight::TightPlace};
use crate::Pan;

/// A cell size for the slosh solver, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct CellChoice {
    /// Cell edge [m].
    pub cell: f64,
    /// The reason in a sentence.
    pub reason: String,
}

/// Finest and coarsest cell chosen without a word from the user [m]. Finer than 4 mm costs more than it tells (time
/// grows with the fourth power); coarser than 10 mm blurs a usual mouth and doors.
const FINEST: f64 = 4e-3;
const COARSEST: f64 = 10e-3;

/// A cell is moved by up to this share of itself to bring a face plane to the mouth.
const NUDGE: f64 = 0.15;

impl Lattice {
    /// Chooses a cell size for about `target_cells` cells.
    ///
    /// The tight places ask for so many cells across each ([`Pan::tight_places`]); the budget may forbid that, but no
    /// cell is ever larger than a tight place. Otherwise the result lies between 4 and 10 mm.
    pub fn choose_cell(pan: &Pan, target_cells: usize) -> CellChoice {
        let (low, high) = pan.cavity.bounds();
        let size = high - low;
        let affordable = (size.x * size.y * size.z / target_cells.max(1) as f64).cbrt();
        let places = pan.tight_places();
        let wish = places.iter().min_by(|a, b| a.wanted().total_cmp(&b.wanted()));
        let wanted = wish.map_or(FINEST, TightPlace::wanted);
        let free = wanted.max(affordable).clamp(FINEST, COARSEST);
        let tightest = Lattice::largest_cell(&places);
        let rough = tightest.map_or(free, |place| free.min(place.across));
        let cell = Lattice::cell_near(pan, rough);
        let mm = |v: f64| format!("{:.1} mm", v * 1e3);
        let cells = Lattice::count(pan, cell);
        let mut reason = format!("{} cells ({cells} of them)", mm(cell));
        if let Some(wish) = wish {
            let number = ["no", "one", "two", "three", "four"][wish.cells.min(4) as usize];
            reason += &format!(": {number} across the {} would ask for {}", wish.name, mm(wanted));
        }
        if affordable > wanted.max(FINEST) {
            reason += &format!(", {target_cells} cells allow {}", mm(affordable));
        }
        if let Some(place) = tightest.filter(|place| place.across < free) {
            reason += &format!(", but none may be larger than the {}", place.name);
        } else if wanted.max(affordable) < FINEST {
            reason += &format!(", {} is the finest used", mm(FINEST));
        } else if wanted.max(affordable) > COARSEST {
            reason += &format!(", {} is the coarsest used", mm(COARSEST));
        }
        if cell != rough {
            reason += "; set so that a row of faces lies at the mouth";
        }
        CellChoice { cell, reason }
    }

    /// The place that bounds the cell: its narrowest width is the largest cell allowed.
    pub fn largest_cell(places: &[TightPlace]) -> Option<&TightPlace> {
        places.iter().min_by(|a, b| a.across.total_cmp(&b.across))
    }

    /// `rough` [m], moved by up to 15 % so that a face plane lies at the mouth where the floor under it is the lowest
    /// and so on a face plane too; never larger than a tight place.
    pub fn cell_near(pan: &Pan, rough: f64) -> f64 {
        let over_lowest = pan.mouth.at.z - pan.cavity.bounds().0.z;
        let floor_is_lowest = pan
            .mouth_over_floor()
            .is_some_and(|gap| (gap - over_lowest).abs() < 1e-3);
        if over_lowest <= 0.5 * rough || !floor_is_lowest {
            return rough;
        }
        let even = over_lowest / (over_lowest / rough).round();
        let places = pan.tight_places();
        let allowed = Lattice::largest_cell(&places).is_none_or(|place| even <= place.across);
        if (even / rough - 1.0).abs() <= NUDGE && allowed {
            even
        } else {
            rough
        }
    }

    /// Cells of a lattice with this cell edge [m], solid ones counted: what has to be held in memory.
    pub fn count(pan: &Pan, cell: f64) -> usize {
        let (n, _) = cut::grid(pan.cavity.bounds(), cell);
        n.iter().fold(1, |product: usize, n| product.saturating_mul(*n))
    }
}
