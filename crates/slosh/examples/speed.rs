//! Times the solver on a box of 300 × 200 × 250 mm at 5 mm (120 000 cells, 48 000 of them oil), 1 g along x.
//! `cargo run --release -p sumpwright-slosh --example speed -- [cell_mm] [seconds]`
#![allow(clippy::print_stdout)]

use glam::DVec3;
use oil::fluid::Fluid;
use sumpwright_slosh::{Body, Settings, Solver, Supply, boxes};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut words = std::env::args().skip(1);
    let h = words.next().map_or(Ok(5.0), |w| w.parse::<f64>())? * 1e-3;
    let until = words.next().map_or(Ok(0.3), |w| w.parse::<f64>())?;
    let baffles = words.next().is_some();
    let n = [0.3, 0.2, 0.25].map(|l: f64| (l / h).round() as usize);
    let mut lattice = boxes::tank(n, h);
    if baffles {
        boxes::wall(&mut lattice, 0, |p| {
            (p.x - 0.1).abs() < 0.4 * h && p.z > 0.01 && p.z < 0.08
        });
        boxes::wall(&mut lattice, 1, |p| (p.y - 0.1).abs() < 0.4 * h && p.z < 0.06);
    }
    let mut solver = Solver::new(
        &lattice,
        Fluid {
            density: 850.0,
            viscosity: 1.2e-5,
        },
        &[],
        Settings::default(),
    )?;
    solver.fill_below(DVec3::Z, 0.1)?;
    let body = Body::steady(DVec3::new(-9.81, 0.0, -9.81));
    let start = std::time::Instant::now();
    let (mut time, mut steps, mut iterations, mut liquid, mut sweeps) = (0.0, 0u32, 0, 0, 0);
    while time < until {
        let step = solver.step(&body, &Supply::NONE, 1.0)?;
        time += step.dt;
        steps += 1;
        iterations += step.iterations;
        liquid = step.liquid_cells;
        sweeps += step.sweeps;
    }
    let wall = start.elapsed().as_secs_f64();
    println!(
        "{steps} steps, {:.2} ms/step, {:.2} iterations/step, {:.2} sweeps/step, {liquid} cells, {:.1} s per simulated s",
        1e3 * wall / f64::from(steps),
        f64::from(iterations) / f64::from(steps),
        f64::from(sweeps) / f64::from(steps),
        wall / time
    );
    Ok(())
}
