//! What the cards of the bench say, as facts.

use serde::{Deserialize, Serialize};

/// Everything on the cards that is computed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CardsFacts {
    /// The stick, when it is described.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dipstick: Option<DipstickFacts>,
    /// The tilt on the bench, when it can be shown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt: Option<TiltFacts>,
    /// Doors.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub doors: Vec<DoorCard>,
    /// The weld, when the design has a flange.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weld: Option<WeldFacts>,
    /// The leak test.
    pub leak: LeakFacts,
    /// The fit.
    pub fit: FitFacts,
    /// What rules may ask.
    pub rules: RulesFacts,
}

/// The dipstick.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DipstickFacts {
    /// A row every half litre, rising.
    pub rows: Vec<StickRow>,
    /// What is marked: LOW, FILL, HIGH, and the levels while it runs.
    pub marks: Vec<StickMark>,
    /// How it is read, step by step.
    pub steps: Vec<String>,
    /// What it stands on.
    pub said: Vec<String>,
}

/// A row of the stick.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct StickRow {
    /// Oil in the pan, engine off [m³].
    pub volume: f64,
    /// Up the stick from its lower end [m].
    pub along: f64,
}

/// A mark on the stick.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StickMark {
    /// What it is.
    pub name: String,
    /// Oil in the pan [m³].
    pub volume: f64,
    /// Up the stick from its lower end [m].
    pub along: f64,
    /// Seen only while the engine runs.
    pub running: bool,
}

/// A tilt on the bench.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TiltFacts {
    /// Lean [rad].
    pub angle: f64,
    /// Within this the model is believed [m].
    pub band: f64,
    /// One a side that is leaned down.
    pub cuts: Vec<TiltCut>,
}

/// The pan leaned to one side.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TiltCut {
    /// The side that is low.
    pub low_side: String,
    /// Oil to pour [m³].
    pub volume: f64,
    /// Why that much.
    pub why: String,
    /// Where the oil line ends: at the low side, at the high side.
    pub lines: [TiltLine; 2],
    /// Oil over the mouth, square to the oil [m]; below zero it is bare.
    pub cover: f64,
    /// What it stands for in the car.
    pub said: String,
    /// The cut through the mouth with the low side to the right, (across, up from the flange) [m]. Pictures only.
    #[serde(skip)]
    pub walls_cut: Vec<Vec<[f64; 2]>>,
    /// The oil in it.
    #[serde(skip)]
    pub oil: Vec<Vec<[f64; 2]>>,
    /// The flange face in it.
    #[serde(skip)]
    pub flange: [[f64; 2]; 2],
    /// Where the oil line meets each wall, and the flange straight over it.
    #[serde(skip)]
    pub ends: Vec<[[f64; 2]; 2]>,
    /// The mouth's centre.
    #[serde(skip)]
    pub mouth: [f64; 2],
    /// Drawn with the low side to the left.
    #[serde(skip)]
    pub mirrored: bool,
}

/// An end of the oil line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TiltLine {
    /// On a floor and not on a wall.
    pub on_floor: bool,
    /// The wall's side; of a floor, the side of the mouth on which the oil ends.
    pub side: String,
    /// Below the flange face, square to it [m].
    pub depth: f64,
    /// From the mouth's centre along the flange [m].
    pub from_mouth: f64,
}

/// A door.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DoorCard {
    /// Its name.
    pub name: String,
    /// The plate it hangs on.
    pub plate: String,
    /// Where it opens to.
    pub toward: String,
    /// Which edge has the hinge.
    pub hinge: String,
    /// Largest opening [rad].
    pub stop: f64,
    /// What it strikes before that, and at which angle [rad].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strikes: Option<(f64, String)>,
    /// Along the hinge [m].
    pub width: f64,
    /// From hinge to free edge [m].
    pub length: f64,
    /// How far the free edge stands off the plate at the stop, or at the widest before it [m].
    pub out: f64,
    /// Gap all round [m].
    pub gap: f64,
    /// From where the picture is seen. Pictures only.
    #[serde(skip)]
    pub view: String,
    /// From hinge to free edge in the picture, unit.
    #[serde(skip)]
    pub reach: [f64; 2],
    /// The way it opens in the picture, unit.
    #[serde(skip)]
    pub opens: [f64; 2],
}

/// The weld of wall and flange.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WeldFacts {
    /// In the order round the flange.
    pub runs: Vec<WeldRun>,
    /// Longest run [m].
    pub run: f64,
    /// Left on the face [m].
    pub skim: f64,
    /// Finished thickness of the flange [m].
    pub thickness: f64,
}

/// A run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WeldRun {
    /// When it is welded, from 1.
    pub turn: usize,
    /// Along the seam, pan frame [m].
    pub line: Vec<[f64; 2]>,
}

/// The leak test.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LeakFacts {
    /// Air over the surrounding [Pa].
    pub test: f64,
    /// Never more [Pa].
    pub limit: f64,
    /// What the air presses on [m²].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub opening: Option<f64>,
}

/// The fit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FitFacts {
    /// "16 bolts M6 x 25, 8.8, oiled".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bolts: Option<String>,
    /// Thread in thread [m].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub engaged: Option<f64>,
    /// Below the bolt before it bottoms [m].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spare: Option<f64>,
    /// What seals.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub joint: Option<FitJoint>,
    /// From closing the joint to oil in it [s].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wait: Option<f64>,
    /// Whether the bolts are gone round again after the first heat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub retorque: Option<bool>,
    /// All the oil [m³].
    pub fill: f64,
    /// Doors to look at.
    pub doors: Vec<String>,
}

/// What seals.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum FitJoint {
    /// From a tube.
    Sealant {
        /// Size of the bead [m].
        bead: f64,
    },
    /// A cut sheet.
    Sheet {
        /// Of what.
        name: String,
        /// How thick [m].
        thickness: f64,
    },
    /// A cord or a moulded bead.
    Cord {
        /// How high [m].
        height: f64,
    },
}

/// What rules may ask.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RulesFacts {
    /// All the oil [m³].
    pub fill: f64,
    /// Up to the flange [m³].
    pub capacity: f64,
}
