//! The plan worked through once, with known durations.

use super::{Plan, PlanFault};

/// One way that it may go; lists by task.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Begin [s].
    pub start: Vec<f64>,
    /// End [s].
    pub end: Vec<f64>,
    /// What each waited for last: a task that it comes after, or the one that kept its person busy.
    pub cause: Vec<Option<usize>>,
}

impl Run {
    /// When all is done [s].
    pub fn ready(&self) -> f64 {
        self.end.iter().copied().fold(0.0, f64::max)
    }

    /// The chain that decides when all is done, last task first.
    pub fn chain(&self) -> Vec<usize> {
        let ready = self.ready();
        let mut chain: Vec<usize> = self.end.iter().position(|e| *e >= ready).into_iter().collect();
        while let Some(before) = chain.last().and_then(|&last| self.cause[last]) {
            chain.push(before);
        }
        chain
    }
}

impl Plan {
    /// Works the plan through with `durations` [s], one a task. Everyone begins what can be begun first; of two tasks at
    /// hand, the one with more behind it.
    pub fn run(&self, durations: &[f64]) -> Result<Run, PlanFault> {
        let n = self.tasks().len();
        let mut run = Run {
            start: vec![f64::NAN; n],
            end: vec![f64::NAN; n],
            cause: vec![None; n],
        };
        let mut free = vec![(0.0, None); self.people().len()];
        for _ in 0..n {
            let mut next: Option<(f64, usize, Option<usize>)> = None;
            for (i, task) in self.tasks().iter().enumerate() {
                // Not a number: not yet placed.
                if !run.end[i].is_nan() || task.after.iter().any(|&a| run.end[a].is_nan()) {
                    continue;
                }
                let mut from: (f64, Option<usize>) = (0.0, None);
                for &a in &task.after {
                    if from.1.is_none() || run.end[a] > from.0 {
                        from = (run.end[a], Some(a));
                    }
                }
                let start = match task.who {
                    None => from.0,
                    Some(p) => {
                        if free[p].0 > from.0 {
                            from = free[p];
                        }
                        (self.calendars[p].begins(from.0)).ok_or(PlanFault::NeverDone(i))?
                    }
                };
                let sooner = next.is_none_or(|(at, other, _)| {
                    start < at || start == at && self.behind[i] > self.behind[other]
                });
                if sooner {
                    next = Some((start, i, from.1));
                }
            }
            let (start, i, cause) = next.expect("a plan without a ring always has a task to begin");
            let end = match self.tasks()[i].who {
                None => start + durations[i],
                Some(p) => {
                    let done = self.calendars[p].done(start, durations[i]);
                    let done = done.ok_or(PlanFault::NeverDone(i))?;
                    free[p] = (done, Some(i));
                    done
                }
            };
            (run.start[i], run.end[i], run.cause[i]) = (start, end, cause);
        }
        Ok(run)
    }
}
