//! Viscosity and density of oils: published and worked answers.

/// D341 example: viscosity [mm²/s] at 40 °C and 100 °C, with T = t + 273 K as the sheet has it.
pub const D341_SHEET: (f64, f64) = (32.0, 5.4);

/// What that sheet prints: A, B, and the viscosity at 80 °C [mm²/s] (one place, so ± 0.05).
pub const D341_ANSWER: (f64, f64, f64) = (9.5259, 3.7449, 8.5);

/// Source of [`D341_SHEET`].
pub const D341_SOURCE: &str = "ASTM D341 short form, a published worked sheet (read)";

/// Viscosity by D341 from two points: ν at 40 °C, at 100 °C [mm²/s], temperature [°C], ν there [mm²/s].
/// Worked from the formula outside this program, T = t + 273.15 K, printed to the places shown.
pub const D341_WORKED: [(f64, f64, f64, f64); 10] = [
    (32.0, 5.4, 80.0, 8.5332),
    (65.0, 11.0, 20.0, 165.35),
    (65.0, 11.0, 80.0, 17.597),
    (65.0, 11.0, 120.0, 7.462),
    (65.0, 11.0, 150.0, 4.665),
    (130.0, 18.5, 20.0, 358.08),
    (130.0, 18.5, 120.0, 12.055),
    (130.0, 18.5, 140.0, 8.414),
    (160.0, 23.0, 80.0, 38.657),
    (160.0, 23.0, 130.0, 12.359),
];

/// Density of an oil of 870 kg/m³ at 15 °C: temperature [°C], density [kg/m³], worked outside this program
/// to two places.
pub const DENSITY_WORKED: [(f64, f64); 5] = [
    (0.0, 879.39),
    (15.0, 870.0),
    (40.0, 854.22),
    (100.0, 815.78),
    (120.0, 802.82),
];

/// Source of the density formula.
pub const DENSITY_SOURCE: &str = "API MPMS 11.1 / ASTM D1250 (1980), lubricating-oil group; inch form read in a public formula page, \
     metric constant from memory";

/// Bubbly oil, viscosity ratio gas to oil 0.00225: air share, factor on the viscosity.
pub const BUBBLES: [(f64, f64); 3] = [(0.05, 1.050_17), (0.10, 1.100_34), (0.15, 1.150_51)];

/// Source of [`BUBBLES`].
pub const BUBBLES_SOURCE: &str =
    "G. I. Taylor, Proc. R. Soc. A 138 (1932); use for oil bubbles after Murai & Oiwa 2008 (abstract read)";

/// Free air under suction (Boyle), 10 % at 101.325 kPa: pressure [Pa], air share.
pub const SUCTION: [(f64, f64); 3] = [(71_325.0, 0.136_33), (51_325.0, 0.179_89), (501_325.0, 0.021_96)];
