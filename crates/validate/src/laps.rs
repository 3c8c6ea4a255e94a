//! Laps at the limit, against an independent planner and closed forms.

use crate::{Row, Scale};
use drive::course::{CarLimits, Course, CourseOptions, Profile, profile};
use glam::DVec2;
use measure::STANDARD_GRAVITY;
use proofs::tracks::{self, Track};
use std::f64::consts::{PI, TAU};

/// What this subject is about.
pub const ABOUT: &str = "Four real circuits under neutral names against the speeds that an independent planner \
finds on the same points with the same limits: a second opinion, not a measurement. Circles and ovals against \
closed forms.";

const PLANNER: &str = "trajectory-planning-helpers 0.79, calc_vel_profile, same limits";
const EXACT: &str = "closed form";

/// Everything here.
pub fn rows() -> Vec<Row> {
    let mut rows: Vec<Row> = tracks::TRACKS.iter().flat_map(circuit).collect();
    for (grip, radius) in [(1.2, 50.0), (1.0, 100.0), (1.6, 30.0)] {
        rows.push(circle(grip, radius));
    }
    for (straight, radius, grip, driving) in [(400.0, 50.0, 1.2, 4.0), (250.0, 30.0, 1.4, 5.0)] {
        rows.extend(oval(straight, radius, grip, driving));
    }
    rows
}

/// The limits behind the planner's speeds.
fn limits() -> CarLimits {
    let [lateral, braking, driving] = tracks::GRIP;
    CarLimits {
        lateral,
        braking,
        driving,
        engine: tracks::DRIVE_LIMIT.to_vec(),
        drag: tracks::DRAG,
        top_speed: tracks::TOP_SPEED,
    }
}

/// A car of one grip all round [m/s²], without drag.
fn plain(grip: f64, engine: Vec<(f64, f64)>) -> CarLimits {
    CarLimits {
        lateral: grip,
        braking: grip,
        driving: grip,
        engine,
        drag: 0.0,
        top_speed: 190.0,
    }
}

/// Speed of a profile at a distance, between its places [m/s].
fn speed_at(p: &Profile, station: f64) -> f64 {
    let i = p
        .station
        .partition_point(|&s| s <= station)
        .clamp(1, p.station.len() - 1);
    let share = (station - p.station[i - 1]) / (p.station[i] - p.station[i - 1]);
    p.speed[i - 1] + share * (p.speed[i] - p.speed[i - 1])
}

fn circuit(track: &Track) -> Vec<Row> {
    let options = CourseOptions {
        name: track.name.into(),
        ..CourseOptions::default()
    };
    let course = Course::read(track.csv.as_bytes(), &options).expect("the circuit is a closed line");
    let p = profile(&course, &limits(), 0.0).expect("the circuit can be driven");
    let wanted = track.reference_speed();
    let n = wanted.len();
    // The planner holds its speed over the 5 m after a slowest point, this method drives off at once; so the
    // slowest speeds of a corner are compared, wherever within 10 m of one another they lie.
    let slowest_near = |i: usize| {
        let here = course.station()[i];
        let near = (0..p.speed.len()).filter(|&k| (p.station[k] - here).abs() <= 10.0);
        near.map(|k| p.speed[k]).fold(f64::INFINITY, f64::min)
    };
    let corners: Vec<(f64, f64)> = (0..n)
        .filter(|&i| {
            wanted[i] < 60.0
                && (1..=6).all(|k| wanted[i] <= wanted[(i + k) % n] && wanted[i] < wanted[(i + n - k) % n])
        })
        .map(|i| (slowest_near(i), wanted[i]))
        .collect();
    let off = |pair: &(f64, f64)| (pair.0 / pair.1 - 1.0).abs();
    let none = (f64::NAN, f64::NAN);
    let farthest = corners
        .iter()
        .copied()
        .max_by(|a, b| off(a).total_cmp(&off(b)))
        .unwrap_or(none);
    let lowest = |speed: &[f64]| speed.iter().copied().fold(f64::INFINITY, f64::min);
    let mean = |of: &dyn Fn(usize) -> f64| (0..n).map(of).sum::<f64>() / n as f64;
    let apart = mean(&|i| (speed_at(&p, course.station()[i]) - wanted[i]).powi(2)).sqrt();
    let row = |what: String, pair: (f64, f64), unit, allowed: (f64, Scale), note: &str| {
        let case = format!("{}: {what}", track.name);
        Row::new(case, pair, unit, allowed, PLANNER, note)
    };
    let one = (0.01, Scale::Relative);
    let asked = "1 % asked; the two step differently over pieces of 5 m";
    let mut rows = vec![
        row("lap time".into(), (p.lap_time(), track.lap_time), "s", one, asked),
        row(
            "slowest speed of the lap".into(),
            (lowest(&p.speed), lowest(&wanted)),
            "m/s",
            one,
            asked,
        ),
        row(
            "speeds apart, root mean square over all points".into(),
            (apart, 0.0),
            "m/s",
            (0.01 * mean(&|i| wanted[i]), Scale::Absolute),
            "1 % of the mean speed",
        ),
    ];
    if !corners.is_empty() {
        rows.push(row(
            format!("slowest speed in the corner farthest off, of {}", corners.len()),
            farthest,
            "m/s",
            one,
            asked,
        ));
    }
    rows
}

/// v = √(μ g R).
fn circle(grip: f64, radius: f64) -> Row {
    let points = (0..400)
        .map(|i| DVec2::from_angle(TAU * f64::from(i) / 400.0) * radius)
        .collect();
    let g = grip * STANDARD_GRAVITY;
    let course = Course::new("circle", points, None, false).expect("a circle is a course");
    let driven = profile(&course, &plain(g, vec![]), 0.0).map_or(f64::NAN, |p| p.speed[7]);
    Row::new(
        format!("circle of {radius} m at {grip} g: speed"),
        (driven, (g * radius).sqrt()),
        "m/s",
        (5e-5, Scale::Relative),
        EXACT,
        "v = √(μgR), 400 points",
    )
}

/// Two straights and two half circles, driven at constant acceleration and braking on the straights and at
/// the grip in the bends; peak speed where the two meet.
fn oval(straight: f64, radius: f64, grip: f64, driving: f64) -> Vec<Row> {
    let half = straight + PI * radius;
    let pieces = (half / 0.1) as usize;
    let on_half = |s: f64| {
        let turn = DVec2::from_angle((s - straight).max(0.0) / radius - 0.5 * PI);
        DVec2::new(s.min(straight) - 0.5 * straight, -radius) + turn * radius + DVec2::new(0.0, radius)
    };
    let one: Vec<DVec2> = (0..pieces)
        .map(|i| on_half(half * i as f64 / pieces as f64))
        .collect();
    let points = one.iter().copied().chain(one.iter().map(|p| -*p)).collect();
    let course = Course::new("oval", points, None, false).expect("an oval is a course");
    let g = grip * STANDARD_GRAVITY;
    let bend = (g * radius).sqrt();
    let peak = (bend * bend + 2.0 * straight * driving * g / (driving + g)).sqrt();
    let lap = 2.0 * (PI * radius / bend + (peak - bend) / driving + (peak - bend) / g);
    let driven = profile(&course, &plain(g, vec![(0.0, driving)]), 0.0);
    let (time, fastest) = driven.map_or((f64::NAN, f64::NAN), |p| {
        (p.lap_time(), p.speed.iter().copied().fold(f64::NAN, f64::max))
    });
    let row = |what: &str, pair: (f64, f64), unit| {
        Row::new(
            format!("oval, straights {straight} m, bends {radius} m, {grip} g, drive {driving} m/s²: {what}"),
            pair,
            unit,
            (1e-3, Scale::Relative),
            EXACT,
            "points every 0.1 m; the circle through three points sees half of a bend's start",
        )
    };
    vec![
        row("lap time", (time, lap), "s"),
        row("fastest", (fastest, peak), "m/s"),
    ]
}
