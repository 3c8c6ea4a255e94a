//! A logged drive on public roads, for readers of logs: one sample a second, a sensor that sits a little crooked,
//! lateral acceleration written above zero to the right. It does not stand in for a circuit.
//!
//! Source: data set `nds_data`, drive 6, of the R package DrivePlotR (repository hardtme/DrivePlotR, commit
//! f4c44bc7d0cb, M. Hardt, 2024), MIT licence (text beside the data). Left out: position and clock time.

/// The log as it stands in the file, its head included.
pub const LOG: &str = include_str!("../data/road-drive.csv");
