//! Splines of a drawing (rational B-splines), piece by piece between their knots.

use crate::smooth::Curve;
use glam::{DVec2, DVec3};

/// A rational B-spline.
pub(super) struct Spline {
    pub degree: usize,
    pub knots: Vec<f64>,
    /// One for each control point, or none when all are 1.
    pub weights: Vec<f64>,
    pub points: Vec<DVec2>,
}

impl Spline {
    /// What makes it no spline.
    pub fn check(&self) -> Result<(), String> {
        let (n, degree) = (self.points.len(), self.degree);
        if n == 0 {
            return Err("a spline states no control points".to_owned());
        }
        if !(1..=15).contains(&degree) || n <= degree {
            return Err(format!(
                "a spline of degree {degree} with {n} control points is none"
            ));
        }
        if self.knots.len() != n + degree + 1 {
            return Err(format!(
                "a spline of degree {degree} with {n} control points needs {} knots and states {}",
                n + degree + 1,
                self.knots.len()
            ));
        }
        if self.knots.windows(2).any(|k| k[1] < k[0]) {
            return Err("the knots of a spline fall".to_owned());
        }
        if !(self.weights.is_empty() || self.weights.len() == n) || self.weights.iter().any(|w| *w <= 0.0) {
            return Err("the weights of a spline are not one above zero for each control point".to_owned());
        }
        Ok(())
    }

    /// Its polynomial pieces with the parameters between which each holds.
    pub fn pieces(&self) -> impl Iterator<Item = (Piece<'_>, f64, f64)> {
        (self.degree..self.points.len()).filter_map(|k| {
            let (from, to) = (self.knots[k], self.knots[k + 1]);
            (to > from).then_some((Piece { spline: self, k }, from, to))
        })
    }
}

/// The polynomial piece of a spline after knot `k`; it may be asked a little beyond its ends.
pub(super) struct Piece<'s> {
    spline: &'s Spline,
    k: usize,
}

impl Curve for Piece<'_> {
    /// De Boor's algorithm on points with their weights.
    fn at(&self, t: f64) -> DVec2 {
        let (s, k, p) = (self.spline, self.k, self.spline.degree);
        let mut d = [DVec3::ZERO; 16];
        for (j, d) in d.iter_mut().take(p + 1).enumerate() {
            let i = j + k - p;
            let w = s.weights.get(i).copied().unwrap_or(1.0);
            *d = (s.points[i] * w).extend(w);
        }
        for r in 1..=p {
            for j in (r..=p).rev() {
                let low = s.knots[j + k - p];
                let high = s.knots[j + 1 + k - r];
                let share = if high > low { (t - low) / (high - low) } else { 0.0 };
                d[j] = d[j - 1] * (1.0 - share) + d[j] * share;
            }
        }
        d[p].truncate() / d[p].z
    }

    /// Central difference: the piece is a smooth function beyond its ends too.
    fn slope(&self, t: f64) -> DVec2 {
        let h = 1e-5 * (self.spline.knots[self.k + 1] - self.spline.knots[self.k]);
        (self.at(t + h) - self.at(t - h)) / (2.0 * h)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A quarter circle is exactly a rational spline of degree 2 with middle weight √½ (any text on NURBS).
    #[test]
    fn a_rational_quarter_circle_is_round() {
        let spline = Spline {
            degree: 2,
            knots: vec![0.0, 0.0, 0.0, 1.0, 1.0, 1.0],
            weights: vec![1.0, 0.5_f64.sqrt(), 1.0],
            points: vec![DVec2::X, DVec2::ONE, DVec2::Y],
        };
        spline.check().expect("it is one");
        let (piece, from, to) = spline.pieces().next().expect("one piece");
        for i in 0..=10 {
            let p = piece.at(from + (to - from) * f64::from(i) / 10.0);
            assert!((p.length() - 1.0).abs() < 1e-14, "{p}");
        }
        assert!(piece.slope(0.0).normalize().distance(DVec2::Y) < 1e-9);
    }
}
