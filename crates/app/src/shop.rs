//! The shop's folder: every maker adds its files and what it has to say; the folder is written whole or not at all.

mod body;
pub mod cards;
mod gasket;
mod list;
mod pages;
mod plates;
mod time;

use job::Design;
use serde::Serialize;
use std::path::Path;

use crate::failure::Failure;
use crate::store::StoreFault;
use crate::store::atomic;
use report::findings::{CardsFacts, TimeFacts, Warning};
use std::fs;

/// Marks a folder as one of ours, which may be replaced.
const MARK: &str = "shop.json";

/// A file of the folder.
pub struct Made {
    /// Place below the folder, parted by `/`.
    pub path: String,
    /// What it is for, in a few words.
    pub what: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// What will be in the folder.
#[derive(Default)]
pub struct Folder {
    /// The files, in the order in which the list names them.
    pub files: Vec<Made>,
    /// What could be made but looks wrong at the bench.
    pub warnings: Vec<Warning>,
    /// What a person should know: what was made, what was not and why.
    pub said: Vec<String>,
    /// What stands with a single part: in the folder's own text, not on the terminal.
    pub notes: Vec<String>,
}

impl Folder {
    /// Adds a file.
    pub fn add(&mut self, path: &str, what: &str, bytes: impl Into<Vec<u8>>) {
        let (path, what, bytes) = (path.to_owned(), what.to_owned(), bytes.into());
        self.files.push(Made { path, what, bytes });
    }
}

/// Everything said of what was made, as `--json` prints it.
#[derive(Debug, Serialize)]
pub struct ShopFacts {
    /// Names this kind of object and its date.
    pub format: &'static str,
    /// The design's name.
    pub design: String,
    /// The gasket, when the design describes one.
    pub gasket: Option<gasket::GasketFacts>,
    /// The files, with what each is for.
    pub files: Vec<FileFact>,
    /// The pan as a solid; absent when it cannot be made one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub body: Option<body::BodyFacts>,
    /// The time until the event, when one is stated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time: Option<TimeFacts>,
    /// What the cards say.
    pub cards: CardsFacts,
    /// Parts, masses and cost.
    pub list: list::ListFacts,
    /// Plates and doors as flat pieces, when there are any.
    pub plates: Option<plates::PlatesFacts>,
    /// What looks wrong at the bench.
    pub warnings: Vec<Warning>,
    /// What a person should know.
    pub said: Vec<String>,
    /// What stands with a single part.
    pub notes: Vec<String>,
}

/// A file of the folder.
#[derive(Debug, Serialize)]
pub struct FileFact {
    /// Place below the folder.
    pub path: String,
    /// What it is for.
    pub what: String,
}

/// Makes everything that the design allows.
pub fn make(design: &Design) -> Result<(Folder, ShopFacts), Failure> {
    let mut folder = Folder::default();
    let body = body::make(design, &mut folder)?;
    let cards = cards::make(design, &mut folder)?;
    let (plates, blanks) = plates::make(design, &mut folder)?.unzip();
    let gasket = gasket::make(design, &mut folder)?;
    let blanks = blanks.unwrap_or_default();
    let list = list::make(design, body.as_ref(), &blanks, gasket.as_ref(), &mut folder)?;
    let time = time::make(design, &list, &mut folder)?;
    let facts = ShopFacts {
        format: "sumpwright-shop 2026-11",
        design: design.name.clone(),
        gasket,
        files: (folder.files.iter())
            .map(|f| FileFact {
                path: f.path.clone(),
                what: f.what.clone(),
            })
            .collect(),
        body,
        time,
        cards,
        list,
        plates,
        warnings: std::mem::take(&mut folder.warnings),
        said: std::mem::take(&mut folder.said),
        notes: std::mem::take(&mut folder.notes),
    };
    folder.add(
        "read-me.txt",
        "what is in this folder, and what to mind",
        read_me(&facts),
    );
    let json = serde_json::to_string_pretty(&facts).expect("plain data") + "\n";
    folder.add(MARK, "everything above for programs", json);
    Ok((folder, facts))
}

/// A file's name made of a part's: small letters, digits and hyphens, not taken yet.
pub fn stem(name: &str, taken: &mut Vec<String>) -> String {
    let mut stem = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        if c.is_ascii_alphanumeric() {
            stem.push(c);
        } else if !stem.is_empty() && !stem.ends_with('-') {
            stem.push('-');
        }
    }
    let stem = stem.trim_end_matches('-');
    let stem = if stem.is_empty() { "part" } else { stem };
    let mut free = stem.to_owned();
    let mut n = 2;
    while taken.contains(&free) {
        free = format!("{stem}-{n}");
        n += 1;
    }
    taken.push(free.clone());
    free
}

/// The folder's own text: whoever is handed the folder needs nothing else.
fn read_me(facts: &ShopFacts) -> String {
    let mut text = format!("{}: what the bench and the mill work from\n\n", facts.design);
    let rows: Vec<Vec<String>> = (facts.files.iter())
        .map(|file| vec![file.path.clone(), file.what.clone()])
        .collect();
    text += &crate::terminal::columns(&rows);
    text += "\nPaper: print at 100 % and measure the bars before anything is cut. Files to cut are in millimetres.\n";
    for warning in &facts.warnings {
        text += &format!("\nwarning: {}\n  mend: {}\n", warning.said, warning.mend);
    }
    for line in facts.said.iter().chain(&facts.notes) {
        text += &format!("\n{line}\n");
    }
    text += "\nHot oil burns; a leak on a header is a fire, and oil on a course endangers others. These files are an aid to judgement \
             and not a certificate: the engine maker's data, the event's rules and local codes win. Welding magnesium, pressure and lifting \
             are for licensed people.\n";
    text
}

/// Writes the folder beside its place and puts it there in one step; an older one of ours is replaced.
pub fn write(folder: &Folder, out: &Path) -> Result<(), Failure> {
    let exists = out.exists();
    if exists && !out.join(MARK).is_file() && fs::read_dir(out).map_or(true, |mut d| d.next().is_some()) {
        return Err(Failure::input(
            "the folder holds files that are not a shop folder of this program",
            out.display().to_string(),
            "name another folder with --out, or move what lies there",
        ));
    }
    let beside = |ending: &str| {
        let mut name = out.file_name().unwrap_or(out.as_os_str()).to_os_string();
        name.push(ending);
        out.with_file_name(name)
    };
    let (fresh, old) = (beside(".new"), beside(".old"));
    clear(&fresh)?;
    clear(&old)?;
    let written = fill(folder, &fresh).and_then(|()| {
        if exists {
            fs::rename(out, &old).map_err(StoreFault::io("move aside", out))?;
        }
        fs::rename(&fresh, out)
            .map_err(StoreFault::io("put in place", out))
            .inspect_err(|_| {
                // The old folder goes back to its place: nothing is lost.
                if exists {
                    let _ = fs::rename(&old, out);
                }
            })
    });
    let _ = fs::remove_dir_all(&fresh);
    written?;
    clear(&old)
}

fn fill(folder: &Folder, fresh: &Path) -> Result<(), StoreFault> {
    atomic::make_folder(fresh)?;
    for file in &folder.files {
        let path = file
            .path
            .split('/')
            .fold(fresh.to_path_buf(), |at, part| at.join(part));
        if let Some(parent) = path.parent() {
            atomic::make_folder(parent)?;
        }
        atomic::write(&path, &file.bytes)?;
    }
    Ok(())
}

/// Takes away what a killed run left.
fn clear(path: &Path) -> Result<(), Failure> {
    match fs::remove_dir_all(path) {
        Err(source) if source.kind() != std::io::ErrorKind::NotFound => {
            Err(StoreFault::io("take away", path)(source).into())
        }
        _ => Ok(()),
    }
}
