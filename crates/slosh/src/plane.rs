//! Planes in a unit cell: how much lies under them, where they lie for a given volume.
//!
//! A plane is `[mx, my, mz, α]`; the liquid side is `m·x ≤ α` with `x` in the unit cube and `|mx|+|my|+|mz| = 1`.
//! Source of the piecewise formulas: R. Scardovelli, S. Zaleski, J. Comput. Phys. 164 (2000) 228-237.

/// Components below this are taken as zero: the formulas divide by them, and a tilt of 1e-6 is nothing.
const FLAT: f64 = 1e-6;

/// Volume of the unit cube with `m·x ≤ alpha`. Any signs, any scale of `m` except all zero.
pub(crate) fn volume_under(m: [f64; 3], alpha: f64) -> f64 {
    let (sorted, sum, low) = fold(m);
    under((alpha - low) / sum, sorted)
}

/// `alpha` for which the unit cube holds `volume` under the plane. Inverse of [`volume_under`].
pub(crate) fn alpha_for(m: [f64; 3], volume: f64) -> f64 {
    let (sorted, sum, low) = fold(m);
    let v = volume.clamp(0.0, 1.0);
    let a = if v <= 0.5 {
        over(v, sorted)
    } else {
        1.0 - over(1.0 - v, sorted)
    };
    a * sum + low
}

/// Volume under the plane inside the slab `lo ≤ x[axis] ≤ hi` of the unit cube.
pub(crate) fn slab(plane: [f64; 4], axis: usize, lo: f64, hi: f64) -> f64 {
    let width = hi - lo;
    let mut m = [plane[0], plane[1], plane[2]];
    let alpha = plane[3] - m[axis] * lo;
    m[axis] *= width;
    let (sorted, sum, low) = fold(m);
    if sum < 1e-12 {
        // The plane is parallel to the slab and the slab is thin: all or nothing.
        return if alpha >= 0.0 { width } else { 0.0 };
    }
    width * under((alpha - low) / sum, sorted)
}

/// Components folded to positive, scaled to sum 1 and sorted; the scale; and the shift of α that folding asks.
#[inline]
fn fold(m: [f64; 3]) -> ([f64; 3], f64, f64) {
    let low = m[0].min(0.0) + m[1].min(0.0) + m[2].min(0.0);
    let [mut a, mut b, mut c] = [m[0].abs(), m[1].abs(), m[2].abs()];
    let sum = a + b + c;
    if a > b {
        std::mem::swap(&mut a, &mut b);
    }
    if b > c {
        std::mem::swap(&mut b, &mut c);
    }
    if a > b {
        std::mem::swap(&mut a, &mut b);
    }
    let scale = 1.0 / sum.max(1e-300);
    a *= scale;
    b *= scale;
    if a < FLAT {
        a = 0.0;
    }
    if b < FLAT {
        b = 0.0;
    }
    ([a, b, 1.0 - a - b], sum, low)
}

/// Volume for α of a folded plane, m1 ≤ m2 ≤ m3, sum 1.
#[inline]
fn under(alpha: f64, m: [f64; 3]) -> f64 {
    if alpha <= 0.0 {
        0.0
    } else if alpha >= 1.0 {
        1.0
    } else if alpha <= 0.5 {
        under_half(alpha, m)
    } else {
        1.0 - under_half(1.0 - alpha, m)
    }
}

#[inline]
fn under_half(alpha: f64, [m1, m2, m3]: [f64; 3]) -> f64 {
    let m12 = m1 + m2;
    if alpha < m1 {
        alpha * alpha * alpha / (6.0 * m1 * m2 * m3)
    } else if alpha < m2 {
        alpha * (alpha - m1) / (2.0 * m2 * m3) + m1 * m1 / (6.0 * m2 * m3)
    } else if alpha < m12.min(m3) {
        (alpha * alpha * (3.0 * m12 - alpha) + m1 * m1 * (m1 - 3.0 * alpha) + m2 * m2 * (m2 - 3.0 * alpha))
            / (6.0 * m1 * m2 * m3)
    } else if m12 <= m3 {
        (2.0 * alpha - m12) / (2.0 * m3)
    } else {
        (alpha * alpha * (3.0 - 2.0 * alpha)
            + m1 * m1 * (m1 - 3.0 * alpha)
            + m2 * m2 * (m2 - 3.0 * alpha)
            + m3 * m3 * (m3 - 3.0 * alpha))
            / (6.0 * m1 * m2 * m3)
    }
}

/// α for a volume ≤ ½ of a folded plane.
#[inline]
fn over(v: f64, [m1, m2, m3]: [f64; 3]) -> f64 {
    let m12 = m1 + m2;
    let p = 6.0 * m1 * m2 * m3;
    let v1 = if m2 > 0.0 { m1 * m1 / (6.0 * m2 * m3) } else { 0.0 };
    if v < v1 {
        return (p * v).cbrt();
    }
    let v2 = v1 + if m3 > 0.0 { (m2 - m1) / (2.0 * m3) } else { 0.0 };
    if v < v2 {
        return 0.5 * (m1 + (m1 * m1 + 8.0 * m2 * m3 * (v - v1)).sqrt());
    }
    let v3 = if m3 < m12 {
        (m3 * m3 * (3.0 * m12 - m3) + m1 * m1 * (m1 - 3.0 * m3) + m2 * m2 * (m2 - 3.0 * m3)) / p
    } else {
        0.5 * m12 / m3
    };
    if v < v3 {
        let a0 = m1 * m1 * m1 + m2 * m2 * m2 - p * v;
        let ends = [(m2, v2), (m12.min(m3), v3)];
        return middle_root(a0, -3.0 * (m1 * m1 + m2 * m2), 3.0 * m12, v, ends);
    }
    if m12 <= m3 {
        return m3 * v + 0.5 * m12;
    }
    let a0 = 0.5 * (m1 * m1 * m1 + m2 * m2 * m2 + m3 * m3 * m3 - p * v);
    middle_root(
        a0,
        -1.5 * (m1 * m1 + m2 * m2 + m3 * m3),
        1.5,
        v,
        [(m3, v3), (0.5, 0.5)],
    )
}

/// Root of `−x³ + a2 x² + a1 x + a0` between two `ends` (x, volume there), which grows from one to the other and is
/// there for the volume `v`. Newton from where a straight line between the ends has it: the curve bends little.
#[inline]
fn middle_root(a0: f64, a1: f64, a2: f64, v: f64, ends: [(f64, f64); 2]) -> f64 {
    let [(low, at_low), (high, at_high)] = ends;
    if !(high - low > 1e-14 && at_high - at_low > 1e-300) {
        return low;
    }
    let mut x = low + (high - low) * (v - at_low) / (at_high - at_low);
    for _ in 0..6 {
        let miss = ((a2 - x) * x + a1) * x + a0;
        let slope = (2.0 * a2 - 3.0 * x) * x + a1;
        if slope.abs() < 1e-300 {
            break;
        }
        let step = miss / slope;
        x = (x - step).clamp(low, high);
        if step.abs() < 1e-13 {
            break;
        }
    }
    x
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    pub(crate) fn directions() -> Vec<[f64; 3]> {
        let mut list = vec![
            [0.0, 0.0, 1.0],
            [0.0, 1.0, -1.0],
            [1.0, 1.0, 1.0],
            [1e-7, 0.3, 0.7],
            [1e-4, 1e-4, 1.0],
        ];
        let mut x = 0.123_f64;
        for _ in 0..200 {
            let mut m = [0.0; 3];
            for v in &mut m {
                x = (x * 997.13 + 0.317).fract();
                *v = 2.0 * x - 1.0;
            }
            list.push(m);
        }
        for m in &mut list {
            let s: f64 = m.iter().map(|v| v.abs()).sum();
            m.iter_mut().for_each(|v| *v /= s);
        }
        list
    }

    #[test]
    fn the_plane_for_a_volume_gives_that_volume_back() {
        for m in directions() {
            for i in 0..=50 {
                let v = i as f64 / 50.0;
                let back = volume_under(m, alpha_for(m, v));
                assert!((back - v).abs() < 1e-9, "m {m:?} v {v} back {back}");
            }
        }
    }

    #[test]
    fn slabs_add_up_to_the_cell() {
        for m in directions() {
            let plane = [m[0], m[1], m[2], alpha_for(m, 0.37)];
            for axis in 0..3 {
                let sum =
                    slab(plane, axis, 0.0, 0.2) + slab(plane, axis, 0.2, 0.7) + slab(plane, axis, 0.7, 1.0);
                // Components under FLAT are dropped, which shifts a plane by as much.
                assert!((sum - 0.37).abs() < FLAT, "m {m:?} axis {axis} sum {sum}");
            }
        }
    }
}
