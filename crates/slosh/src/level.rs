//! One level of the multigrid cycle: its matrix, its unknowns, and the passes over them (see
//! [`crate::multigrid`] for the layout).

use crate::grid::{LANES, PAD, field_length, padded};
use crate::region::{Row, join, weights};
use crate::team::{BLOCK, Cuts, Share, Team, cut};

/// Levels with fewer unknowns are not worth sharing among threads.
const WORTH_SHARING: usize = 3000;
/// Cells of one colour in a block.
pub(crate) const HALF: usize = BLOCK / 2;

/// A field of a level, red and black.
pub(crate) type Pair = [Vec<f32>; 2];

/// Colour of a cell.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Colour {
    Red = 0,
    Black = 1,
}

/// Colour of a cell and its place within the colour.
#[inline(always)]
pub(crate) fn compact(c: usize) -> (usize, usize) {
    (c & 1, c >> 1)
}

/// The places of colour `c` within the cells `lo..hi`.
#[inline(always)]
fn of_colour(c: usize, (lo, hi): Row) -> (usize, usize) {
    ((lo as usize + 1 - c) >> 1, (hi as usize + 1 - c) >> 1)
}

/// One level.
pub(crate) struct Level {
    /// Cells with ghosts.
    m: [usize; 3],
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
    /// Cells of each row that hold unknowns, cut where blocks end.
    pieces: Vec<Row>,
    /// Runs of places of one colour, the same for both; what is no unknown in them has no coefficients and stays zero.
    pub lines: Vec<Row>,
    /// For each colour and line: 1 when every coefficient between two unknowns is 1, so that none need be read.
    plain: [Vec<u8>; 2],
    /// Shares of the fields, in blocks.
    pub cuts: Cuts,
    /// Where the lines of each share end.
    ends: Vec<usize>,
}

impl Level {
    pub fn new(n: [usize; 3]) -> Level {
        let m = padded(n);
        let size = field_length(m) / 2;
        let pair = || [vec![0.0; size], vec![0.0; size]];
        Level {
            m,
            coef: [pair(), pair(), pair()],
            air: pair(),
            diag: pair(),
            inverse: pair(),
            x: pair(),
            b: pair(),
            left: vec![0.0; size],
            flat: vec![0.0; 2 * size],
            pieces: Vec::new(),
            lines: Vec::new(),
            plain: [Vec::new(), Vec::new()],
            cuts: Cuts::default(),
            ends: Vec::new(),
        }
    }

    /// Takes the `spans` of unknowns, at most one a row, and shares them out.
    pub fn set_lines(&mut self, spans: &[Row], parts: usize) {
        // What is no unknown is zero.
        for &line in &self.lines {
            let (lo, hi) = ends_of(line);
            self.x.iter_mut().for_each(|x| x[lo..hi].fill(0.0));
        }
        self.pieces.clear();
        for &(lo, hi) in spans {
            let mut from = lo;
            while from < hi {
                let to = hi.min((from / BLOCK as u32 + 1) * BLOCK as u32);
                self.pieces.push((from, to));
                from = to;
            }
        }
        let halves = spans.iter().map(|&(lo, hi)| (lo / 2, hi.div_ceil(2)));
        join(halves, LANES, HALF, &mut self.lines);
        let unknowns: usize = spans.iter().map(|s| (s.1 - s.0) as usize).sum();
        let parts = if unknowns < WORTH_SHARING { 1 } else { parts };
        let blocks = field_length(self.m) / BLOCK;
        self.cuts.balance(parts, blocks, weights(&self.lines, HALF));
        self.plain.iter_mut().for_each(|plain| {
            plain.clear();
            plain.resize(self.lines.len(), 0);
        });
        self.ends.clear();
        let mut done = 0;
        for share in self.cuts.list(&self.lines, |line| line.0 as usize / HALF) {
            done += share.len();
            self.ends.push(done);
        }
    }

    /// The lines of each share.
    pub fn shares(&self) -> impl Iterator<Item = &[Row]> {
        let starts = std::iter::once(0).chain(self.ends.iter().copied());
        starts.zip(&self.ends).map(|(from, to)| &self.lines[from..*to])
    }

    /// What each share writes of a list with an entry a line, with its lines.
    pub fn share_lines<'s, 'l, T>(&'s self, list: &'l mut [T]) -> Vec<(&'l mut [T], &'s [Row])> {
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
        let m = self.m;
        for colour in [Colour::Red, Colour::Black] {
            let c = colour as usize;
            let Level {
                diag,
                inverse,
                coef,
                air,
                cuts,
                lines,
                ends,
                ..
            } = self;
            let (coef, air) = (&*coef, &air[c]);
            let fields = cuts
                .split(&mut diag[c], HALF)
                .into_iter()
                .zip(cuts.split(&mut inverse[c], HALF))
                .collect();
            team.each(
                zip_lines(fields, lines, ends),
                #[inline(always)]
                |((mut diag, mut inverse), lines): ((Share<f32>, Share<f32>), &[Row])| {
                    let (mut one, mut two) = ([0.0; HALF], [0.0; HALF]);
                    for &line in lines {
                        let (lo, hi) = ends_of(line);
                        let around = hood(coef, c, line, m);
                        invert(&mut one, &mut two, &air[lo..hi], around);
                        diag.run(lo, hi).copy_from_slice(&one[..hi - lo]);
                        inverse.run(lo, hi).copy_from_slice(&two[..hi - lo]);
                    }
                },
            );
        }
    }

    /// Finds the lines whose coefficients need not be read. The diagonal must be set.
    pub fn find_plain(&mut self, team: &Team) {
        let Level {
            plain,
            coef,
            diag,
            lines,
            ends,
            m,
            ..
        } = self;
        let (coef, diag, m) = (&*coef, &*diag, *m);
        for (c, plain) in plain.iter_mut().enumerate() {
            let mut rest = &mut plain[..];
            let mut lists = Vec::with_capacity(ends.len());
            let mut done = 0;
            for end in &*ends {
                let (mine, left) = rest.split_at_mut(end - done);
                lists.push(mine);
                (rest, done) = (left, *end);
            }
            team.each(
                zip_lines(lists, lines, ends),
                #[inline(always)]
                |(plain, lines): (&mut [u8], &[Row])| {
                    for (plain, &line) in plain.iter_mut().zip(lines) {
                        let (lo, hi) = ends_of(line);
                        let around = (hood(coef, c, line, m), near(&diag[1 - c], c, line, m));
                        *plain = u8::from(all_one(&diag[c][lo..hi], around));
                    }
                },
            );
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
            ..
        } = self;
        let shares = zip_lines(cuts.split(&mut x[0], HALF), lines, ends);
        let (b, inverse) = (&b[0], &inverse[0]);
        team.each(
            shares,
            #[inline(always)]
            |(mut x, lines): (Share<f32>, &[Row])| {
                for &line in lines {
                    let (lo, hi) = ends_of(line);
                    let (x, b, v) = (x.run(lo, hi), &b[lo..hi], &inverse[lo..hi]);
                    let n = x.len();
                    cut!(n; b, v);
                    for i in 0..n {
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
            plain,
            m,
            ..
        } = self;
        let m = *m;
        let [red, black] = x;
        let (mine, other) = if c == 0 { (red, &*black) } else { (black, &*red) };
        let shares = zip_plain(cuts.split(mine, HALF), lines, &plain[c], ends);
        let (b, inverse, coef) = (&b[c], &inverse[c], &*coef);
        team.each(
            shares,
            #[inline(always)]
            |(mut x, (lines, plain)): (Share<f32>, (&[Row], &[u8]))| {
                let mut new = [0.0; HALF];
                for (&line, plain) in lines.iter().zip(plain) {
                    let (lo, hi) = ends_of(line);
                    pull(&mut new, *plain, coef, other, c, line, m);
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
            plain,
            m,
            ..
        } = self;
        let m = *m;
        let shares = zip_plain(cuts.split(left, HALF), lines, &plain[0], ends);
        let (b, diag, coef, [red, black]) = (&b[0], &diag[0], &*coef, &*x);
        team.each(
            shares,
            #[inline(always)]
            |(mut left, (lines, plain)): (Share<f32>, (&[Row], &[u8]))| {
                let mut new = [0.0; HALF];
                for (&line, plain) in lines.iter().zip(plain) {
                    let (lo, hi) = ends_of(line);
                    pull(&mut new, *plain, coef, black, 0, line, m);
                    product(&mut new, &diag[lo..hi], &red[lo..hi]);
                    // Nothing is asked of what is no unknown.
                    missing(&mut new, &b[lo..hi], &diag[lo..hi]);
                    left.run(lo, hi).copy_from_slice(&new[..hi - lo]);
                }
            },
        );
    }

    /// `out = A x` on all lines; `x` is zero where there is no unknown.
    pub fn apply(&self, x: &Pair, out: &mut Pair, team: &Team) {
        let m = self.m;
        for c in 0..2 {
            let out = self.cuts.split(&mut out[c], HALF);
            let shares = zip_plain(out, &self.lines, &self.plain[c], &self.ends);
            let (mine, other, diag, coef) = (&x[c], &x[1 - c], &self.diag[c], &self.coef);
            team.each(
                shares,
                #[inline(always)]
                |(mut out, (lines, plain)): (Share<f32>, (&[Row], &[u8]))| {
                    let mut new = [0.0; HALF];
                    for (&line, plain) in lines.iter().zip(plain) {
                        let (lo, hi) = ends_of(line);
                        pull(&mut new, *plain, coef, other, c, line, m);
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
        fine.left.fill(0.0);
        let spans = self.covering(fine);
        self.coef
            .iter_mut()
            .flatten()
            .chain(&mut self.air)
            .for_each(|v| v.fill(0.0));
        self.set_lines(&spans, team.parts());
        let Level {
            coef,
            air,
            cuts,
            pieces,
            m,
            ..
        } = self;
        let m = *m;
        let [[xr, xb], [yr, yb], [zr, zb]] = coef;
        let [ar, ab] = air;
        let tasks = by_part([xr, xb, yr, yb, zr, zb, ar, ab].map(|v| cuts.split(v, HALF)))
            .into_iter()
            .zip(cuts.list(pieces, |piece| piece.0 as usize / BLOCK))
            .collect();
        let fine = &*fine;
        team.each(
            tasks,
            #[inline(always)]
            |(mut out, pieces): (Vec<Share<f32>>, &[Row])| {
                let mut flat = [[0f32; BLOCK + 1]; 4];
                for &piece in pieces {
                    let (lo, n) = (piece.0 as usize, (piece.1 - piece.0) as usize);
                    flat.iter_mut().for_each(|f| f[..n].fill(0.0));
                    for (r, start) in fine.rows_under(m, lo).into_iter().enumerate() {
                        // The first of an aggregate's pair has the colour of the pair's start.
                        let (one, two) = (compact(start), compact(start + 1));
                        add(&mut flat[0][..n], &fine.coef[0][one.0][one.1..one.1 + n]);
                        for (c, at) in [one, two] {
                            if r & 1 == 0 {
                                add(&mut flat[1][..n], &fine.coef[1][c][at..at + n]);
                            }
                            if r < 2 {
                                add(&mut flat[2][..n], &fine.coef[2][c][at..at + n]);
                            }
                            add(&mut flat[3][..n], &fine.air[c][at..at + n]);
                        }
                    }
                    for (field, flat) in flat.iter().enumerate() {
                        for c in 0..2 {
                            let (from, to) = of_colour(c, piece);
                            let to = out[2 * field + c].run(from, to);
                            pick_colour(flat, to, (lo ^ c) & 1);
                            to.iter_mut().for_each(|v| *v *= 0.5);
                        }
                    }
                }
            },
        );
        self.set_diagonal(team);
    }

    /// Where the pairs of fine cells under the coarse cell `c` (of a level with `m` padded cells) start in its four
    /// rows: the first, its neighbour along y, the two above.
    #[inline(always)]
    fn rows_under(&self, m: [usize; 3], c: usize) -> [usize; 4] {
        let (i, row) = (c % m[0] - PAD, c / m[0]);
        let (j, k) = (row % m[1] - PAD, row / m[1] - PAD);
        let (y, z) = (self.m[0], self.m[0] * self.m[1]);
        let first = 2 * i + PAD + y * (2 * j + PAD) + z * (2 * k + PAD);
        [first, first + y, first + z, first + y + z]
    }

    /// Per coarse row the span of aggregates that hold fine unknowns, in order.
    fn covering(&self, fine: &Level) -> Vec<Row> {
        let [mx, my, _] = self.m;
        let mut spans: Vec<Option<Row>> = vec![None; my * self.m[2]];
        for &(lo, hi) in &fine.pieces {
            let row = lo as usize / fine.m[0];
            let (j, k) = (row % fine.m[1] - PAD, row / fine.m[1] - PAD);
            let row_at = j / 2 + PAD + my * (k / 2 + PAD);
            let start = row * fine.m[0] + PAD;
            let of = |i: usize| (row_at * mx + PAD + i) as u32;
            let (lo, hi) = (
                of((lo as usize - start) / 2),
                of((hi as usize - start).div_ceil(2)),
            );
            let span = &mut spans[row_at];
            *span = Some(span.map_or((lo, hi), |(a, b)| (a.min(lo), b.max(hi))));
        }
        spans.into_iter().flatten().collect()
    }

    /// Right side from the residual that the finer level left.
    pub fn restrict(&mut self, fine: &Level, team: &Team) {
        let Level {
            b, cuts, pieces, m, ..
        } = self;
        let m = *m;
        let [red, black] = b;
        let tasks = cuts
            .split(red, HALF)
            .into_iter()
            .zip(cuts.split(black, HALF))
            .zip(cuts.list(pieces, |piece| piece.0 as usize / BLOCK))
            .collect();
        team.each(
            tasks,
            #[inline(always)]
            |((mut red, mut black), pieces): ((Share<f32>, Share<f32>), &[Row])| {
                let mut flat = [0f32; BLOCK + 1];
                for &piece in pieces {
                    let (lo, n) = (piece.0 as usize, (piece.1 - piece.0) as usize);
                    let [a, b, c, d] = fine.rows_under(m, lo).map(|start| {
                        // Only the red one of each pair has a residual.
                        let at = (start + 1) >> 1;
                        &fine.left[at..at + n]
                    });
                    let n = n.min(BLOCK);
                    let sum = &mut flat[..n];
                    cut!(n; a, b, c, d);
                    for i in 0..n {
                        sum[i] = (a[i] + b[i]) + (c[i] + d[i]);
                    }
                    for (c, to) in [&mut red, &mut black].into_iter().enumerate() {
                        let (from, end) = of_colour(c, piece);
                        pick_colour(&flat, to.run(from, end), (lo ^ c) & 1);
                    }
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
                for &line in lines.iter() {
                    let (lo, hi) = ends_of(line);
                    interleave(&x[0][lo..hi], &x[1][lo..hi], &mut flat[2 * lo..2 * hi]);
                }
            },
        );
    }

    /// Adds the coarse correction.
    pub fn correct(&mut self, coarse: &Level, team: &Team) {
        let Level {
            x,
            inverse,
            cuts,
            pieces,
            m,
            ..
        } = self;
        let (m, inverse) = (*m, &*inverse);
        let [red, black] = x;
        let tasks = cuts
            .split(red, HALF)
            .into_iter()
            .zip(cuts.split(black, HALF))
            .zip(cuts.list(pieces, |piece| piece.0 as usize / BLOCK))
            .collect();
        team.each(
            tasks,
            #[inline(always)]
            |((mut red, mut black), pieces): ((Share<f32>, Share<f32>), &[Row])| {
                for &piece in pieces {
                    let row = piece.0 as usize / m[0];
                    let start = row * m[0] + PAD;
                    let (j, k) = (row % m[1] - PAD, row / m[1] - PAD);
                    let above = PAD + coarse.m[0] * (j / 2 + PAD + coarse.m[1] * (k / 2 + PAD));
                    for (c, x) in [&mut red, &mut black].into_iter().enumerate() {
                        let (from, end) = of_colour(c, piece);
                        let first = above + (2 * from + c - start) / 2;
                        let coarse = &coarse.flat[first..first + end - from];
                        add_where(x.run(from, end), coarse, &inverse[c][from..end]);
                    }
                }
            },
        );
    }
}

/// The same with what is known of the lines.
fn zip_plain<'a, T>(
    shares: Vec<T>,
    lines: &'a [Row],
    plain: &'a [u8],
    ends: &[usize],
) -> Vec<(T, (&'a [Row], &'a [u8]))> {
    let starts = std::iter::once(0).chain(ends.iter().copied());
    shares
        .into_iter()
        .zip(starts.zip(ends))
        .map(|(share, (from, to))| (share, (&lines[from..*to], &plain[from..*to])))
        .collect()
}

/// Lists of shares by field, as lists of fields by share.
pub(crate) fn by_part<'a, const N: usize>(fields: [Vec<Share<'a, f32>>; N]) -> Vec<Vec<Share<'a, f32>>> {
    let mut parts: Vec<Vec<Share<f32>>> = Vec::new();
    for field in fields {
        for (part, share) in field.into_iter().enumerate() {
            if part == parts.len() {
                parts.push(Vec::with_capacity(N));
            }
            parts[part].push(share);
        }
    }
    parts
}

/// Pairs what each share writes with its lines.
fn zip_lines<'a, T>(shares: Vec<T>, lines: &'a [Row], ends: &[usize]) -> Vec<(T, &'a [Row])> {
    let starts = std::iter::once(0).chain(ends.iter().copied());
    shares
        .into_iter()
        .zip(starts.zip(ends))
        .map(|(share, (from, to))| (share, &lines[from..*to]))
        .collect()
}

#[inline(always)]
pub(crate) fn ends_of(line: Row) -> (usize, usize) {
    (line.0 as usize, line.1 as usize)
}

/// Six runs of a field beside the cells of a line: low and high along each axis.
type Six<'a> = [&'a [f32]; 6];

/// How far the neighbours of colour-`c` cells lie back and on among the other colour, for an odd index step.
#[inline(always)]
fn beside(c: usize, step: usize) -> (usize, usize) {
    (step.div_ceil(2) - c, step / 2 + c)
}

/// The coefficients of the six faces of a line's cells of colour `c`.
#[inline(always)]
fn hood<'a>(coef: &'a [Pair; 3], c: usize, line: Row, m: [usize; 3]) -> Six<'a> {
    let (lo, hi) = ends_of(line);
    let [x, y, z] = coef;
    let [east, north, up] = [1, m[0], m[0] * m[1]].map(|step| beside(c, step).1);
    [
        &x[c][lo..hi],
        &x[1 - c][lo + east..hi + east],
        &y[c][lo..hi],
        &y[1 - c][lo + north..hi + north],
        &z[c][lo..hi],
        &z[1 - c][lo + up..hi + up],
    ]
}

/// The six neighbours of a line's cells of colour `c`, all of the other colour.
#[inline(always)]
fn near(other: &[f32], c: usize, line: Row, m: [usize; 3]) -> Six<'_> {
    let (lo, hi) = ends_of(line);
    let [(west, east), (south, north), (down, up)] = [1, m[0], m[0] * m[1]].map(|step| beside(c, step));
    [
        &other[lo - west..hi - west],
        &other[lo + east..hi + east],
        &other[lo - south..hi - south],
        &other[lo + north..hi + north],
        &other[lo - down..hi - down],
        &other[lo + up..hi + up],
    ]
}

// The kernels below write into a buffer of their own, which the compiler sees to overlap nothing that is read, and
// cut all they read to one length, which spares it a check a cell. Without either it gives up on the lanes.

/// Where a kernel puts a line.
type Buffer = [f32; HALF];

/// Sum of coefficient times neighbour for the cells of colour `c` of a line; `other` holds the neighbours.
#[inline(always)]
fn pull(out: &mut Buffer, plain: u8, coef: &[Pair; 3], other: &[f32], c: usize, line: Row, m: [usize; 3]) {
    let near = near(other, c, line, m);
    let n = near[0].len().min(HALF);
    let [xw, xe, ys, yn, zd, zu] = near;
    cut!(n; xw, xe, ys, yn, zd, zu);
    if plain == 1 {
        for i in 0..n {
            out[i] = (xw[i] + xe[i]) + (ys[i] + yn[i]) + (zd[i] + zu[i]);
        }
        return;
    }
    let [xl, xh, yl, yh, zl, zh] = hood(coef, c, line, m);
    cut!(n; xl, xh, yl, yh, zl, zh);
    for i in 0..n {
        out[i] = (xl[i] * xw[i] + xh[i] * xe[i])
            + (yl[i] * ys[i] + yh[i] * yn[i])
            + (zl[i] * zd[i] + zh[i] * zu[i]);
    }
}

/// Whether every coefficient between two unknowns (cells with a diagonal) is 1.
#[inline(always)]
fn all_one(here: &[f32], (coef, diag): (Six, Six)) -> bool {
    let n = here.len().min(HALF);
    let here = &here[..n];
    let mut odd = 0u32;
    for (coef, diag) in coef.into_iter().zip(diag) {
        cut!(n; coef, diag);
        for i in 0..n {
            odd |= u32::from((coef[i] != 1.0) & (diag[i] > 0.0) & (here[i] > 0.0));
        }
    }
    odd == 0
}

/// From the pull of the neighbours to `x = v (b + pull)`.
#[inline(always)]
fn relax(pull: &mut Buffer, v: &[f32], b: &[f32]) {
    let n = v.len().min(HALF);
    cut!(n; v, b);
    for i in 0..n {
        pull[i] = v[i] * (b[i] + pull[i]);
    }
}

/// From the pull of the neighbours to `A x = d x − pull`, zero where there is no unknown.
#[inline(always)]
fn product(pull: &mut Buffer, d: &[f32], x: &[f32]) {
    let n = d.len().min(HALF);
    cut!(n; d, x);
    for i in 0..n {
        pull[i] = if d[i] > 0.0 { d[i] * x[i] - pull[i] } else { 0.0 };
    }
}

/// From `A x` to `b − A x`, where there is an unknown.
#[inline(always)]
fn missing(product: &mut Buffer, b: &[f32], d: &[f32]) {
    let n = b.len().min(HALF);
    cut!(n; b, d);
    for i in 0..n {
        product[i] = if d[i] > 0.0 { b[i] - product[i] } else { 0.0 };
    }
}

/// Lays a line of two colours out in natural order.
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

/// Adds to what has an inverse diagonal.
#[inline(always)]
fn add_where(to: &mut [f32], what: &[f32], inverse: &[f32]) {
    let n = to.len();
    cut!(n; what, inverse);
    for i in 0..n {
        to[i] += if inverse[i] > 0.0 { what[i] } else { 0.0 };
    }
}

/// Diagonal `d` from coefficients and air, and its inverse `v`.
#[inline(always)]
fn invert(d: &mut Buffer, v: &mut Buffer, air: &[f32], coef: Six) {
    let n = air.len().min(HALF);
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
