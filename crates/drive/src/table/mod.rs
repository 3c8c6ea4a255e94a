//! Text tables as loggers and spreadsheets write them: bytes to columns of numbers, in one pass and bounded memory.
//!
//! Finds the encoding, the delimiter (comma, semicolon, tab), the decimal sign, the header row, a units row under it, and
//! the first row of numbers, under any preamble and between comment lines. A file may hold several tables one after the
//! other, each under its own header. Cells that hold no number are missing (NaN in the columns, counted in
//! [`Table::odd`]); what they mean is for the caller to judge.
//!
//! [`lines`] hands out lines, [`start`] looks at the first few hundred of them, [`rows`] turns the rest into numbers.
//! Held at once are the numbers of the wanted columns, one block of the file (256 KiB) and the sampled first lines:
//! nothing else grows with the file.

mod cells;
mod fault;
mod kinds;
mod lines;
mod number;
mod rows;
mod start;

pub use fault::{LONGEST_LINE, MOST_BYTES, MOST_COLUMNS, MOST_NUMBERS, MOST_TABLES, TableFault};

use rows::Collector;
use std::io::Read;

/// What the caller knows about the layout; anything left out is found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Layout {
    /// Line of the header row, from 1.
    pub header_line: Option<usize>,
    /// Character between cells.
    pub delimiter: Option<char>,
    /// Decimal sign: `.` or `,`.
    pub decimal: Option<char>,
    /// First and last line whose numbers are read, from 1; by default all.
    pub lines: Option<(usize, usize)>,
}

/// What stands over the numbers of a table.
#[derive(Clone, Copy, Debug)]
pub struct Head<'a> {
    /// Names of the columns; `None` when there is no header.
    pub names: Option<&'a [String]>,
    /// Units row, as long as the columns.
    pub units: &'a [String],
    /// Columns there are.
    pub columns: usize,
}

/// A table of numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Names of the columns as written, brackets and all; `None` when the table has no header.
    pub names: Option<Vec<String>>,
    /// Units row, as long as the columns; empty text where none is given.
    pub units: Vec<String>,
    /// Columns, NaN where a cell holds no number. Those that were wanted are as long as `lines`, others empty.
    pub columns: Vec<Vec<f64>>,
    /// Line of each row.
    pub lines: LineNumbers,
    /// Cells that hold text where a number is due, for each column.
    pub odd: Vec<Odd>,
    /// Character found between cells.
    pub delimiter: char,
    /// Decimal sign found.
    pub decimal: char,
    /// Line of the header row, from 1, when there is one.
    pub header_line: Option<usize>,
    /// Line of the units row, from 1, when there is one.
    pub units_line: Option<usize>,
    /// What a reader ought to know: a cut last row, repeated headers.
    pub said: Vec<String>,
}

/// Cells of one column that hold words.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Odd {
    /// How many.
    pub count: usize,
    /// The first few: line and text.
    pub first: Vec<(usize, String)>,
}

/// Line of each row, kept as runs of lines that follow one another.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LineNumbers {
    /// First row and its line of each run.
    runs: Vec<(usize, usize)>,
    rows: usize,
}

impl LineNumbers {
    /// Rows.
    pub fn len(&self) -> usize {
        self.rows
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.rows == 0
    }

    /// Line of a row, from 1; beyond the last row that of the last, 1 where there are none.
    pub fn at(&self, row: usize) -> usize {
        let row = row.min(self.rows.saturating_sub(1));
        let run = self.runs.partition_point(|r| r.0 <= row);
        self.runs.get(run.wrapping_sub(1)).map_or(1, |r| r.1 + row - r.0)
    }

    /// Lines of all rows.
    pub fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.rows).map(|row| self.at(row))
    }

    fn push(&mut self, line: usize) {
        match self.runs.last() {
            Some(&(row, first)) if first + (self.rows - row) == line => {}
            _ => self.runs.push((self.rows, line)),
        }
        self.rows += 1;
    }
}

/// Reads the one table in `bytes`, all of its columns.
///
/// # Errors
/// Bytes that are no table, and a second table in them.
pub fn read(bytes: &[u8], layout: &Layout) -> Result<Table, TableFault> {
    let mut reader = bytes;
    let mut tables = read_all(&mut reader, layout, &|head| vec![true; head.columns])?;
    if let Some(second) = tables.get(1) {
        let line = second.header_line.unwrap_or(second.lines.at(0));
        return Err(TableFault::SecondTable { line });
    }
    Ok(tables.remove(0))
}

/// Reads all tables that a reader gives, one or more, and of each the columns that `wanted` marks.
///
/// # Errors
/// Text that is no table, with its line where it has one.
pub fn read_all(
    reader: &mut dyn Read,
    layout: &Layout,
    wanted: &dyn Fn(&Head) -> Vec<bool>,
) -> Result<Vec<Table>, TableFault> {
    let mut lines = lines::Lines::open(reader)?;
    let sample = sample(&mut lines, layout)?;
    let found = start::find(&sample, layout).ok_or(TableFault::NoNumbers)?;
    let (header, units) = start::head(&sample, &found, layout);
    let first = sample[found.row].0;
    let mut collector = Collector::new(found.writing, layout, wanted, header, units, found.cells, first)?;
    for (line, text) in &sample[found.row..] {
        collector.take(*line, text.as_bytes())?;
    }
    drop(sample);
    while let Some((line, text)) = lines.next()? {
        collector.take(line, text)?;
    }
    collector.finish()
}

/// Most bytes of first lines that are looked at.
const MOST_SAMPLED: usize = 4 << 20;

/// The first lines, from the stated header on, enough to see how the table is written.
fn sample(lines: &mut lines::Lines, layout: &Layout) -> Result<Vec<(usize, String)>, TableFault> {
    let header = layout.header_line.unwrap_or(1);
    let (mut sample, mut rows, mut bytes, mut blank) = (Vec::new(), 0, 0, true);
    while rows < start::PREAMBLE_ROWS {
        let Some((line, text)) = lines.next()? else { break };
        blank &= text.trim_ascii().is_empty();
        if line < header {
            continue;
        }
        rows += usize::from(!cells::is_comment(text));
        sample.push((line, lines::words(text)));
        bytes += text.len();
        if bytes > MOST_SAMPLED {
            break;
        }
    }
    match (blank, layout.header_line) {
        (true, _) => Err(TableFault::Empty),
        (_, Some(line)) if line == 0 || line > lines.count() => Err(TableFault::NoSuchHeader {
            line,
            lines: lines.count(),
        }),
        _ => Ok(sample),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(text: &str) -> Table {
        read(text.as_bytes(), &Layout::default()).unwrap()
    }

    #[test]
    fn a_preamble_a_units_row_and_decimal_commas_are_seen() {
        let t = table("Logger;7\nDriver;none\n\nTime;Lat;Note\ns;g;\n0,0;0,5;a\n0,1;-0,25;b\n0,2;0,1;c\n");
        assert_eq!(t.names.as_ref().unwrap()[1], "Lat");
        assert_eq!(t.units, ["s", "g", ""]);
        assert_eq!(t.columns[1], [0.5, -0.25, 0.1]);
        assert_eq!(
            (t.delimiter, t.decimal, t.header_line, t.lines.at(0)),
            (';', ',', Some(4), 6)
        );
        assert_eq!(t.odd[2].count, 3);
    }

    #[test]
    fn marks_line_ends_quotes_and_wide_text_change_nothing() {
        let plain = "time,ay\n0,1\n1,2\n2,3\n";
        let want = table(plain).columns;
        assert_eq!(
            read(
                b"\xef\xbb\xbftime,ay\r\n0,1\r\n1,2\r\n2,3\r\n",
                &Layout::default()
            )
            .unwrap()
            .columns,
            want
        );
        assert_eq!(
            table("\"time\",\"ay\"\n\"0\",\"1\"\n\"1\",\"2\"\n\"2\",\"3\"").columns,
            want
        );
        assert_eq!(
            table("\"time\",\"ay\"\n\"0,0\",\"1,0\"\n\"1,0\",\"2,0\"\n\"2,0\",\"3,0\"").columns,
            want
        );
        let mut wide = vec![0xFF, 0xFE];
        wide.extend(plain.encode_utf16().flat_map(u16::to_le_bytes));
        assert_eq!(read(&wide, &Layout::default()).unwrap().columns, want);
        assert_eq!(table("# time\tay\n0\t1\n# a remark\n1\t2\n2\t3\n").columns, want);
        assert_eq!(table("0,1\n1,2\n2,3\n").names, None);
    }

    #[test]
    fn bytes_that_are_no_table_are_refused_with_the_place() {
        let r = |b: &[u8]| read(b, &Layout::default()).unwrap_err();
        assert_eq!(r(b""), TableFault::Empty);
        assert_eq!(r(b" \n\n"), TableFault::Empty);
        assert_eq!(r(b"a,b\n1\x002,3"), TableFault::Binary { byte: 5, line: 2 });
        assert_eq!(r(b"hello\nworld\n"), TableFault::NoNumbers);
        assert_eq!(
            r(b"a,b\n1,2\n2,3\n3,4\n4,5,6\n5,6\n"),
            TableFault::Ragged {
                line: 5,
                got: 3,
                wanted: 2
            }
        );
        let long = format!("a,b\n1,{}\n", "2".repeat(LONGEST_LINE));
        assert!(matches!(
            r(long.as_bytes()),
            TableFault::LineTooLong { line: 2, .. }
        ));
        let wide = vec!["1"; MOST_COLUMNS + 1].join(",");
        assert!(matches!(
            r(format!("{wide}\n{wide}\n{wide}").as_bytes()),
            TableFault::TooManyColumns { .. }
        ));
    }

    #[test]
    fn a_cut_last_row_and_repeated_headers_are_passed_over_and_said() {
        let t = table("time,ay\n0,1\n1,2\n2,3\ntime,ay\n3,4\n4");
        assert_eq!(t.columns[0], [0.0, 1.0, 2.0, 3.0]);
        assert_eq!(t.said.len(), 2);
    }
}
