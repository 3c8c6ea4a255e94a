//! Will it be ready? Tasks with three-point durations, people who do one thing at a time, days away, a date.
//!
//! A [`Plan`] is checked when it is made: no task waits for itself, durations are in order, the date lies ahead. Its
//! [`Plan::forecast`] draws every duration many times from its triangle and works the shop's days through each time:
//! the chance of being ready is a count, and so is how often a task lies on the chain that decides.
//!
//! Time is in seconds from the midnight that begins the day of the start. Someone's task goes on only while the shop is
//! open and that person there; a task that nobody does (a delivery, sealant that cures) goes on day and night.

pub mod date;

mod calendar;
mod forecast;
mod schedule;
#[cfg(test)]
mod tests;
mod triangle;

pub use date::{Date, WEEKDAYS};
pub use forecast::{Forecast, RUNS, TaskForecast};
pub use schedule::Run;
pub use triangle::Duration;

use calendar::Calendar;
use thiserror::Error;

/// Seconds of a day.
pub const DAY: f64 = 86_400.0;

/// When the shop works.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    /// First day of the plan.
    pub start: Date,
    /// Day of the event: all must be done before it begins.
    pub event: Date,
    /// When a working day begins, from midnight [s].
    pub opens: f64,
    /// How long it is [s].
    pub hours: f64,
    /// Days of the week without work; 0 is Monday.
    pub rest: Vec<usize>,
    /// Days without work, first to last.
    pub shut: Vec<[Date; 2]>,
}

/// Someone who does tasks, one at a time.
#[derive(Clone, Debug, PartialEq)]
pub struct Person {
    /// Name.
    pub name: String,
    /// Hours a day [s]; the shop's when `None`.
    pub hours: Option<f64>,
    /// Days away, first to last.
    pub away: Vec<[Date; 2]>,
}

/// A task.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// Name.
    pub name: String,
    /// Who does it, by number; nobody for what only has to be waited for.
    pub who: Option<usize>,
    /// What it waits for, by number.
    pub after: Vec<usize>,
    /// How long it takes [s]: of work when someone does it, of the clock when nobody does.
    pub duration: Duration,
}

/// What is wrong with a plan.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum PlanFault {
    /// Nothing to do.
    #[error("there is no task")]
    NoTask,
    /// Tasks that wait for one another in a ring, each for the next and the last for the first.
    #[error("tasks wait for each other in a ring")]
    Loop(Vec<usize>),
    /// Least, likely and most do not rise, or one is no time.
    #[error("the durations of a task do not rise from least over likely to most")]
    Durations(usize),
    /// The event is not after the start.
    #[error("the event lies before the start")]
    EventPast,
    /// Nobody is ever there to do this task, or not within ten years.
    #[error("a task cannot be done within ten years")]
    NeverDone(usize),
}

/// A checked plan.
#[derive(Clone, Debug)]
pub struct Plan {
    opening: Opening,
    people: Vec<Person>,
    tasks: Vec<Task>,
    /// One a person.
    calendars: Vec<Calendar>,
    /// Work that likely lies behind each task, itself included [s of the clock]: who has two tasks at hand does first
    /// the one with more behind it.
    behind: Vec<f64>,
}

impl Plan {
    /// A plan; numbers of people and tasks are places in the lists. Panics when one lies outside them.
    pub fn new(opening: Opening, people: Vec<Person>, tasks: Vec<Task>) -> Result<Plan, PlanFault> {
        if tasks.is_empty() {
            return Err(PlanFault::NoTask);
        }
        if let Some(bad) = tasks.iter().position(|t| !t.duration.is_sound()) {
            return Err(PlanFault::Durations(bad));
        }
        if opening.event <= opening.start {
            return Err(PlanFault::EventPast);
        }
        let waits: Vec<&[usize]> = tasks.iter().map(|t| &t.after[..]).collect();
        if let Some(ring) = ring(&waits) {
            return Err(PlanFault::Loop(ring));
        }
        let calendars: Vec<Calendar> = people.iter().map(|p| Calendar::of(&opening, p)).collect();
        let behind = behind(&opening, &people, &tasks);
        let plan = Plan {
            opening,
            people,
            tasks,
            calendars,
            behind,
        };
        // The longest durations are the first to fall off the end of the calendar.
        let longest: Vec<f64> = plan.tasks.iter().map(|t| t.duration.most).collect();
        plan.run(&longest)?;
        Ok(plan)
    }

    /// The plan of some of its tasks, by number. What waits for a task that is left out waits for what that one
    /// waits for.
    pub fn only(&self, kept: &[usize]) -> Result<Plan, PlanFault> {
        let mut tasks = Vec::new();
        for &i in kept {
            let mut after = Vec::new();
            let mut asked: Vec<usize> = self.tasks[i].after.clone();
            let mut seen = vec![false; self.tasks.len()];
            while let Some(before) = asked.pop() {
                if std::mem::replace(&mut seen[before], true) {
                    continue;
                }
                match kept.iter().position(|&k| k == before) {
                    Some(place) => after.push(place),
                    None => asked.extend(&self.tasks[before].after),
                }
            }
            after.sort_unstable();
            tasks.push(Task {
                after,
                ..self.tasks[i].clone()
            });
        }
        Plan::new(self.opening.clone(), self.people.clone(), tasks)
    }

    /// When the shop works.
    pub fn opening(&self) -> &Opening {
        &self.opening
    }

    /// Who does the work.
    pub fn people(&self) -> &[Person] {
        &self.people
    }

    /// What is to be done.
    pub fn tasks(&self) -> &[Task] {
        &self.tasks
    }

    /// Whether a person works on a day.
    pub fn works(&self, person: usize, day: Date) -> bool {
        self.opening.is_open(day) && !within(&self.people[person].away, day)
    }

    /// The day in which a time lies; a time at midnight ends the day before it.
    pub fn day_of(&self, time: f64) -> Date {
        self.opening.start.plus((time / DAY).ceil().max(1.0) as i64 - 1)
    }
}

impl Opening {
    /// Whether the shop works on a day.
    pub fn is_open(&self, day: Date) -> bool {
        !self.rest.contains(&day.weekday()) && !within(&self.shut, day)
    }
}

fn within(stretches: &[[Date; 2]], day: Date) -> bool {
    stretches
        .iter()
        .any(|[first, last]| (*first..=*last).contains(&day))
}

/// Tasks that wait for one another in a ring, when there is one: each waits for the next, the last for the first.
pub fn ring(waits: &[&[usize]]) -> Option<Vec<usize>> {
    #[derive(Clone, Copy, PartialEq)]
    enum Mark {
        New,
        Open,
        Done,
    }
    let mut marks = vec![Mark::New; waits.len()];
    for root in 0..waits.len() {
        // The way from the root, each with the number of its waits that were followed.
        let mut way = vec![(root, 0)];
        while let Some((task, next)) = way.last_mut() {
            let task = *task;
            if *next == 0 && marks[task] == Mark::Done {
                way.pop();
                continue;
            }
            marks[task] = Mark::Open;
            match waits[task].get(*next) {
                None => {
                    marks[task] = Mark::Done;
                    way.pop();
                }
                Some(&before) => {
                    *next += 1;
                    match marks[before] {
                        Mark::Open => {
                            let from = way.iter().position(|(t, _)| *t == before).unwrap_or(0);
                            return Some(way[from..].iter().map(|(t, _)| *t).collect());
                        }
                        Mark::New => way.push((before, 0)),
                        Mark::Done => {}
                    }
                }
            }
        }
    }
    None
}

/// Likely time of the clock from the begin of each task to the end of all that waits for it.
fn behind(opening: &Opening, people: &[Person], tasks: &[Task]) -> Vec<f64> {
    let own = |t: &Task| {
        let hours = |p: usize| people[p].hours.unwrap_or(opening.hours);
        let stretch = t.who.map_or(1.0, |p| DAY / hours(p).max(1.0));
        t.duration.mean() * stretch
    };
    let mut behind = vec![0.0; tasks.len()];
    // A chain has at most as many links as there are tasks.
    for _ in 0..tasks.len() {
        for (i, task) in tasks.iter().enumerate() {
            let later = tasks.iter().enumerate().filter(|(_, t)| t.after.contains(&i));
            let most = later.map(|(j, _)| behind[j]).fold(0.0, f64::max);
            behind[i] = own(task) + most;
        }
    }
    behind
}
