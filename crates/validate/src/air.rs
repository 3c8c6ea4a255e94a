//! The mouth and the surface over it: at which height of oil air comes down to it.

use crate::shapes::tank;
use crate::{Row, Scale};
use glam::DVec3;
use oil::fluid::Fluid;
use pan::{Lattice, Mouth};
use slosh::{Body, Settings, SloshFault, Solver, Supply, boxes};
use std::f64::consts::PI;

const G: f64 = 9.81;

/// What this subject is about.
pub const ABOUT: &str = "A tank 250 mm square drained by a pump through a mouth in its floor: the mean depth at which the \
dip over the mouth reaches it and the first air is drawn, by grid, against the height at which a dip reaches a sink. \
Then a pickup as pans have it, held over the floor of a tank 400 mm square: the depth at which air comes under its rim, \
against the depth from which the flow just runs to the rim by itself.";

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
    let plan = h * h * (n[0] * n[1]) as f64;
    Ok(drain(&mut solver, flow)? / plan)
}

/// Oil left [m³] when air first makes up 2 % of what the pump draws.
fn drain(solver: &mut Solver, flow: f64) -> Result<f64, SloshFault> {
    let body = Body::steady(DVec3::new(0.0, 0.0, -G));
    let mut time = 0.0;
    while time < 10.0 {
        // The pump comes up to speed over 0.3 s.
        let demand = flow * f64::min(time / 0.3, 1.0);
        let supply = Supply { demand, returns: &[] };
        let step = solver.step(&body, &supply, 0.005)?;
        time += step.dt;
        if step.air_drawn > 0.02 * demand * step.dt {
            return Ok(solver.oil_volume());
        }
    }
    Ok(f64::NAN)
}

/// Opening and outside of the pickup over the floor, and its rim's height [m].
const PICKUP: [f64; 3] = [0.038, 0.042, 0.010];

/// Mean depth [m] over the floor when air first makes up 2 % of what a pickup over the floor draws.
pub fn air_under_rim(flow: f64, h: f64) -> Result<f64, SloshFault> {
    let side = 0.4;
    let [diameter, outside, gap] = PICKUP;
    let mut pan = tank([side, side, 0.08], DVec3::new(0.5 * side, 0.5 * side, gap));
    pan.mouth = Mouth {
        diameter,
        outside,
        ..pan.mouth
    };
    let lattice = Lattice::build(&pan, h).expect("this pan is sound");
    let fluid = Fluid {
        density: 850.0,
        viscosity: 1e-5,
    };
    let mut solver = Solver::new(&lattice, fluid, &[], Settings::default())?;
    solver.fill_below(DVec3::Z, 1.4 * overfall(flow))?;
    Ok(drain(&mut solver, flow)? / (side * side))
}

/// Depth [m] far away at which oil just runs to a pickup over the floor by itself: critical flow at the rim,
/// `H = 3/2 (q²/g)^(1/3)` with `q = Q/(π D)` (a free overfall, whose brink is 0.715 of the critical depth deep: F. M.
/// Henderson, Open Channel Flow, from memory). Below it the pump wants more than comes, and as long as the brink is
/// lower than the rim, air has a way in. What the suction under the rim adds is left out, so air may come a little
/// later than this says.
pub fn overfall(flow: f64) -> f64 {
    let q = flow / (PI * PICKUP[1]);
    1.5 * (q * q / G).cbrt()
}

/// Mean depth at which a dip without swirl reaches a sink of `flow` [m³/s] in the floor [m]: `0.69 (Q²/g)^(1/5)`.
///
/// Over a sink the speed is `Q/(2π y²)`; the dip falls in where the height `u²/2g` grows as fast as the dip goes
/// down, `y⁵ = Q²/(2π² g)`, and the depth far away is `y + u²/2g = 5y/4`.
pub fn dip(flow: f64) -> f64 {
    let y = (flow * flow / (2.0 * PI.powi(2) * G)).powf(0.2);
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

fn rim_row(litres: f64, h: f64) -> Row {
    let flow = litres / 6e4;
    let depth = air_under_rim(flow, h).unwrap_or(f64::NAN);
    Row::new(
        format!(
            "pickup 10 mm over the floor, {litres:.0} L/min, {:.1} mm cells: mean depth at the first air",
            1e3 * h
        ),
        (1e3 * depth, 1e3 * overfall(flow)),
        "mm",
        (0.25, Scale::Relative),
        "critical flow at the rim (open-channel formula, worked here)",
        "one to three cells between rim and floor; the formula leaves out what suction under the rim adds",
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
    rows.extend(
        [
            (30.0, 0.01),
            (30.0, 0.005),
            (40.0, 0.01),
            (40.0, 0.005),
            (40.0, 0.01 / 3.0),
        ]
        .map(|(q, h)| rim_row(q, h)),
    );
    rows
}
