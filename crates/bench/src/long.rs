//! The long run: 2 g, reversed once a second each way and back, in a walled box, watched for what creeps in.
//!
//! Watched: the volume against the fill; speed; the oil in cells of spray (cells less than a hundredth full and
//! no neighbour half full); and the time step against its median.

use crate::works::{BoxWork, FILL, Shaking};
use serde::{Deserialize, Serialize};
use slosh::Supply;

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

/// The box of the reference work with three walls in it, shaken for `seconds`.
pub fn run(cell: f64, threads: usize, seconds: f64, mut said: impl FnMut(f64)) -> Result<LongRun, String> {
    let work = BoxWork {
        shaking: Shaking::Reversals,
        cell,
        ..BoxWork::reference()
    };
    let mut solver = work.solver(threads).map_err(|e| e.to_string())?;
    let before = solver.oil_volume();
    let mut steps = Vec::new();
    let mut done = LongRun {
        simulated: seconds,
        steps: 0,
        volume_error: 0.0,
        fastest: 0.0,
        specks: [0.0; 4],
        step: (0.0, 0.0),
        short_for: 0.0,
    };
    let mut looks = [0u32; 4];
    let (mut time, mut next_look, mut next_word) = (0.0, 0.0, 0.0);
    while seconds - time > 1e-12 {
        let (body, most) = work.body(time, seconds);
        let step = solver
            .step(&body, &Supply::NONE, most)
            .map_err(|fault| format!("at {time:.3} s: {fault}"))?;
        time += step.dt;
        // A step that ends at a reversal says nothing of the flow.
        steps.push((step.dt, most <= 2.0 * step.dt));
        done.fastest = done.fastest.max(step.fastest);
        let error = (solver.oil_volume() - before).abs() / before;
        done.volume_error = done.volume_error.max(error);
        if time >= next_look {
            next_look += 0.05;
            let quarter = ((4.0 * time / seconds) as usize).min(3);
            done.specks[quarter] += specks(&solver.fill(), work.cells()) * cell.powi(3) / FILL;
            looks[quarter] += 1;
        }
        if time >= next_word {
            next_word += 1.0;
            said(time);
        }
    }
    for (specks, looks) in done.specks.iter_mut().zip(looks) {
        *specks /= f64::from(looks.max(1));
    }
    done.steps = steps.len() as u64;
    let mut sorted: Vec<f64> = steps.iter().filter(|s| !s.1).map(|s| s.0).collect();
    sorted.sort_by(f64::total_cmp);
    let median = sorted.get(sorted.len() / 2).copied().unwrap_or(0.0);
    done.step = (median, sorted.first().copied().unwrap_or(0.0));
    let mut short_for = 0.0;
    for (dt, cut) in &steps {
        short_for = match (*cut, *dt < SHORT * median) {
            (true, _) => short_for,
            (false, true) => short_for + dt,
            (false, false) => 0.0,
        };
        done.short_for = done.short_for.max(short_for);
    }
    Ok(done)
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
        let run = run(0.02, 1, 1.0, |_| {}).unwrap();
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
    fn specks_are_oil_far_from_oil() {
        let mut fill = vec![0.0; 27];
        fill[0] = 0.005;
        fill[26] = 0.005;
        assert_eq!(specks(&fill, [3, 3, 3]), 0.01);
        fill[25] = 0.9;
        assert_eq!(specks(&fill, [3, 3, 3]), 0.005);
    }
}
