//! How long runs will take, from what this machine does with them.
//!
//! All runs are first computed whole with cells [`COARSER`] times as large, which costs a thirtieth: that tells how
//! many steps the motion takes, and how much dearer a step is in the thick of it than at the start. The dearness of a
//! step at the wanted size is then measured on the first [`SAMPLES`] samples of the very runs, as many of them at once
//! as will be computed at once, so that cores, memory and other programs count as they are.
//!
//! `seconds = steps(coarse) (H/h)^STEEPNESS · seconds a step (h) · dearness in the thick of it (coarse)`

use crate::failure::Failure;
use crate::runner::{Bench, Task};
use pan::{Lattice, Pan};
use rayon::prelude::*;
use slosh::run::Run;
use std::time::Instant;

/// Cells of the rehearsal over those of the run; smaller ones are tried where so large a cell sees nothing of the pan.
const COARSER: [f64; 3] = [2.4, 1.9, 1.5];

/// Wall time after which a rehearsal is broken off [s]; the steps of what it has not seen are taken as those of the rest.
const PATIENCE: f64 = 15.0;

/// Samples timed at the wanted size, after one that is not.
const SAMPLES: usize = 8;

/// Steps grow as the cell shrinks to this power: 1 where the fastest oil sets the step, 1/2 where waves do. Measured
/// on the worked examples from 24 mm to 8 mm.
const STEEPNESS: f64 = 0.9;

/// What a step costs at one cell size [s of wall time].
#[derive(Clone, Copy, Debug)]
pub struct Pace {
    /// Cell edge [m].
    pub cell: f64,
    /// With all runs at once.
    all: f64,
    /// With two of them at once.
    pair: f64,
}

/// Runs that come after the first ones: the same motion with other oil, two at a time.
#[derive(Clone, Copy, Debug, Default)]
pub struct Later {
    /// Twos of runs, at most.
    pub pairs: usize,
}

/// A rehearsal with large cells, ready to speak for smaller ones.
pub struct Forecast {
    coarse: Pace,
    /// Steps of all runs together.
    steps: f64,
    /// Cost of a step over the whole motion, relative to its start.
    thick: f64,
    /// Share of the longest run in all motion.
    longest: f64,
    later: Later,
}

impl Forecast {
    /// Rehearses `tasks` for cells of about `cell` [m], at most for a tenth of the wall time `allowed` [s].
    pub fn rehearse(
        pan: &Pan,
        bench: &Bench,
        tasks: &[Task],
        later: Later,
        cell: f64,
        allowed: Option<f64>,
    ) -> Result<Forecast, Failure> {
        let patience = allowed.map_or(PATIENCE, |s| PATIENCE.min(0.1 * s));
        let mut last = None;
        for ratio in COARSER {
            let lattice = match Lattice::build(pan, ratio * cell) {
                Ok(lattice) => lattice,
                Err(fault) => {
                    last = Some(fault.to_string());
                    continue;
                }
            };
            match rehearsed(&bench.on(&lattice), tasks, later, patience) {
                Ok(Ok(forecast)) => return Ok(forecast),
                Ok(Err(why)) => last = Some(why),
                Err(failure) => return Err(failure),
            }
        }
        Err(Failure::computing(
            format!(
                "how long it will take cannot be estimated: {}",
                last.unwrap_or_else(|| "nothing could be rehearsed".into())
            ),
            "state the size with --cell and leave --within out",
        ))
    }

    /// Measures what a step costs on this lattice; `None` when the runs cannot even begin: computing them will say why.
    pub fn pace(&self, bench: &Bench, tasks: &[Task]) -> Result<Option<Pace>, Failure> {
        Ok(paced(bench, tasks, self.later)?.ok())
    }

    /// Wall time of the first runs at a pace [s].
    pub fn first(&self, pace: &Pace) -> f64 {
        self.steps_at(pace.cell) * pace.all * self.thick
    }

    /// Wall time of the later runs at a pace [s], at most.
    pub fn later(&self, pace: &Pace) -> f64 {
        self.later.pairs as f64 * 2.0 * self.longest * self.steps_at(pace.cell) * pace.pair * self.thick
    }

    /// The pace at a size between or beyond the measured ones: a step costs `a + b / h³`.
    pub fn guess(&self, measured: Option<&Pace>, cell: f64) -> Pace {
        let between = |coarse: f64, fine: Option<f64>| {
            let cubes = |h: f64| h.powi(-3);
            let (far, at) = (cubes(self.coarse.cell), cubes(cell));
            match fine.zip(measured) {
                Some((fine, pace)) => {
                    let slope = (fine - coarse) / (cubes(pace.cell) - far);
                    (coarse + slope * (at - far)).max(0.2 * coarse)
                }
                None => coarse * at / far,
            }
        };
        Pace {
            cell,
            all: between(self.coarse.all, measured.map(|p| p.all)),
            pair: between(self.coarse.pair, measured.map(|p| p.pair)),
        }
    }

    fn steps_at(&self, cell: f64) -> f64 {
        self.steps * (self.coarse.cell / cell).powf(STEEPNESS)
    }
}

/// The outer fault ends the command, the inner one says why these cells will not do.
fn rehearsed(
    bench: &Bench,
    tasks: &[Task],
    later: Later,
    patience: f64,
) -> Result<Result<Forecast, String>, Failure> {
    let coarse = match paced(bench, tasks, later)? {
        Ok(pace) => pace,
        Err(why) => return Ok(Err(why)),
    };
    let begun = Instant::now();
    let seen: Result<Vec<(u64, f64)>, String> = tasks
        .par_iter()
        .map(|task| {
            let mut run = Run::start(bench.inputs(task, tasks.len())).map_err(|fault| fault.to_string())?;
            while !run.finished() && !bench.stop.asked() && begun.elapsed().as_secs_f64() < patience {
                run.advance().map_err(|fault| fault.to_string())?;
            }
            Ok((run.steps(), run.time() - task.start))
        })
        .collect();
    let wall = begun.elapsed().as_secs_f64();
    if bench.stop.asked() {
        return Err(Failure::Stopped);
    }
    let seen = match seen {
        Ok(seen) => seen,
        Err(why) => return Ok(Err(why)),
    };
    let taken = seen.iter().map(|(steps, _)| *steps).sum::<u64>() as f64;
    let motion: f64 = seen.iter().map(|(_, motion)| *motion).sum();
    if !(taken > 0.0 && motion > 0.0) {
        return Ok(Err("the rehearsal came to nothing".to_string()));
    }
    let lengths = tasks.iter().map(|task| task.end - task.start);
    let all: f64 = lengths.clone().sum();
    Ok(Ok(Forecast {
        coarse,
        steps: taken * all / motion,
        thick: (wall / taken / coarse.all).clamp(0.5, 5.0),
        longest: lengths.fold(0.0, f64::max) / all,
        later,
    }))
}

fn paced(bench: &Bench, tasks: &[Task], later: Later) -> Result<Result<Pace, String>, Failure> {
    let all = match timed(bench, tasks)? {
        Ok(seconds) => seconds,
        Err(why) => return Ok(Err(why)),
    };
    let pair = if later.pairs == 0 || tasks.len() == 2 {
        all
    } else {
        let two = [tasks[0].clone(), tasks[0].clone()];
        match timed(bench, &two)? {
            Ok(seconds) => seconds,
            Err(why) => return Ok(Err(why)),
        }
    };
    Ok(Ok(Pace {
        cell: bench.lattice.cell,
        all,
        pair,
    }))
}

/// Wall time of a step with these runs at once [s], from their first samples.
fn timed(bench: &Bench, tasks: &[Task]) -> Result<Result<f64, String>, Failure> {
    let started: Result<Vec<Run>, String> = tasks
        .par_iter()
        .map(|task| {
            let mut run = Run::start(bench.inputs(task, tasks.len())).map_err(|fault| fault.to_string())?;
            run.advance().map_err(|fault| fault.to_string())?;
            Ok(run)
        })
        .collect();
    let mut runs = match started {
        Ok(runs) => runs,
        Err(why) => return Ok(Err(why)),
    };
    let before: u64 = runs.iter().map(Run::steps).sum();
    let begun = Instant::now();
    let done: Result<(), String> = runs.par_iter_mut().try_for_each(|run| {
        for _ in 0..SAMPLES {
            if run.finished() || bench.stop.asked() {
                break;
            }
            run.advance().map_err(|fault| fault.to_string())?;
        }
        Ok(())
    });
    if bench.stop.asked() {
        return Err(Failure::Stopped);
    }
    if let Err(why) = done {
        return Ok(Err(why));
    }
    let steps = runs.iter().map(Run::steps).sum::<u64>() - before;
    if steps == 0 {
        return Ok(Err("the stretch is too short to be timed".into()));
    }
    Ok(Ok(begun.elapsed().as_secs_f64() / steps as f64))
}
