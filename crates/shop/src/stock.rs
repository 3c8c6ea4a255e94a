//! What parts are made of.

/// A stuff with its density.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stuff {
    /// The word for it.
    pub name: &'static str,
    /// Density at 20 °C [kg/m³].
    pub density: f64,
    /// Whether it comes as sheet that is cut and bent.
    pub rolled: bool,
}

const fn stuff(name: &'static str, density: f64, rolled: bool) -> Stuff {
    Stuff {
        name,
        density,
        rolled,
    }
}

/// Densities. Wrought aluminium, carbon steel 7850 and stainless 7900 as in EN 1991-1-1 and EN 10088-1, castings by
/// EN 1706 (AC-42000) and AZ91 handbooks; PLA, nylon, ABS and fibre sheet by makers' sheets. All from memory, true to 2 %
/// but for the plastics, of which a print is never full.
pub const STUFFS: [Stuff; 16] = [
    stuff("aluminium 6061-T6", 2700.0, true),
    stuff("aluminium 6082-T6", 2700.0, true),
    stuff("aluminium 5083", 2660.0, true),
    stuff("cast aluminium", 2680.0, false),
    stuff("magnesium AZ91", 1810.0, false),
    stuff("cast iron", 7200.0, false),
    stuff("mild steel", 7850.0, true),
    stuff("steel S355", 7850.0, true),
    stuff("stainless 304", 7900.0, true),
    stuff("copper", 8960.0, true),
    stuff("brass", 8470.0, true),
    stuff("PLA", 1240.0, false),
    stuff("PETG", 1270.0, false),
    stuff("ABS", 1050.0, false),
    stuff("nylon", 1140.0, false),
    stuff("fibre sheet", 1700.0, false),
];

/// The stuff of that name.
pub fn named(name: &str) -> Option<Stuff> {
    STUFFS.iter().find(|s| s.name == name).copied()
}
