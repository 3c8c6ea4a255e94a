//! A fault in a design: what, where, how to mend it.

use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A line of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// The file, as reached from the path the user typed.
    pub file: Arc<Path>,
    /// Line, from 1; 0 for the file as a whole.
    pub line: usize,
}

impl Place {
    /// A whole file.
    pub fn file(path: impl Into<PathBuf>) -> Place {
        Place {
            file: Arc::from(path.into()),
            line: 0,
        }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "{}", self.file.display())?;
        if self.line > 0 {
            write!(f, ":{}", self.line)?;
        }
        Ok(())
    }
}

/// One thing wrong with a design.
///
/// Shown as
/// ```text
/// error: the pickup mouth stands 6 mm above the oil at rest
///   at pan.toml:41, pickup.mouth
///   mend: lower the mouth below z = -46 mm, or add oil
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Stable name of this kind of fault, such as `unknown-key`.
    pub id: &'static str,
    /// Where.
    pub place: Place,
    /// Key in the design file, such as `pickup.mouth`; empty when no key is concerned.
    pub key: String,
    /// What is wrong: a sentence without a full stop.
    pub what: String,
    /// How to mend it: a sentence without a full stop.
    pub mend: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "error: {}\n  at {}", self.what, self.place)?;
        if !self.key.is_empty() {
            write!(f, ", {}", self.key)?;
        }
        write!(f, "\n  mend: {}", self.mend)
    }
}

impl std::error::Error for Fault {}
