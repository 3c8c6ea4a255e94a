//! The frame file: pictures of the oil, appended while a run goes on.
//!
//! First a mark that dates the layout, then records, each: length of the packed bytes (u32, little-endian),
//! CRC-32 of them (u32), then the bytes, packed with zstd. The first record is the scene that the pictures are
//! of, the others are frames, each whole by itself. A kill in mid-write leaves a broken tail, which is cut when
//! the file is opened again.

use super::StoreFault;
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::fs::{File, OpenOptions};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// First bytes: our mark and the layout's version.
const MARK: &[u8; 8] = b"SWFRAM02";

/// How hard frames are packed: the lap of the worked example in 5 mm cells then takes 16 kB a frame (at level 3
/// 18 kB), and packing one costs less than a hundredth of computing it.
const LEVEL: i32 = 9;

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
    /// Opens the file, keeps the first `keep` frames and cuts the rest; without any to keep it begins anew with
    /// `scene`. Fewer than `keep` whole frames is damage: ask [`whole`] first.
    pub fn open<S: Serialize>(path: &Path, keep: u64, scene: &S) -> Result<FrameWriter, StoreFault> {
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(path)
            .map_err(StoreFault::io("open", path))?;
        let mut end = 0;
        if keep > 0 {
            let mut bytes = Vec::new();
            file.read_to_end(&mut bytes)
                .map_err(StoreFault::io("read", path))?;
            let (ends, _) = records(path, &bytes)?;
            end = *ends.get(keep as usize).ok_or_else(|| StoreFault::Damaged {
                path: path.to_path_buf(),
                why: format!("{} of {keep} frames are whole", ends.len().saturating_sub(1)),
            })?;
        }
        file.set_len(end as u64).map_err(StoreFault::io("cut", path))?;
        file.seek(SeekFrom::End(0))
            .map_err(StoreFault::io("read", path))?;
        let mut writer = FrameWriter {
            file,
            path: path.to_path_buf(),
        };
        if keep == 0 {
            writer.write(MARK)?;
            writer.append(scene)?;
        }
        Ok(writer)
    }

    /// Appends one record.
    pub fn append<T: Serialize>(&mut self, frame: &T) -> Result<(), StoreFault> {
        let plain = postcard::to_allocvec(frame).expect("a frame is plain data");
        let packed = zstd::bulk::compress(&plain, LEVEL).map_err(StoreFault::io("pack", &self.path))?;
        let mut record = Vec::with_capacity(packed.len() + 8);
        record.extend((packed.len() as u32).to_le_bytes());
        record.extend(crc32fast::hash(&packed).to_le_bytes());
        record.extend(packed);
        self.write(&record)
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), StoreFault> {
        self.file
            .write_all(bytes)
            .map_err(StoreFault::io("write", &self.path))
    }

    /// Flushes to the disk.
    pub fn flush(&mut self) -> Result<(), StoreFault> {
        self.file.sync_data().map_err(StoreFault::io("write", &self.path))
    }
}

/// A frame file read: the scene, and the frames as they lie, to be unpacked one at a time.
pub struct FrameFile {
    path: PathBuf,
    bytes: Vec<u8>,
    /// Where each packed record lies; the first is the scene.
    records: Vec<std::ops::Range<usize>>,
}

impl FrameFile {
    /// Reads a file; a broken tail is left out.
    pub fn read(path: &Path) -> Result<FrameFile, StoreFault> {
        let bytes = std::fs::read(path).map_err(StoreFault::io("read", path))?;
        let (_, records) = records(path, &bytes)?;
        if records.is_empty() {
            return Err(StoreFault::Damaged {
                path: path.to_path_buf(),
                why: "it breaks off before the first frame".into(),
            });
        }
        Ok(FrameFile {
            path: path.to_path_buf(),
            bytes,
            records,
        })
    }

    /// Whole frames.
    pub fn frames(&self) -> usize {
        self.records.len() - 1
    }

    /// The scene.
    pub fn scene<S: DeserializeOwned>(&self) -> Result<S, StoreFault> {
        self.unpack(0)
    }

    /// A frame, from 0.
    pub fn frame<T: DeserializeOwned>(&self, index: usize) -> Result<T, StoreFault> {
        self.unpack(index + 1)
    }

    fn unpack<T: DeserializeOwned>(&self, record: usize) -> Result<T, StoreFault> {
        let damaged = |why: String| StoreFault::Damaged {
            path: self.path.clone(),
            why,
        };
        let packed = &self.bytes[self.records[record].clone()];
        let plain = zstd::bulk::decompress(packed, LARGEST_UNPACKED).map_err(|e| damaged(e.to_string()))?;
        postcard::from_bytes(&plain).map_err(|e| damaged(e.to_string()))
    }
}

/// How many frames a file holds that may be growing, by the lengths of its records alone; none when there is no file.
pub fn count(path: &Path) -> usize {
    let counted = || -> std::io::Result<usize> {
        let mut file = std::io::BufReader::with_capacity(64, File::open(path)?);
        let end = file.get_ref().metadata()?.len();
        let mut at = MARK.len() as u64;
        let mut records = 0;
        let mut head = [0; 8];
        while at + 8 <= end {
            file.seek(SeekFrom::Start(at))?;
            file.read_exact(&mut head)?;
            at += 8 + u64::from(u32::from_le_bytes(head[..4].try_into().expect("four bytes")));
            records += usize::from(at <= end);
        }
        Ok(records.saturating_sub(1))
    };
    counted().unwrap_or(0)
}

/// How many frames of a file are whole; none when there is no file or it is of another layout.
pub fn whole(path: &Path) -> Result<u64, StoreFault> {
    match std::fs::read(path) {
        Ok(bytes) => Ok(records(path, &bytes).map_or(0, |(ends, _)| ends.len().saturating_sub(1) as u64)),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(0),
        Err(e) => Err(StoreFault::io("read", path)(e)),
    }
}

/// End of each whole record, and where its packed bytes lie.
fn records(path: &Path, bytes: &[u8]) -> Result<(Vec<usize>, Vec<std::ops::Range<usize>>), StoreFault> {
    if !bytes.starts_with(MARK) {
        return Err(StoreFault::OtherFrames {
            path: path.to_path_buf(),
        });
    }
    let (mut ends, mut packed) = (Vec::new(), Vec::new());
    let mut at = MARK.len();
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
        packed.push(at - length..at);
    }
    Ok((ends, packed))
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
        let mut writer = FrameWriter::open(&path, 0, &"box").unwrap();
        for i in 0..3u32 {
            writer.append(&vec![i; 50]).unwrap();
        }
        drop(writer);
        let all = std::fs::read(&path).unwrap();
        let two = records(&path, &all).unwrap().0[2];
        for cut in two..all.len() {
            std::fs::write(&path, &all[..cut]).unwrap();
            assert_eq!(whole(&path).unwrap(), 2, "cut at {cut}");
            assert_eq!(count(&path), 2, "cut at {cut}");
            let read = FrameFile::read(&path).unwrap();
            assert_eq!(read.frames(), 2, "cut at {cut}");
            assert_eq!(read.scene::<String>().unwrap(), "box");
            assert_eq!(read.frame::<Vec<u32>>(1).unwrap(), vec![1; 50]);
            let mut writer = FrameWriter::open(&path, 2, &"box").unwrap();
            writer.append(&vec![2u32; 50]).unwrap();
            drop(writer);
            assert_eq!(std::fs::read(&path).unwrap(), all, "cut at {cut}");
        }
    }

    #[test]
    fn a_flipped_bit_is_seen() {
        let path = folder("flipped");
        let _ = std::fs::remove_file(&path);
        let mut writer = FrameWriter::open(&path, 0, &"box").unwrap();
        writer.append(&vec![7u32; 50]).unwrap();
        drop(writer);
        let mut bytes = std::fs::read(&path).unwrap();
        let last = bytes.len() - 1;
        bytes[last] ^= 1;
        std::fs::write(&path, &bytes).unwrap();
        assert_eq!(whole(&path).unwrap(), 0);
        let fault = FrameWriter::open(&path, 1, &"box")
            .err()
            .expect("damage is found");
        assert!(fault.to_string().contains("0 of 1 frames are whole"), "{fault}");
    }

    #[test]
    fn a_file_of_an_earlier_layout_is_named() {
        let path = folder("earlier");
        // The layout before had no mark: length, check sum, bytes.
        let packed = zstd::bulk::compress(b"a frame", 3).unwrap();
        let mut bytes = (packed.len() as u32).to_le_bytes().to_vec();
        bytes.extend(crc32fast::hash(&packed).to_le_bytes());
        bytes.extend(packed);
        std::fs::write(&path, bytes).unwrap();
        let fault = FrameFile::read(&path).err().expect("it is refused");
        assert!(
            fault.to_string().contains("earlier or a later version"),
            "{fault}"
        );
        assert!(fault.mend().contains("run"), "{}", fault.mend());
    }
}
