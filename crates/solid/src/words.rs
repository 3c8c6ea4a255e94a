//! Words and numbers of text files, fast: no line is copied, and lines are counted only when one is asked for.

use crate::fault::{Fault, Spot};
use glam::DVec3;

/// Walks over the words of a text.
pub(crate) struct Words<'b> {
    bytes: &'b [u8],
    at: usize,
}

impl<'b> Words<'b> {
    pub fn new(bytes: &'b [u8]) -> Words<'b> {
        Words { bytes, at: 0 }
    }

    /// The next word; `None` at the end of the file.
    #[inline]
    pub fn word(&mut self) -> Option<&'b [u8]> {
        let rest = &self.bytes[self.at..];
        let from = rest.iter().position(|b| !b.is_ascii_whitespace())?;
        let rest = &rest[from..];
        let length = rest
            .iter()
            .position(u8::is_ascii_whitespace)
            .unwrap_or(rest.len());
        self.at += from + length;
        Some(&rest[..length])
    }

    /// The next word of this line; `None` at its end. A backslash before the end joins the next line.
    #[inline]
    pub fn word_in_line(&mut self) -> Option<&'b [u8]> {
        loop {
            let rest = &self.bytes[self.at..];
            let from = rest
                .iter()
                .position(|b| !b.is_ascii_whitespace() || *b == b'\n')
                .unwrap_or(rest.len());
            self.at += from;
            let rest = &rest[from..];
            let length = rest
                .iter()
                .position(u8::is_ascii_whitespace)
                .unwrap_or(rest.len());
            let word = &rest[..length];
            if word == b"\\" {
                self.at += 1;
                self.next_line();
                continue;
            }
            self.at += length;
            return (length > 0).then_some(word);
        }
    }

    /// Goes on to the next line; false at the end of the file.
    #[inline]
    pub fn next_line(&mut self) -> bool {
        let rest = &self.bytes[self.at..];
        match rest.iter().position(|b| *b == b'\n') {
            Some(length) => self.at += length + 1,
            None => self.at = self.bytes.len(),
        }
        self.at < self.bytes.len()
    }

    /// Where the last word was.
    pub fn spot(&self) -> Spot {
        let upto = &self.bytes[..self.at.min(self.bytes.len())];
        Spot::Line(1 + upto.iter().filter(|b| **b == b'\n').count())
    }

    /// Three numbers as a place.
    pub fn point(&mut self, next: impl Fn(&mut Self) -> Option<&'b [u8]>) -> Result<DVec3, Fault> {
        let mut number = || -> Result<f64, Fault> {
            let word = next(self).ok_or_else(|| {
                Fault::new(
                    "solid-unreadable",
                    "a corner ends before its third number",
                    "the file is cut off or spoilt there; export it again",
                )
                .at(self.spot())
            })?;
            number(word).ok_or_else(|| no_number(word).at(self.spot()))
        };
        Ok(DVec3::new(number()?, number()?, number()?))
    }
}

/// A number as written.
#[inline]
pub(crate) fn number(word: &[u8]) -> Option<f64> {
    std::str::from_utf8(word).ok()?.parse().ok()
}

/// A word as a person may read it in a message: short, and without control signs.
pub(crate) fn shown(word: &[u8]) -> String {
    let text: String = String::from_utf8_lossy(&word[..word.len().min(32)])
        .chars()
        .map(|c| if c.is_control() { '?' } else { c })
        .collect();
    if word.len() > 32 { text + "..." } else { text }
}

fn no_number(word: &[u8]) -> Fault {
    let comma = word.contains(&b',')
        && number(
            &word
                .iter()
                .map(|b| if *b == b',' { b'.' } else { *b })
                .collect::<Vec<_>>(),
        )
        .is_some();
    let mend = if comma {
        "export it again with a decimal point: the computer that wrote it uses decimal commas"
    } else {
        "the file is spoilt there; export it again"
    };
    Fault::new(
        "solid-unreadable",
        format!("\"{}\" stands where a number is due", shown(word)),
        mend,
    )
}
