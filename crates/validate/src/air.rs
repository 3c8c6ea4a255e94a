//! The mouth and the surface over it: at which height of oil air comes down to it.

use crate::{Row, Scale};
use glam::DVec3;
use oil::fluid::Fluid;
use slosh::{Body, Settings, SloshFault, Solver, Supply, boxes};

const G: f64 = 9.81;

/// What this subject is about.
pub const ABOUT: &str = "A tank 250 mm square drained by a pump through a mouth in its floor: the mean depth at which the \
dip over the mouth reaches it and the first air is drawn, by grid, against the height at which a dip reaches a sink.";

/// Mean depth [m] over the floor when air first makes up 2 % of what is drawn: a mouth 20 mm wide at the floor that
/// draws `flow` [m³/s], cells of edge `h`.
pub fn first_air(flow: f64, h: f64) -> Result<f64, SloshFault> {
    let (side, depth) = (0.25, 1.5 * dip(flow));
    let n = [side / h, side / h, 0.06 / h].map(|v: f64| v.round() as usize);
    let mut lattice = boxes::tank(n, h);
    let middle = 0.5 * h * n[0] as f64;
    boxes::mouth(&mut lattice, DVec3::new(middle, middle, h), 0.01f64.max(0.75 * h));
    let fluid = Fluid {
        density: 850.0,
        viscosity: 1e-5,
    };
    let mut solver = Solver::new(&lattice, fluid, &[], Settings::default())?;
    solver.fill_where(|p| ((depth - (p.z - 0.5 * h)) / h).clamp(0.0, 1.0))?;
    let body = Body::steady(DVec3::new(0.0, 0.0, -G));
    let plan = h * h * (n[0] * n[1]) as f64;
    let mut time = 0.0;
    while time < 10.0 {
        // The pump comes up to speed over 0.3 s.
        let demand = flow * f64::min(time / 0.3, 1.0);
        let supply = Supply { demand, returns: &[] };
        let step = solver.step(&body, &supply, 0.005)?;
        time += step.dt;
        if step.air_drawn > 0.02 * demand * step.dt {
            return Ok(solver.oil_volume() / plan);
        }
    }
    Ok(f64::NAN)
}

/// Mean depth at which a dip without swirl reaches a sink of `flow` [m³/s] in the floor [m]: `0.69 (Q²/g)^(1/5)`.
///
/// Over a sink the speed is `Q/(2π y²)`; the dip falls in where the height `u²/2g` grows as fast as the dip goes
/// down, `y⁵ = Q²/(2π² g)`, and the depth far away is `y + u²/2g = 5y/4`.
pub fn dip(flow: f64) -> f64 {
    let y = (flow * flow / (2.0 * std::f64::consts::PI.powi(2) * G)).powf(0.2);
    1.25 * y
}

fn row(litres: f64, h: f64) -> Row {
    let flow = litres / 6e4;
    let depth = first_air(flow, h).unwrap_or(f64::NAN);
    Row::new(
        format!(
            "{litres:.0} L/min, {:.1} mm cells: mean depth at the first air",
            1e3 * h
        ),
        (1e3 * depth, 1e3 * dip(flow)),
        "mm",
        (0.25, Scale::Relative),
        "Lubin and Springer 1967 (their formula, worked again here from Bernoulli's equation)",
        "a mouth of a few cells; the level falls by 11 to 21 mm a second, and the mouth is not a point",
    )
}

/// The quick row.
pub fn quick() -> Vec<Row> {
    vec![row(80.0, 0.00625)]
}

/// All rows.
pub fn rows() -> Vec<Row> {
    let mut rows = quick();
    rows.extend([(40.0, 0.00625), (80.0, 0.01), (80.0, 0.005), (40.0, 0.005)].map(|(q, h)| row(q, h)));
    rows
}
