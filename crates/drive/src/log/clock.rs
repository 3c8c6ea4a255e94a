//! The clock of a table: stamps that are missing, stand still, stand out of order, start anew or leap are found, mended
//! where the rows tell how, and said; else refused.

use super::LogFault;
use super::Trouble;
use super::middle::median;
use super::names::Channel;
use super::notes::{Notes, Topic};
use super::pick::Column;
use crate::table::LineNumbers;
use std::collections::BTreeMap;

/// Rows of a table with their proved time.
pub(super) struct Clock {
    /// Time [s] on the file's own zero, strictly rising.
    pub time: Vec<f64>,
    /// Row of the table of each entry.
    pub rows: Vec<u32>,
    /// Usual step [s].
    pub step: f64,
}

/// A fall of the clock by more than so many steps, and by more than so many seconds, is a new start and no row out of
/// order. Common practice, no source.
const NEW_START: (f64, f64) = (5.0, 0.1);
/// A leap ahead longer than this may be a clock that was set [s].
const LEAP: f64 = 10.0;

/// Proves the time of one table; `beside` are its other columns, `lines` of its rows.
pub(super) fn prove(
    clock: &Column,
    beside: &BTreeMap<Channel, Column>,
    lines: &LineNumbers,
    notes: &mut Notes,
) -> Result<Clock, Vec<LogFault>> {
    let n = clock.values.len();
    let at = |row: usize, trouble: Trouble| vec![trouble.at(lines.at(row), Some(clock.number))];
    if clock.values.iter().filter(|v| !v.is_nan()).count() < 2 {
        return Err(at(0, Trouble::NoTime { rows: n }));
    }
    let stamps = fill(&clock.values, lines, clock.number, notes)?;
    let factor = match &clock.unit {
        Some(unit) => unit.factor,
        None => open_unit(&stamps, beside, clock.table, notes),
    };
    let mut time: Vec<f64> = stamps.iter().map(|t| t * factor).collect();
    let rises: Vec<f64> = time
        .windows(2)
        .map(|w| w[1] - w[0])
        .filter(|d| *d > 0.0)
        .collect();
    if rises.is_empty() {
        let trouble = Trouble::TimeNotRising {
            time: time[n - 1],
            before: time[0],
        };
        return Err(at(n - 1, trouble));
    }
    let mut rows: Vec<u32> = (0..n as u32).collect();
    // Coarse stamps stand on many rows, so the usual step of the rows is smaller than the usual rise.
    let rise = median(rises);
    let steps = Steps::of(rise, beside, clock.table, lines);
    straighten_single(&mut time, rise, lines, notes);
    steps.count_on(&mut time, notes)?;
    put_in_order(&mut time, &mut rows, lines, notes);
    drop_repeats(&mut time, &mut rows, &steps, notes);
    spread(&mut time, lines, &rows, notes);
    if let Some(i) = (1..time.len()).find(|&i| time[i] <= time[i - 1]) {
        let trouble = Trouble::TimeNotRising {
            time: time[i],
            before: time[i - 1],
        };
        return Err(at(rows[i] as usize, trouble));
    }
    let step = median(time.windows(2).map(|w| w[1] - w[0]).collect());
    Ok(Clock { time, rows, step })
}

/// Stamps as written, missing ones put evenly between their neighbours.
fn fill(
    stamps: &[f64],
    lines: &LineNumbers,
    column: usize,
    notes: &mut Notes,
) -> Result<Vec<f64>, Vec<LogFault>> {
    let known: Vec<usize> = (0..stamps.len()).filter(|&i| !stamps[i].is_nan()).collect();
    let missing = stamps.len() - known.len();
    if missing == 0 {
        return Ok(stamps.to_vec());
    }
    let pace = |w: &[usize]| (stamps[w[1]] - stamps[w[0]]) / (w[1] - w[0]) as f64;
    let usual = median(known.windows(2).map(pace).filter(|p| *p > 0.0).collect());
    let mut out = stamps.to_vec();
    let (first, last) = (known[0], known[known.len() - 1]);
    for w in known.windows(2).filter(|w| w[1] > w[0] + 1) {
        // The rows between must fit at about their usual pace, or rows are missing as well.
        if !(0.5 * usual..=2.0 * usual).contains(&pace(w)) {
            let trouble = Trouble::NoTime {
                rows: w[1] - w[0] - 1,
            };
            return Err(vec![trouble.at(lines.at(w[0] + 1), Some(column))]);
        }
        for i in w[0] + 1..w[1] {
            out[i] = stamps[w[0]] + pace(w) * (i - w[0]) as f64;
        }
    }
    for i in (0..first).rev() {
        out[i] = out[i + 1] - usual;
    }
    for i in last + 1..out.len() {
        out[i] = out[i - 1] + usual;
    }
    let line = lines.at((0..stamps.len()).find(|&i| stamps[i].is_nan()).unwrap_or(0));
    notes.say(
        Topic::Clock,
        format!("{missing} row(s) have no stamp, the first on line {line}; their time was put evenly between the stamps around them."),
    );
    Ok(out)
}

/// Seconds in one unit of a time column whose unit is not given.
fn open_unit(stamps: &[f64], beside: &BTreeMap<Channel, Column>, table: usize, notes: &mut Notes) -> f64 {
    let steps = stamps
        .windows(2)
        .map(|w| w[1] - w[0])
        .filter(|d| *d > 0.0)
        .collect();
    let step = median(steps);
    let (factor, word, why) = match step {
        s if s > 1.5e3 => (1e-6, "microseconds", String::new()),
        s if s > 1.5 => (1e-3, "milliseconds", String::new()),
        s if s > 0.4 => {
            // One row a second, or a thousand: then the change of speed would be a thousand times too small.
            let thousand = ratio(stamps, beside, table).filter(|r| *r > 5.0);
            match thousand {
                Some(r) => (
                    1e-3,
                    "milliseconds",
                    format!(", as in seconds the car would feel {r:.0} times what its speed tells"),
                ),
                None => (1.0, "seconds", String::new()),
            }
        }
        _ => (1.0, "seconds", String::new()),
    };
    notes.say(
        Topic::Clock,
        format!("The unit of time is not given; with a step of {step} it is read as {word}{why}."),
    );
    factor
}

/// Spread of longitudinal acceleration over the spread of the change of speed, both as written. In SI it is near 1; with
/// the usual units of both it lies between 0.03 and 1.
fn ratio(stamps: &[f64], beside: &BTreeMap<Channel, Column>, table: usize) -> Option<f64> {
    let column = |c| {
        beside
            .get(&c)
            .filter(|c: &&Column| c.table == table)
            .map(|c| &c.values)
    };
    let (speed, felt) = (column(Channel::Speed)?, column(Channel::Longitudinal)?);
    let reach = (speed.len() / 200).clamp(1, 500);
    let (mut change, mut push) = (Vec::new(), Vec::new());
    for i in (reach..speed.len()).step_by(reach) {
        let d = (speed[i] - speed[i - reach]) / (stamps[i] - stamps[i - reach]);
        let mean = felt[i - reach..i].iter().sum::<f64>() / reach as f64;
        if d.is_finite() && mean.is_finite() {
            change.push(d.abs());
            push.push(mean.abs());
        }
    }
    let (change, push) = (median(change), median(push));
    (change > 0.0).then(|| push / change)
}

/// What is known of the steps of a table.
struct Steps<'a> {
    /// Usual rise from one stamp to the next [s].
    rise: f64,
    beside: &'a BTreeMap<Channel, Column>,
    table: usize,
    lines: &'a LineNumbers,
    /// Columns that go on while the car drives on, and the most that each changes by from row to row elsewhere.
    steady: Vec<(&'a [f64], f64)>,
}

/// Columns by which it is judged whether the car drives on.
const STEADY: [Channel; 6] = [
    Channel::Speed,
    Channel::X,
    Channel::Y,
    Channel::Latitude,
    Channel::Longitude,
    Channel::EngineSpeed,
];

impl<'a> Steps<'a> {
    fn of(
        rise: f64,
        beside: &'a BTreeMap<Channel, Column>,
        table: usize,
        lines: &'a LineNumbers,
    ) -> Steps<'a> {
        let mut steps = Steps {
            rise,
            beside,
            table,
            lines,
            steady: Vec::new(),
        };
        let most = |channel| {
            let values = steps.column(channel)?;
            let known: Vec<f64> = values.iter().copied().filter(|v| !v.is_nan()).collect();
            let changes = known.windows(2).map(|w| (w[1] - w[0]).abs());
            let mut changes: Vec<f64> = changes.filter(|d| *d > 0.0).collect();
            if changes.len() < 8 {
                return None;
            }
            // The very largest may be the new start itself.
            let at = changes.len() - 2 - changes.len() / 1000;
            Some((values, *changes.select_nth_unstable_by(at, f64::total_cmp).1))
        };
        steps.steady = STEADY.into_iter().filter_map(most).collect();
        steps
    }

    fn column(&self, channel: Channel) -> Option<&'a [f64]> {
        let column = self.beside.get(&channel)?;
        (column.table == self.table).then_some(column.values.as_slice())
    }

    /// Counts time on where the clock starts anew or leaps while the car drives on; refuses where another recording starts.
    fn count_on(&self, time: &mut [f64], notes: &mut Notes) -> Result<(), Vec<LogFault>> {
        let fall = |d: f64| d < -(NEW_START.0 * self.rise).max(NEW_START.1);
        let (mut starts, mut leaps, mut sessions) = (Vec::new(), Vec::new(), vec![0]);
        for i in 1..time.len() {
            let d = time[i] - time[i - 1];
            if fall(d) {
                if self.drives_on(i) {
                    starts.push(i);
                } else {
                    sessions.push(i);
                }
            } else if d > LEAP.max(50.0 * self.rise) && self.stays_in_place(i, time) {
                leaps.push((i, d));
            }
        }
        if sessions.len() > 1 {
            sessions.push(time.len());
            let span = |w: &[usize]| {
                let seconds = time[w[1] - 1] - time[w[0]];
                (self.lines.at(w[0]), self.lines.at(w[1] - 1), seconds.max(0.0))
            };
            let line = self.lines.at(sessions[1]);
            let sessions = sessions.windows(2).map(span).collect();
            return Err(vec![Trouble::Sessions { sessions }.at(line, None)]);
        }
        let joined: Vec<usize> = starts.iter().copied().chain(leaps.iter().map(|l| l.0)).collect();
        let mut breaks = joined
            .into_iter()
            .collect::<std::collections::BTreeSet<usize>>()
            .into_iter()
            .peekable();
        let (mut shift, mut before) = (0.0, 0.0);
        for i in 0..time.len() {
            if breaks.next_if_eq(&i).is_some() {
                shift = before + self.rise - time[i];
            }
            time[i] += shift;
            before = time[i];
        }
        if let Some(&first) = starts.first() {
            notes.say(
                Topic::Clock,
                format!(
                    "The clock starts anew {} time(s), the first on line {}, while the car drives on: time was counted on.",
                    starts.len(),
                    self.lines.at(first)
                ),
            );
        }
        if let Some(&(first, seconds)) = leaps.first() {
            notes.say(
                Topic::Caution,
                format!(
                    "The clock leaps ahead {} time(s), the first by {seconds:.1} s on line {}, while the car is no further on: it was set; \
                     time was counted on.",
                    leaps.len(),
                    self.lines.at(first)
                ),
            );
        }
        Ok(())
    }

    /// Whether what the car does goes on from the row before to this one.
    ///
    /// Speed and place may change by no more than three times what they change by at most elsewhere (99.9 of a hundred).
    fn drives_on(&self, i: usize) -> bool {
        let mut judged = false;
        for (values, most) in &self.steady {
            // The last value before and the next one after, for columns with holes.
            let before = (i.saturating_sub(400)..i).rev().find(|&k| !values[k].is_nan());
            let after = (i..(i + 400).min(values.len())).find(|&k| !values[k].is_nan());
            let (Some(before), Some(after)) = (before, after) else {
                continue;
            };
            if (values[after] - values[before]).abs() > 3.0 * most * (after - before).max(1) as f64 {
                return false;
            }
            judged = true;
        }
        judged
    }

    /// Whether the place of the car after a leap of the clock is that of the next row.
    fn stays_in_place(&self, i: usize, time: &[f64]) -> bool {
        let moved = [Channel::X, Channel::Latitude, Channel::Distance]
            .iter()
            .any(|&c| {
                self.column(c).is_some_and(|values| {
                    // Moving at all just before, by place.
                    let back = i.saturating_sub(((1.0 / self.rise) as usize).max(4));
                    values[i - 1] != values[back] && time[i - 1] > time[back]
                })
            });
        moved && self.drives_on(i)
    }
}

/// Puts single stamps that stand out of line between their neighbours, where these are two steps apart.
fn straighten_single(time: &mut [f64], rise: f64, lines: &LineNumbers, notes: &mut Notes) {
    let mut bad = Vec::new();
    for i in 1..time.len().saturating_sub(1) {
        let (before, after) = (time[i - 1], time[i + 1]);
        let middle = 0.5 * (before + after);
        let two_steps = after > before && after - before < 3.0 * rise;
        if two_steps && !(before..=after).contains(&time[i]) && (time[i] - middle).abs() > 2.0 * rise {
            time[i] = middle;
            bad.push(i);
        }
    }
    if let Some(&first) = bad.first() {
        notes.say(
            Topic::Clock,
            format!(
                "{} single stamp(s) stand out of line, the first on line {}; they were put between their neighbours.",
                bad.len(),
                lines.at(first)
            ),
        );
    }
}

/// Sorts rows that stand a few places off.
fn put_in_order(time: &mut Vec<f64>, rows: &mut Vec<u32>, lines: &LineNumbers, notes: &mut Notes) {
    let falls: Vec<usize> = (1..time.len()).filter(|&i| time[i] < time[i - 1]).collect();
    let Some(&first) = falls.first() else { return };
    let mut order: Vec<usize> = (0..time.len()).collect();
    order.sort_by(|&a, &b| time[a].total_cmp(&time[b]));
    notes.say(
        Topic::Clock,
        format!(
            "{} row(s) stand out of order, the first on line {}; they were put in order by their stamps.",
            falls.len(),
            lines.at(rows[first] as usize)
        ),
    );
    *time = order.iter().map(|&i| time[i]).collect();
    *rows = order.iter().map(|&i| rows[i]).collect();
}

/// Leaves out rows that say the same again, and single repeated stamps that have no room before the next.
fn drop_repeats(time: &mut Vec<f64>, rows: &mut Vec<u32>, steps: &Steps, notes: &mut Notes) {
    let columns: Vec<&[f64]> = (steps.beside.values())
        .filter(|c| c.table == steps.table)
        .map(|c| c.values.as_slice())
        .collect();
    let same = |a: u32, b: u32| {
        let (a, b) = (a as usize, b as usize);
        columns
            .iter()
            .all(|v| v[a] == v[b] || (v[a].is_nan() && v[b].is_nan()))
    };
    let stamps_of_many = many(time);
    let (mut keep, mut again, mut crowded) = (vec![true; time.len()], Vec::new(), Vec::new());
    for i in 1..time.len() {
        if time[i] != time[i - 1] {
            continue;
        }
        if same(rows[i], rows[i - 1]) && !stamps_of_many {
            keep[i] = false;
            again.push(i);
        } else if !stamps_of_many {
            let next = time[i + 1..].iter().find(|t| **t > time[i]).copied();
            if next.is_some_and(|next| next - time[i] < 1.5 * steps.rise) {
                keep[i] = false;
                crowded.push(i);
            }
        }
    }
    let line = |i: usize| steps.lines.at(rows[i] as usize);
    if let Some(&first) = again.first() {
        notes.say(
            Topic::Clock,
            format!(
                "{} row(s) repeat the row before, stamp and all, the first on line {}; they were left out.",
                again.len(),
                line(first)
            ),
        );
    }
    if let Some(&first) = crowded.first() {
        notes.say(
            Topic::Clock,
            format!(
                "{} row(s) have the stamp of the row before and other values, the first on line {}; the earlier row was kept.",
                crowded.len(),
                line(first)
            ),
        );
    }
    if !(again.is_empty() && crowded.is_empty()) {
        let mut kept = keep.iter();
        time.retain(|_| *kept.next().unwrap_or(&true));
        let mut kept = keep.iter();
        rows.retain(|_| *kept.next().unwrap_or(&true));
    }
}

/// Whether most stamps stand on several rows: a clock coarser than the rows.
fn many(time: &[f64]) -> bool {
    let same = time.windows(2).filter(|w| w[0] == w[1]).count();
    4 * same > time.len()
}

/// Spreads rows that share a stamp evenly up to the next stamp.
fn spread(time: &mut [f64], lines: &LineNumbers, rows: &[u32], notes: &mut Notes) {
    let n = time.len();
    let mut groups: Vec<(usize, usize)> = Vec::new();
    for i in 0..n {
        match groups.last_mut() {
            Some((from, to)) if time[*from] == time[i] => *to = i + 1,
            _ => groups.push((i, i + 1)),
        }
    }
    let shared: Vec<(usize, usize)> = groups.iter().copied().filter(|g| g.1 > g.0 + 1).collect();
    let Some(&(first, _)) = shared.first() else { return };
    let coarse = many(time);
    let line = lines.at(rows[first] as usize);
    if coarse && groups.len() > 2 {
        let ticks: Vec<f64> = groups.windows(2).map(|w| time[w[1].0] - time[w[0].0]).collect();
        let tick = median(ticks);
        // The first and the last stamp may have lost rows; between them the pace is that of all.
        let (a, b) = (groups[1].0, groups[groups.len() - 1].0);
        let pace = (time[b] - time[a]) / (b - a) as f64;
        let even = |i: usize| time[a] + pace * (i as f64 - a as f64);
        let fits = groups[1..]
            .iter()
            .all(|g| (even(g.0) - time[g.0]).abs() < 1.6 * tick);
        notes.say(
            Topic::Clock,
            format!(
                "Stamps are told to {tick:.3} s only and stand on several rows each, the first on line {line}; the rows were spread \
                 evenly, {:.1} a second.",
                1.0 / pace
            ),
        );
        if fits {
            let all: Vec<f64> = (0..n).map(even).collect();
            time.copy_from_slice(&all);
            return;
        }
    } else {
        notes.say(
            Topic::Clock,
            format!("{} stamp(s) stand on several rows each, the first on line {line}; those rows were spread up to the next stamp.", shared.len()),
        );
    }
    let usual = median(
        time.windows(2)
            .map(|w| w[1] - w[0])
            .filter(|d| *d > 0.0)
            .collect(),
    );
    for (k, &(from, to)) in groups.iter().enumerate() {
        let start = time[from];
        let count = (to - from) as f64;
        let end = groups.get(k + 1).map_or(start + usual, |next| time[next.0]);
        // Over a gap the rows keep their usual pace.
        let pace = ((end - start) / count).min(usual);
        for i in from..to {
            time[i] = start + pace * (i - from) as f64;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn proved(stamps: &[f64], unit: Option<f64>) -> (Result<Clock, Vec<LogFault>>, String) {
        let text: String = stamps.iter().map(|t| format!("{t},1\n")).collect();
        let table = crate::table::read(format!("time,ay\n{text}").as_bytes(), &Default::default()).unwrap();
        let column = Column {
            name: "time".into(),
            number: 1,
            table: 0,
            values: table.columns[0].clone(),
            unit: unit.map(|factor| super::super::pick::Unit {
                shown: "s".into(),
                factor,
                offset: 0.0,
            }),
            sign: None,
            named: false,
            header: 1,
        };
        let mut notes = Notes::default();
        let clock = prove(&column, &BTreeMap::new(), &table.lines, &mut notes);
        (clock, notes.sorted().into_iter().map(|n| n.said + " ").collect())
    }

    #[test]
    fn coarse_stamps_missing_stamps_and_rows_out_of_order_are_mended() {
        let coarse: Vec<f64> = (0..100).map(|i| f64::from(i / 5) * 0.1).collect();
        let (clock, said) = proved(&coarse, Some(1.0));
        let clock = clock.unwrap();
        assert!(
            (clock.step - 0.02).abs() < 1e-12 && said.contains("50.0 a second"),
            "{said}"
        );
        let mut holed: Vec<f64> = (0..50).map(|i| f64::from(i) * 0.1).collect();
        holed[20] = f64::NAN;
        holed[21] = f64::NAN;
        let (clock, said) = proved(&holed, Some(1.0));
        assert!(
            (clock.unwrap().time[21] - 2.1).abs() < 1e-12
                && said.contains("2 row(s) have no stamp, the first on line 22"),
            "{said}"
        );
        let mut swapped: Vec<f64> = (0..50).map(|i| f64::from(i) * 0.1).collect();
        swapped.swap(30, 31);
        let (clock, said) = proved(&swapped, Some(1.0));
        assert_eq!(clock.unwrap().rows[30..32], [31, 30]);
        assert!(said.contains("out of order, the first on line 33"), "{said}");
    }

    #[test]
    fn a_fall_of_the_clock_with_nothing_to_judge_by_is_two_recordings() {
        let twice: Vec<f64> = (0..60).map(|i| f64::from(i % 30) * 0.1).collect();
        let (clock, _) = proved(&twice, Some(1.0));
        let faults = clock.err().unwrap();
        assert_eq!(faults[0].line, Some(32));
        let text = faults[0].to_string();
        assert!(
            text.contains("2 recordings") && text.contains("lines 2 to 31"),
            "{text}"
        );
    }
}
