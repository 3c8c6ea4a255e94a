//! Jumps: accelerations that no car makes, as where two sessions were pasted together or a sensor was knocked loose.

use glam::DVec3;
use measure::STANDARD_GRAVITY;

/// Span over which a change is looked at [s].
pub(super) const SPAN: f64 = 0.1;
/// Largest change of the level acceleration within [`SPAN`] [m/s²]. Tyres take some 0.1 s to build their force and give
/// up to 1.5 g; from full braking into full cornering takes longer. Common practice, no source.
pub(super) const MOST: f64 = 2.0 * STANDARD_GRAVITY;

/// The largest change of the level part within [`SPAN`] that is over the limit: index of the sample at its end, and
/// the change [m/s²]. Between samples further apart than the span the limit grows with their distance.
pub(super) fn largest(time: &[f64], gravity: &[DVec3]) -> Option<(usize, f64)> {
    let mut worst: Option<(usize, f64)> = None;
    for end in 1..time.len() {
        for start in (0..end).rev() {
            let span = time[end] - time[start];
            if span > SPAN && start + 1 < end {
                break;
            }
            let change = (gravity[end] - gravity[start]).truncate().length();
            if change > MOST * (span / SPAN).max(1.0) && worst.is_none_or(|(_, most)| change > most) {
                worst = Some((end, change));
            }
        }
    }
    worst
}
