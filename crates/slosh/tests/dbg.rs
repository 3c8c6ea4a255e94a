use glam::DVec3;
use oil::fluid::Fluid;
use sumpwright_slosh::{Body, Settings, Solver, Supply, boxes};
#[test]
fn dbg() {
    let h = 0.01;
    let mut lattice = boxes::tank([12, 6, 8], h);
    boxes::wall(&mut lattice, 0, |p| (p.x - 0.06).abs() < 0.4 * h);
    let mut solver = Solver::new(
        &lattice,
        Fluid {
            density: 850.0,
            viscosity: 1.2e-5,
        },
        &[],
        Settings::default(),
    )
    .unwrap();
    solver
        .fill_where(|p| f64::from(p.x < 0.06 || p.z < 0.04))
        .unwrap();
    for n in 0..12 {
        let step = solver
            .step(
                &Body::steady(DVec3::new(0.5 * 9.81, 0.0, -9.81)),
                &Supply::NONE,
                1.0,
            )
            .unwrap();
        let v = solver.velocity_at_cells();
        let f = solver.fill();
        let mut b = (0, 0.0);
        for c in 0..v.len() {
            if c % 12 < 6 && v[c].length() > b.1 {
                b = (c, v[c].length());
            }
        }
        println!(
            "{n} {step:?}\n   at {:?} v {:?} f {} p {}",
            (b.0 % 12, b.0 / 12 % 6, b.0 / 72),
            v[b.0],
            f[b.0],
            solver.pressure_at(lattice.centre(b.0 % 12, b.0 / 12 % 6, b.0 / 72))
        );
    }
}
