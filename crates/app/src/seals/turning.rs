//! Readings of torque and angle taken at the bench, bolt by bolt: is one of them a thread giving way?
//!
//! ```text
//! bolt, angle [deg], torque [N.m]     a reading a row, in the order taken; `#` begins a remark
//! ```

use crate::failure::{Complaint, Failure};
use measure::{Dimension, UnitOrder, show, show_torque};
use report::findings::Warning;
use seal::order::{Turn, Turning, turned};
use std::path::Path;

/// What the first row looks like.
const HEAD: &str = "begin with the row `bolt, angle [deg], torque [N.m]`";

/// What the readings tell: a line for every bolt, and a warning for each that gives way.
pub struct Turned {
    /// In the order in which the bolts first appear.
    pub said: Vec<String>,
    /// One for each bolt that no longer climbs.
    pub warnings: Vec<Warning>,
}

/// Reads the table and judges each bolt; `bolts` is how many the design has.
pub fn look(path: &Path, bolts: usize, units: UnitOrder) -> Result<Turned, Failure> {
    let place = path.display().to_string();
    let text = std::fs::read_to_string(path)
        .map_err(|fault| Failure::input(format!("the readings cannot be read: {fault}"), &place, HEAD))?;
    let complaint = |(line, what, mend): (usize, String, String)| Complaint {
        what,
        place: if line > 0 {
            format!("{place}:{line}")
        } else {
            place.clone()
        },
        mend,
    };
    let read = readings(&text, bolts)
        .map_err(|faults| Failure::Input(faults.into_iter().map(complaint).collect()))?;
    let mut found = Turned {
        said: Vec::new(),
        warnings: Vec::new(),
    };
    for (bolt, line, turns) in read {
        let reading = turned(&turns).map_err(|fault| {
            Failure::input(
                format!("bolt {bolt}: {fault}"),
                format!("{place}:{line}"),
                "list its readings in the order taken, angles growing, torque while it turns; three at least",
            )
        })?;
        let angle = |radians: f64| show(radians, Dimension::Angle, units);
        let greatest = show_torque(reading.greatest, units);
        match reading.turning {
            Turning::Climbs => found
                .said
                .push(format!("Bolt {bolt} climbs to its last reading, {greatest}.")),
            Turning::GivesWay | Turning::Gone => {
                let what = if reading.turning == Turning::Gone {
                    format!(
                        "bolt {bolt}'s torque has fallen after {greatest}: its thread, or the bolt, is gone"
                    )
                } else {
                    format!(
                        "bolt {bolt} turned on by {} and its torque stayed near {greatest}: a thread giving way, or the bolt stretching for good",
                        angle(reading.turned_on)
                    )
                };
                found.said.push(format!("Stop: {what}."));
                found.warnings.push(Warning {
                    said: what,
                    mend: "stop; take it out, look at thread and bolt, fit an insert or a new bolt"
                        .to_owned(),
                });
            }
        }
    }
    Ok(found)
}

type Fault = (usize, String, String);

/// Bolt by bolt: its number from 1, the line of its first reading, its readings.
fn readings(text: &str, bolts: usize) -> Result<Vec<(usize, usize, Vec<Turn>)>, Vec<Fault>> {
    let Some(read) = measure::rows::rows(text) else {
        return Err(vec![(0, "the table is empty".to_owned(), HEAD.to_owned())]);
    };
    let columns = ["bolt", "angle", "torque"].map(|name| read.find(&[name]));
    let [Some(bolt), Some(angle), Some(torque)] = columns else {
        let what = format!("the head \"{}\" does not name bolt, angle and torque", read.head);
        return Err(vec![(read.line, what, HEAD.to_owned())]);
    };
    let mut found: Vec<(usize, usize, Vec<Turn>)> = Vec::new();
    let mut faults: Vec<Fault> = Vec::new();
    for (line, cells) in &read.rows {
        let line = *line;
        let cell = |column: usize| cells.get(column).copied().unwrap_or("");
        let number = match cell(bolt).parse::<usize>() {
            Ok(number) if (1..=bolts).contains(&number) => number,
            _ => {
                let what = format!("\"{}\" is no bolt of this design", cell(bolt));
                faults.push((
                    line,
                    what,
                    format!("bolts count from 1 to {bolts}, in the design's order"),
                ));
                continue;
            }
        };
        let quantity = |column: usize, name: &str, due: Dimension| {
            read.quantity(column, cell(column), due)
                .map_err(|fault| (line, format!("{name}: {}", fault.what()), fault.mend()))
        };
        let pair = (
            quantity(angle, "angle", Dimension::Angle),
            quantity(torque, "torque", Dimension::Torque),
        );
        match pair {
            (Ok(angle), Ok(torque)) => {
                let turn = Turn { angle, torque };
                match found.iter_mut().find(|held| held.0 == number) {
                    Some(held) => held.2.push(turn),
                    None => found.push((number, line, vec![turn])),
                }
            }
            (one, other) => faults.extend([one.err(), other.err()].into_iter().flatten()),
        }
    }
    if faults.is_empty() && found.is_empty() {
        faults.push((
            read.line,
            "the table has a head and no rows".to_owned(),
            "add the readings below it".to_owned(),
        ));
    }
    if faults.is_empty() { Ok(found) } else { Err(faults) }
}
