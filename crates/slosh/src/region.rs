//! Where the work is: per row of cells the span that holds oil, grown by a few cells. Air beyond it costs
//! nothing, and every field is zero there.

use crate::grid::{Grid, LANES, PAD};
use crate::team::{Cuts, Share};

/// Cells by which `rows` reaches beyond the oil: two extrapolated layers and one to look at.
const REACH: usize = 3;

/// A run of cells of one row, padded indices.
pub(crate) type Row = (u32, u32);

/// Spans of the rows that matter. All lists run in memory order.
#[derive(Default)]
pub(crate) struct Region {
    /// Spans that hold oil.
    pub wet: Vec<Row>,
    /// Grown by one cell and to whole lanes: where oil can arrive in a sweep.
    pub near: Vec<Row>,
    /// Grown by three cells and to whole lanes: where velocities live.
    pub rows: Vec<Row>,
    /// Shares of `rows` of like length, for the threads.
    pub cuts: Cuts,
    /// Rows of the last rebuild, kept to tell what was left.
    before: Vec<Row>,
    table: Vec<Span>,
    grown: Vec<Span>,
    turned: Vec<Span>,
    /// Oil may lie anywhere: look at every row.
    anywhere: bool,
}

/// Half-open range of i in one row; empty when `lo >= hi`.
#[derive(Clone, Copy, PartialEq)]
struct Span {
    lo: u32,
    hi: u32,
}

const NONE: Span = Span { lo: u32::MAX, hi: 0 };

impl Region {
    /// Says that oil was put somewhere by hand.
    pub fn search_all(&mut self) {
        self.anywhere = true;
    }

    /// Finds the oil anew, in `parts` shares. Looks where it can have come to since the last time and at the
    /// cells of `sources`. `leave` is called for each run of cells that dropped out of `rows`.
    pub fn rebuild(
        &mut self,
        grid: &Grid,
        f: &[f64],
        sources: impl Iterator<Item = usize>,
        parts: usize,
        leave: impl FnMut(usize, usize),
    ) {
        let (mx, my) = (grid.m[0], grid.m[1]);
        self.table.clear();
        self.table.resize(my * grid.m[2], NONE);
        let table = &mut self.table;
        let mut look = |r: usize| {
            let row = mx * r;
            let cells = &f[row + PAD..row + PAD + grid.n[0]];
            // A poisoned cell is not equal to zero either, so it is seen and refused later.
            if let Some(first) = cells.iter().position(|v| *v != 0.0) {
                let last = cells.iter().rposition(|v| *v != 0.0).unwrap_or(first);
                table[r] = Span {
                    lo: (first + PAD) as u32,
                    hi: (last + PAD + 1) as u32,
                };
            }
        };
        if self.anywhere {
            for k in PAD..PAD + grid.n[2] {
                (PAD..PAD + grid.n[1]).for_each(|j| look(j + my * k));
            }
            self.anywhere = false;
        } else {
            self.rows.iter().for_each(|row| look(row.0 as usize / mx));
            sources.for_each(|c| look(c / mx));
        }
        std::mem::swap(&mut self.rows, &mut self.before);
        list(grid, &self.table, &mut self.wet);
        grow(grid, &self.table, 1, &mut self.turned, &mut self.grown);
        list(grid, &self.grown, &mut self.near);
        grow(grid, &self.table, REACH, &mut self.turned, &mut self.grown);
        list(grid, &self.grown, &mut self.rows);
        let weights = self
            .rows
            .iter()
            .map(|row| (row.0 as usize / mx, (row.1 - row.0) as usize + 4));
        self.cuts.balance(parts, my * grid.m[2], weights);
        left_behind(&self.before, &self.rows, mx, leave);
    }

    /// Shares of a field, each with its part of `rows`, one of the lists above.
    pub fn shares<'a, T>(
        &'a self,
        field: &'a mut [T],
        rows: &'a [Row],
        grid: &Grid,
    ) -> Vec<(Share<'a, T>, &'a [Row])> {
        self.cuts
            .split(field, grid.m[0])
            .into_iter()
            .zip(self.share_rows(rows, grid))
            .collect()
    }

    /// The part of `rows` that falls to each share.
    pub fn share_rows<'a>(
        &'a self,
        rows: &'a [Row],
        grid: &Grid,
    ) -> impl Iterator<Item = &'a [Row]> + use<'a> {
        let mx = grid.m[0];
        self.cuts.list(rows, move |row| row.0 as usize / mx)
    }
}
fn list(grid: &Grid, table: &[Span], out: &mut Vec<Row>) {
    out.clear();
    for (r, span) in table.iter().enumerate() {
        if span.lo < span.hi {
            let row = (r * grid.m[0]) as u32;
            out.push((row + span.lo, row + span.hi));
        }
    }
}

fn grow(grid: &Grid, table: &[Span], by: usize, turned: &mut Vec<Span>, out: &mut Vec<Span>) {
    let (my, mz) = (grid.m[1], grid.m[2]);
    // Whole lanes of both colours; what lies beyond the last cell stays empty.
    let whole = 2 * LANES as u32;
    let (lo_most, hi_most) = (PAD as u32, (PAD + grid.n[0]) as u32);
    let join = |a: Span, b: Span| Span {
        lo: a.lo.min(b.lo),
        hi: a.hi.max(b.hi),
    };
    turned.clear();
    turned.resize(table.len(), NONE);
    out.clear();
    out.resize(table.len(), NONE);
    for k in PAD..mz - PAD {
        for j in PAD..my - PAD {
            turned[j + my * k] = (j - by..=j + by).map(|b| table[b + my * k]).fold(NONE, join);
        }
    }
    for k in PAD..mz - PAD {
        for j in PAD..my - PAD {
            let span = (k - by..=k + by).map(|b| turned[j + my * b]).fold(NONE, join);
            if span.lo < span.hi {
                out[j + my * k] = Span {
                    lo: (span.lo - by as u32).max(lo_most) / whole * whole,
                    hi: (span.hi + by as u32).min(hi_most).next_multiple_of(whole),
                };
            }
        }
    }
}

/// Calls `leave` for the parts of `before` that `now` does not cover. Both lists hold at most one run a row.
fn left_behind(before: &[Row], now: &[Row], mx: usize, mut leave: impl FnMut(usize, usize)) {
    let mut at = 0;
    for &(lo, hi) in before {
        let row = lo as usize / mx;
        while at < now.len() && (now[at].0 as usize / mx) < row {
            at += 1;
        }
        let (lo, hi) = (lo as usize, hi as usize);
        if at < now.len() && now[at].0 as usize / mx == row {
            let (a, b) = (now[at].0 as usize, now[at].1 as usize);
            if lo < a {
                leave(lo, hi.min(a));
            }
            if b < hi {
                leave(lo.max(b), hi);
            }
        } else {
            leave(lo, hi);
        }
    }
}
