//! Hashes of files, of large ones only when they were written since.

use std::collections::HashMap;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::time::{Duration, SystemTime};

/// Smaller files are read each time [bytes]: some editors write one twice within a tick of the clock.
const SMALL: u64 = 1 << 16;

/// A file that was written so shortly before it was hashed may be written again at what its clock calls the same time.
const TICK: Duration = Duration::from_secs(3);

/// What files hashed to, with their length and time of writing.
#[derive(Default)]
pub struct Bytes(Mutex<HashMap<PathBuf, Known>>);

struct Known {
    length: u64,
    written: SystemTime,
    hash: String,
}

/// Hash of bytes.
pub fn hash(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex().to_string()
}

impl Bytes {
    /// Hash of a plain file as it stands; "none" when it is not there or cannot be read.
    pub fn hash_of(&self, path: &Path) -> String {
        self.read(path).unwrap_or_else(|| "none".to_owned())
    }

    fn read(&self, path: &Path) -> Option<String> {
        let about = fs::metadata(path).ok().filter(|about| about.is_file())?;
        let (length, written) = (about.len(), about.modified().ok());
        if length <= SMALL {
            return Some(hash(&fs::read(path).ok()?));
        }
        if let Some(known) = self.known().get(path)
            && known.length == length
            && Some(known.written) == written
        {
            return Some(known.hash.clone());
        }
        let mut hasher = blake3::Hasher::new();
        std::io::copy(&mut File::open(path).ok()?, &mut hasher).ok()?;
        let hash = hasher.finalize().to_hex().to_string();
        let settled = written.filter(|at| SystemTime::now().duration_since(*at).is_ok_and(|age| age > TICK));
        if let Some(written) = settled {
            let known = Known {
                length,
                written,
                hash: hash.clone(),
            };
            self.known().insert(path.to_owned(), known);
        }
        Some(hash)
    }

    fn known(&self) -> std::sync::MutexGuard<'_, HashMap<PathBuf, Known>> {
        self.0.lock().expect("no holder of this lock panics")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_is_written_again_at_once_has_another_hash() {
        let path = std::env::temp_dir().join(format!("sumpwright-bytes-{}", std::process::id()));
        let bytes = Bytes::default();
        let mut last = bytes.hash_of(&path);
        assert_eq!(last, "none");
        for n in 0..20u8 {
            let large = vec![n; 2 * SMALL as usize];
            fs::write(&path, &large).expect("the temporary folder can be written to");
            let now = bytes.hash_of(&path);
            assert_eq!(now, hash(&large), "{n}");
            assert_ne!(now, last, "{n}");
            last = now;
        }
        fs::remove_file(&path).expect("it is ours");
        assert_eq!(bytes.hash_of(&path), "none");
    }
}
