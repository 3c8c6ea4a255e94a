//! A lap at a car's limits: quasi-steady point mass.
//!
//! At each place the speed is bounded by cornering; a pass forward bounds it by driving off, a pass backward by
//! braking. Lateral and longitudinal force share the tyre along an ellipse; all limits scale with the load that
//! banking adds or takes. Source of the method: two-pass velocity profile of a point mass under a g-g limit, as in
//! W. F. and D. L. Milliken, Race Car Vehicle Dynamics, chapter on the g-g diagram (from memory); checked here
//! against closed-form ovals and an independent planner.

use super::Course;
use super::limits::{CarLimits, LapFault};
use crate::filter::{self, Ends};
use crate::{Drive, Gearing, Lap};
use glam::{DVec2, DVec3};
use measure::STANDARD_GRAVITY;
use serde::{Deserialize, Serialize};

/// Longest piece between places where speed is computed [m].
const LONGEST_PIECE: f64 = 2.0;
/// Most samples of a drive: fifty hours at 50 Hz.
const MOST_SAMPLES: f64 = 9e6;
/// Under this speed the car counts as standing [m/s].
const SLOWEST: f64 = 0.1;

/// How the lap is put on a clock.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LapOptions {
    /// Laps in a row; the car comes past at speed.
    pub laps: usize,
    /// Samples a second [Hz].
    pub rate: f64,
    /// Zero-phase low-pass for accelerations and turning rates [Hz]; `None` leaves the steps from driving to
    /// braking that no car can make.
    pub cutoff: Option<f64>,
    /// Half-width over which curvature is spread along the line [m]; 0 for none.
    pub smoothing: f64,
}

impl Default for LapOptions {
    /// One lap, 50 Hz, loads low-passed at 2 Hz (a change from full drive to full braking takes a driver about a
    /// quarter of a second; common practice, no source), curvature as it is.
    fn default() -> LapOptions {
        LapOptions {
            laps: 1,
            rate: 50.0,
            cutoff: Some(2.0),
            smoothing: 0.0,
        }
    }
}

/// Speed along a course. Arrays hold one entry for each place; the last repeats the first one turn later.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// Distance [m].
    pub station: Vec<f64>,
    /// Curvature [1/m], left above zero.
    pub curvature: Vec<f64>,
    /// Banking [rad], left side low above zero.
    pub bank: Vec<f64>,
    /// Speed [m/s].
    pub speed: Vec<f64>,
    /// Time [s].
    pub time: Vec<f64>,
}

impl Profile {
    /// Lap time [s].
    pub fn lap_time(&self) -> f64 {
        self.time[self.time.len() - 1]
    }

    /// Forward acceleration on the piece after place `i` [m/s²].
    pub fn forward(&self, i: usize) -> f64 {
        (self.speed[i + 1].powi(2) - self.speed[i].powi(2)) / (2.0 * (self.station[i + 1] - self.station[i]))
    }
}

/// One place of the road, as the tyres see it.
#[derive(Clone, Copy)]
struct Place {
    curvature: f64,
    bank: f64,
}

impl Place {
    /// Specific force across the car and along its vertical [m/s²] at speed squared `e`.
    ///
    /// Horizontal acceleration `e κ` toward the left and gravity, turned by the banking.
    fn felt(&self, e: f64) -> DVec2 {
        let (s, c) = self.bank.sin_cos();
        let across = e * self.curvature;
        DVec2::new(
            across * c - STANDARD_GRAVITY * s,
            across * s + STANDARD_GRAVITY * c,
        )
    }

    /// Greatest speed squared at which the tyres hold the car: lateral = μ times vertical, with μ = limit / g.
    /// `None` where the road leans out too far.
    fn corner(&self, limits: &CarLimits) -> Option<f64> {
        let grip = limits.lateral / STANDARD_GRAVITY;
        // Banking seen by the corner: above zero it helps.
        let (s, c) = (self.bank * self.curvature.signum()).sin_cos();
        let (need, hold) = (
            self.curvature.abs() * (c - grip * s),
            STANDARD_GRAVITY * (grip * c + s),
        );
        let top = limits.top_speed.powi(2);
        if hold <= 0.0 {
            return None;
        }
        Some(if need * top <= hold { top } else { hold / need })
    }

    /// What is left of a longitudinal limit [m/s²] beside the cornering at speed squared `e`, on the ellipse.
    fn left_over(&self, limit: f64, limits: &CarLimits, e: f64) -> f64 {
        let felt = self.felt(e);
        let load = felt.y / STANDARD_GRAVITY;
        let used = felt.x / (limits.lateral * load);
        limit * load * (1.0 - used * used).max(0.0).sqrt()
    }

    fn drive(&self, limits: &CarLimits, e: f64) -> f64 {
        self.left_over(limits.driving, limits, e)
            .min(limits.engine_at(e.sqrt()))
            - limits.drag * e
    }

    fn brake(&self, limits: &CarLimits, e: f64) -> f64 {
        self.left_over(limits.braking, limits, e) + limits.drag * e
    }
}

/// Speed squared after a piece of length `step` under `rate` [m/s²], by Heun's rule, at most `cap`.
fn along(e: f64, step: f64, cap: f64, here: impl Fn(f64) -> f64, there: impl Fn(f64) -> f64) -> f64 {
    let first = here(e);
    let guess = (e + 2.0 * step * first).clamp(0.0, cap);
    (e + step * (first + there(guess))).min(cap)
}

/// Speed along the course at the limits of the car.
pub fn profile(course: &Course, limits: &CarLimits, smoothing: f64) -> Result<Profile, LapFault> {
    limits.check()?;
    if !(0.0..=200.0).contains(&smoothing) {
        return Err(LapFault::OutOfRange {
            what: "the smoothing",
            value: smoothing,
            least: 0.0,
            most: 200.0,
        });
    }
    let (station, places) = lay_out(course, smoothing);
    let n = places.len();
    let step = |i: usize| station[i + 1] - station[i];
    let mut e = Vec::with_capacity(n);
    for (i, p) in places.iter().enumerate() {
        e.push(
            p.corner(limits)
                .ok_or(LapFault::SlidesOff { station: station[i] })?,
        );
    }
    let slowest = (0..n)
        .min_by(|&a, &b| e[a].total_cmp(&e[b]))
        .expect("a course has points");
    // From the slowest corner on, one round settles unless drag or a long straight carries over the start.
    for _ in 0..20 {
        let before = e[slowest];
        for k in 0..n {
            let (i, j) = ((slowest + k) % n, (slowest + k + 1) % n);
            e[j] = along(
                e[i],
                step(i),
                e[j],
                |e| places[i].drive(limits, e),
                |e| places[j].drive(limits, e),
            );
            if e[j] < SLOWEST * SLOWEST {
                return Err(LapFault::Stands { station: station[j] });
            }
        }
        if before - e[slowest] <= 1e-9 * before {
            break;
        }
    }
    for _ in 0..2 {
        for k in 0..n {
            let (i, j) = ((slowest + 2 * n - k) % n, (slowest + 2 * n - k - 1) % n);
            e[j] = along(
                e[i],
                step(j),
                e[j],
                |e| places[i].brake(limits, e),
                |e| places[j].brake(limits, e),
            );
        }
    }
    let turn = |f: &dyn Fn(usize) -> f64| (0..=n).map(|i| f(i % n)).collect::<Vec<f64>>();
    let speed = turn(&|i| e[i].sqrt());
    let mut time = vec![0.0];
    for i in 0..n {
        time.push(time[i] + 2.0 * step(i) / (speed[i] + speed[i + 1]));
    }
    Ok(Profile {
        curvature: turn(&|i| places[i].curvature),
        bank: turn(&|i| places[i].bank),
        station,
        speed,
        time,
    })
}

/// The points of the course and places between them, curvature and banking along straight lines.
fn lay_out(course: &Course, smoothing: f64) -> (Vec<f64>, Vec<Place>) {
    let (curvature, n) = (course.curvature(smoothing), course.points().len());
    let (mut station, mut places) = (Vec::new(), Vec::new());
    for i in 0..n {
        let pieces = (course.step(i) / LONGEST_PIECE).ceil() as usize;
        for k in 0..pieces {
            let u = k as f64 / pieces as f64;
            let mix = |v: &[f64]| v[i] + (v[(i + 1) % n] - v[i]) * u;
            station.push(course.station()[i] + course.step(i) * u);
            places.push(Place {
                curvature: mix(&curvature),
                bank: course.bank().map_or(0.0, mix),
            });
        }
    }
    station.push(course.length());
    (station, places)
}

/// Laps of the course at the limits of the car, in the car frame.
///
/// The car turns with the road: yaw at `v κ`, seen from a banked car partly as pitch, and roll as the banking changes.
pub fn lap(
    course: &Course,
    limits: &CarLimits,
    gearing: &Gearing,
    options: &LapOptions,
) -> Result<Drive, LapFault> {
    gearing.check()?;
    for (what, value, least, most) in [
        ("the number of laps", options.laps as f64, 1.0, 1000.0),
        ("the sample rate", options.rate, 10.0, 1000.0),
        (
            "the cut-off",
            options.cutoff.unwrap_or(1.0),
            0.05,
            0.4 * options.rate.max(10.0),
        ),
    ] {
        // NaN fails both comparisons and so is refused.
        let good = value >= least && value <= most;
        if !good {
            return Err(LapFault::OutOfRange {
                what,
                value,
                least,
                most,
            });
        }
    }
    let profile = profile(course, limits, options.smoothing)?;
    let lap_time = profile.lap_time();
    let samples = (lap_time * options.rate).ceil() as usize;
    let all_samples = samples as f64 * options.laps as f64;
    if all_samples > MOST_SAMPLES {
        let what = "the number of samples of all laps";
        return Err(LapFault::OutOfRange {
            what,
            value: all_samples,
            least: 1.0,
            most: MOST_SAMPLES,
        });
    }
    let rate = samples as f64 / lap_time;
    let one: Vec<Sample> = on_clock(course, &profile, samples, rate);
    let smooth = |f: &dyn Fn(&Sample) -> f64| -> Vec<f64> {
        let raw: Vec<f64> = one.iter().map(f).collect();
        options
            .cutoff
            .map_or(raw.clone(), |c| filter::low_pass(&raw, rate, c, Ends::Cyclic))
    };
    let vector = |f: &dyn Fn(&Sample) -> DVec3| -> Vec<DVec3> {
        let (x, y, z) = (smooth(&|s| f(s).x), smooth(&|s| f(s).y), smooth(&|s| f(s).z));
        (0..samples).map(|i| DVec3::new(x[i], y[i], z[i])).collect()
    };
    let (gravity, spin) = (vector(&|s| -s.felt), vector(&|s| s.spin));
    let all = || (0..=samples * options.laps).map(|i| (i / samples, i % samples));
    Ok(Drive {
        name: course.name().to_owned(),
        time: all()
            .map(|(turn, i)| turn as f64 * lap_time + i as f64 / rate)
            .collect(),
        gravity: all().map(|(_, i)| gravity[i]).collect(),
        spin: Some(all().map(|(_, i)| spin[i]).collect()),
        spin_rate: None,
        pivot: DVec3::ZERO,
        engine_speed: all().map(|(_, i)| gearing.engine_speed(one[i].speed)).collect(),
        speed: all().map(|(_, i)| one[i].speed).collect(),
        distance: all()
            .map(|(turn, i)| turn as f64 * course.length() + one[i].distance)
            .collect(),
        place: Some(all().map(|(_, i)| one[i].place).collect()),
        laps: (0..options.laps)
            .map(|k| Lap {
                name: format!("lap {}", k + 1),
                start: k as f64 * lap_time,
                end: (k + 1) as f64 * lap_time,
            })
            .collect(),
        said: say(course, &profile, limits, gearing, options),
    })
}

/// One instant of the lap.
struct Sample {
    felt: DVec3,
    spin: DVec3,
    speed: f64,
    distance: f64,
    place: DVec2,
}

fn on_clock(course: &Course, p: &Profile, samples: usize, rate: f64) -> Vec<Sample> {
    let (mut i, mut point) = (0, 0);
    let points = course.points();
    (0..samples)
        .map(|k| {
            let t = k as f64 / rate;
            while i + 2 < p.time.len() && p.time[i + 1] <= t {
                i += 1;
            }
            let (forward, run) = (p.forward(i), t - p.time[i]);
            let speed = p.speed[i] + forward * run;
            let distance = p.station[i] + run * (p.speed[i] + 0.5 * forward * run);
            let length = p.station[i + 1] - p.station[i];
            let u = ((distance - p.station[i]) / length).clamp(0.0, 1.0);
            let mix = |v: &[f64]| v[i] + (v[i + 1] - v[i]) * u;
            let here = Place {
                curvature: mix(&p.curvature),
                bank: mix(&p.bank),
            };
            let felt = here.felt(speed * speed);
            let yaw = speed * here.curvature;
            let roll = -(p.bank[i + 1] - p.bank[i]) / length * speed;
            while point + 1 < points.len() && course.station()[point + 1] <= distance {
                point += 1;
            }
            let v = ((distance - course.station()[point]) / course.step(point)).clamp(0.0, 1.0);
            Sample {
                felt: DVec3::new(forward, felt.x, felt.y),
                spin: DVec3::new(roll, -yaw * here.bank.sin(), yaw * here.bank.cos()),
                speed,
                distance,
                place: points[point].lerp(points[(point + 1) % points.len()], v),
            }
        })
        .collect()
}

fn say(
    course: &Course,
    p: &Profile,
    limits: &CarLimits,
    gearing: &Gearing,
    options: &LapOptions,
) -> Vec<String> {
    let g = |a: f64| a / STANDARD_GRAVITY;
    let slowest = p.speed.iter().copied().fold(f64::INFINITY, f64::min);
    let fastest = p.speed.iter().copied().fold(0.0, f64::max);
    let mut said = course.said().to_vec();
    said.push(format!(
        "A computed lap, not a logged one: {:.0} m in {:.2} s, {:.0} to {:.0} km/h, at {:.2} g across, {:.2} g braking and {:.2} g driving.",
        course.length(),
        p.lap_time(),
        slowest * 3.6,
        fastest * 3.6,
        g(limits.lateral),
        g(limits.braking),
        g(limits.driving),
    ));
    said.push(match options.cutoff {
        Some(c) => format!(
            "Loads are low-passed at {c} Hz without delay, as a driver and tyres do not change them in steps."
        ),
        None => "Loads change in steps between driving and braking; a real car takes time for it.".into(),
    });
    if options.smoothing > 0.0 {
        said.push(format!(
            "Curvature is spread over {:.1} m either way along the line.",
            options.smoothing
        ));
    }
    if p.bank.iter().any(|&b| b != 0.0) {
        let (mut with, mut against) = (0, 0);
        for (b, k) in p.bank.iter().zip(&p.curvature).filter(|(_, k)| k.abs() > 0.002) {
            if b * k > 0.0 {
                with += 1
            } else if b * k < 0.0 {
                against += 1
            }
        }
        let (share, note) = (
            100.0 * with as f64 / (with + against).max(1) as f64,
            "check its sign if that surprises",
        );
        said.push(format!(
            "The banking leans into {share:.0} % of the curved road that has any; {note}."
        ));
    } else {
        said.push("The course gives no banking and no height: the road is taken as flat.".into());
    }
    said.push(gearing.say());
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Circle of grip 1.2 g with 0.8 g across leaves √(1.2² - 0.8²) = 0.8944 g (by hand).
    #[test]
    fn cornering_takes_its_share_of_the_braking() {
        let g = STANDARD_GRAVITY;
        let limits = CarLimits {
            lateral: 1.2 * g,
            braking: 1.2 * g,
            driving: g,
            engine: vec![],
            drag: 0.0,
            top_speed: 90.0,
        };
        let place = Place {
            curvature: 0.01,
            bank: 0.0,
        };
        let left = place.brake(&limits, 0.8 * g / 0.01) / g;
        assert!((left - 0.8944).abs() < 1e-4, "{left}");
    }
}
