//! Against `proofs::suction`, the law of short bores in `oil`, and limits.

use super::*;
use proofs::suction as published;

const OVER: f64 = 101_325.0;
const HOT: f64 = 383.15;

fn joint(flatness: f64, seal: Seal) -> Joint {
    Joint {
        bore: 0.019,
        land: 6e-3,
        flatness,
        seal,
        pinhole: 0.0,
        wall: 1.5e-3,
    }
}

#[test]
fn air_is_as_viscous_as_the_standard_atmosphere_says() {
    for (temperature, due) in published::AIR_VISCOSITY {
        let got = air_viscosity(temperature);
        assert!(
            (got / due - 1.0).abs() < 2e-4,
            "{temperature} K: {got}, due {due}"
        );
    }
}

#[test]
fn a_round_channel_passes_what_an_independent_library_says() {
    for (bore, length, outside, inside, temperature, due) in published::AIR_IN_TUBES {
        let channel = Channel {
            diameter: bore,
            length,
            shape: 1.0,
            ends: (0.0, 0.0),
        };
        let got = channel.flux(outside, inside, temperature) * 0.25 * PI * bore * bore;
        assert!((got / due - 1.0).abs() < 1e-5, "{bore} m: {got}, due {due}");
    }
}

#[test]
fn a_narrow_slot_creeps_as_between_plates() {
    for (gap, length, outside, inside, temperature, due) in published::AIR_IN_SLOTS {
        let got = slot(gap, length).flux(outside, inside, temperature) * gap;
        // The ends cost up to 1 % of the pressure at 30 µm.
        assert!((got / due - 1.0).abs() < 2e-2, "{gap} m: {got}, due {due}");
        assert!(got < due, "ends add to the resistance");
    }
}

#[test]
fn a_pinhole_agrees_with_the_law_of_short_bores() {
    // Lichtarowicz 1965, measured with oil: for small suctions air is as good. Re on the ideal speed. From 100 on: towards
    // 10 his fit leaves Poiseuille's law, 45 L/d for 64 L/d.
    for slenderness in [2.0, 4.0, 8.0] {
        for reynolds in [100.0, 200.0, 500.0, 2000.0, 1e4] {
            let (bore, density) = (0.5e-3, OVER / (AIR * HOT));
            let ideal = reynolds * air_viscosity(HOT) / density / bore;
            let suction = 0.5 * density * ideal * ideal;
            if suction > 0.05 * OVER {
                continue; // no longer a small suction
            }
            let got = pinhole(bore, slenderness * bore, OVER, OVER - suction, HOT);
            let got = got / (0.25 * PI * bore * bore * density * ideal);
            let due = oil::hydraulics::bore_coefficient(reynolds, slenderness).unwrap();
            assert!(
                (got / due - 1.0).abs() < 0.15,
                "L/d {slenderness}, Re {reynolds}: {got}, due {due}"
            );
        }
    }
}

#[test]
fn a_deep_suction_chokes_and_then_draws_no_more() {
    let at = |inside: f64| pinhole(0.5e-3, 1.5e-3, OVER, inside, HOT);
    assert!(at(70e3) < at(50e3));
    assert_eq!(at(20e3), at(10e3));
    assert_eq!(at(OVER), 0.0);
    assert_eq!(at(OVER + 1.0), 0.0);
}

#[test]
fn a_standing_off_of_sine_squared_lets_in_five_sixteenths_of_a_uniform_gap() {
    // The mean of sin⁶ is 5/16; true while the air creeps.
    let (gap, inside) = (10e-6, 90e3);
    let shaped = joint(gap, Seal::Metal).air(OVER, inside, HOT);
    let around = PI * 0.025;
    let uniform = around * gap * slot(gap, 6e-3).flux(OVER, inside, HOT);
    let ratio = shaped / uniform;
    assert!((ratio - 5.0 / 16.0).abs() < 3e-3, "{ratio}");
}

#[test]
fn a_ring_shuts_the_gap_until_it_has_no_squeeze_left() {
    // 2.4 mm cord in 1.8 mm: 0.6 mm of squeeze, 0.24 mm must stay.
    let ring = Seal::Ring {
        cord: 2.4e-3,
        groove: 1.8e-3,
    };
    assert!((ring.follows() - 0.36e-3).abs() < 1e-9);
    assert_eq!(joint(0.35e-3, ring).air(OVER, 80e3, HOT), 0.0);
    assert!(joint(0.40e-3, ring).air(OVER, 80e3, HOT) > 0.0);
    let loose = Seal::Ring {
        cord: 2.0e-3,
        groove: 2.1e-3,
    };
    assert_eq!(loose.follows(), 0.0);
}
