//! Runs that the page asks for: computed one after the other, each by a program of its own that may fail, be stopped or be
//! killed without any harm to the server.
//!
//! The list stands on disk, so that what waited or computed when a server ended goes on with the next one; what a run has
//! computed stands in its own folder and is found again there (`store::run_folder`).

mod child;
mod ledger;
mod order;
mod pictures;
mod results;

use super::Hub;
use super::refusals::{failure, missing, refused};
use super::shelf::Shelf;
use crate::overseer::Told;
use crate::store::{StoreFault, atomic};
use child::{LOOK, LastWords, Working};
use ledger::{Kept, Ledger, place};
use order::Order;
use serve::wire::{Event, Fault, FramesAnswer, Run, RunAsk, RunState};
use serve::workshop::{Answer, Refused, Wrong};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::ExitStatus;
use std::sync::{Arc, Condvar, Mutex, MutexGuard};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Name of the folder of all runs, in the folder that is served.
pub const FOLDER: &str = "sumpwright-page";

/// What stands in it for whoever finds it.
const NOTE: &str = "Runs of the page that `sumpwright open` shows, a folder each: the design as it was when the run was asked \
for, and\nwhat came of it. Delete a run's folder whenever the page no longer lists it.\n";

/// Between two counts of pictures.
const COUNT: Duration = Duration::from_secs(1);

/// How long the end of a server waits for the run that computes; the run stores its state and ends also by itself.
const FAREWELL: Duration = Duration::from_secs(2);

/// The queue.
pub struct Queue {
    shared: Arc<Shared>,
    worker: Mutex<Option<JoinHandle<()>>>,
}

struct Shared {
    /// The folder of all runs.
    folder: PathBuf,
    /// This program.
    program: PathBuf,
    hub: Arc<Hub>,
    state: Mutex<State>,
    wake: Condvar,
}

#[derive(Default)]
struct State {
    ledger: Ledger,
    /// The run that computes, or still ends.
    working: Option<u32>,
    ending: bool,
    /// Held as long as runs of this folder are ours.
    lock: Option<File>,
}

impl Queue {
    /// The queue of a folder, with what an earlier server left. Also gives what was found spoilt, in words.
    ///
    /// # Errors
    /// When another server has the runs of this folder, or the list cannot be read.
    pub fn of(served: &Path, hub: Arc<Hub>) -> Result<(Queue, Option<String>), crate::failure::Failure> {
        let folder = served.join(FOLDER);
        let mut state = State::default();
        let mut said = None;
        if folder.is_dir() {
            state.lock = Some(locked(&folder)?);
            (state.ledger, said) = Ledger::read(&folder)?;
        }
        let program = std::env::current_exe().map_err(|e| {
            let what = format!("the program cannot find itself: {e}");
            crate::failure::Failure::computing(what, "start it by its full path")
        })?;
        let shared = Arc::new(Shared {
            folder,
            program,
            hub,
            state: Mutex::new(state),
            wake: Condvar::new(),
        });
        let own = Arc::clone(&shared);
        let worker = std::thread::spawn(move || work(&own));
        let queue = Queue {
            shared,
            worker: Mutex::new(Some(worker)),
        };
        Ok((queue, said))
    }

    /// All runs, oldest first.
    pub fn runs(&self) -> Vec<Run> {
        let state = self.shared.state();
        state.ledger.runs.iter().map(|kept| kept.run.clone()).collect()
    }

    /// Puts a run at the end of the queue.
    pub fn start(&self, shelf: &Shelf, ask: &RunAsk) -> Answer<Run> {
        let order = Order::of(shelf, ask)?;
        let shared = &self.shared;
        let said = |fault: StoreFault| failure(shelf.folder(), fault.into());
        let mut state = shared.state();
        if state.lock.is_none() {
            atomic::make_folder(&shared.folder).map_err(said)?;
            state.lock = Some(locked(&shared.folder).map_err(|fault| failure(shelf.folder(), fault))?);
            atomic::write(&shared.folder.join("read-me.txt"), NOTE.as_bytes()).map_err(said)?;
        }
        let id = state.ledger.number(&shared.folder);
        state.ledger.newest = id;
        // A long log takes its time; nobody waits for it.
        drop(state);
        let placed = order.place(shelf, &shared.folder, id).and_then(|kept| {
            let run = kept.run.clone();
            let mut state = shared.state();
            let runs = &mut state.ledger.runs;
            let at = runs.partition_point(|kept| kept.run.id < id);
            runs.insert(at, kept);
            state.ledger.write(&shared.folder).map_err(|fault| {
                state.ledger.runs.retain(|kept| kept.run.id != id);
                said(fault)
            })?;
            Ok(run)
        });
        let run = placed.inspect_err(|_| {
            // Half a folder is of no use; one that cannot be taken away is only in the way of its number.
            let _ = std::fs::remove_dir_all(place(&shared.folder, id));
        })?;
        shared.tell(&run);
        shared.wake.notify_all();
        Ok(run)
    }

    /// Stops a run; it can go on later.
    pub fn stop(&self, id: u32) -> Answer<Run> {
        self.shared.turn(id, |run| match run.state {
            RunState::Waiting | RunState::Running => {
                run.state = RunState::Stopped;
                run.line = "stopped; goes on where it was".into();
                run.left = None;
                Ok(())
            }
            _ => Err("does neither compute nor wait"),
        })
    }

    /// Puts a run that was stopped, or that failed, back into the queue.
    pub fn resume(&self, id: u32) -> Answer<Run> {
        self.shared.turn(id, |run| match run.state {
            RunState::Stopped | RunState::Failed => {
                run.state = RunState::Waiting;
                run.line = "waits to go on where it was".into();
                run.faults.clear();
                Ok(())
            }
            _ => Err("is neither stopped nor failed"),
        })
    }

    /// Takes a run off the list; what it wrote stays on disk.
    pub fn forget(&self, id: u32) -> Answer<()> {
        let mut state = self.shared.state();
        let kept = state.ledger.find(id).ok_or_else(|| unknown(id))?;
        if kept.run.state == RunState::Running || state.working == Some(id) {
            let what = format!("run {id} still computes");
            return Err(refused(Wrong::Input, what, "", "stop it first"));
        }
        let before = state.ledger.runs.clone();
        state.ledger.runs.retain(|kept| kept.run.id != id);
        if let Err(fault) = state.ledger.write(&self.shared.folder) {
            state.ledger.runs = before;
            return Err(refused(Wrong::Computing, fault.to_string(), "", fault.mend()));
        }
        drop(state);
        self.shared.hub.tell(&Event::Forgotten { id });
        Ok(())
    }

    /// Pictures of a run.
    pub fn frames(&self, id: u32, moment: usize, from: usize) -> Answer<FramesAnswer> {
        let kept = self.shared.kept(id).ok_or_else(|| unknown(id))?;
        pictures::pictures(&self.shared.folder, &kept, moment, from)
    }

    /// A file of a run.
    pub fn file(&self, id: u32, name: &str) -> Answer<PathBuf> {
        self.shared.kept(id).ok_or_else(|| unknown(id))?;
        results::file(&self.shared.folder, id, name)
    }

    /// Ends it: the run that computes stores its state and goes on with the next server.
    pub fn end(&self) {
        self.shared.state().ending = true;
        self.shared.wake.notify_all();
        let worker = self.worker.lock().expect("no holder of this lock panics").take();
        if let Some(worker) = worker {
            // A panic there has been said already.
            let _ = worker.join();
        }
    }
}

impl Drop for Queue {
    fn drop(&mut self) {
        self.end();
    }
}

/// Locks a folder of runs. Some network drives know no locks; there the user must see to it.
fn locked(folder: &Path) -> Result<File, crate::failure::Failure> {
    let path = folder.join("lock");
    let lock = File::create(&path).map_err(StoreFault::io("write", &path))?;
    match lock.try_lock() {
        Err(std::fs::TryLockError::WouldBlock) => Err(crate::failure::Failure::computing(
            format!("another `sumpwright open` has the runs in {}", folder.display()),
            "use its page, or stop it first",
        )),
        _ => Ok(lock),
    }
}

fn unknown(id: u32) -> Refused {
    missing(format!("there is no run {id}"), "")
}

impl Shared {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().expect("no holder of this lock panics")
    }

    fn tell(&self, run: &Run) {
        let run = Box::new(run.clone());
        self.hub.tell(&Event::Run { run });
    }

    fn kept(&self, id: u32) -> Option<Kept> {
        self.state().ledger.find(id).map(|kept| kept.clone())
    }

    /// Changes how a run stands because the user says so.
    fn turn(&self, id: u32, turn: impl FnOnce(&mut Run) -> Result<(), &'static str>) -> Answer<Run> {
        let mut state = self.state();
        let kept = state.ledger.find(id).ok_or_else(|| unknown(id))?;
        turn(&mut kept.run).map_err(|why| {
            refused(
                Wrong::Input,
                format!("run {id} {why}"),
                "",
                "look at the list of runs as it is now",
            )
        })?;
        let run = self.keep(&mut state, id).ok_or_else(|| unknown(id))?;
        drop(state);
        self.wake.notify_all();
        Ok(run)
    }

    /// Writes the list after a change of a run and tells how the run stands. A list that cannot be written is told with the
    /// run, which goes on all the same.
    fn keep(&self, state: &mut State, id: u32) -> Option<Run> {
        if let Err(fault) = state.ledger.write(&self.folder) {
            let told = Fault {
                what: format!("the list of runs could not be kept: {fault}"),
                place: String::new(),
                key: None,
                mend: fault.mend(),
            };
            let faults = &mut state.ledger.find(id)?.run.faults;
            faults.retain(|old| *old != told);
            faults.push(told);
        }
        let run = state.ledger.find(id)?.run.clone();
        self.tell(&run);
        Some(run)
    }

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
        run.line = match end {
            RunState::Done => {
                run.share = Some(1.0);
                run.verdict = results::verdict(&self.folder, id, run.ask.kind);
                "done".into()
            }
            _ => "could not be computed".into(),
        };
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
                kept.run.line = "stopped from outside; goes on where it was".into();
                kept.run.left = None;
            }
        }
        self.keep(&mut state, id);
    }
}

/// Takes one waiting run after the other until the server ends.
fn work(shared: &Arc<Shared>) {
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
    let fault = |complaint: &crate::failure::Complaint| Fault {
        what: complaint.what.clone(),
        place: complaint.place.clone(),
        key: None,
        mend: complaint.mend.clone(),
    };
    words.faults.iter().map(fault).collect()
}
