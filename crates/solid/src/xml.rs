//! Just enough XML for 3MF: elements and attributes as a stream, bounded in depth and in the length of a tag.
//!
//! Text between tags is passed over without being kept. A document type is refused, as 3MF demands: nothing can be
//! defined in the file that grows when it is read.

use crate::fault::Fault;
use std::io::BufRead;

/// Longest tag with its attributes [bytes].
const LONGEST_TAG: usize = 1 << 16;
/// Deepest nesting.
const DEEPEST: usize = 64;

/// A stream of tags.
pub(crate) struct Xml<R> {
    source: R,
    tag: Vec<u8>,
    line: usize,
    taken: u64,
    depth: usize,
    /// The last tag was `<name/>`: its end is still to be told.
    ended: bool,
}

/// What comes next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Next {
    /// An element begins.
    Start,
    /// An element ends.
    End,
    /// The document is over.
    Over,
}

fn wrong(what: &str) -> Fault {
    Fault::new(
        "solid-unreadable",
        format!("the 3MF model is no proper XML: {what}"),
        "export it again",
    )
}

impl<R: BufRead> Xml<R> {
    pub fn new(source: R) -> Xml<R> {
        Xml {
            source,
            tag: Vec::new(),
            line: 1,
            taken: 0,
            depth: 0,
            ended: false,
        }
    }

    /// Bytes that have been read.
    pub fn taken(&self) -> u64 {
        self.taken
    }

    /// Line that has been reached.
    pub fn line(&self) -> usize {
        self.line
    }

    /// Goes on to the next beginning or end of an element.
    pub fn next(&mut self) -> Result<Next, Fault> {
        if self.ended {
            self.ended = false;
            self.depth -= 1;
            return Ok(Next::End);
        }
        loop {
            if !self.skip_to(b'<')? {
                return if self.depth == 0 {
                    Ok(Next::Over)
                } else {
                    Err(wrong("it ends in the middle, so it is cut off"))
                };
            }
            self.tag.clear();
            self.take_tag()?;
            match self.tag.first() {
                Some(b'?') => {}
                Some(b'!') => return Err(wrong("a document type stands in it")),
                Some(b'/') => {
                    if self.depth == 0 {
                        return Err(wrong("an element ends that never began"));
                    }
                    self.depth -= 1;
                    self.tag.remove(0);
                    return Ok(Next::End);
                }
                Some(_) => {
                    self.depth += 1;
                    if self.depth > DEEPEST {
                        return Err(wrong(&format!("elements are nested more than {DEEPEST} deep")));
                    }
                    if self.tag.last() == Some(&b'/') {
                        self.tag.pop();
                        self.ended = true;
                    }
                    return Ok(Next::Start);
                }
                None => {} // a remark
            }
        }
    }

    /// Name of the element that begins or ends here, without its prefix.
    pub fn name(&self) -> &[u8] {
        let end = self
            .tag
            .iter()
            .position(u8::is_ascii_whitespace)
            .unwrap_or(self.tag.len());
        local(&self.tag[..end])
    }

    /// The attributes of the element that begins here: full name and raw value.
    pub fn attributes(&self) -> Attributes<'_> {
        let from = self
            .tag
            .iter()
            .position(u8::is_ascii_whitespace)
            .unwrap_or(self.tag.len());
        Attributes(&self.tag[from..])
    }

    /// The value of the attribute with this name, prefix or not.
    pub fn attribute(&self, name: &[u8]) -> Option<&[u8]> {
        self.attributes()
            .find(|(n, _)| local(n) == name)
            .map(|(_, value)| value)
    }

    /// Passes over everything up to and with `sign`; false at the end.
    fn skip_to(&mut self, sign: u8) -> Result<bool, Fault> {
        loop {
            let buffer = self.source.fill_buf().map_err(crate::package::fault_in)?;
            if buffer.is_empty() {
                return Ok(false);
            }
            let found = buffer.iter().position(|b| *b == sign);
            let used = found.map_or(buffer.len(), |at| at + 1);
            self.line += lines(&buffer[..used]);
            self.taken += used as u64;
            self.source.consume(used);
            if found.is_some() {
                return Ok(true);
            }
        }
    }

    /// Takes the tag up to its `>`, which is not inside quotes. Leaves nothing for a remark or raw text.
    fn take_tag(&mut self) -> Result<(), Fault> {
        let mut quote = 0;
        loop {
            let buffer = self.source.fill_buf().map_err(crate::package::fault_in)?;
            if buffer.is_empty() {
                return Err(wrong("it ends within a tag, so it is cut off"));
            }
            if self.tag.is_empty() && buffer[0] == b'!' {
                return self.pass_over();
            }
            let found = buffer.iter().position(|&b| {
                if quote != 0 {
                    if b == quote {
                        quote = 0;
                    }
                } else if b == b'"' || b == b'\'' {
                    quote = b;
                } else {
                    return b == b'>';
                }
                false
            });
            let used = found.map_or(buffer.len(), |at| at + 1);
            let kept = used - usize::from(found.is_some());
            if self.tag.len() + kept > LONGEST_TAG {
                return Err(wrong("a tag is longer than 65,536 bytes"));
            }
            self.line += lines(&buffer[..used]);
            self.tag.extend_from_slice(&buffer[..kept]);
            self.taken += used as u64;
            self.source.consume(used);
            if found.is_some() {
                return Ok(());
            }
        }
    }

    /// Passes over a remark `!-- --` or raw text `![CDATA[ ]]`; anything else with `!` is left in the tag.
    fn pass_over(&mut self) -> Result<(), Fault> {
        let mut head: Vec<u8> = Vec::new();
        let mut last = [0, 0];
        loop {
            let buffer = self.source.fill_buf().map_err(crate::package::fault_in)?;
            if buffer.is_empty() {
                return Err(wrong("it ends within a remark, so it is cut off"));
            }
            let byte = buffer[0];
            self.line += usize::from(byte == b'\n');
            self.taken += 1;
            self.source.consume(1);
            if head == b"!--" || head == b"![CDATA[" {
                let end = if head.len() == 3 { b'-' } else { b']' };
                if byte == b'>' && last == [end, end] {
                    return Ok(());
                }
                last = [last[1], byte];
                continue;
            }
            head.push(byte);
            if byte == b'>' || head.len() > 8 {
                self.tag.push(b'!');
                return Ok(());
            }
        }
    }
}

fn lines(bytes: &[u8]) -> usize {
    bytes.iter().filter(|b| **b == b'\n').count()
}

/// A name without its prefix.
pub(crate) fn local(name: &[u8]) -> &[u8] {
    match name.iter().position(|b| *b == b':') {
        Some(at) => &name[at + 1..],
        None => name,
    }
}

/// Walks over `name="value"`.
pub(crate) struct Attributes<'t>(&'t [u8]);

impl<'t> Iterator for Attributes<'t> {
    type Item = (&'t [u8], &'t [u8]);

    #[inline]
    fn next(&mut self) -> Option<Self::Item> {
        let rest = self.0.trim_ascii_start();
        let equals = rest.iter().position(|b| *b == b'=')?;
        let name = rest[..equals].trim_ascii_end();
        let after = rest[equals + 1..].trim_ascii_start();
        let quote = *after.first().filter(|q| **q == b'"' || **q == b'\'')?;
        let length = after[1..].iter().position(|b| *b == quote)?;
        self.0 = &after[length + 2..];
        Some((name, &after[1..=length]))
    }
}
