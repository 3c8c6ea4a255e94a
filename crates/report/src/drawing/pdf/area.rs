//! Lines, arcs and filled areas in the words of PDF, which knows straight lines and cubic curves only.

use super::ink;
use crate::drawing::{Fill, Ink, Path, Shape};
use glam::DVec2;
use pdf_writer::Content;
use pdf_writer::types::LineCapStyle;
use std::f64::consts::{FRAC_1_SQRT_2, FRAC_PI_2, FRAC_PI_6, TAU};

/// The shape as paths; words and pictures have none.
pub(super) fn paths_of(shape: &Shape) -> Vec<Path> {
    match shape {
        Shape::Line { from, to } => vec![Path::open([*from, *to])],
        Shape::Arc {
            centre,
            radius,
            start,
            sweep,
        } => {
            let at = |angle: f64| *centre + *radius * DVec2::from_angle(angle);
            // In two halves: the bulge of a whole turn would be endless.
            let bulge = (sweep / 8.0).tan();
            let corners = [
                (at(*start), bulge),
                (at(start + 0.5 * sweep), bulge),
                (at(start + sweep), 0.0),
            ];
            vec![Path {
                vertices: corners.to_vec(),
                closed: false,
            }]
        }
        Shape::Circle { centre, radius } => vec![circle(*centre, *radius)],
        Shape::Paths(paths) => paths.clone(),
        Shape::Picture { .. } | Shape::Text { .. } => Vec::new(),
    }
}

fn circle(centre: DVec2, radius: f64) -> Path {
    let r = DVec2::new(radius, 0.0);
    Path {
        vertices: vec![(centre + r, 1.0), (centre - r, 1.0)],
        closed: true,
    }
}

/// Adds a path to the one under way.
pub(super) fn path(c: &mut Content, path: &Path) {
    let v = &path.vertices;
    let Some(&(first, _)) = v.first() else { return };
    c.move_to(first.x as f32, first.y as f32);
    for pair in v.windows(2) {
        side(c, pair[0].0, pair[1].0, pair[0].1);
    }
    if path.closed {
        let (last, bulge) = v[v.len() - 1];
        if bulge != 0.0 {
            side(c, last, first, bulge);
        }
        c.close_path();
    }
}

/// A straight stretch, or an arc of `bulge` as cubic curves.
///
/// Each takes up to 30° with its handles `4/3 tan(θ/4)` of the radius long, which touches the circle at both ends and
/// in the middle and is nowhere farther than 4e-7 of the radius from it: a circle of 1 m is drawn to 0.4 µm.
fn side(c: &mut Content, from: DVec2, to: DVec2, bulge: f64) {
    if bulge == 0.0 || from == to {
        c.line_to(to.x as f32, to.y as f32);
        return;
    }
    let (centre, sweep) = arc(from, to, bulge);
    let steps = (sweep.abs() / FRAC_PI_6).ceil().max(1.0);
    let turn = sweep / steps;
    let handle = 4.0 / 3.0 * (0.25 * turn).tan();
    let mut ray = from - centre;
    for k in 1..=steps as usize {
        let next = match k as f64 == steps {
            true => to - centre,
            false => DVec2::from_angle(k as f64 * turn).rotate(from - centre),
        };
        let (a, b) = (
            centre + ray + handle * ray.perp(),
            centre + next - handle * next.perp(),
        );
        let end = centre + next;
        c.cubic_to(
            a.x as f32,
            a.y as f32,
            b.x as f32,
            b.y as f32,
            end.x as f32,
            end.y as f32,
        );
        ray = next;
    }
}

/// Fills an area with dots or a hatch, drawn as shapes and cut by its outline; the same grids as in SVG.
pub(super) fn patterned(c: &mut Content, outline: &[Path], pattern: Fill, page: DVec2) {
    let Some((low, high)) = bounds(outline, page) else {
        return;
    };
    c.save_state();
    outline.iter().for_each(|p| path(c, p));
    c.clip_nonzero().end_path();
    let [r, g, b] = ink::unit(Ink::Ground);
    c.set_fill_rgb(r, g, b);
    c.rect(
        low.x as f32,
        low.y as f32,
        (high.x - low.x) as f32,
        (high.y - low.y) as f32,
    );
    c.fill_nonzero();
    let dark = if pattern == Fill::Thin {
        Ink::OilEdge
    } else {
        Ink::Bare
    };
    let [r, g, b] = ink::unit(dark);
    c.set_fill_rgb(r, g, b).set_stroke_rgb(r, g, b);
    match pattern {
        Fill::Thin => dots(c, low, high),
        _ => stripes(c, low, high),
    }
    c.restore_state();
}

/// Dots as strokes of no length with round ends: a thousand of them cost what one circle of curves costs.
fn dots(c: &mut Content, low: DVec2, high: DVec2) {
    // Two dots in each square of 1.6 mm: a grid of 0.8 mm of which every other place is taken.
    const STEP: f64 = 0.8;
    const ACROSS: f32 = 0.72;
    let range = |low: f64, high: f64| (low / STEP).floor() as i64 - 1..=(high / STEP).ceil() as i64;
    c.set_line_width(ACROSS);
    c.set_line_cap(LineCapStyle::RoundCap);
    c.set_dash_pattern([], 0.0);
    for j in range(low.y, high.y) {
        for i in range(low.x, high.x).filter(|i| (i + j).rem_euclid(2) == 0) {
            let at = DVec2::new(i as f64 + 0.5, j as f64 + 0.5) * STEP;
            c.move_to(at.x as f32, at.y as f32);
            c.line_to(at.x as f32, at.y as f32);
        }
    }
    c.stroke();
}

fn stripes(c: &mut Content, low: DVec2, high: DVec2) {
    const PITCH: f64 = 1.5;
    const WIDE: f64 = 0.55;
    // Stripes run up to the left on the page's downward axis turned by 45°, as the SVG pattern does.
    let along = DVec2::new(FRAC_1_SQRT_2, FRAC_1_SQRT_2);
    let across = along.perp();
    let corners = [low, high, DVec2::new(low.x, high.y), DVec2::new(high.x, low.y)];
    let span = |way: DVec2| {
        let all = corners.map(|p| p.dot(way));
        (
            all.iter().copied().fold(f64::INFINITY, f64::min),
            all.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        )
    };
    let (from, to) = span(along);
    let (first, last) = span(across);
    for k in (first / PITCH).floor() as i64..=(last / PITCH).ceil() as i64 {
        let at = k as f64 * PITCH;
        let corner = |s: f64, t: f64| s * along + (at + t) * across;
        path(
            c,
            &Path::closed([
                corner(from, 0.0),
                corner(to, 0.0),
                corner(to, WIDE),
                corner(from, WIDE),
            ]),
        );
    }
    c.fill_nonzero();
}

/// What of the outline's box lies on the page.
fn bounds(outline: &[Path], page: DVec2) -> Option<(DVec2, DVec2)> {
    let mut low = DVec2::INFINITY;
    let mut high = DVec2::NEG_INFINITY;
    for path in outline {
        let v = &path.vertices;
        for (i, &(p, bulge)) in v.iter().enumerate() {
            (low, high) = (low.min(p), high.max(p));
            let next = v[(i + 1) % v.len()].0;
            if bulge != 0.0 && p != next {
                // Besides its ends, an arc is farthest where it passes over an axis of its circle.
                let (centre, sweep) = arc(p, next, bulge);
                for k in 0..4 {
                    let way = DVec2::from_angle(f64::from(k) * FRAC_PI_2);
                    let from = (p - centre).angle_to(way);
                    let turned = if sweep > 0.0 { from } else { -from }.rem_euclid(TAU);
                    if turned < sweep.abs() {
                        let tip = centre + p.distance(centre) * way;
                        (low, high) = (low.min(tip), high.max(tip));
                    }
                }
            }
        }
    }
    let (low, high) = (low.max(DVec2::ZERO), high.min(page));
    (low.cmplt(high).all()).then_some((low, high))
}

/// Centre and sweep [rad] of an arc by its ends and its bulge.
fn arc(from: DVec2, to: DVec2, bulge: f64) -> (DVec2, f64) {
    // The centre lies off the middle of the chord by its half over the tangent of half the sweep.
    let off = (1.0 - bulge * bulge) / (4.0 * bulge);
    (0.5 * (from + to) + off * (to - from).perp(), 4.0 * bulge.atan())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Largest distance of the curves from the circle, sampled; the handles' length is the textbook's.
    #[test]
    fn arcs_become_curves_that_keep_to_their_circle() {
        let mut c = Content::new();
        path(&mut c, &circle(DVec2::new(300.0, 200.0), 100.0));
        let text = String::from_utf8(c.finish().to_vec()).expect("words of PDF");
        let mut at = DVec2::ZERO;
        let mut curves = 0;
        let mut worst = 0.0_f64;
        for line in text.lines() {
            let n: Vec<f64> = line.split(' ').filter_map(|w| w.parse().ok()).collect();
            if line.ends_with(" m") {
                at = DVec2::new(n[0], n[1]);
            } else if line.ends_with(" c") {
                let [a, b, e] = [0, 2, 4].map(|k| DVec2::new(n[k], n[k + 1]));
                for t in (0..=20).map(|k| f64::from(k) / 20.0) {
                    let s = 1.0 - t;
                    let p = s * s * s * at + 3.0 * s * s * t * a + 3.0 * s * t * t * b + t * t * t * e;
                    worst = worst.max((p.distance(DVec2::new(300.0, 200.0)) - 100.0).abs());
                }
                at = e;
                curves += 1;
            }
        }
        assert_eq!(curves, 12);
        // Single precision of numbers of 400 mm costs 3e-5 mm.
        assert!(worst < 1e-4, "got {worst} mm");
    }
}
