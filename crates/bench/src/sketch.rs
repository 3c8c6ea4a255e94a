//! Bays: a two-minute lap logged at 100 Hz in a pan of eight spaces, and two hours of it.

use crate::machine;
use bays::Network;
use bays::race::{Race, race};
use bays::run::{Inputs, run};
use drive::Drive;
use glam::DVec3;
use pan::Lattice;
use serde::{Deserialize, Serialize};
use std::path::Path;
use std::time::Instant;

/// Length of the lap [s].
const LAP: f64 = 120.0;
/// Laps of the two hours.
const LAPS: usize = 60;
/// Cell of the lattice [m]: finer than `bays` takes for this pan by itself.
const CELL: f64 = 8e-3;
const G: f64 = 9.80665;

/// What they cost.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct SketchTimed {
    /// Spaces.
    pub spaces: usize,
    /// Openings, and the patches that they are made of.
    pub openings: (usize, usize),
    /// Doors.
    pub doors: usize,
    /// Lattice from the design's pan [s].
    pub lattice: f64,
    /// Spaces and openings from the lattice [s].
    pub cut: f64,
    /// The lap: least of five [s].
    pub lap: f64,
    /// Two hours of it [s].
    pub race: f64,
    /// Memory [bytes].
    pub peak_memory: Option<u64>,
}

/// Times them, on one thread.
pub fn time() -> Result<SketchTimed, String> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("pans/eight-spaces.toml");
    let design = job::read(&file).map_err(|faults| {
        let said: Vec<String> = faults.iter().map(ToString::to_string).collect();
        said.join("; ")
    })?;
    let oil = &design.oil;
    let fluid = (oil.spec.at(oil.temperature, oil.aeration)).map_err(|e| e.to_string())?;
    let before = Instant::now();
    let lattice = Lattice::build(&design.pan, CELL).map_err(|e| e.to_string())?;
    let lattice_took = before.elapsed().as_secs_f64();
    let before = Instant::now();
    let network = Network::cut(&lattice, &design.pan.doors).map_err(|e| e.to_string())?;
    let cut = before.elapsed().as_secs_f64();
    let drive = lap().in_frame(design.installation.pan_from_car());
    let inputs = Inputs {
        network: &network,
        fluid,
        circuit: Some(&design.circuit),
        drive: &drive,
        fill: design.fill,
        start: 0.0,
        end: LAP,
    };
    let mut lap = f64::INFINITY;
    for _ in 0..5 {
        let before = Instant::now();
        run(inputs).map_err(|e| e.to_string())?;
        lap = lap.min(before.elapsed().as_secs_f64());
    }
    let before = Instant::now();
    let long = Race {
        laps: LAPS,
        burnt: 0.2e-3 / 3600.0,
        thin: 5e-3,
        lasts: 0.1,
    };
    let laps = race(inputs, &long, |_, _| true).map_err(|e| e.to_string())?;
    if laps.len() != LAPS {
        return Err(format!("the race ended after {} laps", laps.len()));
    }
    Ok(SketchTimed {
        spaces: network.bays.len(),
        openings: (
            network.ports.len(),
            network.ports.iter().map(|port| port.patches.len()).sum(),
        ),
        doors: network.flaps.len(),
        lattice: lattice_took,
        cut,
        lap,
        race: before.elapsed().as_secs_f64(),
        peak_memory: machine::peak_memory(),
    })
}

/// An invented lap: a corner every eight seconds, left and right by turns, braking before each and driving after it, with
/// the shake of a kerb.
fn lap() -> Drive {
    let count = (LAP * 100.0) as usize + 1;
    let time: Vec<f64> = (0..count).map(|i| 0.01 * i as f64).collect();
    let rise = |t: f64, from: f64, to: f64| ((t - from) / (to - from)).clamp(0.0, 1.0);
    let pulse = |t: f64, a: f64, b: f64, soft: f64| rise(t, a, a + soft) - rise(t, b - soft, b);
    let gravity = time.iter().map(|t| {
        let (corner, t) = ((t / 8.0) as u64, t % 8.0);
        let side = if corner % 2 == 0 { 1.0 } else { -1.0 };
        let lateral = side * 1.2 * pulse(t, 2.2, 5.0, 0.5);
        let along = 0.4 * pulse(t, 4.5, 8.0, 0.5) - 1.1 * pulse(t, 0.6, 2.6, 0.25);
        let kerb = 0.15 * pulse(t, 4.0, 4.6, 0.1) * (60.0 * t).sin();
        DVec3::new(-along, -lateral, -1.0 + kerb) * G
    });
    let zeros = || vec![0.0; count];
    Drive {
        name: "an invented lap".to_owned(),
        gravity: gravity.collect(),
        spin: None,
        spin_rate: None,
        pivot: DVec3::ZERO,
        engine_speed: time.iter().map(|t| 100.0 - 3.0 * (t % 8.0 - 4.0).abs()).collect(),
        speed: zeros(),
        distance: zeros(),
        place: None,
        laps: Vec::new(),
        said: Vec::new(),
        time,
    }
}
