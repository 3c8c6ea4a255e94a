//! The time until an event as bars: when each task will be done, which of them decide, who is away.

use crate::drawing::words::{width, wrapped};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::{RouteFact, TaskFact, TimeFacts, chance_said};
use glam::DVec2;

/// Room at the edge of the paper [mm].
const EDGE: f64 = 12.0;
/// Where the bars begin [mm].
const LEFT: f64 = 78.0;

/// The bars of one way on a sheet of `paper` [mm], lying.
pub fn bars(time: &TimeFacts, route: &RouteFact, paper: [f64; 2]) -> Drawing {
    let title = match route.name.as_str() {
        "" => "Will it be ready?".to_owned(),
        name => format!("Will it be ready? {}", capital(name)),
    };
    let mut d = Drawing::new("time", paper[0], paper[1], &title);
    d.said = route.said.clone();
    let right = paper[0] - EDGE;
    let mut y = paper[1] - EDGE - 7.0;
    d.strong(DVec2::new(EDGE, y), &title, 8.0, Anchor::Start, Ink::Main);
    let chance = chance_said(route.chance);
    d.strong(DVec2::new(right, y - 1.0), &chance, 13.0, Anchor::End, Ink::Main);
    d.text(
        DVec2::new(right, y - 7.0),
        &format!("ready before {}", time.event_said),
        4.2,
        Anchor::End,
        Ink::Main,
    );
    for line in wrapped(&route.said, 4.2, right - EDGE - 62.0, false) {
        y -= 6.0;
        d.text(DVec2::new(EDGE, y), &line, 4.2, Anchor::Start, Ink::Main);
    }
    let last = route.ready_days[2].max(time.until + 1.0).ceil() + 1.0;
    let rows = route.tasks.len() as f64 + 1.0;
    let top = y - 13.0;
    let foot = EDGE + 21.0;
    let chart = Chart {
        top,
        foot,
        right,
        days: last,
        row: ((top - foot) / rows).min(15.0),
    };
    chart.axis(&mut d, time);
    for (i, task) in route.tasks.iter().enumerate() {
        chart.task(&mut d, i, task);
    }
    chart.ready(&mut d, route);
    chart.event(&mut d, time);
    let words = "Box: begin and end in the middle of all runs. Thin line: from an early begin (one run in ten is earlier) to a late \
         end (one in ten is later). Black with a point: on the chain that decides in more than half of the runs. Hatched: \
         who does it is not there.";
    for (i, line) in wrapped(words, 3.6, right - EDGE, false).iter().enumerate() {
        let at = DVec2::new(EDGE, EDGE + 8.0 - 5.0 * i as f64);
        d.text(at, line, 3.6, Anchor::Start, Ink::Quiet);
    }
    d
}

struct Chart {
    top: f64,
    foot: f64,
    right: f64,
    days: f64,
    row: f64,
}

impl Chart {
    fn x(&self, day: f64) -> f64 {
        LEFT + day / self.days * (self.right - LEFT)
    }

    /// Middle of a row.
    fn y(&self, row: usize) -> f64 {
        self.top - self.row * (row as f64 + 0.5)
    }

    fn low(&self, rows: usize) -> f64 {
        self.top - self.row * rows as f64
    }

    /// Days along the top, as many as have room.
    fn axis(&self, d: &mut Drawing, time: &TimeFacts) {
        let step = [1, 2, 7, 14, 28, 56]
            .into_iter()
            .find(|s| self.x(f64::from(*s)) - self.x(0.0) > 19.0);
        let step = step.unwrap_or(112) as usize;
        for (day, label) in time.days.iter().enumerate().take(self.days as usize + 1) {
            let x = self.x(day as f64);
            let marked = day % step == 0;
            if marked || self.days < 70.0 {
                let weight = if marked { Weight::Fine } else { Weight::Hair };
                d.line(
                    DVec2::new(x, self.foot),
                    DVec2::new(x, self.top),
                    Pen::new(Ink::Faint, weight),
                );
            }
            let end = x + width(label, 3.4, false);
            let event = self.x(time.until);
            if marked && end < self.right + 2.0 && !(x - 1.0 < event && event < end + 1.0) {
                d.text(
                    DVec2::new(x, self.top + 1.8),
                    label,
                    3.4,
                    Anchor::Start,
                    Ink::Quiet,
                );
            }
        }
    }

    fn task(&self, d: &mut Drawing, row: usize, task: &TaskFact) {
        let y = self.y(row);
        let half = (0.26 * self.row).min(2.6);
        let size = (0.36 * self.row).min(4.2);
        self.name(d, y, size, &task.name, &task.who, task.decides_often());
        for &day in &task.away {
            let day = day as f64;
            if day < self.days {
                let low = DVec2::new(self.x(day), y - 0.5 * self.row);
                let high = DVec2::new(self.x((day + 1.0).min(self.days)), y + 0.5 * self.row);
                hatch(d, low, high, 1.5, Pen::new(Ink::Quiet, Weight::Hair));
            }
        }
        let pen = Pen::new(Ink::Main, Weight::Medium);
        let (early, late) = (self.x(task.start[0]), self.x(task.end[2]));
        d.line(
            DVec2::new(early, y),
            DVec2::new(late, y),
            Pen::new(Ink::Main, Weight::Fine),
        );
        for x in [early, late] {
            let fine = Pen::new(Ink::Main, Weight::Fine);
            d.line(DVec2::new(x, y - 0.6 * half), DVec2::new(x, y + 0.6 * half), fine);
        }
        let (from, to) = (
            self.x(task.start[1]),
            self.x(task.end[1]).max(self.x(task.start[1]) + 0.8),
        );
        if task.decides_often() {
            // A bar with a point to where it leads.
            let point = (to - from).min(half);
            let shape = [
                DVec2::new(from, y - half),
                DVec2::new(to - point, y - half),
                DVec2::new(to, y),
                DVec2::new(to - point, y + half),
                DVec2::new(from, y + half),
            ];
            d.paths(vec![Path::closed(shape)], Some(pen), Some(Fill::Solid(Ink::Main)));
        } else {
            let shape = Path::rectangle(DVec2::new(from, y - half), DVec2::new(to, y + half));
            d.paths(vec![shape], Some(pen), Some(Fill::Solid(Ink::Ground)));
        }
        if task.decides >= 0.1 {
            let short = format!("decides in {}", chance_said(task.decides));
            let whole = format!("{short}: a day more costs {}", days_said(task.delay));
            self.beside(d, y, size * 0.92, &[&whole, &short], [early, late]);
        }
    }

    /// When all is done.
    fn ready(&self, d: &mut Drawing, route: &RouteFact) {
        let row = route.tasks.len();
        let y = self.y(row);
        let size = (0.36 * self.row).min(4.2);
        let pen = Pen::new(Ink::Main, Weight::Fine);
        d.line(
            DVec2::new(EDGE, self.low(row)),
            DVec2::new(self.right, self.low(row)),
            pen,
        );
        self.name(d, y, size, "all done", "", true);
        let [early, middle, late] = route.ready_days.map(|t| self.x(t));
        d.line(
            DVec2::new(early, y),
            DVec2::new(late, y),
            Pen::new(Ink::Main, Weight::Heavy),
        );
        for x in [early, middle, late] {
            d.circle(DVec2::new(x, y), 1.2, Some(pen), Some(Fill::Solid(Ink::Main)));
        }
        let [early_said, middle_said, late_said] = &route.ready;
        let words = format!("one in ten by {early_said}, half by {middle_said}, nine in ten by {late_said}");
        self.beside(d, y, size * 0.92, &[&words], [early, late]);
    }

    fn event(&self, d: &mut Drawing, time: &TimeFacts) {
        let x = self.x(time.until);
        d.line(
            DVec2::new(x, self.foot - 2.0),
            DVec2::new(x, self.top + 6.0),
            Pen::new(Ink::Bare, Weight::Heavy),
        );
        let words = format!("event, {}", time.event_said);
        let long = width(&words, 4.0, true);
        let (at, anchor) = match x + long > self.right {
            true => (x - 1.2, Anchor::End),
            false => (x + 1.2, Anchor::Start),
        };
        d.label(DVec2::new(at, self.top + 6.5), &words, 4.0, anchor, Ink::Bare);
    }

    /// The longest words that have room right of a bar, or left of it; the shortest over the bar where none has.
    fn beside(&self, d: &mut Drawing, y: f64, size: f64, ways: &[&str], [from, to]: [f64; 2]) {
        let at = y - 0.35 * size;
        for words in ways {
            let long = width(words, size, true) + 2.0;
            if to + long <= self.right {
                d.label(DVec2::new(to + 2.0, at), words, size, Anchor::Start, Ink::Main);
                return;
            }
            if from - long >= LEFT {
                d.label(DVec2::new(from - 2.0, at), words, size, Anchor::End, Ink::Main);
                return;
            }
        }
        if let Some(words) = ways.last() {
            let at = DVec2::new(self.right, at + 0.42 * self.row);
            d.label(at, words, size * 0.85, Anchor::End, Ink::Main);
        }
    }

    fn name(&self, d: &mut Drawing, y: f64, size: f64, name: &str, who: &str, strong: bool) {
        let room = LEFT - EDGE - 3.0;
        let own = (size * (room - 16.0) / width(name, size, strong)).min(size);
        let at = DVec2::new(EDGE, y - 0.35 * size);
        match strong {
            true => d.strong(at, name, own, Anchor::Start, Ink::Main),
            false => d.text(at, name, own, Anchor::Start, Ink::Main),
        }
        d.text(
            DVec2::new(LEFT - 2.0, y - 0.35 * size),
            who,
            0.85 * size,
            Anchor::End,
            Ink::Quiet,
        );
    }
}

/// "1 day", "0.4 days".
pub(crate) fn days_said(days: f64) -> String {
    match format!("{days:.1}").as_str() {
        "1.0" => "1 day".to_owned(),
        "0.0" | "-0.0" => "nothing".to_owned(),
        text => format!("{} days", text.trim_end_matches(".0")),
    }
}

/// `text` with a capital letter at its head.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// Lines at 45 degrees across a rectangle.
pub(crate) fn hatch(d: &mut Drawing, low: DVec2, high: DVec2, pitch: f64, pen: Pen) {
    let size = high - low;
    let mut offset = -((low.x - low.y) % pitch).rem_euclid(pitch) + pitch - size.y;
    while offset < size.x {
        // x - y = offset, within the rectangle.
        let from = DVec2::new(offset.max(0.0), (-offset).max(0.0));
        let to = DVec2::new((offset + size.y).min(size.x), (size.x - offset).min(size.y));
        if to.x > from.x {
            d.line(low + from, low + to, pen);
        }
        offset += pitch;
    }
}
