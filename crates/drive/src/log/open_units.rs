//! Units that the file leaves open, from the numbers, and stated ones that the numbers contradict.
//!
//! How the sensor box sits is not known yet, so nothing here asks one axis alone: the size of what all axes feel does not
//! depend on how they are turned. At rest they feel 1 g together; while the speed changes, some sum of them is that change.

use super::evidence::{self, Fit, Windows, strongest};
use super::middle::{high, median};
use super::names::Channel;
use super::pick::{Column, Unit};
use super::regression;
use super::scale::{ACCELERATIONS, RATES, Scaled, unit};
use measure::STANDARD_GRAVITY;
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// Wide enough for winged cars, narrow enough for m/s² taken as g [g]; common practice, no source.
const MOST_G: f64 = 5.5;

/// What is looked at to tell units: columns as written.
pub(super) struct Look<'a> {
    pub time: &'a [f64],
    pub windows: &'a Windows,
    pub columns: &'a BTreeMap<Channel, Column>,
}

/// A unit that the numbers contradict.
pub(super) struct Contradiction {
    pub channel: Channel,
    pub likely: &'static str,
    pub evidence: String,
}

impl Look<'_> {
    fn accelerations(&self) -> impl Iterator<Item = (Channel, &Column)> {
        ACCELERATIONS
            .into_iter()
            .filter_map(|c| self.columns.get(&c).map(|column| (c, column)))
    }

    /// Size of the median of all three accelerations in the units they have, open ones as written; `None` when there are
    /// fewer than three.
    fn level(&self, in_g: bool) -> Option<f64> {
        let sizes: Vec<f64> = (self.accelerations())
            .map(|(_, c)| {
                let factor = match (&c.unit, in_g) {
                    (Some(unit), true) => unit.factor / STANDARD_GRAVITY,
                    _ => 1.0,
                };
                median(c.values.clone()) * factor
            })
            .collect();
        (sizes.len() == 3).then(|| sizes.iter().map(|v| v * v).sum::<f64>().sqrt())
    }

    /// Unit of accelerations whose unit is not given, with the reason; `Err` holds what was looked at in vain.
    pub fn open_acceleration(&self) -> Result<(Unit, String), String> {
        let tell = |shown: &str, why: String| {
            let factor = if shown == "g" { STANDARD_GRAVITY } else { 1.0 };
            Ok((unit(shown, factor), format!("as it is not given and {why}")))
        };
        let open: Vec<(Channel, &Column)> = self.accelerations().filter(|(_, c)| c.unit.is_none()).collect();
        if open.is_empty() {
            return Err(String::new());
        }
        if open.len() == 3
            && let Some(level) = self.level(false)
        {
            let words = if median(self.columns[&Channel::Vertical].values.clone()).abs() > 0.95 * level {
                format!("the vertical one stands at {level:.2}")
            } else {
                format!("all three together stand at {level:.2}")
            };
            match level {
                l if (0.7..1.3).contains(&l) => return tell("g", words),
                l if (7.0..13.0).contains(&l) => return tell("m/s2", words),
                _ => {}
            }
        }
        if let Some((_, given)) = self.accelerations().find(|(_, c)| c.unit.is_some()) {
            let unit = given.unit.clone().expect("it was looked for");
            return Ok((unit, "as it is not given and another acceleration is".into()));
        }
        if let Some(size) = self.of_speed(&|_| 1.0) {
            let share = 1.0 / size;
            if (0.05..0.2).contains(&share) {
                return tell("g", format!("it is {share:.3} of the change of speed in m/s2"));
            }
            if (0.5..2.0).contains(&share) {
                return tell("m/s2", format!("it is {share:.2} of the change of speed in m/s2"));
            }
        }
        let level = open
            .iter()
            .filter(|(c, _)| *c != Channel::Vertical)
            .map(|(_, c)| high(&c.values))
            .fold(0.0, f64::max);
        match level {
            l if l > MOST_G * STANDARD_GRAVITY => Err(format!(
                "one value in a hundred lies over {level:.0}, too much for g and m/s2 alike"
            )),
            l if l > 3.5 => tell("m/s2", format!("one value in a hundred lies over {level:.1}")),
            l if l < 1.7 => tell("g", format!("one value in a hundred lies over {level:.2}")),
            _ => Err(format!(
                "one value in a hundred lies over {level:.1}, which could be hard driving in g or easy driving in m/s2"
            )),
        }
    }

    /// Change of speed [m/s²] for one unit of acceleration, whichever way it points: the size of the weights with which the
    /// accelerations, each times its `factor`, make up the change of speed. `None` when they do not.
    fn of_speed(&self, factor: &dyn Fn(&Column) -> f64) -> Option<f64> {
        let speed = self.columns.get(&Channel::Speed)?;
        let metres = speed.unit.as_ref()?.factor;
        let change: Vec<f64> = (self.windows.slope(self.time, &speed.values).iter())
            .map(|v| v * metres)
            .collect();
        let felt: Vec<Vec<f64>> = (self.accelerations())
            .map(|(_, c)| {
                let factor = factor(c);
                self.windows
                    .mean(self.time, &c.values)
                    .iter()
                    .map(|v| v * factor)
                    .collect()
            })
            .collect();
        combined(&felt, &change)
    }

    /// Stated units of accelerations that the numbers contradict.
    pub fn contradictions(&self) -> Vec<Contradiction> {
        let mut found = Vec::new();
        let in_g = |c: &Column| c.unit.as_ref().map(|u| u.factor / STANDARD_GRAVITY);
        let all_stated = self.accelerations().all(|(_, c)| c.unit.is_some());
        let alike = {
            let factors: Vec<f64> = self.accelerations().filter_map(|(_, c)| in_g(c)).collect();
            factors.windows(2).all(|w| (w[0] - w[1]).abs() < 1e-9)
        };
        let level = self.level(false).filter(|_| all_stated && alike);
        let ratio = self
            .of_speed(&|c| c.unit.as_ref().map_or(1.0, |u| u.factor))
            .filter(|_| all_stated)
            .map(|w| 1.0 / w);
        for (channel, column) in self.accelerations() {
            let Some(g) = in_g(column) else { continue };
            if let Some(raw) = level {
                let words = format!(
                    "together with the others it stands at {raw:.2}, where a sensor at rest reads 1 g or 9.81 m/s2"
                );
                if raw * g > 5.0 && (7.0..13.0).contains(&raw) {
                    found.push(Contradiction {
                        channel,
                        likely: "m/s2",
                        evidence: words,
                    });
                    continue;
                }
                if raw * g < 0.2 && (0.93..1.07).contains(&raw) {
                    found.push(Contradiction {
                        channel,
                        likely: "g",
                        evidence: words,
                    });
                    continue;
                }
            }
            let most = high(&column.values) * g;
            if channel != Channel::Vertical && most > MOST_G {
                let evidence = format!(
                    "one value in a hundred lies over {most:.1} g, and no car with a wet sump reaches {MOST_G} g"
                );
                let likely = if (g - 1.0).abs() < 1e-6 { "m/s2" } else { "g" };
                found.push(Contradiction {
                    channel,
                    likely,
                    evidence,
                });
            } else if channel == Channel::Longitudinal
                && let Some(ratio) = ratio
            {
                let evidence =
                    format!("it is {ratio:.2} times the change of speed, and should be about as large");
                if (5.0..20.0).contains(&ratio) {
                    found.push(Contradiction {
                        channel,
                        likely: "m/s2",
                        evidence,
                    });
                } else if (0.05..0.2).contains(&ratio) {
                    found.push(Contradiction {
                        channel,
                        likely: "g",
                        evidence,
                    });
                }
            }
        }
        found
    }
}

/// Size of the weights that make `target` of `parts`; `None` when they make less than a quarter of it.
fn combined(parts: &[Vec<f64>], target: &[f64]) -> Option<f64> {
    let n = target.len();
    let mean = target.iter().sum::<f64>() / n.max(1) as f64;
    let spread = (target.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n.max(1) as f64).sqrt();
    let ones = vec![1.0; n];
    // A column that stands still tells nothing and would stop the fit.
    let moving: Vec<&[f64]> = parts
        .iter()
        .map(Vec::as_slice)
        .filter(|p| p.iter().any(|v| (v - p[0]).abs() > 1e-9))
        .collect();
    let columns: Vec<&[f64]> = moving.iter().copied().chain([ones.as_slice()]).collect();
    let found = regression::fit(&columns, target)?;
    let size = found.weights[..moving.len()]
        .iter()
        .map(|w| w * w)
        .sum::<f64>()
        .sqrt();
    (found.explained > 0.25 && spread > 0.2 && size > 0.0).then_some(size)
}

/// m/s in one unit of a speed, from what the accelerations [m/s²] feel while it changes.
pub(super) fn speed_by_feel(log: &Scaled, speed: &[f64]) -> Option<f64> {
    let change = log.windows.slope(&log.time, speed);
    let felt: Vec<Vec<f64>> = (ACCELERATIONS.iter())
        .filter_map(|c| log.values(*c).map(|v| log.windows.mean(&log.time, v)))
        .collect();
    combined(&felt, &change).map(|w| 1.0 / w)
}

/// The usual unit of speed near a factor.
pub(super) fn near_speed(ratio: f64) -> Option<Unit> {
    let units = [("m/s", 1.0), ("km/h", 1.0 / 3.6), ("mph", 0.44704)];
    // The three lie a factor 1.6 apart or more; a quarter either way keeps them distinct.
    let near = units.into_iter().find(|u| (0.8..1.25).contains(&(ratio / u.1)))?;
    Some(unit(near.0, near.1))
}

/// Unit of turning rates whose unit is not given.
pub(super) fn open_rate(log: &Scaled, rest: &BTreeMap<Channel, Column>) -> Option<(Unit, String)> {
    let open: Vec<&Column> = RATES
        .iter()
        .filter_map(|c| rest.get(c))
        .filter(|c| c.unit.is_none())
        .collect();
    let most = open.iter().map(|c| high(&c.values)).fold(0.0, f64::max);
    let degrees = || unit("deg/s", PI / 180.0);
    if most > 7.0 {
        // 7 rad/s would be more than a turn a second.
        let why = format!("as it is not given and one value in a hundred lies over {most:.0}");
        return Some((degrees(), why));
    }
    if let Some(given) = RATES
        .iter()
        .filter_map(|c| rest.get(c))
        .find_map(|c| c.unit.clone())
    {
        return Some((given, "as it is not given and another turning rate is".into()));
    }
    // The strongest direction of the rates is the yaw rate, and times speed it is what all accelerations together feel.
    let by_place;
    let speed = match (log.values(Channel::Speed), &log.place) {
        (Some(speed), _) => speed,
        (None, Some(place)) => {
            by_place = evidence::from_place(&log.time, log.place_step, place).0;
            by_place.as_slice()
        }
        (None, None) => return None,
    };
    let smooth: Vec<Vec<f64>> = open
        .iter()
        .map(|c| log.windows.mean(&log.time, &c.values))
        .collect();
    let axis = strongest(&smooth);
    let turning: Vec<f64> = (0..speed.len())
        .map(|i| speed[i] * open.iter().zip(&axis).map(|(c, a)| a * c.values[i]).sum::<f64>())
        .collect();
    let turning = log.windows.mean(&log.time, &turning);
    let felt = |c: &Channel| {
        let values = log.windows.mean(&log.time, log.values(*c)?);
        evidence::fit(&turning, &values)
    };
    let fits: Vec<Fit> = ACCELERATIONS.iter().filter_map(felt).collect();
    let goes = fits.iter().map(|f| f.correlation.abs()).fold(0.0, f64::max);
    if goes < 0.4 {
        return None;
    }
    let size = fits.iter().map(|f| f.slope * f.slope).sum::<f64>().sqrt();
    let words = "as it is not given and fits lateral acceleration so".to_owned();
    match size {
        s if (0.5..2.0).contains(&s) => Some((unit("rad/s", 1.0), words)),
        s if (0.5..2.0).contains(&(s * 180.0 / PI)) => Some((degrees(), words)),
        _ => None,
    }
}

/// Unit of an engine speed whose unit is not given.
pub(super) fn engine(column: &Column) -> (Unit, String) {
    let most = column.values.iter().copied().fold(0.0, f64::max);
    let (shown, factor) = if most > 300.0 {
        ("rpm", 1.0 / 60.0)
    } else if most > 20.0 {
        ("rev/s", 1.0)
    } else {
        ("thousands of rpm", 1000.0 / 60.0)
    };
    (
        unit(shown, factor),
        format!("as it is not given and reaches {most:.0}"),
    )
}

/// Unit of an oil pressure whose unit is not given: warm engines at speed hold 2 to 7 bar, 30 to 100 psi, 200 to 700 kPa
/// (common practice, no source), which leaves gaps between the three.
pub(super) fn pressure(values: &[f64]) -> Result<(Unit, String), String> {
    let most = high(values);
    let (shown, factor) = match most {
        m if (0.8..13.0).contains(&m) => ("bar", 1e5),
        m if (22.0..160.0).contains(&m) => ("psi", super::units::PSI),
        m if (180.0..1400.0).contains(&m) => ("kPa", 1e3),
        _ => {
            return Err(format!(
                "one value in a hundred lies over {most:.1}, which is usual in none of bar, psi and kPa"
            ));
        }
    };
    Ok((
        unit(shown, factor),
        format!("as it is not given and one value in a hundred lies over {most:.1}"),
    ))
}

/// Unit of an oil temperature whose unit is not given. Oil over 165 C has burnt and under 165 F is hardly warm.
pub(super) fn temperature(values: &[f64]) -> Result<(Unit, String), String> {
    let most = high(values);
    let (shown, factor) = match most {
        m if (330.0..450.0).contains(&m) => ("K", 1.0),
        m if (165.0..330.0).contains(&m) => ("F", 5.0 / 9.0),
        m if (60.0..140.0).contains(&m) => ("C", 1.0),
        _ => {
            return Err(format!(
                "one value in a hundred lies over {most:.0}, which could be hot oil in C or cool oil in F"
            ));
        }
    };
    let offset = super::units::offset(shown, super::units::Kind::Temperature);
    let why = format!("as it is not given and one value in a hundred lies over {most:.0}");
    Ok((
        Unit {
            offset,
            ..unit(shown, factor)
        },
        why,
    ))
}
