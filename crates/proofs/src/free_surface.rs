//! Measured free-surface cases: dam breaks on a dry bed, and water swung sideways in a thin tank.
//!
//! Numbers as published or as read from the published drawing; each table says which, and how well.

/// Front of a collapsing water column twice as high as wide, a = 57.15 mm, in (T, Z): `T = t sqrt(2g/a)`,
/// `Z` = front from the back wall over a. J. C. Martin, W. J. Moyce, Phil. Trans. R. Soc. A 244 (1952)
/// 312-324: readings of Fig. 3 up to Z = 6. Time zero is uncertain by 0.1-0.2 in T (the membrane needs time to
/// go), Z by 0.02-0.05; usual comparison: shift time so that an early point agrees.
pub const FRONT_TWO_TO_ONE: [(f64, f64); 7] = [
    (0.832, 1.217),
    (1.219, 1.474),
    (1.997, 2.292),
    (2.547, 2.995),
    (3.345, 4.134),
    (4.034, 4.944),
    (4.418, 5.881),
];

/// Height left at the back wall, same column, in (τ, H): `τ = t sqrt(g/a)`, H over the height at the start.
/// Martin and Moyce (1952), Table 6. Good codes stay within 0.02-0.03 in H.
pub const HEIGHT_TWO_TO_ONE: [(f64, f64); 17] = [
    (0.56, 0.94),
    (0.77, 0.89),
    (0.93, 0.83),
    (1.08, 0.78),
    (1.28, 0.72),
    (1.46, 0.67),
    (1.66, 0.61),
    (1.84, 0.56),
    (2.00, 0.50),
    (2.21, 0.44),
    (2.45, 0.39),
    (2.70, 0.33),
    (3.06, 0.28),
    (3.44, 0.22),
    (4.20, 0.17),
    (5.25, 0.11),
    (7.40, 0.06),
];

/// Front beyond the gate on a dry bed, water 300 mm deep and 600 mm long, tank 1610 mm: (t*, x*), `t* = t
/// sqrt(g/H)`, `x* = x/H`. L. Lobovsky, E. Botia-Vera, F. Castellana, J. Mas-Soler, A. Souto-Iglesias, J.
/// Fluids Struct. 48 (2014) 407-434, Fig. 12, thinned. The gate holds the first moments back: a constant
/// shift of time is normally allowed and must be said.
pub const FRONT_LOBOVSKY: [(f64, f64); 18] = [
    (0.000, 0.000),
    (0.152, 0.094),
    (0.305, 0.215),
    (0.457, 0.369),
    (0.610, 0.504),
    (0.762, 0.635),
    (0.915, 0.803),
    (1.067, 0.997),
    (1.220, 1.197),
    (1.372, 1.409),
    (1.525, 1.626),
    (1.677, 1.853),
    (1.830, 2.088),
    (1.982, 2.336),
    (2.135, 2.597),
    (2.287, 2.850),
    (2.440, 3.109),
    (2.592, 3.367),
];

/// A pressure sensor on the end wall of that tank; pressures over ρ g H, times as t*.
pub struct DamSensor {
    /// Height above the floor [m].
    pub height: f64,
    /// First time the median of 100 runs passes 0.1.
    pub arrival: f64,
    /// Highest median.
    pub peak: f64,
    /// When.
    pub peak_at: f64,
    /// Highest 97.5th percentile.
    pub peak_high: f64,
}

/// The four sensors of Lobovsky et al. (2014), from the statistics over 100 runs (their Figs. 20, 29-31).
/// Front curve and pressure records have slightly different time zeros: allow 0.15 in t*.
pub const DAM_SENSORS: [DamSensor; 4] = [
    DamSensor {
        height: 0.003,
        arrival: 2.446,
        peak: 2.660,
        peak_at: 2.457,
        peak_high: 3.704,
    },
    DamSensor {
        height: 0.015,
        arrival: 2.461,
        peak: 1.871,
        peak_at: 2.599,
        peak_high: 2.032,
    },
    DamSensor {
        height: 0.030,
        arrival: 2.509,
        peak: 1.453,
        peak_at: 2.760,
        peak_high: 1.649,
    },
    DamSensor {
        height: 0.080,
        arrival: 2.775,
        peak: 0.882,
        peak_at: 6.008,
        peak_high: 1.148,
    },
];

/// Lateral sloshing impact, water (SPHERIC benchmark 10): A. Souto-Iglesias, E. Botia-Vera, G. Bulian,
/// Repeatability and two-dimensionality of model scale sloshing impacts, ISOPE 2011; L. Delorme, A.
/// Colagrossi, A. Souto-Iglesias, R. Zamora-Rodriguez, E. Botia-Vera, Ocean Eng. 36 (2009) 168-178.
///
/// Box 900 × 508 × 62 mm inside, rolling about the middle of its bottom line, water 93 mm deep, level and
/// still at time zero. Sensor 1 on the left wall 93 mm above the bottom. Water at 19 °C: 998 kg/m³,
/// 8.96e-7 m²/s.
pub mod lateral_water {
    /// Length, height, thickness inside [m].
    pub const BOX: [f64; 3] = [0.900, 0.508, 0.062];
    /// Depth at rest [m]; also the height of sensor 1.
    pub const DEPTH: f64 = 0.093;
    /// Density [kg/m³].
    pub const DENSITY: f64 = 998.0;
    /// Kinematic viscosity [m²/s].
    pub const VISCOSITY: f64 = 8.96e-7;
    /// Time between two entries of `ROLL` [s].
    pub const ROLL_STEP: f64 = 0.040;
    /// Recorded roll angle [deg] at 0, 40, 80 ... ms, positive turns the left wall down; smoothed record, exact
    /// to 0.0023 deg. A smooth cubic through every eighth point of the 5 ms record gives it back to 1e-4 deg.
    #[allow(clippy::approx_constant, reason = "a recorded angle that happens to be 0.693")]
    pub const ROLL: [f64; 176] = [
        0.0000, 0.0169, 0.0793, 0.2002, 0.3991, 0.6931, 1.0861, 1.5596, 2.0741, 2.5816, 3.0379, 3.4100,
        3.6803, 3.8472, 3.9186, 3.9020, 3.8011, 3.6187, 3.3598, 3.0288, 2.6262, 2.1558, 1.6275, 1.0543,
        0.4512, -0.1660, -0.7815, -1.3799, -1.9464, -2.4679, -2.9324, -3.3285, -3.6449, -3.8731, -4.0091,
        -4.0526, -4.0009, -3.8510, -3.6059, -3.2756, -2.8705, -2.3998, -1.8733, -1.3035, -0.7051, -0.0936,
        0.5159, 1.1092, 1.6727, 2.1940, 2.6617, 3.0658, 3.3980, 3.6513, 3.8203, 3.9017, 3.8935, 3.7960,
        3.6112, 3.3428, 2.9962, 2.5787, 2.0990, 1.5673, 0.9954, 0.3962, -0.2163, -0.8268, -1.4201, -1.9813,
        -2.4975, -2.9570, -3.3484, -3.6602, -3.8824, -4.0098, -4.0427, -3.9826, -3.8279, -3.5783, -3.2426,
        -2.8322, -2.3569, -1.8269, -1.2545, -0.6537, -0.0402, 0.5704, 1.1629, 1.7234, 2.2398, 2.7011, 3.0977,
        3.4213, 3.6655, 3.8261, 3.9004, 3.8865, 3.7834, 3.5919, 3.3157, 2.9615, 2.5377, 2.0531, 1.5175,
        0.9422, 0.3403, -0.2734, -0.8832, -1.4738, -2.0307, -2.5412, -2.9938, -3.3775, -3.6816, -3.8965,
        -4.0165, -4.0406, -3.9701, -3.8070, -3.5532, -3.2130, -2.7951, -2.3123, -1.7780, -1.2046, -0.6041,
        0.0098, 0.6212, 1.2138, 1.7725, 2.2847, 2.7401, 3.1297, 3.4460, 3.6831, 3.8363, 3.9026, 3.8805,
        3.7701, 3.5730, 3.2920, 2.9320, 2.5004, 2.0076, 1.4661, 0.8885, 0.2871, -0.3258, -0.9355, -1.5255,
        -2.0795, -2.5842, -3.0290, -3.4045, -3.7013, -3.9103, -4.0243, -4.0400, -3.9597, -3.7876, -3.5265,
        -3.1802, -2.7566, -2.2674, -1.7266, -1.1483, -0.5464, 0.0651, 0.6724, 1.2614, 1.8177, 2.3273, 2.7779,
        3.1601, 3.4694,
    ];
    /// Arrival of the first impact [s].
    pub const FIRST_IMPACT: f64 = 2.374;
    /// First peak over 100 runs: mean and standard deviation [Pa].
    pub const FIRST_PEAK: (f64, f64) = (3710.0, 730.0);
    /// Mean pressure of the published run over the time after the first impact: (span [s], mean [Pa]).
    pub const AFTER_IMPACT: (f64, f64) = (0.050, 1564.0);
    /// Slow humps, the dependable part: (when [s], largest pressure [Pa]): before the first impact, the plateau
    /// after it, the second hump.
    pub const HUMPS: [(f64, f64); 3] = [(0.95, 386.0), (2.50, 620.0), (2.705, 869.0)];
}
