//! One side of an outline: straight, or an arc given by its bulge.

use glam::DVec2;
use std::f64::consts::{PI, TAU};

/// A straight line or an arc from `from` to `to`.
///
/// The bulge is `tan(sweep / 4)`: 0 for a straight line, positive for an arc that turns left, 1 for half a circle.
/// Units are the caller's; nothing here depends on them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Side {
    /// Where it starts.
    pub from: DVec2,
    /// Where it ends.
    pub to: DVec2,
    /// `tan(sweep / 4)`.
    pub bulge: f64,
}

impl Side {
    /// Turn from start to end [rad], positive to the left; 0 for a straight line.
    pub fn sweep(&self) -> f64 {
        4.0 * self.bulge.atan()
    }

    /// True for a side that no reader of ordinary precision could tell from a straight line.
    pub fn is_straight(&self) -> bool {
        self.bulge.abs() < 1e-12
    }

    /// Radius of an arc, `c (1 + b²) / (4 |b|)` over the chord c; infinite for a straight line.
    pub fn radius(&self) -> f64 {
        if self.is_straight() {
            return f64::INFINITY;
        }
        self.from.distance(self.to) * (1.0 + self.bulge * self.bulge) / (4.0 * self.bulge.abs())
    }

    /// Centre of an arc: left of the chord's middle by `c (1 − b²) / (4 b)`.
    pub fn centre(&self) -> Option<DVec2> {
        if self.is_straight() {
            return None;
        }
        let chord = self.to - self.from;
        let left = (1.0 - self.bulge * self.bulge) / (4.0 * self.bulge);
        Some(0.5 * (self.from + self.to) + left * chord.perp())
    }

    /// Point at share `t` of the way, 0 to 1.
    pub fn at(&self, t: f64) -> DVec2 {
        match self.centre() {
            None => self.from.lerp(self.to, t),
            Some(_) if t >= 1.0 => self.to,
            Some(centre) => centre + DVec2::from_angle(t * self.sweep()).rotate(self.from - centre),
        }
    }

    /// Length along it.
    pub fn length(&self) -> f64 {
        match self.is_straight() {
            true => self.from.distance(self.to),
            false => self.radius() * self.sweep().abs(),
        }
    }

    /// Unit tangents at its start and end.
    pub fn tangents(&self) -> (DVec2, DVec2) {
        let chord = (self.to - self.from).normalize_or_zero();
        // A chord leaves its arc at half the sweep.
        let half = 0.5 * self.sweep();
        (
            DVec2::from_angle(-half).rotate(chord),
            DVec2::from_angle(half).rotate(chord),
        )
    }

    /// Area between it, the origin and the rays to its ends, positive when it turns left about the origin: the
    /// triangle and the circular segment, `r²/2 (sweep − sin sweep)`.
    pub fn area_about_origin(&self) -> f64 {
        let triangle = 0.5 * self.from.perp_dot(self.to);
        if self.is_straight() {
            return triangle;
        }
        let (sweep, radius) = (self.sweep(), self.radius());
        triangle + 0.5 * radius * radius * (sweep - sweep.sin())
    }

    /// Nearest point on it.
    pub fn nearest(&self, p: DVec2) -> DVec2 {
        let Some(centre) = self.centre() else {
            let along = self.to - self.from;
            let t = (p - self.from).dot(along) / along.length_squared();
            return match t.is_finite() {
                true => self.from + along * t.clamp(0.0, 1.0),
                false => self.from,
            };
        };
        let toward = (p - centre).normalize_or(self.from - centre);
        if self.passes(toward.to_angle()) {
            return centre + toward.normalize_or_zero() * self.radius();
        }
        match p.distance_squared(self.from) <= p.distance_squared(self.to) {
            true => self.from,
            false => self.to,
        }
    }

    /// Whether an arc runs through `angle` [rad] seen from its centre.
    fn passes(&self, angle: f64) -> bool {
        let Some(centre) = self.centre() else { return false };
        let start = (self.from - centre).to_angle();
        let turned = (self.sweep().signum() * (angle - start)).rem_euclid(TAU);
        turned <= self.sweep().abs()
    }

    /// Low and high corner of its bounding rectangle.
    pub fn bounds(&self) -> (DVec2, DVec2) {
        let mut low = self.from.min(self.to);
        let mut high = self.from.max(self.to);
        if let Some(centre) = self.centre() {
            let r = self.radius();
            for (angle, way) in [
                (0.0, DVec2::X),
                (0.5 * PI, DVec2::Y),
                (PI, DVec2::NEG_X),
                (-0.5 * PI, DVec2::NEG_Y),
            ] {
                if self.passes(angle) {
                    low = low.min(centre + r * way);
                    high = high.max(centre + r * way);
                }
            }
        }
        (low, high)
    }

    /// Chord points after `from` up to and with `to`, no farther than `sagitta` from the arc; at most 720.
    pub fn chords(&self, sagitta: f64, out: &mut Vec<DVec2>) {
        if !self.is_straight() {
            let r = self.radius();
            // Sagitta of a chord of half-angle h is r (1 − cos h).
            let half = (1.0 - (sagitta / r).min(0.5)).acos().max(1e-3);
            let pieces = (self.sweep().abs() / (2.0 * half)).ceil().clamp(1.0, 720.0) as usize;
            out.extend((1..pieces).map(|i| self.at(i as f64 / pieces as f64)));
        }
        out.push(self.to);
    }
}

/// Bulge of the arc from `a` through `m` to `b`; 0 when the three lie on a line.
///
/// The angle a–m–b at a point of the arc is π − sweep/2 (inscribed angle), so sweep/4 is half of its supplement;
/// `m` lies to the right of the chord when the arc turns left.
pub fn bulge_through(a: DVec2, m: DVec2, b: DVec2) -> f64 {
    let (to_a, to_b) = (a - m, b - m);
    let side = (b - a).perp_dot(m - a);
    if side == 0.0 || !side.is_finite() {
        return 0.0;
    }
    let angle = to_a.perp_dot(to_b).abs().atan2(to_a.dot(to_b));
    -side.signum() * (0.5 * (PI - angle)).tan()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn half_circle() -> Side {
        Side {
            from: DVec2::new(1.0, 0.0),
            to: DVec2::new(-1.0, 0.0),
            bulge: 1.0,
        }
    }

    #[test]
    fn half_a_circle_has_its_centre_radius_length_and_bounds() {
        let side = half_circle();
        assert!(side.centre().is_some_and(|c| c.length() < 1e-15));
        assert!((side.radius() - 1.0).abs() < 1e-15 && (side.length() - PI).abs() < 1e-15);
        let (low, high) = side.bounds();
        assert!(low.distance(DVec2::new(-1.0, 0.0)) < 1e-12 && high.distance(DVec2::ONE) < 1e-12);
        assert!((side.area_about_origin() - 0.5 * PI).abs() < 1e-15);
        let (start, end) = side.tangents();
        assert!(start.distance(DVec2::Y) < 1e-15 && end.distance(DVec2::NEG_Y) < 1e-15);
    }

    #[test]
    fn the_nearest_point_of_an_arc_is_on_it_or_at_its_ends() {
        let side = half_circle();
        assert!(side.nearest(DVec2::new(0.0, 3.0)).distance(DVec2::Y) < 1e-15);
        assert_eq!(side.nearest(DVec2::new(0.5, -3.0)), side.from);
        assert!(side.nearest(DVec2::new(0.0, 0.2)).distance(DVec2::Y) < 1e-15);
    }

    #[test]
    fn a_bulge_through_a_point_of_an_arc_is_the_arcs_own() {
        for bulge in [-3.0, -1.0, -0.2, 0.01, 0.5, 1.0, 4.0] {
            let side = Side {
                bulge,
                ..half_circle()
            };
            for t in [0.2, 0.5, 0.9] {
                let got = bulge_through(side.from, side.at(t), side.to);
                assert!((got / bulge - 1.0).abs() < 1e-9, "{bulge}: {got}");
            }
        }
    }
}
