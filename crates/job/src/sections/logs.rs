//! The log in `[drive]`, `[drive.layout]` and `[drive.channels]`.

use std::collections::BTreeMap;
use std::path::Path;

use drive::log::{Channel, ChannelChoice, LogOptions};
use drive::table::Layout;
use measure::Dimension::{Frequency, Time};

use super::drive::file;
use crate::plan::{Car, DrivePlan};
use crate::section::{Bounds, Need, Section, Shape};
use crate::tree::{Node, Value};

/// The log that the section `[drive]` names.
pub(crate) fn read(section: &Section, car: Option<&Car>, root: &Path) -> Option<DrivePlan> {
    let file = file(section, "log", root);
    let cutoff = section.optional_quantity("log_cutoff", Frequency, Bounds::above_to(0.0, 1000.0));
    let longest_gap = section.optional_quantity("log_longest_gap", Time, Bounds::above_to(0.0, 60.0));
    let remove_offset = section.truth_or(
        "log_remove_offset",
        false,
        "the mean at standstill is said and left in",
    );
    let layout = match section.below("layout") {
        Some(below) => layout(below),
        None => Some(Layout::default()),
    };
    let channels = match section.below("channels") {
        Some(below) => channels(below),
        None => Some(BTreeMap::new()),
    };
    let file = file?;
    Some(DrivePlan::Log {
        options: LogOptions {
            name: file.name(),
            layout: layout?,
            channels: channels?,
            cutoff,
            longest_gap,
            engine: car.map(|car| car.gearing.clone()),
            remove_offset: remove_offset?,
            without_engine: false,
        },
        file,
    })
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
const KEYS: [(Channel, &str); 13] = [
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
