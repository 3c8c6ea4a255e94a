//! Who does the work: threads share the blocks of a pass, and each uses the widest lanes the machine has.
//!
//! No answer depends on either. Fields are cut where blocks end, each share is written by one thread, and sums are
//! taken run by run in order; lanes only do side by side what a plain loop does one by one (nothing is fused
//! or reordered), so every path gives the same bits.

use crate::SloshFault;
use crate::crew::Crew;
use std::sync::Mutex;

/// Lanes and threads of one solver.
pub(crate) struct Team {
    crew: Crew,
    parts: usize,
    lanes: pulp::Arch,
}

impl Team {
    /// `threads` of at least 1; `plain` keeps to the instructions that every machine has.
    pub fn new(threads: usize, plain: bool) -> Result<Team, SloshFault> {
        let parts = threads.max(1);
        let crew = Crew::new(parts).map_err(|_| SloshFault::Input {
            what: "number of threads",
            value: threads as f64,
            must: "one that this machine can start",
        })?;
        let lanes = if plain {
            pulp::Arch::Scalar
        } else {
            pulp::Arch::new()
        };
        Ok(Team { crew, parts, lanes })
    }

    /// Number of shares that a pass is cut into.
    pub fn parts(&self) -> usize {
        self.parts
    }

    /// Does `work` on every share. `work` must be `#[inline(always)]` down to its loops to get the lanes.
    #[inline]
    pub fn each<T: Send>(&self, shares: Vec<T>, work: impl Fn(T) + Sync) {
        if shares.len() < 2 || self.parts == 1 {
            for share in shares {
                self.lanes.dispatch(
                    #[inline(always)]
                    || work(share),
                );
            }
            return;
        }
        let shares: Vec<_> = shares.into_iter().map(|share| Mutex::new(Some(share))).collect();
        self.crew.run(shares.len(), &|part| {
            let share = shares[part].lock().ok().and_then(|mut share| share.take());
            let share = share.expect("each part is asked for once");
            self.lanes.dispatch(
                #[inline(always)]
                || work(share),
            );
        });
    }

    /// Does `work` here, with the lanes.
    #[inline]
    pub fn alone<R>(&self, work: impl FnOnce() -> R) -> R {
        self.lanes.dispatch(work)
    }
}

/// Cells of a field that are never parted between threads, and that a kernel works on at a time at most; half as many
/// of a field of one colour.
pub(crate) const BLOCK: usize = 512;

/// Where a pass is cut: block numbers, from 0 to the number of blocks, non-decreasing.
#[derive(Clone, Default)]
pub(crate) struct Cuts(Vec<usize>);

impl Cuts {
    /// Cuts `whole` blocks into `parts` of like weight. `work` yields (block number, weight) in order.
    pub fn balance(
        &mut self,
        parts: usize,
        whole: usize,
        work: impl Iterator<Item = (usize, usize)> + Clone,
    ) {
        let total: usize = work.clone().map(|(_, weight)| weight).sum();
        self.0.clear();
        self.0.push(0);
        let mut done = 0;
        for (block, weight) in work {
            // A block goes to the share that the middle of its first piece falls into.
            while self.0.len() < parts && (2 * done + weight) * parts > 2 * total * self.0.len() {
                self.0.push(block);
            }
            done += weight;
        }
        self.0.resize(parts, whole);
        self.0.push(whole);
    }

    /// Shares of a field with blocks of `block` cells.
    pub fn split<'a, T>(&self, field: &'a mut [T], block: usize) -> Vec<Share<'a, T>> {
        let mut rest = field;
        let mut shares = Vec::with_capacity(self.0.len());
        for ends in self.0.windows(2) {
            let (mine, left) = rest.split_at_mut((ends[1] - ends[0]) * block);
            shares.push(Share {
                first: ends[0] * block,
                cells: mine,
            });
            rest = left;
        }
        shares
    }

    /// The members of each share in a list sorted by place, whose block `block` tells.
    pub fn list<'a, T>(
        &'a self,
        list: &'a [T],
        block: impl Fn(&T) -> usize + 'a,
    ) -> impl Iterator<Item = &'a [T]> {
        self.0.windows(2).map(move |ends| {
            let from = list.partition_point(|x| block(x) < ends[0]);
            let to = list.partition_point(|x| block(x) < ends[1]);
            &list[from..to]
        })
    }
}

/// Cuts slices to one length that the compiler can see, which spares a kernel a check a cell.
macro_rules! cut {
    ($n:expr; $($slice:ident),+) => { $(let $slice = &$slice[..$n];)+ };
}
pub(crate) use cut;

/// A run of a field that one thread may write.
pub(crate) struct Share<'a, T> {
    /// Index of the first cell in the whole field.
    pub first: usize,
    pub cells: &'a mut [T],
}

impl<T> Share<'_, T> {
    /// Cells `lo..hi` of the whole field.
    #[inline(always)]
    pub fn run(&mut self, lo: usize, hi: usize) -> &mut [T] {
        &mut self.cells[lo - self.first..hi - self.first]
    }
}
