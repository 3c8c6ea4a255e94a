//! What a design is driven over, and reading it.

use std::path::{Path, PathBuf};

use drive::course::{self, CarLimits, Course, CourseOptions, LapOptions};
use drive::log::{self, LogOptions};
use drive::manoeuvre::{Manoeuvre, Staging};
use drive::{Drive, Gearing};

use crate::fault::{Fault, Place};
use crate::sources::{LOG_LIMIT, Sources};

/// The car on a course.
#[derive(Clone, Debug, PartialEq)]
pub struct Car {
    /// Grip, engine, drag, top speed.
    pub limits: CarLimits,
    /// Engine speed from road speed.
    pub gearing: Gearing,
}

/// One drive, not read yet.
#[derive(Clone, Debug, PartialEq)]
pub enum DrivePlan {
    /// Logged laps.
    Log {
        /// The file.
        file: NamedFile,
        /// How to take it.
        options: LogOptions,
    },
    /// A lap computed round a course.
    Course {
        /// The file.
        file: NamedFile,
        /// How to take it.
        options: CourseOptions,
        /// Who drives it.
        car: Car,
        /// How the lap is put on a clock.
        lap: LapOptions,
    },
    /// A single test.
    Manoeuvre {
        /// Name in the design file.
        name: String,
        /// Where it is stated.
        place: Place,
        /// What is driven.
        manoeuvre: Manoeuvre,
        /// What surrounds it.
        staging: Staging,
    },
}

/// A file and who named it.
#[derive(Clone, Debug, PartialEq)]
pub struct NamedFile {
    /// The file.
    pub path: PathBuf,
    /// The project folder and the place in the design that names the file; `None` when the user named it himself.
    pub named: Option<(PathBuf, Place, String)>,
}

impl NamedFile {
    /// A file that the user named himself, wherever it lies.
    pub fn by_user(path: impl Into<PathBuf>) -> NamedFile {
        NamedFile {
            path: path.into(),
            named: None,
        }
    }

    /// Its name without the folder.
    pub fn name(&self) -> String {
        self.path
            .file_name()
            .unwrap_or(self.path.as_os_str())
            .to_string_lossy()
            .into_owned()
    }

    fn read(&self, sources: &Sources) -> Result<Vec<u8>, Fault> {
        self.bytes(sources, LOG_LIMIT)
    }

    /// Its bytes, at most `limit` of them.
    pub(crate) fn bytes(&self, sources: &Sources, limit: u64) -> Result<Vec<u8>, Fault> {
        match &self.named {
            None => sources.named_by_user(&self.path, limit),
            Some((root, place, key)) => sources.named_by_design(&self.path, root, limit, place, key),
        }
    }

    /// A fault inside the file, or at the key that names it when no line is known.
    pub(crate) fn fault(&self, id: &'static str, line: Option<usize>, what: String, mend: String) -> Fault {
        let place = Place {
            line: line.unwrap_or(0),
            ..Place::file(&self.path)
        };
        Fault {
            id,
            place,
            key: String::new(),
            what,
            mend,
        }
    }
}

impl DrivePlan {
    /// Name for people, before anything is read.
    pub fn name(&self) -> String {
        match self {
            DrivePlan::Log { file, .. } | DrivePlan::Course { file, .. } => file.name(),
            DrivePlan::Manoeuvre { name, .. } => name.clone(),
        }
    }

    /// The file it needs, if any.
    pub fn file(&self) -> Option<&Path> {
        match self {
            DrivePlan::Log { file, .. } | DrivePlan::Course { file, .. } => Some(&file.path),
            DrivePlan::Manoeuvre { .. } => None,
        }
    }

    /// Reads and computes the drive, in the car frame.
    pub fn drive(&self) -> Result<Drive, Vec<Fault>> {
        self.drive_from(&Sources::Disk)
    }

    /// The same, from other sources.
    pub fn drive_from(&self, sources: &Sources) -> Result<Drive, Vec<Fault>> {
        match self {
            DrivePlan::Log { file, options } => logged(file, options, sources),
            DrivePlan::Course {
                file,
                options,
                car,
                lap,
            } => round(file, options, car, lap, sources).map_err(|fault| vec![fault]),
            DrivePlan::Manoeuvre {
                name,
                place,
                manoeuvre,
                staging,
            } => {
                let drive = manoeuvre
                    .drive(staging)
                    .map_err(|fault| vec![manoeuvre_fault(&fault, name, place)])?;
                Ok(Drive {
                    name: name.clone(),
                    ..drive
                })
            }
        }
    }
}

fn logged(file: &NamedFile, options: &LogOptions, sources: &Sources) -> Result<Drive, Vec<Fault>> {
    read_log(file, options, sources).map(|reading| reading.drive)
}

pub(crate) fn read_log(
    file: &NamedFile,
    options: &LogOptions,
    sources: &Sources,
) -> Result<log::Reading, Vec<Fault>> {
    let named = file
        .named
        .as_ref()
        .map(|(root, place, key)| (root.as_path(), place, key.as_str()));
    let mut reader = sources
        .stream(&file.path, named, LOG_LIMIT)
        .map_err(|fault| vec![fault])?;
    log::read_from(&mut reader, options).map_err(|faults| {
        let fault = |f: &log::LogFault| Fault {
            key: f
                .column
                .map_or(String::new(), |column| format!("column {column}")),
            ..file.fault("log", f.line, f.to_string(), f.mend())
        };
        faults.iter().map(fault).collect()
    })
}

fn round(
    file: &NamedFile,
    options: &CourseOptions,
    car: &Car,
    lap: &LapOptions,
    sources: &Sources,
) -> Result<Drive, Fault> {
    let bytes = file.read(sources)?;
    let course = Course::read(&bytes, options)
        .map_err(|fault| file.fault("course", fault.line(), fault.to_string(), fault.mend().to_owned()))?;
    course::lap(&course, &car.limits, &car.gearing, lap).map_err(|fault| {
        let (what, mend) = parted(
            &fault.to_string(),
            "check the numbers of [car] against the course",
        );
        file.fault("lap", None, what, mend)
    })
}

pub(crate) fn manoeuvre_fault(fault: &drive::manoeuvre::ManoeuvreFault, name: &str, place: &Place) -> Fault {
    let (what, mend) = parted(&fault.to_string(), "change that number");
    Fault {
        id: "manoeuvre",
        place: place.clone(),
        key: format!("drive.manoeuvre \"{name}\""),
        what,
        mend,
    }
}

/// A sentence of a lower floor, which carries its mend behind the last semicolon, in two.
pub(crate) fn parted(said: &str, otherwise: &str) -> (String, String) {
    let (what, mend) = said.rsplit_once("; ").unwrap_or((said, otherwise));
    (what.to_owned(), mend.to_owned())
}
