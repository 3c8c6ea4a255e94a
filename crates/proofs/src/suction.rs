//! The suction side: friction, fittings, screens, whole lines, air coming out of oil.
//!
//! "Library" is the Python library `fluids` 1.3.1, run outside this program. Rows without a note were worked outside it
//! from the formula named, to the digits printed.

/// Darcy friction factor by Churchill 1977: Re, roughness over bore, f (library).
pub const CHURCHILL: [(f64, f64, f64); 7] = [
    (500.0, 0.0, 0.128_000),
    (2000.0, 1e-3, 0.032_043),
    (2500.0, 1e-3, 0.035_203),
    (4000.0, 1e-3, 0.041_728),
    (1e4, 1e-3, 0.032_690),
    (1e5, 1e-4, 0.018_463),
    (1e5, 0.0, 0.017_875),
];

/// The same by Colebrook, turbulent flow only: Re, roughness over bore, f (library).
pub const COLEBROOK: [(f64, f64, f64); 4] = [
    (4000.0, 1e-3, 0.040_910),
    (1e4, 1e-3, 0.032_382),
    (1e5, 1e-4, 0.018_514),
    (1e5, 0.0, 0.017_990),
];

/// Edge of a tube in the open, bore 18 mm: wall [m], K (library, Rennels).
pub const FREE_EDGES: [(f64, f64); 4] = [
    (0.3e-3, 0.813_70),
    (0.5e-3, 0.677_27),
    (0.8e-3, 0.575_91),
    (1.0e-3, 0.57),
];

/// Rounded entrance: radius over bore, K (library, Rennels).
pub const ROUNDED: [(f64, f64); 6] = [
    (0.02, 0.396_49),
    (0.04, 0.324_30),
    (0.06, 0.273_11),
    (0.10, 0.202_91),
    (0.15, 0.148_49),
    (0.30, 0.078_33),
];

/// Step to a narrower bore: narrow over wide, K on the speed in the narrow one (library, Rennels).
pub const STEPS: [(f64, f64); 5] = [
    (0.2, 0.561_88),
    (0.4, 0.530_13),
    (0.6, 0.438_59),
    (0.8, 0.230_34),
    (0.95, 0.035_12),
];

/// Cone from 38 to 19 mm at a friction factor of 0.03: length [m], K on the speed in the narrow bore (library, Rennels).
pub const CONES: [(f64, f64); 3] = [(0.02, 0.093_88), (0.04, 0.050_45), (0.10, 0.048_02)];

/// Step to a wider bore, from 18 mm: wide bore [m], K on the speed in the narrow one (library, Borda–Carnot).
pub const WIDENINGS: [(f64, f64); 3] = [(0.020, 0.036_10), (0.025, 0.231_94), (0.030, 0.409_60)];

/// Smooth bends: angle [deg], radius over bore, friction factor, K (library, Rennels).
pub const BENDS: [(f64, f64, f64, f64); 10] = [
    (30.0, 1.0, 0.02, 0.150_10),
    (30.0, 3.0, 0.04, 0.210_98),
    (45.0, 1.5, 0.02, 0.168_31),
    (45.0, 2.0, 0.04, 0.270_01),
    (90.0, 1.0, 0.02, 0.340_40),
    (90.0, 1.5, 0.02, 0.242_59),
    (90.0, 2.0, 0.02, 0.218_57),
    (90.0, 3.0, 0.04, 0.372_50),
    (180.0, 1.5, 0.02, 0.294_40),
    (180.0, 3.0, 0.04, 0.579_51),
];

/// A smooth 90° bend at Re 1e5, bore 20 mm, roughness 1.5 µm: radius over bore, K (library, Rennels with Colebrook's
/// friction).
pub const BENDS_AT_1E5: [(f64, f64); 4] =
    [(1.0, 0.318_64), (1.5, 0.228_72), (2.0, 0.206_64), (3.0, 0.209_43)];

/// A 90° elbow of 18 mm by Hooper's two constants 800 and 0.2: Re, K (library).
pub const TWO_CONSTANTS: [(f64, f64); 4] = [
    (50.0, 16.482_22),
    (100.0, 8.482_22),
    (1000.0, 1.282_22),
    (1e4, 0.562_22),
];

/// Screens of round wires: open share, Re of the gap, K on the speed of approach (library, Blevins).
pub const SCREENS: [(f64, f64, f64); 10] = [
    (0.3, 20.0, 13.144_44),
    (0.3, 400.0, 5.257_78),
    (0.4, 60.0, 4.3575),
    (0.4, 400.0, 2.730),
    (0.5, 20.0, 3.900),
    (0.5, 100.0, 2.100),
    (0.55, 150.0, 1.498_76),
    (0.6, 40.0, 1.688_89),
    (0.7, 200.0, 0.624_49),
    (0.8, 30.0, 0.618_75),
];

/// Square-edged perforated plates in fast flow: open share, K (library, Blevins).
pub const PLATES: [(f64, f64); 6] = [
    (0.3, 17.0),
    (0.4, 7.7),
    (0.5, 3.8),
    (0.6, 2.0),
    (0.7, 1.1),
    (0.8, 0.53),
];

/// A whole line, Churchill, roughness 1.5 µm, pump 50 mm above the oil, 101,325 Pa over it.
pub struct Line {
    /// Flow [L/min].
    pub flow: f64,
    /// Bore [m].
    pub bore: f64,
    /// Length [m].
    pub length: f64,
    /// Density [kg/m³].
    pub density: f64,
    /// Kinematic viscosity [mm²/s].
    pub viscosity: f64,
    /// Sum of the coefficients of its fittings.
    pub fittings: f64,
    /// Loss of friction and fittings [Pa], where the sheet prints it.
    pub loss: Option<f64>,
    /// Pressure at the pump [Pa].
    pub inlet: f64,
}

/// Whole lines, worked outside this program with the library's friction.
pub const LINES: [Line; 3] = [
    Line {
        flow: 40.0,
        bore: 0.018,
        length: 0.30,
        density: 800.0,
        viscosity: 10.0,
        fittings: 0.8,
        loss: Some(3966.0),
        inlet: 94_221.0,
    },
    Line {
        flow: 60.0,
        bore: 0.019,
        length: 0.35,
        density: 805.0,
        viscosity: 8.0,
        fittings: 1.1,
        loss: Some(8523.6),
        inlet: 87_400.0,
    },
    Line {
        flow: 20.0,
        bore: 0.018,
        length: 0.30,
        density: 870.0,
        viscosity: 400.0,
        fittings: 0.8,
        loss: Some(14_104.0),
        inlet: 86_048.0,
    },
];

/// Air out of oil saturated at 101,325 Pa, Bunsen coefficient 0.09, in the end: pressure [Pa], share of the volume.
pub const RELEASED: [(f64, f64); 3] = [(80e3, 0.0234), (70e3, 0.0387), (50e3, 0.0846)];

/// Viscosity of air: temperature [K], [Pa·s] (U.S. Standard Atmosphere 1976, tables at 0, 5 and 11 km, from memory).
pub const AIR_VISCOSITY: [(f64, f64); 3] = [(288.15, 1.7894e-5), (255.68, 1.6282e-5), (216.77, 1.4223e-5)];

/// Air through a round channel without ends, steady and isothermal, dry air: bore, length [m], pressures before and behind
/// [Pa], temperature [K], mass flow [kg/s] (library `isothermal_gas`, friction by Churchill, Sutherland's viscosity).
pub const AIR_IN_TUBES: [(f64, f64, f64, f64, f64, f64); 3] = [
    (1.0e-3, 0.05, 101_325.0, 81_325.0, 383.15, 9.466_115e-5),
    (0.5e-3, 0.02, 101_325.0, 71_325.0, 383.15, 2.734_293e-5),
    (2.0e-3, 0.20, 101_325.0, 91_325.0, 293.15, 2.580_097e-4),
];

/// Air creeping through a slot, `h³ (p₁² − p₂²)/(24 μ R T L)`: gap, length [m], pressures [Pa], temperature [K], mass flow by
/// width [kg/(m s)].
pub const AIR_IN_SLOTS: [(f64, f64, f64, f64, f64, f64); 3] = [
    (2e-5, 0.006, 101_325.0, 81_325.0, 383.15, 8.328_497e-5),
    (3e-5, 0.010, 101_325.0, 91_325.0, 373.15, 9.309_679e-5),
    (1e-5, 0.006, 101_325.0, 71_325.0, 383.15, 1.476_097e-5),
];
