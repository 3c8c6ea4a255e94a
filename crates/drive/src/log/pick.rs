//! Which column is which channel, and what unit the file or the user gives it.

use super::names::{Channel, split_unit, suits};
use super::notes::{Notes, Topic};
use super::units::{factor, offset, shown};
use super::{LogFault, LogOptions, Trouble};
use crate::table::{Head, LineNumbers, Table};
use std::collections::BTreeMap;

/// A unit: as shown, and how it becomes SI.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Unit {
    pub shown: String,
    /// SI of one.
    pub factor: f64,
    /// SI of its zero.
    pub offset: f64,
}

/// A column taken for a channel, as written.
#[derive(Clone, Debug)]
pub(super) struct Column {
    /// Its name in the header.
    pub name: String,
    /// Its number in its table, from 1.
    pub number: usize,
    /// Which table of the file it stands in.
    pub table: usize,
    /// Values as written; NaN where missing.
    pub values: Vec<f64>,
    /// When file or user give it.
    pub unit: Option<Unit>,
    /// Sign stated by the user.
    pub sign: Option<f64>,
    /// Named by the user, not by the words of the header.
    pub named: bool,
    /// Line of its header, from 1.
    pub header: usize,
}

/// Channels found in a log.
pub(super) struct Picked {
    /// All but time.
    pub columns: BTreeMap<Channel, Column>,
    /// The clock of each table that has columns.
    pub clocks: BTreeMap<usize, Column>,
    /// Lines of the rows of each table.
    pub lines: Vec<LineNumbers>,
    pub notes: Notes,
}

/// Channels that no drive does without.
const NEEDED: [Channel; 2] = [Channel::Longitudinal, Channel::Lateral];
/// Channels that are shown and never driven by: what is wrong with them stops nothing.
const BESIDE: [Channel; 2] = [Channel::OilPressure, Channel::OilTemperature];

/// The columns of a table that may be a channel's: the others need not be turned into numbers.
pub(super) fn wanted(head: &Head, options: &LogOptions) -> Vec<bool> {
    let named = |number: usize, name: &str| {
        let mut choices = options.channels.values().map(|choice| choice.column.trim());
        choices.any(|c| c.eq_ignore_ascii_case(name.trim()) || column_number(c) == Some(number))
    };
    let by_words = |name: &str, unit: &str| {
        if name.len() > LONGEST_NAME {
            return false;
        }
        let (words, unit) = split_unit(name, unit);
        Channel::ALL
            .iter()
            .any(|&c| suits(c, &words, unit.as_deref()) > 0)
    };
    let one = |i: usize| match head.names {
        None => true,
        Some(names) => named(i + 1, &names[i]) || by_words(&names[i], &head.units[i]),
    };
    (0..head.columns).map(one).collect()
}

/// Longest name that is looked at [bytes]; a longer one is a broken row and no channel.
const LONGEST_NAME: usize = 200;

/// A name as it is shown and compared.
pub(super) fn clipped(name: &str) -> String {
    if name.len() <= LONGEST_NAME {
        return name.to_owned();
    }
    let start: String = name.chars().take(40).collect();
    format!("{start}... ({} characters)", name.chars().count())
}

/// Names as listed in a message.
fn listed(heads: &[Named]) -> String {
    let names: Vec<&str> = heads.iter().flat_map(|h| &h.names).map(String::as_str).collect();
    let shown = names.len().min(60);
    match names.len() - shown {
        0 => names.join(", "),
        more => format!("{} and {more} more", names[..shown].join(", ")),
    }
}

fn column_number(named: &str) -> Option<usize> {
    named.strip_prefix('#')?.trim().parse().ok()
}

/// One table with names for its columns: its own, or their numbers.
struct Named {
    names: Vec<String>,
    header: usize,
}

pub(super) fn pick(mut tables: Vec<Table>, options: &LogOptions) -> Result<Picked, Vec<LogFault>> {
    let mut notes = Notes::default();
    for table in &mut tables {
        table.said.drain(..).for_each(|said| notes.say(Topic::File, said));
    }
    let numbered = options
        .channels
        .values()
        .any(|c| column_number(c.column.trim()).is_some());
    let first = &tables[0];
    if first.names.is_none() && !numbered {
        return Err(vec![Trouble::NoHeader.at(first.lines.at(0), None)]);
    }
    let heads: Vec<Named> = (tables.iter())
        .map(|table| Named {
            header: table.header_line.unwrap_or(table.lines.at(0)),
            names: (table.names.as_ref())
                .map(|names| names.iter().map(|name| clipped(name)).collect())
                .unwrap_or_else(|| (1..=table.columns.len()).map(|n| format!("#{n}")).collect()),
        })
        .collect();
    if tables.len() > 1 {
        let lines: Vec<String> = heads.iter().map(|h| h.header.to_string()).collect();
        notes.say(
            Topic::File,
            format!(
                "The file holds {} tables, with headers on lines {}.",
                tables.len(),
                lines.join(", ")
            ),
        );
    }
    let (mut faults, mut wanted_twice) = (Vec::new(), Vec::new());
    let mut places = named(&heads, options, &mut faults);
    let clocks = by_words(&tables, &heads, &mut places, &mut wanted_twice, &mut notes);
    faults.extend(wanted_twice);
    let found = listed(&heads);
    let missing = |channel| {
        Trouble::Missing {
            channel,
            found: found.clone(),
        }
        .at(heads[0].header, None)
    };
    if faults.is_empty() {
        if clocks.is_empty() {
            faults.push(missing(Channel::Time));
        }
        faults.extend(
            NEEDED
                .into_iter()
                .filter(|c| !places.contains_key(c))
                .map(missing),
        );
    }
    let mut columns = BTreeMap::new();
    for (&channel, &(table, at)) in &places {
        let taken = take(&mut tables, &heads, channel, (table, at), options);
        let column = match taken {
            Ok(column) => column,
            Err(why) if BESIDE.contains(&channel) => {
                for fault in why {
                    notes.say(
                        Topic::Caution,
                        format!("The {} is left out: {fault}; {}.", channel.words(), fault.mend()),
                    );
                }
                continue;
            }
            Err(why) => {
                faults.extend(why);
                continue;
            }
        };
        if column.values.iter().all(|v| v.is_nan()) {
            notes.say(
                Topic::Channels,
                format!(
                    "Column '{}' ({}) is empty; the log is read as if it were not there.",
                    column.name,
                    channel.words()
                ),
            );
            if NEEDED.contains(&channel) {
                faults.push(missing(channel));
            }
            continue;
        }
        columns.insert(channel, column);
    }
    let mut taken_clocks = BTreeMap::new();
    for (table, at) in clocks {
        if columns.values().any(|c| c.table == table) {
            match take(&mut tables, &heads, Channel::Time, (table, at), options) {
                Ok(clock) => drop(taken_clocks.insert(table, clock)),
                Err(why) => faults.extend(why),
            }
        }
    }
    for (channel, column) in &columns {
        if !taken_clocks.contains_key(&column.table) && faults.is_empty() {
            let trouble = Trouble::Missing {
                channel: Channel::Time,
                found: format!(
                    "{} (where the {} stands)",
                    heads[column.table].names.join(", "),
                    channel.words()
                ),
            };
            faults.push(trouble.at(column.header, None));
        }
    }
    if faults.is_empty() {
        Ok(Picked {
            columns,
            clocks: taken_clocks,
            lines: tables.into_iter().map(|t| t.lines).collect(),
            notes,
        })
    } else {
        Err(faults)
    }
}

/// Takes a column out of its table, with what the user states of it.
fn take(
    tables: &mut [Table],
    heads: &[Named],
    channel: Channel,
    (table, at): (usize, usize),
    options: &LogOptions,
) -> Result<Column, Vec<LogFault>> {
    let (from, head) = (&mut tables[table], &heads[table]);
    let (name, header) = (head.names[at].clone(), head.header);
    let choice = options.channels.get(&channel);
    let mut faults = Vec::new();
    if let Some(sign) = choice.and_then(|c| c.sign).filter(|s| s.abs() != 1.0) {
        faults.push(Trouble::Sign { channel, sign }.at(header, Some(at + 1)));
    }
    let (_, in_file) = split_unit(&name, &from.units[at]);
    let in_units_row = !from.units[at].is_empty();
    let stated = choice.and_then(|c| c.unit.clone()).or(in_file);
    let unit = stated.as_ref().and_then(|u| {
        let kind = channel.kind();
        factor(u, kind).map(|factor| Unit {
            shown: shown(u),
            factor,
            offset: offset(u, kind),
        })
    });
    if let (Some(unit), None) = (&stated, &unit) {
        let line = from.units_line.filter(|_| in_units_row).unwrap_or(header);
        let trouble = Trouble::Unit {
            channel,
            column: name.clone(),
            unit: clipped(unit),
        };
        faults.push(trouble.at(line, Some(at + 1)));
    }
    let odd = std::mem::take(&mut from.odd[at]);
    faults.extend(odd.first.into_iter().enumerate().map(|(k, (line, text))| {
        let trouble = Trouble::NotANumber {
            column: name.clone(),
            text: text.chars().take(40).collect(),
            count: if k == 0 { odd.count } else { 1 },
        };
        trouble.at(line, Some(at + 1))
    }));
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(Column {
        values: std::mem::take(&mut from.columns[at]),
        name,
        number: at + 1,
        table,
        unit,
        sign: choice.and_then(|c| c.sign),
        named: choice.is_some(),
        header,
    })
}

type Places = BTreeMap<Channel, (usize, usize)>;

/// Columns that the user names; a time column may be named in several tables, the first is kept here.
fn named(heads: &[Named], options: &LogOptions, faults: &mut Vec<LogFault>) -> Places {
    let mut places = Places::new();
    for (&channel, choice) in &options.channels {
        match heads
            .iter()
            .enumerate()
            .find_map(|(t, head)| in_head(head, channel, &choice.column).map(|p| (t, p)))
        {
            Some((_, Err(fault))) => faults.push(fault),
            Some((table, Ok(at))) => {
                if let Some((&one, _)) = places.iter().find(|(_, p)| **p == (table, at)) {
                    let trouble = Trouble::Shared {
                        one,
                        other: channel,
                        column: heads[table].names[at].clone(),
                    };
                    faults.push(trouble.at(heads[table].header, Some(at + 1)));
                }
                places.insert(channel, (table, at));
            }
            None => {
                let trouble = Trouble::NoColumn {
                    channel,
                    column: choice.column.clone(),
                    found: listed(heads),
                };
                faults.push(trouble.at(heads[0].header, None));
            }
        }
    }
    places
}

/// Where in one table the column stands that a user names.
fn in_head(head: &Named, channel: Channel, named: &str) -> Option<Result<usize, LogFault>> {
    let names = &head.names;
    let wanted = named.trim();
    let hits = |same: fn(&str, &str) -> bool| -> Vec<usize> {
        (0..names.len())
            .filter(|&i| same(names[i].trim(), wanted))
            .collect()
    };
    let exact = hits(|a, b| a == b);
    let hits = if exact.is_empty() {
        hits(str::eq_ignore_ascii_case)
    } else {
        exact
    };
    match (hits.as_slice(), column_number(wanted)) {
        ([one], _) => Some(Ok(*one)),
        ([first, second, ..], _) => Some(Err(duplicate(channel, head, *first, *second))),
        ([], Some(n)) if n >= 1 && n <= names.len() => Some(Ok(n - 1)),
        _ => None,
    }
}

/// Columns by the words of their names; each goes to the channel that it suits best. Gives the clock of each table.
fn by_words(
    tables: &[Table],
    heads: &[Named],
    places: &mut Places,
    faults: &mut Vec<LogFault>,
    notes: &mut Notes,
) -> BTreeMap<usize, usize> {
    let mut clocks = BTreeMap::new();
    if let Some((table, at)) = places.remove(&Channel::Time) {
        // The same name is the clock in every table that has it.
        let name = heads[table].names[at].clone();
        for (t, head) in heads.iter().enumerate() {
            if let Some(at) = head.names.iter().position(|n| *n == name) {
                clocks.insert(t, at);
            }
        }
        clocks.insert(table, at);
    }
    let taken: Vec<(usize, usize)> = places.values().copied().collect();
    let mut best: BTreeMap<Channel, Vec<(u32, usize, usize)>> = BTreeMap::new();
    for (t, head) in heads.iter().enumerate() {
        let free = (0..head.names.len()).filter(|&i| !taken.contains(&(t, i)) && clocks.get(&t) != Some(&i));
        for i in free {
            let (words, unit) = split_unit(&head.names[i], &tables[t].units[i]);
            let scores = Channel::ALL.map(|c| (suits(c, &words, unit.as_deref()), c));
            let Some((score, channel)) = scores.into_iter().rev().max_by_key(|s| s.0).filter(|s| s.0 > 0)
            else {
                continue;
            };
            best.entry(channel).or_default().push((score, t, i));
        }
    }
    let empty = |t: usize, i: usize| tables[t].columns[i].iter().all(|v| v.is_nan());
    // Clocks, one for each table: the best score first, among equals the one further left; empty ones last.
    let mut times = best.remove(&Channel::Time).unwrap_or_default();
    times.sort_by_key(|&(score, t, i)| (empty(t, i), std::cmp::Reverse(score), t, i));
    for (_, t, i) in times {
        clocks.entry(t).or_insert(i);
    }
    for (channel, mut hits) in best {
        if places.contains_key(&channel) {
            continue;
        }
        hits.sort_by_key(|&(score, t, i)| (empty(t, i), std::cmp::Reverse(score), t, i));
        let (score, table, first) = hits[0];
        let names = &heads[table].names;
        for &(other_score, t, other) in &hits[1..] {
            let there = &heads[t].names[other];
            if t == table && names[other] == names[first] {
                faults.push(duplicate(channel, &heads[table], first, other));
            } else if other_score == score && !empty(t, other) {
                notes.say(
                    Topic::Caution,
                    format!(
                        "Both '{}' and '{there}'{} could be the {}; '{}' was taken. Name the column if that is wrong.",
                        names[first],
                        if t == table { String::new() } else { format!(" of the table on line {}", heads[t].header) },
                        channel.words(),
                        names[first]
                    ),
                );
            }
        }
        places.insert(channel, (table, first));
    }
    clocks
}

fn duplicate(channel: Channel, head: &Named, first: usize, second: usize) -> LogFault {
    let trouble = Trouble::Duplicate {
        channel,
        column: head.names[first].clone(),
        first: first + 1,
        second: second + 1,
    };
    trouble.at(head.header, Some(second + 1))
}
