//! Outline files: opened, read, and their faults placed in them.

use outline::{Figure, Kind, OutlineFault, ReadOptions};

use crate::fault::Fault;
use crate::plan::NamedFile;
use crate::sources::{OUTLINE_LIMIT, Sources};

/// Reads a drawing or a table that belongs to no design, to be looked at.
///
/// # Errors
/// The faults of the file, each with its line where it has one.
pub fn look_at_outline(file: &NamedFile, options: &ReadOptions) -> Result<(Kind, Figure), Vec<Fault>> {
    let bytes = file.bytes(&Sources::Disk, OUTLINE_LIMIT).map_err(|f| vec![f])?;
    outline::read(&bytes, options).map_err(|faults| placed(file, faults))
}

pub(crate) fn placed(file: &NamedFile, faults: Vec<OutlineFault>) -> Vec<Fault> {
    let place = |f: OutlineFault| file.fault(f.id, f.line, f.what, f.mend);
    faults.into_iter().map(place).collect()
}
