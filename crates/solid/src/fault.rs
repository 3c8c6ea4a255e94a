//! Why a file gives no solid: what, where in the file or on the solid, how to mend it.

use glam::DVec3;
use std::fmt;

/// One thing wrong with a file or with the solid in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Stable name of this kind of fault, such as `solid-open`.
    pub id: &'static str,
    /// What is wrong: a sentence without a full stop.
    pub what: String,
    /// Where.
    pub spot: Spot,
    /// How to mend it: a sentence without a full stop.
    pub mend: String,
    /// Places on the solid that a picture can show, worst first.
    pub marks: Vec<Mark>,
}

/// Where in a file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Spot {
    /// The file as a whole.
    #[default]
    File,
    /// A line of text, from 1.
    Line(usize),
    /// A facet of a binary file, from 1.
    Facet(usize),
    /// A part of a package, and the line in it (0 for the whole part).
    Part(String, usize),
}

/// A place on the solid.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// Its middle [m], in the axes of the file.
    pub at: DVec3,
    /// How far across [m].
    pub across: f64,
    /// A word or two for a picture.
    pub what: &'static str,
}

impl Fault {
    /// A fault of the whole file.
    pub fn new(id: &'static str, what: impl Into<String>, mend: impl Into<String>) -> Fault {
        Fault {
            id,
            what: what.into(),
            spot: Spot::File,
            mend: mend.into(),
            marks: Vec::new(),
        }
    }

    /// The same at a place of the file.
    pub fn at(self, spot: Spot) -> Fault {
        Fault { spot, ..self }
    }

    /// The same with places on the solid.
    pub fn marked(self, marks: Vec<Mark>) -> Fault {
        Fault { marks, ..self }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(&self.what)
    }
}

impl std::error::Error for Fault {}

impl fmt::Display for Spot {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Spot::File => Ok(()),
            Spot::Line(line) => write!(f, "line {line}"),
            Spot::Facet(facet) => write!(f, "facet {facet}"),
            Spot::Part(part, 0) => write!(f, "{part}"),
            Spot::Part(part, line) => write!(f, "{part} line {line}"),
        }
    }
}

/// A place as a person reads it: "(12.0, -30.5, 4.0) mm".
pub fn place(at: DVec3) -> String {
    let mm = at * 1e3;
    // No "-0.0".
    let [x, y, z] = mm.to_array().map(|v| (v * 10.0).round() / 10.0 + 0.0);
    format!("({x:.1}, {y:.1}, {z:.1}) mm")
}

/// A length as a person reads it: three digits, in mm.
pub fn length(metres: f64) -> String {
    let mm = metres * 1e3;
    let digits = match mm.abs() {
        a if a >= 100.0 => 0,
        a if a >= 10.0 => 1,
        a if a >= 1.0 => 2,
        _ => 3,
    };
    let text = format!("{mm:.digits$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    format!("{text} mm")
}
