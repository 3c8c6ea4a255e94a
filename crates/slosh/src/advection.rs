//! What oil carries with it: advection of face velocities, and their spreading by viscosity.
//!
//! Advective form, unsplit: `u −= dt/h Σ_e [U⁺(u⁺ − u) − U⁻(u⁻ − u)]` with upwind face values and a
//! MC-limited slope (first order alone damps the first mode by 4e-4). Walls, plates and the unknown beyond
//! the surface are chosen, not branched to, so a whole row goes through the lanes.

use crate::grid::{EDGE, FAR, Grid, WALL_ABOVE, WALL_BELOW};
use crate::momentum::mark;

/// One step's advection: reads the old velocities, adds to gains.
#[derive(Clone, Copy)]
pub(crate) struct Advection<'a> {
    pub grid: &'a Grid,
    /// Velocities at the start of the step [m/s].
    pub old: &'a [Vec<f32>; 3],
    /// Marks of the old velocities.
    pub known: &'a [Vec<u8>; 3],
    /// `dt / h`.
    pub scale: f32,
    /// `ν dt / h²`: share of a neighbour's difference that viscosity takes over.
    pub share: f32,
}

impl Advection<'_> {
    /// Adds to `gain` what the faces of `axis` from `start` on gain in the step [m/s].
    #[inline(always)]
    pub fn row(&self, axis: usize, start: usize, gain: &mut [f32]) {
        for e in 0..3 {
            if e == axis {
                self.along(axis, start, gain);
            } else {
                self.across(axis, e, start, gain);
            }
        }
    }

    /// Direction of the faces' own axis: transport and what is transported are the same velocity. A flat wall
    /// across the flow stands.
    #[inline(always)]
    fn along(&self, axis: usize, start: usize, gain: &mut [f32]) {
        let n = gain.len();
        let line = Line::new(self, axis, axis, start, n);
        for i in 0..n {
            let here = line.here[i];
            let sight = line.sight[i];
            let low_wall = if sight & WALL_BELOW != 0 { 0.0 } else { here };
            let high_wall = if sight & WALL_ABOVE != 0 { 0.0 } else { here };
            let near = line.near(i, low_wall, high_wall);
            let with_low = 0.5 * (near.low + here);
            let with_high = 0.5 * (here + near.high);
            gain[i] += near.gain(here, with_low, with_high, 0.0, self.scale, self.share);
        }
    }

    /// A direction across the faces' axis: transport is the mean of two velocities of the other axis.
    #[inline(always)]
    fn across(&self, axis: usize, e: usize, start: usize, gain: &mut [f32]) {
        let n = gain.len();
        let line = Line::new(self, axis, e, start, n);
        let (s, sa) = (self.grid.stride[e], self.grid.stride[axis]);
        let other = |from: usize| &self.old[e][from..from + n];
        let (la, lb) = (other(start), other(start - sa));
        let (ha, hb) = (other(start + s), other(start + s - sa));
        let (edge_low, edge_high) = (1u32 << (2 * e + EDGE), 2u32 << (2 * e + EDGE));
        for i in 0..n {
            let here = line.here[i];
            let sight = line.sight[i];
            let near = line.near(i, here, here);
            let (mut with_low, mut with_high) = (0.5 * (la[i] + lb[i]), 0.5 * (ha[i] + hb[i]));
            // Oil that slides along a plate toward its edge arrives with no speed across the plate. Leaving
            // this out loses a fifth of a gap's resistance.
            let from_low = 0.5 * (la[i].max(0.0) + lb[i].max(0.0)) * here;
            let from_high = 0.5 * (ha[i].min(0.0) + hb[i].min(0.0)) * here;
            let mut carried = 0.0;
            carried -= if sight & edge_low != 0 { from_low } else { 0.0 };
            carried += if sight & edge_high != 0 { from_high } else { 0.0 };
            with_low = if sight & edge_low != 0 {
                with_low.min(0.0)
            } else {
                with_low
            };
            with_high = if sight & edge_high != 0 {
                with_high.max(0.0)
            } else {
                with_high
            };
            gain[i] += near.gain(here, with_low, with_high, carried, self.scale, self.share);
        }
    }
}

/// A row of faces and its neighbours along one direction.
struct Line<'a> {
    here: &'a [f32],
    sight: &'a [u32],
    low: (&'a [f32], &'a [u8]),
    high: (&'a [f32], &'a [u8]),
    lower: (&'a [f32], &'a [u8]),
    higher: (&'a [f32], &'a [u8]),
    bits: [u32; 4],
}

/// The velocities round one face: what cannot be seen is taken as moving along.
struct Near {
    low: f32,
    high: f32,
    lower: f32,
    higher: f32,
}

impl<'a> Line<'a> {
    #[inline(always)]
    fn new(of: &Advection<'a>, axis: usize, e: usize, start: usize, n: usize) -> Line<'a> {
        let s = of.grid.stride[e];
        let (u, known) = (&of.old[axis], &of.known[axis]);
        let at = |from: usize| (&u[from..from + n], &known[from..from + n]);
        Line {
            here: &u[start..start + n],
            sight: &of.grid.sight[axis][start..start + n],
            low: at(start - s),
            high: at(start + s),
            lower: at(start - 2 * s),
            higher: at(start + 2 * s),
            bits: [1 << (2 * e), 2 << (2 * e), 1 << (2 * e + FAR), 2 << (2 * e + FAR)],
        }
    }

    #[inline(always)]
    fn near(&self, i: usize, low_wall: f32, high_wall: f32) -> Near {
        let sight = self.sight[i];
        let [low_bit, high_bit, lower_bit, higher_bit] = self.bits;
        let sees_low = (sight & low_bit != 0) & (self.low.1[i] >= mark::PRESSED);
        let sees_high = (sight & high_bit != 0) & (self.high.1[i] >= mark::PRESSED);
        let low = if sees_low { self.low.0[i] } else { low_wall };
        let high = if sees_high { self.high.0[i] } else { high_wall };
        let far_low = sees_low & (sight & lower_bit != 0) & (self.lower.1[i] >= mark::PRESSED);
        let far_high = sees_high & (sight & higher_bit != 0) & (self.higher.1[i] >= mark::PRESSED);
        Near {
            low,
            high,
            lower: if far_low { self.lower.0[i] } else { low },
            higher: if far_high { self.higher.0[i] } else { high },
        }
    }
}

impl Near {
    #[inline(always)]
    fn gain(&self, here: f32, with_low: f32, with_high: f32, carried: f32, scale: f32, share: f32) -> f32 {
        let (below, above) = (here - self.low, self.high - here);
        let middle = limited(below, above);
        let upper = limited(above, self.higher - self.high);
        let under = limited(self.low - self.lower, below);
        let high_share = 0.5 * (1.0 - with_high.abs() * scale);
        let low_share = 0.5 * (1.0 - with_low.abs() * scale);
        let out =
            with_high.max(0.0) * (high_share * middle) + with_high.min(0.0) * (above - high_share * upper);
        let into = with_low.max(0.0) * (low_share * under - below) - with_low.min(0.0) * (low_share * middle);
        scale * (into - out + carried) + share * (above - below)
    }
}

/// Monotonised central slope from the differences on both sides.
#[inline(always)]
fn limited(below: f32, above: f32) -> f32 {
    let centre = 0.5 * (below + above);
    let most = 2.0 * below.abs().min(above.abs());
    let slope = centre.abs().min(most).copysign(centre);
    if below * above > 0.0 { slope } else { 0.0 }
}
