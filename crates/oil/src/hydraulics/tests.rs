//! Against `proofs::hydraulics`; tolerances are half of the last digit printed there, or as said.

use super::*;
use measure::STANDARD_GRAVITY as G;
use proofs::hydraulics as published;
use proofs::suction;
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

#[test]
fn friction_follows_churchill_and_stays_near_colebrook() {
    for (reynolds, roughness, due) in suction::CHURCHILL {
        near(friction_factor(reynolds, roughness), due, 3e-5);
    }
    for (reynolds, roughness, due) in suction::COLEBROOK {
        // At 4000 the two differ by 2 %: there nobody knows better.
        near(friction_factor(reynolds, roughness), due, 2.1e-2);
    }
    // Cold oil: Poiseuille, also where the fast part underflows.
    for reynolds in [1e-6, 1e-3, 1.0, 58.9] {
        near(friction_factor(reynolds, 1e-4), 64.0 / reynolds, 1e-9);
    }
}

#[test]
fn friction_has_no_step_on_its_way_to_turbulence() {
    let at = |reynolds: f64| friction_factor(reynolds, 1e-4) * reynolds * reynolds;
    let mut last = at(100.0);
    let mut reynolds = 100.0;
    while reynolds < 1e5 {
        reynolds *= 1.01;
        let next = at(reynolds);
        // The loss rises with the flow, by no more than a cube of it.
        assert!(
            next > last && next / last < 1.01_f64.powi(4),
            "at Re {reynolds}: {last} to {next}"
        );
        last = next;
    }
}

#[test]
fn fittings_agree_with_an_independent_library() {
    for (wall, due) in suction::FREE_EDGES {
        near(free_edge(wall / 0.018), due, 2e-5);
    }
    near(rounded_entrance(0.0), 0.57, 1e-2);
    for (radius, due) in suction::ROUNDED {
        near(rounded_entrance(radius), due, 3e-4);
    }
    for (narrow, due) in suction::STEPS {
        near(contraction(narrow, PI, 0.03), due, 2e-4);
    }
    for (length, due) in suction::CONES {
        near(
            contraction(0.5, 2.0 * (0.0095_f64 / length).atan(), 0.03),
            due,
            2e-4,
        );
    }
    for (wide, due) in suction::WIDENINGS {
        near(expansion(0.018 / wide), due, 2e-4);
    }
    for (degrees, radius, friction, due) in suction::BENDS {
        near(bend_turbulent(degrees.to_radians(), radius, friction), due, 1e-4);
    }
    for (reynolds, due) in suction::TWO_CONSTANTS {
        near(two_constants(reynolds, 800.0, 0.2, 0.018), due, 1e-5);
    }
}

#[test]
fn a_bend_is_the_turbulent_one_when_fast_and_the_two_constants_when_slow() {
    for (radius, due) in suction::BENDS_AT_1E5 {
        // Churchill for Colebrook moves it by 0.5 %, the slow part adds 0.008.
        near(bend(1e5, PI / 2.0, radius, 1.5e-6 / 0.020) - 0.008, due, 6e-3);
    }
    for (reynolds, due) in &suction::TWO_CONSTANTS[..2] {
        // The slow part is all of it but the turbulent constants, 0.48 of pipe fittings and 0.4 of a drawn bend.
        near(bend(*reynolds, PI / 2.0, 1.5, 1e-4), *due, 2e-2);
    }
    assert_eq!(slow::bend(0.0), 0.0);
    near(slow::bend(PI / 4.0), 500.0, 1e-12);
    near(slow::bend(PI), 1000.0, 1e-12);
}

#[test]
fn screens_agree_with_an_independent_library_and_creep_as_sampson_says() {
    for (open, reynolds, due) in suction::SCREENS {
        near(wire_screen(open, reynolds), due, 1e-5);
    }
    for (open, due) in suction::PLATES {
        near(perforated_plate(open, 1e12, 0.3), due, 1e-5);
    }
    // Sampson 1891: a hole of 2 mm in a thin wall, oil of 1 Pa·s, 1 mL/s: 24 μQ/d³ = 3000 Pa. Open share 0.4, 900 kg/m³.
    let (hole, flow, density, viscosity, open) = (2e-3, 1e-6, 900.0, 1.0 / 900.0, 0.4);
    let speed = flow / (PI / 4.0 * hole * hole);
    let head = 0.5 * density * (speed * open).powi(2);
    near(
        (perforated_plate(open, speed * hole / viscosity, 0.0) - 7.7) * head,
        3000.0,
        1e-9,
    );
    // Poiseuille adds 128 μ t Q/(π d⁴) = 2546.5 Pa for a wall of 1 mm.
    let thick = perforated_plate(open, speed * hole / viscosity, 0.5) - 7.7;
    near(thick * head, 3000.0 + 2546.479, 1e-6);
    // A square hole of the same area as that round one.
    let gap = hole * (PI / 4.0).sqrt();
    let creeping = wire_screen(open, speed * gap / viscosity) * head;
    assert!((creeping / 3000.0 - 1.0).abs() < 0.02, "{creeping} Pa");
}

#[test]
fn slow_contractions_follow_hooper() {
    // Hooper 1988 on the wide bore: 160/Re (1/β⁴ − 1), a step of β = 0.5: 2400/Re there; narrow: K β⁴, Re/β: 300/Re.
    near(slow::contraction(0.5, PI), 300.0, 1e-12);
    assert_eq!(slow::contraction(1.0, PI), 0.0);
}
