//! The oil of the worst moments, small enough to travel inside the page.
//!
//! The page's replay draws the oil's surface in the browser from the fill of the cells. Frames are thinned in
//! time and the cells joined in blocks until everything fits a budget of bytes ([`ReplayBundle::fit`]); what
//! was left out is said. The verdict never reads these frames.

pub mod code;
mod fit;
mod solid;

pub use fit::{BUDGET, FRAMES_A_SECOND};
pub use solid::{parts_of, parts_of_tank};

use measure::UnitOrder;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::fmt;

/// Date of the layout of the replay's data.
pub const FORMAT: &str = "sumpwright-replay 2026-11";

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
    /// The pan and what stands in it.
    pub parts: Parts,
    /// Forward direction of the car in the pan frame (unit vector).
    pub car_forward: [f64; 3],
    /// The moments, worst first.
    pub moments: Vec<ReplayMoment>,
    /// What was left out to fit, in words; empty when nothing was.
    pub said: String,
}

/// A surface of triangles with the edges worth a line.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Mesh {
    /// Corner points [m].
    pub points: Vec<[f64; 3]>,
    /// Triangles.
    pub triangles: Vec<[u32; 3]>,
    /// Edges worth a line: rims, and where the surface turns sharply.
    pub edges: Vec<[u32; 2]>,
}

/// The pan and what stands in it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Parts {
    /// Surface of the cavity.
    pub shell: Mesh,
    /// Plates, openings cut out.
    pub plates: Vec<(String, Mesh)>,
    /// Doors.
    pub doors: Vec<ReplayDoor>,
    /// Centre of the mouth [m].
    pub mouth: [f64; 3],
    /// Bore at the mouth [m].
    pub mouth_diameter: f64,
}

/// A door as a rectangle that turns about its hinge.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReplayDoor {
    /// Name.
    pub name: String,
    /// Corners when shut [m]; the first two are the ends of the hinge line.
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
    /// The instant to show first [s].
    pub worst: f64,
    /// Cover under which the mouth is called thin [m].
    pub limit: f64,
    /// Frames in time order, evenly spaced.
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
    /// Whether the verdict counts the mouth as bare.
    pub bare: bool,
    /// Apparent gravity, pan frame [m/s²].
    pub gravity: [f64; 3],
    /// Opening angle of each door [rad].
    pub doors: Vec<f64>,
}

/// Why a replay cannot be written.
#[derive(Clone, Debug, PartialEq)]
pub enum ReplayFault {
    /// A list does not have the length that the cells or the doors ask for.
    WrongLength {
        /// Which list.
        what: &'static str,
        /// Its length.
        found: usize,
        /// The length due.
        due: usize,
    },
    /// A number that is none.
    NotANumber {
        /// Which.
        what: &'static str,
        /// In which moment, from 0.
        moment: usize,
    },
}

impl fmt::Display for ReplayFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReplayFault::WrongLength { what, found, due } => {
                write!(
                    f,
                    "the replay's {what} has {found} entries, {due} are due; this is a fault of the program"
                )
            }
            ReplayFault::NotANumber { what, moment } => {
                write!(
                    f,
                    "the replay's {what} in moment {} is not a number; this is a fault of the program",
                    moment + 1
                )
            }
        }
    }
}

impl std::error::Error for ReplayFault {}

impl ReplayBundle {
    /// A replay without moments: the page then has no replay section.
    pub fn empty() -> ReplayBundle {
        ReplayBundle {
            n: [0; 3],
            cell: 0.0,
            origin: [0.0; 3],
            open: Vec::new(),
            parts: Parts::default(),
            car_forward: [1.0, 0.0, 0.0],
            moments: Vec::new(),
            said: String::new(),
        }
    }

    /// Lengths and numbers agree.
    pub fn check(&self) -> Result<(), ReplayFault> {
        let due = |what, found, due| {
            if found == due {
                Ok(())
            } else {
                Err(ReplayFault::WrongLength { what, found, due })
            }
        };
        let cells = self.n.iter().product();
        due("open cells", self.open.len(), cells)?;
        for (moment, m) in self.moments.iter().enumerate() {
            for frame in &m.frames {
                due("fill", frame.fill.len(), cells)?;
                due("doors", frame.doors.len(), self.parts.doors.len())?;
                let finite = frame
                    .gravity
                    .iter()
                    .chain(&frame.doors)
                    .chain([&frame.time, &frame.cover]);
                if !finite.into_iter().all(|v| v.is_finite()) {
                    return Err(ReplayFault::NotANumber {
                        what: "time, cover, gravity or doors",
                        moment,
                    });
                }
            }
        }
        Ok(())
    }

    /// The data as the page's replay reads it (`web/src/wire/replay.ts` mirrors it).
    ///
    /// Fill is rounded to 16 levels and coded by [`code`]; everything else is plain numbers in SI.
    pub fn to_json(&self, order: UnitOrder) -> Result<String, ReplayFault> {
        self.check()?;
        // A cell so nearly metal that its level is 0 carries no oil here; the page goes by the same levels.
        let open = code::levels(&self.open, None);
        let inside: Vec<usize> = (0..open.len()).filter(|&c| open[c] > 0).collect();
        let open = code::base64(&code::pack(&[open]));
        let moments: Vec<Value> = self
            .moments
            .iter()
            .map(|m| {
                let frames: Vec<_> = m
                    .frames
                    .iter()
                    .map(|f| code::levels(&f.fill, Some(&inside)))
                    .collect();
                let all = |pick: &dyn Fn(&ReplayFrame) -> Vec<f64>, digits: i32| -> Vec<f64> {
                    m.frames
                        .iter()
                        .flat_map(pick)
                        .map(|v| rounded(v, digits))
                        .collect()
                };
                json!({
                    "name": m.name,
                    "place": m.place,
                    "worst": rounded(m.worst, 4),
                    "limit": rounded(m.limit, 6),
                    "times": all(&|f| vec![f.time], 4),
                    "cover": all(&|f| vec![f.cover], 6),
                    "bare": m.frames.iter().map(|f| u8::from(f.bare)).collect::<Vec<_>>(),
                    "gravity": all(&|f| f.gravity.to_vec(), 3),
                    "doors": all(&|f| f.doors.clone(), 4),
                    "fill": code::base64(&code::pack(&frames)),
                })
            })
            .collect();
        let plates: Vec<Value> = self
            .parts
            .plates
            .iter()
            .map(|(name, mesh)| {
                let mut value = mesh_json(mesh);
                value["name"] = json!(name);
                value
            })
            .collect();
        let doors: Vec<Value> = self
            .parts
            .doors
            .iter()
            .map(|d| {
                let corners: Vec<f64> = d.corners.iter().flatten().map(|v| rounded(*v, 5)).collect();
                json!({ "name": d.name, "corners": corners, "hinge": d.hinge.map(|v| rounded(v, 6)) })
            })
            .collect();
        let value = json!({
            "format": FORMAT,
            "units": match order { UnitOrder::MetricFirst => "metric", UnitOrder::InchFirst => "inch" },
            "n": self.n,
            "cell": self.cell,
            "origin": self.origin,
            "open": open,
            "shell": mesh_json(&self.parts.shell),
            "plates": plates,
            "doors": doors,
            "mouth": { "at": self.parts.mouth, "diameter": self.parts.mouth_diameter },
            "car_forward": self.car_forward,
            "moments": moments,
        });
        Ok(value.to_string())
    }
}

fn mesh_json(mesh: &Mesh) -> Value {
    json!({
        "points": mesh.points.iter().flatten().map(|v| rounded(*v, 5)).collect::<Vec<f64>>(),
        "triangles": mesh.triangles.iter().flatten().collect::<Vec<_>>(),
        "edges": mesh.edges.iter().flatten().collect::<Vec<_>>(),
    })
}

fn rounded(value: f64, digits: i32) -> f64 {
    let power = 10f64.powi(digits);
    (value * power).round() / power
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `readCells` of `web/src/wire/replay.ts` counts a cell as inside when its level of openness is above 0;
    /// frames must hold just as many levels, or the page cannot read them.
    #[test]
    fn frames_leave_out_cells_that_are_nearly_metal() {
        let bundle = ReplayBundle {
            n: [4, 1, 1],
            cell: 0.01,
            open: vec![0, 3, 128, 255],
            moments: vec![ReplayMoment {
                name: "m".into(),
                place: String::new(),
                worst: 0.0,
                limit: 0.01,
                frames: vec![ReplayFrame {
                    time: 0.0,
                    fill: vec![0, 255, 255, 255],
                    cover: 0.0,
                    bare: true,
                    gravity: [0.0, 0.0, -9.8],
                    doors: vec![],
                }],
            }],
            ..ReplayBundle::empty()
        };
        let json: Value =
            serde_json::from_str(&bundle.to_json(UnitOrder::MetricFirst).expect("sound")).expect("JSON");
        // Two cells at level 15: one token that adds 15 to two cells.
        assert_eq!(json["moments"][0]["fill"], code::base64(&[0x80 | 1 << 4 | 15]));
    }

    #[test]
    fn a_frame_of_another_length_or_with_a_number_that_is_none_is_refused() {
        let frame = |fill: Vec<u8>, cover: f64| ReplayFrame {
            time: 0.0,
            fill,
            cover,
            bare: false,
            gravity: [0.0, 0.0, -9.8],
            doors: vec![],
        };
        let with = |frame: ReplayFrame| ReplayBundle {
            n: [2, 1, 1],
            open: vec![255, 255],
            moments: vec![ReplayMoment {
                name: String::new(),
                place: String::new(),
                worst: 0.0,
                limit: 0.01,
                frames: vec![frame],
            }],
            ..ReplayBundle::empty()
        };
        assert!(with(frame(vec![0, 0], 0.0)).check().is_ok());
        let short = with(frame(vec![0], 0.0)).check();
        assert!(
            matches!(
                short,
                Err(ReplayFault::WrongLength {
                    what: "fill",
                    found: 1,
                    due: 2
                })
            ),
            "{short:?}"
        );
        let bad = with(frame(vec![0, 0], f64::NAN)).check();
        assert!(
            matches!(bad, Err(ReplayFault::NotANumber { moment: 0, .. })),
            "{bad:?}"
        );
    }
}
