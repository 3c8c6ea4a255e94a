//! One run's folder: `inputs.json`, `checkpoint-a.bin`, `checkpoint-b.bin`, `frames.bin`, `lock`.
//!
//! A checkpoint is written as a whole ([`super::atomic`]) after the frames that it counts have been flushed, so
//! whatever is killed when, the folder holds a state to go on from. The two take turns: should the disk spoil the
//! newer one, or the frames that it counts, the run goes on from the older one and says so.

use super::frames::{self, FrameFile, FrameWriter};
use super::{Scene, StoreFault, atomic};
use serde::{Deserialize, Serialize};
use slosh::run::{Frame, RunState};
use std::cell::Cell;
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

/// Version of the program that writes and reads runs.
const VERSION: &str = env!("CARGO_PKG_VERSION");

/// First bytes of a checkpoint: our mark and the layout's version.
const MARK: &[u8; 8] = b"SWCKPT02";

/// The two checkpoints.
const SLOTS: [&str; 2] = ["checkpoint-a.bin", "checkpoint-b.bin"];

/// Largest unpacked checkpoint that is believed [bytes].
const LARGEST_CHECKPOINT: usize = 2 << 30;

/// What a run's folder holds.
#[derive(Serialize, Deserialize)]
pub struct Stored {
    /// Samples of the run up to this state: the newer checkpoint has more.
    pub samples: u64,
    /// Frames that belong to this state.
    pub frames: u64,
    /// True when the run has reached its end.
    pub finished: bool,
    /// The full-precision state.
    pub state: RunState,
}

/// A run's folder, locked for this process.
pub struct RunFolder {
    path: PathBuf,
    /// Which checkpoint is written next.
    next: Cell<usize>,
    _lock: File,
}

/// What a folder has to go on from.
#[derive(Default)]
pub struct Resumable {
    /// The newest whole state, if any.
    pub stored: Option<Stored>,
    /// What was found spoilt, in words.
    pub said: Vec<String>,
}

/// `inputs.json`: for people, and to see whose run this is.
#[derive(Serialize, Deserialize)]
struct InputsFile {
    version: String,
    key: String,
    inputs: serde_json::Value,
}

/// Key of a run: a hash over everything its answer depends on.
pub fn key(inputs: &serde_json::Value, bulk: &[&[u8]]) -> String {
    let mut hasher = blake3::Hasher::new();
    hasher.update(VERSION.as_bytes());
    hasher.update(program());
    hasher.update(inputs.to_string().as_bytes());
    for part in bulk {
        hasher.update(&(part.len() as u64).to_le_bytes());
        hasher.update(part);
    }
    hasher.finalize().to_hex()[..16].to_string()
}

/// Hash of this very program: the version stands still between two builds, and a run of an older solver must never
/// be served for one of this. Where the system hides the program's file the version alone speaks.
fn program() -> &'static [u8] {
    static HASH: OnceLock<Vec<u8>> = OnceLock::new();
    HASH.get_or_init(|| {
        let bytes = std::env::current_exe()
            .and_then(std::fs::read)
            .unwrap_or_default();
        blake3::hash(&bytes).as_bytes().to_vec()
    })
}

impl RunFolder {
    /// Opens or makes the folder `root/key` and locks it.
    pub fn open(root: &Path, key: &str, inputs: &serde_json::Value) -> Result<RunFolder, StoreFault> {
        let path = root.join(key);
        atomic::make_folder(&path)?;
        let lock_path = path.join("lock");
        let lock = File::create(&lock_path).map_err(StoreFault::io("write", &lock_path))?;
        match lock.try_lock() {
            Ok(()) => {}
            Err(std::fs::TryLockError::WouldBlock) => return Err(StoreFault::Locked { path }),
            // Some network drives know no locks; the checkpoint is still replaced as a whole.
            Err(std::fs::TryLockError::Error(_)) => {}
        }
        let inputs_path = path.join("inputs.json");
        match std::fs::read(&inputs_path) {
            Ok(bytes) => {
                let found: InputsFile = serde_json::from_slice(&bytes).map_err(|e| StoreFault::Damaged {
                    path: inputs_path.clone(),
                    why: e.to_string(),
                })?;
                if found.version != VERSION {
                    return Err(StoreFault::OtherVersion {
                        path,
                        theirs: found.version,
                        ours: VERSION.into(),
                    });
                }
                if found.key != key || found.inputs != *inputs {
                    return Err(StoreFault::OtherInputs { path });
                }
            }
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
                if SLOTS.iter().any(|slot| path.join(slot).exists()) {
                    return Err(StoreFault::OtherInputs { path });
                }
                let file = InputsFile {
                    version: VERSION.into(),
                    key: key.into(),
                    inputs: inputs.clone(),
                };
                let text = serde_json::to_string_pretty(&file).expect("plain data");
                atomic::write(&inputs_path, text.as_bytes())?;
            }
            Err(e) => return Err(StoreFault::io("read", &inputs_path)(e)),
        }
        Ok(RunFolder {
            path,
            next: Cell::new(0),
            _lock: lock,
        })
    }

    /// Whether a run of this key has been begun.
    pub fn begun(root: &Path, key: &str) -> bool {
        SLOTS.iter().any(|name| root.join(key).join(name).exists())
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The newest state that is whole with all its frames, and what was found spoilt.
    pub fn stored(&self) -> Result<Resumable, StoreFault> {
        let mut found = Resumable::default();
        let mut whole = Vec::new();
        for (slot, name) in SLOTS.iter().enumerate() {
            match self.read(name) {
                Ok(Some(stored)) => whole.push((slot, stored)),
                Ok(None) => {}
                Err(fault @ StoreFault::Damaged { .. }) => found.said.push(fault.to_string()),
                Err(fault) => return Err(fault),
            }
        }
        let frames_path = self.path.join("frames.bin");
        let frames = frames::whole(&frames_path)?;
        whole.sort_by_key(|(_, stored)| stored.samples);
        while let Some((slot, stored)) = whole.pop() {
            if stored.frames > frames {
                found.said.push(format!(
                    "{} is damaged: {frames} of {} frames are whole",
                    frames_path.display(),
                    stored.frames
                ));
                continue;
            }
            self.next.set(1 - slot);
            found.stored = Some(stored);
            break;
        }
        Ok(found)
    }

    /// The newest whole checkpoint of a run that another process may be computing; none when there is none yet. What is
    /// spoilt is the business of whoever computes it.
    pub fn glance(folder: &Path) -> Option<Stored> {
        let whole = SLOTS
            .iter()
            .filter_map(|name| checkpoint(folder, name).ok().flatten());
        whole.max_by_key(|stored| stored.samples)
    }

    /// One checkpoint, if it is there.
    fn read(&self, name: &str) -> Result<Option<Stored>, StoreFault> {
        checkpoint(&self.path, name)
    }

    /// Stores a state in place of the older one of the two.
    pub fn store(&self, stored: &Stored) -> Result<(), StoreFault> {
        let slot = self.next.get();
        let path = self.path.join(SLOTS[slot]);
        let plain = postcard::to_allocvec(stored).expect("a state is plain data");
        let packed = zstd::bulk::compress(&plain, 1).map_err(StoreFault::io("pack", &path))?;
        let mut bytes = MARK.to_vec();
        bytes.extend(crc32fast::hash(&packed).to_le_bytes());
        bytes.extend(packed);
        atomic::write(&path, &bytes)?;
        self.next.set(1 - slot);
        Ok(())
    }

    /// Opens the frame file for appending after the first `keep` frames.
    pub fn frame_writer(&self, keep: u64, scene: &Scene) -> Result<FrameWriter, StoreFault> {
        FrameWriter::open(&self.path.join("frames.bin"), keep, scene)
    }

    /// All frames.
    pub fn frames(&self) -> Result<Vec<Frame>, StoreFault> {
        let file = FrameFile::read(&self.path.join("frames.bin"))?;
        (0..file.frames()).map(|i| file.frame(i)).collect()
    }
}

/// A checkpoint of a run's folder, if it is there.
fn checkpoint(folder: &Path, name: &str) -> Result<Option<Stored>, StoreFault> {
    let path = folder.join(name);
    let bytes = match std::fs::read(&path) {
        Ok(bytes) => bytes,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(e) => return Err(StoreFault::io("read", &path)(e)),
    };
    let damaged = |why: &str| StoreFault::Damaged {
        path: path.clone(),
        why: why.into(),
    };
    let rest = bytes
        .strip_prefix(MARK)
        .ok_or_else(|| damaged("it is no checkpoint of this program"))?;
    let (checksum, packed) = rest
        .split_first_chunk::<4>()
        .ok_or_else(|| damaged("it is cut short"))?;
    if crc32fast::hash(packed) != u32::from_le_bytes(*checksum) {
        return Err(damaged("its checksum does not match"));
    }
    let plain = zstd::bulk::decompress(packed, LARGEST_CHECKPOINT).map_err(|e| damaged(&e.to_string()))?;
    postcard::from_bytes(&plain)
        .map(Some)
        .map_err(|e| damaged(&e.to_string()))
}
