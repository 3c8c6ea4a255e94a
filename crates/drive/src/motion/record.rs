//! A recorded motion: a table whose columns say their names and units.
//!
//! Columns of a turn: `time [s]`, `angle [deg]`, and, when recorded, `rate [deg/s]` and `acceleration [deg/s2]`.
//! Columns of a shift: `time [s]` and `displacement [mm]`, or `acceleration [m/s2]` alone, or both, and
//! `velocity [m/s]`. Any angle, length or acceleration unit of the house will do. Nothing is guessed.

use super::fit;
use super::{Kind, MotionFault, Samples};
use crate::table::{self, Layout};
use measure::Dimension;

/// A column: its word, the factor of its unit found by the reader, and an example for messages.
struct Column {
    word: &'static str,
    example: &'static str,
}

const TIME: Column = Column {
    word: "time",
    example: "time [s]",
};
const TURN: [Column; 3] = [
    Column {
        word: "angle",
        example: "angle [deg]",
    },
    Column {
        word: "rate",
        example: "rate [deg/s]",
    },
    Column {
        word: "acceleration",
        example: "acceleration [deg/s2]",
    },
];
const SHIFT: [Column; 3] = [
    Column {
        word: "displacement",
        example: "displacement [mm]",
    },
    Column {
        word: "velocity",
        example: "velocity [m/s]",
    },
    Column {
        word: "acceleration",
        example: "acceleration [m/s2]",
    },
];

/// A record as it was understood.
pub(crate) struct Record {
    /// The samples.
    pub samples: Samples,
    /// How the rates came about.
    pub said: String,
}

/// Reads a record; `smoothing` [s] is half the window of the local fit, for rates that are not recorded.
///
/// A stated rate and acceleration are used as they stand, after a check that they go with the value: averaged over
/// the record, the stated rate and the slope of the value may differ by [`MOST_OFF`].
pub(crate) fn read(bytes: &[u8], kind: Kind, smoothing: Option<f64>) -> Result<Record, MotionFault> {
    let table = table::read(bytes, &Layout::default())?;
    let names = table.names.as_ref().ok_or(MotionFault::NoNames)?;
    let header = table.header_line.unwrap_or(0);
    let columns = match kind {
        Kind::Turn => &TURN,
        Kind::Shift => &SHIFT,
    };
    let mut found: [Option<Vec<f64>>; 4] = [const { None }; 4];
    for (at, name) in names.iter().enumerate() {
        let unit_row = table.units.get(at).map_or("", String::as_str);
        let (word, unit) = parts(name, unit_row);
        let slot = std::iter::once(&TIME)
            .chain(columns)
            .position(|c| c.word == word)
            .ok_or_else(|| MotionFault::UnknownColumn {
                column: name.clone(),
                line: header,
                known: known(columns),
            })?;
        let column = if slot == 0 { &TIME } else { &columns[slot - 1] };
        if found[slot].is_some() {
            return Err(MotionFault::Twice {
                column: column.word,
                line: header,
            });
        }
        let factor = factor(unit, kind, slot).map_err(|why| MotionFault::Unit {
            column: name.clone(),
            why,
            example: column.example,
            line: header,
        })?;
        let values = &table.columns[at];
        if let Some(row) = values.iter().position(|v| !v.is_finite()) {
            return Err(MotionFault::Hole {
                line: table.lines.at(row),
                column: column.word,
            });
        }
        found[slot] = Some(values.iter().map(|v| v * factor).collect());
    }
    let missing = |column: &Column| MotionFault::Missing {
        column: column.example,
        line: header,
    };
    let [time, value, rate, acceleration] = found;
    let time = time.ok_or_else(|| missing(&TIME))?;
    if let Some(row) = (1..time.len()).find(|&i| time[i] <= time[i - 1]) {
        return Err(MotionFault::TimeNotRising {
            line: table.lines.at(row),
        });
    }
    const LEAST: usize = 4;
    if time.len() < LEAST {
        return Err(MotionFault::TooShort {
            rows: time.len(),
            least: LEAST,
        });
    }
    // A shaken table's own accelerometer is enough: only its acceleration pushes the liquid.
    if let (Kind::Shift, None, None, Some(acceleration)) = (kind, &value, &rate, &acceleration) {
        return Ok(by_acceleration(time, acceleration.clone()));
    }
    let value = value.ok_or_else(|| missing(&columns[0]))?;
    whole(time, value, rate, acceleration, smoothing, columns, header)
}

/// Value from its record, rates from theirs or worked out.
fn whole(
    time: Vec<f64>,
    value: Vec<f64>,
    rate: Option<Vec<f64>>,
    acceleration: Option<Vec<f64>>,
    smoothing: Option<f64>,
    columns: &[Column; 3],
    header: usize,
) -> Result<Record, MotionFault> {
    let through = fit::spline(&time, &value);
    let fitted = match smoothing {
        Some(half) => Some(fit::smooth(&time, &value, half).ok_or(MotionFault::Narrow { smoothing: half })?),
        None => None,
    };
    let worked = fitted.as_ref().unwrap_or(&through);
    if let Some(rate) = &rate {
        agree(rate, &worked.rate, &columns[1], header)?;
    }
    let stated = |which: &Column| format!("the {} as recorded", which.word);
    let (rate, acceleration, said) = match (rate, acceleration) {
        (Some(rate), Some(acceleration)) => {
            let slope = fit::spline(&time, &rate).rate;
            agree(&acceleration, &slope, &columns[2], header)?;
            let said = format!("{} and {}", stated(&columns[1]), stated(&columns[2]));
            (rate, acceleration, said)
        }
        (Some(rate), None) => {
            let slope = match smoothing {
                Some(half) => {
                    fit::smooth(&time, &rate, half)
                        .ok_or(MotionFault::Narrow { smoothing: half })?
                        .rate
                }
                None => fit::spline(&time, &rate).rate,
            };
            quiet(&slope)?;
            let said = format!("{}, its slope as the acceleration", stated(&columns[1]));
            (rate, slope, said)
        }
        (None, acceleration) => {
            if let Some(acceleration) = &acceleration {
                agree(acceleration, &worked.acceleration, &columns[2], header)?;
            } else {
                quiet(&worked.acceleration)?;
            }
            let how = match smoothing {
                Some(half) => format!("a local quartic over {:.0} ms either side", 1e3 * half),
                None => "a cubic spline through the samples".to_owned(),
            };
            let said = match acceleration {
                Some(_) => format!("{}, the rate by {how}", stated(&columns[2])),
                None => format!("rate and acceleration by {how}"),
            };
            let acceleration = acceleration.unwrap_or_else(|| worked.acceleration.clone());
            (worked.rate.clone(), acceleration, said)
        }
    };
    let value = fitted.map_or(value, |f| f.value);
    Ok(Record {
        samples: Samples {
            time,
            value,
            rate,
            acceleration,
        },
        said,
    })
}

/// Velocity and displacement by the trapezoid rule, from rest: they are for people, nothing is computed from them.
fn by_acceleration(time: Vec<f64>, acceleration: Vec<f64>) -> Record {
    let (mut rate, mut value) = (vec![0.0], vec![0.0]);
    for i in 1..time.len() {
        let step = time[i] - time[i - 1];
        rate.push(rate[i - 1] + 0.5 * step * (acceleration[i] + acceleration[i - 1]));
        value.push(value[i - 1] + 0.5 * step * (rate[i] + rate[i - 1]));
    }
    Record {
        samples: Samples {
            time,
            value,
            rate,
            acceleration,
        },
        said: "the acceleration as recorded, from rest".to_owned(),
    }
}

/// Word and unit of "angle [deg]", "angle (deg)", or "angle" over a units row.
fn parts<'a>(name: &'a str, unit_row: &'a str) -> (String, &'a str) {
    let (word, unit) = match name.find(['[', '(']) {
        Some(at) => (
            &name[..at],
            name[at + 1..].trim_end().trim_end_matches([']', ')']),
        ),
        None => (name, unit_row.trim_matches(['[', ']', '(', ')'])),
    };
    (word.trim().to_ascii_lowercase(), unit.trim())
}

/// Factor of a unit to SI: per second for the second column, per second squared for the third.
fn factor(unit: &str, kind: Kind, slot: usize) -> Result<f64, String> {
    if unit.is_empty() {
        return Err("states no unit".to_owned());
    }
    let value = match kind {
        Kind::Turn => Dimension::Angle,
        Kind::Shift => Dimension::Length,
    };
    let one = |unit: &str, due| measure::read(&format!("1 {unit}"), due).map_err(|fault| fault.what());
    let per = |ends: &[&str]| ends.iter().find_map(|end| unit.strip_suffix(end));
    let bad = || format!("is in \"{unit}\", which does not suit it");
    match slot {
        0 => one(unit, Dimension::Time),
        1 => one(unit, value),
        2 => one(per(&["/s"]).ok_or_else(bad)?, value),
        _ => match per(&["/s2", "/s^2", "/s²", "/s/s"]) {
            Some(base) => one(base, value),
            None if kind == Kind::Shift => one(unit, Dimension::Acceleration),
            None => Err(bad()),
        },
    }
    .map_err(|_| bad())
}

fn known(columns: &[Column]) -> String {
    let examples: Vec<&str> = std::iter::once(&TIME).chain(columns).map(|c| c.example).collect();
    examples.join(", ")
}

/// A stated rate may miss the slope of its value by this much of itself (root mean square): records are filtered,
/// but a slip of unit or sign is off by all of it and more.
const MOST_OFF: f64 = 0.3;

fn agree(stated: &[f64], worked: &[f64], column: &Column, line: usize) -> Result<(), MotionFault> {
    let power = |v: &mut dyn Iterator<Item = f64>| v.map(|x| x * x).sum::<f64>();
    // What jumps from sample to sample is noise of the working, not disagreement: means of three are compared.
    let calm = |v: &[f64]| -> Vec<f64> {
        v.windows(3)
            .map(|w| 0.25 * w[0] + 0.5 * w[1] + 0.25 * w[2])
            .collect()
    };
    let (stated, worked) = (calm(stated), calm(worked));
    let own = power(&mut stated.iter().copied()).max(power(&mut worked.iter().copied()));
    let miss = power(&mut stated.iter().zip(&worked).map(|(a, b)| a - b));
    let off = if own > 0.0 { (miss / own).sqrt() } else { 0.0 };
    if off > MOST_OFF {
        return Err(MotionFault::Disagree {
            column: column.word,
            off,
            line,
        });
    }
    Ok(())
}

/// Most of a worked-out acceleration that may jump from sample to sample.
const MOST_NOISE: f64 = 0.05;

fn quiet(acceleration: &[f64]) -> Result<(), MotionFault> {
    let share = fit::noise(acceleration);
    if share > MOST_NOISE {
        return Err(MotionFault::Noisy { share });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const PULSE: f64 = 3.84;

    /// A swing of 4 degrees from rest, every 5 ms, with what `row` writes after time and angle.
    fn swing(names: &str, row: impl Fn(f64) -> String) -> String {
        let mut text = format!("# a made-up swing\n{names}\n");
        for i in 0..400 {
            let t = 0.005 * f64::from(i);
            text += &format!("{t:.3},{:.6}{}\n", 4.0 * (1.0 - (PULSE * t).cos()), row(t));
        }
        text
    }

    #[test]
    fn an_angle_alone_gets_its_rates_in_radians() {
        let text = swing("time [s],angle [deg]", |_| String::new());
        let record = read(text.as_bytes(), Kind::Turn, Some(0.08)).unwrap();
        let at = record.samples.time.iter().position(|t| *t >= 1.0).unwrap();
        let due = (4f64.to_radians() * PULSE * PULSE) * (PULSE * 1.0).cos();
        assert!(
            (record.samples.acceleration[at] / due - 1.0).abs() < 0.01,
            "{} {due}",
            record.samples.acceleration[at]
        );
        assert!(record.said.contains("quartic"), "{}", record.said);
    }

    #[test]
    fn recorded_rates_are_taken_as_they_stand() {
        let rates = |t: f64| {
            format!(
                ",{:.5},{:.4}",
                4.0 * PULSE * (PULSE * t).sin(),
                4.0 * PULSE * PULSE * (PULSE * t).cos()
            )
        };
        let text = swing("time [s],angle [deg],rate [deg/s],acceleration [deg/s2]", rates);
        let record = read(text.as_bytes(), Kind::Turn, None).unwrap();
        let first = 4.0f64.to_radians() * PULSE * PULSE;
        assert!((record.samples.acceleration[0] / first - 1.0).abs() < 1e-5);
        // The same numbers called rad/s are off by far more than filters make.
        let slip = text.replace("rate [deg/s]", "rate [rad/s]");
        let fault = read(slip.as_bytes(), Kind::Turn, None).err().unwrap();
        assert!(
            matches!(fault, MotionFault::Disagree { column: "rate", .. }),
            "{fault}"
        );
        let turned = swing("time [s],angle [deg],rate [deg/s]", |t| {
            format!(",{:.5}", -4.0 * PULSE * (PULSE * t).sin())
        });
        let fault = read(turned.as_bytes(), Kind::Turn, None).err().unwrap();
        assert!(matches!(fault, MotionFault::Disagree { .. }), "{fault}");
    }

    #[test]
    fn a_rough_angle_asks_for_smoothing() {
        let mut text = "time [s],angle [deg]\n".to_owned();
        for i in 0..400 {
            let t = 0.005 * f64::from(i);
            // Steps of a hundredth of a degree, as a coarse logger writes them.
            text += &format!("{t:.3},{:.2}\n", 4.0 * (1.0 - (PULSE * t).cos()));
        }
        let fault = read(text.as_bytes(), Kind::Turn, None).err().unwrap();
        assert!(matches!(fault, MotionFault::Noisy { .. }), "{fault}");
        assert!(read(text.as_bytes(), Kind::Turn, Some(0.15)).is_ok());
    }

    #[test]
    fn slips_of_a_record_are_told_with_their_line() {
        let fault = |text: &str| read(text.as_bytes(), Kind::Turn, None).err().unwrap();
        let rows = "0,0\n1,1\n2,0\n3,1\n4,0\n";
        for (names, line, word) in [
            ("time [s],angle", 1, "no unit"),
            ("time [s],angle [mm]", 1, "does not suit"),
            ("time [s],roll [deg]", 1, "not known"),
            ("time [s],time [s]", 1, "twice"),
            ("time [s],rate [deg/s]", 1, "angle"),
        ] {
            let f = fault(&format!("{names}\n{rows}"));
            assert_eq!(f.line(), Some(line), "{f}");
            assert!(f.to_string().contains(word), "{f}");
        }
        let f = fault("time [s],angle [deg]\n0,0\n1,1\n1,2\n3,1\n4,0\n");
        assert_eq!(
            (f.line(), f.to_string().as_str()),
            (Some(4), "time does not rise at line 4")
        );
        let f = fault("time [s],angle [deg]\n0,0\n1,1\n2,\n3,1\n4,0\n5,0\n");
        assert_eq!(f.line(), Some(4), "{f}");
    }

    #[test]
    fn a_remark_with_a_comma_is_no_header() {
        let text = "# Read from a plot, every 5 ms\ntime [s],angle [deg]\n0,0\n1,1\n2,4\n3,9\n4,16\n";
        let record = read(text.as_bytes(), Kind::Turn, None).unwrap();
        assert_eq!(record.samples.time.len(), 5);
    }

    #[test]
    fn a_shift_may_be_given_by_its_acceleration_alone() {
        let text = "time [s],acceleration [g]\n0,0\n0.1,0.5\n0.2,0.5\n0.3,0\n";
        let record = read(text.as_bytes(), Kind::Shift, None).unwrap();
        assert!((record.samples.acceleration[1] - 0.5 * 9.80665).abs() < 1e-12);
        assert!((record.samples.rate[3] - 0.1 * 9.80665).abs() < 1e-12);
    }
}
