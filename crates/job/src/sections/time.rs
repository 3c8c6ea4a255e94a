//! `[shop.event]`, `[[shop.person]]`, `[[shop.task]]`, `[[shop.route]]`.

use glam::DVec2;
use measure::Dimension::{Acceleration, Time};
use shop::time::{DAY, Date, Person, Task, WEEKDAYS};
use std::path::Path;

use crate::fault::Place;
use crate::plan::NamedFile;
use crate::section::{Bounds, Need, Section, Shape, listed};
use crate::sources::{DESIGN_LIMIT, Sources};
use crate::time::{Days, Route, duration};
use crate::tree::{Node, Value};

/// Nothing in a shop takes longer [days]: a slip.
const LONGEST: f64 = 1000.0;

/// `[shop.event]`.
pub(crate) fn event(section: &Section) -> Option<Days> {
    section.shaped("date", Shape::Date);
    let event = section
        .required("date", "\"2026-12-19\"")
        .and_then(|node| noted_date(section, "date", node));
    section.shaped("start", Shape::Date);
    section.needed(
        "start",
        Need::Default("today".to_owned(), "the day on which it is asked"),
    );
    let start = match section.node("start") {
        None => {
            section.default("start", "today".to_owned(), "the day on which it is asked");
            Some(None)
        }
        Some(node) => noted_date(section, "start", node).map(Some),
    };
    let opens = section.quantity_or(
        "opens",
        Time,
        Bounds::within(0.0, DAY),
        8.0 * 3600.0,
        "from midnight; common practice, no source",
    );
    let hours = section.quantity_or(
        "hours",
        Time,
        Bounds::above_to(0.0, DAY),
        8.0 * 3600.0,
        "a full working day; common practice, no source",
    );
    let rest = rest(section);
    let shut = days(section, "shut", "no day is shut but those of the week that rest");
    let (event, start, opens, hours) = (event?, start?, opens?, hours?);
    if opens + hours > DAY {
        let what = "the working day runs past midnight".to_owned();
        section.fault(
            "out-of-range",
            "hours",
            what,
            "open earlier, or work fewer hours".to_owned(),
        );
        return None;
    }
    if let Some(start) = start
        && event <= start
    {
        let what = format!("the event on {event} is not after the start on {start}");
        section.fault(
            "event-past",
            "date",
            what,
            "state the date of an event that lies ahead, or an earlier start".to_owned(),
        );
        return None;
    }
    Some(Days {
        event,
        start,
        opens,
        hours,
        rest: rest?,
        shut: shut?,
    })
}

/// `[[shop.person]]`.
pub(crate) fn people(shop: &Section) -> Option<Vec<Person>> {
    let people = shop.parts("person").into_iter().map(|(name, section)| {
        let hours = section.optional_quantity("hours", Time, Bounds::above_to(0.0, DAY));
        let away = days(&section, "away", "never away");
        let bad = section.has("hours") && hours.is_none();
        section.finish();
        (!bad).then_some(())?;
        Some(Person {
            name,
            hours,
            away: away?,
        })
    });
    whole(people.collect())
}

/// `[[shop.task]]`, with the place of each; `hours` are those of a working day.
pub(crate) fn tasks(shop: &Section, people: &[Person], hours: f64) -> Option<Vec<(Task, Place)>> {
    let parts = shop.parts("task");
    let names: Vec<String> = parts.iter().map(|(name, _)| name.clone()).collect();
    let tasks = parts.into_iter().map(|(name, section)| {
        let place = section.place.clone();
        let who = match section.optional_text("who") {
            None if section.has("who") => None,
            None => {
                section.default("who", "nobody".to_owned(), "it is only waited for, day and night");
                Some(None)
            }
            Some(who) => known(
                &section,
                "who",
                "person",
                &who,
                people.iter().map(|p| p.name.as_str()),
            )
            .map(Some),
        };
        let after = numbers(&section, "after", &names, "it can be begun at once");
        let of_day = who.flatten().map(|p: usize| people[p].hours.unwrap_or(hours));
        let taken = points(&section).map(|points| duration(points, of_day));
        let rises = taken.is_none_or(|d| d.is_sound());
        if !rises {
            section.fault(
                "out-of-order",
                "duration",
                "the durations do not rise from least over likely to most".to_owned(),
                "write the least first and the most last".to_owned(),
            );
        }
        section.finish();
        Some((
            Task {
                name,
                who: who?,
                after: after?,
                duration: taken.filter(|_| rises)?,
            },
            place,
        ))
    });
    whole(tasks.collect())
}

/// `[[shop.route]]`; `names` are those of the tasks.
pub(crate) fn routes(shop: &Section, names: &[String], root: &Path, sources: &Sources) -> Option<Vec<Route>> {
    let routes = shop.parts("route").into_iter().map(|(name, section)| {
        let place = section.place.clone();
        let tasks = if section.has("tasks") {
            numbers(&section, "tasks", names, "all of them")
        } else {
            section.shaped("tasks", Shape::Texts);
            section.default(
                "tasks",
                "all of them".to_owned(),
                "a route without tasks of its own takes all",
            );
            Some((0..names.len()).collect())
        };
        if section.has("tasks") && tasks.as_ref().is_some_and(Vec::is_empty) {
            let what = "the route has no task".to_owned();
            section.fault(
                "zero-size",
                "tasks",
                what,
                "name at least one, or leave the key out".to_owned(),
            );
        }
        let cost = cost(&section);
        let listed = section.truth_or(
            "listed",
            false,
            "a route costs what is stated, unless the sum of the list of parts is added",
        );
        let holds = section.optional_quantity("holds", Acceleration, Bounds::above_to(0.0, 60.0));
        let bad = section.has("holds") && holds.is_none();
        let design_place = section.place_of("design");
        let design = section.optional_text("design").map(|file| NamedFile {
            path: root.join(&file),
            named: Some((root.to_path_buf(), design_place, section.key("design"))),
        });
        if let Some(fault) = design.as_ref().and_then(|d| d.bytes(sources, DESIGN_LIMIT).err()) {
            section.desk.fault(fault);
        }
        if holds.is_some() && design.is_some() {
            let what = "holds and design both say what the route holds".to_owned();
            section.fault("stated-twice", "design", what, "keep one of them".to_owned());
        }
        let risk = section.optional_text("risk").unwrap_or_default();
        let rules = section.optional_text("rules").unwrap_or_default();
        section.finish();
        (!bad).then_some(())?;
        Some(Route {
            name,
            tasks: tasks?,
            cost: cost?,
            listed: listed?,
            holds,
            design,
            risk,
            rules,
            place,
        })
    });
    whole(routes.collect())
}

/// All, or none when one could not be read; every one was looked at.
fn whole<T>(all: Vec<Option<T>>) -> Option<Vec<T>> {
    all.into_iter().collect()
}

/// The number of a named thing.
fn known<'n>(
    section: &Section,
    key: &'static str,
    what: &str,
    name: &str,
    names: impl Iterator<Item = &'n str> + Clone,
) -> Option<usize> {
    let found = names.clone().position(|n| n == name);
    if found.is_none() {
        let all: Vec<&str> = names.clone().collect();
        let mend = match (measure::nearest(name, names), all.is_empty()) {
            (Some(near), _) => format!("did you mean \"{near}\"?"),
            (None, true) => format!("add it: [[shop.{what}]] with name = \"{name}\""),
            (None, false) => format!("known: {}; or add [[shop.{what}]] with this name", listed(&all)),
        };
        let id = if what == "task" {
            "unknown-task"
        } else {
            "unknown-person"
        };
        section.fault(id, key, format!("there is no {what} \"{name}\""), mend);
    }
    found
}

/// Tasks named in a list, as numbers.
fn numbers(
    section: &Section,
    key: &'static str,
    names: &[String],
    reason: &'static str,
) -> Option<Vec<usize>> {
    section.shaped(key, Shape::Texts);
    let Some(node) = section.node(key) else {
        section.default(key, "none".to_owned(), reason);
        return Some(Vec::new());
    };
    let mut found = Vec::new();
    let mut sound = true;
    for name in section.list(key, node)? {
        let Value::Text(name) = &name.value else {
            let what = format!("{} stands where the name of a task is due", name.value.kind());
            section.fault(
                "wrong-kind",
                key,
                what,
                format!("write {key} = [\"cut the plates\"]"),
            );
            return None;
        };
        match known(section, key, "task", name, names.iter().map(String::as_str)) {
            Some(number) if !found.contains(&number) => found.push(number),
            Some(_) => {}
            None => sound = false,
        }
    }
    let said: Vec<&str> = found.iter().map(|i| names[*i].as_str()).collect();
    section.note(key, node, listed(&said));
    sound.then_some(found)
}

/// Least, likely and most of `duration`: seconds, or days where told.
fn points(section: &Section) -> Option<[(f64, bool); 3]> {
    const KEY: &str = "duration";
    section.shaped(KEY, Shape::Durations);
    let node = section.required(KEY, "[\"2 h\", \"4 h\", \"8 h\"]")?;
    let nodes: Vec<&Node> = match &node.value {
        Value::List(list) => list.iter().collect(),
        _ => vec![node],
    };
    let read: Option<Vec<(f64, bool)>> = nodes.iter().map(|n| time(section, KEY, n)).collect();
    let points = match read?[..] {
        [one] => [one; 3],
        [least, likely, most] => [least, likely, most],
        _ => {
            let what = format!("{} durations stand where one or three are due", nodes.len());
            let mend = "write [least, likely, most], for instance [\"2 h\", \"4 h\", \"8 h\"]".to_owned();
            section.fault("wrong-kind", KEY, what, mend);
            return None;
        }
    };
    section.note(KEY, node, node.raw.clone());
    Some(points)
}

/// A time [s], or a count of days and `true`.
fn time(section: &Section, key: &str, node: &Node) -> Option<(f64, bool)> {
    let in_days = match &node.value {
        Value::Text(text) => (["days", "day", "d"].iter()).find_map(|unit| text.trim().strip_suffix(unit)),
        _ => None,
    };
    let (value, most) = match in_days {
        // A number of hours is a number.
        Some(number) => {
            let as_hours = Node {
                value: Value::Text(format!("{} h", number.trim())),
                ..node.clone()
            };
            (section.value(key, &as_hours, Time)? / 3600.0, LONGEST)
        }
        None => (section.value(key, node, Time)?, LONGEST * DAY),
    };
    if !(0.0..=most).contains(&value) {
        let what = format!("{} is out of range", node.raw);
        section.fault(
            "out-of-range",
            key,
            what,
            "a time from zero to 1000 days is due".to_owned(),
        );
        return None;
    }
    Some((value, in_days.is_some()))
}

/// Least and most money.
fn cost(section: &Section) -> Option<Option<DVec2>> {
    section.shaped("cost", Shape::Numbers);
    if !section.has("cost") {
        return Some(None);
    }
    let node = section.node("cost")?;
    let numbers: Option<Vec<f64>> = (section.list("cost", node)?.iter())
        .map(|n| section.number_in("cost", n))
        .collect();
    match numbers?[..] {
        [least, most] if 0.0 <= least && least <= most => {
            section.note("cost", node, format!("{least} to {most}"));
            Some(Some(DVec2::new(least, most)))
        }
        _ => {
            let what = format!("{} is no range of money", node.raw);
            let mend = "write the least and the most, for instance [300, 420]".to_owned();
            section.fault("out-of-range", "cost", what, mend);
            None
        }
    }
}

/// Days of the week without work.
fn rest(section: &Section) -> Option<Vec<usize>> {
    section.shaped("rest", Shape::Texts);
    let Some(node) = section.node("rest") else {
        section.default("rest", "none".to_owned(), "work goes on all week unless stated");
        return Some(Vec::new());
    };
    let mut found = Vec::new();
    for day in section.list("rest", node)? {
        let name = match &day.value {
            Value::Text(name) => name.as_str(),
            other => other.kind(),
        };
        let Some(number) = WEEKDAYS.iter().position(|d| d.eq_ignore_ascii_case(name)) else {
            let mend = match measure::nearest(name, WEEKDAYS) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("known here: {}", listed(&WEEKDAYS)),
            };
            section.fault(
                "unknown-word",
                "rest",
                format!("\"{name}\" is no day of the week"),
                mend,
            );
            return None;
        };
        found.push(number);
    }
    let said: Vec<&str> = found.iter().map(|d| WEEKDAYS[*d]).collect();
    section.note("rest", node, listed(&said));
    Some(found)
}

/// Days and stretches of days.
fn days(section: &Section, key: &'static str, reason: &'static str) -> Option<Vec<[Date; 2]>> {
    section.shaped(key, Shape::Days);
    let Some(node) = section.node(key) else {
        section.default(key, "none".to_owned(), reason);
        return Some(Vec::new());
    };
    let mut found = Vec::new();
    for entry in section.list(key, node)? {
        let stretch = match &entry.value {
            Value::List(pair) if pair.len() == 2 => {
                [date(section, key, &pair[0])?, date(section, key, &pair[1])?]
            }
            _ => [date(section, key, entry)?; 2],
        };
        if stretch[0] > stretch[1] {
            let what = format!("{} ends before it begins", entry.raw);
            section.fault("out-of-order", key, what, "write the first day first".to_owned());
            return None;
        }
        found.push(stretch);
    }
    section.note(key, node, node.raw.clone());
    Some(found)
}

fn noted_date(section: &Section, key: &'static str, node: &Node) -> Option<Date> {
    let day = date(section, key, node)?;
    section.note(key, node, format!("{}, {day}", WEEKDAYS[day.weekday()]));
    Some(day)
}

/// A day, in quotes or as TOML's own date.
fn date(section: &Section, key: &str, node: &Node) -> Option<Date> {
    let text = match &node.value {
        Value::Text(text) => text.as_str(),
        _ => node.raw.as_str(),
    };
    text.parse().ok().or_else(|| {
        let what = format!("{} is not a day of the calendar", node.raw);
        section.fault(
            "not-a-date",
            key,
            what,
            "write year, month and day, for instance \"2026-12-19\"".to_owned(),
        );
        None
    })
}
