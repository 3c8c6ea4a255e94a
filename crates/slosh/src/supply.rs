//! The pickup mouth and the return places: oil that leaves and oil that comes home.
//!
//! The pump takes its demand from the cells under the mouth, by their share of the mouth's area. What it
//! gets is the oil in the slice of the cell just below the mouth that the demand sweeps in the step; the
//! rest is air. The oil part is a sink of the pressure equation, so the neighbours feed it. A return place
//! is a source. Both are booked to the last bit of what the cells lost and gained.

use crate::SloshFault;
use crate::grid::Grid;
use crate::momentum::Flow;
use crate::plane;
use crate::surface::{FULL, Surface};
use crate::terms::Supply;
use glam::DVec3;
use pan::Lattice;

/// Share of the mouth's cells that the pump may empty in a step.
const MOUTHFUL: f64 = 0.4;

/// Whether a cell has oil on all sides: what it lacks is a void that the next steps fill, not air from above.
fn within_oil(grid: &Grid, surface: &Surface, c: usize) -> bool {
    (0..3).all(|a| {
        let s = grid.stride[a];
        let oil = |face: usize, next: usize| grid.area[a][face] == 0.0 || surface.liquid[next] == 1;
        oil(c, c - s) && oil(c + s, c + s)
    })
}

/// Mouth and return places on the grid.
pub(crate) struct Places {
    /// (cell, share of the mouth).
    pub mouth: Vec<(usize, f64)>,
    /// Height of the mouth inside its cell, 0 to 1, for each mouth cell.
    rims: Vec<f64>,
    /// Shut faces over mouth cells: the body of the pickup, which cover is measured through.
    pub body: Vec<usize>,
    /// (cell, share) per return place.
    returns: Vec<Vec<(usize, f64)>>,
    /// Flow into cells by the pressure equation in this step [m³/s].
    pub sources: Vec<(usize, f64)>,
    /// Oil drawn from each mouth cell in this step [m³/s].
    draw: Vec<f64>,
}

impl Places {
    /// Finds the places; shares of closed cells go to the open ones of the same place.
    pub fn new(grid: &Grid, lattice: &Lattice) -> Result<Places, SloshFault> {
        let open = |parts: Vec<(usize, f64)>| -> Option<Vec<(usize, f64)>> {
            let kept: Vec<_> = parts
                .into_iter()
                .filter(|(c, s)| grid.volume[*c] > 0.0 && *s > 0.0)
                .collect();
            let sum: f64 = kept.iter().map(|(_, s)| s).sum();
            (sum > 0.0).then(|| kept.into_iter().map(|(c, s)| (c, s / sum)).collect())
        };
        let mut mouth = Vec::new();
        if !lattice.mouth.is_empty() {
            let parts = lattice
                .mouth
                .iter()
                .map(|p| (grid.cell_at(p.cell as usize), p.area))
                .collect();
            mouth = open(parts).ok_or(SloshFault::MouthBlocked)?;
        }
        let rims = mouth
            .iter()
            .map(|(c, _)| {
                let low = grid.centre(*c).z - 0.5 * grid.h;
                let rim = (lattice.mouth_at.z - low) / grid.h;
                // The lattice may have moved the mouth by part of a cell; the slice stays in its cell.
                if rim > 0.05 && rim < 1.0 { rim } else { 1.0 }
            })
            .collect();
        let mut returns = Vec::new();
        for (place, parts) in lattice.returns.iter().enumerate() {
            let parts = parts
                .iter()
                .map(|p| (grid.cell_at(p.cell as usize), p.share))
                .collect();
            returns.push(open(parts).ok_or(SloshFault::ReturnBlocked { place })?);
        }
        let body = mouth
            .iter()
            .map(|(c, _)| c + grid.stride[2])
            .filter(|face| grid.area[2][*face] == 0.0)
            .collect();
        let draw = vec![0.0; mouth.len()];
        Ok(Places {
            mouth,
            rims,
            body,
            returns,
            sources: Vec::new(),
            draw,
        })
    }

    /// The mouth's cell nearest to `at` in plan.
    pub fn middle(&self, grid: &Grid, at: DVec3) -> Option<usize> {
        let away = |c: usize| (grid.centre(c) - at).truncate().length_squared();
        let cells = self.mouth.iter().map(|(c, _)| *c);
        cells.min_by(|a, b| away(*a).total_cmp(&away(*b)))
    }

    /// Longest step in which the pump takes no more than part of what the mouth's cells hold [s]: taking more would
    /// count the lack as air under any depth of oil.
    pub fn longest_step(&self, grid: &Grid, supply: &Supply) -> f64 {
        let room: f64 = self.mouth.iter().map(|(c, _)| grid.volume[*c]).sum();
        if supply.demand > 0.0 {
            MOUTHFUL * room * grid.h.powi(3) / supply.demand
        } else {
            f64::INFINITY
        }
    }

    /// Sinks and sources of a step of `dt`, from the oil as it lies now.
    pub fn plan(&mut self, grid: &Grid, surface: &Surface, f: &[f64], supply: &Supply, dt: f64) {
        let h3 = grid.h.powi(3);
        self.sources.clear();
        for (i, &(c, share)) in self.mouth.iter().enumerate() {
            let wanted = supply.demand * share;
            let oil = if f[c] >= FULL || within_oil(grid, surface, c) {
                1.0
            } else if f[c] <= 0.0 {
                0.0
            } else {
                let rim = self.rims[i];
                let width = (wanted * dt / (h3 * grid.volume[c])).clamp(0.01, rim);
                plane::slab(surface.plane(c, f[c]), 2, rim - width, rim) / width
            };
            let held = f[c].max(0.0) * grid.volume[c] * h3 / dt;
            let asked = wanted * oil;
            self.draw[i] = if asked > held { held } else { asked };
            self.sources.push((c, -self.draw[i]));
        }
        for (place, &flow) in self.returns.iter().zip(supply.returns) {
            for &(c, share) in place {
                self.sources.push((c, flow * share));
            }
        }
    }

    /// Takes and gives the oil of `dt`; returns (drawn, returned) [m³].
    pub fn exchange(&self, grid: &Grid, f: &mut [f64], supply: &Supply, dt: f64) -> (f64, f64) {
        let h3 = grid.h.powi(3);
        let (mut drawn, mut returned) = (0.0, 0.0);
        for (i, &(c, _)) in self.mouth.iter().enumerate() {
            let cell = grid.volume[c] * h3;
            let oil = (self.draw[i] * dt).min(f[c].max(0.0) * cell);
            f[c] -= oil / cell;
            drawn += oil;
        }
        for (place, &flow) in self.returns.iter().zip(supply.returns) {
            for &(c, share) in place {
                let oil = flow * share * dt;
                f[c] += oil / (grid.volume[c] * h3);
                returned += oil;
            }
        }
        (drawn, returned)
    }

    /// New oil brings no speed of its own, so it slows the oil that falls out of its cell in the air. Without
    /// this nothing would: a cell fed at its own place would see its oil fall faster and faster (10 m/s after
    /// a second), since no slower oil comes into it from above. With it the oil leaves the cell at the speed of
    /// a fall through one cell.
    pub fn slow(&self, grid: &Grid, liquid: &[u8], f: &[f64], flow: &mut Flow, supply: &Supply, dt: f64) {
        let h3 = grid.h.powi(3);
        for (place, &rate) in self.returns.iter().zip(supply.returns) {
            for &(c, share) in place {
                let held = f[c] * grid.volume[c] * h3;
                if liquid[c] != 0 || held <= 0.0 {
                    continue;
                }
                let kept = (1.0 - (rate * share * dt / held).min(1.0)) as f32;
                for a in 0..3 {
                    flow.u[a][c] *= kept;
                    flow.u[a][c + grid.stride[a]] *= kept;
                }
            }
        }
    }

    /// Number of return places.
    pub fn return_places(&self) -> usize {
        self.returns.len()
    }
}
