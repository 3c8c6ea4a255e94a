//! Which column is which channel, and what unit the file or the user gives it.

use super::names::{Channel, split_unit, suits};
use super::units::{factor, shown};
use super::{LogFault, LogOptions};
use crate::table::Table;
use std::collections::BTreeMap;

/// A column taken for a channel, as written.
pub(super) struct Column {
    /// Its name in the header.
    pub name: String,
    /// Values as written; NaN where missing.
    pub values: Vec<f64>,
    /// Unit as shown and factor to SI, when file or user give one.
    pub unit: Option<(String, f64)>,
    /// Sign stated by the user.
    pub sign: Option<f64>,
    /// Named by the user, not by the words of the header.
    pub named: bool,
}

/// Channels found in a log.
pub(super) struct Picked {
    pub columns: BTreeMap<Channel, Column>,
    /// Line of each row.
    pub lines: Vec<usize>,
    pub said: Vec<String>,
}

pub(super) fn pick(table: &Table, options: &LogOptions) -> Result<Picked, Vec<LogFault>> {
    let Some(names) = &table.names else {
        return Err(vec![LogFault::NoHeader {
            line: table.lines.at(0),
        }]);
    };
    let (mut faults, mut said) = (Vec::new(), Vec::new());
    let found = names.join(", ");
    let (mut places, mut wanted_twice) = (named(names, options, table, &mut faults), Vec::new());
    by_words(table, names, &mut places, &mut wanted_twice, &mut said);
    faults.extend(wanted_twice);
    if faults.is_empty() {
        for channel in [Channel::Time, Channel::Longitudinal, Channel::Lateral] {
            if !places.contains_key(&channel) {
                faults.push(LogFault::Missing {
                    channel,
                    found: found.clone(),
                });
            }
        }
    }
    let mut columns = BTreeMap::new();
    for (channel, place) in places {
        let choice = options.channels.get(&channel);
        if let Some(sign) = choice.and_then(|c| c.sign).filter(|s| s.abs() != 1.0) {
            faults.push(LogFault::Sign { channel, sign });
        }
        let (_, in_file) = split_unit(&names[place], &table.units[place]);
        let stated = choice.and_then(|c| c.unit.clone()).or(in_file);
        let unit = stated
            .as_ref()
            .and_then(|u| factor(u, channel.kind()).map(|f| (shown(u), f)));
        if let (Some(unit), None) = (&stated, &unit) {
            faults.push(LogFault::Unit {
                channel,
                column: names[place].clone(),
                unit: unit.clone(),
            });
        }
        let words = table.odd[place].first.iter();
        faults.extend(words.map(|(line, text)| LogFault::NotANumber {
            line: *line,
            column: names[place].clone(),
            text: text.chars().take(40).collect(),
        }));
        let values = table.columns[place].clone();
        if values.iter().all(|v| v.is_nan()) {
            said.push(format!(
                "Column '{}' ({}) is empty; the log is read as if it were not there.",
                names[place],
                channel.words()
            ));
            if matches!(channel, Channel::Time | Channel::Longitudinal | Channel::Lateral) {
                faults.push(LogFault::Missing {
                    channel,
                    found: found.clone(),
                });
            }
            continue;
        }
        let (name, sign) = (names[place].clone(), choice.and_then(|c| c.sign));
        columns.insert(
            channel,
            Column {
                name,
                values,
                unit,
                sign,
                named: choice.is_some(),
            },
        );
    }
    if faults.is_empty() {
        Ok(Picked {
            columns,
            lines: table.lines.iter().collect(),
            said,
        })
    } else {
        Err(faults)
    }
}

/// Columns that the user names.
fn named(
    names: &[String],
    options: &LogOptions,
    table: &Table,
    faults: &mut Vec<LogFault>,
) -> BTreeMap<Channel, usize> {
    let mut places: BTreeMap<Channel, usize> = BTreeMap::new();
    for (&channel, choice) in &options.channels {
        let wanted = choice.column.trim();
        let number = wanted.strip_prefix('#').and_then(|n| n.parse::<usize>().ok());
        let exact: Vec<usize> = (0..names.len()).filter(|&i| names[i].trim() == wanted).collect();
        let loose: Vec<usize> = (0..names.len())
            .filter(|&i| names[i].trim().eq_ignore_ascii_case(wanted))
            .collect();
        let hits = if exact.is_empty() { loose } else { exact };
        let place = match (hits.as_slice(), number) {
            ([], Some(n)) if n >= 1 && n <= names.len() => n - 1,
            ([one], _) => *one,
            ([first, second, ..], _) => {
                faults.push(duplicate(channel, names, *first, *second, table));
                continue;
            }
            _ => {
                let (column, found) = (choice.column.clone(), names.join(", "));
                faults.push(LogFault::NoColumn {
                    channel,
                    column,
                    found,
                });
                continue;
            }
        };
        if let Some((&one, _)) = places.iter().find(|(_, p)| **p == place) {
            faults.push(LogFault::Shared {
                one,
                other: channel,
                column: names[place].clone(),
            });
        }
        places.insert(channel, place);
    }
    places
}

/// Columns by the words of their names; each goes to the channel that it suits best.
fn by_words(
    table: &Table,
    names: &[String],
    places: &mut BTreeMap<Channel, usize>,
    faults: &mut Vec<LogFault>,
    said: &mut Vec<String>,
) {
    let taken: Vec<usize> = places.values().copied().collect();
    let free = (0..names.len()).filter(|i| !taken.contains(i));
    let mut best: BTreeMap<Channel, Vec<(u32, usize)>> = BTreeMap::new();
    for i in free {
        let (words, unit) = split_unit(&names[i], &table.units[i]);
        let scores = Channel::ALL.map(|c| (suits(c, &words, unit.as_deref()), c));
        let Some((score, channel)) = scores.into_iter().rev().max_by_key(|s| s.0).filter(|s| s.0 > 0) else {
            continue;
        };
        best.entry(channel).or_default().push((score, i));
    }
    for (channel, mut hits) in best {
        if places.contains_key(&channel) {
            continue;
        }
        // The best score first; among equals the one further left. Empty columns come last.
        let empty = |i: usize| table.columns[i].iter().all(|v| v.is_nan());
        hits.sort_by_key(|&(score, i)| (empty(i), std::cmp::Reverse(score), i));
        let (score, first) = hits[0];
        for &(other_score, other) in &hits[1..] {
            if names[other] == names[first] {
                faults.push(duplicate(channel, names, first, other, table));
            } else if other_score == score && !empty(other) {
                said.push(format!(
                    "Both '{}' and '{}' could be the {}; '{}' was taken. Name the column if that is wrong.",
                    names[first],
                    names[other],
                    channel.words(),
                    names[first]
                ));
            }
        }
        places.insert(channel, first);
    }
}

fn duplicate(channel: Channel, names: &[String], first: usize, second: usize, table: &Table) -> LogFault {
    LogFault::Duplicate {
        channel,
        column: names[first].clone(),
        first: first + 1,
        second: second + 1,
        line: table.header_line.unwrap_or(1),
    }
}
