//! Why a log cannot be read.

use super::jump::{MOST, SPAN};
use super::names::Channel;
use crate::table::TableFault;
use crate::{DriveFault, GearingFault};
use measure::STANDARD_GRAVITY;

/// Why a log cannot be read, and where. `Display` says what is wrong, [`LogFault::mend`] how to mend it.
#[derive(Clone, Debug, PartialEq)]
pub struct LogFault {
    /// What is wrong.
    pub trouble: Trouble,
    /// Line, from 1; `None` where it is not of one line, as for a file that is no table.
    pub line: Option<usize>,
    /// Column, from 1; `None` where it is not of one column.
    pub column: Option<usize>,
}

impl std::fmt::Display for LogFault {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        self.trouble.fmt(f)
    }
}

impl std::error::Error for LogFault {}

impl From<TableFault> for LogFault {
    fn from(fault: TableFault) -> LogFault {
        let line = fault.line();
        LogFault {
            trouble: Trouble::Table(fault),
            line,
            column: None,
        }
    }
}

/// What is wrong with a log.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Trouble {
    /// The file is no table.
    #[error(transparent)]
    Table(TableFault),
    /// No header row.
    #[error("no header row was found over the first row of numbers")]
    NoHeader,
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
        stated: Box<str>,
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
    #[error("'{text}' in column '{column}' is no number{}", more(*count))]
    NotANumber {
        /// The column.
        column: String,
        /// What stands there.
        text: String,
        /// Cells of this column that hold words.
        count: usize,
    },
    /// Time stands or runs back.
    #[error("time does not rise: {time} s after {before} s")]
    TimeNotRising {
        /// Time on it [s].
        time: f64,
        /// Time before it [s].
        before: f64,
    },
    /// Time is missing where the rows around it do not tell it.
    #[error("{rows} row(s) have no time, and the stamps around them do not tell it")]
    NoTime {
        /// Rows on end without one.
        rows: usize,
    },
    /// Several recordings in one file.
    #[error("the file holds {} recordings one after the other: {}", sessions.len(), listed(sessions))]
    Sessions {
        /// First line, last line and length [s] of each.
        sessions: Vec<(usize, usize, f64)>,
    },
    /// A sensor box that sits turned, and nothing tells how.
    #[error("the sensor box sits turned: {evidence}; how it lies cannot be told, as {why}")]
    Turned {
        /// What shows it.
        evidence: String,
        /// What is lacking.
        why: String,
    },
    /// A gap too long to be closed.
    #[error("the {} is missing for {seconds:.2} s from here; gaps of up to {allowed:.2} s are closed", channel.words())]
    Gap {
        /// Which channel; time for rows that are missing altogether.
        channel: Channel,
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
    /// A fault of the file as a whole.
    pub(super) fn whole(trouble: Trouble) -> LogFault {
        LogFault {
            trouble,
            line: None,
            column: None,
        }
    }

    /// How to mend it.
    pub fn mend(&self) -> String {
        self.trouble.mend()
    }
}

/// Words for the cells beyond the first.
fn more(count: usize) -> String {
    match count {
        0 | 1 => String::new(),
        n => format!(", nor are {} more in it", n - 1),
    }
}

fn listed(sessions: &[(usize, usize, f64)]) -> String {
    let one = |(from, to, seconds): &(usize, usize, f64)| format!("lines {from} to {to} ({seconds:.0} s)");
    let mut words: Vec<String> = sessions.iter().take(6).map(one).collect();
    if sessions.len() > 6 {
        words.push(format!("and {} more", sessions.len() - 6));
    }
    words.join(", ")
}

impl Trouble {
    /// Says where.
    pub(super) fn at(self, line: usize, column: Option<usize>) -> LogFault {
        LogFault {
            trouble: self,
            line: Some(line),
            column,
        }
    }

    /// How to mend it.
    pub fn mend(&self) -> String {
        match self {
            Trouble::Table(t) => t.mend().into(),
            Trouble::NoHeader => {
                "add a header row with the names of the columns, or name columns by number: column = \"#1\"".into()
            }
            Trouble::Missing { channel, .. } => {
                format!("name the column that holds it under [drive.channels]: {} = {{ column = \"...\" }}", channel.key())
            }
            Trouble::NoColumn { .. } => "write the name as it stands in the header, or use a number: column = \"#3\"".into(),
            Trouble::Duplicate { channel, first, second, .. } => {
                format!("say which one counts: {} = {{ column = \"#{first}\" }} or \"#{second}\"", channel.key())
            }
            Trouble::Shared { .. } => "give each channel its own column".into(),
            Trouble::Unit { channel, .. } | Trouble::UnitUnclear { channel, .. } => {
                format!("state it: {} = {{ column = \"...\", unit = \"...\" }}, one of {}", channel.key(), channel.kind().taken())
            }
            Trouble::UnitContradicted { channel, likely, .. } => {
                format!("state the unit it really has: {} = {{ column = \"...\", unit = \"{likely}\" }}", channel.key())
            }
            Trouble::Sign { .. } => "leave the sign out to have it taken from the evidence".into(),
            Trouble::VerticalUnclear { .. } => "check the unit of this column and that the sensor lies level, or leave the column out of the log".into(),
            Trouble::Exchanged { .. } => "exchange the two columns, or name both to keep them as they are".into(),
            Trouble::NotANumber { .. } => "put a number there, or leave the cell empty if there is none".into(),
            Trouble::TimeNotRising { .. } => "cut the log at this line, or sort and number its rows again".into(),
            Trouble::NoTime { .. } => "fill the time in or take the rows out".into(),
            Trouble::Sessions { sessions } => {
                let longest = sessions.iter().max_by(|a, b| a.2.total_cmp(&b.2)).copied().unwrap_or((1, 1, 0.0));
                format!(
                    "choose one: under [drive.layout] first_line = {} and last_line = {}, or cut the file there",
                    longest.0, longest.1
                )
            }
            Trouble::Turned { .. } => {
                "state how it is turned: under [drive] log_turned = { roll = \"0 deg\", pitch = \"0 deg\", yaw = \"90 deg\" }, \
                 from the car's axes to the box's; or export speed and a yaw rate or a place as well"
                    .into()
            }
            Trouble::Gap { .. } => "cut the log into parts at the gap, or allow a longer gap if the car stood still".into(),
            Trouble::Jump { .. } => "cut the log there if two sessions meet or the car was hit; else check the sensor and its wiring".into(),
            Trouble::TooShort { .. } => "export at least the whole corner, with a few seconds before it".into(),
            Trouble::Uneven { .. } => "export the log at one rate".into(),
            Trouble::OutOfBounds(_) => "look for a runaway value in the log".into(),
            Trouble::NoEngineSpeed => "name its column, or state a constant engine speed, a ratio to road speed, or the gearing".into(),
            Trouble::NoRoadSpeed => "state a constant engine speed, or export speed as well".into(),
            Trouble::Gearing(_) => "correct the number".into(),
            Trouble::OutOfRange { .. } => "choose a value in that range, or leave it out".into(),
        }
    }
}
