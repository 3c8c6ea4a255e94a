//! The folder of a study: what it is a study of, one file a case, and claims.
//!
//! ```text
//! study.json            what the folder holds results of; a folder of another study is refused
//! cases/0000/000017.json   what case 17 came to, written by rename, never changed
//! claims/000017         a locked file while some process computes the case
//! results.csv, results.parquet, trade-offs.svg, study.html   made of the case files, again and again
//! ```
//!
//! Any number of processes, also of several machines, may work in one folder. A case that has a file is done. A claim only
//! saves doing a case twice: where locks do not reach, two machines may compute the same case, and both write the same bytes.
//! Nobody's word on what is done is taken but that of the case files.

use crate::failure::Failure;
use crate::store::{StoreFault, atomic};
use ::study::Figures;
use serde::{Deserialize, Serialize};
use std::fs::File;
use std::path::{Path, PathBuf};

/// What a folder holds results of.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Manifest {
    /// Version of the program.
    pub version: String,
    /// Hash of the study's files.
    pub study: String,
    /// Hash of the design's files.
    pub design: String,
    /// Hash of the drive.
    pub drive: String,
    /// Name of the study.
    pub name: String,
    /// The design's file.
    pub design_file: String,
    /// What is driven.
    pub driven: String,
    /// How many cases there are.
    pub cases: usize,
}

impl Manifest {
    /// One name for all that results depend on.
    pub fn key(&self) -> String {
        let parts = [&self.version, &self.study, &self.design, &self.drive];
        let mut hasher = blake3::Hasher::new();
        for part in parts {
            hasher.update(&(part.len() as u64).to_le_bytes());
            hasher.update(part.as_bytes());
        }
        hasher.finalize().to_hex()[..16].to_string()
    }
}

/// What a case came to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// It was computed.
    Computed(Figures),
    /// The design cannot be: the first fault and how many there are.
    Invalid {
        /// What is wrong.
        what: String,
        /// Where.
        place: String,
        /// How to mend it.
        mend: String,
        /// How many faults there are.
        faults: usize,
    },
    /// The program could not compute it.
    Failed {
        /// What went wrong.
        what: String,
    },
}

impl Outcome {
    /// Its figures, when it was computed.
    pub fn figures(&self) -> Option<&Figures> {
        match self {
            Outcome::Computed(figures) => Some(figures),
            _ => None,
        }
    }
}

/// A case's file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CaseFile {
    /// Key of the study.
    pub study: String,
    /// Number.
    pub case: usize,
    /// The values of the inputs, as a shop writes them.
    pub values: Vec<String>,
    /// What it came to.
    pub outcome: Outcome,
}

/// An open study folder.
pub struct StudyFolder {
    /// Where.
    pub path: PathBuf,
    key: String,
}

/// Cases of one sub-folder.
const SHELF: usize = 1000;

impl StudyFolder {
    /// Opens the folder, or makes it.
    ///
    /// # Errors
    /// When it holds another study, another design's, over another drive or by another version: its results stay as they are.
    pub fn open(path: &Path, manifest: &Manifest) -> Result<StudyFolder, Failure> {
        let file = path.join("study.json");
        atomic::make_folder(path)?;
        let text = serde_json::to_vec_pretty(manifest).expect("plain data");
        match std::fs::read(&file) {
            Ok(bytes) => {
                let found: Manifest = serde_json::from_slice(&bytes).map_err(|e| StoreFault::Damaged {
                    path: file.clone(),
                    why: e.to_string(),
                })?;
                same(path, &found, manifest)?;
            }
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
                // Someone else may be making the same folder now; both write the same.
                atomic::write_among_others(&file, &text)?;
            }
            Err(e) => return Err(StoreFault::io("read", &file)(e).into()),
        }
        atomic::make_folder(&path.join("claims"))?;
        Ok(StudyFolder {
            path: path.to_path_buf(),
            key: manifest.key(),
        })
    }

    fn case_file(&self, case: usize) -> PathBuf {
        let shelf = format!("{:04}", case / SHELF);
        self.path
            .join("cases")
            .join(shelf)
            .join(format!("{case:06}.json"))
    }

    /// What a case came to, when it is done. A file that does not hold what it should is as good as none: the case is computed
    /// again.
    pub fn case(&self, case: usize) -> Option<CaseFile> {
        let bytes = std::fs::read(self.case_file(case)).ok()?;
        let found: CaseFile = serde_json::from_slice(&bytes).ok()?;
        (found.study == self.key && found.case == case).then_some(found)
    }

    /// Whether a case has a file at all; cheaper than reading it.
    pub fn has(&self, case: usize) -> bool {
        self.case_file(case).exists()
    }

    /// Keeps what a case came to.
    pub fn keep(&self, case: usize, values: Vec<String>, outcome: Outcome) -> Result<(), StoreFault> {
        let file = CaseFile {
            study: self.key.clone(),
            case,
            values,
            outcome,
        };
        let path = self.case_file(case);
        atomic::make_folder(path.parent().expect("a case lies on a shelf"))?;
        let mut text = serde_json::to_vec_pretty(&file).expect("plain data");
        text.push(b'\n');
        atomic::write_among_others(&path, &text)
    }

    /// Claims a case; `None` when some other process is at it.
    pub fn claim(&self, case: usize) -> Result<Option<Claim>, StoreFault> {
        let path = self.path.join("claims").join(format!("{case:06}"));
        let file = File::create(&path).map_err(StoreFault::io("write", &path))?;
        match file.try_lock() {
            Err(std::fs::TryLockError::WouldBlock) => Ok(None),
            // Some network drives know no locks: then a case may be computed twice, with the same bytes.
            Ok(()) | Err(std::fs::TryLockError::Error(_)) => Ok(Some(Claim { path, _file: file })),
        }
    }
}

/// A claim on a case; it ends with its process, however that ends.
pub struct Claim {
    path: PathBuf,
    _file: File,
}

impl Drop for Claim {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.path);
    }
}

/// What differs between the study that the folder holds and the one at hand.
fn same(path: &Path, found: &Manifest, asked: &Manifest) -> Result<(), Failure> {
    if found.key() == asked.key() {
        return Ok(());
    }
    let what = if found.version != asked.version {
        format!(
            "version {} of the program (this is {})",
            found.version, asked.version
        )
    } else if found.design != asked.design {
        if found.design_file == asked.design_file {
            format!("{} as it was before it was changed", asked.design_file)
        } else {
            format!("another design, {}", found.design_file)
        }
    } else if found.drive != asked.drive {
        format!("another drive, {}", found.driven)
    } else if found.name == asked.name {
        "this study as it was before it was changed".to_owned()
    } else {
        format!("another study, \u{201c}{}\u{201d}", found.name)
    };
    Err(Failure::input(
        format!("the folder holds results of {what}"),
        path.display().to_string(),
        "choose another folder with --out DIR, or move this one away; nothing in it was touched",
    ))
}
