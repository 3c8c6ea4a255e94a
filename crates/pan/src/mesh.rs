//! A closed triangle mesh as a solid: proved closed, volumes under any plane, sections, inside test.

use crate::polygon::{LARGEST_COORDINATE, Loop, Region};
use crate::stack::{Below, Stack, steps};
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// Corners nearer than this are one corner [m]: STL files store 32-bit numbers in millimetres or metres.
const WELD: f64 = 1e-6;

/// A mesh that has been shown to be closed, with every edge shared by exactly two triangles that agree on
/// which side is out, and out being out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ClosedMesh {
    points: Vec<DVec3>,
    triangles: Vec<[u32; 3]>,
    turned: bool,
}

/// Why a mesh is no cavity.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MeshFault {
    /// Nothing in it.
    #[error("the mesh has no triangles")]
    Empty,
    /// A corner that is no number, or beyond a kilometre.
    #[error(
        "corner {index} of the mesh is not a usable number (or lies more than a kilometre away: is the unit right?)"
    )]
    NotANumber {
        /// Which corner, from 0.
        index: usize,
    },
    /// A triangle names a corner that is not there.
    #[error("triangle {triangle} of the mesh names a corner that does not exist")]
    NoSuchCorner {
        /// Which triangle, from 0.
        triangle: usize,
    },
    /// Edges with a triangle on one side only.
    #[error("the mesh is open: {edges} edges have a triangle on one side only; the first near ({:.1}, {:.1}, {:.1}) mm, around a hole about {:.1} mm across", near.x * 1e3, near.y * 1e3, near.z * 1e3, hole * 1e3)]
    Open {
        /// How many edges.
        edges: usize,
        /// Middle of one of them [m].
        near: DVec3,
        /// Diagonal of the box round the open edges that hang together with it [m].
        hole: f64,
    },
    /// Edges with more than two triangles.
    #[error("{edges} edges of the mesh have more than two triangles; the first near ({:.1}, {:.1}, {:.1}) mm", near.x * 1e3, near.y * 1e3, near.z * 1e3)]
    Crowded {
        /// How many edges.
        edges: usize,
        /// Middle of one of them [m].
        near: DVec3,
    },
    /// Two neighbours that do not agree on which side is out.
    #[error("{edges} edges of the mesh join triangles that face opposite ways; the first near ({:.1}, {:.1}, {:.1}) mm", near.x * 1e3, near.y * 1e3, near.z * 1e3)]
    Twisted {
        /// How many edges.
        edges: usize,
        /// Middle of one of them [m].
        near: DVec3,
    },
    /// Nothing enclosed.
    #[error("the mesh encloses no volume")]
    Flat,
}

impl ClosedMesh {
    /// Welds equal corners, drops triangles of no area, proves the rest closed, and turns it right side out.
    pub fn new(points: &[DVec3], triangles: &[[u32; 3]]) -> Result<ClosedMesh, MeshFault> {
        if let Some(index) = points
            .iter()
            .position(|p| !p.is_finite() || p.abs().max_element() > LARGEST_COORDINATE)
        {
            return Err(MeshFault::NotANumber { index });
        }
        let (points, same) = weld(points);
        let mut kept = Vec::with_capacity(triangles.len());
        for (i, t) in triangles.iter().enumerate() {
            let get = |c: u32| {
                same.get(c as usize)
                    .copied()
                    .ok_or(MeshFault::NoSuchCorner { triangle: i })
            };
            let t = [get(t[0])?, get(t[1])?, get(t[2])?];
            // Two corners in one: the edge it had is shared by its two neighbours already.
            if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
                kept.push(t);
            }
        }
        if kept.is_empty() {
            return Err(MeshFault::Empty);
        }
        prove_closed(&points, &kept)?;
        let mut mesh = ClosedMesh {
            points,
            triangles: kept,
            turned: false,
        };
        let volume = mesh.volume();
        let (low, high) = mesh.bounds();
        if volume.abs() <= 1e-12 * (high - low).length().powi(3) {
            return Err(MeshFault::Flat);
        }
        if volume < 0.0 {
            for t in &mut mesh.triangles {
                t.swap(1, 2);
            }
            mesh.turned = true;
        }
        Ok(mesh)
    }

    /// A mesh that somebody else has welded and closed: nothing is joined or dropped, so that skins which touch
    /// stay apart. That it is closed is proved all the same.
    pub fn from_closed(points: Vec<DVec3>, triangles: Vec<[u32; 3]>) -> Result<ClosedMesh, MeshFault> {
        if let Some(index) = points
            .iter()
            .position(|p| !p.is_finite() || p.abs().max_element() > LARGEST_COORDINATE)
        {
            return Err(MeshFault::NotANumber { index });
        }
        let corners = points.len() as u32;
        if let Some(triangle) = triangles.iter().position(|t| t.iter().any(|c| *c >= corners)) {
            return Err(MeshFault::NoSuchCorner { triangle });
        }
        if triangles.is_empty() {
            return Err(MeshFault::Empty);
        }
        if !is_closed(&triangles) {
            prove_closed(&points, &triangles)?;
        }
        let mesh = ClosedMesh {
            points,
            triangles,
            turned: false,
        };
        let (low, high) = mesh.bounds();
        if !(mesh.volume() > 1e-12 * (high - low).length().powi(3)) {
            return Err(MeshFault::Flat);
        }
        Ok(mesh)
    }

    /// Corner points [m].
    pub fn points(&self) -> &[DVec3] {
        &self.points
    }

    /// Triangles, counter-clockwise seen from outside.
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// True when the mesh came inside out and was turned.
    pub fn was_inside_out(&self) -> bool {
        self.turned
    }

    /// Low and high corner.
    pub fn bounds(&self) -> (DVec3, DVec3) {
        let first = self.points[0];
        self.points
            .iter()
            .fold((first, first), |(low, high), p| (low.min(*p), high.max(*p)))
    }

    fn corners(&self) -> impl Iterator<Item = [DVec3; 3]> + '_ {
        self.triangles.iter().map(|t| t.map(|c| self.points[c as usize]))
    }

    /// Volume [m³].
    pub fn volume(&self) -> f64 {
        let o = self.points[0];
        self.corners()
            .map(|[a, b, c]| (a - o).dot((b - o).cross(c - o)))
            .sum::<f64>()
            / 6.0
    }

    /// Volume of the points with `up · x ≤ offset`, and the area of that plane inside.
    ///
    /// Divergence theorem with the field h·up, h the height over the plane: the cut itself lies at h = 0 and
    /// adds nothing, so only the triangles (clipped at h = 0, in closed form) are summed.
    pub fn below(&self, up: DVec3, offset: f64) -> Below {
        let mut sum = Below::default();
        for [a, b, c] in self.corners() {
            let mut h = [up.dot(a) - offset, up.dot(b) - offset, up.dot(c) - offset];
            if h[0] >= 0.0 && h[1] >= 0.0 && h[2] >= 0.0 {
                continue;
            }
            let seen = 0.5 * up.dot((b - a).cross(c - a));
            h.sort_by(f64::total_cmp);
            let [h1, h2, h3] = h;
            // Share of the triangle under the plane, and the mean over the whole triangle of min(h, 0).
            let (share, mean) = if h3 <= 0.0 {
                (1.0, (h1 + h2 + h3) / 3.0)
            } else if h2 >= 0.0 {
                let share = h1 / (h1 - h2) * (h1 / (h1 - h3));
                (share, share * h1 / 3.0)
            } else {
                let over = h3 / (h3 - h1) * (h3 / (h3 - h2));
                (1.0 - over, (h1 + h2 + h3) / 3.0 - over * h3 / 3.0)
            };
            sum.volume += seen * mean;
            sum.surface -= seen * share;
        }
        Below {
            volume: sum.volume.max(0.0),
            surface: sum.surface.max(0.0),
        }
    }

    /// True for points inside.
    pub fn contains(&self, p: DVec3) -> bool {
        self.skin_on_upright(p.truncate()).filter(|z| *z > p.z).count() % 2 == 1
    }

    /// Height of the floor under a point inside; `None` when the point is not inside.
    pub fn floor_under(&self, p: DVec3) -> Option<f64> {
        let inside = self.contains(p);
        self.skin_on_upright(p.truncate())
            .filter(|z| inside && *z <= p.z)
            .max_by(f64::total_cmp)
    }

    /// Heights at which the upright through a plan point goes through the skin, in no order.
    fn skin_on_upright(&self, plan: DVec2) -> impl Iterator<Item = f64> + '_ {
        self.corners().filter_map(move |[a, b, c]| {
            let flat = [a.truncate(), b.truncate(), c.truncate()];
            let over = (0..3)
                .filter(|&i| crosses(plan, flat[i], flat[(i + 1) % 3]))
                .count()
                % 2
                == 1;
            over.then(|| {
                let n = (b - a).cross(c - a);
                a.z - n.truncate().dot(plan - flat[0]) / n.z
            })
        })
    }

    /// Section by the plane through `origin` with axes `u`, `v` (unit, square to one another): a region in
    /// (u, v) measured from `origin`.
    pub fn section(&self, origin: DVec3, u: DVec3, v: DVec3) -> Region {
        let n = u.cross(v);
        let height: Vec<f64> = self.points.iter().map(|p| (*p - origin).dot(n)).collect();
        // A triangle with corners on both sides is crossed from one edge to another, the solid on the left.
        // Corners on the plane count as above, so that every crossing has two ends and all loops close.
        let mut next: HashMap<(u32, u32), (u32, u32)> = HashMap::new();
        for t in &self.triangles {
            let above = t.map(|c| height[c as usize] >= 0.0);
            if above[0] == above[1] && above[1] == above[2] {
                continue;
            }
            let key = |i: usize| {
                let (a, b) = (t[i], t[(i + 1) % 3]);
                (a.min(b), a.max(b))
            };
            let down = (0..3).find(|&i| above[i] && !above[(i + 1) % 3]);
            let rising = (0..3).find(|&i| !above[i] && above[(i + 1) % 3]);
            if let (Some(down), Some(rising)) = (down, rising) {
                next.insert(key(down), key(rising));
            }
        }
        let place = |(a, b): (u32, u32)| {
            let (ha, hb) = (height[a as usize], height[b as usize]);
            let p = self.points[a as usize].lerp(self.points[b as usize], ha / (ha - hb)) - origin;
            DVec2::new(p.dot(u), p.dot(v))
        };
        let mut starts: Vec<(u32, u32)> = next.keys().copied().collect();
        starts.sort_unstable();
        let mut loops: Vec<Loop> = Vec::new();
        for start in starts {
            let mut points = Vec::new();
            let mut at = start;
            while let Some(to) = next.remove(&at) {
                points.push(place(at));
                at = to;
            }
            if points.len() > 2 {
                loops.push(points);
            }
        }
        Region::from_oriented_loops(&loops)
    }

    /// Plan at a height.
    pub fn level_section(&self, z: f64) -> Region {
        self.section(DVec3::new(0.0, 0.0, z), DVec3::X, DVec3::Y)
    }

    /// Layers no thicker than `thickest`, broken at flat floors and ceilings.
    pub fn stack(&self, thickest: f64) -> Stack {
        let (low, high) = self.bounds();
        let mut breaks = vec![low.z, high.z];
        // Heights at which level triangles lie.
        for [a, b, c] in self.corners() {
            if (a.z - b.z).abs() < WELD && (b.z - c.z).abs() < WELD {
                breaks.push(a.z);
            }
        }
        breaks.sort_by(f64::total_cmp);
        breaks.dedup_by(|a, b| *a - *b < 0.1 * thickest);
        let mut layers = Vec::new();
        for pair in breaks.windows(2) {
            for (low, high, z) in steps(pair[0], pair[1], thickest) {
                layers.push((low, high, self.level_section(z)));
            }
        }
        Stack::new(layers)
    }
}

/// True when the ray from p along +x crosses a–b. The same arithmetic for either direction of the edge, so
/// that of two triangles on it exactly one claims the point.
fn crosses(p: DVec2, a: DVec2, b: DVec2) -> bool {
    if (a.y <= p.y) == (b.y <= p.y) {
        return false;
    }
    let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
    p.x < low.x + (p.y - low.y) / (high.y - low.y) * (high.x - low.x)
}

/// One of each corner, and for every old corner its new number.
fn weld(points: &[DVec3]) -> (Vec<DVec3>, Vec<u32>) {
    let mut cells: HashMap<[i64; 3], Vec<u32>> = HashMap::new();
    let (mut kept, mut same): (Vec<DVec3>, Vec<u32>) = (Vec::new(), Vec::with_capacity(points.len()));
    for p in points {
        let at = (*p / (2.0 * WELD)).floor().to_array().map(|x| x as i64);
        let mut found = None;
        'search: for dx in -1..=1 {
            for dy in -1..=1 {
                for dz in -1..=1 {
                    for &i in cells
                        .get(&[at[0] + dx, at[1] + dy, at[2] + dz])
                        .into_iter()
                        .flatten()
                    {
                        if kept[i as usize].distance(*p) < WELD {
                            found = Some(i);
                            break 'search;
                        }
                    }
                }
            }
        }
        let index = found.unwrap_or_else(|| {
            kept.push(*p);
            let i = (kept.len() - 1) as u32;
            cells.entry(at).or_default().push(i);
            i
        });
        same.push(index);
    }
    (kept, same)
}

/// Whether every edge runs once each way: quick and lean, but says nothing of where it fails.
fn is_closed(triangles: &[[u32; 3]]) -> bool {
    // Lower corner, higher corner, sense; corners are fewer than 2^31, for there are 3 at most to a triangle.
    let side = |a: u32, b: u32| u64::from(a.min(b)) << 33 | u64::from(a.max(b)) << 1 | u64::from(a > b);
    let mut sides: Vec<u64> = triangles
        .iter()
        .flat_map(|t| [side(t[0], t[1]), side(t[1], t[2]), side(t[2], t[0])])
        .collect();
    sides.sort_unstable();
    let mut after = None;
    sides.len().is_multiple_of(2)
        && sides.chunks_exact(2).all(|pair| {
            let fresh = after != Some(pair[0] >> 1);
            after = Some(pair[0] >> 1);
            fresh && pair[0] & 1 == 0 && pair[1] == pair[0] + 1
        })
}

fn prove_closed(points: &[DVec3], triangles: &[[u32; 3]]) -> Result<(), MeshFault> {
    // Per edge (low corner, high corner): how often it runs up and how often down.
    let mut uses: HashMap<(u32, u32), (u32, u32)> = HashMap::new();
    for t in triangles {
        for i in 0..3 {
            let (a, b) = (t[i], t[(i + 1) % 3]);
            let count = uses.entry((a.min(b), a.max(b))).or_default();
            if a < b {
                count.0 += 1;
            } else {
                count.1 += 1;
            }
        }
    }
    let sorted = |keep: &dyn Fn(u32, u32) -> bool| {
        let mut e: Vec<_> = uses
            .iter()
            .filter(|(_, (u, d))| keep(*u, *d))
            .map(|(e, _)| *e)
            .collect();
        e.sort_unstable();
        e
    };
    let middle = |e: (u32, u32)| 0.5 * (points[e.0 as usize] + points[e.1 as usize]);
    let open = sorted(&|u, d| u + d == 1);
    if let Some(&first) = open.first() {
        return Err(MeshFault::Open {
            edges: open.len(),
            near: middle(first),
            hole: hole_size(points, &open),
        });
    }
    let crowded = sorted(&|u, d| u + d > 2);
    if let Some(&first) = crowded.first() {
        return Err(MeshFault::Crowded {
            edges: crowded.len(),
            near: middle(first),
        });
    }
    let twisted = sorted(&|u, d| u != d);
    if let Some(&first) = twisted.first() {
        return Err(MeshFault::Twisted {
            edges: twisted.len(),
            near: middle(first),
        });
    }
    Ok(())
}

/// Diagonal of the box round the open edges connected with the first.
fn hole_size(points: &[DVec3], open: &[(u32, u32)]) -> f64 {
    let mut at: HashMap<u32, Vec<u32>> = HashMap::new();
    for &(a, b) in open {
        at.entry(a).or_default().push(b);
        at.entry(b).or_default().push(a);
    }
    let start = open[0].0;
    let (mut low, mut high) = (points[start as usize], points[start as usize]);
    let (mut todo, mut seen) = (vec![start], std::collections::HashSet::from([start]));
    while let Some(c) = todo.pop() {
        low = low.min(points[c as usize]);
        high = high.max(points[c as usize]);
        for &n in &at[&c] {
            if seen.insert(n) {
                todo.push(n);
            }
        }
    }
    (high - low).length()
}
