//! Text tables as loggers and spreadsheets write them: bytes to columns of numbers.
//!
//! Finds the delimiter (comma, semicolon, tab), the decimal sign, the header row, a units row under it, and the
//! first row of numbers, under any preamble and between comment lines. Cells that hold no number are missing
//! (NaN in the columns, counted in [`Table::odd`]); what they mean is for the caller to judge.

mod fault;

pub use fault::{LONGEST_LINE, MOST_BYTES, MOST_COLUMNS, TableFault};

/// Rows searched for the start of the numbers.
const PREAMBLE_ROWS: usize = 500;

/// What the caller knows about the layout; anything left out is found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Layout {
    /// Line of the header row, from 1.
    pub header_line: Option<usize>,
    /// Character between cells.
    pub delimiter: Option<char>,
    /// Decimal sign: `.` or `,`.
    pub decimal: Option<char>,
}

/// A table of numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Names of the columns as written, brackets and all; `None` when the table has no header.
    pub names: Option<Vec<String>>,
    /// Units row, as long as the columns; empty text where none is given.
    pub units: Vec<String>,
    /// Columns of equal length; NaN where a cell holds no number.
    pub columns: Vec<Vec<f64>>,
    /// Line of each row, from 1.
    pub lines: Vec<usize>,
    /// Cells that hold text where a number is due: line, column (from 0) and the text (the first hundred).
    pub odd: Vec<(usize, usize, String)>,
    /// Character found between cells.
    pub delimiter: char,
    /// Decimal sign found.
    pub decimal: char,
    /// Line of the header row, from 1, when there is one.
    pub header_line: Option<usize>,
    /// What a reader ought to know: a cut last row, repeated headers.
    pub said: Vec<String>,
}

/// Reads a table from bytes.
pub fn read(bytes: &[u8], layout: &Layout) -> Result<Table, TableFault> {
    let text = decode(bytes)?;
    let lines: Vec<&str> = text.lines().collect();
    if let Some((i, l)) = lines.iter().enumerate().find(|(_, l)| l.len() > LONGEST_LINE) {
        return Err(TableFault::LineTooLong {
            line: i + 1,
            bytes: l.len(),
        });
    }
    if let Some(line) = layout.header_line
        && (line == 0 || line > lines.len())
    {
        return Err(TableFault::NoSuchHeader {
            line,
            lines: lines.len(),
        });
    }
    let found = find_start(&lines, layout).ok_or(TableFault::NoNumbers)?;
    let (header, units) = find_header(&lines, &found, layout);
    collect(&lines, &found, header, units)
}

/// Text from bytes: UTF-8, UTF-16 with its mark, else Latin-1 (a lone degree sign is the usual case).
fn decode(bytes: &[u8]) -> Result<String, TableFault> {
    if bytes.len() > MOST_BYTES {
        return Err(TableFault::TooLarge { bytes: bytes.len() });
    }
    let wide = |join: fn([u8; 2]) -> u16| -> String {
        let units = bytes[2..].chunks_exact(2).map(|p| join([p[0], p[1]]));
        char::decode_utf16(units)
            .map(|c| c.unwrap_or(char::REPLACEMENT_CHARACTER))
            .collect()
    };
    let text = match bytes {
        [0xFF, 0xFE, ..] => wide(u16::from_le_bytes),
        [0xFE, 0xFF, ..] => wide(u16::from_be_bytes),
        _ => match std::str::from_utf8(bytes) {
            Ok(s) => s.trim_start_matches('\u{feff}').to_owned(),
            Err(_) => bytes.iter().map(|&b| b as char).collect(),
        },
    };
    let control =
        |c: char| (c < ' ' && !matches!(c, '\t' | '\n' | '\r' | '\u{c}' | '\u{1a}')) || c == '\u{fffd}';
    if let Some((byte, _)) = text.char_indices().find(|&(_, c)| control(c)) {
        return Err(TableFault::Binary { byte });
    }
    // Old Macintosh line ends.
    let text = if text.contains('\n') {
        text
    } else {
        text.replace('\r', "\n")
    };
    if text.trim().is_empty() {
        Err(TableFault::Empty)
    } else {
        Ok(text)
    }
}

/// Where the numbers start and how cells are written.
struct Start {
    row: usize,
    cells: usize,
    delimiter: char,
    decimal: char,
}

fn is_comment(line: &str) -> bool {
    let l = line.trim_start();
    l.is_empty() || l.starts_with('#') || l.starts_with("//") || l.starts_with('%')
}

/// Cells of one line; a quoted cell may hold the delimiter.
fn split(line: &str, delimiter: char) -> Vec<String> {
    let (mut cells, mut cell, mut quoted) = (Vec::new(), String::new(), false);
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            c if c == delimiter && !quoted => cells.push(std::mem::take(&mut cell).trim().to_owned()),
            c => cell.push(c),
        }
    }
    cells.push(cell.trim().to_owned());
    cells
}

/// A number, or seconds from a clock (`h:m:s` or `m:s`).
fn number(cell: &str, decimal: char) -> Option<f64> {
    let plain;
    let cell = if decimal == ',' {
        if cell.contains('.') {
            return None;
        }
        plain = cell.replace(',', ".");
        plain.as_str()
    } else {
        cell
    };
    if cell.contains(':') {
        let mut seconds = 0.0;
        for (i, part) in cell.split(':').enumerate() {
            let v: f64 = part.parse().ok().filter(|v: &f64| v.is_finite() && *v >= 0.0)?;
            if i > 2 || (i > 0 && v >= 60.0) {
                return None;
            }
            seconds = seconds * 60.0 + v;
        }
        return Some(seconds);
    }
    cell.parse().ok().filter(|v: &f64| v.is_finite())
}

/// Whether a cell says in words that there is no value.
fn says_missing(cell: &str) -> bool {
    let l = cell.to_ascii_lowercase();
    matches!(
        l.as_str(),
        "" | "nan" | "na" | "n/a" | "null" | "none" | "-" | "--" | "---" | "inf" | "-inf" | "#n/a"
    )
}

/// Numbers in a row of numbers, of which there must be `least`; `None` for a row of words.
fn numbers_in(cells: &[String], decimal: char, least: usize) -> Option<usize> {
    let filled = cells.iter().filter(|c| !says_missing(c)).count();
    let numbers = cells.iter().filter(|c| number(c, decimal).is_some()).count();
    (numbers >= least && 2 * numbers >= filled).then_some(numbers)
}

/// The reading (delimiter and decimal sign) that gives most numbers in the first three rows of numbers on end.
fn find_start(lines: &[&str], layout: &Layout) -> Option<Start> {
    let mut best: Option<(usize, Start)> = None;
    let delimiters = layout.delimiter.map_or(vec![',', ';', '\t'], |d| vec![d]);
    let decimals = layout.decimal.map_or(vec!['.', ','], |d| vec![d]);
    let rows: Vec<usize> = (layout.header_line.unwrap_or(0)..lines.len())
        .filter(|&i| !is_comment(lines[i]))
        .take(PREAMBLE_ROWS)
        .collect();
    for &delimiter in &delimiters {
        let cells: Vec<Vec<String>> = rows.iter().map(|&i| split(lines[i], delimiter)).collect();
        for &decimal in &decimals {
            let counts: Vec<Option<usize>> = cells.iter().map(|c| numbers_in(c, decimal, 2)).collect();
            let start = (0..rows.len()).find(|&i| {
                let run = i..(i + 3).min(rows.len());
                run.into_iter()
                    .all(|j| counts[j].is_some() && cells[j].len() == cells[i].len())
            });
            let Some(mut i) = start else { continue };
            // Rows before them with a hole or a stray word in them are rows of numbers too.
            let width = cells[i].len();
            let holed = |j: usize| cells[j].len() == width && numbers_in(&cells[j], decimal, 1).is_some();
            while i > 0 && holed(i - 1) {
                i -= 1;
            }
            // Every number of the searched rows counts: `1;2,5` holds one number read with a point, two with a comma.
            let score: usize = counts[i..].iter().flatten().sum();
            if best.as_ref().is_none_or(|(s, _)| score > *s) {
                best = Some((
                    score,
                    Start {
                        row: rows[i],
                        cells: cells[i].len(),
                        delimiter,
                        decimal,
                    },
                ));
            }
        }
    }
    best.map(|(_, s)| s)
}

/// A unit, or a unit in brackets, and nothing else.
fn looks_like_unit(cell: &str) -> bool {
    // "time [s]" is a name with its unit, not a unit.
    let boxed = cell.starts_with(['[', '(']) && cell.ends_with([']', ')']);
    let bare = cell.trim_matches(['[', ']', '(', ')']).trim();
    bare.is_empty() || boxed || crate::log::units::is_unit(bare)
}

type Row = (usize, Vec<String>);

/// Header row and units row, if there are any.
fn find_header(lines: &[&str], start: &Start, layout: &Layout) -> (Option<Row>, Option<Vec<String>>) {
    let cut = |i: usize| {
        split(
            lines[i].trim_start().trim_start_matches(['#', '%']),
            start.delimiter,
        )
    };
    let suits = |cells: &[String]| {
        let words = cells
            .iter()
            .filter(|c| !c.is_empty() && number(c, start.decimal).is_none())
            .count();
        cells.len() + 1 >= start.cells && cells.len() <= start.cells + 1 && 2 * words > cells.len()
    };
    let above: Vec<Row> = (layout.header_line.unwrap_or(0)..start.row)
        .rev()
        .map(|i| (i, cut(i)))
        .collect();
    let mut rows = above
        .into_iter()
        .filter(|(_, cells)| cells.len() > 1)
        .take(6)
        .filter(|(_, c)| suits(c));
    if let Some(line) = layout.header_line {
        return (Some((line - 1, cut(line - 1))), rows.last().map(|r| r.1));
    }
    let Some(near) = rows.next() else {
        return (None, None);
    };
    let all_units = near.1.iter().all(|c| looks_like_unit(c));
    match (all_units, rows.next()) {
        (true, Some(names)) => (Some(names), Some(near.1)),
        _ => (Some(near), None),
    }
}

fn collect(
    lines: &[&str],
    start: &Start,
    header: Option<Row>,
    units: Option<Vec<String>>,
) -> Result<Table, TableFault> {
    let mut names = header.as_ref().map(|h| h.1.clone());
    // A delimiter at the end of every line makes a last column without name or numbers.
    if let Some(n) = &mut names {
        while n.len() > 1 && n.last().is_some_and(|c| c.is_empty()) {
            n.pop();
        }
    }
    let width = names.as_ref().map_or(start.cells, Vec::len);
    if width > MOST_COLUMNS {
        return Err(TableFault::TooManyColumns {
            line: header.map_or(start.row, |h| h.0) + 1,
            columns: width,
        });
    }
    let mut table = Table {
        units: (0..width)
            .map(|c| units.as_ref().and_then(|u| u.get(c)).cloned().unwrap_or_default())
            .collect(),
        columns: vec![Vec::new(); width],
        lines: Vec::new(),
        odd: Vec::new(),
        delimiter: start.delimiter,
        decimal: start.decimal,
        header_line: header.as_ref().map(|h| h.0 + 1),
        said: Vec::new(),
        names,
    };
    let last = lines.iter().rposition(|l| !is_comment(l)).unwrap_or(0);
    for i in start.row..lines.len() {
        if is_comment(lines[i]) {
            continue;
        }
        let mut cells = split(lines[i], start.delimiter);
        if header.as_ref().is_some_and(|h| h.1 == cells) || units.as_ref() == Some(&cells) {
            table.said.push(format!(
                "The header is repeated on line {}; it was passed over.",
                i + 1
            ));
            continue;
        }
        while cells.len() > width && cells.last().is_some_and(|c| c.is_empty()) {
            cells.pop();
        }
        if cells.len() < width && i == last && i > start.row {
            table.said.push(format!(
                "The last row, line {}, is cut short; it was left out.",
                i + 1
            ));
            continue;
        }
        if cells.len() != width {
            return Err(TableFault::Ragged {
                line: i + 1,
                got: cells.len(),
                wanted: width,
            });
        }
        table.lines.push(i + 1);
        for (c, cell) in cells.into_iter().enumerate() {
            let value = number(&cell, start.decimal);
            table.columns[c].push(value.unwrap_or(f64::NAN));
            if value.is_none() && !says_missing(&cell) && table.odd.len() < 100 {
                table.odd.push((i + 1, c, cell));
            }
        }
    }
    Ok(table)
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
            (t.delimiter, t.decimal, t.header_line, t.lines[0]),
            (';', ',', Some(4), 6)
        );
        assert_eq!(t.odd.len(), 3);
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
        assert_eq!(r(b"a,b\n1\x002,3"), TableFault::Binary { byte: 5 });
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
