//! Doors as faces that open and shut.

use super::plane::pieces;
use super::{DoorFace, Face, Lattice, LatticeDoor};
use crate::Door;
use crate::panel::Panel;
use std::collections::BTreeMap;

/// A door on its panel. Taken before plates shut the faces: a door has the faces its opening would have had.
pub(super) fn hang(lattice: &Lattice, index: usize, door: &Door, panel: &Panel) -> LatticeDoor {
    let flap = door.flap(panel);
    let (low, high) = door.corners();
    let mut sums: BTreeMap<Face, (f64, f64)> = BTreeMap::new();
    for (face, area, at) in pieces(lattice, panel, low, high) {
        let arm = (panel.point(at) - flap.hinge_at).dot(flap.reach);
        let s = sums.entry(face).or_default();
        s.0 += area;
        s.1 += area * arm;
    }
    let faces = sums
        .into_iter()
        .map(|(face, (area, moment))| DoorFace {
            face,
            area,
            arm: moment / area,
            sense: flap.opens[face.axis as usize].signum(),
        })
        .collect();
    LatticeDoor {
        door: index,
        faces,
        hinge: flap.hinge,
        to_centre: flap.reach * (0.5 * flap.length),
        length: flap.length,
        width: flap.width,
    }
}

/// Free area of a door over its opening, 0 to 1: the flap is `length` [m] from hinge to free edge and `width` [m] along the
/// hinge, has `gap` [m] all round when shut and stands open by `angle` [rad].
///
/// The front gap `w · 2 L sin(θ/2)` and two side triangles `½ L² sin θ` each, and the gap all round, bounded by the
/// opening `w L`.
pub fn free_share(length: f64, width: f64, gap: f64, angle: f64) -> f64 {
    let slim = length / width;
    let flap = 2.0 * (0.5 * angle).sin() + slim * angle.min(std::f64::consts::FRAC_PI_2).sin();
    let leak = 2.0 * (length + width) * gap / (length * width);
    (flap + leak).min(1.0)
}
