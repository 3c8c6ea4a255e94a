//! Where the skin runs through itself.
//!
//! Two triangles cross when a side of one goes through the inside of the other; signs are exact (`robust`). Those
//! that share an edge cannot, those that share a corner can with their other sides. Contacts and crossings shallower
//! than a micrometre are rounding of the file and are passed over.

use crate::edges::{NONE, Pairing};
use crate::fault::Mark;
use crate::mesh::Mesh;
use crate::tree::Tree;
use glam::DVec3;
use robust::{Coord3D, orient3d};
use std::collections::HashMap;

/// Shallower crossings are rounding [m].
const SHALLOW: f64 = 1e-6;
/// Most crossings that are kept from each stretch of the tree; more than enough to tell where they are.
const MOST: usize = 2_000;

/// A pair of triangles that cross, and a point of their common line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Crossing {
    pub pair: (u32, u32),
    pub at: DVec3,
}

/// All of them.
pub(crate) fn find(mesh: &Mesh, tree: &Tree) -> Vec<Crossing> {
    tree.pairs(MOST, |s, t| cross(mesh, s, t))
}

fn sign(a: DVec3, b: DVec3, c: DVec3, d: DVec3) -> f64 {
    let coord = |p: DVec3| Coord3D {
        x: p.x,
        y: p.y,
        z: p.z,
    };
    orient3d(coord(a), coord(b), coord(c), coord(d))
}

fn cross(mesh: &Mesh, s: u32, t: u32) -> Option<Crossing> {
    let (names_s, names_t) = (mesh.triangles[s as usize], mesh.triangles[t as usize]);
    let shared = names_s.iter().filter(|c| names_t.contains(c)).count();
    if shared > 1 {
        return None;
    }
    let (one, other) = (mesh.corners(s as usize), mesh.corners(t as usize));
    let at =
        pierced(one, names_s, other, names_t)?.or_else(|| pierced(other, names_t, one, names_s).flatten())?;
    Some(Crossing { pair: (s, t), at })
}

/// `None` when triangle `one` lies on one side of the plane of `other`, so that they cannot cross; else the point
/// in which one of its sides goes through `other`, if any does.
fn pierced(one: [DVec3; 3], names: [u32; 3], other: [DVec3; 3], others: [u32; 3]) -> Option<Option<DVec3>> {
    let [a, b, c] = other;
    let n = (b - a).cross(c - a);
    let size = n.length();
    if size == 0.0 {
        return None;
    }
    let high = one.map(|p| n.dot(p - a) / size);
    let free: [bool; 3] = std::array::from_fn(|i| !others.contains(&names[i]));
    // Rounding of the heights is far below SHALLOW; only sides that reach beyond it to both sides count.
    let above = (0..3).any(|i| free[i] && high[i] > SHALLOW);
    let below = (0..3).any(|i| free[i] && high[i] < -SHALLOW);
    if !above || !below {
        return None;
    }
    for i in 0..3 {
        let j = (i + 1) % 3;
        if !free[i] || !free[j] || high[i].min(high[j]) >= -SHALLOW || high[i].max(high[j]) <= SHALLOW {
            continue;
        }
        let (p, q) = (one[i], one[j]);
        let turns = [sign(p, q, a, b), sign(p, q, b, c), sign(p, q, c, a)];
        if turns.iter().all(|s| *s > 0.0) || turns.iter().all(|s| *s < 0.0) {
            return Some(Some(p.lerp(q, high[i] / (high[i] - high[j]))));
        }
    }
    Some(None)
}

/// Crossings that hang together, as places, largest first.
pub(crate) fn places(pairing: &Pairing, crossings: &[Crossing]) -> Vec<Mark> {
    let mut group: HashMap<u32, u32> = HashMap::new();
    for c in crossings {
        group.entry(c.pair.0).or_insert(c.pair.0);
        group.entry(c.pair.1).or_insert(c.pair.1);
    }
    fn root(group: &mut HashMap<u32, u32>, mut t: u32) -> u32 {
        while group[&t] != t {
            let up = group[&group[&t]];
            group.insert(t, up);
            t = up;
        }
        t
    }
    let members: Vec<u32> = {
        let mut m: Vec<u32> = group.keys().copied().collect();
        m.sort_unstable();
        m
    };
    let unite = |group: &mut HashMap<u32, u32>, a: u32, b: u32| {
        let (a, b) = (root(group, a), root(group, b));
        group.insert(a.max(b), a.min(b));
    };
    for c in crossings {
        unite(&mut group, c.pair.0, c.pair.1);
    }
    for &t in &members {
        for side in 3 * t..3 * t + 3 {
            let mate = pairing.mate[side as usize];
            if mate != NONE && group.contains_key(&(mate / 3)) {
                unite(&mut group, t, mate / 3);
            }
        }
    }
    let mut boxes: HashMap<u32, (DVec3, DVec3)> = HashMap::new();
    for c in crossings {
        let root = root(&mut group, c.pair.0);
        let entry = boxes.entry(root).or_insert((c.at, c.at));
        *entry = (entry.0.min(c.at), entry.1.max(c.at));
    }
    let mut marks: Vec<(u32, Mark)> = boxes
        .into_iter()
        .map(|(root, (low, high))| {
            let mark = Mark {
                at: 0.5 * (low + high),
                across: low.distance(high),
                what: "crossing",
            };
            (root, mark)
        })
        .collect();
    marks.sort_by(|a, b| b.1.across.total_cmp(&a.1.across).then(a.0.cmp(&b.0)));
    marks.into_iter().map(|m| m.1).collect()
}
