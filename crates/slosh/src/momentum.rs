//! What oil carries with it, what pulls at it and what rubs it: new face velocities before pressure.
//!
//! Advective form, unsplit: `u −= dt/h Σ_e [U⁺(u⁺ − u) − U⁻(u⁻ − u)]` with upwind face values and a
//! MC-limited slope (first order alone damps the first mode by 4e-4). Then apparent gravity with rotation,
//! viscosity, and wall friction, which is implicit and so bounds no step.

use crate::grid::{EDGE, Grid, WALL_ABOVE, WALL_BELOW};
use crate::pressure::Pressure;
use crate::region::Region;
use crate::terms::{Body, Settings};
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
}

impl Flow {
    pub fn new(size: usize) -> Flow {
        let zeros = || [vec![0.0; size], vec![0.0; size], vec![0.0; size]];
        Flow {
            u: zeros(),
            old: zeros(),
            gain: Vec::new(),
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
    ) {
        for a in 0..3 {
            for &(lo, hi) in &region.rows {
                let span = lo as usize..hi as usize;
                self.old[a][span.clone()].copy_from_slice(&self.u[a][span]);
            }
        }
        let warm = dt / pressure.dt;
        for axis in 0..3 {
            let s = grid.stride[axis];
            for &(lo, hi) in &region.near {
                let (lo, hi) = (lo as usize, hi as usize);
                self.row_gains(grid, f, axis, lo, hi, dt / grid.h, rub.spread);
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
                    self.u[axis][c] = u / (1.0 + rub.at(grid.wall[axis][c] as f64, u) * dt) + held;
                    if self.mark[axis][c] < mark::PRESSED {
                        // Oil that came home into dry air: starts from rest.
                        self.mark[axis][c] = mark::FLYING;
                    }
                }
            }
        }
    }

    /// Fills `gain` with what advection and viscosity add to the faces of a row: in runs where nothing is in
    /// the way by a kernel without branches, else face by face.
    fn row_gains(
        &mut self,
        grid: &Grid,
        f: &[f64],
        axis: usize,
        lo: usize,
        hi: usize,
        scale: f64,
        share: f64,
    ) {
        let s = grid.stride[axis];
        let mut gain = std::mem::take(&mut self.gain);
        gain.clear();
        gain.resize(hi - lo, 0.0);
        let plain = |c: usize| grid.plain[axis][c] == 1 && self.mark[axis][c] == mark::PRESSED;
        let mut c = lo;
        while c < hi {
            let mut end = c;
            while end < hi && plain(end) {
                end += 1;
            }
            if end > c {
                self.plain_gains(grid, axis, c, scale, share, &mut gain[c - lo..end - lo]);
                c = end;
                continue;
            }
            if grid.area[axis][c] > 0.0 && (f[c] > 0.0 || f[c - s] > 0.0) {
                let (carried, spread) = self.change(grid, axis, c, scale);
                gain[c - lo] = carried + share * spread;
            }
            c += 1;
        }
        self.gain = gain;
    }

    /// [`Flow::change`] for a run of faces from `start` on whose neighbours two cells about are all open and
    /// known.
    fn plain_gains(&self, grid: &Grid, axis: usize, start: usize, scale: f64, share: f64, gain: &mut [f64]) {
        let n = gain.len();
        let u = &self.old[axis];
        let sa = grid.stride[axis];
        let here = &u[start..start + n];
        for e in 0..3 {
            let s = grid.stride[e];
            let run = |from: usize| &u[from..from + n];
            let (low, high) = (run(start - s), run(start + s));
            let (lower, higher) = (run(start - 2 * s), run(start + 2 * s));
            // Transport through the momentum cell's two faces: the mean of two velocities each.
            let v = &self.old[e];
            let other = |from: usize| &v[from..from + n];
            let (pairs_low, pairs_high) = if e == axis {
                ((low, here), (here, high))
            } else {
                (
                    (other(start), other(start - sa)),
                    (other(start + s), other(start + s - sa)),
                )
            };
            for i in 0..n {
                let with_low = 0.5 * (pairs_low.0[i] + pairs_low.1[i]);
                let with_high = 0.5 * (pairs_high.0[i] + pairs_high.1[i]);
                let (below, above) = (here[i] - low[i], high[i] - here[i]);
                let middle = limited(low[i], here[i], high[i]);
                let upper = limited(here[i], high[i], higher[i]);
                let under = limited(lower[i], low[i], here[i]);
                let high_share = 0.5 * (1.0 - with_high.abs() * scale);
                let low_share = 0.5 * (1.0 - with_low.abs() * scale);
                let out = with_high.max(0.0) * (high_share * middle)
                    + with_high.min(0.0) * (above - high_share * upper);
                let into = with_low.max(0.0) * (low_share * under - below)
                    - with_low.min(0.0) * (low_share * middle);
                gain[i] += scale * (into - out) + share * (above - below);
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

    /// Change of a face velocity by advection over `courant_scale = dt/h`, and the sum of differences to its
    /// six neighbours for viscosity.
    #[inline]
    fn change(&self, grid: &Grid, axis: usize, c: usize, scale: f64) -> (f64, f64) {
        let u = &self.old[axis];
        let known = &self.mark[axis];
        let sight = grid.sight[axis][c];
        let sa = grid.stride[axis];
        let here = u[c];
        let (mut carried, mut spread) = (0.0, 0.0);
        for e in 0..3 {
            let s = grid.stride[e];
            let sees_low = sight >> (2 * e) & 1 == 1 && known[c - s] >= mark::PRESSED;
            let sees_high = sight >> (2 * e) & 2 == 2 && known[c + s] >= mark::PRESSED;
            let (mut low, mut high) = (here, here);
            if sees_low {
                low = u[c - s];
            } else if e == axis && sight & WALL_BELOW != 0 {
                low = 0.0;
            }
            if sees_high {
                high = u[c + s];
            } else if e == axis && sight & WALL_ABOVE != 0 {
                high = 0.0;
            }
            spread += (low - here) + (high - here);
            let (mut with_low, mut with_high) = (0.5 * (low + here), 0.5 * (here + high));
            if e != axis {
                let v = &self.old[e];
                with_low = 0.5 * (v[c] + v[c - sa]);
                with_high = 0.5 * (v[c + s] + v[c + s - sa]);
                let edges = sight >> (2 * e + EDGE) & 3;
                if edges != 0 {
                    // Oil that slides along the plate toward its edge arrives with no speed across the
                    // plate. Leaving this out loses a fifth of a gap's resistance.
                    if edges & 1 != 0 {
                        carried -= 0.5 * (v[c].max(0.0) + v[c - sa].max(0.0)) * here;
                        with_low = with_low.min(0.0);
                    }
                    if edges & 2 != 0 {
                        carried += 0.5 * (v[c + s].min(0.0) + v[c + s - sa].min(0.0)) * here;
                        with_high = with_high.max(0.0);
                    }
                }
            }
            if with_low == 0.0 && with_high == 0.0 {
                continue;
            }
            let middle = limited(low, here, high);
            if with_high != 0.0 {
                let share = 0.5 * (1.0 - with_high.abs() * scale);
                let value = if with_high > 0.0 {
                    here + share * middle
                } else {
                    let beyond = if sees_high
                        && grid.sight[axis][c + s] >> (2 * e) & 2 == 2
                        && known[c + 2 * s] >= mark::PRESSED
                    {
                        u[c + 2 * s]
                    } else {
                        high
                    };
                    high - share * limited(here, high, beyond)
                };
                carried -= with_high * (value - here);
            }
            if with_low != 0.0 {
                let share = 0.5 * (1.0 - with_low.abs() * scale);
                let value = if with_low > 0.0 {
                    let beyond = if sees_low
                        && grid.sight[axis][c - s] >> (2 * e) & 1 == 1
                        && known[c - 2 * s] >= mark::PRESSED
                    {
                        u[c - 2 * s]
                    } else {
                        low
                    };
                    low + share * limited(beyond, low, here)
                } else {
                    here - share * middle
                };
                carried += with_low * (value - here);
            }
        }
        (carried * scale, spread)
    }
}

/// Monotonised central slope.
#[inline(always)]
fn limited(low: f64, here: f64, high: f64) -> f64 {
    let (a, b) = (here - low, high - here);
    let centre = 0.5 * (a + b);
    let most = 2.0 * a.abs().min(b.abs());
    let slope = centre.abs().min(most).copysign(centre);
    if a * b > 0.0 { slope } else { 0.0 }
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
    /// Share of the neighbour differences that viscosity spreads in the step, `ν dt / h²`.
    spread: f64,
    /// Wall rate of slow oil times h [m/s].
    slow: f64,
    /// Half the skin friction coefficient.
    skin: f64,
    settling: f64,
    h: f64,
}

impl Rubbing {
    /// `swing` is the angular frequency of the oil's first mode [rad/s]: the boundary layer of the swing is
    /// thinner than a cell in thin oil, and its stress is `ρ u sqrt(ν ω/2)` (Stokes' second problem).
    pub fn new(settings: &Settings, viscosity: f64, h: f64, dt: f64, swing: f64) -> Rubbing {
        let slow = if settings.wall_friction {
            (2.0 * viscosity / h).max((0.5 * viscosity * swing).sqrt())
        } else {
            0.0
        };
        let skin = if settings.wall_friction {
            0.5 * settings.skin_friction
        } else {
            0.0
        };
        // Explicit spreading is stable to 1/6; oil too thick for the step and the cell is taken as the
        // thickest that is stable. Wall friction, which is implicit, carries the full viscosity.
        let spread = (viscosity * dt / (h * h)).min(0.12);
        Rubbing {
            spread,
            slow,
            skin,
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
