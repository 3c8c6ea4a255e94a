//! Plates developed flat: what is cut, where and which way it is bent, what holds it.
//!
//! A [`part::Part`] is flat faces joined by bends; [`flat::develop`] lays it out, [`flat::Flat::fold`] bends it again by
//! the flat pattern's own lines alone. [`plate`] makes the parts of a pan's plates, [`door`] those of its doors; what
//! comes out is a [`Blank`].
//!
//! The plate of a design is the middle of the metal. A flat pattern is drawn in plate coordinates, so a wall is seen from
//! its negative side; a bend *up* comes toward the reader.

pub mod bend;
pub mod blank;
pub mod door;
pub mod fasten;
pub mod fault;
pub mod flat;
pub mod metal;
pub mod part;
pub mod plate;
mod tab;
mod trim;

pub use bend::Bend;
pub use blank::{Blank, FlatBend};
pub use fasten::{Fasten, Rivet};
pub use fault::SheetFault;
pub use metal::Metal;
pub use plate::{Edge, Work};
