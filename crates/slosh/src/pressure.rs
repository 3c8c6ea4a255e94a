//! Pressure: the oil's velocities made free of divergence, with the surface where it lies inside the cells
//! (ghost-fluid distances).
//!
//! The unknown is `q = p dt / (ρ h)` [m/s] in cells whose centre is in the oil; air is at q = 0 on the
//! surface. A face between two such cells moves by `−β (q⁺ − q⁻)`, one toward air by `∓β q / θ`, with θ the
//! distance to the surface in cells and β what a hole's loss leaves of a velocity. The matrix is symmetric
//! and positive; a body of oil without any surface has a free constant and gets a balanced right side.

use crate::SloshFault;
use crate::grid::{Grid, PAD};
use crate::momentum::Flow;
use crate::multigrid::Multigrid;
use crate::phase::Phase;
use crate::region::{Region, Row};
use crate::surface::Surface;
use crate::terms::Settings;

/// Outcome of a solve.
pub(crate) struct Solved {
    pub iterations: u32,
    pub residual: f64,
}

/// The pressure field and the scratch of its solve.
pub(crate) struct Pressure {
    /// `p dt / (ρ h)` of the last step [m/s], zero outside pressure cells.
    pub q: Vec<f64>,
    /// `dt` that `q` belongs to [s].
    pub dt: f64,
    /// What a face's velocity gains for a unit step of `q` across it: β, or β/θ toward air, of the last step.
    pub grad: [Vec<f64>; 3],
    touches: Vec<u8>,
    grid: Multigrid,
    spans: Vec<Row>,
    r: Vec<f64>,
    p: Vec<f64>,
    ap: Vec<f64>,
    stack: Vec<u32>,
    enclosed: Vec<Vec<u32>>,
}

impl Pressure {
    pub fn new(grid: &Grid) -> Pressure {
        let zeros = || vec![0.0; grid.size()];
        Pressure {
            q: zeros(),
            dt: 1.0,
            grad: [zeros(), zeros(), zeros()],
            touches: vec![0; grid.size()],
            grid: Multigrid::new(grid.n, PAD),
            spans: Vec::new(),
            r: zeros(),
            p: zeros(),
            ap: zeros(),
            stack: Vec::new(),
            enclosed: Vec::new(),
        }
    }

    /// Forgets a run of cells that left the region.
    pub fn leave(&mut self, lo: usize, hi: usize) {
        self.q[lo..hi].fill(0.0);
        self.p[lo..hi].fill(0.0);
        let level = &mut self.grid.levels[0];
        for a in 0..3 {
            self.grad[a][lo..hi].fill(0.0);
            level.coef[a][lo..hi].fill(0.0);
        }
        level.diag[lo..hi].fill(0.0);
        level.x[lo..hi].fill(0.0);
        level.b[lo..hi].fill(0.0);
    }

    /// Velocity that the last step's pressure took from a face along `axis` of index step `s` [m/s].
    #[inline]
    pub fn pull(&self, axis: usize, s: usize, c: usize) -> f64 {
        self.grad[axis][c] * (self.q[c] - self.q[c - s])
    }

    /// Projects the velocities over `dt`. `give` is β of faces that are not clear; `sources` are volumes per
    /// time that enter cells [m³/s]; `push_time` is the time over which an overfill is pushed out; `ended` hears when
    /// the set-up is done.
    pub fn project(
        &mut self,
        grid: &Grid,
        region: &Region,
        surface: &Surface,
        f: &[f64],
        flow: &mut Flow,
        give: &[Vec<f64>; 3],
        sources: &[(usize, f64)],
        dt: f64,
        push_time: f64,
        settings: &Settings,
        step: u64,
        ended: &mut dyn FnMut(Phase),
    ) -> Result<Solved, SloshFault> {
        let warm = dt / self.dt;
        self.dt = dt;
        for &(lo, hi) in &region.rows {
            for c in lo as usize..hi as usize {
                self.q[c] = if surface.liquid[c] == 1 {
                    self.q[c] * warm
                } else {
                    0.0
                };
            }
        }
        if surface.count == 0 {
            return Ok(Solved {
                iterations: 0,
                residual: 0.0,
            });
        }
        self.assemble(grid, region, surface, f, flow, give);
        self.add_sources(
            grid,
            region,
            surface,
            f,
            sources,
            settings.overfill_push,
            push_time,
        );
        self.enclosed_oil(grid, region, surface);
        self.balance(grid);
        self.grid.coarsen(&self.spans);
        ended(Phase::PressureSetUp);
        let aim = settings.tolerance * grid.h / dt;
        let (iterations, largest) = self.solve(aim, settings.max_iterations);
        let residual = largest * dt / grid.h;
        if largest > aim || largest.is_nan() {
            return Err(SloshFault::Pressure {
                residual,
                aim: settings.tolerance,
                iterations,
                dt,
                step,
            });
        }
        self.settle_enclosed();
        for a in 0..3 {
            let s = grid.stride[a];
            let (u, grad) = (&mut flow.u[a], &self.grad[a]);
            for &(lo, hi) in &region.near {
                for c in lo as usize..hi as usize {
                    if grad[c] != 0.0 {
                        u[c] -= grad[c] * (self.q[c] - self.q[c - s]);
                    }
                }
            }
        }
        Ok(Solved { iterations, residual })
    }

    fn assemble(
        &mut self,
        grid: &Grid,
        region: &Region,
        surface: &Surface,
        f: &[f64],
        flow: &mut Flow,
        give: &[Vec<f64>; 3],
    ) {
        let level = &mut self.grid.levels[0];
        for &(lo, hi) in &region.rows {
            let span = lo as usize..hi as usize;
            level.diag[span.clone()].fill(0.0);
            level.b[span.clone()].fill(0.0);
            level.x[span.clone()].fill(0.0);
            self.touches[span].fill(0);
        }
        self.spans.clear();
        for &(lo, hi) in &region.wet {
            let cells = &surface.liquid[lo as usize..hi as usize];
            if let (Some(a), Some(b)) = (
                cells.iter().position(|l| *l == 1),
                cells.iter().rposition(|l| *l == 1),
            ) {
                self.spans.push((lo + a as u32, lo + b as u32 + 1));
            }
        }
        for axis in 0..3 {
            let s = grid.stride[axis];
            let (area, clear) = (&grid.area[axis], &grid.clear[axis]);
            let (grad, coef) = (&mut self.grad[axis], &mut level.coef[axis]);
            let u = &mut flow.u[axis];
            for &(lo, hi) in &region.rows {
                for c in lo as usize..hi as usize {
                    let (low, high) = (surface.liquid[c - s] == 1, surface.liquid[c] == 1);
                    let open = area[c];
                    coef[c] = 0.0;
                    grad[c] = 0.0;
                    if open == 0.0 || !(low || high) {
                        continue;
                    }
                    let mut ease = if clear[c] == 1 { 1.0 } else { give[axis][c] };
                    if low && high {
                        coef[c] = open * ease;
                        level.diag[c] += coef[c];
                        level.diag[c - s] += coef[c];
                    } else {
                        let wet = if low { c - s } else { c };
                        if surface.leaves_dry(grid, f, wet, axis, low) {
                            u[c] = 0.0;
                            continue;
                        }
                        ease /= surface.distance(grid, f, wet, axis, low);
                        level.diag[wet] += open * ease;
                        self.touches[wet] = 1;
                    }
                    grad[c] = ease;
                    let flux = open * u[c];
                    if high {
                        level.b[c] += flux;
                    }
                    if low {
                        level.b[c - s] -= flux;
                    }
                }
            }
        }
    }

    fn add_sources(
        &mut self,
        grid: &Grid,
        region: &Region,
        surface: &Surface,
        f: &[f64],
        sources: &[(usize, f64)],
        push: f64,
        push_time: f64,
    ) {
        let b = &mut self.grid.levels[0].b;
        let rate = push * grid.h / push_time;
        for &(lo, hi) in &region.wet {
            for c in lo as usize..hi as usize {
                // Overfull cells push out; a void deep inside draws in. Beside air the surface itself moves.
                if surface.liquid[c] == 1 && (f[c] > 1.0 || self.touches[c] == 0) {
                    b[c] += rate * (f[c] - 1.0) * grid.volume[c];
                }
            }
        }
        let h2 = grid.h * grid.h;
        for &(c, flow) in sources {
            if surface.liquid[c] == 1 {
                b[c] += flow / h2;
            }
        }
    }

    /// Finds bodies of oil that no face connects to air.
    fn enclosed_oil(&mut self, grid: &Grid, region: &Region, surface: &Surface) {
        const REACHED: u8 = 2;
        let coef = &self.grid.levels[0].coef;
        let touches = &mut self.touches;
        self.enclosed.clear();
        self.stack.clear();
        let mut reached = 0;
        let flood = |stack: &mut Vec<u32>, touches: &mut [u8], mut found: Option<&mut Vec<u32>>| {
            let mut count = 0;
            while let Some(c) = stack.pop() {
                let c = c as usize;
                count += 1;
                if let Some(list) = &mut found {
                    list.push(c as u32);
                }
                for a in 0..3 {
                    let s = grid.stride[a];
                    if coef[a][c] > 0.0 && touches[c - s] != REACHED {
                        touches[c - s] = REACHED;
                        stack.push((c - s) as u32);
                    }
                    if coef[a][c + s] > 0.0 && touches[c + s] != REACHED {
                        touches[c + s] = REACHED;
                        stack.push((c + s) as u32);
                    }
                }
            }
            count
        };
        for &(lo, hi) in &region.wet {
            for c in lo as usize..hi as usize {
                if touches[c] == 1 {
                    touches[c] = REACHED;
                    self.stack.push(c as u32);
                    reached += flood(&mut self.stack, touches, None);
                }
            }
        }
        if reached == surface.count {
            return;
        }
        for &(lo, hi) in &region.wet {
            for c in lo as usize..hi as usize {
                if surface.liquid[c] == 1 && touches[c] != REACHED {
                    let mut list = Vec::new();
                    touches[c] = REACHED;
                    self.stack.push(c as u32);
                    flood(&mut self.stack, touches, Some(&mut list));
                    list.sort_unstable();
                    self.enclosed.push(list);
                }
            }
        }
    }

    /// Makes the right side of enclosed oil sum to zero, spread by open volume: what cannot be pressed out
    /// stays as fill.
    fn balance(&mut self, grid: &Grid) {
        let b = &mut self.grid.levels[0].b;
        for list in &self.enclosed {
            let sum: f64 = list.iter().map(|c| b[*c as usize]).sum();
            let room: f64 = list.iter().map(|c| grid.volume[*c as usize]).sum();
            for c in list {
                b[*c as usize] -= sum * grid.volume[*c as usize] / room;
            }
        }
    }

    /// Fixes the free constant: the least pressure of enclosed oil is that of the air.
    fn settle_enclosed(&mut self) {
        for list in &self.enclosed {
            let least = list
                .iter()
                .map(|c| self.q[*c as usize])
                .fold(f64::INFINITY, f64::min);
            for c in list {
                self.q[*c as usize] -= least;
            }
        }
    }

    /// Conjugate gradients; returns iterations and the largest residual [m/s].
    fn solve(&mut self, aim: f64, most: u32) -> (u32, f64) {
        let Pressure {
            q,
            r,
            p,
            ap,
            grid,
            spans,
            ..
        } = self;
        let cells = |lo: u32, hi: u32| lo as usize..hi as usize;
        grid.levels[0].apply(q, ap);
        let mut largest = 0.0;
        for &(lo, hi) in spans.iter() {
            for c in cells(lo, hi) {
                r[c] = if grid.levels[0].diag[c] > 0.0 {
                    grid.levels[0].b[c] - ap[c]
                } else {
                    0.0
                };
                largest = worse(largest, r[c]);
                p[c] = 0.0;
            }
        }
        let mut before = 1.0;
        let mut iterations = 0;
        // At least one cycle a step: oil at rest then comes to rest, instead of keeping a residual just under
        // the aim for ever.
        while (largest > aim || iterations == 0) && iterations < most && f64::is_finite(largest) {
            if largest == 0.0 {
                break;
            }
            for &(lo, hi) in spans.iter() {
                grid.levels[0].b[cells(lo, hi)].copy_from_slice(&r[cells(lo, hi)]);
            }
            grid.cycle();
            let z = &grid.levels[0].x;
            let rz = dot(spans, r, z);
            let turn = if iterations == 0 { 0.0 } else { rz / before };
            before = rz;
            for &(lo, hi) in spans.iter() {
                for c in cells(lo, hi) {
                    p[c] = z[c] + turn * p[c];
                }
            }
            grid.levels[0].apply(p, ap);
            let pap = dot(spans, p, ap);
            let stride = rz / pap;
            largest = 0.0;
            for &(lo, hi) in spans.iter() {
                for c in cells(lo, hi) {
                    q[c] += stride * p[c];
                    r[c] -= stride * ap[c];
                    largest = worse(largest, r[c]);
                }
            }
            iterations += 1;
        }
        (iterations, largest)
    }
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

fn dot(spans: &[Row], a: &[f64], b: &[f64]) -> f64 {
    let mut sum = 0.0;
    for &(lo, hi) in spans {
        let (a, b) = (&a[lo as usize..hi as usize], &b[lo as usize..hi as usize]);
        let mut part = [0.0; 4];
        for (x, y) in a.chunks_exact(4).zip(b.chunks_exact(4)) {
            for l in 0..4 {
                part[l] += x[l] * y[l];
            }
        }
        let done = a.len() / 4 * 4;
        for i in done..a.len() {
            part[0] += a[i] * b[i];
        }
        sum += (part[0] + part[1]) + (part[2] + part[3]);
    }
    sum
}
