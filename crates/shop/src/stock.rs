//! What parts are made of.

/// A stuff with its density.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stuff {
    /// The word for it.
    pub name: &'static str,
    /// Density at 20 °C [kg/m³].
    pub density: f64,
}

const fn stuff(name: &'static str, density: f64) -> Stuff {
    Stuff { name, density }
}

/// Densities. Wrought aluminium, carbon steel 7850 and stainless 7900 as in EN 1991-1-1 and EN 10088-1, castings by
/// EN 1706 (AC-42000) and AZ91 handbooks; PLA, nylon, ABS and fibre sheet by makers' sheets. All from memory, true to 2 %
/// but for the plastics, of which a print is never full.
pub const STUFFS: [Stuff; 16] = [
    stuff("aluminium 6061-T6", 2700.0),
    stuff("aluminium 6082-T6", 2700.0),
    stuff("aluminium 5083", 2660.0),
    stuff("cast aluminium", 2680.0),
    stuff("magnesium AZ91", 1810.0),
    stuff("cast iron", 7200.0),
    stuff("mild steel", 7850.0),
    stuff("steel S355", 7850.0),
    stuff("stainless 304", 7900.0),
    stuff("copper", 8960.0),
    stuff("brass", 8470.0),
    stuff("PLA", 1240.0),
    stuff("PETG", 1270.0),
    stuff("ABS", 1050.0),
    stuff("nylon", 1140.0),
    stuff("fibre sheet", 1700.0),
];

/// The stuff of that name.
pub fn named(name: &str) -> Option<Stuff> {
    STUFFS.iter().find(|s| s.name == name).copied()
}
