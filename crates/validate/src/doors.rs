//! Flaps: where they stand under a head, and what they pass.

use crate::{Row, Scale};
use glam::{DVec2, DVec3};
use oil::fluid::Fluid;
use pan::{Door, Hinge};
use slosh::{Body, Settings, SloshFault, Solver, Supply, boxes};

const G: f64 = 9.81;
const H: f64 = 0.01;
const CHAMBER: f64 = 0.2;
const WIDTH: f64 = 0.1;
/// Hinge to free edge, and along the hinge [m].
const LENGTH: f64 = 0.05;
const ACROSS: f64 = 0.04;
const DENSITY: f64 = 810.0;

/// What this subject is about.
pub const ABOUT: &str = "A flap 50 mm long and 40 mm wide, hung upright from its top edge, between two chambers of oil at \
different levels, with a steady flow through it, 10 mm cells. Its angle against the balance of pressure, weight and \
buoyancy, and its discharge against the orifice formula.";

fn flap(mass: f64, stop: f64) -> Door {
    Door {
        name: "flap".into(),
        plate: 0,
        low: DVec2::ZERO,
        high: DVec2::new(ACROSS, LENGTH),
        hinge: Hinge::Top,
        opens_positive: true,
        mass,
        stop,
        gap: 0.0,
        density: 7850.0,
        spring: [0.0; 2],
    }
}

/// Free area of the flap at an angle [m²]: front gap `2 b L sin(θ/2)` and two side triangles `½ L² sin θ`.
fn free_area(angle: f64) -> f64 {
    ACROSS * 2.0 * LENGTH * (0.5 * angle).sin() + LENGTH * LENGTH * angle.sin()
}

/// Mean angle [rad] and mean head [m] of a flap through which a pump drives `flow` [m³/s] round, from the second
/// second on; the chambers start with `head` between them.
pub fn steady(door: Door, flow: f64, head: f64) -> Result<(f64, f64), SloshFault> {
    let n = [2.0 * CHAMBER / H, WIDTH / H, 0.17 / H].map(|v| v.round() as usize);
    let mut lattice = boxes::tank(n, H);
    let wall = |p: DVec3| (p.x - CHAMBER).abs() < 0.4 * H;
    boxes::wall(&mut lattice, 0, wall);
    let (low, high) = (0.02, 0.02 + LENGTH);
    let side = 0.5 * (WIDTH - ACROSS);
    // A turn about −y swings the free lower edge toward +x.
    boxes::door(
        &mut lattice,
        0,
        DVec3::new(CHAMBER, 0.5 * WIDTH, high),
        DVec3::NEG_Y,
        1.0,
        |p| wall(p) && p.z > low && p.z < high && p.y > side && p.y < WIDTH - side,
    );
    let end = 0.04;
    boxes::mouth(
        &mut lattice,
        DVec3::new(2.0 * CHAMBER - end, 0.5 * WIDTH, 0.05),
        0.025,
    );
    boxes::returns(&mut lattice, DVec3::new(end, 0.5 * WIDTH, 0.035), 0.025);
    let fluid = Fluid {
        density: DENSITY,
        viscosity: 1e-5,
    };
    let mut solver = Solver::new(&lattice, fluid, &[door], Settings::default())?;
    let level = |x: f64| if x < CHAMBER { 0.11 + head } else { 0.11 };
    solver.fill_where(|p| ((level(p.x) - (p.z - 0.5 * H)) / H).clamp(0.0, 1.0))?;
    let difference = |s: &Solver| {
        let fill = s.fill();
        let sum: f64 = (0..fill.len())
            .map(|c| if c % n[0] < n[0] / 2 { fill[c] } else { -fill[c] })
            .sum();
        sum * H.powi(3) / (CHAMBER * WIDTH)
    };
    let body = Body::steady(DVec3::new(0.0, 0.0, -G));
    let (mut time, mut sums) = (0.0, [0.0; 3]);
    while time < 3.0 {
        let supply = Supply {
            demand: flow * (time / 0.3f64).min(1.0),
            returns: &[flow * (time / 0.3f64).min(1.0)],
        };
        let dt = solver.step(&body, &supply, 0.005)?.dt;
        time += dt;
        if time > 1.0 {
            sums[0] += dt;
            sums[1] += dt * solver.door_angles()[0];
            sums[2] += dt * difference(&solver);
        }
    }
    Ok((sums[1] / sums[0], sums[2] / sums[0]))
}

/// Rows of the flap.
pub fn rows() -> Vec<Row> {
    let mut rows = Vec::new();
    let say = |flow: f64| format!("{:.1} L/min", 6e4 * flow);
    for (head, degrees) in [(0.002, 6.917), (0.004, 13.937), (0.006, 21.179)] {
        let flow = 0.61 * free_area(f64::to_radians(degrees)) * f64::sqrt(2.0 * G * head);
        let (angle, found) = steady(flap(0.03, 1.0), flow, head).unwrap_or((f64::NAN, f64::NAN));
        rows.push(Row::new(
            format!("steel flap of 30 g passing {}: angle", say(flow)),
            (angle.to_degrees(), degrees),
            "deg",
            (0.15, Scale::Relative),
            "sin θ = Δp b L / (m g (1 − ρ/ρ_steel)), first principles, and orifice formula on the free area, Cd 0.61",
            "the flow that the formulas give for the head; mean of two seconds",
        ));
        rows.push(Row::new(
            format!("steel flap of 30 g passing {}: head", say(flow)),
            (1e3 * found, 1e3 * head),
            "mm",
            (0.15, Scale::Relative),
            "the same",
            "10 % in the discharge is 7 to 20 % in the head, as the flap gives way or not",
        ));
    }
    for degrees in [10.0, 20.0] {
        let (head, area) = (0.02, free_area(f64::to_radians(degrees)));
        let flow = 0.61 * area * f64::sqrt(2.0 * G * head);
        let found = steady(flap(0.004, f64::to_radians(degrees)), flow, head).map_or(f64::NAN, |s| s.1);
        rows.push(Row::new(
            format!(
                "flap held at {degrees}° by its stop, {}: discharge coefficient",
                say(flow)
            ),
            (flow / (area * f64::sqrt(2.0 * G * found)), 0.61),
            "",
            (0.10, Scale::Relative),
            "sharp-edged opening, textbook",
            "on front gap and side triangles",
        ));
    }
    rows
}
