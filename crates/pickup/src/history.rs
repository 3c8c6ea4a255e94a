//! What every depth of oil motion returns: the cover history.

use serde::{Deserialize, Serialize};
use thiserror::Error;

mod stretches;

pub use stretches::{BARE_SHARE, Gulp, Stretch};

/// Largest part of the fill that the ledger may miss.
pub const LEDGER_TOLERANCE: f64 = 1e-9;

/// Sums of many cells may fall short by this much [m³ and the like]: round-off, no fault.
const ROUND_OFF: f64 = 1e-12;

/// Where all the oil is at one instant [m³].
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Ledger {
    /// In the pan.
    pub pan: f64,
    /// Held up in the engine (galleries, heads, filter, air).
    pub engine: f64,
    /// Left the engine, not yet home.
    pub in_flight: f64,
}

impl Ledger {
    /// All of it; equals the fill.
    pub fn total(&self) -> f64 {
        self.pan + self.engine + self.in_flight
    }
}

/// Oil over the mouth and where the rest is, against time. All series have the length of `time`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct CoverHistory {
    /// Time on the drive's clock [s].
    pub time: Vec<f64>,
    /// Oil over the mouth along apparent gravity [m]; 0 when the mouth is bare.
    pub cover: Vec<f64>,
    /// Pump demand [m³/s].
    pub demand: Vec<f64>,
    /// Air drawn since the start [m³].
    pub air: Vec<f64>,
    /// Oil drawn since the start [m³].
    pub drawn: Vec<f64>,
    /// Oil in each space of the lattice [m³], one row a time.
    pub spaces: Vec<Vec<f64>>,
    /// Opening angle of each door [rad], one row a time.
    pub doors: Vec<Vec<f64>>,
    /// Oil inside the crank sweep [m³].
    pub at_crank: Vec<f64>,
    /// Where all the oil is.
    pub ledger: Vec<Ledger>,
}

/// One instant of a cover history; the fields are those of [`CoverHistory`].
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// Time [s].
    pub time: f64,
    /// Oil over the mouth [m].
    pub cover: f64,
    /// Pump demand [m³/s].
    pub demand: f64,
    /// Air drawn since the start [m³].
    pub air: f64,
    /// Oil drawn since the start [m³].
    pub drawn: f64,
    /// Oil in each space [m³].
    pub spaces: Vec<f64>,
    /// Opening angle of each door [rad].
    pub doors: Vec<f64>,
    /// Oil inside the crank sweep [m³].
    pub at_crank: f64,
    /// Where all the oil is.
    pub ledger: Ledger,
}

/// Why a history cannot be believed. A fault of the program that computed it, never of the design.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum HistoryFault {
    /// A value is not a finite number, or is below zero where that means nothing.
    #[error("row {row} of the cover history has {what} = {value}")]
    BadNumber {
        /// Row, from 0.
        row: usize,
        /// Which series.
        what: &'static str,
        /// The value.
        value: f64,
    },
    /// A series that can only rise fell.
    #[error("{what} fell from {before} to {after} at row {row} of the cover history")]
    Fell {
        /// Row, from 0.
        row: usize,
        /// Which series.
        what: &'static str,
        /// Value before.
        before: f64,
        /// Value after.
        after: f64,
    },
    /// Rows or series do not have the same length.
    #[error("{what} has {found} entries at row {row} of the cover history, {due} are due")]
    Ragged {
        /// Row, from 0.
        row: usize,
        /// Which series.
        what: &'static str,
        /// Entries found.
        found: usize,
        /// Entries due.
        due: usize,
    },
    /// Oil was lost or made.
    #[error("at {time:.3} s all the oil together is {total} m³ but the fill is {fill} m³")]
    Ledger {
        /// When [s].
        time: f64,
        /// Pan, engine and in flight together [m³].
        total: f64,
        /// The fill [m³].
        fill: f64,
    },
}

impl CoverHistory {
    /// Number of instants.
    pub fn len(&self) -> usize {
        self.time.len()
    }

    /// True when there is no instant.
    pub fn is_empty(&self) -> bool {
        self.time.is_empty()
    }

    /// Adds one instant. Refuses numbers that are none, time that does not rise, totals that fall, and
    /// rows of another width than the first; the history is then as before.
    pub fn push(&mut self, row: Row) -> Result<(), HistoryFault> {
        let at = self.len();
        let last = at
            .checked_sub(1)
            .map(|i| (self.time[i], self.air[i], self.drawn[i]));
        let width = (at > 0).then(|| (self.spaces[0].len(), self.doors[0].len()));
        check_row(at, &row, last, width)?;
        self.time.push(row.time);
        self.cover.push(row.cover);
        self.demand.push(row.demand);
        self.air.push(row.air);
        self.drawn.push(row.drawn);
        self.spaces.push(row.spaces);
        self.doors.push(row.doors);
        self.at_crank.push(row.at_crank);
        self.ledger.push(row.ledger);
        Ok(())
    }

    /// Everything that [`CoverHistory::push`] checks, for a history that was read back.
    pub fn check(&self) -> Result<(), HistoryFault> {
        let due = self.len();
        for (what, found) in [
            ("cover", self.cover.len()),
            ("demand", self.demand.len()),
            ("air", self.air.len()),
            ("drawn", self.drawn.len()),
            ("spaces", self.spaces.len()),
            ("doors", self.doors.len()),
            ("oil at the crank", self.at_crank.len()),
            ("ledger", self.ledger.len()),
        ] {
            if found != due {
                return Err(HistoryFault::Ragged {
                    row: found.min(due),
                    what,
                    found,
                    due,
                });
            }
        }
        for at in 0..due {
            let last = at
                .checked_sub(1)
                .map(|i| (self.time[i], self.air[i], self.drawn[i]));
            check_row(
                at,
                &self.row(at),
                last,
                Some((self.spaces[0].len(), self.doors[0].len())),
            )?;
        }
        Ok(())
    }

    /// Instant `at`.
    ///
    /// # Panics
    /// When there is no such row.
    pub fn row(&self, at: usize) -> Row {
        Row {
            time: self.time[at],
            cover: self.cover[at],
            demand: self.demand[at],
            air: self.air[at],
            drawn: self.drawn[at],
            spaces: self.spaces[at].clone(),
            doors: self.doors[at].clone(),
            at_crank: self.at_crank[at],
            ledger: self.ledger[at],
        }
    }

    /// Checks at every instant that pan, engine and in flight sum to `fill` [m³] within
    /// [`LEDGER_TOLERANCE`] of it. Gives the largest miss [m³].
    pub fn check_ledger(&self, fill: f64) -> Result<f64, HistoryFault> {
        let mut worst = 0.0_f64;
        for (&time, ledger) in self.time.iter().zip(&self.ledger) {
            let total = ledger.total();
            let miss = (total - fill).abs();
            if miss.is_nan() || miss > LEDGER_TOLERANCE * fill {
                return Err(HistoryFault::Ledger { time, total, fill });
            }
            worst = worst.max(miss);
        }
        Ok(worst)
    }
}

fn check_row(
    at: usize,
    row: &Row,
    last: Option<(f64, f64, f64)>,
    width: Option<(usize, usize)>,
) -> Result<(), HistoryFault> {
    if !row.time.is_finite() {
        return Err(HistoryFault::BadNumber {
            row: at,
            what: "time",
            value: row.time,
        });
    }
    let one = [
        ("cover", row.cover),
        ("demand", row.demand),
        ("air", row.air),
        ("drawn", row.drawn),
        ("oil at the crank", row.at_crank),
        ("oil in the pan", row.ledger.pan),
        ("oil in the engine", row.ledger.engine),
        ("oil in flight", row.ledger.in_flight),
    ];
    let many = row.spaces.iter().map(|&v| ("oil in a space", v));
    let doors = row.doors.iter().map(|&v| ("door angle", v));
    for (what, value) in one.into_iter().chain(many).chain(doors) {
        if !(value.is_finite() && value >= -ROUND_OFF) {
            return Err(HistoryFault::BadNumber { row: at, what, value });
        }
    }
    if let Some((time, air, drawn)) = last {
        if row.time <= time {
            return Err(HistoryFault::Fell {
                row: at,
                what: "time",
                before: time,
                after: row.time,
            });
        }
        for (what, before, after) in [("air drawn", air, row.air), ("oil drawn", drawn, row.drawn)] {
            if after < before - ROUND_OFF {
                return Err(HistoryFault::Fell {
                    row: at,
                    what,
                    before,
                    after,
                });
            }
        }
    }
    if let Some((spaces, doors)) = width {
        for (what, found, due) in [
            ("spaces", row.spaces.len(), spaces),
            ("doors", row.doors.len(), doors),
        ] {
            if found != due {
                return Err(HistoryFault::Ragged {
                    row: at,
                    what,
                    found,
                    due,
                });
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests;
