//! Circles and straight lines through many points, by least squares.

use glam::DVec2;

/// A circle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle {
    /// Centre.
    pub centre: DVec2,
    /// Radius.
    pub radius: f64,
}

impl Circle {
    /// The circle of least squared distance to the points; `None` for fewer than three points or points on a line.
    ///
    /// Starts from the algebraic fit (least squares of `x² + y² + D x + E y + F`, Kåsa 1976, from memory) and
    /// improves it by Gauss–Newton on the true distances.
    pub fn through(points: &[DVec2]) -> Option<Circle> {
        if points.len() < 3 {
            return None;
        }
        let n = points.len() as f64;
        let mean = points.iter().sum::<DVec2>() / n;
        let spread = (points.iter().map(|p| p.distance_squared(mean)).sum::<f64>() / n).sqrt();
        if !(spread > 0.0) || !spread.is_finite() {
            return None;
        }
        // In units of the spread about the mean, so that the sums are of one size.
        let (mut xx, mut xy, mut yy, mut xz, mut yz) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for p in points {
            let q = (*p - mean) / spread;
            let z = q.length_squared();
            xx += q.x * q.x;
            xy += q.x * q.y;
            yy += q.y * q.y;
            xz += q.x * z;
            yz += q.y * z;
        }
        let det = xx * yy - xy * xy;
        if det <= 1e-14 * (xx + yy) * (xx + yy) {
            return None;
        }
        let mut centre = 0.5 * DVec2::new((xz * yy - yz * xy) / det, (yz * xx - xz * xy) / det);
        let mut radius = 0.0;
        for _ in 0..20 {
            // Residual |q − c| − r with the best r for each c: the mean distance.
            let (mut gx, mut gy, mut hxx, mut hxy, mut hyy) = (0.0, 0.0, 0.0, 0.0, 0.0);
            let (mut sum, mut ways) = (0.0, DVec2::ZERO);
            for p in points {
                let away = (*p - mean) / spread - centre;
                sum += away.length();
                ways += away.normalize_or_zero();
            }
            radius = sum / n;
            ways /= n;
            for p in points {
                let away = (*p - mean) / spread - centre;
                let slope = ways - away.normalize_or_zero();
                let residual = away.length() - radius;
                gx += slope.x * residual;
                gy += slope.y * residual;
                hxx += slope.x * slope.x;
                hxy += slope.x * slope.y;
                hyy += slope.y * slope.y;
            }
            let det = hxx * hyy - hxy * hxy;
            if !(det > 1e-18) {
                break;
            }
            let step = DVec2::new((gx * hyy - gy * hxy) / det, (gy * hxx - gx * hxy) / det);
            if !step.is_finite() || step.length() > 1e3 {
                break;
            }
            centre -= step;
            if step.length() < 1e-14 {
                break;
            }
        }
        let circle = Circle {
            centre: mean + spread * centre,
            radius: spread * radius,
        };
        (circle.centre.is_finite() && circle.radius.is_finite()).then_some(circle)
    }

    /// Signed distance of `p` from the line, positive outside.
    pub fn off(&self, p: DVec2) -> f64 {
        p.distance(self.centre) - self.radius
    }
}

/// A straight line through `at` along the unit vector `along`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Straight {
    /// A point on it.
    pub at: DVec2,
    /// Its way.
    pub along: DVec2,
}

impl Straight {
    /// The line of least squared distance to the points: through their mean, along the greater axis of their
    /// scatter. `None` for fewer than two different points.
    pub fn through(points: &[DVec2]) -> Option<Straight> {
        let n = points.len() as f64;
        let at = points.iter().sum::<DVec2>() / n;
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for p in points {
            let q = *p - at;
            xx += q.x * q.x;
            xy += q.x * q.y;
            yy += q.y * q.y;
        }
        if !(xx + yy > 0.0) {
            return None;
        }
        let along = DVec2::from_angle(0.5 * (2.0 * xy).atan2(xx - yy));
        // Along the order of the points.
        let way = (points[points.len() - 1] - points[0]).dot(along);
        Some(Straight {
            at,
            along: if way < 0.0 { -along } else { along },
        })
    }

    /// Signed distance of `p` from the line, positive to its left.
    pub fn off(&self, p: DVec2) -> f64 {
        self.along.perp_dot(p - self.at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_noisy_arc_far_from_the_origin_gives_its_circle() {
        let centre = DVec2::new(900.0, -200.0);
        let points: Vec<DVec2> = (0..100)
            .map(|i| {
                let angle = 0.3 + 0.012 * f64::from(i);
                centre + (25.0 + 1e-4 * (7.0 * angle * 31.0).sin()) * DVec2::from_angle(angle)
            })
            .collect();
        let circle = Circle::through(&points).expect("the points are no line");
        assert!(circle.centre.distance(centre) < 2e-3, "{circle:?}");
        assert!((circle.radius - 25.0).abs() < 2e-3, "{circle:?}");
    }

    #[test]
    fn points_on_a_line_are_no_circle_and_give_the_line() {
        let points: Vec<DVec2> = (0..9)
            .map(|i| DVec2::new(f64::from(i), 2.0 * f64::from(i)))
            .collect();
        assert_eq!(Circle::through(&points), None);
        let line = Straight::through(&points).expect("they differ");
        assert!(line.along.distance(DVec2::new(1.0, 2.0).normalize()) < 1e-12);
        assert!(line.off(DVec2::new(0.0, 1.0)) > 0.0);
        assert_eq!(Straight::through(&[DVec2::ONE, DVec2::ONE]), None);
    }
}
