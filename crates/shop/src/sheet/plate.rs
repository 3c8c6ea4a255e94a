//! A plate of a pan as a bent part and its blank.

use super::bend::Bend;
use super::blank::{self, Blank, Cut};
use super::fasten::Fasten;
use super::fault::SheetFault;
use super::flat::develop;
use super::metal::Metal;
use super::part::{Face, Fold, Part};
use super::tab::{self, Ground};
use super::trim::{Trimmed, trimmed};
use glam::{DAffine3, DVec2, DVec3};
use pan::panel::Panel;
use pan::{Opening, Pan, Plate, PlateShape, Region};
use serde::Serialize;

/// Sharpest turn of a wall that is bent [rad].
const SHARPEST: f64 = 150.0 / 180.0 * std::f64::consts::PI;

/// An edge of a plate, in plate coordinates.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Edge {
    /// Of least first coordinate.
    Start,
    /// Of greatest first coordinate.
    End,
    /// Of least second coordinate.
    Bottom,
    /// Of greatest second coordinate.
    Top,
}

impl Edge {
    /// All edges with the word a design says them by.
    pub const ALL: [(&'static str, Edge); 4] = [
        ("start", Edge::Start),
        ("end", Edge::End),
        ("bottom", Edge::Bottom),
        ("top", Edge::Top),
    ];

    /// The word a design says it by.
    pub fn word(self) -> &'static str {
        Edge::ALL
            .iter()
            .find(|(_, e)| *e == self)
            .map_or("", |(word, _)| word)
    }

    /// Unit vector out of the plate, in plate coordinates.
    pub fn way(self) -> DVec2 {
        match self {
            Edge::Start => DVec2::NEG_X,
            Edge::End => DVec2::X,
            Edge::Bottom => DVec2::NEG_Y,
            Edge::Top => DVec2::Y,
        }
    }
}

/// How a plate is made. Lengths in metres.
#[derive(Clone, Debug, PartialEq)]
pub struct Work {
    /// Its metal.
    pub metal: Metal,
    /// Its thickness.
    pub thickness: f64,
    /// Inside radius of its bends; the metal's usual one when `None`.
    pub radius: Option<f64>,
    /// Left between its edges and what they meet.
    pub gap: f64,
    /// Opening of the brake's V die, when known.
    pub die: Option<f64>,
    /// Edges that carry a tab.
    pub tabs: Vec<Edge>,
    /// Width of a tab, outside.
    pub tab: f64,
    /// True when tabs turn to the plate's positive side.
    pub tabs_positive: bool,
    /// What holds the tabs.
    pub fasten: Fasten,
    /// Least distance of a hinge's rivets from an edge.
    pub rivet_edge: f64,
}

impl Work {
    /// A bend of this metal.
    ///
    /// # Errors
    /// A stated radius at which it cracks.
    pub fn bend(&self, angle: f64) -> Result<Bend, SheetFault> {
        let radius = self
            .radius
            .unwrap_or_else(|| self.metal.usual_radius(self.thickness));
        let least = self.metal.least_radius(self.thickness).0;
        if radius < least - 1e-9 {
            return Err(SheetFault::RadiusTooSmall {
                metal: self.metal,
                thickness: self.thickness,
                radius,
                least,
            });
        }
        Ok(Bend {
            angle,
            radius,
            thickness: self.thickness,
            k: self.metal.k(radius, self.thickness).0,
        })
    }

    /// Least outside width of a leg that the brake holds [m]: half the die's opening behind the bend's middle line, or
    /// 4 T + R when the die is not known (common practice, no source).
    pub fn least_flange(&self, bend: &Bend) -> f64 {
        match self.die {
            Some(opening) => 0.5 * opening + 0.5 * bend.deduction(),
            None => 4.0 * self.thickness + bend.radius,
        }
    }
}

/// The bent part that a plate of the pan is, cut to size, with what is cut out of it and what a person should know.
#[derive(Clone, Debug)]
pub struct Bent {
    /// The part.
    pub part: Part,
    /// Round-ended openings, in the sharp plane; square ones are out of the faces.
    pub cuts: Vec<Cut>,
    /// What a person should know.
    pub notes: Vec<String>,
    /// What looks wrong, with its mend.
    pub warnings: Vec<(String, String)>,
}

/// Plate `index` of the pan as a bent part. `more` are openings beside the plate's own, in plate coordinates: those of
/// its doors and what holds their hinges.
///
/// # Errors
/// Whatever keeps it from being made so.
pub fn bent(pan: &Pan, index: usize, work: &Work, more: &[Opening]) -> Result<Bent, SheetFault> {
    let plate = &pan.plates[index];
    let panels = plate.panels();
    let sizes: Vec<Trimmed> = panels.iter().map(|p| trimmed(pan, index, p, work)).collect();
    if panels.is_empty() || sizes.iter().any(|t| t.region.is_empty()) {
        return Err(SheetFault::Outside);
    }
    let mut notes: Vec<String> = sizes.iter().flat_map(|t| t.notes.clone()).collect();
    notes.dedup();
    // Square openings are cut out of the faces before all else: where they reach a bend, the bend is shorter.
    let square = more
        .iter()
        .chain(&plate.openings)
        .filter(|o| matches!(o, Opening::Notch { .. }));
    let square: Vec<Region> = square.map(Opening::region).collect();
    let square = Region::union_of(&square);
    let faces = chain(plate, &panels, work)?;
    let mut part = Part {
        name: plate.name.clone(),
        thickness: work.thickness,
        faces: Vec::new(),
        first: into_pan(&panels[0]),
    };
    for (i, (mut face, size)) in faces.into_iter().zip(&sizes).enumerate() {
        face.region = size.region.difference(&square);
        if face.region.is_empty() {
            return Err(SheetFault::Outside);
        }
        if panels.len() > 1 {
            face.name = format!("leg {}", i + 1);
        }
        part.faces.push(face);
    }
    let mut cuts = blank::round_cuts(plate, more, work.rivet_edge);
    let ground = Ground {
        pan,
        panels: &panels,
        sizes: &sizes,
        up: work.tabs_positive == (reader(&panels[0]).dot(panels[0].normal) > 0.0),
    };
    tab::add(&mut part, &ground, work, &mut cuts, &mut notes)?;
    Ok(Bent {
        part,
        cuts,
        notes,
        warnings: Vec::new(),
    })
}

/// The blank of plate `index`; `more` as for [`bent`].
///
/// # Errors
/// Whatever keeps it from being made so.
pub fn blank(pan: &Pan, index: usize, work: &Work, more: &[Opening]) -> Result<Blank, SheetFault> {
    let plate = &pan.plates[index];
    let bent = bent(pan, index, work, more)?;
    let flat = develop(&bent.part)?;
    let mut blank = blank::finish(&bent, &flat, work)?;
    blank.seen_from = seen_from(bent.part.first.transform_vector3(DVec3::Z));
    blank.kind = match plate.shape {
        PlateShape::Wall { .. } => "wall",
        PlateShape::Shelf { .. } => "shelf",
        PlateShape::Sheet { .. } => "sheet",
    };
    if plate.perforation > 0.0 {
        blank.perforate(plate.perforation, plate.perforation_hole);
    }
    Ok(blank)
}

/// From where someone sees the side that is up in the flat, in the pan's words.
fn seen_from(out: DVec3) -> &'static str {
    let ways = [
        (DVec3::X, "the front"),
        (DVec3::NEG_X, "the rear"),
        (DVec3::Y, "the left"),
        (DVec3::NEG_Y, "the right"),
        (DVec3::Z, "above"),
        (DVec3::NEG_Z, "below"),
    ];
    let best = ways.iter().max_by(|a, b| a.0.dot(out).total_cmp(&b.0.dot(out)));
    best.map_or("", |(_, word)| word)
}

/// Unit vector out of the flat toward the reader. A wall's plate coordinates run to the right and up for someone who
/// looks at its negative side.
fn reader(panel: &Panel) -> DVec3 {
    panel.u.cross(panel.v)
}

/// From a panel's plane into the pan.
fn into_pan(panel: &Panel) -> DAffine3 {
    DAffine3 {
        matrix3: glam::DMat3::from_cols(panel.u, panel.v, reader(panel)),
        translation: panel.origin,
    }
}

/// The panels as faces with the folds between them; their regions are still empty.
fn chain(plate: &Plate, panels: &[Panel], work: &Work) -> Result<Vec<Face>, SheetFault> {
    let mut faces: Vec<Face> = Vec::new();
    for (i, panel) in panels.iter().enumerate() {
        let mut fold = None;
        if i > 0 {
            let before = panels[i - 1].u;
            let angle = before.dot(panel.u).clamp(-1.0, 1.0).acos();
            if angle > SHARPEST {
                return Err(SheetFault::TurnsBack { angle });
            }
            // Where the panel before ends along the path.
            let at = panel.outline.bounds().map_or(0.0, |(low, _)| low.x);
            // Legs in one line are one face in all but name: a bend of next to nothing is a plain joint.
            let bend = work.bend(angle.max(1e-6))?;
            fold = Some(Fold {
                parent: i - 1,
                origin: DVec2::new(at, 0.0),
                along: DVec2::NEG_Y,
                bend,
                up: panel.u.dot(reader(&panels[i - 1])) > 0.0,
            });
        }
        faces.push(Face {
            name: plate.name.clone(),
            region: Region::default(),
            fold,
        });
    }
    Ok(faces)
}
