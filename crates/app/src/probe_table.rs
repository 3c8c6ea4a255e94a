//! `probes.csv`: what the probes of a design or an experiment show, one row after each step of the solver.

use crate::failure::Failure;
use crate::store::atomic;
use slosh::Record;
use std::fmt::Write;
use std::path::{Path, PathBuf};

/// What a table is of.
pub struct Head<'a> {
    /// Name of the design or experiment.
    pub name: &'a str,
    /// What the user wrote about it; may be empty.
    pub notes: &'a str,
    /// Edge of the cells [m].
    pub cell: f64,
}

/// Writes the record of one run; `None` when it has no probes. A table that an earlier command left is then taken
/// away, so that it is not taken for this one's.
pub fn write(out: &Path, head: &Head, record: &Record) -> Result<Option<PathBuf>, Failure> {
    put(out, head, &[(None, record)])
}

/// The same for the records of several moments: each row begins with the name of its moment.
pub fn write_moments(
    out: &Path,
    head: &Head,
    records: &[(&str, &Record)],
) -> Result<Option<PathBuf>, Failure> {
    let named: Vec<_> = records
        .iter()
        .map(|(name, record)| (Some(*name), *record))
        .collect();
    put(out, head, &named)
}

/// The table's place for the terminal; empty when there is none.
pub fn shown(path: Option<&Path>) -> String {
    path.map_or(String::new(), |path| path.display().to_string())
}

fn put(out: &Path, head: &Head, records: &[(Option<&str>, &Record)]) -> Result<Option<PathBuf>, Failure> {
    let path = out.join("probes.csv");
    if records.iter().all(|(_, record)| record.columns.is_empty()) {
        atomic::remove(&path)?;
        return Ok(None);
    }
    atomic::write(&path, table(head, records).as_bytes())?;
    Ok(Some(path))
}

/// What it is in comment lines, then names with units, then the rows of all records, which have the same columns.
fn table(head: &Head, records: &[(Option<&str>, &Record)]) -> String {
    let one_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut text = format!(
        "# {}: what the probes show, one row after each step of the solver; cells of {:.4} mm.\n",
        one_line(head.name),
        1e3 * head.cell
    );
    if !head.notes.is_empty() {
        let _ = writeln!(text, "# {}", one_line(head.notes));
    }
    let Some((label, first)) = records.first() else {
        return text;
    };
    text += if label.is_some() {
        "moment,time [s]"
    } else {
        "time [s]"
    };
    for column in &first.columns {
        let _ = write!(text, ",{} [{}]", plain(&column.name), column.unit);
    }
    text.push('\n');
    for (label, record) in records {
        for (time, row) in record.time.iter().zip(record.rows()) {
            if let Some(label) = label {
                let _ = write!(text, "{},", plain(label));
            }
            let _ = write!(text, "{time:.6}");
            for (value, column) in row.iter().zip(&record.columns) {
                // A hundredth of a pascal, a thousandth of a millimetre: finer than any sensor.
                let _ = match column.unit.as_str() {
                    "Pa" => write!(text, ",{value:.2}"),
                    _ => write!(text, ",{value:.6}"),
                };
            }
            text.push('\n');
        }
    }
    text
}

/// A name that cannot break the row.
fn plain(name: &str) -> String {
    name.replace([',', '"', '\n', '\r'], " ")
}
