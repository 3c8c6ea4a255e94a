//! The oil surface inside the cells: which cells carry pressure, the plane in each mixed cell, the height of
//! the surface in a column, and how far the surface is from a cell's centre.
//!
//! Normals come from height functions wherever columns allow it; Youngs' gradient picks the axis and is the
//! fallback. Nothing looks through a plate, screen or door. Sources: height functions as in M. Sussman,
//! J. Comput. Phys. 187 (2003) 110-136; gradient of D. L. Youngs (1982).

use crate::grid::Grid;
use crate::plane;
use crate::region::{Region, Row};
use crate::team::{BLOCK, Cuts, Share, Team, cut};
use crate::walled;

/// Cells fuller than this are full for the surface: a tighter cut (1 − 1e-9) turns a third of the oil into
/// mixed cells that cost and mean nothing.
pub(crate) const FULL: f64 = 1.0 - 1e-4;
/// Columns end where less than this is found.
const EMPTY: f64 = 1e-4;
/// A column that ends after three cells without reaching full or empty may miss this much.
const NEARLY: f64 = 0.02;

/// A cell in the air that holds less oil than this, with no liquid beside it, is taken as evenly filled: spray has
/// no surface to find. As a plane, a fleck could lie in the far end of its cell, out of reach of every step, and
/// hang there for ever while its speed grows.
const MIST: f64 = 0.5;

/// A cell in the air with less than this is evenly filled whatever lies beside it.
const FLECK: f64 = 1e-2;

/// How a cell is filled.
pub(crate) mod kind {
    /// Without oil.
    pub const DRY: u8 = 0;
    /// Flecks in the air, without a surface of their own.
    pub const MIST: u8 = 1;
    /// Crossed by the surface.
    pub const MIXED: u8 = 2;
    /// Full of oil.
    pub const FULL: u8 = 3;
}

const HIGH: u64 = 0x7ff0_0000_0000_0000;

/// Surface data of the present oil.
pub(crate) struct Surface {
    /// 1 for cells that carry pressure: their centre is in the oil.
    pub liquid: Vec<u8>,
    /// 1 for cells that no oil under pressure is beside.
    pub alone: Vec<u8>,
    /// `kind` of each cell; 0 outside the region.
    pub kind: Vec<u8>,
    /// Planes of `MIXED` cells.
    pub planes: Vec<[f64; 4]>,
    /// Number of cells that carry pressure.
    pub count: usize,
    /// The `MIXED` cells, in order.
    pub mixed: Vec<u32>,
    /// Partly filled cells with a wall in them, in order.
    walled: Vec<u32>,
    /// A fill somewhere is no number.
    pub broken: bool,
    cuts: Cuts,
}

impl Surface {
    pub fn new(size: usize) -> Surface {
        Surface {
            liquid: vec![0; size],
            alone: vec![0; size],
            kind: vec![kind::DRY; size],
            planes: vec![[0.0; 4]; size],
            count: 0,
            mixed: Vec::new(),
            walled: Vec::new(),
            broken: false,
            cuts: Cuts::default(),
        }
    }

    /// Forgets a run of cells that left the region.
    pub fn leave(&mut self, lo: usize, hi: usize) {
        self.liquid[lo..hi].fill(0);
        self.kind[lo..hi].fill(kind::DRY);
    }

    /// Plane under which the oil of cell `c` lies, its fill being `fill`: evenly spread oil lies level for whoever
    /// asks.
    pub fn plane(&self, c: usize, fill: f64) -> [f64; 4] {
        if self.kind[c] == kind::MIXED {
            self.planes[c]
        } else {
            [0.0, 0.0, 1.0, fill]
        }
    }

    /// Planes and pressure cells for the oil `f`.
    pub fn refresh(&mut self, grid: &Grid, region: &Region, f: &[f64], team: &Team) {
        self.sort(grid, region, f, team);
        // In cells with a wall the plane decides whether they carry pressure, and that tells mist from oil.
        let Surface {
            liquid,
            planes,
            walled,
            cuts,
            ..
        } = self;
        share_out(cuts, team, grid, walled);
        let shares: Vec<_> = cuts
            .split(planes, BLOCK)
            .into_iter()
            .zip(cuts.split(liquid, BLOCK))
            .zip(cuts.list(walled, block_of))
            .collect();
        team.each(
            shares,
            |((mut planes, mut liquid), cells): ((Share<[f64; 4]>, Share<u8>), &[u32])| {
                for &c in cells {
                    let c = c as usize;
                    let p = reconstruct(grid, f, c);
                    planes.run(c, c + 1)[0] = p;
                    // Over a floor inside the cell a small fill already covers the centre. Calling such a cell
                    // air would put a pressure jump on the side of its full neighbours.
                    let wet = f[c] > 0.02 && p[3] > 0.5 * (p[0] + p[1] + p[2]);
                    liquid.run(c, c + 1)[0] = u8::from(wet);
                }
            },
        );
        self.part(grid, region, f, team);
        let Surface {
            planes, mixed, cuts, ..
        } = self;
        share_out(cuts, team, grid, mixed);
        let shares: Vec<_> = cuts
            .split(planes, BLOCK)
            .into_iter()
            .zip(cuts.list(mixed, block_of))
            .collect();
        team.each(shares, |(mut planes, cells): (Share<[f64; 4]>, &[u32])| {
            for &c in cells {
                let c = c as usize;
                if grid.wall(c).is_none() {
                    planes.run(c, c + 1)[0] = reconstruct(grid, f, c);
                }
            }
        });
        let liquid = &self.liquid;
        let row = |&(lo, hi): &Row| {
            liquid[lo as usize..hi as usize]
                .iter()
                .map(|l| usize::from(*l))
                .sum::<usize>()
        };
        self.count = region.wet.iter().map(row).sum();
    }

    /// Sorts the cells by their fill and lists those in part filled that have a wall.
    fn sort(&mut self, grid: &Grid, region: &Region, f: &[f64], team: &Team) {
        let mut lists: Vec<(Vec<u32>, bool)> = vec![Default::default(); team.parts()];
        let shares: Vec<_> = region
            .shares(&mut self.liquid, &region.rows)
            .into_iter()
            .zip(region.cuts.split(&mut self.kind, BLOCK))
            .zip(&mut lists)
            .collect();
        team.each(
            shares,
            #[inline(always)]
            |(((mut liquid, rows), mut kinds), list): (
                ((Share<u8>, &[Row]), Share<u8>),
                &mut (Vec<u32>, bool),
            )| {
                let mut hits = [0u8; BLOCK];
                for &(lo, hi) in rows {
                    let (first, hi) = (lo as usize, hi as usize);
                    let (liquid, kinds, f) = (liquid.run(first, hi), kinds.run(first, hi), &f[first..hi]);
                    let walls = &grid.wall_of[first..hi];
                    let n = f.len().min(BLOCK);
                    let (liquid, kinds) = (&mut liquid[..n], &mut kinds[..n]);
                    cut!(n; f, walls);
                    let mut bad = 0u32;
                    for i in 0..n {
                        // All exponent bits set: infinite or no number.
                        bad |= u32::from(f[i].to_bits() & HIGH == HIGH);
                        liquid[i] = u8::from(f[i] > 0.5);
                    }
                    for i in 0..n {
                        let some = if f[i] > 0.0 { kind::MIXED } else { kind::DRY };
                        kinds[i] = if f[i] >= FULL { kind::FULL } else { some };
                    }
                    for i in 0..n {
                        hits[i] = u8::from((kinds[i] == kind::MIXED) & (walls[i] != u32::MAX));
                    }
                    list.1 |= bad > 0;
                    list_hits(lo, &hits[..n], &mut list.0);
                }
            },
        );
        self.walled.clear();
        self.broken = false;
        for (list, bad) in &lists {
            self.walled.extend(list);
            self.broken |= bad;
        }
    }

    /// Tells which cells are alone, and mist from oil with a surface, which it lists.
    fn part(&mut self, grid: &Grid, region: &Region, f: &[f64], team: &Team) {
        let mut lists: Vec<Vec<u32>> = vec![Vec::new(); team.parts()];
        let liquid = &self.liquid;
        let shares: Vec<_> = region
            .shares(&mut self.kind, &region.rows)
            .into_iter()
            .zip(region.cuts.split(&mut self.alone, BLOCK))
            .zip(&mut lists)
            .collect();
        team.each(
            shares,
            #[inline(always)]
            |(((mut kinds, rows), mut alone), list): (((Share<u8>, &[Row]), Share<u8>), &mut Vec<u32>)| {
                let [sx, sy, sz] = grid.stride;
                let mut hits = [0u8; BLOCK];
                for &(lo, hi) in rows {
                    let (first, hi) = (lo as usize, hi as usize);
                    let (kinds, alone) = (kinds.run(first, hi), alone.run(first, hi));
                    let n = kinds.len().min(BLOCK);
                    let (kinds, alone) = (&mut kinds[..n], &mut alone[..n]);
                    let open = &grid.open[first..hi];
                    let at = |from: usize| &liquid[from..from + n];
                    let (here, w, e) = (at(first), at(first - sx), at(first + sx));
                    let (s, n_) = (at(first - sy), at(first + sy));
                    let (d, u) = (at(first - sz), at(first + sz));
                    let f = &f[first..hi];
                    cut!(n; open, here, w, e, s, n_, d, u, f);
                    for i in 0..n {
                        let beside = w[i] | e[i] << 1 | s[i] << 2 | n_[i] << 3 | d[i] << 4 | u[i] << 5;
                        alone[i] = u8::from(beside & open[i] == 0);
                    }
                    for i in 0..n {
                        let mist = (kinds[i] == kind::MIXED) & is_mist(f[i], here[i], alone[i]);
                        kinds[i] = if mist { kind::MIST } else { kinds[i] };
                    }
                    for i in 0..n {
                        hits[i] = u8::from(kinds[i] == kind::MIXED);
                    }
                    list_hits(lo, &hits[..n], list);
                }
            },
        );
        self.mixed.clear();
        lists.iter().for_each(|list| self.mixed.extend(list));
    }

    /// Distance from the centre of oil cell `c` to the surface toward its air neighbour along `axis`, in
    /// cells, 0 to 1. `up` when the air is on the positive side.
    ///
    /// The clamps matter: a lateral distance may not fall below 0.1, or a level surface at mid-height of its
    /// cells flickers for ever (0.05-0.09 m/s); a column height may, down to 1e-6.
    pub fn distance(&self, grid: &Grid, f: &[f64], c: usize, axis: usize, up: bool) -> f64 {
        let s = grid.stride[axis];
        let (air, face) = if up { (c + s, c + s) } else { (c - s, c) };
        #[cfg(test)]
        if grid.mutant == crate::mutants::Mutant::WholeCells {
            return 1.0;
        }
        if grid.clear[axis][face] == 1
            && let Some(height) = column(grid, f, c, axis, up)
            && height > 0.0
            && height < 2.0
        {
            return (height - 0.5).clamp(1e-6, 1.0);
        }
        let inside = self.depth(f, c);
        let outside = self.depth(f, air);
        if inside <= 0.0 {
            return 0.1;
        }
        if outside >= 0.0 {
            return 1.0;
        }
        (inside / (inside - outside)).clamp(0.1, 1.0)
    }

    /// Whether oil cell `c` leaves its face along `axis` toward air dry: over a leaning wall the open part of
    /// a face may lie wholly above the surface. A pressure there would blow oil through a dry face.
    pub fn leaves_dry(&self, grid: &Grid, f: &[f64], c: usize, axis: usize, up: bool) -> bool {
        match grid.wall(c) {
            Some(wall) if f[c] < FULL => {
                let p = self.planes[c];
                // The face that the surface rises toward is always dry; the surface moves through it.
                let level = p[axis].abs() < 0.3;
                level
                    && walled::lie(wall, [p[0], p[1], p[2]]) == walled::Lie::Oblique
                    && walled::share_of_face(wall, p, axis, up) < 0.02
            }
            _ => false,
        }
    }

    /// Depth of a cell's centre below its surface plane, in cells; ±0.5 for cells without one.
    fn depth(&self, f: &[f64], c: usize) -> f64 {
        if f[c] >= FULL {
            0.5
        } else if f[c] <= 0.0 || self.kind[c] == kind::MIST {
            -0.5
        } else {
            let [x, y, z, alpha] = self.planes[c];
            (alpha - 0.5 * (x + y + z)) / (x * x + y * y + z * z).sqrt()
        }
    }
}

/// True for a cell in the air whose oil is taken as evenly spread.
#[inline(always)]
pub(crate) fn is_mist(fill: f64, liquid: u8, alone: u8) -> bool {
    (liquid == 0) & ((fill < FLECK) | ((fill < MIST) & (alone == 1)))
}

/// Appends the places of the hits (not zero) of a run that begins at `lo`.
#[inline(always)]
pub(crate) fn list_hits(lo: u32, hits: &[u8], list: &mut Vec<u32>) {
    let mut at = lo;
    for eight in hits.chunks(8) {
        let mut bytes = [0; 8];
        bytes[..eight.len()].copy_from_slice(eight);
        let mut word = u64::from_le_bytes(bytes);
        while word != 0 {
            let byte = word.trailing_zeros() / 8;
            list.push(at + byte);
            word &= !(0xff << (8 * byte));
        }
        at += 8;
    }
}

fn block_of(c: &u32) -> usize {
    *c as usize / BLOCK
}

/// Cuts the blocks so that each share has as many of the listed cells.
fn share_out(cuts: &mut Cuts, team: &Team, grid: &Grid, list: &[u32]) {
    let work = list.iter().map(|c| (block_of(c), 1));
    cuts.balance(team.parts(), grid.size() / BLOCK, work);
}

/// Axis of the largest component.
pub(crate) fn main_axis(m: [f64; 3]) -> usize {
    let mut axis = 0;
    for a in 1..3 {
        if m[a].abs() > m[axis].abs() {
            axis = a;
        }
    }
    axis
}

/// Plane of the mixed cell `c`: `[mx, my, mz, α]`, oil where `m·x ≤ α`.
pub(crate) fn reconstruct(grid: &Grid, f: &[f64], c: usize) -> [f64; 4] {
    let rough = youngs(grid, f, c);
    let axis = main_axis(rough);
    let mut m = rough;
    if rough[axis] == 0.0 {
        // A lone fleck: any plane holds it.
        m = [0.0, 0.0, 1.0];
    } else {
        // Beside a leaning wall the rough gradient often names the wrong axis; the next one has the columns.
        let mut tried = [false; 3];
        let mut at = axis;
        while rough[at].abs() > 0.3 * rough[axis].abs() {
            if let Some(fine) = heights(grid, f, c, at, rough[at] > 0.0) {
                m = fine;
                break;
            }
            tried[at] = true;
            let Some(next) = (0..3)
                .filter(|a| !tried[*a])
                .max_by(|a, b| rough[*a].abs().total_cmp(&rough[*b].abs()))
            else {
                break;
            };
            at = next;
        }
    }
    let sum = m[0].abs() + m[1].abs() + m[2].abs();
    m = [m[0] / sum, m[1] / sum, m[2] / sum];
    let alpha = match grid.wall(c) {
        Some(wall) => walled::alpha_in_cut(wall, grid.volume[c], m, f[c], None),
        None => plane::alpha_for(m, f[c]),
    };
    [m[0], m[1], m[2], alpha]
}

/// Normal out of the oil by heights of the five columns round `c` along `axis`; none when a column that can
/// be seen holds no single surface.
fn heights(grid: &Grid, f: &[f64], c: usize, axis: usize, up: bool) -> Option<[f64; 3]> {
    let here = column(grid, f, c, axis, up)?;
    let mut m = [0.0; 3];
    m[axis] = if up { 1.0 } else { -1.0 };
    for t in [(axis + 1) % 3, (axis + 2) % 3] {
        let s = grid.stride[t];
        let low = if grid.clear[t][c] == 1 {
            beside(grid, f, c - s, axis, up)?
        } else {
            None
        };
        let high = if grid.clear[t][c + s] == 1 {
            beside(grid, f, c + s, axis, up)?
        } else {
            None
        };
        m[t] = -match (low, high) {
            (Some(l), Some(r)) => 0.5 * (r - l),
            (Some(l), None) => here - l,
            (None, Some(r)) => r - here,
            (None, None) => 0.0,
        };
    }
    Some(m)
}

/// Cells with less open volume have no say in their neighbours' normals: a drop more or less in them moves
/// their height by a cell, and the neighbour would tilt and pour more in.
const SLIVER: f64 = 0.3;

/// Height of the column through a neighbour. `Some(None)`: it tells nothing, because it is a dry cut cell,
/// whose height is its floor's, or a sliver.
fn beside(grid: &Grid, f: &[f64], c: usize, axis: usize, up: bool) -> Option<Option<f64>> {
    if grid.volume[c] < SLIVER || (f[c] <= 0.0 && grid.wall(c).is_some()) {
        return Some(None);
    }
    column(grid, f, c, axis, up).map(Some)
}

/// Height of the surface above the oil-side face of cell `c`, in cells, in the column through `c` along
/// `axis`; oil on the low side when `up`. None unless the column goes from full (or a wall) to empty (or a
/// wall) within three cells each way without turning back.
pub(crate) fn column(grid: &Grid, f: &[f64], c: usize, axis: usize, up: bool) -> Option<f64> {
    #[cfg(test)]
    if grid.mutant == crate::mutants::Mutant::RoughNormals {
        return None;
    }
    let s = grid.stride[axis];
    let clear = &grid.clear[axis];
    // (face, cell) next on the oil side and on the air side.
    let below = |at: usize| {
        if up {
            (at, at - s)
        } else {
            (at + s, at.wrapping_add(s))
        }
    };
    let above = |at: usize| if up { (at + s, at + s) } else { (at, at - s) };
    let mut height = level_in_cell(grid, c, axis, up, f[c]);
    let (mut at, mut last, mut ended) = (c, f[c], false);
    for _ in 0..3 {
        let (face, next) = below(at);
        if last >= FULL || clear[face] == 0 {
            ended = true;
            break;
        }
        at = next;
        if f[at] + 1e-3 < last {
            return None;
        }
        last = f[at];
        height -= 1.0 - level_in_cell(grid, at, axis, up, last);
    }
    if !ended && last < 1.0 - NEARLY {
        return None;
    }
    (at, last, ended) = (c, f[c], false);
    for _ in 0..3 {
        let (face, next) = above(at);
        if last <= EMPTY || clear[face] == 0 {
            ended = true;
            break;
        }
        at = next;
        if f[at] > last + 1e-3 {
            return None;
        }
        last = f[at];
        height += level_in_cell(grid, at, axis, up, last);
    }
    if !ended && last > NEARLY {
        return None;
    }
    Some(height)
}

/// Height up to which a level surface across `axis` fills cell `c`, 0 to 1, counted from the oil side.
/// In a cut cell the solid on the oil side counts as full.
pub(crate) fn level_in_cell(grid: &Grid, c: usize, axis: usize, up: bool, fill: f64) -> f64 {
    let fill = fill.clamp(0.0, 1.0);
    let Some(wall) = grid.wall(c) else { return fill };
    if fill >= FULL || wall[axis].abs() < 1e-3 {
        return fill;
    }
    let share = fill * grid.volume[c];
    let below = |level: f64| {
        if up {
            plane::slab(wall, axis, 0.0, level)
        } else {
            plane::slab(wall, axis, 1.0 - level, 1.0)
        }
    };
    let room = below(1.0);
    if share >= room {
        return 1.0;
    }
    walled::rising_root(
        [(0.0, -share), (1.0, room - share)],
        Some(fill),
        1e-9 * room,
        |level| below(level) - share,
    )
}

/// Youngs' gradient, pointing out of the oil, not normalised. Across shut faces the oil is mirrored.
fn youngs(grid: &Grid, f: &[f64], c: usize) -> [f64; 3] {
    let [sx, sy, sz] = grid.stride;
    let mut g = [0.0; 27];
    if grid.free[c] == 1 {
        let corner = c - sx - sy - sz;
        for z in 0..3 {
            for y in 0..3 {
                let row = corner + y * sy + z * sz;
                g[9 * z + 3 * y..9 * z + 3 * y + 3].copy_from_slice(&f[row..row + 3]);
            }
        }
    } else {
        for z in 0..3 {
            for y in 0..3 {
                for x in 0..3 {
                    g[9 * z + 3 * y + x] = f[walk(grid, c, [x, y, z])];
                }
            }
        }
    }
    let mut m = [0.0; 3];
    for a in 0..3 {
        for p in 0..3 {
            for q in 0..3 {
                // Weights 1, 2, 4 for corners, edges, faces.
                let weight = [1.0, 2.0, 1.0][p] * [1.0, 2.0, 1.0][q];
                let (lo, hi) = match a {
                    0 => (9 * q + 3 * p, 9 * q + 3 * p + 2),
                    1 => (9 * q + p, 9 * q + p + 6),
                    _ => (3 * q + p, 3 * q + p + 18),
                };
                m[a] += weight * (g[lo] - g[hi]);
            }
        }
        if m[a].abs() < 1e-12 {
            m[a] = 0.0;
        }
    }
    m
}

/// The cell reached from `c` by the step `to` (0, 1, 2 per axis: back, stay, on), staying put where a face
/// is not clear.
fn walk(grid: &Grid, c: usize, to: [usize; 3]) -> usize {
    let mut at = c;
    for a in 0..3 {
        let s = grid.stride[a];
        if to[a] == 0 && grid.clear[a][at] == 1 {
            at -= s;
        } else if to[a] == 2 && grid.clear[a][at + s] == 1 {
            at += s;
        }
    }
    at
}
