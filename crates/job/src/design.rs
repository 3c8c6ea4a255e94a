//! A design, read and checked: plain data in SI, ready for the solvers.

use std::path::PathBuf;

use drive::course::CourseOptions;
use drive::log::LogOptions;
use glam::DVec3;
use measure::UnitOrder;
use measure::frames::Installation;
use oil::{Circuit, OilSpec};
use pan::{Pan, PanFault, Probe};
use pickup::Limits;

use crate::fault::{Fault, Place};
use crate::input::InputLine;
use crate::plan::{Car, DrivePlan, NamedFile};
use crate::sealing::Sealing;
use crate::shop::Shop;
use crate::surroundings::Clearances;

/// Everything that one design file (with its bases) says.
#[derive(Clone, Debug)]
pub struct Design {
    /// Name for people.
    pub name: String,
    /// What the user wrote about it; may be empty.
    pub notes: String,
    /// Every file read: the design itself as the user named it, then its bases, nearest first, then its
    /// mesh. Logs and courses are read later and are not among them.
    pub files: Vec<ReadFile>,
    /// How many of `files` are bases.
    pub bases: usize,
    /// Which units stand first when quantities are shown.
    pub units: UnitOrder,
    /// The engine.
    pub engine: Engine,
    /// How it sits in the car.
    pub installation: Installation,
    /// Oil at its temperature.
    pub oil: OilUse,
    /// Pump, oil aloft, returns; its aloft factor is 1.
    pub circuit: Circuit,
    /// Low and high allowance of oil aloft.
    pub allowance: Allowance,
    /// Cavity and everything in it, pan frame.
    pub pan: Pan,
    /// All the oil in the engine [m³].
    pub fill: f64,
    /// The car on a course, when described.
    pub car: Option<Car>,
    /// What to drive: the log, the course, then the manoeuvres, as far as stated.
    pub drives: Vec<DrivePlan>,
    /// What counts as thin, bare, too much.
    pub limits: Limits,
    /// What is measured beside the cover, pan frame; none unless stated.
    pub probes: Vec<Probe>,
    /// What stands round the pan and turns in it, when stated.
    pub clearances: Option<Clearances>,
    /// The suction line, when stated.
    pub feed: Option<Feed>,
    /// Flange, joint and bolts, when stated.
    pub sealing: Option<Sealing>,
    /// The shop that makes it.
    pub shop: Shop,
    /// Every input, in the order of the sections, defaults with their reason.
    pub inputs: Vec<InputLine>,
    /// What can be computed but looks wrong. The same shape as a fault.
    pub cautions: Vec<Fault>,
    /// What the pan finds wrong with itself, for variants that have the same pan.
    pub(crate) found: Vec<PanFault>,
}

impl Design {
    /// A plan for another log than the design's own, read in the way that the design states for its own.
    pub fn log_plan(&self, file: NamedFile) -> DrivePlan {
        let own = self.drives.iter().find_map(|plan| match plan {
            DrivePlan::Log { options, .. } => Some(options.clone()),
            _ => None,
        });
        let usual = || LogOptions {
            engine: self.car.as_ref().map(|c| c.gearing.clone()),
            ..LogOptions::default()
        };
        let options = LogOptions {
            name: file.name(),
            ..own.unwrap_or_else(usual)
        };
        DrivePlan::Log { file, options }
    }

    /// A plan for another course than the design's own. A course needs the car of the design.
    pub fn course_plan(&self, file: NamedFile) -> Result<DrivePlan, Fault> {
        let own = self.drives.iter().find_map(|plan| match plan {
            DrivePlan::Course { lap, .. } => Some(lap.clone()),
            _ => None,
        });
        let Some(car) = self.car.clone() else {
            return Err(Fault {
                id: "missing-section",
                place: Place::file(&self.files[0].path),
                key: "car".to_owned(),
                what: "a course needs a car to drive it".to_owned(),
                mend: "add a [car] with lateral, braking, driving, top_speed and gearing".to_owned(),
            });
        };
        let options = CourseOptions {
            name: file.name(),
            ..CourseOptions::default()
        };
        Ok(DrivePlan::Course {
            file,
            options,
            car,
            lap: own.unwrap_or_default(),
        })
    }
}

/// A file as it was read.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadFile {
    /// As reached from the path the user typed.
    pub path: PathBuf,
    /// Its bytes: what a run's key must hold.
    pub bytes: Vec<u8>,
}

/// The engine.
#[derive(Clone, Debug, PartialEq)]
pub struct Engine {
    /// Name for people.
    pub name: String,
    /// Idle [rev/s].
    pub idle: f64,
    /// Highest speed in use [rev/s].
    pub redline: f64,
}

/// An oil, its temperature and the air in it.
#[derive(Clone, Debug, PartialEq)]
pub struct OilUse {
    /// Which oil.
    pub spec: OilSpec,
    /// Temperature [K].
    pub temperature: f64,
    /// Volume share of air carried as bubbles, 0..0.3.
    pub aeration: f64,
}

/// The suction side, as far as a design states it.
#[derive(Clone, Debug, PartialEq)]
pub struct Feed {
    /// Line, pump, oil and joint.
    pub supply: ::feed::Supply,
    /// From the mouth to the pump's inlet, pan frame [m].
    pub way: DVec3,
    /// The coldest oil that is asked for [K].
    pub coldest: f64,
}

/// Factors on the stated oil aloft for the low and high answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowance {
    /// At most 1.
    pub low: f64,
    /// At least 1.
    pub high: f64,
}
