//! The unit of length that a file is in: stated, told by the file, or guessed from the size that pans have.

use crate::fault::{Fault, length};

/// Shortest and longest pan [m]; common practice, no source: from a one-cylinder engine to a V12 of a truck.
pub const PAN: (f64, f64) = (0.2, 1.2);

/// A unit of length.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Unit {
    /// A thousandth of a millimetre.
    Micron,
    /// Millimetre; 3MF's when it says none.
    #[default]
    Millimetre,
    /// Centimetre.
    Centimetre,
    /// Metre.
    Metre,
    /// Inch, 25.4 mm.
    Inch,
    /// Foot, 12 in.
    Foot,
}

/// How the unit is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnitFrom {
    /// The user stated it.
    Stated,
    /// The file says it.
    File,
    /// From the size.
    Size,
}

use Unit::{Centimetre, Foot, Inch, Metre, Micron, Millimetre};

impl Unit {
    /// All of them.
    pub const ALL: [Unit; 6] = [Micron, Millimetre, Centimetre, Metre, Inch, Foot];

    /// Its length [m].
    pub fn metres(self) -> f64 {
        match self {
            Micron => 1e-6,
            Millimetre => 1e-3,
            Centimetre => 1e-2,
            Metre => 1.0,
            Inch => 0.0254,
            Foot => 0.3048,
        }
    }

    /// As it is written.
    pub fn word(self) -> &'static str {
        match self {
            Micron => "um",
            Millimetre => "mm",
            Centimetre => "cm",
            Metre => "m",
            Inch => "in",
            Foot => "ft",
        }
    }

    /// Several of it.
    pub fn many(self) -> &'static str {
        match self {
            Micron => "microns",
            Millimetre => "millimetres",
            Centimetre => "centimetres",
            Metre => "metres",
            Inch => "inches",
            Foot => "feet",
        }
    }

    /// By [`Unit::word`].
    pub fn named(word: &str) -> Option<Unit> {
        Unit::ALL.into_iter().find(|u| u.word() == word)
    }

    /// By the word that a 3MF file uses.
    pub(crate) fn of_3mf(word: &str) -> Option<Unit> {
        Some(match word {
            "micron" => Micron,
            "millimeter" => Millimetre,
            "centimeter" => Centimetre,
            "meter" => Metre,
            "inch" => Inch,
            "foot" => Foot,
            _ => return None,
        })
    }
}

/// Which unit makes a pan of something `size` long in the file's own numbers.
///
/// Inches and centimetres overlap: between 20 and 47 both are a pan, and that is asked.
pub fn guess(size: f64) -> Result<Unit, Fault> {
    // Whole pans are drawn in mm, in, m or cm; nobody draws one in feet or microns.
    let fits: Vec<Unit> = [Millimetre, Inch, Metre, Centimetre]
        .into_iter()
        .filter(|u| (PAN.0..=PAN.1).contains(&(size * u.metres())))
        .collect();
    let long = |u: &Unit| format!("{} in {}", length(size * u.metres()), u.many());
    match fits[..] {
        [one] => Ok(one),
        [] => Err(Fault::new(
            "solid-unit",
            format!(
                "the file does not say its unit, and in none is its length of {size:.4} that of a pan: it would be {}",
                [Millimetre, Inch, Centimetre, Metre]
                    .iter()
                    .map(long)
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
            "state the unit, if this is the right file",
        )),
        _ => Err(Fault::new(
            "solid-unit",
            format!(
                "the file does not say its unit: its length of {size:.4} is {}",
                fits.iter().map(long).collect::<Vec<_>>().join(" and ")
            ),
            "state the unit that gives the length you measure",
        )),
    }
}

/// A slip of the unit, when the size is that of no pan and a usual factor makes it one; `size` [m].
///
/// Refused only well outside of what pans are (a tenth of a metre to two), so that an odd pan passes.
pub fn slip(size: f64, unit: Unit, from: UnitFrom) -> Option<Fault> {
    if (0.5 * PAN.0..=2.0 * PAN.1).contains(&size) {
        return None;
    }
    // The likeliest first: a pan is drawn in mm or inches, and STEP-minded programs write metres.
    let meant = [Millimetre, Inch, Metre, Centimetre]
        .into_iter()
        .filter(|meant| *meant != unit)
        .find(|meant| (PAN.0..=PAN.1).contains(&(size / unit.metres() * meant.metres())))?;
    let factor = meant.metres() / unit.metres();
    let who = match from {
        UnitFrom::Stated => "as stated",
        UnitFrom::File => "as the file says",
        UnitFrom::Size => "as guessed",
    };
    let shown = |factor: f64| {
        let text = format!("{factor:.4}");
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    };
    let shown = if factor >= 1.0 {
        shown(factor)
    } else {
        format!("1/{}", shown(1.0 / factor))
    };
    Some(Fault::new(
        "solid-unit",
        format!(
            "in {}, {who}, the solid is {} long, which no pan is; {shown} times that is {}: {} taken for {}?",
            unit.word(),
            length(size),
            length(size * factor),
            meant.many(),
            unit.many(),
        ),
        "state the unit that the numbers in the file are in",
    ))
}
