//! Against `proofs::hydraulics`; tolerances are half of the last digit printed there, or as said.

use super::*;
use measure::STANDARD_GRAVITY as G;
use proofs::hydraulics as published;
use std::f64::consts::PI;

#[track_caller]
fn near(got: f64, due: f64, relative: f64) {
    assert!((got / due - 1.0).abs() < relative, "got {got}, due {due}");
}

#[test]
fn holes_pass_what_was_worked_by_hand() {
    for (cd, bore, head, litres_a_minute) in published::ORIFICES {
        near(
            orifice(cd, PI / 4.0 * bore * bore, head, G) * 60e3,
            litres_a_minute,
            2e-5,
        );
    }
    let (bore, head, ideal) = published::TEXTBOOK_ORIFICE;
    // The page rounds its gallons and its g: 0.3 %.
    near(orifice(1.0, PI / 4.0 * bore * bore, head, G), ideal, 3e-3);
    let (cd, width, upper, lower, litres_a_minute) = published::TALL_OPENING;
    near(
        tall_opening(cd, width, upper, lower, G) * 60e3,
        litres_a_minute,
        1e-5,
    );
    assert_eq!(orifice(0.61, 1e-4, -0.01, G), 0.0);
    assert!(orifice(0.61, 1e-4, f64::NAN, G).is_nan());
}

#[test]
fn short_bores_follow_lichtarowicz_and_nothing_is_said_outside_his_range() {
    for (reynolds, slenderness, due, _) in published::BORES {
        near(bore_coefficient(reynolds, slenderness).unwrap(), due, 2e-5);
    }
    for outside in [(5.0, 2.0), (5e4, 2.0), (1e3, 1.0), (1e3, 12.0), (f64::NAN, 3.0)] {
        assert_eq!(bore_coefficient(outside.0, outside.1), None);
    }
}

#[test]
fn vessels_drain_and_level_in_the_published_time() {
    for (cd, plan, area, from, to, gravity, seconds) in published::DRAINING {
        // The textbook page rounds on its way: 0.02 %; the rest are good to their last digit.
        near(drain_time(cd, plan, area, from, to, gravity), seconds, 2e-4);
    }
    let (cd, one, other, area, from, to, seconds) = published::LEVELLING;
    near(levelling_time(cd, (one, other), area, from, to, G), seconds, 2e-5);
}

#[test]
fn thin_and_broad_weirs_agree_with_an_independent_library() {
    for (head, crest, width, by_rehbock, by_kindsvater) in published::WEIRS {
        near(rehbock(head, crest, width, G), by_rehbock, 3e-5);
        near(kindsvater_carter(head, crest, width, G), by_kindsvater, 3e-5);
    }
    for (head, width, cd, due) in published::BROAD_CRESTS {
        near(
            broad_crest(cd, head, width, published::TEXTBOOK_GRAVITY),
            due,
            2e-4,
        );
    }
    assert_eq!(rehbock(-0.01, 0.1, 0.2, G), 0.0);
}

#[test]
fn a_drowned_weir_passes_its_share_and_nothing_when_level() {
    for (ratio, due) in published::DROWNED_WEIRS {
        near(drowned_share(1.0, ratio), due, 2e-5);
    }
    assert_eq!(drowned_share(0.1, -0.02), 1.0);
    assert_eq!(drowned_share(0.1, 0.1), 0.0);
}

#[test]
fn gates_agree_by_both_forms() {
    for (depth, swamee, momentum) in published::GATES {
        near(gate_coefficient(0.01, depth), swamee, 2e-5);
        near(gate_coefficient_momentum(0.01, depth), momentum, 2e-5);
    }
    let (by_swamee, by_momentum) = published::GATE_FLOWS;
    near(
        gate(gate_coefficient(0.01, 0.10), 0.01, 0.10, 0.2, G),
        by_swamee,
        3e-4,
    );
    near(
        gate(gate_coefficient_momentum(0.01, 0.10), 0.01, 0.10, 0.2, G),
        by_momentum,
        3e-4,
    );
}

#[test]
fn submergence_ranks_bells_as_the_standard_does() {
    for (flow, diameter, due) in published::SUBMERGENCE {
        near(submergence(flow, diameter, G), due, 4e-4);
    }
}
