//! Water in a thin box that rolls: impacts and slow humps at a wall sensor.

use crate::{Row, Scale};
use glam::DVec3;
use oil::fluid::Fluid;
use proofs::free_surface::lateral_water::*;
use slosh::{Body, Settings, SloshFault, Solver, Supply, boxes};

const G: f64 = 9.81;

/// What this subject is about.
pub const ABOUT: &str = "A box of 900 × 508 × 62 mm with 93 mm of water rolls about the middle of its bottom \
line by the recorded angle. Arrival times and slow humps are the dependable part of the record; peaks scatter \
by 20 to 36 % from run to run and are judged by mean ± 2 standard deviations. The oil's air is not computed, so \
effects of trapped air are missing.";

/// The recorded roll as a smooth cubic (second derivative continuous, still at both ends).
pub struct Roll {
    bend: Vec<f64>,
}

impl Roll {
    /// Solves for the second derivatives, first derivative zero at the start and natural at the end.
    pub fn recorded() -> Roll {
        let n = ROLL.len();
        let mut right = vec![0.0; n];
        let mut upper = vec![0.0; n];
        // Clamped start: 2 m0 + m1 = 6 (y1 − y0)/h².
        let h2 = ROLL_STEP * ROLL_STEP;
        let (mut diagonal, mut side) = (2.0, 1.0);
        right[0] = 6.0 * (ROLL[1] - ROLL[0]) / h2 / diagonal;
        upper[0] = side / diagonal;
        for i in 1..n {
            let (low, d, value) = if i + 1 < n {
                (1.0, 4.0, 6.0 * (ROLL[i + 1] - 2.0 * ROLL[i] + ROLL[i - 1]) / h2)
            } else {
                (0.0, 1.0, 0.0)
            };
            side = if i + 1 < n { 1.0 } else { 0.0 };
            diagonal = d - low * upper[i - 1];
            upper[i] = side / diagonal;
            right[i] = (value - low * right[i - 1]) / diagonal;
        }
        for i in (0..n - 1).rev() {
            right[i] -= upper[i] * right[i + 1];
        }
        Roll { bend: right }
    }

    /// Angle [rad], rate [rad/s] and acceleration [rad/s²] at `time` [s].
    pub fn at(&self, time: f64) -> [f64; 3] {
        let i = ((time / ROLL_STEP) as usize).min(ROLL.len() - 2);
        let (h, s) = (ROLL_STEP, (time - ROLL_STEP * i as f64) / ROLL_STEP);
        let (a, b) = (1.0 - s, s);
        let (m0, m1) = (self.bend[i], self.bend[i + 1]);
        let angle =
            a * ROLL[i] + b * ROLL[i + 1] + h * h / 6.0 * ((a * a * a - a) * m0 + (b * b * b - b) * m1);
        let rate =
            (ROLL[i + 1] - ROLL[i]) / h + h / 6.0 * ((1.0 - 3.0 * a * a) * m0 + (3.0 * b * b - 1.0) * m1);
        [angle, rate, a * m0 + b * m1].map(f64::to_radians)
    }

    /// What the water feels at `time`: the box turns about the middle of its bottom line, left wall down for a
    /// positive angle, which is a turn about −y.
    pub fn body(&self, time: f64) -> Body {
        let [angle, rate, quickening] = self.at(time);
        Body {
            gravity: G * DVec3::new(-angle.sin(), 0.0, -angle.cos()),
            spin: DVec3::new(0.0, -rate, 0.0),
            spin_rate: DVec3::new(0.0, -quickening, 0.0),
            pivot: DVec3::new(0.5 * BOX[0], 0.5 * BOX[2], 0.0),
        }
    }
}

/// Pressure at sensor 1 against time [s, Pa], with `across` cells over the thickness.
pub fn sensor(across: usize, until: f64) -> Result<Vec<(f64, f64)>, SloshFault> {
    let h = BOX[2] / across as f64;
    let n = [(BOX[0] / h).round() as usize, across, (0.3 / h).round() as usize];
    // Cells are cubes of the thickness, so the box comes out up to half a cell longer or shorter; it is opened
    // to its true length by cut cells.
    let n = [n[0] + 2, n[1], n[2]];
    let start = -h * (n[0] as f64 - BOX[0] / h) * 0.5;
    let lattice = boxes::carved(n, h, DVec3::new(start, 0.0, 0.0), 20, |p| {
        p.x > 0.0 && p.x < BOX[0]
    });
    let water = Fluid {
        density: DENSITY,
        viscosity: VISCOSITY,
    };
    let mut solver = Solver::new(&lattice, water, &[], Settings::default())?;
    solver.fill_volume(
        DVec3::Z,
        DEPTH * BOX[2] * solver.open_volume() / (BOX[2] * h * n[2] as f64),
    )?;
    let roll = Roll::recorded();
    let (mut time, mut record) = (0.0, Vec::new());
    while time < until {
        let step = solver.step(&roll.body(time), &Supply::NONE, 2e-3)?;
        time += step.dt;
        record.push((time, solver.pressure_at(DVec3::new(1e-6, 0.5 * BOX[2], DEPTH))));
    }
    Ok(record)
}

/// Largest mean over 20 ms between two times [Pa]: humps, not spikes.
fn hump(record: &[(f64, f64)], from: f64, to: f64) -> f64 {
    let mut most = f64::NAN;
    for (i, (t, _)) in record.iter().enumerate() {
        if *t < from || *t > to {
            continue;
        }
        let near: Vec<f64> = record[i.saturating_sub(60)..]
            .iter()
            .take(120)
            .filter(|(s, _)| (s - t).abs() < 0.01)
            .map(|(_, p)| *p)
            .collect();
        let mean = near.iter().sum::<f64>() / near.len() as f64;
        if mean > most || most.is_nan() {
            most = mean;
        }
    }
    most
}

/// Mean over time between two moments [Pa].
fn mean_between(record: &[(f64, f64)], from: f64, to: f64) -> f64 {
    let sum: f64 = record
        .windows(2)
        .filter(|w| w[1].0 > from && w[1].0 <= to)
        .map(|w| w[1].1 * (w[1].0 - w[0].0))
        .sum();
    sum / (to - from)
}

/// Sensor 1 over the first 3 s, on two grids.
pub fn rows() -> Vec<Row> {
    const SOURCE: &str = "Souto-Iglesias et al. 2011 (SPHERIC 10)";
    let mut rows = Vec::new();
    for across in [6, 10] {
        let record = sensor(across, 3.0).unwrap_or_default();
        let mm = 1e3 * BOX[2] / across as f64;
        let mut add =
            |what: String, published: f64, computed: f64, unit, tolerance: f64, scale, note: &str| {
                rows.push(Row {
                    case: format!("{what}, {mm:.1} mm cells"),
                    published,
                    computed,
                    unit,
                    tolerance,
                    scale,
                    source: SOURCE,
                    note: note.into(),
                });
            };
        let humps = [(0.75, 1.15), (2.47, 2.55), (2.6, 2.85)];
        let names = ["hump before the first impact", "plateau after it", "second hump"];
        for i in [0, 2] {
            let computed = hump(&record, humps[i].0, humps[i].1);
            add(
                names[i].into(),
                HUMPS[i].1,
                computed,
                "Pa",
                0.10,
                Scale::Relative,
                "largest mean over 20 ms",
            );
        }
        let arrival = record
            .windows(2)
            .find(|w| w[0].0 > 2.0 && w[1].1 > 1000.0)
            .map_or(f64::NAN, |w| w[1].0);
        add(
            "first impact".into(),
            FIRST_IMPACT,
            arrival,
            "s",
            0.03,
            Scale::Absolute,
            "first time above 1000 Pa after 2 s",
        );
        // Single steps reach tens of kPa when oil without air shuts the last gap; the mean over 50 ms is what
        // the wall feels of it.
        let after = mean_between(&record, arrival, arrival + AFTER_IMPACT.0);
        add(
            "mean of 50 ms after it".into(),
            AFTER_IMPACT.1,
            after,
            "Pa",
            0.25,
            Scale::Relative,
            "from the record of the one published run; runs scatter by 20 %. Low, and lower with finer cells; cause not found",
        );
        let peak = record
            .iter()
            .filter(|(t, _)| *t > 2.2 && *t < 2.6)
            .map(|(_, p)| *p)
            .fold(f64::NAN, f64::max);
        let (mean, spread) = FIRST_PEAK;
        add(
            "first peak".into(),
            mean,
            peak,
            "Pa",
            2.0 * spread,
            Scale::Absolute,
            "mean of 100 runs ± 2 sd. Off because a liquid without air shuts its last gap in one step: the spike differs much from grid to grid; no peak is to be read from this solver yet",
        );
    }
    rows
}
