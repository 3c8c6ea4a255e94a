//! The cavity as triangles and lines for drawing. Not for measuring: leaning walls are drawn in coarser steps.

use crate::cavity::{Cavity, Solid};
use crate::mesh::ClosedMesh;
use crate::pocket::stack_of;
use crate::polygon::{Loop, Region, loop_edges};
use crate::stack::Stack;
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// Steps in which leaning walls are drawn [m].
const DRAWN_STEP: f64 = 4e-3;
/// Closeness of drawn chords to arcs [m].
const DRAWN_SAGITTA: f64 = 0.1e-3;
/// Walls and triangles that turn more than this against one another meet in a drawn edge [rad].
const EDGE_TURN: f64 = 0.44;

/// Triangles, counter-clockwise seen from outside the cavity.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Surface {
    /// Corners [m].
    pub points: Vec<DVec3>,
    /// Corner numbers.
    pub triangles: Vec<[u32; 3]>,
}

impl Surface {
    /// Volume that the triangles enclose, by the divergence theorem [m³].
    pub fn volume(&self) -> f64 {
        let p = |c: u32| self.points[c as usize];
        self.triangles
            .iter()
            .map(|t| p(t[0]).dot(p(t[1]).cross(p(t[2]))))
            .sum::<f64>()
            / 6.0
    }

    fn push(&mut self, corners: [DVec3; 3]) {
        let first = self.points.len() as u32;
        self.points.extend(corners);
        self.triangles.push([first, first + 1, first + 2]);
    }

    /// A level piece at height z, seen from above when `up`.
    fn level(&mut self, plan: &Region, z: f64, up: bool) {
        for [a, b, c] in plan.triangles() {
            let at = |p: DVec2| p.extend(z);
            self.push(if up {
                [at(a), at(b), at(c)]
            } else {
                [at(a), at(c), at(b)]
            });
        }
    }
}

impl Cavity {
    /// Boundary of the cavity as triangles, outward side out.
    pub fn surface(&self) -> Surface {
        match self.solid() {
            Solid::Mesh(m) => Surface {
                points: m.points().to_vec(),
                triangles: m.triangles().to_vec(),
            },
            Solid::Layers(_) => surface_of(&self.drawn_stack()),
            Solid::MeshAndBlock(m, _) => both_surfaces(m, &self.drawn_stack()),
        }
    }

    /// Lines that show the shape: outlines where the plan changes, uprights at corners; sharp edges of a mesh.
    pub fn edges(&self) -> Vec<Vec<DVec3>> {
        match self.solid() {
            Solid::Mesh(m) => mesh_edges(m),
            Solid::Layers(_) => stack_edges(self, &self.drawn_stack()),
            Solid::MeshAndBlock(m, _) => {
                let mut edges = mesh_edges(m);
                edges.extend(stack_edges(self, &self.drawn_stack()));
                edges
            }
        }
    }

    fn drawn_stack(&self) -> Stack {
        stack_of(self.pockets(), DRAWN_STEP, DRAWN_SAGITTA)
    }
}

/// Pan and block as one surface: in the flange's plane only what is not open to the other is drawn.
fn both_surfaces(mesh: &ClosedMesh, block: &Stack) -> Surface {
    let mut out = surface_of(block);
    let level = |points: &[DVec3], t: &[u32; 3]| t.iter().all(|c| points[*c as usize].z == 0.0);
    let points = std::mem::take(&mut out.points);
    out.triangles.retain(|t| !level(&points, t));
    out.points = points;
    let first = out.points.len() as u32;
    out.points.extend(mesh.points());
    let rest = mesh.triangles().iter().filter(|t| !level(mesh.points(), t));
    out.triangles.extend(rest.map(|t| t.map(|c| c + first)));
    let under = mesh.level_section(0.0);
    let over = block
        .layers()
        .first()
        .filter(|l| l.z_low.abs() < 1e-9)
        .map(|l| l.region.clone())
        .unwrap_or_default();
    out.level(&under.difference(&over), 0.0, true);
    out.level(&over.difference(&under), 0.0, false);
    out
}

fn surface_of(stack: &Stack) -> Surface {
    let mut out = Surface::default();
    let empty = Region::default();
    let layers = stack.layers();
    for (i, l) in layers.iter().enumerate() {
        for (a, b) in l.region.edges() {
            let (a0, b0) = (a.extend(l.z_low), b.extend(l.z_low));
            let (a1, b1) = (a.extend(l.z_high), b.extend(l.z_high));
            out.push([a0, b0, b1]);
            out.push([a0, b1, a1]);
        }
        let joined = |j: usize, z: f64| layers.get(j).filter(|n| n.z_low == z || n.z_high == z);
        let below = i
            .checked_sub(1)
            .and_then(|j| joined(j, l.z_low))
            .map_or(&empty, |n| &n.region);
        let above = joined(i + 1, l.z_high).map_or(&empty, |n| &n.region);
        out.level(&l.region.difference(below), l.z_low, false);
        out.level(&l.region.difference(above), l.z_high, true);
    }
    out
}

fn stack_edges(cavity: &Cavity, stack: &Stack) -> Vec<Vec<DVec3>> {
    let ends: Vec<f64> = cavity
        .pockets()
        .iter()
        .flat_map(|p| [p.z_low, p.z_high])
        .collect();
    let is_end = |z: f64| ends.iter().any(|e| (e - z).abs() < 1e-9);
    let mut out = Vec::new();
    let ring = |l: &Loop, z: f64| l.iter().chain(l.first()).map(|p| p.extend(z)).collect::<Vec<_>>();
    for (i, l) in stack.layers().iter().enumerate() {
        if is_end(l.z_low) {
            out.extend(l.region.loops().map(|r| ring(r, l.z_low)));
        }
        // A top that carries on with another plan shows that plan's own line too; an equal one was drawn.
        let next = stack.layers().get(i + 1).filter(|n| n.z_low == l.z_high);
        if is_end(l.z_high) && next.is_none_or(|n| n.region != l.region) {
            out.extend(l.region.loops().map(|r| ring(r, l.z_high)));
        }
        for points in l.region.loops() {
            let sides: Vec<DVec2> = loop_edges(points)
                .map(|(a, b)| (b - a).normalize_or_zero())
                .collect();
            for (k, p) in points.iter().enumerate() {
                let before = sides[(k + sides.len() - 1) % sides.len()];
                if before.perp_dot(sides[k]).atan2(before.dot(sides[k])).abs() > EDGE_TURN {
                    out.push(vec![p.extend(l.z_low), p.extend(l.z_high)]);
                }
            }
        }
    }
    out
}

fn mesh_edges(mesh: &ClosedMesh) -> Vec<Vec<DVec3>> {
    let p = |c: u32| mesh.points()[c as usize];
    let mut first: std::collections::BTreeMap<(u32, u32), DVec3> = std::collections::BTreeMap::new();
    let mut out = Vec::new();
    for t in mesh.triangles() {
        let normal = (p(t[1]) - p(t[0])).cross(p(t[2]) - p(t[0])).normalize_or_zero();
        for i in 0..3 {
            let (a, b) = (t[i], t[(i + 1) % 3]);
            let key = (a.min(b), a.max(b));
            match first.remove(&key) {
                None => {
                    first.insert(key, normal);
                }
                Some(other) if normal.dot(other) < EDGE_TURN.cos() => out.push(vec![p(a), p(b)]),
                Some(_) => {}
            }
        }
    }
    out
}
