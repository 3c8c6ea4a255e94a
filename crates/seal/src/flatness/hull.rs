//! The convex hull of points in space, with exact signs.
//!
//! Points are added one by one: the faces that a new point sees are taken away and the rim of the hole is joined to it.
//! Whether it sees a face is decided exactly (`robust`, after Shewchuk 1997), so that rows of points on one line or on
//! one plane, which every measuring grid has, need no tolerance: a point on the plane of a face does not see it.

use glam::DVec3;
use robust::{Coord3D, orient3d};

/// A face of the hull, counter-clockwise seen from outside.
pub(super) type Face = [usize; 3];

/// An edge with the two faces that meet in it, and the corner of each that lies off the edge.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub ends: [usize; 2],
    pub off: [usize; 2],
}

/// Faces of the hull; `None` when all points lie exactly on one plane.
pub(super) fn hull(points: &[DVec3]) -> Option<Vec<Face>> {
    let first = simplex(points)?;
    let mut mesh = Mesh::of(points, first);
    for p in 0..points.len() {
        if !first.contains(&p) {
            mesh.add(points, p);
        }
    }
    Some(
        mesh.faces
            .into_iter()
            .filter(|f| f.alive)
            .map(|f| f.corners)
            .collect(),
    )
}

/// The edges of a closed skin of faces.
pub(super) fn edges(faces: &[Face]) -> Vec<Edge> {
    let mut open = std::collections::BTreeMap::new();
    let mut edges = Vec::new();
    for face in faces {
        for k in 0..3 {
            let (a, b, off) = (face[k], face[(k + 1) % 3], face[(k + 2) % 3]);
            match open.remove(&(b, a)) {
                Some(other) => edges.push(Edge {
                    ends: [a, b],
                    off: [off, other],
                }),
                None => {
                    open.insert((a, b), off);
                }
            }
        }
    }
    debug_assert!(open.is_empty(), "a hull is closed");
    edges
}

/// Above zero when `d` lies on the outer side of the face a, b, c.
fn side(points: &[DVec3], [a, b, c]: Face, d: usize) -> f64 {
    let at = |i: usize| Coord3D {
        x: points[i].x,
        y: points[i].y,
        z: points[i].z,
    };
    -orient3d(at(a), at(b), at(c), at(d))
}

/// Four points that span a volume, none needlessly close to the others.
fn simplex(points: &[DVec3]) -> Option<[usize; 4]> {
    let far = |measure: &dyn Fn(DVec3) -> f64| {
        (0..points.len()).max_by(|&a, &b| measure(points[a]).total_cmp(&measure(points[b])))
    };
    let a = far(&|p| -p.x)?;
    let b = far(&|p| p.distance(points[a]))?;
    let along = points[b] - points[a];
    let c = far(&|p| along.cross(p - points[a]).length())?;
    let normal = along.cross(points[c] - points[a]);
    let d = far(&|p| normal.dot(p - points[a]).abs())?;
    // What rounding leaves of a plane is tried in turn: exact signs know.
    let distinct = |d: usize| ![a, b, c].contains(&d) && side(points, [a, b, c], d) != 0.0;
    let d = if distinct(d) {
        d
    } else {
        (0..points.len()).find(|&d| distinct(d))?
    };
    Some([a, b, c, d])
}

struct Live {
    corners: Face,
    /// Across the edge that leaves corner k.
    next: [usize; 3],
    alive: bool,
}

struct Mesh {
    faces: Vec<Live>,
    /// Slots of faces that were taken away.
    free: Vec<usize>,
}

impl Mesh {
    fn of(points: &[DVec3], [a, b, c, d]: [usize; 4]) -> Mesh {
        let (b, c) = if side(points, [a, b, c], d) < 0.0 {
            (b, c)
        } else {
            (c, b)
        };
        let corners = [[a, b, c], [a, d, b], [b, d, c], [c, d, a]];
        let faces = corners.map(|own| Live {
            corners: own,
            next: [0, 1, 2].map(|k| {
                let (from, to) = (own[k], own[(k + 1) % 3]);
                let joins = |other: &Face| (0..3).any(|j| other[j] == to && other[(j + 1) % 3] == from);
                corners.iter().position(joins).expect("a simplex is closed")
            }),
            alive: true,
        });
        Mesh {
            faces: faces.into(),
            free: Vec::new(),
        }
    }

    fn add(&mut self, points: &[DVec3], p: usize) {
        let sees = |f: &Live| f.alive && side(points, f.corners, p) > 0.0;
        let seen: Vec<bool> = self.faces.iter().map(sees).collect();
        if !seen.contains(&true) {
            return;
        }
        // The rim: edges between a face that is seen and one that is not, as (from, to, the face that stays).
        let mut rim = std::collections::BTreeMap::new();
        for (face, _) in self.faces.iter().zip(&seen).filter(|(_, seen)| **seen) {
            for k in 0..3 {
                if !seen[face.next[k]] {
                    rim.insert(face.corners[k], (face.corners[(k + 1) % 3], face.next[k]));
                }
            }
        }
        for i in (0..self.faces.len()).filter(|&i| seen[i]) {
            self.faces[i].alive = false;
            self.free.push(i);
        }
        let start = *rim.keys().next().expect("a hull is closed, so a hole has a rim");
        let mut made: Vec<usize> = Vec::with_capacity(rim.len());
        let mut from = start;
        loop {
            let (to, stays) = rim[&from];
            let slot = self.free.pop().unwrap_or(self.faces.len());
            let new = Live {
                corners: [from, to, p],
                next: [stays, usize::MAX, usize::MAX],
                alive: true,
            };
            if slot == self.faces.len() {
                self.faces.push(new);
            } else {
                self.faces[slot] = new;
            }
            let corners = self.faces[stays].corners;
            let k = (0..3)
                .find(|&k| corners[k] == to && corners[(k + 1) % 3] == from)
                .expect("neighbours share an edge");
            self.faces[stays].next[k] = slot;
            made.push(slot);
            from = to;
            if from == start {
                break;
            }
        }
        debug_assert_eq!(made.len(), rim.len(), "the rim of a hole is one loop");
        let n = made.len();
        for (i, &slot) in made.iter().enumerate() {
            self.faces[slot].next[1] = made[(i + 1) % n];
            self.faces[slot].next[2] = made[(i + n - 1) % n];
        }
    }
}
