//! The reference work by a general particle library (divergence-free smoothed particle hydrodynamics, salva3d):
//! `particles SECONDS`. One line of JSON.
//!
//! Particles 5 mm apart, one per cell of the reference, which is coarser than a grid of 5 mm. The library's
//! own settings; walls are two layers of fixed particles; the step carries the fastest particle 0.4 of the
//! distance between two, and is at most 2 ms.

use salva3d::LiquidWorld;
use salva3d::math::Vector;
use salva3d::object::interaction_groups::InteractionGroups;
use salva3d::object::{Boundary, Fluid};
use salva3d::solver::{ArtificialViscosity, DFSPHSolver};
use std::time::Instant;

const SPACING: f32 = 0.005;
const CELLS: [i32; 3] = [60, 40, 30];
const FILLED: i32 = 15;
const G: f32 = 9.81;

fn main() {
    let seconds: f64 = std::env::args()
        .nth(1)
        .and_then(|word| word.parse().ok())
        .expect("say how many seconds of oil motion are wanted");
    let (mut oil, mut walls) = (Vec::new(), Vec::new());
    for k in -2..CELLS[2] + 2 {
        for j in -2..CELLS[1] + 2 {
            for i in -2..CELLS[0] + 2 {
                let at = Vector::new(i as f32 + 0.5, j as f32 + 0.5, k as f32 + 0.5) * SPACING;
                let inside = [i, j, k].iter().zip(CELLS).all(|(c, n)| (0..n).contains(c));
                if !inside {
                    walls.push(at);
                } else if k < FILLED {
                    oil.push(at);
                }
            }
        }
    }
    let particles = oil.len();
    let radius = SPACING / 2.0;
    let mut world = LiquidWorld::new(DFSPHSolver::new() as DFSPHSolver, radius, 2.0, 1.0);
    let mut fluid = Fluid::new(oil, radius, 850.0, InteractionGroups::all());
    fluid
        .nonpressure_forces
        .push(Box::new(ArtificialViscosity::new(0.01, 0.0)));
    let fluid = world.add_fluid(fluid);
    world.add_boundary(Boundary::new(walls, InteractionGroups::all()));
    let (mut time, mut steps) = (0.0f64, 0u32);
    let begun = Instant::now();
    while seconds - time > 1e-9 {
        let fastest = world.fluids()[fluid]
            .velocities
            .iter()
            .map(|v| v.norm())
            .fold(0.1f32, f32::max);
        let dt = f64::from(0.4 * SPACING / fastest).min(2e-3).min(seconds - time);
        let pull = if time < 1.0 {
            Vector::new(G, 0.0, -G)
        } else {
            Vector::new(0.0, G, -G)
        };
        world.step(dt as f32, &pull);
        time += dt;
        steps += 1;
    }
    let wall = begun.elapsed().as_secs_f64();
    let lost = world.fluids()[fluid]
        .positions
        .iter()
        .filter(|p| {
            let size = CELLS.map(|n| n as f32 * SPACING);
            !(0..3).all(|a| p[a] > -SPACING && p[a] < size[a] + SPACING)
        })
        .count();
    let cpu = processor_time().map_or("null".to_string(), |t| t.to_string());
    println!(
        "{{\"simulated\":{seconds},\"wall\":{wall},\"cpu\":{cpu},\"steps\":{steps},\"points\":{particles},\"lost\":{lost}}}"
    );
}

/// Processor time of this process [s], where the system says it in a file; the set-up is a small part of it.
fn processor_time() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    let mut fields = text.rsplit_once(')')?.1.split_whitespace().skip(11);
    let user: f64 = fields.next()?.parse().ok()?;
    let system: f64 = fields.next()?.parse().ok()?;
    Some((user + system) / 100.0)
}
