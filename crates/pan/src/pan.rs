//! The pan with all its parts, and the plain figures a shop asks of it first.

use crate::cavity::{Cavity, LevelFault};
use crate::{CrankSweep, Door, Mouth, Plate, ReturnPlace};
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// A pan, its block space, and everything in it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pan {
    /// The hollow.
    pub cavity: Cavity,
    /// Walls, shelves, sheets.
    pub plates: Vec<Plate>,
    /// One-way doors on plates.
    pub doors: Vec<Door>,
    /// Pickup mouth.
    pub mouth: Mouth,
    /// Where oil comes home.
    pub returns: Vec<ReturnPlace>,
    /// What the crank sweeps, when known.
    pub crank: Option<CrankSweep>,
}

/// One row of a height table.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct HeightRow {
    /// Height of the oil along "up", from the plane through the pan's origin [m]; below it negative.
    pub height: f64,
    /// Oil [m³].
    pub volume: f64,
}

impl Pan {
    /// Volume below the flange plane [m³].
    pub fn capacity(&self) -> f64 {
        self.cavity.volume_below(DVec3::Z, 0.0)
    }

    /// Height of `volume` [m³] of oil at rest along `up` (unit, the installed up-direction seen from the pan),
    /// from the plane through the pan's origin [m].
    pub fn height_at_volume(&self, up: DVec3, volume: f64) -> Result<f64, LevelFault> {
        self.cavity.level(up, volume)
    }

    /// Oil at rest below a height along `up`, from the plane through the pan's origin [m³].
    pub fn volume_at_height(&self, up: DVec3, height: f64) -> f64 {
        self.cavity.volume_below(up, height)
    }

    /// Litres against height with the engine off: `steps` + 1 rows (at least two) from the lowest point of the
    /// cavity to the height that the capacity below the flange reaches.
    pub fn height_table(&self, up: DVec3, steps: usize) -> Result<Vec<HeightRow>, LevelFault> {
        let (low, steps) = (self.cavity.level(up, 0.0)?, steps.max(1));
        let high = self.cavity.level(up, self.capacity())?;
        let row = |i: usize| {
            let height = low + (high - low) * i as f64 / steps as f64;
            HeightRow {
                height,
                volume: self.cavity.volume_below(up, height),
            }
        };
        Ok((0..=steps).map(row).collect())
    }

    /// Least distance from the mouth's rim or centre straight down to the floor [m]; `None` when the mouth is
    /// not inside the cavity.
    pub fn mouth_over_floor(&self) -> Option<f64> {
        let m = &self.mouth;
        let rim =
            (0..8).map(|i| DVec2::from_angle(f64::from(i) * std::f64::consts::FRAC_PI_4) * 0.5 * m.diameter);
        let mut least: Option<f64> = None;
        for p in std::iter::once(DVec2::ZERO).chain(rim) {
            let at = m.at + p.extend(0.0);
            let gap = at.z - self.cavity.floor_under(at)?;
            least = Some(least.map_or(gap, |l| l.min(gap)));
        }
        least
    }

    /// Least distance from the oil plane `up · x = offset` up to the crank sweep [m]; negative when the sweep
    /// dips into the oil, `None` without a sweep.
    pub fn crank_gap(&self, up: DVec3, offset: f64) -> Option<f64> {
        let c = self.crank.as_ref()?;
        let slant = (1.0 - c.axis.dot(up).powi(2)).max(0.0).sqrt();
        // Between two stations the sweep is a cone, lowest at one of its ends.
        c.profile
            .iter()
            .map(|(s, r)| up.dot(c.origin + c.axis * *s) - r * slant - offset)
            .min_by(f64::total_cmp)
    }

    /// Highest level, as volume at rest [m³], at which the oil just reaches the crank sweep.
    pub fn crank_touch_volume(&self, up: DVec3) -> Option<f64> {
        self.crank_gap(up, 0.0)
            .map(|offset| self.cavity.volume_below(up, offset))
    }
}
