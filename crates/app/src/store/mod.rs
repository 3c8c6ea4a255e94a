//! Runs on disk: a folder named by the hash of its inputs, written so that a kill at any instant leaves a
//! run that resumes.

pub mod atomic;
pub mod frames;
pub mod run_folder;
mod scene;

pub use run_folder::{RunFolder, Stored};
pub use scene::{Scene, open_shares};

use std::path::{Path, PathBuf};

/// Why a run could not be kept or taken up.
#[derive(Debug, thiserror::Error)]
pub enum StoreFault {
    /// Reading or writing failed: disk full, no right to write, a lost network drive.
    #[error("cannot {what} {}: {source}", path.display())]
    Io {
        /// "write", "read", ...
        what: &'static str,
        /// Where.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// The folder holds a run of other inputs.
    #[error("{} holds a run from other inputs", path.display())]
    OtherInputs {
        /// Where.
        path: PathBuf,
    },
    /// The folder was written by another version of the program.
    #[error("{} was written by version {theirs} of the program (this is {ours})", path.display())]
    OtherVersion {
        /// Where.
        path: PathBuf,
        /// Version that wrote it.
        theirs: String,
        /// Version that reads it.
        ours: String,
    },
    /// Another process is computing this run.
    #[error("{} is being computed by another sumpwright", path.display())]
    Locked {
        /// Where.
        path: PathBuf,
    },
    /// Frames in a layout that this program does not read.
    #[error("{} was written by an earlier or a later version of the program", path.display())]
    OtherFrames {
        /// Where.
        path: PathBuf,
    },
    /// A file does not hold what its checksum promises.
    #[error("{} is damaged: {why}", path.display())]
    Damaged {
        /// Where.
        path: PathBuf,
        /// What is wrong with it.
        why: String,
    },
}

impl StoreFault {
    /// Wraps an input or output error with what was tried where.
    pub fn io(what: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> StoreFault {
        let path = path.to_path_buf();
        move |source| StoreFault::Io { what, path, source }
    }

    /// How to mend it.
    pub fn mend(&self) -> String {
        match self {
            StoreFault::Io { source, .. } => match source.kind() {
                std::io::ErrorKind::StorageFull => {
                    "free some space on the disk and run the same command again; it goes on where it stopped"
                        .into()
                }
                std::io::ErrorKind::PermissionDenied | std::io::ErrorKind::ReadOnlyFilesystem => {
                    "choose a folder you may write to with --out DIR".into()
                }
                _ => "check the disk and the folder, or choose another with --out DIR".into(),
            },
            StoreFault::OtherInputs { path } | StoreFault::OtherVersion { path, .. } => {
                format!(
                    "move {} away, or choose another folder with --out DIR",
                    path.display()
                )
            }
            StoreFault::Locked { .. } => "wait for it to end, or stop it first".into(),
            StoreFault::OtherFrames { .. } => {
                "compute the run again with this program, or use the program that wrote it".into()
            }
            StoreFault::Damaged { path, .. } => {
                format!("delete {} and run the same command again", path.display())
            }
        }
    }
}
