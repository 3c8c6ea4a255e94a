//! Carrying the oil: three one-dimensional sweeps a step, each with new planes (Weymouth–Yue).
//!
//! What one cell loses its neighbour gains. The dilatation that each sweep lends a pressure cell is
//! subtracted again at the end, so the volume is exact whatever the pressure solve left over.
//! Source: G. D. Weymouth, D. K.-P. Yue, J. Comput. Phys. 229 (2010) 2853-2865.
//!
//! Cells whose oil is evenly spread (full, dry or mist) go through the lanes: what they give is their fill times what
//! the face sweeps. The few that the surface crosses are worked one by one. Their normals are those of the step's
//! start, where they had one: in a step the surface turns less than it moves.

use crate::cleanup::{SPILL, WISP};
use crate::grid::Grid;
use crate::plane;
use crate::region::{Region, Row};
use crate::slices::{Batch, no_more};
use crate::surface::{FULL, Surface, is_mist, kind, list_hits, reconstruct};
use crate::team::{BLOCK, Share, Team, cut};
use crate::walled::{self, Lie};

/// All six orders of the axes; using only three of them overfilled cells by 0.17 instead of 0.002.
const ORDERS: [[usize; 3]; 6] = [[0, 1, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0], [0, 2, 1], [1, 0, 2]];

/// Cells with less open volume are not worked in the lanes while they are in part filled: a sweep might ask for more
/// than they hold.
const ROOMY: f64 = 0.5;

/// Scratch of the sweeps.
pub(crate) struct Carrier {
    /// Share of a swept volume that a cell gives whose oil is evenly spread; 0 for those of `sharp`.
    even: Vec<f32>,
    /// The same as it will be after the sweep.
    even_after: Vec<f32>,
    /// Oil through the low faces of the cells of `sharp` and of those after them, in cells; 0 elsewhere.
    flux: Vec<f64>,
    lent: Vec<f64>,
    /// Cells whose oil is not evenly spread now, in order.
    pub sharp: Vec<u32>,
    /// Cells with hardly any oil, in order; after the last sweep only.
    pub wisps: Vec<u32>,
    /// Overfull cells that must spill; after the last sweep only.
    pub over: Vec<u32>,
    /// Oil out of each sharp cell through its low and high face.
    out: Vec<[f64; 2]>,
}

/// Bits of what a sweep notes of a cell.
mod note {
    pub const SHARP: u8 = 1;
    pub const WISP: u8 = 2;
    pub const OVER: u8 = 4;
}

/// What a transport needs to know.
#[derive(Clone, Copy)]
pub(crate) struct Carry<'a> {
    pub grid: &'a Grid,
    pub region: &'a Region,
    /// Rows to sweep; must reach one cell beyond the oil.
    pub spans: &'a [Row],
    /// Surface of the oil as it was when the step began.
    pub surface: &'a Surface,
    pub u: &'a [Vec<f32>; 3],
    /// Time to carry for [s].
    pub dt: f64,
    pub team: &'a Team,
}

impl Carrier {
    pub fn new(size: usize) -> Carrier {
        Carrier {
            even: vec![0.0; size],
            even_after: vec![0.0; size],
            flux: vec![0.0; size],
            lent: vec![0.0; size],
            sharp: Vec::new(),
            wisps: Vec::new(),
            over: Vec::new(),
            out: Vec::new(),
        }
    }

    /// Moves `f`. `turn` picks the order of the axes; `fresh` says that `f` is as `surface` saw it.
    pub fn carry(&mut self, of: Carry, f: &mut [f64], turn: u64, fresh: bool) {
        if fresh {
            self.begin(of, f);
        }
        let order = ORDERS[(turn % 6) as usize];
        for (pass, &axis) in order.iter().enumerate() {
            self.out_of_sharp(of, f, axis);
            let s = of.grid.stride[axis];
            self.pour(of, s, true);
            let poured = std::mem::take(&mut self.sharp);
            self.sweep(of, f, axis, pass);
            std::mem::swap(&mut self.even, &mut self.even_after);
            let sharp = std::mem::replace(&mut self.sharp, poured);
            self.pour(of, s, false);
            self.sharp = sharp;
        }
    }

    /// Writes the fluxes out of the sharp cells through their two faces along the axis of stride `s`, or takes them
    /// off again.
    fn pour(&mut self, of: Carry, s: usize, on: bool) {
        let (sharp, out) = (&self.sharp, &self.out);
        let shares = of.region.cuts.split(&mut self.flux, BLOCK);
        of.team.each(shares, |flux: Share<f64>| {
            // A cell's own face and that after it may belong to two threads.
            for (side, step) in [0, s].into_iter().enumerate() {
                let (first, end) = (flux.first, flux.first + flux.cells.len());
                let from = sharp.partition_point(|c| (*c as usize) + step < first);
                let to = sharp.partition_point(|c| (*c as usize) + step < end);
                for (&c, out) in sharp[from..to].iter().zip(&out[from..to]) {
                    let face = &mut flux.cells[c as usize + step - first];
                    let part = if side == 0 { -out[0] } else { out[1] };
                    *face = if on { *face + part } else { 0.0 };
                }
            }
        });
    }

    /// What the cells give as they lie at the start of a step.
    fn begin(&mut self, of: Carry, f: &[f64]) {
        let mut lists: Vec<Vec<u32>> = vec![Vec::new(); of.team.parts()];
        let (surface, room) = (of.surface, &of.grid.room);
        let shares: Vec<_> = of
            .region
            .shares(&mut self.even, &of.region.rows)
            .into_iter()
            .zip(of.region.cuts.split(&mut self.even_after, BLOCK))
            .zip(&mut lists)
            .collect();
        of.team.each(
            shares,
            #[inline(always)]
            |(((mut even, rows), mut after), list): (((Share<f32>, &[Row]), Share<f32>), &mut Vec<u32>)| {
                let mut hits = [0u8; BLOCK];
                for &(lo, hi) in rows {
                    let (first, hi) = (lo as usize, hi as usize);
                    let even = even.run(first, hi);
                    let (room, f) = (&room[first..hi], &f[first..hi]);
                    let (liquid, alone) = (&surface.liquid[first..hi], &surface.alone[first..hi]);
                    let n = even.len().min(BLOCK);
                    let even = &mut even[..n];
                    cut!(n; room, f, liquid, alone);
                    for i in 0..n {
                        let (gives, notes) = judge(f[i], liquid[i], alone[i], room[i]);
                        even[i] = gives;
                        hits[i] = notes & note::SHARP;
                    }
                    // Beyond the swept spans nothing changes.
                    after.run(first, hi).copy_from_slice(even);
                    list_hits(lo, &hits[..n], list);
                }
            },
        );
        self.sharp.clear();
        lists.iter().for_each(|list| self.sharp.extend(list));
    }

    /// Oil out of the cells whose oil is not evenly spread.
    fn out_of_sharp(&mut self, of: Carry, f: &[f64], axis: usize) {
        let (grid, scale, s) = (of.grid, of.dt / of.grid.h, of.grid.stride[axis]);
        let (area, u) = (&grid.area[axis], &of.u[axis]);
        self.out.resize(self.sharp.len(), [0.0; 2]);
        let length = self.sharp.len().div_ceil(of.team.parts()).max(1);
        let shares = self
            .out
            .chunks_mut(length)
            .zip(self.sharp.chunks(length))
            .collect();
        of.team.each(
            shares,
            #[inline(always)]
            |(outs, cells): (&mut [[f64; 2]], &[u32])| {
                let mut batch = Batch::new();
                for (at, &c) in cells.iter().enumerate() {
                    let c = c as usize;
                    let low = -f64::from(area[c]) * f64::from(u[c]) * scale;
                    let high = f64::from(area[c + s]) * f64::from(u[c + s]) * scale;
                    outs[at] = [0.0; 2];
                    if !(low > 0.0 || high > 0.0) {
                        continue;
                    }
                    let slice = Slice::new(of, f, c);
                    match slice.normal {
                        Some(normal) if grid.wall(c).is_none() => {
                            for (side, swept) in [low, high].into_iter().enumerate() {
                                if swept > 0.0 {
                                    batch.take(at, side, swept, grid.volume[c], slice.fill, normal);
                                    if batch.is_full() {
                                        batch.give(axis, outs);
                                    }
                                }
                            }
                        }
                        _ => {
                            outs[at] = [(low, false), (high, true)]
                                .map(|(swept, high)| slice.out(grid, axis, swept, high))
                        }
                    }
                }
                batch.give(axis, outs);
            },
        );
    }

    /// Books the fluxes of a pass, notes the cells anew, and after the last pass takes back what was lent.
    fn sweep(&mut self, of: Carry, f: &mut [f64], axis: usize, pass: usize) {
        let (grid, surface, s) = (of.grid, of.surface, of.grid.stride[axis]);
        let scale = (of.dt / of.grid.h) as f32;
        let (area, u, room) = (&grid.area[axis], &of.u[axis], &grid.room);
        let mut lists: Vec<[Vec<u32>; 3]> = vec![Default::default(); of.team.parts()];
        let cuts = &of.region.cuts;
        let shares: Vec<_> = of
            .region
            .shares(f, of.spans)
            .into_iter()
            .zip(cuts.split(&mut self.lent, BLOCK))
            .zip(cuts.split(&mut self.even_after, BLOCK))
            .zip(&mut lists)
            .collect();
        let (flux, even) = (&self.flux, &self.even);
        // The first pass lends anew; after the last everything is taken back.
        let keep = if pass == 0 { 0.0 } else { 1.0 };
        let (back, last) = if pass == 2 {
            (1.0, u8::MAX)
        } else {
            (0.0, note::SHARP)
        };
        of.team.each(
            shares,
            #[inline(always)]
            |((((mut f, rows), mut lent), mut after), lists): (
                (((Share<f64>, &[Row]), Share<f64>), Share<f32>),
                &mut [Vec<u32>; 3],
            )| {
                let (mut owed, mut new) = ([0f64; BLOCK], [0f64; BLOCK]);
                let (mut gives, mut notes) = ([0f32; BLOCK], [0u8; BLOCK]);
                for &(start, end) in rows {
                    let (lo, hi) = (start as usize, end as usize);
                    let n = (hi - lo).min(BLOCK);
                    let (f, lent, after) = (f.run(lo, hi), lent.run(lo, hi), after.run(lo, hi));
                    let (al, ah) = (&area[lo..hi], &area[lo + s..hi + s]);
                    let (ul, uh) = (&u[lo..hi], &u[lo + s..hi + s]);
                    let (sl, sh) = (&flux[lo..hi], &flux[lo + s..hi + s]);
                    let (el, e, eh) = (&even[lo - s..hi - s], &even[lo..hi], &even[lo + s..hi + s]);
                    let (room, liquid, alone) =
                        (&room[lo..hi], &surface.liquid[lo..hi], &surface.alone[lo..hi]);
                    let (was, owes) = (&*f, &*lent);
                    cut!(n; al, ah, ul, uh, sl, sh, el, e, eh, room, liquid, alone, was, owes);
                    for i in 0..n {
                        // The same numbers on both sides of a face.
                        let (low, high) = (scale * (al[i] * ul[i]), scale * (ah[i] * uh[i]));
                        let into = f64::from(low * if low > 0.0 { el[i] } else { e[i] }) + sl[i];
                        let out = f64::from(high * if high > 0.0 { e[i] } else { eh[i] }) + sh[i];
                        let lend = if liquid[i] == 1 {
                            f64::from(high) - f64::from(low)
                        } else {
                            0.0
                        };
                        owed[i] = keep * owes[i] + lend;
                        new[i] = was[i] + (into - out + lend - back * owed[i]) * room[i];
                    }
                    for i in 0..n {
                        let (even, found) = judge(new[i], liquid[i], alone[i], room[i]);
                        gives[i] = even;
                        notes[i] = found & last;
                    }
                    lent.copy_from_slice(&owed[..n]);
                    f.copy_from_slice(&new[..n]);
                    after.copy_from_slice(&gives[..n]);
                    list_notes(start, &notes[..n], lists);
                }
            },
        );
        let [sharp, wisps, over] = [&mut self.sharp, &mut self.wisps, &mut self.over].map(|list| {
            list.clear();
            list
        });
        for [a, b, c] in &lists {
            sharp.extend(a);
            wisps.extend(b);
            over.extend(c);
        }
    }

    /// Takes note of a cell that was filled or drawn from beside the sweeps.
    pub fn note(&mut self, grid: &Grid, surface: &Surface, c: usize, fill: f64) {
        let (even, notes) = judge(fill, surface.liquid[c], surface.alone[c], grid.room[c]);
        (self.even[c], self.even_after[c]) = (even, even);
        let c = c as u32;
        let among = |list: &mut Vec<u32>, belongs: bool| match (list.binary_search(&c), belongs) {
            (Err(at), true) => list.insert(at, c),
            (Ok(at), false) => {
                list.remove(at);
            }
            _ => {}
        };
        among(&mut self.sharp, notes & note::SHARP != 0);
        among(&mut self.wisps, notes & note::WISP != 0);
        among(&mut self.over, notes & note::OVER != 0);
    }

    /// Forgets a run of cells that left the region.
    pub fn leave(&mut self, lo: usize, hi: usize) {
        self.even[lo..hi].fill(0.0);
        self.even_after[lo..hi].fill(0.0);
    }
}

/// What a cell gives of a swept volume if its oil is evenly spread (0 if not), and what is to be noted of it.
#[inline(always)]
fn judge(fill: f64, liquid: u8, alone: u8, room: f64) -> (f32, u8) {
    let full = fill >= FULL;
    let part = (fill != 0.0) & !full;
    let spread = is_mist(fill, liquid, alone) & (room <= 1.0 / ROOMY);
    let some = if part & spread { fill.max(0.0) as f32 } else { 0.0 };
    let mut notes = if part & !spread { note::SHARP } else { 0 };
    notes |= if part & (fill < WISP) { note::WISP } else { 0 };
    notes |= if fill > SPILL { note::OVER } else { 0 };
    (if full { 1.0 } else { some }, notes)
}

/// Sorts the notes of a run that begins at `lo` into the lists of sharp cells, wisps and overfull ones.
#[inline(always)]
fn list_notes(lo: u32, notes: &[u8], lists: &mut [Vec<u32>; 3]) {
    if notes.iter().fold(0, |any, note| any | note) == 0 {
        return;
    }
    for (c, note) in (lo..).zip(notes) {
        if *note == 0 {
            continue;
        }
        for (bit, list) in [note::SHARP, note::WISP, note::OVER].into_iter().zip(&mut *lists) {
            if note & bit != 0 {
                list.push(c);
            }
        }
    }
}

/// The oil of a sharp cell as a slice can be cut from it.
struct Slice {
    c: usize,
    fill: f64,
    /// Normal of its surface; none where the oil is evenly spread.
    normal: Option<[f64; 3]>,
    /// Where the plane lay or lies: near to where it lies now.
    alpha: f64,
}

impl Slice {
    #[inline(always)]
    fn new(of: Carry, f: &[f64], c: usize) -> Slice {
        let (grid, surface, fill) = (of.grid, of.surface, f[c]);
        let (normal, alpha) = if fill <= 0.0 || is_mist(fill, surface.liquid[c], surface.alone[c]) {
            (None, 0.0)
        } else {
            let [x, y, z, alpha] = if surface.kind[c] == kind::MIXED {
                surface.planes[c]
            } else {
                reconstruct(grid, f, c)
            };
            (Some([x, y, z]), alpha)
        };
        Slice {
            c,
            fill,
            normal,
            alpha,
        }
    }

    /// Oil that leaves through a face by which `swept` (in cells) goes out.
    fn out(&self, grid: &Grid, axis: usize, swept: f64, high: bool) -> f64 {
        if !(swept > 0.0) || self.fill <= 0.0 {
            return 0.0;
        }
        let held = grid.volume[self.c];
        let asked = match self.normal {
            None => swept * self.fill,
            Some(normal) => {
                let [x, y, z] = normal;
                // In a cut cell the same volume is a thicker slice.
                let width = (swept / held).clamp(1e-12, 1.0);
                let (from, to) = if high { (1.0 - width, 1.0) } else { (0.0, width) };
                let wall = grid.wall(self.c);
                let alpha = match wall {
                    Some(wall) => walled::alpha_in_cut(wall, held, normal, self.fill, Some(self.alpha)),
                    None => plane::alpha_for(normal, self.fill),
                };
                let share = match wall {
                    Some(wall) if walled::lie(wall, normal) == Lie::Oblique => {
                        walled::share_of_slab(wall, [x, y, z, alpha], axis, from, to)
                    }
                    _ => plane::slab([x, y, z, alpha], axis, from, to) / width,
                };
                swept * share
            }
        };
        no_more(asked, self.fill * held)
    }
}
