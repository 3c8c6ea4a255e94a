//! `[car]` and `[drive]`: what the pan is driven over.

use std::path::{Path, PathBuf};

use drive::Gearing;
use drive::course::{CarLimits, CourseOptions, LapOptions};
use measure::Dimension::{Acceleration, EngineSpeed, Frequency, Length, Speed};

use super::{logs, manoeuvres};
use crate::design::Engine;
use crate::plan::{Car, DrivePlan, NamedFile};
use crate::section::{Bounds, Need, Section, Shape};
use crate::sources;

/// `[car]`: what it can do on a course.
pub(crate) fn car(section: &Section, engine: Option<&Engine>) -> Option<Car> {
    let most = Bounds::above_to(0.0, 6.0 * measure::STANDARD_GRAVITY);
    let lateral = section.quantity("lateral", Acceleration, most);
    let braking = section.quantity("braking", Acceleration, most);
    let driving = section.quantity("driving", Acceleration, most);
    let fast = Bounds::above_to(0.0, 150.0);
    let top_speed = section.quantity("top_speed", Speed, fast);
    let drag = drag(section);
    section.needed(
        "power",
        Need::Default("as the tyres allow".into(), "the engine's limit is not stated"),
    );
    let power = match section.has("power") {
        true => section.rows("power", [Speed, Acceleration]),
        false => {
            section.default(
                "power",
                "as the tyres allow".to_owned(),
                "the engine's limit is not stated",
            );
            Some(Vec::new())
        }
    };
    let gearing = gearing(section, engine);
    let limits = CarLimits {
        lateral: lateral?,
        braking: braking?,
        driving: driving?,
        engine: power?
            .into_iter()
            .map(|[speed, driving]| (speed, driving))
            .collect(),
        drag: drag?,
        top_speed: top_speed?,
    };
    Some(Car {
        limits,
        gearing: gearing?,
    })
}

/// Drag as the deceleration it causes at one speed: `[deceleration, speed]` → 1/m.
fn drag(section: &Section) -> Option<f64> {
    section.needed(
        "drag",
        Need::Default("none".into(), "braking and driving hold at every speed"),
    );
    if !section.has("drag") {
        section.default(
            "drag",
            "none".to_owned(),
            "not stated; braking and driving hold at every speed",
        );
        return Some(0.0);
    }
    let [deceleration, speed] = section.tuple("drag", [Acceleration, Speed])?;
    if deceleration >= 0.0 && speed > 0.0 {
        return Some(deceleration / (speed * speed));
    }
    let mend = "give the deceleration by drag alone and the speed it belongs to, for instance [\"0.35 g\", \"200 km/h\"]";
    section.fault(
        "out-of-range",
        "drag",
        "the drag is below zero or at no speed".to_owned(),
        mend.to_owned(),
    );
    None
}

/// Engine speed: constant, one ratio, or a gearbox.
fn gearing(section: &Section, engine: Option<&Engine>) -> Option<Gearing> {
    let example = "gearing = [\"7000 rpm\", \"210 km/h\"]";
    let gearing = match section.one_of(&["gearing", "gears", "engine_speed"], example)? {
        "engine_speed" => {
            Gearing::Constant(section.quantity("engine_speed", EngineSpeed, Bounds::NOT_NEGATIVE)?)
        }
        "gearing" => {
            let [turns, speed] = section.tuple("gearing", [EngineSpeed, Speed])?;
            if speed <= 0.0 {
                let mend = format!("give an engine speed and the road speed it belongs to, {example}");
                section.fault(
                    "out-of-range",
                    "gearing",
                    "the road speed is not above zero".to_owned(),
                    mend,
                );
                return None;
            }
            Gearing::Ratio {
                turns_per_metre: turns / speed,
                idle: engine?.idle,
            }
        }
        _ => gearbox(section, engine)?,
    };
    if let Err(fault) = gearing.check() {
        let (what, mend) = crate::plan::parted(&fault.to_string(), "check the numbers of the gearing");
        section.fault("gearing", "gears", what, mend);
        return None;
    }
    Some(gearing)
}

fn gearbox(section: &Section, engine: Option<&Engine>) -> Option<Gearing> {
    section.shaped("gears", Shape::Numbers);
    let node = section.required("gears", "[3.2, 2.1, 1.5, 1.2, 1.0]")?;
    let ratios: Vec<Option<f64>> = section
        .list("gears", node)?
        .iter()
        .map(|ratio| section.number_in("gears", ratio))
        .collect();
    let final_drive = section.number("final_drive", "3.9");
    let tyre_radius = section.quantity("tyre_radius", Length, Bounds::POSITIVE);
    let shift = match engine {
        Some(engine) => section.quantity_or(
            "shift",
            EngineSpeed,
            Bounds::POSITIVE,
            engine.redline,
            "each gear is taken up to the redline unless stated",
        ),
        None => section.quantity("shift", EngineSpeed, Bounds::POSITIVE),
    };
    let ratios: Vec<f64> = ratios.into_iter().collect::<Option<_>>()?;
    section.note(
        "gears",
        node,
        ratios.iter().map(f64::to_string).collect::<Vec<_>>().join(", "),
    );
    Some(Gearing::Gears {
        ratios,
        final_drive: final_drive?,
        tyre_radius: tyre_radius?,
        shift_speed: shift?,
        idle: engine?.idle,
    })
}

/// `[drive]`: the plans it states.
pub(crate) fn drive(
    section: &Section,
    car: Option<&Car>,
    car_stated: bool,
    engine: Option<&Engine>,
    root: &Path,
) -> Vec<DrivePlan> {
    let mut plans = Vec::new();
    if section.has("log") {
        plans.extend(logs::read(section, car, root));
    }
    if section.has("course") {
        plans.extend(course(section, car, car_stated, root));
    }
    plans.extend(manoeuvres::read(section, car, engine));
    if !["log", "course", "manoeuvre"].iter().any(|key| section.has(key)) {
        let what = "there is nothing to drive over".to_owned();
        let mend = "name a log or a course, or add a [[drive.manoeuvre]]".to_owned();
        section.fault("missing-key", "log", what, mend);
    }
    plans
}

/// The file that `key` names, inside the project folder.
pub(crate) fn file(section: &Section, key: &'static str, root: &Path) -> Option<NamedFile> {
    let named = section.text(key, "saturday.csv")?;
    let place = section.place_of(key);
    let full = section.key(key);
    match sources::within(root, &place.file, &named, &place, &full) {
        Ok(path) => Some(NamedFile {
            path,
            named: Some((PathBuf::from(root), place, full)),
        }),
        Err(fault) => {
            section.desk.fault(fault);
            None
        }
    }
}

fn course(section: &Section, car: Option<&Car>, car_stated: bool, root: &Path) -> Option<DrivePlan> {
    let file = file(section, "course", root);
    let usual = LapOptions::default();
    let cutoff = section.quantity_or(
        "course_cutoff",
        Frequency,
        Bounds::above_to(0.0, 20.0),
        usual.cutoff.unwrap_or(2.0),
        "common practice, no source: a driver takes about a quarter second from full drive to full braking",
    );
    let smoothing = section.quantity_or(
        "course_smoothing",
        Length,
        Bounds::within(0.0, 100.0),
        usual.smoothing,
        "the course's line as it is",
    );
    let bridge = section.truth_or(
        "course_bridge",
        false,
        "a course that crosses itself is taken as a fault",
    );
    let reversed = section.truth_or("course_reversed", false, "driven in the order of its points");
    if !car_stated {
        let what = "a course needs a car to drive it".to_owned();
        let mend = "add a [car] with lateral, braking, driving, top_speed and gearing".to_owned();
        section.fault("missing-section", "course", what, mend);
    }
    let file = file?;
    Some(DrivePlan::Course {
        options: CourseOptions {
            name: file.name(),
            bridge: bridge?,
            reversed: reversed?,
            ..CourseOptions::default()
        },
        file,
        car: car?.clone(),
        lap: LapOptions {
            cutoff: Some(cutoff?),
            smoothing: smoothing?,
            ..usual
        },
    })
}
