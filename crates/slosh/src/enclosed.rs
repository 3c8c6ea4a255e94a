//! Bodies of oil that no face connects to air: their pressure has a free constant.
//!
//! Runs of cells along x are joined where pressure passes between them; a body is enclosed when none of its
//! cells has air beside it. Hardly any oil ever is, so finding that there is none must cost little.

use crate::grid::Grid;
use crate::kernels::{Pair, compact};
use crate::region::Row;

/// The enclosed bodies of the present oil.
#[derive(Default)]
pub(crate) struct Bodies {
    runs: Vec<Row>,
    /// Where the runs of each row of spans begin.
    first: Vec<(u32, u32)>,
    parent: Vec<u32>,
    open: Vec<bool>,
    enclosed: Vec<Vec<u32>>,
}

impl Bodies {
    /// Finds the bodies; `coef` couples cells, `airy` says whether a cell has air beside it.
    pub fn find(
        &mut self,
        grid: &Grid,
        spans: &[Row],
        liquid: &[u8],
        coef: &[Vec<f32>; 3],
        airy: impl Fn(usize) -> bool,
    ) {
        self.enclosed.clear();
        self.runs.clear();
        self.first.clear();
        for &(lo, hi) in spans {
            let row = lo / grid.m[0] as u32;
            self.first.push((row, self.runs.len() as u32));
            let mut from = lo;
            for c in lo + 1..=hi {
                if c == hi || coef[0][c as usize] == 0.0 {
                    if liquid[from as usize] == 1 {
                        self.runs.push((from, c));
                    }
                    from = c;
                }
            }
        }
        let count = self.runs.len() as u32;
        self.first.push((u32::MAX, count));
        self.parent.clear();
        self.parent.extend(0..count);
        let my = grid.m[1] as u32;
        for a in 1..3 {
            let back = if a == 1 { 1 } else { my };
            let mut behind = 0;
            for at in 0..self.first.len() - 1 {
                let (row, start) = self.first[at];
                let end = self.first[at + 1].1;
                while self.first[behind].0 + back < row {
                    behind += 1;
                }
                if self.first[behind].0 + back == row {
                    let (from, to) = (self.first[behind].1, self.first[behind + 1].1);
                    self.join_rows(grid.stride[a] as u32, &coef[a], (start, end), (from, to));
                }
            }
        }
        self.open.clear();
        self.open.resize(count as usize, false);
        for run in 0..count {
            let root = self.root(run) as usize;
            if !self.open[root] {
                let (lo, hi) = self.runs[run as usize];
                self.open[root] = (lo..hi).any(|c| airy(c as usize));
            }
        }
        for run in 0..count {
            let root = self.root(run);
            if self.open[root as usize] {
                continue;
            }
            let (lo, hi) = self.runs[run as usize];
            let first = self.runs[root as usize].0;
            // The least run of a body is its root, so a body is begun before its other runs come.
            if root == run {
                self.enclosed.push((lo..hi).collect());
            } else if let Some(body) = self.enclosed.iter_mut().find(|b| b[0] == first) {
                body.extend(lo..hi);
            }
        }
    }

    /// Joins the runs of a row with those of the row behind it, `s` cells back, where `coef` couples them.
    fn join_rows(&mut self, s: u32, coef: &[f32], here: (u32, u32), behind: (u32, u32)) {
        let mut b = behind.0;
        for run in here.0..here.1 {
            let (lo, hi) = self.runs[run as usize];
            while b < behind.1 && self.runs[b as usize].1 + s <= lo {
                b += 1;
            }
            let mut other = b;
            while other < behind.1 && self.runs[other as usize].0 + s < hi {
                let (from, to) = self.runs[other as usize];
                let common = (from + s).max(lo) as usize..(to + s).min(hi) as usize;
                let (one, two) = (self.root(run), self.root(other));
                if one != two && coef[common].iter().any(|c| *c > 0.0) {
                    self.parent[one.max(two) as usize] = one.min(two);
                }
                other += 1;
            }
        }
    }

    fn root(&mut self, run: u32) -> u32 {
        let mut at = run;
        while self.parent[at as usize] != at {
            let up = self.parent[self.parent[at as usize] as usize];
            self.parent[at as usize] = up;
            at = up;
        }
        at
    }

    /// Makes the right side of enclosed oil sum to zero, spread by open volume: what cannot be pressed out
    /// stays as fill.
    pub fn balance(&self, grid: &Grid, b: &mut Pair) {
        for body in &self.enclosed {
            let cells = || {
                body.iter()
                    .map(|c| (compact(*c as usize), grid.volume[*c as usize]))
            };
            let sum: f64 = cells().map(|((colour, at), _)| f64::from(b[colour][at])).sum();
            let room: f64 = cells().map(|(_, volume)| volume).sum();
            for ((colour, at), volume) in cells() {
                b[colour][at] -= (sum * volume / room) as f32;
            }
        }
    }

    /// Fixes the free constant: the least pressure of enclosed oil is that of the air.
    pub fn settle(&self, q: &mut Pair) {
        for body in &self.enclosed {
            let cells = || body.iter().map(|c| compact(*c as usize));
            let least = cells()
                .map(|(colour, at)| q[colour][at])
                .fold(f32::INFINITY, f32::min);
            for (colour, at) in cells() {
                q[colour][at] -= least;
            }
        }
    }
}
