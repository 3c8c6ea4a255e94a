//! How far the two faces are out of flat, along the rail.

use super::JointFault;
use super::rail::Mesh;
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// Heights measured nearer to each other than this along the rail are one [m].
const ONE_STATION: f64 = 0.5e-3;

/// The distance that both faces would keep if they were laid together without force: any plane may be added to it,
/// since the flange is free to settle. Straight along the rail between measured places; one value across the rail.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Gap {
    /// Where it was measured (x, y) and the distance there (z), all in metres; none: both faces are flat.
    pub measured: Vec<DVec3>,
}

impl Gap {
    /// Both faces flat.
    pub fn flat() -> Gap {
        Gap::default()
    }

    /// From measured places: x, y and the distance between the faces there [m].
    ///
    /// For heights of the flange's face toward the block taken as positive the distance is the block's height less
    /// the flange's; a flange measured on a surface plate, face up, shows its low places as gaps: minus its heights.
    pub fn measured(measured: Vec<DVec3>) -> Gap {
        Gap { measured }
    }
}

/// A gap by length along the rail.
#[derive(Clone, Debug)]
pub(crate) struct Along {
    /// Length and gap, in order; empty when flat.
    places: Vec<[f64; 2]>,
    length: f64,
    closed: bool,
}

impl Along {
    /// Fault: a height that is off the rail by more than the rail is wide.
    pub(crate) fn new(gap: &Gap, mesh: &Mesh) -> Result<Along, JointFault> {
        let mut places = Vec::with_capacity(gap.measured.len());
        let (mut spots, mut heights) = (Vec::new(), Vec::new());
        for (point, &at) in gap.measured.iter().enumerate() {
            if !at.is_finite() {
                return Err(JointFault::NotFinite {
                    what: "a measured height",
                });
            }
            let place = at.truncate();
            let (beam, share, off) = mesh.nearest(place);
            let beam = &mesh.beams[beam];
            if off > beam.width {
                return Err(JointFault::HeightOffFlange { point, place, off });
            }
            places.push([beam.along + share * beam.length, 0.0]);
            spots.push(place);
            heights.push(at.z);
        }
        // Without its plane: a tilted rail would otherwise be twisted against its own one gap across the width.
        if !spots.is_empty() {
            for (place, off) in places.iter_mut().zip(off_plane(&spots, &heights)) {
                place[1] = off;
            }
        }
        places.sort_by(|a, b| a[0].total_cmp(&b[0]));
        // Heights taken side by side across the rail count as their mean.
        let mut merged: Vec<([f64; 2], f64)> = Vec::new();
        for place in places {
            match merged.last_mut() {
                Some((mean, count)) if place[0] - mean[0] < ONE_STATION => {
                    *count += 1.0;
                    mean[0] += (place[0] - mean[0]) / *count;
                    mean[1] += (place[1] - mean[1]) / *count;
                }
                _ => merged.push((place, 1.0)),
            }
        }
        Ok(Along {
            places: merged.into_iter().map(|(mean, _)| mean).collect(),
            length: mesh.length,
            closed: mesh.closed,
        })
    }

    /// Gap at a length along the rail [m].
    pub(crate) fn at(&self, along: f64) -> f64 {
        let Some(last) = self.places.len().checked_sub(1) else {
            return 0.0;
        };
        let next = self.places.partition_point(|place| place[0] <= along);
        let ends = |before: [f64; 2], after: [f64; 2]| {
            let whole = after[0] - before[0];
            if whole <= 0.0 {
                return before[1];
            }
            before[1] + (after[1] - before[1]) * ((along - before[0]) / whole).clamp(0.0, 1.0)
        };
        if next > 0 && next <= last {
            return ends(self.places[next - 1], self.places[next]);
        }
        if !self.closed {
            return self.places[if next == 0 { 0 } else { last }][1];
        }
        // Over the join of a ring.
        let (mut before, mut after) = (self.places[last], self.places[0]);
        if next == 0 {
            before[0] -= self.length;
        } else {
            after[0] += self.length;
        }
        ends(before, after)
    }
}

/// Heights less their plane of least squares (a line along x only, or a level, when the places span no more).
pub(crate) fn off_plane(places: &[DVec2], heights: &[f64]) -> Vec<f64> {
    let count = places.len() as f64;
    let middle = places.iter().sum::<DVec2>() / count;
    let mean = heights.iter().sum::<f64>() / count;
    let (mut xx, mut xy, mut yy, mut xz, mut yz) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (place, height) in places.iter().zip(heights) {
        let (x, y, z) = (place.x - middle.x, place.y - middle.y, height - mean);
        xx += x * x;
        xy += x * y;
        yy += y * y;
        xz += x * z;
        yz += y * z;
    }
    let area = xx * yy - xy * xy;
    let slope = if area > 1e-9 * (xx + yy).powi(2) {
        DVec2::new(xz * yy - yz * xy, yz * xx - xz * xy) / area
    } else {
        // All on one line: the slope along it.
        let way = DVec2::new(xx, xy) + DVec2::new(xy, yy);
        let along = way.normalize_or_zero();
        along * (xz * along.x + yz * along.y) / (xx + yy).max(f64::MIN_POSITIVE)
    };
    places
        .iter()
        .zip(heights)
        .map(|(&place, height)| height - mean - slope.dot(place - middle))
        .collect()
}
