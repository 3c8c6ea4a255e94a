//! Corners and triangles as they come from a file, equal corners found at once.

use crate::fault::{Fault, Spot};
use glam::DVec3;

/// Most triangles that are taken in. Five million are a very fine scan; each costs some hundred bytes on the way.
pub const MOST_FACETS: usize = 20_000_000;
/// Largest coordinate in the file's own units: beyond this, what is left of the digits is no shape.
pub const LARGEST_NUMBER: f64 = 1e9;

/// Corners and triangles.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// Corners; the unit stands where the mesh is made.
    pub points: Vec<DVec3>,
    /// Triangles by index of corner, counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
}

impl Mesh {
    /// Low and high corner of what the triangles reach; `None` when there are none.
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        let first = self.points[self.triangles.first()?[0] as usize];
        let reach = self.triangles.iter().flatten();
        Some(reach.fold((first, first), |(low, high), &c| {
            let p = self.points[c as usize];
            (low.min(p), high.max(p))
        }))
    }

    /// Corner points of a triangle.
    pub fn corners(&self, triangle: usize) -> [DVec3; 3] {
        self.triangles[triangle].map(|c| self.points[c as usize])
    }

    /// Enclosed volume, with the sign of the triangles' sense; right for a closed mesh only.
    pub fn volume(&self) -> f64 {
        let Some((low, high)) = self.bounds() else {
            return 0.0;
        };
        let o = 0.5 * (low + high);
        let six: f64 = (0..self.triangles.len())
            .map(|t| {
                let [a, b, c] = self.corners(t);
                (a - o).dot((b - o).cross(c - o))
            })
            .sum();
        six / 6.0
    }

    /// Twice the area of a triangle, along its outward normal.
    pub fn area_vector(&self, triangle: usize) -> DVec3 {
        let [a, b, c] = self.corners(triangle);
        (b - a).cross(c - a)
    }

    /// Area of all triangles.
    pub fn area(&self) -> f64 {
        (0..self.triangles.len())
            .map(|t| 0.5 * self.area_vector(t).length())
            .sum()
    }

    /// As a binary STL file in millimetres, when it is in metres.
    pub fn to_stl(&self) -> Vec<u8> {
        crate::stl::written(self)
    }

    /// As a 3MF file in millimetres, when it is in metres, with a name for people.
    pub fn to_3mf(&self, name: &str) -> Vec<u8> {
        crate::threemf::written::written(self, name)
    }

    /// Sharp edges, as pairs of corners: neighbours that turn more than `turn` [rad], and edges with one triangle.
    pub fn sharp_edges(&self, turn: f64) -> Vec<[u32; 2]> {
        let pairing = crate::edges::pair(self.points.len(), &self.triangles);
        let normal = |side: u32| self.area_vector(side as usize / 3).normalize_or_zero();
        let least = turn.cos();
        (0..pairing.mate.len() as u32)
            .filter(|&side| {
                let mate = pairing.mate[side as usize];
                mate == crate::edges::NONE || (side < mate && normal(side).dot(normal(mate)) < least)
            })
            .map(|side| crate::edges::ends(&self.triangles, side).into())
            .collect()
    }

    /// Leaves out the corners that no triangle has.
    pub fn drop_unused(&mut self) {
        let mut number = vec![u32::MAX; self.points.len()];
        let mut kept = Vec::new();
        for corner in self.triangles.iter_mut().flatten() {
            let at = *corner as usize;
            if number[at] == u32::MAX {
                number[at] = kept.len() as u32;
                kept.push(self.points[at]);
            }
            *corner = number[at];
        }
        self.points = kept;
    }
}

/// Gathers triangles whose corners come as coordinates; corners that are equal to the last digit become one.
///
/// A table of open addresses holds numbers of corners, four bytes a slot, so that five million facets fit into a
/// few hundred megabytes.
pub(crate) struct Gathering {
    mesh: Mesh,
    slots: Vec<u32>,
}

const FREE: u32 = u32::MAX;

impl Gathering {
    /// For about so many triangles.
    pub fn for_facets(count: usize) -> Gathering {
        let count = count.min(MOST_FACETS);
        let slots = (count + 64).next_power_of_two();
        Gathering {
            mesh: Mesh {
                points: Vec::with_capacity(count / 2 + 64),
                triangles: Vec::with_capacity(count),
            },
            slots: vec![FREE; slots],
        }
    }

    /// The number of the corner at `p`; a coordinate that is no number is a fault at `spot`.
    pub fn corner(&mut self, p: DVec3, spot: impl FnOnce() -> Spot) -> Result<u32, Fault> {
        if !p.is_finite() || p.abs().max_element() > LARGEST_NUMBER {
            return Err(not_a_number(p).at(spot()));
        }
        // Adding zero turns -0 into 0, so that equal numbers have equal bits.
        let p = p + DVec3::ZERO;
        let mask = self.slots.len() - 1;
        let mut slot = hash(p) & mask;
        loop {
            let held = self.slots[slot];
            if held == FREE {
                break;
            }
            if self.mesh.points[held as usize] == p {
                return Ok(held);
            }
            slot = (slot + 1) & mask;
        }
        let number = self.mesh.points.len() as u32;
        self.mesh.points.push(p);
        self.slots[slot] = number;
        if self.mesh.points.len() * 8 > self.slots.len() * 5 {
            self.grow();
        }
        Ok(number)
    }

    /// Adds a triangle of gathered corners.
    pub fn triangle(&mut self, corners: [u32; 3], spot: impl FnOnce() -> Spot) -> Result<(), Fault> {
        if self.mesh.triangles.len() >= MOST_FACETS {
            return Err(too_many().at(spot()));
        }
        self.mesh.triangles.push(corners);
        Ok(())
    }

    pub fn done(self) -> Mesh {
        self.mesh
    }

    fn grow(&mut self) {
        let mask = self.slots.len() * 2 - 1;
        let mut slots = vec![FREE; mask + 1];
        for (number, p) in self.mesh.points.iter().enumerate() {
            let mut slot = hash(*p) & mask;
            while slots[slot] != FREE {
                slot = (slot + 1) & mask;
            }
            slots[slot] = number as u32;
        }
        self.slots = slots;
    }
}

/// Mixes the bits of three coordinates; multiply-and-fold as in wyhash (public domain), from memory.
fn hash(p: DVec3) -> usize {
    let fold = |a: u64, b: u64| {
        let wide = u128::from(a) * u128::from(b);
        (wide >> 64) as u64 ^ wide as u64
    };
    let h = fold(
        p.x.to_bits() ^ 0xa076_1d64_78bd_642f,
        p.y.to_bits() ^ 0xe703_7ed1_a0b4_28db,
    );
    fold(h ^ p.z.to_bits(), 0x8ebc_6af0_9c88_c6e3) as usize
}

pub(crate) fn too_many() -> Fault {
    let millions = MOST_FACETS / 1_000_000;
    Fault::new(
        "solid-too-large",
        format!("the file holds more than {millions} million facets"),
        "export it coarser; deviations of 0.05 mm are plenty for oil",
    )
}

pub(crate) fn not_a_number(p: DVec3) -> Fault {
    Fault::new(
        "solid-not-a-number",
        format!("a corner at ({}, {}, {}) is no usable place", p.x, p.y, p.z),
        "export the solid again; the program that wrote the file lost a number there",
    )
}
