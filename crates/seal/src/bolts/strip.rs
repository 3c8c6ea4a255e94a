//! Threads that shear off.

use std::f64::consts::PI;

use super::Thread;
use super::thread::Limits;

/// Area in shear of a tapped hole's thread along an engagement [m²].
///
/// `π Le d_min (P/2 + tan 30° (d_min − D2_max)) / P`, FED-STD-H28 (from memory). `sizes` says whether basic sizes or the
/// limits of 6g/6H are meant: on limits an M10 has a fifth less.
pub fn tapped_area(thread: &Thread, sizes: &Limits, engagement: f64) -> f64 {
    area(thread, sizes.outer, sizes.outer - sizes.hole_pitch, engagement)
}

/// Area in shear of the bolt's thread along an engagement [m²]:
/// `π Le D1_max (P/2 + tan 30° (d2_min − D1_max)) / P`, FED-STD-H28 (from memory).
pub fn bolt_area(thread: &Thread, sizes: &Limits, engagement: f64) -> f64 {
    area(thread, sizes.hole_core, sizes.pitch - sizes.hole_core, engagement)
}

fn area(thread: &Thread, on: f64, overlap: f64, engagement: f64) -> f64 {
    let half_angle = 1.0 / 3f64.sqrt();
    PI * engagement * on * (0.5 * thread.pitch + half_angle * overlap) / thread.pitch
}

/// Engagement at which a tapped hole bears `force` [m]; `shear` is the shear strength of its metal [Pa].
pub fn engagement_for(thread: &Thread, sizes: &Limits, shear: f64, force: f64) -> f64 {
    force / (shear * tapped_area(thread, sizes, 1.0))
}

/// Share of the tensile strength that a bolt's thread bears in shear: common practice for steel (VDI 2230 gives 0.60 to
/// 0.65; from memory).
pub const BOLT_SHEAR: f64 = 0.6;
