//! A pan in cells and bays.

use crate::open::refusals::{failure, refused};
use crate::preparation::{Gridded, Prepared};
use crate::sizes::Load;
use crate::sketch::Sketch;
use bays::Network;
use pan::{Lattice, Pan};
use serve::wire::SceneWire;
use serve::workshop::{Answer, Wrong};
use std::path::Path;
use std::sync::OnceLock;

/// Most cells that a page waits for, solid ones counted: some seconds of cutting.
const MOST_CELLS: usize = 4_000_000;

/// A pan and what was made of it.
pub struct Grid {
    /// The pan.
    pub pan: Pan,
    made: OnceLock<Answer<Made>>,
    /// It as the page draws it, without the car's directions.
    pub scene: OnceLock<SceneWire>,
}

/// A pan in cells and bays.
pub struct Made {
    /// Cells.
    pub gridded: Gridded,
    /// Bays.
    pub network: Network,
}

impl Grid {
    /// Of a pan; nothing is made yet.
    pub fn of(pan: Pan) -> Grid {
        Grid {
            pan,
            made: OnceLock::new(),
            scene: OnceLock::new(),
        }
    }

    /// Cells and bays, made by the first who asks.
    pub fn made(&self, prepared: &Prepared, folder: &Path) -> Answer<&Made> {
        let made = self.made.get_or_init(|| make(prepared, folder));
        made.as_ref().map_err(Clone::clone)
    }

    /// Cells and bays that were made before: what [`super::Shelf::grid`] hands out has them.
    pub fn parts(&self) -> &Made {
        let made = self.made.get().and_then(|made| made.as_ref().ok());
        made.expect("the shelf hands out grids that are made")
    }
}

fn make(prepared: &Prepared, folder: &Path) -> Answer<Made> {
    let told = |fault| failure(folder, fault);
    let size = prepared.size(None).map_err(told)?;
    let cells = Lattice::count(&prepared.design.pan, size.cell);
    if cells > MOST_CELLS {
        return Err(refused(
            Wrong::Input,
            format!("this pan would take {cells} cells: {}", size.why),
            "the pan's lattice",
            "make the narrowest place wider: a door, the mouth, or the gap between two plates",
        ));
    }
    let load = Load { runs: 1, frames: 0 };
    prepared.check_memory(size.cell, load).map_err(told)?;
    let gridded = prepared.grid(size).map_err(told)?;
    let network = Sketch::network(prepared, &gridded.lattice).map_err(told)?;
    Ok(Made { gridded, network })
}
