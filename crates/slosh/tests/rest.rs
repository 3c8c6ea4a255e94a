//! Oil at rest. Waves, tilt and passages against theory are in the `validate` crate.

use glam::DVec3;
use oil::fluid::Fluid;
use sumpwright_slosh::{Body, Settings, Solver, Supply, boxes};

const G: f64 = 9.81;

fn thin() -> Fluid {
    Fluid {
        density: 850.0,
        viscosity: 1e-6,
    }
}

fn slippery() -> Settings {
    Settings {
        wall_friction: false,
        ..Settings::default()
    }
}

fn fastest(solver: &Solver) -> f64 {
    solver
        .velocity_at_cells()
        .iter()
        .map(|v| v.length())
        .fold(0.0, f64::max)
}

/// Level surface at several heights inside the cells, mid-height included (there a scheme without clamped
/// surface distances flickers at 0.05-0.09 m/s for ever). Aim of the method: 1e-4 m/s.
#[test]
fn oil_at_rest_stays_at_rest() {
    for share in [0.02, 0.3, 0.5, 0.77, 0.98] {
        let lattice = boxes::tank([16, 8, 10], 0.01);
        let mut solver = Solver::new(&lattice, thin(), &[], slippery()).unwrap();
        solver.fill_below(DVec3::Z, 0.05 + 0.01 * share).unwrap();
        let mut time = 0.0;
        while time < 0.5 {
            time += solver
                .step(&Body::steady(DVec3::new(0.0, 0.0, -G)), &Supply::NONE, 1.0)
                .unwrap()
                .dt;
        }
        let u = fastest(&solver);
        assert!(u < 1e-4, "share {share}: {u:.2e} m/s");
    }
}
