//! Viscosity of oil too thick for an explicit step: implicit, with the full stress tensor.
//!
//! The new velocities are those with the least `½ Σ m (u − w)² + dt ν Σ (e : e)`, `w` the predicted ones and `e` the
//! rate of strain (C. Batty and R. Bridson, Accurate viscous free surfaces, SCA 2008). Normal strains stand in
//! cells, shear strains on cell edges, each weighted by the oil there; so a surface without stress is what comes
//! out by itself, and the matrix is symmetric and positive. Thin oil keeps the explicit spreading of
//! [`crate::advection`]: there viscosity is felt in layers beside the walls, thinner than a cell.
//!
//! **Walls.** The stress of a wall on a layer of cells that each hold the mean of a parabola is
//! `ν (7 u₁ − u₂) / 2h`, which makes a steady flow between plates or down a slope exact from two cells on. It is
//! taken as `3 ν u₁ / h`, implicit, and `ν (u₁ − u₂) / 2h` of the predicted velocities. One cell between two walls
//! has `6 ν u / h` on each. That is right while the layer of the swing is thicker than a cell; when it is thinner
//! the wall takes what [`swing_friction`] says, as it does in thin oil.

use crate::SloshFault;
use crate::grid::Grid;
use crate::region::{Region, Row};

/// Share of a neighbour's difference spread in the longest step, `ν dt / h²`, above which viscosity is implicit.
/// Explicit spreading is stable to 1/6; the layer beside a wall is then as thick as a cell and worth resolving.
const THICK: f64 = 0.02;
/// The longest step in `sqrt(h/g)`.
const LONGEST: f64 = 0.2;
/// Oil in a cell below which its edges couple less and less: a fleck is not to drag its neighbours.
const FLECK: f64 = 0.25;
/// Residual left, as a share of a cell per step: far below what the pressure solve leaves.
pub(crate) const TOLERANCE: f64 = 1e-6;
/// Iterations before the solve is given up. Forty settle `ν dt / h²` = 4.
const MOST: u32 = 400;

/// Whether oil of kinematic viscosity `nu` [m²/s] is thick for cells of edge `h` [m]: true for a whole run.
pub(crate) fn thick(nu: f64, h: f64) -> bool {
    nu * LONGEST * (h / 9.81).sqrt() > THICK * h * h
}

/// Coefficient `c` of the friction `ρ c u` [m/s] of a wall on the layer of cells beside it, for oil that swings at
/// `omega` [rad/s]: chosen so that the grid's own layers lose the energy of Stokes' layer, `ρ sqrt(ν ω/2)` times
/// the square of the speed outside, whatever the layer's thickness.
///
/// On the grid the deviation from the outer flow falls off as `rʲ`, `r − 2 + 1/r = iωh²/ν`; the wall then feels
/// `c s/(s + c)` with `s = h(iω + ν(1 − r)/h²)`. Its real part is to be `sqrt(ν ω/2)`: a quadratic equation for c.
/// Stokes' layer: Lamb, Hydrodynamics, art. 345. The matching is worked here.
pub(crate) fn swing_friction(nu: f64, h: f64, omega: f64) -> f64 {
    if nu <= 0.0 {
        return 0.0;
    }
    let x = h * (0.5 * omega / nu).sqrt();
    if x < 0.05 {
        return 1.18 * nu / h;
    }
    if x > 20.0 {
        return x * nu / h;
    }
    // r = b − sqrt(b² − 1) with b = 1 + i x².
    let t = x * x;
    let (re, im) = (-t * t, 2.0 * t);
    let size = re.hypot(im);
    let (root_re, root_im) = ((0.5 * (size + re)).sqrt(), (0.5 * (size - re)).sqrt());
    // s h/ν = 2 i x² + 1 − r.
    let s = (root_re, t + root_im);
    let (s2, a) = (s.0 * s.0 + s.1 * s.1, s.0);
    let (p, q, last) = (a - x, s2 - 2.0 * a * x, -x * s2);
    let c = 2.0 * last / (-q - (q * q - 4.0 * p * last).sqrt());
    c * nu / h
}

/// How walls rub thick oil in one step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Walls {
    /// Coefficient for the layer of the swing, in ν/h.
    swing: f64,
    /// Share of the parabola's law: 1 when the layer is thicker than a cell and a half, 0 when it is thinner than
    /// a cell. The parabola alone takes too much of a swing whose layer is thinner than a cell.
    bend: f64,
}

impl Walls {
    /// For oil of kinematic viscosity `nu` [m²/s] in cells of edge `h` [m] that swings at `omega` [rad/s].
    pub fn new(nu: f64, h: f64, omega: f64) -> Walls {
        let cells = h * (0.5 * omega / nu).sqrt();
        let t = ((1.0 - cells) / 0.35).clamp(0.0, 1.0);
        Walls {
            swing: swing_friction(nu, h, omega) * h / nu,
            bend: t * t * (3.0 - 2.0 * t),
        }
    }
}

/// Scratch of the implicit solve; empty until it is first needed.
#[derive(Default)]
pub(crate) struct Viscosity {
    /// Velocities, as the solve sees them.
    u: [Vec<f64>; 3],
    /// Oil in the momentum cell of a face, cells; 0 where the face takes no part.
    mass: [Vec<f64>; 3],
    /// What walls take, times the mass.
    rub: [Vec<f64>; 3],
    inverse: [Vec<f64>; 3],
    /// Weights times `ν dt/h²` of normal strains (cells) and of shear strains (edges along each axis, at the low
    /// corner of their cell).
    cell: Vec<f64>,
    edge: [Vec<f64>; 3],
    normal: [Vec<f64>; 3],
    shear: [Vec<f64>; 3],
    r: [Vec<f64>; 3],
    p: [Vec<f64>; 3],
    ap: [Vec<f64>; 3],
}

impl Viscosity {
    /// Spreads the velocities `u` [m/s] of the oil `f` over a step with `share = ν dt/h²`, to a residual of `aim`
    /// [m/s]. `walls`: whether walls rub; `extra(wall, u)`: what else slows a face of velocity u with so much
    /// wall beside it (`Grid::wall`), as a rate times dt.
    pub fn spread(
        &mut self,
        grid: &Grid,
        region: &Region,
        f: &[f64],
        u: &mut [Vec<f32>; 3],
        share: f64,
        walls: Option<Walls>,
        aim: f64,
        extra: impl Fn(f64, f64) -> f64,
    ) -> Result<(), SloshFault> {
        self.make_room(grid.size());
        let mut work = std::mem::take(&mut self.u);
        for (work, u) in work.iter_mut().zip(u.iter()) {
            for &row in &region.rows {
                for c in cells(row) {
                    work[c] = f64::from(u[c]);
                }
            }
        }
        self.weigh(grid, region, f, share);
        self.walls(grid, region, &mut work, share, walls, extra);
        self.diagonal(grid, region);
        let done = self.solve(grid, region, &mut work, aim);
        for (work, u) in work.iter().zip(u) {
            for &row in &region.near {
                for c in cells(row) {
                    u[c] = work[c] as f32;
                }
            }
        }
        self.u = work;
        done
    }

    fn make_room(&mut self, size: usize) {
        if self.cell.len() == size {
            return;
        }
        let zeros = || [vec![0.0; size], vec![0.0; size], vec![0.0; size]];
        self.u = zeros();
        self.mass = zeros();
        self.rub = zeros();
        self.inverse = zeros();
        self.cell = vec![0.0; size];
        self.edge = zeros();
        self.normal = zeros();
        self.shear = zeros();
        self.r = zeros();
        self.p = zeros();
        self.ap = zeros();
    }

    /// Masses of faces and weights of strains, in all rows: what oil left is cleared.
    fn weigh(&mut self, grid: &Grid, region: &Region, f: &[f64], share: f64) {
        for axis in 0..3 {
            let (s, area, volume) = (grid.stride[axis], &grid.area[axis], &grid.volume);
            let mass = &mut self.mass[axis];
            for &row in &region.rows {
                for c in cells(row) {
                    let oil = 0.5 * (volume[c] * f[c] + volume[c - s] * f[c - s]);
                    mass[c] = if area[c] > 0.0 && (f[c] > 0.0 || f[c - s] > 0.0) {
                        oil.clamp(1e-6, 1.0)
                    } else {
                        0.0
                    };
                }
            }
        }
        for &row in &region.rows {
            for c in cells(row) {
                self.cell[c] = 2.0 * share * (grid.volume[c] * f[c]).clamp(0.0, 1.0);
            }
        }
        for e in 0..3 {
            let (a, b) = ((e + 1) % 3, (e + 2) % 3);
            let (sa, sb) = (grid.stride[a], grid.stride[b]);
            let edge = &mut self.edge[e];
            for &row in &region.rows {
                for c in cells(row) {
                    // Shares of the edge's two planes that are open: a plate or a wall parts what it stands between.
                    let open = 0.25
                        * f64::from(grid.area[a][c] + grid.area[a][c - sb])
                        * f64::from(grid.area[b][c] + grid.area[b][c - sa]);
                    let least = f[c].min(f[c - sa]).min(f[c - sb]).min(f[c - sa - sb]);
                    edge[c] = share * open * (least / FLECK).clamp(0.0, 1.0);
                }
            }
        }
    }

    /// Wall friction into `rub`, and the part of it that is known beforehand into `u`.
    fn walls(
        &mut self,
        grid: &Grid,
        region: &Region,
        u: &mut [Vec<f64>; 3],
        share: f64,
        walls: Option<Walls>,
        extra: impl Fn(f64, f64) -> f64,
    ) {
        for axis in 0..3 {
            let sa = grid.stride[axis];
            let (mass, rub) = (&self.mass[axis], &mut self.rub[axis]);
            let gain = &mut self.ap[axis];
            let u = &mut u[axis];
            for &row in &region.near {
                for c in cells(row) {
                    (rub[c], gain[c]) = (0.0, 0.0);
                    if mass[c] == 0.0 {
                        continue;
                    }
                    let mut taken = 0.0;
                    if let Some(law) = walls {
                        let room = (0.5 * (grid.volume[c] + grid.volume[c - sa])).max(0.1);
                        for e in (0..3).filter(|e| *e != axis) {
                            let s = grid.stride[e];
                            let area = &grid.area[e];
                            let low = 1.0 - 0.5 * f64::from(area[c] + area[c - sa]);
                            let high = 1.0 - 0.5 * f64::from(area[c + s] + area[c + s - sa]);
                            // Both sides shut: the parabola has its ends in this one cell.
                            let parabola = 3.0 * (1.0 + low.min(high).powi(2));
                            let slope = law.swing + law.bend * (parabola - law.swing);
                            taken += share * slope * (low + high).min(2.0) / room;
                            // The neighbour away from a lone flat wall bends the parabola.
                            let inner = if low > 0.99 && high < 0.01 {
                                c + s
                            } else if high > 0.99 && low < 0.01 {
                                c - s
                            } else {
                                continue;
                            };
                            if mass[inner] > 0.0 {
                                gain[c] -= 0.5 * law.bend * share * (u[c] - u[inner]) * mass[inner].min(1.0);
                            }
                        }
                    }
                    rub[c] = mass[c] * (taken + extra(f64::from(grid.wall[axis][c]), u[c]));
                }
            }
            for &row in &region.near {
                for c in cells(row) {
                    u[c] += gain[c];
                }
            }
        }
    }

    fn diagonal(&mut self, grid: &Grid, region: &Region) {
        for axis in 0..3 {
            let sa = grid.stride[axis];
            for &row in &region.near {
                for c in cells(row) {
                    let mut sum = self.mass[axis][c] + self.rub[axis][c] + self.cell[c] + self.cell[c - sa];
                    for e in (0..3).filter(|e| *e != axis) {
                        // The edges at the face's two sides along the axis that is neither.
                        let s = grid.stride[3 - axis - e];
                        sum += self.edge[e][c] + self.edge[e][c + s];
                    }
                    self.inverse[axis][c] = if self.mass[axis][c] > 0.0 { 1.0 / sum } else { 0.0 };
                }
            }
        }
    }

    /// Conjugate gradients from the predicted velocities on.
    fn solve(
        &mut self,
        grid: &Grid,
        region: &Region,
        u: &mut [Vec<f64>; 3],
        aim: f64,
    ) -> Result<(), SloshFault> {
        // Right side m w; the first residual is what the viscous terms make of w.
        self.apply(grid, region, u);
        let mut largest = 0.0f64;
        for axis in 0..3 {
            for &row in &region.near {
                for c in cells(row) {
                    let r = self.mass[axis][c] * u[axis][c] - self.ap[axis][c];
                    self.r[axis][c] = r;
                    self.p[axis][c] = 0.0;
                    largest = worse(largest, r * self.inverse[axis][c]);
                }
            }
        }
        let mut before = 1.0;
        let mut iterations = 0;
        while largest > aim && iterations < MOST {
            let mut rz = 0.0;
            for axis in 0..3 {
                for &row in &region.near {
                    rz += weighted(
                        &self.r[axis][cells(row)],
                        &self.r[axis][cells(row)],
                        &self.inverse[axis][cells(row)],
                    );
                }
            }
            let turn = if iterations == 0 { 0.0 } else { rz / before };
            before = rz;
            for axis in 0..3 {
                let (p, r, inverse) = (&mut self.p[axis], &self.r[axis], &self.inverse[axis]);
                for &row in &region.near {
                    for c in cells(row) {
                        p[c] = r[c] * inverse[c] + turn * p[c];
                    }
                }
            }
            let p = std::mem::take(&mut self.p);
            self.apply(grid, region, &p);
            self.p = p;
            let mut pap = 0.0;
            for axis in 0..3 {
                for &row in &region.near {
                    pap += dot(&self.p[axis][cells(row)], &self.ap[axis][cells(row)]);
                }
            }
            let stride = rz / pap;
            largest = 0.0;
            for axis in 0..3 {
                let (p, ap, inverse) = (&self.p[axis], &self.ap[axis], &self.inverse[axis]);
                let (r, u) = (&mut self.r[axis], &mut u[axis]);
                for &row in &region.near {
                    for c in cells(row) {
                        u[c] += stride * p[c];
                        r[c] -= stride * ap[c];
                        largest = worse(largest, r[c] * inverse[c]);
                    }
                }
            }
            iterations += 1;
        }
        if largest <= aim {
            Ok(())
        } else {
            Err(SloshFault::Viscosity {
                residual: largest,
                aim,
                iterations,
            })
        }
    }

    /// `ap` = matrix times `x` on the faces that take part.
    fn apply(&mut self, grid: &Grid, region: &Region, x: &[Vec<f64>; 3]) {
        for axis in 0..3 {
            let s = grid.stride[axis];
            let (normal, cell, x) = (&mut self.normal[axis], &self.cell, &x[axis]);
            for &(lo, hi) in &region.rows {
                let (lo, n) = (lo as usize, (hi - lo) as usize);
                let (out, w) = (&mut normal[lo..lo + n], &cell[lo..lo + n]);
                let (low, high) = (&x[lo..lo + n], &x[lo + s..lo + s + n]);
                for i in 0..n {
                    out[i] = w[i] * (high[i] - low[i]);
                }
            }
        }
        for e in 0..3 {
            let (a, b) = ((e + 1) % 3, (e + 2) % 3);
            let (sa, sb) = (grid.stride[a], grid.stride[b]);
            let (shear, edge) = (&mut self.shear[e], &self.edge[e]);
            for &(lo, hi) in &region.rows {
                let (lo, n) = (lo as usize, (hi - lo) as usize);
                let (out, w) = (&mut shear[lo..lo + n], &edge[lo..lo + n]);
                let (a_here, a_low) = (&x[a][lo..lo + n], &x[a][lo - sb..lo - sb + n]);
                let (b_here, b_low) = (&x[b][lo..lo + n], &x[b][lo - sa..lo - sa + n]);
                for i in 0..n {
                    out[i] = w[i] * ((a_here[i] - a_low[i]) + (b_here[i] - b_low[i]));
                }
            }
        }
        for axis in 0..3 {
            let s = grid.stride[axis];
            let (e1, e2) = ((axis + 1) % 3, (axis + 2) % 3);
            // Edges along e1 lie side by side along e2, and the other way round.
            let (s1, s2) = (grid.stride[e2], grid.stride[e1]);
            for &(lo, hi) in &region.near {
                let (lo, n) = (lo as usize, (hi - lo) as usize);
                let out = &mut self.ap[axis][lo..lo + n];
                let (mass, rub) = (&self.mass[axis][lo..lo + n], &self.rub[axis][lo..lo + n]);
                let x = &x[axis][lo..lo + n];
                let (pull, push) = (
                    &self.normal[axis][lo..lo + n],
                    &self.normal[axis][lo - s..lo - s + n],
                );
                let (t1, t1_high) = (&self.shear[e1][lo..lo + n], &self.shear[e1][lo + s1..lo + s1 + n]);
                let (t2, t2_high) = (&self.shear[e2][lo..lo + n], &self.shear[e2][lo + s2..lo + s2 + n]);
                for i in 0..n {
                    let whole = (mass[i] + rub[i]) * x[i]
                        - (pull[i] - push[i])
                        - (t1_high[i] - t1[i])
                        - (t2_high[i] - t2[i]);
                    out[i] = if mass[i] > 0.0 { whole } else { 0.0 };
                }
            }
        }
    }
}

#[inline]
fn cells(row: Row) -> std::ops::Range<usize> {
    row.0 as usize..row.1 as usize
}

/// Running maximum of |r| that a NaN cannot slip through.
#[inline]
fn worse(largest: f64, r: f64) -> f64 {
    let a = r.abs();
    if a <= largest || largest.is_nan() {
        largest
    } else {
        a
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

fn weighted(a: &[f64], b: &[f64], w: &[f64]) -> f64 {
    a.iter().zip(b).zip(w).map(|((x, y), w)| x * y * w).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::boxes;
    use std::f64::consts::TAU;

    /// Cells in a row beside a wall that slide on one another, shaken by `U cos ωt` outside: mean power that wall
    /// and sliding take per area and density, over Stokes' `½ U² sqrt(νω/2)`.
    fn power(cells: f64) -> f64 {
        let (h, nu) = (1.0, 1.0);
        let omega = 2.0 * nu * (cells / h).powi(2);
        let c = swing_friction(nu, h, omega);
        let count = (8.0 / cells).ceil() as usize + 4;
        let dt = (TAU / omega / 2000.0).min(0.05);
        let per = (TAU / omega / dt).round() as usize;
        let dt = TAU / omega / per as f64;
        let mut u = vec![0.0; count + 1];
        let mut work = 0.0;
        for step in 0..8 * per {
            let time = step as f64 * dt;
            u[count] = (omega * time).sin();
            let push = omega * (omega * time).cos();
            let old = u.clone();
            for j in 0..count {
                let down = if j == 0 {
                    -c * old[0]
                } else {
                    nu * (old[j - 1] - old[j])
                };
                u[j] = old[j] + dt * (push + down + nu * (old[j + 1] - old[j]));
            }
            if step >= 7 * per {
                work += c * old[0] * old[0] * dt;
                work += (0..count)
                    .map(|j| nu * (old[j + 1] - old[j]).powi(2) * dt)
                    .sum::<f64>();
            }
        }
        work / (TAU / omega) / (0.5 * (0.5 * nu * omega).sqrt())
    }

    /// Stokes' second problem, Lamb, Hydrodynamics, art. 345.
    #[test]
    fn the_layers_of_cells_lose_what_stokes_layer_loses() {
        for cells in [0.5, 1.0, 2.0, 4.0] {
            let share = power(cells);
            assert!(
                (share - 1.0).abs() < 0.03,
                "cell of {cells} layers: {share:.4} of Stokes' power"
            );
        }
    }

    /// Mean velocity of oil pulled along a duct of `across` cells by `wide`, in G a²/ν.
    fn duct(across: usize, wide: usize) -> f64 {
        let long = 6 * across;
        let lattice = boxes::tank([long, wide, across], 1.0 / across as f64);
        let grid = Grid::new(&lattice).unwrap();
        let f: Vec<f64> = grid.volume.clone();
        let mut region = Region::default();
        region.search_all();
        region.rebuild(&grid, &f, std::iter::empty(), 1, |_, _| {});
        let law = Walls::new(1.0, grid.h, 1e-9);
        let mut u = [0, 1, 2].map(|_| vec![0f32; grid.size()]);
        let mut viscosity = Viscosity::default();
        let dt = 0.2 * grid.h;
        for _ in 0..(1.5 / dt) as usize {
            for c in grid.inner() {
                if grid.area[0][c] > 0.0 {
                    u[0][c] += dt as f32;
                }
            }
            viscosity
                .spread(
                    &grid,
                    &region,
                    &f,
                    &mut u,
                    dt / (grid.h * grid.h),
                    Some(law),
                    1e-9,
                    |_, _| 0.0,
                )
                .unwrap();
        }
        let middle = (0..across).flat_map(|k| (0..wide).map(move |j| (j, k)));
        middle
            .map(|(j, k)| f64::from(u[0][grid.at(long / 2, j, k)]))
            .sum::<f64>()
            / (across * wide) as f64
    }

    /// Boussinesq's series for rectangular ducts: a²/12 (1 − (192/π⁵)(a/b) Σ tanh(iπb/2a)/i⁵), i odd: 0.035144 for a
    /// square, 0.074576 for 1:6.
    #[test]
    fn a_steady_flow_between_walls_is_a_parabola_from_two_cells_on() {
        for (across, exact, wide, allowed) in [
            (2, 0.074_576, 12, 0.02),
            (4, 0.074_576, 24, 0.02),
            (4, 0.035_144, 4, 0.06),
            (8, 0.035_144, 8, 0.02),
        ] {
            let mean = duct(across, wide);
            assert!(
                (mean / exact - 1.0).abs() < allowed,
                "{across} by {wide} cells: {mean:.5}, exact {exact}"
            );
        }
    }
}
