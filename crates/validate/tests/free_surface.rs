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

/// The recorded roll is given back between the points of its file: 0.900 s lies between two (5 ms record: 1.3456 deg,
/// rate −14.345 deg/s, acceleration −23.5 deg/s²).
#[test]
fn the_roll_between_its_points_is_the_recorded_one() {
    let experiment = validate::bench::read("lateral-water").unwrap();
    let moment = experiment.drive.at(0.9);
    let angle = (-moment.gravity.x).atan2(-moment.gravity.z).to_degrees();
    // The wall with the sensor (x < 0) goes down for a positive angle: a turn about −y.
    let (rate, quickening) = (-moment.spin.y.to_degrees(), -moment.spin_rate.y.to_degrees());
    assert!((angle - 1.3456).abs() < 1e-3, "{angle}");
    assert!((rate + 14.345).abs() < 0.03, "{rate}");
    assert!((quickening + 23.47).abs() < 2.0, "{quickening}");
}

/// The smallest of the swayed tanks, on its middle grid: the sway, the tank, the level probe and the formula.
#[test]
fn a_swayed_tank_swings_as_linear_theory_says() {
    let (computed, due) = validate::sway::shallow(40).unwrap();
    assert!(
        (computed / due - 1.0).abs() < 0.03,
        "{computed:.3} against {due:.3} mm"
    );
}
