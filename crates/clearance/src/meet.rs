//! How far apart two convex pieces are: the Gilbert-Johnson-Keerthi method, with a proof of what it returns.
//!
//! The difference body {a + m − b} holds the origin exactly when the pieces touch, and its point nearest to the origin
//! gives their distance. Each round asks both pieces for their farthest points, adds the answer to a simplex of
//! at most four corners and takes the simplex's point v nearest to the origin. The plane through the farthest answer
//! w, square to v, has the whole body behind it, so v·w/|v| is never more than the distance, and |v| never less: the
//! search ends when the two agree to [`CLOSE`], whatever the pieces look like.
//!
//! Source: E. Gilbert, D. Johnson, S. Keerthi, IEEE J. Robotics and Automation 4 (1988) 193; the nearest points of
//! segment, triangle and tetrahedron by regions as in C. Ericson, *Real-Time Collision Detection* (2005), ch. 5 (from
//! memory).

use crate::pose::{Pose, Stretch};
use crate::{Piece, Rim};
use glam::DVec3;

/// Bounds that agree to this end the search [m].
pub(crate) const CLOSE: f64 = 2e-8;
/// Rounds after which the bounds are taken as they are: smooth rims need some thirty.
const ROUNDS: usize = 96;

/// What two cores are to one another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Met {
    /// Farther apart than was asked.
    Beyond,
    /// They share a point, near this one.
    Crossing(DVec3),
    /// Apart: the distance of the cores, and the nearest places, that on the first without its stretch.
    Apart { distance: f64, a: DVec3, b: DVec3 },
}

/// A corner of the difference body and where it comes from.
#[derive(Clone, Copy, Default)]
struct Corner {
    w: DVec3,
    a: DVec3,
    b: DVec3,
}

/// The cores of `a`, posed and stretched, and of `b`; gives up when they are proved farther apart than `cutoff` [m].
pub(crate) fn meet(a: &Piece, pose: &Pose, stretch: &Stretch, b: &Piece, cutoff: f64) -> Met {
    let corner = |way: DVec3| {
        let on_a = pose.place(a.farthest(pose.unturned(way)));
        let on_b = b.farthest(-way);
        Corner {
            w: on_a + stretch.farthest(way) - on_b,
            a: on_a,
            b: on_b,
        }
    };
    let start = b.inner_point() - pose.place(a.inner_point());
    let mut simplex = Simplex::of(corner(start.normalize_or(DVec3::Z)));
    let mut v = simplex.corners[0].w;
    let mut least = f64::INFINITY;
    for _ in 0..ROUNDS {
        let size = v.length();
        if size <= CLOSE {
            return Met::Crossing(simplex.place());
        }
        let next = corner(-v);
        let under = v.dot(next.w) / size;
        if under >= cutoff {
            return Met::Beyond;
        }
        // `least` stops a round that rounding has kept from coming nearer.
        if size - under <= CLOSE || size >= least {
            break;
        }
        least = size;
        if !simplex.add(next) {
            break;
        }
        match simplex.nearest() {
            None => return Met::Crossing(simplex.place()),
            Some(nearest) => v = nearest,
        }
    }
    let (on_a, on_b) = simplex.places();
    let distance = v.length();
    if distance >= cutoff {
        return Met::Beyond;
    }
    Met::Apart {
        distance,
        a: on_a,
        b: on_b,
    }
}

/// Up to four corners and the shares of them that make the nearest point.
struct Simplex {
    corners: [Corner; 4],
    shares: [f64; 4],
    count: usize,
}

impl Simplex {
    fn of(corner: Corner) -> Simplex {
        Simplex {
            corners: [corner; 4],
            shares: [1.0, 0.0, 0.0, 0.0],
            count: 1,
        }
    }

    /// False when the corner is there already.
    fn add(&mut self, corner: Corner) -> bool {
        if self.corners[..self.count].iter().any(|c| c.w == corner.w) || self.count == 4 {
            return false;
        }
        self.corners[self.count] = corner;
        self.count += 1;
        true
    }

    fn places(&self) -> (DVec3, DVec3) {
        (0..self.count).fold((DVec3::ZERO, DVec3::ZERO), |(a, b), i| {
            (
                a + self.shares[i] * self.corners[i].a,
                b + self.shares[i] * self.corners[i].b,
            )
        })
    }

    fn place(&self) -> DVec3 {
        self.places().1
    }

    /// The point nearest to the origin, with the corners that do not carry it dropped; `None` when the origin is
    /// inside.
    fn nearest(&mut self) -> Option<DVec3> {
        let w = self.corners.map(|c| c.w);
        let found: Vec4 = match self.count {
            1 => [1.0, 0.0, 0.0, 0.0],
            2 => {
                let [s, t] = on_segment(w[0], w[1]);
                [s, t, 0.0, 0.0]
            }
            3 => {
                let [r, s, t] = on_triangle(w[0], w[1], w[2]);
                [r, s, t, 0.0]
            }
            _ => {
                if let Some(shares) = on_tetrahedron(&w) {
                    shares
                } else {
                    self.shares = [0.25; 4];
                    return None;
                }
            }
        };
        let mut count = 0;
        let mut v = DVec3::ZERO;
        for i in 0..self.count {
            if found[i] > 0.0 {
                self.corners[count] = self.corners[i];
                self.shares[count] = found[i];
                v += found[i] * w[i];
                count += 1;
            }
        }
        self.count = count;
        Some(v)
    }
}

type Vec4 = [f64; 4];

/// Shares of the ends at the segment's point nearest to the origin.
fn on_segment(a: DVec3, b: DVec3) -> [f64; 2] {
    let ab = b - a;
    let t = -a.dot(ab);
    let whole = ab.length_squared();
    if t <= 0.0 || whole == 0.0 {
        [1.0, 0.0]
    } else if t >= whole {
        [0.0, 1.0]
    } else {
        [1.0 - t / whole, t / whole]
    }
}

/// Shares of the corners at the triangle's point nearest to the origin.
fn on_triangle(a: DVec3, b: DVec3, c: DVec3) -> [f64; 3] {
    let (ab, ac) = (b - a, c - a);
    let (d1, d2) = (-ab.dot(a), -ac.dot(a));
    if d1 <= 0.0 && d2 <= 0.0 {
        return [1.0, 0.0, 0.0];
    }
    let (d3, d4) = (-ab.dot(b), -ac.dot(b));
    if d3 >= 0.0 && d4 <= d3 {
        return [0.0, 1.0, 0.0];
    }
    let (d5, d6) = (-ab.dot(c), -ac.dot(c));
    if d6 >= 0.0 && d5 <= d6 {
        return [0.0, 0.0, 1.0];
    }
    // Signed areas of the three sub-triangles by way of the normal, which loses less than products of the d's do.
    let n = ab.cross(ac);
    let (va, vb, vc) = (n.dot(b.cross(c)), n.dot(c.cross(a)), n.dot(a.cross(b)));
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        let [s, t] = on_segment(a, b);
        return [s, t, 0.0];
    }
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        let [s, t] = on_segment(a, c);
        return [s, 0.0, t];
    }
    if va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0 {
        let [s, t] = on_segment(b, c);
        return [0.0, s, t];
    }
    let whole = va + vb + vc;
    if va > 0.0 && vb > 0.0 && vc > 0.0 && whole > 0.0 {
        return [va / whole, vb / whole, vc / whole];
    }
    // A triangle of no area: the best of its sides.
    let sides = [
        {
            let [s, t] = on_segment(a, b);
            [s, t, 0.0]
        },
        {
            let [s, t] = on_segment(a, c);
            [s, 0.0, t]
        },
        {
            let [s, t] = on_segment(b, c);
            [0.0, s, t]
        },
    ];
    let size = |s: &[f64; 3]| (s[0] * a + s[1] * b + s[2] * c).length_squared();
    sides
        .into_iter()
        .min_by(|p, q| size(p).total_cmp(&size(q)))
        .expect("a triangle has sides")
}

/// Shares of the corners at the tetrahedron's point nearest to the origin; `None` when the origin is inside.
fn on_tetrahedron(w: &[DVec3; 4]) -> Option<Vec4> {
    const FACES: [[usize; 4]; 4] = [[0, 1, 2, 3], [0, 1, 3, 2], [0, 2, 3, 1], [1, 2, 3, 0]];
    let mut best: Option<(f64, Vec4)> = None;
    for [i, j, k, other] in FACES {
        let (a, b, c) = (w[i], w[j], w[k]);
        let n = (b - a).cross(c - a);
        let (origin, far) = (-a.dot(n), (w[other] - a).dot(n));
        // On the far corner's side of the face, and the face is one: the origin is not beyond it. A flat tetrahedron
        // has all its faces asked.
        let flat = far.abs() <= 1e-14 * n.length() * (w[other] - a).length();
        if !flat && origin * far > 0.0 {
            continue;
        }
        let shares = on_triangle(a, b, c);
        let size = (shares[0] * a + shares[1] * b + shares[2] * c).length_squared();
        if best.is_none_or(|(least, _)| size < least) {
            let mut all = [0.0; 4];
            (all[i], all[j], all[k]) = (shares[0], shares[1], shares[2]);
            best = Some((size, all));
        }
    }
    best.map(|(_, shares)| shares)
}

/// True when the point lies in the piece, its ball included.
pub(crate) fn holds(piece: &Piece, p: DVec3) -> bool {
    let point = Piece {
        core: crate::Core::Rims(Box::new([Rim::point(p)])),
        round: 0.0,
        part: 0,
    };
    match meet(&point, &Pose::REST, &Stretch::NONE, piece, piece.round + CLOSE) {
        Met::Beyond => false,
        Met::Crossing(_) => true,
        Met::Apart { distance, .. } => distance <= piece.round,
    }
}
