//! When another sumpwright started this one: the page's server computes runs in programs of their own.
//!
//! The starter names a file in the environment ([`OVERSEEN`]), holds our standard input open as long as it wants the work, and
//! reads what we tell as JSON, a line each, on standard error. When the input ends, because the user stopped the run or
//! because the starter itself is gone, we stop as on Ctrl-C. The file is held locked as long as we live: should the starter be
//! killed and started again at once, the next of us waits until this one has stored its state.

use crate::failure::{Complaint, Failure};
use crate::stop::Stop;
use serde::{Deserialize, Serialize};
use std::fs::File;
use std::io::{Read, Write};
use std::sync::OnceLock;
use std::time::Duration;

/// Name of the variable that holds the path of the file.
pub const OVERSEEN: &str = "SUMPWRIGHT_OVERSEEN";

/// How long a run may take to store its state and end.
const PATIENCE: Duration = Duration::from_secs(20);

/// What is told.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Told {
    /// How far the work is.
    Progress {
        /// In words.
        line: String,
        /// Share that is done, 0..1.
        share: Option<f64>,
        /// Seconds left.
        left: Option<f64>,
    },
    /// What is computed with pictures: names of moments and of their folders in `runs`.
    Moments(Vec<Pictured>),
    /// Why there is no answer.
    Faults(Vec<Complaint>),
    /// Asked to stop, and stopped; what was computed is kept.
    Stopped,
}

/// A moment that is computed with pictures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pictured {
    /// Its name.
    pub name: String,
    /// Name of its folder.
    pub run: String,
}

static LOCK: OnceLock<Option<File>> = OnceLock::new();
static STOP: OnceLock<Stop> = OnceLock::new();

/// Whether somebody oversees us.
pub fn watches() -> bool {
    LOCK.get().is_some()
}

/// Begins to listen to the starter, if there is one. Waits for one of us that still computes the same run.
pub fn begin() {
    let Some(path) = std::env::var_os(OVERSEEN) else {
        return;
    };
    let lock = File::create(path).ok();
    std::thread::spawn(|| {
        let mut piece = [0; 64];
        while matches!(std::io::stdin().lock().read(&mut piece), Ok(read) if read > 0) {}
        match STOP.get() {
            Some(stop) => stop.ask(),
            // What ends in seconds watches for nothing; its files appear whole or not at all.
            None => std::process::exit(3),
        }
        std::thread::sleep(PATIENCE);
        std::process::exit(3);
    });
    if let Some(lock) = &lock {
        // Some network drives know no locks; a run's own folder is then all that is guarded.
        let _ = lock.lock();
    }
    LOCK.get_or_init(|| lock);
}

/// Names whom to ask when the starter wants no more.
pub fn stops(stop: &Stop) {
    STOP.get_or_init(|| stop.clone());
}

/// Tells the starter; false when there is none.
pub fn tell(told: &Told) -> bool {
    if watches() {
        let line = serde_json::to_string(told).expect("plain data");
        let _ = writeln!(std::io::stderr().lock(), "{line}");
    }
    watches()
}

/// Tells why there is no answer; false when nobody oversees us.
pub fn tell_failure(failure: &Failure) -> bool {
    tell(&match failure {
        Failure::Input(complaints) => Told::Faults(complaints.clone()),
        Failure::Computing(complaint) => Told::Faults(vec![complaint.clone()]),
        Failure::Stopped => Told::Stopped,
    })
}
