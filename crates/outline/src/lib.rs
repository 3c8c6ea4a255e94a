//! Outlines from what a shop has in its hands: drawings, tables typed by hand, scans of a gasket.
//!
//! Bytes go in, a [`Figure`] comes out: closed outlines of straight lines and arcs ([`Closed`]), which of them are
//! holes, their names, and what was understood on the way. Arcs stay arcs from end to end; ellipses, splines and
//! curves become arcs within a stated tolerance. Whatever is wrong with a file is an [`OutlineFault`] with its line
//! and a way to mend it, and no file, however made, takes more than bounded time and memory.
//!
//! Lengths in metres, y up. Knows nothing of pans, of files on disk or of design files.

mod assemble;
mod chords;
mod closed;
pub mod dxf;
mod fault;
mod figure;
mod join;
mod read;
pub mod round;
pub mod scale;
pub mod scan;
pub mod side;
mod smooth;
pub mod standard_holes;
pub mod svg;
pub mod table;
mod tidy;
mod unit;
pub mod write;

pub use closed::Closed;
pub use fault::OutlineFault;
pub use figure::{Figure, Layer, MOST_OUTLINES, ReadOptions, Role, Shape};
pub use read::{Kind, read};
pub use unit::{LengthUnit, UnitOrigin};
