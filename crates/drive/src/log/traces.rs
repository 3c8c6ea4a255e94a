//! Channels of different rates on one clock: each has the rows on which it really was measured, and all are put on the
//! clock of the accelerations along straight lines.
//!
//! A slow channel in a fast table shows in two ways: its cells are empty between its samples, or its last value is
//! repeated until the next. The second is found by its regularity: nearly all changes come after the same number of rows.

use super::clock::{Clock, prove};
use super::middle::median;
use super::names::Channel;
use super::notes::{Notes, Topic};
use super::pick::{Column, Picked};
use super::{LogFault, LogOptions, Trouble};
use crate::filter::resample;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// A log whose time rises and whose channels have no holes left.
pub(super) struct Clean {
    /// Time from the first row [s].
    pub time: Vec<f64>,
    /// Median step of the clock [s].
    pub step: f64,
    /// Line of each sample.
    pub lines: Vec<u32>,
    /// Each as long as `time`, as written.
    pub columns: BTreeMap<Channel, Column>,
    /// Samples a second and samples of each channel, and rows of its table.
    pub rates: BTreeMap<Channel, Rate>,
    pub notes: Notes,
}

/// How often a channel was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rate {
    /// Samples a second.
    pub rate: f64,
    /// Rows with a value.
    pub filled: usize,
    /// All rows.
    pub rows: usize,
}

/// Channels whose gaps may not be long.
const VITAL: [Channel; 6] = [
    Channel::Lateral,
    Channel::Longitudinal,
    Channel::Vertical,
    Channel::YawRate,
    Channel::RollRate,
    Channel::PitchRate,
];

/// The samples of one channel, on their own clock.
struct Trace<'a> {
    /// That of the whole clock where no row is left out.
    time: Cow<'a, [f64]>,
    values: Vec<f64>,
    /// Index of each sample among the rows of its clock.
    at: Vec<u32>,
    /// Median step [s].
    step: f64,
    /// Rows with a value, repeated ones too.
    filled: usize,
}

/// Slowest and fastest clock taken [Hz]. Slower than a sample in two seconds misses whole corners; nothing logs a car
/// faster than 2000 Hz.
const RATES: (f64, f64) = (0.5, 2000.0);

pub(super) fn clean(picked: Picked, options: &LogOptions) -> Result<Clean, Vec<LogFault>> {
    let Picked {
        mut columns,
        clocks,
        lines,
        mut notes,
    } = picked;
    let mut proved: BTreeMap<usize, Clock> = BTreeMap::new();
    let mut faults = Vec::new();
    for (&table, clock) in &clocks {
        match prove(clock, &columns, &lines[table], &mut notes) {
            Ok(clock) => drop(proved.insert(table, clock)),
            Err(why) => faults.extend(why),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    place_lost_to_zero(&mut columns, &mut notes);
    let mut traces: BTreeMap<Channel, Trace> = BTreeMap::new();
    for (&channel, column) in &mut columns {
        let clock = &proved[&column.table];
        traces.insert(channel, Trace::of(channel, column, clock, &mut notes));
    }
    // The clock of the log is that of the denser of the two level accelerations.
    let lead = [Channel::Longitudinal, Channel::Lateral]
        .into_iter()
        .max_by_key(|c| (traces[c].time.len(), *c == Channel::Longitudinal))
        .expect("there are two");
    let (table, header, number) = (columns[&lead].table, columns[&lead].header, columns[&lead].number);
    let line_of = |table: usize, at: u32| lines[table].at(proved[&table].rows[at as usize] as usize);
    let main = &traces[&lead];
    let n = main.time.len();
    let seconds = main.time.last().map_or(0.0, |end| end - main.time[0]);
    let last_line = main.at.last().map_or(header, |&at| line_of(table, at));
    if n < 8 || seconds < 2.0 {
        return Err(vec![
            Trouble::TooShort { samples: n, seconds }.at(last_line, Some(number)),
        ]);
    }
    let (zero, step) = (main.time[0], main.step);
    let rate = 1.0 / step;
    if !(RATES.0..=RATES.1).contains(&rate) {
        let trouble = Trouble::OutOfRange {
            what: "the sample rate of the log in Hz",
            value: rate,
            least: RATES.0,
            most: RATES.1,
        };
        return Err(vec![trouble.at(header, clocks.get(&table).map(|c| c.number))]);
    }
    if seconds * rate > 20.0 * n as f64 {
        let trouble = Trouble::Uneven {
            step,
            samples: seconds * rate,
            rows: n,
        };
        return Err(vec![trouble.at(last_line, clocks.get(&table).map(|c| c.number))]);
    }
    if zero != 0.0 {
        notes.say(
            Topic::Clock,
            format!("Time is counted from the first row, which the log puts at {zero:.3} s."),
        );
    }
    let allowed = options.longest_gap.unwrap_or((3.0 * step).max(0.5));
    if !(0.0..=60.0).contains(&allowed) {
        return Err(vec![LogFault::whole(Trouble::OutOfRange {
            what: "the longest gap",
            value: allowed,
            least: 0.0,
            most: 60.0,
        })]);
    }
    let mut short = 0;
    for i in 1..n {
        let seconds = main.time[i] - main.time[i - 1];
        // Where the channel itself has holes its own gap is told below.
        let on_end = main.at[i] == main.at[i - 1] + 1;
        if seconds > allowed.max(1.5 * step) && on_end {
            let trouble = Trouble::Gap {
                channel: Channel::Time,
                seconds,
                allowed,
            };
            faults.push(trouble.at(
                line_of(table, main.at[i - 1]),
                clocks.get(&table).map(|c| c.number),
            ));
        } else if seconds > 1.5 * step && on_end {
            short += 1;
        }
    }
    if short > 0 {
        notes.say(
            Topic::Clock,
            format!("{short} short gap(s) between rows were closed by straight lines."),
        );
    }
    let mut rates = BTreeMap::new();
    let mut dropped = Vec::new();
    for (&channel, trace) in &traces {
        let column = &columns[&channel];
        let rows = proved[&column.table].time.len();
        rates.insert(channel, trace.rate(rows));
        let where_after = |k: usize| line_of(column.table, trace.at[k]);
        match trace.judge(channel, rows, allowed, seconds, zero) {
            Judged::Whole => {}
            Judged::Holed {
                missing,
                longest,
                first,
            } => {
                let line = line_of(column.table, first);
                notes.say(
                    Topic::Cleaning,
                    format!(
                        "Column '{}' ({}): {missing} missing value(s) were filled by straight lines, the longest over {longest:.2} s, the \
                         first on line {line}.",
                        column.name,
                        channel.words()
                    ),
                );
            }
            Judged::Gaps(gaps) => {
                for (k, seconds) in gaps.into_iter().take(super::MOST_FAULTS) {
                    let trouble = Trouble::Gap {
                        channel,
                        seconds,
                        allowed,
                    };
                    faults.push(trouble.at(where_after(k), Some(column.number)));
                }
            }
            Judged::Bare { missing } => {
                notes.say(
                    Topic::Channels,
                    format!(
                        "Column '{}' ({}) is empty in {missing} of {rows} rows; the log is read as if it were not there.",
                        column.name,
                        channel.words()
                    ),
                );
                dropped.push(channel);
            }
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    for channel in dropped {
        traces.remove(&channel);
        columns.remove(&channel);
    }
    let main = traces
        .remove(&lead)
        .expect("the lead is vital and so not left out");
    for (channel, trace) in traces {
        let column = columns.get_mut(&channel).expect("every trace has its column");
        column.values = match () {
            () if std::ptr::eq(&*trace.time, &*main.time) || trace.time == main.time => trace.values,
            () if channel == Channel::Lap => hold(&trace.time, &trace.values, &main.time),
            () => resample(&trace.time, &trace.values, &main.time),
        };
    }
    let lines = main.at.iter().map(|&at| line_of(table, at) as u32).collect();
    columns.get_mut(&lead).expect("the lead is a column").values = main.values;
    Ok(Clean {
        time: main.time.iter().map(|t| t - zero).collect(),
        step,
        lines,
        columns,
        rates,
        notes,
    })
}

/// What became of the holes of a trace.
enum Judged {
    Whole,
    Holed {
        missing: usize,
        longest: f64,
        first: u32,
    },
    /// Sample before each gap that is too long, and its length [s].
    Gaps(Vec<(usize, f64)>),
    /// Empty for most of the log.
    Bare {
        missing: usize,
    },
}

impl<'a> Trace<'a> {
    /// The rows of a column on which it was measured; takes the column's values.
    fn of(channel: Channel, column: &mut Column, clock: &'a Clock, notes: &mut Notes) -> Trace<'a> {
        let written = std::mem::take(&mut column.values);
        let mut at: Vec<u32> = Vec::with_capacity(clock.rows.len());
        let mut values: Vec<f64> = Vec::with_capacity(clock.rows.len());
        for (k, &row) in clock.rows.iter().enumerate() {
            let value = written[row as usize];
            if !value.is_nan() {
                at.push(k as u32);
                values.push(value);
            }
        }
        let filled = values.len();
        if channel != Channel::Lap
            && let Some(every) = held(&values, &at)
        {
            let mut keep = Vec::with_capacity(values.len() / 2);
            let mut last = 0_usize;
            for i in 0..values.len() {
                // A value that stays over several samples was measured at each of them.
                let fresh = i == 0 || values[i] != values[i - 1] || (i - last) as f64 > every - 0.5;
                if fresh {
                    last = i;
                }
                keep.push(fresh);
            }
            let mut kept = keep.iter();
            values.retain(|_| *kept.next().unwrap_or(&true));
            let mut kept = keep.iter();
            at.retain(|_| *kept.next().unwrap_or(&true));
            notes.say(
                Topic::Clock,
                format!(
                    "Column '{}' ({}) repeats each value over about {every:.0} rows: it was measured {:.4} times a second, and the rows \
                     between are put on straight lines.",
                    column.name,
                    channel.words(),
                    1.0 / (every * clock.step)
                ),
            );
        }
        let (time, step) = if at.len() == clock.time.len() {
            (Cow::Borrowed(clock.time.as_slice()), clock.step)
        } else {
            let time: Vec<f64> = at.iter().map(|&k| clock.time[k as usize]).collect();
            let step = median(time.windows(2).map(|w| w[1] - w[0]).collect());
            (Cow::Owned(time), step)
        };
        let every = step / clock.step;
        if at.len() < clock.rows.len()
            && every > 1.5
            && at.len() as f64 * every > 0.5 * clock.rows.len() as f64
        {
            let empty = clock.rows.iter().any(|&row| written[row as usize].is_nan());
            if empty {
                notes.say(
                    Topic::Clock,
                    format!(
                        "Column '{}' ({}) has a value on every {every:.0}th row or so: it was measured {:.4} times a second.",
                        column.name,
                        channel.words(),
                        1.0 / step
                    ),
                );
            }
        }
        Trace {
            time,
            values,
            at,
            step,
            filled,
        }
    }

    fn rate(&self, rows: usize) -> Rate {
        let (first, last) = (self.time[0], self.time[self.time.len() - 1]);
        let span = last - first;
        Rate {
            rate: if span > 0.0 {
                (self.time.len() - 1) as f64 / span
            } else {
                0.0
            },
            filled: self.filled,
            rows,
        }
    }

    fn judge(&self, channel: Channel, rows: usize, allowed: f64, seconds: f64, zero: f64) -> Judged {
        let n = self.time.len();
        let vital = VITAL.contains(&channel);
        let usual = (2.5 * self.step).max(if vital { allowed } else { 0.0 });
        let mut gaps = Vec::new();
        let (mut longest, mut first, mut missing) = (0.0_f64, None, 0);
        for i in 1..n {
            let span = self.time[i] - self.time[i - 1];
            let rows_between = (self.at[i] - self.at[i - 1]) as usize - 1;
            let of_rate = (span / self.step).round() as usize;
            if vital && span > usual && rows_between > 0 {
                gaps.push((i - 1, span));
            } else if rows_between > 0 && of_rate > 1 {
                missing += of_rate - 1;
                longest = longest.max(span);
                first = first.or(Some(self.at[i - 1] + 1));
            }
        }
        // Before the first and after the last value.
        let head = self.time[0] - zero;
        let tail = seconds - (self.time[n - 1] - zero);
        let ends = [
            (head, self.at[0] > 0, 0),
            (tail, (self.at[n - 1] as usize) + 1 < rows, n - 1),
        ];
        for (span, rows_there, k) in ends {
            let count = (span / self.step.max(1e-9)).round();
            if rows_there && count >= 1.0 && span > 0.0 {
                if vital && span > usual {
                    gaps.push((k, span));
                } else {
                    missing += count as usize;
                    longest = longest.max(span);
                    first = first.or(Some(if k == 0 { 0 } else { self.at[k] + 1 }));
                }
            }
        }
        // A second of speed in ten minutes tells nothing of the rest.
        let covered = n as f64 * self.step;
        match first {
            _ if !vital && covered < 0.5 * seconds => Judged::Bare { missing: rows - n },
            _ if !gaps.is_empty() => {
                gaps.sort_by_key(|g| g.0);
                Judged::Gaps(gaps)
            }
            Some(first) => Judged::Holed {
                missing,
                longest,
                first,
            },
            None => Judged::Whole,
        }
    }
}

/// Rows over which each value is repeated, when it is so by rule: at least nine changes in ten come after about the same
/// number of rows, two or more, and hardly any sooner. Figures that are merely coarse change at once where they change fast.
fn held(values: &[f64], at: &[u32]) -> Option<f64> {
    let changes: Vec<u32> = (1..values.len())
        .filter(|&i| values[i] != values[i - 1])
        .map(|i| at[i])
        .collect();
    // With changes closer than one and a half rows on the mean, more than half come from one row to the next.
    let span = |c: &[u32]| (c[c.len() - 1] - c[0]) as usize;
    if changes.len() < 20 || 2 * span(&changes) < 3 * (changes.len() - 1) {
        return None;
    }
    let runs: Vec<f64> = changes.windows(2).map(|w| f64::from(w[1] - w[0])).collect();
    let usual = median(runs.clone());
    if usual < 2.0 {
        return None;
    }
    // The rate of the slow channel need not divide that of the rows: 12 in 100 stand for 8 or 9 rows.
    let near: Vec<f64> = runs
        .iter()
        .copied()
        .filter(|r| (r - usual).abs() <= 1.0)
        .collect();
    let every = near.iter().sum::<f64>() / near.len() as f64;
    let whole = |r: f64| {
        let count = (r / every).round();
        count >= 1.0 && (r - count * every).abs() <= 1.0 + 0.02 * count
    };
    let share =
        |good: &dyn Fn(f64) -> bool| runs.iter().filter(|r| good(**r)).count() as f64 / runs.len() as f64;
    let regular = share(&whole) > 0.97 && share(&|r| r < usual - 1.0) < 0.02 && near.len() * 2 > runs.len();
    // With two rows a value, a coarse figure may pass by chance: then they must all begin on even rows, or all on odd.
    let in_step = usual > 2.0 || {
        let even = changes.iter().filter(|c| **c % 2 == 0).count() as f64 / changes.len() as f64;
        !(0.03..0.97).contains(&even)
    };
    (regular && in_step).then_some(every)
}

/// Values at the instants of a clock, each held until the next.
fn hold(time: &[f64], values: &[f64], clock: &[f64]) -> Vec<f64> {
    let at = |t: f64| time.partition_point(|x| *x <= t).saturating_sub(1);
    clock.iter().map(|&t| values[at(t)]).collect()
}

/// A receiver without a fix writes zeros for its place: those are no place.
fn place_lost_to_zero(columns: &mut BTreeMap<Channel, Column>, notes: &mut Notes) {
    let (Some(lat), Some(lon)) = (columns.get(&Channel::Latitude), columns.get(&Channel::Longitude)) else {
        return;
    };
    if lat.table != lon.table {
        return;
    }
    let lost: Vec<usize> = (0..lat.values.len())
        .filter(|&i| lat.values[i] == 0.0 && lon.values[i] == 0.0)
        .collect();
    if lost.is_empty() || lost.len() == lat.values.len() {
        return;
    }
    notes.say(
        Topic::Cleaning,
        format!(
            "Latitude and longitude are both zero on {} row(s): no fix; they are taken as missing there.",
            lost.len()
        ),
    );
    for channel in [Channel::Latitude, Channel::Longitude] {
        let column = columns.get_mut(&channel).expect("both are there");
        lost.iter().for_each(|&i| column.values[i] = f64::NAN);
    }
}
