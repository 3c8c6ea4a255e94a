//! Single tests: a long corner, a stop, a launch, braking into a corner, a chicane, a tilt bench.
//!
//! Each starts with steady running, so that the oil lies level, moves from one load to the next along half a
//! cosine (no jump in load or in its rate), and ends with steady running again. How quick the moves are is part of
//! the test and is stated; the times offered by default are common practice, no source.

mod stretch;

use crate::{Drive, Gearing, GearingFault, Lap};
use glam::{DVec2, DVec3};
use measure::STANDARD_GRAVITY;
use serde::{Deserialize, Serialize};
use std::f64::consts::{FRAC_PI_2, PI};
use stretch::{Load, Plan, Stretch, load_at, slope};

/// Which way the car turns.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Side {
    /// To the left: lateral acceleration is positive, oil goes right.
    Left,
    /// To the right.
    Right,
}

impl Side {
    fn sign(self) -> f64 {
        match self {
            Side::Left => 1.0,
            Side::Right => -1.0,
        }
    }

    fn word(self) -> &'static str {
        match self {
            Side::Left => "left",
            Side::Right => "right",
        }
    }
}

/// A single test. Accelerations in m/s², speeds in m/s, times in s, angles in rad; all above zero.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Manoeuvre {
    /// One corner, held.
    SustainedCorner {
        /// Lateral acceleration held.
        lateral: f64,
        /// Way of the turn.
        side: Side,
        /// Road speed, steady.
        speed: f64,
        /// Time at full lateral acceleration.
        hold: f64,
    },
    /// Braking in a straight line to rest.
    Stop {
        /// Deceleration held.
        braking: f64,
        /// Road speed at the start.
        speed: f64,
    },
    /// Driving off from rest in a straight line.
    Launch {
        /// Acceleration held.
        driving: f64,
        /// Road speed reached.
        speed: f64,
    },
    /// Straight braking that turns into a corner along the g-g ellipse.
    TrailBrake {
        /// Deceleration before the corner.
        braking: f64,
        /// Lateral acceleration in the corner.
        lateral: f64,
        /// Way of the turn.
        side: Side,
        /// Road speed at the start.
        speed: f64,
        /// Time of straight braking at full deceleration.
        brake: f64,
        /// Time of the sweep from braking to cornering.
        sweep: f64,
        /// Time in the corner at full lateral acceleration.
        hold: f64,
    },
    /// One way, then the other.
    Chicane {
        /// Lateral acceleration each way.
        lateral: f64,
        /// Way of the first turn.
        side: Side,
        /// Road speed, steady.
        speed: f64,
        /// Time at full lateral acceleration each way.
        hold: f64,
        /// Time of the change from one way to the other.
        change: f64,
    },
    /// A bench that tilts slowly: apparent gravity turns but keeps its size.
    TiltBench {
        /// Tilt, up to a right angle.
        angle: f64,
        /// Heading of the low side in the car frame: 0 forward, π/2 left.
        toward: f64,
        /// Time to tilt, and to tilt back.
        tilting: f64,
        /// Time held tilted.
        hold: f64,
    },
}

/// What surrounds the test.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Staging {
    /// Engine speed.
    pub engine: Gearing,
    /// Steady running before [s].
    pub lead_in: f64,
    /// Time from no load to full load, and back [s].
    pub onset: f64,
    /// Steady running after [s].
    pub run_out: f64,
    /// Samples a second [Hz].
    pub rate: f64,
}

impl Staging {
    /// Lead-in 2 s, onset 0.3 s, run-out 2 s, 100 Hz: common practice, no source.
    pub fn usual(engine: Gearing) -> Staging {
        Staging {
            engine,
            lead_in: 2.0,
            onset: 0.3,
            run_out: 2.0,
            rate: 100.0,
        }
    }
}

/// Why a manoeuvre cannot be driven.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ManoeuvreFault {
    /// A number out of its range.
    #[error("{what} is {value}; it must lie between {least} and {most}")]
    OutOfRange {
        /// Which number.
        what: &'static str,
        /// Its value, SI.
        value: f64,
        /// Least allowed.
        least: f64,
        /// Most allowed.
        most: f64,
    },
    /// The speed does not suffice for the braking or is reached before full load.
    #[error(
        "from {speed:.1} m/s the load of {load:.1} m/s² is not reached within the onset of {onset} s; give more speed or a shorter onset"
    )]
    TooSlow {
        /// Road speed [m/s].
        speed: f64,
        /// Load [m/s²].
        load: f64,
        /// Onset [s].
        onset: f64,
    },
    /// Braking into the corner stops the car.
    #[error(
        "the car comes down to {left:.1} m/s on the way into the corner; start faster or brake for a shorter time"
    )]
    Stops {
        /// Road speed left [m/s], may be under zero.
        left: f64,
    },
    /// Engine speed cannot be had.
    #[error(transparent)]
    Gearing(#[from] GearingFault),
}

impl Manoeuvre {
    /// Name for people.
    pub fn name(&self) -> String {
        let g = |a: f64| a / STANDARD_GRAVITY;
        match self {
            Manoeuvre::SustainedCorner { lateral, side, .. } => {
                format!("{:.2} g corner to the {}", g(*lateral), side.word())
            }
            Manoeuvre::Stop { braking, .. } => format!("{:.2} g stop", g(*braking)),
            Manoeuvre::Launch { driving, .. } => format!("{:.2} g launch", g(*driving)),
            Manoeuvre::TrailBrake {
                braking,
                lateral,
                side,
                ..
            } => {
                format!(
                    "{:.2} g braking into a {:.2} g corner to the {}",
                    g(*braking),
                    g(*lateral),
                    side.word()
                )
            }
            Manoeuvre::Chicane { lateral, side, .. } => {
                format!("{:.2} g chicane, {} first", g(*lateral), side.word())
            }
            Manoeuvre::TiltBench { angle, .. } => format!("tilt bench at {:.1} degrees", angle.to_degrees()),
        }
    }

    /// The drive, in the car frame; one lap that spans the whole.
    pub fn drive(&self, staging: &Staging) -> Result<Drive, ManoeuvreFault> {
        self.check(staging)?;
        let stretches = self.stretches(staging)?;
        let total: f64 = stretches.iter().map(|s| s.time).sum();
        let clock = crate::filter::uniform_clock(0.0, total, staging.rate);
        let loads: Vec<Load> = clock.iter().map(|&t| load_at(&stretches, t)).collect();
        let step = 1.0 / staging.rate;
        let mut speed = vec![self.first_speed(); clock.len()];
        let mut distance = vec![0.0; clock.len()];
        for i in 1..clock.len() {
            speed[i] = speed[i - 1] + 0.5 * (loads[i].forward + loads[i - 1].forward) * step;
            if loads[i].left != 0.0 && speed[i] < 1.0 {
                return Err(ManoeuvreFault::Stops { left: speed[i] });
            }
            // Round-off of the sums alone: the loads are laid out to end at rest.
            speed[i] = speed[i].max(0.0);
            distance[i] = distance[i - 1] + 0.5 * (speed[i] + speed[i - 1]) * step;
        }
        let spin = match self {
            Manoeuvre::TiltBench { toward, .. } => {
                // Turning by the right hand about (-sin, cos, 0) lowers the side that faces `toward`.
                let axis = DVec3::new(-toward.sin(), toward.cos(), 0.0);
                (0..clock.len()).map(|i| axis * slope(&loads, i, step)).collect()
            }
            _ => loads
                .iter()
                .zip(&speed)
                .map(|(l, v)| DVec3::Z * if l.left == 0.0 { 0.0 } else { l.left / v })
                .collect(),
        };
        let toward = if let Manoeuvre::TiltBench { toward, .. } = self {
            *toward
        } else {
            0.0
        };
        Ok(Drive {
            name: self.name(),
            gravity: loads.iter().map(|l| l.gravity(toward)).collect(),
            spin: Some(spin),
            spin_rate: None,
            pivot: DVec3::ZERO,
            engine_speed: speed.iter().map(|&v| staging.engine.engine_speed(v)).collect(),
            place: None::<Vec<DVec2>>,
            laps: vec![Lap {
                name: self.name(),
                start: 0.0,
                end: clock[clock.len() - 1],
            }],
            said: vec![
                format!(
                    "A made-up test: {}. {} s of steady running, each change of load along half a cosine in the stated time (onset {} s).",
                    self.name(),
                    staging.lead_in,
                    staging.onset
                ),
                staging.engine.say(),
            ],
            time: clock,
            speed,
            distance,
        })
    }

    fn first_speed(&self) -> f64 {
        match self {
            Manoeuvre::SustainedCorner { speed, .. }
            | Manoeuvre::Stop { speed, .. }
            | Manoeuvre::TrailBrake { speed, .. }
            | Manoeuvre::Chicane { speed, .. } => *speed,
            Manoeuvre::Launch { .. } | Manoeuvre::TiltBench { .. } => 0.0,
        }
    }

    fn check(&self, staging: &Staging) -> Result<(), ManoeuvreFault> {
        staging.engine.check()?;
        let within = |what, value: f64, least: f64, most: f64| {
            // NaN fails both comparisons and so is refused.
            let good = value >= least && value <= most;
            if good {
                Ok(())
            } else {
                Err(ManoeuvreFault::OutOfRange {
                    what,
                    value,
                    least,
                    most,
                })
            }
        };
        // Ten g and 150 m/s lie beyond any car with a wet sump; an hour is beyond any single test.
        let load = |what, a: &f64| within(what, *a, 1e-3, 10.0 * STANDARD_GRAVITY);
        let road = |v: &f64| within("the speed", *v, 1.0, 150.0);
        let time = |what, t: &f64| within(what, *t, 0.0, 3600.0);
        within("the lead-in", staging.lead_in, 0.0, 3600.0)?;
        within("the onset", staging.onset, 0.01, 60.0)?;
        within("the run-out", staging.run_out, 0.0, 3600.0)?;
        within("the sample rate", staging.rate, 10.0, 1000.0)?;
        match self {
            Manoeuvre::SustainedCorner {
                lateral, speed, hold, ..
            } => {
                load("the lateral acceleration", lateral)?;
                road(speed)?;
                time("the hold", hold)
            }
            Manoeuvre::Stop { braking, speed } => load("the braking", braking).and(road(speed)),
            Manoeuvre::Launch { driving, speed } => {
                load("the driving acceleration", driving).and(road(speed))
            }
            Manoeuvre::TrailBrake {
                braking,
                lateral,
                speed,
                brake,
                sweep,
                hold,
                ..
            } => {
                load("the braking", braking)?;
                load("the lateral acceleration", lateral)?;
                road(speed)?;
                time("the braking time", brake)?;
                within("the sweep", *sweep, 0.01, 60.0)?;
                time("the hold", hold)
            }
            Manoeuvre::Chicane {
                lateral,
                speed,
                hold,
                change,
                ..
            } => {
                load("the lateral acceleration", lateral)?;
                road(speed)?;
                time("the hold", hold)?;
                within("the change", *change, 0.01, 60.0)
            }
            Manoeuvre::TiltBench {
                angle,
                toward,
                tilting,
                hold,
            } => {
                within("the tilt", *angle, 1e-3, FRAC_PI_2)?;
                within("the heading of the low side", *toward, -2.0 * PI, 2.0 * PI)?;
                within("the tilting time", *tilting, 0.1, 3600.0)?;
                time("the hold", hold)
            }
        }
    }

    fn stretches(&self, staging: &Staging) -> Result<Vec<Stretch>, ManoeuvreFault> {
        let rest = Load::default();
        let forward = |a: f64| Load { forward: a, ..rest };
        let left = |a: f64| Load { left: a, ..rest };
        let mut plan = Plan(vec![Stretch {
            time: staging.lead_in,
            from: rest,
            to: rest,
            on_ellipse: false,
        }]);
        match self {
            Manoeuvre::SustainedCorner {
                lateral, side, hold, ..
            } => {
                plan.to(staging.onset, left(side.sign() * lateral))
                    .stay(*hold)
                    .to(staging.onset, rest);
            }
            Manoeuvre::Stop { braking: load, speed } | Manoeuvre::Launch { driving: load, speed } => {
                // Half a cosine up and half down change the speed by load * onset in all.
                let hold = speed / load - staging.onset;
                if hold < 0.0 {
                    return Err(ManoeuvreFault::TooSlow {
                        speed: *speed,
                        load: *load,
                        onset: staging.onset,
                    });
                }
                let sign = if matches!(self, Manoeuvre::Stop { .. }) {
                    -1.0
                } else {
                    1.0
                };
                plan.to(staging.onset, forward(sign * load))
                    .stay(hold)
                    .to(staging.onset, rest);
            }
            Manoeuvre::TrailBrake {
                braking,
                lateral,
                side,
                brake,
                sweep,
                hold,
                ..
            } => {
                plan.to(staging.onset, forward(-braking)).stay(*brake);
                plan.sweep(*sweep, left(side.sign() * lateral))
                    .stay(*hold)
                    .to(staging.onset, rest);
            }
            Manoeuvre::Chicane {
                lateral,
                side,
                hold,
                change,
                ..
            } => {
                let first = side.sign() * lateral;
                plan.to(staging.onset, left(first))
                    .stay(*hold)
                    .to(*change, left(-first))
                    .stay(*hold);
                plan.to(staging.onset, rest);
            }
            Manoeuvre::TiltBench {
                angle, tilting, hold, ..
            } => {
                plan.to(*tilting, Load { tilt: *angle, ..rest })
                    .stay(*hold)
                    .to(*tilting, rest);
            }
        }
        plan.stay(staging.run_out);
        Ok(plan.0)
    }
}
