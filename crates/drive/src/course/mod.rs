//! A closed course, and a lap of it at a car's limits.

mod fault;
mod lap;
mod limits;
mod line;

pub use fault::{CourseFault, FEWEST_POINTS, FURTHEST, MOST_POINTS, Spot};
pub use lap::{LapOptions, Profile, lap, profile};
pub use limits::{CarLimits, LapFault};
pub use line::{Course, CourseOptions};
