//! Solids from mesh files: bytes in, a checked closed surface out.
//!
//! STL (binary and text), OBJ and 3MF are told by their bytes ([`format`]). The unit is stated, said by the file or
//! guessed from the size that pans have ([`unit`]). What can be healed within stated limits is healed and told,
//! whatever is larger is refused with its place ([`heal`]). Files may lie: counts, sizes and nesting are never
//! believed before they are checked.
//!
//! Does not know oil, design files or pictures, and opens no files.

mod crossings;
pub mod ears;
mod edges;
pub mod fault;
pub mod format;
mod gaps;
pub mod heal;
pub mod mesh;
mod obj;
mod package;
pub mod part;
mod sense;
mod shells;
mod stl;
mod surface;
mod threemf;
mod tidy;
mod tree;
pub mod unit;
mod wedges;
mod words;
mod xml;

pub use fault::{Fault, Mark, Spot};
pub use format::Format;
pub use heal::{Healed, Healing, Refused};
pub use mesh::Mesh;
pub use surface::{Asked, Source, Surface, read, triangles};
pub use unit::{Unit, UnitFrom};
