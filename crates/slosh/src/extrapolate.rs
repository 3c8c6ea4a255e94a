//! Velocities beyond the pressure faces, so that the surface has something to move with: two layers carried
//! on from the pressed faces, free flight for oil further out, and two more layers from that.

use crate::grid::Grid;
use crate::momentum::{Flow, mark};
use crate::region::{Region, Row};
use crate::surface::Surface;
use crate::team::{BLOCK, Share, Team, cut};

/// Layers carried on from known faces.
const LAYERS: u8 = 2;

/// Scratch: the faces that a layer looks at, and what it found.
#[derive(Default)]
pub(crate) struct Extrapolator {
    asked: Vec<u32>,
    found: Vec<Found>,
}

/// What a layer says of a face: its velocity, or nothing yet.
#[derive(Clone, Copy, Default)]
struct Found {
    u: f32,
    known: bool,
}

/// The parts of a solver that an extension reads.
#[derive(Clone, Copy)]
pub(crate) struct Reach<'a> {
    pub grid: &'a Grid,
    pub region: &'a Region,
    pub surface: &'a Surface,
    pub team: &'a Team,
}

impl Extrapolator {
    /// Marks pressed faces, carries their velocities on, keeps flying oil flying, zeroes the rest.
    ///
    /// `slow` is a speed below which the direction of a face says nothing [m/s].
    pub fn extend(&mut self, of: Reach, flow: &mut Flow, slow: f32) {
        for axis in 0..3 {
            press(of, &mut flow.mark[axis], axis);
            let (u, marks) = (&mut flow.u[axis], &mut flow.mark[axis]);
            for layer in 1..=LAYERS {
                self.layer(of, u, marks, axis, mark::PRESSED + layer);
            }
            self.fly(of, u, marks, axis, slow);
            for layer in 1..=LAYERS {
                self.layer(of, u, marks, axis, mark::FLYING + layer);
            }
            still(of, u, marks);
        }
    }

    /// Keeps oil flying that no pressure moves.
    fn fly(&mut self, of: Reach, u: &[f32], marks: &mut [u8], axis: usize, slow: f32) {
        let s = of.grid.stride[axis];
        let wet = &of.surface.kind;
        self.list(
            of,
            marks,
            #[inline(always)]
            |hits, marks, lo, hi| {
                let (low, high) = (&wet[lo - s..hi - s], &wet[lo..hi]);
                let n = marks.len().min(BLOCK);
                cut!(n; low, high, marks);
                for i in 0..n {
                    hits[i] = u8::from(marks[i] == mark::UNKNOWN) & u8::from(low[i] | high[i] != 0);
                }
            },
        );
        for &c in &self.asked {
            let c = c as usize;
            // Only oil that moves along flies. The face over a film at rest, with air on its upstream side, would
            // fall for ever and take the time step with it.
            let carries = u[c].abs() < slow || wet[if u[c] > 0.0 { c - s } else { c }] != 0;
            if carries && of.grid.area[axis][c] > 0.0 {
                marks[c] = mark::FLYING;
            }
        }
    }

    /// One layer: unknown faces beside one of the layer before, each the average of its neighbours known before.
    fn layer(&mut self, of: Reach, u: &mut [f32], marks: &mut [u8], axis: usize, stamp: u8) {
        let from = stamp - 1;
        let [_, sy, sz] = of.grid.stride;
        let whole = &*marks;
        self.list(
            of,
            whole,
            #[inline(always)]
            |hits, marks, lo, hi| {
                let (w, e) = (&whole[lo - 1..hi - 1], &whole[lo + 1..hi + 1]);
                let (s, n) = (&whole[lo - sy..hi - sy], &whole[lo + sy..hi + sy]);
                let (d, u) = (&whole[lo - sz..hi - sz], &whole[lo + sz..hi + sz]);
                let count = marks.len().min(BLOCK);
                cut!(count; w, e, s, n, d, u, marks);
                for i in 0..count {
                    let is = |m: u8| u8::from(m == from);
                    let beside = is(w[i]) | is(e[i]) | is(s[i]) | is(n[i]) | is(d[i]) | is(u[i]);
                    hits[i] = u8::from(marks[i] == mark::UNKNOWN) & beside;
                }
            },
        );
        self.found.resize(self.asked.len(), Found::default());
        let length = self.asked.len().div_ceil(of.team.parts()).max(1);
        let shares = self.found.chunks_mut(length).zip(self.asked.chunks(length));
        let (sights, area, speeds) = (&of.grid.sight[axis], &of.grid.area[axis], &*u);
        of.team
            .each(shares.collect(), |(found, asked): (&mut [Found], &[u32])| {
                for (found, &c) in found.iter_mut().zip(asked) {
                    let c = c as usize;
                    let sight = if area[c] > 0.0 { sights[c] } else { 0 };
                    *found = average(of.grid, speeds, whole, sight, c, from);
                }
            });
        for (&c, found) in self.asked.iter().zip(&self.found) {
            if found.known {
                u[c as usize] = found.u;
                marks[c as usize] = stamp;
            }
        }
    }

    /// Lists the faces that `pick` picks: it is given where to put a 1 for each, the marks of a run, and its ends.
    #[inline(always)]
    fn list(&mut self, of: Reach, marks: &[u8], pick: impl Fn(&mut [u8; BLOCK], &[u8], usize, usize) + Sync) {
        let mut lists: Vec<Vec<u32>> = vec![Vec::new(); of.team.parts()];
        let rows = of.region.share_rows(&of.region.rows);
        of.team.each(
            lists.iter_mut().zip(rows).collect(),
            #[inline(always)]
            |(list, rows): (&mut Vec<u32>, &[Row])| {
                let mut hits = [0u8; BLOCK];
                for &(start, end) in rows {
                    for lo in (start as usize..end as usize).step_by(BLOCK) {
                        let hi = (lo + BLOCK).min(end as usize);
                        pick(&mut hits, &marks[lo..hi], lo, hi);
                        let hits = &hits[..hi - lo];
                        if hits.iter().fold(0, |any, hit| any | hit) != 0 {
                            list.extend(
                                (lo as u32..)
                                    .zip(hits)
                                    .filter(|(_, hit)| **hit != 0)
                                    .map(|(c, _)| c),
                            );
                        }
                    }
                }
            },
        );
        self.asked.clear();
        lists.iter().for_each(|list| self.asked.extend(list));
    }
}

/// Marks the faces of `axis` that pressure moves; all others are unknown.
fn press(of: Reach, marks: &mut [u8], axis: usize) {
    let s = of.grid.stride[axis];
    let (area, liquid) = (&of.grid.area[axis], &of.surface.liquid);
    of.team.each(
        of.region.shares(marks, &of.region.rows),
        #[inline(always)]
        |(mut marks, rows): (Share<u8>, &[Row])| {
            for &(lo, hi) in rows {
                let (lo, hi) = (lo as usize, hi as usize);
                let (low, high, area) = (&liquid[lo - s..hi - s], &liquid[lo..hi], &area[lo..hi]);
                let marks = marks.run(lo, hi);
                let n = marks.len();
                cut!(n; low, high, area);
                for i in 0..n {
                    let pressed = (area[i] > 0.0) & (low[i] | high[i] == 1);
                    marks[i] = if pressed { mark::PRESSED } else { mark::UNKNOWN };
                }
            }
        },
    );
}

/// Stills every face that is still unknown.
fn still(of: Reach, u: &mut [f32], marks: &[u8]) {
    of.team.each(
        of.region.shares(u, &of.region.rows),
        #[inline(always)]
        |(mut u, rows): (Share<f32>, &[Row])| {
            for &(lo, hi) in rows {
                let (lo, hi) = (lo as usize, hi as usize);
                let (u, marks) = (u.run(lo, hi), &marks[lo..hi]);
                let n = u.len();
                cut!(n; marks);
                for i in 0..n {
                    u[i] = if marks[i] == mark::UNKNOWN { 0.0 } else { u[i] };
                }
            }
        },
    );
}

/// Average of the known like faces that face `c` can see, if one of them is marked `from`. A face that oil
/// cannot pass is never known.
#[inline]
fn average(grid: &Grid, u: &[f32], marks: &[u8], sight: u32, c: usize, from: u8) -> Found {
    let (mut sum, mut count, mut known) = (0.0, 0u8, false);
    for e in 0..3 {
        let s = grid.stride[e];
        for (bit, d) in [(1u32 << (2 * e), c - s), (2 << (2 * e), c + s)] {
            if sight & bit != 0 && marks[d] >= mark::PRESSED {
                sum += u[d];
                count += 1;
                known |= marks[d] == from;
            }
        }
    }
    Found {
        u: sum / f32::from(count.max(1)),
        known,
    }
}
