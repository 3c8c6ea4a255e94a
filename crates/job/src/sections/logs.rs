//! The log in `[drive]`, `[drive.layout]` and `[drive.channels]`.

use std::collections::BTreeMap;
use std::path::Path;

use drive::log::{Channel, ChannelChoice, LogOptions};
use drive::table::Layout;
use measure::Dimension::{Angle, Frequency, Time};

use super::drive::file;
use crate::plan::{Car, DrivePlan};
use crate::section::{Bounds, Need, Section, Shape};
use crate::tree::{Node, Value};

/// The log that the section `[drive]` names.
pub(crate) fn read(section: &Section, car: Option<&Car>, root: &Path) -> Option<DrivePlan> {
    let file = file(section, "log", root);
    let options = options(section);
    let file = file?;
    Some(DrivePlan::Log {
        options: LogOptions {
            name: file.name(),
            engine: car.map(|car| car.gearing.clone()),
            ..options?
        },
        file,
    })
}

/// What the section states of its log, whichever that is.
pub(crate) fn options(section: &Section) -> Option<LogOptions> {
    let cutoff = section.optional_quantity("log_cutoff", Frequency, Bounds::above_to(0.0, 1000.0));
    let longest_gap = section.optional_quantity("log_longest_gap", Time, Bounds::above_to(0.0, 60.0));
    let remove_offset = match section.has("log_remove_offset") {
        true => section.truth_or("log_remove_offset", false, "").map(Some),
        false => {
            let shown = "where driving and standing agree on it".to_owned();
            section.default(
                "log_remove_offset",
                shown,
                "not stated; what was done is said with the log",
            );
            Some(None)
        }
    };
    let turned = match section.below("log_turned") {
        Some(below) => turned(below).map(Some),
        None => Some(None),
    };
    let layout = match section.below("layout") {
        Some(below) => layout(below),
        None => Some(Layout::default()),
    };
    let channels = match section.below("channels") {
        Some(below) => channels(below),
        None => Some(BTreeMap::new()),
    };
    Some(LogOptions {
        layout: layout?,
        channels: channels?,
        cutoff,
        longest_gap,
        remove_offset: remove_offset?,
        turned: turned?,
        ..LogOptions::default()
    })
}

/// `log_turned`: how the sensor box lies, from the car's axes to its own.
fn turned(section: Section) -> Option<[f64; 3]> {
    let whole = Bounds::within(-std::f64::consts::PI, std::f64::consts::PI);
    let angle = |key| section.quantity_or(key, Angle, whole, 0.0, "not turned about this axis");
    let angles = [angle("roll"), angle("pitch"), angle("yaw")];
    section.finish();
    let [roll, pitch, yaw] = angles;
    Some([roll?, pitch?, yaw?])
}

/// `[drive.layout]`: where the reader should not find it by itself.
fn layout(section: Section) -> Option<Layout> {
    let header_line = section.optional_count("header_line");
    let mark = |key, words: &[(&'static str, char)]| match section.has(key) {
        true => section.choice(key, words, None).map(Some),
        false => Some(None),
    };
    let delimiter = mark(
        "delimiter",
        &[("comma", ','), ("semicolon", ';'), ("tab", '\t'), ("bar", '|')],
    );
    let decimal = mark("decimal", &[("point", '.'), ("comma", ',')]);
    let lines = match (
        section.optional_count("first_line"),
        section.optional_count("last_line"),
    ) {
        (None, None) => None,
        (first, last) => Some((first.unwrap_or(1), last.unwrap_or(usize::MAX))),
    };
    section.finish();
    Some(Layout {
        header_line,
        lines,
        delimiter: delimiter?,
        decimal: decimal?,
    })
}

/// `[drive.channels]`: a column for a channel, by name, or with its unit and sign.
fn channels(section: Section) -> Option<BTreeMap<Channel, ChannelChoice>> {
    let mut whole = true;
    let mut choices = BTreeMap::new();
    for (channel, key) in KEYS {
        section.shaped(key, Shape::Column);
        section.needed(key, Need::May);
        let Some(node) = section.node(key) else { continue };
        match choice(&section, key, node) {
            Some(choice) => {
                choices.insert(channel, choice);
            }
            None => whole = false,
        }
    }
    section.finish();
    whole.then_some(choices)
}

/// Keys of the channels: those of [`Channel::key`].
const KEYS: [(Channel, &str); 17] = [
    (Channel::Time, "time"),
    (Channel::Longitudinal, "longitudinal"),
    (Channel::Lateral, "lateral"),
    (Channel::Vertical, "vertical"),
    (Channel::RollRate, "roll_rate"),
    (Channel::PitchRate, "pitch_rate"),
    (Channel::YawRate, "yaw_rate"),
    (Channel::Speed, "speed"),
    (Channel::EngineSpeed, "engine_speed"),
    (Channel::Distance, "distance"),
    (Channel::Lap, "lap"),
    (Channel::X, "x"),
    (Channel::Y, "y"),
    (Channel::Latitude, "latitude"),
    (Channel::Longitude, "longitude"),
    (Channel::OilPressure, "oil_pressure"),
    (Channel::OilTemperature, "oil_temperature"),
];

fn choice(section: &Section, key: &'static str, node: &Node) -> Option<ChannelChoice> {
    if let Value::Text(_) = node.value {
        return Some(ChannelChoice {
            column: section.text(key, "column")?,
            unit: None,
            sign: None,
        });
    }
    let inside = Section::open(section.desk, node, section.key(key))?;
    let column = inside.text("column", "name of the column, or #3 for the third");
    let unit = inside.optional_text("unit");
    let sign = match inside.has("sign") {
        true => inside.choice("sign", &[("+", 1.0), ("-", -1.0)], None).map(Some),
        false => Some(None),
    };
    inside.finish();
    Some(ChannelChoice {
        column: column?,
        unit,
        sign: sign?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_channel_has_the_key_that_messages_use() {
        assert_eq!(KEYS.map(|(channel, _)| channel), Channel::ALL);
        for (channel, key) in KEYS {
            assert_eq!(channel.key(), key);
        }
    }
}
