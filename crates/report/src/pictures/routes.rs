//! The ways side by side, on one page for the meeting.

use super::time::{capital, days_said};
use crate::drawing::words::wrapped;
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::{HoldsFact, RouteFact, TaskFact, TimeFacts, chance_said};
use glam::DVec2;
use measure::STANDARD_GRAVITY;

const EDGE: f64 = 12.0;
/// Where the columns begin [mm].
const LEFT: f64 = 46.0;
/// Height of plain words [mm].
const WORDS: f64 = 4.6;

/// The page, lying on `paper` [mm]; `None` for fewer than two ways.
pub fn side_by_side(design: &str, time: &TimeFacts, paper: [f64; 2]) -> Option<Drawing> {
    if time.routes.len() < 2 {
        return None;
    }
    let mut d = Drawing::new("routes", paper[0], paper[1], "Which way?");
    d.said = time.said.clone();
    let right = paper[0] - EDGE;
    let mut y = paper[1] - EDGE - 7.0;
    d.strong(DVec2::new(EDGE, y), "Which way?", 9.0, Anchor::Start, Ink::Main);
    let about = format!("{design}, event on {}", time.event_said);
    d.text(DVec2::new(right, y), &about, 4.6, Anchor::End, Ink::Quiet);
    y -= 3.0;
    for line in wrapped(&time.said, 5.0, right - EDGE, false) {
        y -= 7.0;
        d.text(DVec2::new(EDGE, y), &line, 5.0, Anchor::Start, Ink::Main);
    }
    y -= 5.0;
    let column = (right - LEFT) / time.routes.len() as f64;
    let mut page = Page { d, y, column, right };
    page.heads(&time.routes);
    page.row("holds", &time.routes, |r| holds(r.holds.as_ref()), true);
    page.chances(time);
    page.row(
        "all done",
        &time.routes,
        |r| vec![format!("{} to {}", r.ready[0], r.ready[2])],
        true,
    );
    page.row("costs", &time.routes, cost, true);
    page.row("what decides", &time.routes, decides, false);
    page.row("may go wrong", &time.routes, |r| vec![stated(&r.risk)], false);
    if time.routes.iter().any(|r| !r.rules.is_empty()) {
        page.row("event's rules", &time.routes, |r| vec![stated(&r.rules)], false);
    }
    let foot = "Holds: steady acceleration in the worst direction at which the mouth is first bare; no lap. All done: one in \
                ten by the first day, nine in ten by the second. Chances, days and costs stand on what the design states.";
    for (i, line) in wrapped(foot, 3.6, right - EDGE, false).iter().enumerate() {
        let at = DVec2::new(EDGE, EDGE + 5.0 - 5.0 * i as f64);
        page.d.text(at, line, 3.6, Anchor::Start, Ink::Quiet);
    }
    Some(page.d)
}

struct Page {
    d: Drawing,
    y: f64,
    column: f64,
    right: f64,
}

impl Page {
    fn x(&self, column: usize) -> f64 {
        LEFT + self.column * column as f64
    }

    fn heads(&mut self, routes: &[RouteFact]) {
        self.y -= 8.0;
        for (i, r) in routes.iter().enumerate() {
            let at = DVec2::new(self.x(i), self.y);
            let lines = wrapped(&capital(&r.name), 7.0, self.column - 4.0, true);
            self.d
                .strong(at, lines.first().map_or("", |l| l), 7.0, Anchor::Start, Ink::Main);
        }
        self.y -= 3.0;
        self.rule(Weight::Heavy);
    }

    fn rule(&mut self, weight: Weight) {
        let (from, to) = (DVec2::new(EDGE, self.y), DVec2::new(self.right, self.y));
        self.d.line(from, to, Pen::new(Ink::Main, weight));
    }

    fn name(&mut self, name: &str) {
        let at = DVec2::new(EDGE, self.y - 6.2);
        self.d.text(at, name, WORDS, Anchor::Start, Ink::Quiet);
    }

    /// A row of words; the first of a large one stands out, the rest explains it.
    fn row(
        &mut self,
        name: &str,
        routes: &[RouteFact],
        words: impl Fn(&RouteFact) -> Vec<String>,
        large: bool,
    ) {
        self.name(name);
        let mut deepest = self.y;
        for (i, r) in routes.iter().enumerate() {
            let mut y = self.y;
            for (k, text) in words(r).iter().enumerate() {
                let strong = large && k == 0;
                let size = if strong {
                    5.6
                } else if large {
                    3.8
                } else {
                    WORDS - 0.4
                };
                for line in wrapped(text, size, self.column - 5.0, strong) {
                    y -= 1.35 * size;
                    let at = DVec2::new(self.x(i), y);
                    match strong {
                        true => self.d.strong(at, &line, size, Anchor::Start, Ink::Main),
                        false => self.d.text(at, &line, size, Anchor::Start, Ink::Main),
                    }
                }
            }
            deepest = deepest.min(y);
        }
        self.y = deepest - 3.0;
        self.rule(Weight::Hair);
    }

    /// The chance of being ready as a number and a bar.
    fn chances(&mut self, time: &TimeFacts) {
        self.name("ready in time");
        let y = self.y - 9.0;
        let long = (self.column - 8.0).min(58.0);
        for (i, r) in time.routes.iter().enumerate() {
            let at = DVec2::new(self.x(i), y);
            self.d
                .strong(at, &chance_said(r.chance), 8.0, Anchor::Start, Ink::Main);
            let low = at - DVec2::new(0.0, 6.0);
            let pen = Some(Pen::new(Ink::Main, Weight::Fine));
            let whole = Path::rectangle(low, low + DVec2::new(long, 3.0));
            self.d.paths(vec![whole], pen, Some(Fill::Solid(Ink::Ground)));
            if r.chance > 0.0 {
                let share = Path::rectangle(low, low + DVec2::new(long * r.chance, 3.0));
                self.d.paths(vec![share], pen, Some(Fill::Solid(Ink::Main)));
            }
        }
        self.y = y - 9.0;
        self.rule(Weight::Hair);
    }
}

fn stated(text: &str) -> String {
    match text {
        "" => "not stated".to_owned(),
        text => text.to_owned(),
    }
}

fn holds(facts: Option<&HoldsFact>) -> Vec<String> {
    let Some(facts) = facts else {
        return vec!["not stated".to_owned()];
    };
    let g = |a: f64| format!("{:.2} g", a / STANDARD_GRAVITY);
    let first = match (facts.from, facts.to) {
        (Some(a), Some(b)) if (b - a).abs() < 0.05 => g(a),
        (Some(a), Some(b)) => format!("{} to {}", g(a), g(b)),
        (Some(a), None) => format!("{} at least", g(a)),
        (None, _) => "more than was tried".to_owned(),
    };
    vec![first, facts.said.clone()]
}

fn cost(route: &RouteFact) -> Vec<String> {
    vec![match route.cost {
        None => "not stated".to_owned(),
        Some([a, b]) if a == b => format!("{a}"),
        Some([a, b]) => format!("{a} to {b}"),
    }]
}

/// How much a task that decides has to say: its length in the middle run, by how often it decides.
pub fn weight(task: &TaskFact) -> f64 {
    task.decides * (task.end[1] - task.start[1])
}

/// The three tasks that decide most.
fn decides(route: &RouteFact) -> Vec<String> {
    let mut tasks: Vec<_> = route.tasks.iter().filter(|t| t.decides >= 0.1).collect();
    tasks.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
    (tasks.iter().take(3))
        .map(|t| format!("{}: a day more costs {}", t.name, days_said(t.delay)))
        .collect()
}
