//! A tank that is moved as stated: turned about an axis and shifted along directions.
//!
//! The tank's frame and the ground's are one at rest, z up. At time t a point `x` of the tank stands in the ground
//! at `p + s(t) + R(t) (x − p)`, with `R` the turn by the angle about the axis through `p`, and `s` the sum of the
//! shifts, whose directions stay those of the ground. So in the tank's own axes the liquid feels, at `p`,
//! `Rᵀ (g − s″)`; the tank's spin is the angle's rate along the axis, which no turn about itself changes, and its
//! rate of change the angle's acceleration.

mod fault;
mod fit;
mod record;
mod signal;

pub use fault::MotionFault;
pub use signal::{Samples, Signal};

use crate::{Drive, Lap, filter};
use glam::{DQuat, DVec3};

/// Samples a second of the drive that a motion makes: a harmonic of 5 Hz is then met within 1.2e-4 of itself
/// between samples.
const RATE: f64 = 1000.0;

/// Quickest changes that are taken for motion and not for a slip of the record.
const MOST_SPIN: f64 = 100.0;
const MOST_TURN: f64 = 5000.0;
const MOST_SHIFT: f64 = 500.0;

/// What a signal moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// An angle about an axis.
    Turn,
    /// A displacement along a direction.
    Shift,
}

/// A turn about an axis of the tank.
#[derive(Clone, Debug, PartialEq)]
pub struct Turn {
    /// A point on the axis [m].
    pub through: DVec3,
    /// Unit vector along the axis; a positive angle turns the tank by the right hand about it.
    pub axis: DVec3,
    /// Angle [rad].
    pub angle: Signal,
}

/// A shift along a direction of the ground.
#[derive(Clone, Debug, PartialEq)]
pub struct Shift {
    /// Unit vector.
    pub along: DVec3,
    /// Displacement [m].
    pub displacement: Signal,
}

/// The whole motion.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Motion {
    /// The turn, if any.
    pub turn: Option<Turn>,
    /// All shifts.
    pub shifts: Vec<Shift>,
}

impl Signal {
    /// Reads a recorded signal from a table; also says how its rates came about.
    ///
    /// `smoothing` [s] is half the window of the local fit that works out rates that are not recorded; without it
    /// the cubic spline through the samples does, and a record too rough for that is refused.
    pub fn recorded(
        bytes: &[u8],
        kind: Kind,
        smoothing: Option<f64>,
    ) -> Result<(Signal, String), MotionFault> {
        let record = record::read(bytes, kind, smoothing)?;
        Ok((Signal::Recorded(record.samples), record.said))
    }
}

impl Motion {
    /// The motion as a drive of `length` [s] from time zero, in the tank's frame, under `gravity` [m/s²] straight
    /// down at rest. The engine stands still.
    ///
    /// Errors when a rate or an acceleration is beyond what is taken for motion: spin 100 rad/s, its change
    /// 5000 rad/s², a shift's acceleration 500 m/s².
    pub fn drive(&self, name: &str, gravity: f64, length: f64) -> Result<Drive, MotionFault> {
        let clock = filter::uniform_clock(0.0, length, RATE);
        let (mut felt, mut spin, mut spin_rate) = (Vec::new(), Vec::new(), Vec::new());
        for &time in &clock {
            let mut down = DVec3::new(0.0, 0.0, -gravity);
            for shift in &self.shifts {
                let [_, _, acceleration] = shift.displacement.at(time);
                within("acceleration of a shift", acceleration, "m/s2", time, MOST_SHIFT)?;
                down -= acceleration * shift.along;
            }
            if let Some(turn) = &self.turn {
                let [angle, rate, acceleration] = turn.angle.at(time);
                within("rate of the turn", rate, "rad/s", time, MOST_SPIN)?;
                within(
                    "acceleration of the turn",
                    acceleration,
                    "rad/s2",
                    time,
                    MOST_TURN,
                )?;
                down = DQuat::from_axis_angle(turn.axis, -angle) * down;
                spin.push(rate * turn.axis);
                spin_rate.push(acceleration * turn.axis);
            }
            felt.push(down);
        }
        let turns = self.turn.is_some();
        let end = clock[clock.len() - 1];
        let still = vec![0.0; clock.len()];
        Ok(Drive {
            name: name.to_owned(),
            gravity: felt,
            spin: turns.then_some(spin),
            spin_rate: turns.then_some(spin_rate),
            pivot: self.turn.as_ref().map_or(DVec3::ZERO, |t| t.through),
            engine_speed: still.clone(),
            speed: still.clone(),
            distance: still,
            place: None,
            laps: vec![Lap {
                name: name.to_owned(),
                start: 0.0,
                end,
            }],
            said: Vec::new(),
            time: clock,
        })
    }
}

fn within(
    what: &'static str,
    value: f64,
    unit: &'static str,
    time: f64,
    most: f64,
) -> Result<(), MotionFault> {
    if value.abs() <= most {
        return Ok(());
    }
    Err(MotionFault::Jump {
        what,
        value,
        unit,
        time,
        most,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    const G: f64 = 9.81;

    fn swing(amplitude: f64, period: f64, ramp: f64) -> Signal {
        Signal::Harmonic {
            amplitude,
            period,
            ramp,
        }
    }

    #[test]
    fn a_tank_at_rest_feels_gravity_and_nothing_else() {
        let drive = Motion::default().drive("rest", G, 1.0).unwrap();
        drive.check().unwrap();
        let moment = drive.at(0.7);
        assert_eq!(moment.gravity, DVec3::new(0.0, 0.0, -G));
        assert_eq!((moment.spin, moment.spin_rate), (DVec3::ZERO, DVec3::ZERO));
    }

    /// What a point of the tank feels, from its path through the ground alone: differentiated twice by central
    /// differences and turned back into the tank.
    fn felt_on_the_path(motion: &Motion, point: DVec3, time: f64) -> DVec3 {
        let turn = motion.turn.as_ref().unwrap();
        let turned = |t: f64| DQuat::from_axis_angle(turn.axis, turn.angle.at(t)[0]);
        let place = |t: f64| {
            let shifted: DVec3 = motion
                .shifts
                .iter()
                .map(|s| s.displacement.at(t)[0] * s.along)
                .sum();
            turn.through + shifted + turned(t) * (point - turn.through)
        };
        let e = 1e-4;
        let acceleration = (place(time - e) - 2.0 * place(time) + place(time + e)) / (e * e);
        turned(time).inverse() * (DVec3::new(0.0, 0.0, -G) - acceleration)
    }

    #[test]
    fn gravity_and_spin_are_those_of_the_path_of_every_point() {
        let motion = Motion {
            turn: Some(Turn {
                through: DVec3::new(0.2, -0.1, 0.05),
                axis: DVec3::new(0.6, 0.0, 0.8),
                angle: swing(0.4, 1.3, 2.0),
            }),
            shifts: vec![
                Shift {
                    along: DVec3::X,
                    displacement: swing(0.05, 0.9, 0.0),
                },
                Shift {
                    along: DVec3::new(0.0, 0.6, 0.8),
                    displacement: swing(0.02, 0.5, 1.0),
                },
            ],
        };
        let drive = motion.drive("all at once", G, 4.0).unwrap();
        for time in [0.35, 1.1, 1.9, 2.6, 3.33] {
            let m = drive.at(time);
            for point in [DVec3::ZERO, DVec3::new(0.4, 0.3, 0.1), DVec3::new(-0.3, 0.2, 0.5)] {
                let r = point - drive.pivot;
                let got = m.gravity - m.spin_rate.cross(r) - m.spin.cross(m.spin.cross(r));
                let due = felt_on_the_path(&motion, point, time);
                // Straight lines between samples of 1 ms, and the differences of the path: 1e-3 of 10 m/s².
                assert!((got - due).length() < 5e-3, "{point} at {time}: {got}, due {due}");
            }
        }
    }

    #[test]
    fn a_steady_sway_pushes_the_other_way() {
        let (amplitude, period) = (0.005, 2.43);
        let motion = Motion {
            turn: None,
            shifts: vec![Shift {
                along: DVec3::X,
                displacement: swing(amplitude, period, 0.0),
            }],
        };
        let drive = motion.drive("sway", G, 3.0).unwrap();
        let pulse = TAU / period;
        // A quarter swing in, the tank stands furthest to the right and is being pulled back left.
        let due = amplitude * pulse * pulse;
        assert!((drive.at(0.25 * period).gravity.x - due).abs() < 1e-6);
    }

    #[test]
    fn a_swing_beyond_all_reason_is_no_motion() {
        // A slip of a thousand in the amplitude.
        let angle = swing(40.0, 0.5, 0.0);
        let motion = Motion {
            turn: Some(Turn {
                through: DVec3::ZERO,
                axis: DVec3::Y,
                angle,
            }),
            shifts: Vec::new(),
        };
        assert!(matches!(
            motion.drive("jump", G, 0.3),
            Err(MotionFault::Jump { .. })
        ));
    }
}
