//! The folder and its designs.

use super::refusals::missing;
use serve::wire::{DesignFile, Project};
use serve::workshop::Answer;
use std::fs;
use std::path::Path;

/// Folders are looked into so deep.
const DEPTH: usize = 2;
/// Most files and folders that are looked at.
const MOST: usize = 2000;

/// The folder and all designs in it.
pub fn project(folder: &Path, opened: Option<String>) -> Answer<Project> {
    if !folder.is_dir() {
        return Err(missing("the folder is gone", &folder.display().to_string()));
    }
    let mut designs = Vec::new();
    let mut left = MOST;
    look(folder, "", DEPTH, &mut left, &mut designs);
    designs.sort_by(|a, b| a.file.cmp(&b.file));
    let name = folder.file_name().unwrap_or(folder.as_os_str());
    Ok(Project {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        folder: name.to_string_lossy().into_owned(),
        opened,
        designs,
        cautions: report::page::CAUTIONS.map(str::to_owned).into(),
    })
}

fn look(folder: &Path, under: &str, depth: usize, left: &mut usize, designs: &mut Vec<DesignFile>) {
    // A folder that may not be read holds nothing for the page.
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        if *left == 0 {
            return;
        }
        *left -= 1;
        let path = entry.path();
        let Some(name) = path.file_name().and_then(|name| name.to_str()) else {
            continue;
        };
        // A link may leave the folder; what it leads to is reached by its own name or not at all.
        let Ok(kind) = entry.file_type() else { continue };
        let file = format!("{under}{name}");
        if kind.is_dir() && depth > 1 && !name.starts_with('.') && !is_of_results(&path, name) {
            look(&path, &format!("{file}/"), depth - 1, left, designs);
        } else if kind.is_file()
            && name.ends_with(".toml")
            && let Some(job::Glance { name, base }) = job::glance(&path)
        {
            designs.push(DesignFile { file, name, base });
        }
    }
}

/// Whether a folder holds what a command wrote.
fn is_of_results(path: &Path, name: &str) -> bool {
    name.ends_with("-results") || name.ends_with("-shop") || path.join("runs/read-me.txt").is_file()
}
