//! Before anything is computed: which cells, how long it will take, and the coarser cells of a grid study.

use crate::cli::Computing;
use crate::failure::Failure;
use crate::forecast::{Forecast, Later, Pace};
use crate::preparation::{Gridded, Prepared};
use crate::progress::spoken;
use crate::runner::{Bench, Task};
use crate::sizes::{Load, Size};
use crate::store::atomic;
use crate::{refine, terminal};
use measure::{Dimension, show};
use pan::Lattice;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// Smallest and largest cell that is taken to fit a time [m]. Larger ones blur a usual mouth and doors; smaller ones
/// resolve what the pan's drawing does not hold.
const FITTED: (f64, f64) = (2e-3, 12e-3);

/// The estimate may err by this share; so much of the time allowed is left free.
const MARGIN: f64 = 0.15;

/// Times that a size is proposed, measured and corrected.
const TRIES: usize = 4;

/// What is going to be computed.
pub struct Wish<'a> {
    /// The design.
    pub prepared: &'a Prepared,
    /// What the user said of cells and time.
    pub computing: &'a Computing,
    /// Name of the first runs.
    pub what: &'a str,
    /// The first runs.
    pub tasks: &'a [Task],
    /// What comes after them, and its name.
    pub later: (Later, &'a str),
    /// What is held in memory at once.
    pub load: Load,
}

/// The lattices to compute on.
pub struct Plan {
    /// The one that the answer is read from.
    pub gridded: Gridded,
    /// Coarser ones, for a grid study; finer first.
    pub coarser: Vec<Gridded>,
}

/// A size chosen for a time, kept so that the same command goes on with it after a stop.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct Kept {
    cell: f64,
    why: String,
}

impl Computing {
    /// Grids that a study wants, the finest one counted; 1 without a study.
    pub fn grids(&self) -> usize {
        self.refine.map_or(1, usize::from)
    }

    /// Wall time that the user allows [s].
    pub fn allowed(&self) -> Result<Option<f64>, Failure> {
        let Some(text) = &self.within else { return Ok(None) };
        let seconds = measure::read(text, Dimension::Time).map_err(|fault| {
            Failure::input(
                fault.what(),
                "--within",
                "write it for instance as \"5 min\" or \"2 h\"",
            )
        })?;
        if (1.0..=1e7).contains(&seconds) {
            Ok(Some(seconds))
        } else {
            Err(Failure::input(
                format!("{text} is no time to compute in"),
                "--within",
                "state something from 1 s to 100 days, such as \"5 min\"",
            ))
        }
    }
}

impl Prepared {
    /// The size to begin with: stated, or what the pan asks for, with room for the coarser cells of a study.
    pub fn first_size(&self, computing: &Computing) -> Result<Size, Failure> {
        let size = self.size(computing.cell.as_deref())?;
        if computing.cell.is_some() || computing.grids() == 1 {
            return Ok(size);
        }
        Ok(refine::with_room(&self.design.pan, size, computing.grids()))
    }
}

impl Wish<'_> {
    /// Chooses the cells, says how long it will take, and builds the lattices. `bench` is on the lattice of
    /// [`Prepared::first_size`], `first`.
    pub fn plan(&self, bench: &Bench, first: &Gridded) -> Result<Plan, Failure> {
        let pan = &self.prepared.design.pan;
        let grids = self.computing.grids();
        let allowed = self.computing.allowed()?;
        let mut gridded = first.clone();
        if let Some(allowed) = allowed {
            let size = self.fitted(bench, allowed)?;
            gridded = self.prepared.grid(size)?;
        }
        let sizes = refine::coarser(pan, gridded.lattice.cell, grids)?;
        let coarser: Result<Vec<Gridded>, Failure> = sizes
            .into_iter()
            .map(|cell| {
                let why = "coarser, to see how far the cells move the answer".to_string();
                self.prepared.grid(Size { cell, why })
            })
            .collect();
        let plan = Plan {
            gridded,
            coarser: coarser?,
        };
        if allowed.is_none() {
            self.say(bench, &plan)?;
        }
        Ok(plan)
    }

    /// Says how long it will take. A run that is taken up soon tells by its progress.
    fn say(&self, bench: &Bench, plan: &Plan) -> Result<(), Failure> {
        let bench = bench.on(&plan.gridded.lattice);
        if bench.begun(self.tasks) {
            return Ok(());
        }
        let forecast = match self.rehearse(&bench) {
            Err(Failure::Computing(complaint)) => {
                terminal::remark(&format!("note: {}", complaint.what));
                return Ok(());
            }
            other => other?,
        };
        let Some(pace) = forecast.pace(&bench, self.tasks)? else {
            return Ok(());
        };
        let cells: Vec<f64> = plan.coarser.iter().map(|g| g.lattice.cell).collect();
        let first = forecast.first(&pace) + self.study(&forecast, &pace, &cells);
        self.tell(first, forecast.later(&pace), plan.gridded.lattice.cell);
        Ok(())
    }

    fn rehearse(&self, bench: &Bench) -> Result<Forecast, Failure> {
        let pan = &self.prepared.design.pan;
        let allowed = self.computing.allowed()?;
        Forecast::rehearse(pan, bench, self.tasks, self.later.0, bench.lattice.cell, allowed)
    }

    /// Wall time of the coarser runs of a study [s].
    fn study(&self, forecast: &Forecast, pace: &Pace, cells: &[f64]) -> f64 {
        cells
            .iter()
            .map(|cell| forecast.first(&forecast.guess(Some(pace), *cell)))
            .sum()
    }

    fn tell(&self, first: f64, later: f64, cell: f64) {
        let motion: f64 = self.tasks.iter().map(|t| t.end - t.start).sum();
        let mut line = format!(
            "estimate: about {} for {} ({motion:.1} s of oil motion, cells of {})",
            spoken(first),
            self.what,
            show(cell, Dimension::Length, self.prepared.design.units),
        );
        if later > 0.0 {
            line += &format!(", then at most {} for {}", spoken(later), self.later.1);
        }
        let memory = self.prepared.memory(cell, self.load) as f64 * 1e-6;
        line += &format!("; {memory:.0} MB of memory");
        terminal::remark(&line);
    }

    /// The smallest cells with which everything ends within `allowed` [s].
    fn fitted(&self, bench: &Bench, allowed: f64) -> Result<Size, Failure> {
        let begun = Instant::now();
        let key = self.key(allowed);
        if let Some(kept) = kept(&bench.runs, &key) {
            self.prepared.check_places(kept.cell)?;
            self.prepared.check_memory(kept.cell, self.load)?;
            terminal::remark(&format!(
                "cells of {} as chosen before for this time",
                self.length(kept.cell)
            ));
            return Ok(Size {
                cell: kept.cell,
                why: kept.why,
            });
        }
        let pan = &self.prepared.design.pan;
        let places = pan.tight_places();
        let tightest = Lattice::largest_cell(&places);
        let room = refine::room(self.computing.grids());
        let largest = tightest.map_or(FITTED.1, |place| place.across.min(FITTED.1)) / room;
        let smallest = self.least_for_memory(FITTED.0.min(largest), largest)?;
        let forecast = self.rehearse(bench)?;
        let mut measured: Option<Pace> = None;
        let mut best: Option<(f64, f64)> = None;
        let mut quickest: Option<(f64, f64)> = None;
        for _ in 0..TRIES {
            let aim = (1.0 - MARGIN) * allowed;
            let rough = self.cell_for(&forecast, measured.as_ref(), aim, (smallest, largest));
            let cell = Lattice::cell_near(pan, rough).clamp(smallest.min(rough), largest);
            let known = [best, quickest].into_iter().flatten();
            if known.into_iter().any(|(c, _)| (c / cell - 1.0).abs() < 0.01) {
                break;
            }
            let lattice = Lattice::build(pan, cell)
                .map_err(|fault| Failure::input(fault.to_string(), "the pan's lattice", "state --cell"))?;
            let Some(pace) = forecast.pace(&bench.on(&lattice), self.tasks)? else {
                break;
            };
            let seconds = self.all(&forecast, &pace);
            let left = allowed - begun.elapsed().as_secs_f64();
            if seconds <= left && best.is_none_or(|(c, _)| cell < c) {
                best = Some((cell, seconds));
            }
            if quickest.is_none_or(|(_, s)| seconds < s) {
                quickest = Some((cell, seconds));
            }
            measured = Some(pace);
            let full = seconds > 0.6 * left || cell <= 1.01 * smallest;
            if seconds <= left && full {
                break;
            }
        }
        let Some((cell, seconds)) = best else {
            return Err(self.too_short(allowed, quickest, tightest.map(|p| p.name.clone())));
        };
        let why = format!(
            "{} cells, about the smallest that fit the {} allowed on this machine",
            self.length(cell),
            spoken(allowed)
        );
        terminal::remark(&format!(
            "estimate: about {} in all with cells of {}, about the smallest that fit {}",
            spoken(seconds),
            self.length(cell),
            spoken(allowed)
        ));
        let size = Kept { cell, why };
        keep(&bench.runs, &key, &size)?;
        Ok(Size { cell, why: size.why })
    }

    /// Wall time of everything at a pace, a study's coarser runs and the later ones counted [s].
    fn all(&self, forecast: &Forecast, pace: &Pace) -> f64 {
        let cells: Vec<f64> = (1..self.computing.grids())
            .map(|i| pace.cell * refine::RATIO.powi(i as i32))
            .collect();
        forecast.first(pace) + self.study(forecast, pace, &cells) + forecast.later(pace)
    }

    /// The smallest cell between two bounds that should take no longer than `aim` [s]: halved until found.
    fn cell_for(&self, forecast: &Forecast, measured: Option<&Pace>, aim: f64, bounds: (f64, f64)) -> f64 {
        let seconds = |cell: f64| self.all(forecast, &forecast.guess(measured, cell));
        let (mut fine, mut coarse) = bounds;
        if seconds(fine) <= aim {
            return fine;
        }
        for _ in 0..30 {
            let middle = (fine * coarse).sqrt();
            if seconds(middle) <= aim {
                coarse = middle;
            } else {
                fine = middle;
            }
        }
        coarse
    }

    /// The smallest cell that fits into memory, from `smallest` on [m].
    fn least_for_memory(&self, smallest: f64, largest: f64) -> Result<f64, Failure> {
        let mut cell = smallest;
        while cell < largest && self.prepared.check_memory(cell, self.load).is_err() {
            cell = (1.03 * cell).min(largest);
        }
        self.prepared.check_memory(cell, self.load)?;
        Ok(cell)
    }

    fn too_short(&self, allowed: f64, quickest: Option<(f64, f64)>, place: Option<String>) -> Failure {
        let Some((cell, seconds)) = quickest else {
            return Failure::computing(
                "how long it will take cannot be estimated",
                "state the size with --cell and leave --within out",
            );
        };
        let bound = place.map_or(String::new(), |place| {
            format!(" (no cell may be larger than the {place})")
        });
        Failure::input(
            format!(
                "{} are too short: with cells of {}, the largest that this pan allows{bound}, it takes about {} here",
                spoken(allowed),
                self.length(cell),
                spoken(seconds)
            ),
            "--within",
            format!(
                "allow {} or more, or compute less: fewer --moments, --brief, or a shorter stretch",
                spoken(1.3 * seconds)
            ),
        )
    }

    fn length(&self, cell: f64) -> String {
        show(cell, Dimension::Length, self.prepared.design.units)
    }

    /// What a choice of cells depends on, the speed of the machine left out.
    fn key(&self, allowed: f64) -> String {
        let mut hash = blake3::Hasher::new();
        for file in &self.prepared.design.files {
            hash.update(&file.bytes);
        }
        let tasks: Vec<_> = (self.tasks.iter())
            .map(|t| serde_json::json!([t.circuit, t.start, t.end]))
            .collect();
        let threads = rayon::current_num_threads();
        let asked = serde_json::json!([
            allowed,
            threads,
            self.computing.grids(),
            self.later.0.pairs,
            tasks
        ]);
        hash.update(asked.to_string().as_bytes());
        hash.finalize().to_hex()[..16].to_string()
    }
}

fn file(runs: &Path) -> PathBuf {
    runs.join("within.json")
}

/// All sizes chosen for a time so far; none when the file is not there or not ours.
fn all_kept(runs: &Path) -> BTreeMap<String, Kept> {
    let read = std::fs::read(file(runs)).ok();
    read.and_then(|bytes| serde_json::from_slice(&bytes).ok())
        .unwrap_or_default()
}

fn kept(runs: &Path, key: &str) -> Option<Kept> {
    all_kept(runs)
        .remove(key)
        .filter(|kept| kept.cell.is_finite() && kept.cell > 0.0)
}

fn keep(runs: &Path, key: &str, size: &Kept) -> Result<(), Failure> {
    let mut all = all_kept(runs);
    all.insert(key.to_string(), size.clone());
    let text = serde_json::to_string_pretty(&all).expect("plain data");
    Ok(atomic::write(&file(runs), text.as_bytes())?)
}
