//! Files of the designs that pages asked about: who listens is told when one is another on disk.
//!
//! Once a second the digests are taken again. That a file is looked at costs next to nothing, works on every system and on
//! network drives alike, and asks no system for notices.

use super::hub::Hub;
use super::shelf::Shelf;
use serve::wire::Event;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, Weak};
use std::thread;
use std::time::Duration;

/// Between two looks.
const EVERY: Duration = Duration::from_secs(1);

/// Most designs that are watched.
const MOST: usize = 64;

/// Designs with the digest that was last told or asked for.
#[derive(Default)]
pub struct Watch(Mutex<BTreeMap<String, Option<String>>>);

impl Watch {
    /// Watches a design from now on; one that is watched keeps the digest that was last told, so that nobody misses a change
    /// because another asked first.
    pub fn follow(&self, shelf: &Shelf, design: &str) {
        if self.known().contains_key(design) || shelf.path(design).is_err() {
            return;
        }
        let digest = shelf.digest(design);
        let mut known = self.known();
        if known.len() < MOST {
            known.entry(design.to_owned()).or_insert(digest);
        }
    }

    /// One look at all of them.
    pub fn look(&self, shelf: &Shelf, hub: &Hub) {
        let designs: Vec<String> = self.known().keys().cloned().collect();
        for design in designs {
            let digest = shelf.digest(&design);
            let mut known = self.known();
            let before = known.get_mut(&design).expect("a design is watched for good");
            if *before != digest {
                before.clone_from(&digest);
                drop(known);
                hub.tell(&Event::Changed { design, digest });
            }
        }
    }

    fn known(&self) -> std::sync::MutexGuard<'_, BTreeMap<String, Option<String>>> {
        self.0.lock().expect("no holder of this lock panics")
    }
}

/// Looks again and again until the house is gone.
pub fn start(watch: &Arc<Watch>, shelf: &Arc<Shelf>, hub: &Arc<Hub>) -> std::io::Result<()> {
    let (watch, shelf, hub): (Weak<Watch>, Arc<Shelf>, Arc<Hub>) =
        (Arc::downgrade(watch), Arc::clone(shelf), Arc::clone(hub));
    let work = move || {
        while let Some(watch) = watch.upgrade() {
            watch.look(&shelf, &hub);
            drop(watch);
            thread::sleep(EVERY);
        }
    };
    thread::Builder::new().name("watch".to_owned()).spawn(work)?;
    Ok(())
}
