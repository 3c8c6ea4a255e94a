//! Small tables typed at the bench: a head that names columns and their units, then a reading a row.
//!
//! ```text
//! # remarks after a hash
//! x [mm], y [mm], z [um]
//! 12, 40.5, -18
//! ```
//!
//! Columns are parted by commas, or by semicolons or tabs where the head has them. A cell may carry a unit of its own.

use crate::{Dimension, QuantityFault, read};

/// A table: its head and what stands under it.
#[derive(Clone, Debug, PartialEq)]
pub struct Rows<'t> {
    /// The head as written.
    pub head: &'t str,
    /// Its line, from 1.
    pub line: usize,
    /// Columns in order.
    pub columns: Vec<Column<'t>>,
    /// Line, from 1, and cells of each row.
    pub rows: Vec<(usize, Vec<&'t str>)>,
}

/// A column as the head names it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column<'t> {
    /// Its name.
    pub name: &'t str,
    /// Its unit, in brackets behind the name.
    pub unit: Option<&'t str>,
}

/// Reads a table; `None` when there is nothing but remarks.
pub fn rows(text: &str) -> Option<Rows<'_>> {
    let mut lines = text
        .trim_start_matches('\u{feff}')
        .lines()
        .enumerate()
        .map(|(at, row)| (at + 1, row.split('#').next().unwrap_or("").trim()))
        .filter(|(_, row)| !row.is_empty());
    let (line, head) = lines.next()?;
    let mark = [';', '\t'].into_iter().find(|mark| head.contains(*mark));
    let mark = mark.unwrap_or(',');
    let columns = cells(head, mark).into_iter().map(column).collect();
    let rows = lines.map(|(line, row)| (line, cells(row, mark))).collect();
    Some(Rows {
        head,
        line,
        columns,
        rows,
    })
}

fn cells(row: &str, mark: char) -> Vec<&str> {
    row.split(mark).map(str::trim).collect()
}

fn column(cell: &str) -> Column<'_> {
    match cell.split_once(['[', '(']) {
        Some((name, unit)) => Column {
            name: name.trim(),
            unit: Some(unit.trim_end_matches([']', ')', ' ']).trim()),
        },
        None => Column {
            name: cell,
            unit: None,
        },
    }
}

impl Rows<'_> {
    /// Number of the first column of one of these names, big and small letters alike.
    pub fn find(&self, names: &[&str]) -> Option<usize> {
        let same = |column: &Column| names.iter().any(|name| column.name.eq_ignore_ascii_case(name));
        self.columns.iter().position(same)
    }

    /// The number in a cell of `column`, in SI: a bare one takes the column's unit.
    ///
    /// # Errors
    /// When it is none, or of another dimension.
    pub fn quantity(&self, column: usize, cell: &str, due: Dimension) -> Result<f64, QuantityFault> {
        // Decimal commas and fractions are bare too; "1.2e-3" has a letter and no unit.
        let bare =
            cell.parse::<f64>().is_ok() || !cell.contains(|c: char| c.is_alphabetic() || "\"'°%".contains(c));
        match self.columns[column].unit {
            Some(unit) if bare => read(&format!("{cell} {unit}"), due),
            _ => read(cell, due),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heads_marks_remarks_and_units_are_understood() {
        let text = "\u{feff}# rail, hot\n X [mm]; height (um)\n\n12,5; 5e1 # probe slipped\n1 in; -3\n";
        let table = rows(text).unwrap();
        assert_eq!((table.line, table.columns.len()), (2, 2));
        assert_eq!(table.find(&["z", "Height"]), Some(1));
        assert_eq!(table.find(&["gap"]), None);
        assert_eq!(table.rows[1].0, 5);
        let at = |row: usize, column: usize| {
            let cell = table.rows[row].1[column];
            table.quantity(column, cell, Dimension::Length).unwrap()
        };
        assert!((at(0, 0) - 0.0125).abs() < 1e-15 && (at(0, 1) - 5e-5).abs() < 1e-15);
        assert!((at(1, 0) - 0.0254).abs() < 1e-15 && (at(1, 1) + 3e-6).abs() < 1e-15);
        assert!(table.quantity(0, "twelve", Dimension::Length).is_err());
        assert!(rows("\n# nothing\n").is_none());
    }
}
