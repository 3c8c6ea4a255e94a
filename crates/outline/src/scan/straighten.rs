//! From pixels to metres: by resolution, or by four corners whose places on the part are known.

use glam::{DMat3, DVec2, DVec3};

/// A perspective view of a plane (a homography): straight lines stay straight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct View {
    /// From pixels to metres, on points with a third coordinate of 1.
    out: DMat3,
    back: DMat3,
}

impl View {
    /// By resolution [pixels a metre]; y is turned up and counted from the foot of a picture `height` pixels high.
    pub fn by_resolution(per_metre: DVec2, height: f64) -> View {
        let (x, y) = (1.0 / per_metre.x, 1.0 / per_metre.y);
        let out = DMat3::from_cols(
            DVec3::new(x, 0.0, 0.0),
            DVec3::new(0.0, -y, 0.0),
            DVec3::new(0.0, height * y, 1.0),
        );
        View {
            out,
            back: out.inverse(),
        }
    }

    /// The view that takes each of four places in pixels to its place in metres; `None` when three lie on a line or the
    /// four are crossed.
    ///
    /// Both quadrangles are taken to the unit square's view (Heckbert, "Fundamentals of Texture Mapping", 1989, from
    /// memory): a matrix whose columns are the first three points, weighted so that their sum is the fourth.
    pub fn by_corners(pixels: [DVec2; 4], metres: [DVec2; 4]) -> Option<View> {
        let basis = |p: [DVec2; 4]| {
            let columns = DMat3::from_cols(p[0].extend(1.0), p[1].extend(1.0), p[2].extend(1.0));
            let weights = columns.inverse() * p[3].extend(1.0);
            // In convex order round the quadrangle the middle weight differs in sign from the outer two.
            let convex = weights.x > 1e-6 && weights.y < -1e-6 && weights.z > 1e-6;
            let scaled = DMat3::from_cols(
                columns.x_axis * weights.x,
                columns.y_axis * weights.y,
                columns.z_axis * weights.z,
            );
            (convex && scaled.is_finite()).then_some(scaled)
        };
        // About their own middle and size, so that the matrices are of one size.
        let tame = |p: [DVec2; 4]| {
            let middle = p.iter().sum::<DVec2>() * 0.25;
            let size = p
                .iter()
                .map(|q| q.distance(middle))
                .fold(f64::MIN_POSITIVE, f64::max);
            let to = DMat3::from_cols(
                DVec3::new(1.0 / size, 0.0, 0.0),
                DVec3::new(0.0, 1.0 / size, 0.0),
                (-middle / size).extend(1.0),
            );
            (p.map(|q| (q - middle) / size), to)
        };
        let (p, p_to) = tame(pixels);
        let (m, m_to) = tame(metres);
        let out = m_to.inverse() * basis(m)? * basis(p)?.inverse() * p_to;
        let view = View {
            out,
            back: out.inverse(),
        };
        (out.is_finite() && view.back.is_finite()).then_some(view)
    }

    /// Where a place in the picture lies [m].
    pub fn metres(&self, pixels: DVec2) -> DVec2 {
        let q = self.out * pixels.extend(1.0);
        q.truncate() / q.z
    }

    /// Where a place [m] lies in the picture.
    pub fn pixels(&self, metres: DVec2) -> DVec2 {
        let q = self.back * metres.extend(1.0);
        q.truncate() / q.z
    }
}

/// Places of four points by their distances round and one across: first to second, second to third, third to fourth,
/// fourth to first, first to third. The first is the origin, the second lies on x, the others to the left.
pub(crate) fn by_sides([a, b, c, d, across]: [f64; 5]) -> Option<[DVec2; 4]> {
    // A triangle's apex over a base, by the law of cosines.
    let apex = |base: f64, left: f64, right: f64| {
        let x = (base * base + left * left - right * right) / (2.0 * base);
        let y = (left * left - x * x).sqrt();
        (y > 1e-3 * base).then_some(DVec2::new(x, y))
    };
    let third = apex(a, across, b)?;
    let along = third / across;
    let fourth = apex(across, d, c)?;
    Some([
        DVec2::ZERO,
        DVec2::new(a, 0.0),
        third,
        along * fourth.x + along.perp() * fourth.y,
    ])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_corners_give_back_every_point_of_the_plane() {
        let pixels = [(310.0, 2890.0), (2300.0, 2700.0), (2120.0, 240.0), (420.0, 310.0)]
            .map(|(x, y)| DVec2::new(x, y));
        let metres = [(0.0, 0.0), (0.21, 0.0), (0.21, 0.297), (0.0, 0.297)].map(|(x, y)| DVec2::new(x, y));
        let view = View::by_corners(pixels, metres).expect("they are convex");
        for i in 0..4 {
            assert!(view.metres(pixels[i]).distance(metres[i]) < 1e-12);
        }
        // Diagonals meet in the middle whatever the perspective.
        let p = view.pixels(DVec2::new(0.105, 0.1485));
        let cross = |a: DVec2, b: DVec2| (b - a).perp_dot(p - a) / (b - a).length();
        assert!(cross(pixels[0], pixels[2]).abs() < 1e-9 && cross(pixels[1], pixels[3]).abs() < 1e-9);
        let mut crossed = pixels;
        crossed.swap(1, 2);
        assert_eq!(View::by_corners(crossed, metres), None);
    }

    #[test]
    fn sides_and_a_diagonal_place_four_points() {
        // 300 x 160 has a diagonal of 340.
        let placed = by_sides([0.3, 0.16, 0.3, 0.16, 0.34]).expect("they close");
        assert!(
            placed[2].distance(DVec2::new(0.3, 0.16)) < 1e-12
                && placed[3].distance(DVec2::new(0.0, 0.16)) < 1e-12
        );
        assert_eq!(by_sides([0.3, 0.16, 0.3, 0.16, 0.5]), None);
    }
}
