//! Outline files: opened, read, and their faults placed in them.

use outline::scan::{self, ScanOptions, Traced};
use outline::{Figure, Kind, OutlineFault, ReadOptions};

use crate::fault::Fault;
use crate::plan::NamedFile;
use crate::sources::{OUTLINE_LIMIT, Sources};

/// What an outline file holds.
#[derive(Clone, Debug)]
pub enum OutlineLook {
    /// A drawing or a table.
    Drawn(Kind, Figure),
    /// A picture that was traced.
    Traced(Box<Traced>),
}

/// Reads a drawing or a table, or traces a picture, that belongs to no design, to be looked at.
///
/// # Errors
/// The faults of the file, each with its line where it has one.
pub fn look_at_outline(
    file: &NamedFile,
    drawn: &ReadOptions,
    traced: &ScanOptions,
) -> Result<OutlineLook, Vec<Fault>> {
    let bytes = file.bytes(&Sources::Disk, OUTLINE_LIMIT).map_err(|f| vec![f])?;
    let look = match Kind::of(&bytes) {
        Kind::Picture => scan::trace(&bytes, traced).map(|t| OutlineLook::Traced(Box::new(t))),
        _ => outline::read(&bytes, drawn).map(|(kind, figure)| OutlineLook::Drawn(kind, figure)),
    };
    look.map_err(|faults| placed(file, faults))
}

pub(crate) fn placed(file: &NamedFile, faults: Vec<OutlineFault>) -> Vec<Fault> {
    let place = |f: OutlineFault| file.fault(f.id, f.line, f.what, f.mend);
    faults.into_iter().map(place).collect()
}
