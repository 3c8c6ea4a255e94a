//! Oil at rest under steady acceleration: textbook tanks, the 45-degree rule, spill and dry corners.

use crate::shapes::tank;
use crate::{Row, Scale};
use glam::DVec3;
use measure::STANDARD_GRAVITY;
use pan::Pan;
use proofs::accelerated_tanks as published;

/// What this subject is about.
pub const ABOUT: &str = "Where oil stands under a steady acceleration, by exact clipped volume: textbook tanks \
as printed, the 45-degree rule at 1 g all round, what an open tank keeps when it spills, and the acceleration at \
which a corner or a mouth runs dry.";

const TEXTBOOK: &str = published::TEXTBOOK;
const EXACT: &str = published::EXACT;

/// Up under an acceleration along x and y, in any unit of all three.
fn up(x: f64, y: f64, gravity: f64) -> DVec3 {
    still::up_from(DVec3::new(-x, -y, -gravity)).unwrap_or(DVec3::NAN)
}

/// Where the volume [m³] lies, NaN where it cannot.
fn level(pan: &Pan, up: DVec3, volume: f64) -> f64 {
    still::level(pan, up, volume).unwrap_or(f64::NAN)
}

/// Height of the plane `up · p = offset` over a plan point.
fn height(up: DVec3, offset: f64, x: f64, y: f64) -> f64 {
    (offset - up.x * x - up.y * y) / up.z
}

/// Everything here.
pub fn rows() -> Vec<Row> {
    let mut rows = textbook();
    rows.push(one_g());
    rows.extend(spills());
    rows.extend(tilts());
    rows.extend(dry());
    rows
}

fn textbook() -> Vec<Row> {
    let t = published::TEXTBOOK_TANK;
    let pan = tank(t.size, DVec3::splat(0.1));
    let lean = up(t.acceleration, 0.0, published::GRAVITY);
    let offset = level(&pan, lean, t.size[0] * t.size[1] * t.depth);
    let (rear, front) = (
        height(lean, offset, 0.0, 0.0),
        height(lean, offset, t.size[0], 0.0),
    );
    let thrust = |depth: f64| 0.5 * 1000.0 * published::GRAVITY * depth * depth * t.size[1];
    let (length, depth, acceleration, (trap_rear, trap_front)) = published::TRAP;
    let other = tank([length, 1.0, 3.0], DVec3::splat(0.1));
    let steep = up(acceleration, 0.0, published::GRAVITY);
    let trap = level(&other, steep, length * depth);
    let row = |what: &str, pair: (f64, f64), unit, allowed: (f64, Scale), source, note: &str| {
        Row::new(what, pair, unit, allowed, source, note)
    };
    let printed = (5e-4, Scale::Absolute);
    let rounded = (t.thrust_tolerance, Scale::Relative);
    let exact = (1e-9, Scale::Absolute);
    let misprint = "one page prints 1.5 and 0.5 m; the plane that keeps the volume gives these";
    vec![
        row(
            "6 m tank at 2.4 m/s²: angle of the surface",
            (lean.z.acos().to_degrees(), t.angle),
            "deg",
            (5e-3, Scale::Absolute),
            TEXTBOOK,
            "printed to 0.01 degree",
        ),
        row(
            "6 m tank at 2.4 m/s²: depth at the rear",
            (rear, t.ends.0),
            "m",
            printed,
            TEXTBOOK,
            "printed to 1 mm",
        ),
        row(
            "6 m tank at 2.4 m/s²: depth at the front",
            (front, t.ends.1),
            "m",
            printed,
            TEXTBOOK,
            "printed to 1 mm",
        ),
        row(
            "6 m tank at 2.4 m/s²: thrust on the rear wall",
            (thrust(rear), t.thrust.0),
            "N",
            rounded,
            TEXTBOOK,
            "the page rounds its depths",
        ),
        row(
            "6 m tank at 2.4 m/s²: thrust on the front wall",
            (thrust(front), t.thrust.1),
            "N",
            rounded,
            TEXTBOOK,
            "the page rounds its depths",
        ),
        row(
            "2 m tank at g/3: depth at the rear",
            (height(steep, trap, 0.0, 0.0), trap_rear),
            "m",
            exact,
            EXACT,
            misprint,
        ),
        row(
            "2 m tank at g/3: depth at the front",
            (height(steep, trap, length, 0.0), trap_front),
            "m",
            exact,
            EXACT,
            misprint,
        ),
    ]
}

/// Oil at 1 g lies at 45 degrees whatever the direction.
fn one_g() -> Row {
    let pan = tank([0.3, 0.3, 0.4], DVec3::new(0.15, 0.15, 0.01));
    let (mut worst, mut off) = (f64::NAN, f64::NEG_INFINITY);
    for turn in 0..16 {
        let (y, x) = (f64::from(turn) * std::f64::consts::TAU / 16.0).sin_cos();
        let up = up(STANDARD_GRAVITY * x, STANDARD_GRAVITY * y, STANDARD_GRAVITY);
        let offset = level(&pan, up, 9e-3);
        let along = |s: f64| height(up, offset, 0.15 + s * x, 0.15 + s * y);
        let angle = ((along(-0.05) - along(0.05)) / 0.1).atan().to_degrees();
        if angle.is_nan() || (angle - 45.0).abs() > off {
            (worst, off) = (angle, (angle - 45.0).abs());
        }
    }
    Row::new(
        "box at 1 g, worst of 16 directions: slope of the surface",
        (worst, 45.0),
        "deg",
        (1e-9, Scale::Absolute),
        "statics, tan α = a/g",
        "the 45-degree rule",
    )
}

fn spills() -> Vec<Row> {
    let row = |case: &published::Spill| {
        let [length, width, high] = case.size;
        let pan = tank(case.size, DVec3::splat(0.1));
        let up = up(case.acceleration, 0.0, published::GRAVITY);
        // The surface can stand no higher than the rear lip, which is where the liquid is pushed.
        let held = pan.cavity.volume_below(up, up.dot(DVec3::new(0.0, 0.0, high)));
        Row::new(
            format!(
                "open tank {length} × {width} × {high} m, {} m deep, at {} m/s²: left in it",
                case.depth, case.acceleration
            ),
            ((length * width * case.depth).min(held), case.left),
            "m³",
            (case.tolerance, Scale::Relative),
            TEXTBOOK,
            "verge of spill, front floor just dry, dry to mid-length, more than half lost; by the digits printed",
        )
    };
    published::SPILLS.iter().map(row).collect()
}

/// Sideways pull with the floor wet or bare.
fn tilts() -> Vec<Row> {
    let mut rows = Vec::new();
    for (length, depth, g, wetted, wall_depth, angle) in published::TILTS {
        let pan = tank([length, 0.1, 1.0], DVec3::splat(0.01));
        let up = up(g, 0.0, 1.0);
        let offset = level(&pan, up, length * 0.1 * depth);
        let mut add = |what: &str, pair: (f64, f64), unit, tolerance: f64, note: &str| {
            rows.push(Row::new(
                format!("box 300 mm, {:.0} mm deep, at {g} g: {what}", 1e3 * depth),
                pair,
                unit,
                (tolerance, Scale::Absolute),
                EXACT,
                note,
            ));
        };
        let edge = (offset / up.x).min(length);
        let fine = "printed to 0.01 mm";
        add("wetted floor", (1e3 * edge, 1e3 * wetted), "mm", 0.01, fine);
        add(
            "depth at the deep wall",
            (1e3 * height(up, offset, 0.0, 0.0), 1e3 * wall_depth),
            "mm",
            0.01,
            fine,
        );
        let lean = up.z.acos().to_degrees();
        add("angle", (lean, angle), "deg", 1e-3, "printed to 0.001 degree");
    }
    rows
}

/// A shop's box sump, 240 mm wide with 60 mm of oil: depth on the centre line, and where things dry.
fn dry() -> Vec<Row> {
    let source = "worked by hand (closed form)";
    let at_floor = tank([0.3, 0.24, 1.0], DVec3::new(0.15, 0.12, 0.0));
    let mut rows = Vec::new();
    for (g, due) in published::CENTRE_DEPTHS {
        let up = up(0.0, g, 1.0);
        let margin = still::margin(&at_floor, up, 0.3 * 0.24 * 0.06).unwrap_or(f64::NAN);
        rows.push(Row::new(
            format!("box 240 mm wide, 60 mm of oil, at {g} g: depth on the centre line"),
            (1e3 * margin / up.z, due),
            "mm",
            (0.05, Scale::Absolute),
            source,
            "printed to 0.1 mm",
        ));
    }
    let first_dry = |width: f64, mouth: DVec3| {
        let pan = tank([0.3, width, 1.0], mouth);
        let rings: Vec<f64> = (1..=25).map(|ring| f64::from(ring) * 0.1).collect();
        let margin = |g: f64| still::margin(&pan, up(0.0, g, 1.0), 0.3 * width * 0.06);
        let margins: Vec<f64> = rings.iter().map(|&g| margin(g).unwrap_or(f64::NAN)).collect();
        still::first_dry(&rings, &margins, margin)
            .ok()
            .flatten()
            .unwrap_or(f64::NAN)
    };
    let (edge, mouth, tray) = published::BOX_DRIES;
    for (what, width, at, due) in [
        (
            "box 240 mm wide: inner edge of the floor dries",
            0.24,
            DVec3::new(0.15, 0.24, 0.0),
            edge,
        ),
        (
            "box 240 mm wide: mouth 10 mm up on the centre line dries",
            0.24,
            DVec3::new(0.15, 0.12, 0.01),
            mouth,
        ),
        (
            "tray 500 mm wide: inner edge of the floor dries",
            0.50,
            DVec3::new(0.15, 0.50, 0.0),
            tray,
        ),
    ] {
        rows.push(Row::new(
            what,
            (first_dry(width, at), due),
            "g",
            (5e-3, Scale::Absolute),
            source,
            "printed to 0.01 g",
        ));
    }
    rows
}
