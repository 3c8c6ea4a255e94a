//! Plane regions bounded by straight lines: union, difference, intersection, insets, areas.
//!
//! The boolean work is done by i_overlay on a fixed integer grid of 0.1 nm (never on a grid fitted to the
//! bounding box, which would move 0.2 m to 0.19999962 m in a wide job): any dimension typed in whole
//! ten-thousandths of a micrometre, so every metric or inch dimension of a drawing, comes back unchanged.

use glam::DVec2;
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::Overlay;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;
use serde::{Deserialize, Serialize};

/// Grid lines to the metre.
const GRID: f64 = 1e10;
/// Largest coordinate taken [m]; far beyond any pan, and well inside the integer engine's range.
pub const LARGEST_COORDINATE: f64 = 1e3;
/// Loops of less area than this are left-overs of rounding, not shape [m²] (10 µm square).
const LEAST_AREA: f64 = 1e-10;

/// A closed loop of corner points [m]; the last joins the first.
pub type Loop = Vec<DVec2>;

/// A region of the plane: shapes that do not overlap, each an outer loop (counter-clockwise) followed by its
/// holes (clockwise).
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Region {
    /// The shapes.
    pub shapes: Vec<Vec<Loop>>,
}

impl Region {
    /// Everything inside the loops by the non-zero rule; either turning sense.
    pub fn from_loops(loops: &[Loop]) -> Region {
        overlay(loops.iter(), [].iter(), OverlayRule::Subject, FillRule::NonZero)
    }

    /// Everything inside loops of which holes turn clockwise and outer loops counter-clockwise, however they
    /// overlap.
    pub fn from_oriented_loops(loops: &[Loop]) -> Region {
        overlay(loops.iter(), [].iter(), OverlayRule::Subject, FillRule::Positive)
    }

    /// The rectangle between two corners.
    pub fn rectangle(low: DVec2, high: DVec2) -> Region {
        Region::from_loops(&[vec![
            low,
            DVec2::new(high.x, low.y),
            high,
            DVec2::new(low.x, high.y),
        ]])
    }

    /// True when nothing is in it.
    pub fn is_empty(&self) -> bool {
        self.shapes.is_empty()
    }

    /// All loops, outer ones and holes.
    pub fn loops(&self) -> impl Iterator<Item = &Loop> {
        self.shapes.iter().flatten()
    }

    /// All edges as (from, to), the inside to their left.
    pub fn edges(&self) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
        self.loops().flat_map(|l| loop_edges(l))
    }

    /// Area [m²].
    pub fn area(&self) -> f64 {
        self.loops().map(|l| loop_area(l)).sum()
    }

    /// Low and high corner of the bounding rectangle; `None` when empty.
    pub fn bounds(&self) -> Option<(DVec2, DVec2)> {
        let mut points = self.loops().flatten();
        let first = *points.next()?;
        Some(points.fold((first, first), |(low, high), p| (low.min(*p), high.max(*p))))
    }

    /// True for points inside (of points on the edge, those with the inside above or to the right).
    pub fn contains(&self, p: DVec2) -> bool {
        let mut inside = false;
        for (a, b) in self.edges() {
            if (a.y <= p.y) != (b.y <= p.y) {
                // The same arithmetic whichever way the edge runs, so that neighbours never both claim a point.
                let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
                let x = low.x + (p.y - low.y) / (high.y - low.y) * (high.x - low.x);
                if p.x < x {
                    inside = !inside;
                }
            }
        }
        inside
    }

    /// The nearest point of the boundary; `None` when empty.
    pub fn nearest_on_edge(&self, p: DVec2) -> Option<DVec2> {
        self.edges()
            .map(|(a, b)| nearest_on_segment(p, a, b))
            .min_by(|m, n| m.distance_squared(p).total_cmp(&n.distance_squared(p)))
    }

    /// Both.
    pub fn union(&self, other: &Region) -> Region {
        overlay(self.loops(), other.loops(), OverlayRule::Union, FillRule::NonZero)
    }

    /// What both share.
    pub fn intersection(&self, other: &Region) -> Region {
        if self == other {
            return self.clone();
        }
        overlay(
            self.loops(),
            other.loops(),
            OverlayRule::Intersect,
            FillRule::NonZero,
        )
    }

    /// What `self` has and `other` has not.
    pub fn difference(&self, other: &Region) -> Region {
        if self == other {
            return Region::default();
        }
        overlay(
            self.loops(),
            other.loops(),
            OverlayRule::Difference,
            FillRule::NonZero,
        )
    }

    /// The union of many.
    pub fn union_of<'a>(regions: impl IntoIterator<Item = &'a Region>) -> Region {
        let loops: Vec<&Loop> = regions.into_iter().flat_map(|r| r.loops()).collect();
        overlay(
            loops.into_iter(),
            [].iter(),
            OverlayRule::Subject,
            FillRule::NonZero,
        )
    }

    /// All points deeper inside than `distance` [m]: every wall moves in. Corners stay sharp, re-entrant ones
    /// become arcs (chords within `sagitta` [m]), as the path of a round cutter's centre does.
    pub fn inset(&self, distance: f64, sagitta: f64) -> Region {
        if distance <= 0.0 {
            return self.clone();
        }
        let mut bands = Vec::new();
        for l in self.loops() {
            for (i, (a, b)) in loop_edges(l).enumerate() {
                let n = (b - a).normalize_or_zero().perp() * distance;
                bands.push(vec![a, b, b + n, a + n]);
                // A re-entrant corner (the boundary turns right) leaves a wedge between the bands of its edges.
                let c = l[(i + 2) % l.len()];
                if (b - a).perp_dot(c - b) < 0.0 {
                    let m = (c - b).normalize_or_zero().perp() * distance;
                    bands.push(fan(b, m, n, sagitta));
                }
            }
        }
        let bands = overlay(bands.iter(), [].iter(), OverlayRule::Subject, FillRule::NonZero);
        self.difference(&bands)
    }

    /// All points nearer than `distance` [m] to the region. Corners become arcs (chords within `sagitta` [m])
    /// when `round`; else they stay sharp, mitred up to twice the distance.
    pub fn outset(&self, distance: f64, round: bool, sagitta: f64) -> Region {
        if distance <= 0.0 {
            return self.clone();
        }
        let mut bands = Vec::new();
        for l in self.loops() {
            for (i, (a, b)) in loop_edges(l).enumerate() {
                let n = -(b - a).normalize_or_zero().perp() * distance;
                bands.push(vec![a, a + n, b + n, b]);
                let c = l[(i + 2) % l.len()];
                if (b - a).perp_dot(c - b) > 0.0 {
                    let m = -(c - b).normalize_or_zero().perp() * distance;
                    let half = 0.5 * (n + m);
                    let tip = half * (distance * distance / half.length_squared().max(f64::MIN_POSITIVE));
                    if !round && tip.length() <= 2.0 * distance {
                        bands.push(vec![b, b + n, b + tip, b + m]);
                    } else {
                        bands.push(fan(b, n, m, sagitta));
                    }
                }
            }
        }
        let bands = overlay(bands.iter(), [].iter(), OverlayRule::Subject, FillRule::NonZero);
        self.union(&bands)
    }

    /// The region with every corner moved by a map that keeps straight lines straight.
    pub fn mapped(&self, map: impl Fn(DVec2) -> DVec2) -> Region {
        let loops: Vec<Loop> = self
            .loops()
            .map(|l| l.iter().map(|p| map(*p)).collect())
            .collect();
        Region::from_loops(&loops)
    }

    /// Area [m²] of the part inside a convex figure given by its corners, counter-clockwise.
    pub fn area_within(&self, convex: &[DVec2]) -> f64 {
        let mut area = 0.0;
        for l in self.loops() {
            let mut points = l.clone();
            for (a, b) in loop_edges(convex) {
                points = clip(&points, a, (b - a).perp());
            }
            area += loop_area(&points);
        }
        area
    }

    /// Where the line through `point` along the unit vector `along` runs inside: stretches (from, to) of
    /// distance from `point`, rising. A stretch that runs along an edge counts only when the inside lies on
    /// both of its sides.
    pub fn chords(&self, point: DVec2, along: DVec2) -> Vec<(f64, f64)> {
        let across = along.perp();
        // Once with points on the line taken as left of it, once as right of it.
        let cut = |on_line_is_left: bool| -> Vec<(f64, f64)> {
            let mut at = Vec::new();
            for (a, b) in self.edges() {
                let (da, db) = ((a - point).dot(across), (b - point).dot(across));
                let left = |d: f64| if on_line_is_left { d >= 0.0 } else { d > 0.0 };
                if left(da) != left(db) {
                    let (sa, sb) = ((a - point).dot(along), (b - point).dot(along));
                    at.push(sa + (sb - sa) * (da / (da - db)));
                }
            }
            at.sort_by(f64::total_cmp);
            at.chunks_exact(2).map(|p| (p[0], p[1])).collect()
        };
        intersect_stretches(&cut(true), &cut(false))
    }

    /// Trapezoids between the heights of all corners: a simple triangulation for drawing.
    pub fn triangles(&self) -> Vec<[DVec2; 3]> {
        let mut out = Vec::new();
        for shape in &self.shapes {
            let one = Region {
                shapes: vec![shape.clone()],
            };
            let mut heights: Vec<f64> = one.loops().flatten().map(|p| p.y).collect();
            heights.sort_by(f64::total_cmp);
            heights.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
            let edges: Vec<_> = one.edges().collect();
            for pair in heights.windows(2) {
                let (y0, y1) = (pair[0], pair[1]);
                let middle = 0.5 * (y0 + y1);
                let mut crossing: Vec<(f64, f64, f64)> = edges
                    .iter()
                    .filter(|(a, b)| (a.y <= middle) != (b.y <= middle))
                    .map(|(a, b)| {
                        let x = |y: f64| a.x + ((y - a.y) / (b.y - a.y)).clamp(0.0, 1.0) * (b.x - a.x);
                        (x(middle), x(y0), x(y1))
                    })
                    .collect();
                crossing.sort_by(|a, b| a.0.total_cmp(&b.0));
                for side in crossing.chunks_exact(2) {
                    let (l0, l1) = (DVec2::new(side[0].1, y0), DVec2::new(side[0].2, y1));
                    let (r0, r1) = (DVec2::new(side[1].1, y0), DVec2::new(side[1].2, y1));
                    for t in [[l0, r0, r1], [l0, r1, l1]] {
                        if (t[1] - t[0]).perp_dot(t[2] - t[0]) > 1e-14 {
                            out.push(t);
                        }
                    }
                }
            }
        }
        out
    }
}

/// Edges of a loop as (from, to).
pub fn loop_edges(l: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
    (0..l.len()).map(move |i| (l[i], l[(i + 1) % l.len()]))
}

/// Signed area of a loop [m²], positive counter-clockwise.
pub fn loop_area(l: &[DVec2]) -> f64 {
    let Some(&o) = l.first() else { return 0.0 };
    // Measured from the first corner, so that a small loop far from the origin loses no digits.
    0.5 * loop_edges(l).map(|(a, b)| (a - o).perp_dot(b - o)).sum::<f64>()
}

/// The part of a loop on the side of the line through `point` to which `inward` shows. Pieces stay joined
/// along the line, which leaves the area right.
pub fn clip(points: &[DVec2], point: DVec2, inward: DVec2) -> Loop {
    let mut kept = Vec::with_capacity(points.len() + 2);
    for (a, b) in loop_edges(points) {
        let (da, db) = ((a - point).dot(inward), (b - point).dot(inward));
        if da >= 0.0 {
            kept.push(a);
        }
        if (da > 0.0 && db < 0.0) || (da < 0.0 && db > 0.0) {
            kept.push(a.lerp(b, da / (da - db)));
        }
    }
    kept
}

/// The point of segment a–b nearest to p.
pub fn nearest_on_segment(p: DVec2, a: DVec2, b: DVec2) -> DVec2 {
    let d = b - a;
    let t = ((p - a).dot(d) / d.length_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
    a + d * t
}

/// What two lists of rising stretches share.
pub fn intersect_stretches(a: &[(f64, f64)], b: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let (mut i, mut j, mut out) = (0, 0, Vec::new());
    while i < a.len() && j < b.len() {
        let (low, high) = (a[i].0.max(b[j].0), a[i].1.min(b[j].1));
        if low < high {
            out.push((low, high));
        }
        if a[i].1 < b[j].1 {
            i += 1;
        } else {
            j += 1;
        }
    }
    out
}

/// The sector at `centre` from radius vector `n` to `m`, taken the short way; counter-clockwise when that is.
// All bands must turn the same way: under the non-zero rule opposite ones would cancel where they overlap.
fn fan(centre: DVec2, n: DVec2, m: DVec2, sagitta: f64) -> Loop {
    let sweep = n.perp_dot(m).atan2(n.dot(m));
    let pieces = chord_count(n.length(), sweep, sagitta);
    let mut points = vec![centre];
    for i in 0..=pieces {
        points.push(centre + DVec2::from_angle(sweep * i as f64 / pieces as f64).rotate(n));
    }
    points
}

/// Chords needed to draw an arc within `sagitta`.
pub(crate) fn chord_count(radius: f64, sweep: f64, sagitta: f64) -> usize {
    let step = 2.0 * (1.0 - sagitta / radius.max(sagitta)).max(0.0).acos();
    ((sweep.abs() / step).ceil() as usize).clamp(1, 720)
}

fn overlay<'a>(
    subject: impl Iterator<Item = &'a Loop>,
    clip: impl Iterator<Item = &'a Loop>,
    rule: OverlayRule,
    fill: FillRule,
) -> Region {
    let to_grid = |l: &Loop| -> Vec<IntPoint<i64>> {
        l.iter()
            .map(|p| IntPoint {
                x: on_grid(p.x),
                y: on_grid(p.y),
            })
            .collect()
    };
    let subject: Vec<_> = subject.map(to_grid).collect();
    let clip: Vec<_> = clip.map(to_grid).collect();
    let shapes = Overlay::<i64>::from_subj_and_clip(&subject, &clip).overlay(rule, fill);
    let from_grid = |l: &Vec<IntPoint<i64>>| -> Loop {
        l.iter()
            .map(|p| DVec2::new(p.x as f64 / GRID, p.y as f64 / GRID))
            .collect()
    };
    let mut region = Region::default();
    for shape in &shapes {
        let mut loops: Vec<Loop> = shape.iter().map(from_grid).collect();
        if loops.first().is_none_or(|outer| loop_area(outer) < LEAST_AREA) {
            continue;
        }
        loops.retain(|l| loop_area(l).abs() >= LEAST_AREA);
        region.shapes.push(loops);
    }
    region
}

/// Nearest grid line. Callers check the size of what they were given; this is the last guard against an
/// overflow of the integer engine.
fn on_grid(x: f64) -> i64 {
    (x.clamp(-LARGEST_COORDINATE, LARGEST_COORDINATE) * GRID).round() as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, side: f64) -> Region {
        Region::rectangle(DVec2::new(x, y), DVec2::new(x + side, y + side))
    }

    #[test]
    fn shared_edges_and_overlaps_unite_exactly() {
        let r = square(0.0, 0.0, 0.2)
            .union(&square(0.2, 0.0, 0.2))
            .union(&square(0.1, 0.1, 0.2));
        assert_eq!(r.shapes.len(), 1);
        assert!((r.area() - (0.08 + 0.02)).abs() < 1e-15, "{}", r.area());
    }

    #[test]
    fn a_hole_is_kept_and_not_inside() {
        let r = square(0.0, 0.0, 0.3).difference(&square(0.1, 0.1, 0.1));
        assert!((r.area() - 0.08).abs() < 1e-15);
        assert!(!r.contains(DVec2::new(0.15, 0.15)) && r.contains(DVec2::new(0.05, 0.15)));
        let drawn: f64 = r
            .triangles()
            .iter()
            .map(|t| 0.5 * (t[1] - t[0]).perp_dot(t[2] - t[0]))
            .sum();
        assert!((drawn - 0.08).abs() < 1e-12, "{drawn}");
    }

    #[test]
    fn insets_and_outsets_of_a_square_are_exact() {
        let r = square(0.0, 0.0, 0.1);
        assert!((r.inset(0.01, 1e-5).area() - 0.0064).abs() < 1e-13);
        assert!((r.outset(0.01, false, 1e-5).area() - 0.0144).abs() < 1e-13);
        let round = r.outset(0.01, true, 1e-6).area();
        assert!(
            (round - (0.01 + 4.0 * 0.001 + std::f64::consts::PI * 1e-4)).abs() < 1e-7,
            "{round}"
        );
        assert!(r.inset(0.051, 1e-5).is_empty());
    }

    #[test]
    fn a_chord_along_an_edge_needs_the_inside_on_both_sides() {
        let r = square(0.0, 0.0, 0.1).union(&square(0.1, 0.05, 0.1));
        let at = |x: f64| r.chords(DVec2::new(x, 0.0), DVec2::Y);
        assert_eq!(at(0.1).len(), 1);
        assert!(
            (at(0.1)[0].0 - 0.05).abs() < 1e-12 && (at(0.1)[0].1 - 0.1).abs() < 1e-12,
            "{:?}",
            at(0.1)
        );
        assert!(at(0.0).is_empty() && at(0.2).is_empty());
    }
}
