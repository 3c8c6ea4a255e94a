//! The first instant: every space between plates keeps the oil it had at rest.
//!
//! Spaces are those of the lattice (doors shut); levels come from its [`Columns`]. The lattice puts plates on
//! cell faces, up to half a cell from their place, which is the larger part of the error: a level is good to
//! three quarters of a cell (tested against exact levels on a box that the lattice cuts at odd places).

use glam::DVec3;
use pan::Lattice;

use crate::StillFault;
use crate::columns::Columns;

/// Ready to give the level in the mouth's space for any direction.
#[derive(Clone, Debug)]
pub struct FirstInstant {
    mouth_at: DVec3,
    /// Oil that each space keeps [m³].
    pub kept: Vec<f64>,
    /// Index of the mouth's space.
    pub mouth_space: usize,
    columns: Columns,
}

impl FirstInstant {
    /// Oil of `volume` [m³] at rest under `rest_up` (unit, pan frame), then shut into its spaces.
    ///
    /// Errors when the volume is no number, below zero or more than the lattice holds, and when no cell
    /// lies under the mouth.
    pub fn new(lattice: &Lattice, rest_up: DVec3, volume: f64) -> Result<FirstInstant, StillFault> {
        let mouth_cell = lattice.mouth.first().ok_or(StillFault::MouthNowhere)?.cell as usize;
        let mouth_space = lattice.space_of[mouth_cell] as usize;
        if mouth_space >= lattice.spaces.len() {
            return Err(StillFault::MouthNowhere);
        }
        let whole = Columns::whole(lattice);
        if !(volume.is_finite() && volume >= 0.0 && volume <= whole.volume()) {
            return Err(pan::LevelFault::Overfull {
                volume,
                capacity: whole.volume(),
            }
            .into());
        }
        let rest = whole.level(rest_up, volume);
        let spaces: Vec<Columns> = (0..lattice.spaces.len())
            .map(|space| Columns::of_space(lattice, space))
            .collect();
        let kept = spaces
            .iter()
            .map(|columns| columns.volume_below(rest_up, rest))
            .collect();
        let columns = spaces.into_iter().nth(mouth_space).expect("checked above");
        Ok(FirstInstant {
            mouth_at: lattice.mouth_at,
            kept,
            mouth_space,
            columns,
        })
    }

    /// Oil surface over the centre of the mouth along `up` [m] when the mouth's space keeps what it had;
    /// below zero when the mouth stands clear.
    pub fn margin(&self, up: DVec3) -> f64 {
        self.margin_with(up, self.kept[self.mouth_space])
    }

    /// As [`FirstInstant::margin`] with another volume [m³] in the mouth's space (no more than fits).
    pub fn margin_with(&self, up: DVec3, volume: f64) -> f64 {
        self.columns.level(up, volume.min(self.columns.volume())) - up.dot(self.mouth_at)
    }

    /// Oil over the centre of the mouth along `up` [m]; 0 when bare.
    pub fn cover(&self, up: DVec3) -> f64 {
        self.margin(up).max(0.0)
    }
}
