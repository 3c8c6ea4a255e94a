//! What a design says of the time until an event: days, people, tasks, and the routes that the team weighs.

use glam::DVec2;
use shop::time::{Date, Duration, Person, Task, ring};
use std::path::Path;

use crate::fault::Place;
use crate::plan::NamedFile;
use crate::section::Section;
use crate::sections::time as section;
use crate::sources::Sources;

/// The plan as stated. Seconds, as in [`shop::time`].
#[derive(Clone, Debug)]
pub struct TimePlan {
    /// Day of the event.
    pub event: Date,
    /// First day of work; the day on which it is asked when `None`.
    pub start: Option<Date>,
    /// When a working day begins, from midnight [s].
    pub opens: f64,
    /// How long it is [s].
    pub hours: f64,
    /// Days of the week without work; 0 is Monday.
    pub rest: Vec<usize>,
    /// Days without work.
    pub shut: Vec<[Date; 2]>,
    /// Who does the work.
    pub people: Vec<Person>,
    /// What is to be done.
    pub tasks: Vec<Task>,
    /// Ways that are weighed; without any, all tasks are one way.
    pub routes: Vec<Route>,
    /// Where the event is stated.
    pub place: Place,
    /// Where each task is stated.
    pub task_places: Vec<Place>,
}

/// A way to go: make, modify, buy, go back.
#[derive(Clone, Debug)]
pub struct Route {
    /// Name.
    pub name: String,
    /// Its tasks, by number.
    pub tasks: Vec<usize>,
    /// Least and most that it costs, in the shop's money.
    pub cost: Option<DVec2>,
    /// True where the parts are those of the list: their sum is added to the cost.
    pub listed: bool,
    /// What it holds, as stated [m/s²].
    pub holds: Option<f64>,
    /// A design that tells what it holds.
    pub design: Option<NamedFile>,
    /// What may go wrong.
    pub risk: String,
    /// What the event's rules say of it.
    pub rules: String,
    /// Where it is stated.
    pub place: Place,
}

/// `None` outside: something is wrong; inside: no event is stated.
pub(crate) fn read(shop: &Section, root: &Path, sources: &Sources) -> Option<Option<TimePlan>> {
    let event_stated = shop.has("event");
    let stated = ["task", "person", "route"].into_iter().find(|key| shop.has(key));
    let Some(event) = shop.below("event") else {
        if event_stated {
            return None;
        }
        let Some(key) = stated else {
            return Some(None);
        };
        shop.fault(
            "missing-section",
            key,
            format!("there is a {key}, but no event that it is for"),
            "add [shop.event] with date = \"2026-12-19\"".to_owned(),
        );
        return None;
    };
    let place = event.place.clone();
    let days = section::event(&event);
    event.finish();
    let people = section::people(shop);
    let hours = days.as_ref().map_or(8.0 * 3600.0, |d| d.hours);
    let tasks = section::tasks(shop, people.as_deref().unwrap_or_default(), hours);
    let names: Vec<String> = (tasks.iter().flatten())
        .map(|(task, _)| task.name.clone())
        .collect();
    let routes = section::routes(shop, &names, root, sources);
    let (days, people, tasks, routes) = (days?, people?, tasks?, routes?);
    if tasks.is_empty() {
        shop.fault(
            "missing-section",
            "event",
            "there is an event, but no task before it".to_owned(),
            "add the first [[shop.task]] with name and duration".to_owned(),
        );
        return None;
    }
    let (tasks, task_places): (Vec<Task>, Vec<Place>) = tasks.into_iter().unzip();
    let waits: Vec<&[usize]> = tasks.iter().map(|t| &t.after[..]).collect();
    if let Some(found) = ring(&waits) {
        told_ring(shop, &tasks, &task_places, &found);
        return None;
    }
    Some(Some(TimePlan {
        event: days.event,
        start: days.start,
        opens: days.opens,
        hours: days.hours,
        rest: days.rest,
        shut: days.shut,
        people,
        tasks,
        routes,
        place,
        task_places,
    }))
}

fn told_ring(shop: &Section, tasks: &[Task], places: &[Place], found: &[usize]) {
    let name = |i: usize| format!("\"{}\"", tasks[i].name);
    let what = match found {
        [one] => format!("the task {} waits for itself", name(*one)),
        _ => {
            let links: Vec<String> = (0..found.len())
                .map(|i| format!("{} for {}", name(found[i]), name(found[(i + 1) % found.len()])))
                .collect();
            format!("tasks wait for each other in a ring: {}", links.join(", "))
        }
    };
    let last = found[found.len() - 1];
    shop.desk.fault(crate::fault::Fault {
        id: "waits-for-itself",
        place: places[found[0]].clone(),
        key: format!("shop.task {}.after", name(found[0])),
        what,
        mend: format!(
            "take one of these waits out, for instance {} from {}",
            name(found[0]),
            name(last)
        ),
    });
}

/// The days as `[shop.event]` states them.
pub(crate) struct Days {
    pub event: Date,
    pub start: Option<Date>,
    pub opens: f64,
    pub hours: f64,
    pub rest: Vec<usize>,
    pub shut: Vec<[Date; 2]>,
}

/// Least, likely and most with the hours that a day of work has.
pub(crate) fn duration(points: [(f64, bool); 3], hours: Option<f64>) -> Duration {
    let [least, likely, most] = points.map(|(value, in_days)| match (in_days, hours) {
        (true, Some(hours)) => value * hours,
        (true, None) => value * shop::time::DAY,
        (false, _) => value,
    });
    Duration { least, likely, most }
}
