//! Logs: what a data logger wrote, turned into a drive with every assumption said.
//!
//! [`read`] works in steps, one file each: the tables are found (`crate::table`), columns are matched with channels by
//! ordinary words ([`names`], [`units`], `pick`), the clock of each table is proved (`clock`), channels of several rates are
//! put on one clock (`traces`), units that the file leaves open are taken from the numbers (`scale`, `open_units`), the
//! sensor box is set straight (`mounting`), signs are found (`signs`), zeros and gains that drift are settled (`drift`), and
//! what remains is filtered and cut into laps (`assemble`, `laps`).
//!
//! What the log cannot prove is asked for by a fault or, where a usual reading exists, said in a sentence.

mod assemble;
mod clock;
mod conventions;
mod drift;
mod evidence;
mod fault;
mod jump;
mod laps;
mod middle;
mod mounting;
pub mod names;
mod notes;
mod open_units;
mod pick;
mod place;
mod regression;
mod scale;
mod signs;
mod spikes;
mod traces;
pub mod units;
mod vibration;

use crate::table::{self, Layout};
use crate::{Drive, Gearing};
pub use fault::{LogFault, Trouble};
pub use names::Channel;
pub use notes::{Note, Topic};
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
    /// Takes the steady zero of lateral and longitudinal acceleration out (`true`) or leaves it in (`false`). By default it
    /// is taken out where driving and standing agree on it.
    pub remove_offset: Option<bool>,
    /// How the sensor box is turned from the car's axes: roll, pitch and yaw [rad], yaw first, then pitch, then roll about
    /// the axes so reached (ISO 8855). By default it is found.
    pub turned: Option<[f64; 3]>,
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
            remove_offset: None,
            turned: None,
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
    /// What was understood and how, by topic; [`Drive::said`] holds the same sentences.
    pub notes: Vec<Note>,
    /// Channels that are shown beside the drive, on its clock: oil pressure [Pa], oil temperature [K].
    pub beside: Vec<(Channel, Vec<f64>)>,
}

/// A column taken for a channel.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// For which.
    pub channel: Channel,
    /// Its name as written.
    pub column: String,
    /// Its unit where file or user give one; else the numbers tell it, and [`Drive::said`] says so.
    pub unit: Option<String>,
    /// Measured so many times a second.
    pub rate: f64,
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
    let tables = table::read_all(reader, &options.layout, &|head| pick::wanted(head, options))
        .map_err(|fault| vec![LogFault::from(fault)])?;
    let named = tables.iter().flat_map(|t| t.names.iter().flatten());
    let names: Vec<String> = named.map(|name| pick::clipped(name)).collect();
    let picked = pick::pick(tables, options).map_err(first_faults)?;
    let columns = picked.columns.iter().map(|(c, column)| (*c, column));
    let clocks = picked.clocks.values().map(|column| (Channel::Time, column));
    let shown: Vec<(Channel, String, Option<String>)> = (clocks.chain(columns))
        .map(|(c, column)| {
            (
                c,
                column.name.clone(),
                column.unit.as_ref().map(|u| u.shown.clone()),
            )
        })
        .collect();
    let clean = traces::clean(picked, options).map_err(first_faults)?;
    let rates = clean.rates.clone();
    let main = (1.0 / clean.step, clean.time.len());
    let taken: Vec<Taken> = shown
        .into_iter()
        .map(|(channel, column, unit)| {
            let rate = rates.get(&channel);
            Taken {
                channel,
                column,
                unit,
                rate: rate.map_or(main.0, |r| r.rate),
                filled: rate.map_or(main.1, |r| r.filled),
                rows: rate.map_or(main.1, |r| r.rows),
            }
        })
        .collect();
    let passed_over = names
        .into_iter()
        .filter(|name| !taken.iter().any(|t| t.column == *name))
        .collect();
    let assembled = scale::scale(clean)
        .and_then(|scaled| conventions::settle(scaled, options))
        .and_then(|settled| assemble::assemble(settled, options))
        .map_err(first_faults)?;
    let drive = assembled.drive;
    drive
        .check()
        .map_err(|fault| vec![LogFault::whole(Trouble::OutOfBounds(fault))])?;
    Ok(Reading {
        drive,
        taken,
        passed_over,
        notes: assembled.notes,
        beside: assembled.beside,
    })
}

fn first_faults(mut faults: Vec<LogFault>) -> Vec<LogFault> {
    faults.truncate(MOST_FAULTS);
    faults
}
