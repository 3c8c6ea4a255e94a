//! Channels to SI. A unit that file and user leave open is taken from the numbers; one that they contradict is a fault.

use super::LogFault;
use super::clean::Clean;
use super::evidence::{Windows, fit, from_place};
use super::names::Channel;
use super::pick::Column;
use glam::DVec2;
use measure::STANDARD_GRAVITY;
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// A channel in SI, its sign still as logged.
pub(super) struct Series {
    pub name: String,
    pub values: Vec<f64>,
    /// Sign stated by the user.
    pub sign: Option<f64>,
    /// Named by the user.
    pub named: bool,
}

/// All channels in SI.
pub(super) struct Scaled {
    pub time: Vec<f64>,
    pub step: f64,
    pub lines: Vec<usize>,
    pub channels: BTreeMap<Channel, Series>,
    pub place: Option<Vec<DVec2>>,
    pub windows: Windows,
    pub said: Vec<String>,
}

impl Scaled {
    /// Values of a channel, when the log has it.
    pub fn values(&self, channel: Channel) -> Option<&[f64]> {
        self.channels.get(&channel).map(|s| s.values.as_slice())
    }
}

const ACCELERATIONS: [Channel; 3] = [Channel::Longitudinal, Channel::Lateral, Channel::Vertical];
const RATES: [Channel; 3] = [Channel::YawRate, Channel::RollRate, Channel::PitchRate];

/// Wide enough for winged cars, narrow enough for m/s² taken as g [g]; common practice, no source.
const MOST_G: f64 = 5.5;

pub(super) fn scale(clean: Clean) -> Result<Scaled, Vec<LogFault>> {
    let Clean { time, step, picked } = clean;
    let windows = Windows::over(&time, step);
    let mut out = Scaled {
        time,
        step,
        lines: picked.lines,
        channels: BTreeMap::new(),
        place: None,
        windows,
        said: picked.said,
    };
    let mut rest = picked.columns;
    for channel in [Channel::Distance, Channel::X, Channel::Y, Channel::Lap] {
        if let Some(column) = rest.remove(&channel) {
            let factor = column.unit.as_ref().map_or(1.0, |u| u.1);
            out.take(channel, column, factor, "m, as it is not given");
        }
    }
    if let (Some(x), Some(y)) = (out.values(Channel::X), out.values(Channel::Y)) {
        out.place = Some(x.iter().zip(y).map(|(&x, &y)| DVec2::new(x, y)).collect());
    }
    let mut faults = Vec::new();
    out.accelerations(&mut rest, &mut faults);
    if faults.is_empty() {
        out.speed(&mut rest, &mut faults);
        out.rates(&mut rest, &mut faults);
    }
    if let Some(column) = rest.remove(&Channel::EngineSpeed) {
        let most = column.values.iter().copied().fold(0.0, f64::max);
        let guess = if most > 300.0 {
            (1.0 / 60.0, "rpm")
        } else if most > 20.0 {
            (1.0, "rev/s")
        } else {
            (1000.0 / 60.0, "thousands of rpm")
        };
        let (factor, word) = column.unit.as_ref().map_or(guess, |u| (u.1, ""));
        out.take(
            Channel::EngineSpeed,
            column,
            factor,
            &format!("{word}, as it is not given and reaches {most:.0}"),
        );
    }
    if faults.is_empty() { Ok(out) } else { Err(faults) }
}

impl Scaled {
    /// Takes a column in, and says its unit; `open` is the reading where the file gives none.
    fn take(&mut self, channel: Channel, column: Column, factor: f64, open: &str) {
        let unit = match (&column.unit, channel) {
            (_, Channel::Lap) => String::new(),
            (Some((unit, _)), _) => format!(", in {unit}"),
            (None, _) => format!(", read in {open}"),
        };
        self.said.push(format!(
            "{} from column '{}'{unit}.",
            capital(channel.words()),
            column.name
        ));
        let values = column.values.iter().map(|v| v * factor).collect();
        self.channels.insert(
            channel,
            Series {
                name: column.name,
                values,
                sign: column.sign,
                named: column.named,
            },
        );
    }

    fn accelerations(&mut self, rest: &mut BTreeMap<Channel, Column>, faults: &mut Vec<LogFault>) {
        let open: Vec<Channel> = ACCELERATIONS
            .into_iter()
            .filter(|c| rest.get(c).is_some_and(|col| col.unit.is_none()))
            .collect();
        let guess = if open.is_empty() {
            None
        } else {
            Some(self.open_acceleration(rest, &open))
        };
        for channel in ACCELERATIONS {
            let Some(column) = rest.remove(&channel) else {
                continue;
            };
            match (&column.unit, &guess) {
                (Some((unit, factor)), _) => {
                    let (unit, factor) = (unit.clone(), *factor);
                    match self.contradiction(channel, &column, factor, rest.get(&Channel::Speed)) {
                        Some((likely, evidence)) => {
                            let column = column.name;
                            faults.push(LogFault::UnitContradicted {
                                channel,
                                column,
                                stated: unit,
                                likely,
                                evidence,
                            });
                        }
                        None => self.take(channel, column, factor, ""),
                    }
                }
                (None, Some(Ok((factor, words)))) => self.take(channel, column, *factor, words),
                (None, Some(Err(evidence))) => {
                    faults.push(LogFault::UnitUnclear {
                        channel,
                        column: column.name,
                        evidence: evidence.clone(),
                    });
                }
                (None, None) => unreachable!("a column without unit is among the open ones"),
            }
        }
    }

    /// Factor for accelerations whose unit is not given, with words for it; `Err` holds what was looked at in vain.
    fn open_acceleration(
        &self,
        rest: &BTreeMap<Channel, Column>,
        open: &[Channel],
    ) -> Result<(f64, String), String> {
        let g = (STANDARD_GRAVITY, "g");
        let metric = (1.0, "m/s2");
        let tell = |u: (f64, &str), why: String| Ok((u.0, format!("{}, as it is not given and {why}", u.1)));
        if open.contains(&Channel::Vertical) {
            let level = super::clean::median(rest[&Channel::Vertical].values.clone());
            match level.abs() {
                l if (0.7..1.3).contains(&l) => {
                    return tell(g, format!("the vertical one stands at {level:.2}"));
                }
                l if (7.0..13.0).contains(&l) => {
                    return tell(metric, format!("the vertical one stands at {level:.2}"));
                }
                _ => {}
            }
        }
        let given = ACCELERATIONS
            .iter()
            .find_map(|c| rest.get(c).and_then(|col| col.unit.clone()));
        if let Some((unit, factor)) = given {
            return Ok((
                factor,
                format!("{unit}, as it is not given and another acceleration is"),
            ));
        }
        if let Some(slope) = rest
            .get(&Channel::Longitudinal)
            .and_then(|c| self.against_speed(c, rest.get(&Channel::Speed)))
        {
            let size = slope.abs();
            if (0.05..0.2).contains(&size) {
                return tell(g, format!("it is {size:.3} of the change of speed in m/s2"));
            }
            if (0.5..2.0).contains(&size) {
                return tell(metric, format!("it is {size:.2} of the change of speed in m/s2"));
            }
        }
        let level = ACCELERATIONS[..2]
            .iter()
            .filter_map(|c| rest.get(c))
            .map(|c| high(&c.values))
            .fold(0.0, f64::max);
        match level {
            l if l > MOST_G * STANDARD_GRAVITY => Err(format!(
                "one value in a hundred lies over {level:.0}, too much for g and m/s2 alike"
            )),
            l if l > 3.5 => tell(metric, format!("one value in a hundred lies over {level:.1}")),
            l if l < 1.7 => tell(g, format!("one value in a hundred lies over {level:.2}")),
            _ => Err(format!(
                "one value in a hundred lies over {level:.1}, which could be hard driving in g or easy driving in m/s2"
            )),
        }
    }

    /// Slope of a longitudinal column, as written, over the change of speed [m/s²], when they go together.
    fn against_speed(&self, column: &Column, speed: Option<&Column>) -> Option<f64> {
        let (speed, factor) = speed.and_then(|s| s.unit.as_ref().map(|u| (&s.values, u.1)))?;
        let change: Vec<f64> = self
            .windows
            .slope(&self.time, speed)
            .iter()
            .map(|v| v * factor)
            .collect();
        let felt = self.windows.mean(&self.time, &column.values);
        fit(&change, &felt)
            .filter(|f| f.correlation.abs() > 0.5 && f.spread > 0.2)
            .map(|f| f.slope)
    }

    /// The unit that a column seems to be in instead of the stated one, and why.
    fn contradiction(
        &self,
        channel: Channel,
        column: &Column,
        factor: f64,
        speed: Option<&Column>,
    ) -> Option<(&'static str, String)> {
        let in_g = factor / STANDARD_GRAVITY;
        if channel == Channel::Vertical {
            let level = super::clean::median(column.values.clone());
            let words = || format!("it stands at {level:.2}, where a sensor at rest reads 1 g or 9.81 m/s2");
            return match (level.abs(), level.abs() * in_g) {
                (raw, g) if g > 5.0 && (7.0..13.0).contains(&raw) => Some(("m/s2", words())),
                (raw, g) if g < 0.2 && (0.93..1.07).contains(&raw) => Some(("g", words())),
                _ => None,
            };
        }
        let level = high(&column.values);
        if level * in_g > MOST_G {
            let likely = if (in_g - 1.0).abs() < 1e-6 { "m/s2" } else { "g" };
            let words = format!(
                "one value in a hundred lies over {:.1} g, and no car with a wet sump reaches {MOST_G} g",
                level * in_g
            );
            return Some((likely, words));
        }
        if channel == Channel::Longitudinal {
            let ratio = self.against_speed(column, speed)?.abs() * factor;
            let words = format!("it is {ratio:.2} times the change of speed, and should be about as large");
            if (5.0..20.0).contains(&ratio) {
                return Some(("m/s2", words));
            }
            if (0.05..0.2).contains(&ratio) {
                return Some(("g", words));
            }
        }
        None
    }

    fn speed(&mut self, rest: &mut BTreeMap<Channel, Column>, faults: &mut Vec<LogFault>) {
        let Some(column) = rest.remove(&Channel::Speed) else {
            return;
        };
        if let Some((_, factor)) = column.unit {
            return self.take(Channel::Speed, column, factor, "");
        }
        let ratio = if let Some(place) = &self.place {
            let true_speed = from_place(&self.time, self.step, place).0;
            let ratios = true_speed
                .iter()
                .zip(&column.values)
                .filter(|(t, v)| **t > 3.0 && **v > 0.0)
                .map(|(t, v)| t / v);
            Some(super::clean::median(ratios.collect())).filter(|r| *r > 0.0)
        } else {
            let change = self.windows.slope(&self.time, &column.values);
            let felt = self
                .values(Channel::Longitudinal)
                .map(|l| self.windows.mean(&self.time, l));
            felt.and_then(|felt| fit(&change, &felt))
                .filter(|f| f.correlation.abs() > 0.5)
                .map(|f| f.slope.abs())
        };
        let near = |r: f64| {
            let units = [(1.0, "m/s"), (1.0 / 3.6, "km/h"), (0.44704, "mph")];
            // The three lie a factor 1.6 apart or more; a quarter either way keeps them distinct.
            units.into_iter().find(|u| (0.8..1.25).contains(&(r / u.0)))
        };
        match ratio.and_then(near) {
            Some((factor, unit)) => {
                let beside = if self.place.is_some() {
                    "place"
                } else {
                    "longitudinal acceleration"
                };
                self.take(
                    Channel::Speed,
                    column,
                    factor,
                    &format!("{unit}, as it is not given and fits the {beside} so"),
                );
            }
            None => {
                let evidence = match ratio {
                    Some(r) => format!("one unit of it would be {r:.2} m/s, which is no usual unit"),
                    None => "it goes with neither place nor longitudinal acceleration".into(),
                };
                faults.push(LogFault::UnitUnclear {
                    channel: Channel::Speed,
                    column: column.name,
                    evidence,
                });
            }
        }
    }

    fn rates(&mut self, rest: &mut BTreeMap<Channel, Column>, faults: &mut Vec<LogFault>) {
        let mut from_yaw = None;
        for channel in RATES {
            let Some(column) = rest.remove(&channel) else {
                continue;
            };
            if let Some((_, factor)) = column.unit {
                self.take(channel, column, factor, "");
                continue;
            }
            match self.open_rate(&column).or_else(|| from_yaw.clone()) {
                Some((factor, words)) => {
                    from_yaw = Some((factor, words.clone()));
                    self.take(channel, column, factor, &words);
                }
                None => {
                    let evidence = format!(
                        "it stays under {:.1} and does not go with lateral acceleration over speed",
                        high(&column.values)
                    );
                    faults.push(LogFault::UnitUnclear {
                        channel,
                        column: column.name,
                        evidence,
                    });
                }
            }
        }
    }

    fn open_rate(&self, column: &Column) -> Option<(f64, String)> {
        let most = high(&column.values);
        if most > 7.0 {
            // 7 rad/s would be more than a turn a second.
            return Some((
                PI / 180.0,
                format!("deg/s, as it is not given and one value in a hundred lies over {most:.0}"),
            ));
        }
        let (speed, lateral) = (self.values(Channel::Speed)?, self.values(Channel::Lateral)?);
        let product: Vec<f64> = speed.iter().zip(&column.values).map(|(v, r)| v * r).collect();
        let f = fit(
            &self.windows.mean(&self.time, &product),
            &self.windows.mean(&self.time, lateral),
        )?;
        if f.correlation.abs() < 0.5 {
            return None;
        }
        let words = |unit| format!("{unit}, as it is not given and fits lateral acceleration so");
        match f.slope.abs() {
            s if (0.5..2.0).contains(&s) => Some((1.0, words("rad/s"))),
            s if (0.5..2.0).contains(&(s * 180.0 / PI)) => Some((PI / 180.0, words("deg/s"))),
            _ => None,
        }
    }
}

/// The size that one value in a hundred exceeds.
fn high(values: &[f64]) -> f64 {
    let mut sizes: Vec<f64> = values.iter().map(|v| v.abs()).collect();
    let at = (sizes.len() * 99 / 100).min(sizes.len() - 1);
    *sizes.select_nth_unstable_by(at, f64::total_cmp).1
}

fn capital(words: &str) -> String {
    let mut chars = words.chars();
    chars
        .next()
        .map(|c| c.to_uppercase().chain(chars).collect())
        .unwrap_or_default()
}
