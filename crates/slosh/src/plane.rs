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

/// The plane as seen in the slab `lo ≤ x[axis] ≤ hi` stretched to a unit cube.
fn stretched(plane: [f64; 4], axis: usize, lo: f64, hi: f64) -> [f64; 4] {
    let mut p = plane;
    p[3] -= p[axis] * lo;
    p[axis] *= hi - lo;
    p
}

/// Share of the open part of a slab that lies under `plane`, open where it is under `wall`.
pub(crate) fn share_of_slab(wall: [f64; 4], plane: [f64; 4], axis: usize, lo: f64, hi: f64) -> f64 {
    let (wall, plane) = (stretched(wall, axis, lo, hi), stretched(plane, axis, lo, hi));
    let open = volume_under([wall[0], wall[1], wall[2]], wall[3]);
    if open > 1e-9 {
        (under_both(wall, plane) / open).min(1.0)
    } else {
        0.0
    }
}

/// How a liquid plane lies to the wall of a cut cell.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Lie {
    /// Nearly at right angles (within 6 degrees): the fill is the same in the open part and in the cube.
    Across,
    /// Nearly parallel: liquid between wall and plane.
    On,
    /// Nearly parallel, plane toward the wall from the open side.
    Under,
    /// Anything else: only the true shape will do.
    Oblique,
}

/// How the plane with normal `m` lies to `wall`.
pub(crate) fn lie(wall: [f64; 4], m: [f64; 3]) -> Lie {
    let dot = wall[0] * m[0] + wall[1] * m[1] + wall[2] * m[2];
    let lengths = (wall[0] * wall[0] + wall[1] * wall[1] + wall[2] * wall[2])
        * (m[0] * m[0] + m[1] * m[1] + m[2] * m[2]);
    let cosine = dot / lengths.sqrt().max(1e-300);
    if cosine.abs() < 0.1 {
        Lie::Across
    } else if cosine < -0.9999 {
        Lie::On
    } else if cosine > 0.9999 {
        Lie::Under
    } else {
        Lie::Oblique
    }
}

/// `alpha` for which a cut cell of open volume `open` under `wall` is filled by `fill`.
pub(crate) fn alpha_in_cut(wall: [f64; 4], open: f64, m: [f64; 3], fill: f64) -> f64 {
    match lie(wall, m) {
        Lie::Across => alpha_for(m, fill),
        Lie::On => alpha_for(m, 1.0 - open + fill * open),
        Lie::Under => alpha_for(m, fill * open),
        Lie::Oblique => {
            let low = m[0].min(0.0) + m[1].min(0.0) + m[2].min(0.0);
            let high = m[0].max(0.0) + m[1].max(0.0) + m[2].max(0.0);
            let share = fill * open;
            let miss = |alpha: f64| under_both(wall, [m[0], m[1], m[2], alpha]) - share;
            // Regula falsi, Illinois form: the volume is monotone in alpha.
            let (mut a, mut b) = (low, high);
            let (mut va, mut vb) = (-share, open - share);
            let mut last = 0;
            for _ in 0..12 {
                let c = if vb - va > 1e-14 {
                    a - va * (b - a) / (vb - va)
                } else {
                    0.5 * (a + b)
                };
                let vc = miss(c);
                if vc.abs() < 1e-7 * open {
                    return c;
                }
                if vc < 0.0 {
                    (a, va) = (c, vc);
                    vb *= if last == -1 { 0.5 } else { 1.0 };
                    last = -1;
                } else {
                    (b, vb) = (c, vc);
                    va *= if last == 1 { 0.5 } else { 1.0 };
                    last = 1;
                }
            }
            0.5 * (a + b)
        }
    }
}

/// Share of the open part of the face at `x[axis] = 0` or 1 that lies under `plane`.
pub(crate) fn share_of_face(wall: [f64; 4], plane: [f64; 4], axis: usize, high: bool) -> f64 {
    let x = if high { 1.0 } else { 0.0 };
    const ALL: [f64; 4] = [0.0, 0.0, 0.0, 1.0];
    let open = square_under(wall, ALL, axis, x);
    if open > 1e-9 {
        square_under(wall, plane, axis, x) / open
    } else {
        0.0
    }
}

/// Volume of the unit cube that lies under both planes.
///
/// With the origin on the line where the planes meet, neither cut adds to the volume integral
/// `V = Σ (distance to face plane) × (face area) / 3`, so only the six clipped squares count.
pub(crate) fn under_both(p: [f64; 4], q: [f64; 4]) -> f64 {
    let vec = |a: [f64; 4]| glam::DVec3::new(a[0], a[1], a[2]);
    let (np, nq) = (vec(p), vec(q));
    let line = np.cross(nq);
    let sharp = line.length_squared() / (np.length_squared() * nq.length_squared());
    if sharp < 1e-10 {
        let (vp, vq) = (
            volume_under([p[0], p[1], p[2]], p[3]),
            volume_under([q[0], q[1], q[2]], q[3]),
        );
        return if np.dot(nq) > 0.0 {
            vp.min(vq)
        } else {
            (vp + vq - 1.0).max(0.0)
        };
    }
    let about = glam::DVec3::splat(0.5);
    let (dp, dq) = (p[3] - np.dot(about), q[3] - nq.dot(about));
    // The point of the common line that is nearest the cell's centre.
    let meet = about + (nq.cross(line) * dp + line.cross(np) * dq) / line.length_squared();
    let mut volume = 0.0;
    for axis in 0..3 {
        for side in 0..2 {
            let x = side as f64;
            let away = if side == 1 { x - meet[axis] } else { meet[axis] - x };
            volume += away * square_under(p, q, axis, x) / 3.0;
        }
    }
    volume.clamp(0.0, 1.0)
}

/// Area of the cube's face at `x[axis] = x` under both planes.
fn square_under(p: [f64; 4], q: [f64; 4], axis: usize, x: f64) -> f64 {
    let (b, c) = ((axis + 1) % 3, (axis + 2) % 3);
    let mut corners = [[0.0; 2]; 8];
    corners[..4].copy_from_slice(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]);
    let mut count = 4;
    for plane in [p, q] {
        let value = |at: [f64; 2]| plane[b] * at[0] + plane[c] * at[1] + plane[axis] * x - plane[3];
        let mut kept = [[0.0; 2]; 8];
        let mut k = 0;
        for i in 0..count {
            let (s, e) = (corners[i], corners[(i + 1) % count]);
            let (vs, ve) = (value(s), value(e));
            if vs <= 0.0 {
                kept[k] = s;
                k += 1;
            }
            if (vs <= 0.0) != (ve <= 0.0) {
                let t = vs / (vs - ve);
                kept[k] = [s[0] + t * (e[0] - s[0]), s[1] + t * (e[1] - s[1])];
                k += 1;
            }
        }
        corners = kept;
        count = k;
        if count < 3 {
            return 0.0;
        }
    }
    let mut twice = 0.0;
    for i in 0..count {
        let (s, e) = (corners[i], corners[(i + 1) % count]);
        twice += s[0] * e[1] - s[1] * e[0];
    }
    0.5 * twice
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
mod tests {
    use super::*;

    fn directions() -> Vec<[f64; 3]> {
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

    /// Against counting points: 60³ samples, reading error of a slanted cut about 1e-3.
    #[test]
    fn the_room_under_two_planes_matches_counted_points() {
        let list = directions();
        for pair in list.windows(2).take(60) {
            let p = [pair[0][0], pair[0][1], pair[0][2], alpha_for(pair[0], 0.6)];
            let q = [pair[1][0], pair[1][1], pair[1][2], alpha_for(pair[1], 0.45)];
            let n = 60;
            let mut count = 0;
            for i in 0..n {
                for j in 0..n {
                    for k in 0..n {
                        let x = [i, j, k].map(|v| (v as f64 + 0.5) / n as f64);
                        let side = |a: [f64; 4]| a[0] * x[0] + a[1] * x[1] + a[2] * x[2] <= a[3];
                        count += usize::from(side(p) && side(q));
                    }
                }
            }
            let counted = count as f64 / (n * n * n) as f64;
            assert!(
                (under_both(p, q) - counted).abs() < 4e-3,
                "{p:?} {q:?}: {} {counted}",
                under_both(p, q)
            );
        }
    }
}
