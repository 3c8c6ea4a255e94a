//! The thinnest slab between two parallel planes that holds all points.

use glam::DVec3;

use super::hull::{self, Edge};
use super::{FlatnessFault, checked, squares};

/// The thinnest slab.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Zone {
    /// Unit normal of its planes, toward +z.
    pub normal: DVec3,
    /// Height of its lower plane along the normal: the plane is `normal · p = low` [m].
    pub low: f64,
    /// Its width: the flatness [m].
    pub width: f64,
    /// The points that hold it, by index.
    pub held: Held,
}

/// What holds a slab.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Held {
    /// Three points on one plane, one on the other.
    FaceAndPoint([usize; 3], usize),
    /// Two points on each plane.
    TwoEdges([usize; 2], [usize; 2]),
    /// All points on one plane.
    Plane,
}

impl Zone {
    /// How far a point stands above the lower plane [m].
    pub fn height(&self, p: DVec3) -> f64 {
        self.normal.dot(p) - self.low
    }

    /// Height z of the plane that lies `above` [m] over the lower plane, at a place in plan.
    pub fn z_at(&self, at: glam::DVec2, above: f64) -> f64 {
        (self.low + above - self.normal.x * at.x - self.normal.y * at.y) / self.normal.z
    }
}

/// The flatness of points: their minimum zone (ISO 1101, ISO 12781-1).
///
/// Exact: every face of the convex hull is tried against all corners, and every two edges whose common normal holds
/// the hull on both sides; one of them is the thinnest slab (Houle and Toussaint 1988). Faults as [`FlatnessFault`].
pub fn minimum_zone(points: &[DVec3]) -> Result<Zone, FlatnessFault> {
    checked(points)?;
    // About their mean: far from the origin, heights would lose their digits.
    let middle = squares::mean(points);
    let local: Vec<DVec3> = points.iter().map(|p| *p - middle).collect();
    let Some(faces) = hull::hull(&local) else {
        let normal = squares::frame(points).z_axis;
        return Ok(Zone {
            normal,
            low: normal.dot(middle),
            width: 0.0,
            held: Held::Plane,
        });
    };
    let edges = hull::edges(&faces);
    let mut corners: Vec<usize> = faces.iter().flatten().copied().collect();
    corners.sort_unstable();
    corners.dedup();
    let mut best = Best {
        points: &local,
        corners: &corners,
        zone: None,
    };
    for face in &faces {
        let [a, b, c] = face.map(|i| local[i]);
        if let Some(normal) = (b - a).cross(c - a).try_normalize() {
            best.offer(normal, |low, high| {
                let off = if face.contains(&low) { high } else { low };
                Held::FaceAndPoint(*face, off)
            });
        }
    }
    crossing(&local, &edges, &mut best);
    let mut zone = best.zone.expect("a hull with volume has faces");
    zone.low += zone.normal.dot(middle);
    Ok(zone)
}

/// The thinnest slab so far.
struct Best<'p> {
    points: &'p [DVec3],
    corners: &'p [usize],
    zone: Option<Zone>,
}

impl Best<'_> {
    /// Takes the slab with that unit normal when it is thinner. Its width is always measured over all corners, so that
    /// a normal that rounding has turned can make the slab wider, never too thin.
    fn offer(&mut self, normal: DVec3, held: impl Fn(usize, usize) -> Held) {
        let (mut low, mut high) = ((f64::INFINITY, 0), (f64::NEG_INFINITY, 0));
        let most = self.zone.as_ref().map_or(f64::INFINITY, |z| z.width);
        for &i in self.corners {
            let at = normal.dot(self.points[i]);
            if at < low.0 {
                low = (at, i);
            }
            if at > high.0 {
                high = (at, i);
            }
            if high.0 - low.0 >= most {
                return;
            }
        }
        let upright = if normal.z != 0.0 {
            normal.z > 0.0
        } else {
            normal.x + normal.y > 0.0
        };
        self.zone = Some(Zone {
            normal: if upright { normal } else { -normal },
            low: if upright { low.0 } else { -high.0 },
            width: high.0 - low.0,
            held: held(low.1, high.1),
        });
    }
}

/// How far rounding may move a corner over a plane, as a share of the lengths: such a pair is still tried.
const SLACK: f64 = 1e-12;

/// Tries all pairs of edges that two parallel planes can hold from either side.
fn crossing(points: &[DVec3], edges: &[Edge], best: &mut Best) {
    // In slopes of the normal (x/z, y/z) the planes that hold an edge are a line between those of its two faces: pairs
    // whose boxes of slopes lie apart need no look. Edges with a face that is upright or turned over, those of the
    // rim, go with all.
    let normal = |e: &Edge, k: usize| {
        let [a, b] = e.ends.map(|i| points[i]);
        let n = (b - a).cross(points[e.off[k]] - a);
        if k == 0 { n } else { -n }
    };
    let mut up: Vec<(Slopes, Edge)> = Vec::new();
    let mut down: Vec<(Slopes, Edge)> = Vec::new();
    let mut rim: Vec<Edge> = Vec::new();
    for e in edges {
        let (n, m) = (normal(e, 0), normal(e, 1));
        let tilted = |v: DVec3| v.z.abs() <= 1e-6 * v.length();
        if tilted(n) || tilted(m) || (n.z > 0.0) != (m.z > 0.0) {
            rim.push(*e);
        } else if n.z > 0.0 {
            up.push((Slopes::of(n, m), *e));
        } else {
            down.push((Slopes::of(n, m), *e));
        }
    }
    down.sort_by(|a, b| a.0.low[0].total_cmp(&b.0.low[0]));
    for (slopes, e) in &up {
        for (other, f) in &down {
            if other.low[0] > slopes.high[0] {
                break;
            }
            if slopes.meets(other) {
                pair(points, e, f, best);
            }
        }
    }
    for (i, e) in rim.iter().enumerate() {
        for f in rim[..i].iter().chain(up.iter().chain(&down).map(|(_, f)| f)) {
            pair(points, e, f, best);
        }
    }
}

/// A box of slopes.
struct Slopes {
    low: [f64; 2],
    high: [f64; 2],
}

impl Slopes {
    fn of(n: DVec3, m: DVec3) -> Slopes {
        let (a, b) = ([n.x / n.z, n.y / n.z], [m.x / m.z, m.y / m.z]);
        let slack = [0, 1].map(|k| 1e-9 * (a[k].abs() + b[k].abs()) + 1e-15);
        Slopes {
            low: [0, 1].map(|k| a[k].min(b[k]) - slack[k]),
            high: [0, 1].map(|k| a[k].max(b[k]) + slack[k]),
        }
    }

    fn meets(&self, other: &Slopes) -> bool {
        (0..2).all(|k| self.low[k] <= other.high[k] && other.low[k] <= self.high[k])
    }
}

fn pair(points: &[DVec3], e: &Edge, f: &Edge, best: &mut Best) {
    let [a, b] = e.ends.map(|i| points[i]);
    let [c, d] = f.ends.map(|i| points[i]);
    let Some(mut normal) = (b - a).cross(d - c).try_normalize() else {
        return;
    };
    if normal.dot(a - c) < 0.0 {
        normal = -normal;
    }
    // An edge lies on its plane when both its faces fall away from it: the hull is convex.
    let falls = |edge: &Edge, sign: f64| {
        edge.off.iter().all(|&o| {
            let to = points[o] - points[edge.ends[0]];
            sign * normal.dot(to) <= SLACK * to.length()
        })
    };
    if falls(e, 1.0) && falls(f, -1.0) {
        best.offer(normal, |_, _| Held::TwoEdges(e.ends, f.ends));
    }
}
