//! What was understood of a file: closed outlines, which of them are holes, and their names.

use crate::closed::Closed;
use crate::fault::OutlineFault;
use crate::round::Circle;
use crate::tidy::{self, Crossing};
use crate::unit::{LengthUnit, UnitOrigin};
use glam::{DMat2, DVec2};
use serde::Serialize;

/// Largest distance from the origin [m]; beyond any part of a car.
const FARTHEST: f64 = 100.0;
/// Outlines at most in one file.
pub const MOST_OUTLINES: usize = 5_000;

/// Comparisons of chords at most in the search for lines that cross themselves; an honest drawing takes some thousands.
const MOST_COMPARISONS: usize = 20_000_000;

/// How drawings are read.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadOptions {
    /// The unit, where the file does not say or says wrong.
    pub unit: Option<LengthUnit>,
    /// Layers to take; all that are shown when empty.
    pub layers: Vec<String>,
    /// Widest gap between loose ends that is closed [m].
    pub join: f64,
    /// How far arcs may lie from an ellipse, a spline or a curve that they stand for [m].
    pub fit: f64,
}

impl Default for ReadOptions {
    /// Gaps up to 0.05 mm are closed, curves followed to 0.01 mm: both finer than a laser cuts (common practice, no
    /// source).
    fn default() -> ReadOptions {
        ReadOptions {
            unit: None,
            layers: Vec::new(),
            join: 50e-6,
            fit: 10e-6,
        }
    }
}

/// What an outline is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// The edge of a part.
    Outline,
    /// A round hole in it.
    Hole,
    /// An opening of another shape.
    Window,
}

/// A closed outline with what is known of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shape {
    /// O1, O2, ... outlines by size; H1, H2, ... holes and W1, W2, ... windows counter-clockwise from the lower left.
    pub name: String,
    /// What it is.
    pub role: Role,
    /// The line, counter-clockwise [m].
    pub line: Closed,
    /// Layer it was drawn on; empty where the format has none.
    pub layer: String,
    /// Line of the file, from 1; 0 where the format has none.
    pub at_line: usize,
    /// The circle that it is, if round.
    #[serde(skip)]
    pub circle: Option<Circle>,
}

/// A layer of a drawing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Layer {
    /// Name.
    pub name: String,
    /// Lines, arcs and curves on it.
    pub pieces: usize,
    /// Whether it was taken.
    pub taken: bool,
}

/// What was understood of a file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figure {
    /// Outlines first (largest first), then holes, then windows.
    pub shapes: Vec<Shape>,
    /// Unit of the file and how it came to be known; `None` where every length carried its own.
    pub unit: Option<(LengthUnit, UnitOrigin)>,
    /// Layers in the order of their names.
    pub layers: Vec<Layer>,
    /// What was understood, a sentence each.
    pub said: Vec<String>,
    /// What a user should look at, a sentence each.
    pub cautions: Vec<String>,
}

impl Figure {
    /// A figure of closed outlines [m]: parts, holes and windows told apart and named.
    ///
    /// # Errors
    /// Outlines that cross or touch themselves or each other, or enclose nothing.
    pub fn from_lines(lines: impl IntoIterator<Item = Closed>) -> Result<Figure, Vec<OutlineFault>> {
        let closed = lines.into_iter().map(|line| (line, String::new(), 0)).collect();
        Figure::of(closed, 1e-6)
    }

    /// Sorts outlines into parts, holes and windows and names them.
    ///
    /// `closed` holds each outline [m] with its layer and line; `round` is how far a hole may be from a circle [m].
    /// An outline that crosses itself, and a file without any, are faults.
    pub(crate) fn of(closed: Vec<(Closed, String, usize)>, round: f64) -> Result<Figure, Vec<OutlineFault>> {
        if closed.is_empty() {
            let mend =
                "draw the outline as lines, arcs, circles or polylines, and name its layer if it is hidden";
            return Err(vec![OutlineFault::new(
                "no-outline",
                "there is no closed outline in it",
                mend,
            )]);
        }
        if closed.len() > MOST_OUTLINES {
            let what = format!(
                "there are {} closed outlines; at most {MOST_OUTLINES} are read",
                closed.len()
            );
            return Err(vec![OutlineFault::new(
                "too-many",
                what,
                "choose the layer that holds the part",
            )]);
        }
        let mut shapes = Vec::new();
        let mut faults = Vec::new();
        for (line, layer, at_line) in closed {
            let tidy = tidy::merged(&line, 1e-6).counter_clockwise();
            let (low, high) = tidy.bounds();
            if !(low.abs().max(high.abs()).max_element() <= FARTHEST) {
                let what = format!(
                    "the outline reaches {:.3e} m from the origin",
                    low.abs().max(high.abs()).max_element()
                );
                let mend = format!("check the unit, and the scale of blocks; up to {FARTHEST} m are taken");
                faults.push(on_line(OutlineFault::new("too-large", what, mend), at_line));
                continue;
            }
            if !((high - low).min_element() > 1e-7) || !(tidy.area() > 1e-12) {
                let what = format!("the outline at {} encloses no area", place(low));
                let mend = "delete it, or draw its sides apart";
                faults.push(on_line(OutlineFault::new("no-area", what, mend), at_line));
                continue;
            }
            // A circle written as four cubic curves is up to 2.7e-4 of its radius off (their well-known flaw).
            let size = 0.5 * (high - low).max_element();
            let circle = tidy.as_circle(round.max(3e-4 * size));
            let line = match circle {
                Some(c) => Closed::circle(c.centre, c.radius),
                None => tidy,
            };
            shapes.push(Shape {
                name: String::new(),
                role: Role::Outline,
                line,
                layer,
                at_line,
                circle,
            });
        }
        if !faults.is_empty() {
            faults.truncate(20);
            return Err(faults);
        }
        if let Some(fault) = crossed(&shapes) {
            return Err(vec![fault]);
        }
        nest(&mut shapes);
        name(&mut shapes);
        Ok(Figure {
            shapes,
            unit: None,
            layers: Vec::new(),
            said: Vec::new(),
            cautions: Vec::new(),
        })
    }

    /// Names the layers that were not taken.
    pub(crate) fn say_layers_left_out(&mut self) {
        let left = self.layers.iter().filter(|l| !l.taken);
        let left: Vec<String> = left.map(|l| format!("{} ({})", l.name, l.pieces)).collect();
        if !left.is_empty() {
            self.said
                .push(format!("Left out, with their pieces: {}.", left.join(", ")));
        }
    }

    /// Outlines of parts, largest first.
    pub fn outlines(&self) -> impl Iterator<Item = &Shape> {
        self.shapes.iter().filter(|s| s.role == Role::Outline)
    }

    /// Round holes with their circles.
    pub fn holes(&self) -> impl Iterator<Item = (&Shape, Circle)> {
        let holes = self.shapes.iter().filter(|s| s.role == Role::Hole);
        holes.filter_map(|s| s.circle.map(|c| (s, c)))
    }

    /// Low and high corner of all of it [m].
    pub fn bounds(&self) -> (DVec2, DVec2) {
        let all = self.shapes.iter().map(|s| s.line.bounds());
        all.reduce(|(low, high), (l, h)| (low.min(l), high.max(h)))
            .unwrap_or_default()
    }

    /// All of it turned, evenly scaled or mirrored, then moved; names stay.
    pub fn placed(&self, turn: DMat2, by: DVec2) -> Figure {
        let mut figure = self.clone();
        let scale = turn.determinant().abs().sqrt();
        for shape in &mut figure.shapes {
            shape.line = shape.line.placed(turn, by).counter_clockwise();
            shape.circle = shape.circle.map(|c| Circle {
                centre: turn * c.centre + by,
                radius: scale * c.radius,
            });
        }
        figure
    }
}

/// A place in a message, in millimetres.
pub(crate) fn place(p: DVec2) -> String {
    format!("x = {:.3} mm, y = {:.3} mm", p.x * 1e3, p.y * 1e3)
}

/// Lines that cross themselves or each other bound nothing that could be told.
fn crossed(shapes: &[Shape]) -> Option<OutlineFault> {
    let sagitta = |s: &Shape| {
        let (low, high) = s.line.bounds();
        // Chords within a tenth of a millimetre of a large outline, finer on a small one.
        (5e-4 * (high - low).max_element()).clamp(1e-6, 1e-4)
    };
    let lines: Vec<(&Closed, f64)> = shapes.iter().map(|s| (&s.line, sagitta(s))).collect();
    match tidy::crossing(&lines, MOST_COMPARISONS)? {
        Crossing::At(a, b, at) if a == b => {
            let what = format!("the outline crosses or touches itself at {}", place(at));
            let fault = OutlineFault::new("crosses-itself", what, "part it there in the drawing");
            Some(on_line(fault, shapes[a].at_line))
        }
        Crossing::At(a, b, at) => {
            let what = format!("two outlines cross or touch each other at {}", place(at));
            let mend = "move or delete one of them, or choose the layer that holds the part";
            Some(on_line(
                OutlineFault::new("outlines-cross", what, mend),
                shapes[a].at_line.max(shapes[b].at_line),
            ))
        }
        Crossing::Tangled => {
            let what = "the lines are too many and too long to be checked against each other";
            Some(OutlineFault::new("too-many", what, "export only the outline"))
        }
    }
}

fn on_line(fault: OutlineFault, line: usize) -> OutlineFault {
    match line {
        0 => fault,
        line => fault.on_line(line),
    }
}

/// What lies inside an odd number of others is an opening.
fn nest(shapes: &mut [Shape]) {
    shapes.sort_by(|a, b| b.line.area().total_cmp(&a.line.area()));
    let bounds: Vec<_> = shapes.iter().map(|s| s.line.bounds()).collect();
    let inner = |i: usize| shapes[i].line.sides().next().map_or(DVec2::ZERO, |s| s.at(0.5));
    let depth = |i: usize| {
        let p = inner(i);
        let around = (0..i).filter(|&j| {
            let (low, high) = bounds[j];
            p.cmpge(low).all() && p.cmple(high).all() && shapes[j].line.contains(p)
        });
        around.count()
    };
    let depths: Vec<usize> = (0..shapes.len()).map(depth).collect();
    for (shape, depth) in shapes.iter_mut().zip(depths) {
        shape.role = match (depth % 2, shape.circle) {
            (0, _) => Role::Outline,
            (_, Some(_)) => Role::Hole,
            (_, None) => Role::Window,
        };
    }
}

fn name(shapes: &mut [Shape]) {
    let all = shapes.iter().map(|s| s.line.bounds());
    let (low, high) = all
        .reduce(|(a, b), (l, h)| (a.min(l), b.max(h)))
        .unwrap_or_default();
    let middle = 0.5 * (low + high);
    let size = (high - low).max(DVec2::splat(f64::MIN_POSITIVE));
    // Round about the middle of the sheet, whatever its proportions, from a little before the lower left corner on.
    let angle = |s: &Shape| {
        let (l, h) = s.line.bounds();
        let way = (0.5 * (l + h) - middle) / size;
        (way.to_angle() + 165f64.to_radians()).rem_euclid(std::f64::consts::TAU)
    };
    let rank = |s: &Shape| match s.role {
        Role::Outline => (0, 0.0),
        Role::Hole => (1, angle(s)),
        Role::Window => (2, angle(s)),
    };
    shapes.sort_by(|a, b| {
        let ((r, x), (s, y)) = (rank(a), rank(b));
        r.cmp(&s).then(x.total_cmp(&y))
    });
    let mut counts = [0; 3];
    for shape in shapes {
        let kind = rank(shape).0;
        counts[kind] += 1;
        shape.name = format!("{}{}", ["O", "H", "W"][kind], counts[kind]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holes_and_windows_are_told_apart_and_holes_are_counted_from_the_lower_left() {
        let p = |x: f64, y: f64| (DVec2::new(x, y), 0.0);
        let square =
            |low: f64, high: f64| Closed::new(vec![p(low, low), p(high, low), p(high, high), p(low, high)]);
        let hole = |x: f64, y: f64| Closed::circle(DVec2::new(x, y), 0.004);
        let all = [
            hole(0.01, 0.09),
            square(0.03, 0.07),
            hole(0.09, 0.09),
            square(0.0, 0.1),
            hole(0.01, 0.01),
        ];
        let closed = all.into_iter().map(|c| (c, String::new(), 0)).collect();
        let figure = Figure::of(closed, 1e-5).expect("it is sound");
        let names: Vec<&str> = figure.shapes.iter().map(|s| s.name.as_str()).collect();
        assert_eq!(names, ["O1", "H1", "H2", "H3", "W1"]);
        let centres: Vec<DVec2> = figure.holes().map(|(_, c)| c.centre).collect();
        assert!(centres[0].distance(DVec2::new(0.01, 0.01)) < 1e-9);
        assert!(centres[1].distance(DVec2::new(0.09, 0.09)) < 1e-9);
    }

    #[test]
    fn an_outline_that_crosses_itself_is_told_with_its_line_and_place() {
        let p = |x: f64, y: f64| (DVec2::new(x, y), 0.0);
        let eight = Closed::new(vec![p(0.0, 0.0), p(0.2, 0.2), p(0.2, 0.0), p(0.0, 0.1)]);
        let faults = Figure::of(vec![(eight, String::new(), 7)], 1e-5).expect_err("it crosses itself");
        assert_eq!((faults[0].id, faults[0].line), ("crosses-itself", Some(7)));
    }
}
