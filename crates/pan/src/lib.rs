//! The pan: pockets or a closed mesh → cavity, volumes, sections, and the cut-cell lattice that every
//! oil solver works on; plates, doors, mouth, returns and crank sweep.
//!
//! All lengths in metres in the pan frame (origin on the flange face, z up, x toward the engine's front,
//! y to its left). Knows nothing of oil, motion or files.

pub mod cavity;
pub mod checks;
pub mod door_swing;
pub mod faults;
pub mod lattice;
pub mod mesh;
pub mod outline;
pub mod pan;
pub mod panel;
pub mod parts;
pub mod pocket;
pub mod polygon;
mod reach;
pub mod skin;
pub mod stack;
pub mod surface;
pub mod tank;

pub use cavity::{Cavity, CavityFault, LevelFault};
pub use faults::{PanFault, Severity, Trouble};
pub use lattice::{CellChoice, Lattice, LatticeFault, TightPlace};
pub use pan::{HeightRow, Pan};
pub use parts::*;
pub use pocket::PocketFault;
pub use polygon::Region;
pub use surface::Surface;
pub use tank::{Block, Lift, Probe, Tank, Watch};
