//! An outline as it was understood: its line with arcs as arcs, holes with their names, a bar of known length.

use super::Look;
use crate::drawing::{Anchor, Drawing, Ink, Path, Pen, Weight};
use glam::DVec2;

/// A closed line of the picture.
#[derive(Clone, Debug)]
pub struct Line {
    /// Its name, written beside it; empty for none.
    pub name: String,
    /// Corners [m] with the bulge of the side that leaves each.
    pub vertices: Vec<(DVec2, f64)>,
    /// Whether it bounds an opening.
    pub opening: bool,
}

/// A picture that lies under the lines, straightened.
#[derive(Clone, Debug)]
pub struct Under {
    /// Lower left corner [m].
    pub low: DVec2,
    /// Upper right corner [m].
    pub high: DVec2,
    /// As a PNG file.
    pub png: Vec<u8>,
}

/// The lines to scale, largest side on paper as wide as the look allows; `None` when there are none.
pub fn outlined(name: &str, lines: &[Line], under: Option<Under>, look: &Look) -> Option<Drawing> {
    let points = lines.iter().flat_map(|l| bounds(l).into_iter());
    let (low, high) = points.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(a, b), p| {
        (a.min(p), b.max(p))
    });
    let size = high - low;
    if !(size.max_element() > 0.0) || !size.is_finite() {
        return None;
    }
    let margin = 3.0 * look.words;
    let foot = 4.5 * look.words;
    let scale = ((look.width - 2.0 * margin) / size.x).min(1.2 * look.width / size.y.max(1e-9));
    let height = size.y * scale + margin + foot;
    let mut d = Drawing::new(
        &look.id("outline"),
        look.width,
        height,
        "The outline as understood",
    );
    d.said = format!(
        "{name}, {:.1} by {:.1} mm, seen from above: the part's edge, its holes and openings.",
        size.x * 1e3,
        size.y * 1e3
    );
    let left = 0.5 * (look.width - size.x * scale);
    let on_paper = |p: DVec2| DVec2::new(left, foot) + (p - low) * scale;
    let path = |l: &Line| Path {
        vertices: l.vertices.iter().map(|&(p, b)| (on_paper(p), b)).collect(),
        closed: true,
    };
    // Over a picture the lines are thin and of a colour that no gasket has, so that the edge is seen on both sides.
    let traced = under.is_some();
    if let Some(under) = under {
        d.picture(on_paper(under.low), on_paper(under.high), under.png);
    }
    for line in lines {
        let pen = match (traced, line.opening) {
            (true, _) => Pen::new(Ink::Bare, Weight::Fine),
            (false, true) => Pen::new(Ink::Metal, Weight::Medium),
            (false, false) => Pen::new(Ink::Metal, Weight::Heavy),
        };
        d.paths(vec![path(line)], Some(pen), None);
    }
    for line in lines.iter().filter(|l| !l.name.is_empty()) {
        let [from, to] = bounds(line);
        let small = (to - from).max_element() * scale < 8.0 * look.words;
        let at = match (line.opening, small) {
            // Beside a small hole, in the middle of a large opening, within a part's lower left corner.
            (true, true) => {
                on_paper(DVec2::new(to.x, 0.5 * (from.y + to.y))) + DVec2::new(0.8, -0.35 * look.words)
            }
            (true, false) => on_paper(0.5 * (from + to)),
            (false, _) => {
                on_paper(DVec2::new(0.5 * (from.x + to.x), from.y)) + DVec2::new(0.0, -1.4 * look.words)
            }
        };
        let anchor = if line.opening && small {
            Anchor::Start
        } else {
            Anchor::Middle
        };
        match traced {
            true => d.label(at, &line.name, look.words, anchor, Ink::Bare),
            false => d.strong(at, &line.name, look.words, anchor, Ink::Main),
        }
    }
    bar(&mut d, look, scale, size.x);
    Some(d)
}

/// Rough bounds: corners, and the middles of arcs.
fn bounds(line: &Line) -> [DVec2; 2] {
    let n = line.vertices.len();
    let mut low = DVec2::INFINITY;
    let mut high = DVec2::NEG_INFINITY;
    for i in 0..n {
        let ((a, bulge), (b, _)) = (line.vertices[i], line.vertices[(i + 1) % n]);
        // The middle of an arc lies right of its chord by half the chord times the bulge.
        let middle = 0.5 * (a + b) - 0.5 * bulge * (b - a).perp();
        low = low.min(a).min(middle);
        high = high.max(a).max(middle);
    }
    [low, high]
}

/// A bar of 10, 20, 50, 100, ... mm, about a third of the width.
fn bar(d: &mut Drawing, look: &Look, scale: f64, width: f64) {
    let wish = width / 3.0;
    let power = 10f64.powf(wish.log10().floor());
    let length = [5.0, 2.0, 1.0]
        .into_iter()
        .map(|s| s * power)
        .find(|l| *l <= wish)
        .unwrap_or(power);
    let from = DVec2::new(3.0 * look.words, 1.2 * look.words);
    let to = from + DVec2::new(length * scale, 0.0);
    let pen = Pen::new(Ink::Quiet, Weight::Fine);
    d.line(from, to, pen);
    for end in [from, to] {
        d.line(end - DVec2::new(0.0, 0.8), end + DVec2::new(0.0, 0.8), pen);
    }
    let words = format!("{} mm", length * 1e3);
    d.text(
        to + DVec2::new(1.2, -0.35 * look.words),
        &words,
        look.words,
        Anchor::Start,
        Ink::Quiet,
    );
}
