//! `sumpwright outline`: what a drawing, a table or a scan of an outline says.

use crate::cli::{Outline, Snap};
use crate::failure::{Complaint, Failure};
use crate::preparation::wrong_input;
use crate::store::atomic;
use crate::terminal;
use glam::{DMat2, DVec2};
use job::{NamedFile, OutlineLook};
use measure::{Dimension, UnitOrder, show};
use outline::scale::{self, Measured, Proof};
use outline::scan::{Residual, ScanOptions, Straighten, Tone};
use outline::standard_holes::{self, Sizes, Snapped};
use outline::write::Format;
use outline::{Figure, Kind, LengthUnit, OutlineFault, ReadOptions, Role, UnitOrigin};
use report::drawing::svg;
use report::pictures::Look;
use report::pictures::outlined::{Line, Under, outlined};
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
    let look = job::look_at_outline(&file, &options, &scan_options(arguments)?).map_err(wrong_input)?;
    let (kind, figure, residuals, under) = match look {
        OutlineLook::Drawn(kind, figure) => {
            not_for_drawings(arguments)?;
            (kind, figure, Vec::new(), None)
        }
        OutlineLook::Traced(t) => (Kind::Picture, t.figure, t.residuals, Some(t.underlay)),
    };
    // A picture of unknown resolution takes its scale from what was measured: there is nothing to contradict.
    let rescale = arguments.rescale || (kind == Kind::Picture && scale::is_assumed(&figure));
    let (mut figure, proof) = proved(figure, &measured, agree, rescale)?;
    let factor = proof.as_ref().map_or(1.0, |p| p.factor);
    let placing = match arguments.level.as_deref() {
        Some(holes) => scale::level(&figure, holes).map_err(|f| complained(vec![f], "--level"))?,
        None => (DMat2::IDENTITY, DVec2::ZERO),
    };
    figure = figure.placed(placing.0, placing.1);
    let mut snapped = Vec::new();
    if let Some(snap) = arguments.snap {
        (figure, snapped) = standard_holes::snap(&figure, sizes(snap), SNAP);
    }
    let written = write(arguments, &figure, proof.as_ref())?;
    if let Some(path) = &arguments.picture {
        // A picture lies under lines that were left where they were traced.
        let under = under.filter(|_| arguments.level.is_none()).map(|u| Under {
            low: factor * u.low,
            high: factor * u.high,
            png: u.png,
        });
        atomic::write(path, picture(&file.name(), &figure, under).as_bytes())?;
        terminal::remark(&format!("picture: {}", path.display()));
    }
    let looked = Looked {
        proof,
        written,
        residuals: residuals.into_iter().map(|r| scaled(r, factor)).collect(),
        snapped,
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

/// Holes that near to a standard size take it [m]. More would take a 5 mm dowel hole for the loose 4.8 mm of an M4.
const SNAP: f64 = 0.1e-3;

/// Sheets by name [m]: ISO 216 and the sizes of ANSI (letter, legal).
const SHEETS: [(&str, [f64; 2]); 4] = [
    ("a4", [0.210, 0.297]),
    ("a3", [0.297, 0.420]),
    ("letter", [0.2159, 0.2794]),
    ("legal", [0.2159, 0.3556]),
];

fn sizes(snap: Snap) -> Sizes {
    match snap {
        Snap::Metric => Sizes::Metric,
        Snap::Inch => Sizes::Inch,
    }
}

fn scaled(residual: Residual, factor: f64) -> Residual {
    Residual {
        rms: factor * residual.rms,
        most: factor * residual.most,
        ..residual
    }
}

/// Options that only a picture takes are no use for a drawing, so they are refused rather than passed over.
fn not_for_drawings(arguments: &Outline) -> Result<(), Failure> {
    let stated = [
        ("--dpi", arguments.dpi.is_some()),
        ("--sheet", arguments.sheet.is_some()),
        ("--corners", arguments.corners.is_some()),
        ("--light-part", arguments.light_part),
    ];
    match stated.iter().find(|s| s.1) {
        Some((option, _)) => Err(Failure::input(
            "the file is no picture",
            *option,
            "leave this option out",
        )),
        None => Ok(()),
    }
}

fn scan_options(arguments: &Outline) -> Result<ScanOptions, Failure> {
    let usual = ScanOptions::default();
    if let Some(dpi) = arguments.dpi.filter(|d| !(20.0..=10_000.0).contains(d)) {
        let mend = "state the resolution that the scanner was set to, such as 300";
        return Err(Failure::input(
            format!("{dpi} dpi is out of range"),
            "--dpi",
            mend,
        ));
    }
    Ok(ScanOptions {
        fit: length(arguments.fit.as_deref(), "--fit", 1e-6..=5e-3)?.unwrap_or(usual.fit),
        dpi: arguments.dpi,
        tone: if arguments.light_part {
            Tone::LightPart
        } else {
            Tone::DarkPart
        },
        straighten: straighten(arguments)?,
    })
}

fn straighten(arguments: &Outline) -> Result<Straighten, Failure> {
    let corners = arguments.corners.as_deref().map(corners).transpose()?;
    let sheet = arguments.sheet.as_deref().map(sheet).transpose()?;
    if let Some(text) = arguments.sides.as_deref() {
        let sides: [f64; 5] = lengths(text, "--sides")?.try_into().map_err(|l: Vec<f64>| {
            let mend = "state five: \"300 mm, 200 mm, 300 mm, 200 mm, 360.6 mm\", round about and then first to third";
            Failure::input(format!("{} distances are stated", l.len()), "--sides", mend)
        })?;
        return Ok(Straighten::Sides(corners.unwrap_or_default(), sides));
    }
    match (corners, sheet) {
        (None, None) => Ok(Straighten::No),
        (None, Some((size, _))) => Ok(Straighten::SheetFound(size)),
        (Some(c), Some((size, named))) => {
            // A sheet by name lies as its corners say; a stated width is the first side's.
            let wide = c[0].distance(c[1]) + c[3].distance(c[2]) > c[1].distance(c[2]) + c[0].distance(c[3]);
            let turned = named && wide != (size[0] > size[1]);
            Ok(Straighten::Rectangle(
                c,
                if turned { [size[1], size[0]] } else { size },
            ))
        }
        (Some(_), None) => Err(Failure::input(
            "corners without distances straighten nothing",
            "--corners",
            "state the sheet or rectangle that they belong to (--sheet), or five distances (--sides)",
        )),
    }
}

/// Four points in pixels.
fn corners(text: &str) -> Result<[DVec2; 4], Failure> {
    let point = |word: &str| {
        let (x, y) = word.split_once(',')?;
        let p = DVec2::new(x.parse().ok()?, y.parse().ok()?);
        p.is_finite().then_some(p)
    };
    let points: Option<Vec<DVec2>> = text.split_whitespace().map(point).collect();
    points.and_then(|p| p.try_into().ok()).ok_or_else(|| {
        let mend = "write four points such as \"212,3105 2290,3080 2260,190 240,210\"";
        Failure::input(format!("\"{text}\" is not four points"), "--corners", mend)
    })
}

/// Width and height of a sheet, and whether it was named.
fn sheet(text: &str) -> Result<([f64; 2], bool), Failure> {
    if let Some((_, size)) = SHEETS.iter().find(|(name, _)| name.eq_ignore_ascii_case(text)) {
        return Ok((*size, true));
    }
    match lengths(text, "--sheet")
        .ok()
        .and_then(|l| <[f64; 2]>::try_from(l).ok())
    {
        Some(size) => Ok((size, false)),
        None => {
            let mend = "write a4, a3, letter, legal, or a width and a height such as \"210 mm, 297 mm\"";
            Err(Failure::input(
                format!("\"{text}\" is no known sheet"),
                "--sheet",
                mend,
            ))
        }
    }
}

/// Lengths parted by commas [m].
fn lengths(text: &str, option: &str) -> Result<Vec<f64>, Failure> {
    let each = text
        .split([',', ';'])
        .map(|part| length(Some(part.trim()), option, 1e-3..=10.0));
    Ok(each
        .collect::<Result<Vec<_>, _>>()?
        .into_iter()
        .flatten()
        .collect())
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

fn picture(name: &str, figure: &Figure, under: Option<Under>) -> String {
    let lines: Vec<Line> = (figure.shapes.iter())
        .map(|s| Line {
            name: s.name.clone(),
            vertices: s.line.vertices.clone(),
            opening: s.role != Role::Outline,
        })
        .collect();
    let drawing =
        outlined(name, &lines, under, &Look::wide(UnitOrder::MetricFirst)).expect("an outline has a size");
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
    /// How well the fitted lines agree with what was traced.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    residuals: Vec<Residual>,
    /// Holes that took a standard size.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    snapped: Vec<Snapped>,
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
            residuals: Vec::new(),
            snapped: Vec::new(),
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
        if !self.residuals.is_empty() {
            text += "\n  fitted lines against the traced edge\n";
            let rows: Vec<_> = (self.residuals.iter())
                .map(|r| {
                    vec![
                        r.name.clone(),
                        format!("{} mm rms", mm(r.rms)),
                        format!("{} mm at most", mm(r.most)),
                    ]
                })
                .collect();
            text += &terminal::columns(&rows);
        }
        if !self.snapped.is_empty() {
            text += "\n  holes that took a standard size\n";
            let rows: Vec<_> = (self.snapped.iter())
                .map(|s| {
                    vec![
                        s.name.clone(),
                        format!("{} mm", mm(s.was)),
                        format!("now {} mm", mm(s.now)),
                        format!("{}, {} fit", s.bolt, s.fit),
                    ]
                })
                .collect();
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
