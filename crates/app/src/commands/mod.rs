//! The commands, and what they share.

pub mod bays;
pub mod check;
pub mod clearance;
pub mod diff;
pub mod drive;
mod experiment;
pub mod explain;
pub mod export;
pub mod feed;
pub mod new;
pub mod open;
mod options;
pub mod outline;
pub mod seal;
pub mod shop;
pub mod slosh;
pub mod solid;
pub mod still;
pub mod study;

use crate::failure::Failure;
use crate::store::atomic;
use std::path::{Path, PathBuf};

/// Why there is no report, and what makes one.
const NO_BUNDLE: &str = "this program was built without the report's replay, so it cannot write a report";
const MAKE_BUNDLE: &str = "run `cargo xtask setup` (it needs Node 20 or later) and build the program again";

/// Where a command writes.
pub struct Folders {
    /// Report and result.
    pub out: PathBuf,
    /// The runs.
    pub runs: PathBuf,
}

impl Folders {
    /// Where a command writes: the folder that is named, else one beside the file.
    pub fn place(file: &Path, out: Option<&Path>) -> PathBuf {
        match out {
            Some(out) => out.to_path_buf(),
            None => {
                let stem = file.file_stem().unwrap_or(file.as_os_str()).to_string_lossy();
                file.with_file_name(format!("{stem}-results"))
            }
        }
    }

    /// Makes the folders, so that a place that cannot be written to is known before anything is computed.
    pub fn make(design: &Path, out: Option<&Path>) -> Result<Folders, Failure> {
        let out = Folders::place(design, out);
        let runs = out.join("runs");
        atomic::make_folder(&runs)?;
        // Proves the right to write; the name is one of ours, so nothing of the user's is touched.
        atomic::write(&runs.join("read-me.txt"), RUNS_NOTE.as_bytes())?;
        Ok(Folders { out, runs })
    }
}

const RUNS_NOTE: &str = "Each folder here is one computation, named by its inputs. sumpwright takes a half-done one up \
where it stopped\nand uses a finished one again. Delete them whenever you like; they are computed anew when needed.\n";

/// The threads of a command.
pub struct Workers(rayon::ThreadPool);

impl Workers {
    /// As many threads as stated, else one for each core.
    pub fn new(threads: Option<usize>) -> Result<Workers, Failure> {
        rayon::ThreadPoolBuilder::new()
            .num_threads(threads.unwrap_or(0))
            .build()
            .map(Workers)
            .map_err(|e| {
                Failure::computing(format!("cannot start threads: {e}"), "state fewer with --threads")
            })
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.0.current_num_threads()
    }

    /// Runs `work` on them.
    pub fn run<R: Send>(&self, work: impl FnOnce() -> R + Send) -> R {
        self.0.install(work)
    }
}
