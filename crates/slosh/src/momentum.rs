//! What oil carries with it, what pulls at it and what rubs it: new face velocities before pressure.
//!
//! Advection and the spreading of thin oil come from [`crate::advection`]; then apparent gravity with rotation,
//! and wall friction, which is implicit and so bounds no step. Thick oil spreads in [`crate::viscosity`].

use crate::SloshFault;
use crate::advection::Advection;
use crate::grid::Grid;
use crate::pressure::Pressure;
use crate::region::Region;
use crate::terms::{Body, Settings};
use crate::viscosity::{self, Viscosity, Walls};
use glam::DVec3;

/// Marks of a face: who says its velocity.
pub(crate) mod mark {
    /// Beyond the region: zero, not to be touched.
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
    pub u: [Vec<f64>; 3],
    /// `mark` of each face.
    pub mark: [Vec<u8>; 3],
    old: [Vec<f64>; 3],
    gain: Vec<f64>,
    viscosity: Viscosity,
}

impl Flow {
    pub fn new(size: usize) -> Flow {
        let zeros = || [vec![0.0; size], vec![0.0; size], vec![0.0; size]];
        Flow {
            u: zeros(),
            old: zeros(),
            gain: Vec::new(),
            viscosity: Viscosity::default(),
            mark: [vec![0; size], vec![0; size], vec![0; size]],
        }
    }

    /// Forgets the faces of a run of cells that left the region.
    pub fn leave(&mut self, lo: usize, hi: usize) {
        for a in 0..3 {
            self.u[a][lo..hi].fill(0.0);
            self.mark[a][lo..hi].fill(mark::OUTSIDE);
        }
    }

    /// Velocities of all faces beside oil after advection, body force, viscosity and friction over `dt`;
    /// `pressure` is the last step's.
    pub fn predict(
        &mut self,
        grid: &Grid,
        region: &Region,
        f: &[f64],
        pressure: &Pressure,
        body: &Body,
        dt: f64,
        rub: &Rubbing,
    ) -> Result<(), SloshFault> {
        for a in 0..3 {
            for &(lo, hi) in &region.rows {
                let span = lo as usize..hi as usize;
                self.old[a][span.clone()].copy_from_slice(&self.u[a][span]);
            }
        }
        let warm = dt / pressure.dt;
        // Spray cannot fall faster than from one end of the pan to the other, and half as fast again for what
        // threw it: a fleck that hangs in a corner must not set the step for all the oil.
        let reach = grid.h * grid.n.iter().map(|n| (n * n) as f64).sum::<f64>().sqrt();
        let fall = 1.5 * (2.0 * body.gravity.length() * reach).sqrt();
        for axis in 0..3 {
            let s = grid.stride[axis];
            for &(lo, hi) in &region.near {
                let (lo, hi) = (lo as usize, hi as usize);
                self.gain.clear();
                self.gain.resize(hi - lo, 0.0);
                let advection = Advection {
                    grid,
                    old: &self.old,
                    known: &self.mark,
                    scale: dt / grid.h,
                    share: rub.spread,
                };
                advection.row(axis, lo, f, &mut self.gain);
                let pull = Pull::along(grid, body, axis, lo);
                for c in lo..hi {
                    if grid.area[axis][c] == 0.0 || (f[c] <= 0.0 && f[c - s] <= 0.0) {
                        continue;
                    }
                    let force = pull.at(c - lo, || self.mean(grid, axis, c));
                    // Walls rub what moves: gravity less the pressure that holds it. Rubbing the fall that
                    // gravity alone would give stirs oil at rest.
                    let held = warm * pressure.pull(axis, s, c);
                    let u = self.old[axis][c] + self.gain[c - lo] + (dt * force - held);
                    if rub.thick.is_some() {
                        self.u[axis][c] = u;
                        continue;
                    }
                    self.u[axis][c] = u / (1.0 + rub.at(grid.wall[axis][c] as f64, u) * dt) + held;
                    if self.mark[axis][c] < mark::PRESSED {
                        // A clamp would let a NaN pass as it is, and so it does: the guard sees it.
                        self.u[axis][c] = self.u[axis][c].clamp(-fall, fall);
                        // Oil that came home into dry air: starts from rest.
                        self.mark[axis][c] = mark::FLYING;
                    }
                }
            }
        }
        if let Some(share) = rub.thick {
            let aim = viscosity::TOLERANCE * grid.h / dt;
            let extra = |wall: f64, u: f64| rub.at(wall, u) * dt;
            self.viscosity
                .spread(grid, region, f, &mut self.u, share, rub.walls, aim, extra)?;
            self.hold(grid, region, f, pressure, warm, fall);
        }
        Ok(())
    }

    /// Gives back what the pressure of the last step took: the other half of the prediction of thick oil.
    fn hold(&mut self, grid: &Grid, region: &Region, f: &[f64], pressure: &Pressure, warm: f64, fall: f64) {
        for axis in 0..3 {
            let s = grid.stride[axis];
            for &(lo, hi) in &region.near {
                for c in lo as usize..hi as usize {
                    if grid.area[axis][c] == 0.0 || (f[c] <= 0.0 && f[c - s] <= 0.0) {
                        continue;
                    }
                    self.u[axis][c] += warm * pressure.pull(axis, s, c);
                    if self.mark[axis][c] < mark::PRESSED {
                        self.u[axis][c] = self.u[axis][c].clamp(-fall, fall);
                        self.mark[axis][c] = mark::FLYING;
                    }
                }
            }
        }
    }

    /// Mean velocity at a face of `axis` [m/s].
    fn mean(&self, grid: &Grid, axis: usize, c: usize) -> DVec3 {
        let s = grid.stride[axis];
        let mut u = DVec3::ZERO;
        for e in 0..3 {
            let t = grid.stride[e];
            let v = &self.old[e];
            u[e] = if e == axis {
                v[c]
            } else {
                0.25 * (v[c] + v[c + t] + v[c - s] + v[c + t - s])
            };
        }
        u
    }
}

/// Acceleration along one axis on the faces of a row: it changes linearly along the row when the pan turns.
struct Pull {
    first: f64,
    along: f64,
    /// Twice the spin, when the pan turns, and the axis.
    turn: Option<(DVec3, usize)>,
}

impl Pull {
    fn along(grid: &Grid, body: &Body, axis: usize, lo: usize) -> Pull {
        if !body.turns() {
            return Pull {
                first: body.gravity[axis],
                along: 0.0,
                turn: None,
            };
        }
        let mut point = grid.centre(lo);
        point[axis] -= 0.5 * grid.h;
        let first = body.at(point)[axis];
        let along = body.at(point + grid.h * DVec3::X)[axis] - first;
        Pull {
            first,
            along,
            turn: Some((2.0 * body.spin, axis)),
        }
    }

    #[inline]
    fn at(&self, i: usize, velocity: impl FnOnce() -> DVec3) -> f64 {
        let still = self.first + i as f64 * self.along;
        match self.turn {
            Some((twice, axis)) => still - twice.cross(velocity())[axis],
            None => still,
        }
    }
}

/// Friction of one step: numbers that hold for all faces.
pub(crate) struct Rubbing {
    /// Share of the neighbour differences that thin oil spreads in the step, `ν dt / h²`.
    spread: f64,
    /// The same for thick oil, whose spreading is implicit and minds the walls itself.
    thick: Option<f64>,
    /// How walls rub thick oil, if they do.
    walls: Option<Walls>,
    /// Wall rate of slow oil times h [m/s].
    slow: f64,
    /// Half the skin friction coefficient.
    skin: f64,
    settling: f64,
    h: f64,
}

impl Rubbing {
    /// `swing` is the angular frequency of the oil's first mode [rad/s]: the boundary layer of thin oil that swings
    /// is thinner than a cell, and [`viscosity::swing_friction`] stands for it.
    pub fn new(settings: &Settings, viscosity: f64, h: f64, dt: f64, swing: f64) -> Rubbing {
        let share = viscosity * dt / (h * h);
        let thick = viscosity::thick(viscosity, h);
        let walls = settings.wall_friction;
        Rubbing {
            spread: if thick { 0.0 } else { share },
            thick: thick.then_some(share),
            walls: (walls && thick).then(|| Walls::new(viscosity, h, swing)),
            slow: if walls && !thick {
                viscosity::swing_friction(viscosity, h, swing)
            } else {
                0.0
            },
            skin: if walls { 0.5 * settings.skin_friction } else { 0.0 },
            settling: settings.settling,
            h,
        }
    }

    /// Rate at which walls slow a face [1/s]; `wall` in units of h² per open h³.
    #[inline]
    fn at(&self, wall: f64, u: f64) -> f64 {
        wall / self.h * self.slow.max(self.skin * u.abs()) + self.settling
    }
}
