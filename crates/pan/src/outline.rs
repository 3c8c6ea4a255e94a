//! Plan outlines of lines and arcs: made plain (chords of equal area), corners rounded, checked.

use crate::Outline;
use crate::polygon::{LARGEST_COORDINATE, Loop, Region, chord_count, loop_edges};
use glam::DVec2;

/// Largest distance between an arc and the chords that stand for it [m]. The chords keep the arc's area
/// exactly (their inner corners lie a hair outside the arc), so volumes do not feel it; 20 µm is a fifth of
/// what a shop would measure on a pan.
pub const ARC_SAGITTA: f64 = 20e-6;
/// Corners that turn less than this are part of a smooth line [rad].
const SMOOTH: f64 = 0.02;

impl Outline {
    /// Straight lines through the points.
    pub fn polygon(points: &[DVec2]) -> Outline {
        Outline {
            vertices: points.iter().map(|&p| (p, 0.0)).collect(),
        }
    }

    /// Rectangle between two corners.
    pub fn rectangle(low: DVec2, high: DVec2) -> Outline {
        Outline::polygon(&[low, DVec2::new(high.x, low.y), high, DVec2::new(low.x, high.y)])
    }

    /// Circle.
    pub fn circle(centre: DVec2, radius: f64) -> Outline {
        let r = DVec2::new(radius, 0.0);
        Outline {
            vertices: vec![(centre + r, 1.0), (centre - r, 1.0)],
        }
    }

    /// Why this is no outline, if so.
    pub fn fault(&self) -> Option<OutlineFault> {
        let bad = |v: f64| !v.is_finite() || v.abs() > LARGEST_COORDINATE;
        if self.vertices.iter().any(|(p, b)| bad(p.x) || bad(p.y) || bad(*b)) {
            return Some(OutlineFault::NotANumber);
        }
        let flat = self.flatten(ARC_SAGITTA);
        if self.vertices.len() < 2 || flat.len() < 3 {
            return Some(OutlineFault::TooFewCorners);
        }
        let region = Region::from_loops(std::slice::from_ref(&flat));
        if region.is_empty() {
            return Some(OutlineFault::NoArea);
        }
        // A loop that crosses itself either falls apart or covers some part twice or backwards.
        let signed = crate::polygon::loop_area(&flat).abs();
        if region.shapes.len() > 1 || (region.area() - signed).abs() > 1e-7 * region.area() + 1e-9 {
            return Some(OutlineFault::CrossesItself);
        }
        None
    }

    /// Corner points of chords that stay within `sagitta` [m] of the arcs and keep the area of every arc of
    /// two chords or more exactly.
    pub fn flatten(&self, sagitta: f64) -> Loop {
        let n = self.vertices.len();
        let mut points = Vec::new();
        for i in 0..n {
            let (a, bulge) = self.vertices[i];
            let b = self.vertices[(i + 1) % n].0;
            points.push(a);
            if bulge != 0.0 && a != b {
                arc_points(a, b, bulge, sagitta, &mut points);
            }
        }
        points.dedup_by(|a, b| a.distance(*b) < 1e-10);
        while points.len() > 1 && points[0].distance(points[points.len() - 1]) < 1e-10 {
            points.pop();
        }
        points
    }

    /// The region inside, with every corner that points outward and is sharp rounded to `corner_radius` [m].
    pub fn region(&self, corner_radius: f64, sagitta: f64) -> Region {
        if corner_radius <= 0.0 {
            return Region::from_loops(&[self.flatten(sagitta)]);
        }
        if let Some(rounded) = self.rounded(corner_radius) {
            return Region::from_loops(&[rounded.flatten(sagitta)]);
        }
        // Corners on arcs, or too tight to fillet one by one: what a cutter of that radius can reach. A
        // quarter of the sagitta because these arcs are not corrected for area.
        let inside = Region::from_loops(&[self.flatten(sagitta)]).inset(corner_radius, 0.25 * sagitta);
        inside.outset(corner_radius, true, 0.25 * sagitta)
    }

    /// Fillets at all sharp outward corners; `None` when one lies on an arc or does not fit its sides.
    fn rounded(&self, radius: f64) -> Option<Outline> {
        let n = self.vertices.len();
        let turning = crate::polygon::loop_area(&self.flatten(ARC_SAGITTA)).signum();
        let mut trims = vec![0.0; n];
        for i in 0..n {
            let (before, at, after) = self.around(i);
            let (d, e) = (
                (at.0 - before.0).normalize_or_zero(),
                (after.0 - at.0).normalize_or_zero(),
            );
            let straight = before.1 == 0.0 && at.1 == 0.0;
            // Tangents at the corner: a chord leaves its arc at half the sweep, 2 atan(bulge).
            let d = DVec2::from_angle(2.0 * before.1.atan()).rotate(d);
            let e = DVec2::from_angle(-2.0 * at.1.atan()).rotate(e);
            let turn = turning * d.perp_dot(e).atan2(d.dot(e));
            if turn > SMOOTH {
                if !straight {
                    return None;
                }
                trims[i] = radius * (0.5 * turn).tan();
            }
        }
        for i in 0..n {
            let side = self.vertices[i].0.distance(self.vertices[(i + 1) % n].0);
            let needed = trims[i] + trims[(i + 1) % n];
            if needed > side * (1.0 + 1e-12) && needed > 0.0 {
                return None;
            }
        }
        let mut vertices = Vec::new();
        for i in 0..n {
            let (before, at, after) = self.around(i);
            if trims[i] == 0.0 {
                vertices.push(at);
                continue;
            }
            let (d, e) = (
                (at.0 - before.0).normalize_or_zero(),
                (after.0 - at.0).normalize_or_zero(),
            );
            let turn = d.perp_dot(e).atan2(d.dot(e));
            vertices.push((at.0 - d * trims[i], (0.25 * turn).tan()));
            vertices.push((at.0 + e * trims[i], 0.0));
        }
        Some(Outline { vertices })
    }

    fn around(&self, i: usize) -> ((DVec2, f64), (DVec2, f64), (DVec2, f64)) {
        let n = self.vertices.len();
        (
            self.vertices[(i + n - 1) % n],
            self.vertices[i],
            self.vertices[(i + 1) % n],
        )
    }

    /// Length of the outline's chords [m].
    pub fn perimeter(&self) -> f64 {
        loop_edges(&self.flatten(ARC_SAGITTA))
            .map(|(a, b)| a.distance(b))
            .sum()
    }
}

/// Why an outline cannot be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OutlineFault {
    /// A coordinate or bulge that is no number, or is larger than a kilometre.
    NotANumber,
    /// Fewer than three corners (or two, of arcs).
    TooFewCorners,
    /// Corners on one line.
    NoArea,
    /// The line crosses itself.
    CrossesItself,
}

impl std::fmt::Display for OutlineFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            OutlineFault::NotANumber => "has a coordinate that is no number",
            OutlineFault::TooFewCorners => "has too few corners to enclose anything",
            OutlineFault::NoArea => "encloses no area",
            OutlineFault::CrossesItself => "crosses itself",
        })
    }
}

/// Inner points of an arc of `bulge` from a to b.
fn arc_points(a: DVec2, b: DVec2, bulge: f64, sagitta: f64, out: &mut Loop) {
    let sweep = 4.0 * bulge.atan();
    let chord = b - a;
    let radius = 0.5 * chord.length() / (0.5 * sweep).sin().abs();
    // The centre lies left of a left-turning arc's chord, by r cos(sweep/2).
    let centre = a + 0.5 * chord + chord.perp() * (0.5 / (0.5 * sweep).tan());
    let pieces = chord_count(radius, sweep, sagitta).max(2);
    let theta = sweep.abs() / pieces as f64;
    // Inner corners at radius k·r: 2 end triangles of ½ r² k sin θ and (n−2) of ½ r² k² sin θ must make the
    // sector ½ r² n θ.
    let want = pieces as f64 * theta / theta.sin();
    let m = pieces as f64 - 2.0;
    let k = if m == 0.0 {
        0.5 * want
    } else {
        ((1.0 + m * want).sqrt() - 1.0) / m
    };
    for i in 1..pieces {
        let turn = DVec2::from_angle(sweep * i as f64 / pieces as f64);
        out.push(centre + k * turn.rotate(a - centre));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn chords_keep_the_area_of_arcs_and_stay_close() {
        let circle = Outline::circle(DVec2::new(0.3, -0.1), 0.05);
        let points = circle.flatten(ARC_SAGITTA);
        let area = crate::polygon::loop_area(&points);
        assert!((area / (PI * 0.0025) - 1.0).abs() < 1e-13, "{area}");
        for (a, b) in loop_edges(&points) {
            for p in [a, 0.5 * (a + b)] {
                let off = (p - DVec2::new(0.3, -0.1)).length() - 0.05;
                assert!(off.abs() < 1.01 * ARC_SAGITTA, "{off}");
            }
        }
    }

    #[test]
    fn rounded_corners_take_away_the_right_area() {
        let box_ = Outline::rectangle(DVec2::ZERO, DVec2::new(0.3, 0.2));
        let area = box_.region(0.01, ARC_SAGITTA).area();
        let exact = 0.06 - (4.0 - PI) * 1e-4;
        assert!((area / exact - 1.0).abs() < 1e-9, "{area} {exact}");
        // A half-round end meets a straight cut: the general way, chords not corrected for area.
        let d = Outline {
            vertices: vec![(DVec2::new(0.0, -0.05), 1.0), (DVec2::new(0.0, 0.05), 0.0)],
        };
        let plain = d.region(0.0, ARC_SAGITTA).area();
        let cut = d.region(0.01, ARC_SAGITTA).area();
        assert!((plain / (0.5 * PI * 0.0025) - 1.0).abs() < 1e-9);
        // To the 5 µm chords of that way over 0.16 m. Fillet centre at (10, √(40² − 10²)) mm: big sector less triangle less small sector, twice.
        let y = (0.04f64.powi(2) - 0.01f64.powi(2)).sqrt();
        let turn = (0.01 / y).atan();
        let lost = 0.5 * 0.0025 * turn - 0.5 * 0.01 * y - 0.5 * 1e-4 * (0.5 * PI + turn);
        assert!(
            (plain - cut - 2.0 * lost).abs() < 6e-7,
            "{} {}",
            plain - cut,
            2.0 * lost
        );
    }

    #[test]
    fn outlines_that_enclose_nothing_or_cross_are_faults() {
        let p = |x: f64, y: f64| DVec2::new(x, y);
        assert_eq!(
            Outline::polygon(&[p(0.0, 0.0), p(0.1, 0.0)]).fault(),
            Some(OutlineFault::TooFewCorners)
        );
        let line = Outline::polygon(&[p(0.0, 0.0), p(0.1, 0.0), p(0.2, 0.0)]);
        assert_eq!(line.fault(), Some(OutlineFault::NoArea));
        let eight = Outline::polygon(&[p(0.0, 0.0), p(0.1, 0.1), p(0.1, 0.0), p(0.0, 0.1)]);
        assert_eq!(eight.fault(), Some(OutlineFault::CrossesItself));
        assert_eq!(
            Outline::polygon(&[p(0.0, f64::NAN), p(1.0, 0.0), p(0.0, 1.0)]).fault(),
            Some(OutlineFault::NotANumber)
        );
        assert_eq!(Outline::circle(p(0.0, 0.0), 0.1).fault(), None);
    }
}
