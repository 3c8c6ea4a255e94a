//! The settled log on one uniform clock: low-pass, engine speed, distance, laps.

use super::conventions::Settled;
use super::laps::{self, Signs};
use super::notes::{Note, Notes, Topic};
use super::{Channel, LogFault, LogOptions, Trouble, jump};
use crate::filter::{self, Ends};
use crate::{Drive, Gearing};
use glam::{DVec2, DVec3};
use measure::STANDARD_GRAVITY;

/// Usual cut-off [Hz]: oil in a sump sloshes at 1 to 4 Hz, kerbs and engine shake lie above. Common practice, no source.
const USUAL_CUTOFF: f64 = 5.0;
/// Highest share of the sample rate at which a cut-off still does something.
const HIGHEST_SHARE: f64 = 0.4;
/// Logs slower than this are not low-passed by default [Hz].
const SLOW: f64 = 5.0;
/// Fastest clock handed on [Hz].
const FASTEST: f64 = 100.0;

/// A drive, what was said of the log, and the channels beside it on the clock of the drive.
pub(super) struct Assembled {
    pub drive: Drive,
    pub notes: Vec<Note>,
    pub beside: Vec<(Channel, Vec<f64>)>,
}

pub(super) fn assemble(log: Settled, options: &LogOptions) -> Result<Assembled, Vec<LogFault>> {
    let rate = 1.0 / log.step;
    let mut notes = log.notes;
    let cutoff = cutoff(rate, options).map_err(|f| vec![f])?;
    say_cutoff(rate, cutoff, options, &mut notes);
    let end = log.time[log.time.len() - 1];
    let fine = filter::uniform_clock(0.0, end, rate);
    // A low-passed log above 100 Hz holds nothing that 100 Hz would lose.
    let every = if cutoff.is_some() {
        (rate / FASTEST).floor().max(1.0) as usize
    } else {
        1
    };
    let thin = |v: Vec<f64>| match every {
        1 => v,
        _ => v.into_iter().step_by(every).collect(),
    };
    let put = |v: &[f64]| thin(filter::resample(&log.time, v, &fine));
    let put_smooth = |v: &[f64]| {
        let even = filter::resample(&log.time, v, &fine);
        thin(match cutoff {
            Some(cutoff) => filter::low_pass(&even, rate, cutoff, Ends::Open),
            None => even,
        })
    };
    let vectors = |v: &[DVec3]| -> Vec<DVec3> {
        let [x, y, z] = [0, 1, 2].map(|k| put_smooth(&v.iter().map(|a| a[k]).collect::<Vec<f64>>()));
        (0..x.len()).map(|i| DVec3::new(x[i], y[i], z[i])).collect()
    };
    let time = thin(fine.clone());
    let gravity: Vec<DVec3> = vectors(&log.acceleration)
        .iter()
        .map(|a| DVec3::new(0.0, 0.0, -STANDARD_GRAVITY) - *a)
        .collect();
    if let Some((end, change)) = jump::largest(&time, &gravity) {
        let row = log
            .time
            .partition_point(|t| *t < time[end])
            .min(log.time.len() - 1);
        let trouble = Trouble::Jump {
            time: time[end],
            change,
            within: (time[end] - time[end - 1]).max(jump::SPAN),
        };
        return Err(vec![trouble.at(log.lines[row] as usize, Some(log.column))]);
    }
    let spin = log.spin.as_deref().map(vectors);
    let speed = log.speed.as_deref().map(put);
    let engine_speed = engine(
        log.engine.as_deref().map(put),
        speed.as_deref(),
        time.len(),
        options,
        &mut notes,
    )
    .map_err(|f| vec![f])?;
    let logged = log.distance.as_deref().map(put);
    let distance = distance(&time, logged.as_deref(), speed.as_deref());
    let place: Option<Vec<DVec2>> = log.place.as_deref().map(|p| {
        let [x, y] = [0, 1].map(|k| put(&p.iter().map(|a| a[k]).collect::<Vec<f64>>()));
        (0..x.len()).map(|i| DVec2::new(x[i], y[i])).collect()
    });
    let number = log.lap.as_deref().map(put);
    let signs = Signs {
        time: &time,
        number: number.as_deref(),
        logged: logged.as_deref(),
        place: place.as_deref(),
        distance: &distance,
    };
    let (laps, words) = laps::find(&signs);
    notes.say(Topic::Laps, words);
    notes.say(
        Topic::Clock,
        format!("{} rows over {end:.1} s, {rate:.3} a second.", log.time.len()),
    );
    let beside = log.beside.iter().map(|(c, v)| (*c, put(v))).collect();
    let notes = notes.sorted();
    let said = notes.iter().map(|note| match note.topic {
        Topic::Caution => format!("Caution: {}", note.said),
        _ => note.said.clone(),
    });
    let said = said.collect();
    let speed = speed.unwrap_or_else(|| vec![0.0; time.len()]);
    let drive = Drive {
        name: options.name.clone(),
        time,
        gravity,
        spin,
        spin_rate: None,
        pivot: DVec3::ZERO,
        engine_speed,
        speed,
        distance,
        place,
        laps,
        said,
    };
    Ok(Assembled { drive, notes, beside })
}

/// The cut-off to use [Hz]; `None` for no low-pass.
pub(super) fn cutoff(rate: f64, options: &LogOptions) -> Result<Option<f64>, LogFault> {
    let highest = HIGHEST_SHARE * rate;
    match options.cutoff {
        Some(value) if !(value > 0.05 && value < 200.0) => Err(LogFault::whole(Trouble::OutOfRange {
            what: "the cut-off",
            value,
            least: 0.05,
            most: 200.0,
        })),
        Some(value) => Ok(Some(value).filter(|v| *v <= highest)),
        None => Ok(Some(USUAL_CUTOFF.min(highest)).filter(|_| rate >= SLOW)),
    }
}

fn say_cutoff(rate: f64, cutoff: Option<f64>, options: &LogOptions, notes: &mut Notes) {
    let said = match (cutoff, options.cutoff) {
        (Some(cutoff), _) => format!(
            "Accelerations and turning rates are low-passed at {cutoff:.2} Hz, forward and backward, so without delay (half the size \
             passes at that frequency)."
        ),
        (None, Some(value)) => format!(
            "The cut-off of {value} Hz asked for lies above {HIGHEST_SHARE} of the sample rate; no low-pass was applied."
        ),
        (None, None) => format!(
            "No low-pass: at {rate:.2} samples a second there is nothing to take away, and short peaks are lost already."
        ),
    };
    notes.say(Topic::Cleaning, said);
}

fn engine(
    logged: Option<Vec<f64>>,
    speed: Option<&[f64]>,
    samples: usize,
    options: &LogOptions,
    notes: &mut Notes,
) -> Result<Vec<f64>, LogFault> {
    if let Some(values) = logged {
        if let Some(least) = values.iter().copied().min_by(f64::total_cmp).filter(|v| *v < 0.0) {
            return Err(LogFault::whole(Trouble::OutOfRange {
                what: "the logged engine speed in rev/s",
                value: least,
                least: 0.0,
                most: 1000.0,
            }));
        }
        return Ok(values);
    }
    if options.without_engine && options.engine.is_none() {
        notes.say(
            Topic::Channels,
            "The log has no engine speed; nothing can be computed before it is stated.",
        );
        return Ok(vec![0.0; samples]);
    }
    let gearing = options
        .engine
        .as_ref()
        .ok_or(LogFault::whole(Trouble::NoEngineSpeed))?;
    gearing
        .check()
        .map_err(|fault| LogFault::whole(Trouble::Gearing(fault)))?;
    notes.say(
        Topic::Channels,
        format!("The log has no engine speed. {}", gearing.say()),
    );
    match (gearing, speed) {
        (Gearing::Constant(v), _) => Ok(vec![*v; samples]),
        (_, Some(speed)) => Ok(speed.iter().map(|&v| gearing.engine_speed(v)).collect()),
        (_, None) => Err(LogFault::whole(Trouble::NoRoadSpeed)),
    }
}

/// Distance counted on from the start [m]: as logged, else from speed, else zero.
fn distance(time: &[f64], logged: Option<&[f64]>, speed: Option<&[f64]>) -> Vec<f64> {
    let mut out = vec![0.0; time.len()];
    for i in 1..time.len() {
        let driven = match (logged, speed) {
            // Where the count starts anew, the step is what speed would have made of it, or nothing.
            (Some(d), _) if d[i] >= d[i - 1] => d[i] - d[i - 1],
            (_, Some(v)) => 0.5 * (v[i] + v[i - 1]).max(0.0) * (time[i] - time[i - 1]),
            _ => 0.0,
        };
        out[i] = out[i - 1] + driven;
    }
    out
}
