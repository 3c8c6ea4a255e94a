//! The pan and the drive as facts.

use serde::{Deserialize, Serialize};

/// The pan as built and filled.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PanFacts {
    /// Cavity below the flange face, engine as installed [m³].
    pub capacity: f64,
    /// Oil poured into the engine [m³].
    pub fill: f64,
    /// Level at that fill with the engine off, height over the flange face at the mouth [m]; negative is below.
    pub level_off: f64,
    /// Level with the oil aloft of the worst moment's engine speed taken away [m].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub level_running: Option<f64>,
    /// Height of the lowest point of the cavity [m].
    pub floor: f64,
    /// From the mouth straight down to what is below it [m].
    pub mouth_to_floor: f64,
    /// Centre of the mouth, pan frame [m].
    pub mouth: [f64; 3],
    /// Bore at the mouth [m].
    pub mouth_diameter: f64,
    /// Oil over the mouth with the engine off [m].
    pub mouth_cover_off: f64,
    /// From the level with the engine off up to the crank sweep [m]; negative when the crank dips.
    /// Absent when no crank is described.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub crank_gap: Option<f64>,
    /// Edge of a lattice cell [m].
    pub cell: f64,
    /// Why that size.
    pub cell_why: String,
    /// Open cells of the lattice.
    pub cells: usize,
    /// Litres against height, engine off, as installed; rising.
    pub heights: Vec<HeightRow>,
    /// Spaces between plates, doors taken as shut.
    pub spaces: Vec<SpaceFacts>,
    /// Plates, in the order of the design file.
    pub plates: Vec<String>,
    /// Doors, in the order of the design file.
    pub doors: Vec<DoorFacts>,
    /// What the checks said that does not stop a run.
    pub warnings: Vec<String>,
}

/// A row of the litres-against-height table.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct HeightRow {
    /// Height over the flange face at the mouth [m].
    pub height: f64,
    /// Oil below that level [m³].
    pub volume: f64,
}

/// A space between plates.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SpaceFacts {
    /// Name by place, e.g. "front left".
    pub name: String,
    /// Open volume [m³].
    pub volume: f64,
    /// Centre of the open volume, pan frame [m].
    pub centre: [f64; 3],
    /// True when the mouth draws from it.
    pub has_mouth: bool,
}

/// A door.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DoorFacts {
    /// Name in the design file.
    pub name: String,
    /// Plate it hangs on.
    pub plate: String,
    /// Space it lets oil out of.
    pub from: String,
    /// Space it lets oil into.
    pub into: String,
    /// Free area when wide open [m²].
    pub area: f64,
    /// Largest opening angle [rad].
    pub stop: f64,
}

/// The drive.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DriveFacts {
    /// Name for people.
    pub name: String,
    /// File it came from, when it did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// How it was read: units taken, signs inferred with the evidence, filter.
    pub said: Vec<String>,
    /// Laps found.
    pub laps: Vec<LapFacts>,
    /// The drive as drawn, at most [`DriveTrace::MOST`] points.
    pub trace: DriveTrace,
}

/// One lap.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LapFacts {
    /// Name.
    pub name: String,
    /// Start on the drive's clock [s].
    pub start: f64,
    /// End [s].
    pub end: f64,
}

/// The drive as drawn. All series have the length of `time`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct DriveTrace {
    /// Time on the drive's clock [s], rising.
    pub time: Vec<f64>,
    /// Distance from the start [m].
    pub distance: Vec<f64>,
    /// Road speed [m/s].
    pub speed: Vec<f64>,
    /// Engine speed [rev/s].
    pub engine_speed: Vec<f64>,
    /// Acceleration of the car forward [m/s²].
    pub ax: Vec<f64>,
    /// Acceleration of the car to the left [m/s²]; positive in a left turn.
    pub ay: Vec<f64>,
    /// Acceleration of the car upward, gravity taken out [m/s²]; 0 on a level road.
    pub az: Vec<f64>,
    /// Cover that oil at rest would give under each instant's apparent gravity, plates ignored [m].
    /// A guide for the whole lap where only some moments are computed in three dimensions.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cover_at_rest: Option<Vec<f64>>,
    /// Place on the course (x, y) [m], when known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Vec<[f64; 2]>>,
}

impl DriveTrace {
    /// Most points a trace may carry into the report.
    pub const MOST: usize = 2000;

    /// Indices that thin `count` samples to at most `most`, first and last kept, evenly spread.
    pub fn thinned(count: usize, most: usize) -> Vec<usize> {
        if count <= most || most < 2 {
            return (0..count).collect();
        }
        (0..most)
            .map(|i| (i * (count - 1) + (most - 1) / 2) / (most - 1))
            .collect()
    }
}
