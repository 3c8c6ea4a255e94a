//! A closed course, and a lap of it at a car's limits.

mod lap;
mod line;

pub use lap::{CarLimits, LapFault, LapOptions, Profile, lap, profile};
pub use line::{Course, CourseFault, CourseOptions, Spot};
