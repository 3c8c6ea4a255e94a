//! The time until an event, as facts: the chance of being ready, what decides it, and the ways that are weighed.

use serde::{Deserialize, Serialize};

/// What is said of the time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TimeFacts {
    /// In a sentence or two.
    pub said: String,
    /// First day of work, "2026-11-26".
    pub start: String,
    /// Day of the event, likewise.
    pub event: String,
    /// The event as a person says it, "Sat 19 Dec".
    pub event_said: String,
    /// The ways; one without a name when the design weighs none.
    pub routes: Vec<RouteFact>,
    /// How it was counted.
    pub counted: Vec<String>,
    /// Every day of the pictures, the first at the start. Pictures only: not in the JSON.
    #[serde(skip)]
    pub days: Vec<String>,
    /// Days from the start to the event.
    pub until: f64,
}

/// One way to go.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RouteFact {
    /// Its name; empty when it is the only one.
    pub name: String,
    /// In a sentence or two.
    pub said: String,
    /// Chance of being ready before the day of the event, 0 to 1.
    pub chance: f64,
    /// Standard error of that chance: how far another set of draws would move it.
    pub error: f64,
    /// How often it was worked through.
    pub runs: usize,
    /// All done by the end of this day with a chance of 10, 50 and 90 %.
    pub ready: [String; 3],
    /// The same in days from the start.
    pub ready_days: [f64; 3],
    /// Its tasks, in the order of their begin.
    pub tasks: Vec<TaskFact>,
    /// What it holds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holds: Option<HoldsFact>,
    /// Least and most that it costs, in the shop's money.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cost: Option<[f64; 2]>,
    /// What may go wrong; may be empty.
    pub risk: String,
    /// What the event's rules say of it; may be empty.
    pub rules: String,
}

/// What a way holds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HoldsFact {
    /// Least acceleration at which the mouth is bare [m/s²], by the worse way of counting; absent when it is not bare within
    /// what was tried.
    pub from: Option<f64>,
    /// By the better way of counting.
    pub to: Option<f64>,
    /// Where the numbers come from.
    pub said: String,
}

/// A task.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TaskFact {
    /// Its name.
    pub name: String,
    /// Who does it; empty for what is only waited for.
    pub who: String,
    /// Begin in days from the start: 10, 50 and 90 % of the runs begin no later.
    pub start: [f64; 3],
    /// End, likewise.
    pub end: [f64; 3],
    /// Share of the runs in which it lies on the chain that decides.
    pub decides: f64,
    /// So many days later all is done on the mean when it takes a day longer.
    pub delay: f64,
    /// Days from the start on which who does it is not there. Pictures only: not in the JSON.
    #[serde(skip)]
    pub away: Vec<usize>,
}

impl TaskFact {
    /// Whether it decides in more than half of the runs.
    pub fn decides_often(&self) -> bool {
        self.decides > 0.5
    }
}

/// A chance for people: no digits that nobody knows.
pub fn chance_said(chance: f64) -> String {
    match chance {
        c if c < 0.005 => "under 1 %".to_owned(),
        c if c > 0.995 => "over 99 %".to_owned(),
        c => format!("{:.0} %", c * 100.0),
    }
}
