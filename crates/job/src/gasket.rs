//! What a design says of a gasket that is to be cut.

use outline::{Closed, Role};
use shop::gasket::{Hole, HoleKind, Material};

use crate::fault::Place;
use crate::sealing::{JointKind, Sealing};
use crate::section::Section;
use crate::sections::gasket as section;
use crate::sections::outline_file::{self, Files};

/// `[shop.gasket]`, in SI.
#[derive(Clone, Debug)]
pub struct Gasket {
    /// What it is cut from.
    pub material: Material,
    /// Thickness of the sheet [m].
    pub thickness: f64,
    /// Added to the thread's diameter for a bolt's hole [m].
    pub hole: f64,
    /// How far the bore stands back from the cavity's edge [m]; none as stated: as drawn, where a file holds the outline.
    pub set_back: f64,
    /// Bridges narrower than this are told [m].
    pub least: f64,
    /// The cutter's mat [m].
    pub mat: Option<[f64; 2]>,
    /// Outline, openings and holes out of a file, in place of the flange's.
    pub drawn: Option<Drawn>,
    /// More holes: oil passages, dowels.
    pub holes: Vec<Hole>,
    /// Where the section begins.
    pub place: Place,
}

/// What a file holds, in the pan's axes.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// Outer edge.
    pub outer: Closed,
    /// Openings in it.
    pub windows: Vec<Closed>,
    /// Round holes in it.
    pub holes: Vec<Hole>,
}

/// `None` outside: something is wrong, and a fault stands on the desk; inside: no gasket is described.
pub(crate) fn read(shop: &Section, files: &Files, sealing: Option<&Sealing>) -> Option<Option<Gasket>> {
    let Some(own) = shop.below("gasket") else {
        return Some(None);
    };
    let drawn = match own.has("outline") {
        true => drawn(&own, files).map(Some),
        false => Some(None),
    };
    let sheet = sealing.and_then(|s| match s.kind {
        JointKind::Sheet { sheet, thickness, .. } => Some((sheet.name, thickness)),
        _ => None,
    });
    let gasket = section::gasket(&own, sheet, drawn);
    own.finish();
    gasket.map(Some)
}

fn drawn(own: &Section, files: &Files) -> Option<Drawn> {
    let (outer, inside) = outline_file::read_whole(own, "outline", files)?;
    let mut drawn = Drawn {
        outer,
        windows: Vec::new(),
        holes: Vec::new(),
    };
    for shape in inside {
        match (shape.role, shape.circle) {
            (Role::Hole, Some(circle)) => drawn.holes.push(Hole {
                name: shape.name,
                kind: HoleKind::Drawn,
                at: circle.centre,
                diameter: 2.0 * circle.radius,
            }),
            _ => drawn.windows.push(shape.line),
        }
    }
    Some(drawn)
}
