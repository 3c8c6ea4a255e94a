//! Slabs joined into one closed skin.
//!
//! In each plane between two slabs the corners of both, and the points where their edges cross, are gathered; corners
//! within [`WELD`] are one. Every edge is parted at every corner that lies on it, so that no corner meets the middle of
//! another's edge. Level faces are what one slab has and the other has not. At last every edge is counted: each must run
//! once each way.

use super::slab::Slab;
use glam::{DVec2, DVec3};
use pan::Region;
use pan::polygon::Loop;
use solid::Mesh;
use solid::ears::{Corner, in_plane};
use std::collections::HashMap;

/// Corners nearer than this are one, and a corner this near to an edge lies on it [m].
const WELD: f64 = 1e-6;

/// The closed skin [m], or where it cannot be closed.
pub(super) fn closed(slabs: &[Slab]) -> Result<Mesh, DVec3> {
    let mut mesh = Mesh::default();
    // Chains of corners along each edge of each loop of the slab below the plane, at the plane.
    let mut lower: Chains = Vec::new();
    for (i, slab) in slabs.iter().enumerate() {
        let below = i.checked_sub(1).map(|j| &slabs[j]).filter(|b| b.high == slab.low);
        if below.is_none() {
            // A gap in height: a plane of this slab's own.
            lower = plane(&mut mesh, slab.low, &[], &slab.lower).1;
        }
        let above = slabs.get(i + 1).filter(|a| a.low == slab.high);
        let (upper, next) = plane(
            &mut mesh,
            slab.high,
            &slab.upper,
            above.map_or(&[][..], |a| &a.lower),
        );
        for (below, above) in lower.iter().zip(&upper) {
            for (b, a) in below.iter().zip(above) {
                wall(&mut mesh, b, a);
            }
        }
        lower = next;
    }
    fill_left_over(&mut mesh);
    drop_doubled(&mut mesh);
    mesh.drop_unused();
    match unmatched(&mesh).first() {
        Some(&(a, b)) => Err(0.5 * (mesh.points[a as usize] + mesh.points[b as usize])),
        None => Ok(mesh),
    }
}

/// For each loop, for each of its edges, the corners from its start to its end.
type Chains = Vec<Vec<Vec<u32>>>;

/// Level faces at a plane, and the chains of the loops below and above it.
fn plane(mesh: &mut Mesh, z: f64, below: &[Loop], above: &[Loop]) -> (Chains, Chains) {
    let mut corners = Corners::new(z);
    for p in below.iter().chain(above).flatten() {
        corners.number(mesh, *p);
    }
    let bent = |corners: &mut Corners, mesh: &mut Mesh, loops: &[Loop]| -> Vec<Loop> {
        loops
            .iter()
            .map(|l| {
                let chains = corners.chains(mesh, l);
                chains
                    .iter()
                    .flat_map(|c| &c[..c.len() - 1])
                    .map(|&c| mesh.points[c as usize].truncate())
                    .collect()
            })
            .collect()
    };
    let low = Region::from_oriented_loops(&bent(&mut corners, mesh, below));
    let high = Region::from_oriented_loops(&bent(&mut corners, mesh, above));
    let (up, down) = (low.difference(&high), high.difference(&low));
    for p in up.loops().chain(down.loops()).flatten() {
        corners.number(mesh, *p);
    }
    for (region, up) in [(up, true), (down, false)] {
        for shape in &region.shapes {
            let loops: Vec<Vec<Corner>> = shape
                .iter()
                .map(|l| corners.ring(mesh, l))
                .filter(|l| l.len() > 2)
                .collect();
            for t in in_plane(loops) {
                let [a, b, c] = t;
                if a != b && b != c && c != a {
                    mesh.triangles.push(if up { [a, b, c] } else { [a, c, b] });
                }
            }
        }
    }
    let mut all = |loops: &[Loop]| loops.iter().map(|l| corners.chains(mesh, l)).collect::<Chains>();
    (all(below), all(above))
}

/// The corners in a plane.
struct Corners {
    z: f64,
    cells: HashMap<[i64; 2], Vec<(DVec2, u32)>>,
    /// Cells of a millimetre, to find what lies on an edge.
    wide: HashMap<[i64; 2], Vec<(DVec2, u32)>>,
}

const CELL: f64 = 2.0 * WELD;
const WIDE: f64 = 1e-3;

fn cell(p: DVec2, size: f64) -> [i64; 2] {
    (p / size).floor().to_array().map(|v| v as i64)
}

impl Corners {
    fn new(z: f64) -> Corners {
        Corners {
            z,
            cells: HashMap::new(),
            wide: HashMap::new(),
        }
    }

    /// The corner at a place; a new one when none is near.
    fn number(&mut self, mesh: &mut Mesh, p: DVec2) -> u32 {
        let [x, y] = cell(p, CELL);
        let mut best: Option<(f64, u32)> = None;
        for dx in -1..=1 {
            for dy in -1..=1 {
                for (at, name) in self.cells.get(&[x + dx, y + dy]).into_iter().flatten() {
                    let d = at.distance(p);
                    if d < WELD && best.is_none_or(|(least, _)| d < least) {
                        best = Some((d, *name));
                    }
                }
            }
        }
        best.map_or_else(
            || {
                let name = mesh.points.len() as u32;
                mesh.points.push(p.extend(self.z));
                self.cells.entry([x, y]).or_default().push((p, name));
                self.wide.entry(cell(p, WIDE)).or_default().push((p, name));
                name
            },
            |(_, name)| name,
        )
    }

    /// Corners from `a` to `b`, those on the way between them.
    fn along(&mut self, mesh: &mut Mesh, a: DVec2, b: DVec2) -> Vec<u32> {
        let (first, last) = (self.number(mesh, a), self.number(mesh, b));
        if first == last {
            return vec![first];
        }
        let (a, b) = (
            mesh.points[first as usize].truncate(),
            mesh.points[last as usize].truncate(),
        );
        let d = b - a;
        let length = d.length();
        let mut on: Vec<(f64, u32)> = Vec::new();
        let steps = (length / (0.5 * WIDE)).ceil() as i64;
        let mut seen: Vec<[i64; 2]> = Vec::new();
        for s in 0..=steps {
            let [x, y] = cell(a + d * (s as f64 / steps as f64), WIDE);
            for dx in -1..=1 {
                for dy in -1..=1 {
                    let key = [x + dx, y + dy];
                    // Cells are met in order: a look at the last few is enough.
                    if seen.iter().rev().take(27).any(|k| *k == key) {
                        continue;
                    }
                    seen.push(key);
                    for (p, name) in self.wide.get(&key).into_iter().flatten() {
                        let t = (*p - a).dot(d) / (length * length);
                        let off = (*p - a).perp_dot(d).abs() / length;
                        if *name != first && *name != last && t > 0.0 && t < 1.0 && off < WELD {
                            on.push((t, *name));
                        }
                    }
                }
            }
        }
        on.sort_by(|m, n| m.0.total_cmp(&n.0));
        on.dedup_by_key(|e| e.1);
        std::iter::once(first)
            .chain(on.into_iter().map(|(_, name)| name))
            .chain([last])
            .collect()
    }

    fn chains(&mut self, mesh: &mut Mesh, l: &Loop) -> Vec<Vec<u32>> {
        (0..l.len())
            .map(|i| self.along(mesh, l[i], l[(i + 1) % l.len()]))
            .collect()
    }

    /// A loop with every corner that lies on it.
    fn ring(&mut self, mesh: &mut Mesh, l: &Loop) -> Vec<Corner> {
        let mut ring: Vec<u32> = Vec::new();
        for chain in self.chains(mesh, l) {
            ring.extend(&chain[..chain.len() - 1]);
        }
        ring.dedup();
        if ring.len() > 1 && ring.first() == ring.last() {
            ring.pop();
        }
        ring.iter()
            .map(|&name| Corner {
                at: mesh.points[name as usize].truncate(),
                name,
            })
            .collect()
    }
}

/// Triangles between a chain below and a chain above, which run the same way; outside is on the right of both.
fn wall(mesh: &mut Mesh, below: &[u32], above: &[u32]) {
    let at = |c: u32| mesh.points[c as usize].truncate();
    let way = (at(below[below.len() - 1]) - at(below[0])) + (at(above[above.len() - 1]) - at(above[0]));
    let share = |chain: &[u32], i: usize| {
        let (a, b) = (at(chain[0]), at(chain[chain.len() - 1]));
        let whole = (b - a).dot(way);
        if whole > 0.0 {
            (at(chain[i]) - a).dot(way) / whole
        } else {
            1.0
        }
    };
    let (mut i, mut j) = (0, 0);
    let mut made = Vec::new();
    while i + 1 < below.len() || j + 1 < above.len() {
        let lower_next =
            j + 1 == above.len() || (i + 1 < below.len() && share(below, i + 1) <= share(above, j + 1));
        if lower_next {
            made.push([below[i], below[i + 1], above[j]]);
            i += 1;
        } else {
            made.push([below[i], above[j + 1], above[j]]);
            j += 1;
        }
    }
    mesh.triangles.extend(made);
}

/// Edges that run more often one way than the other, in that way.
fn unmatched(mesh: &Mesh) -> Vec<(u32, u32)> {
    let mut count: HashMap<(u32, u32), [i32; 2]> = HashMap::new();
    for t in &mesh.triangles {
        for k in 0..3 {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            count.entry((a.min(b), a.max(b))).or_default()[usize::from(a > b)] += 1;
        }
    }
    let mut open: Vec<(u32, u32)> = count
        .into_iter()
        .filter(|(_, n)| *n != [1, 1])
        .flat_map(|((a, b), [up, down])| {
            let side = if up >= down { (a, b) } else { (b, a) };
            // One that is shared by four is named once.
            std::iter::repeat_n(side, up.abs_diff(down).max(1) as usize)
        })
        .collect();
    open.sort_unstable();
    open
}

/// Pairs of triangles on the same corners that face opposite ways close nothing.
fn drop_doubled(mesh: &mut Mesh) {
    let mut seen: HashMap<[u32; 3], Vec<usize>> = HashMap::new();
    for (i, t) in mesh.triangles.iter().enumerate() {
        let mut key = *t;
        key.sort_unstable();
        seen.entry(key).or_default().push(i);
    }
    let even = |t: &[u32; 3]| {
        let first = (0..3).min_by_key(|k| t[*k]).unwrap_or(0);
        t[(first + 1) % 3] < t[(first + 2) % 3]
    };
    let mut gone: Vec<usize> = Vec::new();
    for list in seen.into_values().filter(|l| l.len() > 1) {
        let (a, b): (Vec<usize>, Vec<usize>) = list.into_iter().partition(|i| even(&mesh.triangles[*i]));
        let pairs = a.len().min(b.len());
        gone.extend(a.into_iter().take(pairs).chain(b.into_iter().take(pairs)));
    }
    gone.sort_unstable();
    for i in gone.into_iter().rev() {
        mesh.triangles.swap_remove(i);
    }
}

/// What areas too small to be a plan leave open is closed in its plane.
fn fill_left_over(mesh: &mut Mesh) {
    let mut next: HashMap<u32, Vec<u32>> = HashMap::new();
    let open = unmatched(mesh);
    for &(a, b) in &open {
        // The missing triangle runs the other way.
        next.entry(b).or_default().push(a);
    }
    for (_, start) in open {
        let mut ring = Vec::new();
        let mut at = start;
        while let Some(to) = next.get_mut(&at).and_then(Vec::pop) {
            ring.push(at);
            at = to;
            if let Some(k) = ring.iter().position(|c| *c == at) {
                close(mesh, &ring.split_off(k));
            }
        }
    }
}

fn close(mesh: &mut Mesh, ring: &[u32]) {
    for k in 1..ring.len().saturating_sub(1) {
        mesh.triangles.push([ring[0], ring[k], ring[k + 1]]);
    }
}
