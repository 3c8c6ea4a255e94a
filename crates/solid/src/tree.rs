//! A tree of boxes over triangles: which of them are near each other, and which lie over a point.
//!
//! Triangles are sorted along a space-filling curve, four of them make a leaf, and the boxes of a full binary tree
//! over the leaves lie in one array: node `i` has the children `2 i` and `2 i + 1`. (Linear bounding volume
//! hierarchy: Lauterbach et al., Computer Graphics Forum 28 (2009); from memory.)

use crate::mesh::Mesh;
use glam::{DVec2, DVec3, Vec3};
use rayon::prelude::*;

/// Triangles in a leaf.
const LEAF: usize = 4;

#[derive(Clone, Copy)]
struct Bounds {
    low: Vec3,
    high: Vec3,
}

impl Bounds {
    const NOTHING: Bounds = Bounds {
        low: Vec3::INFINITY,
        high: Vec3::NEG_INFINITY,
    };

    fn with(self, other: Bounds) -> Bounds {
        Bounds {
            low: self.low.min(other.low),
            high: self.high.max(other.high),
        }
    }

    #[inline]
    fn meets(&self, other: &Bounds) -> bool {
        self.low.cmple(other.high).all() && other.low.cmple(self.high).all()
    }
}

/// The tree.
pub(crate) struct Tree<'m> {
    mesh: &'m Mesh,
    order: Vec<u32>,
    nodes: Vec<Bounds>,
    /// Leaves of the full tree, a power of two.
    leaves: usize,
}

/// Box of a triangle, rounded outward.
fn bounds(mesh: &Mesh, t: u32) -> Bounds {
    let [a, b, c] = mesh.corners(t as usize);
    let (low, high) = (a.min(b).min(c), a.max(b).max(c));
    let wide = |v: f64| (v.abs() as f32) * 2.0 * f32::EPSILON + f32::MIN_POSITIVE;
    let margin = Vec3::from_array((low.abs().max(high.abs())).to_array().map(wide));
    Bounds {
        low: low.as_vec3() - margin,
        high: high.as_vec3() + margin,
    }
}

/// Spreads the lower 21 bits so that two free bits follow each.
fn spread(v: u64) -> u64 {
    let mut v = v & 0x1f_ffff;
    v = (v | v << 32) & 0x001f_0000_0000_ffff;
    v = (v | v << 16) & 0x001f_0000_ff00_00ff;
    v = (v | v << 8) & 0x100f_00f0_0f00_f00f;
    v = (v | v << 4) & 0x10c3_0c30_c30c_30c3;
    (v | v << 2) & 0x1249_2492_4924_9249
}

impl<'m> Tree<'m> {
    /// Over all triangles of a mesh.
    pub fn new(mesh: &'m Mesh) -> Tree<'m> {
        let (low, high) = mesh.bounds().unwrap_or_default();
        let scale = f64::from((1u32 << 21) - 1) / (high - low).max_element().max(f64::MIN_POSITIVE);
        let mut keyed: Vec<(u64, u32)> = (0..mesh.triangles.len() as u32)
            .into_par_iter()
            .map(|t| {
                let [a, b, c] = mesh.corners(t as usize);
                let at = ((a + b + c) / 3.0 - low) * scale;
                let key = spread(at.x as u64) | spread(at.y as u64) << 1 | spread(at.z as u64) << 2;
                (key, t)
            })
            .collect();
        keyed.par_sort_unstable();
        let order: Vec<u32> = keyed.into_iter().map(|k| k.1).collect();
        let leaves = order.len().div_ceil(LEAF).next_power_of_two();
        let mut nodes = vec![Bounds::NOTHING; 2 * leaves];
        nodes[leaves..]
            .par_iter_mut()
            .zip(order.par_chunks(LEAF))
            .for_each(|(node, leaf)| {
                *node = leaf
                    .iter()
                    .fold(Bounds::NOTHING, |sum, &t| sum.with(bounds(mesh, t)));
            });
        for i in (1..leaves).rev() {
            nodes[i] = nodes[2 * i].with(nodes[2 * i + 1]);
        }
        Tree {
            mesh,
            order,
            nodes,
            leaves,
        }
    }

    fn leaf(&self, leaf: usize) -> &[u32] {
        let from = (leaf * LEAF).min(self.order.len());
        &self.order[from..(from + LEAF).min(self.order.len())]
    }

    /// What `test` finds in every pair of triangles whose boxes meet, each pair once, in the tree's order; at most
    /// `most` from each of some hundred stretches.
    pub fn pairs<F: Send>(&self, most: usize, test: impl Fn(u32, u32) -> Option<F> + Sync) -> Vec<F> {
        let used = self.order.len().div_ceil(LEAF);
        let stretch = used.div_ceil(128).max(1);
        let found: Vec<Vec<F>> = (0..used.div_ceil(stretch))
            .into_par_iter()
            .map(|k| {
                let mut found = Vec::new();
                let mut stack = Vec::with_capacity(64);
                for leaf in k * stretch..((k + 1) * stretch).min(used) {
                    self.pairs_of(leaf, &mut stack, &mut |s, t| {
                        if found.len() < most {
                            found.extend(test(s, t));
                        }
                    });
                }
                found
            })
            .collect();
        found.into_iter().flatten().collect()
    }

    fn pairs_of(&self, leaf: usize, stack: &mut Vec<usize>, visit: &mut impl FnMut(u32, u32)) {
        let own = self.leaf(leaf);
        let own_bounds: Vec<Bounds> = own.iter().map(|&t| bounds(self.mesh, t)).collect();
        for (i, &s) in own.iter().enumerate() {
            for (j, &t) in own.iter().enumerate().skip(i + 1) {
                if own_bounds[i].meets(&own_bounds[j]) {
                    visit(s, t);
                }
            }
        }
        let whole = self.nodes[self.leaves + leaf];
        stack.clear();
        stack.push(1);
        while let Some(node) = stack.pop() {
            if !self.nodes[node].meets(&whole) {
                continue;
            }
            if node < self.leaves {
                // Leaves under a node are a row; those before this one have had their turn.
                let depth = self.leaves.ilog2() - node.ilog2();
                let last = ((node + 1) << depth) - 1 - self.leaves;
                if last > leaf {
                    stack.push(2 * node + 1);
                    stack.push(2 * node);
                }
                continue;
            }
            let other = node - self.leaves;
            if other <= leaf {
                continue;
            }
            for &t in self.leaf(other) {
                let box_of = bounds(self.mesh, t);
                if !box_of.meets(&whole) {
                    continue;
                }
                for (i, &s) in own.iter().enumerate() {
                    if own_bounds[i].meets(&box_of) {
                        visit(s, t);
                    }
                }
            }
        }
    }

    /// The triangles that the upright from `p` upward goes through. Of triangles that meet under it in an edge or
    /// corner exactly as many are told as make the count right.
    pub fn over(&self, p: DVec3) -> Vec<u32> {
        let mut found = Vec::new();
        let mut stack = vec![1];
        let flat = p.as_vec3();
        let near = |b: &Bounds| {
            b.low.x <= flat.x
                && flat.x <= b.high.x
                && b.low.y <= flat.y
                && flat.y <= b.high.y
                && b.high.z >= flat.z
        };
        while let Some(node) = stack.pop() {
            if !near(&self.nodes[node]) {
                continue;
            }
            if node < self.leaves {
                stack.extend([2 * node, 2 * node + 1]);
                continue;
            }
            found.extend(self.leaf(node - self.leaves).iter().filter(|&&t| {
                height_over(self.mesh.corners(t as usize), p.truncate()).is_some_and(|z| z > p.z)
            }));
        }
        found
    }
}

/// Height at which the upright through a plan point goes through a triangle.
fn height_over([a, b, c]: [DVec3; 3], plan: DVec2) -> Option<f64> {
    let flat = [a.truncate(), b.truncate(), c.truncate()];
    let crossed = (0..3)
        .filter(|&i| crosses(plan, flat[i], flat[(i + 1) % 3]))
        .count();
    (crossed % 2 == 1).then(|| {
        let n = (b - a).cross(c - a);
        a.z - n.truncate().dot(plan - flat[0]) / n.z
    })
}

/// True when the ray from p along +x crosses a-b. The same arithmetic for either direction of the edge, so that of
/// two triangles on it exactly one claims the point.
fn crosses(p: DVec2, a: DVec2, b: DVec2) -> bool {
    if (a.y <= p.y) == (b.y <= p.y) {
        return false;
    }
    let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
    p.x < low.x + (p.y - low.y) / (high.y - low.y) * (high.x - low.x)
}
