//! Writing a file so that a reader sees the old one or the new one, never half of either.

use super::StoreFault;
use std::fs::{self, File};
use std::hash::{BuildHasher, Hasher};
use std::io::Write;
use std::path::Path;

/// Makes a folder with its parents.
pub fn make_folder(path: &Path) -> Result<(), StoreFault> {
    fs::create_dir_all(path).map_err(StoreFault::io("make the folder", path))
}

/// Writes `bytes` to a fresh temporary file beside `path`, flushes it to the disk, then renames it.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), StoreFault> {
    through(path, ".new", bytes)
}

/// Writes `bytes` to a file that is not there yet, whole or not at all; `false` when something of its name is there, which is left
/// as it is.
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<bool, StoreFault> {
    let mut name = path.file_name().expect("a file has a name").to_os_string();
    name.push(format!(".{}.new", any_name()));
    let fresh = path.with_file_name(name);
    let attempt = || -> std::io::Result<bool> {
        let mut file = File::create_new(&fresh)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        // A second name is given only where there is none of that name; a rename would go over it.
        match fs::hard_link(&fresh, path) {
            Ok(()) => Ok(true),
            Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => Ok(false),
            // Some file systems give no second names.
            Err(_) => match File::create_new(path) {
                Ok(mut file) => file
                    .write_all(bytes)
                    .and_then(|()| file.sync_all())
                    .map(|()| true)
                    .inspect_err(|_| drop(fs::remove_file(path))),
                Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => Ok(false),
                Err(e) => Err(e),
            },
        }
    };
    let written = attempt();
    let _ = fs::remove_file(&fresh);
    let written = written.map_err(StoreFault::io("write", path))?;
    flush_folder(path);
    Ok(written)
}

/// As [`write`], where other processes, also of other machines, may write the same file: the last one stands whole.
pub fn write_among_others(path: &Path, bytes: &[u8]) -> Result<(), StoreFault> {
    through(path, &format!(".{}.new", any_name()), bytes)
}

/// A name that no other process takes: the standard library's seed of hashes is the system's chance.
fn any_name() -> String {
    let mut hasher = std::collections::hash_map::RandomState::new().build_hasher();
    hasher.write_u32(std::process::id());
    format!("{:016x}", hasher.finish())
}

fn through(path: &Path, ending: &str, bytes: &[u8]) -> Result<(), StoreFault> {
    let mut name = path.file_name().expect("a file has a name").to_os_string();
    name.push(ending);
    let fresh = path.with_file_name(name);
    let attempt = || -> std::io::Result<()> {
        let mut file = File::create(&fresh)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        fs::rename(&fresh, path)
    };
    attempt().map_err(|source| {
        // The old file is untouched; what could not be finished is of no use to anyone.
        let _ = fs::remove_file(&fresh);
        StoreFault::Io {
            what: "write",
            path: path.to_path_buf(),
            source,
        }
    })?;
    flush_folder(path);
    Ok(())
}

/// A name that is given must reach the disk too. Windows cannot open a folder as a file, and needs not.
fn flush_folder(path: &Path) {
    if let Some(folder) = path.parent()
        && let Ok(folder) = File::open(folder)
    {
        let _ = folder.sync_all();
    }
}

/// Takes a file away; one that is not there is no fault.
pub fn remove(path: &Path) -> Result<(), StoreFault> {
    match fs::remove_file(path) {
        Err(source) if source.kind() != std::io::ErrorKind::NotFound => {
            Err(StoreFault::io("take away", path)(source))
        }
        _ => Ok(()),
    }
}
