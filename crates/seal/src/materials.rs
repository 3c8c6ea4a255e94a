//! Metals and gasket sheets by the words that a shop uses.

/// A metal of flange or block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Metal {
    /// The word for it.
    pub name: &'static str,
    /// Young's modulus [Pa].
    pub youngs: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Thermal expansion, 20 to 150 °C [1/K].
    pub expansion: f64,
    /// Least tensile strength [Pa].
    pub strength: f64,
    /// Shear strength over tensile strength.
    pub shear: f64,
    /// Pressure that it bears under a bolt head [Pa].
    pub bearing: f64,
    /// What it is, where that matters to the bolt.
    pub kind: MetalKind,
}

/// Families of metals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MetalKind {
    /// Rolled or forged aluminium.
    Aluminium,
    /// Cast aluminium.
    CastAluminium,
    /// Magnesium.
    Magnesium,
    /// Cast iron.
    Iron,
    /// Steel.
    Steel,
}

const fn metal(
    name: &'static str,
    kind: MetalKind,
    gpa: f64,
    per_k: f64,
    mpa: [f64; 2],
    shear: f64,
) -> Metal {
    Metal {
        name,
        youngs: gpa * 1e9,
        poisson: match kind {
            MetalKind::Aluminium | MetalKind::CastAluminium => 0.33,
            MetalKind::Magnesium => 0.35,
            MetalKind::Iron => 0.26,
            MetalKind::Steel => 0.3,
        },
        expansion: per_k * 1e-6,
        strength: mpa[0] * 1e6,
        shear,
        bearing: mpa[1] * 1e6,
        kind,
    }
}

/// Handbook values from memory; strengths are least values of the usual temper, bearing pressures the lower ones of the
/// editions of VDI 2230 (from memory). State `strength` in the design where you know yours.
pub const METALS: [Metal; 9] = [
    metal(
        "aluminium 6061-T6",
        MetalKind::Aluminium,
        69.0,
        23.6,
        [290.0, 260.0],
        0.6,
    ),
    metal(
        "aluminium 6082-T6",
        MetalKind::Aluminium,
        70.0,
        23.4,
        [310.0, 260.0],
        0.6,
    ),
    metal(
        "aluminium 5083",
        MetalKind::Aluminium,
        71.0,
        23.8,
        [275.0, 230.0],
        0.6,
    ),
    metal(
        "cast aluminium",
        MetalKind::CastAluminium,
        72.0,
        21.5,
        [220.0, 200.0],
        0.6,
    ),
    metal(
        "magnesium AZ91",
        MetalKind::Magnesium,
        45.0,
        26.0,
        [160.0, 140.0],
        0.65,
    ),
    metal("cast iron", MetalKind::Iron, 110.0, 11.0, [220.0, 600.0], 0.6),
    metal("mild steel", MetalKind::Steel, 205.0, 12.0, [340.0, 260.0], 0.6),
    metal("steel S355", MetalKind::Steel, 205.0, 12.0, [490.0, 420.0], 0.6),
    metal(
        "stainless 304",
        MetalKind::Steel,
        193.0,
        16.5,
        [500.0, 210.0],
        0.6,
    ),
];

impl Metal {
    /// The metal of that name.
    pub fn named(name: &str) -> Option<Metal> {
        METALS.iter().find(|m| m.name == name).copied()
    }
}

/// A gasket sheet. Shares of 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sheet {
    /// The word for it.
    pub name: &'static str,
    /// Compressibility, ASTM F36: from, to.
    pub compressibility: [f64; 2],
    /// Pressure at which that is measured [Pa].
    pub tested_at: f64,
    /// Least recovery, ASTM F36.
    pub recovery: f64,
    /// Creep relaxation, ASTM F38: from, to.
    pub creep: [f64; 2],
    /// Working pressure: from, to [Pa].
    pub working: [f64; 2],
    /// Highest temperature [K].
    pub hottest: f64,
}

const fn sheet(
    name: &'static str,
    f36: [f64; 2],
    tested_mpa: f64,
    recovery: f64,
    f38: [f64; 2],
    mpa: [f64; 2],
    celsius: f64,
) -> Sheet {
    Sheet {
        name,
        compressibility: [f36[0] * 0.01, f36[1] * 0.01],
        tested_at: tested_mpa * 1e6,
        recovery: recovery * 0.01,
        creep: [f38[0] * 0.01, f38[1] * 0.01],
        working: [mpa[0] * 1e6, mpa[1] * 1e6],
        hottest: celsius + 273.15,
    }
}

/// Ranges over makers, mostly from memory; 7 to 17 % and 50 % of fibre sheet at 34.5 MPa read in a maker's sheet. Cork
/// rubber is tested at 2.8 MPa (400 psi, ASTM F36 procedure F; from memory). State your maker's own values.
pub const SHEETS: [Sheet; 5] = [
    sheet(
        "fibre",
        [7.0, 17.0],
        34.5,
        50.0,
        [15.0, 25.0],
        [10.0, 60.0],
        200.0,
    ),
    sheet(
        "paper",
        [20.0, 35.0],
        34.5,
        40.0,
        [20.0, 35.0],
        [3.0, 20.0],
        120.0,
    ),
    sheet(
        "cork rubber",
        [25.0, 50.0],
        2.8,
        75.0,
        [30.0, 55.0],
        [0.7, 4.0],
        120.0,
    ),
    sheet(
        "graphite on steel",
        [30.0, 45.0],
        34.5,
        15.0,
        [2.0, 6.0],
        [15.0, 100.0],
        400.0,
    ),
    sheet(
        "expanded PTFE",
        [55.0, 70.0],
        34.5,
        10.0,
        [15.0, 40.0],
        [10.0, 30.0],
        260.0,
    ),
];

impl Sheet {
    /// The sheet of that name.
    pub fn named(name: &str) -> Option<Sheet> {
        SHEETS.iter().find(|s| s.name == name).copied()
    }
}
