//! Cuts through the pan with the oil in them: plain shapes in view coordinates, ready to be drawn.

/// From where the pan is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// Upright cut along the crank through the mouth, seen from the right: engine front to the right, up is up.
    Along,
    /// Upright cut across the crank through the mouth, seen from the rear: left on the left, up is up.
    Across,
    /// Level cut just above the mouth, seen from above: engine front to the right, left is up.
    Plan,
}

/// One cut. All coordinates are view coordinates [m]: (to the right, up on the paper).
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// From where.
    pub view: View,
    /// Cut edges of the cavity: closed loops.
    pub walls: Vec<Vec<[f64; 2]>>,
    /// Plates that the cut meets: name and the line in which it meets them.
    pub plates: Vec<CutPlate>,
    /// Doors, in their position at that instant.
    pub doors: Vec<CutDoor>,
    /// Centre of the mouth.
    pub mouth: [f64; 2],
    /// Bore at the mouth [m].
    pub mouth_diameter: f64,
    /// The oil.
    pub oil: OilCells,
    /// Direction of apparent gravity in the view, with its size in g.
    pub down: [f64; 2],
}

/// A plate met by a cut.
#[derive(Clone, Debug, PartialEq)]
pub struct CutPlate {
    /// Name.
    pub name: String,
    /// One end.
    pub from: [f64; 2],
    /// Other end.
    pub to: [f64; 2],
}

/// A door met by a cut.
#[derive(Clone, Debug, PartialEq)]
pub struct CutDoor {
    /// Name.
    pub name: String,
    /// Corners of the flap at its angle, or the line in which the cut meets it.
    pub flap: [[f64; 2]; 2],
    /// Foot and tip of the arrow for the way it opens.
    pub arrow: [[f64; 2]; 2],
    /// Opening angle [rad].
    pub angle: f64,
}

/// Oil in the cells that the cut passes through.
#[derive(Clone, Debug, PartialEq)]
pub struct OilCells {
    /// Low corner of cell (0, 0).
    pub origin: [f64; 2],
    /// Cell edge [m].
    pub cell: f64,
    /// Cells to the right and up.
    pub n: [usize; 2],
    /// Oil share of the open part, `fill[u + n[0]*v]`, 0..255; 0 in metal.
    pub fill: Vec<u8>,
}
