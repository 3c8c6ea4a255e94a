//! Acceleration histories: from logs, courses and manoeuvres. Frames, filters. Knows not what they shake.
//!
//! Whatever the source, the outcome is one [`Drive`]: apparent gravity, turning rate and engine speed against
//! time in the car frame (ISO 8855: x forward, y left, z up), together with sentences that say how it came about.
//! [`Drive::in_frame`] turns it into the pan's frame; [`Drive::at`] reads it at any instant.
//!
//! - [`log`] reads what a data logger wrote, and works out units and signs from the evidence in it;
//! - [`course`] drives a closed line at a car's limits;
//! - [`manoeuvre`] makes single tests: a long corner, a stop, a tilt bench.

pub mod course;
pub mod filter;
pub mod gearing;
pub mod log;
pub mod manoeuvre;
mod sampled;
pub mod table;

pub use gearing::{Gearing, GearingFault};
pub use sampled::{Drive, DriveFault, Lap, Moment};
