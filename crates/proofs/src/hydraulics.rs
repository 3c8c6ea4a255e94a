//! Orifices, openings, weirs and gates: published answers and answers worked by other means.
//!
//! Rows without a note of their own were worked outside this program from the formula named, to the digits
//! printed. "Library" rows come from the Python library `fluids` 1.3.1. Gravity is 9.80665 m/s² unless said.

/// Gravity of the rows that use 9.81 m/s².
pub const TEXTBOOK_GRAVITY: f64 = 9.81;

/// Orifice: Cd, bore [m], head [m], flow [L/min].
pub const ORIFICES: [(f64, f64, f64, f64); 3] = [
    (0.62, 0.020, 0.030, 8.9646),
    (0.61, 0.012, 0.050, 4.0991),
    (0.60, 0.025, 0.100, 24.748),
];

/// A textbook orifice (read): 1 inch hole under 9 ft of head passes 31 imperial gallons a minute; the ideal
/// jet would pass 49.16, so Cd = 0.63 (printed to two places).
pub const TEXTBOOK_ORIFICE: (f64, f64, f64) = (0.0254, 9.0 * 0.3048, 49.16 * 4.546_09e-3 / 60.0);

/// Tall opening: Cd, width, head over upper and lower edge [m], flow [L/min].
pub const TALL_OPENING: (f64, f64, f64, f64, f64) = (0.62, 0.1, 0.020, 0.050, 91.730);

/// Short bores, Lichtarowicz, Duggins & Markland 1965: Re on the ideal speed, length over bore, Cd, and
/// whether the page prints it (read) or it was worked from the formula.
pub const BORES: [(f64, f64, f64, bool); 5] = [
    (2e4, 2.0, 0.808_82, true),
    (100.0, 2.0, 0.428_42, true),
    (500.0, 2.0, 0.687_94, false),
    (1000.0, 4.0, 0.685_99, false),
    (5000.0, 3.0, 0.790_37, false),
];

/// Draining a tank: Cd, plan area, hole area [m²], head from and to [m], gravity [m/s²], time [s]. The first is a textbook
/// answer (read, to 0.1 s).
pub const DRAINING: [(f64, f64, f64, f64, f64, f64, f64); 5] = [
    (0.61, 2.0, 5e-4, 4.0, 1.0, 9.81, 2961.3),
    (0.61, 0.03, 3.1416e-4, 0.06, 0.01, 9.806_65, 10.247),
    (0.61, 0.075, 1.130_973e-4, 0.10, 0.02, 9.81, 85.806),
    (0.61, 0.040, 7.853_982e-5, 0.08, 0.0, 9.81, 106.627),
    (0.82, 0.075, 2.010_619e-4, 0.05, 0.01, 9.81, 25.389),
];

/// Two cells of equal plan levelling out through a drowned hole: Cd, plan areas, hole area [m²], level
/// difference from and to [m], time [s] (agreed by an ODE solver to 4.57549).
pub const LEVELLING: (f64, f64, f64, f64, f64, f64, f64) = (0.61, 0.03, 0.03, 3e-4, 0.05, 0.01, 4.5755);

/// Full-width thin weirs (library): head, crest height, width [m]; Rehbock, Kindsvater–Carter [m³/s].
pub const WEIRS: [(f64, f64, f64, f64, f64); 3] = [
    (0.03, 0.10, 0.20, 2.0452e-3, 2.0027e-3),
    (0.05, 0.10, 0.20, 4.4093e-3, 4.3275e-3),
    (0.30, 0.40, 2.0, 0.648_686, 0.641_560),
];

/// Broad-crested weir: head, width [m], Cd, flow [m³/s], g = 9.81 (form and Cd 0.848 of ISO 3846, from memory; Cd 1 is
/// no loss).
pub const BROAD_CRESTS: [(f64, f64, f64, f64); 6] = [
    (0.05, 0.30, 0.848, 0.004_849),
    (0.05, 0.30, 1.0, 0.005_718),
    (0.08, 0.30, 0.848, 0.009_814),
    (0.08, 0.30, 1.0, 0.011_573),
    (0.10, 0.50, 0.848, 0.022_859),
    (0.10, 0.50, 1.0, 0.026_957),
];

/// Drowned weir (Villemonte; exponent from memory): downstream over upstream head, part of the free flow.
pub const DROWNED_WEIRS: [(f64, f64); 4] = [
    (0.25, 0.949_89),
    (0.5, 0.845_39),
    (0.75, 0.667_88),
    (0.9, 0.476_97),
];

/// Underflow gate, opening 0.01 m, width 0.2 m: upstream depth [m], Cd of Swamee 1992 (from memory), Cd of the
/// momentum form with contraction 0.611. The two differ by 4 to 6 %: that is the honest uncertainty.
pub const GATES: [(f64, f64, f64); 2] = [(0.10, 0.567_67, 0.593_15), (0.05, 0.544_15, 0.576_78)];

/// Gate flows [m³/s] of the first row, by the two forms.
pub const GATE_FLOWS: (f64, f64) = (1.590e-3, 1.661e-3);

/// Submergence asked for by the pump-intake standard ANSI/HI 9.8 (formula read, text not): flow [m³/s], bell
/// diameter, submergence [m]. Made for water wells: at pickup size it asks for more than a pan is deep.
pub const SUBMERGENCE: [(f64, f64, f64); 4] = [
    (0.1, 0.3, 0.8691),
    (40e-3 / 60.0, 0.030, 0.1500),
    (40e-3 / 60.0, 0.018, 0.2762),
    (60e-3 / 60.0, 0.040, 0.1569),
];
