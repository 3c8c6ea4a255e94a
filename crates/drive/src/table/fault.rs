//! Why bytes are no table, and how large one may be.

/// Most bytes taken.
pub const MOST_BYTES: u64 = 512 << 20;
/// Longest line taken, in bytes of UTF-8.
pub const LONGEST_LINE: usize = 64 << 10;
/// Most columns taken.
pub const MOST_COLUMNS: usize = 512;
/// Most numbers held at once; eight bytes each. 200 MB of text hold some 25 million.
pub const MOST_NUMBERS: usize = 64 << 20;
/// Most tables in one file.
pub const MOST_TABLES: usize = 64;

/// Why bytes are no table.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TableFault {
    /// No bytes, or only blanks.
    #[error("the file is empty")]
    Empty,
    /// Something other than a text table, recognised by its first bytes.
    #[error("the file is {what}, not a text table")]
    Recognised {
        /// What it is.
        what: &'static str,
        /// What to do.
        mend: &'static str,
    },
    /// Not text.
    #[error("the file is binary, not a text table (first at byte {byte}, line {line})")]
    Binary {
        /// Offset of the first byte that text does not hold.
        byte: u64,
        /// Line it stands on, from 1.
        line: usize,
    },
    /// Over [`MOST_BYTES`].
    #[error("the file has more than {MOST_BYTES} bytes; no more are read")]
    TooLarge,
    /// Over [`MOST_NUMBERS`].
    #[error("up to line {line} the file holds {MOST_NUMBERS} numbers; no more are read")]
    TooManyNumbers {
        /// Line at which it is full, from 1.
        line: usize,
    },
    /// Over [`LONGEST_LINE`].
    #[error("line {line} is over {LONGEST_LINE} bytes long; no more are read")]
    LineTooLong {
        /// Line, from 1.
        line: usize,
    },
    /// Over [`MOST_COLUMNS`].
    #[error("line {line} has {columns} columns; at most {MOST_COLUMNS} are read")]
    TooManyColumns {
        /// Line, from 1.
        line: usize,
        /// Columns in it.
        columns: usize,
    },
    /// Over [`MOST_TABLES`].
    #[error("on line {line} table number {MOST_TABLES} of this file has ended; no more are read")]
    TooManyTables {
        /// Line, from 1.
        line: usize,
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
    /// The lines to read are none of the file's.
    #[error("the lines to read are said to be {from} to {to}, and there are no rows of numbers among them")]
    NoSuchLines {
        /// First.
        from: usize,
        /// Last.
        to: usize,
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
    /// A second header where one table is due.
    #[error("a second table begins on line {line}, where one is due")]
    SecondTable {
        /// Line of its header, from 1.
        line: usize,
    },
    /// A quotation mark that is not closed on its line.
    #[error("a quotation mark on line {line} is not closed on that line")]
    OpenQuote {
        /// Line, from 1.
        line: usize,
    },
    /// The file could not be read to its end.
    #[error("the file could not be read on after line {line}: {why}")]
    Unreadable {
        /// Last whole line, from 1.
        line: usize,
        /// What the system says.
        why: String,
    },
}

impl TableFault {
    /// Line the fault stands on, from 1.
    pub fn line(&self) -> Option<usize> {
        match self {
            TableFault::LineTooLong { line, .. }
            | TableFault::TooManyColumns { line, .. }
            | TableFault::TooManyNumbers { line }
            | TableFault::TooManyTables { line }
            | TableFault::NoSuchHeader { line, .. }
            | TableFault::Ragged { line, .. }
            | TableFault::SecondTable { line }
            | TableFault::OpenQuote { line }
            | TableFault::Unreadable { line, .. }
            | TableFault::Binary { line, .. } => Some(*line),
            TableFault::NoSuchLines { from, .. } => Some(*from),
            TableFault::Empty
            | TableFault::Recognised { .. }
            | TableFault::TooLarge
            | TableFault::NoNumbers => None,
        }
    }

    /// How to mend it.
    pub fn mend(&self) -> &'static str {
        match self {
            TableFault::Empty | TableFault::NoNumbers => {
                "check that the export finished, and that it is a text table (CSV)"
            }
            TableFault::Recognised { mend, .. } => mend,
            TableFault::Binary { .. } => "export the data as CSV text from the logger's own program",
            TableFault::TooLarge | TableFault::TooManyNumbers { .. } => {
                "export fewer laps, fewer channels, or a lower rate"
            }
            TableFault::LineTooLong { .. } => "check that lines end as lines; export again as CSV text",
            TableFault::TooManyColumns { .. } => "export only the channels that are needed",
            TableFault::TooManyTables { .. } => "put the tables into files of their own",
            TableFault::NoSuchHeader { .. } => "count lines from 1, comment and blank lines included",
            TableFault::NoSuchLines { .. } => {
                "count lines from 1, comment and blank lines included; name the first and the last row to read"
            }
            TableFault::Ragged { .. } => {
                "a decimal comma between commas, or a cell with the delimiter inside it, does this; \
                 export with semicolons or put such cells in quotes"
            }
            TableFault::SecondTable { .. } => "cut the file there and use one of the two",
            TableFault::OpenQuote { .. } => "close it; a cell may not go on over the end of a line",
            TableFault::Unreadable { .. } => "check the disk or the card; copy the file again",
        }
    }
}
