//! Writes figures true to size: DXF, SVG and a table.
//!
//! Every file is in millimetres and says so twice where its format can, arcs are written as arcs, and a bar of 100 mm lies
//! on a layer that is not cut, to be measured on paper or on the machine's screen. [`checked`] reads what was written
//! with our own readers and compares before anything is announced; [`checked_flat`] does so for a flat pattern, whose
//! edges lie on the layer CUT beside the layers BEND and MARK.

mod dxf;
mod svg;
mod table;

use crate::figure::{Figure, ReadOptions};
use crate::read::read;
use glam::DVec2;
use serde::Serialize;

/// Length of the bar that is not cut [m].
pub const BAR: f64 = 0.1;
/// Largest distance of what is read back from what was meant [m].
pub const READ_BACK: f64 = 1e-6;

/// The kinds of file that are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Format {
    /// DXF of the year 2000, the oldest with true polylines of arcs, which every cutter's program reads.
    Dxf,
    /// SVG with its size in mm.
    Svg,
    /// Our own table, for a text editor.
    Csv,
}

impl Format {
    /// By the ending of a file's name.
    pub fn of_ending(ending: &str) -> Option<Format> {
        Some(match ending.to_ascii_lowercase().as_str() {
            "dxf" => Format::Dxf,
            "svg" => Format::Svg,
            "csv" => Format::Csv,
            _ => return None,
        })
    }
}

/// What a line or a word beside the cut edges is for: its layer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum MarkKind {
    /// Where metal is bent.
    Bend,
    /// Scribed, or only read: centres, words.
    Mark,
}

impl MarkKind {
    /// All kinds with their layers in a DXF file and groups in an SVG file.
    const ALL: [(MarkKind, &'static str, &'static str); 2] =
        [(MarkKind::Bend, "BEND", "bend"), (MarkKind::Mark, "MARK", "mark")];
}

/// A line or a word that is not cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub enum Mark {
    /// A straight line.
    Line {
        /// Its layer.
        kind: MarkKind,
        /// One end [m].
        from: DVec2,
        /// Other end [m].
        to: DVec2,
    },
    /// Words.
    Words {
        /// Their layer.
        kind: MarkKind,
        /// Where the base line begins [m].
        at: DVec2,
        /// Turn [rad], counter-clockwise.
        turn: f64,
        /// Height of capital letters [m].
        height: f64,
        /// The words, on one line.
        words: String,
    },
}

impl Mark {
    fn kind(&self) -> MarkKind {
        match self {
            Mark::Line { kind, .. } | Mark::Words { kind, .. } => *kind,
        }
    }
}

/// The layer of the cut edges of a flat pattern, in a DXF file and as a group in an SVG file.
const CUT: [&str; 2] = ["CUT", "cut"];

/// Why a file was not written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WriteFault {
    /// What was read back is not what was meant: a fault of this program.
    #[error("the file, read back, differs from the outline: {0}")]
    Differs(String),
}

/// The figure as a file, read back and compared.
///
/// # Errors
/// When what is read back differs from the figure by more than [`READ_BACK`]; that would be a fault of the writer.
pub fn checked(figure: &Figure, format: Format) -> Result<String, WriteFault> {
    let text = match format {
        Format::Dxf => dxf::file(figure, None),
        Format::Svg => svg::file(figure, None),
        Format::Csv => table::file(figure),
    };
    compared(figure, format, text, Vec::new())
}

/// A flat pattern as a DXF or SVG file with its edges on one layer CUT and its marks on BEND and MARK, read back and
/// compared; a table has no layers and holds the edges only.
///
/// # Errors
/// As [`checked`].
pub fn checked_flat(figure: &Figure, marks: &[Mark], format: Format) -> Result<String, WriteFault> {
    let (text, layer) = match format {
        Format::Dxf => (dxf::file(figure, Some(marks)), Some(CUT[0])),
        Format::Svg => (svg::file(figure, Some(marks)), Some(CUT[1])),
        Format::Csv => (table::file(figure), None),
    };
    compared(
        figure,
        format,
        text,
        layer.map(str::to_owned).into_iter().collect(),
    )
}

fn compared(
    figure: &Figure,
    format: Format,
    text: String,
    layers: Vec<String>,
) -> Result<String, WriteFault> {
    let options = ReadOptions {
        fit: 1e-6,
        layers,
        ..ReadOptions::default()
    };
    let (_, back) = read(text.as_bytes(), &options)
        .map_err(|faults| WriteFault::Differs(faults.first().map_or(String::new(), ToString::to_string)))?;
    // A page has its own origin; drawings and tables keep the figure's.
    let shift = figure.bounds().0 - back.bounds().0;
    let back = match format {
        Format::Svg => back.placed(glam::DMat2::IDENTITY, shift),
        _ => back,
    };
    if let Some(difference) = difference(figure, &back) {
        return Err(WriteFault::Differs(difference));
    }
    Ok(text)
}

/// In what two figures differ by more than [`READ_BACK`].
fn difference(meant: &Figure, back: &Figure) -> Option<String> {
    if meant.shapes.len() != back.shapes.len() {
        return Some(format!(
            "{} lines instead of {}",
            back.shapes.len(),
            meant.shapes.len()
        ));
    }
    // Names follow places, and a millionth of a millimetre may change their order: each finds its nearest.
    let mut free: Vec<usize> = (0..back.shapes.len()).collect();
    for shape in &meant.shapes {
        let probes: Vec<_> = (shape.line.sides())
            .flat_map(|s| [s.at(0.0), s.at(0.5)])
            .collect();
        let off = |i: usize| {
            let line = &back.shapes[i].line;
            let most = probes.iter().map(|p| line.distance(*p)).fold(0.0, f64::max);
            most.max((line.length() - shape.line.length()).abs() / std::f64::consts::TAU)
        };
        let best = free.iter().position(|&i| off(i) <= READ_BACK);
        match best {
            Some(place) => drop(free.swap_remove(place)),
            None => return Some(format!("{} is not there as it was", shape.name)),
        }
    }
    None
}

/// A length in millimetres with as many digits as a double holds and no exponent.
fn mm(metres: f64) -> String {
    let text = format!("{:.9}", metres * 1e3);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}
