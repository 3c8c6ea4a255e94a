//! Cells with a wall in them: two planes in a unit cube, the wall's and the oil's.

use crate::plane::{alpha_for, volume_under};

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

/// `alpha` for which a cut cell of open volume `open` under `wall` is filled by `fill`; `near` is a guess of it.
pub(crate) fn alpha_in_cut(wall: [f64; 4], open: f64, m: [f64; 3], fill: f64, near: Option<f64>) -> f64 {
    match lie(wall, m) {
        Lie::Across => alpha_for(m, fill),
        Lie::On => alpha_for(m, 1.0 - open + fill * open),
        Lie::Under => alpha_for(m, fill * open),
        Lie::Oblique => {
            let low = m[0].min(0.0) + m[1].min(0.0) + m[2].min(0.0);
            let high = m[0].max(0.0) + m[1].max(0.0) + m[2].max(0.0);
            let share = fill * open;
            let miss = |alpha: f64| under_both(wall, [m[0], m[1], m[2], alpha]) - share;
            rising_root([(low, -share), (high, open - share)], near, 1e-7 * open, miss)
        }
    }
}

/// Where the rising function `miss` is within `near_enough` of zero, between two `ends` (x, value): secants, kept
/// between the ends by the Illinois form of regula falsi, from a guess if there is one.
pub(crate) fn rising_root(
    ends: [(f64, f64); 2],
    guess: Option<f64>,
    near_enough: f64,
    miss: impl Fn(f64) -> f64,
) -> f64 {
    let [(mut a, mut at_a), (mut b, mut at_b)] = ends;
    let slope = (at_b - at_a) / (b - a).max(1e-300);
    let mut last = 0;
    let mut next = guess.map(|g| g.clamp(a, b));
    for turn in 0..24 {
        let c = next.take().unwrap_or_else(|| {
            if at_b - at_a > 1e-14 {
                a - at_a * (b - a) / (at_b - at_a)
            } else {
                0.5 * (a + b)
            }
        });
        let at_c = miss(c);
        if at_c.abs() < near_enough {
            return c;
        }
        if at_c < 0.0 {
            (a, at_a) = (c, at_c);
            at_b *= if last == -1 { 0.5 } else { 1.0 };
            last = -1;
        } else {
            (b, at_b) = (c, at_c);
            at_a *= if last == 1 { 0.5 } else { 1.0 };
            last = 1;
        }
        if turn == 0 && guess.is_some() && slope > 0.0 {
            // A little past where the mean slope has the root, so that it lies between.
            let onward = c - 1.5 * at_c / slope;
            next = (a < onward && onward < b).then_some(onward);
        }
    }
    0.5 * (a + b)
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
    // Over the face each plane is `s·y + t·z ≤ r`.
    let line = |plane: [f64; 4]| [plane[b], plane[c], plane[3] - plane[axis] * x];
    let (p, q) = (line(p), line(q));
    let (room_p, room_q) = (room(p), room(q));
    if room_p[0] >= 0.0 {
        return triangle(q, room_q);
    }
    if room_q[0] >= 0.0 {
        return triangle(p, room_p);
    }
    if room_p[1] <= 0.0 || room_q[1] <= 0.0 {
        return 0.0;
    }
    clipped(p, q)
}

/// How far a line `s·y + t·z = r` lies beyond the unit square's farthest and nearest corner: not below zero first when
/// the whole square is under it, not above zero second when none is.
fn room([s, t, r]: [f64; 3]) -> [f64; 2] {
    [r - s.max(0.0) - t.max(0.0), r - s.min(0.0) - t.min(0.0)]
}

/// Area of the unit square under one line whose [`room`] is known.
fn triangle([s, t, _]: [f64; 3], [past, into]: [f64; 2]) -> f64 {
    if past >= 0.0 {
        return 1.0;
    }
    if into <= 0.0 {
        return 0.0;
    }
    // From the nearest corner: a triangle less the two tips that stick out.
    let (s, t) = (s.abs(), t.abs());
    let (thin, wide) = if s < t { (s, t) } else { (t, s) };
    if thin < 1e-9 * wide {
        return (into / wide).min(1.0);
    }
    let square = |v: f64| v.max(0.0) * v.max(0.0);
    (into * into - square(into - thin) - square(into - wide)) / (2.0 * thin * wide)
}

/// Area of the unit square under two lines that both cross it.
fn clipped(p: [f64; 3], q: [f64; 3]) -> f64 {
    let mut corners = [[0.0; 2]; 8];
    corners[..4].copy_from_slice(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]);
    let mut count = 4;
    for [s, t, r] in [p, q] {
        let mut kept = [[0.0; 2]; 8];
        let mut k = 0;
        let mut values = [0.0; 8];
        for (value, at) in values.iter_mut().zip(&corners[..count]) {
            *value = s * at[0] + t * at[1] - r;
        }
        for i in 0..count {
            let j = if i + 1 < count { i + 1 } else { 0 };
            let (from, to, vf, vt) = (corners[i], corners[j], values[i], values[j]);
            if vf <= 0.0 {
                kept[k] = from;
                k += 1;
            }
            if (vf <= 0.0) != (vt <= 0.0) {
                let part = vf / (vf - vt);
                kept[k] = [
                    from[0] + part * (to[0] - from[0]),
                    from[1] + part * (to[1] - from[1]),
                ];
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
        let (from, to) = (corners[i], corners[if i + 1 < count { i + 1 } else { 0 }]);
        twice += from[0] * to[1] - from[1] * to[0];
    }
    0.5 * twice
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against counting points: 60³ samples, reading error of a slanted cut about 1e-3.
    #[test]
    fn the_room_under_two_planes_matches_counted_points() {
        let list = crate::plane::tests::directions();
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

    #[test]
    fn one_line_leaves_what_clipping_leaves() {
        const ALL: [f64; 3] = [0.0, 0.0, 1.0];
        for m in crate::plane::tests::directions() {
            for i in -20..=40 {
                let line = [m[0], m[1], 0.05 * f64::from(i)];
                let (short, long) = (triangle(line, room(line)), clipped(line, ALL));
                assert!((short - long).abs() < 1e-9, "{line:?}: {short} {long}");
            }
        }
    }

    #[test]
    fn the_plane_for_a_fill_is_found_from_any_guess() {
        let list = crate::plane::tests::directions();
        for pair in list.windows(2) {
            let wall = [pair[0][0], pair[0][1], pair[0][2], alpha_for(pair[0], 0.6)];
            for fill in [0.02, 0.4, 0.97] {
                for guess in [None, Some(-2.0), Some(0.1), Some(0.3), Some(5.0)] {
                    let alpha = alpha_in_cut(wall, 0.6, pair[1], fill, guess);
                    if lie(wall, pair[1]) == Lie::Oblique {
                        let held = under_both(wall, [pair[1][0], pair[1][1], pair[1][2], alpha]) / 0.6;
                        assert!((held - fill).abs() < 1e-4, "{pair:?} {fill} {guess:?}: {held}");
                    }
                }
            }
        }
    }
}
