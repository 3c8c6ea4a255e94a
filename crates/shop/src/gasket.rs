//! A gasket to be cut: outline, bore, holes, the narrowest bridge of material, and pieces where the cutter's mat is smaller.
//!
//! Edges are straight lines and arcs from end to end; offsets and cuts keep arcs as arcs ([`region`]). A hole is the thread
//! it clears plus the material's allowance, and the bore stands back from the cavity's edge, because a gasket under load
//! spreads: what hangs into the oil is torn off, what closes a passage starves a bearing.

pub mod ligament;
pub mod material;
mod pieces;
mod region;

pub use ligament::Bridge;
pub use material::{MATERIALS, Material};
pub use pieces::{Joint, Piece};

use glam::DVec2;
use outline::{Closed, Figure, OutlineFault};
use serde::Serialize;

/// What a hole is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum HoleKind {
    /// A bolt goes through.
    Bolt,
    /// Oil passes.
    Oil,
    /// A dowel or a sleeve locates it.
    Dowel,
    /// As drawn in a file: what it is for is not known.
    Drawn,
}

impl HoleKind {
    /// In a sentence.
    pub fn words(self) -> &'static str {
        match self {
            HoleKind::Bolt => "bolt",
            HoleKind::Oil => "oil passage",
            HoleKind::Dowel => "dowel",
            HoleKind::Drawn => "hole",
        }
    }
}

/// A round hole as it will be cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Hole {
    /// "1", "2", … bolts as the design counts them; other holes by their name.
    pub name: String,
    /// What it is for.
    pub kind: HoleKind,
    /// Middle [m].
    pub at: DVec2,
    /// Diameter as cut [m].
    pub diameter: f64,
}

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// Outer edge, as the flange has it.
    pub outer: Closed,
    /// Inner edges, as the cavity and openings have them.
    pub windows: Vec<Closed>,
    /// Round holes as they will be cut.
    pub holes: Vec<Hole>,
    /// How far the inner edges stand back [m].
    pub set_back: f64,
    /// Bridges narrower than this are told [m].
    pub least: f64,
    /// The cutter's mat [m].
    pub mat: Option<[f64; 2]>,
}

/// A gasket, ready to be cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Gasket {
    /// All of it.
    pub whole: Figure,
    /// The holes.
    pub holes: Vec<Hole>,
    /// Area of material [m²].
    pub area: f64,
    /// Length of all cuts [m].
    pub cut: f64,
    /// The narrowest bridge of material; none where there is one edge only.
    pub least: Option<Bridge>,
    /// Every bridge narrower than the limit, the narrowest first.
    pub narrow: Vec<Bridge>,
    /// Pieces that fit on the mat; empty when the whole does.
    pub pieces: Vec<Piece>,
    /// Where the pieces join.
    pub joints: Vec<Joint>,
}

/// Why there is no gasket.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{what}; {mend}")]
pub struct GasketFault {
    /// Which kind of fault.
    pub id: &'static str,
    /// What is wrong and where.
    pub what: String,
    /// How to mend it.
    pub mend: String,
}

impl GasketFault {
    pub(crate) fn new(id: &'static str, what: String, mend: &str) -> GasketFault {
        let mend = mend.to_owned();
        GasketFault { id, what, mend }
    }
}

/// A place in words.
pub(crate) fn place(p: DVec2) -> String {
    format!("x = {:.1} mm, y = {:.1} mm", p.x * 1e3, p.y * 1e3)
}

/// Works out the gasket.
///
/// # Errors
/// Edges that cross, a bore that reaches the outer edge, a hole that lies outside or breaks through an edge or into
/// another, and no place for a joint on the mat: everything that is wrong, each with its place.
pub fn made(asked: &Asked) -> Result<Gasket, Vec<GasketFault>> {
    let outer = asked.outer.clone().counter_clockwise();
    let windows = grown(&asked.windows, asked.set_back)?;
    // The edges first, by themselves: a fault of theirs is told by itself.
    let edges = std::iter::once(outer.clone()).chain(windows.iter().cloned());
    Figure::from_lines(edges).map_err(edge_faults)?;
    if let Some(window) = windows
        .iter()
        .find(|w| !w.vertices.iter().all(|(p, _)| outer.contains(*p)))
    {
        let (low, high) = window.bounds();
        let what = format!(
            "the opening round {}, set back by {:.2} mm, reaches over the outer edge",
            place(0.5 * (low + high)),
            asked.set_back * 1e3
        );
        return Err(vec![GasketFault::new(
            "set-back",
            what,
            "state a smaller bore_allowance, or mend the outline",
        )]);
    }
    let faults = misplaced(&outer, &windows, &asked.holes);
    if !faults.is_empty() {
        return Err(faults);
    }
    let holes = (asked.holes.iter()).map(|h| Closed::circle(h.at, 0.5 * h.diameter));
    let lines: Vec<Closed> = std::iter::once(outer.clone())
        .chain(windows.iter().cloned())
        .chain(holes)
        .collect();
    let whole = Figure::from_lines(lines.iter().cloned()).map_err(edge_faults)?;
    let area = outer.area() - lines[1..].iter().map(|l| l.area().abs()).sum::<f64>();
    let cut = lines.iter().map(Closed::length).sum();
    let names = names(windows.len(), &asked.holes);
    let bridges = ligament::bridges(&lines, &names, asked.least);
    let (pieces, joints) = match asked.mat {
        Some(mat) => pieces::split(&outer, &windows, &asked.holes, mat)?,
        None => (Vec::new(), Vec::new()),
    };
    let parts: f64 = pieces.iter().map(|p| p.area).sum();
    if !pieces.is_empty() && (parts / area - 1.0).abs() > 1e-6 {
        let what = format!(
            "the pieces have {:.3} cm² and the whole {:.3} cm²: a fault of this program",
            parts * 1e4,
            area * 1e4
        );
        return Err(vec![GasketFault::new(
            "pieces",
            what,
            "cut it whole, or state another mat",
        )]);
    }
    Ok(Gasket {
        whole,
        holes: asked.holes.clone(),
        area,
        cut,
        least: bridges.first().cloned(),
        narrow: bridges.into_iter().filter(|b| b.width < asked.least).collect(),
        pieces,
        joints,
    })
}

/// Outer edge and bore of a flange, given as rows of chords within 5 µm of their arcs, with their arcs again.
///
/// An outer edge that stands everywhere as far from the bore as its mean within 10 µm is the bore moved outward by that:
/// so a flange described by its width has true arcs whatever its chords are.
pub fn edges(outer: &[DVec2], inner: &[DVec2]) -> (Closed, Closed) {
    const CHORDS: f64 = 8e-6;
    let bore = Closed::from_chords(inner, CHORDS).counter_clockwise();
    let off: Vec<f64> = outer.iter().map(|p| bore.distance(*p)).collect();
    let mean = off.iter().sum::<f64>() / off.len().max(1) as f64;
    if off.iter().all(|d| (d - mean).abs() < 10e-6)
        && let [moved] = &region::offset(&bore, mean)[..]
    {
        let moved = without_crumbs(moved);
        if outer.iter().all(|p| moved.distance(*p) < 10e-6) {
            return (moved, bore);
        }
    }
    (Closed::from_chords(outer, CHORDS).counter_clockwise(), bore)
}

/// The line without stretches shorter than 0.05 mm: where an arc of chords does not meet its neighbour quite tangentially, an
/// offset fills the kink with one of some micrometres.
fn without_crumbs(line: &Closed) -> Closed {
    const CRUMB: f64 = 50e-6;
    let n = line.vertices.len();
    let stays = |i: &usize| line.vertices[*i].0.distance(line.vertices[(i + 1) % n].0) > CRUMB;
    Closed::new((0..n).filter(stays).map(|i| line.vertices[i]).collect())
}

fn edge_faults(faults: Vec<OutlineFault>) -> Vec<GasketFault> {
    let told = |f: OutlineFault| GasketFault {
        id: f.id,
        what: f.what,
        mend: f.mend,
    };
    faults.into_iter().map(told).collect()
}

/// Inner edges set back by the allowance.
fn grown(windows: &[Closed], by: f64) -> Result<Vec<Closed>, Vec<GasketFault>> {
    let mut all = Vec::new();
    for window in windows {
        let window = window.clone().counter_clockwise();
        match &region::offset(&window, by)[..] {
            [one] => all.push(one.clone()),
            several => {
                let (low, high) = window.bounds();
                let what = format!(
                    "set back by {:.2} mm the inner edge at {} falls into {} lines",
                    by * 1e3,
                    place(0.5 * (low + high)),
                    several.len()
                );
                return Err(vec![GasketFault::new(
                    "set-back",
                    what,
                    "state a smaller bore_allowance",
                )]);
            }
        }
    }
    Ok(all)
}

/// Holes that are not in the material.
fn misplaced(outer: &Closed, windows: &[Closed], holes: &[Hole]) -> Vec<GasketFault> {
    let mut faults = Vec::new();
    for (i, hole) in holes.iter().enumerate() {
        let (radius, name) = (
            0.5 * hole.diameter,
            format!("{} {}", hole.kind.words(), hole.name),
        );
        let told = |what: String, mend: &str| GasketFault::new("hole", what, mend);
        if !outer.contains(hole.at) {
            let what = format!("{name} at {} lies outside the outline", place(hole.at));
            faults.push(told(what, "mend its place, or give the outline an ear there"));
        } else if windows.iter().any(|w| w.contains(hole.at)) {
            let what = format!("{name} at {} lies inside an opening", place(hole.at));
            faults.push(told(what, "mend its place"));
        } else if let Some(edge) = std::iter::once(outer)
            .chain(windows)
            .find(|e| e.distance(hole.at) <= radius)
        {
            let what = format!(
                "{name} at {}, {:.2} mm wide, breaks through an edge that is {:.2} mm from its middle",
                place(hole.at),
                hole.diameter * 1e3,
                edge.distance(hole.at) * 1e3
            );
            faults.push(told(what, "a smaller hole_allowance, or a wider flange there"));
        }
        for other in &holes[..i] {
            if other.at.distance(hole.at) <= radius + 0.5 * other.diameter {
                let what = format!(
                    "{name} and {} {} run into each other at {}",
                    other.kind.words(),
                    other.name,
                    place(hole.at)
                );
                faults.push(told(what, "mend their places or diameters"));
            }
        }
    }
    faults
}

fn names(windows: usize, holes: &[Hole]) -> Vec<String> {
    let mut names = vec!["the outer edge".to_owned()];
    names.extend((0..windows).map(|i| match (i, windows) {
        (0, 1) => "the bore".to_owned(),
        _ => format!("opening {}", i + 1),
    }));
    names.extend(holes.iter().map(|h| format!("{} {}", h.kind.words(), h.name)));
    names
}
