//! The long run: 2 g, reversed once a second each way and back, in a walled box, watched for what creeps in.
//!
//! Watched: the volume against the fill; speed; the oil in cells of spray (cells less than a hundredth full and
//! no neighbour half full); and the time step against its median.

use crate::works::{BoxWork, FILL, Shaking};
use serde::{Deserialize, Serialize};
use slosh::Supply;
use std::path::Path;

/// Largest volume error allowed, as a share of the fill.
pub const VOLUME_ERROR: f64 = 1e-9;

/// Fastest oil that is believed [m/s]: 2 g over the length of the box gives 3.4 m/s, and jets off walls some twice
/// that.
pub const FASTEST: f64 = 20.0;

/// Growth of the specks from the first to the last quarter of the run that is allowed, with as much again as a
/// thousandth of the fill for chance.
pub const SPECK_GROWTH: f64 = 1.5;

/// A step is short under this share of the median.
pub const SHORT: f64 = 1.0 / 20.0;

/// Longest stretch of short steps that is allowed [s of oil motion].
pub const SHORT_FOR: f64 = 0.05;

/// What the run did.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct LongRun {
    /// Simulated seconds.
    pub simulated: f64,
    /// Steps.
    pub steps: u64,
    /// Worst volume error, as a share of the fill, at any step.
    pub volume_error: f64,
    /// Fastest oil [m/s].
    pub fastest: f64,
    /// Oil in specks, mean over each quarter of the run, as a share of the fill.
    pub specks: [f64; 4],
    /// Median and least step [s].
    pub step: (f64, f64),
    /// Longest unbroken stretch of short steps [s of oil motion].
    pub short_for: f64,
}

impl LongRun {
    /// What does not hold, in words.
    pub fn faults(&self) -> Vec<String> {
        let mut faults = Vec::new();
        if !(self.volume_error <= VOLUME_ERROR) {
            faults.push(format!(
                "the volume is off by {:.1e} of the fill, {VOLUME_ERROR:.0e} is allowed",
                self.volume_error
            ));
        }
        if !(self.fastest <= FASTEST) {
            faults.push(format!(
                "oil at {:.1} m/s, over {FASTEST} m/s is not believed",
                self.fastest
            ));
        }
        let [first, .., last] = self.specks;
        if !(last <= SPECK_GROWTH * first + 1e-3) {
            faults.push(format!("specks grew from {first:.1e} to {last:.1e} of the fill"));
        }
        if !(self.short_for <= SHORT_FOR) {
            faults.push(format!(
                "steps under a twentieth of the median for {:.3} s, {SHORT_FOR} s is allowed",
                self.short_for
            ));
        }
        faults
    }
}

/// A long run under way: what a killed one goes on from.
#[derive(Serialize, Deserialize)]
struct Watched {
    cell: f64,
    seconds: f64,
    time: f64,
    next_look: f64,
    /// Length of each step [s], and whether a reversal cut it short.
    steps: Vec<(f64, bool)>,
    volume_error: f64,
    fastest: f64,
    specks: [f64; 4],
    looks: [u32; 4],
    solver: Vec<u8>,
}

/// Simulated time between two states on disk [s].
const KEPT_EVERY: f64 = 5.0;

/// The box of the reference work with three walls in it, shaken for `seconds`. With `keep` its state is written there
/// every few simulated seconds, and a state found there is gone on from.
pub fn run(
    cell: f64,
    threads: usize,
    seconds: f64,
    keep: Option<&Path>,
    mut said: impl FnMut(f64),
) -> Result<LongRun, String> {
    let work = BoxWork {
        shaking: Shaking::Reversals,
        cell,
        ..BoxWork::reference()
    };
    let mut solver = work.solver(threads).map_err(|e| e.to_string())?;
    let before = solver.oil_volume();
    let mut w = Watched {
        cell,
        seconds,
        time: 0.0,
        next_look: 0.0,
        steps: Vec::new(),
        volume_error: 0.0,
        fastest: 0.0,
        specks: [0.0; 4],
        looks: [0; 4],
        solver: Vec::new(),
    };
    if let Some(path) = keep.filter(|path| path.exists()) {
        w = take_up(path, cell, seconds)?;
        solver.restore(&w.solver).map_err(|e| e.to_string())?;
    }
    let (mut next_word, mut next_keep) = (w.time, w.time + KEPT_EVERY);
    while seconds - w.time > 1e-12 {
        let (body, most) = work.body(w.time, seconds);
        let step = solver
            .step(&body, &Supply::NONE, most)
            .map_err(|fault| format!("at {:.3} s: {fault}", w.time))?;
        w.time += step.dt;
        // A step that ends at a reversal says nothing of the flow.
        w.steps.push((step.dt, most <= 2.0 * step.dt));
        w.fastest = w.fastest.max(step.fastest);
        let error = (solver.oil_volume() - before).abs() / before;
        w.volume_error = w.volume_error.max(error);
        if w.time >= w.next_look {
            w.next_look += 0.05;
            let quarter = ((4.0 * w.time / seconds) as usize).min(3);
            w.specks[quarter] += specks(&solver.fill(), work.cells()) * cell.powi(3) / FILL;
            w.looks[quarter] += 1;
        }
        if w.time >= next_word {
            next_word += 1.0;
            said(w.time);
        }
        if let Some(path) = keep.filter(|_| w.time >= next_keep) {
            next_keep += KEPT_EVERY;
            w.solver = solver.state();
            put_down(path, &w)?;
        }
    }
    Ok(w.ended())
}

/// Writes a state whole or not at all.
fn put_down(path: &Path, watched: &Watched) -> Result<(), String> {
    let bytes = postcard::to_allocvec(watched).map_err(|e| e.to_string())?;
    let part = path.with_extension("part");
    std::fs::write(&part, bytes)
        .and_then(|()| std::fs::rename(&part, path))
        .map_err(|why| format!("{} cannot be written: {why}", path.display()))
}

fn take_up(path: &Path, cell: f64, seconds: f64) -> Result<Watched, String> {
    let bytes = std::fs::read(path).map_err(|why| format!("{} cannot be read: {why}", path.display()))?;
    let watched: Watched = postcard::from_bytes(&bytes)
        .map_err(|why| format!("{} is no state of a long run: {why}; remove it", path.display()))?;
    if (watched.cell, watched.seconds) != (cell, seconds) {
        return Err(format!(
            "{} is of a run of {} s in cells of {} mm; state the same or remove it",
            path.display(),
            watched.seconds,
            1e3 * watched.cell
        ));
    }
    Ok(watched)
}

impl Watched {
    /// What the whole run did.
    fn ended(self) -> LongRun {
        let mut specks = self.specks;
        for (specks, looks) in specks.iter_mut().zip(self.looks) {
            *specks /= f64::from(looks.max(1));
        }
        let mut sorted: Vec<f64> = self.steps.iter().filter(|s| !s.1).map(|s| s.0).collect();
        sorted.sort_by(f64::total_cmp);
        let median = sorted.get(sorted.len() / 2).copied().unwrap_or(0.0);
        let (mut short_for, mut longest) = (0.0, 0.0f64);
        for (dt, cut) in &self.steps {
            short_for = match (*cut, *dt < SHORT * median) {
                (true, _) => short_for,
                (false, true) => short_for + dt,
                (false, false) => 0.0,
            };
            longest = longest.max(short_for);
        }
        LongRun {
            simulated: self.seconds,
            steps: self.steps.len() as u64,
            volume_error: self.volume_error,
            fastest: self.fastest,
            specks,
            step: (median, sorted.first().copied().unwrap_or(0.0)),
            short_for: longest,
        }
    }
}

/// Oil in specks [cells]: between nothing and a hundredth of a cell, with no half-full neighbour.
fn specks(fill: &[f64], [nx, ny, nz]: [usize; 3]) -> f64 {
    let mut sum = 0.0;
    for k in 0..nz {
        for j in 0..ny {
            for i in 0..nx {
                let c = i + nx * (j + ny * k);
                if fill[c] <= 0.0 || fill[c] >= 0.01 {
                    continue;
                }
                let beside = [
                    (i > 0).then(|| c - 1),
                    (i + 1 < nx).then(|| c + 1),
                    (j > 0).then(|| c - nx),
                    (j + 1 < ny).then(|| c + nx),
                    (k > 0).then(|| c - nx * ny),
                    (k + 1 < nz).then(|| c + nx * ny),
                ];
                if beside.iter().flatten().all(|c| fill[*c] < 0.5) {
                    sum += fill[c];
                }
            }
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_run_holds_and_each_limit_can_be_missed() {
        let run = run(0.02, 1, 1.0, None, |_| {}).unwrap();
        assert_eq!(run.faults(), Vec::<String>::new(), "{run:?}");
        let bad = LongRun {
            volume_error: 1e-8,
            fastest: f64::NAN,
            specks: [0.0, 0.0, 0.0, 0.01],
            short_for: 0.06,
            ..run
        };
        assert_eq!(bad.faults().len(), 4, "{:?}", bad.faults());
    }

    #[test]
    fn a_long_run_that_was_stopped_ends_as_one_that_was_not() {
        let path = std::env::temp_dir().join(format!("long-run-{}.state", std::process::id()));
        let _ = std::fs::remove_file(&path);
        let whole = run(0.03, 1, 12.0, Some(&path), |_| {}).unwrap();
        // What lies there is of 10 s.
        let again = run(0.03, 1, 12.0, Some(&path), |time| assert!(time >= 10.0, "{time}")).unwrap();
        let other = run(0.03, 1, 11.0, Some(&path), |_| {});
        std::fs::remove_file(&path).unwrap();
        assert_eq!(format!("{whole:?}"), format!("{again:?}"));
        assert!(other.unwrap_err().contains("state the same"));
    }

    #[test]
    fn specks_are_oil_far_from_oil() {
        let mut fill = vec![0.0; 27];
        fill[0] = 0.005;
        fill[26] = 0.005;
        assert_eq!(specks(&fill, [3, 3, 3]), 0.01);
        fill[25] = 0.9;
        assert_eq!(specks(&fill, [3, 3, 3]), 0.005);
    }
}
