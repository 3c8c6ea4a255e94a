//! What a design says of its joint: flange, faces as measured, what seals, bolts.

use clearance::outside;
use glam::{DVec2, DVec3};
use pan::Cavity;
use seal::bolts::advice::Setup;
use seal::bolts::friction::Lubrication;
use seal::bolts::reach::Hole;
use seal::bolts::{Class, Friction, Head, Method, Thread};
use seal::flatness::{self, FlatnessFault, Line};
use seal::materials::{Metal, Sheet};

use crate::assembly::finished;
use crate::fault::Place;
use crate::section::Section;
use crate::sections::outline_file::Files;
use crate::sections::{face, seal as section};
use crate::surroundings::Clearances;

/// The joint of a design, in the pan's axes.
#[derive(Clone, Debug)]
pub struct Sealing {
    /// Outer edge of the flange: a closed polygon [m].
    pub outer: Vec<DVec2>,
    /// Its inner edge [m].
    pub inner: Vec<DVec2>,
    /// Thickness of the flange [m].
    pub thickness: f64,
    /// Height and thickness of the pan's wall where it bends with the flange [m].
    pub wall: Option<[f64; 2]>,
    /// The flange's metal.
    pub flange: Metal,
    /// The block's metal.
    pub block: Metal,
    /// Metal of the block behind its face that the joint squeezes [m]; none: it counts as stiff.
    pub backing: Option<f64>,
    /// Flatness asked of both faces together [m].
    pub target: f64,
    /// Temperatures: assembly, coldest, hottest [K].
    pub temperatures: [f64; 3],
    /// What seals.
    pub kind: JointKind,
    /// Bolts.
    pub bolts: BoltSet,
    /// The pan's face as measured.
    pub pan_face: Option<Face>,
    /// The block's face as measured, in the pan's axes in plan, heights out of the block.
    pub block_face: Option<Face>,
    /// Where the section begins.
    pub place: Place,
}

/// What seals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum JointKind {
    /// A cut sheet.
    Sheet {
        /// Of what.
        sheet: Sheet,
        /// Free thickness [m].
        thickness: f64,
        /// Width across the rail [m]; the rail's when not stated.
        width: Option<f64>,
        /// Least pressure that seals [Pa].
        need: f64,
    },
    /// Liquid sealant between metal faces.
    Sealant {
        /// Widest opening that it bridges [m].
        bridges: f64,
    },
    /// A cord in a groove, or a moulded bead with stops.
    Bead {
        /// Free height: a cord's diameter [m].
        height: f64,
        /// How much of it is squeezed with the faces together [m].
        squeeze: f64,
        /// Share of the height that has to be squeezed.
        least: f64,
        /// Young's modulus of the rubber [Pa].
        modulus: f64,
        /// Widest opening of the faces [m].
        bridges: f64,
    },
}

/// The bolts.
#[derive(Clone, Debug)]
pub struct BoltSet {
    /// Places in plan, in the order of the design [m].
    pub at: Vec<DVec2>,
    /// Thread.
    pub thread: Thread,
    /// Class.
    pub class: Class,
    /// Ring under the head.
    pub head: Head,
    /// Length under the head [m].
    pub length: f64,
    /// Washers under the head [m].
    pub washer: f64,
    /// The hole, where stated.
    pub hole: Option<Hole>,
    /// Engagement as stated [m].
    pub engagement: Option<f64>,
    /// On thread and head.
    pub lubrication: Lubrication,
    /// Friction counted with.
    pub friction: Friction,
    /// True when the friction was measured and stated.
    pub friction_stated: bool,
    /// How they are tightened.
    pub method: Method,
    /// Torque stated [N·m].
    pub torque: Option<f64>,
    /// Where the section begins.
    pub place: Place,
}

/// A face as measured.
#[derive(Clone, Debug)]
pub struct Face {
    /// Points, heights out of the metal [m]; of straight-edge lines that fix the face, those.
    pub points: Vec<DVec3>,
    /// Straight-edge lines as read; empty when points were measured.
    pub lines: Vec<Line>,
    /// Where it is stated.
    pub place: Place,
}

impl Sealing {
    /// The setup of one bolt, with its share of a sheet [m²] when there is one.
    pub fn setup(&self, sheet_area: Option<f64>) -> Setup {
        use seal::bolts::advice::Layer;
        let b = &self.bolts;
        let layer = match (self.kind, sheet_area) {
            (
                JointKind::Sheet {
                    sheet,
                    thickness,
                    need,
                    ..
                },
                Some(area),
            ) => Some(Layer::of(&sheet, area, thickness, need)),
            _ => None,
        };
        let mean_width = self.mean_width();
        let clamped = self.thickness + b.washer;
        // A stated engagement is thread so deep; whether it bottoms is then the user's to know.
        let hole = b.hole.or(b.engagement.map(|engaged| Hole {
            thread_depth: engaged,
            recess: 0.0,
            blind: false,
        }));
        Setup {
            thread: b.thread,
            class: b.class,
            head: b.head,
            length: b.length,
            clamped,
            width: mean_width,
            flange: self.flange,
            tapped: self.block,
            hole,
            friction: b.friction,
            method: b.method,
            torque: b.torque,
            layer,
            temperatures: self.temperatures,
        }
    }

    /// Mean width of the rail [m]: its area over the mean of its edges.
    pub fn mean_width(&self) -> f64 {
        let area = |l: &[DVec2]| {
            let n = l.len();
            0.5 * (0..n).map(|i| l[i].perp_dot(l[(i + 1) % n])).sum::<f64>()
        };
        let around = |l: &[DVec2]| {
            let n = l.len();
            (0..n).map(|i| l[i].distance(l[(i + 1) % n])).sum::<f64>()
        };
        (area(&self.outer).abs() - area(&self.inner).abs())
            / (0.5 * (around(&self.outer) + around(&self.inner)))
    }
}

/// `None` outside: something is wrong, and a fault stands on the desk; inside: no joint is described.
pub(crate) fn read(
    top: &Section,
    files: &Files,
    cavity: Option<&Cavity>,
    clearances: Option<&Clearances>,
) -> Option<Option<Sealing>> {
    let Some(seal) = top.below("seal") else {
        return Some(None);
    };
    let read = sealing(&seal, files, cavity, clearances);
    seal.finish();
    read.map(Some)
}

fn sealing(
    seal: &Section,
    files: &Files,
    cavity: Option<&Cavity>,
    clearances: Option<&Clearances>,
) -> Option<Sealing> {
    let outside = clearances.map(|c| &c.surroundings.outside);
    let target = section::target(seal);
    let temperatures = section::temperatures(seal);
    let rail = finished(Some(seal.below_or_empty("flange")), |s| {
        section::flange(s, files, outside)
    });
    let block = finished(
        seal.required_below("block", "metal = \"cast aluminium\""),
        section::block,
    );
    let kind = finished(seal.required_below("joint", "kind = \"sealant\""), section::joint);
    let bolts_section = seal.required_below("bolts", "thread = \"M6\" and length");
    let mut bolts = bolts_section
        .as_ref()
        .and_then(|s| section::bolts(s, outside.map(|o| o.bolts.as_slice())));
    let edges = rail
        .as_ref()
        .zip(cavity)
        .and_then(|(rail, cavity)| edges(seal, cavity, &rail.plan));
    let mut fits = true;
    if let (Some(s), Some(bolts)) = (&bolts_section, &mut bolts) {
        if let Some((outer, inner)) = &edges {
            section::on_flange(s, &bolts.at, outer, inner);
        }
        bolts.hole = block.as_ref().and_then(|b| b.hole);
        if let (Some(rail), Some(kind)) = (&rail, &kind) {
            let gasket = match kind {
                JointKind::Sheet { thickness, .. } => *thickness,
                _ => 0.0,
            };
            fits = section::long_enough(s, bolts, rail.plan.thickness + bolts.washer + gasket);
        }
    }
    if let Some(s) = bolts_section {
        s.finish();
    }
    let measured = |key: &'static str| match seal.below(key) {
        None => Some(None),
        Some(inside) => {
            let read = face::read(&inside, files).and_then(|mut read| {
                let on = match &edges {
                    Some((outer, inner)) => face::on_flange(&inside, &mut read, outer, inner),
                    None => true,
                };
                (on && sound(&inside, &read)).then_some(read)
            });
            inside.finish();
            read.map(|r| Some(r.face))
        }
    };
    let (pan_face, block_face) = (measured("pan_face"), measured("block_face"));
    let (outer, inner) = edges?;
    let rail = rail?;
    let block = block?;
    fits.then_some(())?;
    Some(Sealing {
        outer,
        inner,
        thickness: rail.plan.thickness,
        wall: rail.wall,
        flange: rail.metal,
        block: block.metal,
        backing: block.backing,
        target: target?,
        temperatures: temperatures?,
        kind: kind?,
        bolts: bolts?,
        pan_face: pan_face?,
        block_face: block_face?,
        place: seal.place.clone(),
    })
}

/// Outer and inner edge of the flange.
fn edges(seal: &Section, cavity: &Cavity, plan: &outside::Flange) -> Option<(Vec<DVec2>, Vec<DVec2>)> {
    let region = outside::flange_plan(cavity, plan);
    let mut loops: Vec<Vec<DVec2>> = region.loops().cloned().collect();
    let size = |l: &[DVec2]| {
        let n = l.len();
        (0.5 * (0..n).map(|i| l[i].perp_dot(l[(i + 1) % n])).sum::<f64>()).abs()
    };
    loops.sort_by(|a, b| size(b).total_cmp(&size(a)));
    if let [outer, inner] = &loops[..] {
        return Some((outer.clone(), inner.clone()));
    }
    let what = match loops.len() {
        0 => "the flange has no face".to_owned(),
        1 => "the flange is no ring: its outer edge meets the cavity's edge".to_owned(),
        n => format!("the flange is in pieces: its edges are {n} closed lines where two are due"),
    };
    let mend = "give [seal.flange] an outline that goes round the cavity's edge, or a width".to_owned();
    seal.fault("flange", "flange", what, mend);
    None
}

/// Whether the points have a flatness.
fn sound(section: &Section, read: &face::Read) -> bool {
    if !read.face.lines.is_empty() && read.face.points.is_empty() {
        return true; // Lines that do not fix the face still have their straightness.
    }
    let Err(fault) = flatness::checked(&read.face.points) else {
        return true;
    };
    let length = |v: f64| section.show(v, measure::Dimension::Length);
    let (at, what, mend) = match fault {
        FlatnessFault::TooFew(n) => (
            None,
            format!("{n} points were measured: through any three a plane goes"),
            "measure at every bolt and midway between bolts".to_owned(),
        ),
        FlatnessFault::TooMany(n) => (
            None,
            format!(
                "{n} points were measured, and {} are read at most",
                flatness::MOST_POINTS
            ),
            "thin the table out, a point each few millimetres will do".to_owned(),
        ),
        FlatnessFault::NoNumber(i) => (
            Some(i),
            format!("point {} is no number", i + 1),
            "write it again".to_owned(),
        ),
        FlatnessFault::SamePlace(i, j) => (
            Some(j),
            format!(
                "point {} was measured twice: it lies where point {} does",
                j + 1,
                i + 1
            ),
            "keep the reading that you trust; a second reading tells how well you repeat".to_owned(),
        ),
        FlatnessFault::OneLine { length: l, width } => (
            None,
            format!(
                "all points lie along one line {} long, in a strip {} wide, so the tilt across it is not known",
                length(l),
                length(width)
            ),
            "measure round the whole flange, or give straight-edge readings under lines".to_owned(),
        ),
    };
    read.fault(section, at, what, mend);
    false
}
