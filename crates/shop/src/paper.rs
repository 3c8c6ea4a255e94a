//! Sheets of paper as printers take them.

use serde::Serialize;

/// A size of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// ISO 216 A4.
    A4,
    /// US Letter (ANSI A).
    Letter,
}

impl Paper {
    /// All sizes with the word a design says them by.
    pub const ALL: [(&'static str, Paper); 2] = [("A4", Paper::A4), ("Letter", Paper::Letter)];

    /// Width and height, upright [m]. ISO 216 A4; ANSI/ASME Y14.1 A, 8.5 in by 11 in.
    pub fn size(self) -> [f64; 2] {
        match self {
            Paper::A4 => [0.210, 0.297],
            Paper::Letter => [0.2159, 0.2794],
        }
    }
}
