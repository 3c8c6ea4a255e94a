//! The pan as a part, with walls: its flange, bolt holes and openings found, and the oil side made of its skin.
//!
//! The oil side is what lies under the flange plane inside the part's inner skin:
//!
//! ```text
//!      oo==cap at the flange plane==oo        o  bolt holes
//!   ___||                           ||___     =  flange
//!      ||     oil side              ||
//!      ||___________________________||
//!      |_____________  _____________|
//!                    ^^ drain hole: closed at its inner rim and told
//! ```
//!
//! 1. The flange is the flat ring at the top ([`flange`]). Its facets are taken out.
//! 2. What is left of the skin falls apart into inside and outside, but for holes through the wall. The shortest
//!    closed lines that part the two are the rims of those holes ([`openings`]); each is closed flat and told.
//! 3. The inside is turned to face outward, cut off at the flange plane, and capped there ([`oil_side`]).

pub mod flange;
mod flow;
mod frame;
mod oil_side;
mod openings;

pub use flange::{Flange, Hole, Leads};
pub use frame::{Front, Origin};
pub use openings::Opening;

use crate::fault::{Fault, length, place};
use crate::mesh::Mesh;
use crate::surface::Surface;
use glam::{DAffine3, DVec3};

/// What the user states about the part. Directions and places are in the axes of the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Stated {
    /// The way from the pan to the block.
    pub up: Option<DVec3>,
    /// A place on the flange's face [m].
    pub flange: Option<DVec3>,
    /// The way to the engine's front.
    pub front: Option<Front>,
    /// What is x = 0, y = 0 of the pan.
    pub origin: Option<Origin>,
    /// Widest hole through the wall that is closed [m].
    pub opening: f64,
    /// How far the flange's face may be off a plane [m].
    pub flat: f64,
}

impl Default for Stated {
    /// Holes up to 45 mm are closed: drain, level sender, dipstick tube, return hose; common practice, no source.
    fn default() -> Stated {
        Stated {
            up: None,
            flange: None,
            front: None,
            origin: None,
            opening: 45e-3,
            flat: 1e-4,
        }
    }
}

/// A pan part, understood.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its oil side: closed, in the pan's axes [m], the flange at z = 0.
    pub oil: Mesh,
    /// Volume of the oil side [m³].
    pub volume: f64,
    /// From the file's axes to the pan's.
    pub pan_from_file: DAffine3,
    /// The flange.
    pub flange: Flange,
    /// Holes through the wall that were closed, widest first; places in the pan's axes.
    pub openings: Vec<Opening>,
    /// How it was understood, one sentence each.
    pub said: Vec<String>,
}

/// Finds flange, holes and oil side.
pub fn understand(surface: &Surface, stated: &Stated) -> Result<Part, Fault> {
    let skin = Skin::new(surface.mesh());
    let found = flange::find(&skin, stated)?;
    let frame = frame::frame(&found, stated)?;
    let cut = openings::inside(&skin, &found, stated.opening)?;
    let oil = oil_side::closed(&skin, &cut, frame.pan_from_file)?;
    let volume = oil.volume();
    let mut said = Vec::new();
    let flange = found.flange(&skin, &frame.pan_from_file);
    said.push(format!(
        "the flange is the flat ring around {}, {} by {}, facing {} of the file",
        place(found.middle()),
        length(flange.length),
        length(flange.width),
        direction(found.normal)
    ));
    said.extend(frame.said.iter().cloned());
    let openings: Vec<Opening> = cut
        .openings
        .iter()
        .map(|o| o.moved(&frame.pan_from_file))
        .collect();
    for o in &openings {
        said.push(format!(
            "a hole through the wall, {} across at {}, was closed",
            length(o.across),
            place(o.at)
        ));
    }
    if surface.healed().shells - surface.healed().voids > 1 {
        said.push(format!(
            "the file holds {} bodies apart; only the skin that hangs together with the flange makes the oil side",
            surface.healed().shells
        ));
    }
    Ok(Part {
        oil,
        volume,
        pan_from_file: frame.pan_from_file,
        flange,
        openings,
        said,
    })
}

/// Whether a solid looks like a pan part: a flat ring on top with at least three bolt holes, or one round a hollow that
/// holds more than half as much as the solid itself.
pub fn looks_like_a_part(surface: &Surface) -> bool {
    let stated = Stated::default();
    let bolted = flange::find(&Skin::new(surface.mesh()), &stated).map(|found| found.bolts() >= 3);
    match bolted {
        Ok(true) => true,
        Ok(false) => understand(surface, &stated).is_ok_and(|part| part.volume > 0.5 * surface.volume()),
        Err(_) => false,
    }
}

/// A direction by its word: "+x", "-z", or "x" for "+x"; or three numbers, such as "0 0.6 0.8".
pub fn way(word: &str) -> Option<DVec3> {
    let numbers: Vec<f64> = word.split_whitespace().filter_map(|w| w.parse().ok()).collect();
    if let [x, y, z] = numbers[..] {
        return DVec3::new(x, y, z).try_normalize();
    }
    let (sign, axis) = match word.strip_prefix('-') {
        Some(axis) => (-1.0, axis),
        None => (1.0, word.strip_prefix('+').unwrap_or(word)),
    };
    let axis = match axis {
        "x" => DVec3::X,
        "y" => DVec3::Y,
        "z" => DVec3::Z,
        _ => return None,
    };
    Some(sign * axis)
}

/// The number of a hole by its words: "hole 7".
pub fn hole_number(words: &str) -> Option<usize> {
    words.strip_prefix("hole")?.trim().parse().ok().filter(|n| *n > 0)
}

/// A direction as a person reads it: "+z", or three numbers.
pub fn direction(d: DVec3) -> String {
    for (axis, name) in [(DVec3::X, "x"), (DVec3::Y, "y"), (DVec3::Z, "z")] {
        let along = d.dot(axis);
        if along.abs() > 1.0 - 1e-6 {
            return format!("{}{name}", if along > 0.0 { '+' } else { '-' });
        }
    }
    let [x, y, z] = d.to_array().map(|v| (v * 1e3).round() * 1e-3 + 0.0);
    format!("({x}, {y}, {z})")
}

/// A closed mesh with its neighbours.
pub(crate) struct Skin<'m> {
    pub mesh: &'m Mesh,
    pub mate: Vec<u32>,
}

impl<'m> Skin<'m> {
    fn new(mesh: &'m Mesh) -> Skin<'m> {
        let pairing = crate::edges::pair(mesh.points.len(), &mesh.triangles);
        Skin {
            mesh,
            mate: pairing.mate,
        }
    }

    /// The triangle on the other side of a side.
    pub fn beyond(&self, side: u32) -> u32 {
        self.mate[side as usize] / 3
    }

    /// The rim of some of the triangles as loops of sides, the triangles on the left.
    pub fn rims(&self, member: impl Fn(u32) -> bool) -> Vec<Vec<u32>> {
        let sides = 0..3 * self.mesh.triangles.len() as u32;
        let on_rim = |side: &u32| member(side / 3) && !member(self.beyond(*side));
        let mut used = std::collections::HashSet::new();
        let mut rims = Vec::new();
        for first in sides.filter(on_rim) {
            if !used.insert(first) {
                continue;
            }
            let (mut rim, mut side) = (Vec::new(), first);
            loop {
                rim.push(side);
                // Round the corner at the side's end, within the members, to the next rim side.
                side = crate::edges::next(side);
                while member(self.beyond(side)) {
                    side = crate::edges::next(self.mate[side as usize]);
                }
                if side == first || !used.insert(side) {
                    break;
                }
            }
            rims.push(rim);
        }
        rims
    }

    /// Corners that a rim starts each of its sides from.
    pub fn along(&self, rim: &[u32]) -> Vec<DVec3> {
        let from = |&side: &u32| crate::edges::ends(&self.mesh.triangles, side).0;
        rim.iter()
            .map(|side| self.mesh.points[from(side) as usize])
            .collect()
    }
}
