//! A lap over and over while the engine burns oil: in which lap, and where on it, the margin goes.
//!
//! Nothing is carried over from a shorter answer: every lap is stepped through, and starts with the oil as the lap before
//! left it. What the engine burns is taken from all bays alike, step by step, and kept in the ledger.

use crate::run::{Inputs, RunFault, SAMPLE};
use crate::state::State;
use pickup::history::{BARE_SHARE, LEDGER_TOLERANCE};
use std::collections::VecDeque;

/// A race over one lap of a drive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Race {
    /// Laps driven.
    pub laps: usize,
    /// Oil that the engine burns or loses [m³/s].
    pub burnt: f64,
    /// Cover below this counts as thin [m].
    pub thin: f64,
    /// A dip counts when it lasts so long [s]: the longest gulp that is allowed.
    pub lasts: f64,
}

/// One lap of a race. Times are on the drive's clock, within the lap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RaceLap {
    /// Oil there is at the end of the lap: in pan, engine and in flight [m³].
    pub left: f64,
    /// Least cover over the mouth that lasts as long as [`Race::lasts`] [m].
    pub least_cover: f64,
    /// Where that was [s].
    pub at: f64,
    /// Time with less cover than the limit, bare or not [s].
    pub thin_for: f64,
    /// Time that the mouth was bare [s].
    pub bare_for: f64,
    /// Where it was first bare [s].
    pub bare_at: Option<f64>,
    /// Air drawn [m³].
    pub air: f64,
}

/// Drives the stretch of `inputs` as a lap, over and over; `each` is handed the number of every lap, from 1, and what it was
/// like, and stops the race by `false`.
///
/// The first lap starts with the oil at rest, so its first seconds count only when they are repeated in the next. Ends early
/// when the engine has burnt what the pan held.
///
/// # Errors
/// Those of [`crate::run::run`]. The ledger holds that oil in pan, engine, in flight and burnt is the fill.
pub fn race(
    inputs: Inputs,
    race: &Race,
    mut each: impl FnMut(usize, &RaceLap) -> bool,
) -> Result<Vec<RaceLap>, RunFault> {
    let mut state = State::start(inputs)?;
    let samples = (((inputs.end - inputs.start) / SAMPLE).round() as usize).max(1);
    let sample = (inputs.end - inputs.start) / samples as f64;
    let (mut laps, mut burnt) = (Vec::new(), 0.0);
    let mut before = state.row(inputs.start);
    // The last covers, the newest last: their largest is what cover was at least once within the span.
    let mut span = VecDeque::from(vec![f64::INFINITY; (race.lasts / SAMPLE).round() as usize + 1]);
    for number in 1..=race.laps {
        let mut lap = RaceLap {
            left: 0.0,
            least_cover: f64::INFINITY,
            at: inputs.start,
            thin_for: 0.0,
            bare_for: 0.0,
            bare_at: None,
            air: 0.0,
        };
        for n in 0..samples {
            let from = inputs.start + n as f64 * sample;
            let steps = state.steps();
            let dt = sample / steps as f64;
            for step in 0..steps {
                state.advance(from + (step + 1) as f64 * dt, dt);
                burnt += state.burn(race.burnt * dt);
            }
            let row = state.row(from + sample);
            span.pop_front();
            span.push_back(row.cover);
            let lasting = span.iter().copied().fold(0.0, f64::max);
            if lasting < lap.least_cover {
                (lap.least_cover, lap.at) = (lasting, row.time);
            }
            if row.cover < race.thin {
                lap.thin_for += sample;
            }
            let (air, drawn) = (row.air - before.air, row.drawn - before.drawn);
            lap.air += air;
            if row.cover <= 0.0 || air > BARE_SHARE * (air + drawn) {
                lap.bare_for += sample;
                lap.bare_at = lap.bare_at.or(Some(row.time));
            }
            before = row;
        }
        lap.left = before.ledger.total();
        let error = (lap.left + burnt - inputs.fill).abs() / inputs.fill;
        if !(error <= LEDGER_TOLERANCE) {
            return Err(RunFault::Ledger {
                time: inputs.end,
                error,
            });
        }
        let dry = before.ledger.pan <= 0.0;
        let goes_on = each(number, &lap);
        laps.push(lap);
        if dry || !goes_on {
            break;
        }
    }
    Ok(laps)
}
