//! Tanks of liquid under steady acceleration: textbook answers and exact ones.
//!
//! The surface is a plane square to gravity minus acceleration, `tan θ = a/g` on level ground, and the volume
//! is kept until it spills. Textbook rows are printed rounded; the tolerance of each follows its digits.

/// Gravity that the textbooks use [m/s²].
pub const GRAVITY: f64 = 9.81;

/// Where the textbook tanks come from.
pub const TEXTBOOK: &str =
    "solved problems on accelerated tanks of civil-engineering course pages (read; four pages that agree)";

/// Where the exact rows come from.
pub const EXACT: &str =
    "worked from volume kept under a tilted plane (closed form), g = 9.81 m/s² or free of it";

/// An open tank accelerated along its length that spills nothing.
pub struct Tank {
    /// Length along the acceleration, width, height [m].
    pub size: [f64; 3],
    /// Depth at rest [m].
    pub depth: f64,
    /// Acceleration [m/s²].
    pub acceleration: f64,
    /// Angle of the surface [degrees].
    pub angle: f64,
    /// Depth at the rear and the front wall [m].
    pub ends: (f64, f64),
    /// Thrust of the liquid (water, 9810 N/m³) on the rear and front wall [N]; as printed.
    pub thrust: (f64, f64),
    /// Relative tolerance of the thrusts: the page rounds its depths.
    pub thrust_tolerance: f64,
}

/// 6 × 2.5 × 2 m, 1 m deep, 2.4 m/s²: 13.75°, 1.734 and 0.266 m (printed to 1 mm, 0.01°), thrusts as printed.
pub const TEXTBOOK_TANK: Tank = Tank {
    size: [6.0, 2.5, 2.0],
    depth: 1.0,
    acceleration: 2.4,
    angle: 13.75,
    ends: (1.734, 0.266),
    thrust: (36_862.0, 869.0),
    thrust_tolerance: 3e-3,
};

/// A textbook trap: a 2 m tank 1 m deep at g/3. One web page prints ends of 0.5 and 1.5 m; the plane that
/// keeps the volume gives 1 ∓ 1/3 m.
pub const TRAP: (f64, f64, f64, (f64, f64)) = (2.0, 1.0, GRAVITY / 3.0, (4.0 / 3.0, 2.0 / 3.0));

/// An open tank that may spill: what is left in it.
pub struct Spill {
    /// Length along the acceleration, width, height [m].
    pub size: [f64; 3],
    /// Depth at rest [m].
    pub depth: f64,
    /// Acceleration [m/s²].
    pub acceleration: f64,
    /// Volume left [m³].
    pub left: f64,
    /// Relative tolerance, from the digits printed.
    pub tolerance: f64,
}

/// The 6 m tank 1.5 deep: verge of spill at 1.635 m/s² (printed), front floor just dry at 3.27 (printed),
/// dry to mid-length at 6.54 (closed form); and a 4 × 2 × 1.2 m tank at 5 m/s² that loses more than half
/// (2.824 m³ left as printed from a wedge of 2.354 m; exact 2.825).
pub const SPILLS: [Spill; 4] = [
    Spill {
        size: [6.0, 2.5, 2.0],
        depth: 1.5,
        acceleration: 1.635,
        left: 22.5,
        tolerance: 1e-9,
    },
    Spill {
        size: [6.0, 2.5, 2.0],
        depth: 1.5,
        acceleration: 3.27,
        left: 15.0,
        tolerance: 1e-9,
    },
    Spill {
        size: [6.0, 2.5, 2.0],
        depth: 1.5,
        acceleration: 6.54,
        left: 7.5,
        tolerance: 1e-9,
    },
    Spill {
        size: [4.0, 2.0, 1.2],
        depth: 1.0,
        acceleration: 5.0,
        left: 2.825,
        tolerance: 5e-4,
    },
];

/// A closed box under an apparent gravity that leans both ways.
pub struct LeaningBox {
    /// Length, width, height [m].
    pub size: [f64; 3],
    /// Liquid [m³].
    pub volume: f64,
    /// Acceleration along length and width [g].
    pub acceleration: (f64, f64),
    /// Height of the surface plane over the corners (0,0), (L,0), (0,W), (L,W) [m]; the plane goes on
    /// outside the box.
    pub corners: [f64; 4],
}

/// Exact, and agreed by an independent mesh library that cut the box at the plane (volume to 1e-6 m³).
pub const LEANING_BOXES: [LeaningBox; 3] = [
    LeaningBox {
        size: [0.30, 0.25, 0.10],
        volume: 3e-3,
        acceleration: (0.5, 0.4),
        corners: [0.158_85, 0.008_85, 0.058_85, -0.091_15],
    },
    LeaningBox {
        size: [0.30, 0.25, 0.10],
        volume: 3e-3,
        acceleration: (0.9, 0.7),
        corners: [0.245_249, -0.024_751, 0.070_249, -0.199_751],
    },
    LeaningBox {
        size: [0.35, 0.25, 0.12],
        volume: 4e-3,
        acceleration: (1.2, 0.6),
        corners: [0.295, -0.125, 0.145, -0.275],
    },
];

/// A box under sideways acceleration, floor bare or not: length, depth at rest [m], acceleration [g],
/// wetted length and depth at the deep wall [m], angle [degrees]. Closed form: with a L/2g ≤ h the walls
/// stand h ∓ aL/2g deep, else the wetted length is √(2hLg/a) and the wall l·a/g deep.
pub const TILTS: [(f64, f64, f64, f64, f64, f64); 3] = [
    (0.30, 0.06, 0.3, 0.30, 0.105, 16.699),
    (0.30, 0.06, 1.2, 0.173_21, 0.207_85, 50.194),
    (0.30, 0.04, 1.5, 0.126_49, 0.189_74, 56.310),
];

/// A 240 mm wide box with 60 mm of oil, no roof, mouth on the centre line: acceleration [g] against depth
/// on the centre line [mm] (worked by hand to 0.1 mm: any reader can redo it).
pub const CENTRE_DEPTHS: [(f64, f64); 3] = [(1.0, 49.7), (1.5, 27.8), (2.0, 0.0)];

/// The same box: the inner edge of the floor dries at 0.50 g; a mouth 10 mm over the floor on the centre line
/// is bare from 1.83 g (printed to 0.01 g). A tray 500 mm long with the same oil dries at its edge at 0.24 g.
pub const BOX_DRIES: (f64, f64, f64) = (0.50, 1.83, 0.24);
