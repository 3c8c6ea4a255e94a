//! `[[keep_out]]`: bodies round the pan and inside it.

use std::path::Path;

use clearance::body::{block, tube};
use clearance::survey::{Around, Kind, Within};
use clearance::{Body, HalfSpace, Piece, Road, Swing};
use glam::{DMat3, DVec3};
use measure::Dimension::{Angle, Length};
use pan::mesh::ClosedMesh;
use solid::Unit;

use super::shapes;
use crate::design::ReadFile;
use crate::fault::{Fault, Place};
use crate::section::{Bounds, Section};
use crate::sources::{MESH_LIMIT, Sources, within};

/// Nothing that the pan could touch lies farther from its origin than this [m].
const FARTHEST: f64 = 10.0;
/// Most facets of a scan: more are no better for a gap, and would not fit into memory beside the rest.
const MOST_FACETS: usize = 4_000_000;
/// Ways to say where a body is.
const SHAPES: [&str; 7] = ["box", "cylinder", "tube", "plane", "road", "swing", "mesh"];

/// What a keep-out was read as.
pub(crate) enum KeepOut {
    Around(Around),
    Within(Within),
}

/// What reading needs beside the section.
pub(crate) struct Context<'a> {
    pub root: &'a Path,
    pub sources: &'a Sources,
    pub pan_from_car: DMat3,
}

/// All keep-outs with where each is stated; `None` when one is wrong.
pub(crate) fn read(
    top: &Section,
    context: &Context,
    files: &mut Vec<ReadFile>,
) -> Option<Vec<(KeepOut, Place)>> {
    let mut all = Vec::new();
    let mut sound = true;
    for (name, section) in top.parts("keep_out") {
        let place = section.place.clone();
        let read = keep_out(&name, &section, context, files);
        section.finish();
        match read {
            Some(one) => all.push((one, place)),
            None => sound = false,
        }
    }
    sound.then_some(all)
}

fn keep_out(name: &str, section: &Section, context: &Context, files: &mut Vec<ReadFile>) -> Option<KeepOut> {
    let inside = section.truth_or("inside", false, "outside the pan unless stated");
    let on_engine = section.truth_or("on_engine", false, "fixed to the car unless stated");
    let shape = section.one_of(&SHAPES, "box = { low = [...], high = [...] }");
    let kind = kind(section, shape);
    let wanted = section.quantity_or(
        "gap",
        Length,
        Bounds::within(0.0, 0.5),
        usual_gap(kind.unwrap_or(Kind::Fixed), inside == Some(true)),
        gap_reason(kind.unwrap_or(Kind::Fixed), inside == Some(true)),
    );
    let car = section.choice(
        "axes",
        &[("pan", false), ("car", true)],
        Some(("pan", "in the pan's axes unless stated")),
    );
    let body = shape.and_then(|shape| body(name, section, shape, context, files));
    let travel = if section.has("travel") {
        section.point3("travel")
    } else {
        Some(DVec3::ZERO)
    };
    let turn = if car? {
        context.pan_from_car
    } else {
        DMat3::IDENTITY
    };
    let body = body?.swept(travel?);
    // The road is level by itself, whatever axes the rest is measured in.
    let body = if shape == Some("road") {
        body
    } else {
        body.moved(turn, DVec3::ZERO)
    };
    if !near_enough(section, shape?, &body) {
        return None;
    }
    if inside? {
        if matches!(shape, Some("road" | "plane")) {
            let what = format!("a {} has no end and cannot lie inside the pan", shape?);
            let mend = "leave out inside, or give the body a size".to_owned();
            section.fault("inside", "inside", what, mend);
            return None;
        }
        return Some(KeepOut::Within(Within {
            body,
            wanted: wanted?,
            turns: kind? == Kind::Moving,
        }));
    }
    Some(KeepOut::Around(Around {
        body,
        kind: kind?,
        wanted: wanted?,
        on_engine: on_engine?,
    }))
}

fn kind(section: &Section, shape: Option<&str>) -> Option<Kind> {
    if shape == Some("road") {
        if section.has("kind") {
            let what = "the road is a kind of its own".to_owned();
            section.fault("stated-twice", "kind", what, "leave out kind".to_owned());
            return None;
        }
        return Some(Kind::Road);
    }
    section.choice(
        "kind",
        &[
            ("fixed", Kind::Fixed),
            ("moving", Kind::Moving),
            ("hot", Kind::Hot),
        ],
        Some(("fixed", "stands still in the car unless stated")),
    )
}

/// Gap wanted when none is stated [m].
fn usual_gap(kind: Kind, inside: bool) -> f64 {
    match kind {
        _ if inside => 3e-3,
        Kind::Fixed => 6e-3,
        Kind::Moving => 10e-3,
        Kind::Hot => 25e-3,
        Kind::Road => 20e-3,
    }
}

fn gap_reason(kind: Kind, inside: bool) -> &'static str {
    match kind {
        _ if inside => "3 mm (1/8 in) beside what turns or could be hooked on; common practice, no source",
        Kind::Fixed => "6 mm (1/4 in) to what stands still; common practice, no source",
        Kind::Moving => {
            "10 mm (3/8 in) to steering and suspension at the end of their travel; common practice, no source"
        }
        Kind::Hot => "25 mm (1 in) to a header, for heat; common practice, no source",
        Kind::Road => "20 mm (3/4 in) at full bump; common practice, no source",
    }
}

fn body(
    name: &str,
    section: &Section,
    shape: &'static str,
    context: &Context,
    files: &mut Vec<ReadFile>,
) -> Option<Body> {
    if shape == "plane" || shape == "road" || shape == "mesh" {
        let inside = section.below(shape)?;
        let body = match shape {
            "plane" => plane(name, &inside),
            "road" => road(name, &inside, context.pan_from_car),
            _ => mesh(name, &inside, context, files),
        };
        inside.finish();
        return body;
    }
    let inside = section.below(shape)?;
    let pieces = match shape {
        "box" => boxed(&inside),
        "cylinder" => cylinder(&inside),
        "tube" => pipe(&inside),
        _ => swing(&inside),
    };
    inside.finish();
    Some(Body::solid(name, pieces?))
}

fn boxed(section: &Section) -> Option<Vec<Piece>> {
    let (low, high) = (section.point3("low"), section.point3("high"));
    let (low, high) = (low?, high?);
    if !low.cmplt(high).all() {
        let what = "the box has no size: low is not below high in x, y and z".to_owned();
        let mend = "give the corner of least x, y and z, then that of greatest".to_owned();
        section.fault("zero-size", "high", what, mend);
        return None;
    }
    Some(block(low, high))
}

fn cylinder(section: &Section) -> Option<Vec<Piece>> {
    let (from, to) = (section.point3("from"), section.point3("to"));
    let diameter = section.quantity("diameter", Length, Bounds::above_to(0.0, 2.0));
    let (from, to, radius) = (from?, to?, 0.5 * diameter?);
    if from == to {
        no_length(section, "to", "the cylinder");
        return None;
    }
    Some(vec![Piece::cylinder(from, to, [radius; 2], 0)])
}

fn pipe(section: &Section) -> Option<Vec<Piece>> {
    let path = section.rows("path", [Length; 3]);
    let diameter = section.quantity("diameter", Length, Bounds::above_to(0.0, 2.0));
    let path: Vec<DVec3> = path?.into_iter().map(DVec3::from_array).collect();
    if path.len() < 2 {
        let what = "a tube needs two points or more".to_owned();
        let mend = "give its ends and each bend between them".to_owned();
        section.fault("zero-size", "path", what, mend);
        return None;
    }
    Some(tube(&path, 0.5 * diameter?))
}

fn no_length(section: &Section, key: &str, who: &str) {
    let what = format!("{who} has no length: from and to are one point");
    section.fault("zero-size", key, what, "give its two ends".to_owned());
}

fn plane(name: &str, section: &Section) -> Option<Body> {
    let (at, out) = (section.point3("at"), shapes::direction(section, "faces"));
    let plane = HalfSpace { at: at?, out: out? };
    Some(Body::half_spaces(name, vec![plane]))
}

fn road(name: &str, section: &Section, pan_from_car: DMat3) -> Option<Body> {
    let from = if section.has("from") {
        section.point3("from")
    } else {
        section.default(
            "from",
            "the pan's origin".to_owned(),
            "on the flange face unless stated",
        );
        Some(DVec3::ZERO)
    };
    let below = section.quantity("below", Length, Bounds::above_to(0.0, 2.0));
    let most = Bounds::within(0.0, 0.5);
    let none = "none unless stated";
    let bump = section.quantity("bump", Length, most);
    let wear = section.quantity_or(
        "wear",
        Length,
        most,
        5e-3,
        "skid blocks and tyres wear: common practice, no source",
    );
    let angle = Bounds::within(0.0, 0.35);
    let pitch = section.quantity_or("pitch", Angle, angle, 0.0, none);
    let roll = section.quantity_or("roll", Angle, angle, 0.0, none);
    let road = Road {
        from: from?,
        below: below?,
        bump: bump?,
        wear: wear?,
        pitch: pitch?,
        roll: roll?,
    };
    Some(Body::half_spaces(name, road.half_spaces(pan_from_car)))
}

fn swing(section: &Section) -> Option<Vec<Piece>> {
    let (from, to) = (section.point3("from"), section.point3("to"));
    let diameter = section.quantity("diameter", Length, Bounds::above_to(0.0, 2.0));
    let pivot = section.point3("pivot");
    let axis = shapes::direction(section, "axis");
    let angles = section.rising("angles", Angle);
    let keeps_direction = section.truth_or("keeps_direction", false, "turns about its pivot unless stated");
    let (from, to, angles) = (from?, to?, angles?);
    if from == to {
        no_length(section, "to", "the link");
        return None;
    }
    if angles.1 - angles.0 > std::f64::consts::TAU {
        let what = "the link swings by more than a whole turn".to_owned();
        section.fault(
            "out-of-range",
            "angles",
            what,
            "give its least and most angle".to_owned(),
        );
        return None;
    }
    let swing = Swing {
        from,
        to,
        radius: 0.5 * diameter?,
        pivot: pivot?,
        axis: axis?,
        angles,
        keeps_direction: keeps_direction?,
    };
    Some(swing.pieces())
}

fn mesh(name: &str, section: &Section, context: &Context, files: &mut Vec<ReadFile>) -> Option<Body> {
    let file = section.text("file", "subframe.stl");
    let unit = section.choice(
        "unit",
        &[
            ("mm", Unit::Millimetre),
            ("cm", Unit::Centimetre),
            ("m", Unit::Metre),
            ("in", Unit::Inch),
        ],
        None,
    );
    let at = if section.has("at") {
        section.point3("at")
    } else {
        Some(DVec3::ZERO)
    };
    let (file, unit, at) = (file?, unit?, at?);
    let (place, key) = (section.place_of("file"), section.key("file"));
    let read = within(context.root, &place.file, &file, &place, &key).and_then(|path| {
        let bytes = context
            .sources
            .named_by_design(&path, context.root, MESH_LIMIT, &place, &key)?;
        let skin = crate::solids::skin(&bytes, unit, &path, &place, &key);
        files.push(ReadFile { path, bytes });
        skin
    });
    let (mut points, triangles) = match read {
        Ok(mesh) => mesh,
        Err(fault) => {
            section.desk.fault(Fault { key, ..fault });
            return None;
        }
    };
    if triangles.len() > MOST_FACETS {
        let what = format!("the scan has {} facets", triangles.len());
        let mend = format!("thin it out to at most {MOST_FACETS}; a gap does not need more");
        section.fault("mesh", "file", what, mend);
        return None;
    }
    points.iter_mut().for_each(|p| *p += at);
    if triangles.is_empty() || points.iter().any(|p| !p.is_finite()) {
        let what = "the scan has no facets, or a corner that is no number".to_owned();
        section.fault("mesh", "file", what, "export it again".to_owned());
        return None;
    }
    // A scan need not be closed: then only its skin counts. A closed one is solid.
    let closed = ClosedMesh::new(&points, &triangles).is_ok();
    Some(Body::skin(name, &points, &triangles, closed))
}

/// A body beyond any car is a slip of units.
fn near_enough(section: &Section, shape: &'static str, body: &Body) -> bool {
    let Some((low, high)) = body.bounds() else {
        return true;
    };
    let far = low.abs().max(high.abs()).max_element();
    if far <= FARTHEST {
        return true;
    }
    let what = format!(
        "the body reaches {} from the pan's origin",
        section.show(far, Length)
    );
    let mend = "check its numbers and their units; a keep-out lies within 10 m of the pan".to_owned();
    section.fault("out-of-range", shape, what, mend);
    false
}
