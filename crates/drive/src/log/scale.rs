//! Channels to SI. A unit that file and user leave open is taken from the numbers; one that they contradict is a fault.

use super::evidence::{Windows, from_place};
use super::laps;
use super::names::Channel;
use super::notes::{Notes, Topic};
use super::open_units as open;
use super::pick::{Column, Unit};
use super::place;
use super::traces::Clean;
use super::{LogFault, Trouble};
use glam::DVec2;
use std::collections::BTreeMap;

/// A channel in SI, its sign still as logged.
#[derive(Clone)]
pub(super) struct Series {
    pub name: String,
    pub values: Vec<f64>,
    /// Sign stated by the user.
    pub sign: Option<f64>,
    /// Named by the user.
    pub named: bool,
    /// Number of the column, from 1, and line of its header.
    pub at: (usize, usize),
}

/// All channels in SI.
pub(super) struct Scaled {
    pub time: Vec<f64>,
    pub step: f64,
    pub lines: Vec<u32>,
    pub channels: BTreeMap<Channel, Series>,
    pub place: Option<Vec<DVec2>>,
    /// Step at which the place was measured [s].
    pub place_step: f64,
    pub windows: Windows,
    /// The car drives over the same places again and again.
    pub repeats: bool,
    pub notes: Notes,
}

impl Scaled {
    /// Values of a channel, when the log has it.
    pub fn values(&self, channel: Channel) -> Option<&[f64]> {
        self.channels.get(&channel).map(|s| s.values.as_slice())
    }

    /// Where the header of a channel stands: line and column.
    pub fn fault(&self, channel: Channel, trouble: Trouble) -> LogFault {
        match self.channels.get(&channel) {
            Some(series) => trouble.at(series.at.1, Some(series.at.0)),
            None => LogFault::whole(trouble),
        }
    }
}

pub(super) const ACCELERATIONS: [Channel; 3] = [Channel::Longitudinal, Channel::Lateral, Channel::Vertical];
pub(super) const RATES: [Channel; 3] = [Channel::RollRate, Channel::PitchRate, Channel::YawRate];

pub(super) fn scale(clean: Clean) -> Result<Scaled, Vec<LogFault>> {
    let windows = Windows::over(&clean.time, clean.step);
    let mut out = Scaled {
        time: clean.time,
        step: clean.step,
        lines: clean.lines,
        channels: BTreeMap::new(),
        place: None,
        place_step: clean.step,
        windows,
        repeats: false,
        notes: clean.notes,
    };
    let mut rest = clean.columns;
    for channel in [Channel::Distance, Channel::X, Channel::Y, Channel::Lap] {
        if let Some(column) = rest.remove(&channel) {
            out.take(channel, column, metres);
        }
    }
    let globe = rest
        .remove(&Channel::Latitude)
        .zip(rest.remove(&Channel::Longitude));
    out.place = match (out.values(Channel::X), out.values(Channel::Y)) {
        (Some(x), Some(y)) => Some(x.iter().zip(y).map(|(&x, &y)| DVec2::new(x, y)).collect()),
        _ => globe.and_then(|(latitude, longitude)| place::from_globe(latitude, longitude, &mut out.notes)),
    };
    let (step, notes) = (out.step, &mut out.notes);
    if let Some(place) = &mut out.place {
        place::take_leaps_out(&out.time, step, place, notes);
    }
    out.repeats = laps::repeat(
        &out.time,
        out.values(Channel::Lap),
        out.values(Channel::Distance),
        out.place.as_deref(),
    );
    let mut faults = Vec::new();
    out.accelerations(&mut rest, &mut faults);
    if faults.is_empty() {
        out.speed(&mut rest, &mut faults);
        out.turning(&mut rest, &mut faults);
    }
    if let Some(column) = rest.remove(&Channel::EngineSpeed) {
        out.take(Channel::EngineSpeed, column, open::engine);
    }
    for channel in [Channel::OilPressure, Channel::OilTemperature] {
        if let Some(column) = rest.remove(&channel) {
            out.beside(channel, column);
        }
    }
    if faults.is_empty() { Ok(out) } else { Err(faults) }
}

fn metres(_: &Column) -> (Unit, String) {
    (unit("m", 1.0), "as it is not given".into())
}

/// A unit without a zero of its own.
pub(super) fn unit(shown: &str, factor: f64) -> Unit {
    Unit {
        shown: shown.into(),
        factor,
        offset: 0.0,
    }
}

impl Scaled {
    /// Takes a column in, and says its unit; `open` gives unit and reason where the file does not.
    fn take(&mut self, channel: Channel, column: Column, open: impl FnOnce(&Column) -> (Unit, String)) {
        let (unit, said, topic) = match &column.unit {
            Some(unit) => (unit.clone(), format!(", in {}", unit.shown), Topic::Columns),
            None => {
                let (unit, why) = open(&column);
                let said = format!(", read in {}, {why}", unit.shown);
                (unit, said, Topic::Channels)
            }
        };
        let (said, topic) = match channel {
            Channel::Lap => (String::new(), Topic::Columns),
            _ => (said, topic),
        };
        self.notes.say(
            topic,
            format!(
                "{} from column '{}'{said}.",
                capital(channel.words()),
                column.name
            ),
        );
        let mut values = column.values;
        if (unit.factor, unit.offset) != (1.0, 0.0) {
            values
                .iter_mut()
                .for_each(|v| *v = *v * unit.factor + unit.offset);
        }
        self.channels.insert(
            channel,
            Series {
                name: column.name,
                values,
                sign: column.sign,
                named: column.named,
                at: (column.number, column.header),
            },
        );
    }

    fn accelerations(&mut self, rest: &mut BTreeMap<Channel, Column>, faults: &mut Vec<LogFault>) {
        let look = open::Look {
            time: &self.time,
            windows: &self.windows,
            columns: rest,
        };
        let guess = look.open_acceleration();
        let against = look.contradictions();
        for channel in ACCELERATIONS {
            let Some(column) = rest.remove(&channel) else {
                continue;
            };
            let (line, number) = (column.header, Some(column.number));
            match (&column.unit, &guess) {
                (Some(stated), _) => match against.iter().find(|c| c.channel == channel) {
                    Some(c) => {
                        let trouble = Trouble::UnitContradicted {
                            channel,
                            column: column.name,
                            stated: stated.shown.as_str().into(),
                            likely: c.likely,
                            evidence: c.evidence.clone(),
                        };
                        faults.push(trouble.at(line, number));
                    }
                    None => self.take(channel, column, metres),
                },
                (None, Ok((unit, why))) => self.take(channel, column, |_| (unit.clone(), why.clone())),
                (None, Err(evidence)) => {
                    let trouble = Trouble::UnitUnclear {
                        channel,
                        column: column.name,
                        evidence: evidence.clone(),
                    };
                    faults.push(trouble.at(line, number));
                }
            }
        }
    }

    fn speed(&mut self, rest: &mut BTreeMap<Channel, Column>, faults: &mut Vec<LogFault>) {
        let Some(column) = rest.remove(&Channel::Speed) else {
            return;
        };
        if column.unit.is_some() {
            return self.take(Channel::Speed, column, metres);
        }
        let by_place = self.place.as_ref().map(|place| {
            let true_speed = from_place(&self.time, self.place_step, place).0;
            let ratios = true_speed
                .iter()
                .zip(&column.values)
                .filter(|(t, v)| **t > 3.0 && **v > 0.0)
                .map(|(t, v)| t / v);
            super::middle::median(ratios.collect())
        });
        let ratio = by_place
            .filter(|r| *r > 0.0)
            .or_else(|| open::speed_by_feel(self, &column.values));
        let beside = match by_place {
            Some(_) => "place",
            None => "longitudinal acceleration",
        };
        match ratio.and_then(open::near_speed) {
            Some(unit) => {
                let why = format!("as it is not given and fits the {beside} so");
                self.take(Channel::Speed, column, |_| (unit, why));
            }
            None => {
                let evidence = match ratio {
                    Some(r) => format!("one unit of it would be {r:.2} m/s, which is no usual unit"),
                    None => "it goes with neither place nor longitudinal acceleration".into(),
                };
                let trouble = Trouble::UnitUnclear {
                    channel: Channel::Speed,
                    column: column.name,
                    evidence,
                };
                faults.push(trouble.at(column.header, Some(column.number)));
            }
        }
    }

    fn turning(&mut self, rest: &mut BTreeMap<Channel, Column>, faults: &mut Vec<LogFault>) {
        let guess = open::open_rate(self, rest);
        for channel in RATES {
            let Some(column) = rest.remove(&channel) else {
                continue;
            };
            match (&column.unit, &guess) {
                (Some(_), _) => self.take(channel, column, metres),
                (None, Some((unit, why))) => self.take(channel, column, |_| (unit.clone(), why.clone())),
                (None, None) => {
                    let evidence = format!(
                        "it stays under {:.1} and does not go with lateral acceleration over speed",
                        super::middle::high(&column.values)
                    );
                    let trouble = Trouble::UnitUnclear {
                        channel,
                        column: column.name,
                        evidence,
                    };
                    faults.push(trouble.at(column.header, Some(column.number)));
                }
            }
        }
    }

    /// Pressure or temperature: no drive needs them, so an open unit that the numbers do not tell leaves them out, and that is
    /// said.
    fn beside(&mut self, channel: Channel, column: Column) {
        let known = column.unit.is_some();
        let guess = match channel {
            Channel::OilPressure => open::pressure(&column.values),
            _ => open::temperature(&column.values),
        };
        match guess {
            _ if known => self.take(channel, column, metres),
            Ok((unit, why)) => self.take(channel, column, |_| (unit, why)),
            Err(evidence) => self.notes.say(
                Topic::Caution,
                format!(
                    "The unit of column '{}' ({}, column {}) is not given and its numbers do not tell it: {evidence}. It is left out; \
                     state it: {} = {{ column = \"{}\", unit = \"...\" }}, one of {}.",
                    column.name,
                    channel.words(),
                    column.number,
                    channel.key(),
                    column.name,
                    channel.kind().taken()
                ),
            ),
        }
    }
}

fn capital(words: &str) -> String {
    let mut chars = words.chars();
    chars
        .next()
        .map(|c| c.to_uppercase().chain(chars).collect())
        .unwrap_or_default()
}
