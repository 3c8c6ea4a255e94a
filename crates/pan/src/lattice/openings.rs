//! The mouth, the return places and the crank sweep on the lattice.

use super::cut::coverage;
use super::{Lattice, MouthFace, ReturnFace};
use crate::stack::Stack;
use crate::{CrankSweep, Mouth, Outline, ReturnPlace};
use glam::{DVec2, DVec3};

/// A cell must be at least this open to be drawn from or poured into.
const USABLE: f64 = 0.05;

/// The rim of the mouth covers a face that it leaves less open than this, and not one of which it takes less.
const SLIVER: f64 = 0.05;

/// The disc of a mouth or a return over the cell columns: (i, j, share of the disc), shares summing to 1.
fn columns(lattice: &Lattice, at: DVec2, diameter: f64) -> Vec<(usize, usize, f64)> {
    let disc = Outline::circle(at, 0.5 * diameter).region(0.0, 1e-5);
    let [nx, ny, _] = lattice.n;
    let origin = DVec2::new(lattice.origin.x, lattice.origin.y);
    let cover = coverage(&disc, origin, lattice.cell, nx, ny);
    let total: f64 = cover.iter().sum();
    let hair = 1e-9 * total;
    (0..nx * ny)
        .filter(|&c| cover[c] > hair)
        .map(|c| (c % nx, c / nx, cover[c] / total))
        .collect()
}

/// Cells under the mouth: in each column the cell whose top lies nearest to the mouth. A column with nothing
/// open there gives its part to the others.
pub(super) fn mouth(lattice: &Lattice, mouth: &Mouth) -> Vec<MouthFace> {
    let area = 0.25 * std::f64::consts::PI * mouth.diameter * mouth.diameter;
    let top = rim(lattice, mouth.at.z);
    let mut faces: Vec<MouthFace> = columns(lattice, mouth.at.truncate(), mouth.diameter)
        .into_iter()
        .filter_map(|(i, j, share)| {
            let k = open_near(lattice, i, j, (top - 1).min(lattice.n[2] - 1), 1)?;
            Some(MouthFace {
                cell: lattice.cell_index(i, j, k) as u32,
                area: share * area,
            })
        })
        .collect();
    let found: f64 = faces.iter().map(|f| f.area).sum();
    for f in &mut faces {
        f.area *= area / found;
    }
    faces
}

/// Shuts the faces over the mouth's cells, as wide as the outside of bell or tube: oil comes to the mouth through the
/// gap under its rim and not from straight above. The body higher up is not modelled; it takes a few millilitres.
pub(super) fn cap(lattice: &mut Lattice, mouth: &Mouth) {
    let disc = Outline::circle(mouth.at.truncate(), 0.5 * mouth.outside).region(0.0, 1e-5);
    let [nx, ny, nz] = lattice.n;
    let cover = coverage(&disc, lattice.origin.truncate(), lattice.cell, nx, ny);
    let top = rim(lattice, mouth.at.z);
    if top >= nz {
        return;
    }
    let shares = cover.into_iter().map(|area| area / lattice.cell.powi(2));
    for (c, cover) in shares.enumerate().filter(|(_, cover)| *cover > SLIVER) {
        let face = lattice.face_index(2, c % nx, c / nx, top);
        let open = &mut lattice.open_area[2][face];
        let left = *open - cover;
        *open = if left < SLIVER { 0.0 } else { left };
    }
}

/// Layer of faces that stands for a rim at height `z` [m].
fn rim(lattice: &Lattice, z: f64) -> usize {
    ((z - lattice.origin.z) / lattice.cell).round().max(1.0) as usize
}

/// Cells under a return place: in each column the cell that holds its height.
pub(super) fn place(lattice: &Lattice, place: &ReturnPlace) -> Vec<ReturnFace> {
    let level = ((place.at.z - lattice.origin.z) / lattice.cell).floor().max(0.0) as usize;
    let mut faces: Vec<ReturnFace> = columns(lattice, place.at.truncate(), place.diameter)
        .into_iter()
        .filter_map(|(i, j, share)| {
            let k = open_near(lattice, i, j, level.min(lattice.n[2] - 1), 2)?;
            Some(ReturnFace {
                cell: lattice.cell_index(i, j, k) as u32,
                share,
            })
        })
        .collect();
    let found: f64 = faces.iter().map(|f| f.share).sum();
    for f in &mut faces {
        f.share /= found;
    }
    faces
}

/// The usable cell of a column at level k, or the nearest within `reach` cells, lower ones first.
fn open_near(lattice: &Lattice, i: usize, j: usize, k: usize, reach: usize) -> Option<usize> {
    let usable = |k: usize| lattice.open_volume[lattice.cell_index(i, j, k)] >= USABLE;
    (0..=reach).find_map(|d| {
        let below = k.checked_sub(d).filter(|&b| usable(b));
        below.or_else(|| Some(k + d).filter(|&a| a < lattice.n[2] && usable(a)))
    })
}

/// Share of each cell's open volume that the crank sweeps, from 4 × 4 × 4 points a cell.
pub(super) fn crank(lattice: &mut Lattice, stack: &Stack, sweep: &CrankSweep) {
    const POINTS: usize = 4;
    let h = lattice.cell;
    // Half the diagonal of a cell.
    let reach = 0.5 * 3f64.sqrt() * h;
    for cell in 0..lattice.cells() {
        if lattice.open_volume[cell] <= 0.0 {
            continue;
        }
        let [i, j, k] = lattice.cell_place(cell);
        let from = lattice.centre(i, j, k) - sweep.origin;
        let station = from.dot(sweep.axis);
        let off = (from - sweep.axis * station).length();
        let (least, most) = sweep.radii_between(station - reach, station + reach);
        if off - reach > most {
            continue;
        }
        let whole = lattice.open_volume[cell] > 1.0 - 1e-9;
        if off + reach < least {
            lattice.crank_share[cell] = 1.0;
            continue;
        }
        let (mut open, mut swept) = (0u32, 0u32);
        for p in 0..POINTS * POINTS * POINTS {
            let at = [p % POINTS, p / POINTS % POINTS, p / (POINTS * POINTS)];
            let step = |a: usize| (at[a] as f64 + 0.5) / POINTS as f64 - 0.5;
            let point = lattice.centre(i, j, k) + h * DVec3::new(step(0), step(1), step(2));
            if whole || stack.contains(point) {
                open += 1;
                swept += u32::from(sweep.contains(point));
            }
        }
        if open > 0 {
            lattice.crank_share[cell] = swept as f32 / open as f32;
        }
    }
}

impl CrankSweep {
    /// Swept radius at a station along the axis; `None` beyond the ends.
    pub fn radius_at(&self, station: f64) -> Option<f64> {
        self.profile
            .windows(2)
            .find(|w| w[0].0 <= station && station <= w[1].0)
            .map(|w| {
                let span = (w[1].0 - w[0].0).max(f64::MIN_POSITIVE);
                w[0].1 + (w[1].1 - w[0].1) * (station - w[0].0) / span
            })
    }

    /// The least and the greatest swept radius between two stations; nothing is swept beyond the ends.
    fn radii_between(&self, low: f64, high: f64) -> (f64, f64) {
        let ends = [low, high].map(|station| self.radius_at(station).unwrap_or(0.0));
        let within = self.profile.iter().filter(|p| low <= p.0 && p.0 <= high);
        within.fold(
            (ends[0].min(ends[1]), ends[0].max(ends[1])),
            |(least, most), p| (least.min(p.1), most.max(p.1)),
        )
    }

    /// True for points inside the sweep.
    pub fn contains(&self, p: DVec3) -> bool {
        let from = p - self.origin;
        let station = from.dot(self.axis);
        self.radius_at(station)
            .is_some_and(|r| (from - self.axis * station).length_squared() <= r * r)
    }
}
