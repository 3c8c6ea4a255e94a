//! A drive known in full: standing, laps of a closed course at varying speed, standing again. Car frame, SI.

use std::f64::consts::TAU;

use crate::dice::Dice;

/// One instant.
#[derive(Clone, Copy, Debug, Default)]
pub struct Row {
    pub t: f64,
    pub v: f64,
    /// Acceleration forward, left, up; gravity not in it.
    pub a: [f64; 3],
    pub yaw: f64,
    pub x: f64,
    pub y: f64,
    pub distance: f64,
    pub lap: usize,
    pub engine: f64,
    /// Oil [Pa], [K].
    pub pressure: f64,
    pub temperature: f64,
}

/// The whole drive, a row each millisecond.
pub struct Truth {
    pub rows: Vec<Row>,
}

const STEP: f64 = 1e-3;
/// Standing before and after [s], and time taken to get going and to stop [s].
const STANDS: f64 = 6.0;
const GOES: f64 = 7.0;

impl Truth {
    /// A course of the dice, driven for so many seconds.
    pub fn new(seconds: f64, dice: &mut Dice) -> Truth {
        // A closed line: a circle with bulges, so that bends go both ways.
        let size = dice.between(75.0, 95.0);
        let waves: Vec<(f64, f64, f64)> = [2.0, 3.0]
            .into_iter()
            .map(|k| (k, dice.between(0.10, 0.16) * size, dice.between(0.0, TAU)))
            .collect();
        let turn = if dice.chance(0.5) { 1.0 } else { -1.0 };
        let point = |u: f64| {
            let r = size + waves.iter().map(|(k, s, p)| s * (k * u + p).sin()).sum::<f64>();
            (r * u.cos(), turn * r * u.sin())
        };
        // First and second derivative of the line by its parameter, by differences.
        let d = 1e-4;
        let bend = |u: f64| {
            let (a, b, c) = (point(u - d), point(u), point(u + d));
            let first = ((c.0 - a.0) / (2.0 * d), (c.1 - a.1) / (2.0 * d));
            let second = (
                (c.0 - 2.0 * b.0 + a.0) / (d * d),
                (c.1 - 2.0 * b.1 + a.1) / (d * d),
            );
            let size = first.0.hypot(first.1);
            (size, (first.0 * second.1 - first.1 * second.0) / size.powi(3))
        };
        let (fast, swing, phase) = (
            dice.between(19.0, 22.0),
            dice.between(3.0, 4.0),
            dice.between(0.0, TAU),
        );
        let quick = |u: f64| fast + swing * (3.0 * u + phase).sin() + 0.5 * swing * (5.0 * u).cos();
        let hot = dice.between(360.0, 395.0);
        let n = (seconds / STEP) as usize;
        let (mut u, mut distance) = (0.3, 0.0);
        let mut rows = Vec::with_capacity(n + 1);
        let ease = |s: f64| {
            let s = s.clamp(0.0, 1.0);
            s * s * s * (10.0 - 15.0 * s + 6.0 * s * s)
        };
        for i in 0..=n {
            let t = i as f64 * STEP;
            let go = ease((t - STANDS) / GOES) * ease((seconds - STANDS - t) / GOES);
            let v = go * quick(u);
            let (size, curve) = bend(u);
            let (x, y) = point(u);
            rows.push(Row {
                t,
                v,
                a: [0.0, v * v * curve, 0.25 * (0.7 * t).sin() * go],
                yaw: v * curve,
                x,
                y,
                distance,
                lap: 1 + ((u - 0.3) / TAU) as usize,
                engine: (15.0 + 4.0 * v).max(14.0),
                pressure: 1.2e5 + 4.2e5 * (v / 26.0).min(1.0) * (1.0 - 0.1 * (0.9 * t).sin().max(0.0)),
                temperature: hot - 25.0 * (-t / 60.0).exp(),
            });
            u += v / size * STEP;
            distance += v * STEP;
        }
        for i in 1..n {
            rows[i].a[0] = (rows[i + 1].v - rows[i - 1].v) / (2.0 * STEP);
        }
        Truth { rows }
    }

    /// The row at a time [s].
    pub fn at(&self, t: f64) -> &Row {
        &self.rows[((t / STEP).round() as usize).min(self.rows.len() - 1)]
    }
}
