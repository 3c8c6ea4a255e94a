//! What the command line says about reading an outline.

use crate::cli::{Outline, Snap};
use crate::commands::options::length;
use crate::failure::Failure;
use glam::DVec2;
use outline::scan::{ScanOptions, Straighten, Tone};
use outline::standard_holes::Sizes;
use outline::{LengthUnit, ReadOptions};

/// Sheets by name [m]: ISO 216 and the sizes of ANSI (letter, legal).
const SHEETS: [(&str, [f64; 2]); 4] = [
    ("a4", [0.210, 0.297]),
    ("a3", [0.297, 0.420]),
    ("letter", [0.2159, 0.2794]),
    ("legal", [0.2159, 0.3556]),
];

/// How a drawing or a table is read.
pub fn options(arguments: &Outline) -> Result<ReadOptions, Failure> {
    let usual = ReadOptions::default();
    Ok(ReadOptions {
        unit: arguments.unit.as_deref().map(unit).transpose()?,
        layers: arguments.layer.clone(),
        join: length(arguments.join.as_deref(), "--join", 1e-6..=5e-3)?.unwrap_or(usual.join),
        fit: length(arguments.fit.as_deref(), "--fit", 1e-6..=5e-3)?.unwrap_or(usual.fit),
    })
}

/// The list of sizes that holes snap to.
pub fn sizes(snap: Snap) -> Sizes {
    match snap {
        Snap::Metric => Sizes::Metric,
        Snap::Inch => Sizes::Inch,
    }
}

/// Options that only a picture takes are no use for a drawing, so they are refused rather than passed over.
pub fn not_for_drawings(arguments: &Outline) -> Result<(), Failure> {
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

/// How a picture is traced.
pub fn scan_options(arguments: &Outline) -> Result<ScanOptions, Failure> {
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
