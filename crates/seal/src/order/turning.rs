//! Torque and angle read while a bolt is turned: is it still getting tighter, or is something giving way?
//!
//! A sound bolt's torque climbs evenly with the angle once the head has seated. When the bolt keeps turning and the
//! torque stays where it is, the bolt is stretching for good or, in a light metal, the thread is going; when the torque
//! falls, the thread has gone. Common practice, no source; the shares below are ours.

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A climb below this share of the bolt's own steepest steady climb is none.
const FLAT: f64 = 0.2;
/// So much of a turn without a climb is more than a wrench's or a reader's error [rad].
const FAR: f64 = 0.35;
/// Torque below the greatest by this share has fallen.
const FALLEN: f64 = 0.1;

/// One reading.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Turn {
    /// Angle from wherever the bolt's readings begin [rad].
    pub angle: f64,
    /// Torque there, while it turns [N m].
    pub torque: f64,
}

/// Why readings tell nothing.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum TurnFault {
    /// Too few to see a climb.
    #[error("{readings} readings of one bolt; it takes three at least")]
    TooFew {
        /// Readings given.
        readings: usize,
    },
    /// Not a number, or a torque below zero.
    #[error("reading {} is no torque and angle", .reading + 1)]
    NoReading {
        /// Which one, from 0.
        reading: usize,
    },
    /// The angle does not grow.
    #[error("reading {} stands at no greater angle than the one before", .reading + 1)]
    Backward {
        /// Which one, from 0.
        reading: usize,
    },
    /// The torque never climbs.
    #[error("the torque never climbs: the bolt never seated")]
    NeverClimbs,
}

/// What the bolt does.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Turning {
    /// Its torque climbs to the last reading.
    Climbs,
    /// It keeps turning at the same torque: stop, take it out, look at the thread.
    GivesWay,
    /// Its torque has fallen: the thread or the bolt is gone.
    Gone,
}

/// Readings of one bolt, read.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// What it does.
    pub turning: Turning,
    /// Its steepest steady climb [N m/rad].
    pub climb: f64,
    /// Greatest torque read [N m].
    pub greatest: f64,
    /// Angle of the last reading up to which it climbed [rad].
    pub climbed_to: f64,
    /// How far it turned after that [rad].
    pub turned_on: f64,
}

/// Reads one bolt's readings, in the order taken.
///
/// The steepest steady climb is the greatest mean slope over three readings that follow one another. From the last
/// reading backwards, the end of the climb is where the slope to the end first exceeds a fifth of that. A turn of more
/// than 20° beyond it gives way; a torque that ends more than a tenth below its greatest is gone.
pub fn turned(readings: &[Turn]) -> Result<Reading, TurnFault> {
    if readings.len() < 3 {
        return Err(TurnFault::TooFew {
            readings: readings.len(),
        });
    }
    for (reading, turn) in readings.iter().enumerate() {
        if !(turn.angle.is_finite() && turn.torque.is_finite() && turn.torque >= 0.0) {
            return Err(TurnFault::NoReading { reading });
        }
        if reading > 0 && turn.angle <= readings[reading - 1].angle {
            return Err(TurnFault::Backward { reading });
        }
    }
    let slope = |from: usize, to: usize| {
        (readings[to].torque - readings[from].torque) / (readings[to].angle - readings[from].angle)
    };
    let last = readings.len() - 1;
    let climb = (2..=last).map(|at| slope(at - 2, at)).fold(0.0, f64::max);
    if climb <= 0.0 {
        return Err(TurnFault::NeverClimbs);
    }
    let greatest = readings.iter().map(|turn| turn.torque).fold(0.0, f64::max);
    // The earliest reading from which the torque no longer climbs to any later one.
    let end = (0..last)
        .find(|&from| (from + 1..=last).all(|to| slope(from, to) < FLAT * climb))
        .unwrap_or(last);
    let turned_on = readings[last].angle - readings[end].angle;
    let turning = if readings[last].torque < (1.0 - FALLEN) * greatest {
        Turning::Gone
    } else if turned_on > FAR {
        Turning::GivesWay
    } else {
        Turning::Climbs
    };
    Ok(Reading {
        turning,
        climb,
        greatest,
        climbed_to: readings[end].angle,
        turned_on,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(pairs: &[(f64, f64)]) -> Result<Reading, TurnFault> {
        let turns: Vec<Turn> = pairs
            .iter()
            .map(|&(degrees, torque)| Turn {
                angle: f64::to_radians(degrees),
                torque,
            })
            .collect();
        turned(&turns)
    }

    #[test]
    fn a_sound_bolt_climbs_to_its_torque() {
        // Loose at first, then 0.15 N m a degree.
        let sound =
            read(&[(0.0, 0.5), (30.0, 0.8), (50.0, 3.0), (70.0, 6.0), (90.0, 9.0)]).expect("readings");
        assert_eq!(sound.turning, Turning::Climbs);
        assert!((sound.climb.to_radians() - 0.15).abs() < 1e-9, "{}", sound.climb);
        // Friction that wavers by a few per cent is no sign.
        let wavers = [
            (0.0, 1.0),
            (20.0, 3.2),
            (40.0, 4.9),
            (60.0, 7.2),
            (80.0, 9.0),
            (90.0, 9.1),
        ];
        assert_eq!(read(&wavers).expect("readings").turning, Turning::Climbs);
    }

    #[test]
    fn a_bolt_that_keeps_turning_at_the_same_torque_is_flagged() {
        let gives = read(&[
            (0.0, 1.0),
            (20.0, 4.0),
            (40.0, 7.0),
            (60.0, 8.0),
            (90.0, 8.0),
            (120.0, 8.1),
        ]);
        let gives = gives.expect("readings");
        assert_eq!(gives.turning, Turning::GivesWay);
        assert!(
            (gives.turned_on.to_degrees() - 60.0).abs() < 1e-9,
            "{}",
            gives.turned_on.to_degrees()
        );
        let gone = read(&[(0.0, 1.0), (20.0, 4.0), (40.0, 7.0), (60.0, 7.5), (90.0, 5.0)]);
        assert_eq!(gone.expect("readings").turning, Turning::Gone);
    }

    #[test]
    fn readings_that_tell_nothing_are_refused() {
        assert_eq!(
            read(&[(0.0, 1.0), (10.0, 2.0)]),
            Err(TurnFault::TooFew { readings: 2 })
        );
        assert_eq!(
            read(&[(0.0, 1.0), (10.0, 2.0), (10.0, 3.0)]),
            Err(TurnFault::Backward { reading: 2 })
        );
        assert_eq!(
            read(&[(0.0, 1.0), (10.0, f64::NAN), (20.0, 3.0)]),
            Err(TurnFault::NoReading { reading: 1 })
        );
        assert_eq!(
            read(&[(0.0, 1.0), (10.0, 1.0), (20.0, 1.0)]),
            Err(TurnFault::NeverClimbs)
        );
    }
}
