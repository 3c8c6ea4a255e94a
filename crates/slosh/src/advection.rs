//! What oil carries with it: advection of face velocities, and their spreading by viscosity.
//!
//! Advective form, unsplit: `u −= dt/h Σ_e [U⁺(u⁺ − u) − U⁻(u⁻ − u)]` with upwind face values and a
//! MC-limited slope (first order alone damps the first mode by 4e-4). Each direction has a kernel without
//! branches for runs of faces where nothing is in the way, and a careful one for the rest.

use crate::grid::{EDGE, Grid, WALL_ABOVE, WALL_BELOW};
use crate::momentum::mark;

/// One step's advection: reads the old velocities, adds to gains.
pub(crate) struct Advection<'a> {
    pub grid: &'a Grid,
    /// Velocities at the start of the step [m/s].
    pub old: &'a [Vec<f64>; 3],
    /// Marks of the old velocities.
    pub known: &'a [Vec<u8>; 3],
    /// `dt / h`.
    pub scale: f64,
    /// `ν dt / h²`: share of a neighbour's difference that viscosity takes over.
    pub share: f64,
}

impl Advection<'_> {
    /// Adds to `gain` what the faces of `axis` from `lo` on gain in the step [m/s]; faces without oil on
    /// either side (`f`) may be left out.
    pub fn row(&self, axis: usize, lo: usize, f: &[f64], gain: &mut [f64]) {
        let (s, hi) = (self.grid.stride[axis], lo + gain.len());
        let (plain, known, area) = (&self.grid.plain[axis], &self.known[axis], &self.grid.area[axis]);
        for e in 0..3 {
            // Two layers beyond a pressed face are known, so a plain one needs no look about.
            let free = |c: usize| plain[c] >> e & 1 == 1 && known[c] == mark::PRESSED;
            let mut c = lo;
            while c < hi {
                let start = c;
                while c < hi && free(c) {
                    c += 1;
                }
                if c > start {
                    self.run(axis, e, start, &mut gain[start - lo..c - lo]);
                } else {
                    if area[c] > 0.0 && (f[c] > 0.0 || f[c - s] > 0.0) {
                        gain[c - lo] += self.face(axis, e, c);
                    }
                    c += 1;
                }
            }
        }
    }

    /// Direction `e` for a run of faces whose neighbours two faces about along `e` are open and known.
    fn run(&self, axis: usize, e: usize, start: usize, gain: &mut [f64]) {
        let n = gain.len();
        let u = &self.old[axis];
        let (s, sa) = (self.grid.stride[e], self.grid.stride[axis]);
        let of = |from: usize| &u[from..from + n];
        let here = of(start);
        let (low, high) = (of(start - s), of(start + s));
        let (lower, higher) = (of(start - 2 * s), of(start + 2 * s));
        // Transport through the momentum cell's two faces: the mean of two velocities each.
        let v = &self.old[e];
        let other = |from: usize| &v[from..from + n];
        let (from, to) = if e == axis {
            ((low, here), (here, high))
        } else {
            (
                (other(start), other(start - sa)),
                (other(start + s), other(start + s - sa)),
            )
        };
        let (scale, share) = (self.scale, self.share);
        for i in 0..n {
            let with_low = 0.5 * (from.0[i] + from.1[i]);
            let with_high = 0.5 * (to.0[i] + to.1[i]);
            let (below, above) = (here[i] - low[i], high[i] - here[i]);
            let middle = limited(below, above);
            let upper = limited(above, higher[i] - high[i]);
            let under = limited(low[i] - lower[i], below);
            let high_share = 0.5 * (1.0 - with_high.abs() * scale);
            let low_share = 0.5 * (1.0 - with_low.abs() * scale);
            let out = with_high.max(0.0) * (high_share * middle)
                + with_high.min(0.0) * (above - high_share * upper);
            let into =
                with_low.max(0.0) * (low_share * under - below) - with_low.min(0.0) * (low_share * middle);
            gain[i] += scale * (into - out) + share * (above - below);
        }
    }

    /// Direction `e` for one face, with walls, plates and the unknown beyond the surface minded.
    fn face(&self, axis: usize, e: usize, c: usize) -> f64 {
        let (grid, scale) = (self.grid, self.scale);
        let (u, known, sights) = (&self.old[axis], &self.known[axis], &grid.sight[axis]);
        let (s, sa) = (grid.stride[e], grid.stride[axis]);
        let sight = sights[c];
        let here = u[c];
        let sees_low = sight >> (2 * e) & 1 == 1 && known[c - s] >= mark::PRESSED;
        let sees_high = sight >> (2 * e) & 2 == 2 && known[c + s] >= mark::PRESSED;
        // What cannot be seen is taken as moving along, except a flat wall across the flow, which stands.
        let toward = |seen: bool, at: usize, wall: u16| {
            if seen {
                u[at]
            } else if e == axis && sight & wall != 0 {
                0.0
            } else {
                here
            }
        };
        let low = toward(sees_low, c - s, WALL_BELOW);
        let high = toward(sees_high, c + s, WALL_ABOVE);
        let (below, above) = (here - low, high - here);
        let (mut with_low, mut with_high) = (0.5 * (low + here), 0.5 * (here + high));
        let mut carried = 0.0;
        if e != axis {
            let v = &self.old[e];
            with_low = 0.5 * (v[c] + v[c - sa]);
            with_high = 0.5 * (v[c + s] + v[c + s - sa]);
            // Oil that slides along a plate toward its edge arrives with no speed across the plate. Leaving
            // this out loses a fifth of a gap's resistance.
            let edges = sight >> (2 * e + EDGE) & 3;
            if edges & 1 != 0 {
                carried -= 0.5 * (v[c].max(0.0) + v[c - sa].max(0.0)) * here;
                with_low = with_low.min(0.0);
            }
            if edges & 2 != 0 {
                carried += 0.5 * (v[c + s].min(0.0) + v[c + s - sa].min(0.0)) * here;
                with_high = with_high.max(0.0);
            }
        }
        let middle = limited(below, above);
        if with_high > 0.0 {
            carried -= with_high * 0.5 * (1.0 - with_high * scale) * middle;
        } else if with_high < 0.0 {
            let far = sees_high && sights[c + s] >> (2 * e) & 2 == 2 && known[c + 2 * s] >= mark::PRESSED;
            let beyond = if far { u[c + 2 * s] - high } else { 0.0 };
            carried -= with_high * (above - 0.5 * (1.0 + with_high * scale) * limited(above, beyond));
        }
        if with_low < 0.0 {
            carried -= with_low * 0.5 * (1.0 + with_low * scale) * middle;
        } else if with_low > 0.0 {
            let far = sees_low && sights[c - s] >> (2 * e) & 1 == 1 && known[c - 2 * s] >= mark::PRESSED;
            let beyond = if far { low - u[c - 2 * s] } else { 0.0 };
            carried += with_low * (0.5 * (1.0 - with_low * scale) * limited(beyond, below) - below);
        }
        carried * scale + self.share * (above - below)
    }
}

/// Monotonised central slope from the differences on both sides.
#[inline(always)]
fn limited(below: f64, above: f64) -> f64 {
    let centre = 0.5 * (below + above);
    let most = 2.0 * below.abs().min(above.abs());
    let slope = centre.abs().min(most).copysign(centre);
    if below * above > 0.0 { slope } else { 0.0 }
}
