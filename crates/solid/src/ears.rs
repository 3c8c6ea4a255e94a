//! Flat polygons into triangles, by cutting off ears.
//!
//! A corner is an ear when it bulges outward and no other corner lies in its triangle. Holes are first joined with
//! their outer loop by a bridge. Signs of areas are exact (`robust`), so that rims with corners in a row, which CAD
//! programs write all the time, come out right.
//!
//! Sources: Meisters, "Polygons have ears", Am. Math. Monthly 82 (1975); bridges after Eberly, "Triangulation by ear
//! clipping" (2002); both from memory.

use glam::{DVec2, DVec3};
use robust::{Coord, orient2d};

/// Twice the signed area, with an exact sign.
pub(crate) fn turn(a: DVec2, b: DVec2, c: DVec2) -> f64 {
    let coord = |p: DVec2| Coord { x: p.x, y: p.y };
    orient2d(coord(a), coord(b), coord(c))
}

/// A loop in space that is flat but for small deviations, as triangles of its corners in its own sense.
pub(crate) fn in_space(points: &[DVec3]) -> Vec<[usize; 3]> {
    let (u, v) = axes(newell(points));
    let o = points[0];
    let flat: Vec<Corner> = points
        .iter()
        .enumerate()
        .map(|(k, p)| Corner {
            at: DVec2::new((*p - o).dot(u), (*p - o).dot(v)),
            name: k as u32,
        })
        .collect();
    clip(flat).into_iter().map(|t| t.map(|k| k as usize)).collect()
}

/// Area vector of a loop (twice its area, along its normal).
pub(crate) fn newell(points: &[DVec3]) -> DVec3 {
    let o = points[0];
    let next = points.iter().skip(1).chain(points.first());
    points.iter().zip(next).map(|(a, b)| (*a - o).cross(*b - o)).sum()
}

/// Two axes square to a normal, so that (u, v, normal) is right-handed.
pub(crate) fn axes(normal: DVec3) -> (DVec3, DVec3) {
    normal.try_normalize().unwrap_or(DVec3::Z).any_orthonormal_pair()
}

/// A corner with the name it keeps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Where it is in the plane.
    pub at: DVec2,
    /// Its name.
    pub name: u32,
}

fn area(corners: &[Corner]) -> f64 {
    let o = corners[0].at;
    let next = corners.iter().skip(1).chain(corners.first());
    corners
        .iter()
        .zip(next)
        .map(|(a, b)| (a.at - o).perp_dot(b.at - o))
        .sum()
}

/// Several loops in a plane as triangles of the corners' names: loops that turn left are outsides, those that turn
/// right holes in them. No corner is added.
pub fn in_plane(loops: Vec<Vec<Corner>>) -> Vec<[u32; 3]> {
    let loops: Vec<Vec<Corner>> = loops.into_iter().filter(|l| l.len() > 2).collect();
    let (outsides, holes): (Vec<_>, Vec<_>) = loops.into_iter().partition(|l| area(l) >= 0.0);
    let mut owned: Vec<Vec<Vec<Corner>>> = vec![Vec::new(); outsides.len()];
    for hole in holes {
        let around = (0..outsides.len())
            .filter(|&k| contains(&outsides[k], hole[0].at))
            .min_by(|&a, &b| area(&outsides[a]).total_cmp(&area(&outsides[b])));
        match around {
            Some(k) => owned[k].push(hole),
            // No loop round it: it can only be a sliver; its corners must still be closed.
            None => owned.push(vec![hole]),
        }
    }
    let mut triangles = Vec::new();
    for (k, holes) in owned.into_iter().enumerate() {
        match outsides.get(k) {
            Some(outside) => triangles.extend(clip(bridged(outside.clone(), holes))),
            None => triangles.extend(holes.into_iter().flat_map(fan)),
        }
    }
    triangles
}

fn contains(corners: &[Corner], p: DVec2) -> bool {
    let next = corners.iter().skip(1).chain(corners.first());
    let crossed = corners.iter().zip(next).filter(|(a, b)| {
        let (a, b) = (a.at, b.at);
        (a.y <= p.y) != (b.y <= p.y) && {
            let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
            turn(low, high, p) > 0.0
        }
    });
    crossed.count() % 2 == 1
}

fn fan(corners: Vec<Corner>) -> Vec<[u32; 3]> {
    (1..corners.len() - 1)
        .map(|k| [corners[0].name, corners[k].name, corners[k + 1].name])
        .collect()
}

/// The outer loop with its holes joined on: to the right of each hole's rightmost corner a bridge is found.
fn bridged(mut outside: Vec<Corner>, mut holes: Vec<Vec<Corner>>) -> Vec<Corner> {
    let rightmost = |hole: &[Corner]| {
        (0..hole.len())
            .max_by(|&a, &b| hole[a].at.x.total_cmp(&hole[b].at.x))
            .unwrap_or(0)
    };
    holes.sort_by(|a, b| b[rightmost(b)].at.x.total_cmp(&a[rightmost(a)].at.x));
    for hole in holes {
        let m = rightmost(&hole);
        let bridge = bridge(&outside, hole[m].at);
        let mut joined = Vec::with_capacity(outside.len() + hole.len() + 2);
        joined.extend_from_slice(&outside[..=bridge]);
        joined.extend_from_slice(&hole[m..]);
        joined.extend_from_slice(&hole[..=m]);
        joined.extend_from_slice(&outside[bridge..]);
        outside = joined;
    }
    outside
}

/// The corner of the loop that `m`, inside it, can see.
fn bridge(outside: &[Corner], m: DVec2) -> usize {
    let count = outside.len();
    let mut nearest = f64::INFINITY;
    let mut best = None;
    for i in 0..count {
        let (a, b) = (outside[i].at, outside[(i + 1) % count].at);
        // Edges that the solid lies left of, met from inside: they rise.
        if !(a.y <= m.y && m.y <= b.y && a.y < b.y) {
            continue;
        }
        let x = a.x + (m.y - a.y) / (b.y - a.y) * (b.x - a.x);
        if x >= m.x && x < nearest {
            nearest = x;
            let end = if a.x > b.x { i } else { (i + 1) % count };
            best = Some(if b.y == m.y {
                (i + 1) % count
            } else if a.y == m.y {
                i
            } else {
                end
            });
        }
    }
    let Some(first) = best else {
        // Rounding hid every edge: the nearest corner will do.
        return (0..count)
            .min_by(|&a, &b| {
                outside[a]
                    .at
                    .distance_squared(m)
                    .total_cmp(&outside[b].at.distance_squared(m))
            })
            .unwrap_or(0);
    };
    // A corner inside the triangle of m, the point met and the edge's end hides that end: the one that stands out
    // least from the ray is in sight.
    let (p, hit) = (outside[first].at, DVec2::new(nearest, m.y));
    let mut chosen = first;
    let mut flattest = f64::INFINITY;
    for (i, corner) in outside.iter().enumerate() {
        let c = corner.at;
        let (before, after) = (outside[(i + count - 1) % count].at, outside[(i + 1) % count].at);
        let dented = turn(before, c, after) < 0.0;
        let (low, high) = if p.y < hit.y { (p, hit) } else { (hit, p) };
        let inside = turn(m, low, c) >= 0.0 && turn(low, high, c) >= 0.0 && turn(high, m, c) >= 0.0;
        // A corner met right on the ray is in sight itself.
        if p.y == m.y || i == first || c == p || !dented || !inside || c.x < m.x {
            continue;
        }
        let slope = (c.y - m.y).abs() / (c.x - m.x).max(f64::MIN_POSITIVE);
        if slope < flattest || (slope == flattest && c.x < outside[chosen].at.x) {
            flattest = slope;
            chosen = i;
        }
    }
    // Ends of earlier bridges stand in the loop twice: take the copy whose inside the new bridge runs through.
    let at = outside[chosen].at;
    (0..count)
        .find(|&i| outside[i].at == at && opens_toward(outside, i, m))
        .unwrap_or(chosen)
}

/// Whether the inside at a corner of the loop lies toward `m`.
fn opens_toward(outside: &[Corner], i: usize, m: DVec2) -> bool {
    let count = outside.len();
    let (before, at, after) = (
        outside[(i + count - 1) % count].at,
        outside[i].at,
        outside[(i + 1) % count].at,
    );
    let (left_of_first, left_of_second) = (turn(before, at, m) > 0.0, turn(at, after, m) > 0.0);
    if turn(before, at, after) > 0.0 {
        left_of_first && left_of_second
    } else {
        left_of_first || left_of_second
    }
}

/// Cuts ears off a loop that turns left until nothing is left.
fn clip(corners: Vec<Corner>) -> Vec<[u32; 3]> {
    let count = corners.len();
    if count < 3 {
        return Vec::new();
    }
    let mut next: Vec<usize> = (0..count).map(|i| (i + 1) % count).collect();
    let mut previous: Vec<usize> = (0..count).map(|i| (i + count - 1) % count).collect();
    let mut triangles = Vec::with_capacity(count - 2);
    let (mut at, mut left, mut passed) = (0, count, 0);
    while left > 3 {
        let (a, c) = (previous[at], next[at]);
        // After a whole round without an ear the loop touches or crosses itself: cut what is at least not dented,
        // and after another round anything.
        let ear = match passed {
            passed if passed <= left => is_ear(&corners, &next, a, at, c),
            passed if passed <= 2 * left => turn(corners[a].at, corners[at].at, corners[c].at) >= 0.0,
            _ => true,
        };
        if ear {
            triangles.push([corners[a].name, corners[at].name, corners[c].name]);
            next[a] = c;
            previous[c] = a;
            left -= 1;
            passed = 0;
            // Going on two further makes rounder triangles than a fan from one corner.
            at = next[c];
        } else {
            at = c;
            passed += 1;
        }
    }
    let (a, c) = (previous[at], next[at]);
    triangles.push([corners[a].name, corners[at].name, corners[c].name]);
    triangles
}

fn is_ear(corners: &[Corner], next: &[usize], a: usize, b: usize, c: usize) -> bool {
    let (p, q, r) = (corners[a].at, corners[b].at, corners[c].at);
    if turn(p, q, r) <= 0.0 {
        return false;
    }
    let (low, high) = (p.min(q).min(r), p.max(q).max(r));
    let mut k = next[c];
    while k != a {
        let s = corners[k].at;
        let near = s.cmpge(low).all() && s.cmple(high).all() && s != p && s != q && s != r;
        if near && turn(p, q, s) >= 0.0 && turn(q, r, s) >= 0.0 && turn(r, p, s) >= 0.0 {
            return false;
        }
        k = next[k];
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[(f64, f64)], first: u32) -> Vec<Corner> {
        let corner = |(k, &(x, y)): (usize, &(f64, f64))| Corner {
            at: DVec2::new(x, y),
            name: first + k as u32,
        };
        points.iter().enumerate().map(corner).collect()
    }

    fn summed(loops: &[Vec<Corner>], triangles: &[[u32; 3]]) -> f64 {
        let at = |name: u32| loops.iter().flatten().find(|c| c.name == name).unwrap().at;
        triangles
            .iter()
            .map(|t| 0.5 * turn(at(t[0]), at(t[1]), at(t[2])).abs())
            .sum()
    }

    #[test]
    fn a_plate_with_two_holes_keeps_its_area() {
        let loops = vec![
            ring(
                &[(0., 0.), (10., 0.), (10., 4.), (14., 4.), (14., 8.), (0., 8.)],
                0,
            ),
            ring(&[(2., 2.), (2., 4.), (4., 4.), (4., 2.)], 10),
            ring(&[(6., 5.), (6., 7.), (8., 7.), (8., 5.)], 20),
        ];
        let triangles = in_plane(loops.clone());
        assert_eq!(triangles.len(), 6 + 4 + 4 + 2 * 2 - 2);
        let area = summed(&loops, &triangles);
        assert!((area - (10. * 8. + 4. * 4. - 4. - 4.)).abs() < 1e-12, "{area}");
    }

    #[test]
    fn a_flange_with_many_holes_in_rows_is_covered_once() {
        let round = |x: f64, y: f64, radius: f64, sides: usize, first: u32| {
            let corner = |k: usize| {
                let angle = -std::f64::consts::TAU * k as f64 / sides as f64;
                (x + radius * angle.cos(), y + radius * angle.sin())
            };
            ring(&(0..sides).map(corner).collect::<Vec<_>>(), first)
        };
        let mut loops = vec![
            ring(&[(-190., -120.), (190., -120.), (190., 120.), (-190., 120.)], 0),
            ring(&[(-160., -90.), (-160., 90.), (160., 90.), (160., -90.)], 10),
        ];
        for k in 0..6 {
            for (side, y) in [(0, -107.), (1, 107.)] {
                loops.push(round(
                    -150. + 60. * f64::from(k),
                    y,
                    4.25,
                    32,
                    1000 + 100 * (2 * k as u32 + side),
                ));
            }
        }
        loops.push(round(-177., 0., 4.25, 32, 5000));
        loops.push(round(177., 0., 4.25, 32, 5100));
        let triangles = in_plane(loops.clone());
        let due: f64 = loops.iter().map(|l| 0.5 * area(l)).sum();
        let got = summed(&loops, &triangles);
        assert!((got / due - 1.0).abs() < 1e-12, "{got}, due {due}");
    }

    #[test]
    fn corners_in_a_row_and_a_comb_keep_their_area() {
        let mut comb = vec![(0., 0.)];
        for k in 0..40 {
            let x = f64::from(k);
            comb.extend([(x + 0.5, 0.0), (x + 0.6, 5.0), (x + 0.9, 5.0), (x + 1.0, 0.0)]);
        }
        comb.extend([(40., -1.), (20., -1.), (0., -1.)]);
        comb.reverse(); // to turn left
        let loops = vec![ring(&comb, 0)];
        let triangles = in_plane(loops.clone());
        assert_eq!(triangles.len(), comb.len() - 2);
        let area = summed(&loops, &triangles);
        assert!((area - (40. + 40. * 0.4 * 5.0)).abs() < 1e-9, "{area}");
    }
}
