//! Where the numbers of a table start, how its cells are written, and what stands over them.

use super::Layout;
use super::cells::{is_comment, split};
use super::number::{number, says_missing};

/// Rows searched for the start of the numbers.
pub(super) const PREAMBLE_ROWS: usize = 500;

/// How cells are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Writing {
    pub delimiter: char,
    pub decimal: char,
}

/// Where the numbers start: index of the sampled line, and how many cells it has.
pub(super) struct Start {
    pub row: usize,
    pub cells: usize,
    pub writing: Writing,
}

/// A numbered row of words, in cells.
pub(super) type Row = (usize, Vec<String>);

/// Numbers in a row of numbers, of which there must be `least`; `None` for a row of words.
pub(super) fn numbers_in(cells: &[String], decimal: char, least: usize) -> Option<usize> {
    let filled = cells.iter().filter(|c| !says_missing(c)).count();
    let numbers = cells.iter().filter(|c| number(c, decimal).is_some()).count();
    (numbers >= least && 2 * numbers >= filled).then_some(numbers)
}

/// The reading (delimiter and decimal sign) that gives most numbers in the first three rows of numbers on end.
pub(super) fn find(lines: &[(usize, String)], layout: &Layout) -> Option<Start> {
    let mut best: Option<(usize, Start)> = None;
    let delimiters = layout.delimiter.map_or(vec![',', ';', '\t'], |d| vec![d]);
    let decimals = layout.decimal.map_or(vec!['.', ','], |d| vec![d]);
    let below = |line: usize| layout.header_line.is_none_or(|header| line > header);
    let rows: Vec<usize> = (0..lines.len())
        .filter(|&i| below(lines[i].0) && !is_comment(lines[i].1.as_bytes()))
        .take(PREAMBLE_ROWS)
        .collect();
    for &delimiter in &delimiters {
        let cells: Vec<Vec<String>> = rows.iter().map(|&i| split(&lines[i].1, delimiter)).collect();
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
                        writing: Writing { delimiter, decimal },
                    },
                ));
            }
        }
    }
    best.map(|(_, s)| s)
}

/// Header row and units row over the start, if there are any.
pub(super) fn head(lines: &[(usize, String)], start: &Start, layout: &Layout) -> (Option<Row>, Option<Row>) {
    let cut = |i: usize| {
        let bare = lines[i].1.trim_start().trim_start_matches(['#', '%']);
        (lines[i].0, split(bare, start.writing.delimiter))
    };
    let above: Vec<Row> = (0..start.row).map(cut).collect();
    if let Some(line) = layout.header_line {
        let header = above.iter().find(|r| r.0 == line).cloned();
        let under: Vec<Row> = above
            .into_iter()
            .filter(|r| r.0 > line && r.1.len() > 1)
            .collect();
        let units = under
            .into_iter()
            .find(|r| suits(&r.1, start.cells, start.writing.decimal));
        return (header, units);
    }
    nearest(&above, start.cells, start.writing.decimal)
}

/// The header and units rows among rows over numbers: the nearest that suits, or the next one where that is all units.
pub(super) fn nearest(above: &[Row], cells: usize, decimal: char) -> (Option<Row>, Option<Row>) {
    let mut rows = (above.iter().rev())
        .filter(|(_, cells)| cells.len() > 1)
        .take(6)
        .filter(|(_, row)| suits(row, cells, decimal));
    let Some(near) = rows.next() else {
        return (None, None);
    };
    match (near.1.iter().all(|c| looks_like_unit(c)), rows.next()) {
        (true, Some(names)) => (Some(names.clone()), Some(near.clone())),
        _ => (Some(near.clone()), None),
    }
}

/// Whether a row of words may stand over rows of so many cells; one more or less, as a delimiter at the end makes.
fn suits(row: &[String], cells: usize, decimal: char) -> bool {
    let words = row
        .iter()
        .filter(|c| !c.is_empty() && number(c, decimal).is_none())
        .count();
    row.len() + 1 >= cells && row.len() <= cells + 1 && 2 * words > row.len()
}

/// A unit, or a unit in brackets, and nothing else.
fn looks_like_unit(cell: &str) -> bool {
    // "time [s]" is a name with its unit, not a unit.
    let boxed = cell.starts_with(['[', '(']) && cell.ends_with([']', ')']);
    let bare = cell.trim_matches(['[', ']', '(', ')']).trim();
    bare.is_empty() || boxed || crate::log::units::is_unit(bare)
}
