//! The preconditioner of the pressure solve: one V-cycle over 2×2×2 aggregates.
//!
//! The matrix is `diag·x − Σ coef·x_neighbour` with coefficients on low faces. A coarse coefficient is half
//! the sum of the fine ones it replaces (the half undoes the stiffness of piecewise-constant transfer), so
//! plates need no special code: their coefficient is zero on every level. Two red-black sweeps down, two
//! reversed up, which keeps the cycle symmetric for conjugate gradients.

use crate::region::Row;

/// Sweeps before and after the coarse correction; one instead of two doubles the iterations.
const SWEEPS: usize = 2;
/// Sweeps each way on the coarsest level.
const COARSEST: usize = 10;

/// A row of unknowns on one level.
#[derive(Clone, Copy)]
pub(crate) struct Span {
    pub lo: u32,
    pub hi: u32,
    /// 1 when the cell at `lo` is black.
    odd: u8,
    /// 1 when the cell at `lo` is the second of its aggregate.
    late: u8,
    /// Aggregate of the cell at `lo`, index on the next level.
    coarse: u32,
}

/// One level.
pub(crate) struct Level {
    n: [usize; 3],
    pad: usize,
    pub stride: [usize; 3],
    pub coef: [Vec<f64>; 3],
    pub diag: Vec<f64>,
    inverse: Vec<f64>,
    pub x: Vec<f64>,
    pub b: Vec<f64>,
    pub rows: Vec<Span>,
}

impl Level {
    pub fn new(n: [usize; 3], pad: usize) -> Level {
        let m = [n[0] + 2 * pad, n[1] + 2 * pad, n[2] + 2 * pad];
        let size = m[0] * m[1] * m[2];
        let zeros = || vec![0.0; size];
        Level {
            n,
            pad,
            stride: [1, m[0], m[0] * m[1]],
            coef: [zeros(), zeros(), zeros()],
            diag: zeros(),
            inverse: zeros(),
            x: zeros(),
            b: zeros(),
            rows: Vec::new(),
        }
    }

    /// `A x` at one cell, without the diagonal.
    #[inline]
    fn pull(&self, x: &[f64], c: usize) -> f64 {
        let [cx, cy, cz] = &self.coef;
        let [_, sy, sz] = self.stride;
        cx[c] * x[c - 1]
            + cx[c + 1] * x[c + 1]
            + (cy[c] * x[c - sy] + cy[c + sy] * x[c + sy])
            + (cz[c] * x[c - sz] + cz[c + sz] * x[c + sz])
    }

    /// `out = A x` on all rows.
    pub fn apply(&self, x: &[f64], out: &mut [f64]) {
        let [cx, cy, cz] = &self.coef;
        let [_, sy, sz] = self.stride;
        for row in &self.rows {
            let (lo, n) = (row.lo as usize, (row.hi - row.lo) as usize);
            let (xl, xh) = (&cx[lo..lo + n], &cx[lo + 1..lo + 1 + n]);
            let (yl, yh) = (&cy[lo..lo + n], &cy[lo + sy..lo + sy + n]);
            let (zl, zh) = (&cz[lo..lo + n], &cz[lo + sz..lo + sz + n]);
            let (here, west, east) = (&x[lo..lo + n], &x[lo - 1..lo - 1 + n], &x[lo + 1..lo + 1 + n]);
            let (south, north) = (&x[lo - sy..lo - sy + n], &x[lo + sy..lo + sy + n]);
            let (down, up) = (&x[lo - sz..lo - sz + n], &x[lo + sz..lo + sz + n]);
            let diag = &self.diag[lo..lo + n];
            let to = &mut out[lo..lo + n];
            for i in 0..n {
                to[i] = diag[i] * here[i]
                    - (xl[i] * west[i]
                        + xh[i] * east[i]
                        + (yl[i] * south[i] + yh[i] * north[i])
                        + (zl[i] * down[i] + zh[i] * up[i]));
            }
        }
    }

    /// Lists rows from the row spans of the unknowns and inverts the diagonal.
    fn set_rows(&mut self, spans: impl Iterator<Item = Row>, coarse: Option<(usize, [usize; 3])>) {
        self.rows.clear();
        for (lo, hi) in spans {
            let c = lo as usize;
            let (i, j, k) = (
                c % self.stride[1],
                c / self.stride[1] % (self.n[1] + 2 * self.pad),
                c / self.stride[2],
            );
            let aggregate = |at: usize, pad: usize| (at - self.pad) / 2 + pad;
            let coarse = coarse.map_or(0, |(pad, s)| {
                (aggregate(i, pad) + s[1] * aggregate(j, pad) + s[2] * aggregate(k, pad)) as u32
            });
            self.rows.push(Span {
                lo,
                hi,
                odd: ((i + j + k) & 1) as u8,
                late: ((i - self.pad) & 1) as u8,
                coarse,
            });
            for c in lo as usize..hi as usize {
                self.inverse[c] = if self.diag[c] > 0.0 {
                    1.0 / self.diag[c]
                } else {
                    0.0
                };
            }
        }
    }

    /// One Gauss–Seidel pass over the cells of one colour.
    fn colour(&mut self, odd: u8) {
        let [cx, cy, cz] = &self.coef;
        let [_, sy, sz] = self.stride;
        let x = &mut self.x[..];
        for row in &self.rows {
            let first = usize::from(row.odd != odd);
            let (lo, n) = (row.lo as usize, (row.hi - row.lo) as usize);
            // Slices of one length per neighbour let the compiler drop the bounds checks.
            let (below, rest) = x.split_at_mut(lo - 1);
            let (line, above) = rest.split_at_mut(n + 2);
            let (down, south) = (&below[lo - sz..][..n], &below[lo - sy..][..n]);
            let (north, up) = (&above[sy - n - 1..][..n], &above[sz - n - 1..][..n]);
            let (xs, b, inverse) = (&cx[lo..lo + n + 1], &self.b[lo..][..n], &self.inverse[lo..][..n]);
            let (yl, yh) = (&cy[lo..][..n], &cy[lo + sy..][..n]);
            let (zl, zh) = (&cz[lo..][..n], &cz[lo + sz..][..n]);
            let mut i = first;
            while i < n {
                let pull = xs[i] * line[i]
                    + xs[i + 1] * line[i + 2]
                    + (yl[i] * south[i] + yh[i] * north[i])
                    + (zl[i] * down[i] + zh[i] * up[i]);
                line[i + 1] = inverse[i] * (b[i] + pull);
                i += 2;
            }
        }
    }

    /// First pass from `x = 0`: red needs no neighbours, black starts clean.
    fn first_colour(&mut self) {
        for row in &self.rows {
            for c in row.lo as usize..row.hi as usize {
                self.x[c] = 0.0;
            }
            let mut c = row.lo as usize + usize::from(row.odd != 0);
            while c < row.hi as usize {
                self.x[c] = self.inverse[c] * self.b[c];
                c += 2;
            }
        }
    }
}

/// All levels; level 0 has the layout of the grid.
pub(crate) struct Multigrid {
    pub levels: Vec<Level>,
}

impl Multigrid {
    /// Levels for `n` cells with `pad` ghosts, halved until one direction is down to two cells.
    pub fn new(n: [usize; 3], pad: usize) -> Multigrid {
        let mut levels = vec![Level::new(n, pad)];
        let mut n = n;
        while n.iter().max().is_some_and(|m| *m > 4) {
            n = n.map(|m| m.div_ceil(2));
            levels.push(Level::new(n, 1));
        }
        Multigrid { levels }
    }

    /// Builds the coarse matrices from level 0, whose coefficients, diagonal and `spans` are set.
    pub fn coarsen(&mut self, spans: &[Row]) {
        let shape = |levels: &[Level], l: usize| levels.get(l).map(|n: &Level| (n.pad, n.stride));
        let below = shape(&self.levels, 1);
        self.levels[0].set_rows(spans.iter().copied(), below);
        for l in 1..self.levels.len() {
            let below = shape(&self.levels, l + 1);
            let (fine, coarse) = self.levels.split_at_mut(l);
            let (fine, coarse) = (&fine[l - 1], &mut coarse[0]);
            for a in 0..3 {
                coarse.coef[a].fill(0.0);
            }
            coarse.diag.fill(0.0);
            coarse.x.fill(0.0);
            gather(fine, coarse);
            let (n, pad, stride) = (coarse.n, coarse.pad, coarse.stride);
            let diag = std::mem::take(&mut coarse.diag);
            let rows = (0..n[1] * n[2]).filter_map(|r| {
                let row = pad + stride[1] * (r % n[1] + pad) + stride[2] * (r / n[1] + pad);
                let cells = &diag[row..row + n[0]];
                let first = cells.iter().position(|d| *d > 0.0)?;
                let last = cells.iter().rposition(|d| *d > 0.0)?;
                Some(((row + first) as u32, (row + last + 1) as u32))
            });
            let list: Vec<Row> = rows.collect();
            coarse.diag = diag;
            coarse.set_rows(list.into_iter(), below);
        }
    }

    /// One V-cycle for `b` of level 0 into `x` of level 0.
    pub fn cycle(&mut self) {
        let last = self.levels.len() - 1;
        for l in 0..last {
            let (fine, coarse) = self.levels.split_at_mut(l + 1);
            let (fine, coarse) = (&mut fine[l], &mut coarse[0]);
            fine.first_colour();
            fine.colour(1);
            for _ in 1..SWEEPS {
                fine.colour(0);
                fine.colour(1);
            }
            restrict(fine, coarse);
        }
        let coarsest = &mut self.levels[last];
        coarsest.first_colour();
        coarsest.colour(1);
        for _ in 1..COARSEST {
            coarsest.colour(0);
            coarsest.colour(1);
        }
        for _ in 0..COARSEST {
            coarsest.colour(1);
            coarsest.colour(0);
        }
        for l in (0..last).rev() {
            let (fine, coarse) = self.levels.split_at_mut(l + 1);
            let (fine, coarse) = (&mut fine[l], &coarse[0]);
            prolong(coarse, fine);
            for _ in 0..SWEEPS {
                fine.colour(1);
                fine.colour(0);
            }
        }
    }
}

/// Coarse coefficients and diagonal: half the sums over the fine faces between aggregates, and half of what
/// the fine diagonals hold beyond their neighbours (the air).
fn gather(fine: &Level, coarse: &mut Level) {
    let (fs, cs) = (fine.stride, coarse.stride);
    let my = fine.n[1] + 2 * fine.pad;
    for row in &fine.rows {
        let (j, k) = (row.lo as usize / fs[1] % my, row.lo as usize / fs[2]);
        let new_row = [false, (j - fine.pad) & 1 == 0, (k - fine.pad) & 1 == 0];
        for c in row.lo as usize..row.hi as usize {
            let d = fine.diag[c];
            if d == 0.0 {
                continue;
            }
            let at = row.coarse as usize + ((c - row.lo as usize + row.late as usize) >> 1);
            let mut air = d;
            for a in 0..3 {
                let low = fine.coef[a][c];
                air -= low + fine.coef[a][c + fs[a]];
                let first = if a == 0 {
                    (c - row.lo as usize + row.late as usize) & 1 == 0
                } else {
                    new_row[a]
                };
                if first && low > 0.0 {
                    let half = 0.5 * low;
                    coarse.coef[a][at] += half;
                    coarse.diag[at] += half;
                    coarse.diag[at - cs[a]] += half;
                }
            }
            // A cell apart from the rest still needs a diagonal on the way down.
            coarse.diag[at] += 0.5 * air.max(0.0) + 1e-12 * d;
        }
    }
}

fn restrict(fine: &Level, coarse: &mut Level) {
    for row in &coarse.rows {
        coarse.b[row.lo as usize..row.hi as usize].fill(0.0);
    }
    for row in &fine.rows {
        for c in row.lo as usize..row.hi as usize {
            let left = fine.b[c] + fine.pull(&fine.x, c) - fine.diag[c] * fine.x[c];
            let at = row.coarse as usize + ((c - row.lo as usize + row.late as usize) >> 1);
            // Cells in the span that are no unknowns carry neither b nor x.
            coarse.b[at] += left;
        }
    }
}

fn prolong(coarse: &Level, fine: &mut Level) {
    for row in &fine.rows {
        for c in row.lo as usize..row.hi as usize {
            if fine.inverse[c] != 0.0 {
                let at = row.coarse as usize + ((c - row.lo as usize + row.late as usize) >> 1);
                fine.x[c] += coarse.x[at];
            }
        }
    }
}
