//! Reading the oil: volumes, pressure, velocities, doors and the oil over the mouth.

use crate::grid::PAD;
use crate::solver::Solver;
use crate::surface::FULL;
use glam::DVec3;

impl Solver {
    /// Oil in the cells [m³].
    pub fn oil_volume(&self) -> f64 {
        let mut sum = 0.0;
        for &(lo, hi) in &self.region.wet {
            let part: f64 = (lo as usize..hi as usize)
                .map(|c| self.f[c] * self.grid.volume[c])
                .sum();
            sum += part;
        }
        sum * self.grid.h.powi(3)
    }

    /// Volume of all open cells [m³]: what the solver can hold. Cells of less than 2 % open volume are closed
    /// and not part of it.
    pub fn open_volume(&self) -> f64 {
        self.grid.volume.iter().sum::<f64>() * self.grid.h.powi(3)
    }

    /// Oil that clean-up has taken out of the cells and not given back yet [m³] (negative when it put some in):
    /// volume at start + returned − drawn = `oil_volume` + `ledger_error`, to round-off.
    pub fn ledger_error(&self) -> f64 {
        self.booked * self.grid.h.powi(3)
    }

    /// Steps since the fill.
    pub fn steps(&self) -> u64 {
        self.steps
    }

    /// Oil share of the open part of each cell, in lattice order (`i + nx*(j + ny*k)`).
    pub fn fill(&self) -> Vec<f64> {
        self.grid.inner().map(|c| self.f[c]).collect()
    }

    /// Oil velocity at the centre of each cell [m/s], lattice order; zero where there is no oil.
    pub fn velocity_at_cells(&self) -> Vec<DVec3> {
        let at = |c: usize| {
            let mut v = DVec3::ZERO;
            for a in 0..3 {
                let s = self.grid.stride[a];
                let [low, high] = [c, c + s].map(|at| f64::from(self.grid.area[a][at]));
                if low + high > 0.0 {
                    // Open faces speak by their area; a shut one pulls a flat-walled cell's mean down.
                    let u = &self.flow.u[a];
                    let share = (low + high).max(self.grid.volume[c]);
                    v[a] = (low * f64::from(u[c]) + high * f64::from(u[c + s])) / share.max(1e-12);
                }
            }
            v
        };
        self.grid
            .inner()
            .map(|c| if self.f[c] > 0.0 { at(c) } else { DVec3::ZERO })
            .collect()
    }

    /// Gauge pressure of the oil at `point` [Pa]; 0 in air. Between cell centres the pressure is carried on
    /// by the slope toward neighbouring oil, so a probe in a wall reads the pressure at the wall.
    pub fn pressure_at(&self, point: DVec3) -> f64 {
        let Some(c) = self.cell_of(point) else { return 0.0 };
        if self.surface.liquid[c] == 0 {
            return 0.0;
        }
        let to_pressure = self.fluid.density * self.grid.h / self.pressure.dt;
        let away = (point - self.grid.centre(c)) / self.grid.h;
        let q = &self.pressure.q;
        let mut value = f64::from(q[c]);
        for a in 0..3 {
            let s = self.grid.stride[a];
            let low =
                (self.grid.clear[a][c] == 1 && self.surface.liquid[c - s] == 1).then(|| q[c] - q[c - s]);
            let high =
                (self.grid.clear[a][c + s] == 1 && self.surface.liquid[c + s] == 1).then(|| q[c + s] - q[c]);
            let slope = match (low, high) {
                (Some(l), Some(r)) => {
                    if away[a] < 0.0 {
                        l
                    } else {
                        r
                    }
                }
                (Some(one), None) | (None, Some(one)) => one,
                (None, None) => 0.0,
            };
            value += away[a] * f64::from(slope);
        }
        value.max(0.0) * to_pressure
    }

    /// Padded index of the open cell that holds a point; a point on or just outside a wall counts to the
    /// cell inside.
    fn cell_of(&self, point: DVec3) -> Option<usize> {
        let at = (point - self.grid.origin) / self.grid.h;
        if !at.is_finite() {
            return None;
        }
        let base = [0, 1, 2].map(|a| (at[a].floor().max(0.0) as usize).min(self.grid.n[a] - 1));
        let here = self.grid.at(base[0], base[1], base[2]);
        if self.grid.volume[here] > 0.0 {
            return Some(here);
        }
        let mut best = None;
        let mut least = f64::INFINITY;
        for k in base[2].saturating_sub(1)..(base[2] + 2).min(self.grid.n[2]) {
            for j in base[1].saturating_sub(1)..(base[1] + 2).min(self.grid.n[1]) {
                for i in base[0].saturating_sub(1)..(base[0] + 2).min(self.grid.n[0]) {
                    let c = self.grid.at(i, j, k);
                    let away = (self.grid.centre(c) - point).length_squared();
                    if self.grid.volume[c] > 0.0 && away < least {
                        least = away;
                        best = Some(c);
                    }
                }
            }
        }
        best
    }

    /// Opening angle of each lattice door [rad].
    pub fn door_angles(&self) -> Vec<f64> {
        self.flaps.iter().map(|d| d.angle).collect()
    }

    /// Free area of each lattice door over its opening, 0 to 1.
    pub fn door_shares(&self) -> Vec<f64> {
        self.flaps.iter().map(|d| d.free_share()).collect()
    }

    /// Oil in each space of the lattice [m³].
    pub fn space_volumes(&self, out: &mut Vec<f64>) {
        out.clear();
        out.resize(self.spaces, 0.0);
        for &(lo, hi) in &self.region.wet {
            for c in lo as usize..hi as usize {
                if let Some(sum) = out.get_mut(self.space_of[c] as usize) {
                    *sum += self.f[c] * self.grid.volume[c];
                }
            }
        }
        let h3 = self.grid.h.powi(3);
        out.iter_mut().for_each(|v| *v *= h3);
    }

    /// Oil inside the crank sweep [m³].
    pub fn oil_at_crank(&self) -> f64 {
        let sum: f64 = self
            .crank
            .iter()
            .map(|&(c, share)| f64::from(share) * self.f[c as usize] * self.grid.volume[c as usize])
            .sum();
        sum * self.grid.h.powi(3)
    }

    /// Oil over the mouth against apparent gravity [m]: the unbroken length of oil from the mouth's centre
    /// up to the surface, a plate or a wall, with the surface where its plane lies inside the cell.
    /// The pickup's own body over its rim does not end it, but oil that lies on the body alone is no cover.
    /// 0 when the mouth is bare, without gravity, or when there is no mouth.
    pub fn cover_over_mouth(&self, gravity: DVec3) -> f64 {
        match (-gravity).try_normalize() {
            Some(up) if self.wet_under_rim() => self.oil_along(self.mouth_at, up),
            _ => 0.0,
        }
    }

    /// True when the cell under the middle of the rim is more than half full, or nothing is over the mouth that could
    /// hold oil by itself.
    fn wet_under_rim(&self) -> bool {
        let middle = self.places.middle(&self.grid, self.mouth_at);
        middle.is_some_and(|c| self.places.body.is_empty() || self.f[c] > 0.5)
    }

    /// Unbroken length of oil from `start` along the unit vector `way` [m].
    fn oil_along(&self, start: DVec3, way: DVec3) -> f64 {
        let mut at = (start - self.grid.origin) / self.grid.h;
        // A mouth that stands on a face draws from the cell below it; the ray starts just inside.
        at -= DVec3::splat(1e-9) * DVec3::new(0.0, 0.0, 1.0);
        let mut cell = [0i64; 3];
        for a in 0..3 {
            cell[a] = at[a].floor() as i64;
            if cell[a] < 0 || cell[a] >= self.grid.n[a] as i64 {
                return 0.0;
            }
        }
        let mut length = 0.0;
        for _ in 0..self.grid.n.iter().sum::<usize>() + 3 {
            let c = self.grid.at(cell[0] as usize, cell[1] as usize, cell[2] as usize);
            // Distance to the next face, in cells.
            let (mut axis, mut far) = (0, f64::INFINITY);
            for a in 0..3 {
                let to = if way[a] > 0.0 {
                    (cell[a] as f64 + 1.0 - at[a]) / way[a]
                } else if way[a] < 0.0 {
                    (cell[a] as f64 - at[a]) / way[a]
                } else {
                    f64::INFINITY
                };
                if to < far {
                    (axis, far) = (a, to.max(0.0));
                }
            }
            let inside = self.oil_in_cell(
                c,
                at - DVec3::new(cell[0] as f64, cell[1] as f64, cell[2] as f64),
                way,
                far,
            );
            length += inside;
            if inside < far - 1e-9 {
                break;
            }
            let step = if way[axis] > 0.0 { 1i64 } else { -1 };
            let face = if step > 0 { c + self.grid.stride[axis] } else { c };
            let body = axis == 2 && self.places.body.contains(&face);
            if self.grid.area[axis][face] == 0.0 && !body {
                break;
            }
            at += far * way;
            cell[axis] += step;
            at[axis] = if step > 0 {
                cell[axis] as f64
            } else {
                cell[axis] as f64 + 1.0
            };
        }
        length * self.grid.h
    }

    /// Oil from `from` (in the unit cell) along `way` before the first air, at most `far` [cells].
    fn oil_in_cell(&self, c: usize, from: DVec3, way: DVec3, far: f64) -> f64 {
        let fill = self.f[c];
        if fill >= FULL {
            return far;
        }
        if fill <= 0.0 {
            return 0.0;
        }
        let [x, y, z, alpha] = self.surface.plane(c, self.f[c]);
        let normal = DVec3::new(x, y, z);
        let depth = alpha - normal.dot(from);
        if depth <= 0.0 {
            return 0.0;
        }
        let rate = normal.dot(way);
        if rate <= 0.0 { far } else { (depth / rate).min(far) }
    }

    /// Index (i, j, k) and fill of every wet cell: for frames.
    pub fn wet_cells(&self) -> impl Iterator<Item = (u32, f64)> + '_ {
        let [nx, ny, _] = self.grid.n;
        self.region.wet.iter().flat_map(move |&(lo, hi)| {
            let [i, j, k] = self.grid.place(lo as usize);
            debug_assert!(lo as usize >= PAD);
            let first = i + nx * (j + ny * k);
            (lo as usize..hi as usize)
                .enumerate()
                .filter_map(move |(d, c)| (self.f[c] > 0.0).then_some(((first + d) as u32, self.f[c])))
        })
    }
}
