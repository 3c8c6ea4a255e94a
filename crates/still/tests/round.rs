//! Round map, first instant, dipstick.

mod common;

use std::f64::consts::{FRAC_PI_2, TAU};

use common::{bare, box_pocket, demo, mirrored, tank, wall};
use glam::{DMat3, DVec3};
use pan::{Lattice, Pan};
use sumpwright_still as still;
use sumpwright_still::{FirstInstant, RoundSpec, round_map};

fn walled() -> Pan {
    // Odd sizes, so that the lattice cuts every wall; the mouth stands off the middle.
    let low = DVec3::new(-0.1517, -0.1213, -0.1511);
    let high = DVec3::new(0.1493, 0.1217, 0.0);
    let mut pan = bare(&[box_pocket("box", low, high)], DVec3::new(-0.02, 0.013, -0.14));
    let along = (low.x - 0.01, high.x + 0.01);
    pan.plates.push(wall("A", -0.051, along, (low.z - 0.01, 0.01)));
    pan.plates.push(wall("B", 0.052, along, (low.z - 0.01, 0.01)));
    pan
}

#[test]
fn a_box_map_has_its_first_dry_where_the_formula_says_in_every_square_direction() {
    // Hand-worked: mouth 10 mm over the floor on the centre of a 240 mm square box with 60 mm of oil: 1.83 g.
    let pan = tank([0.24, 0.24, 1.0], DVec3::new(0.12, 0.12, 0.01));
    let spec = RoundSpec {
        directions: 4,
        ..RoundSpec::default()
    };
    let map = round_map(&pan, None, DMat3::IDENTITY, 0.24 * 0.24 * 0.06, &spec).unwrap();
    for dry in &map.first_dry_long {
        assert!((dry.unwrap() - 1.83).abs() < 0.005, "{dry:?}");
    }
    assert!(map.first_instant.is_none() && map.first_dry_instant.is_empty());
    // On a bank that presses with 1.29 g the same lean needs 1.29 times the sideways g.
    let banked = RoundSpec {
        vertical: 0.29,
        ..spec
    };
    let map = round_map(&pan, None, DMat3::IDENTITY, 0.24 * 0.24 * 0.06, &banked).unwrap();
    assert!((map.first_dry_long[0].unwrap() - 1.83 * 1.29).abs() < 0.01);
}

#[test]
fn a_direction_says_where_the_oil_is_pushed() {
    // Mouth near the left wall: oil pushed to the left (a right-hand corner) keeps it covered.
    let pan = bare(
        &[box_pocket(
            "box",
            DVec3::new(-0.1, -0.1, -0.2),
            DVec3::new(0.1, 0.1, 0.0),
        )],
        DVec3::new(0.0, 0.09, -0.19),
    );
    let spec = RoundSpec {
        directions: 4,
        rings: 20,
        most_g: 2.0,
        vertical: 0.0,
    };
    let map = round_map(&pan, None, DMat3::IDENTITY, 1.2e-3, &spec).unwrap();
    assert!((map.directions[1] - FRAC_PI_2).abs() < 1e-12);
    assert!(
        map.first_dry_long[1].is_none(),
        "oil pushed left stays over a mouth on the left"
    );
    assert!(map.first_dry_long[3].unwrap() < 0.6);
    // With the engine turned left by 90 degrees, the pan's left is the car's rear.
    let pan_from_car = DMat3::from_rotation_z(-FRAC_PI_2);
    let turned = round_map(&pan, None, pan_from_car, 1.2e-3, &spec).unwrap();
    assert!(turned.first_dry_long[2].is_none() && turned.first_dry_long[0].unwrap() < 0.6);
}

#[test]
fn a_mirrored_pan_has_the_mirrored_map() {
    let pan = walled();
    let twin = mirrored(&pan);
    let spec = RoundSpec {
        directions: 16,
        rings: 10,
        most_g: 2.0,
        vertical: 0.0,
    };
    let cell = 0.006;
    let map = |pan: &Pan| {
        let lattice = Lattice::build(pan, cell).unwrap();
        round_map(pan, Some(&lattice), DMat3::IDENTITY, 4e-3, &spec).unwrap()
    };
    let (one, other) = (map(&pan), map(&twin));
    for d in 0..16 {
        let m = (16 - d) % 16;
        for ring in 0..10 {
            let miss = (one.long_corner[d][ring] - other.long_corner[m][ring]).abs();
            assert!(miss < 1e-9, "direction {d} ring {ring}: {miss}");
            // Lattices of mirror twins may be cut half a cell apart.
            let (a, b) = (
                one.first_instant.as_ref().unwrap(),
                other.first_instant.as_ref().unwrap(),
            );
            assert!(
                (a[d][ring] - b[m][ring]).abs() < 0.5 * cell,
                "{} {}",
                a[d][ring],
                b[m][ring]
            );
        }
    }
}

#[test]
fn a_space_that_keeps_its_oil_has_the_exact_level_of_its_own_box() {
    let pan = walled();
    let cell = 0.005;
    let lattice = Lattice::build(&pan, cell).unwrap();
    assert_eq!(lattice.spaces.len(), 3, "{:?}", lattice.spaces);
    let volume = 4.2e-3;
    let instant = FirstInstant::new(&lattice, DVec3::Z, volume).unwrap();
    assert!((instant.kept.iter().sum::<f64>() / volume - 1.0).abs() < 1e-9);
    // The middle space is a box of its own with its share of the oil (plates without thickness).
    let (low, high) = pan.cavity.bounds();
    let own = bare(
        &[box_pocket(
            "middle",
            DVec3::new(low.x, -0.051, low.z),
            DVec3::new(high.x, 0.052, high.z),
        )],
        pan.mouth.at,
    );
    let kept = volume * 0.103 / (high.y - low.y);
    // The share itself hangs on which cells the walls fall in: half a cell a wall of 103 mm.
    assert!((instant.kept[instant.mouth_space] / kept - 1.0).abs() < cell / 0.103);
    let mut worst = 0.0_f64;
    for turn in 0..24 {
        for tenths in 0..20 {
            let (angle, g) = (f64::from(turn) * TAU / 24.0, 0.1 * f64::from(tenths));
            let up = still::round::up_for(DMat3::IDENTITY, angle, g, 0.0).unwrap();
            let exact = still::margin(&own, up, kept).unwrap();
            worst = worst.max((instant.margin_with(up, kept) - exact).abs());
        }
    }
    eprintln!(
        "first instant: worst miss {:.2} mm at {:.0} mm cells",
        worst * 1e3,
        cell * 1e3
    );
    assert!(worst < 0.75 * cell, "misses by {:.2} mm", worst * 1e3);
}

#[test]
fn a_pan_with_draft_and_radii_but_no_walls_has_the_exact_level_to_a_tenth_of_a_cell() {
    let mut pan = demo();
    pan.plates.clear();
    pan.doors.clear();
    let cell = 0.006;
    let lattice = Lattice::build(&pan, cell).unwrap();
    assert_eq!(lattice.spaces.len(), 1);
    let volume = 3.7e-3;
    let instant = FirstInstant::new(&lattice, DVec3::Z, volume).unwrap();
    let mut worst = 0.0_f64;
    for turn in 0..24 {
        for tenths in 0..25 {
            let (angle, g) = (f64::from(turn) * TAU / 24.0, 0.1 * f64::from(tenths));
            let up = still::round::up_for(DMat3::IDENTITY, angle, g, 0.0).unwrap();
            worst = worst.max((instant.margin(up) - still::margin(&pan, up, volume).unwrap()).abs());
        }
    }
    assert!(worst < 0.1 * cell, "misses by {:.3} mm", worst * 1e3);
}

#[test]
fn walls_keep_oil_at_the_mouth_in_the_first_instant() {
    let pan = walled();
    let lattice = Lattice::build(&pan, 0.005).unwrap();
    let spec = RoundSpec {
        directions: 8,
        rings: 20,
        most_g: 2.0,
        vertical: 0.0,
    };
    let map = round_map(&pan, Some(&lattice), DMat3::IDENTITY, 2.5e-3, &spec).unwrap();
    // Oil pushed to the right, away from the mouth.
    let (long, instant) = (map.first_dry_long[6], map.first_dry_instant[6]);
    let later =
        |i: Option<f64>, l: Option<f64>| i.unwrap_or(f64::INFINITY) > l.unwrap_or(f64::INFINITY) + 0.2;
    assert!(
        later(instant, long),
        "sideways: first instant {instant:?}, long corner {long:?}"
    );
}

#[test]
fn four_thousand_directions_on_a_demo_pan_take_a_moment_and_do_not_hang_on_threads() {
    let pan = demo();
    let lattice = Lattice::build(&pan, 0.006).unwrap();
    let spec = RoundSpec::default();
    let started = std::time::Instant::now();
    let map = round_map(&pan, Some(&lattice), DMat3::IDENTITY, 4e-3, &spec).unwrap();
    let took = started.elapsed();
    eprintln!(
        "{} points, both assumptions: {took:?}",
        spec.directions * spec.rings
    );
    // Well under a second alone; the bound is loose because other work shares the machine.
    assert!(took.as_secs_f64() < 5.0, "{took:?}");
    let alone = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    let again = alone.install(|| round_map(&pan, Some(&lattice), DMat3::IDENTITY, 4e-3, &spec).unwrap());
    assert_eq!(map, again);
}

#[test]
fn free_fall_and_no_numbers_are_refused() {
    let pan = tank([0.24, 0.24, 0.2], DVec3::new(0.12, 0.12, 0.01));
    for bad in [f64::NAN, -1.0, -1.5] {
        let spec = RoundSpec {
            vertical: bad,
            ..RoundSpec::default()
        };
        assert!(round_map(&pan, None, DMat3::IDENTITY, 1e-3, &spec).is_err());
    }
    for bad in [f64::NAN, 1.0, -1e-3] {
        assert!(round_map(&pan, None, DMat3::IDENTITY, bad, &RoundSpec::default()).is_err());
    }
}

#[test]
fn the_dipstick_rises_with_the_oil_and_marks_mouth_and_crank() {
    let pan = demo();
    let lean = DMat3::from_rotation_x(0.05) * DVec3::Z;
    let rows = still::dipstick(&pan, lean, 0.5e-3, &[("full".into(), 4.3e-3)]).unwrap();
    assert!(
        rows.windows(2)
            .all(|w| w[0].volume <= w[1].volume && w[0].level <= w[1].level)
    );
    let marked = |name: &str| {
        rows.iter()
            .find(|r| r.mark == name)
            .unwrap_or_else(|| panic!("no row {name}"))
    };
    assert!((marked("mouth").level - pan.mouth.at.z).abs() < 1e-9);
    assert!(
        (pan.volume_at_height(
            lean,
            lean.z * marked("full").level + lean.y * pan.mouth.at.y + lean.x * pan.mouth.at.x
        ) - 4.3e-3)
            .abs()
            < 1e-9
    );
    let touch = marked("crank touch");
    // Sweep of 75 mm radius round a crank 60 mm over the flange: its underside is 15 mm below.
    let level = still::dipstick(&pan, DVec3::Z, 0.5e-3, &[]).unwrap();
    let flat = level.iter().find(|r| r.mark == "crank touch").unwrap();
    assert!((flat.level + 0.015).abs() < 1e-9, "{}", flat.level);
    assert!(touch.volume < flat.volume);
    assert!(still::dipstick(&pan, DVec3::X, 0.5e-3, &[]).is_err());
    assert!(still::dipstick(&pan, DVec3::Z, 0.0, &[]).is_err());
    assert!(still::dipstick(&pan, DVec3::Z, 1e-3, &[("full".into(), 1.0)]).is_err());
}
