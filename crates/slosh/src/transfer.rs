//! Between a level of the multigrid cycle and the next coarser one: its matrix, its right side, and its correction back.

use crate::grid::PAD;
use crate::kernels::{HALF, add, add_where, compact, ends_of, interleave, of_colour, pick_colour};
use crate::level::{Level, by_part};
use crate::region::Row;
use crate::team::{BLOCK, Share, Team, cut};

impl Level {
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
