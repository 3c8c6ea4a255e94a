//! Edges that four or more triangles share: two bodies, or two parts of one, that touch along a line.
//!
//! Seen along the edge, each triangle is a ray, and between a ray whose triangle runs down the edge and the next
//! one (counter-clockwise) whose triangle runs up it there is metal. The triangles of such a wedge belong together;
//! the corners are doubled so that nothing is shared between wedges.

use crate::edges::{NONE, Pairing, ends, next};
use crate::fault::{Fault, Mark, place};
use crate::mesh::Mesh;
use std::collections::HashMap;
use std::f64::consts::TAU;

/// Parts all crowded edges; gives how many. The pairing must be made anew afterwards.
pub(crate) fn part(mesh: &mut Mesh, pairing: &mut Pairing) -> Result<usize, Fault> {
    let count = pairing.crowded.len();
    let mut stuck = Vec::new();
    let mut touched: HashMap<u32, Vec<u32>> = HashMap::new();
    for sides in std::mem::take(&mut pairing.crowded) {
        match wedges(mesh, &sides) {
            Some(pairs) => {
                for (one, other) in pairs {
                    pairing.mate[one as usize] = other;
                    pairing.mate[other as usize] = one;
                }
                let (a, b) = ends(&mesh.triangles, sides[0]);
                touched.entry(a).or_default();
                touched.entry(b).or_default();
            }
            None => stuck.push(sides[0]),
        }
    }
    if !stuck.is_empty() {
        return Err(crowded(mesh, &stuck));
    }
    // The sides that leave each touched corner.
    for (t, triangle) in mesh.triangles.iter().enumerate() {
        for (i, corner) in triangle.iter().enumerate() {
            if let Some(sides) = touched.get_mut(corner) {
                sides.push(3 * t as u32 + i as u32);
            }
        }
    }
    let mut corners: Vec<(u32, Vec<u32>)> = touched.into_iter().collect();
    corners.sort_unstable();
    for (corner, sides) in corners {
        let mut seen = std::collections::HashSet::new();
        let mut first = true;
        for start in sides {
            if seen.contains(&start) {
                continue;
            }
            // All triangles of this fan, walking over mates both ways.
            let mut fan = vec![start];
            seen.insert(start);
            let mut k = 0;
            while k < fan.len() {
                let side = fan[k];
                k += 1;
                let arriving = next(next(side));
                for edge in [side, arriving] {
                    let mate = pairing.mate[edge as usize];
                    if mate == NONE {
                        continue;
                    }
                    let leaving = if ends(&mesh.triangles, mate).0 == corner {
                        mate
                    } else {
                        next(mate)
                    };
                    if ends(&mesh.triangles, leaving).0 == corner && seen.insert(leaving) {
                        fan.push(leaving);
                    }
                }
            }
            if !first {
                let copy = mesh.points.len() as u32;
                mesh.points.push(mesh.points[corner as usize]);
                for side in fan {
                    mesh.triangles[side as usize / 3][side as usize % 3] = copy;
                }
            }
            first = false;
        }
    }
    Ok(count)
}

/// Pairs of sides with metal between them; `None` when the triangles do not alternate.
fn wedges(mesh: &Mesh, sides: &[u32]) -> Option<Vec<(u32, u32)>> {
    if !sides.len().is_multiple_of(2) || sides.len() > 64 {
        return None;
    }
    let (a, b) = ends(&mesh.triangles, sides[0]);
    let (from, to) = (mesh.points[a as usize], mesh.points[b as usize]);
    let (u, v) = crate::ears::axes(to - from);
    let mut rays: Vec<(f64, bool, u32)> = sides
        .iter()
        .map(|&side| {
            let third = ends(&mesh.triangles, next(next(side))).0;
            let arm = mesh.points[third as usize] - from;
            let up = ends(&mesh.triangles, side).0 == a;
            (arm.dot(v).atan2(arm.dot(u)), up, side)
        })
        .collect();
    rays.sort_by(|x, y| x.0.total_cmp(&y.0));
    // Back to back, one body's metal ends before the other's begins, whatever rounding says of their order.
    for k in 0..rays.len() {
        let next = (k + 1) % rays.len();
        let apart = (rays[next].0 - rays[k].0).rem_euclid(TAU);
        if apart.min(TAU - apart) < 1e-6 && !rays[k].1 && rays[next].1 {
            rays.swap(k, next);
        }
    }
    let first = rays.iter().position(|ray| !ray.1)?;
    rays.rotate_left(first);
    rays.chunks_exact(2)
        .map(|pair| (!pair[0].1 && pair[1].1).then_some((pair[0].2, pair[1].2)))
        .collect()
}

/// The fault of edges that cannot be parted.
fn crowded(mesh: &Mesh, sides: &[u32]) -> Fault {
    let marks: Vec<Mark> = sides
        .iter()
        .take(20)
        .map(|&side| {
            let (a, b) = ends(&mesh.triangles, side);
            let (a, b) = (mesh.points[a as usize], mesh.points[b as usize]);
            Mark {
                at: 0.5 * (a + b),
                across: a.distance(b),
                what: "crowded",
            }
        })
        .collect();
    let what = format!(
        "{} more than two facets in a way that encloses nothing, {}near {}",
        if sides.len() == 1 {
            "an edge has".to_owned()
        } else {
            format!("{} edges have", sides.len())
        },
        if sides.len() == 1 { "" } else { "the first " },
        place(marks[0].at)
    );
    let mend =
        "take out inner walls and stray faces in the program that made the solid, and unite its bodies";
    Fault::new("solid-crowded", what, mend).marked(marks)
}
