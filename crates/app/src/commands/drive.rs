//! `sumpwright drive`: what a log says, before anything is computed on it.

use super::options;
use crate::cli::Log;
use crate::failure::Failure;
use crate::preparation::wrong_input;
use crate::store::atomic;
use crate::terminal;
use drive::log::{Channel, Note, Reading, Taken, Topic};
use job::{Fault, LogRequest};
use measure::{Dimension, STANDARD_GRAVITY, UnitOrder};
use report::drawing::svg;
use report::pictures::Look;
use report::pictures::logged::{Logged, logged};
use serde::Serialize;
use std::process::ExitCode;

/// Runs it.
pub fn run(arguments: &Log) -> Result<ExitCode, Failure> {
    let picture = arguments.picture.as_deref();
    options::ends_in(picture, "--picture", &["svg"])?;
    let request = LogRequest {
        log: arguments.log.clone(),
        design: arguments.design.clone(),
        statements: arguments.with.clone(),
    };
    let reading = job::look_at_log(&request).map_err(|faults| wrong_input(with_the_way(faults)))?;
    let looked = Looked::at(&reading);
    if let Some(path) = picture {
        atomic::write(path, drawn(&reading).as_bytes())?;
        terminal::remark(&format!("picture: {}", path.display()));
    }
    if arguments.json {
        let text = serde_json::to_string_pretty(&looked).expect("plain data");
        terminal::say(&format!("{text}\n"));
    } else {
        terminal::say(&looked.text());
    }
    Ok(ExitCode::SUCCESS)
}

/// Tells how a line of a design is stated here.
fn with_the_way(mut faults: Vec<Fault>) -> Vec<Fault> {
    for fault in &mut faults {
        let line = match &fault.mend {
            m if m.contains("first_line") => "layout.first_line = 403",
            m if m.contains("log_turned") => "log_turned.yaw = \"90 deg\"",
            m if m.contains("[drive") || m.contains("column = ") => "channels.lateral = { column = \"#4\" }",
            _ => continue,
        };
        fault.mend += &format!("; such a line may be typed here, for instance --with '{line}'");
    }
    faults
}

/// What was understood of a log.
#[derive(Serialize)]
struct Looked {
    name: String,
    /// Length [s].
    seconds: f64,
    channels: Vec<ChannelFacts>,
    passed_over: Vec<String>,
    hardest: Vec<Hardest>,
    laps: Vec<LapFacts>,
    /// Pressures and temperatures that are shown and not driven by.
    beside: Vec<BesideFacts>,
    /// How it was read, with the evidence, by topic; what should be checked comes first.
    said: Vec<Note>,
    /// What the log lacks and what goes without it.
    missing: Vec<String>,
}

#[derive(Serialize)]
struct ChannelFacts {
    channel: Channel,
    column: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<String>,
    /// Values a second.
    rate: f64,
    /// Rows without a value.
    empty: usize,
}

/// The largest of one way.
#[derive(Serialize)]
struct Hardest {
    way: &'static str,
    /// Size [m/s²].
    acceleration: f64,
    /// Time from the first row [s].
    at: f64,
}

/// A channel beside the drive, in SI: its least, its middle and its largest value.
#[derive(Serialize)]
struct BesideFacts {
    channel: Channel,
    least: f64,
    middle: f64,
    most: f64,
}

#[derive(Serialize)]
struct LapFacts {
    name: String,
    start: f64,
    end: f64,
}

/// Channels that a log may do without, and what goes without them.
const USEFUL: [(&[Channel], &str); 5] = [
    (
        &[Channel::EngineSpeed],
        "no engine speed: state it in the design ([car]), it sets how much oil is aloft",
    ),
    (
        &[Channel::Speed, Channel::Distance, Channel::X],
        "no speed, distance or place: moments are told by time alone, and fewer signs can be proved",
    ),
    (
        &[Channel::YawRate],
        "no yaw rate: the pan's turning is left out, and the sign of lateral is harder to prove",
    ),
    (
        &[Channel::Vertical],
        "no vertical acceleration: crests, dips and bankings are not seen",
    ),
    (
        &[Channel::Lap, Channel::Distance, Channel::X],
        "no lap number, distance or place: laps cannot be told apart",
    ),
];

impl Looked {
    fn at(reading: &Reading) -> Looked {
        let drive = &reading.drive;
        let seconds = drive.end() - drive.start();
        let facts = |taken: &Taken| ChannelFacts {
            channel: taken.channel,
            column: taken.column.clone(),
            unit: taken.unit.clone(),
            rate: taken.rate,
            empty: taken.rows - taken.filled,
        };
        let has = |channel: &Channel| reading.taken.iter().any(|t| t.channel == *channel);
        let missing = USEFUL.iter().filter(|(any, _)| !any.iter().any(has));
        let laps = drive.laps.iter().map(|lap| LapFacts {
            name: lap.name.clone(),
            start: lap.start,
            end: lap.end,
        });
        Looked {
            name: drive.name.clone(),
            seconds,
            channels: reading.taken.iter().map(facts).collect(),
            passed_over: reading.passed_over.clone(),
            hardest: hardest(drive),
            laps: laps.collect(),
            beside: reading
                .beside
                .iter()
                .map(|(c, values)| beside(*c, values))
                .collect(),
            said: reading.notes.clone(),
            missing: missing.map(|(_, said)| (*said).to_owned()).collect(),
        }
    }

    fn text(&self) -> String {
        let mut text = format!("{}, {:.1} s\n", self.name, self.seconds);
        let of = |topic: Topic| self.said.iter().filter(move |note| note.topic == topic);
        let list = |notes: &mut dyn Iterator<Item = &str>| {
            notes.map(|said| format!("  - {said}\n")).collect::<String>()
        };
        let part = |heading: &str, body: String| match body.is_empty() {
            true => String::new(),
            false => format!("\n  {heading}\n{body}"),
        };
        text += &part(
            Topic::Caution.words(),
            list(&mut of(Topic::Caution).map(|n| n.said.as_str())),
        );
        text += "\n";
        text += &self.channel_table();
        if !self.passed_over.is_empty() {
            text += &format!("  passed over: {}\n", self.passed_over.join(", "));
        }
        let moments: Vec<_> = (self.hardest.iter())
            .map(|h| {
                vec![
                    h.way.to_owned(),
                    format!("{:.2} g", h.acceleration / STANDARD_GRAVITY),
                    format!("at {:.1} s", h.at),
                ]
            })
            .collect();
        text += &part(
            "hardest moments, from the first row on",
            terminal::columns(&moments),
        );
        text += &part("the oil, as logged", terminal::columns(&self.oil_rows()));
        let laps: Vec<_> = (self.laps.iter())
            .map(|lap| {
                let span = format!("{:.1} s to {:.1} s", lap.start, lap.end);
                vec![lap.name.clone(), format!("{:.2} s", lap.end - lap.start), span]
            })
            .collect();
        text += &part("laps", terminal::columns(&laps));
        // What the header says stands in the table.
        let told = [Topic::Caution, Topic::Columns];
        for topic in Topic::ALL.into_iter().filter(|t| !told.contains(t)) {
            text += &part(topic.words(), list(&mut of(topic).map(|n| n.said.as_str())));
        }
        text += &part("missing", list(&mut self.missing.iter().map(String::as_str)));
        text
    }

    fn channel_table(&self) -> String {
        let head = ["channel", "column", "unit", "a second", ""];
        let mut rows = vec![head.map(str::to_owned).to_vec()];
        rows.extend(self.channels.iter().map(|c| {
            let empty = match c.empty {
                0 => String::new(),
                n => format!("{n} rows without"),
            };
            let unit = c.unit.clone().unwrap_or_else(|| "not given".into());
            let rate = match c.rate {
                r if r >= 100.0 => format!("{r:.0}"),
                r => format!("{r:.4}")
                    .trim_end_matches('0')
                    .trim_end_matches('.')
                    .to_owned(),
            };
            vec![c.channel.words().to_owned(), c.column.clone(), unit, rate, empty]
        }));
        terminal::columns(&rows)
    }

    fn oil_rows(&self) -> Vec<Vec<String>> {
        let row = |b: &BesideFacts| {
            let due = match b.channel {
                Channel::OilTemperature => Dimension::Temperature,
                _ => Dimension::Pressure,
            };
            let show = |v: f64| measure::show(v, due, UnitOrder::MetricFirst);
            vec![
                b.channel.words().to_owned(),
                format!("{} to {}", show(b.least), show(b.most)),
                format!("mostly about {}", show(b.middle)),
            ]
        };
        self.beside.iter().map(row).collect()
    }
}

fn beside(channel: Channel, values: &[f64]) -> BesideFacts {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    BesideFacts {
        channel,
        least: sorted[0],
        middle: sorted[sorted.len() / 2],
        most: sorted[sorted.len() - 1],
    }
}

/// The largest level acceleration each way.
fn hardest(drive: &drive::Drive) -> Vec<Hardest> {
    let ways: [(&str, usize, f64); 4] = [
        ("speeding up", 0, 1.0),
        ("braking", 0, -1.0),
        ("turning left", 1, 1.0),
        ("turning right", 1, -1.0),
    ];
    let largest = |(way, axis, sign): (&'static str, usize, f64)| {
        let sizes = drive.gravity.iter().map(|gravity| -sign * gravity[axis]);
        let (i, size) = sizes.enumerate().max_by(|a, b| a.1.total_cmp(&b.1))?;
        (size > 0.0).then(|| Hardest {
            way,
            acceleration: size,
            at: drive.time[i],
        })
    };
    ways.into_iter().filter_map(largest).collect()
}

fn drawn(reading: &Reading) -> String {
    let drive = &reading.drive;
    let axis = |k: usize| -> Vec<f64> { drive.gravity.iter().map(|gravity| -gravity[k]).collect() };
    let speed = drive.speed.iter().any(|v| *v != 0.0);
    let log = Logged {
        name: &drive.name,
        time: &drive.time,
        forward: &axis(0),
        left: &axis(1),
        speed: speed.then_some(drive.speed.as_slice()),
    };
    let drawing =
        logged(&log, &Look::wide(UnitOrder::MetricFirst)).expect("a drive that was read has a length");
    svg::file(&drawing)
}
