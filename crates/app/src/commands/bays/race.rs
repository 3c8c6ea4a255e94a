//! `sumpwright bays --race`: a lap over and over while the engine burns oil.

use crate::cases::Cases;
use crate::cli::Bays;
use crate::failure::Failure;
use crate::place;
use crate::sketch::{self, BLIND, Sketch};
use crate::stop::Stop;
use crate::terminal;
use bays::race::{Race, RaceLap};
use drive::Lap;
use measure::{Dimension, UnitOrder, show};
use pickup::allowance::Allowance;
use serde_json::json;
use std::process::ExitCode;
use std::time::Instant;

/// Longest race and hungriest engine that are taken: [s], [m³/s].
const MOST: (f64, f64) = (48.0 * 3600.0, 5e-3 / 3600.0);
/// A lap that differs from the quickest by more is an in- or out-lap.
const WHOLE: f64 = 1.25;

/// Computes the race and says in which lap, and where on it, the margin goes.
pub fn race(arguments: &Bays, sketch: &Sketch, length: &str) -> Result<ExitCode, Failure> {
    let cases = sketch.cases;
    let design = &cases.prepared.design;
    let read = |text: &str, dimension, option: &str| {
        measure::read(text, dimension).map_err(|f| Failure::input(f.what(), option, f.mend()))
    };
    let seconds = read(length, Dimension::Time, "--race")?;
    let burnt = match arguments.burns.as_deref() {
        Some(text) => read(text, Dimension::Flow, "--burns")?,
        None => 0.0,
    };
    let lap = lap(&cases.driven.car);
    let lap_time = lap.end - lap.start;
    if !(lap_time..=MOST.0).contains(&seconds) {
        let what =
            format!("a race of {length} is shorter than a lap ({lap_time:.1} s) or longer than two days");
        return Err(Failure::input(what, "--race", "state for instance \"2 h\""));
    }
    if !(0.0..=MOST.1).contains(&burnt) {
        let what = format!(
            "an engine that burns {} is out of range",
            arguments.burns.as_deref().unwrap_or_default()
        );
        return Err(Failure::input(
            what,
            "--burns",
            "state for instance \"0.3 L/h\", at most 5 L/h",
        ));
    }
    let circuit = cases.circuit(Allowance::Mid);
    let stop = Stop::listen();
    let begun = Instant::now();
    let asked = Race {
        laps: (seconds / lap_time).round().max(1.0) as usize,
        burnt,
        thin: design.limits.least_cover,
        lasts: design.limits.longest_gulp,
    };
    let inputs = bays::run::Inputs {
        network: sketch.network,
        fluid: cases.prepared.fluid,
        circuit: Some(&circuit),
        drive: &cases.driven.pan,
        fill: design.fill,
        start: lap.start,
        end: lap.end,
    };
    let laps = bays::race::race(inputs, &asked, |_, _| !stop.asked()).map_err(sketch::failure)?;
    let told = Told {
        cases,
        lap: &lap,
        asked: &asked,
        laps: &laps,
        units: design.units,
    };
    if arguments.common.json {
        let text = serde_json::to_string_pretty(&told.json()).expect("plain data");
        terminal::say(&format!("{text}\n"));
    } else {
        terminal::say(&told.text(begun.elapsed().as_secs_f64())?);
    }
    Ok(ExitCode::SUCCESS)
}

/// The lap that is repeated: the quickest whole one of a log or a course; all of a drive that has no laps.
fn lap(drive: &drive::Drive) -> Lap {
    let length = |lap: &Lap| lap.end - lap.start;
    let whole = || Lap {
        name: "the whole drive".into(),
        start: drive.start(),
        end: drive.end(),
    };
    // The first and the last lap of a log may be cut short; an in-lap is slow.
    let inner = match drive.laps.len() {
        0 => return whole(),
        1 | 2 => &drive.laps[..],
        n => &drive.laps[1..n - 1],
    };
    let longest = inner.iter().map(length).fold(0.0, f64::max);
    let whole_laps = inner.iter().filter(|lap| WHOLE * length(lap) >= longest);
    let quickest = whole_laps.min_by(|a, b| length(a).total_cmp(&length(b)));
    quickest.cloned().unwrap_or_else(whole)
}

/// What is said of a race.
struct Told<'a> {
    cases: &'a Cases<'a>,
    lap: &'a Lap,
    asked: &'a Race,
    laps: &'a [RaceLap],
    units: UnitOrder,
}

impl Told<'_> {
    /// The first lap of which something holds, from 1. The first of all starts from rest and counts for nothing when there are
    /// others.
    fn first(&self, is: impl Fn(&RaceLap) -> bool) -> Option<(usize, &RaceLap)> {
        let skipped = usize::from(self.laps.len() > 1);
        let at = self.laps.iter().skip(skipped).position(is)? + skipped;
        Some((at + 1, &self.laps[at]))
    }

    fn thin(&self) -> Option<(usize, &RaceLap)> {
        self.first(|lap| lap.least_cover < self.asked.thin || lap.bare_for > self.asked.lasts)
    }

    fn bare(&self) -> Option<(usize, &RaceLap)> {
        self.first(|lap| lap.bare_for > self.asked.lasts)
    }

    /// Oil left when the lap before this one ended [m³].
    fn left_before(&self, number: usize) -> f64 {
        match number.checked_sub(2) {
            Some(before) => self.laps[before].left,
            None => self.cases.prepared.design.fill,
        }
    }

    /// Height of the level at rest with so much oil, over the flange's face at the mouth [m].
    fn level(&self, volume: f64) -> Option<f64> {
        let (pan, up) = (&self.cases.prepared.design.pan, self.cases.prepared.up);
        let height = pan.height_at_volume(up, volume).ok()?;
        Some((height - up.x * pan.mouth.at.x - up.y * pan.mouth.at.y) / up.z)
    }

    fn text(&self, seconds: f64) -> Result<String, Failure> {
        let design = &self.cases.prepared.design;
        let litres = |v: f64| show(v, Dimension::Volume, self.units);
        let length = |v: f64| show(v, Dimension::Length, self.units);
        let car = &self.cases.driven.car;
        let place = |time: f64| match place::knows_distance(car) && self.cases.driven.file.is_some() {
            true => format!(
                "at {:.0} m",
                car.distance_at(time) - car.distance_at(self.lap.start)
            ),
            false => format!("{:.1} s into it", time - self.lap.start),
        };
        let hours = |laps: usize| clock(laps as f64 * (self.lap.end - self.lap.start));
        let mut text = format!("{}\n", design.name);
        let mut rows = vec![
            (
                "race",
                format!(
                    "{} laps of {:.1} s ({}), {}",
                    self.asked.laps,
                    self.lap.end - self.lap.start,
                    self.lap.name,
                    hours(self.asked.laps)
                ),
            ),
            (
                "oil",
                format!(
                    "{} at the start, {} burnt an hour",
                    litres(design.fill),
                    litres(3600.0 * self.asked.burnt)
                ),
            ),
        ];
        let settled = &self.laps[1.min(self.laps.len() - 1)];
        rows.push((
            "at first",
            format!(
                "least cover {} {}",
                length(settled.least_cover),
                place(settled.at)
            ),
        ));
        if let Some(last) = self.laps.last() {
            rows.push((
                "at the end",
                format!(
                    "lap {}: least cover {} {}, {} left",
                    self.laps.len(),
                    length(last.least_cover),
                    place(last.at),
                    litres(last.left)
                ),
            ));
        }
        rows.push(("computed in", format!("{seconds:.2} s")));
        text += &terminal::table(&rows);
        text += "\n";
        let cut_short = self.laps.len() < self.asked.laps;
        text += &match (self.thin(), self.bare()) {
            (None, _) if cut_short => format!(
                "Stopped after lap {}: the mouth was well covered so far.\n",
                self.laps.len()
            ),
            (None, _) => "The mouth stays well covered to the end.\n".to_owned(),
            (Some((number, lap)), bare) => {
                let mut said = format!(
                    "Cover falls under {} in lap {number} ({} into the race), {}.\n",
                    length(self.asked.thin),
                    hours(number - 1),
                    place(lap.at)
                );
                match bare {
                    Some((number, lap)) => {
                        said += &format!(
                            "The mouth is bare in lap {number} ({} into the race), {}, for {:.2} s of the lap.\n",
                            hours(number - 1),
                            place(lap.bare_at.unwrap_or(lap.at)),
                            lap.bare_for
                        );
                    }
                    None => said += "The mouth does not run bare.\n",
                }
                if self.asked.burnt > 0.0 && number > 2 {
                    let left = self.left_before(number);
                    said += &format!("Refill before lap {number}, with {} left", litres(left));
                    if let Some(level) = self.level(left) {
                        said += &format!(
                            ": with the engine off the level then stands {} {} the flange's face at the mouth",
                            length(level.abs()),
                            if level < 0.0 { "below" } else { "above" }
                        );
                    }
                    said += ". Mark that on the dipstick.\n";
                } else {
                    said += "That is so from the start: it is the fill or the pan, not the oil that burns.\n";
                }
                said
            }
        };
        text += &format!("  {BLIND}\n");
        Ok(text)
    }

    fn json(&self) -> serde_json::Value {
        let laps = self.laps.iter().enumerate().map(|(n, lap)| {
            json!({
                "lap": n + 1, "left": lap.left, "least_cover": lap.least_cover, "at": lap.at, "thin_for": lap.thin_for,
                "bare_for": lap.bare_for, "bare_at": lap.bare_at, "air": lap.air,
            })
        });
        json!({
            "blind": BLIND,
            "lap": { "name": self.lap.name, "start": self.lap.start, "end": self.lap.end },
            "laps_asked": self.asked.laps,
            "burnt": self.asked.burnt,
            "limit": self.asked.thin,
            "first_thin": self.thin().map(|(number, _)| number),
            "first_bare": self.bare().map(|(number, _)| number),
            "refill_at": self.thin().map(|(number, _)| self.left_before(number)),
            "laps": laps.collect::<Vec<_>>(),
        })
    }
}

/// Seconds as hours and minutes.
fn clock(seconds: f64) -> String {
    let minutes = (seconds / 60.0).round() as u64;
    match minutes / 60 {
        0 => format!("{minutes} min"),
        hours => format!("{hours} h {:02} min", minutes % 60),
    }
}
