//! Units of length that drawings come in, and the faults of scale that the trade sees again and again.

use serde::Serialize;

/// A unit of length.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum LengthUnit {
    /// Micrometre.
    Micrometre,
    /// Millimetre.
    Millimetre,
    /// Centimetre.
    Centimetre,
    /// Decimetre.
    Decimetre,
    /// Metre.
    Metre,
    /// Thousandth of an inch.
    Mil,
    /// Inch.
    Inch,
    /// Foot.
    Foot,
    /// Yard.
    Yard,
    /// A 96th of an inch: a pixel of style sheets (CSS Values and Units).
    Pixel96,
    /// A 72nd of an inch: a point of page descriptions.
    Point,
}

impl LengthUnit {
    /// All that may be asked for by name.
    pub const NAMED: [(&'static str, LengthUnit); 9] = [
        ("mm", LengthUnit::Millimetre),
        ("cm", LengthUnit::Centimetre),
        ("m", LengthUnit::Metre),
        ("in", LengthUnit::Inch),
        ("ft", LengthUnit::Foot),
        ("mil", LengthUnit::Mil),
        ("um", LengthUnit::Micrometre),
        ("px", LengthUnit::Pixel96),
        ("pt", LengthUnit::Point),
    ];

    /// One of it [m].
    pub fn metres(self) -> f64 {
        const INCH: f64 = 0.0254;
        match self {
            LengthUnit::Micrometre => 1e-6,
            LengthUnit::Millimetre => 1e-3,
            LengthUnit::Centimetre => 1e-2,
            LengthUnit::Decimetre => 0.1,
            LengthUnit::Metre => 1.0,
            LengthUnit::Mil => 1e-3 * INCH,
            LengthUnit::Inch => INCH,
            LengthUnit::Foot => 12.0 * INCH,
            LengthUnit::Yard => 36.0 * INCH,
            LengthUnit::Pixel96 => INCH / 96.0,
            LengthUnit::Point => INCH / 72.0,
        }
    }

    /// Its name in a sentence.
    pub fn words(self) -> &'static str {
        match self {
            LengthUnit::Micrometre => "micrometres",
            LengthUnit::Millimetre => "millimetres",
            LengthUnit::Centimetre => "centimetres",
            LengthUnit::Decimetre => "decimetres",
            LengthUnit::Metre => "metres",
            LengthUnit::Mil => "thousandths of an inch",
            LengthUnit::Inch => "inches",
            LengthUnit::Foot => "feet",
            LengthUnit::Yard => "yards",
            LengthUnit::Pixel96 => "96ths of an inch",
            LengthUnit::Point => "72nds of an inch",
        }
    }

    /// The unit of a DXF file's `$INSUNITS`; `None` for "no unit" (0) and for astronomers' and surveyors' units.
    ///
    /// Source: the DXF reference's table of insertion units (from memory): 1 inch, 2 foot, 4 mm, 5 cm, 6 m, 9 mil,
    /// 10 yard, 13 micrometre, 14 decimetre.
    pub fn of_insertion_units(code: i64) -> Option<LengthUnit> {
        Some(match code {
            1 => LengthUnit::Inch,
            2 => LengthUnit::Foot,
            4 => LengthUnit::Millimetre,
            5 => LengthUnit::Centimetre,
            6 => LengthUnit::Metre,
            9 => LengthUnit::Mil,
            10 => LengthUnit::Yard,
            13 => LengthUnit::Micrometre,
            14 => LengthUnit::Decimetre,
            _ => return None,
        })
    }
}

/// How the unit of a drawing came to be known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum UnitOrigin {
    /// The file states it.
    Stated,
    /// The user said it.
    Asked,
    /// Nobody said it; the format's usual one was taken, and it wants proof.
    Assumed,
}
