//! Poison in every array: the solver refuses, it never answers.

use crate::{Body, Settings, SloshFault, Solver, Supply, boxes};
use glam::DVec3;
use oil::fluid::Fluid;

fn running() -> Solver {
    let mut lattice = boxes::tank([12, 8, 8], 0.01);
    boxes::wall(&mut lattice, 0, |p| (p.x - 0.06).abs() < 0.004);
    boxes::door(
        &mut lattice,
        0,
        DVec3::new(0.06, 0.04, 0.04),
        DVec3::NEG_Y,
        1.0,
        |p| (p.x - 0.06).abs() < 0.004 && p.z < 0.04 && (p.y - 0.04).abs() < 0.02,
    );
    let door = pan::Door {
        name: "door".into(),
        plate: 0,
        low: glam::DVec2::ZERO,
        high: glam::DVec2::ONE,
        hinge: pan::Hinge::Top,
        opens_positive: true,
        mass: 0.01,
        stop: 1.0,
        gap: 0.0005,
        density: 2700.0,
        spring: [0.0; 2],
    };
    let oil = Fluid {
        density: 850.0,
        viscosity: 1.2e-5,
    };
    let mut solver = Solver::new(&lattice, oil, &[door], Settings::default()).expect("a good lattice");
    solver.fill_below(DVec3::Z, 0.045).expect("a good level");
    for _ in 0..5 {
        solver.step(&body(), &Supply::NONE, 1.0).expect("a good step");
    }
    solver
}

fn body() -> Body {
    Body::steady(DVec3::new(5.0, 1.0, -9.81))
}

fn refuses(what: &str, mut solver: Solver) {
    let fault = solver.step(&body(), &Supply::NONE, 1.0);
    assert!(
        matches!(
            fault,
            Err(SloshFault::NotFinite { .. } | SloshFault::Pressure { .. })
        ),
        "{what}: {fault:?}"
    );
    // And goes on refusing.
    assert!(
        solver.step(&body(), &Supply::NONE, 1.0).is_err(),
        "{what}: forgotten"
    );
}

/// Refuses, or, where the number is not looked at, goes on as if it were not there.
fn is_never_used(what: &str, mut solver: Solver) {
    if solver.step(&body(), &Supply::NONE, 1.0).is_ok() {
        let mut clean = running();
        clean.step(&body(), &Supply::NONE, 1.0).expect("a good step");
        assert!(solver.state() == clean.state(), "{what}: changed the answer");
    } else {
        refuses(what, solver);
    }
}

#[test]
fn a_poisoned_number_in_any_array_is_refused() {
    // Planes are worked out anew from the fill; one at infinity is a full or an empty cell.
    let mut solver = running();
    solver.surface.planes.iter_mut().for_each(|p| p[3] = f64::NAN);
    refuses("planes", solver);
    for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        for (i, j, k) in [(2, 3, 2), (8, 5, 4), (6, 4, 1), (3, 3, 6)] {
            let mut solver = running();
            let c = solver.grid.at(i, j, k);
            solver.f[c] = value;
            // Oil put into air by hand is found at the next look for oil, before it is used.
            solver.refresh();
            refuses(&format!("fill at {i} {j} {k} = {value}"), solver);
            for a in 0..3 {
                let mut solver = running();
                solver.flow.u[a][c] = value as f32;
                refuses(&format!("velocity {a} at {i} {j} {k} = {value}"), solver);
                let mut solver = running();
                solver.pressure.grad[a][c] = value as f32;
                is_never_used(
                    &format!("pressure coefficient {a} at {i} {j} {k} = {value}"),
                    solver,
                );
            }
            let mut solver = running();
            solver.pressure.q[c] = value as f32;
            is_never_used(&format!("pressure at {i} {j} {k} = {value}"), solver);
        }
        let mut solver = running();
        solver.flaps[0].angle = value;
        refuses("door angle", solver);
        let mut solver = running();
        solver.flaps[0].rate = value;
        refuses("door rate", solver);
        let mut solver = running();
        solver.booked = value;
        refuses("ledger", solver);
        let mut solver = running();
        solver.pressure.dt = value;
        refuses("pressure time", solver);
    }
}
