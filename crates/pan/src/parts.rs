//! What a pan is made of, in the words of the shop. Plain data: any value may be built; the checks are
//! in `checks`, the solid geometry in `cavity`.

use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// A closed plan outline of lines and arcs, counter-clockwise.
///
/// Each vertex carries the bulge of the segment that leaves it: `tan(sweep / 4)`, 0 for a straight line,
/// positive for an arc that turns left. (The usual CAD definition.)
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Outline {
    /// Corner points [m] with the bulge of the segment to the next one.
    pub vertices: Vec<(DVec2, f64)>,
}

/// Which side of the flange a pocket belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Side {
    /// Milled or folded into the pan.
    Pan,
    /// The block's space above the flange.
    Block,
}

/// A pocket as a machinist thinks of it: an outline sunk from one height to another.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pocket {
    /// Name in the design file.
    pub name: String,
    /// Pan or block.
    pub side: Side,
    /// Outline at `z_high`.
    pub outline: Outline,
    /// Floor height [m].
    pub z_low: f64,
    /// Height of the open top [m].
    pub z_high: f64,
    /// Wall lean from upright [rad]; positive walls close in toward the floor.
    pub draft: f64,
    /// Radius put on sharp plan corners [m].
    pub corner_radius: f64,
    /// Radius between wall and floor [m].
    pub floor_radius: f64,
}

/// A hole, slot or notch through a plate, in plate coordinates.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Opening {
    /// Round hole.
    Hole {
        /// Centre.
        at: DVec2,
        /// Diameter [m].
        diameter: f64,
    },
    /// Slot with round ends, centre line `from`–`to`.
    Slot {
        /// One centre.
        from: DVec2,
        /// Other centre.
        to: DVec2,
        /// Width [m].
        width: f64,
    },
    /// Square-cornered window; one that reaches an edge is a notch.
    Notch {
        /// Low corner.
        low: DVec2,
        /// High corner.
        high: DVec2,
    },
}

/// Where a plate stands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum PlateShape {
    /// Upright wall along a plan polyline. Plate coordinates: (distance along the path, z).
    /// Its positive side is to the left of the walking direction.
    Wall {
        /// Plan polyline, two or more points.
        path: Vec<DVec2>,
        /// Lower edge.
        z_low: f64,
        /// Upper edge.
        z_high: f64,
    },
    /// Level shelf (roof, windage tray). Plate coordinates: (x, y). Positive side: up.
    Shelf {
        /// Plan outline.
        outline: Outline,
        /// Height.
        z: f64,
    },
    /// Free flat polygon, three or more corners. Plate coordinates: u along the first edge from the first
    /// corner, v at right angles in the plane. Positive side: right-hand rule round the corners.
    Sheet {
        /// Corners [m], flat within 0.1 mm.
        corners: Vec<DVec3>,
    },
}

/// A fixed plate inside the cavity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Plate {
    /// Name in the design file.
    pub name: String,
    /// Where it stands.
    pub shape: PlateShape,
    /// Thickness [m]; the solvers see a sheet without thickness.
    pub thickness: f64,
    /// Holes, slots, notches.
    pub openings: Vec<Opening>,
    /// Open fraction of a perforated plate, 0 for a solid one.
    pub perforation: f64,
    /// Diameter of the perforation's holes [m]; of no meaning when there is none.
    pub perforation_hole: f64,
}

/// Edge of a door that carries its hinge, in plate coordinates.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Hinge {
    /// Edge of least first coordinate.
    Start,
    /// Edge of greatest first coordinate.
    End,
    /// Edge of least second coordinate.
    Bottom,
    /// Edge of greatest second coordinate.
    Top,
}

/// A one-way door on a plate: a rectangle in plate coordinates that covers its own opening.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Door {
    /// Name in the design file.
    pub name: String,
    /// Index of the plate it hangs on.
    pub plate: usize,
    /// Low corner of the opening, plate coordinates [m].
    pub low: DVec2,
    /// High corner of the opening, plate coordinates [m].
    pub high: DVec2,
    /// Hinge edge.
    pub hinge: Hinge,
    /// True when the flap swings to the positive side of its plate (so oil passes from negative to positive).
    pub opens_positive: bool,
    /// Mass of the flap [kg].
    pub mass: f64,
    /// Largest opening angle [rad].
    pub stop: f64,
    /// Gap all round when shut [m].
    pub gap: f64,
    /// Density of the flap's material [kg/m³], for what the oil carries of its weight.
    pub density: f64,
    /// Torque with which a spring shuts it, when shut and at the stop [N·m]; zeros for none.
    pub spring: [f64; 2],
}

/// The pickup mouth: a round opening that faces down, under a bell, a screened box or the bare end of a tube.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Mouth {
    /// Centre of the mouth [m].
    pub at: DVec3,
    /// Opening at the mouth [m].
    pub diameter: f64,
    /// What the oil has to go round: the outside of bell, box or tube at the rim [m], at least `diameter`.
    pub outside: f64,
}

/// A place where oil comes home.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReturnPlace {
    /// Name in the design file.
    pub name: String,
    /// Where oil enters, falling [m].
    pub at: DVec3,
    /// Diameter over which it falls [m].
    pub diameter: f64,
}

/// What crank and rods sweep: a solid of revolution.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CrankSweep {
    /// A point on the crank centreline; stations are counted from here [m].
    pub origin: DVec3,
    /// Unit direction of the centreline.
    pub axis: DVec3,
    /// (station along the axis [m], swept radius [m]), rising stations, straight lines between.
    pub profile: Vec<(f64, f64)>,
}

/// A part of the pan, as faults and findings refer to it (indices in the order given).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Part {
    /// A pocket.
    Pocket(usize),
    /// A plate.
    Plate(usize),
    /// A door.
    Door(usize),
    /// The pickup mouth.
    Mouth,
    /// A return place.
    Return(usize),
    /// The crank sweep.
    Crank,
    /// The cavity's mesh.
    Mesh,
    /// The cavity as a whole.
    Cavity,
}
