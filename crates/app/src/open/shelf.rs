//! What was read and worked out lately, so that the next question finds it.
//!
//! Rows, the latest first and each short: a **reading** is a design as its files stand, a **bench** one with changes, a
//! **grid** a pan in cells and bays, which serves all benches whose pan is the same, and laps. Each is found by what it was made of,
//! never by a clock. Locks are held while a row is looked through; what is worked out is worked out under none but its own
//! cell's, so that one slow question keeps nobody else waiting.

mod bytes;
mod grid;

pub use grid::{Grid, Made};

use super::refusals::{failure, faults, missing, refused};
use crate::cases::Cases;
use crate::cli::Common;
use crate::preparation::{Driven, Prepared};
use crate::sketch;
use bytes::Bytes;
use job::{Changeable, Changed};
use serve::wire::{LapAnswer, RoundAnswer, Variant};
use serve::workshop::{Answer, Wrong};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock};

/// How many of each are kept.
const READINGS: usize = 12;
const BENCHES: usize = 24;
const GRIDS: usize = 8;
/// A lap of an hour takes some tens of megabytes.
const LAPS: usize = 6;

/// All that is kept.
pub struct Shelf {
    folder: PathBuf,
    bytes: Bytes,
    readings: Row<Reading>,
    benches: Row<Bench>,
    grids: Row<Grid>,
    laps: Row<Lap>,
}

/// A design as its files stand.
pub struct Reading {
    /// Its file, from the folder.
    pub design: String,
    /// Hash of all files that it reads, logs too.
    pub digest: String,
    /// Those files from the folder, each with its own hash.
    pub files: Vec<(String, String)>,
    /// The design.
    pub of: Changeable,
    /// Ready for computing.
    pub base: Prepared,
    driven: OnceLock<Answer<Arc<Driven>>>,
}

/// A design with changes.
pub struct Bench {
    /// The design as it stands.
    pub reading: Arc<Reading>,
    /// What is changed; the last of each key.
    pub changes: Vec<Changed>,
    /// With the changes, ready for computing.
    pub prepared: Prepared,
    grid: OnceLock<Arc<Grid>>,
    driven: OnceLock<Answer<Arc<Driven>>>,
    /// Its round map, once it was asked for.
    pub round: OnceLock<Answer<Arc<RoundAnswer>>>,
}

/// The lap of a bench, made by the first who asks.
pub struct Lap {
    design: String,
    digest: String,
    changes: Vec<Changed>,
    /// The answer.
    pub made: OnceLock<Answer<Arc<LapAnswer>>>,
}

/// Some of a kind, the latest first.
struct Row<T> {
    most: usize,
    kept: Mutex<Vec<Arc<T>>>,
}

impl<T> Row<T> {
    fn of(most: usize) -> Row<T> {
        Row {
            most,
            kept: Mutex::default(),
        }
    }

    /// The one that is meant, which becomes the latest.
    fn find(&self, meant: impl Fn(&T) -> bool) -> Option<Arc<T>> {
        let mut kept = self.kept.lock().expect("no holder of this lock panics");
        let at = kept.iter().position(|one| meant(one))?;
        kept[..=at].rotate_right(1);
        Some(Arc::clone(&kept[0]))
    }

    /// Keeps one, unless another thread was quicker with the same.
    fn keep(&self, new: T, same: impl Fn(&T) -> bool) -> Arc<T> {
        if let Some(found) = self.find(same) {
            return found;
        }
        let new = Arc::new(new);
        let mut kept = self.kept.lock().expect("no holder of this lock panics");
        kept.insert(0, Arc::clone(&new));
        kept.truncate(self.most);
        new
    }
}

impl Shelf {
    /// An empty shelf for the designs of `folder` (links resolved).
    pub fn new(folder: PathBuf) -> Shelf {
        Shelf {
            folder,
            bytes: Bytes::default(),
            readings: Row::of(READINGS),
            benches: Row::of(BENCHES),
            grids: Row::of(GRIDS),
            laps: Row::of(LAPS),
        }
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The file of a design that a page names: inside the folder, links followed.
    pub fn path(&self, design: &str) -> Answer<PathBuf> {
        let path = self.inside(design)?;
        let found = path.canonicalize().map_err(|_| {
            if self.folder.is_dir() {
                missing(format!("there is no design {design}"), design)
            } else {
                missing("the folder is gone", design)
            }
        })?;
        if !found.starts_with(&self.folder) {
            return Err(outside(design));
        }
        Ok(path)
    }

    /// A path that a page names, which must not lead out of the folder by its words.
    pub fn inside(&self, named: &str) -> Answer<PathBuf> {
        serve::confined(named).map_err(|why| {
            let mend = "name a file in the folder that is open or below, with / between its parts";
            refused(
                Wrong::Input,
                format!("{named:?} names no file here: {why}"),
                "",
                mend,
            )
        })?;
        let parts = Path::new(named).components();
        Ok(parts.fold(self.folder.clone(), |path, part| path.join(part)))
    }

    /// The design as its files stand now.
    pub fn reading(&self, design: &str) -> Answer<Arc<Reading>> {
        let path = self.path(design)?;
        if let Some(found) = self.readings.find(|one| one.design == design)
            && self.stands(&found)
        {
            return Ok(found);
        }
        let of = Changeable::read(&path).map_err(|f| faults(&self.folder, f))?;
        let base = self.prepared(&of, of.design.clone())?;
        let mut files: Vec<(String, String)> = (of.design.files.iter())
            .map(|file| (self.said(&file.path), bytes::hash(&file.bytes)))
            .collect();
        for log in of.design.drives.iter().filter_map(|plan| plan.file()) {
            files.push((self.said(log), self.bytes.hash_of(log)));
        }
        let digest = digest(&files);
        let new = Reading {
            design: design.to_owned(),
            digest: digest.clone(),
            files,
            of,
            base,
            driven: OnceLock::new(),
        };
        Ok(self
            .readings
            .keep(new, |one| one.design == design && one.digest == digest))
    }

    /// A reading that is still kept.
    pub fn kept_reading(&self, design: &str, digest: &str) -> Option<Arc<Reading>> {
        self.readings
            .find(|one| one.design == design && one.digest == digest)
    }

    fn stands(&self, reading: &Reading) -> bool {
        let same = |(file, hash): &(String, String)| self.bytes.hash_of(&self.folder.join(file)) == *hash;
        reading.files.iter().all(same)
    }

    /// Hash of all that a design reads, also of one with faults; none when its file is gone.
    pub fn digest(&self, design: &str) -> Option<String> {
        if let Ok(reading) = self.reading(design) {
            return Some(reading.digest.clone());
        }
        let path = self.path(design).ok()?;
        // What a broken design reads is not known; its own bytes and those it read when it was whole tell most.
        let mut files = vec![(design.to_owned(), self.bytes.hash_of(&path))];
        if let Some(whole) = self.readings.find(|one| one.design == design) {
            let now =
                |(file, _): &(String, String)| (file.clone(), self.bytes.hash_of(&self.folder.join(file)));
            files.extend(whole.files.iter().map(now));
        }
        Some(digest(&files))
    }

    /// A design with changes.
    pub fn bench(&self, variant: &Variant) -> Answer<Arc<Bench>> {
        let reading = self.reading(&variant.design)?;
        let changes = changes(variant);
        let meant = |one: &Bench| Arc::ptr_eq(&one.reading, &reading) && one.changes == changes;
        if let Some(found) = self.benches.find(meant) {
            return Ok(found);
        }
        let mut design = (reading.of.with(&changes)).map_err(|f| faults(&self.folder, f))?;
        // A bench is one of many; the bytes lie with the reading.
        for file in &mut design.files {
            file.bytes = Vec::new();
        }
        let new = Bench {
            prepared: self.prepared(&reading.of, design)?,
            reading: Arc::clone(&reading),
            changes: changes.clone(),
            grid: OnceLock::new(),
            driven: OnceLock::new(),
            round: OnceLock::new(),
        };
        Ok(self.benches.keep(new, meant))
    }

    fn prepared(&self, of: &Changeable, design: job::Design) -> Answer<Prepared> {
        Prepared::of(design, &Common::of(&of.path)).map_err(|f| failure(&self.folder, f))
    }

    /// The place of a bench's lap.
    pub fn lap(&self, bench: &Bench) -> Arc<Lap> {
        let Bench { reading, changes, .. } = bench;
        let same = |one: &Lap| {
            one.design == reading.design && one.digest == reading.digest && one.changes == *changes
        };
        self.laps.find(same).unwrap_or_else(|| {
            let new = Lap {
                design: reading.design.clone(),
                digest: reading.digest.clone(),
                changes: changes.clone(),
                made: OnceLock::new(),
            };
            self.laps.keep(new, same)
        })
    }

    /// The pan of a bench in cells and bays.
    pub fn grid(&self, bench: &Bench) -> Answer<Arc<Grid>> {
        let pan = &bench.prepared.design.pan;
        let grid = bench.grid.get_or_init(|| {
            let same = |one: &Grid| one.pan == *pan;
            self.grids
                .find(same)
                .unwrap_or_else(|| self.grids.keep(Grid::of(pan.clone()), same))
        });
        grid.made(&bench.prepared, &self.folder)?;
        Ok(Arc::clone(grid))
    }

    /// What a bench is driven over.
    pub fn driven(&self, bench: &Bench) -> Answer<Arc<Driven>> {
        let (reading, prepared) = (&bench.reading, &bench.prepared);
        let common = Common::of(&reading.of.path);
        let read = |prepared: &Prepared| {
            let driven = prepared.drive(&common);
            driven.map(Arc::new).map_err(|f| failure(&self.folder, f))
        };
        let driven = bench.driven.get_or_init(|| {
            if prepared.drives_as(&reading.base, &common) {
                let own = reading.driven.get_or_init(|| read(&reading.base)).clone()?;
                return Ok(if prepared.pan_from_car == reading.base.pan_from_car {
                    own
                } else {
                    Arc::new(own.turned(prepared.pan_from_car))
                });
            }
            read(prepared)
        });
        driven.clone()
    }

    /// What the cases of a bench share, judged as a sketch is.
    pub fn cases<'a>(&self, bench: &'a Bench, driven: &'a Driven, made: &'a Made) -> Cases<'a> {
        Cases {
            band: sketch::BAND,
            ..Cases::on(&bench.prepared, driven, &made.gridded)
        }
    }

    /// A file from the folder, with `/` between parts.
    fn said(&self, path: &Path) -> String {
        let inside = path.strip_prefix(&self.folder).unwrap_or(path);
        let parts = inside.components().map(|part| part.as_os_str().to_string_lossy());
        parts.collect::<Vec<_>>().join("/")
    }
}

/// Changes with the last of each key.
fn changes(variant: &Variant) -> Vec<Changed> {
    let all = &variant.changes;
    let stands = |(n, change): &(usize, &serve::wire::Change)| {
        !all[n + 1..].iter().any(|later| later.key == change.key)
    };
    let changed = |(_, change): (usize, &serve::wire::Change)| Changed {
        key: change.key.clone(),
        value: change.value.clone(),
    };
    all.iter().enumerate().filter(stands).map(changed).collect()
}

fn digest(files: &[(String, String)]) -> String {
    let mut hasher = blake3::Hasher::new();
    for (file, hash) in files {
        for part in [file, hash] {
            hasher.update(&(part.len() as u64).to_le_bytes());
            hasher.update(part.as_bytes());
        }
    }
    hasher.finalize().to_hex()[..32].to_owned()
}

fn outside(named: &str) -> serve::workshop::Refused {
    refused(
        Wrong::Input,
        format!("{named:?} leads out of the folder that is open"),
        "",
        "name a file in the folder or below, with / between its parts",
    )
}
