//! One level of the multigrid cycle: its matrix, its unknowns, and the passes over them (see
//! [`crate::multigrid`] for the layout).

use crate::grid::{LANES, field_length, padded};
use crate::kernels::{HALF, Pair, all_one, ends_of, hood, invert, missing, near, product, pull, relax};
use crate::region::{Row, join, weights};
use crate::team::{BLOCK, Cuts, Share, Team, cut};

/// Levels with fewer unknowns are not worth sharing among threads.
const WORTH_SHARING: usize = 3000;

/// Colour of a cell.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Colour {
    Red = 0,
    Black = 1,
}

/// One level.
pub(crate) struct Level {
    /// Cells with ghosts.
    pub m: [usize; 3],
    /// Coefficient of the low face along each axis.
    pub coef: [Pair; 3],
    /// What the diagonal holds beyond the coefficients: faces toward air.
    pub air: Pair,
    pub diag: Pair,
    pub inverse: Pair,
    pub x: Pair,
    pub b: Pair,
    /// Residual of the red cells; that of the black ones is zero after their sweep.
    pub left: Vec<f32>,
    /// `x` in natural order, for the finer level.
    pub flat: Vec<f32>,
    /// Cells of each row that hold unknowns, cut where blocks end.
    pub pieces: Vec<Row>,
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
        let mut plain = std::mem::take(&mut self.plain);
        let (coef, diag, m) = (&self.coef, &self.diag, self.m);
        for (c, plain) in plain.iter_mut().enumerate() {
            team.each(
                self.share_lines(plain),
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
        self.plain = plain;
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
        let shares = zip_lines(zip_lines(cuts.split(mine, HALF), lines, ends), &plain[c], ends);
        let (b, inverse, coef) = (&b[c], &inverse[c], &*coef);
        team.each(
            shares,
            #[inline(always)]
            |((mut x, lines), plain): ((Share<f32>, &[Row]), &[u8])| {
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
        let shares = zip_lines(zip_lines(cuts.split(left, HALF), lines, ends), &plain[0], ends);
        let (b, diag, coef, [red, black]) = (&b[0], &diag[0], &*coef, &*x);
        team.each(
            shares,
            #[inline(always)]
            |((mut left, lines), plain): ((Share<f32>, &[Row]), &[u8])| {
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
            let shares = zip_lines(
                zip_lines(out, &self.lines, &self.ends),
                &self.plain[c],
                &self.ends,
            );
            let (mine, other, diag, coef) = (&x[c], &x[1 - c], &self.diag[c], &self.coef);
            team.each(
                shares,
                #[inline(always)]
                |((mut out, lines), plain): ((Share<f32>, &[Row]), &[u8])| {
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
}

/// Pairs what each share writes with its part of a list with an entry a line; `ends` says where the parts end.
fn zip_lines<'a, T, L>(shares: Vec<T>, list: &'a [L], ends: &[usize]) -> Vec<(T, &'a [L])> {
    let starts = std::iter::once(0).chain(ends.iter().copied());
    shares
        .into_iter()
        .zip(starts.zip(ends))
        .map(|(share, (from, to))| (share, &list[from..*to]))
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
