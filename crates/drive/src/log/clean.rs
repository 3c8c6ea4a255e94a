//! The clock of a log, and its gaps.

use super::names::Channel;
use super::pick::Picked;
use super::{LogFault, LogOptions};

/// A log whose time rises and whose channels have no holes left.
pub(super) struct Clean {
    /// Time from the first row [s].
    pub time: Vec<f64>,
    /// Median step of the clock [s].
    pub step: f64,
    pub picked: Picked,
}

pub(super) fn clean(mut picked: Picked, options: &LogOptions) -> Result<Clean, Vec<LogFault>> {
    let time = clock(&mut picked)?;
    let n = time.len();
    let seconds = time[n - 1];
    if n < 8 || seconds < 2.0 {
        return Err(vec![LogFault::TooShort { samples: n, seconds }]);
    }
    let step = median(time.windows(2).map(|w| w[1] - w[0]).collect());
    // Slower than a sample in two seconds misses whole corners; nothing logs a car faster than 2000 Hz.
    let rate = 1.0 / step;
    if !(0.5..=2000.0).contains(&rate) {
        return Err(vec![LogFault::OutOfRange {
            what: "the sample rate of the log in Hz",
            value: rate,
            least: 0.5,
            most: 2000.0,
        }]);
    }
    if seconds * rate > 20.0 * n as f64 {
        return Err(vec![LogFault::Uneven {
            step,
            samples: seconds * rate,
            rows: n,
        }]);
    }
    let allowed = options.longest_gap.unwrap_or((3.0 * step).max(0.5));
    if !(0.0..=60.0).contains(&allowed) {
        return Err(vec![LogFault::OutOfRange {
            what: "the longest gap",
            value: allowed,
            least: 0.0,
            most: 60.0,
        }]);
    }
    let mut faults = Vec::new();
    let mut short = 0;
    for i in 1..n {
        let seconds = time[i] - time[i - 1];
        if seconds > allowed.max(1.5 * step) {
            faults.push(LogFault::Gap {
                channel: Channel::Time,
                line: picked.lines[i - 1],
                seconds,
                allowed,
            });
        } else if seconds > 1.5 * step {
            short += 1;
        }
    }
    if short > 0 {
        picked.said.push(format!(
            "{short} short gap(s) between rows were closed by straight lines."
        ));
    }
    let lines = picked.lines.clone();
    let mut dropped = Vec::new();
    for (&channel, column) in &mut picked.columns {
        let missing = column.values.iter().filter(|v| v.is_nan()).count();
        if missing == 0 || channel == Channel::Time {
            continue;
        }
        let vital = matches!(
            channel,
            Channel::Lateral
                | Channel::Longitudinal
                | Channel::Vertical
                | Channel::YawRate
                | Channel::RollRate
                | Channel::PitchRate
        );
        let holes = holes(&column.values);
        let longest = holes.iter().map(|h| h.seconds(&time)).fold(0.0, f64::max);
        if vital {
            for hole in holes.iter().filter(|h| h.seconds(&time) > allowed) {
                let line = lines[hole.from.saturating_sub(1)];
                faults.push(LogFault::Gap {
                    channel,
                    line,
                    seconds: hole.seconds(&time),
                    allowed,
                });
            }
        } else if 2 * missing > n {
            picked.said.push(format!(
                "Column '{}' ({}) is empty in {missing} of {n} rows; the log is read as if it were not there.",
                column.name,
                channel.words()
            ));
            dropped.push(channel);
            continue;
        }
        fill(&time, &mut column.values, channel == Channel::Lap);
        picked.said.push(format!(
            "Column '{}' ({}): {missing} missing value(s) were filled by straight lines, the longest over {longest:.2} s, the first on line {}.",
            column.name,
            channel.words(),
            lines[holes[0].from]
        ));
    }
    dropped.iter().for_each(|c| {
        picked.columns.remove(c);
    });
    if faults.is_empty() {
        Ok(Clean { time, step, picked })
    } else {
        Err(faults)
    }
}

/// Time from zero [s], proved to rise.
fn clock(picked: &mut Picked) -> Result<Vec<f64>, Vec<LogFault>> {
    let column = picked
        .columns
        .remove(&Channel::Time)
        .expect("a log without time was refused before");
    let raw = column.values;
    let mut faults: Vec<LogFault> = raw
        .iter()
        .zip(&picked.lines)
        .filter(|(t, _)| t.is_nan())
        .map(|(_, &line)| LogFault::NoTime { line })
        .collect();
    if !faults.is_empty() {
        return Err(faults);
    }
    let factor = match column.unit {
        Some((_, factor)) => factor,
        None => {
            // Loggers run from 1 Hz to 1000 Hz, so a step over 1 is one of milliseconds.
            let step = median(raw.windows(2).map(|w| w[1] - w[0]).collect());
            let (factor, word) = if step > 1.5 {
                (1e-3, "milliseconds")
            } else {
                (1.0, "seconds")
            };
            picked.said.push(format!(
                "The unit of time is not given; with a step of {step} it is read as {word}."
            ));
            factor
        }
    };
    for i in 1..raw.len() {
        if raw[i] <= raw[i - 1] {
            let (time, before) = (raw[i] * factor, raw[i - 1] * factor);
            faults.push(LogFault::TimeNotRising {
                line: picked.lines[i],
                time,
                before,
            });
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    if raw.first().is_some_and(|&t| t != 0.0) {
        picked.said.push(format!(
            "Time is counted from the first row, which the log puts at {:.3} s.",
            raw[0] * factor
        ));
    }
    if raw.is_empty() {
        return Err(vec![LogFault::TooShort {
            samples: 0,
            seconds: 0.0,
        }]);
    }
    Ok(raw.iter().map(|t| (t - raw[0]) * factor).collect())
}

/// A run of missing values: from this row on, up to but without that one.
struct Hole {
    from: usize,
    to: usize,
}

impl Hole {
    /// Time between the values on both sides, or to the end of the log [s].
    fn seconds(&self, time: &[f64]) -> f64 {
        time[self.to.min(time.len() - 1)] - time[self.from.saturating_sub(1)]
    }
}

fn holes(values: &[f64]) -> Vec<Hole> {
    let mut out: Vec<Hole> = Vec::new();
    for i in (0..values.len()).filter(|&i| values[i].is_nan()) {
        match out.last_mut() {
            Some(h) if h.to == i => h.to = i + 1,
            _ => out.push(Hole { from: i, to: i + 1 }),
        }
    }
    out
}

/// Fills holes along straight lines, or with the value before; ends are held.
fn fill(time: &[f64], values: &mut [f64], hold: bool) {
    let n = values.len();
    for Hole { from, to } in holes(values) {
        let before = if from > 0 { values[from - 1] } else { values[to] };
        let after = if to < n && !(hold && from > 0) {
            values[to]
        } else {
            before
        };
        let (a, b) = (time[from.saturating_sub(1)], time[to.min(n - 1)]);
        for i in from..to {
            let u = if b > a { (time[i] - a) / (b - a) } else { 0.0 };
            values[i] = before + (after - before) * u;
        }
    }
}

/// Median; the upper one of two. 0 for none.
pub(super) fn median(mut values: Vec<f64>) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}
