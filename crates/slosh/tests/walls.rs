//! Thin walls.

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

/// Oil left of `x` [m³].
fn left_of(solver: &Solver, lattice: &pan::Lattice, x: f64) -> f64 {
    let fill = solver.fill();
    let h3 = lattice.cell.powi(3);
    (0..fill.len())
        .filter(|c| lattice.cell * ((c % lattice.n[0]) as f64 + 0.5) < x)
        .map(|c| fill[c] * lattice.open_volume[c] * h3)
        .sum()
}

#[test]
fn a_shut_wall_leaks_exactly_nothing() {
    let h = 0.01;
    let mut lattice = boxes::tank([20, 4, 15], h);
    boxes::wall(&mut lattice, 0, |p| (p.x - 0.1).abs() < 0.4 * h);
    let mut solver = Solver::new(&lattice, thin(), &[], Settings::default()).unwrap();
    solver.fill_where(|p| f64::from(p.x < 0.1 && p.z < 0.08)).unwrap();
    let mut time = 0.0;
    while time < 1.0 {
        let side = if time % 0.5 < 0.25 { 2.0 } else { -2.0 };
        let body = Body::steady(DVec3::new(side * G, 0.3 * G, -G));
        time += solver.step(&body, &Supply::NONE, 1.0).unwrap().dt;
    }
    let fill = solver.fill();
    let leaked: f64 = (0..fill.len())
        .filter(|c| c % 20 >= 10)
        .map(|c| fill[c].abs())
        .sum();
    assert!(leaked == 0.0, "{leaked:.3e} cells of oil crossed a shut wall");
    assert!(left_of(&solver, &lattice, 0.1) > 0.0);
}
