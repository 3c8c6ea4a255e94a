//! What keeps a plate from being made flat.

use super::metal::Metal;
use glam::DVec2;

/// Why there is no flat pattern. Lengths in metres, places in plate coordinates.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SheetFault {
    /// A radius at which the metal cracks.
    #[error("an inside bend radius of {:.2} mm is under the least of {:.2} mm for {} of {:.2} mm: it cracks",
        radius * 1e3, least * 1e3, metal.word(), thickness * 1e3)]
    RadiusTooSmall {
        /// The metal.
        metal: Metal,
        /// Its thickness.
        thickness: f64,
        /// As stated.
        radius: f64,
        /// The least.
        least: f64,
    },
    /// Nothing of the plate lies in the cavity.
    #[error("nothing of it lies inside the cavity")]
    Outside,
    /// Faces of the flat lie on each other.
    #[error("it cannot be developed: laid flat, {one} and {other} lie on each other over {:.1} mm by {:.1} mm", size.x * 1e3, size.y * 1e3)]
    Overlaps {
        /// A face.
        one: String,
        /// Another.
        other: String,
        /// Size of the overlap.
        size: DVec2,
    },
    /// A fold that joins nothing.
    #[error("it cannot be developed: no metal joins {face} to the rest along its bend")]
    NoMetal {
        /// The face.
        face: String,
    },
    /// A bend so sharp that no metal is left between it and the next.
    #[error("{face} is {:.1} mm from the outside of its bend to its edge; the brake holds {:.1} mm or more", wide * 1e3, least * 1e3)]
    FlangeTooNarrow {
        /// The face.
        face: String,
        /// Outside width.
        wide: f64,
        /// The least.
        least: f64,
    },
    /// A hole or slot through a bend.
    #[error("a hole at {:.1} mm, {:.1} mm lies in a bend, which would tear it out of round", at.x * 1e3, at.y * 1e3)]
    HoleInBend {
        /// Its middle.
        at: DVec2,
    },
    /// A rivet too near an edge.
    #[error("a rivet of {:.1} mm would stand {:.1} mm from the edge of {face}; it wants {:.1} mm", diameter * 1e3, edge * 1e3, least * 1e3)]
    RivetNearEdge {
        /// The face or strip.
        face: String,
        /// Diameter.
        diameter: f64,
        /// Distance of its middle from the edge.
        edge: f64,
        /// The least.
        least: f64,
    },
    /// No straight edge for a tab.
    #[error("it has no straight edge of {:.0} mm or more at its {edge}, on which a tab could be bent", least * 1e3)]
    NoEdge {
        /// "start", "end", "bottom" or "top".
        edge: &'static str,
        /// Least length.
        least: f64,
    },
    /// A wall that turns back on itself.
    #[error("the wall turns by {:.0} degrees at a corner; a bend takes up to 150", angle.to_degrees())]
    TurnsBack {
        /// The turn [rad].
        angle: f64,
    },
    /// A flat pattern whose edges cross.
    #[error("its flat pattern is no clean outline: {0}")]
    Edges(String),
}

impl SheetFault {
    /// How to mend it.
    pub fn mend(&self) -> String {
        match self {
            // Rounded up, so that what is advised holds.
            SheetFault::RadiusTooSmall { least, .. } => format!(
                "state a radius of {:.1} mm or more, leave it out, or take a softer temper",
                (least * 1e4 - 1e-6).ceil() * 0.1
            ),
            SheetFault::Outside => "move the plate into the cavity, or leave it out with make = false".to_owned(),
            SheetFault::Overlaps { .. } => {
                "make it as two plates that meet, or take a tab away or narrow it".to_owned()
            }
            SheetFault::NoMetal { .. } => {
                "see that the faces on both sides of the corner reach it at one height, or make it as two plates".to_owned()
            }
            SheetFault::FlangeTooNarrow { .. } => {
                "make it wider; or state the opening of a narrower V die (shop.sheet.die); or make it as two plates that are welded"
                    .to_owned()
            }
            SheetFault::HoleInBend { .. } => {
                "move it clear of the corner, or make it a notch, which is cut before the bend".to_owned()
            }
            SheetFault::RivetNearEdge { .. } => "widen the tab or the leaf, or take a thinner rivet".to_owned(),
            SheetFault::NoEdge { .. } => "take that tab away, or let the plate end on a straight wall".to_owned(),
            SheetFault::TurnsBack { .. } => "make it as two plates that meet".to_owned(),
            SheetFault::Edges(_) => "move openings that touch each other or an edge apart, or let them overlap".to_owned(),
        }
    }
}
