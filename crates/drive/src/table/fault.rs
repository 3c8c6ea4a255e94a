//! Why bytes are no table, and how large one may be.

/// Most bytes taken.
pub const MOST_BYTES: usize = 512 << 20;
/// Longest line taken, in bytes.
pub const LONGEST_LINE: usize = 64 << 10;
/// Most columns taken.
pub const MOST_COLUMNS: usize = 512;

/// Why bytes are no table.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TableFault {
    /// No bytes, or only blanks.
    #[error("the file is empty")]
    Empty,
    /// Not text.
    #[error("the file is binary, not a text table (first at byte {byte})")]
    Binary {
        /// Offset of the first byte that text does not hold.
        byte: usize,
    },
    /// Over [`MOST_BYTES`].
    #[error("the file has {bytes} bytes; at most {MOST_BYTES} are read")]
    TooLarge {
        /// Size.
        bytes: usize,
    },
    /// Over [`LONGEST_LINE`].
    #[error("line {line} is {bytes} bytes long; at most {LONGEST_LINE} are read")]
    LineTooLong {
        /// Line, from 1.
        line: usize,
        /// Its bytes.
        bytes: usize,
    },
    /// Over [`MOST_COLUMNS`].
    #[error("line {line} has {columns} columns; at most {MOST_COLUMNS} are read")]
    TooManyColumns {
        /// Line, from 1.
        line: usize,
        /// Columns in it.
        columns: usize,
    },
    /// No rows of numbers.
    #[error("no rows of numbers were found")]
    NoNumbers,
    /// The named header line is not there.
    #[error("the header is said to be on line {line}, but the file has {lines} lines")]
    NoSuchHeader {
        /// Line named.
        line: usize,
        /// Lines there are.
        lines: usize,
    },
    /// A row with more or fewer cells than the header.
    #[error("line {line} has {got} cells, the header has {wanted}")]
    Ragged {
        /// Line, from 1.
        line: usize,
        /// Cells in it.
        got: usize,
        /// Cells due.
        wanted: usize,
    },
}

impl TableFault {
    /// Line the fault stands on, from 1.
    pub fn line(&self) -> Option<usize> {
        match self {
            TableFault::LineTooLong { line, .. }
            | TableFault::TooManyColumns { line, .. }
            | TableFault::NoSuchHeader { line, .. }
            | TableFault::Ragged { line, .. } => Some(*line),
            _ => None,
        }
    }

    /// How to mend it.
    pub fn mend(&self) -> &'static str {
        match self {
            TableFault::Empty | TableFault::NoNumbers => {
                "check that the export finished, and that it is a text table (CSV)"
            }
            TableFault::Binary { .. } => "export the data as CSV text from the logger's own program",
            TableFault::TooLarge { .. } => "export fewer laps, fewer channels, or a lower rate",
            TableFault::LineTooLong { .. } => "check that lines end as lines; export again as CSV text",
            TableFault::TooManyColumns { .. } => "export only the channels that are needed",
            TableFault::NoSuchHeader { .. } => "count lines from 1, comment and blank lines included",
            TableFault::Ragged { .. } => {
                "a decimal comma between commas, or a cell with the delimiter inside it, does this; \
                 export with semicolons or put such cells in quotes"
            }
        }
    }
}
