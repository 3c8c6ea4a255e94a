//! The work of the queue: one run after the other, each attended to until its end, whatever that is.

use super::child::{self, DESIGN, LOOK, LastWords, Working};
use super::ledger::Kept;
use super::{Shared, pictures, results};
use crate::open::refusals::told;
use crate::overseer::Told;
use serve::wire::{Fault, RunState};
use std::path::Path;
use std::process::ExitStatus;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Between two counts of pictures.
const COUNT: Duration = Duration::from_secs(1);

/// How long the end of a server waits for the run that computes; the run stores its state and ends also by itself.
const FAREWELL: Duration = Duration::from_secs(2);

/// Takes one waiting run after the other until the server ends.
pub fn work(shared: &Arc<Shared>) {
    while let Some(kept) = shared.next() {
        compute(shared, &kept);
    }
}

/// Computes a run to whatever end.
fn compute(shared: &Arc<Shared>, kept: &Kept) {
    let id = kept.run.id;
    let (mut working, said) = match child::start(&shared.program, &shared.folder, kept) {
        Ok(started) => started,
        Err(e) => {
            let what = format!("the run could not be started: {e}");
            let fault = plain(
                what,
                "look whether the program and the run's folder are still there",
            );
            return shared.ended(id, RunState::Failed, vec![fault]);
        }
    };
    let own = Arc::clone(shared);
    let listener = std::thread::spawn(move || child::listen(said, |told| own.hear(id, told)));
    // At the server's end a run that still stores its state is left to itself, and its words too.
    let Some(status) = shared.attend(id, &mut working) else {
        return;
    };
    let words = listener.join().unwrap_or_default();
    if shared.state().ending {
        // The list keeps the run as one that computes; the next server goes on with it.
        return;
    }
    match status {
        Ok(status) if status.success() => shared.ended(id, RunState::Done, Vec::new()),
        Ok(_) if words.stopped || !shared.wanted(id) => shared.stopped(id),
        Ok(status) => shared.ended(id, RunState::Failed, why(status, &words)),
        Err(e) => {
            let fault = plain(format!("the run was lost sight of: {e}"), "let it go on");
            shared.ended(id, RunState::Failed, vec![fault]);
        }
    }
}

impl Shared {
    /// The next run that waits, marked as the one that computes; none when the server ends.
    fn next(&self) -> Option<Kept> {
        let mut state = self.state();
        state.working = None;
        loop {
            if state.ending {
                return None;
            }
            let waits = |kept: &&mut Kept| kept.run.state == RunState::Waiting;
            if let Some(kept) = state.ledger.runs.iter_mut().find(waits) {
                kept.run.state = RunState::Running;
                kept.run.line = "reads the design".into();
                kept.run.faults.clear();
                let kept = kept.clone();
                state.working = Some(kept.run.id);
                self.keep(&mut state, kept.run.id);
                return Some(kept);
            }
            state = self.wake.wait(state).expect("no holder of this lock panics");
        }
    }

    /// Whether the user still wants a run to compute.
    fn wanted(&self, id: u32) -> bool {
        let mut state = self.state();
        let kept = state.ledger.find(id);
        kept.is_some_and(|kept| kept.run.state == RunState::Running)
    }

    /// Waits for the end of a child, asking it to stop when the run is no longer wanted. None when the server ends first.
    fn attend(&self, id: u32, working: &mut Working) -> Option<std::io::Result<ExitStatus>> {
        let mut counted = Instant::now();
        let mut farewell = None;
        loop {
            match working.ended() {
                Ok(None) => {}
                Ok(Some(status)) => return Some(Ok(status)),
                Err(e) => {
                    working.kill();
                    return Some(Err(e));
                }
            }
            let mut state = self.state();
            let kept = state.ledger.find(id);
            let wanted = kept.is_some_and(|kept| kept.run.state == RunState::Running);
            if !wanted || state.ending {
                working.ask();
            }
            if state.ending && farewell.get_or_insert_with(Instant::now).elapsed() > FAREWELL {
                return None;
            }
            if counted.elapsed() > COUNT {
                counted = Instant::now();
                if let Some(kept) = state.ledger.find(id) {
                    let frames = pictures::count(&self.folder, kept);
                    if frames != kept.run.frames {
                        kept.run.frames = frames;
                        self.tell(&kept.run);
                    }
                }
            }
            let _ = self.wake.wait_timeout(state, LOOK);
        }
    }

    /// Takes in what a run tells.
    fn hear(&self, id: u32, told: Told) {
        let mut state = self.state();
        let Some(kept) = state.ledger.find(id) else { return };
        match told {
            Told::Progress { line, share, left } if kept.run.state == RunState::Running => {
                (kept.run.line, kept.run.share, kept.run.left) = (line, share, left);
                self.tell(&kept.run);
            }
            Told::Moments(moments) => {
                kept.moments = moments;
                self.keep(&mut state, id);
            }
            _ => {}
        }
    }

    /// A run ended by itself, well or not.
    fn ended(&self, id: u32, end: RunState, faults: Vec<Fault>) {
        let mut state = self.state();
        let Some(kept) = state.ledger.find(id) else { return };
        let run = &mut kept.run;
        // A stop that came too late changes nothing.
        run.state = end;
        run.left = None;
        run.line.clear();
        if end == RunState::Done {
            run.share = Some(1.0);
            run.verdict = results::verdict(&self.folder, id, run.ask.kind);
        }
        run.faults = faults;
        run.files = results::files(&self.folder, id);
        kept.run.frames = pictures::count(&self.folder, kept);
        self.keep(&mut state, id);
    }

    /// A run stopped and stored its state. Unless the user had it stopped, somebody else did.
    fn stopped(&self, id: u32) {
        let mut state = self.state();
        if let Some(kept) = state.ledger.find(id)
            && kept.run.state == RunState::Running
        {
            // Ctrl-C reaches the run before the server; that end is not the user's wish for this run.
            let (after, _) = self
                .wake
                .wait_timeout_while(state, FAREWELL, |state| !state.ending)
                .expect("no holder of this lock panics");
            state = after;
            if state.ending {
                return;
            }
            if let Some(kept) = state.ledger.find(id) {
                kept.run.state = RunState::Stopped;
                kept.run.line = "somebody else had it stopped".into();
                kept.run.left = None;
            }
        }
        self.keep(&mut state, id);
    }
}

fn plain(what: String, mend: &str) -> Fault {
    Fault {
        what,
        place: String::new(),
        key: None,
        mend: mend.into(),
    }
}

/// Why a run ended without an answer.
fn why(status: ExitStatus, words: &LastWords) -> Vec<Fault> {
    if words.faults.is_empty() {
        let said = words.lines.join("\n");
        let what = match said.is_empty() {
            true => format!("the run ended with {status} and said nothing"),
            false => format!("the run ended with {status}; the last that it said: {said}"),
        };
        return vec![plain(
            what,
            "let it go on; if it ends so again, keep its folder and report it",
        )];
    }
    let faults = words.faults.iter().cloned();
    faults.map(|one| told(Path::new(DESIGN), one)).collect()
}
