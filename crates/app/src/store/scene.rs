//! What the pictures of a run are pictures of: the cells and the pan round them, so that a frame file can be
//! shown without the design that it came from.

use pan::{Lattice, Pan, Tank};
use report::replay::{Parts, parts_of, parts_of_tank};
use serde::{Deserialize, Serialize};

/// Cells and pan. Lengths in metres, pan frame.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Scene {
    /// Name of the design.
    pub name: String,
    /// Cells along x, y, z.
    pub n: [usize; 3],
    /// Cell edge [m].
    pub cell: f64,
    /// Low corner of cell (0, 0, 0) [m].
    pub origin: [f64; 3],
    /// Open volume share of each cell, 0..255, `i + nx*(j + ny*k)`; 0 is metal.
    pub open: Vec<u8>,
    /// Shell, plates, doors, mouth.
    pub parts: Parts,
}

/// Open volume share of each cell, 0..255; a cell with any opening is not 0.
pub fn open_shares(lattice: &Lattice) -> Vec<u8> {
    let share = |v: &f64| (v * 255.0).ceil().clamp(0.0, 255.0) as u8;
    lattice.open_volume.iter().map(share).collect()
}

impl Scene {
    /// The scene of a pan and its lattice.
    pub fn of(name: &str, pan: &Pan, lattice: &Lattice) -> Scene {
        Scene::new(name, parts_of(pan), lattice)
    }

    /// The scene of a tank and its lattice.
    pub fn of_tank(name: &str, tank: &Tank, lattice: &Lattice) -> Scene {
        Scene::new(name, parts_of_tank(tank), lattice)
    }

    fn new(name: &str, parts: Parts, lattice: &Lattice) -> Scene {
        Scene {
            name: name.to_string(),
            n: lattice.n,
            cell: lattice.cell,
            origin: lattice.origin.to_array(),
            open: open_shares(lattice),
            parts,
        }
    }
}
