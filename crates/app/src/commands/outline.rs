//! `sumpwright outline`: what a drawing, a table or a scan of an outline says.

use super::options::{ends_in, length, not_the_source};
use crate::cli::Outline;
use crate::failure::{Complaint, Failure};
use crate::preparation::wrong_input;
use crate::store::atomic;
use crate::terminal;
use glam::{DMat2, DVec2};
use job::{NamedFile, OutlineLook};
use measure::UnitOrder;
use outline::scale::{self, Measured, Proof};
use outline::scan::Residual;
use outline::standard_holes;
use outline::write::Format;
use outline::{Figure, Kind, OutlineFault, Role};
use report::drawing::svg;
use report::pictures::Look;
use report::pictures::outlined::{Line, Under, outlined};
use std::process::ExitCode;

mod looked;
mod options;

use looked::Looked;
use options::{not_for_drawings, options, scan_options, sizes};

/// Runs it.
pub fn run(arguments: &Outline) -> Result<ExitCode, Failure> {
    ends_in(arguments.picture.as_deref(), "--picture", &["svg"])?;
    for path in &arguments.write {
        ends_in(Some(path), "--write", &["dxf", "svg", "csv"])?;
        not_the_source(path, "--write", &arguments.file)?;
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
    let (mut figure, proof) = proved(kind, figure, &measured, agree, rescale)?;
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
    let mut looked = Looked::at(&file.name(), kind, &figure);
    (looked.proof, looked.written, looked.snapped) = (proof, written, snapped);
    looked.residuals = residuals.into_iter().map(|r| scaled(r, factor)).collect();
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
    kind: Kind,
    mut figure: Figure,
    measured: &[Measured],
    agree: f64,
    rescale: bool,
) -> Result<(Figure, Option<Proof>), Failure> {
    if measured.is_empty() {
        // What was typed by hand was measured by hand.
        if let Some(pairs) = scale::worth_measuring(&figure).filter(|_| kind != Kind::Table) {
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

/// Holes that near to a standard size take it [m]. More would take a 5 mm dowel hole for the loose 4.8 mm of an M4.
const SNAP: f64 = 0.1e-3;

fn scaled(residual: Residual, factor: f64) -> Residual {
    Residual {
        rms: factor * residual.rms,
        most: factor * residual.most,
        ..residual
    }
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
