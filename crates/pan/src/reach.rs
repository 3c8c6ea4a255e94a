//! Ways for the oil: what is connected with the mouth, on a lattice made for the question.

use crate::Pan;
use crate::lattice::{Lattice, LatticeFault, ReturnFace};
use glam::DVec3;

/// Cells of the lattice asked [m]; openings of any size count, so it need not be fine.
const CELL: f64 = 8e-3;
/// Sealed parts under this share of the cavity are cut cells behind a plate, not spaces.
const CRUMB: f64 = 2e-3;

/// A part of the cavity that is not connected with the mouth by any opening or door.
pub(crate) struct Sealed {
    /// Volume [m³].
    pub volume: f64,
    /// Middle of it.
    pub centre: DVec3,
}

/// What was found.
pub(crate) struct Ways {
    /// Sealed parts.
    pub sealed: Vec<Sealed>,
    /// Return places from which no oil comes to the mouth, doors passed only the way they open.
    pub blocked_returns: Vec<usize>,
}

/// Asks the lattice of `pan`.
pub(crate) fn ways(pan: &Pan) -> Result<Ways, LatticeFault> {
    let (low, high) = pan.cavity.bounds();
    // A huge cavity takes larger cells: two million are plenty for this.
    let size = high - low;
    let cell = CELL
        .min(size.min_element() / 4.0)
        .max((size.x * size.y * size.z / 2e6).cbrt());
    let lattice = Lattice::rough(pan, cell)?;
    let passable = passable(&lattice);
    let flood = |starts: &[usize], doors: Doors| flood(&lattice, &passable, starts, doors);
    let mouth: Vec<usize> = lattice.mouth.iter().map(|m| m.cell as usize).collect();
    let comes_to_mouth = flood(&mouth, Doors::Backward);
    let comes_back = |faces: &[ReturnFace]| faces.iter().any(|f| comes_to_mouth[f.cell as usize]);
    let blocked_returns = (0..lattice.returns.len())
        .filter(|&i| !comes_back(&lattice.returns[i]))
        .collect();
    let near = flood(&mouth, Doors::BothWays);
    Ok(Ways {
        sealed: sealed(pan, &lattice, near, &flood),
        blocked_returns,
    })
}

/// How a face may be passed, as bits.
const UP: u8 = 1;
const DOWN: u8 = 2;
const DOOR: u8 = 4;

/// For each axis and face of the lattice: toward the higher cell, toward the lower, by a door (its own way only).
fn passable(lattice: &Lattice) -> [Vec<u8>; 3] {
    let open = |area: &f64| if *area > 0.0 { UP | DOWN } else { 0 };
    let mut faces =
        [0, 1, 2].map(|axis: usize| lattice.open_area[axis].iter().map(open).collect::<Vec<u8>>());
    for face in lattice.doors.iter().flat_map(|door| &door.faces) {
        let way = if face.sense > 0.0 { UP } else { DOWN };
        faces[face.face.axis as usize][face.face.index as usize] |= way | DOOR;
    }
    faces
}

/// Which way doors are passed.
#[derive(Clone, Copy, PartialEq)]
enum Doors {
    /// Against the way they open: to find where oil comes from.
    Backward,
    /// Either way.
    BothWays,
}

/// The cells that are connected with `starts`.
fn flood(lattice: &Lattice, passable: &[Vec<u8>; 3], starts: &[usize], doors: Doors) -> Vec<bool> {
    let mut seen = vec![false; lattice.cells()];
    let mut todo = starts.to_vec();
    starts.iter().for_each(|s| seen[*s] = true);
    while let Some(cell) = todo.pop() {
        for (face, other) in lattice.neighbours(cell) {
            if seen[other] || !(lattice.open_volume[other] > 0.0) {
                continue;
            }
            let bits = passable[face.axis as usize][face.index as usize];
            // Oil comes from the other cell to this one.
            let way = if other > cell { DOWN } else { UP };
            if bits & way != 0 || (doors == Doors::BothWays && bits & DOOR != 0) {
                seen[other] = true;
                todo.push(other);
            }
        }
    }
    seen
}

fn sealed(
    pan: &Pan,
    lattice: &Lattice,
    mut seen: Vec<bool>,
    flood: &dyn Fn(&[usize], Doors) -> Vec<bool>,
) -> Vec<Sealed> {
    let mut out = Vec::new();
    for start in 0..lattice.cells() {
        if seen[start] || lattice.open_volume[start] <= 0.0 {
            continue;
        }
        let (mut volume, mut moment) = (0.0, DVec3::ZERO);
        for (cell, part) in flood(&[start], Doors::BothWays).into_iter().enumerate() {
            if part {
                seen[cell] = true;
                let [i, j, k] = lattice.cell_place(cell);
                let v = lattice.open_volume[cell] * lattice.cell.powi(3);
                volume += v;
                moment += v * lattice.centre(i, j, k);
            }
        }
        if volume > CRUMB * pan.cavity.volume() {
            out.push(Sealed {
                volume,
                centre: moment / volume,
            });
        }
    }
    out
}
