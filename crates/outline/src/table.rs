//! An outline typed by hand: rows of corners, arcs and holes with the sizes as measured.
//!
//! ```text
//! unit, mm
//! # x, y, corner radius
//! 0, 0
//! 320, 0, 12
//! arc, 335, 90          # a point that the line to the next corner bends through
//! 320, 180, 12
//! 0, 180
//! hole, 14, 14, 9       # x, y, diameter
//! window                # what follows is another closed line, here an opening
//! 40, 40
//! ...
//! ```
//!
//! Cells are parted by commas, semicolons or tabs; where semicolons or tabs part them the decimal sign may be a
//! comma. A cell may carry its own unit ("1-1/2 in"); a bare number takes the `unit` row's, and is refused without one.

use crate::closed::Closed;
use crate::fault::{OutlineFault, quoted};
use crate::figure::{Figure, ReadOptions};
use crate::side::bulge_through;
use crate::unit::{LengthUnit, UnitOrigin};
use glam::DVec2;
use measure::Dimension;

/// Rows at most; an outline typed by hand has some dozens.
const MOST_ROWS: usize = 100_000;
/// Longest row [bytes].
const LONGEST_ROW: usize = 4_096;

struct Corner {
    at: DVec2,
    radius: f64,
    bulge: f64,
    /// Point that the side leaving it goes through.
    through: Option<DVec2>,
    line: usize,
}

struct Table<'o> {
    options: &'o ReadOptions,
    unit: Option<LengthUnit>,
    delimiter: char,
    /// Third cell of a corner is its bulge, not its corner radius.
    bulges: bool,
    bare: bool,
    faults: Vec<OutlineFault>,
    corners: Vec<Corner>,
    closed: Vec<(Closed, String, usize)>,
}

/// Reads a table; see the module.
///
/// # Errors
/// Everything that is wrong with it, each with its line.
pub fn read(bytes: &[u8], options: &ReadOptions) -> Result<Figure, Vec<OutlineFault>> {
    let text = match std::str::from_utf8(bytes) {
        Ok(text) if !text.contains('\0') => text.trim_start_matches('\u{feff}'),
        Ok(_) => {
            return Err(vec![not_text(
                bytes,
                bytes.iter().position(|b| *b == 0).unwrap_or(0),
            )]);
        }
        Err(fault) => return Err(vec![not_text(bytes, fault.valid_up_to())]),
    };
    let delimiter = [';', '\t'].into_iter().find(|d| text.contains(*d)).unwrap_or(',');
    let mut table = Table {
        options,
        unit: options.unit,
        delimiter,
        bulges: false,
        bare: false,
        faults: Vec::new(),
        corners: Vec::new(),
        closed: Vec::new(),
    };
    for (i, row) in text.lines().enumerate() {
        if i >= MOST_ROWS || row.len() > LONGEST_ROW {
            let what = format!("a table typed by hand has at most {MOST_ROWS} rows of {LONGEST_ROW} letters");
            return Err(vec![
                OutlineFault::new("too-long", what, "check that it is the right file").on_line(i + 1),
            ]);
        }
        table.row(row, i + 1);
        if table.faults.len() >= 20 {
            break;
        }
    }
    table.end_of_line();
    if !table.faults.is_empty() {
        return Err(table.faults);
    }
    let unit = table.unit;
    let count = table.closed.len();
    let mut figure = Figure::of(table.closed, options.join.min(1e-6))?;
    let origin = match options.unit {
        Some(_) => UnitOrigin::Asked,
        None => UnitOrigin::Stated,
    };
    figure.unit = unit.filter(|_| table.bare).map(|u| (u, origin));
    figure.said.push(format!(
        "A table of {count} closed {}, cells parted by {}.",
        if count == 1 { "line" } else { "lines" },
        match delimiter {
            ';' => "semicolons",
            '\t' => "tabs",
            _ => "commas",
        }
    ));
    Ok(figure)
}

fn not_text(bytes: &[u8], at: usize) -> OutlineFault {
    let line = 1 + bytes[..at].iter().filter(|b| **b == b'\n').count();
    OutlineFault::new(
        "not-text",
        "the table is not UTF-8 text",
        "save it as CSV in UTF-8",
    )
    .on_line(line)
}

impl Table<'_> {
    fn row(&mut self, row: &str, line: usize) {
        let row = row.split('#').next().unwrap_or_default();
        let mut cells: Vec<&str> = row
            .split(self.delimiter)
            .map(|c| c.trim().trim_matches('"').trim())
            .collect();
        while cells.len() > 1 && cells[cells.len() - 1].is_empty() {
            cells.pop();
        }
        let word = cells[0].to_lowercase();
        match (word.as_str(), cells.len()) {
            ("", 1) => {}
            ("unit" | "units", 2) => self.unit_row(cells[1], line),
            ("x", 2..) => self.header(&cells, line),
            ("outline" | "window", 1) => self.end_of_line(),
            ("hole", 4) => self.hole(&cells[1..], line),
            ("hole", _) => self.fault(
                line,
                "a hole takes x, y and its diameter",
                "write for instance: hole, 12, 20, 9",
            ),
            ("arc", 3) => self.arc(&cells[1..], line),
            ("arc", _) => self.fault(
                line,
                "an arc takes one point, x and y",
                "write for instance: arc, 120, 40",
            ),
            (_, 2 | 3) if word.starts_with(|c: char| c.is_ascii_digit() || "+-−.".contains(c)) => {
                self.corner(&cells, line)
            }
            (_, 2 | 3) | (_, 1) => self.fault(
                line,
                &format!("{} is no row of an outline", quoted(row.trim())),
                "begin it with a number, unit, arc, hole, window or outline",
            ),
            (_, many) => self.fault(
                line,
                &format!("{many} cells stand where x and y, or x, y and a radius are due"),
                "part decimals with a point where commas part the cells, or cells with semicolons",
            ),
        }
    }

    fn fault(&mut self, line: usize, what: &str, mend: &str) {
        self.faults
            .push(OutlineFault::new("table", what, mend).on_line(line));
    }

    fn unit_row(&mut self, name: &str, line: usize) {
        match LengthUnit::NAMED
            .iter()
            .find(|(n, _)| n.eq_ignore_ascii_case(name))
        {
            Some((_, unit)) => self.unit = self.options.unit.or(Some(*unit)),
            None => self.fault(
                line,
                &format!("{} is no known unit", quoted(name)),
                "write mm, cm, m, in or ft",
            ),
        }
    }

    fn header(&mut self, cells: &[&str], line: usize) {
        let known = |c: &str| {
            matches!(
                c.to_lowercase().as_str(),
                "x" | "y" | "radius" | "corner radius" | "bulge" | ""
            )
        };
        if let Some(odd) = cells.iter().find(|c| !known(c)) {
            let what = format!("the column {} is not known", quoted(odd));
            self.fault(
                line,
                &what,
                "name the columns x, y, radius or x, y, bulge; units go into a row: unit, mm",
            );
        }
        self.bulges = cells.iter().any(|c| c.eq_ignore_ascii_case("bulge"));
    }

    /// A length [m].
    fn length(&mut self, cell: &str, line: usize) -> f64 {
        let bare = cell.ends_with(|c: char| c.is_ascii_digit() || c == '.');
        let text = match (bare, self.unit) {
            (true, Some(unit)) => {
                self.bare = true;
                let name = LengthUnit::NAMED
                    .iter()
                    .find(|(_, u)| *u == unit)
                    .map_or("m", |(n, _)| n);
                match name {
                    // Units that only drawings have.
                    "px" | "pt" => return cell.parse().map_or(f64::NAN, |v: f64| v * unit.metres()),
                    _ => format!("{cell} {name}"),
                }
            }
            (true, None) => {
                let what = format!("{} carries no unit, and no row states one", quoted(cell));
                self.fault(line, &what, "begin the table with a row such as: unit, mm");
                return f64::NAN;
            }
            (false, _) => cell.to_owned(),
        };
        match measure::read(&text, Dimension::Length) {
            Ok(value) if value.abs() <= 100.0 => value,
            Ok(_) => {
                let what = format!("{} is longer than 100 m", quoted(cell));
                self.fault(line, &what, "check the number and its unit");
                f64::NAN
            }
            Err(fault) => {
                self.fault(line, &fault.what(), &fault.mend());
                f64::NAN
            }
        }
    }

    fn point(&mut self, cells: &[&str], line: usize) -> DVec2 {
        DVec2::new(self.length(cells[0], line), self.length(cells[1], line))
    }

    fn corner(&mut self, cells: &[&str], line: usize) {
        let at = self.point(cells, line);
        let (mut radius, mut bulge) = (0.0, 0.0);
        if let Some(cell) = cells.get(2).filter(|c| !c.is_empty()) {
            if self.bulges {
                let text = if self.delimiter == ',' {
                    (*cell).to_owned()
                } else {
                    cell.replace(',', ".")
                };
                match text.parse::<f64>() {
                    Ok(v) if v.abs() <= 1e4 => bulge = v,
                    _ => self.fault(
                        line,
                        &format!("{} is no bulge", quoted(cell)),
                        "write a plain number, 1 for half a circle",
                    ),
                }
            } else {
                radius = self.length(cell, line);
                if radius < 0.0 {
                    self.fault(line, "a corner radius is below zero", "write it without the sign");
                }
            }
        }
        self.corners.push(Corner {
            at,
            radius,
            bulge,
            through: None,
            line,
        });
    }

    fn arc(&mut self, cells: &[&str], line: usize) {
        let through = self.point(cells, line);
        match self.corners.last_mut() {
            Some(last) if last.through.is_none() && last.bulge == 0.0 => last.through = Some(through),
            Some(_) => self.fault(
                line,
                "two arcs follow each other without a corner",
                "state the corner between them",
            ),
            None => self.fault(
                line,
                "the outline begins with an arc",
                "begin it with a corner: x, y",
            ),
        }
    }

    fn hole(&mut self, cells: &[&str], line: usize) {
        let at = self.point(cells, line);
        let diameter = self.length(cells[2], line);
        if diameter <= 0.0 {
            self.fault(
                line,
                "a hole's diameter is not above zero",
                "write x, y and the diameter",
            );
        } else if diameter.is_finite() && at.is_finite() {
            self.closed
                .push((Closed::circle(at, 0.5 * diameter), String::new(), line));
        }
    }

    /// Closes the line that was being read.
    fn end_of_line(&mut self) {
        let mut corners = std::mem::take(&mut self.corners);
        if corners.is_empty() || !self.faults.is_empty() {
            return;
        }
        // A line that states its first corner again at its end is closed already.
        if corners.len() > 1
            && corners[0].at == corners[corners.len() - 1].at
            && corners[corners.len() - 1].through.is_none()
        {
            corners.pop();
        }
        let line = corners[0].line;
        let n = corners.len();
        for i in 0..n {
            let to = corners[(i + 1) % n].at;
            if let Some(through) = corners[i].through {
                let bulge = bulge_through(corners[i].at, through, to);
                if !(bulge.abs() > 1e-9) {
                    let line = corners[i].line;
                    self.fault(
                        line,
                        "an arc goes through three points on one line",
                        "give a point on the arc between its ends",
                    );
                    return;
                }
                corners[i].bulge = bulge;
            }
        }
        match rounded(&corners) {
            Ok(vertices) if vertices.len() >= 2 => {
                self.closed.push((Closed::new(vertices), String::new(), line))
            }
            Ok(_) => self.fault(
                line,
                "a line of one corner encloses nothing",
                "give three corners or more",
            ),
            Err(at) => self.fault(
                at,
                "the corner radius does not fit: its sides are too short, or one of them is an arc",
                "make it smaller, or type the fillet as an arc",
            ),
        }
    }
}

/// Fillets at the corners that have a radius; `Err` gives the line of the one that does not fit.
fn rounded(corners: &[Corner]) -> Result<Vec<(DVec2, f64)>, usize> {
    let n = corners.len();
    let turn = |i: usize| {
        let d = (corners[i].at - corners[(i + n - 1) % n].at).normalize_or_zero();
        let e = (corners[(i + 1) % n].at - corners[i].at).normalize_or_zero();
        (d, e, d.perp_dot(e).atan2(d.dot(e)))
    };
    let mut trims = vec![0.0; n];
    for i in 0..n {
        if corners[i].radius > 0.0 {
            if corners[i].bulge != 0.0 || corners[(i + n - 1) % n].bulge != 0.0 {
                return Err(corners[i].line);
            }
            trims[i] = corners[i].radius * (0.5 * turn(i).2.abs()).tan();
        }
    }
    let mut vertices = Vec::new();
    for i in 0..n {
        let side = corners[i].at.distance(corners[(i + 1) % n].at);
        if trims[i] + trims[(i + 1) % n] > side * (1.0 + 1e-9) {
            let worse = if trims[i] > 0.0 { i } else { (i + 1) % n };
            return Err(corners[worse].line);
        }
        if trims[i] == 0.0 {
            vertices.push((corners[i].at, corners[i].bulge));
            continue;
        }
        let (d, e, angle) = turn(i);
        vertices.push((corners[i].at - d * trims[i], (0.25 * angle).tan()));
        vertices.push((corners[i].at + e * trims[i], 0.0));
    }
    Ok(vertices)
}
