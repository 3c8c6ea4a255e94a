//! Why a file gives no outline: what, on which line, how to mend it.

use std::fmt;

/// One thing wrong with a file. It knows the line but not the file: the edge adds that.
#[derive(Clone, Debug, PartialEq)]
pub struct OutlineFault {
    /// Stable name of this kind of fault, such as `no-unit`.
    pub id: &'static str,
    /// Line in the file, from 1; `None` where no line is concerned.
    pub line: Option<usize>,
    /// What is wrong: a sentence without a full stop.
    pub what: String,
    /// How to mend it: a sentence without a full stop.
    pub mend: String,
}

impl OutlineFault {
    pub(crate) fn new(id: &'static str, what: impl Into<String>, mend: impl Into<String>) -> OutlineFault {
        OutlineFault {
            id,
            line: None,
            what: what.into(),
            mend: mend.into(),
        }
    }

    pub(crate) fn on_line(self, line: usize) -> OutlineFault {
        OutlineFault {
            line: Some(line),
            ..self
        }
    }
}

impl fmt::Display for OutlineFault {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        if let Some(line) = self.line {
            write!(f, "line {line}: ")?;
        }
        f.write_str(&self.what)
    }
}

impl std::error::Error for OutlineFault {}

/// Text of a file, short and plain enough for a message.
pub(crate) fn quoted(text: &str) -> String {
    const MOST: usize = 40;
    let plain: String = (text.chars().map(|c| if c.is_control() { ' ' } else { c }))
        .take(MOST)
        .collect();
    match text.chars().nth(MOST) {
        Some(_) => format!("\"{plain}...\""),
        None => format!("\"{plain}\""),
    }
}
