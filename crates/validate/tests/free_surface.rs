//! The quick published cases of the free-surface solver.

mod common;

use common::all_hold;
use validate::{air, doors, geometry, passages, tanks, thickness};

#[test]
fn waves_and_tilt_agree_with_theory() {
    all_hold(&tanks::rows());
}

#[test]
fn the_first_mode_converges_at_second_order() {
    let off = |cells: usize| {
        let (f, exact) = tanks::first_mode(0.3, 0.06, cells);
        (f / exact - 1.0).abs()
    };
    let order = (off(10) / off(20)).log2();
    assert!(order > 1.7, "order {order:.2}");
}

#[test]
fn gaps_sheets_and_walls_pass_what_their_formulas_say() {
    all_hold(&passages::quick());
}

#[test]
fn waves_die_and_cold_oil_creeps_as_layers_and_parabolas_say() {
    all_hold(&thickness::quick());
}

#[test]
fn the_grid_does_not_know_how_the_pan_lies() {
    all_hold(&geometry::rows());
}

#[test]
fn a_flap_stands_where_its_torques_balance_and_passes_what_it_frees() {
    all_hold(&doors::rows());
}

#[test]
fn air_comes_down_to_the_mouth_where_the_dip_reaches_it() {
    all_hold(&air::quick());
}

/// The recorded roll is given back between the tabulated points: 0.600 s is a point, 0.900 s lies between
/// (5 ms record: 1.3456 deg, rate −14.345 deg/s, acceleration −23.5 deg/s²).
#[test]
fn the_roll_between_its_points_is_the_recorded_one() {
    let roll = validate::lateral::Roll::recorded();
    let [angle, rate, quickening] = roll.at(0.9).map(f64::to_degrees);
    assert!((angle - 1.3456).abs() < 5e-4, "{angle}");
    assert!((rate + 14.345).abs() < 0.03, "{rate}");
    assert!((quickening + 23.47).abs() < 2.0, "{quickening}");
}
