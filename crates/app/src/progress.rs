//! Progress of long work: seconds of oil motion or cases done and to do, and how long the rest will take.

use crate::overseer::{self, Told};
use std::io::{IsTerminal, Write};
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Between two lines on a terminal.
const TERMINAL_EVERY: Duration = Duration::from_millis(250);

/// Between two lines in a file or a pipe.
const FILE_EVERY: Duration = Duration::from_secs(15);

/// Counts simulated seconds, or cases, over several runs at once.
pub struct Progress {
    what: String,
    /// What is counted, and with how many decimals.
    counted: (&'static str, usize),
    terminal: bool,
    state: Mutex<State>,
}

struct State {
    begun: Instant,
    shown: Option<Instant>,
    total: f64,
    done: f64,
    /// Part of `done` that was found on disk and cost no time now.
    found: f64,
}

impl Progress {
    /// `what` is being computed, `total` seconds of oil motion of it.
    pub fn new(what: &str, total: f64) -> Progress {
        Progress::of(what, total, ("s of oil motion", 1))
    }

    /// `what` is being worked through, `total` pieces called `pieces`.
    pub fn counting(what: &str, total: usize, pieces: &'static str) -> Progress {
        Progress::of(what, total as f64, (pieces, 0))
    }

    fn of(what: &str, total: f64, counted: (&'static str, usize)) -> Progress {
        let begun = Instant::now();
        Progress {
            what: what.to_string(),
            counted,
            terminal: std::io::stderr().is_terminal(),
            state: Mutex::new(State {
                begun,
                shown: None,
                total,
                done: 0.0,
                found: 0.0,
            }),
        }
    }

    /// Seconds that need not be computed again.
    pub fn found(&self, seconds: f64) {
        let mut state = self.state.lock().expect("no holder of this lock panics");
        state.found += seconds;
        state.done += seconds;
    }

    /// Seconds just computed; shows a line now and then.
    pub fn advance(&self, seconds: f64) {
        let mut state = self.state.lock().expect("no holder of this lock panics");
        state.done += seconds;
        let every = if self.terminal || overseer::watches() {
            TERMINAL_EVERY
        } else {
            FILE_EVERY
        };
        let since = state.shown.unwrap_or(state.begun);
        if since.elapsed() < every {
            return;
        }
        state.shown = Some(Instant::now());
        let (pieces, decimals) = self.counted;
        let mut line = format!(
            "{}: {:.decimals$} of {:.decimals$} {pieces}",
            self.what, state.done, state.total
        );
        let fresh = state.done - state.found;
        let left = (fresh > 0.02 * state.total)
            .then(|| state.begun.elapsed().as_secs_f64() * (state.total - state.done) / fresh);
        if let Some(left) = left {
            line += &format!(", about {} left", spoken(left));
        }
        let share = Some((state.done / state.total).clamp(0.0, 1.0)).filter(|share| share.is_finite());
        self.show(line, share, left, false);
    }

    /// Ends the line.
    pub fn finish(&self) {
        let state = self.state.lock().expect("no holder of this lock panics");
        let (pieces, decimals) = self.counted;
        let mut line = format!("{}: {:.decimals$} {pieces}", self.what, state.done);
        if state.found > 0.0 {
            let unit = pieces
                .split(' ')
                .next()
                .filter(|_| decimals > 0)
                .map_or(String::new(), |u| format!(" {u}"));
            line += &format!(" ({:.decimals$}{unit} of it found on disk)", state.found);
        }
        line += &format!(" in {}", spoken(state.begun.elapsed().as_secs_f64()));
        self.show(line, Some(1.0), None, true);
    }

    fn show(&self, line: String, share: Option<f64>, left: Option<f64>, last: bool) {
        if overseer::watches() {
            overseer::tell(&Told::Progress { line, share, left });
        } else {
            self.print(&line, last);
        }
    }

    fn print(&self, line: &str, last: bool) {
        let mut out = std::io::stderr().lock();
        // A closed stderr is no reason to lose a run.
        let _ = match (self.terminal, last) {
            (true, false) => write!(out, "\r\x1b[2K{line}"),
            (true, true) => writeln!(out, "\r\x1b[2K{line}"),
            (false, _) => writeln!(out, "{line}"),
        };
        let _ = out.flush();
    }
}

/// A stretch of wall time as people say it.
pub fn spoken(seconds: f64) -> String {
    match seconds {
        s if s < 100.0 => format!("{:.0} s", s.max(1.0)),
        s if s < 5400.0 => format!("{:.0} min", s / 60.0),
        s => format!("{:.1} h", s / 3600.0),
    }
}
