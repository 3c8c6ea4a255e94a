//! The first instant: every space between plates keeps the oil it had at rest.
//!
//! Spaces are those of the lattice (doors shut). The level inside one space comes from its cells: each
//! cell's open volume is spread evenly over one cell edge along "up", round its centre. That spread has the
//! variance of a cube seen from any direction, so whole cells add no systematic error; a cell that a wall
//! cuts is put at its centre though its open part lies to one side. The level so found is good to a quarter
//! of a cell (tested against exact levels on a box that the lattice cuts at odd places).

use glam::DVec3;
use pan::Lattice;

use crate::StillFault;

/// Bins to one cell edge in the height tables.
const BINS: usize = 4;

/// Ready to give the level in the mouth's space for any direction.
#[derive(Clone, Debug)]
pub struct FirstInstant {
    cell: f64,
    mouth_at: DVec3,
    /// Oil that each space keeps [m³].
    pub kept: Vec<f64>,
    /// Index of the mouth's space.
    pub mouth_space: usize,
    /// Cells of the mouth's space: centre [m], open volume [m³].
    cells: Vec<(DVec3, f64)>,
    /// Their sum [m³].
    room: f64,
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
        let cell_volume = lattice.cell.powi(3);
        let mut all: Vec<(DVec3, f64)> = Vec::new();
        let mut spaces: Vec<usize> = Vec::new();
        let [nx, ny, nz] = lattice.n;
        for k in 0..nz {
            for j in 0..ny {
                for i in 0..nx {
                    let at = lattice.cell_index(i, j, k);
                    let space = lattice.space_of[at] as usize;
                    if space < lattice.spaces.len() && lattice.open_volume[at] > 0.0 {
                        all.push((lattice.centre(i, j, k), lattice.open_volume[at] * cell_volume));
                        spaces.push(space);
                    }
                }
            }
        }
        let room: f64 = all.iter().map(|c| c.1).sum();
        if !(volume.is_finite() && volume >= 0.0 && volume <= room) {
            return Err(pan::LevelFault::Overfull {
                volume,
                capacity: room,
            }
            .into());
        }
        let rest = level_of(&all, lattice.cell, rest_up, volume);
        let mut kept = vec![0.0; lattice.spaces.len()];
        for ((centre, open), &space) in all.iter().zip(&spaces) {
            kept[space] += open * wet_share(rest - rest_up.dot(*centre), lattice.cell);
        }
        let cells: Vec<_> = all
            .iter()
            .zip(&spaces)
            .filter(|(_, s)| **s == mouth_space)
            .map(|(c, _)| *c)
            .collect();
        let room = cells.iter().map(|c| c.1).sum();
        Ok(FirstInstant {
            cell: lattice.cell,
            mouth_at: lattice.mouth_at,
            kept,
            mouth_space,
            cells,
            room,
        })
    }

    /// Oil surface over the centre of the mouth along `up` [m] when the mouth's space keeps what it had;
    /// below zero when the mouth stands clear.
    pub fn margin(&self, up: DVec3) -> f64 {
        self.margin_with(up, self.kept[self.mouth_space])
    }

    /// As [`FirstInstant::margin`] with another volume [m³] in the mouth's space (no more than fits).
    pub fn margin_with(&self, up: DVec3, volume: f64) -> f64 {
        level_of(&self.cells, self.cell, up, volume.min(self.room)) - up.dot(self.mouth_at)
    }

    /// Oil over the centre of the mouth along `up` [m]; 0 when bare.
    pub fn cover(&self, up: DVec3) -> f64 {
        self.margin(up).max(0.0)
    }
}

/// Wet share of a cell whose centre lies `below` [m] under the surface.
fn wet_share(below: f64, cell: f64) -> f64 {
    (below / cell + 0.5).clamp(0.0, 1.0)
}

/// Height along `up` of the surface under which `volume` lies in `cells`.
fn level_of(cells: &[(DVec3, f64)], cell: f64, up: DVec3, volume: f64) -> f64 {
    let bin = cell / BINS as f64;
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for (centre, _) in cells {
        let height = up.dot(*centre);
        low = low.min(height);
        high = high.max(height);
    }
    low -= 0.5 * cell;
    let count = ((high - low) / bin) as usize + BINS + 2;
    let mut starts = vec![0.0; count + 1];
    for (centre, open) in cells {
        let place = (up.dot(*centre) - 0.5 * cell - low) / bin;
        let first = place as usize;
        let part = place - first as f64;
        // Rate of filling [m³ a bin] rises where the cell begins and falls where it ends; both ends are
        // shared between two bins, so that the cell's middle stays where it is.
        let rate = open / BINS as f64;
        starts[first] += rate * (1.0 - part);
        starts[first + 1] += rate * part;
        starts[first + BINS] -= rate * (1.0 - part);
        starts[first + BINS + 1] -= rate * part;
    }
    let (mut rate, mut filled) = (0.0, 0.0);
    for (at, start) in starts.iter().enumerate() {
        rate += start;
        if rate > 0.0 && filled + rate >= volume {
            return low + (at as f64 + ((volume - filled) / rate).clamp(0.0, 1.0)) * bin;
        }
        filled += rate;
    }
    low + count as f64 * bin
}
