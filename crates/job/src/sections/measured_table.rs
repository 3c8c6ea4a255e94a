//! A table of measured points or feeler readings, as a CSV file.
//!
//! ```text
//! x [mm], y [mm], z [um]          a point a row, z out of the metal
//! line, x [mm], y [mm], gap [mm]  a feeler reading a row, lines by their name
//! ```

use glam::{DVec2, DVec3};
use measure::Dimension::Length;
use measure::rows::Rows;
use seal::flatness::{EdgeReading, Line};

use super::face::checked;

/// What a table holds.
#[derive(Default)]
pub(super) struct Table {
    pub points: Vec<DVec3>,
    /// Line of the file of each point.
    pub at: Vec<usize>,
    pub lines: Vec<Line>,
}

/// What is wrong with a table.
pub(super) struct TableFault {
    pub line: usize,
    pub what: String,
    pub mend: String,
}

/// The columns that are understood, by number.
struct Columns {
    x: usize,
    y: usize,
    height: usize,
    /// True when the third is a gap under a straight edge.
    gap: bool,
    line: Option<usize>,
}

const HEAD: &str = "begin with a row such as `x [mm], y [mm], z [mm]`, or `line, x [mm], y [mm], gap [mm]` for feeler readings";

pub(super) fn read(text: &str, show: &dyn Fn(f64) -> String) -> Result<Table, Vec<TableFault>> {
    let one = |line, what: &str, mend: &str| {
        vec![TableFault {
            line,
            what: what.to_owned(),
            mend: mend.to_owned(),
        }]
    };
    let Some(read) = measure::rows::rows(text) else {
        return Err(one(0, "the table is empty", HEAD));
    };
    let columns = columns(&read).map_err(|what| one(read.line, &what, HEAD))?;
    let mut table = Table::default();
    let mut faults = Vec::new();
    let mut lines: Vec<(String, usize, Vec<(DVec2, f64)>)> = Vec::new();
    for (number, cells) in &read.rows {
        let number = *number;
        let mut cell = |column: usize, name: &str| {
            let text = cells.get(column).copied().unwrap_or("");
            value(&read, column, text, name)
                .map_err(|(what, mend)| {
                    faults.push(TableFault {
                        line: number,
                        what,
                        mend,
                    })
                })
                .ok()
        };
        let (x, y) = (cell(columns.x, "x"), cell(columns.y, "y"));
        let z = cell(columns.height, if columns.gap { "gap" } else { "z" });
        let (Some(x), Some(y), Some(z)) = (x, y, z) else {
            continue;
        };
        if !columns.gap {
            table.points.push(DVec3::new(x, y, z));
            table.at.push(number);
            continue;
        }
        let name = columns
            .line
            .and_then(|c| cells.get(c))
            .copied()
            .unwrap_or("")
            .to_owned();
        match lines.iter_mut().find(|l| l.0 == name) {
            Some(l) => l.2.push((DVec2::new(x, y), z)),
            None => lines.push((name, number, vec![(DVec2::new(x, y), z)])),
        }
    }
    for (name, number, readings) in lines {
        match laid(&readings, show) {
            Ok(line) => table.lines.push(line),
            Err((what, mend)) => faults.push(TableFault {
                line: number,
                what: format!("line {name}: {what}"),
                mend,
            }),
        }
    }
    if faults.is_empty() && table.points.is_empty() && table.lines.is_empty() {
        return Err(one(
            read.line,
            "the table has a head and no rows",
            "add the readings below it",
        ));
    }
    if faults.is_empty() { Ok(table) } else { Err(faults) }
}

fn columns(read: &Rows) -> Result<Columns, String> {
    let (x, y) = (read.find(&["x"]), read.find(&["y"]));
    let (z, gap) = (read.find(&["z", "height"]), read.find(&["gap", "feeler"]));
    match (x, y, z, gap) {
        (Some(x), Some(y), Some(height), None) => Ok(Columns {
            x,
            y,
            height,
            gap: false,
            line: None,
        }),
        (Some(x), Some(y), None, Some(height)) => Ok(Columns {
            x,
            y,
            height,
            gap: true,
            line: read.find(&["line"]),
        }),
        (_, _, Some(_), Some(_)) => Err("the head names both a height and a gap".to_owned()),
        (None, _, _, Some(_)) | (_, None, _, Some(_)) => {
            Err("the feeler readings have no places: there is no column x or y".to_owned())
        }
        _ => Err(format!("the head \"{}\" does not name x, y and z", read.head)),
    }
}

fn value(read: &Rows, column: usize, cell: &str, name: &str) -> Result<f64, (String, String)> {
    if cell.is_empty() {
        let what = if name == "gap" || name == "z" {
            format!("a row has no {name}")
        } else {
            format!("a reading has no place: {name} is missing")
        };
        return Err((what, "complete the row or take it out".to_owned()));
    }
    read.quantity(column, cell, Length).map_err(|fault| {
        let mend = match read.columns[column].unit {
            None => format!("name the unit in the head, such as {name} [mm]; {}", fault.mend()),
            Some(_) => fault.mend(),
        };
        (format!("{name}: {}", fault.what()), mend)
    })
}

/// The straight edge from the first to the last place read, distances along it.
fn laid(readings: &[(DVec2, f64)], show: &dyn Fn(f64) -> String) -> Result<Line, (String, String)> {
    let (from, to) = (readings[0].0, readings[readings.len() - 1].0);
    let along = (to - from).normalize_or_zero();
    for (p, _) in readings {
        let off = along.perp_dot(*p - from).abs();
        if off > 2e-3 {
            return Err((
                format!(
                    "the reading at ({:.1}, {:.1}) mm lies {} beside the straight edge",
                    p.x * 1e3,
                    p.y * 1e3,
                    show(off)
                ),
                "begin and end each line with the ends of the straight edge".to_owned(),
            ));
        }
    }
    let readings = readings
        .iter()
        .map(|(p, gap)| EdgeReading {
            along: along.dot(*p - from).clamp(0.0, from.distance(to)),
            gap: *gap,
        })
        .collect();
    checked(Line { from, to, readings }, show)
}
