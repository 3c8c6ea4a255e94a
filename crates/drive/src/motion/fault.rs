//! What can be wrong with a stated motion.

use crate::table::TableFault;

/// Why a motion cannot be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MotionFault {
    /// The record is no table.
    #[error("{0}")]
    Table(#[from] TableFault),
    /// No header.
    #[error("the record has no row of column names")]
    NoNames,
    /// A column that nobody asked for or understands.
    #[error("the column \"{column}\" is not known here")]
    UnknownColumn {
        /// As written.
        column: String,
        /// Line of the header.
        line: usize,
        /// What is known.
        known: String,
    },
    /// Two columns of one name.
    #[error("the column \"{column}\" stands twice")]
    Twice {
        /// Name.
        column: &'static str,
        /// Line of the header.
        line: usize,
    },
    /// A column without a unit, or with one of something else.
    #[error("the column \"{column}\" {why}")]
    Unit {
        /// As written.
        column: String,
        /// What is wrong.
        why: String,
        /// How to write it.
        example: &'static str,
        /// Line of the header.
        line: usize,
    },
    /// A column that must be there.
    #[error("the record has no column \"{column}\"")]
    Missing {
        /// How to write it.
        column: &'static str,
        /// Line of the header.
        line: usize,
    },
    /// A cell that holds no number.
    #[error("line {line} holds no number under \"{column}\"")]
    Hole {
        /// Line.
        line: usize,
        /// Column.
        column: &'static str,
    },
    /// Time stands or runs back.
    #[error("time does not rise at line {line}")]
    TimeNotRising {
        /// Line.
        line: usize,
    },
    /// Too few rows.
    #[error("the record has {rows} rows; at least {least} are needed")]
    TooShort {
        /// Rows there are.
        rows: usize,
        /// Rows needed.
        least: usize,
    },
    /// A stated rate is not the rate of the stated value.
    #[error(
        "the column \"{column}\" does not go with the column before it: on average it is off by {:.0} %",
        100.0 * off
    )]
    Disagree {
        /// Column.
        column: &'static str,
        /// Mean square miss over mean square of its own.
        off: f64,
        /// Line of the header.
        line: usize,
    },
    /// Rates worked out from a noisy record.
    #[error(
        "the record is too noisy to work out its acceleration: {:.0} % of it jumps from sample to sample",
        100.0 * share
    )]
    Noisy {
        /// Share of the acceleration.
        share: f64,
    },
    /// The smoothing window holds too few samples.
    #[error("a smoothing of {:.1} ms holds fewer than eight samples on some place of the record", 1e3 * smoothing)]
    Narrow {
        /// Half the window [s].
        smoothing: f64,
    },
    /// The motion jumps.
    #[error(
        "the {what} reaches {value:.3e} {unit} at {time:.3} s; more than {most} {unit} is taken as a jump"
    )]
    Jump {
        /// Rate or acceleration.
        what: &'static str,
        /// Its value.
        value: f64,
        /// Unit.
        unit: &'static str,
        /// When [s].
        time: f64,
        /// The most.
        most: f64,
    },
}

impl MotionFault {
    /// Line of the record, from 1, when one is concerned.
    pub fn line(&self) -> Option<usize> {
        match self {
            MotionFault::Table(fault) => fault.line(),
            MotionFault::UnknownColumn { line, .. }
            | MotionFault::Twice { line, .. }
            | MotionFault::Unit { line, .. }
            | MotionFault::Missing { line, .. }
            | MotionFault::Hole { line, .. }
            | MotionFault::TimeNotRising { line }
            | MotionFault::Disagree { line, .. } => Some(*line),
            _ => None,
        }
    }

    /// How to mend it.
    pub fn mend(&self) -> String {
        match self {
            MotionFault::Table(fault) => fault.mend().to_owned(),
            MotionFault::NoNames => {
                "put one above the numbers, for instance: time [s], angle [deg]".to_owned()
            }
            MotionFault::UnknownColumn { known, .. } => format!("known here: {known}"),
            MotionFault::Twice { .. } => "keep one of them".to_owned(),
            MotionFault::Unit { example, .. } => format!("write it for instance as: {example}"),
            MotionFault::Missing { column, .. } => format!("add it, for instance as: {column}"),
            MotionFault::Hole { .. } => "fill in the number or leave the row out".to_owned(),
            MotionFault::TimeNotRising { .. } => "sort the rows by time and drop repeated ones".to_owned(),
            MotionFault::TooShort { .. } => "check that the export finished".to_owned(),
            MotionFault::Disagree { .. } => {
                "check its unit and sign, or leave the column out and let it be worked out".to_owned()
            }
            MotionFault::Noisy { .. } => {
                "state smoothing, a time shorter than the motion's quickest change and long against the noise"
                    .to_owned()
            }
            MotionFault::Narrow { .. } => "state a longer smoothing or record more often".to_owned(),
            MotionFault::Jump { .. } => {
                "look at the record there: a slip of unit or a lost sample does this; smoothing may help"
                    .to_owned()
            }
        }
    }
}
