//! Gaps: neighbouring faces whose edges do not quite meet, or meet with different corners, sewn together.
//!
//! First open corners that lie nearer than the gap become one; then open edges that an open corner lies on are
//! split there. Only corners of open edges are moved, so that fine detail elsewhere stays as it is.

use crate::edges::{Pairing, ends};
use crate::mesh::Mesh;
use glam::DVec3;
use std::collections::{HashMap, HashSet};

/// What was sewn.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Sewn {
    /// Corners that became one with another.
    pub joined: usize,
    /// Edges that were split.
    pub split: usize,
    /// Farthest that a corner was moved [m].
    pub farthest: f64,
}

/// A grid of points, for asking what is near.
struct Grid {
    cell: f64,
    held: HashMap<[i64; 3], Vec<u32>>,
}

impl Grid {
    fn new(cell: f64) -> Grid {
        Grid {
            cell,
            held: HashMap::new(),
        }
    }

    fn key(&self, p: DVec3) -> [i64; 3] {
        (p / self.cell).floor().to_array().map(|v| v as i64)
    }

    fn put(&mut self, p: DVec3, name: u32) {
        self.held.entry(self.key(p)).or_default().push(name);
    }

    /// Everything within a cell's width of `p`, and some more.
    fn near(&self, p: DVec3) -> impl Iterator<Item = u32> + '_ {
        let [x, y, z] = self.key(p);
        (0..27i64)
            .filter_map(move |k| self.held.get(&[x + k % 3 - 1, y + k / 3 % 3 - 1, z + k / 9 - 1]))
            .flatten()
            .copied()
    }
}

fn open_corners(mesh: &Mesh, pairing: &Pairing) -> Vec<u32> {
    let mut corners: Vec<u32> = pairing
        .open
        .iter()
        .flat_map(|&side| {
            let (a, b) = ends(&mesh.triangles, side);
            [a, b]
        })
        .collect();
    corners.sort_unstable();
    corners.dedup();
    corners
}

/// Makes open corners nearer than `gap` one.
pub(crate) fn join(mesh: &mut Mesh, pairing: &Pairing, gap: f64, sewn: &mut Sewn) {
    let corners = open_corners(mesh, pairing);
    // The two ends of one open edge stay two, however short it is.
    let edges: HashSet<(u32, u32)> = pairing
        .open
        .iter()
        .map(|&side| {
            let (a, b) = ends(&mesh.triangles, side);
            (a.min(b), a.max(b))
        })
        .collect();
    let mut grid = Grid::new(gap);
    let mut becomes: HashMap<u32, u32> = HashMap::new();
    for &corner in &corners {
        let p = mesh.points[corner as usize];
        let nearest = grid
            .near(p)
            .filter(|&other| !edges.contains(&(corner.min(other), corner.max(other))))
            .map(|other| (mesh.points[other as usize].distance(p), other))
            .filter(|(distance, _)| *distance <= gap)
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        match nearest {
            Some((distance, other)) => {
                becomes.insert(corner, other);
                sewn.joined += 1;
                sewn.farthest = sewn.farthest.max(distance);
            }
            None => grid.put(p, corner),
        }
    }
    if !becomes.is_empty() {
        for corner in mesh.triangles.iter_mut().flatten() {
            if let Some(&other) = becomes.get(corner) {
                *corner = other;
            }
        }
    }
}

/// Splits open edges at open corners that lie nearer to them than `gap`; gives how many.
pub(crate) fn split(mesh: &mut Mesh, pairing: &Pairing, gap: f64, sewn: &mut Sewn) -> usize {
    let corners = open_corners(mesh, pairing);
    let (low, high) = mesh.bounds().unwrap_or_default();
    let mut grid = Grid::new(gap.max((high - low).length() / 512.0));
    for &corner in &corners {
        grid.put(mesh.points[corner as usize], corner);
    }
    let mut done: HashSet<u32> = HashSet::new();
    let mut count = 0;
    for &side in &pairing.open {
        // One edge of a triangle at a time; the others come in the next round.
        if done.contains(&(side / 3)) {
            continue;
        }
        let (a, b) = ends(&mesh.triangles, side);
        let (from, to) = (mesh.points[a as usize], mesh.points[b as usize]);
        let along = to - from;
        let length = along.length();
        if length <= 2.0 * gap {
            continue;
        }
        let steps = (length / (0.5 * grid.cell)).ceil().min(4096.0) as usize;
        let third = mesh.triangles[side as usize / 3][(side as usize + 2) % 3];
        let mut on: Vec<(f64, u32)> = Vec::new();
        for step in 0..=steps {
            let p = from + along * (step as f64 / steps as f64);
            for corner in grid.near(p) {
                if corner == a || corner == b || corner == third || on.iter().any(|o| o.1 == corner) {
                    continue;
                }
                let arm = mesh.points[corner as usize] - from;
                let share = arm.dot(along) / (length * length);
                let off = (arm - along * share).length();
                if off <= gap && share * length > gap && (1.0 - share) * length > gap {
                    sewn.farthest = sewn.farthest.max(off);
                    on.push((share, corner));
                }
            }
        }
        if on.is_empty() {
            continue;
        }
        on.sort_by(|x, y| x.0.total_cmp(&y.0));
        done.insert(side / 3);
        count += 1;
        let mut chain: Vec<u32> = vec![a];
        chain.extend(on.iter().map(|o| o.1));
        chain.push(b);
        mesh.triangles[side as usize / 3] = [chain[0], chain[1], third];
        for pair in chain.windows(2).skip(1) {
            mesh.triangles.push([pair[0], pair[1], third]);
        }
    }
    sewn.split += count;
    count
}
