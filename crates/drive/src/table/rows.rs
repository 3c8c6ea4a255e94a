//! Rows of numbers into columns, a line at a time; where other headers come, into further tables.

use super::cells::{bare, end, is_comment, split};
use super::fault::{MOST_COLUMNS, MOST_NUMBERS, MOST_TABLES, TableFault};
use super::lines::words;
use super::number::{number, plain, says_missing};
use super::start::{Row, Writing, nearest, numbers_in};
use super::{Head, Layout, LineNumbers, Odd, Table};

/// Rows of words kept until it is clear whether they stand over another table.
const MOST_WAITING: usize = 8;
/// Cells with words kept of each column.
const MOST_ODD: usize = 5;

/// Which columns of a table under this head are wanted.
pub(super) type Wanted<'a> = &'a dyn Fn(&Head) -> Vec<bool>;

/// Tables as they grow.
pub(super) struct Collector<'a> {
    writing: Writing,
    lines: Option<(usize, usize)>,
    wanted: Wanted<'a>,
    done: Vec<Table>,
    table: Table,
    /// Cells of a row.
    width: usize,
    take: Vec<bool>,
    /// Head and units rows as they may come again.
    head: Vec<Vec<String>>,
    /// Numbers of the row at work, one for each wanted column.
    row: Vec<f64>,
    /// Cells of the row at work that hold words: column and text.
    odd: Vec<(usize, String)>,
    /// Rows of words since the last row of numbers.
    waiting: Vec<Row>,
    /// A row that is too short: the last one may be cut.
    short: Option<(usize, usize)>,
    repeated: Option<(usize, usize)>,
    stray: Option<(usize, usize)>,
    numbers: usize,
}

impl<'a> Collector<'a> {
    pub fn new(
        writing: Writing,
        layout: &Layout,
        wanted: Wanted<'a>,
        header: Option<Row>,
        units: Option<Row>,
        cells: usize,
        first: usize,
    ) -> Result<Collector<'a>, TableFault> {
        let mut out = Collector {
            writing,
            lines: layout.lines,
            wanted,
            done: Vec::new(),
            table: Table::empty(writing),
            width: 0,
            take: Vec::new(),
            head: Vec::new(),
            row: Vec::new(),
            odd: Vec::new(),
            waiting: Vec::new(),
            short: None,
            repeated: None,
            stray: None,
            numbers: 0,
        };
        out.begin(header, units, cells, first)?;
        Ok(out)
    }

    /// Begins a table whose rows have so many cells.
    fn begin(
        &mut self,
        header: Option<Row>,
        units: Option<Row>,
        cells: usize,
        line: usize,
    ) -> Result<(), TableFault> {
        self.head = header.iter().chain(&units).map(|row| row.1.clone()).collect();
        let header_line = header.as_ref().map(|h| h.0);
        // A delimiter at the end of every line makes a last column without name or numbers.
        let names = header.map(|(_, mut names)| {
            while names.len() > 1 && names.last().is_some_and(String::is_empty) {
                names.pop();
            }
            names
        });
        let width = names.as_ref().map_or(cells, Vec::len);
        if width > MOST_COLUMNS {
            let line = header_line.unwrap_or(line);
            return Err(TableFault::TooManyColumns { line, columns: width });
        }
        let mut unit_cells = units.as_ref().map_or(Vec::new(), |u| u.1.clone());
        unit_cells.resize(width, String::new());
        let head = Head {
            names: names.as_deref(),
            units: &unit_cells,
            columns: width,
        };
        self.take = (self.wanted)(&head);
        self.take.resize(width, false);
        self.width = width;
        let (columns, odd) = (vec![Vec::new(); width], vec![Odd::default(); width]);
        self.table = Table {
            names,
            units: unit_cells,
            columns,
            odd,
            header_line,
            units_line: units.map(|u| u.0),
            ..Table::empty(self.writing)
        };
        Ok(())
    }

    /// Takes one line.
    pub fn take(&mut self, line: usize, text: &[u8]) -> Result<(), TableFault> {
        if is_comment(text) {
            return Ok(());
        }
        let inside = self.lines.is_none_or(|(from, to)| (from..=to).contains(&line));
        if let Some((short, got)) = self.short.take() {
            return Err(TableFault::Ragged {
                line: short,
                got,
                wanted: self.width,
            });
        }
        let mut cells = match self.cells(text) {
            Some(cells) => cells,
            None if inside => return Err(TableFault::OpenQuote { line }),
            None => return Ok(()),
        };
        // A row of words has words in most of its cells, or another number of cells and words.
        if self.odd.len() > self.row.iter().filter(|v| !v.is_nan()).count() || cells != self.width {
            let all = split(&words(text), self.writing.delimiter);
            if numbers_in(&all, self.writing.decimal, 1).is_none() && all.iter().any(|c| !says_missing(c)) {
                self.words(line, all);
                return Ok(());
            }
        }
        if !self.waiting.is_empty() && self.after_words(cells, line)? {
            // Another table, whose wanted columns are others.
            cells = self.cells(text).unwrap_or(cells);
        }
        if !inside {
            return Ok(());
        }
        if cells < self.width {
            self.short = Some((line, cells));
            return Ok(());
        }
        if cells > self.width {
            return Err(TableFault::Ragged {
                line,
                got: cells,
                wanted: self.width,
            });
        }
        self.keep(line)
    }

    /// Reads the wanted cells of a line into `row` and `odd` and counts all, empty ones at the end left out beyond the
    /// width; `None` for an open quotation.
    fn cells(&mut self, text: &[u8]) -> Option<usize> {
        self.row.clear();
        self.odd.clear();
        let (delimiter, decimal) = (self.writing.delimiter as u8, self.writing.decimal as u8);
        let (mut from, mut column, mut filled) = (0, 0, 0);
        loop {
            let wanted = column < self.width && self.take[column];
            let quick = if wanted {
                plain(&text[from..], delimiter, decimal)
            } else {
                None
            };
            let to = if let Some((value, used)) = quick {
                self.row.push(value);
                filled = column + 1;
                from + used
            } else {
                let to = end(text, from, delimiter)?;
                if wanted {
                    self.long_way(column, &text[from..to]);
                }
                if column < self.width || !text[from..to].trim_ascii().is_empty() {
                    filled = column + 1;
                }
                to
            };
            column += 1;
            if to >= text.len() {
                return Some(filled);
            }
            from = to + 1;
        }
    }

    /// A cell that is no plain number: quoted, with an exponent, a clock, a word.
    fn long_way(&mut self, column: usize, cell: &[u8]) {
        let cell = cell.trim_ascii();
        let value = if cell.is_empty() {
            f64::NAN
        } else {
            let text = bare(&words(cell));
            number(&text, self.writing.decimal).unwrap_or_else(|| {
                if !says_missing(&text) {
                    self.odd.push((column, text));
                }
                f64::NAN
            })
        };
        self.row.push(value);
    }

    fn keep(&mut self, line: usize) -> Result<(), TableFault> {
        self.numbers += self.row.len();
        if self.numbers > MOST_NUMBERS {
            return Err(TableFault::TooManyNumbers { line });
        }
        let columns = self.table.columns.iter_mut().zip(&self.take);
        for ((column, _), value) in columns.filter(|(_, take)| **take).zip(&self.row) {
            column.push(*value);
        }
        for (column, text) in self.odd.drain(..) {
            let odd = &mut self.table.odd[column];
            odd.count += 1;
            if odd.first.len() < MOST_ODD {
                odd.first.push((line, text));
            }
        }
        self.table.lines.push(line);
        Ok(())
    }

    fn words(&mut self, line: usize, cells: Vec<String>) {
        if self.head.contains(&cells) {
            let (count, _) = self.repeated.get_or_insert((0, line));
            *count += 1;
            return;
        }
        if self.waiting.len() == MOST_WAITING {
            let (line, _) = self.waiting.remove(0);
            self.stray(line);
        }
        self.waiting.push((line, cells));
    }

    fn stray(&mut self, line: usize) {
        let (count, _) = self.stray.get_or_insert((0, line));
        *count += 1;
    }

    /// Rows of words are over: they stood over another table, which then begins, or they mean nothing to this one.
    fn after_words(&mut self, cells: usize, line: usize) -> Result<bool, TableFault> {
        let waiting = std::mem::take(&mut self.waiting);
        let (header, units) = nearest(&waiting, cells, self.writing.decimal);
        let used: Vec<usize> = header.iter().chain(&units).map(|row| row.0).collect();
        for row in waiting.iter().filter(|row| !used.contains(&row.0)) {
            self.stray(row.0);
        }
        if header.is_none() {
            return Ok(false);
        }
        self.end_table();
        if self.done.len() >= MOST_TABLES {
            return Err(TableFault::TooManyTables { line });
        }
        self.begin(header, units, cells, line)?;
        Ok(true)
    }

    fn end_table(&mut self) {
        let mut table = std::mem::replace(&mut self.table, Table::empty(self.writing));
        if let Some((count, line)) = self.repeated.take() {
            table.said.push(match count {
                1 => format!("The header is repeated on line {line}; it was passed over."),
                _ => format!(
                    "The header is repeated on {count} lines, the first line {line}; they were passed over."
                ),
            });
        }
        if let Some((count, line)) = self.stray.take() {
            table.said.push(format!(
                "{count} line(s) of words between the rows were passed over, the first line {line}."
            ));
        }
        if !table.lines.is_empty() {
            self.done.push(table);
        }
    }

    /// The tables, in the order of the file.
    pub fn finish(mut self) -> Result<Vec<Table>, TableFault> {
        for row in std::mem::take(&mut self.waiting) {
            self.stray(row.0);
        }
        if let Some((line, got)) = self.short {
            if self.table.lines.is_empty() {
                return Err(TableFault::Ragged {
                    line,
                    got,
                    wanted: self.width,
                });
            }
            self.table.said.push(format!(
                "The last row, line {line}, is cut short; it was left out."
            ));
        }
        self.end_table();
        match (self.done.is_empty(), self.lines) {
            (false, _) => Ok(self.done),
            (true, Some((from, to))) => Err(TableFault::NoSuchLines { from, to }),
            (true, None) => Err(TableFault::NoNumbers),
        }
    }
}

impl Table {
    fn empty(writing: Writing) -> Table {
        Table {
            names: None,
            units: Vec::new(),
            columns: Vec::new(),
            lines: LineNumbers::default(),
            odd: Vec::new(),
            delimiter: writing.delimiter,
            decimal: writing.decimal,
            header_line: None,
            units_line: None,
            said: Vec::new(),
        }
    }
}
