//! Least gaps of random bodies against brute-force sampling, an independent library, and closed forms.

use glam::{DMat3, DQuat, DVec3};
use parry3d_f64::math::{Pose as ParryPose, Rotation, Vector};
use parry3d_f64::query;
use parry3d_f64::shape::{ConvexPolyhedron, Cylinder};
use proptest::prelude::*;
use sumpwright_clearance::body::{block, tube};
use sumpwright_clearance::{Body, HalfSpace, Piece, Pose, Stretch, Swing, least_gap};

/// Anything that a bench can tell apart.
const HUNDREDTH: f64 = 1e-5;

fn far() -> f64 {
    f64::INFINITY
}

fn gap(a: &Body, b: &Body) -> f64 {
    least_gap(a, &Pose::REST, &Stretch::NONE, b, far())
        .expect("no cap")
        .gap
}

/// A box of half sizes `half`, turned and carried.
#[derive(Clone, Copy, Debug)]
struct Crate {
    half: DVec3,
    turn: DQuat,
    at: DVec3,
}

impl Crate {
    fn body(&self) -> Body {
        Body::solid("box", block(-self.half, self.half)).moved(DMat3::from_quat(self.turn), self.at)
    }

    /// Distance from a point to the box: clamp in its own axes.
    fn distance(&self, p: DVec3) -> f64 {
        let local = self.turn.inverse() * (p - self.at);
        (local - local.clamp(-self.half, self.half)).length()
    }

    /// A point of the surface: face 0..6, two coordinates in -1..1.
    fn skin(&self, face: usize, u: f64, v: f64) -> DVec3 {
        let (axis, sign) = (face / 2, if face.is_multiple_of(2) { 1.0 } else { -1.0 });
        let mut local = DVec3::ZERO;
        local[axis] = sign * self.half[axis];
        local[(axis + 1) % 3] = u * self.half[(axis + 1) % 3];
        local[(axis + 2) % 3] = v * self.half[(axis + 2) % 3];
        self.turn * local + self.at
    }
}

fn unit() -> impl Strategy<Value = DVec3> {
    (-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64)
        .prop_map(|(x, y, z)| DVec3::new(x, y, z))
        .prop_filter("a direction", |v| v.length() > 0.1)
        .prop_map(DVec3::normalize)
}

fn turn() -> impl Strategy<Value = DQuat> {
    (unit(), 0.0..std::f64::consts::TAU).prop_map(|(axis, angle)| DQuat::from_axis_angle(axis, angle))
}

fn size() -> impl Strategy<Value = DVec3> {
    (5e-3..80e-3f64, 5e-3..80e-3f64, 5e-3..80e-3f64).prop_map(|(x, y, z)| DVec3::new(x, y, z))
}

/// A box whose middle lies 150 to 400 mm from the origin: now near, now far, now touching.
fn around() -> impl Strategy<Value = Crate> {
    (size(), turn(), unit(), 0.12..0.4f64).prop_map(|(half, turn, way, far)| Crate {
        half,
        turn,
        at: way * far,
    })
}

/// Least of `distance` over the surface of a box and the box of moves, by a grid that closes in on its best place.
fn sampled(a: &Crate, stretch: &Stretch, distance: impl Fn(DVec3) -> f64) -> f64 {
    let moves = |n: i32, middle: DVec3, half: DVec3| {
        let steps: Vec<f64> = (-n..=n).map(|i| f64::from(i) / f64::from(n)).collect();
        let mut all = Vec::new();
        for x in &steps {
            for y in &steps {
                for z in &steps {
                    all.push((middle + half * DVec3::new(*x, *y, *z)).clamp(stretch.low, stretch.high));
                }
            }
        }
        all
    };
    let still = *stretch == Stretch::NONE;
    let mut best = f64::INFINITY;
    for face in 0..6 {
        let (mut middle, mut half) = ([0.0, 0.0], 1.0);
        let (mut carry, mut reach) = (
            0.5 * (stretch.low + stretch.high),
            0.5 * (stretch.high - stretch.low),
        );
        for level in 0..26 {
            let n = if level == 0 { 16 } else { 4 };
            let carries = if still {
                vec![DVec3::ZERO]
            } else {
                moves(2, carry, reach)
            };
            let mut here = (f64::INFINITY, middle, carry);
            for i in -n..=n {
                for j in -n..=n {
                    let at =
                        |k: usize, i: i32| (middle[k] + half * f64::from(i) / f64::from(n)).clamp(-1.0, 1.0);
                    let (u, v) = (at(0, i), at(1, j));
                    for m in &carries {
                        let d = distance(a.skin(face, u, v) + *m);
                        if d < here.0 {
                            here = (d, [u, v], *m);
                        }
                    }
                }
            }
            best = best.min(here.0);
            (middle, carry) = (here.1, here.2);
            half *= 0.6;
            reach *= 0.75;
        }
    }
    best
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn boxes_agree_with_sampling_of_one_and_clamping_in_the_other(a in around(), b in around()) {
        let wanted = sampled(&a, &Stretch::NONE, |p| b.distance(p));
        prop_assume!(wanted > HUNDREDTH);
        let got = gap(&a.body(), &b.body());
        prop_assert!((got - wanted).abs() < HUNDREDTH, "got {got}, sampled {wanted}");
    }

    #[test]
    fn a_body_that_may_wander_agrees_with_sampling_of_its_moves(a in around(), b in around(),
        low in size(), high in size()) {
        let stretch = Stretch { low: -0.3 * low, high: 0.3 * high };
        let wanted = sampled(&a, &stretch, |p| b.distance(p));
        prop_assume!(wanted > HUNDREDTH);
        let got = least_gap(&a.body(), &Pose::REST, &stretch, &b.body(), far()).expect("no cap").gap;
        prop_assert!((got - wanted).abs() < HUNDREDTH, "got {got}, sampled {wanted}");
    }

    #[test]
    fn cylinders_and_tubes_agree_with_sampling(a in around(), from in unit(), to in unit(), far_off in 0.2..0.5f64,
        radius in 3e-3..60e-3f64) {
        let (from, to) = (from * 0.15, to * far_off);
        prop_assume!(from.distance(to) > 0.02);
        let along = (to - from).normalize();
        let length = from.distance(to);
        // Flat ends: how far the point lies beyond the ends and beyond the wall.
        let cylinder = |p: DVec3| {
            let s = (p - from).dot(along);
            let beyond = (s - length).max(-s).max(0.0);
            let beside = ((p - from - along * s).length() - radius).max(0.0);
            beyond.hypot(beside)
        };
        let wanted = sampled(&a, &Stretch::NONE, cylinder);
        if wanted > HUNDREDTH {
            let body = Body::solid("cylinder", vec![Piece::cylinder(from, to, [radius; 2], 0)]);
            let got = gap(&a.body(), &body);
            prop_assert!((got - wanted).abs() < HUNDREDTH, "cylinder: got {got}, sampled {wanted}");
        }
        let tube_distance = |p: DVec3| {
            let s = (p - from).dot(along).clamp(0.0, length);
            ((p - from - along * s).length() - radius).max(0.0)
        };
        let wanted = sampled(&a, &Stretch::NONE, tube_distance);
        if wanted > HUNDREDTH {
            let got = gap(&a.body(), &Body::solid("tube", tube(&[from, to], radius)));
            prop_assert!((got - wanted).abs() < HUNDREDTH, "tube: got {got}, sampled {wanted}");
        }
    }

    #[test]
    fn the_places_lie_as_far_apart_as_the_gap_says(a in around(), b in around()) {
        let (a, b) = (a.body(), b.body());
        let found = least_gap(&a, &Pose::REST, &Stretch::NONE, &b, far()).expect("no cap");
        prop_assume!(found.gap > HUNDREDTH);
        prop_assert!((found.on_a.distance(found.on_b) - found.gap).abs() < 1e-7);
        prop_assert!(a.holds(found.on_a + (found.on_a - found.on_b).normalize() * 1e-6));
        prop_assert!(b.holds(found.on_b + (found.on_b - found.on_a).normalize() * 1e-6));
    }

    #[test]
    fn overlapping_boxes_part_after_the_move_that_is_told(half in size(), other in size(), at in unit()) {
        // Both upright: the shortest move that parts them is along an axis, by the least overlap.
        let at = at * 0.03;
        let over = half + other - at.abs();
        prop_assume!(over.min_element() > HUNDREDTH);
        let a = Body::solid("a", block(-half, half));
        let b = Body::solid("b", block(at - other, at + other));
        let got = gap(&a, &b);
        prop_assert!((got + over.min_element()).abs() < HUNDREDTH, "got {got}, overlap {}", over.min_element());
    }
}

/// parry3d-f64 0.31 (independent code): closest points of convex polyhedra and cylinders.
#[test]
fn hulls_and_cylinders_agree_with_an_independent_library() {
    let mut seed = 9_u64;
    let mut next = move || {
        seed = seed
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        (seed >> 11) as f64 / (1u64 << 53) as f64 * 2.0 - 1.0
    };
    let v = |p: DVec3| Vector::new(p.x, p.y, p.z);
    let (mut asked, mut apart) = (0, 0);
    while asked < 400 {
        let mut cloud = |at: DVec3| -> Vec<DVec3> {
            (0..12)
                .map(|_| at + 0.06 * DVec3::new(next(), next(), next()))
                .collect()
        };
        let (a, b) = (cloud(DVec3::ZERO), cloud(DVec3::new(0.11, 0.05, 0.02)));
        let hull = |points: &[DVec3]| {
            ConvexPolyhedron::from_convex_hull(&points.iter().map(|p| v(*p)).collect::<Vec<_>>())
                .expect("a hull")
        };
        let wanted = query::distance(&ParryPose::IDENTITY, &hull(&a), &ParryPose::IDENTITY, &hull(&b))
            .expect("two hulls can be measured")
            .distance;
        let body = |points: &[DVec3]| Body::solid("", vec![Piece::points(points.to_vec(), 0.0, 0)]);
        let got = gap(&body(&a), &body(&b));
        asked += 1;
        if wanted > 0.0 {
            apart += 1;
            assert!((got - wanted).abs() < 1e-7, "got {got}, library {wanted}");
        } else {
            assert!(got <= 1e-7, "got {got}, library says they touch");
        }
        // Its cylinder stands along y.
        let (half, radius) = (0.01 + 0.03 * next().abs(), 0.01 + 0.03 * next().abs());
        let at = DVec3::new(0.12, 0.02, 0.13 * next());
        let axis = DVec3::new(next(), next(), next()).normalize();
        let turn = DQuat::from_rotation_arc(DVec3::Y, axis);
        let rotation = Rotation::from_xyzw(turn.x, turn.y, turn.z, turn.w);
        let pose = ParryPose::from_parts(v(at), rotation);
        let wanted = query::distance(
            &ParryPose::IDENTITY,
            &hull(&a),
            &pose,
            &Cylinder::new(half, radius),
        )
        .expect("a hull and a cylinder can be measured")
        .distance;
        let cylinder = Piece::cylinder(at - axis * half, at + axis * half, [radius; 2], 0);
        let got = gap(&body(&a), &Body::solid("", vec![cylinder]));
        if wanted > 0.0 {
            // On round rims the library ends its search earlier, always on the far side, by up to some 20 µm here;
            // the sampling above judges them to a hundredth.
            assert!(
                got < wanted + 1e-7 && wanted - got < 1e-4,
                "cylinder: got {got}, library {wanted}"
            );
        }
    }
    assert!(apart > 100, "only {apart} pairs were apart");
}

#[test]
fn a_tilted_plane_is_as_far_as_its_lowest_corner() {
    let road = HalfSpace {
        at: DVec3::new(0.0, 0.0, -0.2),
        out: DVec3::new(0.1, 0.0, 1.0).normalize(),
    };
    let body = Body::solid(
        "box",
        block(DVec3::new(-0.1, -0.1, -0.1), DVec3::new(0.1, 0.1, 0.0)),
    );
    let found = least_gap(
        &body,
        &Pose::REST,
        &Stretch::NONE,
        &Body::half_spaces("road", vec![road]),
        far(),
    )
    .expect("no cap");
    // Corner (-0.1, ·, -0.1): (-0.01 + 0.1)/√1.01.
    assert!((found.gap - 0.09 / 1.01f64.sqrt()).abs() < 1e-12, "{found:?}");
    let sunk = Stretch {
        low: DVec3::new(0.0, 0.0, -0.006),
        high: DVec3::ZERO,
    };
    let found = least_gap(
        &body,
        &Pose::REST,
        &sunk,
        &Body::half_spaces("road", vec![road]),
        far(),
    )
    .expect("no cap");
    assert!((found.gap - 0.084 / 1.01f64.sqrt()).abs() < 1e-12, "{found:?}");
}

/// A link of 10 mm swings about z: at 30 degrees its end, 200 mm from the pivot, comes nearest to a wall.
#[test]
fn a_swinging_link_reaches_as_far_as_its_end_at_the_extreme_angle() {
    let swing = Swing {
        from: DVec3::new(0.0, -0.05, 0.0),
        to: DVec3::new(0.0, -0.2, 0.0),
        radius: 0.005,
        pivot: DVec3::ZERO,
        axis: DVec3::Z,
        angles: (-10f64.to_radians(), 30f64.to_radians()),
        keeps_direction: false,
    };
    let wall = Body::solid(
        "wall",
        block(DVec3::new(0.15, -1.0, -1.0), DVec3::new(0.2, 1.0, 1.0)),
    );
    let got = gap(&Body::solid("link", swing.pieces()), &wall);
    assert!((got - (0.15 - 0.1 - 0.005)).abs() < 2e-6, "got {got}");
    // Carried and not turned, only the arm of 50 mm moves it.
    let carried = Swing {
        keeps_direction: true,
        ..swing
    };
    let got = gap(&Body::solid("link", carried.pieces()), &wall);
    assert!((got - (0.15 - 0.025 - 0.005)).abs() < 2e-6, "got {got}");
}

#[test]
fn a_body_wholly_inside_a_closed_skin_overlaps_it_and_an_open_skin_is_only_a_sheet() {
    let p: Vec<DVec3> = (0..8)
        .map(|i| DVec3::new(f64::from(i & 1), f64::from(i >> 1 & 1), f64::from(i >> 2)) * 0.2)
        .collect();
    let quads = [
        [0, 2, 3, 1],
        [4, 5, 7, 6],
        [0, 1, 5, 4],
        [2, 6, 7, 3],
        [0, 4, 6, 2],
        [1, 3, 7, 5],
    ];
    let triangles: Vec<[u32; 3]> = quads
        .iter()
        .flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]])
        .collect();
    let small = Body::solid("small", block(DVec3::splat(0.09), DVec3::splat(0.1)));
    let closed = Body::skin("scan", &p, &triangles, true);
    let got = gap(&small, &closed);
    assert!(
        (got + 0.1).abs() < HUNDREDTH,
        "it must go 100 mm to be out, got {got}"
    );
    let open = Body::skin("scan", &p, &triangles[..10], false);
    let got = gap(&small, &open);
    assert!((got - 0.09).abs() < HUNDREDTH, "got {got}");
}
