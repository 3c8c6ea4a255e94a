//! The oil of the worst moments, small enough to travel inside the page.

/// What the replay shows. Lengths in metres, pan frame.
#[derive(Clone, Debug, PartialEq)]
pub struct ReplayBundle {
    /// Cells along x, y, z.
    pub n: [usize; 3],
    /// Cell edge [m].
    pub cell: f64,
    /// Low corner of cell (0, 0, 0) [m].
    pub origin: [f64; 3],
    /// Open volume share of each cell, 0..255, `i + nx*(j + ny*k)`; 0 is metal.
    pub open: Vec<u8>,
    /// The pan's wetted surface.
    pub shell: Shell,
    /// Plates, doors, mouth.
    pub parts: Parts,
    /// Forward direction of the car in the pan frame (unit vector).
    pub car_forward: [f64; 3],
    /// The moments, worst first.
    pub moments: Vec<ReplayMoment>,
    /// What was left out to fit, in words; empty when nothing was.
    pub said: String,
}

/// Surface of the cavity.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shell {
    /// Corner points [m].
    pub points: Vec<[f64; 3]>,
    /// Triangles.
    pub triangles: Vec<[u32; 3]>,
    /// Edges worth a line: where the surface turns by more than 25°.
    pub edges: Vec<[u32; 2]>,
}

/// What stands in the pan.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Parts {
    /// Plates: name and flat polygons.
    pub plates: Vec<ReplayPlate>,
    /// Doors.
    pub doors: Vec<ReplayDoor>,
    /// Centre of the mouth [m].
    pub mouth: [f64; 3],
    /// Bore at the mouth [m].
    pub mouth_diameter: f64,
}

/// A plate as flat polygons.
#[derive(Clone, Debug, PartialEq)]
pub struct ReplayPlate {
    /// Name.
    pub name: String,
    /// Polygons of three or more corners [m].
    pub faces: Vec<Vec<[f64; 3]>>,
}

/// A door as a rectangle that turns about its hinge.
#[derive(Clone, Debug, PartialEq)]
pub struct ReplayDoor {
    /// Name.
    pub name: String,
    /// Corners when shut [m]; the first two are the hinge line.
    pub corners: [[f64; 3]; 4],
    /// Unit vector along the hinge: right-hand rule, positive turn opens.
    pub hinge: [f64; 3],
}

/// One moment.
#[derive(Clone, Debug, PartialEq)]
pub struct ReplayMoment {
    /// Short name, as in `Moment::name`.
    pub name: String,
    /// Where on the lap, in words.
    pub place: String,
    /// Frames in time order.
    pub frames: Vec<ReplayFrame>,
}

/// The oil at one instant.
#[derive(Clone, Debug, PartialEq)]
pub struct ReplayFrame {
    /// On the drive's clock [s].
    pub time: f64,
    /// Oil share of each cell's open volume, 0..255, in the order of `ReplayBundle::open`.
    pub fill: Vec<u8>,
    /// Oil over the mouth [m].
    pub cover: f64,
    /// Apparent gravity, pan frame [m/s²].
    pub gravity: [f64; 3],
    /// Opening angle of each door [rad].
    pub doors: Vec<f64>,
}
