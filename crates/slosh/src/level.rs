//! One level of the multigrid cycle: its matrix, its unknowns, and the passes over them (see
//! [`crate::multigrid`] for the layout).

use crate::grid::{LANES, row_length};
use crate::region::Row;
use crate::team::{BLOCK, Cuts, Share, Team, cut};

/// Levels with fewer unknowns are not worth sharing among threads.
const WORTH_SHARING: usize = 3000;

/// A field of a level, red and black.
pub(crate) type Pair = [Vec<f32>; 2];

/// Colour of a cell.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Colour {
    Red = 0,
    Black = 1,
}

/// A row of unknowns, or a block of a long one: positions `lo..hi` of both colours.
#[derive(Clone, Copy)]
pub(crate) struct Line {
    pub lo: u32,
    pub hi: u32,
    /// Row number, `j + my k` with ghosts.
    pub row: u32,
    /// Parity of j + k.
    pub odd: u8,
}

impl Line {
    /// Lines that cover `lo..hi` in whole lanes; what is no unknown in them has no coefficients and stays zero.
    fn cover(lo: u32, hi: u32, row: usize, my: usize) -> impl Iterator<Item = Line> {
        let whole = LANES as u32;
        let (lo, hi) = (lo / whole * whole, hi.next_multiple_of(whole));
        (lo..hi).step_by(BLOCK).map(move |from| Line {
            lo: from,
            hi: (from + BLOCK as u32).min(hi),
            row: row as u32,
            odd: ((row % my + row / my) & 1) as u8,
        })
    }

    #[inline(always)]
    pub fn ends(&self) -> (usize, usize) {
        (self.lo as usize, self.hi as usize)
    }
}

/// One level.
pub(crate) struct Level {
    n: [usize; 3],
    pad: usize,
    /// Cells of one colour in a row.
    pub half: usize,
    /// Rows in a layer.
    my: usize,
    /// Coefficient of the low face along each axis.
    pub coef: [Pair; 3],
    /// What the diagonal holds beyond the coefficients: faces toward air.
    pub air: Pair,
    pub diag: Pair,
    inverse: Pair,
    pub x: Pair,
    pub b: Pair,
    /// Residual of the red cells; that of the black ones is zero after their sweep.
    left: Vec<f32>,
    /// `x` in natural order, for the finer level.
    flat: Vec<f32>,
    pub lines: Vec<Line>,
    /// Shares of the fields, and where the lines of each share end.
    pub cuts: Cuts,
    ends: Vec<usize>,
}

impl Level {
    pub fn new(n: [usize; 3], pad: usize) -> Level {
        let half = row_length(n[0], pad) / 2;
        let my = n[1] + 2 * pad;
        let size = half * my * (n[2] + 2 * pad);
        let pair = || [vec![0.0; size], vec![0.0; size]];
        Level {
            n,
            pad,
            half,
            my,
            coef: [pair(), pair(), pair()],
            air: pair(),
            diag: pair(),
            inverse: pair(),
            x: pair(),
            b: pair(),
            left: vec![0.0; size],
            flat: vec![0.0; 2 * size],
            lines: Vec::new(),
            cuts: Cuts::default(),
            ends: Vec::new(),
        }
    }

    fn rows(&self) -> usize {
        self.my * (self.n[2] + 2 * self.pad)
    }

    /// Lists the lines that cover the `spans` of unknowns (in natural order), and shares them out.
    pub fn set_lines(&mut self, spans: &[Row], parts: usize) {
        let (half, my) = (self.half, self.my);
        self.lines.clear();
        for &(lo, hi) in spans {
            let row = lo as usize / (2 * half);
            self.lines.extend(Line::cover(lo / 2, hi.div_ceil(2), row, my));
        }
        self.share_out(parts);
    }

    fn share_out(&mut self, parts: usize) {
        let unknowns: usize = self.lines.iter().map(|l| 2 * (l.hi - l.lo) as usize).sum();
        let parts = if unknowns < WORTH_SHARING { 1 } else { parts };
        let weights = self
            .lines
            .iter()
            .map(|l| (l.row as usize, (l.hi - l.lo) as usize + 4));
        self.cuts.balance(parts, self.rows(), weights);
        self.ends.clear();
        let mut done = 0;
        for share in self.cuts.list(&self.lines, |line| line.row as usize) {
            done += share.len();
            self.ends.push(done);
        }
    }

    /// The lines of each share.
    pub fn shares(&self) -> impl Iterator<Item = &[Line]> {
        let starts = std::iter::once(0).chain(self.ends.iter().copied());
        starts.zip(&self.ends).map(|(from, to)| &self.lines[from..*to])
    }

    /// What each share writes of a list with an entry a line, with its lines.
    pub fn share_lines<'s, 'l, T>(&'s self, list: &'l mut [T]) -> Vec<(&'l mut [T], &'s [Line])> {
        let mut rest = list;
        let mut shares = Vec::with_capacity(self.ends.len());
        for lines in self.shares() {
            let (mine, left) = rest.split_at_mut(lines.len());
            shares.push((mine, lines));
            rest = left;
        }
        shares
    }

    /// Diagonal and its inverse from coefficients and air.
    pub fn set_diagonal(&mut self, team: &Team) {
        for colour in [Colour::Red, Colour::Black] {
            let c = colour as usize;
            let (half, sz) = (self.half, self.half * self.my);
            let mut diag = std::mem::take(&mut self.diag[c]);
            let mut inverse = std::mem::take(&mut self.inverse[c]);
            {
                let (coef, air) = (&self.coef, &self.air[c]);
                let shares: Vec<_> = self
                    .cuts
                    .split(&mut diag, half)
                    .into_iter()
                    .zip(self.cuts.split(&mut inverse, half))
                    .zip(self.shares())
                    .collect();
                team.each(
                    shares,
                    #[inline(always)]
                    |((mut diag, mut inverse), lines): ((Share<f32>, Share<f32>), &[Line])| {
                        let (mut one, mut two) = ([0.0; BLOCK], [0.0; BLOCK]);
                        for line in lines {
                            let (lo, hi) = line.ends();
                            let around = hood(coef, c, line, half, sz);
                            invert(&mut one, &mut two, &air[lo..hi], around);
                            diag.run(lo, hi).copy_from_slice(&one[..hi - lo]);
                            inverse.run(lo, hi).copy_from_slice(&two[..hi - lo]);
                        }
                    },
                );
            }
            self.diag[c] = diag;
            self.inverse[c] = inverse;
        }
    }

    /// First sweep from x = 0: red needs no neighbours, and black is written before it is read.
    pub fn first(&mut self, team: &Team) {
        let Level {
            x,
            b,
            inverse,
            cuts,
            ends,
            lines,
            half,
            ..
        } = self;
        let shares = zip_lines(cuts.split(&mut x[0], *half), lines, ends);
        let (b, inverse) = (&b[0], &inverse[0]);
        team.each(
            shares,
            #[inline(always)]
            |(mut x, lines): (Share<f32>, &[Line])| {
                for line in lines {
                    let (lo, hi) = line.ends();
                    let (x, b, v) = (x.run(lo, hi), &b[lo..hi], &inverse[lo..hi]);
                    for i in 0..x.len() {
                        x[i] = v[i] * b[i];
                    }
                }
            },
        );
    }

    /// One Gauss–Seidel pass over the cells of one colour.
    pub fn sweep(&mut self, colour: Colour, team: &Team) {
        let c = colour as usize;
        let Level {
            x,
            b,
            inverse,
            coef,
            cuts,
            ends,
            lines,
            half,
            my,
            ..
        } = self;
        let (half, sz) = (*half, *half * *my);
        let [red, black] = x;
        let (mine, other) = if c == 0 { (red, &*black) } else { (black, &*red) };
        let shares = zip_lines(cuts.split(mine, half), lines, ends);
        let (b, inverse, coef) = (&b[c], &inverse[c], &*coef);
        team.each(
            shares,
            #[inline(always)]
            |(mut x, lines): (Share<f32>, &[Line])| {
                let mut new = [0.0; BLOCK];
                for line in lines {
                    let (lo, hi) = line.ends();
                    let (coef, near) = (hood(coef, c, line, half, sz), near(other, c, line, half, sz));
                    pull(&mut new, coef, near);
                    relax(&mut new, &inverse[lo..hi], &b[lo..hi]);
                    x.run(lo, hi).copy_from_slice(&new[..hi - lo]);
                }
            },
        );
    }

    /// `left = b − A x` of the red cells.
    pub fn leave_residual(&mut self, team: &Team) {
        let Level {
            x,
            b,
            diag,
            coef,
            left,
            cuts,
            ends,
            lines,
            half,
            my,
            ..
        } = self;
        let (half, sz) = (*half, *half * *my);
        let shares = zip_lines(cuts.split(left, half), lines, ends);
        let (b, diag, coef, [red, black]) = (&b[0], &diag[0], &*coef, &*x);
        team.each(
            shares,
            #[inline(always)]
            |(mut left, lines): (Share<f32>, &[Line])| {
                let mut new = [0.0; BLOCK];
                for line in lines {
                    let (lo, hi) = line.ends();
                    let (coef, near) = (hood(coef, 0, line, half, sz), near(black, 0, line, half, sz));
                    pull(&mut new, coef, near);
                    product(&mut new, &diag[lo..hi], &red[lo..hi]);
                    // Nothing is asked of what is no unknown.
                    missing(&mut new, &b[lo..hi], &diag[lo..hi]);
                    left.run(lo, hi).copy_from_slice(&new[..hi - lo]);
                }
            },
        );
    }

    /// `out = A x` on all lines.
    pub fn apply(&self, x: &Pair, out: &mut Pair, team: &Team) {
        let (half, sz) = (self.half, self.half * self.my);
        for c in 0..2 {
            let shares: Vec<_> = self
                .cuts
                .split(&mut out[c], half)
                .into_iter()
                .zip(self.shares())
                .collect();
            let (mine, other, diag, coef) = (&x[c], &x[1 - c], &self.diag[c], &self.coef);
            team.each(
                shares,
                #[inline(always)]
                |(mut out, lines): (Share<f32>, &[Line])| {
                    let mut new = [0.0; BLOCK];
                    for line in lines {
                        let (lo, hi) = line.ends();
                        let (coef, near) = (hood(coef, c, line, half, sz), near(other, c, line, half, sz));
                        pull(&mut new, coef, near);
                        product(&mut new, &diag[lo..hi], &mine[lo..hi]);
                        out.run(lo, hi).copy_from_slice(&new[..hi - lo]);
                    }
                },
            );
        }
    }

    /// Coarse matrix from the fine one: half the sums over the fine faces between aggregates, and half of what
    /// the fine diagonals hold beyond their neighbours (the air).
    pub fn gather(&mut self, fine: &mut Level, team: &Team) {
        let parts = team.parts();
        fine.left.fill(0.0);
        let spans = self.covering(fine);
        self.coef
            .iter_mut()
            .flatten()
            .chain(&mut self.air)
            .for_each(|v| v.fill(0.0));
        self.lines.clear();
        for (row, span) in spans.into_iter().enumerate() {
            if let Some((lo, hi)) = span {
                let start = (row * self.half) as u32;
                let lines = Line::cover(start + lo / 2, start + hi.div_ceil(2), row, self.my);
                self.lines.extend(lines);
            }
        }
        self.share_out(parts);
        let Level {
            coef,
            air,
            lines,
            ends,
            cuts,
            half,
            my,
            pad,
            ..
        } = self;
        let (half, my, pad) = (*half, *my, *pad);
        let [[xr, xb], [yr, yb], [zr, zb]] = coef;
        let [ar, ab] = air;
        let shares: Vec<_> = [xr, xb, yr, yb, zr, zb, ar, ab]
            .map(|v| cuts.split(v, half))
            .into_iter()
            .collect();
        // Turn eight lists of shares into one list of eights.
        let mut by_part: Vec<Vec<Share<f32>>> = (0..ends.len()).map(|_| Vec::with_capacity(8)).collect();
        for field in shares {
            for (part, share) in by_part.iter_mut().zip(field) {
                part.push(share);
            }
        }
        let tasks = zip_lines(by_part, lines, ends);
        let fine = &*fine;
        team.each(
            tasks,
            #[inline(always)]
            |(mut out, lines): (Vec<Share<f32>>, &[Line])| {
                let mut flat = [[0f32; 2 * BLOCK]; 4];
                for line in lines {
                    let (lo, hi) = line.ends();
                    let rows = fine.rows_under(line.row as usize % my - pad, line.row as usize / my - pad);
                    // Coarse cell i lies over fine position m = i − pad + fine.pad / 2 of both colours; beyond the fine
                    // row there is nothing.
                    let first = 2 * (lo - line.row as usize * half) + fine.pad / 2;
                    let skip = pad.saturating_sub(first);
                    let n = (2 * (hi - lo)).min(fine.half + pad - first) - skip;
                    flat.iter_mut().for_each(|f| f[..2 * (hi - lo)].fill(0.0));
                    for (r, (row, odd)) in rows.into_iter().enumerate() {
                        let from = row + first + skip - pad;
                        let run = from..from + n;
                        // The cell of even i, first of its aggregate, has the colour of the row's parity.
                        add(&mut flat[0][skip..skip + n], &fine.coef[0][odd][run.clone()]);
                        for c in 0..2 {
                            if r & 1 == 0 {
                                add(&mut flat[1][skip..skip + n], &fine.coef[1][c][run.clone()]);
                            }
                            if r < 2 {
                                add(&mut flat[2][skip..skip + n], &fine.coef[2][c][run.clone()]);
                            }
                            add(&mut flat[3][skip..skip + n], &fine.air[c][run.clone()]);
                        }
                    }
                    for (field, flat) in flat.iter().enumerate() {
                        for c in 0..2 {
                            let to = out[2 * field + c].run(lo, hi);
                            pick_colour(flat, to, c ^ line.odd as usize);
                            to.iter_mut().for_each(|v| *v *= 0.5);
                        }
                    }
                }
            },
        );
        self.set_diagonal(team);
    }

    /// The four rows under the aggregates of coarse row (j, k), without ghosts: the first, its neighbour along y, the
    /// two above. Each by where it starts and its parity.
    fn rows_under(&self, j: usize, k: usize) -> [(usize, usize); 4] {
        let (j, k) = (2 * j + self.pad, 2 * k + self.pad);
        [(j, k), (j + 1, k), (j, k + 1), (j + 1, k + 1)]
            .map(|(j, k)| (self.half * (j + self.my * k), (j + k) & 1))
    }

    /// Per coarse row the span of aggregates that hold fine unknowns.
    fn covering(&self, fine: &Level) -> Vec<Option<(u32, u32)>> {
        let mut spans: Vec<Option<(u32, u32)>> = vec![None; self.rows()];
        for line in &fine.lines {
            let (j, k) = (line.row as usize % fine.my, line.row as usize / fine.my);
            let row = (j - fine.pad) / 2 + self.pad + self.my * ((k - fine.pad) / 2 + self.pad);
            let start = line.row as usize * fine.half;
            let shift = |m: u32| (m as usize - start + self.pad - fine.pad / 2) as u32;
            let (lo, hi) = (shift(line.lo), shift(line.hi));
            spans[row] = Some(spans[row].map_or((lo, hi), |(a, b)| (a.min(lo), b.max(hi))));
        }
        spans
    }

    /// Right side from the residual that the finer level left.
    pub fn restrict(&mut self, fine: &Level, team: &Team) {
        let Level {
            b,
            lines,
            ends,
            cuts,
            half,
            my,
            pad,
            ..
        } = self;
        let (half, my, pad) = (*half, *my, *pad);
        let [red, black] = b;
        let pairs = cuts
            .split(red, half)
            .into_iter()
            .zip(cuts.split(black, half))
            .collect();
        let tasks = zip_lines(pairs, lines, ends);
        team.each(
            tasks,
            #[inline(always)]
            |((mut red, mut black), lines): ((Share<f32>, Share<f32>), &[Line])| {
                let mut flat = [0f32; 2 * BLOCK];
                for line in lines {
                    let (lo, hi) = line.ends();
                    let rows = fine.rows_under(line.row as usize % my - pad, line.row as usize / my - pad);
                    let first = 2 * (lo - line.row as usize * half) + fine.pad / 2;
                    let long = (2 * (hi - lo)).min(2 * BLOCK);
                    let of = |(row, _): (usize, usize)| {
                        let at = row + first - pad;
                        &fine.left[at..at + long]
                    };
                    let [a, b, c, d] = rows;
                    let (a, b, c, d) = (of(a), of(b), of(c), of(d));
                    let (even, odd) = if line.odd == 0 {
                        (red.run(lo, hi), black.run(lo, hi))
                    } else {
                        (black.run(lo, hi), red.run(lo, hi))
                    };
                    let sum = &mut flat[..long];
                    cut!(long; a, b, c, d);
                    for i in 0..long {
                        sum[i] = (a[i] + b[i]) + (c[i] + d[i]);
                    }
                    pick_colour(sum, even, 0);
                    pick_colour(sum, odd, 1);
                }
            },
        );
    }

    /// Lays `x` out in natural order.
    pub fn flatten(&mut self, team: &Team) {
        let Level { x, flat, lines, .. } = self;
        team.alone(
            #[inline(always)]
            || {
                for line in lines.iter() {
                    let (lo, hi) = line.ends();
                    let (even, odd) = (&x[line.odd as usize][lo..hi], &x[1 - line.odd as usize][lo..hi]);
                    interleave(even, odd, &mut flat[2 * lo..2 * hi]);
                }
            },
        );
    }

    /// Adds the coarse correction.
    pub fn correct(&mut self, coarse: &Level, team: &Team) {
        let Level {
            x,
            lines,
            ends,
            cuts,
            half,
            my,
            pad,
            ..
        } = self;
        let (half, my, pad) = (*half, *my, *pad);
        let [red, black] = x;
        let pairs = cuts
            .split(red, half)
            .into_iter()
            .zip(cuts.split(black, half))
            .collect();
        let tasks = zip_lines(pairs, lines, ends);
        team.each(
            tasks,
            #[inline(always)]
            |((mut red, mut black), lines): ((Share<f32>, Share<f32>), &[Line])| {
                for line in lines {
                    let (lo, hi) = line.ends();
                    let (j, k) = (line.row as usize % my, line.row as usize / my);
                    let row = (j - pad) / 2 + coarse.pad + coarse.my * ((k - pad) / 2 + coarse.pad);
                    let first = 2 * row * coarse.half + lo - line.row as usize * half + coarse.pad - pad / 2;
                    let add = &coarse.flat[first..first + hi - lo];
                    for x in [red.run(lo, hi), black.run(lo, hi)] {
                        for i in 0..add.len() {
                            x[i] += add[i];
                        }
                    }
                }
            },
        );
    }
}

/// Pairs what each share writes with its lines.
fn zip_lines<'a, T>(shares: Vec<T>, lines: &'a [Line], ends: &[usize]) -> Vec<(T, &'a [Line])> {
    let starts = std::iter::once(0).chain(ends.iter().copied());
    shares
        .into_iter()
        .zip(starts.zip(ends))
        .map(|(share, (from, to))| (share, &lines[from..*to]))
        .collect()
}

/// Six runs of a field beside the cells of a line: low and high along each axis.
type Six<'a> = [&'a [f32]; 6];

/// The coefficients of the six faces of a line's cells of colour `c`.
#[inline(always)]
fn hood<'a>(coef: &'a [Pair; 3], c: usize, line: &Line, half: usize, sz: usize) -> Six<'a> {
    let (lo, hi) = line.ends();
    let east = c ^ line.odd as usize;
    let [x, y, z] = coef;
    [
        &x[c][lo..hi],
        &x[1 - c][lo + east..hi + east],
        &y[c][lo..hi],
        &y[1 - c][lo + half..hi + half],
        &z[c][lo..hi],
        &z[1 - c][lo + sz..hi + sz],
    ]
}

/// The six neighbours of a line's cells of colour `c`, all of the other colour.
#[inline(always)]
fn near<'a>(other: &'a [f32], c: usize, line: &Line, half: usize, sz: usize) -> Six<'a> {
    let (lo, hi) = line.ends();
    let east = c ^ line.odd as usize;
    [
        &other[lo + east - 1..hi + east - 1],
        &other[lo + east..hi + east],
        &other[lo - half..hi - half],
        &other[lo + half..hi + half],
        &other[lo - sz..hi - sz],
        &other[lo + sz..hi + sz],
    ]
}

// The kernels below write into a buffer of their own, which the compiler sees to overlap nothing that is read, and
// cut all they read to one length, which spares it a check a cell. Without either it gives up on the lanes.

/// Where a kernel puts a line.
type Buffer = [f32; BLOCK];

/// Sum of coefficient times neighbour.
#[inline(always)]
fn pull(out: &mut Buffer, coef: Six, near: Six) {
    let n = coef[0].len().min(BLOCK);
    let [xl, xh, yl, yh, zl, zh] = coef;
    cut!(n; xl, xh, yl, yh, zl, zh);
    let [xw, xe, ys, yn, zd, zu] = near;
    cut!(n; xw, xe, ys, yn, zd, zu);
    for i in 0..n {
        out[i] = (xl[i] * xw[i] + xh[i] * xe[i])
            + (yl[i] * ys[i] + yh[i] * yn[i])
            + (zl[i] * zd[i] + zh[i] * zu[i]);
    }
}

/// From the pull of the neighbours to `x = v (b + pull)`.
#[inline(always)]
fn relax(pull: &mut Buffer, v: &[f32], b: &[f32]) {
    let n = v.len().min(BLOCK);
    cut!(n; v, b);
    for i in 0..n {
        pull[i] = v[i] * (b[i] + pull[i]);
    }
}

/// From the pull of the neighbours to `A x = d x − pull`.
#[inline(always)]
fn product(pull: &mut Buffer, d: &[f32], x: &[f32]) {
    let n = d.len().min(BLOCK);
    cut!(n; d, x);
    for i in 0..n {
        pull[i] = d[i] * x[i] - pull[i];
    }
}

/// From `A x` to `b − A x`, where there is an unknown.
#[inline(always)]
fn missing(product: &mut Buffer, b: &[f32], d: &[f32]) {
    let n = b.len().min(BLOCK);
    cut!(n; b, d);
    for i in 0..n {
        product[i] = if d[i] > 0.0 { b[i] - product[i] } else { 0.0 };
    }
}

/// Lays a line of two colours out in natural order; `even` holds the cells of even i.
#[inline(always)]
pub(crate) fn interleave(even: &[f32], odd: &[f32], flat: &mut [f32]) {
    let n = even.len();
    let flat = &mut flat[..2 * n];
    cut!(n; odd);
    for i in 0..n {
        flat[2 * i] = even[i];
        flat[2 * i + 1] = odd[i];
    }
}

/// Every other of `flat`, beginning with `first`: one colour of a line in natural order.
#[inline(always)]
pub(crate) fn pick_colour(flat: &[f32], to: &mut [f32], first: usize) {
    let n = to.len();
    let flat = &flat[..2 * n];
    for i in 0..n {
        to[i] = flat[2 * i + first];
    }
}

#[inline(always)]
fn add(to: &mut [f32], what: &[f32]) {
    let n = to.len();
    cut!(n; what);
    for i in 0..n {
        to[i] += what[i];
    }
}

/// Diagonal `d` from coefficients and air, and its inverse `v`.
#[inline(always)]
fn invert(d: &mut Buffer, v: &mut Buffer, air: &[f32], coef: Six) {
    let n = air.len().min(BLOCK);
    let air = &air[..n];
    let [xl, xh, yl, yh, zl, zh] = coef;
    cut!(n; xl, xh, yl, yh, zl, zh);
    for i in 0..n {
        d[i] = (xl[i] + xh[i]) + (yl[i] + yh[i]) + (zl[i] + zh[i]) + air[i];
    }
    for i in 0..n {
        v[i] = if d[i] > 0.0 { 1.0 / d[i] } else { 0.0 };
    }
}
