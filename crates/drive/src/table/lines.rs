//! Lines of text out of a reader, a block at a time: UTF-8, UTF-16 of either order, with its mark or without, else
//! Latin-1 (a lone degree sign is the usual case).
//!
//! Lines come as bytes. Delimiters, digits and signs are ASCII in all of these encodings, so a row of numbers needs no
//! decoding; [`words`] decodes a cell that does. Memory: one block and one line.

use super::fault::{LONGEST_LINE, MOST_BYTES, TableFault};
use super::kinds;
use memchr::memchr;
use std::io::{ErrorKind, Read};

/// Bytes asked for at a time.
const BLOCK: usize = 256 << 10;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Encoding {
    /// UTF-8 or Latin-1: the bytes as they stand.
    Bytes,
    /// UTF-16, low byte first.
    WideLow,
    /// UTF-16, high byte first.
    WideHigh,
}

/// The lines of a file, numbered from 1.
pub(super) struct Lines<'r> {
    reader: &'r mut dyn Read,
    encoding: Encoding,
    line_end: u8,
    /// Text not given out yet lies in `buffer[start..]`; up to `searched` it holds no line end.
    buffer: Vec<u8>,
    start: usize,
    searched: usize,
    /// Bytes of wide text that wait for the rest of their character.
    rest: Vec<u8>,
    /// Lines given out.
    line: usize,
    /// Bytes of the file read.
    read: u64,
    ended: bool,
}

impl<'r> Lines<'r> {
    /// Reads the first block and finds out how the text is written.
    pub fn open(reader: &'r mut dyn Read) -> Result<Lines<'r>, TableFault> {
        let mut lines = Lines {
            reader,
            encoding: Encoding::Bytes,
            line_end: b'\n',
            buffer: Vec::with_capacity(2 * BLOCK),
            start: 0,
            searched: 0,
            rest: Vec::new(),
            line: 0,
            read: 0,
            ended: false,
        };
        let mut head = Vec::with_capacity(BLOCK);
        lines.block(&mut head)?;
        if let Some((what, mend)) = kinds::recognise(&head) {
            return Err(TableFault::Recognised { what, mend });
        }
        let (encoding, mark) = encoding(&head);
        lines.encoding = encoding;
        lines.take(&head[mark..])?;
        if !lines.buffer.contains(&b'\n') && lines.buffer.contains(&b'\r') {
            // Old Macintosh line ends.
            lines.line_end = b'\r';
        }
        Ok(lines)
    }

    /// The next line with its number, its end left out.
    pub fn next(&mut self) -> Result<Option<(usize, &[u8])>, TableFault> {
        loop {
            if let Some(at) = memchr(self.line_end, &self.buffer[self.searched..]) {
                let (from, to) = (self.start, self.searched + at);
                self.start = to + 1;
                self.searched = to + 1;
                return self.give(from, to).map(Some);
            }
            self.searched = self.buffer.len();
            if self.searched - self.start > LONGEST_LINE {
                return Err(TableFault::LineTooLong { line: self.line + 1 });
            }
            if self.ended {
                let (from, to) = (self.start, self.buffer.len());
                self.start = to;
                return match from < to {
                    true => self.give(from, to).map(Some),
                    false => Ok(None),
                };
            }
            self.buffer.drain(..self.start);
            self.searched -= self.start;
            self.start = 0;
            let mut block = Vec::with_capacity(BLOCK);
            self.block(&mut block)?;
            self.take(&block)?;
        }
    }

    /// Lines given out so far.
    pub fn count(&self) -> usize {
        self.line
    }

    fn give(&mut self, from: usize, mut to: usize) -> Result<(usize, &[u8]), TableFault> {
        self.line += 1;
        if to > from && self.buffer[to - 1] == b'\r' {
            to -= 1;
        }
        if to - from > LONGEST_LINE {
            return Err(TableFault::LineTooLong { line: self.line });
        }
        Ok((self.line, &self.buffer[from..to]))
    }

    /// Reads one block of the file as it stands; a block that stays short of full ends it.
    fn block(&mut self, block: &mut Vec<u8>) -> Result<(), TableFault> {
        while block.len() < BLOCK && !self.ended {
            let from = block.len();
            block.resize(BLOCK, 0);
            let got = self.reader.read(&mut block[from..]);
            match got {
                Ok(got) => {
                    block.truncate(from + got);
                    self.read += got as u64;
                    self.ended = got == 0;
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => block.truncate(from),
                Err(error) => {
                    let why = error.to_string();
                    return Err(TableFault::Unreadable { line: self.line, why });
                }
            }
            if self.read > MOST_BYTES {
                return Err(TableFault::TooLarge);
            }
        }
        Ok(())
    }

    /// Decodes a block onto the end of the buffer, and refuses what no text holds.
    fn take(&mut self, block: &[u8]) -> Result<(), TableFault> {
        let from = self.buffer.len();
        match self.encoding {
            Encoding::Bytes => self.buffer.extend_from_slice(block),
            Encoding::WideLow => self.widen(block, u16::from_le_bytes),
            Encoding::WideHigh => self.widen(block, u16::from_be_bytes),
        }
        // Without an early way out this goes through the lanes.
        let bad = |b: u8| b < b' ' && !matches!(b, 9..=13 | 26);
        if self.buffer[from..].iter().fold(false, |any, &b| any | bad(b)) {
            let within = self.buffer[from..].iter().position(|&b| bad(b)).unwrap_or(0);
            let ends = self.buffer[self.start..from + within].iter();
            return Err(TableFault::Binary {
                byte: self.read.saturating_sub(block.len() as u64) + within as u64,
                line: self.line + 1 + ends.filter(|b| **b == self.line_end).count(),
            });
        }
        Ok(())
    }

    fn widen(&mut self, block: &[u8], join: fn([u8; 2]) -> u16) {
        self.rest.extend_from_slice(block);
        let units: Vec<u16> = self.rest.chunks_exact(2).map(|p| join([p[0], p[1]])).collect();
        // A first half of a pair waits for its second.
        let whole = match units.last() {
            Some(0xD800..=0xDBFF) if !self.ended => units.len() - 1,
            _ => units.len(),
        };
        self.rest.drain(..2 * whole);
        let mut bytes = [0; 4];
        for c in char::decode_utf16(units[..whole].iter().copied()) {
            // A lone half is no text: a byte that is refused stands for it.
            let c = c.unwrap_or('\0');
            self.buffer
                .extend_from_slice(c.encode_utf8(&mut bytes).as_bytes());
        }
    }
}

/// The encoding, and the length of its mark.
fn encoding(head: &[u8]) -> (Encoding, usize) {
    match head {
        [0xEF, 0xBB, 0xBF, ..] => return (Encoding::Bytes, 3),
        [0xFF, 0xFE, ..] => return (Encoding::WideLow, 2),
        [0xFE, 0xFF, ..] => return (Encoding::WideHigh, 2),
        _ => {}
    }
    // Without its mark wide text still shows: of a table, nearly every other byte is zero.
    let pairs: Vec<&[u8]> = head.chunks_exact(2).take(512).collect();
    let share = |k: usize| {
        let zero = pairs.iter().filter(|p| p[k] == 0 && p[1 - k] != 0).count();
        zero as f64 / pairs.len().max(1) as f64
    };
    match (share(0), share(1)) {
        (high, _) if high > 0.9 => (Encoding::WideHigh, 0),
        (_, low) if low > 0.9 => (Encoding::WideLow, 0),
        _ => (Encoding::Bytes, 0),
    }
}

/// Text of a piece of a line: UTF-8, else Latin-1.
pub(super) fn words(bytes: &[u8]) -> String {
    match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|&b| char::from(b)).collect(),
    }
}
