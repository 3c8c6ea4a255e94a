//! The pan's parts as triangles and lines for the replay.

use super::{Mesh, Parts, ReplayDoor};
use crate::section::without_doors;
use glam::{DVec2, DVec3};
use pan::{Pan, Region};
use std::collections::HashMap;

/// Two faces that meet at more than this turn have an edge worth a line [rad].
const SHARP: f64 = 0.4;

/// Shell, plates, doors and mouth of a pan; `points` [m] and `triangles` are the surface of its cavity.
pub fn parts_of(pan: &Pan, points: &[DVec3], triangles: &[[u32; 3]]) -> Parts {
    let shell = Mesh {
        points: points.iter().map(|p| p.to_array()).collect(),
        triangles: triangles.to_vec(),
        edges: sharp_edges(points, triangles),
    };
    let panels: Vec<_> = pan.plates.iter().map(|p| p.panels()).collect();
    let plates = pan
        .plates
        .iter()
        .enumerate()
        .map(|(i, plate)| {
            let mut mesh = Mesh::default();
            for panel in &panels[i] {
                flat(&mut mesh, &without_doors(pan, i, panel), &|p| panel.point(p));
            }
            (plate.name.clone(), mesh)
        })
        .collect();
    let doors = pan
        .doors
        .iter()
        .filter_map(|door| {
            let flap = door.flap(panels.get(door.plate).and_then(|p| door.panel(p))?);
            let half = 0.5 * flap.width;
            let corners = [
                (0.0, -half),
                (0.0, half),
                (flap.length, half),
                (flap.length, -half),
            ];
            let corners = corners.map(|(out, side)| flap.point(0.0, out, side).to_array());
            Some(ReplayDoor {
                name: door.name.clone(),
                corners,
                hinge: flap.hinge.to_array(),
            })
        })
        .collect();
    Parts {
        shell,
        plates,
        doors,
        mouth: pan.mouth.at.to_array(),
        mouth_diameter: pan.mouth.diameter,
    }
}

/// Adds a flat region with its rim.
fn flat(mesh: &mut Mesh, region: &Region, point: &dyn Fn(DVec2) -> DVec3) {
    for corners in region.triangles() {
        let first = mesh.points.len() as u32;
        mesh.points.extend(corners.map(|p| point(p).to_array()));
        mesh.triangles.push([first, first + 1, first + 2]);
    }
    for (a, b) in region.edges() {
        let first = mesh.points.len() as u32;
        mesh.points.extend([point(a).to_array(), point(b).to_array()]);
        mesh.edges.push([first, first + 1]);
    }
}

/// Edges at which two faces turn by more than [`SHARP`], and edges of one face only.
///
/// Corners that lie within a hundredth of a millimetre count as one, so that a surface given as loose
/// triangles works too.
fn sharp_edges(points: &[DVec3], triangles: &[[u32; 3]]) -> Vec<[u32; 2]> {
    let mut same: HashMap<[i64; 3], u32> = HashMap::new();
    let one: Vec<u32> = points
        .iter()
        .enumerate()
        .map(|(i, p)| {
            *same
                .entry((*p * 1e5).round().to_array().map(|v| v as i64))
                .or_insert(i as u32)
        })
        .collect();
    let mut faces: HashMap<[u32; 2], Vec<DVec3>> = HashMap::new();
    for t in triangles {
        let c = t.map(|i| one[i as usize]);
        let at = c.map(|i| points[i as usize]);
        let normal = (at[1] - at[0]).cross(at[2] - at[0]).normalize_or_zero();
        if normal == DVec3::ZERO {
            continue;
        }
        for i in 0..3 {
            let (a, b) = (c[i], c[(i + 1) % 3]);
            if a != b {
                faces.entry([a.min(b), a.max(b)]).or_default().push(normal);
            }
        }
    }
    let mut edges: Vec<[u32; 2]> = faces
        .into_iter()
        .filter(|(_, normals)| match normals[..] {
            [a, b] => a.dot(b) < SHARP.cos(),
            _ => true,
        })
        .map(|(edge, _)| edge)
        .collect();
    edges.sort_unstable();
    edges
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_has_twelve_edges_and_no_diagonals() {
        let points: Vec<DVec3> = (0..8)
            .map(|i| DVec3::new(f64::from(i & 1), f64::from(i >> 1 & 1), f64::from(i >> 2 & 1)))
            .collect();
        let quads = [
            [0, 2, 3, 1],
            [4, 5, 7, 6],
            [0, 1, 5, 4],
            [2, 6, 7, 3],
            [0, 4, 6, 2],
            [1, 3, 7, 5],
        ];
        let triangles: Vec<[u32; 3]> = quads
            .iter()
            .flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]])
            .collect();
        assert_eq!(sharp_edges(&points, &triangles).len(), 12);
    }
}
