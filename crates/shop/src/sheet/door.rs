//! Doors: the flap, the rows that hold its hinge, the strip that stops it.
//!
//! ```text
//!   plate ──●──┬═╤═══════════════ flap, laid on the plate over its opening
//!          row │ pin   row                                        overlap
//!         leaf │ leaf │   opening                            │◄────►│
//! ```
//! The hinge is a strip that is bought (piano hinge): its pin lies over the opening's edge, where the model has it, one
//! leaf on the plate, one on the flap, each with a row of rivets. The stop is a strip under the plate's leaf, bent so that
//! its finger lies along the open flap. Sizes that no rule gives are common practice, no source.

use super::blank::{self, Blank, Cut};
use super::fasten::{Rivet, row};
use super::fault::SheetFault;
use super::flat::develop;
use super::part::{Face, Fold, Part};
use super::plate::{Bent, Work};
use glam::{DAffine3, DMat3, DVec2};
use outline::Closed;
use pan::{Door, Hinge, Opening, Pan, Region};

/// What holds doors. Lengths in metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hanging {
    /// How far the flap lies over the plate on the three sides without hinge.
    pub overlap: f64,
    /// Width of a hinge leaf from the pin's middle to its edge.
    pub leaf: f64,
    /// Rivets of the hinge.
    pub rivet: Rivet,
}

/// From the pin's middle to the flap's edge [m].
const AT_PIN: f64 = 1e-3;
/// Widest finger of a stop, and the strip's width [m].
const FINGER: f64 = 20e-3;
const STRIP: f64 = 15e-3;
/// A flap longer than this along its hinge has two stops [m].
const LONG_FLAP: f64 = 120e-3;

impl Hanging {
    /// From the pin to the row of rivets [m]: their edge distance from the leaf's edge.
    fn row(&self) -> f64 {
        self.leaf - self.rivet.least_edge()
    }

    /// Whether its leaf has room for the rivets.
    ///
    /// # Errors
    /// A leaf so narrow that a rivet would stand too near the flap's edge at the pin.
    pub fn checked(&self) -> Result<(), SheetFault> {
        let edge = self.row() - AT_PIN;
        if edge < self.rivet.least_edge() - 1e-9 {
            return Err(SheetFault::RivetNearEdge {
                face: format!("the flap under a hinge leaf of {:.1} mm", self.leaf * 1e3),
                diameter: self.rivet.diameter,
                edge,
                least: self.rivet.least_edge(),
            });
        }
        Ok(())
    }

    /// Places of the rivets along the hinge from its middle [m].
    fn along(&self, width: f64) -> Vec<f64> {
        let end = 0.5 * width - self.rivet.least_edge();
        row(-end, end, self.rivet.pitch().1, self.rivet.pitch().0)
    }
}

/// A door in the plane of its plate: the middle of its hinge, the way to the free edge, sizes.
struct Placed {
    at: DVec2,
    reach: DVec2,
    length: f64,
    width: f64,
}

fn placed(door: &Door) -> Placed {
    let (low, high) = door.corners();
    let (middle, size) = (0.5 * (low + high), high - low);
    let (at, reach) = match door.hinge {
        Hinge::Start => (DVec2::new(low.x, middle.y), DVec2::X),
        Hinge::End => (DVec2::new(high.x, middle.y), DVec2::NEG_X),
        Hinge::Bottom => (DVec2::new(middle.x, low.y), DVec2::Y),
        Hinge::Top => (DVec2::new(middle.x, high.y), DVec2::NEG_Y),
    };
    let (length, width) = if reach.x == 0.0 {
        (size.y, size.x)
    } else {
        (size.x, size.y)
    };
    Placed {
        at,
        reach,
        length,
        width,
    }
}

/// What a door cuts out of its plate: its opening and the holes of its hinge, in plate coordinates.
pub fn openings(door: &Door, hanging: &Hanging) -> Vec<Opening> {
    let (low, high) = door.corners();
    let p = placed(door);
    let mut all = vec![Opening::Notch { low, high }];
    let back = p.at - p.reach * hanging.row();
    for s in hanging.along(p.width) {
        all.push(Opening::Hole {
            at: back + p.reach.perp() * s,
            diameter: hanging.rivet.hole(),
        });
    }
    all
}

/// Thickness of the flap that the design's mass comes to [m], to the next tenth of a millimetre.
pub fn flap_thickness(door: &Door) -> f64 {
    let thickness = door.mass / (door.density * door.area()).max(f64::MIN_POSITIVE);
    (thickness * 1e4).round().max(1.0) * 1e-4
}

/// The flap of a door, seen from the side to which it opens, hinge up.
///
/// # Errors
/// As [`Hanging::checked`].
pub fn flap(door: &Door, hanging: &Hanging, work: &Work) -> Result<Blank, SheetFault> {
    hanging.checked()?;
    let p = placed(door);
    let half = 0.5 * p.width + hanging.overlap;
    let region = Region::rectangle(
        DVec2::new(-half, -p.length - hanging.overlap),
        DVec2::new(half, -AT_PIN),
    );
    let holes = hanging
        .along(p.width)
        .into_iter()
        .map(|s| DVec2::new(s, -hanging.row()));
    let mut blank = flat_piece(
        &format!("{} flap", door.name),
        region,
        holes,
        hanging,
        work,
        &mut Vec::new(),
    )?;
    blank.kind = "door";
    blank.notes.push(format!(
        "lies on the plate with {:.1} mm over the opening on three sides; its hinge edge stands {:.1} mm from the pin",
        hanging.overlap * 1e3,
        AT_PIN * 1e3
    ));
    blank.notes.push(format!(
        "weighs {:.1} g without the hinge's leaf; the design reckons with {:.1} g",
        blank.mass * 1e3,
        door.mass * 1e3
    ));
    Ok(blank)
}

/// The strip that stops a door: its foot lies under the hinge's leaf on the plate, its finger along the open flap.
///
/// # Errors
/// A foot or finger that the brake cannot hold, a radius at which the metal cracks.
pub fn stop(door: &Door, hanging: &Hanging, work: &Work) -> Result<Blank, SheetFault> {
    let p = placed(door);
    let bend = work.bend(door.stop)?;
    let finger = (0.6 * p.length).min(FINGER).max(work.least_flange(&bend));
    // Centred on a rivet of the hinge, wide enough to hold it by its rule.
    let half = 0.5 * STRIP.max(2.0 * hanging.rivet.least_edge());
    let foot = Region::rectangle(DVec2::new(-half, 0.0), DVec2::new(half, hanging.leaf));
    let fold = Fold {
        parent: 0,
        origin: DVec2::ZERO,
        along: DVec2::NEG_X,
        bend,
        up: true,
    };
    let wide = finger - 0.5 * work.thickness * (0.5 * bend.angle).tan();
    let mut faces = vec![Face {
        name: "finger".into(),
        region: Region::rectangle(DVec2::new(-half, -wide), DVec2::new(half, 0.0)),
        fold: Some(fold),
    }];
    let holes = [DVec2::new(0.0, hanging.row())].into_iter();
    let mut blank = flat_piece(
        &format!("{} stop", door.name),
        foot,
        holes,
        hanging,
        work,
        &mut faces,
    )?;
    // A long flap would twist on one.
    blank.count = if p.width > LONG_FLAP { 2 } else { 1 };
    blank.kind = "stop";
    blank.notes.push(format!(
        "foot between plate and hinge leaf, on the rivet nearest the middle (two: nearest the thirds); the finger stands {:.0}° over the opening and the open flap lies on it",
        door.stop.to_degrees()
    ));
    Ok(blank)
}

fn flat_piece(
    name: &str,
    region: Region,
    holes: impl Iterator<Item = DVec2>,
    hanging: &Hanging,
    work: &Work,
    more: &mut Vec<Face>,
) -> Result<Blank, SheetFault> {
    let mut part = Part {
        name: name.to_owned(),
        thickness: work.thickness,
        faces: vec![Face {
            name: "foot".to_owned(),
            region,
            fold: None,
        }],
        first: DAffine3::from_mat3(DMat3::IDENTITY),
    };
    part.faces.append(more);
    let cut = |at: DVec2| Cut {
        shape: Closed::circle(at, 0.5 * hanging.rivet.hole()),
        face: Some(0),
        edge: Some(hanging.rivet.least_edge()),
    };
    let bent = Bent {
        part,
        cuts: holes.map(cut).collect(),
        notes: Vec::new(),
        warnings: Vec::new(),
    };
    let flat = develop(&bent.part)?;
    blank::finish(&bent, &flat, work)
}

/// Whether anything of a plate lies where a door's hinge row goes: openings of the plate or of other doors, by name.
pub fn row_is_free(pan: &Pan, door: &Door, hanging: &Hanging) -> bool {
    let rows: Vec<Region> = openings(door, hanging)[1..].iter().map(Opening::region).collect();
    let rows = Region::union_of(&rows).outset(hanging.rivet.diameter, true, 1e-5);
    let plate = &pan.plates[door.plate];
    let others = pan
        .doors
        .iter()
        .filter(|d| d.plate == door.plate && d.name != door.name);
    let windows = others.map(|d| Region::rectangle(d.corners().0, d.corners().1));
    let own = plate.openings.iter().map(Opening::region);
    windows.chain(own).all(|r| r.intersection(&rows).is_empty())
}
