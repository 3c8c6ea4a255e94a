//! Properties of a whole suction side.

use super::*;
use crate::leak::Seal;
use crate::line::{Piece, Run, Screen};
use proptest::prelude::*;

const C: f64 = 273.15;
const IDLE: f64 = 15.0;
const REDLINE: f64 = 120.0;

fn supply() -> Supply {
    let bend = Run::Bend {
        angle: std::f64::consts::FRAC_PI_2,
        radius: 0.030,
    };
    let piece = |run| Piece { bore: 0.018, run };
    Supply {
        line: Line {
            mouth: 0.036,
            rim: 0.039,
            floor: 0.010,
            entry: Entry::Box,
            screen: Some(Screen {
                weave: Weave::Wires {
                    wire: 0.4e-3,
                    gap: 1.2e-3,
                },
                area: area(0.036),
                blocked: 0.0,
            }),
            pieces: vec![
                piece(Run::Straight(0.10)),
                piece(bend),
                piece(Run::Straight(0.12)),
            ],
            roughness: 1.5e-6,
            inlet: 0.018,
        },
        joint: Joint {
            bore: 0.018,
            land: 6e-3,
            flatness: 0.05e-3,
            seal: Seal::Metal,
            pinhole: 0.0,
            wall: 1.5e-3,
        },
        oil: OilSpec::of_grade("10W-60").unwrap(),
        aeration: 0.08,
        pump: Pump {
            displacement: 14e-6,
            relief_flow: 45.0 / 60e3,
            relief_to_pan: false,
        },
        over: 101_325.0,
        least: 70e3,
    }
}

const PUSH: f64 = -9.80665 * 0.12;

#[test]
fn the_pressure_is_what_lies_over_the_oil_less_every_part() {
    let state = supply().state(110.0 + C, 100.0, PUSH).unwrap();
    let sum: f64 = state.losses.iter().sum();
    assert!((state.pressure + sum - 101_325.0).abs() < 1e-9);
    // Capped by the relief valve: 45 L/min.
    assert!((state.flow * 60e3 - 45.0).abs() < 1e-9);
}

#[test]
fn a_relief_valve_into_the_pan_sends_the_whole_delivery_through_the_line() {
    let mut supply = supply();
    supply.pump.relief_to_pan = true;
    let state = supply.state(110.0 + C, 100.0, PUSH).unwrap();
    assert!((state.flow * 60e3 - 84.0).abs() < 1e-9);
}

#[test]
fn at_the_largest_speed_the_least_pressure_stands_in_the_inlet() {
    let supply = supply();
    for celsius in [0.0, 10.0, 20.0] {
        let temperature = celsius + C;
        match supply.holds(temperature, (IDLE, REDLINE), PUSH).unwrap() {
            Holds::UpTo(speed) => {
                let state = supply.state(temperature, speed, PUSH).unwrap();
                assert!(
                    (state.pressure - 70e3).abs() < 1.0,
                    "{celsius} C: {}",
                    state.pressure
                );
            }
            Holds::Nowhere => {
                assert!(supply.state(temperature, IDLE, PUSH).unwrap().pressure < 70e3);
            }
            Holds::Throughout => {
                assert!(supply.state(temperature, REDLINE, PUSH).unwrap().pressure >= 70e3);
            }
        }
    }
    let warm = supply
        .warm_enough(REDLINE, (C, 140.0 + C), PUSH)
        .unwrap()
        .unwrap();
    let at = supply.state(warm, REDLINE, PUSH).unwrap().pressure;
    assert!(warm > C && (at - 70e3).abs() < 1.0, "{at} Pa at {warm} K");
}

#[test]
fn the_screen_may_be_blocked_until_the_least_pressure_stands_in_the_inlet() {
    let supply = supply();
    let share = supply.most_blocked(110.0 + C, REDLINE, PUSH).unwrap().unwrap();
    let state = supply
        .blocked(share)
        .unwrap()
        .state(110.0 + C, REDLINE, PUSH)
        .unwrap();
    assert!((state.pressure - 70e3).abs() < 1.0, "{share}: {}", state.pressure);
    let mut bare = supply.clone();
    bare.line.screen = None;
    assert_eq!(bare.most_blocked(110.0 + C, REDLINE, PUSH).unwrap(), None);
}

#[test]
fn a_tight_joint_lets_nothing_in_and_the_oil_still_carries_its_air() {
    let mut supply = supply();
    supply.joint.flatness = 0.0;
    let air = supply.air(110.0 + C, 100.0, PUSH).unwrap();
    let state = supply.state(110.0 + C, 100.0, PUSH).unwrap();
    assert_eq!(air.leak, 0.0);
    assert!((air.pressure - state.pressure).abs() < 1e-9);
    // 8 % grown by Boyle, a little of the whole being what came out of solution.
    assert!(air.bubbles > 0.08 && air.bubbles < 0.13, "{}", air.bubbles);
}

#[test]
fn the_leak_and_the_suction_agree() {
    for speed in [IDLE, 60.0, REDLINE] {
        let supply = supply();
        let air = supply.air(110.0 + C, speed, PUSH).unwrap();
        let drawn = air_volume(
            supply.joint.air(101_325.0, air.pressure, 110.0 + C),
            air.pressure,
            110.0 + C,
        );
        let share = drawn / supply.pump.flow(speed);
        assert!((share / air.leak - 1.0).abs() < 1e-6, "{share} and {}", air.leak);
    }
}

#[test]
fn wider_tubes_and_bells_lose_less() {
    let supply = supply();
    let at = |s: &Supply| s.state(110.0 + C, 100.0, PUSH).unwrap().pressure;
    assert!(at(&supply.wider(2e-3)) > at(&supply));
    assert!(at(&supply.belled().unwrap()) > at(&supply));
    assert!(supply.belled().unwrap().belled().is_none());
    assert!(at(&supply.screened(2.0 * area(0.036)).unwrap()) > at(&supply));
}

#[test]
fn oil_that_is_a_solid_has_no_state() {
    assert!(supply().state(20.0, IDLE, PUSH).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// More speed or colder oil never raises the pressure; more lift never does.
    #[test]
    fn pressure_falls_with_speed_cold_and_lift(
        celsius in -10.0..140.0f64,
        speed in 5.0..130.0f64,
        lift in -0.1..0.4f64,
    ) {
        let supply = supply();
        let at = |celsius: f64, speed: f64, lift: f64| {
            supply.state(celsius + C, speed, -9.80665 * lift).unwrap().pressure
        };
        let here = at(celsius, speed, lift);
        prop_assert!(at(celsius, speed * 1.05, lift) <= here + 1e-9);
        prop_assert!(at(celsius, speed, lift + 0.02) < here);
        // Hot oil is thin and its losses are those of its weight: only where it is thick does cold cost more.
        if celsius < 60.0 {
            prop_assert!(at(celsius - 3.0, speed, lift) < here);
        }
    }

    /// A wider gap never lets in less air, and the share stays a share.
    #[test]
    fn more_gap_more_air(gap in 0.0..0.4e-3f64, speed in 10.0..130.0f64) {
        let mut supply = supply();
        supply.joint.flatness = gap;
        let narrow = supply.air(110.0 + C, speed, PUSH).unwrap();
        supply.joint.flatness = 1.2 * gap;
        let wide = supply.air(110.0 + C, speed, PUSH).unwrap();
        prop_assert!(wide.leak >= narrow.leak - 1e-12);
        prop_assert!((0.0..=1.0).contains(&wide.leak) && wide.all() <= 1.0 + 1e-12);
    }
}
