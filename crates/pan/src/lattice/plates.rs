//! Plates on the lattice: which faces they shut, and what stays open of faces they cover in part.
//!
//! A face is the plate's when the segment between the two cell centres goes through the plate's plane
//! (watertight for any lean: a path of such segments cannot get past the plane). How much of it the plate
//! covers is measured in the plane itself, exactly, on tiles: one tile a face for a plate square to an axis;
//! quarter-cell tiles given to the nearest face for one that leans. So holes, slots, gaps at the edges and
//! perforation keep their true area whatever the cell.
//!
//! Where the plate touches the cavity's wall (or gaps by less than `TOUCH`) it is carried on behind it, since
//! cells cut by the wall may have their centre behind the wall. Where it meets another plate, a tile counts
//! only the part on the same side of that plate as the tile's centre: the other plate may have been moved to
//! the nearest faces, half a cell away.

use super::plane::Plane;
use super::{Face, Lattice, Screen};
use crate::cavity::Cavity;
use crate::panel::Panel;
use crate::polygon::Region;
use std::collections::BTreeMap;

/// Gaps narrower than this are taken as shut [m]: less than sheet work is held to (common practice, no source).
pub(super) const TOUCH: f64 = 0.5e-3;
/// Faces with no more than this share open are shut, faces with more than `RESOLVED` are open without loss.
const SHUT: f64 = 1e-4;
const RESOLVED: f64 = 0.98;
/// Contraction of a jet through a sharp-edged slot, π/(π + 2): Kirchhoff's free-streamline solution (1869), in
/// Lamb, Hydrodynamics, 6th ed., art. 76 (from memory). Round sharp holes measure 0.60 to 0.62.
pub const SHARP_EDGE: f64 = std::f64::consts::PI / (std::f64::consts::PI + 2.0);

/// A panel with the region of its door openings.
pub(super) struct Standing {
    pub plate: u32,
    pub panel: Panel,
    pub perforation: f64,
    pub doors: Region,
}

/// Puts all plates on the lattice. Returns the faces in which a plate's outer shape stands, its openings and
/// doors counted as plate, with the plate.
pub(super) fn stand(lattice: &mut Lattice, cavity: &Cavity, standing: &[Standing]) -> BTreeMap<Face, u32> {
    let mut barrier = BTreeMap::new();
    // What stays open of a face, 0 to 1, and the plate that leaves the least.
    let mut left: BTreeMap<Face, (f64, u32)> = BTreeMap::new();
    let grown: Vec<Region> = standing
        .iter()
        .map(|s| s.panel.outline.outset(TOUCH, false, 1e-5))
        .collect();
    for (i, s) in standing.iter().enumerate() {
        let others: Vec<(&Panel, &Region)> = (0..standing.len())
            .filter(|j| *j != i)
            .map(|j| (&standing[j].panel, &grown[j]))
            .collect();
        let (axis, panel) = match s.panel.along_axes() {
            Some((axis, turned)) => (Some(axis), turned),
            None => (None, s.panel.clone()),
        };
        let doors = s.doors.mapped(|p| panel.plate_coordinates(s.panel.point(p)));
        let plane = Plane::new(lattice, cavity, panel, &others, &doors, s.perforation);
        let faces = match axis {
            Some(axis) => plane.square_faces(axis),
            None => plane.leaning_faces(),
        };
        for (face, share) in faces {
            let area =
                lattice.open_area[face.axis as usize][face.index as usize] * lattice.cell * lattice.cell;
            if area <= 0.0 {
                continue;
            }
            let whole = share.open + share.covered;
            if share.outlined >= 0.5 * whole {
                barrier.entry(face).or_insert(s.plate);
            }
            let open = if share.open <= SHUT * area {
                0.0
            } else {
                (share.open / area).min(1.0)
            };
            if share.covered <= (1.0 - RESOLVED) * whole || open >= RESOLVED {
                continue;
            }
            let least = left.entry(face).or_insert((open, s.plate));
            if open < least.0 {
                *least = (open, s.plate);
            }
        }
    }
    for (face, (open, plate)) in left {
        if open == 0.0 {
            lattice.open_area[face.axis as usize][face.index as usize] = 0.0;
        } else {
            let loss = 1.0 / (SHARP_EDGE * open).powi(2);
            lattice.screens.push(Screen {
                face,
                plate,
                open,
                loss,
            });
        }
    }
    barrier
}
