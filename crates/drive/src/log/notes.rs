//! What is said of a log, by topic.

use serde::{Deserialize, Serialize};

/// What a sentence is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Topic {
    /// Doubts that the driver or the builder should settle.
    Caution,
    /// The table: headers, rows, several tables.
    File,
    /// The clock and the rates.
    Clock,
    /// Columns whose unit the header gives.
    Columns,
    /// Columns whose unit was found, or that were left out.
    Channels,
    /// Which way each channel points, and how the sensor box sits.
    Mounting,
    /// Spikes, offsets, drift, vibration, and what was done about them.
    Cleaning,
    /// Laps and place.
    Laps,
}

impl Topic {
    /// All, in the order in which they are told.
    pub const ALL: [Topic; 8] = [
        Topic::Caution,
        Topic::File,
        Topic::Clock,
        Topic::Columns,
        Topic::Channels,
        Topic::Mounting,
        Topic::Cleaning,
        Topic::Laps,
    ];

    /// Heading for people.
    pub fn words(self) -> &'static str {
        match self {
            Topic::Caution => "please check",
            Topic::File => "the file",
            Topic::Clock => "the clock",
            Topic::Columns => "as the header says",
            Topic::Channels => "columns and units",
            Topic::Mounting => "which way things point",
            Topic::Cleaning => "what was cleaned",
            Topic::Laps => "laps and place",
        }
    }
}

/// One sentence.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Note {
    /// What it is about.
    pub topic: Topic,
    /// The sentence, evidence included.
    pub said: String,
}

/// Sentences as they gather.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Notes(Vec<Note>);

impl Notes {
    pub fn say(&mut self, topic: Topic, said: impl Into<String>) {
        let said = said.into();
        self.0.push(Note { topic, said });
    }

    /// By topic; within one as they came.
    pub fn sorted(mut self) -> Vec<Note> {
        self.0.sort_by_key(|note| note.topic);
        self.0
    }
}
