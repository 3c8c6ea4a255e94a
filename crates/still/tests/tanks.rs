//! Oil at rest against textbook tanks and exact answers (`proofs::accelerated_tanks`).

mod common;

use common::tank;
use glam::DVec3;
use measure::STANDARD_GRAVITY;
use proofs::accelerated_tanks as published;
use sumpwright_still as still;

/// Up under an acceleration [m/s²] along x and y.
fn up(x: f64, y: f64, gravity: f64) -> DVec3 {
    still::up_from(DVec3::new(-x, -y, -gravity)).unwrap()
}

/// Height of the plane `up · p = offset` over a plan point.
fn height(up: DVec3, offset: f64, x: f64, y: f64) -> f64 {
    (offset - up.x * x - up.y * y) / up.z
}

#[test]
fn the_textbook_tank_leans_as_printed_with_its_thrusts() {
    let t = published::TEXTBOOK_TANK;
    let pan = tank(t.size, DVec3::splat(0.1));
    let up = up(t.acceleration, 0.0, published::GRAVITY);
    let level = still::level(&pan, up, t.size[0] * t.size[1] * t.depth).unwrap();
    let (rear, front) = (height(up, level, 0.0, 0.0), height(up, level, t.size[0], 0.0));
    assert!(
        (rear - t.ends.0).abs() < 5e-4 && (front - t.ends.1).abs() < 5e-4,
        "{rear} {front}"
    );
    assert!((up.z.acos().to_degrees() - t.angle).abs() < 5e-3);
    let thrust = |depth: f64| 0.5 * 1000.0 * published::GRAVITY * depth * depth * t.size[1];
    for (got, due) in [(thrust(rear), t.thrust.0), (thrust(front), t.thrust.1)] {
        assert!(
            (got / due - 1.0).abs() < t.thrust_tolerance,
            "{got} N, printed {due} N"
        );
    }
}

#[test]
fn the_textbook_trap_is_not_fallen_into() {
    let (length, depth, acceleration, (rear, front)) = published::TRAP;
    let pan = tank([length, 1.0, 3.0], DVec3::splat(0.1));
    let up = up(acceleration, 0.0, published::GRAVITY);
    let level = still::level(&pan, up, length * depth).unwrap();
    assert!((height(up, level, 0.0, 0.0) - rear).abs() < 1e-9);
    assert!((height(up, level, length, 0.0) - front).abs() < 1e-9);
}

#[test]
fn at_one_g_the_oil_lies_at_45_degrees_whatever_the_direction() {
    let pan = tank([0.3, 0.3, 0.4], DVec3::new(0.15, 0.15, 0.01));
    for turn in 0..16 {
        let angle = f64::from(turn) * std::f64::consts::TAU / 16.0;
        let g = STANDARD_GRAVITY;
        let up = up(g * angle.cos(), g * angle.sin(), g);
        let level = still::level(&pan, up, 9e-3).unwrap();
        // The middle of a box keeps its depth while the floor stays wet; the slope is one.
        let along = |s: f64| height(up, level, 0.15 + s * angle.cos(), 0.15 + s * angle.sin());
        assert!((along(0.05) - along(-0.05) + 0.1).abs() < 1e-9);
    }
}

#[test]
fn open_tanks_spill_down_to_the_published_volume() {
    for row in published::SPILLS {
        let [length, width, high] = row.size;
        let pan = tank(row.size, DVec3::splat(0.1));
        let up = up(row.acceleration, 0.0, published::GRAVITY);
        let poured = length * width * row.depth;
        // The surface can stand no higher than the rear lip, which is where the liquid is pushed.
        let held = pan.cavity.volume_below(up, up.dot(DVec3::new(0.0, 0.0, high)));
        let left = poured.min(held);
        assert!(
            (left / row.left - 1.0).abs() < row.tolerance,
            "{left} m³ left, printed {}",
            row.left
        );
    }
}

#[test]
fn boxes_that_lean_both_ways_have_the_exact_plane() {
    for row in published::LEANING_BOXES {
        let [length, width, _] = row.size;
        let pan = tank(row.size, DVec3::splat(0.01));
        let up = up(row.acceleration.0, row.acceleration.1, 1.0);
        let level = still::level(&pan, up, row.volume).unwrap();
        let corners = [(0.0, 0.0), (length, 0.0), (0.0, width), (length, width)];
        for ((x, y), due) in corners.into_iter().zip(row.corners) {
            let got = height(up, level, x, y);
            // Printed to a micrometre at most.
            assert!((got - due).abs() < 1.1e-6, "{got} m over ({x}, {y}), due {due}");
        }
    }
}

#[test]
fn tilted_boxes_have_the_closed_form_depths_with_the_floor_wet_or_bare() {
    for (length, depth, g, wetted, wall_depth, angle) in published::TILTS {
        let pan = tank([length, 0.1, 1.0], DVec3::splat(0.01));
        let up = up(g, 0.0, 1.0);
        let level = still::level(&pan, up, length * 0.1 * depth).unwrap();
        // Printed to 0.01 mm and 0.001 degree.
        assert!((height(up, level, 0.0, 0.0) - wall_depth).abs() < 1e-5);
        assert!((up.z.acos().to_degrees() - angle).abs() < 1e-3);
        let edge = (level / up.x).min(length);
        assert!((edge - wetted).abs() < 1e-5, "wetted {edge}, due {wetted}");
    }
}

#[test]
fn the_box_sump_of_the_shop_dries_where_hand_working_says() {
    // 240 mm wide, 60 mm of oil, tall walls; mouth on the centre line at the floor, then 10 mm above it.
    let at_floor = tank([0.3, 0.24, 1.0], DVec3::new(0.15, 0.12, 0.0));
    let volume = 0.3 * 0.24 * 0.06;
    for (g, millimetres) in published::CENTRE_DEPTHS {
        let up = up(0.0, g, 1.0);
        let depth = still::margin(&at_floor, up, volume).unwrap() / up.z * 1e3;
        assert!(
            (depth - millimetres).abs() < 0.05,
            "{depth} mm on the centre line at {g} g"
        );
    }
    let (edge_dry, mouth_dry, tray_dry) = published::BOX_DRIES;
    let first_dry = |width: f64, mouth: DVec3| {
        let pan = tank([0.3, width, 1.0], mouth);
        let volume = 0.3 * width * 0.06;
        let rings: Vec<f64> = (1..=25).map(|r| f64::from(r) * 0.1).collect();
        let margin = |g: f64| still::margin(&pan, up(0.0, g, 1.0), volume);
        let margins: Vec<f64> = rings.iter().map(|&g| margin(g).unwrap()).collect();
        still::first_dry(&rings, &margins, margin).unwrap().unwrap()
    };
    assert!((first_dry(0.24, DVec3::new(0.15, 0.24, 0.0)) - edge_dry).abs() < 0.005);
    assert!((first_dry(0.24, DVec3::new(0.15, 0.12, 0.01)) - mouth_dry).abs() < 0.005);
    assert!((first_dry(0.50, DVec3::new(0.15, 0.50, 0.0)) - tray_dry).abs() < 0.005);
}

#[test]
fn no_weight_no_number_and_too_much_oil_are_refused() {
    let pan = tank([0.3, 0.2, 0.1], DVec3::splat(0.05));
    assert!(still::up_from(DVec3::ZERO).is_err());
    assert!(still::up_from(DVec3::new(0.0, f64::NAN, -9.8)).is_err());
    assert!(still::cover(&pan, DVec3::Z, 7e-3).is_err());
    assert!(still::cover(&pan, DVec3::Z, f64::NAN).is_err());
    assert_eq!(still::cover(&pan, DVec3::Z, 1e-3).unwrap(), 0.0);
}
