//! The pan: pockets or a closed mesh → cavity, volumes, sections, and the cut-cell lattice that every
//! oil solver works on; plates, doors, mouth, returns and crank sweep.
//!
//! All lengths in metres in the pan frame (origin on the flange face, z up, x toward the engine's front,
//! y to its left). Knows nothing of oil, motion or files.

pub mod lattice;
pub mod parts;

pub use lattice::Lattice;
pub use parts::*;
