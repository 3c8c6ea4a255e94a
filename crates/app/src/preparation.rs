//! From the command line to everything that a computation needs: the design read and checked, the drive in the
//! car's and the pan's frame, the oil at temperature, the lattice.

use crate::cli::Common;
use crate::failure::{Complaint, Failure};
use crate::sizes::Size;
use drive::Drive;
use glam::{DMat3, DVec3};
use job::{Design, DrivePlan, NamedFile};
use oil::fluid::Fluid;
use pan::Lattice;

/// A design ready for computing.
pub struct Prepared {
    /// The design.
    pub design: Design,
    /// Oil at its temperature.
    pub fluid: Fluid,
    /// Up-direction of the standing car in the pan frame.
    pub up: DVec3,
    /// Turns car vectors into the pan's.
    pub pan_from_car: DMat3,
    /// Things to say to the user.
    pub warnings: Vec<String>,
}

/// What it is driven over.
pub struct Driven {
    /// In the car's frame.
    pub car: Drive,
    /// In the pan's frame.
    pub pan: Drive,
    /// File it was read from.
    pub file: Option<String>,
}

/// The lattice and why its cells are as large as they are.
#[derive(Clone)]
pub struct Gridded {
    /// The pan as cells.
    pub lattice: Lattice,
    /// In words.
    pub why: String,
}

impl Driven {
    /// The same with the engine sitting otherwise in the car.
    pub fn turned(&self, pan_from_car: DMat3) -> Driven {
        Driven {
            pan: self.car.in_frame(pan_from_car),
            car: self.car.clone(),
            file: self.file.clone(),
        }
    }
}

impl Prepared {
    /// Reads and checks the design.
    pub fn read(common: &Common) -> Result<Prepared, Failure> {
        Prepared::of(job::read(&common.design).map_err(wrong_input)?, common)
    }

    /// A design that was read.
    pub fn of(design: Design, common: &Common) -> Result<Prepared, Failure> {
        let oil = &design.oil;
        let fluid = oil.spec.at(oil.temperature, oil.aeration).map_err(|fault| {
            Failure::input(
                fault.to_string(),
                format!("{}, oil", common.design.display()),
                "change [oil]",
            )
        })?;
        let pan_from_car = design.installation.pan_from_car();
        let warnings: Vec<String> = design
            .cautions
            .iter()
            .map(|c| format!("{} ({})", c.what, c.mend))
            .collect();
        Ok(Prepared {
            up: pan_from_car * DVec3::Z,
            design,
            fluid,
            pan_from_car,
            warnings,
        })
    }

    /// Reads the drive: the one named on the command line, else the design's first; a list of manoeuvres is
    /// driven as a whole.
    pub fn drive(&self, common: &Common) -> Result<Driven, Failure> {
        let plans = match (&common.log, &common.course) {
            (Some(log), _) => vec![self.design.log_plan(NamedFile::by_user(log))],
            (None, Some(course)) => {
                vec![
                    self.design
                        .course_plan(NamedFile::by_user(course))
                        .map_err(|f| wrong_input(vec![f]))?,
                ]
            }
            (None, None) => self.design.drives.clone(),
        };
        let first = plans.first().ok_or_else(|| {
            Failure::input(
                "the design names nothing to drive over",
                format!("{}, drive", common.design.display()),
                "add `log = \"lap.csv\"` under [drive], or name a file with --log or --course",
            )
        })?;
        let file = first.file().map(|f| f.display().to_string());
        let mut car = if file.is_some() {
            first.drive().map_err(wrong_input)?
        } else {
            let drives: Result<Vec<Drive>, _> = plans
                .iter()
                .filter(|p| p.file().is_none())
                .map(DrivePlan::drive)
                .collect();
            Drive::joined("manoeuvres", &drives.map_err(wrong_input)?).expect("there is at least one plan")
        };
        let unused = plans
            .iter()
            .filter(|p| p.file().is_some() != file.is_some() || *p != first && file.is_some());
        for plan in unused {
            car.said.push(format!(
                "The design also names {}; it is not driven here.",
                plan.name()
            ));
        }
        let pan = car.in_frame(self.pan_from_car);
        Ok(Driven { car, pan, file })
    }

    /// Whether this variant of `base` is driven over the same in the car's frame.
    pub fn drives_as(&self, base: &Prepared, common: &Common) -> bool {
        if common.log.is_some() || common.course.is_some() {
            // Its own gearing may turn the engine's speed.
            return self.design.car == base.design.car;
        }
        self.design.drives == base.design.drives
    }

    /// Builds the lattice of a size.
    pub fn grid(&self, size: Size) -> Result<Gridded, Failure> {
        let lattice = Lattice::build(&self.design.pan, size.cell).map_err(|fault| {
            Failure::input(
                fault.to_string(),
                "the pan's lattice",
                "try a smaller cell with --cell",
            )
        })?;
        Ok(Gridded {
            lattice,
            why: size.why,
        })
    }
}

/// Faults of the design file and of what it names.
pub fn wrong_input(faults: Vec<job::Fault>) -> Failure {
    Failure::Input(
        faults
            .into_iter()
            .map(|fault| {
                let place = fault.place.to_string();
                let place = if fault.key.is_empty() {
                    place
                } else {
                    format!("{place}, {}", fault.key)
                };
                Complaint {
                    what: fault.what,
                    place,
                    mend: fault.mend,
                }
            })
            .collect(),
    )
}
