//! The plane of least squares, and the axes along which points spread.

use glam::{DMat3, DVec3};

use super::{FlatnessFault, checked};

/// The plane from which the squares of the points' distances sum to least.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeastSquares {
    /// A point of the plane: the points' mean [m].
    pub through: DVec3,
    /// Unit normal, toward +z.
    pub normal: DVec3,
    /// From the lowest to the highest point along the normal [m].
    pub range: f64,
    /// Root of the mean square distance [m].
    pub rms: f64,
}

/// The plane of least squares, distances at right angles to it.
///
/// Through the mean, normal along the least principal axis of the points (Pearson 1901).
pub fn least_squares(points: &[DVec3]) -> Result<LeastSquares, FlatnessFault> {
    checked(points)?;
    let through = mean(points);
    let normal = frame(points).z_axis;
    let off = points.iter().map(|p| normal.dot(*p - through));
    let low = off.clone().fold(f64::INFINITY, f64::min);
    let high = off.clone().fold(f64::NEG_INFINITY, f64::max);
    let square: f64 = off.map(|d| d * d).sum();
    Ok(LeastSquares {
        through,
        normal,
        range: high - low,
        rms: (square / points.len() as f64).sqrt(),
    })
}

pub(super) fn mean(points: &[DVec3]) -> DVec3 {
    points.iter().sum::<DVec3>() / points.len().max(1) as f64
}

/// Principal axes of the points, columns from the longest to the shortest; right-handed, the last toward +z.
pub(super) fn frame(points: &[DVec3]) -> DMat3 {
    let middle = mean(points);
    let mut spread = [[0.0; 3]; 3];
    for p in points {
        let d = (*p - middle).to_array();
        for i in 0..3 {
            for j in 0..3 {
                spread[i][j] += d[i] * d[j];
            }
        }
    }
    let (values, axes) = turned(spread);
    let mut order = [0, 1, 2];
    order.sort_by(|&a, &b| values[b].total_cmp(&values[a]));
    let axis = |k: usize| DVec3::new(axes[0][order[k]], axes[1][order[k]], axes[2][order[k]]);
    let (x, mut z) = (axis(0).normalize(), axis(2).normalize());
    let tall = if z.z != 0.0 { z.z } else { z.x + z.y };
    if tall < 0.0 {
        z = -z;
    }
    DMat3::from_cols(x, z.cross(x), z)
}

/// Eigenvalues and eigenvectors (columns) of a symmetric matrix by Jacobi's turns, each of which takes out one element
/// beside the diagonal (Golub and Van Loan, Matrix Computations, 8.5).
fn turned(mut a: [[f64; 3]; 3]) -> ([f64; 3], [[f64; 3]; 3]) {
    let mut v = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    // Convergence is quadratic: five sweeps reach rounding; the rest is reserve.
    for _ in 0..24 {
        for (p, q) in [(0, 1), (0, 2), (1, 2)] {
            if a[p][q] == 0.0 {
                continue;
            }
            let tau = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
            let t = tau.signum() / (tau.abs() + (1.0 + tau * tau).sqrt());
            let c = 1.0 / (1.0 + t * t).sqrt();
            let s = t * c;
            for k in 0..3 {
                let (kp, kq) = (a[k][p], a[k][q]);
                a[k][p] = c * kp - s * kq;
                a[k][q] = s * kp + c * kq;
            }
            for k in 0..3 {
                let (pk, qk) = (a[p][k], a[q][k]);
                a[p][k] = c * pk - s * qk;
                a[q][k] = s * pk + c * qk;
            }
            for row in &mut v {
                let (kp, kq) = (row[p], row[q]);
                row[p] = c * kp - s * kq;
                row[q] = s * kp + c * kq;
            }
            a[p][q] = 0.0;
            a[q][p] = 0.0;
        }
    }
    ([a[0][0], a[1][1], a[2][2]], v)
}
