//! The list of runs on disk: one file, written whole at every change that must outlive the server.

use crate::overseer::Pictured;
use crate::store::{StoreFault, atomic};
use serde::{Deserialize, Serialize};
use serve::wire::{Run, RunState, SweepWire};
use std::path::{Path, PathBuf};

/// Name of the file.
const FILE: &str = "runs.json";

/// All runs, oldest first.
#[derive(Default, Serialize, Deserialize)]
pub struct Ledger {
    /// Number of the newest run.
    pub newest: u32,
    /// The runs.
    pub runs: Vec<Kept>,
}

/// A run as it is kept.
#[derive(Clone, Serialize, Deserialize)]
pub struct Kept {
    /// As the page sees it.
    pub run: Run,
    /// The design file that is computed, from the run's folder.
    pub design: String,
    /// How the pan sits in the car, for its pictures.
    pub stance: Stance,
    /// Moments that are computed with pictures.
    pub moments: Vec<Pictured>,
}

/// What the pictures of a run do not hold themselves; pan frame.
#[derive(Clone, Serialize, Deserialize)]
pub struct Stance {
    /// Forward of the car (unit vector).
    pub car_forward: [f32; 3],
    /// Up of the standing car (unit vector).
    pub car_up: [f32; 3],
    /// What the crank sweeps.
    pub crank: Option<SweepWire>,
}

impl Ledger {
    /// The list of a folder, empty when there is none yet. What computed when the last server ended waits again. One that
    /// cannot be read is put aside, and said.
    pub fn read(folder: &Path) -> Result<(Ledger, Option<String>), StoreFault> {
        let path = folder.join(FILE);
        let bytes = match std::fs::read(&path) {
            Ok(bytes) => bytes,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok((Ledger::default(), None)),
            Err(e) => return Err(StoreFault::io("read", &path)(e)),
        };
        match serde_json::from_slice::<Ledger>(&bytes) {
            Ok(mut ledger) => {
                for kept in &mut ledger.runs {
                    if kept.run.state == RunState::Running {
                        kept.run.state = RunState::Waiting;
                        kept.run.line.clear();
                    }
                }
                Ok((ledger, None))
            }
            Err(why) => {
                let aside = folder.join(format!("{FILE}.damaged"));
                std::fs::rename(&path, &aside).map_err(StoreFault::io("rename", &path))?;
                let said = format!(
                    "the list of runs could not be read ({why}) and was put aside as {}; what the runs wrote is untouched",
                    aside.display()
                );
                Ok((Ledger::default(), Some(said)))
            }
        }
    }

    /// Writes it.
    pub fn write(&self, folder: &Path) -> Result<(), StoreFault> {
        let text = serde_json::to_string_pretty(self).expect("plain data");
        atomic::write(&folder.join(FILE), text.as_bytes())
    }

    /// A run.
    pub fn find(&mut self, id: u32) -> Option<&mut Kept> {
        self.runs.iter_mut().find(|kept| kept.run.id == id)
    }

    /// The next number, one whose folder does not exist either, should the list have been lost.
    pub fn number(&self, folder: &Path) -> u32 {
        let taken = |id: &u32| place(folder, *id).exists();
        (self.newest + 1..)
            .find(|id| !taken(id))
            .expect("numbers do not end")
    }
}

/// The folder of a run.
pub fn place(folder: &Path, id: u32) -> PathBuf {
    folder.join(format!("run-{id}"))
}
