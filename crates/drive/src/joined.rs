//! Several short drives on one clock, as when a pan is put through a list of manoeuvres.

use glam::DVec3;

use crate::{Drive, Lap};

impl Drive {
    /// The drives one after the other, each a lap of its own under its own name, with one sample between the end
    /// of one and the start of the next. Distances go on; places are dropped, since manoeuvres share no course.
    ///
    /// `None` when there is nothing to join. Every drive should begin and end at rest: the joint is a straight
    /// line. All turn about their own origin.
    pub fn joined(name: &str, drives: &[Drive]) -> Option<Drive> {
        let mut whole = Drive {
            name: name.to_owned(),
            time: Vec::new(),
            gravity: Vec::new(),
            spin: drives.iter().any(|d| d.spin.is_some()).then(Vec::new),
            spin_rate: None,
            pivot: DVec3::ZERO,
            engine_speed: Vec::new(),
            speed: Vec::new(),
            distance: Vec::new(),
            place: None,
            laps: Vec::new(),
            said: Vec::new(),
        };
        for drive in drives {
            let step = drive.time.get(1).map_or(0.0, |second| second - drive.time[0]);
            let shift = whole.time.last().map_or(0.0, |last| last + step - drive.start());
            let travelled = whole.distance.last().copied().unwrap_or(0.0);
            whole.laps.push(Lap {
                name: drive.name.clone(),
                start: drive.start() + shift,
                end: drive.end() + shift,
            });
            whole.time.extend(drive.time.iter().map(|t| t + shift));
            whole.gravity.extend(&drive.gravity);
            if let Some(spin) = &mut whole.spin {
                match &drive.spin {
                    Some(known) => spin.extend(known),
                    None => spin.extend(std::iter::repeat_n(DVec3::ZERO, drive.time.len())),
                }
            }
            whole.engine_speed.extend(&drive.engine_speed);
            whole.speed.extend(&drive.speed);
            whole
                .distance
                .extend(drive.distance.iter().map(|d| d + travelled));
            for said in &drive.said {
                if !whole.said.contains(said) {
                    whole.said.push(said.clone());
                }
            }
        }
        (!whole.time.is_empty()).then_some(whole)
    }
}
