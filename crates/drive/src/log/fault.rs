//! Why a log cannot be read.

use super::jump::{MOST, SPAN};
use super::names::Channel;
use crate::table::TableFault;
use crate::{DriveFault, GearingFault};
use measure::STANDARD_GRAVITY;

/// Why a log cannot be read. `Display` says what is wrong; `line` and `mend` say where and how to mend it.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LogFault {
    /// The file is no table.
    #[error(transparent)]
    Table(#[from] TableFault),
    /// No header row.
    #[error("no header row was found over the numbers on line {line}")]
    NoHeader {
        /// First line of numbers.
        line: usize,
    },
    /// A channel that no drive can do without.
    #[error("the log has no {} among its columns: {found}", channel.words())]
    Missing {
        /// Which channel.
        channel: Channel,
        /// Columns there are.
        found: String,
    },
    /// A column named by the user is not there.
    #[error("there is no column '{column}' for the {}; the log has: {found}", channel.words())]
    NoColumn {
        /// Which channel.
        channel: Channel,
        /// Name asked for.
        column: String,
        /// Columns there are.
        found: String,
    },
    /// Two columns of one name.
    #[error("columns {first} and {second} are both named '{column}', wanted for the {}", channel.words())]
    Duplicate {
        /// Which channel.
        channel: Channel,
        /// The name.
        column: String,
        /// Number of the first, from 1.
        first: usize,
        /// Number of the second, from 1.
        second: usize,
        /// Line of the header.
        line: usize,
    },
    /// Two channels from one column.
    #[error("column '{column}' is named for both the {} and the {}", one.words(), other.words())]
    Shared {
        /// One channel.
        one: Channel,
        /// The other.
        other: Channel,
        /// The column.
        column: String,
    },
    /// A unit that is not one of the channel's.
    #[error("the unit '{unit}' of column '{column}' is none of the {}; taken are {}", channel.words(), channel.kind().taken())]
    Unit {
        /// Which channel.
        channel: Channel,
        /// The column.
        column: String,
        /// Its unit as written.
        unit: String,
    },
    /// A sign other than 1 or -1.
    #[error("the sign of the {} is {sign}; it must be 1 or -1", channel.words())]
    Sign {
        /// Which channel.
        channel: Channel,
        /// As stated.
        sign: f64,
    },
    /// A unit that the file does not give and the numbers do not tell.
    #[error("the unit of column '{column}' ({}) is not given and its numbers do not tell it: {evidence}", channel.words())]
    UnitUnclear {
        /// Which channel.
        channel: Channel,
        /// The column.
        column: String,
        /// What was looked at.
        evidence: String,
    },
    /// A unit that the numbers contradict.
    #[error("column '{column}' ({}) cannot be in {stated}: {evidence}", channel.words())]
    UnitContradicted {
        /// Which channel.
        channel: Channel,
        /// The column.
        column: String,
        /// Unit stated.
        stated: String,
        /// Unit it looks like.
        likely: &'static str,
        /// What contradicts it.
        evidence: String,
    },
    /// Vertical acceleration neither with gravity nor without.
    #[error(
        "vertical acceleration, column '{column}', has a mean of {mean:.2} g; with gravity it would be near 1, without near 0"
    )]
    VerticalUnclear {
        /// The column.
        column: String,
        /// Its mean [g].
        mean: f64,
    },
    /// Lateral and longitudinal look exchanged.
    #[error(
        "lateral and longitudinal acceleration look exchanged: the change of speed goes with column '{lateral}' (correlation {with_lateral:.2}), not with '{longitudinal}' ({with_longitudinal:.2})"
    )]
    Exchanged {
        /// Column taken as lateral.
        lateral: String,
        /// Column taken as longitudinal.
        longitudinal: String,
        /// Correlation of the first with the change of speed.
        with_lateral: f64,
        /// Correlation of the second.
        with_longitudinal: f64,
    },
    /// A cell of a needed column that holds words.
    #[error("line {line}: '{text}' in column '{column}' is no number")]
    NotANumber {
        /// Line, from 1.
        line: usize,
        /// The column.
        column: String,
        /// What stands there.
        text: String,
    },
    /// Time stands or runs back.
    #[error("time does not rise on line {line}: {time} s after {before} s")]
    TimeNotRising {
        /// Line, from 1.
        line: usize,
        /// Time on it [s].
        time: f64,
        /// Time before it [s].
        before: f64,
    },
    /// Time is missing.
    #[error("line {line} has no time")]
    NoTime {
        /// Line, from 1.
        line: usize,
    },
    /// A gap too long to be closed.
    #[error("the {} is missing for {seconds:.2} s from line {line}; gaps of up to {allowed:.2} s are closed", channel.words())]
    Gap {
        /// Which channel; time for rows that are missing altogether.
        channel: Channel,
        /// Last line before the gap.
        line: usize,
        /// Its length [s].
        seconds: f64,
        /// Longest that is closed [s].
        allowed: f64,
    },
    /// An acceleration that no car makes.
    #[error(
        "the level acceleration jumps by {:.1} g within {within:.2} s at {time:.2} s; taken are changes of up to {:.1} g in {SPAN} s",
        change / STANDARD_GRAVITY, MOST / STANDARD_GRAVITY
    )]
    Jump {
        /// Line at the end of the jump, from 1.
        line: usize,
        /// Time from the first row [s].
        time: f64,
        /// Change [m/s²].
        change: f64,
        /// Time that it takes at most [s].
        within: f64,
    },
    /// Too few samples.
    #[error("the log has {samples} samples over {seconds:.1} s; at least 8 samples over 2 s are needed")]
    TooShort {
        /// Samples.
        samples: usize,
        /// Time they span [s].
        seconds: f64,
    },
    /// Rows far denser in some parts than in others.
    #[error(
        "the rows are too uneven: at the usual step of {step:.6} s the log would have {samples:.0} rows, and it has {rows}"
    )]
    Uneven {
        /// Median step [s].
        step: f64,
        /// Samples on an even clock.
        samples: f64,
        /// Rows there are.
        rows: usize,
    },
    /// Numbers that make no drive.
    #[error("the numbers of the log are out of all bounds: {0}")]
    OutOfBounds(#[from] DriveFault),
    /// Nothing tells the engine speed.
    #[error("the log has no engine speed")]
    NoEngineSpeed,
    /// Engine speed cannot be had from road speed, as there is none.
    #[error("engine speed is to follow road speed, but the log has no speed, distance or place")]
    NoRoadSpeed,
    /// The gearing stated is wrong.
    #[error(transparent)]
    Gearing(#[from] GearingFault),
    /// An option out of range.
    #[error("{what} is {value}; it must lie between {least} and {most}")]
    OutOfRange {
        /// Which.
        what: &'static str,
        /// Its value, SI.
        value: f64,
        /// Least allowed.
        least: f64,
        /// Most allowed.
        most: f64,
    },
}

impl LogFault {
    /// Line of the log the fault stands on, from 1.
    pub fn line(&self) -> Option<usize> {
        match self {
            LogFault::Table(t) => t.line(),
            LogFault::NoHeader { line }
            | LogFault::Duplicate { line, .. }
            | LogFault::NotANumber { line, .. }
            | LogFault::TimeNotRising { line, .. }
            | LogFault::NoTime { line }
            | LogFault::Gap { line, .. }
            | LogFault::Jump { line, .. } => Some(*line),
            _ => None,
        }
    }

    /// How to mend it.
    pub fn mend(&self) -> String {
        match self {
            LogFault::Table(t) => t.mend().into(),
            LogFault::NoHeader { .. } => {
                "add a header row with the names of the columns, or name columns by number: column = \"#1\"".into()
            }
            LogFault::Missing { channel, .. } => {
                format!("name the column that holds it under [drive.channels]: {} = {{ column = \"...\" }}", channel.key())
            }
            LogFault::NoColumn { .. } => "write the name as it stands in the header, or use a number: column = \"#3\"".into(),
            LogFault::Duplicate { channel, first, second, .. } => {
                format!("say which one counts: {} = {{ column = \"#{first}\" }} or \"#{second}\"", channel.key())
            }
            LogFault::Shared { .. } => "give each channel its own column".into(),
            LogFault::Unit { channel, .. } | LogFault::UnitUnclear { channel, .. } => {
                format!("state it: {} = {{ column = \"...\", unit = \"...\" }}, one of {}", channel.key(), channel.kind().taken())
            }
            LogFault::UnitContradicted { channel, likely, .. } => {
                format!("state the unit it really has: {} = {{ column = \"...\", unit = \"{likely}\" }}", channel.key())
            }
            LogFault::Sign { .. } => "leave the sign out to have it taken from the evidence".into(),
            LogFault::VerticalUnclear { .. } => "check the unit of this column and that the sensor lies level, or leave the column out of the log".into(),
            LogFault::Exchanged { .. } => "exchange the two columns, or name both to keep them as they are".into(),
            LogFault::NotANumber { .. } => "put a number there, or leave the cell empty if there is none".into(),
            LogFault::TimeNotRising { .. } => "cut the log at this line, or sort and number its rows again".into(),
            LogFault::NoTime { .. } => "fill the time in or take the row out".into(),
            LogFault::Gap { .. } => "cut the log into parts at the gap, or allow a longer gap if the car stood still".into(),
            LogFault::Jump { .. } => "cut the log there if two sessions meet or the car was hit; else check the sensor and its wiring".into(),
            LogFault::TooShort { .. } => "export at least the whole corner, with a few seconds before it".into(),
            LogFault::Uneven { .. } => "export the log at one rate".into(),
            LogFault::OutOfBounds(_) => "look for a runaway value in the log".into(),
            LogFault::NoEngineSpeed => "name its column, or state a constant engine speed, a ratio to road speed, or the gearing".into(),
            LogFault::NoRoadSpeed => "state a constant engine speed, or export speed as well".into(),
            LogFault::Gearing(_) => "correct the number".into(),
            LogFault::OutOfRange { .. } => "choose a value in that range, or leave it out".into(),
        }
    }
}
