//! Velocities beyond the pressure faces, so that the surface has something to move with: two layers carried
//! on from the pressed faces, free flight for oil further out, and two more layers from that.
//!
//! A layer is worked out from the marks as the layer before left them, patch by patch wherever there is something to
//! carry on, and written when all patches are done.

use crate::grid::{Grid, LANES};
use crate::momentum::{Flow, mark};
use crate::region::{Region, Row};
use crate::surface::Surface;
use crate::team::{BLOCK, Share, Team, cut};

/// Layers carried on from known faces.
const LAYERS: u8 = 2;
/// Faces in a patch.
const PATCH: usize = LANES;
/// Patches that are looked at together for something to carry on.
const TOGETHER: usize = 4;

/// Scratch: what a layer found, by share and axis.
#[derive(Default)]
pub(crate) struct Extrapolator {
    found: Vec<[Vec<Patch>; 3]>,
}

/// Velocities found for a few faces in a row, and whether each was.
struct Patch {
    start: u32,
    u: [f32; PATCH],
    /// All ones where it was found.
    known: [u32; PATCH],
}

/// The parts of a solver that an extension reads.
#[derive(Clone, Copy)]
pub(crate) struct Reach<'a> {
    pub grid: &'a Grid,
    pub region: &'a Region,
    pub surface: &'a Surface,
    pub team: &'a Team,
}

/// The velocities and marks of the faces along all axes that one thread may write.
struct Mine<'a> {
    u: Vec<Share<'a, f32>>,
    marks: Vec<Share<'a, u8>>,
    rows: &'a [Row],
    found: &'a [Vec<Patch>; 3],
}

impl Extrapolator {
    /// Marks pressed faces, carries their velocities on, keeps flying oil flying, zeroes the rest.
    ///
    /// `slow` is a speed below which the direction of a face says nothing [m/s].
    pub fn extend(&mut self, of: Reach, flow: &mut Flow, slow: f32) {
        self.found.resize_with(of.team.parts(), Default::default);
        self.write(
            of,
            flow,
            #[inline(always)]
            |mine| press(of, mine),
        );
        for from in [mark::PRESSED, mark::FLYING] {
            for layer in 0..LAYERS {
                let last = layer + 1 == LAYERS;
                self.look(of, flow, from + layer);
                self.write(
                    of,
                    flow,
                    #[inline(always)]
                    |mut mine| {
                        take(&mut mine, from + layer + 1);
                        if last && from == mark::PRESSED {
                            fly(of, &mut mine, slow);
                        } else if last {
                            still(&mut mine);
                        }
                    },
                );
            }
        }
    }

    /// Finds what unknown faces beside faces marked `from` are to have: the average of what they see.
    fn look(&mut self, of: Reach, flow: &Flow, from: u8) {
        let shares = self.found.iter_mut().zip(of.region.share_rows(&of.region.rows));
        of.team.each(
            shares.collect(),
            #[inline(always)]
            |(found, rows): (&mut [Vec<Patch>; 3], &[Row])| {
                for (axis, found) in found.iter_mut().enumerate() {
                    found.clear();
                    let (u, marks) = (&flow.u[axis], &flow.mark[axis]);
                    for &(lo, hi) in rows {
                        for start in (lo as usize..hi as usize).step_by(TOGETHER * PATCH) {
                            let n = (TOGETHER * PATCH).min(hi as usize - start);
                            let asked = asks(of.grid, marks, start, n, from);
                            for (patch, asked) in asked.into_iter().enumerate() {
                                if asked != 0 {
                                    let start = start + patch * PATCH;
                                    found.push(average(of.grid, axis, u, marks, start, from));
                                }
                            }
                        }
                    }
                }
            },
        );
    }

    /// Lets each thread write its faces by `work`.
    #[inline(always)]
    fn write(&self, of: Reach, flow: &mut Flow, work: impl Fn(Mine) + Sync) {
        let mut mine: Vec<Mine> = of
            .region
            .share_rows(&of.region.rows)
            .zip(&self.found)
            .map(|(rows, found)| Mine {
                u: Vec::with_capacity(3),
                marks: Vec::with_capacity(3),
                rows,
                found,
            })
            .collect();
        for (u, marks) in flow.u.iter_mut().zip(&mut flow.mark) {
            let shares = of
                .region
                .cuts
                .split(u, BLOCK)
                .into_iter()
                .zip(of.region.cuts.split(marks, BLOCK));
            for (mine, (u, marks)) in mine.iter_mut().zip(shares) {
                mine.u.push(u);
                mine.marks.push(marks);
            }
        }
        of.team.each(mine, work);
    }
}

/// Marks the faces that pressure moves; all others that are open are unknown.
#[inline(always)]
fn press(of: Reach, mut mine: Mine) {
    for axis in 0..3 {
        let s = of.grid.stride[axis];
        let (area, liquid) = (&of.grid.area[axis], &of.surface.liquid);
        for &(lo, hi) in mine.rows {
            let (lo, hi) = (lo as usize, hi as usize);
            let (low, high, area) = (&liquid[lo - s..hi - s], &liquid[lo..hi], &area[lo..hi]);
            let marks = mine.marks[axis].run(lo, hi);
            let n = marks.len();
            cut!(n; low, high, area);
            for i in 0..n {
                let open = if low[i] | high[i] == 1 {
                    mark::PRESSED
                } else {
                    mark::UNKNOWN
                };
                marks[i] = if area[i] > 0.0 { open } else { mark::OUTSIDE };
            }
        }
    }
}

/// For each patch of `n` faces, whether any of them is unknown and beside one marked `from`.
#[inline(always)]
fn asks(grid: &Grid, marks: &[u8], start: usize, n: usize, from: u8) -> [u8; TOGETHER] {
    let [_, sy, sz] = grid.stride;
    let at = |lo: usize| &marks[lo..lo + n];
    let (here, w, e) = (at(start), at(start - 1), at(start + 1));
    let (s, n_) = (at(start - sy), at(start + sy));
    let (d, u) = (at(start - sz), at(start + sz));
    let n = n.min(TOGETHER * PATCH);
    cut!(n; here, w, e, s, n_, d, u);
    let mut hits = [0u8; TOGETHER * PATCH];
    for i in 0..n {
        let is = |m: u8| u8::from(m == from);
        let beside = is(w[i]) | is(e[i]) | is(s[i]) | is(n_[i]) | is(d[i]) | is(u[i]);
        hits[i] = u8::from(here[i] == mark::UNKNOWN) & beside;
    }
    let mut any = [0u8; TOGETHER];
    for (any, hits) in any.iter_mut().zip(hits.chunks_exact(PATCH)) {
        *any = hits.iter().fold(0, |any, hit| any | hit);
    }
    any
}

/// Averages of the known like faces that each unknown face can see, where one of them is marked `from`.
#[inline(always)]
fn average(grid: &Grid, axis: usize, u: &[f32], marks: &[u8], start: usize, from: u8) -> Patch {
    let [sx, sy, sz] = grid.stride;
    let speeds = |at: usize| patch(u, at);
    let known_as = |at: usize| patch(marks, at);
    let (sight, here) = (patch(&grid.sight[axis], start), known_as(start));
    let (uw, ue) = (speeds(start - sx), speeds(start + sx));
    let (us, un) = (speeds(start - sy), speeds(start + sy));
    let (ud, uu) = (speeds(start - sz), speeds(start + sz));
    let (mw, me) = (known_as(start - sx), known_as(start + sx));
    let (ms, mn) = (known_as(start - sy), known_as(start + sy));
    let (md, mu) = (known_as(start - sz), known_as(start + sz));
    let (mut new, mut known) = ([0f32; PATCH], [0u32; PATCH]);
    for i in 0..PATCH {
        let sees = if here[i] == mark::UNKNOWN { sight[i] } else { 0 };
        // All ones where the neighbour is seen: what is not seen adds nothing.
        let seen = |bit: u32, m: u8| 0u32.wrapping_sub(u32::from((sees & bit != 0) & (m >= mark::PRESSED)));
        let (w, e) = (seen(1, mw[i]), seen(2, me[i]));
        let (s, n) = (seen(4, ms[i]), seen(8, mn[i]));
        let (d, u) = (seen(16, md[i]), seen(32, mu[i]));
        let part = |seen: u32, u: f32| f32::from_bits(u.to_bits() & seen);
        let sum = ((((part(w, uw[i]) + part(e, ue[i])) + part(s, us[i])) + part(n, un[i])) + part(d, ud[i]))
            + part(u, uu[i]);
        let count = 0u32
            .wrapping_sub(w)
            .wrapping_sub(e)
            .wrapping_sub(s)
            .wrapping_sub(n)
            .wrapping_sub(d)
            .wrapping_sub(u);
        new[i] = sum / (count.max(1) as i32 as f32);
        let is = |seen: u32, m: u8| seen & u32::from(m == from);
        let any = is(w, mw[i]) | is(e, me[i]) | is(s, ms[i]) | is(n, mn[i]) | is(d, md[i]) | is(u, mu[i]);
        known[i] = 0u32.wrapping_sub(any);
    }
    Patch {
        start: start as u32,
        u: new,
        known,
    }
}

/// The patch of a field that begins at `start`.
#[inline(always)]
fn patch<T: Copy>(field: &[T], start: usize) -> &[T; PATCH] {
    let (patch, _) = field[start..].as_chunks();
    &patch[0]
}

/// Writes what a layer found and marks it with `stamp`.
#[inline(always)]
fn take(mine: &mut Mine, stamp: u8) {
    for axis in 0..3 {
        for found in &mine.found[axis] {
            let lo = found.start as usize;
            let (u, marks) = (
                mine.u[axis].run(lo, lo + PATCH),
                mine.marks[axis].run(lo, lo + PATCH),
            );
            let (old, marked) = (*patch(u, 0), *patch(marks, 0));
            let (mut new, mut stamped) = ([0f32; PATCH], [0u8; PATCH]);
            for i in 0..PATCH {
                let known = found.known[i];
                new[i] = f32::from_bits((found.u[i].to_bits() & known) | (old[i].to_bits() & !known));
                stamped[i] = (stamp & known as u8) | (marked[i] & !known as u8);
            }
            u.copy_from_slice(&new);
            marks.copy_from_slice(&stamped);
        }
    }
}

/// Keeps oil flying that no pressure moves. Only oil that moves along flies: the face over a film at rest, with air
/// on its upstream side, would fall for ever and take the time step with it.
#[inline(always)]
fn fly(of: Reach, mine: &mut Mine, slow: f32) {
    let wet = &of.surface.kind;
    for axis in 0..3 {
        let s = of.grid.stride[axis];
        for &(lo, hi) in mine.rows {
            let (lo, hi) = (lo as usize, hi as usize);
            let (low, high) = (&wet[lo - s..hi - s], &wet[lo..hi]);
            let u = &*mine.u[axis].run(lo, hi);
            let marks = mine.marks[axis].run(lo, hi);
            let n = marks.len();
            cut!(n; low, high, u);
            for i in 0..n {
                let upstream = if u[i] > 0.0 { low[i] } else { high[i] };
                let carries = ((u[i].abs() < slow) & (low[i] | high[i] != 0)) | (upstream != 0);
                let flies = (marks[i] == mark::UNKNOWN) & carries;
                marks[i] = if flies { mark::FLYING } else { marks[i] };
            }
        }
    }
}

/// Stills every face that nobody knows.
#[inline(always)]
fn still(mine: &mut Mine) {
    for axis in 0..3 {
        for &(lo, hi) in mine.rows {
            let (lo, hi) = (lo as usize, hi as usize);
            let marks = &*mine.marks[axis].run(lo, hi);
            let u = mine.u[axis].run(lo, hi);
            let n = u.len();
            cut!(n; marks);
            for i in 0..n {
                u[i] = if marks[i] <= mark::UNKNOWN { 0.0 } else { u[i] };
            }
        }
    }
}
