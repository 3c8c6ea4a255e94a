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
mod work;

use super::Hub;
use super::refusals::{failure, missing, refused};
use super::shelf::Shelf;
use crate::failure::Failure;
use crate::store::{StoreFault, atomic};
use ledger::{Kept, Ledger, place};
use order::Order;
use serve::wire::{Event, Fault, FramesAnswer, Run, RunAsk, RunState};
use serve::workshop::{Answer, Refused, Wrong};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, MutexGuard};
use std::thread::JoinHandle;

/// Name of the folder of all runs, in the folder that is served.
pub const FOLDER: &str = "sumpwright-page";

/// What stands in it for whoever finds it.
const NOTE: &str = "Runs of the page that `sumpwright open` shows, a folder each: the design as it was when the run was asked \
for, and\nwhat came of it. Delete a run's folder whenever the page no longer lists it.\n";

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
    pub fn of(served: &Path, hub: Arc<Hub>) -> Result<(Queue, Option<String>), Failure> {
        let folder = served.join(FOLDER);
        let mut state = State::default();
        let mut said = None;
        if folder.is_dir() {
            state.lock = Some(locked(&folder)?);
            (state.ledger, said) = Ledger::read(&folder)?;
        }
        let program = std::env::current_exe().map_err(|e| {
            let what = format!("the program cannot find itself: {e}");
            Failure::computing(what, "start it by its full path")
        })?;
        let shared = Arc::new(Shared {
            folder,
            program,
            hub,
            state: Mutex::new(state),
            wake: Condvar::new(),
        });
        let own = Arc::clone(&shared);
        let worker = std::thread::spawn(move || work::work(&own));
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
                run.line.clear();
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
                run.line.clear();
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
            return Err(refused(
                Wrong::Input,
                what,
                "",
                "stop it first, or wait until it has ended",
            ));
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
fn locked(folder: &Path) -> Result<File, Failure> {
    let path = folder.join("lock");
    let lock = File::create(&path).map_err(StoreFault::io("write", &path))?;
    match lock.try_lock() {
        Err(std::fs::TryLockError::WouldBlock) => Err(Failure::computing(
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
}
