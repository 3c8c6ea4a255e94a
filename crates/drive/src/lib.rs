//! Acceleration histories: from logs, courses and manoeuvres. Frames, filters. Knows not what they shake.

use glam::{DMat3, DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// One lap of a drive, as a stretch of time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lap {
    /// What the log or the course calls it.
    pub name: String,
    /// Start [s].
    pub start: f64,
    /// End [s].
    pub end: f64,
}

/// A drive: what the body of the oil feels against time, in one frame (car or pan; `in_frame` turns it).
///
/// All series have the length of `time`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Drive {
    /// Name for people.
    pub name: String,
    /// Time [s], strictly rising.
    pub time: Vec<f64>,
    /// Apparent gravity [m/s²]: gravity minus the acceleration of the frame. At rest (0, 0, -g).
    pub gravity: Vec<DVec3>,
    /// Angular rate of the frame [rad/s], when known.
    pub spin: Option<Vec<DVec3>>,
    /// Engine speed [rev/s].
    pub engine_speed: Vec<f64>,
    /// Road speed [m/s].
    pub speed: Vec<f64>,
    /// Distance from the start [m].
    pub distance: Vec<f64>,
    /// Place on the course [m], when known.
    pub place: Option<Vec<DVec2>>,
    /// Laps found.
    pub laps: Vec<Lap>,
    /// How it was read: sentences for the report (units taken, signs inferred with the evidence, filter).
    pub said: Vec<String>,
}

impl Drive {
    /// The same drive seen from another frame; `new_from_old` turns vectors.
    pub fn in_frame(&self, new_from_old: DMat3) -> Drive {
        let mut d = self.clone();
        for g in &mut d.gravity {
            *g = new_from_old * *g;
        }
        if let Some(spin) = &mut d.spin {
            for s in spin {
                *s = new_from_old * *s;
            }
        }
        d
    }
}
