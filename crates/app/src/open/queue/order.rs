//! What a run is given: the design with its changes and all that it reads, copied into the run's folder, so that the run
//! computes what stood there when it was asked for and goes on with the same, whatever is edited meanwhile.

use super::child::DESIGN;
use super::ledger::{Kept, Stance, place};
use crate::open::pan::{flat, sweep};
use crate::open::refusals::{failure, faults, refused};
use crate::open::shelf::{Bench, Shelf};
use crate::store::{StoreFault, atomic};
use glam::DVec3;
use measure::Dimension;
use serve::wire::{Run, RunAsk, RunState};
use serve::workshop::{Answer, Wrong};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A run that can be put into the queue.
pub struct Order {
    bench: Arc<Bench>,
    ask: RunAsk,
}

impl Order {
    /// Reads and checks the design, so that a wrong one is refused before it waits.
    pub fn of(shelf: &Shelf, ask: &RunAsk) -> Answer<Order> {
        let bench = shelf.bench(&ask.variant)?;
        if let Some(cell) = &ask.cell {
            measure::read(cell, Dimension::Length)
                .map_err(|fault| refused(Wrong::Input, fault.what(), "the cells' size", fault.mend()))?;
        }
        Ok(Order {
            bench,
            ask: ask.clone(),
        })
    }

    /// Makes the folder of run `id` below `root` with all that it needs.
    pub fn place(self, shelf: &Shelf, root: &Path, id: u32) -> Answer<Kept> {
        let said = |fault: StoreFault| failure(shelf.folder(), fault.into());
        let reading = &self.bench.reading;
        let own = reading.of.path.clone();
        let beside = own.parent().unwrap_or(Path::new(""));
        let home = place(root, id).join(DESIGN);
        // Names from the design's folder; what a design reads lies there or below.
        let mut files: BTreeMap<PathBuf, Vec<u8>> = BTreeMap::new();
        let mut take = |path: &Path, bytes: Option<&[u8]>| -> Answer<()> {
            let Ok(name) = path.strip_prefix(beside) else {
                return Ok(());
            };
            let bytes = match bytes {
                Some(bytes) => bytes.to_vec(),
                None => std::fs::read(path)
                    .map_err(StoreFault::io("read", path))
                    .map_err(said)?,
            };
            files.insert(name.to_owned(), bytes);
            Ok(())
        };
        for file in &reading.of.design.files {
            take(&file.path, Some(&file.bytes))?;
        }
        for log in self
            .bench
            .prepared
            .design
            .drives
            .iter()
            .filter_map(|plan| plan.file())
        {
            take(log, None)?;
        }
        let base = own.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let name = &self.bench.prepared.design.name;
        let keys: Vec<&str> = self
            .bench
            .changes
            .iter()
            .map(|change| change.key.as_str())
            .collect();
        let notes = format!("Run {id} of the page, changed: {}.", keys.join(", "));
        let design = match reading.of.revision(&self.bench.changes, name, &base, &notes) {
            Ok(text) => {
                let design = (0..)
                    .map(|n| format!("run-{id}{}.toml", "-".repeat(n)))
                    .find(|name| !files.contains_key(Path::new(name)))
                    .expect("names do not end");
                files.insert(design.clone().into(), text.into_bytes());
                design
            }
            Err(found) if found.iter().all(|fault| fault.id == "nothing-changed") => base,
            Err(found) => return Err(faults(shelf.folder(), found)),
        };
        for (name, bytes) in &files {
            let path = home.join(name);
            atomic::make_folder(path.parent().unwrap_or(&home)).map_err(said)?;
            atomic::write(&path, bytes).map_err(said)?;
        }
        let prepared = &self.bench.prepared;
        Ok(Kept {
            run: Run {
                id,
                ask: self.ask,
                name: name.clone(),
                state: RunState::Waiting,
                line: String::new(),
                share: None,
                left: None,
                frames: 0,
                verdict: None,
                faults: Vec::new(),
                files: Vec::new(),
            },
            design,
            stance: Stance {
                car_forward: flat(prepared.pan_from_car * DVec3::X),
                car_up: flat(prepared.up),
                crank: prepared.design.pan.crank.as_ref().and_then(sweep),
            },
            moments: Vec::new(),
        })
    }
}
