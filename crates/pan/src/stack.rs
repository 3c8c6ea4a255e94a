//! A solid as a stack of layers: upright prisms, one plan region each. Pockets become one exactly (draft
//! and floor radius by thin steps); a mesh is sliced into one for the lattice.
//!
//! Volumes under any plane are exact. In a layer of thickness t the depth of filled column over a plan point
//! is t·f, with f = 0 … 1 a clamped linear function of the distance s along the plan direction of the
//! plane's fall. By Green's theorem ∬ f dA = ∮ G(s) dq, where G = ∫ f ds and q runs square to s: a sum over
//! edges of Δq times the mean of G, which is a polynomial of degree two between the two kinks of f, so that
//! Simpson's rule is exact on each piece. No clipping, no cancellation.

use crate::polygon::{Loop, Region};
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// One layer: everything inside `region` from `z_low` to `z_high`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Layer {
    /// Underside [m].
    pub z_low: f64,
    /// Top [m].
    pub z_high: f64,
    /// Plan.
    pub region: Region,
    /// Plan area [m²].
    area: f64,
    /// Low and high corner of the plan.
    bounds: (DVec2, DVec2),
}

/// Layers from bottom to top; heights may be left out between them where nothing is.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Stack {
    layers: Vec<Layer>,
}

/// Volume under a plane and how it grows with the plane's offset.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Below {
    /// Volume [m³].
    pub volume: f64,
    /// Its derivative with the offset: the area of the plane inside the solid [m²].
    pub surface: f64,
}

impl Stack {
    /// From layers in any order that do not overlap in height; neighbours of the same plan are joined.
    pub fn new(mut layers: Vec<(f64, f64, Region)>) -> Stack {
        layers.retain(|(low, high, region)| high > low && !region.is_empty());
        layers.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut stack: Vec<Layer> = Vec::new();
        for (z_low, z_high, region) in layers {
            if let Some(last) = stack.last_mut()
                && last.z_high == z_low
                && last.region == region
            {
                last.z_high = z_high;
                continue;
            }
            let Some(bounds) = region.bounds() else { continue };
            stack.push(Layer {
                z_low,
                z_high,
                area: region.area(),
                bounds,
                region,
            });
        }
        Stack { layers: stack }
    }

    /// The layers, bottom to top.
    pub fn layers(&self) -> &[Layer] {
        &self.layers
    }

    /// Low and high corner; `None` when empty.
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        let first = self.layers.first()?;
        let mut low = first.bounds.0.extend(first.z_low);
        let mut high = first.bounds.1.extend(first.z_high);
        for l in &self.layers {
            low = low.min(l.bounds.0.extend(l.z_low));
            high = high.max(l.bounds.1.extend(l.z_high));
        }
        Some((low, high))
    }

    /// Volume [m³].
    pub fn volume(&self) -> f64 {
        self.layers.iter().map(|l| l.area * (l.z_high - l.z_low)).sum()
    }

    /// Volume of the points with `up · x ≤ offset`, and the area of that plane inside. `up` is a unit vector.
    pub fn below(&self, up: DVec3, offset: f64) -> Below {
        let mut sum = Below::default();
        for l in &self.layers {
            let b = l.below(up, offset);
            sum.volume += b.volume;
            sum.surface += b.surface;
        }
        sum
    }

    /// True for points inside. A point on a floor is inside, one on a ceiling is not.
    pub fn contains(&self, p: DVec3) -> bool {
        let i = self.layers.partition_point(|l| l.z_high <= p.z);
        self.layers.get(i).is_some_and(|l| {
            l.z_low <= p.z
                && p.x >= l.bounds.0.x
                && p.x <= l.bounds.1.x
                && p.y >= l.bounds.0.y
                && p.y <= l.bounds.1.y
                && l.region.contains(p.truncate())
        })
    }

    /// Height of the floor under a point inside; `None` when the point is not inside.
    pub fn floor_under(&self, p: DVec3) -> Option<f64> {
        if !self.contains(p) {
            return None;
        }
        let at = self.layers.partition_point(|l| l.z_high <= p.z);
        let mut floor = self.layers[at].z_low;
        for l in self.layers[..at].iter().rev() {
            if l.z_high < floor || !l.region.contains(p.truncate()) {
                break;
            }
            floor = l.z_low;
        }
        Some(floor)
    }

    /// Plan at a height: what is open on both sides of it.
    pub fn level_section(&self, z: f64) -> Region {
        let side = |below: bool| {
            self.layers.iter().find(|l| {
                if below {
                    l.z_low < z && z <= l.z_high
                } else {
                    l.z_low <= z && z < l.z_high
                }
            })
        };
        match (side(true), side(false)) {
            (Some(a), Some(b)) => a.region.intersection(&b.region),
            _ => Region::default(),
        }
    }

    /// Section by the upright plane through `point` along the plan direction `along` (unit): a region in
    /// (distance along, z).
    pub fn upright_section(&self, point: DVec2, along: DVec2) -> Region {
        let mut loops: Vec<Loop> = Vec::new();
        for l in &self.layers {
            for (s0, s1) in l.region.chords(point, along) {
                loops.push(vec![
                    DVec2::new(s0, l.z_low),
                    DVec2::new(s1, l.z_low),
                    DVec2::new(s1, l.z_high),
                    DVec2::new(s0, l.z_high),
                ]);
            }
        }
        Region::from_loops(&loops)
    }

    /// Volumes of the pieces that hang together, largest first [m³].
    pub fn pieces(&self) -> Vec<f64> {
        // One node a shape; neighbours above share it when their plans overlap.
        let mut parent: Vec<usize> = Vec::new();
        let mut volume: Vec<f64> = Vec::new();
        let mut below: Option<(f64, Vec<(usize, Region)>)> = None;
        fn root(parent: &mut [usize], mut i: usize) -> usize {
            while parent[i] != i {
                parent[i] = parent[parent[i]];
                i = parent[i];
            }
            i
        }
        for l in &self.layers {
            let mut here = Vec::new();
            for shape in &l.region.shapes {
                let one = Region {
                    shapes: vec![shape.clone()],
                };
                let node = parent.len();
                parent.push(node);
                volume.push(one.area() * (l.z_high - l.z_low));
                if let Some((top, under)) = &below
                    && *top == l.z_low
                {
                    for (other, plan) in under {
                        if !plan.intersection(&one).is_empty() {
                            let (a, b) = (root(&mut parent, node), root(&mut parent, *other));
                            parent[a] = b;
                        }
                    }
                }
                here.push((node, one));
            }
            below = Some((l.z_high, here));
        }
        let mut sums = vec![0.0; parent.len()];
        for i in 0..parent.len() {
            sums[root(&mut parent, i)] += volume[i];
        }
        sums.retain(|v| *v > 0.0);
        sums.sort_by(|a, b| b.total_cmp(a));
        sums
    }
}

/// Cuts a stretch of height into steps no thicker than `thickest`: (low, high, height of the plan to take). Steps
/// go in pairs with the plans at Gauss's two points of the pair, so that the pair's volume is exact for plan
/// areas up to the third degree in height: leaning walls and balls come out exactly.
pub(crate) fn steps(low: f64, high: f64, thickest: f64) -> Vec<(f64, f64, f64)> {
    let pairs = ((high - low) / (2.0 * thickest) - 1e-9).ceil().max(1.0) as usize;
    let edge = |i: usize| {
        if i == 2 * pairs {
            high
        } else {
            low + (high - low) * i as f64 / (2 * pairs) as f64
        }
    };
    let off = 0.5 - 0.5 / 3f64.sqrt();
    (0..2 * pairs)
        .map(|i| {
            let (bottom, top) = (edge(i - i % 2), edge(i - i % 2 + 2));
            let share = if i % 2 == 0 { off } else { 1.0 - off };
            (edge(i), edge(i + 1), bottom + share * (top - bottom))
        })
        .collect()
}

impl Layer {
    /// Plan area [m²].
    pub fn area(&self) -> f64 {
        self.area
    }

    fn below(&self, up: DVec3, offset: f64) -> Below {
        let t = self.z_high - self.z_low;
        let fall = up.truncate();
        let (fall_size, rise) = (fall.length(), up.z * t);
        // Distance of the plane over the layer's two faces at plan point p: d(p), d(p) − rise.
        let middle = 0.5 * (self.bounds.0 + self.bounds.1);
        let half = 0.5 * (self.bounds.1 - self.bounds.0);
        let at_middle = offset - up.z * self.z_low - fall.dot(middle);
        let reach = fall.x.abs() * half.x + fall.y.abs() * half.y;
        if at_middle + reach <= 0.0 && at_middle + reach - rise <= 0.0 {
            return Below::default();
        }
        if at_middle - reach >= 0.0 && at_middle - reach - rise >= 0.0 {
            return Below {
                volume: self.area * t,
                surface: 0.0,
            };
        }
        if fall_size < 1e-15 {
            let f = if up.z > 0.0 {
                at_middle / rise
            } else {
                1.0 - at_middle / rise
            };
            let f = f.clamp(0.0, 1.0);
            let inside = f > 0.0 && f < 1.0;
            return Below {
                volume: self.area * t * f,
                surface: if inside { self.area } else { 0.0 },
            };
        }
        let along = fall / fall_size;
        let (s_low, s_high) = (-reach / fall_size, reach / fall_size);
        // Kinks: the plane leaves the layer's one face at s = d/fall, the other at (d − rise)/fall.
        let (k1, k2) = (at_middle / fall_size, (at_middle - rise) / fall_size);
        let (full_until, dry_from) = (k1.min(k2), k1.max(k2));
        let a = full_until.clamp(s_low, s_high);
        let b = dry_from.clamp(s_low, s_high);
        let width = dry_from - full_until;
        let between = |s: f64| (dry_from - s) / width;
        // At one and the same kink (an upright plane) f drops from full to dry: a asks what is before, b after.
        let fa = if a <= full_until {
            1.0
        } else if a >= dry_from {
            0.0
        } else {
            between(a)
        };
        let fb = if b >= dry_from {
            0.0
        } else if b <= full_until {
            1.0
        } else {
            between(b)
        };
        let profile = Profile::new(s_low, a, b, fa, fb);
        // The surface: the plan between the kinks, seen along the plane. A plane that stands upright has no
        // plan; a narrow strip in its place gives the derivative closely enough to steer by.
        let strip = width.max(1e-6 * (s_high - s_low));
        let strip_end = if strip > width {
            (full_until + strip).clamp(s_low, s_high)
        } else {
            b
        };
        let (mut volume, mut plan) = (0.0, 0.0);
        for l in self.region.loops() {
            let Some(&last) = l.last() else { continue };
            let mut from = last - middle;
            let (mut s0, mut q0) = (from.dot(along), along.perp_dot(from));
            for &point in l {
                from = point - middle;
                let (s1, q1) = (from.dot(along), along.perp_dot(from));
                volume += (q1 - q0) * profile.mean(s0, s1);
                plan += (q1 - q0) * mean_clamped(s0, s1, a, strip_end);
                (s0, q0) = (s1, q1);
            }
        }
        Below {
            volume: (t * volume).clamp(0.0, self.area * t),
            surface: t * plan.max(0.0) / (fall_size * strip),
        }
    }
}

/// G(s) = ∫ f ds from `low`, with f constant up to a, linear to b, constant after.
struct Profile {
    low: f64,
    a: f64,
    b: f64,
    fa: f64,
    fb: f64,
    at_a: f64,
    at_b: f64,
    curve: f64,
}

impl Profile {
    fn new(low: f64, a: f64, b: f64, fa: f64, fb: f64) -> Profile {
        let at_a = fa * (a - low);
        let curve = if b > a { 0.5 * (fb - fa) / (b - a) } else { 0.0 };
        Profile {
            low,
            a,
            b,
            fa,
            fb,
            at_a,
            at_b: at_a + 0.5 * (fa + fb) * (b - a),
            curve,
        }
    }

    fn at(&self, s: f64) -> f64 {
        if s <= self.a {
            self.fa * (s - self.low)
        } else if s >= self.b {
            self.at_b + self.fb * (s - self.b)
        } else {
            let x = s - self.a;
            self.at_a + x * (self.fa + self.curve * x)
        }
    }

    /// Mean of G over s0…s1.
    fn mean(&self, s0: f64, s1: f64) -> f64 {
        let (low, high) = if s0 < s1 { (s0, s1) } else { (s1, s0) };
        let span = high - low;
        // Whole edge on one straight piece, or of no length along s.
        if high <= self.a || low >= self.b || span <= 0.0 {
            return self.at(0.5 * (low + high));
        }
        let (c, d) = (self.a.clamp(low, high), self.b.clamp(low, high));
        let mut sum = 0.0;
        if c > low {
            sum += (c - low) * self.at(0.5 * (low + c));
        }
        if d > c {
            sum += (d - c) / 6.0 * (self.at(c) + 4.0 * self.at(0.5 * (c + d)) + self.at(d));
        }
        if high > d {
            sum += (high - d) * self.at(0.5 * (d + high));
        }
        sum / span
    }
}

/// Mean of s clamped to a…b over s0…s1.
fn mean_clamped(s0: f64, s1: f64, a: f64, b: f64) -> f64 {
    let (low, high) = if s0 < s1 { (s0, s1) } else { (s1, s0) };
    let span = high - low;
    if span <= 0.0 {
        return low.clamp(a, b);
    }
    let (c, d) = (a.clamp(low, high), b.clamp(low, high));
    ((c - low) * a + (d - c) * 0.5 * (c + d) + (high - d) * b) / span
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(size: DVec3) -> Stack {
        Stack::new(vec![(
            0.0,
            size.z,
            Region::rectangle(DVec2::ZERO, size.truncate()),
        )])
    }

    #[test]
    fn a_block_is_cut_exactly_by_planes_that_lie_stand_and_lean() {
        let b = block(DVec3::new(0.3, 0.2, 0.1));
        for (up, offset, volume, surface) in [
            (DVec3::Z, 0.04, 0.0024, 0.06),
            (-DVec3::Z, -0.04, 0.0036, 0.06),
            (DVec3::X, 0.12, 0.0024, 0.02),
            (-DVec3::Y, -0.05, 0.0045, 0.03),
        ] {
            let got = b.below(up, offset);
            assert!((got.volume - volume).abs() < 1e-16, "{up} {got:?}");
            assert!((got.surface - surface).abs() < 1e-9, "{up} {got:?}");
        }
        // A corner cut off by the plane x/a + y/b + z/c = 1 holds abc/6.
        let n = DVec3::new(1.0 / 0.1, 1.0 / 0.2, 1.0 / 0.05);
        let got = b.below(n.normalize(), 1.0 / n.length());
        assert!(
            (got.volume / (0.1 * 0.2 * 0.05 / 6.0) - 1.0).abs() < 1e-12,
            "{got:?}"
        );
    }

    #[test]
    fn the_surface_is_the_derivative_of_the_volume() {
        let b = block(DVec3::new(0.3, 0.2, 0.1));
        let up = DVec3::new(0.5, -0.3, 0.6).normalize();
        for i in 0..20 {
            let offset = -0.06 + 0.3 * f64::from(i) / 19.0;
            let e = 1e-6;
            let slope = (b.below(up, offset + e).volume - b.below(up, offset - e).volume) / (2.0 * e);
            let got = b.below(up, offset).surface;
            assert!((got - slope).abs() < 1e-7, "{offset}: {got} {slope}");
        }
    }

    #[test]
    fn pieces_that_only_touch_along_an_edge_are_apart() {
        let r = |x: f64| Region::rectangle(DVec2::new(x, 0.0), DVec2::new(x + 0.1, 0.1));
        let apart = Stack::new(vec![(0.0, 0.1, r(0.0)), (0.1, 0.2, r(0.1))]);
        assert_eq!(apart.pieces().len(), 2);
        let joined = Stack::new(vec![(0.0, 0.1, r(0.0)), (0.1, 0.2, r(0.05))]);
        assert_eq!(joined.pieces().len(), 1);
    }
}
