//! Carrying the oil: three one-dimensional sweeps a step, each with new planes (Weymouth–Yue).
//!
//! What one cell loses its neighbour gains. The dilatation that each sweep lends a pressure cell is
//! subtracted again at the end, so the volume is exact whatever the pressure solve left over.
//! Source: G. D. Weymouth, D. K.-P. Yue, J. Comput. Phys. 229 (2010) 2853-2865.

use crate::grid::Grid;
use crate::plane::{self, Lie};
use crate::region::Row;
use crate::surface::{FULL, Surface, reconstruct};

/// All six orders of the axes; using only three of them overfilled cells by 0.17 instead of 0.002.
const ORDERS: [[usize; 3]; 6] = [[0, 1, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0], [0, 2, 1], [1, 0, 2]];

/// A cell in the air that holds less oil than this, with no liquid beside it, is taken as evenly filled: spray has
/// no surface to find. As a plane, a fleck could lie in the far end of its cell, out of reach of every step, and
/// hang there for ever while its speed grows.
const MIST: f64 = 0.5;

/// A cell in the air with less than this is evenly filled whatever lies beside it.
const FLECK: f64 = 1e-2;

/// Scratch of the sweeps.
pub(crate) struct Carrier {
    flux: Vec<f64>,
    lent: Vec<f64>,
}

impl Carrier {
    pub fn new(size: usize) -> Carrier {
        Carrier {
            flux: vec![0.0; size],
            lent: vec![0.0; size],
        }
    }

    /// Moves `f` for `dt` with face velocities `u`. `turn` picks the order of the axes. `surface` holds the
    /// planes of `f` as it comes in when `fresh`. `spans` must reach one cell beyond the oil.
    pub fn carry(
        &mut self,
        grid: &Grid,
        spans: &[Row],
        surface: &Surface,
        u: &[Vec<f64>; 3],
        f: &mut [f64],
        dt: f64,
        turn: u64,
        fresh: bool,
    ) {
        let scale = dt / grid.h;
        let order = ORDERS[(turn % 6) as usize];
        for &(lo, hi) in spans {
            self.lent[lo as usize..hi as usize].fill(0.0);
        }
        for (pass, &axis) in order.iter().enumerate() {
            let stored = if fresh && pass == 0 { Some(surface) } else { None };
            self.fluxes(grid, spans, stored, &surface.liquid, &u[axis], f, scale, axis);
            self.sweep(grid, spans, surface, &u[axis], f, scale, axis);
        }
        for &(lo, hi) in spans {
            for c in lo as usize..hi as usize {
                if self.lent[c] != 0.0 {
                    f[c] -= self.lent[c] / grid.volume[c];
                }
            }
        }
    }

    /// Oil through the low faces of `axis`, in cells, positive along the axis.
    fn fluxes(
        &mut self,
        grid: &Grid,
        spans: &[Row],
        stored: Option<&Surface>,
        liquid: &[u8],
        u: &[f64],
        f: &[f64],
        scale: f64,
        axis: usize,
    ) {
        let s = grid.stride[axis];
        let area = &grid.area[axis];
        for &(lo, hi) in spans {
            for c in lo as usize..hi as usize {
                let courant = u[c] * scale;
                let swept = area[c] * courant;
                if swept == 0.0 {
                    self.flux[c] = 0.0;
                    continue;
                }
                let donor = if courant > 0.0 { c - s } else { c };
                let fill = f[donor];
                self.flux[c] = if fill >= FULL {
                    swept
                } else if fill <= 0.0 {
                    0.0
                } else if misty(grid, liquid, donor, fill) {
                    let (asked, there) = (swept.abs() * fill, fill * grid.volume[donor]);
                    (if asked > there { there } else { asked }).copysign(swept)
                } else {
                    let surface = match stored {
                        Some(known) => known.plane[donor],
                        None => reconstruct(grid, f, donor),
                    };
                    let held = grid.volume[donor];
                    // In a cut cell the same volume is a thicker slice.
                    let width = (swept.abs() / held).clamp(1e-12, 1.0);
                    let (from, to) = if courant > 0.0 {
                        (1.0 - width, 1.0)
                    } else {
                        (0.0, width)
                    };
                    let share = match grid.wall(donor) {
                        Some(wall)
                            if plane::lie(wall, [surface[0], surface[1], surface[2]]) == Lie::Oblique =>
                        {
                            plane::share_of_slab(wall, surface, axis, from, to)
                        }
                        _ => plane::slab(surface, axis, from, to) / width,
                    };
                    // No `min`: it would turn a NaN into an answer.
                    let (asked, there) = (swept.abs() * share, fill * held);
                    (if asked > there { there } else { asked }).copysign(swept)
                };
            }
        }
    }

    fn sweep(
        &mut self,
        grid: &Grid,
        spans: &[Row],
        surface: &Surface,
        u: &[f64],
        f: &mut [f64],
        scale: f64,
        axis: usize,
    ) {
        let s = grid.stride[axis];
        let area = &grid.area[axis];
        for &(lo, hi) in spans {
            for c in lo as usize..hi as usize {
                let held = grid.volume[c];
                if held == 0.0 {
                    continue;
                }
                let mut gain = self.flux[c] - self.flux[c + s];
                if surface.liquid[c] == 1 {
                    let lent = (area[c + s] * u[c + s] - area[c] * u[c]) * scale;
                    self.lent[c] += lent;
                    gain += lent;
                }
                if gain != 0.0 {
                    f[c] += gain / held;
                }
            }
        }
        // Faces outside the spans must read zero at the next sweep, wherever the spans then are.
        for &(lo, hi) in spans {
            self.flux[lo as usize..hi as usize].fill(0.0);
        }
    }
}

/// True for a cell in the air with oil that is taken as evenly filled.
#[inline]
fn misty(grid: &Grid, liquid: &[u8], c: usize, fill: f64) -> bool {
    let dry = |face: usize, a: usize, other: usize| grid.area[a][face] == 0.0 || liquid[other] == 0;
    liquid[c] == 0
        && (fill < FLECK
            || (fill < MIST
                && (0..3).all(|a| {
                    let s = grid.stride[a];
                    dry(c, a, c - s) && dry(c + s, a, c + s)
                })))
}
