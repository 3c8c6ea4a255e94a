//! Acceleration histories: from logs, courses and manoeuvres. Frames, filters. Knows not what they shake.
//!
//! Whatever the source, the outcome is one [`Drive`]: apparent gravity, turning rate and engine speed against
//! time in the car frame (ISO 8855: x forward, y left, z up), together with sentences that say how it came about.
//! [`Drive::in_frame`] turns it into the pan's frame; [`Drive::at`] reads it at any instant.
//!
//! - [`log`] reads what a data logger wrote, and works out units and signs from the evidence in it;
//! - [`course`] drives a closed line at a car's limits;
//! - [`manoeuvre`] makes single tests: a long corner, a stop, a tilt bench;
//! - [`motion`] moves a tank as stated: recorded or harmonic turns and shifts.
//!
//! ```
//! use sumpwright_drive::manoeuvre::{Manoeuvre, Side, Staging};
//! use sumpwright_drive::Gearing;
//!
//! let corner = Manoeuvre::SustainedCorner { lateral: 9.80665, side: Side::Left, speed: 30.0, hold: 4.0 };
//! let drive = corner.drive(&Staging::usual(Gearing::Constant(100.0))).unwrap();
//! let moment = drive.at(4.0);
//! // Turning left at 1 g sends the oil right at 45 degrees.
//! assert!((moment.gravity.y - moment.gravity.z).abs() < 1e-9 && moment.gravity.y < 0.0);
//! ```

pub mod course;
pub mod filter;
pub mod gearing;
mod joined;
pub mod log;
pub mod manoeuvre;
pub mod motion;
mod sampled;
pub mod table;

pub use gearing::{Gearing, GearingFault};
pub use sampled::{Drive, DriveFault, Lap, Moment};
