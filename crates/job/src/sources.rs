//! The files of a project: what may be read, and from where.
//!
//! The project folder is the folder of the design file that the user named. Whatever a design names (a
//! base, a mesh, a log, a course) is looked for from the folder of the file that names it and must lie in
//! the project folder or below: a design from a stranger cannot reach anything else on the machine.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, Cursor, Read};
use std::path::{Component, Path, PathBuf};

use crate::fault::{Fault, Place};

/// Largest design file [bytes]. A design of a hundred plates is some 20 kB.
pub const DESIGN_LIMIT: u64 = 1 << 20;
/// Largest mesh file [bytes]: five million facets are 250 MB of binary STL, 250 MB of OBJ and 1 GB of STL text.
pub const MESH_LIMIT: u64 = 1 << 30;
/// Largest log or course file [bytes]: a day at 100 Hz with thirty channels is about 200 MB.
pub const LOG_LIMIT: u64 = 1 << 29;

/// Largest drawing, table or picture of an outline [bytes]: a sheet scanned at 600 dpi is some 40 MB as PNG.
pub const OUTLINE_LIMIT: u64 = 1 << 26;

/// Where files come from.
#[derive(Clone, Debug)]
pub enum Sources {
    /// The disk.
    Disk,
    /// Held in memory, by path; the paths are compared letter for letter.
    Memory(BTreeMap<PathBuf, Vec<u8>>),
}

/// Why a file could not be had.
enum Refusal {
    Missing,
    NotAFile,
    Leaves,
    TooLarge(u64),
    Io(io::Error),
}

impl Sources {
    /// The bytes of a file that the user named himself, at most `limit` of them.
    pub(crate) fn named_by_user(&self, path: &Path, limit: u64) -> Result<Vec<u8>, Fault> {
        self.bytes(path, None, limit)
            .map_err(|refusal| fault(refusal, path, Place::file(path), String::new(), limit))
    }

    /// The bytes of the project file at `path` (see [`within`]), which `key` at `place` names.
    pub(crate) fn named_by_design(
        &self,
        path: &Path,
        root: &Path,
        limit: u64,
        place: &Place,
        key: &str,
    ) -> Result<Vec<u8>, Fault> {
        self.bytes(path, Some(root), limit)
            .map_err(|refusal| fault(refusal, path, place.clone(), key.to_owned(), limit))
    }

    /// A log or course to be read as it comes, named by the user, or by a design: its root, place and key.
    ///
    /// A file over `limit` is refused here; one that grows while it is read is cut off by the reader's own limit.
    pub(crate) fn stream(
        &self,
        path: &Path,
        named: Option<(&Path, &Place, &str)>,
        limit: u64,
    ) -> Result<Box<dyn Read>, Fault> {
        let (root, place, key) = match named {
            Some((root, place, key)) => (Some(root), place.clone(), key.to_owned()),
            None => (None, Place::file(path), String::new()),
        };
        let opened: Result<Box<dyn Read>, Refusal> = match self {
            Sources::Memory(_) => self
                .bytes(path, root, limit)
                .map(|bytes| Box::new(Cursor::new(bytes)) as _),
            Sources::Disk => open(path, root, limit).map(|file| Box::new(file) as _),
        };
        opened.map_err(|refusal| fault(refusal, path, place, key, limit))
    }

    fn bytes(&self, path: &Path, root: Option<&Path>, limit: u64) -> Result<Vec<u8>, Refusal> {
        match self {
            Sources::Memory(files) => {
                let bytes = files.get(path).ok_or(Refusal::Missing)?;
                if bytes.len() as u64 > limit {
                    return Err(Refusal::TooLarge(bytes.len() as u64));
                }
                Ok(bytes.clone())
            }
            Sources::Disk => from_disk(path, root, limit),
        }
    }
}

fn from_disk(path: &Path, root: Option<&Path>, limit: u64) -> Result<Vec<u8>, Refusal> {
    let file = open(path, root, limit)?;
    let mut bytes = Vec::new();
    file.take(limit + 1)
        .read_to_end(&mut bytes)
        .map_err(Refusal::Io)?;
    if bytes.len() as u64 > limit {
        let size = std::fs::metadata(path).map_or(limit + 1, |m| m.len());
        return Err(Refusal::TooLarge(size));
    }
    Ok(bytes)
}

/// Opens a plain file of at most `limit` bytes, inside `root` when there is one.
fn open(path: &Path, root: Option<&Path>, limit: u64) -> Result<File, Refusal> {
    let refusal = |error: io::Error| match error.kind() {
        io::ErrorKind::NotFound => Refusal::Missing,
        _ => Refusal::Io(error),
    };
    if let Some(root) = root {
        // A link inside the folder may still point out of it.
        let root = if root.as_os_str().is_empty() {
            Path::new(".")
        } else {
            root
        };
        let root = root.canonicalize().map_err(refusal)?;
        if !path.canonicalize().map_err(refusal)?.starts_with(root) {
            return Err(Refusal::Leaves);
        }
    }
    // Asked before opening: opening a pipe would wait for its writer.
    let metadata = std::fs::metadata(path).map_err(refusal)?;
    if !metadata.is_file() {
        return Err(Refusal::NotAFile);
    }
    if metadata.len() > limit {
        return Err(Refusal::TooLarge(metadata.len()));
    }
    File::open(path).map_err(refusal)
}

fn fault(refusal: Refusal, path: &Path, place: Place, key: String, limit: u64) -> Fault {
    let shown = path.display();
    let (id, what, mend) = match refusal {
        Refusal::Missing => (
            "no-such-file",
            format!("there is no file {shown}"),
            if key.is_empty() {
                "check the spelling of its name, and the folder that you are in".to_owned()
            } else {
                "check the spelling of its name; it is looked for beside the file that names it".to_owned()
            },
        ),
        Refusal::NotAFile => (
            "not-a-file",
            format!("{shown} is a folder or a device, not a file"),
            "name a plain file".to_owned(),
        ),
        Refusal::Leaves => (
            "outside-project",
            format!("{shown} is a link that leaves the project folder"),
            "copy the file itself into the project folder".to_owned(),
        ),
        Refusal::TooLarge(size) => (
            "file-too-large",
            format!("{shown} holds {:.1} MB", size as f64 / 1e6),
            format!(
                "at most {:.0} MB are read here; check that it is the right file",
                limit as f64 / 1e6
            ),
        ),
        Refusal::Io(error) => (
            "unreadable",
            format!("{shown} cannot be read: {error}"),
            "check that the file may be read and that its disk is there".to_owned(),
        ),
    };
    Fault {
        id,
        place,
        key,
        what,
        mend,
    }
}

/// The text in `bytes`, which must be UTF-8; a byte-order mark is dropped.
pub(crate) fn text(bytes: Vec<u8>, place: &Place) -> Result<String, Fault> {
    match String::from_utf8(bytes) {
        Ok(text) => Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text)),
        Err(error) => {
            let good = error.utf8_error().valid_up_to();
            let line = 1 + error.as_bytes()[..good].iter().filter(|b| **b == b'\n').count();
            Err(Fault {
                id: "not-text",
                place: Place {
                    line,
                    ..place.clone()
                },
                key: String::new(),
                what: "the file is not UTF-8 text".to_owned(),
                mend: "save it from a text editor as UTF-8".to_owned(),
            })
        }
    }
}

/// The path of `named`, as written in the file `from`, inside the project folder `root`.
///
/// Refused: rooted and network paths, drive letters, backslashes, and `..` that climbs out of the folder.
pub(crate) fn within(
    root: &Path,
    from: &Path,
    named: &str,
    place: &Place,
    key: &str,
) -> Result<PathBuf, Fault> {
    let fault = |what: String| Fault {
        id: "outside-project",
        place: place.clone(),
        key: key.to_owned(),
        what,
        mend: "put the file into the folder of the design or below it, and name it from there with /"
            .to_owned(),
    };
    if named.trim().is_empty() {
        return Err(fault("the name of a file is empty".to_owned()));
    }
    if named.contains(['\\', ':', '\0']) {
        return Err(fault(format!("\"{named}\" is not a plain relative path")));
    }
    let below = from
        .parent()
        .unwrap_or(Path::new(""))
        .strip_prefix(root)
        .unwrap_or(Path::new(""));
    let mut parts: Vec<&std::ffi::OsStr> = below
        .components()
        .filter_map(|c| {
            if let Component::Normal(part) = c {
                Some(part)
            } else {
                None
            }
        })
        .collect();
    for component in Path::new(named).components() {
        match component {
            Component::Normal(part) => parts.push(part),
            Component::CurDir => {}
            Component::ParentDir if parts.pop().is_some() => {}
            Component::ParentDir => {
                return Err(fault(format!("\"{named}\" leaves the project folder")));
            }
            Component::RootDir | Component::Prefix(_) => {
                return Err(fault(format!("\"{named}\" is not a relative path")));
            }
        }
    }
    Ok(parts
        .iter()
        .fold(root.to_path_buf(), |path, part| path.join(part)))
}
