//! One straight piece of the rail: a beam that bends out of its plane, shears and twists.
//!
//! Each end has three freedoms: `w`, the rise of the middle line [m], and the turns about x and y [rad]. A rigid cut
//! then rises at a point `r` off the line by `w + θx r_y − θy r_x`, and corners need no special care.
//!
//! Timoshenko's beam with the shape functions that solve it exactly between two ends, so that the answer at the nodes
//! of an unsupported piece is exact at any length: J. S. Przemieniecki, Theory of Matrix Structural Analysis (1968),
//! beam with shear. With `shear` left out it is Euler and Bernoulli's.

use glam::DVec2;

/// A piece between two nodes.
#[derive(Clone, Debug)]
pub(crate) struct Beam {
    /// Nodes at its ends.
    pub ends: [usize; 2],
    /// Where it begins [m].
    pub from: DVec2,
    /// Its direction.
    pub way: DVec2,
    /// Its length [m].
    pub length: f64,
    /// The rail's length up to its beginning [m].
    pub along: f64,
    /// The rail's width at its middle [m].
    pub width: f64,
    /// Bending stiffness [N m²].
    pub bending: f64,
    /// Torsional stiffness [N m²].
    pub twist: f64,
    /// Przemieniecki's Φ = 12 EI / (G A length²); 0 without shear.
    pub shear: f64,
}

impl Beam {
    /// A point of the beam's own line.
    pub(crate) fn place(&self, share: f64) -> DVec2 {
        self.from + self.way * (self.length * share)
    }

    /// Share of its length at which a point stands beside it, held to its ends, and the point's distance [m].
    pub(crate) fn nearest(&self, point: DVec2) -> (f64, f64) {
        let share = ((point - self.from).dot(self.way) / self.length).clamp(0.0, 1.0);
        (share, point.distance(self.place(share)))
    }

    /// How much a point rises for each of the six freedoms (`w θx θy` of the first end, then of the second), the
    /// point being carried by the cut at `share`.
    pub(crate) fn rise(&self, share: f64, point: DVec2) -> [f64; 6] {
        let (x, h, phi) = (share, self.length, self.shear);
        let over = 1.0 / (1.0 + phi);
        let (x2, x3) = (x * x, x * x * x);
        // Rise of the line for w and slope of either end.
        let line = [
            over * (1.0 - 3.0 * x2 + 2.0 * x3 + phi * (1.0 - x)),
            over * h * (x - 2.0 * x2 + x3 + 0.5 * phi * (x - x2)),
            over * (3.0 * x2 - 2.0 * x3 + phi * x),
            over * h * (x3 - x2 - 0.5 * phi * (x - x2)),
        ];
        // Turn of the cut for the same four.
        let cut = [
            over * 6.0 * (x2 - x) / h,
            over * (1.0 - 4.0 * x + 3.0 * x2 + phi * (1.0 - x)),
            over * 6.0 * (x - x2) / h,
            over * (3.0 * x2 - 2.0 * x + phi * x),
        ];
        let off = point - self.place(share);
        let ahead = off.dot(self.way);
        let aside = off.dot(self.way.perp());
        let of = |k: usize| line[k] + ahead * cut[k];
        let (c, s) = (self.way.x, self.way.y);
        // Slope along the way = θx s − θy c; twist = θx c + θy s.
        let (twist_a, twist_b) = (aside * (1.0 - x), aside * x);
        [
            of(0),
            of(1) * s + twist_a * c,
            -of(1) * c + twist_a * s,
            of(2),
            of(3) * s + twist_b * c,
            -of(3) * c + twist_b * s,
        ]
    }

    /// Its stiffness in the six freedoms.
    pub(crate) fn stiffness(&self) -> [[f64; 6]; 6] {
        let (h, phi) = (self.length, self.shear);
        let bend = self.bending / (h.powi(3) * (1.0 + phi));
        let (near, far) = ((4.0 + phi) * h * h, (2.0 - phi) * h * h);
        // In w and slope of the first end, then of the second.
        let plane = [
            [12.0, 6.0 * h, -12.0, 6.0 * h],
            [6.0 * h, near, -6.0 * h, far],
            [-12.0, -6.0 * h, 12.0, -6.0 * h],
            [6.0 * h, far, -6.0 * h, near],
        ];
        let (c, s) = (self.way.x, self.way.y);
        // Rows of: w, slope at both ends; twist at both ends.
        let (mut turn, mut twist) = ([[0.0; 6]; 4], [[0.0; 6]; 2]);
        for end in 0..2 {
            let at = 3 * end;
            turn[2 * end][at] = 1.0;
            turn[2 * end + 1][at + 1] = s;
            turn[2 * end + 1][at + 2] = -c;
            twist[end][at + 1] = c;
            twist[end][at + 2] = s;
        }
        let mut sum = [[0.0; 6]; 6];
        for i in 0..6 {
            for j in 0..6 {
                for k in 0..4 {
                    for l in 0..4 {
                        sum[i][j] += bend * turn[k][i] * plane[k][l] * turn[l][j];
                    }
                }
                let relative = (twist[1][i] - twist[0][i]) * (twist[1][j] - twist[0][j]);
                sum[i][j] += self.twist / h * relative;
            }
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn leaning(shear: f64) -> Beam {
        Beam {
            ends: [0, 1],
            from: DVec2::new(0.3, -0.2),
            way: DVec2::new(0.6, 0.8),
            length: 0.04,
            along: 0.0,
            width: 0.02,
            bending: 60.0,
            twist: 45.0,
            shear,
        }
    }

    /// A body that only shifts and tilts is not strained, and each of its points rises as it should.
    #[test]
    fn a_tilted_beam_has_no_stress_and_carries_its_points_along() {
        for shear in [0.0, 0.3] {
            let beam = leaning(shear);
            let (rise, tilt_x, tilt_y) = (1e-3, 2e-3, -3e-3);
            let plane = |p: DVec2| rise + tilt_x * p.y - tilt_y * p.x;
            let freedoms = [
                plane(beam.place(0.0)),
                tilt_x,
                tilt_y,
                plane(beam.place(1.0)),
                tilt_x,
                tilt_y,
            ];
            for row in beam.stiffness() {
                let force: f64 = row.iter().zip(freedoms).map(|(k, u)| k * u).sum();
                assert!(force.abs() < 1e-6, "force {force}");
            }
            let point = DVec2::new(0.33, -0.17);
            let got: f64 = beam
                .rise(0.3, point)
                .iter()
                .zip(freedoms)
                .map(|(n, u)| n * u)
                .sum();
            assert!((got - plane(point)).abs() < 1e-12, "{got} for {}", plane(point));
        }
    }

    /// Cantilever with a force P at its end: P L³/3EI, and P L/GA more with shear (Φ = 12 EI/(GA L²)).
    #[test]
    fn a_cantilever_sinks_as_in_the_handbook() {
        for shear in [0.0, 0.25] {
            let beam = leaning(shear);
            let k = beam.stiffness();
            // Free end: w and both turns.
            let a = glam::DMat3::from_cols(
                glam::DVec3::new(k[3][3], k[4][3], k[5][3]),
                glam::DVec3::new(k[3][4], k[4][4], k[5][4]),
                glam::DVec3::new(k[3][5], k[4][5], k[5][5]),
            );
            let sink = (a.inverse() * glam::DVec3::new(100.0, 0.0, 0.0)).x;
            let bend = 100.0 * 0.04f64.powi(3) / (3.0 * 60.0);
            let wanted = bend + shear * 0.04f64.powi(3) / 12.0 / 60.0 * 100.0;
            assert!((sink / wanted - 1.0).abs() < 1e-9, "{sink} for {wanted}");
        }
    }
}
