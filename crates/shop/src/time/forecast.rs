//! The plan worked through many times with durations drawn from their triangles.

use super::{DAY, Plan, PlanFault};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

/// So often unless told otherwise: a chance is then known to half a percent at worst (one standard error).
pub const RUNS: usize = 10_000;

/// So many of them tell what a day's delay does.
const DELAYED: usize = 1_000;

/// The same draws every time: same plan in, same numbers out.
const SEED: u64 = 7;

/// How it will go.
#[derive(Clone, Debug, PartialEq)]
pub struct Forecast {
    /// How often it was worked through.
    pub runs: usize,
    /// Chance that all is done before the day of the event begins.
    pub chance: f64,
    /// Standard error of that chance: `√(p (1 - p)/n)`.
    pub error: f64,
    /// When all is done [s]: with a chance of 10, 50 and 90 %.
    pub ready: [f64; 3],
    /// Mean of that [s].
    pub mean: f64,
    /// One a task.
    pub tasks: Vec<TaskForecast>,
}

/// How one task will go.
#[derive(Clone, Debug, PartialEq)]
pub struct TaskForecast {
    /// Begin [s]: 10, 50 and 90 % of the runs begin no later.
    pub start: [f64; 3],
    /// End [s], likewise.
    pub end: [f64; 3],
    /// Share of the runs in which it lies on the chain that decides.
    pub decides: f64,
    /// How much later all is done on the mean when it takes a day longer [s]: a working day of who does it, a day of the
    /// clock when nobody does.
    pub delay: f64,
}

impl Plan {
    /// Works it through `runs` times (at least once).
    pub fn forecast(&self, runs: usize) -> Result<Forecast, PlanFault> {
        let runs = runs.max(1);
        let n = self.tasks().len();
        let deadline = self.opening().event.since(self.opening().start) as f64 * DAY;
        let mut dice = ChaCha8Rng::seed_from_u64(SEED);
        let mut ready = Vec::with_capacity(runs);
        let (mut start, mut end) = (
            vec![Vec::with_capacity(runs); n],
            vec![Vec::with_capacity(runs); n],
        );
        let mut decides = vec![0_usize; n];
        let mut delays = vec![0.0; n];
        let delayed = runs.min(DELAYED);
        for r in 0..runs {
            let mut drawn: Vec<f64> = (self.tasks().iter())
                .map(|t| t.duration.at(inside(&mut dice)))
                .collect();
            let run = self.run(&drawn)?;
            ready.push(run.ready());
            for i in 0..n {
                start[i].push(run.start[i]);
                end[i].push(run.end[i]);
            }
            for i in run.chain() {
                decides[i] += 1;
            }
            if r < delayed {
                for i in 0..n {
                    let kept = drawn[i];
                    drawn[i] += self.day(i);
                    delays[i] += self.run(&drawn)?.ready() - run.ready();
                    drawn[i] = kept;
                }
            }
        }
        let count = runs as f64;
        let chance = ready.iter().filter(|r| **r <= deadline).count() as f64 / count;
        let mean = ready.iter().sum::<f64>() / count;
        Ok(Forecast {
            runs,
            chance,
            error: (chance * (1.0 - chance) / count).sqrt(),
            ready: points(&mut ready),
            mean,
            tasks: (0..n)
                .map(|i| TaskForecast {
                    start: points(&mut start[i]),
                    end: points(&mut end[i]),
                    decides: decides[i] as f64 / count,
                    delay: delays[i] / delayed as f64,
                })
                .collect(),
        })
    }

    /// A day of a task [s].
    fn day(&self, task: usize) -> f64 {
        let hours = |p: usize| self.people()[p].hours.unwrap_or(self.opening().hours);
        self.tasks()[task].who.map_or(DAY, hours)
    }
}

/// A number above 0 and below 1.
fn inside(dice: &mut ChaCha8Rng) -> f64 {
    ((dice.next_u64() >> 12) as f64 + 0.5) / 2f64.powi(52)
}

/// What 10, 50 and 90 % of the values do not exceed.
fn points(values: &mut [f64]) -> [f64; 3] {
    values.sort_by(f64::total_cmp);
    [0.1, 0.5, 0.9].map(|share| {
        let place = (share * values.len() as f64).ceil() as usize;
        values[place.clamp(1, values.len()) - 1]
    })
}
