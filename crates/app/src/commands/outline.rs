//! `sumpwright outline`: what a drawing, a table or a scan of an outline says.

use crate::cli::Outline;
use crate::failure::Failure;
use crate::preparation::wrong_input;
use crate::store::atomic;
use crate::terminal;
use job::NamedFile;
use measure::{Dimension, UnitOrder, show};
use outline::{Figure, Kind, LengthUnit, ReadOptions, Role, UnitOrigin};
use report::drawing::svg;
use report::pictures::Look;
use report::pictures::outlined::{Line, outlined};
use serde::Serialize;
use std::path::Path;
use std::process::ExitCode;

/// Runs it.
pub fn run(arguments: &Outline) -> Result<ExitCode, Failure> {
    ends_in(arguments.picture.as_deref(), "--picture", &["svg"])?;
    let options = options(arguments)?;
    let file = NamedFile::by_user(&arguments.file);
    let (kind, figure) = job::look_at_outline(&file, &options).map_err(wrong_input)?;
    if let Some(path) = &arguments.picture {
        atomic::write(path, picture(&file.name(), &figure).as_bytes())?;
        terminal::remark(&format!("picture: {}", path.display()));
    }
    let looked = Looked::at(&file.name(), kind, &figure);
    if arguments.json {
        let text = serde_json::to_string_pretty(&looked).expect("plain data");
        terminal::say(&format!("{text}\n"));
    } else {
        terminal::say(&looked.text());
    }
    Ok(ExitCode::SUCCESS)
}

/// Refuses a file to write that has another ending; this also keeps what was read from being written over.
fn ends_in(path: Option<&Path>, option: &str, endings: &[&str]) -> Result<(), Failure> {
    let Some(path) = path else { return Ok(()) };
    let has = |ending: &&str| path.extension().is_some_and(|e| e.eq_ignore_ascii_case(ending));
    if endings.iter().any(has) {
        return Ok(());
    }
    let known = endings.join(", .");
    let what = format!("{} does not end in .{known}", path.display());
    Err(Failure::input(
        what,
        option,
        format!("name a file that ends in .{known}"),
    ))
}

fn options(arguments: &Outline) -> Result<ReadOptions, Failure> {
    let usual = ReadOptions::default();
    Ok(ReadOptions {
        unit: arguments.unit.as_deref().map(unit).transpose()?,
        layers: arguments.layer.clone(),
        join: length(arguments.join.as_deref(), "--join", 1e-6..=5e-3)?.unwrap_or(usual.join),
        fit: length(arguments.fit.as_deref(), "--fit", 1e-6..=5e-3)?.unwrap_or(usual.fit),
    })
}

fn unit(name: &str) -> Result<LengthUnit, Failure> {
    let known = || LengthUnit::NAMED.iter();
    if let Some((_, unit)) = known().find(|(n, _)| *n == name) {
        return Ok(*unit);
    }
    let names: Vec<&str> = known().map(|(n, _)| *n).collect();
    let what = format!("\"{name}\" is no known unit");
    Err(Failure::input(
        what,
        "--unit",
        format!("write one of {}", names.join(", ")),
    ))
}

fn length(
    text: Option<&str>,
    option: &str,
    within: std::ops::RangeInclusive<f64>,
) -> Result<Option<f64>, Failure> {
    let Some(text) = text else { return Ok(None) };
    let value =
        measure::read(text, Dimension::Length).map_err(|f| Failure::input(f.what(), option, f.mend()))?;
    if within.contains(&value) {
        return Ok(Some(value));
    }
    let shown = |v: &f64| show(*v, Dimension::Length, UnitOrder::MetricFirst);
    let mend = format!(
        "between {} and {} are taken",
        shown(within.start()),
        shown(within.end())
    );
    Err(Failure::input(format!("{text} is out of range"), option, mend))
}

fn picture(name: &str, figure: &Figure) -> String {
    let lines: Vec<Line> = (figure.shapes.iter())
        .map(|s| Line {
            name: s.name.clone(),
            vertices: s.line.vertices.clone(),
            opening: s.role != Role::Outline,
        })
        .collect();
    let drawing = outlined(name, &lines, &Look::wide(UnitOrder::MetricFirst)).expect("an outline has a size");
    svg::file(&drawing)
}

/// What was understood of a file; lengths in metres.
#[derive(Serialize)]
struct Looked {
    name: String,
    kind: Kind,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<LengthUnit>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_origin: Option<UnitOrigin>,
    /// Width and height of all of it.
    size: [f64; 2],
    outlines: Vec<Edge>,
    holes: Vec<Hole>,
    windows: Vec<Edge>,
    layers: Vec<outline::Layer>,
    /// How it was read.
    said: Vec<String>,
    /// What to look at.
    cautions: Vec<String>,
}

/// A closed line.
#[derive(Serialize)]
struct Edge {
    name: String,
    low: [f64; 2],
    high: [f64; 2],
    /// Area inside [m²].
    area: f64,
    length: f64,
    straight: usize,
    arcs: usize,
    /// Corners with the bulge of the side that leaves each: x, y, bulge.
    vertices: Vec<[f64; 3]>,
    #[serde(skip_serializing_if = "String::is_empty")]
    layer: String,
}

/// A round hole.
#[derive(Serialize)]
struct Hole {
    name: String,
    at: [f64; 2],
    diameter: f64,
    #[serde(skip_serializing_if = "String::is_empty")]
    layer: String,
}

impl Looked {
    fn at(name: &str, kind: Kind, figure: &Figure) -> Looked {
        let (low, high) = figure.bounds();
        let edges = |role: Role| {
            figure
                .shapes
                .iter()
                .filter(move |s| s.role == role)
                .map(Edge::of)
                .collect()
        };
        let holes = figure.holes().map(|(shape, circle)| Hole {
            name: shape.name.clone(),
            at: circle.centre.to_array(),
            diameter: 2.0 * circle.radius,
            layer: shape.layer.clone(),
        });
        Looked {
            name: name.to_owned(),
            kind,
            unit: figure.unit.map(|u| u.0),
            unit_origin: figure.unit.map(|u| u.1),
            size: (high - low).to_array(),
            outlines: edges(Role::Outline),
            holes: holes.collect(),
            windows: edges(Role::Window),
            layers: figure.layers.clone(),
            said: figure.said.clone(),
            cautions: figure.cautions.clone(),
        }
    }

    fn text(&self) -> String {
        let mm = |v: f64| format!("{:.3}", v * 1e3);
        let inch = |v: f64| format!("{:.4}", v / 0.0254);
        let [w, h] = self.size;
        let mut text = format!(
            "{}, {}: {} x {} mm ({} x {} in)\n\n",
            self.name,
            self.kind.words(),
            mm(w),
            mm(h),
            inch(w),
            inch(h)
        );
        let mut rows = vec![
            ["line", "width, mm", "height, mm", "area, cm2", "sides", "layer"]
                .map(str::to_owned)
                .to_vec(),
        ];
        rows.extend(self.outlines.iter().chain(&self.windows).map(|e| {
            let sides = format!("{} straight, {} arcs", e.straight, e.arcs);
            let area = format!("{:.2}", e.area * 1e4);
            vec![
                e.name.clone(),
                mm(e.high[0] - e.low[0]),
                mm(e.high[1] - e.low[1]),
                area,
                sides,
                e.layer.clone(),
            ]
        }));
        text += &terminal::columns(&rows);
        if !self.holes.is_empty() {
            let mut rows = vec![
                ["hole", "x, mm", "y, mm", "diameter, mm", "in", "layer"]
                    .map(str::to_owned)
                    .to_vec(),
            ];
            rows.extend(self.holes.iter().map(|h| {
                let d = h.diameter;
                vec![
                    h.name.clone(),
                    mm(h.at[0]),
                    mm(h.at[1]),
                    mm(d),
                    inch(d),
                    h.layer.clone(),
                ]
            }));
            text += "\n";
            text += &terminal::columns(&rows);
        }
        for (head, list) in [("how it was read", &self.said), ("look at this", &self.cautions)] {
            if !list.is_empty() {
                text += &format!("\n  {head}\n");
                text.extend(list.iter().map(|said| format!("  - {said}\n")));
            }
        }
        text
    }
}

impl Edge {
    fn of(shape: &outline::Shape) -> Edge {
        let (low, high) = shape.line.bounds();
        let arcs = shape.line.sides().filter(|s| !s.is_straight()).count();
        Edge {
            name: shape.name.clone(),
            low: low.to_array(),
            high: high.to_array(),
            area: shape.line.area(),
            length: shape.line.length(),
            straight: shape.line.vertices.len() - arcs,
            arcs,
            vertices: shape.line.vertices.iter().map(|(p, b)| [p.x, p.y, *b]).collect(),
            layer: shape.layer.clone(),
        }
    }
}
