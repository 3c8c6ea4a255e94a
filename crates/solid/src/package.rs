//! The package that a 3MF file is: a ZIP archive, read from its directory at the end, and bounded.
//!
//! Nothing that the archive says about sizes is believed: what comes out of a part is counted as it comes, against
//! the bytes that went in. (Format: APPNOTE.TXT 6.3, 4.3 and 4.5.3; from memory, checked against archives written by
//! Python's zipfile.)

use crate::fault::{Fault, Spot};
use flate2::read::DeflateDecoder;
use std::collections::HashMap;
use std::io::{self, Read};

/// Most parts in a package.
const MOST_PARTS: usize = 10_000;
/// Most bytes that all parts together may unpack to; five million facets take some 400 MB.
pub const MOST_UNPACKED: u64 = 3 << 30;
/// Unpacked bytes that are let through whatever the ratio, and the ratio allowed beyond; the text of a mesh packs
/// five to fifteen times.
const FREE: u64 = 16 << 20;
const RATIO: u64 = 200;

/// An archive.
pub(crate) struct Package<'b> {
    bytes: &'b [u8],
    parts: HashMap<String, Entry>,
}

#[derive(Clone, Copy)]
struct Entry {
    method: u16,
    flags: u16,
    checksum: u32,
    packed: u64,
    header: u64,
}

/// Bounded reader of one part. Its errors carry the fault.
pub(crate) struct Part<'b> {
    source: Source<'b>,
    packed: u64,
    given: u64,
    most: u64,
    checksum: u32,
    hasher: crc32fast::Hasher,
}

enum Source<'b> {
    Stored(&'b [u8]),
    Deflated(Box<DeflateDecoder<&'b [u8]>>),
}

fn spoilt(what: impl Into<String>) -> Fault {
    Fault::new(
        "solid-package",
        format!("the 3MF package is spoilt: {}", what.into()),
        "copy or export it again",
    )
}

fn word(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_le_bytes(
        bytes.get(at..at.checked_add(2)?)?.try_into().ok()?,
    ))
}

fn double(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(
        bytes.get(at..at.checked_add(4)?)?.try_into().ok()?,
    ))
}

fn quad(bytes: &[u8], at: usize) -> Option<u64> {
    Some(u64::from_le_bytes(
        bytes.get(at..at.checked_add(8)?)?.try_into().ok()?,
    ))
}

impl<'b> Package<'b> {
    /// Reads the directory.
    pub fn open(bytes: &'b [u8]) -> Result<Package<'b>, Fault> {
        let (mut at, count) =
            directory(bytes).ok_or_else(|| spoilt("its directory is missing, so it is cut off"))?;
        if count > MOST_PARTS as u64 {
            return Err(spoilt(format!("it claims {count} parts")));
        }
        let mut parts = HashMap::new();
        for _ in 0..count {
            let (name, entry, next) = entry(bytes, at).ok_or_else(|| spoilt("its directory is cut off"))?;
            // Names of parts are compared without case (Open Packaging Conventions).
            if parts.insert(name.to_ascii_lowercase(), entry).is_some() {
                return Err(spoilt(format!("it holds {name} twice")));
            }
            at = next;
        }
        Ok(Package { bytes, parts })
    }

    /// Whether there is such a part.
    pub fn has(&self, name: &str) -> bool {
        self.parts.contains_key(&key(name))
    }

    /// Opens a part; at most `most` bytes come out of it.
    pub fn part(&self, name: &str, most: u64) -> Result<Part<'b>, Fault> {
        let at = |fault: Fault| fault.at(Spot::Part(name.trim_start_matches('/').to_owned(), 0));
        let entry = self
            .parts
            .get(&key(name))
            .ok_or_else(|| at(spoilt("a part that it names is not in it")))?;
        if entry.flags & 1 != 0 {
            let fault = Fault::new(
                "solid-package",
                "the 3MF package is locked with a password",
                "save it without",
            );
            return Err(at(fault));
        }
        let data = self
            .data(entry)
            .ok_or_else(|| at(spoilt("a part lies outside the file")))?;
        let source = match entry.method {
            0 => Source::Stored(data),
            8 => Source::Deflated(Box::new(DeflateDecoder::new(data))),
            other => {
                let what = format!("the 3MF package is packed by method {other}, which 3MF does not allow");
                return Err(at(Fault::new("solid-package", what, "export it again")));
            }
        };
        Ok(Part {
            source,
            packed: entry.packed,
            given: 0,
            most,
            checksum: entry.checksum,
            hasher: crc32fast::Hasher::new(),
        })
    }

    fn data(&self, entry: &Entry) -> Option<&'b [u8]> {
        let header = usize::try_from(entry.header).ok()?;
        if double(self.bytes, header)? != 0x0403_4b50 {
            return None;
        }
        let name = usize::from(word(self.bytes, header + 26)?);
        let extra = usize::from(word(self.bytes, header + 28)?);
        let from = header + 30 + name + extra;
        let to = from.checked_add(usize::try_from(entry.packed).ok()?)?;
        self.bytes.get(from..to)
    }
}

fn key(name: &str) -> String {
    name.trim_start_matches('/').to_ascii_lowercase()
}

/// Where the directory begins, and how many entries it has.
fn directory(bytes: &[u8]) -> Option<(usize, u64)> {
    // The end record is followed by a remark of at most 65,535 bytes.
    let last = bytes.len().checked_sub(22)?;
    let first = last.saturating_sub(65_535);
    let end = (first..=last)
        .rev()
        .find(|&at| double(bytes, at) == Some(0x0605_4b50))?;
    let (count, at) = (word(bytes, end + 10)?, double(bytes, end + 16)?);
    if count != u16::MAX && at != u32::MAX {
        return Some((usize::try_from(at).ok()?, u64::from(count)));
    }
    // The long form: a locator before the end record names a longer end record.
    let locator = end.checked_sub(20)?;
    if double(bytes, locator)? != 0x0706_4b50 {
        return None;
    }
    let long = usize::try_from(quad(bytes, locator + 8)?).ok()?;
    if double(bytes, long)? != 0x0606_4b50 {
        return None;
    }
    let at = quad(bytes, long.checked_add(48)?)?;
    Some((usize::try_from(at).ok()?, quad(bytes, long.checked_add(32)?)?))
}

/// The entry of the directory at `at`: name, entry, where the next begins.
fn entry(bytes: &[u8], at: usize) -> Option<(String, Entry, usize)> {
    if double(bytes, at)? != 0x0201_4b50 {
        return None;
    }
    let field = |offset| word(bytes, at + offset);
    let (name, extra, remark) = (
        usize::from(field(28)?),
        usize::from(field(30)?),
        usize::from(field(32)?),
    );
    let from = at + 46;
    let text = String::from_utf8_lossy(bytes.get(from..from + name)?).into_owned();
    let mut packed = u64::from(double(bytes, at + 20)?);
    let unpacked = double(bytes, at + 24)?;
    let mut header = u64::from(double(bytes, at + 42)?);
    // Long numbers stand in an extra field, in this order, and only those that do not fit above.
    let mut more = bytes.get(from + name..from + name + extra)?;
    while let (Some(kind), Some(length)) = (word(more, 0), word(more, 2)) {
        let body = more.get(4..4 + usize::from(length))?;
        if kind == 1 {
            let mut at = if unpacked == u32::MAX { 8 } else { 0 };
            for value in [&mut packed, &mut header] {
                if *value == u64::from(u32::MAX) {
                    *value = quad(body, at)?;
                    at += 8;
                }
            }
        }
        more = &more[4 + usize::from(length)..];
    }
    let entry = Entry {
        method: field(10)?,
        flags: field(8)?,
        checksum: double(bytes, at + 16)?,
        packed,
        header,
    };
    Some((text, entry, from + name + extra + remark))
}

impl Read for Part<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = match &mut self.source {
            Source::Stored(rest) => rest.read(buffer),
            Source::Deflated(decoder) => decoder.read(buffer),
        }
        .map_err(|e| io::Error::other(spoilt(format!("a part cannot be unpacked ({e})"))))?;
        self.hasher.update(&buffer[..count]);
        self.given += count as u64;
        let bomb = self.given > FREE && self.given / RATIO > self.packed;
        if bomb || self.given > self.most {
            let what = format!(
                "a part of the 3MF package goes on after {} MB unpacked from {:.1} kB",
                self.given >> 20,
                self.packed as f64 * 1e-3
            );
            let mend = "no mesh packs like that; export it again from its source";
            return Err(io::Error::other(Fault::new("solid-package", what, mend)));
        }
        if count == 0 && !buffer.is_empty() && self.hasher.clone().finalize() != self.checksum {
            return Err(io::Error::other(spoilt("the checksum of a part does not fit")));
        }
        Ok(count)
    }
}

/// The fault in an error of a [`Part`].
pub(crate) fn fault_in(error: io::Error) -> Fault {
    match error.into_inner().map(|inner| inner.downcast::<Fault>()) {
        Some(Ok(fault)) => *fault,
        _ => spoilt("a part cannot be read"),
    }
}
