//! Closed outlines of straight sides and arcs.

use crate::round::Circle;
use crate::side::Side;
use glam::{DMat2, DVec2};
use serde::Serialize;

/// A closed outline: corners with the bulge of the side that leaves each; the last side leads back to the first corner.
///
/// ```
/// use glam::DVec2;
/// use sumpwright_outline::Closed;
/// // A strip 100 mm long with half-round ends of 20 mm.
/// let slot = Closed::new(vec![
///     (DVec2::new(0.0, 0.0), 0.0),
///     (DVec2::new(0.1, 0.0), 1.0),
///     (DVec2::new(0.1, 0.02), 0.0),
///     (DVec2::new(0.0, 0.02), 1.0),
/// ]);
/// assert!((slot.area() - (0.002 + std::f64::consts::PI * 1e-4)).abs() < 1e-12);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Closed {
    /// Corners [m] with the bulge (`tan(sweep / 4)`, left is positive) of the side to the next one.
    pub vertices: Vec<(DVec2, f64)>,
}

impl Closed {
    /// An outline through these corners.
    pub fn new(vertices: Vec<(DVec2, f64)>) -> Closed {
        Closed { vertices }
    }

    /// A circle, as two halves.
    pub fn circle(centre: DVec2, radius: f64) -> Closed {
        let r = DVec2::new(radius, 0.0);
        Closed::new(vec![(centre + r, 1.0), (centre - r, 1.0)])
    }

    /// Its sides in order.
    pub fn sides(&self) -> impl Iterator<Item = Side> + '_ {
        let n = self.vertices.len();
        (0..n).map(move |i| Side {
            from: self.vertices[i].0,
            to: self.vertices[(i + 1) % n].0,
            bulge: self.vertices[i].1,
        })
    }

    /// Area inside [m²]; negative when it runs clockwise.
    pub fn area(&self) -> f64 {
        // About its own first corner: far from the origin the differences would lose their digits.
        let Some(&(origin, _)) = self.vertices.first() else {
            return 0.0;
        };
        let moved = |s: Side| Side {
            from: s.from - origin,
            to: s.to - origin,
            ..s
        };
        self.sides().map(|s| moved(s).area_about_origin()).sum()
    }

    /// Length of the line [m].
    pub fn length(&self) -> f64 {
        self.sides().map(|s| s.length()).sum()
    }

    /// Low and high corner of the bounding rectangle [m].
    pub fn bounds(&self) -> (DVec2, DVec2) {
        let mut sides = self.sides().map(|s| s.bounds());
        let first = sides.next().unwrap_or((DVec2::ZERO, DVec2::ZERO));
        sides.fold(first, |(low, high), (l, h)| (low.min(l), high.max(h)))
    }

    /// Whether `p` lies inside.
    ///
    /// Inside the polygon of the corners, turned over for each circular segment between chord and arc that holds `p`.
    pub fn contains(&self, p: DVec2) -> bool {
        let mut inside = false;
        for side in self.sides() {
            let (a, b) = (side.from, side.to);
            if (a.y <= p.y) != (b.y <= p.y) {
                let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
                inside ^= p.x < low.x + (p.y - low.y) / (high.y - low.y) * (high.x - low.x);
            }
            if let Some(centre) = side.centre() {
                // An arc that turns left lies to the right of its chord.
                let arc_side = (b - a).perp_dot(p - a) * side.bulge < 0.0;
                inside ^= arc_side && p.distance_squared(centre) < side.radius() * side.radius();
            }
        }
        inside
    }

    /// Distance from `p` to the line [m].
    pub fn distance(&self, p: DVec2) -> f64 {
        (self.sides().map(|s| s.nearest(p).distance_squared(p)))
            .fold(f64::INFINITY, f64::min)
            .sqrt()
    }

    /// The same line walked the other way.
    pub fn reversed(&self) -> Closed {
        let n = self.vertices.len();
        Closed::new(
            (0..n)
                .rev()
                .map(|i| (self.vertices[i].0, -self.vertices[(i + n - 1) % n].1))
                .collect(),
        )
    }

    /// The same line, counter-clockwise.
    pub fn counter_clockwise(self) -> Closed {
        match self.area() < 0.0 {
            true => self.reversed(),
            false => self,
        }
    }

    /// Turned, evenly scaled or mirrored by `turn`, then moved by `by`; arcs stay arcs.
    pub fn placed(&self, turn: DMat2, by: DVec2) -> Closed {
        let sign = turn.determinant().signum();
        let moved = self.vertices.iter().map(|&(p, b)| (turn * p + by, sign * b));
        Closed::new(moved.collect())
    }

    /// Corner points of chords no farther than `sagitta` [m] from the arcs.
    pub fn chords(&self, sagitta: f64) -> Vec<DVec2> {
        let mut points = Vec::new();
        for side in self.sides() {
            side.chords(sagitta, &mut points);
        }
        points
    }

    /// The circle that it is, when no point of it lies farther than `tolerance` [m] from one.
    pub fn as_circle(&self, tolerance: f64) -> Option<Circle> {
        let mut points = Vec::new();
        for side in self.sides().take(2000) {
            points.extend((0..4).map(|i| side.at(f64::from(i) / 4.0)));
        }
        let circle = Circle::through(&points)?;
        let off = |p: &DVec2| (p.distance(circle.centre) - circle.radius).abs();
        let round =
            points.iter().map(off).fold(0.0, f64::max) <= tolerance && tolerance < 0.3 * circle.radius;
        // Once round, and no more: a circle walked twice has twice its area.
        let area = std::f64::consts::PI * circle.radius * circle.radius;
        (round && (self.area().abs() / area - 1.0).abs() < 4.0 * tolerance / circle.radius + 1e-9)
            .then_some(circle)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn letter_d() -> Closed {
        Closed::new(vec![(DVec2::new(0.0, -0.05), 1.0), (DVec2::new(0.0, 0.05), 0.0)])
    }

    #[test]
    fn a_letter_d_has_half_the_area_of_its_circle_wherever_it_lies() {
        let far = letter_d().placed(DMat2::from_angle(0.7), DVec2::new(400.0, -300.0));
        for d in [letter_d(), far] {
            assert!(
                (d.area() / (0.5 * PI * 0.0025) - 1.0).abs() < 1e-9,
                "{}",
                d.area()
            );
            assert!((d.length() - (0.05 * PI + 0.1)).abs() < 1e-9);
        }
        assert!((letter_d().reversed().area() + letter_d().area()).abs() < 1e-15);
    }

    #[test]
    fn points_are_inside_up_to_the_arc_and_not_beyond_the_chord() {
        let d = letter_d();
        assert!(d.contains(DVec2::new(0.0499, 0.0)) && !d.contains(DVec2::new(0.0501, 0.0)));
        assert!(d.contains(DVec2::new(1e-6, 0.049)) && !d.contains(DVec2::new(-1e-6, 0.0)));
        // Bitten instead of bulging.
        let bitten = Closed::new(vec![
            (DVec2::new(0.0, 0.0), 0.0),
            (DVec2::new(0.1, 0.0), -1.0),
            (DVec2::new(0.1, 0.1), 0.0),
            (DVec2::new(0.0, 0.1), 0.0),
        ]);
        assert!(!bitten.contains(DVec2::new(0.06, 0.05)) && bitten.contains(DVec2::new(0.04, 0.05)));
    }

    #[test]
    fn only_what_is_round_is_taken_for_a_circle() {
        let circle = Closed::circle(DVec2::new(3.0, 4.0), 0.004);
        let found = circle.as_circle(1e-6).expect("it is one");
        assert!(found.centre.distance(DVec2::new(3.0, 4.0)) < 1e-9 && (found.radius - 0.004).abs() < 1e-9);
        let p = |x: f64, y: f64| (DVec2::new(x, y), 0.0);
        let square = Closed::new(vec![p(0.0, 0.0), p(1.0, 0.0), p(1.0, 1.0), p(0.0, 1.0)]);
        assert!(square.as_circle(0.1).is_none() && letter_d().as_circle(1e-3).is_none());
    }
}
