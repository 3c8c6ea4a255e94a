//! Logs: what a data logger wrote, turned into a drive with every assumption said.
//!
//! [`read`] works in five steps, one file each: the table is found (`crate::table`), columns are matched with
//! channels by ordinary words ([`names`], [`units`], `pick`), the clock is proved and gaps are closed (`clean`),
//! units and then signs that the file leaves open are taken from the evidence in it (`scale`, `conventions`,
//! `signs`), and the channels are put on one clock, filtered, and cut into laps (`assemble`, `laps`).
//!
//! What the log cannot prove is asked for by a fault or, where a usual reading exists, said in a sentence.

mod assemble;
mod clean;
mod conventions;
mod evidence;
mod fault;
mod jump;
mod laps;
pub mod names;
mod pick;
mod scale;
mod signs;
mod spikes;
pub mod units;

use crate::table::{self, Layout};
use crate::{Drive, Gearing};
pub use fault::LogFault;
pub use names::Channel;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::io::Read;

/// What the user states about a log; anything left out is found or asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct LogOptions {
    /// Name for people.
    pub name: String,
    /// Header line, delimiter, decimal sign.
    pub layout: Layout,
    /// Channels named by the user.
    pub channels: BTreeMap<Channel, ChannelChoice>,
    /// Cut-off of the low-pass for accelerations and turning rates [Hz]; by default 5 Hz, never above 0.4 of the
    /// sample rate, and no low-pass at all on logs under 5 Hz.
    pub cutoff: Option<f64>,
    /// Longest gap closed by a straight line [s]; by default half a second or three samples, whichever is longer.
    pub longest_gap: Option<f64>,
    /// Engine speed where the log has none.
    pub engine: Option<Gearing>,
    /// Takes the mean at standstill (or on the straights) out of lateral and longitudinal acceleration, for a
    /// sensor known to sit crooked. By default the mean is said and left in.
    pub remove_offset: bool,
    /// Reads on when nothing tells the engine speed, which is then zero and said: for looking at a log, never for
    /// a computation.
    pub without_engine: bool,
}

impl Default for LogOptions {
    fn default() -> LogOptions {
        LogOptions {
            name: "log".into(),
            layout: Layout::default(),
            channels: BTreeMap::new(),
            cutoff: None,
            longest_gap: None,
            engine: None,
            remove_offset: false,
            without_engine: false,
        }
    }
}

/// A channel as the user names it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ChannelChoice {
    /// Name of the column as in the header, or `#3` for the third column.
    pub column: String,
    /// Its unit, where the file is silent or wrong.
    pub unit: Option<String>,
    /// `1.0` or `-1.0`: turns the channel so that it is above zero forward, left and up. `None` leaves the sign to
    /// the evidence.
    pub sign: Option<f64>,
}

/// Most faults listed at once.
const MOST_FAULTS: usize = 20;

/// A log as read: the drive, and what became of each column.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The drive in the car frame.
    pub drive: Drive,
    /// Columns that were taken, in the order of [`Channel::ALL`].
    pub taken: Vec<Taken>,
    /// Names of the columns that were passed over.
    pub passed_over: Vec<String>,
}

/// A column taken for a channel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Taken {
    /// For which.
    pub channel: Channel,
    /// Its name as written.
    pub column: String,
    /// Its unit where file or user give one; else the numbers tell it, and [`Drive::said`] says so.
    pub unit: Option<String>,
    /// Rows with a value in it.
    pub filled: usize,
    /// All rows.
    pub rows: usize,
}

/// Reads a log into a drive in the car frame.
///
/// # Errors
/// All faults that could be found in one go, each with its line where it has one.
pub fn read(bytes: &[u8], options: &LogOptions) -> Result<Drive, Vec<LogFault>> {
    read_with_columns(bytes, options).map(|reading| reading.drive)
}

/// Reads a log as [`read`] does, and tells what became of each column.
///
/// # Errors
/// Those of [`read`].
pub fn read_with_columns(bytes: &[u8], options: &LogOptions) -> Result<Reading, Vec<LogFault>> {
    let mut reader = bytes;
    read_from(&mut reader, options)
}

/// Reads a log as [`read_with_columns`] does, from a reader, in one pass.
///
/// # Errors
/// Those of [`read`].
pub fn read_from(reader: &mut dyn Read, options: &LogOptions) -> Result<Reading, Vec<LogFault>> {
    let tables = table::read_all(reader, &options.layout, &|head| vec![true; head.columns])
        .map_err(|t| vec![LogFault::Table(t)])?;
    let table = tables
        .into_iter()
        .next()
        .expect("a reading without tables was refused");
    let picked = pick::pick(&table, options).map_err(first_faults)?;
    let taken: Vec<Taken> = picked
        .columns
        .iter()
        .map(|(&channel, column)| Taken {
            channel,
            column: column.name.clone(),
            unit: column.unit.as_ref().map(|(unit, _)| unit.clone()),
            filled: column.values.iter().filter(|v| !v.is_nan()).count(),
            rows: column.values.len(),
        })
        .collect();
    let passed_over = (table.names.iter().flatten())
        .filter(|name| !taken.iter().any(|t| t.column == **name))
        .cloned()
        .collect();
    let result = clean::clean(picked, options)
        .and_then(scale::scale)
        .and_then(|scaled| conventions::settle(scaled, options))
        .and_then(|settled| assemble::assemble(settled, options));
    let mut drive = result.map_err(first_faults)?;
    drive.check().map_err(|f| vec![LogFault::OutOfBounds(f)])?;
    drive.said.splice(0..0, table.said);
    Ok(Reading {
        drive,
        taken,
        passed_over,
    })
}

fn first_faults(mut faults: Vec<LogFault>) -> Vec<LogFault> {
    faults.truncate(MOST_FAULTS);
    faults
}
