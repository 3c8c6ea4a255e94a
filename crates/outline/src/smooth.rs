//! Ellipses, splines and Bézier curves as chains of arcs that stay within a tolerance.
//!
//! Each span of the curve becomes a pair of arcs that leave and arrive along the curve's own tangents and meet
//! smoothly (a biarc); a span that strays farther than the tolerance is halved. So the chain has no corners where the
//! curve has none, and a cutter follows it as it would follow a drawn fillet.

use crate::side::Side;
use glam::DVec2;

/// Halvings at most; a span is then a sixteen-thousandth of the curve and a chord does for it.
const MOST_HALVINGS: u32 = 14;
/// Pieces at most for one curve.
const MOST_PIECES: usize = 20_000;
/// Places at which a span is compared with its arcs.
const PROBES: usize = 12;

/// A curve to follow: its place and its slope at a parameter.
pub(crate) trait Curve {
    fn at(&self, t: f64) -> DVec2;
    fn slope(&self, t: f64) -> DVec2;
}

/// What [`arcs_along`] made.
#[derive(Debug, Default)]
pub(crate) struct Fitted {
    /// Start of each piece with its bulge; the end of the last is [`Fitted::end`].
    pub pieces: Vec<(DVec2, f64)>,
    pub end: DVec2,
    /// Largest distance found between curve and arcs.
    pub off: f64,
}

/// Arcs along `curve` from `start` to `end`, no farther than `tolerance` from it, begun with `spans` equal spans.
///
/// `None` when the curve is no number somewhere or needs too many pieces.
pub(crate) fn arcs_along(
    curve: &dyn Curve,
    start: f64,
    end: f64,
    spans: usize,
    tolerance: f64,
) -> Option<Fitted> {
    let mut fitted = Fitted {
        end: curve.at(end),
        ..Fitted::default()
    };
    // A stack instead of recursion: (from, to, halvings done), the next span on top.
    let cut = |i: usize| start + (end - start) * i as f64 / spans as f64;
    let mut waiting: Vec<(f64, f64, u32)> = (0..spans).rev().map(|i| (cut(i), cut(i + 1), 0)).collect();
    while let Some((a, b, halvings)) = waiting.pop() {
        if fitted.pieces.len() > MOST_PIECES {
            return None;
        }
        let (p, q) = (curve.at(a), curve.at(b));
        if !p.is_finite() || !q.is_finite() {
            return None;
        }
        let span = biarc(p, tangent(curve, a, b - a), q, tangent(curve, b, a - b) * -1.0);
        let off = span
            .as_deref()
            .map_or(f64::INFINITY, |arcs| stray(curve, a, b, arcs));
        if off <= tolerance {
            fitted.off = fitted.off.max(off);
            fitted
                .pieces
                .extend(span.iter().flatten().map(|s| (s.from, s.bulge)));
        } else if halvings < MOST_HALVINGS {
            let middle = 0.5 * (a + b);
            waiting.push((middle, b, halvings + 1));
            waiting.push((a, middle, halvings + 1));
        } else {
            let chord = Side {
                from: p,
                to: q,
                bulge: 0.0,
            };
            fitted.off = fitted.off.max(stray(curve, a, b, &[chord]));
            fitted.pieces.push((p, 0.0));
        }
    }
    Some(fitted)
}

/// Way of the curve at `t`, looking `ahead` (which may be negative) where its slope vanishes.
fn tangent(curve: &dyn Curve, t: f64, ahead: f64) -> DVec2 {
    let slope = curve.slope(t);
    let step = curve.at(t + ahead) - curve.at(t);
    if slope.length() * ahead.abs() > 1e-9 * step.length() && slope.is_finite() {
        return (slope * ahead.signum()).normalize_or_zero();
    }
    (curve.at(t + 1e-3 * ahead) - curve.at(t)).normalize_or(step.normalize_or_zero())
}

/// Largest distance of the curve between `a` and `b` from the sides.
fn stray(curve: &dyn Curve, a: f64, b: f64, sides: &[Side]) -> f64 {
    let mut most = 0.0_f64;
    for i in 1..PROBES {
        let p = curve.at(a + (b - a) * i as f64 / PROBES as f64);
        let near = sides
            .iter()
            .map(|s| s.nearest(p).distance(p))
            .fold(f64::INFINITY, f64::min);
        most = most.max(if near.is_finite() { near } else { f64::INFINITY });
    }
    most
}

/// Two arcs from `p` along `leave` to `q` arriving along `arrive` (unit vectors), meeting with one tangent.
///
/// Both arms of the control polygon are taken of one length d, so that `v·v = 2 d v·(leave + arrive) + 2 d² (1 −
/// leave·arrive)` with v = q − p (Bolton, "Biarc curves", Computer-Aided Design 7, 1975; from memory). `None` where
/// the curve turns so far that it had better be halved.
fn biarc(p: DVec2, leave: DVec2, q: DVec2, arrive: DVec2) -> Option<Vec<Side>> {
    let v = q - p;
    let chord = v.normalize_or_zero();
    // 60 degrees either way: with less turn an arc cannot run off the other way round.
    if leave.dot(chord) < 0.5 || arrive.dot(chord) < 0.5 {
        return None;
    }
    let along = v.dot(leave + arrive);
    let turn = 2.0 * (1.0 - leave.dot(arrive));
    let d = if turn < 1e-12 {
        v.length_squared() / (2.0 * along)
    } else {
        ((along * along + turn * v.length_squared()).sqrt() - along) / turn
    };
    let joint = 0.5 * (p + q + d * (leave - arrive));
    let bulge = |from: DVec2, to: DVec2, way: DVec2, sign: f64| {
        // A chord leaves its arc at half the sweep: the bulge is the tangent of half that angle.
        let chord = to - from;
        (0.5 * sign * way.perp_dot(chord).atan2(way.dot(chord))).tan()
    };
    let arcs = vec![
        Side {
            from: p,
            to: joint,
            bulge: bulge(p, joint, leave, 1.0),
        },
        Side {
            from: joint,
            to: q,
            bulge: bulge(joint, q, arrive, -1.0),
        },
    ];
    (joint.is_finite() && arcs.iter().all(|s| s.bulge.is_finite())).then_some(arcs)
}

/// An ellipse about `centre`: `centre + cos t · major + sin t · minor`.
pub(crate) struct Ellipse {
    pub centre: DVec2,
    pub major: DVec2,
    pub minor: DVec2,
}

impl Curve for Ellipse {
    fn at(&self, t: f64) -> DVec2 {
        self.centre + t.cos() * self.major + t.sin() * self.minor
    }

    fn slope(&self, t: f64) -> DVec2 {
        t.cos() * self.minor - t.sin() * self.major
    }
}

/// A Bézier curve of degree 3; one of degree 2 is raised to it.
pub(crate) struct Bezier(pub [DVec2; 4]);

impl Bezier {
    pub fn quadratic(p: DVec2, c: DVec2, q: DVec2) -> Bezier {
        Bezier([p, p + (c - p) * (2.0 / 3.0), q + (c - q) * (2.0 / 3.0), q])
    }
}

impl Curve for Bezier {
    fn at(&self, t: f64) -> DVec2 {
        let [a, b, c, d] = self.0;
        let s = 1.0 - t;
        s * s * s * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t * t * t * d
    }

    fn slope(&self, t: f64) -> DVec2 {
        let [a, b, c, d] = self.0;
        let s = 1.0 - t;
        3.0 * (s * s * (b - a) + 2.0 * s * t * (c - b) + t * t * (d - c))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// Distance of each place on the arcs from an ellipse with half axes 40 and 15 by dense search: the other way
    /// round than the fit looks.
    #[test]
    fn arcs_along_an_ellipse_stay_within_the_tolerance_both_ways() {
        let curve = Ellipse {
            centre: DVec2::new(3.0, 5.0),
            major: DVec2::new(40.0, 0.0),
            minor: DVec2::new(0.0, 15.0),
        };
        let dense: Vec<DVec2> = (0..200_000).map(|i| curve.at(TAU * f64::from(i) / 2e5)).collect();
        let fitted = arcs_along(&curve, 0.0, TAU, 8, 0.01).expect("it is smooth");
        assert!(
            fitted.off <= 0.01 && fitted.pieces.len() < 80,
            "{}",
            fitted.pieces.len()
        );
        let n = fitted.pieces.len();
        for i in 0..n {
            let to = if i + 1 < n {
                fitted.pieces[i + 1].0
            } else {
                fitted.end
            };
            let side = Side {
                from: fitted.pieces[i].0,
                to,
                bulge: fitted.pieces[i].1,
            };
            let p = side.at(0.37);
            let near = dense.iter().map(|q| q.distance(p)).fold(f64::INFINITY, f64::min);
            assert!(near < 0.0101, "{near}");
        }
    }

    #[test]
    fn a_bezier_with_a_loop_and_one_with_vanishing_slopes_are_followed() {
        let p = |x: f64, y: f64| DVec2::new(x, y);
        for curve in [
            Bezier([p(0.0, 0.0), p(90.0, 60.0), p(-50.0, 60.0), p(40.0, 0.0)]),
            Bezier([p(0.0, 0.0), p(0.0, 0.0), p(30.0, 20.0), p(30.0, 20.0)]),
            Bezier([p(0.0, 0.0), p(40.0, 40.0), p(0.0, 40.0), p(40.0, 0.0)]),
        ] {
            let fitted = arcs_along(&curve, 0.0, 1.0, 2, 0.01).expect("it is finite");
            assert!(
                fitted.off <= 0.01 && fitted.pieces.len() < 120,
                "{}",
                fitted.pieces.len()
            );
            assert_eq!(fitted.end, curve.at(1.0));
        }
        let nothing = Bezier([p(0.0, 0.0), p(f64::NAN, 0.0), p(1.0, 1.0), p(1.0, 0.0)]);
        assert!(arcs_along(&nothing, 0.0, 1.0, 2, 0.01).is_none());
    }
}
