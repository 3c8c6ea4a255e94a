//! The pairs of lines that a DXF file is made of.

use crate::fault::{OutlineFault, quoted};
use std::borrow::Cow;

/// Longest line [bytes].
const LONGEST_LINE: usize = 1 << 16;

/// A group code and its value.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tag<'t> {
    pub code: i32,
    pub value: &'t str,
    /// Line of the code, from 1.
    pub line: usize,
}

/// The pairs one by one.
pub(super) struct Tags<'t> {
    rest: &'t str,
    line: usize,
}

/// The file as text: UTF-8, or Latin-1 as older drawings are.
pub(super) fn text(bytes: &[u8]) -> Result<Cow<'_, str>, OutlineFault> {
    // The binary kind begins with its name and these four bytes.
    if bytes.get(18..22) == Some(b"\r\n\x1a\0") {
        let what = "this is a binary DXF file; only the text kind is read";
        return Err(OutlineFault::new(
            "binary-dxf",
            what,
            "export the drawing as text (ASCII) DXF",
        ));
    }
    if bytes.contains(&0) {
        let what = "this is no DXF file: it holds bytes that no text has";
        return Err(OutlineFault::new(
            "not-dxf",
            what,
            "export the drawing as text (ASCII) DXF",
        ));
    }
    if bytes.trim_ascii().is_empty() {
        return Err(OutlineFault::new(
            "empty",
            "the file is empty",
            "export or copy the drawing again",
        ));
    }
    Ok(match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text.trim_start_matches('\u{feff}')),
        Err(_) => Cow::Owned(bytes.iter().map(|b| *b as char).collect()),
    })
}

impl<'t> Tags<'t> {
    pub fn new(text: &'t str) -> Tags<'t> {
        Tags { rest: text, line: 0 }
    }

    /// Line last read, from 1.
    pub fn line(&self) -> usize {
        self.line
    }

    /// The next pair; `None` at the end of the file.
    pub fn next(&mut self) -> Result<Option<Tag<'t>>, OutlineFault> {
        loop {
            let Some(code) = self.next_line()? else {
                return Ok(None);
            };
            let line = self.line;
            let Ok(code) = code.trim().parse::<i32>() else {
                // Blank lines after the end mark are harmless; anything else is not a drawing.
                if code.trim().is_empty() && self.rest.trim().is_empty() {
                    return Ok(None);
                }
                let what = format!(
                    "a group code (a whole number) is due, but {} stands there",
                    quoted(code.trim())
                );
                let mend = "export the drawing again as text (ASCII) DXF; a line may be missing above";
                return Err(OutlineFault::new("not-dxf", what, mend).on_line(line));
            };
            let Some(value) = self.next_line()? else {
                return Ok(None);
            };
            if code != 999 {
                let value = value.trim();
                return Ok(Some(Tag { code, value, line }));
            }
        }
    }

    fn next_line(&mut self) -> Result<Option<&'t str>, OutlineFault> {
        if self.rest.is_empty() {
            return Ok(None);
        }
        let (line, rest) = self.rest.split_once('\n').unwrap_or((self.rest, ""));
        self.rest = rest;
        self.line += 1;
        if line.len() > LONGEST_LINE {
            let what = format!("a line of {} bytes is no line of a drawing", line.len());
            return Err(
                OutlineFault::new("too-long", what, "check that it is the right file").on_line(self.line),
            );
        }
        Ok(Some(line))
    }
}
