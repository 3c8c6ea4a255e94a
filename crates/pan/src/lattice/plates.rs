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
use super::{Face, Lattice, LatticeFault, Screen};
use crate::panel::Panel;
use crate::polygon::Region;
use crate::{Cavity, Part, Plate};
use std::collections::BTreeMap;

/// Gaps narrower than this are taken as shut [m]: less than sheet work is held to (common practice, no source).
pub(super) const TOUCH: f64 = 0.5e-3;
/// Faces with no more than this share open are shut, faces with more than `RESOLVED` are open without loss.
const SHUT: f64 = 1e-4;
const RESOLVED: f64 = 0.98;
/// Contraction of a jet through a sharp-edged slot, π/(π + 2): Kirchhoff's free-streamline solution (1869), in
/// Lamb, Hydrodynamics, 6th ed., art. 76 (from memory). Round sharp holes measure 0.60 to 0.62.
pub const SHARP_EDGE: f64 = std::f64::consts::PI / (std::f64::consts::PI + 2.0);

/// Loss coefficient K, `Δp = ½ ρ K u²` with u over the whole face, of a face that a sharp-edged plate leaves open
/// to the share φ: `(1/φ² − 0.84)/Cd²`. A hole alone takes `1/(Cd φ)²`. The rest comes out of the cells: the
/// contraction of a jet through a slot of whole cells, all of `1/Cd²` (Cd 0.64, 0.62, 0.60 in gaps of 1, 2, 4
/// cells), and 0.7 of it for a round hole of 1 to 3 cells; 0.84 lies between. With 1 such holes pass 11 % too much.
pub fn hole_loss(open: f64) -> f64 {
    (1.0 / (open * open) - 0.84).max(0.0) / (SHARP_EDGE * SHARP_EDGE)
}

/// Share of a face that two plates must both cover to be in each other's way.
const BOTH: f64 = 0.5;

/// A panel with the region of its door openings.
pub(super) struct Standing {
    pub plate: u32,
    pub panel: Panel,
    /// Open share and diameter of the holes [m].
    pub perforation: (f64, f64),
    pub doors: Region,
}

/// Puts all plates on the lattice. Returns the faces in which a plate's outer shape stands, its openings and
/// doors counted as plate, with the plate. Plates that run side by side on the same faces, and plates so near a
/// wall that none of their faces is open, are refused: what lies between would be lost. Not so when they need
/// not be told `apart`.
pub(super) fn stand(
    lattice: &mut Lattice,
    cavity: &Cavity,
    plates: &[Plate],
    standing: &[Standing],
    apart: bool,
) -> Result<BTreeMap<Face, u32>, LatticeFault> {
    let mut barrier = BTreeMap::new();
    // What stays open of a face and the width of its holes, and the plate that leaves the least.
    let mut left: BTreeMap<Face, (f64, f64, u32)> = BTreeMap::new();
    // Who covers most of a face first.
    let mut covers: BTreeMap<Face, usize> = BTreeMap::new();
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
        let mut found = 0.0;
        for (face, share) in faces {
            let area =
                lattice.open_area[face.axis as usize][face.index as usize] * lattice.cell * lattice.cell;
            if area <= 0.0 {
                continue;
            }
            found += share.outlined;
            let whole = share.open + share.covered;
            if share.outlined >= 0.5 * whole {
                barrier.entry(face).or_insert(s.plate);
            }
            if apart && share.outlined > BOTH * whole {
                let first = *covers.entry(face).or_insert(i);
                if let Some(gap) = side_by_side(lattice, face, &s.panel, &standing[first].panel) {
                    return Err(too_near(
                        plates,
                        s.plate,
                        standing[first].plate,
                        gap,
                        lattice.cell,
                    ));
                }
            }
            let open = if share.open <= SHUT * area {
                0.0
            } else {
                (share.open / area).min(1.0)
            };
            if share.covered <= (1.0 - RESOLVED) * whole || open >= RESOLVED {
                continue;
            }
            let hole = if share.edge > 0.0 {
                4.0 * share.open / share.edge
            } else {
                lattice.cell
            };
            let least = left.entry(face).or_insert((open, hole, s.plate));
            if open < least.0 {
                *least = (open, hole, s.plate);
            }
        }
        let size = plane.size();
        if apart && found < 0.5 * size && size > 4.0 * lattice.cell * lattice.cell {
            let what = format!(
                "plate \"{}\" stands so near a wall of the cavity that cells of {:.1} mm have no face for it; use smaller \
                 cells, or leave the plate out and draw the wall where it stands",
                plates[s.plate as usize].name,
                lattice.cell * 1e3
            );
            let part = Part::Plate(s.plate as usize);
            return Err(LatticeFault::Part { part, what });
        }
    }
    for (face, (open, hole, plate)) in left {
        if open == 0.0 {
            lattice.open_area[face.axis as usize][face.index as usize] = 0.0;
        } else {
            lattice.screens.push(Screen {
                face,
                plate,
                open,
                loss: hole_loss(open),
                hole,
            });
        }
    }
    Ok(barrier)
}

/// Distance of two panels at a face that both cover, when they run side by side there and do not touch [m].
fn side_by_side(lattice: &Lattice, face: Face, one: &Panel, other: &Panel) -> Option<f64> {
    if one.normal.dot(other.normal).abs() < 0.9 {
        return None;
    }
    let [i, j, k] = lattice.face_place(face);
    let mut at = lattice.centre(i, j, k);
    at[face.axis as usize] -= 0.5 * lattice.cell;
    let on_one = at - one.normal * one.height(at);
    let gap = other.height(on_one).abs();
    (gap > TOUCH).then_some(gap)
}

fn too_near(plates: &[Plate], plate: u32, other: u32, gap: f64, cell: f64) -> LatticeFault {
    let name = |p: u32| &plates[p as usize].name;
    let what = format!(
        "plate \"{}\" runs {:.1} mm beside plate \"{}\", nearer than cells of {:.1} mm can tell apart; use cells of at \
         most {:.1} mm, or make them one plate",
        name(plate),
        gap * 1e3,
        name(other),
        cell * 1e3,
        gap * 1e3
    );
    LatticeFault::Part {
        part: Part::Plate(plate as usize),
        what,
    }
}
