//! The frame file: pictures of the oil, appended while a run goes on.
//!
//! Each record: length of the packed bytes (u32, little-endian), CRC-32 of them (u32), then the bytes,
//! packed with zstd. A kill in mid-write leaves a broken tail, which is cut when the file is opened again.

use super::StoreFault;
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::fs::{File, OpenOptions};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// Largest packed record that is believed [bytes].
const LARGEST_RECORD: usize = 64 << 20;

/// Largest unpacked record that is believed [bytes].
const LARGEST_UNPACKED: usize = 256 << 20;

/// Appends frames.
pub struct FrameWriter {
    file: File,
    path: PathBuf,
}

impl FrameWriter {
    /// Opens the file, keeps the first `keep` records and cuts the rest. Fewer than `keep` whole records is
    /// damage: the checkpoint that counted them was written after they were flushed.
    pub fn open(path: &Path, keep: u64) -> Result<FrameWriter, StoreFault> {
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(path)
            .map_err(StoreFault::io("open", path))?;
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes)
            .map_err(StoreFault::io("read", path))?;
        let (ends, _) = records(&bytes);
        let end = match keep {
            0 => 0,
            n => *ends.get(n as usize - 1).ok_or_else(|| StoreFault::Damaged {
                path: path.to_path_buf(),
                why: format!("{} of {n} frames are whole", ends.len()),
            })?,
        };
        file.set_len(end as u64).map_err(StoreFault::io("cut", path))?;
        file.seek(SeekFrom::End(0))
            .map_err(StoreFault::io("read", path))?;
        Ok(FrameWriter {
            file,
            path: path.to_path_buf(),
        })
    }

    /// Appends one record.
    pub fn append<T: Serialize>(&mut self, frame: &T) -> Result<(), StoreFault> {
        let plain = postcard::to_allocvec(frame).expect("a frame is plain data");
        let packed = zstd::bulk::compress(&plain, 3).map_err(StoreFault::io("pack", &self.path))?;
        let mut record = Vec::with_capacity(packed.len() + 8);
        record.extend((packed.len() as u32).to_le_bytes());
        record.extend(crc32fast::hash(&packed).to_le_bytes());
        record.extend(packed);
        self.file
            .write_all(&record)
            .map_err(StoreFault::io("write", &self.path))
    }

    /// Flushes to the disk.
    pub fn flush(&mut self) -> Result<(), StoreFault> {
        self.file.sync_data().map_err(StoreFault::io("write", &self.path))
    }
}

/// All whole frames of a file, in order.
pub fn read_all<T: DeserializeOwned>(path: &Path) -> Result<Vec<T>, StoreFault> {
    let bytes = std::fs::read(path).map_err(StoreFault::io("read", path))?;
    let (_, packed) = records(&bytes);
    packed
        .into_iter()
        .map(|record| {
            let damaged = |why: String| StoreFault::Damaged {
                path: path.to_path_buf(),
                why,
            };
            let plain =
                zstd::bulk::decompress(record, LARGEST_UNPACKED).map_err(|e| damaged(e.to_string()))?;
            postcard::from_bytes(&plain).map_err(|e| damaged(e.to_string()))
        })
        .collect()
}

/// End of each whole record, and its packed bytes.
fn records(bytes: &[u8]) -> (Vec<usize>, Vec<&[u8]>) {
    let (mut ends, mut packed) = (Vec::new(), Vec::new());
    let mut at = 0;
    while let Some(head) = bytes.get(at..at + 8) {
        let length = u32::from_le_bytes(head[..4].try_into().expect("four bytes")) as usize;
        let checksum = u32::from_le_bytes(head[4..].try_into().expect("four bytes"));
        let Some(record) = bytes.get(at + 8..at + 8 + length) else {
            break;
        };
        if length > LARGEST_RECORD || crc32fast::hash(record) != checksum {
            break;
        }
        at += 8 + length;
        ends.push(at);
        packed.push(record);
    }
    (ends, packed)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(name: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("sumpwright-frames-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        folder.join("frames.bin")
    }

    #[test]
    fn a_torn_tail_is_cut_at_every_possible_place() {
        let path = folder("torn");
        let _ = std::fs::remove_file(&path);
        let mut writer = FrameWriter::open(&path, 0).unwrap();
        for i in 0..3u32 {
            writer.append(&vec![i; 50]).unwrap();
        }
        drop(writer);
        let whole = std::fs::read(&path).unwrap();
        let two = records(&whole).0[1];
        for cut in two..whole.len() {
            std::fs::write(&path, &whole[..cut]).unwrap();
            let read: Vec<Vec<u32>> = read_all(&path).unwrap();
            assert_eq!(read.len(), 2, "cut at {cut}");
            let mut writer = FrameWriter::open(&path, 2).unwrap();
            writer.append(&vec![2u32; 50]).unwrap();
            drop(writer);
            assert_eq!(std::fs::read(&path).unwrap(), whole, "cut at {cut}");
        }
    }

    #[test]
    fn a_flipped_bit_is_seen() {
        let path = folder("flipped");
        let _ = std::fs::remove_file(&path);
        let mut writer = FrameWriter::open(&path, 0).unwrap();
        writer.append(&vec![7u32; 50]).unwrap();
        drop(writer);
        let mut bytes = std::fs::read(&path).unwrap();
        let last = bytes.len() - 1;
        bytes[last] ^= 1;
        std::fs::write(&path, &bytes).unwrap();
        let fault = FrameWriter::open(&path, 1).err().expect("damage is found");
        assert!(fault.to_string().contains("0 of 1 frames are whole"), "{fault}");
    }
}
