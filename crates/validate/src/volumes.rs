//! Volumes under planes and levels of volumes, against exact solids and an independent mesh library.

use crate::shapes::{block, cavity, pocket, regular};
use crate::{Row, Scale};
use glam::{DVec2, DVec3};
use pan::{Cavity, Outline, Pocket};
use parry3d_f64::math::Vector;
use parry3d_f64::query::SplitResult;
use parry3d_f64::shape::{Shape, TriMesh, TriMeshFlags};
use proofs::accelerated_tanks::{self, LEANING_BOXES};
use std::f64::consts::{PI, TAU};

/// What this subject is about.
pub const ABOUT: &str = "The cavity's volume under a plane of any direction, and the plane that holds a given \
volume: boxes, prisms and unions worked in closed form; closed boxes that lean both ways; and random closed \
meshes cut by random planes with an independent mesh library.";

const EXACT: &str = "closed form";
const LIBRARY: &str = "parry3d-f64 0.31, an independent mesh library: split by the plane, cap, mass";

/// Splitmix64, so that the odd cases are the same each time.
struct Odd(u64);

impl Odd {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        low + (high - low) * ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Evenly over the ball of directions: height and turn.
    fn direction(&mut self) -> DVec3 {
        let (z, turn) = (self.between(-1.0, 1.0), self.between(0.0, TAU));
        (DVec2::from_angle(turn) * (1.0 - z * z).sqrt()).extend(z)
    }
}

/// Everything here.
pub fn rows() -> Vec<Row> {
    let mut rows = solids();
    rows.extend(boxes_under_planes());
    rows.extend(leaning_boxes());
    rows.extend(meshes());
    rows
}

/// Volume [m³] of the box from the origin to `size` under `up · p ≤ offset`, all of `up` above zero: the corner
/// it cuts off the octant, less what lies past each face (inclusion and exclusion over the eight corners).
fn box_below(size: DVec3, up: DVec3, offset: f64) -> f64 {
    let corner = |bits: u32| {
        let far = |bit: u32, reach: f64| if bits >> bit & 1 == 1 { reach } else { 0.0 };
        let at = DVec3::new(far(0, size.x), far(1, size.y), far(2, size.z));
        let sign = if bits.count_ones().is_multiple_of(2) {
            1.0
        } else {
            -1.0
        };
        sign * (offset - up.dot(at)).max(0.0).powi(3)
    };
    (0..8).map(corner).sum::<f64>() / (6.0 * up.x * up.y * up.z)
}

fn boxes_under_planes() -> Vec<Row> {
    let size = DVec3::new(0.35, 0.25, 0.12);
    let sump = cavity(&[block(DVec3::ZERO, size)]);
    let mut rows = Vec::new();
    for (pull, share) in [
        (DVec2::new(0.3, 0.2), 0.3),
        (DVec2::new(0.9, 1.1), 0.2),
        (DVec2::new(1.5, 0.4), 0.7),
    ] {
        let up = pull.extend(1.0).normalize();
        let offset = share * up.dot(size);
        let exact = box_below(size, up, offset);
        let case = format!("box 350 × 250 × 120 mm under ({}, {}, 1) g", pull.x, pull.y);
        rows.push(Row::new(
            format!("{case}: oil under the plane"),
            (1e3 * sump.volume_below(up, offset), 1e3 * exact),
            "L",
            (1e-9, Scale::Relative),
            EXACT,
            "1e-9 asked",
        ));
        rows.push(Row::new(
            format!("{case}: plane that holds it"),
            (1e3 * sump.level(up, exact).unwrap_or(f64::NAN), 1e3 * offset),
            "mm",
            (1e-9, Scale::Relative),
            EXACT,
            "1e-9 asked",
        ));
    }
    rows
}

fn solids() -> Vec<Row> {
    let litres = |case: &str, computed: f64, exact: f64, tolerance: f64, note: &str| {
        Row::new(
            case,
            (1e3 * computed, 1e3 * exact),
            "L",
            (tolerance, Scale::Relative),
            EXACT,
            note,
        )
    };
    // A plane that leaves a prism only through its sides stands at its mean height over the middle of the plan.
    let lean = DVec3::new(0.4, -0.25, 1.0);
    let under = |outline: Outline, depth: f64| {
        let n = lean.length();
        cavity(&[pocket(outline, -0.15, 0.15)]).volume_below(lean / n, (depth - 0.15) / n)
    };
    let corner = |x: f64, y: f64| (DVec2::new(x, y), 0.0);
    let triangle = Outline {
        vertices: vec![corner(-0.1, -0.06), corner(0.14, -0.06), corner(-0.04, 0.12)],
    };
    let draft = 10f64.to_radians();
    let drafted = Pocket {
        draft,
        ..block(DVec3::new(0.0, 0.0, -0.1), DVec3::new(0.2, 0.12, 0.0))
    };
    let frustum =
        |a: f64, b: f64, z: f64, t: f64| a * b * z - (a + b) * t * z * z + 4.0 * t * t * z.powi(3) / 3.0;
    let overlapping = [
        block(DVec3::new(0.0, 0.0, -0.1), DVec3::new(0.2, 0.1, 0.0)),
        block(DVec3::new(0.2, 0.0, -0.06), DVec3::new(0.3, 0.1, 0.0)),
        block(DVec3::new(0.1, 0.05, -0.08), DVec3::new(0.25, 0.15, 0.02)),
    ];
    let union =
        0.2 * 0.1 * 0.1 + 0.1 * 0.1 * 0.06 + 0.15 * 0.1 * 0.1 - 0.1 * 0.05 * 0.08 - 0.05 * 0.05 * 0.06;
    let cube = cavity(&[block(DVec3::splat(-0.1), DVec3::splat(0.1))]);
    let hexagon = cube.below(DVec3::ONE.normalize(), 0.0).surface;
    let whole = "1e-9 asked";
    vec![
        litres(
            "triangular prism under a leaning plane",
            under(triangle, 0.14),
            0.5 * 0.24 * 0.18 * 0.14,
            1e-9,
            whole,
        ),
        litres(
            "hexagonal prism under a leaning plane",
            under(regular(6, 0.1), 0.14),
            1.5 * 3f64.sqrt() * 0.01 * 0.14,
            1e-9,
            whole,
        ),
        litres(
            "round pocket, R 100 mm, under a leaning plane",
            under(Outline::circle(DVec2::ZERO, 0.1), 0.14),
            PI * 0.01 * 0.14,
            1e-9,
            "chords stand for the arc and keep its area",
        ),
        litres(
            "three pockets that overlap or share a wall",
            cavity(&overlapping).volume(),
            union,
            1e-9,
            whole,
        ),
        litres(
            "pocket with 10 degrees of draft, full",
            cavity(&[drafted]).volume(),
            frustum(0.2, 0.12, 0.1, draft.tan()),
            1e-9,
            whole,
        ),
        Row::new(
            "cube of 200 mm cut square to its diagonal: area of the cut",
            (1e4 * hexagon, 1e4 * 0.75 * 3f64.sqrt() * 0.04),
            "cm²",
            (1e-9, Scale::Relative),
            EXACT,
            "a regular hexagon",
        ),
    ]
}

/// The surface plane of closed boxes over their four corners.
fn leaning_boxes() -> Vec<Row> {
    let mut rows = Vec::new();
    for (i, case) in LEANING_BOXES.iter().enumerate() {
        let [length, width, height] = case.size;
        let closed = cavity(&[block(DVec3::ZERO, DVec3::from(case.size))]);
        let (ax, ay) = case.acceleration;
        let lean = DVec3::new(ax, ay, 1.0);
        let level = closed
            .level(lean.normalize(), case.volume)
            .map_or(f64::NAN, |offset| offset * lean.length());
        for ((x, y), due) in [(0.0, 0.0), (length, 0.0), (0.0, width), (length, width)]
            .into_iter()
            .zip(case.corners)
        {
            rows.push(Row::new(
                format!(
                    "closed box {}, {:.0} × {:.0} × {:.0} mm, {} L, ({ax}, {ay}, 1) g: surface over ({:.0}, {:.0}) mm",
                    i + 1,
                    1e3 * length,
                    1e3 * width,
                    1e3 * height,
                    1e3 * case.volume,
                    1e3 * x,
                    1e3 * y
                ),
                (1e3 * (level - ax * x - ay * y), 1e3 * due),
                "mm",
                (1.1e-3, Scale::Absolute),
                accelerated_tanks::EXACT,
                "printed to a micrometre at most",
            ));
        }
    }
    rows
}

/// A closed bumpy ball about 0.1 m in radius: rings of corners between two poles.
fn bumpy(odd: &mut Odd) -> (Vec<DVec3>, Vec<[u32; 3]>) {
    let bumps: Vec<(DVec3, f64)> = (0..6)
        .map(|_| (odd.direction(), odd.between(-0.03, 0.04)))
        .collect();
    let push = |d: DVec3| {
        let swell = |(b, r): &(DVec3, f64)| r * (4.0 * (d.dot(*b) - 1.0)).exp();
        d * (0.1 + bumps.iter().map(swell).sum::<f64>())
    };
    let (rings, round) = (15u32, 24u32);
    let mut points = vec![push(DVec3::NEG_Z)];
    for ring in 1..=rings {
        let rise = PI * (f64::from(ring) / f64::from(rings + 1) - 0.5);
        for i in 0..round {
            let turn = DVec2::from_angle(TAU * f64::from(i) / f64::from(round));
            points.push(push((turn * rise.cos()).extend(rise.sin())));
        }
    }
    points.push(push(DVec3::Z));
    let last = points.len() as u32 - 1;
    let at = |ring: u32, i: u32| 1 + ring * round + i % round;
    let mut triangles = Vec::new();
    for i in 0..round {
        triangles.push([0, at(0, i + 1), at(0, i)]);
        triangles.push([last, at(rings - 1, i), at(rings - 1, i + 1)]);
        for ring in 0..rings - 1 {
            let (a, b) = (at(ring, i), at(ring, i + 1));
            let (c, d) = (at(ring + 1, i + 1), at(ring + 1, i));
            triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    (points, triangles)
}

/// Six meshes, ten planes each: the plane with the largest difference is shown.
fn meshes() -> Vec<Row> {
    let mut odd = Odd(7);
    (1..=6)
        .flat_map(|number| {
            let (points, triangles) = bumpy(&mut odd);
            let cavity = Cavity::from_mesh(&points, &triangles).expect("the ball is closed");
            let corners = points.iter().map(|p| Vector::new(p.x, p.y, p.z)).collect();
            // parry caps a cut only when the mesh is flagged as oriented.
            let other = TriMesh::with_flags(corners, triangles, TriMeshFlags::ORIENTED)
                .expect("the ball is a mesh of the other library too");
            against(number, &cavity, &other, &mut odd)
        })
        .collect()
}

fn against(number: usize, cavity: &Cavity, other: &TriMesh, odd: &mut Odd) -> [Row; 3] {
    let whole = other.mass_properties(1.0).mass();
    let (mut volumes, mut levels) = (Vec::new(), Vec::new());
    for _ in 0..10 {
        let (up, offset) = (odd.direction(), odd.between(-0.09, 0.09));
        let axis = Vector::new(up.x, up.y, up.z);
        let SplitResult::Pair(below, _) = other.local_split(axis, offset, 1e-13) else {
            continue;
        };
        let due = below.mass_properties(1.0).mass();
        volumes.push((cavity.volume_below(up, offset), due));
        levels.push((cavity.level(up, due).unwrap_or(f64::NAN), offset));
    }
    let planes = volumes.len();
    let row = |what: &str, (computed, due): (f64, f64), unit, allowed, note: &str| {
        let case = format!("random mesh {number}, {what}");
        Row::new(
            case,
            (1e3 * computed, 1e3 * due),
            unit,
            (1e3 * allowed, Scale::Absolute),
            LIBRARY,
            note,
        )
    };
    let size = "1e-9 of the whole: both sum hundreds of triangles in doubles";
    let reach = "1e-9 of 0.2 m, the height of the mesh";
    [
        row("whole", (cavity.volume(), whole), "L", 1e-9 * whole, size),
        row(
            &format!("under the worst of {planes} planes"),
            worst(&volumes),
            "L",
            1e-9 * whole,
            size,
        ),
        row(
            &format!("worst level of {planes}"),
            worst(&levels),
            "mm",
            1e-9 * 0.2,
            reach,
        ),
    ]
}

/// The pair that is farthest apart; one with a NaN comes before all, and none at all is a NaN.
fn worst(pairs: &[(f64, f64)]) -> (f64, f64) {
    let apart = |pair: &(f64, f64)| (pair.0 - pair.1).abs();
    let farthest = pairs.iter().rev().max_by(|a, b| apart(a).total_cmp(&apart(b)));
    farthest.copied().unwrap_or((f64::NAN, f64::NAN))
}
