//! A plain tank: what an experiment moves, where its liquid lies at the start, and where it is measured.

use crate::{Cavity, Door, Plate, PlateShape};
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// A hollow with its plates and doors, and no engine round it. Frame of its own: z up at rest.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tank {
    /// The hollow.
    pub cavity: Cavity,
    /// Walls, shelves, sheets.
    pub plates: Vec<Plate>,
    /// One-way doors on plates.
    pub doors: Vec<Door>,
    /// Plates that are pulled up.
    pub lifts: Vec<Lift>,
}

/// A plate that is pulled straight up at a steady speed: a gate.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lift {
    /// Index of the plate; a wall.
    pub plate: usize,
    /// Speed [m/s].
    pub speed: f64,
    /// When it begins [s].
    pub from: f64,
}

impl Tank {
    /// The tank at `time` [s], its lifting plates as high as they then are; before they begin, as built.
    pub fn at(&self, time: f64) -> Tank {
        let mut tank = self.clone();
        for lift in &self.lifts {
            let rise = (lift.speed * (time - lift.from)).max(0.0);
            if let Some(PlateShape::Wall { z_low, z_high, .. }) =
                tank.plates.get_mut(lift.plate).map(|p| &mut p.shape)
            {
                *z_low += rise;
                *z_high += rise;
            }
        }
        tank
    }

    /// When a lifting plate has left the hollow [s].
    pub fn clear_at(&self, lift: &Lift) -> f64 {
        let top = self.cavity.bounds().1.z;
        match self.plates.get(lift.plate).map(|p| &p.shape) {
            Some(PlateShape::Wall { z_low, .. }) => lift.from + (top - z_low).max(0.0) / lift.speed,
            _ => lift.from,
        }
    }
}

/// An upright box in the tank [m]; a side may be as far away as one likes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Block {
    /// Low corner.
    pub low: DVec3,
    /// High corner.
    pub high: DVec3,
}

impl Block {
    /// True inside and on the sides.
    pub fn contains(&self, point: DVec3) -> bool {
        point.cmpge(self.low).all() && point.cmple(self.high).all()
    }
}

/// A place where the liquid is watched at every step of a run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Probe {
    /// Name for people and for the column of the record.
    pub name: String,
    /// What is watched.
    pub watch: Watch,
}

/// What a probe watches.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Watch {
    /// Gauge pressure [Pa]: at a point, or as the mean over a round face as a wall sensor has it.
    Pressure {
        /// Middle of the face [m].
        at: DVec3,
        /// Unit vector out of the face, into the liquid; of no meaning for a point.
        facing: DVec3,
        /// Diameter of the face [m]; 0 for a point.
        diameter: f64,
    },
    /// Surface over a place of the floor, on an upright line.
    Level {
        /// Place in plan [m].
        at: DVec2,
    },
    /// Surface as met from above, at even places of a straight line in plan.
    Profile {
        /// First place [m].
        from: DVec2,
        /// Last place [m].
        to: DVec2,
        /// How many places, at least two.
        count: u32,
    },
    /// Foremost liquid along a direction, inside a band.
    Front {
        /// Unit vector along x or y, either way.
        along: DVec3,
        /// Where it is looked for [m].
        band: Block,
        /// Share of the band that counts as liquid there, 0 to 1.
        share: f64,
    },
}
