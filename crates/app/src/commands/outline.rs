//! `sumpwright outline`: what a drawing, a table or a scan of an outline says.

use crate::cli::Outline;
use crate::failure::{Complaint, Failure};
use crate::preparation::wrong_input;
use crate::store::atomic;
use crate::terminal;
use job::NamedFile;
use measure::{Dimension, UnitOrder, show};
use outline::scale::{self, Measured, Proof};
use outline::write::Format;
use outline::{Figure, Kind, LengthUnit, OutlineFault, ReadOptions, Role, UnitOrigin};
use report::drawing::svg;
use report::pictures::Look;
use report::pictures::outlined::{Line, outlined};
use serde::Serialize;
use std::path::Path;
use std::process::ExitCode;

/// Runs it.
pub fn run(arguments: &Outline) -> Result<ExitCode, Failure> {
    ends_in(arguments.picture.as_deref(), "--picture", &["svg"])?;
    for path in &arguments.write {
        ends_in(Some(path), "--write", &["dxf", "svg", "csv"])?;
        not_the_source(path, &arguments.file)?;
    }
    let options = options(arguments)?;
    let measured = arguments.measured.iter().map(|text| Measured::read(text));
    let measured: Vec<Measured> = measured
        .collect::<Result<_, _>>()
        .map_err(|f| complained(vec![f], "--measured"))?;
    let agree = length(arguments.agree.as_deref(), "--agree", 1e-6..=0.02)?.unwrap_or(AGREE);
    let file = NamedFile::by_user(&arguments.file);
    let (kind, figure) = job::look_at_outline(&file, &options).map_err(wrong_input)?;
    let (figure, proof) = proved(figure, &measured, agree, arguments.rescale)?;
    let written = write(arguments, &figure, proof.as_ref())?;
    if let Some(path) = &arguments.picture {
        atomic::write(path, picture(&file.name(), &figure).as_bytes())?;
        terminal::remark(&format!("picture: {}", path.display()));
    }
    let looked = Looked {
        proof,
        written,
        ..Looked::at(&file.name(), kind, &figure)
    };
    if arguments.json {
        let text = serde_json::to_string_pretty(&looked).expect("plain data");
        terminal::say(&format!("{text}\n"));
    } else {
        terminal::say(&looked.text());
    }
    Ok(ExitCode::SUCCESS)
}

/// How far measured distances may be off unless stated [m]: a tape or a rule across hole edges (common practice, no
/// source).
const AGREE: f64 = 0.5e-3;

fn complained(faults: Vec<OutlineFault>, place: &str) -> Failure {
    let complaint = |f: OutlineFault| Complaint {
        what: f.what,
        place: place.to_owned(),
        mend: f.mend,
    };
    Failure::Input(faults.into_iter().map(complaint).collect())
}

/// Holds the measured distances against the figure; without any, says which are worth measuring.
fn proved(
    mut figure: Figure,
    measured: &[Measured],
    agree: f64,
    rescale: bool,
) -> Result<(Figure, Option<Proof>), Failure> {
    if measured.is_empty() {
        if let Some(pairs) = scale::worth_measuring(&figure) {
            figure.cautions.push(format!(
                "The scale is not proved. Worth measuring on the part: {pairs}."
            ));
        }
        return Ok((figure, None));
    }
    let (mut figure, proof) =
        scale::prove(&figure, measured, agree, rescale).map_err(|f| complained(f, "--measured"))?;
    if proof.factor != 1.0 {
        figure.said.push(format!(
            "Scaled by {:.6} to the measured distances.",
            proof.factor
        ));
    }
    match proof.proved {
        true => figure.cautions.retain(|c| !c.contains("scale is assumed")),
        false => figure
            .cautions
            .push("One measured distance agrees; a second one would prove the scale.".to_owned()),
    }
    Ok((figure, Some(proof)))
}

/// Writes the files that were asked for; a figure of assumed scale is not written before it is proved.
fn write(arguments: &Outline, figure: &Figure, proof: Option<&Proof>) -> Result<Vec<String>, Failure> {
    if !arguments.write.is_empty() && scale::is_assumed(figure) && !proof.is_some_and(|p| p.proved) {
        return Err(Failure::input(
            "the scale of the file is only assumed, so nothing is written that may be cut",
            "--write",
            "prove it by two distances (--measured), or state the unit (--unit)",
        ));
    }
    let mut written = Vec::new();
    for path in &arguments.write {
        let ending = path.extension().unwrap_or_default().to_string_lossy();
        let format = Format::of_ending(&ending).expect("the ending was checked");
        let text = outline::write::checked(figure, format)
            .map_err(|f| Failure::computing(f.to_string(), "tell us: this is a fault of the program"))?;
        atomic::write(path, text.as_bytes())?;
        let (low, high) = figure.bounds();
        let [w, h] = (high - low).to_array();
        let size = format!(
            "{:.3} x {:.3} mm ({:.4} x {:.4} in)",
            w * 1e3,
            h * 1e3,
            w / 0.0254,
            h / 0.0254
        );
        terminal::remark(&format!("written and read back: {}, {size}", path.display()));
        written.push(path.display().to_string());
    }
    Ok(written)
}

/// Refuses to write over the file that is being read.
fn not_the_source(path: &Path, source: &Path) -> Result<(), Failure> {
    match (path.canonicalize(), source.canonicalize()) {
        (Ok(a), Ok(b)) if a == b => Err(Failure::input(
            format!("{} is the file that is read", path.display()),
            "--write",
            "name another file",
        )),
        _ => Ok(()),
    }
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
    /// What the measured distances say.
    #[serde(skip_serializing_if = "Option::is_none")]
    proof: Option<Proof>,
    /// Files that were written.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    written: Vec<String>,
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
            proof: None,
            written: Vec::new(),
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
        if let Some(proof) = &self.proof {
            text += if proof.proved {
                "\n  the scale is proved\n"
            } else {
                "\n  the scale, by one distance\n"
            };
            let rows: Vec<_> = (proof.distances.iter())
                .map(|d| {
                    let off = format!("off by {:+.3} mm", (d.read - d.measured) * 1e3);
                    vec![
                        d.what.clone(),
                        format!("measured {} mm", mm(d.measured)),
                        format!("read {} mm", mm(d.read)),
                        off,
                    ]
                })
                .collect();
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
