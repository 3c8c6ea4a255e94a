//! Oil at rest, small waves and standing tilt in simple tanks.

use glam::DVec3;
use oil::fluid::Fluid;
use sumpwright_slosh::{Body, Settings, Solver, Supply, boxes};

const G: f64 = 9.81;

fn thin() -> Fluid {
    Fluid { density: 850.0, viscosity: 1e-6 }
}

fn slippery() -> Settings {
    Settings { wall_friction: false, ..Settings::default() }
}

fn fastest(solver: &Solver) -> f64 {
    solver.velocity_at_cells().iter().map(|v| v.length()).fold(0.0, f64::max)
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
            time += solver.step(&Body::steady(DVec3::new(0.0, 0.0, -G)), &Supply::NONE, 1.0).unwrap().dt;
        }
        let u = fastest(&solver);
        assert!(u < 1e-4, "share {share}: {u:.2e} m/s");
    }
}

/// First mode of a tank of length `l` filled to `depth`, by the sign changes of the surface's first moment.
fn first_mode(l: f64, depth: f64, cells: usize, periods: f64) -> (f64, f64) {
    let h = l / cells as f64;
    let high = ((depth * 1.4 / h).ceil() as usize).max(((depth + 0.02) / h).ceil() as usize);
    let lattice = boxes::tank([cells, 2, high], h);
    let mut solver = Solver::new(&lattice, thin(), &[], slippery()).unwrap();
    let k = std::f64::consts::PI / l;
    let exact = (G * k * (k * depth).tanh()).sqrt() / (2.0 * std::f64::consts::PI);
    // Released from the mode's shape: 1 % of the length high.
    let height = 0.005 * l;
    solver
        .fill_where(|p| {
            let top = depth + height * (k * p.x).cos() * (0.5 * k * h).sin() / (0.5 * k * h);
            ((top - (p.z - 0.5 * h)) / h).clamp(0.0, 1.0)
        })
        .unwrap();
    let moment = |s: &Solver| -> f64 {
        s.fill().iter().enumerate().map(|(c, f)| f * ((c % cells) as f64 + 0.5 - 0.5 * cells as f64)).sum()
    };
    let (mut time, mut last, mut crossings) = (0.0, moment(&solver), Vec::new());
    while time < periods / exact {
        let dt = solver.step(&Body::steady(DVec3::new(0.0, 0.0, -G)), &Supply::NONE, 1.0).unwrap().dt;
        let now = moment(&solver);
        if (now < 0.0) != (last < 0.0) {
            crossings.push(time + dt * last / (last - now));
        }
        last = now;
        time += dt;
    }
    let halves = (crossings.len() - 1) as f64;
    (0.5 * halves / (crossings[crossings.len() - 1] - crossings[0]), exact)
}

/// Linear wave theory, `ω² = g k tanh(k h)` (NASA SP-106, Abramson 1966). 1 % is the tolerance of the main
/// job; the method's own aim at these cells is 0.15 %.
#[test]
fn a_box_rings_at_its_first_mode_at_three_depths() {
    for depth in [0.03, 0.05, 0.12] {
        let (f, exact) = first_mode(0.3, depth, 30, 4.2);
        let off = f / exact - 1.0;
        println!("depth {depth}: {f:.5} Hz, theory {exact:.5}, {:.3} %", 100.0 * off);
        assert!(off.abs() < 0.01, "depth {depth}: {f:.5} Hz against {exact:.5}");
    }
}

/// Halving the cell cuts the frequency error by 4 in a second-order scheme; 1.7 leaves room for the
/// amplitude's own shift.
#[test]
fn the_first_mode_converges_at_second_order() {
    let errors: Vec<f64> = [10, 20, 40]
        .into_iter()
        .map(|cells| {
            let (f, exact) = first_mode(0.3, 0.06, cells, 4.2);
            f / exact - 1.0
        })
        .collect();
    let order = (errors[0].abs() / errors[1].abs()).log2();
    println!("errors {errors:.6?} order {order:.2}");
    assert!(order > 1.7, "errors {errors:?}");
    assert!(errors[2].abs() < 1.5e-3, "errors {errors:?}");
}
