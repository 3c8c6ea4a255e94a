//! Velocities beyond the pressure faces, so that the surface has something to move with: two layers carried
//! on from the pressed faces, free flight for oil further out, and two more layers from that.

use crate::grid::Grid;
use crate::momentum::{Flow, mark};
use crate::region::Region;

/// Layers carried on from known faces.
const LAYERS: u8 = 2;

/// Scratch lists.
#[derive(Default)]
pub(crate) struct Extrapolator {
    known: [Vec<u32>; 3],
    next: [Vec<u32>; 3],
}

impl Extrapolator {
    /// Marks pressed faces, carries their velocities on, keeps flying oil flying, zeroes the rest.
    ///
    /// `slow` is a speed below which the direction of a face says nothing [m/s].
    pub fn extend(
        &mut self,
        grid: &Grid,
        region: &Region,
        liquid: &[u8],
        f: &[f64],
        flow: &mut Flow,
        slow: f64,
    ) {
        for axis in 0..3 {
            let s = grid.stride[axis];
            self.known[axis].clear();
            for &(lo, hi) in &region.rows {
                for c in lo as usize..hi as usize {
                    let pressed = grid.area[axis][c] > 0.0 && (liquid[c] | liquid[c - s]) == 1;
                    // The old mark of a flying face is still needed below: oil that was never given a
                    // velocity has none to keep.
                    flow.mark[axis][c] = if pressed {
                        self.known[axis].push(c as u32);
                        mark::PRESSED
                    } else {
                        mark::UNKNOWN
                    };
                }
            }
        }
        for layer in 1..=LAYERS {
            self.layer(grid, flow, mark::PRESSED + layer);
        }
        for axis in 0..3 {
            let s = grid.stride[axis];
            self.known[axis].clear();
            for &(lo, hi) in &region.rows {
                for c in lo as usize..hi as usize {
                    if flow.mark[axis][c] != mark::UNKNOWN {
                        continue;
                    }
                    // Only oil that moves along flies. The face over a film at rest, with air on its upstream
                    // side, would fall for ever and take the time step with it.
                    let u = flow.u[axis][c];
                    let carries = if u.abs() < slow {
                        f[c] > 0.0 || f[c - s] > 0.0
                    } else {
                        f[if u > 0.0 { c - s } else { c }] > 0.0
                    };
                    if grid.area[axis][c] > 0.0 && carries {
                        flow.mark[axis][c] = mark::FLYING;
                        self.known[axis].push(c as u32);
                    } else {
                        flow.u[axis][c] = 0.0;
                    }
                }
            }
        }
        for layer in 1..=LAYERS {
            self.layer(grid, flow, mark::FLYING + layer);
        }
    }

    /// One layer: the unknown neighbours of `known`, each the average of its neighbours known before.
    fn layer(&mut self, grid: &Grid, flow: &mut Flow, stamp: u8) {
        for axis in 0..3 {
            let (u, marks) = (&mut flow.u[axis], &mut flow.mark[axis]);
            let next = &mut self.next[axis];
            next.clear();
            for &c in &self.known[axis] {
                let c = c as usize;
                for_neighbours(grid, axis, c, |d| {
                    if marks[d] == mark::UNKNOWN {
                        marks[d] = stamp;
                        next.push(d as u32);
                    }
                });
            }
            for &c in next.iter() {
                let c = c as usize;
                let (mut sum, mut count) = (0.0, 0);
                for_neighbours(grid, axis, c, |d| {
                    if marks[d] >= mark::PRESSED && marks[d] != stamp {
                        sum += u[d];
                        count += 1;
                    }
                });
                u[c] = sum / f64::from(count.max(1));
            }
            std::mem::swap(&mut self.known[axis], next);
        }
    }
}

/// Like faces that face `c` can see and that oil can pass.
#[inline]
fn for_neighbours(grid: &Grid, axis: usize, c: usize, mut visit: impl FnMut(usize)) {
    let sight = grid.sight[axis][c];
    for e in 0..3 {
        let s = grid.stride[e];
        if sight >> (2 * e) & 1 == 1 && grid.area[axis][c - s] > 0.0 {
            visit(c - s);
        }
        if sight >> (2 * e) & 2 == 2 && grid.area[axis][c + s] > 0.0 {
            visit(c + s);
        }
    }
}
