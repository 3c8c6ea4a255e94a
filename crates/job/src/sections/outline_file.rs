//! `outline = { file = "rail.dxf", ... }`: a pocket's outline out of a drawing or a typed table.

use std::cell::RefCell;
use std::path::Path;

use glam::{DMat2, DVec2};
use measure::Dimension::{Angle, Length};
use outline::scale::{self, Measured};
use outline::scan::{self, ScanOptions};
use outline::{Closed, Figure, Kind, LengthUnit, ReadOptions, Role, UnitOrigin};
use pan::Outline;

use crate::design::ReadFile;
use crate::fault::Fault;
use crate::outlines::placed;
use crate::plan::NamedFile;
use crate::section::{Bounds, Section, Shape};
use crate::sources::{OUTLINE_LIMIT, Sources, within};
use crate::tree::Value;

/// How far measured distances may be off [m]: a rule across hole edges (common practice, no source).
const AGREE: f64 = 0.5e-3;

/// Where the files of a design come from, and what was read of them.
pub(crate) struct Files<'f> {
    pub root: &'f Path,
    pub sources: &'f Sources,
    pub read: &'f RefCell<Vec<ReadFile>>,
}

/// The outline that the table at `key` describes.
pub(crate) fn read(section: &Section, key: &'static str, files: &Files) -> Option<Outline> {
    let inside = section.below(key)?;
    let outline = described(&inside, files, None).and_then(|(_, shape)| plan(&inside, shape.line));
    inside.finish();
    outline
}

/// The line that the table at `key` describes and all that lies in it; the file may be a picture, and `measured` in the
/// table proves the scale.
pub(crate) fn read_whole(
    section: &Section,
    key: &'static str,
    files: &Files,
) -> Option<(Closed, Vec<outline::Shape>)> {
    let inside = section.below(key)?;
    let described = measured(&inside).and_then(|m| described(&inside, files, Some(&m)));
    let whole = described.map(|(figure, shape)| {
        let within = |s: &outline::Shape| {
            s.name != shape.name
                && s.line
                    .sides()
                    .next()
                    .is_some_and(|side| shape.line.contains(side.at(0.5)))
        };
        let openings = figure
            .shapes
            .iter()
            .filter(|s| s.role != Role::Outline && within(s));
        (shape.line.clone(), openings.cloned().collect())
    });
    inside.finish();
    whole
}

/// `measured = ["H1 H4 212.5 mm", ...]`.
fn measured(inside: &Section) -> Option<Vec<Measured>> {
    inside.shaped("measured", Shape::Texts);
    let Some(node) = inside.node("measured") else {
        return Some(Vec::new());
    };
    let mut all = Vec::new();
    for one in inside.list("measured", node)? {
        let Value::Text(text) = &one.value else {
            let what = format!("{} stands where a measured distance is due", one.value.kind());
            inside.fault(
                "wrong-kind",
                "measured",
                what,
                "write for instance measured = [\"H1 H4 212.5 mm\"]".to_owned(),
            );
            return None;
        };
        match Measured::read(text) {
            Ok(distance) => all.push(distance),
            Err(fault) => {
                inside.fault(fault.id, "measured", fault.what, fault.mend);
                return None;
            }
        }
    }
    inside.note("measured", node, format!("{} distances", all.len()));
    Some(all)
}

fn plan(inside: &Section, line: Closed) -> Option<Outline> {
    let outline = Outline {
        vertices: line.vertices,
    };
    if let Some(fault) = outline.fault() {
        let what = format!("the outline {fault}");
        inside.fault("outline", "file", what, "mend it in the drawing".to_owned());
        return None;
    }
    Some(outline)
}

/// The file's figure in the pan's axes, and the line of it that is meant.
fn described(
    inside: &Section,
    files: &Files,
    measured: Option<&[Measured]>,
) -> Option<(Figure, outline::Shape)> {
    let name = inside.text("file", "rail.dxf");
    let units: Vec<(&'static str, Option<LengthUnit>)> = LengthUnit::NAMED
        .iter()
        .map(|(name, unit)| (*name, Some(*unit)))
        .collect();
    let unit = match inside.has("unit") {
        true => inside.choice("unit", &units, None),
        false => Some(None),
    };
    let layer = inside.optional_text("layer");
    let wanted = inside.optional_text("line");
    let join = inside.optional_quantity("join", Length, Bounds::above_to(0.0, 5e-3));
    let at = if inside.has("at") {
        inside.point2("at")
    } else {
        Some(DVec2::ZERO)
    };
    let upright = "as it lies in the file unless stated";
    let turn = inside.quantity_or("turn", Angle, Bounds::ANY, 0.0, upright);
    let mirrored = inside.choice(
        "seen_from",
        &[("above", false), ("below", true)],
        Some(("above", "a drawing is taken as seen from above unless stated")),
    );
    let options = ReadOptions {
        unit: unit?,
        layers: layer.into_iter().collect(),
        join: join.unwrap_or(ReadOptions::default().join),
        ..ReadOptions::default()
    };
    let figure = figure(inside, &name?, &options, files, measured)?;
    let chosen = chosen(inside, &figure, wanted.as_deref())?.name.clone();
    let (at, turn, mirrored) = (at?, turn?, mirrored?);
    // Seen from below what is on the left lies on the right: y is turned over, then the drawing turned and moved.
    let seen = DMat2::from_diagonal(DVec2::new(1.0, if mirrored { -1.0 } else { 1.0 }));
    let figure = figure.placed(DMat2::from_angle(turn) * seen, at);
    let shape = figure.shapes.iter().find(|s| s.name == chosen)?.clone();
    Some((figure, shape))
}

/// Holds measured distances against the figure; a picture takes its scale from two of them.
fn proved(inside: &Section, figure: Figure, measured: &[Measured], picture: bool) -> Option<Figure> {
    if picture && measured.len() < 2 {
        let what = "a picture holds the shape but not the size".to_owned();
        let mend = "measure two distances on the part and state them: measured = [\"H1 H4 212.5 mm\", ...]"
            .to_owned();
        inside.fault("no-scale", "measured", what, mend);
        return None;
    }
    if measured.is_empty() {
        return Some(figure);
    }
    match scale::prove(&figure, measured, AGREE, picture) {
        Ok((figure, _)) => Some(figure),
        Err(faults) => {
            for fault in faults {
                let mend = match fault.id {
                    "scale-slip" | "scale-off" => {
                        "state the right unit in the outline's table, or measure again".to_owned()
                    }
                    _ => fault.mend,
                };
                inside.fault(fault.id, "measured", fault.what, mend);
            }
            None
        }
    }
}

fn figure(
    inside: &Section,
    name: &str,
    options: &ReadOptions,
    files: &Files,
    measured: Option<&[Measured]>,
) -> Option<Figure> {
    let (place, key) = (inside.place_of("file"), inside.key("file"));
    let at_key = |fault: Fault| {
        inside.desk.fault(Fault {
            key: key.clone(),
            ..fault
        })
    };
    let path = match within(files.root, &place.file, name, &place, &key) {
        Ok(path) => path,
        Err(fault) => {
            at_key(fault);
            return None;
        }
    };
    let file = NamedFile {
        path: path.clone(),
        named: Some((files.root.to_owned(), place.clone(), key.clone())),
    };
    let bytes = match file.bytes(files.sources, OUTLINE_LIMIT) {
        Ok(bytes) => bytes,
        Err(fault) => {
            at_key(fault);
            return None;
        }
    };
    let picture = measured.is_some() && Kind::of(&bytes) == Kind::Picture;
    let read = match picture {
        true => scan::trace(&bytes, &ScanOptions::default()).map(|t| t.figure),
        false => outline::read(&bytes, options).map(|(_, figure)| figure),
    };
    files.read.borrow_mut().push(ReadFile { path, bytes });
    match read {
        Ok(figure) if !picture && figure.unit.is_some_and(|u| u.1 == UnitOrigin::Assumed) => {
            let what = format!("{name} does not say how large its units are");
            inside.fault(
                "no-unit",
                "file",
                what,
                "state it, for instance unit = \"mm\"".to_owned(),
            );
            None
        }
        Ok(figure) => proved(inside, figure, measured.unwrap_or_default(), picture),
        Err(faults) => {
            for fault in placed(&file, faults) {
                let design = matches!(fault.id, "no-unit" | "no-layer");
                // What the design can mend is told where the design names the file.
                let told = if design {
                    Fault {
                        place: place.clone(),
                        ..fault
                    }
                } else {
                    fault
                };
                at_key(told);
            }
            None
        }
    }
}

/// The shape by its name, or the one outline that there is.
fn chosen<'f>(inside: &Section, figure: &'f Figure, wanted: Option<&str>) -> Option<&'f outline::Shape> {
    let outlines: Vec<&outline::Shape> = figure.outlines().collect();
    let found = match wanted {
        Some(name) => figure.shapes.iter().find(|s| s.name.eq_ignore_ascii_case(name)),
        None if outlines.len() == 1 => outlines.first().copied(),
        None => None,
    };
    if let Some(shape) = found {
        let (low, high) = shape.line.bounds();
        let size = (high - low).to_array().map(|v| inside.show(v, Length));
        let arcs = shape.line.vertices.iter().filter(|v| v.1 != 0.0).count();
        let shown = format!("{}, {} by {}, {arcs} arcs", shape.name, size[0], size[1]);
        if let Some(node) = inside.node("file") {
            inside.note("", node, shown);
        }
        return Some(shape);
    }
    let listed: Vec<String> = (figure.shapes.iter().filter(|s| s.role != Role::Hole).take(12))
        .map(|s| {
            let (low, high) = s.line.bounds();
            let [w, h] = (high - low).to_array().map(|v| inside.show(v, Length));
            format!("{} ({w} by {h})", s.name)
        })
        .collect();
    let (what, key) = match wanted {
        Some(name) => (format!("no line of the file is called \"{name}\""), "line"),
        None => (format!("the file holds {} outlines", outlines.len()), "file"),
    };
    let mend = format!("name one by line = \"O1\": {}", listed.join(", "));
    inside.fault("outline", key, what, mend);
    None
}
