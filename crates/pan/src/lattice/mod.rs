//! The cut-cell lattice: the pan as every oil solver sees it.
//!
//! Uniform cubic cells. Index of a cell: `i + nx*(j + ny*k)`, x fastest. The face arrays of axis `a` hold
//! the *low* face of each cell in the same order with one more layer along `a`:
//! `faces(a) = n + 1 along a`, index `i + mx*(j + my*k)` with `mx,my` the padded counts.
//! The outermost faces are always shut.

mod choice;
mod cut;
mod doors;
mod openings;
mod plane;
mod plates;
mod spaces;
mod tight;

pub use choice::CellChoice;
pub use doors::free_share;
pub use plates::{SHARP_EDGE, hole_loss};
pub use tight::TightPlace;

use crate::panel::Panel;
use crate::stack::Stack;
use crate::{Cavity, Door, Pan, Part, Plate, Region, Tank};
use glam::DVec3;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// A face: axis it is normal to (0 x, 1 y, 2 z) and index into that axis' arrays.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Face {
    /// 0, 1 or 2.
    pub axis: u8,
    /// Index into the arrays of that axis.
    pub index: u32,
}

/// A face that a plate covers in part: holes and gaps smaller than a cell.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Screen {
    /// Where.
    pub face: Face,
    /// Index of the plate.
    pub plate: u32,
    /// Open fraction φ of the face, 0..1 (relative to its open area in the cavity).
    pub open: f64,
    /// Loss coefficient on the face velocity: Δp = ½ ρ K u², see [`hole_loss`].
    pub loss: f64,
    /// Width of the holes [m]: four times their area over their edge, which for a round hole is its diameter and
    /// for a slot twice its width.
    pub hole: f64,
}

/// A face that a door opens and shuts.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct DoorFace {
    /// Where.
    pub face: Face,
    /// Area of the door opening that falls on this face [m²].
    pub area: f64,
    /// Distance of that area from the hinge line [m].
    pub arm: f64,
    /// +1 when flow along the positive axis is flow in the direction the door opens, else -1.
    pub sense: f64,
}

/// A door as faces.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LatticeDoor {
    /// Index into the pan's doors.
    pub door: usize,
    /// Its faces; areas sum to the door's opening.
    pub faces: Vec<DoorFace>,
    /// Unit vector along the hinge [pan frame]: right-hand rule, positive turn opens.
    pub hinge: DVec3,
    /// From the hinge line to the flap's centre of mass when shut [m].
    pub to_centre: DVec3,
    /// Shut flap: length from hinge to free edge, and width along the hinge [m].
    pub length: f64,
    /// Width along the hinge [m].
    pub width: f64,
}

/// A z-face through which the pump draws: oil leaves the cell below it upward and enters the pipe.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct MouthFace {
    /// The cell that is drawn from (below the mouth).
    pub cell: u32,
    /// Part of the mouth's area over this cell [m²]; all parts sum to the mouth's area.
    pub area: f64,
}

/// Part of a return place over one cell: oil enters it from above.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReturnFace {
    /// The cell that receives.
    pub cell: u32,
    /// Share of this place's flow, summing to 1 over the place.
    pub share: f64,
}

/// A space between plates, doors taken as shut.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Space {
    /// Named by where it is, e.g. "front left".
    pub name: String,
    /// Open volume [m³].
    pub volume: f64,
    /// Centre of the open volume [m].
    pub centre: DVec3,
    /// True when the pickup mouth draws from it.
    pub has_mouth: bool,
}

/// The pan as cells and faces. See the module for the layout.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lattice {
    /// Cells along x, y, z.
    pub n: [usize; 3],
    /// Cell edge [m].
    pub cell: f64,
    /// Low corner of cell (0,0,0) [m].
    pub origin: DVec3,
    /// Open volume fraction per cell, 0..1.
    pub open_volume: Vec<f64>,
    /// Open area fraction of the low faces for x, y, z: cavity cut with plates; 0 where a plate or a door
    /// (doors are shut here) stands; a `Screen` face keeps its cavity area and gets resistance instead.
    pub open_area: [Vec<f64>; 3],
    /// Faces with holes smaller than a cell.
    pub screens: Vec<Screen>,
    /// Doors.
    pub doors: Vec<LatticeDoor>,
    /// Cells under the mouth.
    pub mouth: Vec<MouthFace>,
    /// Mouth centre [m]; without meaning when `mouth` is empty.
    pub mouth_at: DVec3,
    /// One list per return place.
    pub returns: Vec<Vec<ReturnFace>>,
    /// Space of each cell; `u16::MAX` for solid cells.
    pub space_of: Vec<u16>,
    /// The spaces.
    pub spaces: Vec<Space>,
    /// Share of each cell's open volume inside the crank sweep, 0..1.
    pub crank_share: Vec<f32>,
}

/// Why no lattice can be built.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LatticeFault {
    /// A cell size that is no size.
    #[error("a cell of {:.3} mm is no usable size", cell * 1e3)]
    NoCell {
        /// As given [m].
        cell: f64,
    },
    /// More cells than can be held.
    #[error("cells of {:.2} mm would make {cells} cells; at most {most} can be held", cell * 1e3)]
    TooManyCells {
        /// As given [m].
        cell: f64,
        /// How many that makes.
        cells: usize,
        /// The most.
        most: usize,
    },
    /// The cell is larger than the cavity.
    #[error("cells of {:.2} mm are too large for a cavity {:.1} mm across", cell * 1e3, smallest * 1e3)]
    TooCoarse {
        /// As given [m].
        cell: f64,
        /// Smallest side of the cavity [m].
        smallest: f64,
    },
    /// The mouth is not in the cavity.
    #[error("the pickup mouth is not inside the cavity")]
    MouthOutside,
    /// A return place is not in the cavity.
    #[error("return place \"{name}\" is not inside the cavity")]
    ReturnOutside {
        /// Which.
        index: usize,
        /// Its name.
        name: String,
    },
    /// A plate that is no flat figure, or a door on no plate.
    #[error("{what}")]
    Part {
        /// Which.
        part: crate::Part,
        /// What is wrong with it.
        what: String,
    },
}

/// The most cells a lattice may have.
pub const MOST_CELLS: usize = 20_000_000;

impl Lattice {
    /// Builds the lattice of a pan with cubic cells of edge `cell` [m].
    ///
    /// The grid is symmetric about the middle of the cavity's bounds in x and y and has a face plane at its
    /// lowest floor. The mouth's rim shuts the faces over it; the suction pipe above that and the plates' thickness
    /// are not modelled as solid.
    pub fn build(pan: &Pan, cell: f64) -> Result<Lattice, LatticeFault> {
        Lattice::of_pan(pan, cell, true)
    }

    /// The same for asking what is connected with what: plates that the cells cannot tell apart count as one.
    pub(crate) fn rough(pan: &Pan, cell: f64) -> Result<Lattice, LatticeFault> {
        Lattice::of_pan(pan, cell, false)
    }

    fn of_pan(pan: &Pan, cell: f64, apart: bool) -> Result<Lattice, LatticeFault> {
        let Hollow {
            mut lattice,
            stack,
            barrier,
        } = hollow(&pan.cavity, &pan.plates, &pan.doors, cell, apart)?;
        lattice.mouth = openings::mouth(&lattice, &pan.mouth);
        lattice.mouth_at = pan.mouth.at;
        openings::cap(&mut lattice, &pan.mouth);
        if !pan.cavity.contains(pan.mouth.at) || lattice.mouth.is_empty() {
            return Err(LatticeFault::MouthOutside);
        }
        for (index, place) in pan.returns.iter().enumerate() {
            let faces = openings::place(&lattice, place);
            if faces.is_empty() {
                return Err(LatticeFault::ReturnOutside {
                    index,
                    name: place.name.clone(),
                });
            }
            lattice.returns.push(faces);
        }
        spaces::label(&mut lattice, &barrier, &pan.plates);
        if let Some(sweep) = &pan.crank {
            openings::crank(&mut lattice, &stack, sweep);
        }
        Ok(lattice)
    }

    /// Builds the lattice of a tank, on the same grid that a pan of that cavity would have.
    pub fn of_tank(tank: &Tank, cell: f64) -> Result<Lattice, LatticeFault> {
        let Hollow {
            mut lattice, barrier, ..
        } = hollow(&tank.cavity, &tank.plates, &tank.doors, cell, true)?;
        spaces::label(&mut lattice, &barrier, &tank.plates);
        Ok(lattice)
    }

    fn empty(n: [usize; 3], cell: f64, origin: DVec3) -> Lattice {
        let cells = n[0] * n[1] * n[2];
        let faces = |a: usize| {
            let mut m = n;
            m[a] += 1;
            vec![0.0; m[0] * m[1] * m[2]]
        };
        Lattice {
            n,
            cell,
            origin,
            open_volume: vec![0.0; cells],
            open_area: [faces(0), faces(1), faces(2)],
            screens: Vec::new(),
            doors: Vec::new(),
            mouth: Vec::new(),
            mouth_at: DVec3::ZERO,
            returns: Vec::new(),
            space_of: vec![u16::MAX; cells],
            spaces: Vec::new(),
            crank_share: vec![0.0; cells],
        }
    }

    /// The cells below and above face `index` of `axis`; `None` for an outermost face.
    #[inline]
    pub fn cells_of_face(&self, axis: usize, index: usize) -> Option<(usize, usize)> {
        let m = self.face_counts(axis);
        let at = [index % m[0], index / m[0] % m[1], index / (m[0] * m[1])];
        if at[axis] == 0 || at[axis] == self.n[axis] {
            return None;
        }
        let high = self.cell_index(at[0], at[1], at[2]);
        let step = [1, self.n[0], self.n[0] * self.n[1]][axis];
        Some((high - step, high))
    }

    /// (i, j, k) of a face: that of the cell of which it is the low face.
    #[inline]
    pub fn face_place(&self, face: Face) -> [usize; 3] {
        let (m, i) = (self.face_counts(face.axis as usize), face.index as usize);
        [i % m[0], i / m[0] % m[1], i / (m[0] * m[1])]
    }

    /// The up to six neighbours of a cell, each with the face between.
    #[inline]
    pub fn neighbours(&self, cell: usize) -> impl Iterator<Item = (Face, usize)> + '_ {
        let at = self.cell_place(cell);
        let stride = [1, self.n[0], self.n[0] * self.n[1]];
        (0..6).filter_map(move |side| {
            let (axis, up) = (side / 2, side % 2);
            let mut place = at;
            place[axis] += up;
            if place[axis] == 0 || place[axis] == self.n[axis] {
                return None;
            }
            let face = Face {
                axis: axis as u8,
                index: self.face_index(axis, place[0], place[1], place[2]) as u32,
            };
            Some((face, cell + up * stride[axis] - (1 - up) * stride[axis]))
        })
    }

    /// (i, j, k) of a cell.
    #[inline]
    pub fn cell_place(&self, cell: usize) -> [usize; 3] {
        [
            cell % self.n[0],
            cell / self.n[0] % self.n[1],
            cell / (self.n[0] * self.n[1]),
        ]
    }

    /// Index of cell (i, j, k).
    #[inline]
    pub fn cell_index(&self, i: usize, j: usize, k: usize) -> usize {
        i + self.n[0] * (j + self.n[1] * k)
    }

    /// Number of cells.
    pub fn cells(&self) -> usize {
        self.n[0] * self.n[1] * self.n[2]
    }

    /// Counts of the face arrays of `axis` along x, y, z.
    pub fn face_counts(&self, axis: usize) -> [usize; 3] {
        let mut m = self.n;
        m[axis] += 1;
        m
    }

    /// Index of the low face of cell (i, j, k) along `axis`; i, j or k may be one past the last cell.
    #[inline]
    pub fn face_index(&self, axis: usize, i: usize, j: usize, k: usize) -> usize {
        let m = self.face_counts(axis);
        i + m[0] * (j + m[1] * k)
    }

    /// Centre of cell (i, j, k) [m].
    pub fn centre(&self, i: usize, j: usize, k: usize) -> DVec3 {
        self.origin + self.cell * DVec3::new(i as f64 + 0.5, j as f64 + 0.5, k as f64 + 0.5)
    }
}

/// A hollow as cells and faces, with its doors and plates.
struct Hollow<'a> {
    lattice: Lattice,
    /// The cavity's layers.
    stack: Cow<'a, Stack>,
    /// Faces where plates stand.
    barrier: BTreeMap<Face, u32>,
}

fn hollow<'a>(
    cavity: &'a Cavity,
    plates: &[Plate],
    doors: &[Door],
    cell: f64,
    apart: bool,
) -> Result<Hollow<'a>, LatticeFault> {
    if !(cell.is_finite() && cell > 0.0) {
        return Err(LatticeFault::NoCell { cell });
    }
    let bounds = cavity.bounds();
    let smallest = (bounds.1 - bounds.0).min_element();
    if cell > smallest {
        return Err(LatticeFault::TooCoarse { cell, smallest });
    }
    let (n, origin) = cut::grid(bounds, cell);
    let cells = n.iter().fold(1usize, |p, m| p.saturating_mul(*m));
    if cells > MOST_CELLS {
        return Err(LatticeFault::TooManyCells {
            cell,
            cells,
            most: MOST_CELLS,
        });
    }
    let mut lattice = Lattice::empty(n, cell, origin);
    let stack = cavity.layers(cell / 8.0);
    cut::cut(&mut lattice, &stack);
    let panels = panels_of(plates, doors)?;
    for (index, door) in doors.iter().enumerate() {
        let hung = door
            .panel(&panels[door.plate])
            .map(|p| doors::hang(&lattice, index, door, p));
        match hung {
            Some(d) if !d.faces.is_empty() => lattice.doors.push(d),
            _ => {
                let what = format!("door \"{}\" does not lie inside the cavity", door.name);
                return Err(LatticeFault::Part {
                    part: Part::Door(index),
                    what,
                });
            }
        }
    }
    let standing = standing(plates, doors, panels);
    let barrier = plates::stand(&mut lattice, cavity, plates, &standing, apart)?;
    Ok(Hollow {
        lattice,
        stack,
        barrier,
    })
}

/// Panels of every plate, once all plates and doors are known to be usable.
fn panels_of(plates: &[Plate], doors: &[Door]) -> Result<Vec<Vec<Panel>>, LatticeFault> {
    for (index, plate) in plates.iter().enumerate() {
        if let Some(f) = plate.fault() {
            let what = format!("plate \"{}\" {f}", plate.name);
            return Err(LatticeFault::Part {
                part: Part::Plate(index),
                what,
            });
        }
    }
    for (index, door) in doors.iter().enumerate() {
        let usable = door.low.is_finite() && door.high.is_finite() && door.area() > 0.0;
        if door.plate >= plates.len() || !usable {
            let what = format!("door \"{}\" has no plate or no size", door.name);
            return Err(LatticeFault::Part {
                part: Part::Door(index),
                what,
            });
        }
    }
    Ok(plates.iter().map(|p| p.panels()).collect())
}

/// Panels with their plate's perforation and doors.
fn standing(plates: &[Plate], doors: &[Door], panels: Vec<Vec<Panel>>) -> Vec<plates::Standing> {
    let mut out = Vec::new();
    for (index, panels) in panels.into_iter().enumerate() {
        let own = doors.iter().filter(|d| d.plate == index);
        let doors: Vec<Region> = own
            .map(|d| d.corners())
            .map(|(low, high)| Region::rectangle(low, high))
            .collect();
        let doors = Region::union_of(&doors);
        for panel in panels {
            out.push(plates::Standing {
                plate: index as u32,
                panel,
                perforation: (plates[index].perforation, plates[index].perforation_hole),
                doors: doors.clone(),
            });
        }
    }
    out
}
