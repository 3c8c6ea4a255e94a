//! A variant as a design file of its own: a revision that names its base and states only what is other.

use super::House;
use super::refusals::{failure, faults, refused};
use super::shelf::{Bench, Reading};
use crate::commands::diff;
use crate::store::atomic;
use serve::wire::{SaveAnswer, SaveAsk};
use serve::workshop::{Answer, Refused, Wrong};
use std::path::Path;

/// Longest name of a design.
const LONGEST: usize = 200;

/// The answer. What stood in the folder before is as it was; on any fault nothing is written.
pub fn save(house: &House, ask: &SaveAsk) -> Answer<SaveAnswer> {
    let shelf = &house.shelf;
    let variant = &ask.variant;
    let reading = shelf.reading(&variant.design)?;
    if reading.digest != ask.digest {
        return Err(conflict(house, &reading, ask));
    }
    let bench = shelf.bench(variant)?;
    if bench.reading.digest != ask.digest {
        return Err(conflict(house, &bench.reading, ask));
    }
    let name = ask.name.trim();
    if name.is_empty() || name.chars().count() > LONGEST || name.chars().any(char::is_control) {
        return Err(refused(
            Wrong::Input,
            "the new design has no name that could be shown",
            "the new design",
            format!("give it a name of at most {LONGEST} letters"),
        ));
    }
    let base = base(&variant.design, &ask.file)?;
    let path = shelf.inside(&ask.file)?;
    if !ask.file.ends_with(".toml") {
        return Err(refused(
            Wrong::Input,
            format!("{} does not end in .toml", ask.file),
            ask.file.clone(),
            "name it for instance wall-higher.toml",
        ));
    }
    in_folder(shelf.folder(), &path, &ask.file)?;
    let notes = format!("Changed on the page: {}.", other(&bench).join(", "));
    let text = (reading.of)
        .revision(&bench.changes, name, &base, &notes)
        .map_err(|f| faults(shelf.folder(), f))?;
    let written =
        atomic::write_new(&path, text.as_bytes()).map_err(|fault| failure(shelf.folder(), fault.into()))?;
    if !written {
        return Err(refused(
            Wrong::Conflict,
            format!(
                "there is something called {} already, and it is left as it is",
                ask.file
            ),
            ask.file.clone(),
            "save under another name",
        ));
    }
    // What cannot be read again would be no design.
    shelf.reading(&ask.file)?;
    Ok(SaveAnswer {
        file: ask.file.clone(),
        text,
    })
}

/// Keys whose values are not the file's.
fn other(bench: &Bench) -> Vec<&str> {
    let values = bench.reading.of.values(&bench.changes);
    let same = |key: &str| {
        let found = values.as_ref().ok().and_then(|values| values.of(key));
        found.is_some_and(|(now, saved)| saved.is_some_and(|saved| saved.value == now.value))
    };
    let keys = bench.changes.iter().map(|change| change.key.as_str());
    keys.filter(|key| !same(key)).collect()
}

/// How the new file reaches the design that it revises: a base lies beside the file that names it, or below.
fn base(design: &str, file: &str) -> Answer<String> {
    let folder = file.rsplit_once('/').map_or("", |(folder, _)| folder);
    let below = match folder {
        "" => Some(design),
        folder => design
            .strip_prefix(folder)
            .and_then(|rest| rest.strip_prefix('/')),
    };
    below.map(str::to_owned).ok_or_else(|| {
        let beside = design.rsplit_once('/').map_or("the folder itself", |(folder, _)| folder);
        refused(
            Wrong::Input,
            format!("from {file} the design {design} cannot be named as a base: it lies neither beside it nor below"),
            file,
            format!("save it in {beside}"),
        )
    })
}

/// The folder of a new file lies inside the one that is served, links followed.
fn in_folder(folder: &Path, path: &Path, file: &str) -> Answer<()> {
    let parent = path.parent().unwrap_or(folder);
    match parent.canonicalize() {
        Ok(found) if found.starts_with(folder) => Ok(()),
        Ok(_) => Err(refused(
            Wrong::Input,
            format!("{file} lies behind a link that leads out of the folder that is open"),
            file,
            "save it in the folder itself",
        )),
        Err(_) => Err(refused(
            Wrong::Missing,
            format!("there is no folder for {file}"),
            file,
            "make the folder first, or save it beside the design",
        )),
    }
}

/// What is other on disk than when the changes were made.
fn conflict(house: &House, now: &Reading, ask: &SaveAsk) -> Refused {
    let design = &ask.variant.design;
    let mut said = vec![format!(
        "{design}, or a file that it reads, is another than when these changes were made"
    )];
    if let Some(before) = house.shelf.kept_reading(design, &ask.digest) {
        let other = now.files.iter().filter(|file| !before.files.contains(file));
        said.extend(other.map(|(file, _)| format!("{file} was written since")));
        said.extend(diff::sentences(&before.base, &now.base));
    }
    let mend = "look at the design as it stands now and save again: your changes are kept on the page";
    let mut all: Vec<Refused> = (said.into_iter())
        .map(|what| refused(Wrong::Conflict, what, design.clone(), mend))
        .collect();
    Refused {
        wrong: Wrong::Conflict,
        faults: all.iter_mut().flat_map(|one| one.faults.drain(..)).collect(),
    }
}
