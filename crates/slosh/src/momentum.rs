//! What oil carries with it, what pulls at it and what rubs it: new face velocities before pressure.
//!
//! Advection and the spreading of thin oil come from [`crate::advection`]; then apparent gravity with rotation,
//! and wall friction, which is implicit and so bounds no step. Thick oil spreads in [`crate::viscosity`].

use crate::SloshFault;
use crate::advection::Advection;
use crate::grid::Grid;
use crate::pressure::Pressure;
use crate::region::{Region, Row};
use crate::team::{BLOCK, Share, Team, cut};
use crate::terms::{Body, Settings};
use crate::viscosity::{self, Viscosity, Walls};
use glam::DVec3;

/// Marks of a face: who says its velocity.
pub(crate) mod mark {
    /// Beyond the region or shut: zero, not to be touched.
    pub const OUTSIDE: u8 = 0;
    /// Inside the region, not known.
    pub const UNKNOWN: u8 = 1;
    /// From the pressure solve. Larger marks: carried on from these, or falling freely.
    pub const PRESSED: u8 = 2;
    /// Oil without pressure keeps its own way.
    pub const FLYING: u8 = 10;
}

/// Velocities, their marks, and the copy of last step's velocities.
pub(crate) struct Flow {
    /// Face velocities [m/s], zero wherever the mark is below `PRESSED`.
    pub u: [Vec<f32>; 3],
    /// `mark` of each face.
    pub mark: [Vec<u8>; 3],
    old: [Vec<f32>; 3],
    /// Marks of `old`.
    known: [Vec<u8>; 3],
    viscosity: Viscosity,
}

impl Flow {
    pub fn new(size: usize) -> Flow {
        let zeros = || [vec![0.0; size], vec![0.0; size], vec![0.0; size]];
        let none = || [vec![0; size], vec![0; size], vec![0; size]];
        Flow {
            u: zeros(),
            old: zeros(),
            mark: none(),
            known: none(),
            viscosity: Viscosity::default(),
        }
    }

    /// Forgets the faces of a run of cells that left the region.
    pub fn leave(&mut self, lo: usize, hi: usize) {
        for a in 0..3 {
            self.u[a][lo..hi].fill(0.0);
            self.old[a][lo..hi].fill(0.0);
            self.mark[a][lo..hi].fill(mark::OUTSIDE);
            self.known[a][lo..hi].fill(mark::OUTSIDE);
        }
    }

    /// Velocities of all faces beside oil after advection, body force, viscosity and friction over `dt`;
    /// `pressure` is the last step's.
    pub fn predict(
        &mut self,
        grid: &Grid,
        region: &Region,
        f: &[f64],
        wet: &[u8],
        pressure: &Pressure,
        body: &Body,
        dt: f64,
        rub: &Rubbing,
        team: &Team,
    ) -> Result<(), SloshFault> {
        // What is about to be written is read first; beyond the rows both copies are zero or never read.
        std::mem::swap(&mut self.u, &mut self.old);
        std::mem::swap(&mut self.mark, &mut self.known);
        let Flow {
            u,
            mark: marks,
            old,
            known,
            viscosity,
        } = self;
        let (old, known) = (&*old, &*known);
        let warm = (dt / pressure.dt) as f32;
        // Spray cannot fall faster than from one end of the pan to the other, and half as fast again for what
        // threw it: a fleck that hangs in a corner must not set the step for all the oil.
        let reach = grid.h * grid.n.iter().map(|n| (n * n) as f64).sum::<f64>().sqrt();
        let fall = (1.5 * (2.0 * body.gravity.length() * reach).sqrt()) as f32;
        let advection = Advection {
            grid,
            old,
            known,
            scale: (dt / grid.h) as f32,
            share: rub.spread,
        };
        for axis in 0..3 {
            let s = grid.stride[axis];
            let (area, wall) = (&grid.area[axis], &grid.wall[axis]);
            let shares: Vec<_> = region
                .shares(&mut u[axis], &region.rows)
                .into_iter()
                .zip(region.shares(&mut marks[axis], &region.near))
                .collect();
            team.each(
                shares,
                #[inline(always)]
                |((mut u, rows), (mut marks, near)): ((Share<f32>, &[Row]), (Share<u8>, &[Row]))| {
                    for &(lo, hi) in rows {
                        let (lo, hi) = (lo as usize, hi as usize);
                        u.run(lo, hi).copy_from_slice(&old[axis][lo..hi]);
                        marks.run(lo, hi).copy_from_slice(&known[axis][lo..hi]);
                    }
                    let (mut gain, mut flying) = ([0f32; BLOCK], [0u8; BLOCK]);
                    for &(lo, hi) in near {
                        for from in (lo as usize..hi as usize).step_by(BLOCK) {
                            let to = (from + BLOCK).min(hi as usize);
                            let gain = &mut gain[..to - from];
                            gain.fill(0.0);
                            advection.row(axis, from, gain);
                            pull(grid, body, old, axis, from, dt as f32, gain);
                            let (here, low) = (&wet[from..to], &wet[from - s..to - s]);
                            let (area, wall) = (&area[from..to], &wall[from..to]);
                            let grad = &pressure.grad[axis][from..to];
                            let (qh, ql) = (&pressure.q[from..to], &pressure.q[from - s..to - s]);
                            let (u, mark) = (u.run(from, to), marks.run(from, to));
                            let n = gain.len().min(BLOCK);
                            let (was, marked) = (&*u, &*mark);
                            cut!(n; here, low, area, wall, grad, qh, ql, was, marked);
                            let moves = |i: usize| (area[i] > 0.0) & (here[i] | low[i] != 0);
                            if rub.thick.is_some() {
                                for i in 0..n {
                                    let held = warm * (grad[i] * (qh[i] - ql[i]));
                                    gain[i] = was[i] + if moves(i) { gain[i] - held } else { 0.0 };
                                }
                                u.copy_from_slice(gain);
                                continue;
                            }
                            for i in 0..n {
                                // Walls rub what moves: gravity less the pressure that holds it. Rubbing the
                                // fall that gravity alone would give stirs oil at rest.
                                let held = warm * (grad[i] * (qh[i] - ql[i]));
                                let free = was[i] + gain[i] - held;
                                let new = free / (1.0 + rub.at(wall[i], free)) + held;
                                let bound = if marked[i] < mark::PRESSED {
                                    fall
                                } else {
                                    f32::INFINITY
                                };
                                // A number that is none passes as it is: the guard sees it.
                                let new = if new > bound { bound } else { new };
                                let new = if new < -bound { -bound } else { new };
                                gain[i] = if moves(i) { new } else { was[i] };
                            }
                            let flying = &mut flying[..n];
                            for i in 0..n {
                                // Oil that came home into dry air: starts from rest.
                                let flies = moves(i) & (marked[i] < mark::PRESSED);
                                flying[i] = if flies { mark::FLYING } else { marked[i] };
                            }
                            u.copy_from_slice(gain);
                            mark.copy_from_slice(flying);
                        }
                    }
                },
            );
        }
        if let Some(share) = rub.thick {
            let aim = viscosity::TOLERANCE * grid.h / dt;
            let extra = |wall: f64, u: f64| f64::from(rub.at(wall as f32, u as f32));
            viscosity.spread(grid, region, f, u, share, rub.walls, aim, extra)?;
            hold(grid, region, f, self, pressure, warm, fall);
        }
        Ok(())
    }
}

/// Gives back what the pressure of the last step took: the other half of the prediction of thick oil.
fn hold(grid: &Grid, region: &Region, f: &[f64], flow: &mut Flow, pressure: &Pressure, warm: f32, fall: f32) {
    for axis in 0..3 {
        let s = grid.stride[axis];
        let (u, mark) = (&mut flow.u[axis], &mut flow.mark[axis]);
        for &(lo, hi) in &region.near {
            for c in lo as usize..hi as usize {
                if grid.area[axis][c] == 0.0 || (f[c] <= 0.0 && f[c - s] <= 0.0) {
                    continue;
                }
                u[c] += warm * (pressure.grad[axis][c] * (pressure.q[c] - pressure.q[c - s]));
                if mark[c] < mark::PRESSED {
                    u[c] = u[c].clamp(-fall, fall);
                    mark[c] = mark::FLYING;
                }
            }
        }
    }
}

/// Adds what apparent gravity gives the faces of `axis` from `start` on in `dt`; in a pan that turns it
/// changes linearly along a row, and what moves is turned aside.
#[inline(always)]
fn pull(grid: &Grid, body: &Body, old: &[Vec<f32>; 3], axis: usize, start: usize, dt: f32, gain: &mut [f32]) {
    if !body.turns() {
        let add = dt * body.gravity[axis] as f32;
        gain.iter_mut().for_each(|g| *g += add);
        return;
    }
    let mut from = 0;
    while from < gain.len() {
        let to = gain.len().min(from + grid.left_in_row(start + from));
        let mut point = grid.centre(start + from);
        point[axis] -= 0.5 * grid.h;
        let first = body.at(point)[axis];
        let along = (body.at(point + grid.h * DVec3::X)[axis] - first) as f32;
        let first = first as f32;
        for (i, gain) in gain[from..to].iter_mut().enumerate() {
            *gain += dt * (first + i as f32 * along);
        }
        from = to;
    }
    // − 2 spin × u along `axis`: what the two other velocities, each the mean of four, do to it.
    let (b, c) = ((axis + 1) % 3, (axis + 2) % 3);
    let n = gain.len();
    let back = grid.stride[axis];
    for (e, turn) in [(c, -2.0 * body.spin[b]), (b, 2.0 * body.spin[c])] {
        let t = grid.stride[e];
        let of = |at: usize| &old[e][at..at + n];
        let (p, q) = (of(start), of(start + t));
        let (r, s) = (of(start - back), of(start + t - back));
        let turn = 0.25 * dt * turn as f32;
        for i in 0..n {
            gain[i] += turn * ((p[i] + q[i]) + (r[i] + s[i]));
        }
    }
}

/// Friction of one step: numbers that hold for all faces.
pub(crate) struct Rubbing {
    /// Share of the neighbour differences that thin oil spreads in the step, `ν dt / h²`.
    spread: f32,
    /// The same for thick oil, whose spreading is implicit and minds the walls itself.
    thick: Option<f64>,
    /// How walls rub thick oil, if they do.
    walls: Option<Walls>,
    /// What walls take of slow oil in the step, for a unit of wall.
    slow: f32,
    /// The same of fast oil, for a unit of speed to the power ¾.
    skin: f32,
    /// What the implicit spreading of thick oil already takes.
    laminar: f32,
    /// Artificial damping over the step.
    settling: f32,
}

impl Rubbing {
    /// `swing` is the angular frequency of the oil's first mode [rad/s]: the boundary layer of thin oil that swings
    /// is thinner than a cell, and [`viscosity::swing_friction`] stands for it.
    pub fn new(settings: &Settings, viscosity: f64, h: f64, dt: f64, swing: f64) -> Rubbing {
        let share = viscosity * dt / (h * h);
        let thick = viscosity::thick(viscosity, h);
        let walls = settings.wall_friction;
        let slow = if walls && !thick {
            viscosity::swing_friction(viscosity, h, swing)
        } else {
            0.0
        };
        let skin = if walls {
            settings.skin_friction * (2.0 * viscosity / h).sqrt().sqrt()
        } else {
            0.0
        };
        Rubbing {
            spread: if thick { 0.0 } else { share as f32 },
            thick: thick.then_some(share),
            walls: (walls && thick).then(|| Walls::new(viscosity, h, swing)),
            slow: (slow * dt / h) as f32,
            skin: (skin * dt / h) as f32,
            laminar: if thick { (2.0 * share) as f32 } else { 0.0 },
            settling: (settings.settling * dt) as f32,
        }
    }

    /// How much walls slow a face in the step, as a share of its new speed; `wall` in units of h² per open h³.
    #[inline(always)]
    fn at(&self, wall: f32, u: f32) -> f32 {
        let root = u.abs().sqrt();
        let turbulent = self.skin * root * root.sqrt();
        wall * self.slow.max(turbulent - self.laminar) + self.settling
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Stress over ρ u² by the law of the wall, `u/u* = 2.44 ln(y u*/ν) + 5.0`.
    fn log_law(u: f64, y: f64, nu: f64) -> f64 {
        let mut ratio: f64 = 15.0;
        for _ in 0..50 {
            ratio = 2.44 * (y * u / (nu * ratio)).ln() + 5.0;
        }
        1.0 / (ratio * ratio)
    }

    #[test]
    fn fast_water_is_rubbed_as_the_law_of_the_wall_says_on_any_grid() {
        for (u, h) in [(1.0, 0.010), (2.5, 0.010), (2.5, 0.005), (4.0, 0.0075)] {
            let (nu, dt) = (1e-6, 1e-4);
            let rub = Rubbing::new(&Settings::default(), nu, h, dt, 0.0);
            let computed = f64::from(rub.at(1.0, u as f32)) * h / dt / u;
            let due = log_law(u, 0.5 * h, nu);
            assert!(
                (computed / due - 1.0).abs() < 0.15,
                "{computed:.5} against {due:.5} at {u} m/s"
            );
        }
    }
}
