//! What a run wrote: its files, its verdict.

use super::child::RESULTS;
use super::ledger::place;
use crate::open::refusals::missing;
use pickup::verdict::Word;
use serde_json::Value;
use serve::wire::{RunFile, RunKind, VerdictWire};
use serve::workshop::Answer;
use std::path::{Path, PathBuf};

/// Most files that are told.
const MOST: usize = 500;

/// Folders below a run's results that are looked into.
const DEPTH: usize = 4;

/// Folder of the checkpoints and pictures, which are no files for people.
const RUNS: &str = "runs";

/// The files of a run, by name.
pub fn files(folder: &Path, id: u32) -> Vec<RunFile> {
    let mut files = Vec::new();
    gather(&place(folder, id).join(RESULTS), "", DEPTH, &mut files);
    files.sort_by(|a, b| a.name.cmp(&b.name));
    files
}

fn gather(folder: &Path, before: &str, depth: usize, files: &mut Vec<RunFile>) {
    // What cannot be listed is not there for the page; asking for a file by its name says why.
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let (Ok(kind), Ok(about)) = (entry.file_type(), entry.metadata()) else {
            continue;
        };
        let Ok(name) = entry.file_name().into_string() else {
            continue;
        };
        let name = format!("{before}{name}");
        if kind.is_dir() && name != RUNS && depth > 0 {
            gather(&entry.path(), &format!("{name}/"), depth - 1, files);
        } else if kind.is_file() && files.len() < MOST {
            files.push(RunFile {
                name,
                size: about.len(),
            });
        }
    }
}

/// A file of a run, inside its results with all links followed.
pub fn file(folder: &Path, id: u32, name: &str) -> Answer<PathBuf> {
    let none = || missing(format!("run {id} has no file {name}"), name);
    serve::confined(name).map_err(|_| none())?;
    let results = place(folder, id)
        .join(RESULTS)
        .canonicalize()
        .map_err(|_| none())?;
    let path = results.join(name).canonicalize().map_err(|_| none())?;
    let inside = path
        .strip_prefix(&results)
        .is_ok_and(|rest| !rest.starts_with(RUNS));
    match inside && path.is_file() {
        true => Ok(path),
        false => Err(none()),
    }
}

/// The verdict of a run that ended well; none when it has none to give, or it cannot be read.
pub fn verdict(folder: &Path, id: u32, kind: RunKind) -> Option<VerdictWire> {
    let name = match kind {
        RunKind::Check => "result.json",
        RunKind::Sketch => "bays.json",
        RunKind::Shop => return None,
    };
    let bytes = std::fs::read(place(folder, id).join(RESULTS).join(name)).ok()?;
    let result: Value = serde_json::from_slice(&bytes).ok()?;
    let verdict = &result["verdict"];
    let word: Word = serde_json::from_value(verdict["word"].clone()).ok()?;
    Some(VerdictWire {
        word: word.said().to_owned(),
        sentence: verdict["sentence"].as_str()?.to_owned(),
        least_cover: verdict["least_cover"]["value"].as_f64(),
    })
}
