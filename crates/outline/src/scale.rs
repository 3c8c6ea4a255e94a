//! The scale proved: measured distances that must agree with each other and with what was read.
//!
//! A picture holds the shape but not the size, a drawing may have lost its unit, and the slips of scale are always the
//! same few: inches for millimetres (25.4), and pixels of 96, 90 or 72 to the inch for millimetres (3.78, 3.54, 2.83),
//! either way round. Two distances measured on the part settle it; a slip is named with its mend.

use crate::fault::{OutlineFault, quoted};
use crate::figure::{Figure, Role};
use crate::unit::{LengthUnit, UnitOrigin};
use glam::{DMat2, DVec2};
use measure::Dimension;
use serde::Serialize;

/// A distance as measured on the part.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// What was measured.
    pub what: Span,
    /// How long it is [m].
    pub length: f64,
}

/// What a distance lies between.
#[derive(Clone, Debug, PartialEq)]
pub enum Span {
    /// The middles of two holes, or points.
    Between(Mark, Mark),
    /// Width of all of it, along x.
    Width,
    /// Height of all of it, along y.
    Height,
    /// Diameter of a hole.
    Diameter(String),
}

/// An end of a distance.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// A hole, outline or window by its name: its middle.
    Named(String),
    /// A point as read [m].
    At(DVec2),
}

impl Measured {
    /// Reads "H1 H4 212.5 mm", "0,0 120,35 125 mm" (points in mm as read), "width 300 mm", "H3 diameter 8.4 mm".
    ///
    /// # Errors
    /// What is wrong with it and how it is written.
    pub fn read(text: &str) -> Result<Measured, OutlineFault> {
        let fault = |what: String| {
            let mend = "write for instance \"H1 H4 212.5 mm\", \"width 300 mm\" or \"H3 diameter 8.4 mm\"";
            OutlineFault::new("measured", what, mend)
        };
        let words: Vec<&str> = text.split_whitespace().collect();
        let (what, rest) = match words[..] {
            ["width", ..] => (Span::Width, 1),
            ["height", ..] => (Span::Height, 1),
            [name, "diameter", ..] => (Span::Diameter(name.to_owned()), 2),
            [a, b, _, ..] => (Span::Between(Mark::read(a), Mark::read(b)), 2),
            _ => return Err(fault(format!("{} is no measured distance", quoted(text)))),
        };
        let length = measure::read(&words[rest..].join(" "), Dimension::Length)
            .map_err(|f| fault(format!("in {}: {}", quoted(text), f.what())))?;
        if !(1e-4..=100.0).contains(&length) {
            return Err(fault(format!(
                "in {}: a distance from 0.1 mm to 100 m is due",
                quoted(text)
            )));
        }
        Ok(Measured { what, length })
    }
}

impl Mark {
    fn read(word: &str) -> Mark {
        let point = word
            .split_once(',')
            .and_then(|(x, y)| Some((x.parse::<f64>().ok()?, y.parse::<f64>().ok()?)));
        match point {
            Some((x, y)) => Mark::At(1e-3 * DVec2::new(x, y)),
            None => Mark::Named(word.to_owned()),
        }
    }

    fn place(&self, figure: &Figure) -> Result<DVec2, OutlineFault> {
        match self {
            Mark::At(p) => Ok(*p),
            Mark::Named(name) => {
                let shape = find(figure, name)?;
                let (low, high) = shape.line.bounds();
                Ok(shape.circle.map_or(0.5 * (low + high), |c| c.centre))
            }
        }
    }

    fn words(&self) -> String {
        match self {
            Mark::Named(name) => name.clone(),
            Mark::At(p) => format!("({:.2}, {:.2})", p.x * 1e3, p.y * 1e3),
        }
    }
}

fn find<'f>(figure: &'f Figure, name: &str) -> Result<&'f crate::figure::Shape, OutlineFault> {
    figure
        .shapes
        .iter()
        .find(|s| s.name.eq_ignore_ascii_case(name))
        .ok_or_else(|| {
            let names: Vec<&str> = figure.shapes.iter().map(|s| s.name.as_str()).take(40).collect();
            let what = format!("nothing is called {}", quoted(name));
            OutlineFault::new("no-such-name", what, format!("named here: {}", names.join(", ")))
        })
}

impl Span {
    /// The same way, either way round: measuring it twice proves no more than once.
    fn is_the_same(&self, other: &Span) -> bool {
        match (self, other) {
            (Span::Between(a, b), Span::Between(c, d)) => (a, b) == (c, d) || (a, b) == (d, c),
            (a, b) => a == b,
        }
    }

    fn read_length(&self, figure: &Figure) -> Result<f64, OutlineFault> {
        let (low, high) = figure.bounds();
        Ok(match self {
            Span::Between(a, b) => a.place(figure)?.distance(b.place(figure)?),
            Span::Width => (high - low).x,
            Span::Height => (high - low).y,
            Span::Diameter(name) => {
                let circle = find(figure, name)?.circle;
                let Some(circle) = circle else {
                    let what = format!("{name} is not round");
                    return Err(OutlineFault::new("no-such-name", what, "name a round hole"));
                };
                2.0 * circle.radius
            }
        })
    }

    fn words(&self) -> String {
        match self {
            Span::Between(a, b) => format!("{} to {}", a.words(), b.words()),
            Span::Width => "width".to_owned(),
            Span::Height => "height".to_owned(),
            Span::Diameter(name) => format!("diameter of {name}"),
        }
    }
}

/// A measured distance beside what was read.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Compared {
    /// What it lies between.
    pub what: String,
    /// As measured [m].
    pub measured: f64,
    /// As read, after any rescaling [m].
    pub read: f64,
}

/// What the measured distances say.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Proof {
    /// Each distance.
    pub distances: Vec<Compared>,
    /// True when two different distances or more agree.
    pub proved: bool,
    /// How far the longest way across the figure may still be off, by what the distances were allowed to be off [m].
    pub within: f64,
    /// Factor by which the figure was rescaled; 1 when it was not.
    pub factor: f64,
}

/// Compares `measured` with the figure; all must agree within `agree` [m].
///
/// With `rescale` a figure whose distances agree with each other but not with what was read is scaled by their factor;
/// so is one of assumed scale whose unit means nothing (`loose`). The figure that comes back is the proved one.
///
/// # Errors
/// Distances that contradict each other, names that are not there, and a scale that is off: named when it is one of the
/// usual slips.
pub fn prove(
    figure: &Figure,
    measured: &[Measured],
    agree: f64,
    rescale: bool,
) -> Result<(Figure, Proof), Vec<OutlineFault>> {
    let read: Vec<Result<f64, OutlineFault>> = measured.iter().map(|m| m.what.read_length(figure)).collect();
    let faults: Vec<OutlineFault> = read.iter().filter_map(|r| r.as_ref().err().cloned()).collect();
    if !faults.is_empty() {
        return Err(faults);
    }
    let read: Vec<f64> = read.into_iter().flatten().collect();
    if let Some(i) = read.iter().position(|r| !(*r > 1e-6)) {
        let what = format!("{} has no length in the file", measured[i].what.words());
        return Err(vec![OutlineFault::new(
            "measured",
            what,
            "measure between two different places",
        )]);
    }
    // Least squares of measured = factor × read.
    let top: f64 = measured.iter().zip(&read).map(|(m, r)| m.length * r).sum();
    let factor = top / read.iter().map(|r| r * r).sum::<f64>();
    contradiction(measured, &read, factor, agree)?;
    let fits = (measured.iter().zip(&read)).all(|(m, r)| (m.length - r).abs() <= agree);
    let (factor, done) = match (fits, rescale) {
        (true, false) => (1.0, figure.clone()),
        (_, true) => {
            let turn = DMat2::from_diagonal(DVec2::splat(factor));
            (factor, figure.placed(turn, DVec2::ZERO))
        }
        (false, false) => return Err(vec![slip(figure, measured, &read, factor)]),
    };
    let distances = (measured.iter().zip(&read))
        .map(|(m, r)| Compared {
            what: m.what.words(),
            measured: m.length,
            read: r * factor,
        })
        .collect();
    // A short distance proves little of a long part.
    let longest = measured.iter().map(|m| m.length).fold(0.0, f64::max);
    let (low, high) = done.bounds();
    let proof = Proof {
        distances,
        proved: measured.iter().any(|m| !m.what.is_the_same(&measured[0].what)),
        within: agree * ((high - low).length() / longest).max(1.0),
        factor,
    };
    Ok((done, proof))
}

/// Distances that no one scale can satisfy: the fault names the one that is farthest off.
fn contradiction(
    measured: &[Measured],
    read: &[f64],
    factor: f64,
    agree: f64,
) -> Result<(), Vec<OutlineFault>> {
    let off = |i: usize| (measured[i].length - factor * read[i]).abs();
    let worst = (0..read.len()).max_by(|&a, &b| off(a).total_cmp(&off(b)));
    let Some(worst) = worst.filter(|&i| off(i) > agree) else {
        return Ok(());
    };
    let each: Vec<String> = (measured.iter().zip(read))
        .map(|(m, r)| {
            format!(
                "{} would make it {:.4} times as large",
                m.what.words(),
                m.length / r
            )
        })
        .collect();
    let what = format!(
        "the measured distances do not agree with each other: {}; {} is {:.2} mm off, {:.2} mm are allowed",
        each.join(", "),
        measured[worst].what.words(),
        off(worst) * 1e3,
        agree * 1e3
    );
    let mend =
        "measure again; if both are right, the picture is distorted and wants straightening by its corners";
    Err(vec![OutlineFault::new("distances-disagree", what, mend)])
}

/// The slips that the trade sees again and again: the factor measured / read, and what happened.
const SLIPS: [(f64, &str); 12] = [
    (25.4, "inches were taken for millimetres"),
    (1.0 / 25.4, "millimetres were taken for inches"),
    (96.0 / 25.4, "millimetres were taken for pixels of 96 to the inch"),
    (25.4 / 96.0, "pixels of 96 to the inch were taken for millimetres"),
    (72.0 / 25.4, "millimetres were taken for points of 72 to the inch"),
    (25.4 / 72.0, "points of 72 to the inch were taken for millimetres"),
    (90.0 / 25.4, "millimetres were taken for pixels of 90 to the inch"),
    (25.4 / 90.0, "pixels of 90 to the inch were taken for millimetres"),
    (
        96.0 / 72.0,
        "points of 72 to the inch were taken for pixels of 96",
    ),
    (
        72.0 / 96.0,
        "pixels of 96 to the inch were taken for points of 72",
    ),
    (
        96.0 / 90.0,
        "pixels of 90 to the inch were taken for pixels of 96",
    ),
    (
        90.0 / 96.0,
        "pixels of 96 to the inch were taken for pixels of 90",
    ),
];

/// What a factor between measured and read means, when it is one of the usual slips (within half a percent).
pub fn named_slip(factor: f64) -> Option<&'static str> {
    SLIPS
        .iter()
        .find(|(ratio, _)| (factor / ratio - 1.0).abs() < 5e-3)
        .map(|(_, said)| *said)
}

fn slip(figure: &Figure, measured: &[Measured], read: &[f64], factor: f64) -> OutlineFault {
    let first = &measured[0];
    let what = format!(
        "{} measures {:.3} mm but was read as {:.3} mm: the part is {factor:.4} times as large as the file says",
        first.what.words(),
        first.length * 1e3,
        read[0] * 1e3
    );
    let unit = figure.unit.map_or(1e-3, |u| u.0.metres());
    let wanted = LengthUnit::NAMED
        .iter()
        .find(|(_, u)| (unit * factor / u.metres() - 1.0).abs() < 5e-3);
    let rescale = "take the measured scale (--rescale)";
    match (named_slip(factor), wanted) {
        (Some(said), Some((name, _))) => OutlineFault::new(
            "scale-slip",
            format!("{what}; {said}"),
            format!("state the unit (--unit {name}), or {rescale}"),
        ),
        (Some(said), None) => OutlineFault::new("scale-slip", format!("{what}; {said}"), rescale),
        (None, _) if measured.len() > 1 => {
            let mend = format!("if the distances are right, {rescale}; \"fit to page\" and copiers do this");
            OutlineFault::new("scale-off", what, mend)
        }
        (None, _) => OutlineFault::new(
            "scale-off",
            what,
            "measure a second distance to tell a wrong scale from a wrong reading",
        ),
    }
}

/// The turn and the move that take the first of two named places ("H1 H5") to the origin and the second onto the x axis.
///
/// # Errors
/// Names that are not there, or two that are one place.
pub fn level(figure: &Figure, names: &str) -> Result<(DMat2, DVec2), OutlineFault> {
    let words: Vec<&str> = names.split_whitespace().collect();
    let [first, second] = words[..] else {
        let what = format!("{} is not two holes", quoted(names));
        return Err(OutlineFault::new("level", what, "name two, such as \"H1 H5\""));
    };
    let (from, to) = (
        Mark::read(first).place(figure)?,
        Mark::read(second).place(figure)?,
    );
    let along = to - from;
    if !(along.length() > 1e-6) {
        return Err(OutlineFault::new(
            "level",
            "the two places are one",
            "name two different holes",
        ));
    }
    let turn = DMat2::from_angle(-along.to_angle());
    Ok((turn, -(turn * from)))
}

/// Two distances worth measuring, in a sentence: the longest between holes, and the longest across it.
pub fn worth_measuring(figure: &Figure) -> Option<String> {
    let holes: Vec<(&str, DVec2)> = figure
        .holes()
        .map(|(s, c)| (s.name.as_str(), c.centre))
        .take(200)
        .collect();
    let pairs = || (0..holes.len()).flat_map(|i| (0..i).map(move |j| (j, i)));
    let span = |(i, j): (usize, usize)| holes[j].1 - holes[i].1;
    let Some(long) = pairs().max_by(|a, b| span(*a).length().total_cmp(&span(*b).length())) else {
        let sized = figure.shapes.iter().any(|s| s.role == Role::Outline);
        return sized.then(|| "its width and its height".to_owned());
    };
    let along = span(long).normalize_or_zero();
    let across = pairs().max_by(|a, b| {
        let width = |p: (usize, usize)| along.perp_dot(span(p)).abs();
        width(*a).total_cmp(&width(*b))
    })?;
    let words = |p: (usize, usize)| {
        format!(
            "{} to {} ({:.2} mm as read)",
            holes[p.0].0,
            holes[p.1].0,
            span(p).length() * 1e3
        )
    };
    match across == long {
        true => Some(format!("{} and the width", words(long))),
        false => Some(format!("{} and {}", words(long), words(across))),
    }
}

/// Whether the scale of a figure rests on nothing but a format's habit.
pub fn is_assumed(figure: &Figure) -> bool {
    figure.unit.is_some_and(|u| u.1 == UnitOrigin::Assumed)
}
