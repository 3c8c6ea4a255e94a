//! Quantities with units, and frames: reading and printing them.
//!
//! Inside the house every number is SI (metre, kilogram, second, kelvin, radian; engine speed in
//! revolutions a second) and every docstring says so. Text with units exists only at the edge, and
//! this crate is the one place that turns one into the other.
//!
//! Frames follow ISO 8855: x forward, y left, z up, right-handed. *Car* is fixed to the car body.
//! *Pan* is fixed to the pan: origin on the flange face, z up along the flange normal, x along the
//! crank toward the front of the engine.

pub mod dimension;
pub mod frames;
pub mod nearest;
mod reading;
pub mod rows;
mod showing;
mod units;

pub use dimension::Dimension;
pub use glam::{DMat3, DVec2, DVec3};
pub use nearest::nearest;
pub use reading::{QuantityFault, read};
pub use showing::{UnitOrder, show, show_torque, show_within};

/// Standard acceleration of gravity [m/s²], exact by definition (ISO 80000-3).
pub const STANDARD_GRAVITY: f64 = 9.80665;
