//! `[drive]` of an experiment: gravity, length, and how the tank is moved.

use std::path::Path;

use ::drive::Drive;
use ::drive::motion::{Kind, Motion, MotionFault, Shift, Signal, Turn};
use measure::Dimension::{Acceleration, Angle, Length, Time};
use measure::STANDARD_GRAVITY;

use super::drive::file;
use super::shapes;
use crate::design::ReadFile;
use crate::fault::{Fault, Place};
use crate::section::{Bounds, Section};
use crate::sources::{LOG_LIMIT, Sources};

/// The drive that the section states; records that it names join `files`.
pub(crate) fn drive(
    section: &Section,
    name: &str,
    root: &Path,
    sources: &Sources,
    files: &mut Vec<ReadFile>,
) -> Option<Drive> {
    let gravity = section.quantity_or(
        "gravity",
        Acceleration,
        Bounds::within(0.0, 100.0),
        STANDARD_GRAVITY,
        "standard gravity unless stated",
    );
    let mut motion = Motion::default();
    let (mut sound, mut said, mut shortest) = (true, Vec::new(), None::<f64>);
    for (part_name, part) in section.parts("motion") {
        let read = one(&part, root, sources, files);
        sound &= read.is_some();
        if let Some((moved, words)) = read {
            said.push(format!("{part_name}: {words}."));
            let end = match moved {
                Moved::Turn(turn) if motion.turn.is_none() => {
                    let end = turn.angle.end();
                    motion.turn = Some(turn);
                    end
                }
                Moved::Turn(_) => {
                    let what = "the tank is turned about two axes".to_owned();
                    let mend = "keep one turn; shifts may be as many as you like".to_owned();
                    part.fault("two-turns", "kind", what, mend);
                    sound = false;
                    None
                }
                Moved::Shift(shift) => {
                    let end = shift.displacement.end();
                    motion.shifts.push(shift);
                    end
                }
            };
            shortest = [shortest, end].into_iter().flatten().reduce(f64::min);
        }
        part.finish();
    }
    if !sound {
        section.node("length"); // whether it is needed hangs on the motion
        return None;
    }
    let length = length(section, shortest);
    let (gravity, length) = (gravity?, length?);
    match motion.drive(name, gravity, length) {
        Ok(drive) => Some(Drive { said, ..drive }),
        Err(fault) => {
            section.fault("motion", "motion", fault.to_string(), fault.mend());
            None
        }
    }
}

/// How long the run is: as stated, else as long as the records.
fn length(section: &Section, shortest: Option<f64>) -> Option<f64> {
    let bounds = Bounds::above_to(0.0, 3600.0);
    let Some(end) = shortest else {
        return section.quantity("length", Time, bounds);
    };
    let reason = "as long as the record of the motion";
    let length = section.quantity_or("length", Time, bounds, end, reason)?;
    if length > end + 1e-9 {
        let what = format!(
            "the run is {} long but the record of the motion ends at {}",
            section.show(length, Time),
            section.show(end, Time)
        );
        section.fault("record-ends", "length", what, "state a shorter length".to_owned());
        return None;
    }
    Some(length)
}

enum Moved {
    Turn(Turn),
    Shift(Shift),
}

/// One `[[drive.motion]]`, and how its rates came about.
fn one(part: &Section, root: &Path, sources: &Sources, files: &mut Vec<ReadFile>) -> Option<(Moved, String)> {
    let kind = part.choice("kind", &[("turn", Kind::Turn), ("shift", Kind::Shift)], None);
    let Some(kind) = kind else {
        // The keys are right or wrong only for a kind: judge none of them.
        for key in [
            "through",
            "about",
            "along",
            "record",
            "smoothing",
            "amplitude",
            "period",
            "ramp",
        ] {
            part.node(key);
        }
        return None;
    };
    let (through, way) = match kind {
        Kind::Turn => (part.point3("through"), shapes::direction(part, "about")),
        Kind::Shift => (Some(glam::DVec3::ZERO), shapes::direction(part, "along")),
    };
    let signal = signal(part, kind, root, sources, files);
    let (through, way, (signal, said)) = (through?, way?, signal?);
    let moved = match kind {
        Kind::Turn => Moved::Turn(Turn {
            through,
            axis: way,
            angle: signal,
        }),
        Kind::Shift => Moved::Shift(Shift {
            along: way,
            displacement: signal,
        }),
    };
    Some((moved, said))
}

fn signal(
    part: &Section,
    kind: Kind,
    root: &Path,
    sources: &Sources,
    files: &mut Vec<ReadFile>,
) -> Option<(Signal, String)> {
    let due = match kind {
        Kind::Turn => Angle,
        Kind::Shift => Length,
    };
    if part.one_of(&["record", "amplitude"], "record = \"roll.csv\"")? == "amplitude" {
        let amplitude = part.quantity("amplitude", due, Bounds::ANY);
        let period = part.quantity("period", Time, Bounds::above_to(1e-3, 3600.0));
        let ramp = part.quantity_or(
            "ramp",
            Time,
            Bounds::within(0.0, 3600.0),
            0.0,
            "the swing begins at full speed unless stated",
        );
        let signal = Signal::Harmonic {
            amplitude: amplitude?,
            period: period?,
            ramp: ramp?,
        };
        return Some((signal, "a sine".to_owned()));
    }
    let file = file(part, "record", root);
    let smoothing = part.optional_quantity("smoothing", Time, Bounds::above_to(0.0, 60.0));
    if part.has("smoothing") && smoothing.is_none() {
        return None;
    }
    let file = file?;
    let place = part.place_of("record");
    let key = part.key("record");
    let bytes = match sources.named_by_design(&file.path, root, LOG_LIMIT, &place, &key) {
        Ok(bytes) => bytes,
        Err(fault) => {
            part.desk.fault(fault);
            return None;
        }
    };
    let read = Signal::recorded(&bytes, kind, smoothing);
    files.push(ReadFile {
        path: file.path.clone(),
        bytes,
    });
    match read {
        Ok(read) => Some(read),
        Err(fault) => {
            part.desk.fault(record_fault(&fault, &file.path, place, key));
            None
        }
    }
}

/// A fault inside the record, or at the key that names it when it has no line.
fn record_fault(fault: &MotionFault, path: &Path, place: Place, key: String) -> Fault {
    let (place, key) = match fault.line() {
        Some(line) => (
            Place {
                line,
                ..Place::file(path)
            },
            String::new(),
        ),
        None => (place, key),
    };
    Fault {
        id: "motion-record",
        place,
        key,
        what: fault.to_string(),
        mend: fault.mend(),
    }
}
