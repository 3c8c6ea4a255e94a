//! Where the work is: per row of cells the span that holds oil, grown by a few cells. Air beyond it costs
//! nothing, and every field is zero there.
//!
//! A row is short and a kernel takes a while to get going, so spans that lie close together in memory are worked on
//! as one run, with the few closed or dry cells between them. Runs end where blocks of memory do, so that threads can
//! share the blocks out and sums run by run do not depend on who took them.

use crate::grid::{Grid, LANES, PAD};
use crate::team::{BLOCK, Cuts, Share};

/// Cells by which `rows` reaches beyond the oil: two extrapolated layers and one to look at.
const REACH: usize = 3;
/// Spans with fewer cells between them are joined: about what a run costs beyond its cells.
const CLOSE: u32 = 64;

/// A run of cells, padded indices.
pub(crate) type Row = (u32, u32);

/// Spans of the rows that matter. All lists run in memory order.
#[derive(Default)]
pub(crate) struct Region {
    /// Spans that hold oil, one a row at most.
    pub wet: Vec<Row>,
    /// Grown by one cell, as runs: where oil can arrive in a sweep.
    pub near: Vec<Row>,
    /// Grown by three cells, as runs: where velocities live.
    pub rows: Vec<Row>,
    /// Shares of `rows` of like length, for the threads; in blocks.
    pub cuts: Cuts,
    /// Runs of the last rebuild, kept to tell what was left.
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
        if self.anywhere || self.grown.len() != table_length(grid) {
            for k in PAD..PAD + grid.n[2] {
                (PAD..PAD + grid.n[1]).for_each(|j| look(j + my * k));
            }
            self.anywhere = false;
        } else {
            for (r, _) in (0..).zip(&self.grown).filter(|(_, span)| span.lo < span.hi) {
                look(r);
            }
            sources.for_each(|c| look(c / mx));
        }
        std::mem::swap(&mut self.rows, &mut self.before);
        self.wet.clear();
        self.wet.extend(spans(grid, &self.table));
        grow(grid, &self.table, 1, &mut self.turned, &mut self.grown);
        join(spans(grid, &self.grown), 2 * LANES, BLOCK, &mut self.near);
        grow(grid, &self.table, REACH, &mut self.turned, &mut self.grown);
        join(spans(grid, &self.grown), 2 * LANES, BLOCK, &mut self.rows);
        self.cuts
            .balance(parts, grid.size() / BLOCK, weights(&self.rows, BLOCK));
        left_behind(&self.before, &self.rows, leave);
    }

    /// Shares of a field, each with its part of `rows`, one of the lists above.
    pub fn shares<'a, T>(&'a self, field: &'a mut [T], rows: &'a [Row]) -> Vec<(Share<'a, T>, &'a [Row])> {
        self.cuts
            .split(field, BLOCK)
            .into_iter()
            .zip(self.share_rows(rows))
            .collect()
    }

    /// The part of `rows` that falls to each share.
    pub fn share_rows<'a>(&'a self, rows: &'a [Row]) -> impl Iterator<Item = &'a [Row]> + use<'a> {
        self.cuts.list(rows, |row| row.0 as usize / BLOCK)
    }
}

/// Block and weight of each run of a list.
pub(crate) fn weights(runs: &[Row], block: usize) -> impl Iterator<Item = (usize, usize)> + Clone {
    runs.iter()
        .map(move |run| (run.0 as usize / block, (run.1 - run.0) as usize + CLOSE as usize))
}

/// Runs that cover `spans` (in memory order) in whole multiples of `whole` and end where blocks do.
pub(crate) fn join(spans: impl Iterator<Item = Row>, whole: usize, block: usize, out: &mut Vec<Row>) {
    out.clear();
    let (whole, block) = (whole as u32, block as u32);
    let mut cut = |(lo, hi): Row| {
        let mut from = lo;
        while from < hi {
            let to = hi.min((from / block + 1) * block);
            out.push((from, to));
            from = to;
        }
    };
    let mut run: Option<Row> = None;
    for (lo, hi) in spans {
        let (lo, hi) = (lo / whole * whole, hi.next_multiple_of(whole));
        run = match run {
            Some((from, to)) if lo <= to + CLOSE => Some((from, to.max(hi))),
            done => {
                done.into_iter().for_each(&mut cut);
                Some((lo, hi))
            }
        };
    }
    run.into_iter().for_each(cut);
}

fn table_length(grid: &Grid) -> usize {
    grid.m[1] * grid.m[2]
}

/// The spans of a table as padded indices.
fn spans<'a>(grid: &Grid, table: &'a [Span]) -> impl Iterator<Item = Row> + use<'a> {
    let mx = grid.m[0];
    table
        .iter()
        .enumerate()
        .filter(|(_, span)| span.lo < span.hi)
        .map(move |(r, span)| {
            let row = (r * mx) as u32;
            (row + span.lo, row + span.hi)
        })
}

fn grow(grid: &Grid, table: &[Span], by: usize, turned: &mut Vec<Span>, out: &mut Vec<Span>) {
    let (my, mz) = (grid.m[1], grid.m[2]);
    let (ny, nz) = (grid.n[1], grid.n[2]);
    let (lo_most, hi_most) = (PAD as u32, (PAD + grid.n[0]) as u32);
    let join = |a: Span, b: Span| Span {
        lo: a.lo.min(b.lo),
        hi: a.hi.max(b.hi),
    };
    turned.clear();
    turned.resize(my * mz, NONE);
    out.clear();
    out.resize(my * mz, NONE);
    for k in PAD..PAD + nz {
        for j in PAD..PAD + ny {
            turned[j + my * k] = (j - by..=j + by)
                .filter(|b| *b < PAD + ny)
                .map(|b| table[b + my * k])
                .fold(NONE, join);
        }
    }
    for k in PAD..PAD + nz {
        for j in PAD..PAD + ny {
            let span = (k - by..=k + by).map(|b| turned[j + my * b]).fold(NONE, join);
            if span.lo < span.hi {
                out[j + my * k] = Span {
                    lo: (span.lo - by as u32).max(lo_most),
                    hi: (span.hi + by as u32).min(hi_most),
                };
            }
        }
    }
}

/// Calls `leave` for the parts of `before` that `now` does not cover. Both lists run in memory order.
fn left_behind(before: &[Row], now: &[Row], mut leave: impl FnMut(usize, usize)) {
    let mut at = 0;
    for &(lo, hi) in before {
        let mut from = lo;
        while from < hi {
            while at < now.len() && now[at].1 <= from {
                at += 1;
            }
            let (start, end) = now.get(at).copied().unwrap_or((u32::MAX, u32::MAX));
            if start > from {
                leave(from as usize, start.min(hi) as usize);
            }
            from = end.max(from);
            if start >= hi {
                break;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn close_spans_become_one_run_and_far_ones_stay_apart() {
        let mut runs = Vec::new();
        join(
            [(5, 20), (70, 90), (300, 310), (500, 600)].into_iter(),
            16,
            512,
            &mut runs,
        );
        assert_eq!(runs, [(0, 96), (288, 320), (496, 512), (512, 608)]);
    }

    #[test]
    fn what_is_left_behind_is_told_once() {
        let mut left = Vec::new();
        let before = [(0, 100), (200, 300), (400, 500)];
        let now = [(20, 40), (60, 220), (280, 290), (500, 600)];
        left_behind(&before, &now, |lo, hi| left.push((lo, hi)));
        assert_eq!(left, [(0, 20), (40, 60), (220, 280), (290, 300), (400, 500)]);
    }
}
