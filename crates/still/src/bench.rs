//! The pan by itself, leaned on a bench: how much oil stays in it, and where the oil line meets its walls.

use glam::{DVec2, DVec3};
use pan::{Pan, Region};

/// The oil keeps this far below the flange's face [m].
const FREEBOARD: f64 = 5e-3;

/// A pan leaned so that one side is low.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lean {
    /// Toward the low side: a unit vector in the flange's plane.
    pub low: DVec2,
    /// How far [rad].
    pub angle: f64,
}

/// The cut through the mouth toward the low side, in (distance toward the low side from the mouth, z) [m].
#[derive(Clone, Debug)]
pub struct LeanedCut {
    /// What is hollow below the flange.
    pub hollow: Region,
    /// The oil in it.
    pub oil: Region,
    /// Where the oil line leaves the hollow: at the high side, at the low side; `None` when it does not meet the cut.
    pub ends: Option<[DVec2; 2]>,
    /// Oil over the mouth's centre, square to the oil [m]; below zero the mouth is bare.
    pub cover: f64,
}

impl Lean {
    /// Upward, seen from the pan.
    pub fn up(&self) -> DVec3 {
        (-self.low * self.angle.sin()).extend(self.angle.cos())
    }

    /// The most oil that stays in, 5 mm below the flange's face at the low side [m³].
    pub fn most(&self, pan: &Pan) -> f64 {
        let up = self.up();
        let rim = pan.cavity.level_section(-FREEBOARD);
        let lowest = (rim.loops().flatten())
            .map(|p| up.dot(p.extend(-FREEBOARD)))
            .fold(f64::INFINITY, f64::min);
        if lowest.is_finite() {
            pan.cavity.volume_below(up, lowest)
        } else {
            0.0
        }
    }

    /// The cut with `volume` [m³] in the pan; `None` when that has no level.
    pub fn cut(&self, pan: &Pan, volume: f64) -> Option<LeanedCut> {
        let up = self.up();
        let offset = pan.cavity.level(up, volume).ok()?;
        let mouth = pan.mouth.at;
        let (floor, far) = (pan.cavity.bounds().0.z - 0.01, 2.0);
        let below = Region::rectangle(DVec2::new(-far, floor), DVec2::new(far, 0.0));
        let hollow = pan
            .cavity
            .upright_section(mouth.truncate(), self.low)
            .intersection(&below);
        // up · (mouth + s low, z) = offset
        let line = |s: f64| {
            let across = mouth.truncate().dot(self.low) + s;
            (offset + across * self.angle.sin()) / self.angle.cos()
        };
        let under = vec![
            DVec2::new(-far, -far * 4.0),
            DVec2::new(far, -far * 4.0),
            DVec2::new(far, line(far)),
            DVec2::new(-far, line(-far)),
        ];
        let oil = hollow.intersection(&Region::from_loops(&[under]));
        let along = DVec2::from_angle(self.angle);
        let start = DVec2::new(0.0, line(0.0));
        let chords = hollow.chords(start, along);
        let ends = match (chords.first(), chords.last()) {
            (Some(first), Some(last)) => Some([start + along * first.0, start + along * last.1]),
            _ => None,
        };
        Some(LeanedCut {
            hollow,
            oil,
            ends,
            cover: offset - up.dot(mouth),
        })
    }
}
