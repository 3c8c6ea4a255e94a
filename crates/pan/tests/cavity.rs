//! Volumes, levels and sections against exact solids, an independent mesh library and printed cases.

mod common;
use common::*;
use glam::{DVec2, DVec3};
use parry3d_f64::math::Vector;
use parry3d_f64::query::SplitResult;
use parry3d_f64::shape::{Shape, TriMesh, TriMeshFlags};
use sumpwright_pan::mesh::MeshFault;
use sumpwright_pan::*;

/// Splitmix64, for repeatable odd cases.
struct Odd(u64);

impl Odd {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, a: f64, b: f64) -> f64 {
        a + (b - a) * self.next()
    }

    fn direction(&mut self) -> DVec3 {
        loop {
            let d = DVec3::new(
                self.between(-1.0, 1.0),
                self.between(-1.0, 1.0),
                self.between(-1.0, 1.0),
            );
            if d.length() > 0.2 && d.length() < 1.0 {
                return d.normalize();
            }
        }
    }
}

fn bumpy(odd: &mut Odd) -> (Vec<DVec3>, Vec<[u32; 3]>) {
    let bumps: Vec<(DVec3, f64)> = (0..6)
        .map(|_| (odd.direction(), odd.between(-0.03, 0.04)))
        .collect();
    let radius = |d: DVec3| {
        0.1 + bumps
            .iter()
            .map(|(b, r)| r * (4.0 * (d.dot(*b) - 1.0)).exp())
            .sum::<f64>()
    };
    ball(3, radius)
}

/// parry3d-f64 0.31 (independent code): split by the plane, cap, signed tetrahedra. Both sum a thousand
/// triangles in doubles, so 1e-9 of the whole leaves five digits for that and for its merging of corners.
#[test]
fn volumes_under_planes_agree_with_an_independent_mesh_library() {
    let mut odd = Odd(7);
    let mut compared = 0;
    for _ in 0..12 {
        let (points, triangles) = bumpy(&mut odd);
        let cavity = Cavity::from_mesh(&points, &triangles).unwrap();
        let corners = points.iter().map(|p| Vector::new(p.x, p.y, p.z)).collect();
        let other = TriMesh::with_flags(corners, triangles.clone(), TriMeshFlags::ORIENTED).unwrap();
        // (parry caps a cut only when the mesh is flagged as oriented.)
        let whole = other.mass_properties(1.0).mass();
        assert!(
            (cavity.volume() / whole - 1.0).abs() < 1e-12,
            "{} {whole}",
            cavity.volume()
        );
        for _ in 0..8 {
            let up = odd.direction();
            let offset = odd.between(-0.09, 0.09);
            let SplitResult::Pair(below, _) = other.local_split(Vector::new(up.x, up.y, up.z), offset, 1e-13)
            else {
                continue;
            };
            let want = below.mass_properties(1.0).mass();
            let got = cavity.volume_below(up, offset);
            assert!((got - want).abs() < 1e-9 * whole, "{up} {offset}: {got} {want}");
            compared += 1;
        }
    }
    assert!(compared > 80, "only {compared} planes were compared");
}

/// The same solid once as pockets and once as a mesh, cut by the same planes.
#[test]
fn pockets_and_their_surface_agree_under_any_plane() {
    let mut odd = Odd(11);
    let round = Pocket {
        outline: Outline::circle(DVec2::new(0.05, 0.02), 0.06),
        ..pocket("round", DVec2::ZERO, DVec2::ONE, -0.12, 0.0)
    };
    let long = pocket(
        "long",
        DVec2::new(-0.15, -0.08),
        DVec2::new(0.13, 0.05),
        -0.05,
        0.03,
    );
    let cavity = Cavity::from_pockets(&[round.clone(), long]).unwrap();
    let only_box = box_cavity(DVec3::new(-0.15, -0.08, -0.05), DVec3::new(0.28, 0.13, 0.08));
    let (points, triangles) = box_mesh(
        DVec3::new(-0.15, -0.08, 0.0),
        DVec3::new(0.13, 0.05, 0.03),
        |_| -0.05,
    );
    let mesh = Cavity::from_mesh(&points, &triangles).unwrap();
    for _ in 0..200 {
        let (up, share) = (odd.direction(), odd.next());
        let (low, high) = only_box.reach(up);
        let offset = low + share * (high - low);
        let (a, b) = (only_box.volume_below(up, offset), mesh.volume_below(up, offset));
        assert!((a - b).abs() < 1e-12 * mesh.volume(), "{up} {offset}: {a} {b}");
        // Above and below make the whole.
        let (below, above) = (cavity.volume_below(up, offset), cavity.volume_below(-up, -offset));
        assert!(
            (below + above - cavity.volume()).abs() < 1e-13 * cavity.volume(),
            "{up} {offset}"
        );
    }
    // Drawn with chords five times coarser: where the box cuts through the circle they differ by up to 0.1 mm.
    let drawn = cavity.surface().volume();
    assert!(
        (drawn / cavity.volume() - 1.0).abs() < 1e-5,
        "{drawn} {}",
        cavity.volume()
    );
}

#[test]
fn levels_give_the_volume_back_in_any_direction() {
    let mut odd = Odd(3);
    let well = Pocket {
        draft: 0.12,
        corner_radius: 0.02,
        floor_radius: 0.008,
        ..pocket("well", DVec2::new(-0.1, -0.1), DVec2::new(0.1, 0.08), -0.14, 0.0)
    };
    let tray = pocket("tray", DVec2::new(-0.1, -0.1), DVec2::new(0.3, 0.1), -0.05, 0.1);
    let stack = Cavity::from_pockets(&[well, tray]).unwrap();
    let (points, triangles) = bumpy(&mut odd);
    let mesh = Cavity::from_mesh(&points, &triangles).unwrap();
    for cavity in [&stack, &mesh] {
        for n in 0..150 {
            let up = [DVec3::Z, DVec3::X, -DVec3::Y, DVec3::NEG_Z]
                .get(n)
                .copied()
                .unwrap_or_else(|| odd.direction());
            let volume = cavity.volume() * odd.next();
            let at = cavity.level(up, volume).unwrap();
            let back = cavity.volume_below(up, at);
            assert!(
                (back - volume).abs() < 2e-12 * cavity.volume(),
                "{up}: {volume} {back}"
            );
        }
    }
    assert!(matches!(
        stack.level(DVec3::Z, 1.0),
        Err(LevelFault::Overfull { .. })
    ));
    assert!(matches!(
        stack.level(DVec3::Z, f64::NAN),
        Err(LevelFault::NotANumber { .. })
    ));
}

/// Closed boxes under a steady body force (ax, ay, 1) g: heights of the surface plane at the corners. Exact by
/// hand for a plane that cuts all four uprights or not; checked with an independent slicing library
/// (trimesh `slice_mesh_plane`, volume 0.003000 m³).
#[test]
fn a_closed_box_under_steady_acceleration_has_the_known_surface() {
    let cases = [
        (
            (0.30, 0.25, 0.10),
            3e-3,
            (0.5, 0.4),
            [0.15885, 0.00885, 0.05885, -0.09115],
            5e-6,
        ),
        (
            (0.30, 0.25, 0.10),
            3e-3,
            (0.9, 0.7),
            [0.245249, -0.024751, 0.070249, -0.199751],
            5e-7,
        ),
        (
            (0.35, 0.25, 0.12),
            4e-3,
            (1.2, 0.6),
            [0.295, -0.125, 0.145, -0.275],
            5e-6,
        ),
    ];
    for ((lx, ly, lz), volume, (ax, ay), want, tolerance) in cases {
        let cavity = box_cavity(DVec3::ZERO, DVec3::new(lx, ly, lz));
        // The printed plane falls along +x and +y: up is (ax, ay, 1).
        let n = DVec3::new(ax, ay, 1.0);
        let up = n.normalize();
        let offset = cavity.level(up, volume).unwrap() * n.length();
        for (corner, z) in [(0.0, 0.0), (lx, 0.0), (0.0, ly), (lx, ly)].iter().zip(want) {
            let got = offset - ax * corner.0 - ay * corner.1;
            assert!((got - z).abs() <= tolerance, "{corner:?}: {got} {z}");
        }
    }
}

#[test]
fn a_drafted_pocket_is_the_frustum_it_should_be() {
    let draft = 10f64.to_radians();
    let p = Pocket {
        draft,
        ..pocket("p", DVec2::ZERO, DVec2::new(0.2, 0.12), -0.1, 0.0)
    };
    let cavity = Cavity::from_pockets(&[p]).unwrap();
    let frustum = |depth: f64| {
        // ∫ (a − 2 t z)(b − 2 t z) dz
        let (a, b, t) = (0.2, 0.12, draft.tan());
        let anti = |z: f64| a * b * z - (a + b) * t * z * z + 4.0 * t * t * z.powi(3) / 3.0;
        anti(0.1) - anti(0.1 - depth)
    };
    assert!(
        (cavity.volume() / frustum(0.1) - 1.0).abs() < 1e-9,
        "{} {}",
        cavity.volume(),
        frustum(0.1)
    );
    // Within a step the plan is that of one height: at most 1e-4 of a shallow fill.
    for depth in [0.01, 0.033, 0.0505] {
        let got = cavity.volume_below(DVec3::Z, -0.1 + depth);
        assert!(
            (got / frustum(depth) - 1.0).abs() < 1e-4,
            "{depth}: {got} {}",
            frustum(depth)
        );
    }
}

#[test]
fn a_floor_radius_takes_away_what_a_ball_nosed_cutter_leaves() {
    // Straight edge of length L: (1 − π/4) r² L; at a sharp corner of the plan the two fillets mitre: each edge
    // loses its share of (5/3 − π/2) r³ … so measure the edge term with a long pocket and bound the ends.
    let r = 0.012;
    let plain = pocket("p", DVec2::ZERO, DVec2::new(0.4, 0.1), -0.05, 0.0);
    let whole = Cavity::from_pockets(std::slice::from_ref(&plain))
        .unwrap()
        .volume();
    let cut = Cavity::from_pockets(&[Pocket {
        floor_radius: r,
        ..plain
    }])
    .unwrap()
    .volume();
    // Exact: ∫ over the height of (perimeter · inset − 4 inset²).
    let steps = 20_000;
    let lost: f64 = (0..steps)
        .map(|i| {
            let t = r * (f64::from(i) + 0.5) / f64::from(steps);
            let inset = r - (r * r - (r - t) * (r - t)).sqrt();
            (1.0 * inset - 4.0 * inset * inset) * r / f64::from(steps)
        })
        .sum();
    assert!(
        ((whole - cut) / lost - 1.0).abs() < 0.01,
        "{} {lost}",
        whole - cut
    );
}

#[test]
fn pockets_that_overlap_or_share_a_wall_count_once() {
    let a = pocket("a", DVec2::new(0.0, 0.0), DVec2::new(0.2, 0.1), -0.1, 0.0);
    let b = pocket("b", DVec2::new(0.2, 0.0), DVec2::new(0.3, 0.1), -0.06, 0.0);
    let c = pocket("c", DVec2::new(0.1, 0.05), DVec2::new(0.25, 0.15), -0.08, 0.02);
    let want = 0.2 * 0.1 * 0.1 + 0.1 * 0.1 * 0.06 + 0.15 * 0.1 * 0.1 - 0.1 * 0.05 * 0.08 - 0.05 * 0.05 * 0.06;
    let cavity = Cavity::from_pockets(&[a, b, c]).unwrap();
    assert!(
        (cavity.volume() / want - 1.0).abs() < 1e-12,
        "{} {want}",
        cavity.volume()
    );
    assert!(
        cavity.contains(DVec3::new(0.2, 0.05, -0.03)),
        "a shared wall is no wall"
    );
    let section = cavity.upright_section(DVec2::new(0.0, 0.03), DVec2::X);
    assert_eq!(section.shapes.len(), 1);
    assert!((section.area() - (0.2 * 0.1 + 0.1 * 0.06)).abs() < 1e-12);
    assert!((cavity.level_section(-0.07).area() - (0.2 * 0.1 + 0.15 * 0.1 - 0.1 * 0.05)).abs() < 1e-12);
}

#[test]
fn leaning_sections_of_a_box_have_the_right_area() {
    let stack = box_cavity(DVec3::new(-0.1, -0.1, -0.1), DVec3::splat(0.2));
    let (points, triangles) = box_mesh(DVec3::splat(-0.1), DVec3::splat(0.1), |_| -0.1);
    let mesh = Cavity::from_mesh(&points, &triangles).unwrap();
    // The plane square to a body diagonal through the middle cuts a cube of side a in a hexagon, area
    // (3 √3 / 4) a².
    let n = DVec3::ONE.normalize();
    let u = DVec3::new(1.0, -1.0, 0.0).normalize();
    let want = 3.0 * 3f64.sqrt() / 4.0 * 0.04;
    for cavity in [&stack, &mesh] {
        let s = cavity.plane_section(DVec3::ZERO, u, n.cross(u));
        assert!((s.area() / want - 1.0).abs() < 1e-7, "{} {want}", s.area());
        assert!((cavity.below(n, 0.0).surface / want - 1.0).abs() < 1e-12);
    }
}

#[test]
fn inside_tests_of_a_mesh_agree_with_its_shape() {
    let mut odd = Odd(5);
    let (points, triangles) = ball(4, |_| 0.1);
    let cavity = Cavity::from_mesh(&points, &triangles).unwrap();
    for _ in 0..500 {
        let p = DVec3::new(
            odd.between(-0.11, 0.11),
            odd.between(-0.11, 0.11),
            odd.between(-0.11, 0.11),
        );
        // The chords of a ball split four times lie within 0.5 % of it.
        if (p.length() - 0.0997).abs() > 0.0005 {
            assert_eq!(cavity.contains(p), p.length() < 0.0997, "{p}");
        }
    }
    // Straight under a corner and along edges, where rays hit exactly.
    assert!(cavity.contains(DVec3::ZERO) && cavity.contains(DVec3::new(0.0, 0.0, -0.05)));
    assert!((cavity.floor_under(DVec3::ZERO).unwrap() + 0.1).abs() < 1e-12);
}

#[test]
fn an_open_mesh_is_named_with_its_hole_and_an_inside_out_one_is_turned() {
    let (points, mut triangles) = ball(2, |_| 0.1);
    let inside_out: Vec<[u32; 3]> = triangles.iter().map(|t| [t[0], t[2], t[1]]).collect();
    let turned = Cavity::from_mesh(&points, &inside_out).unwrap();
    assert!(turned.was_inside_out() && turned.volume() > 0.0);
    let lost = triangles.pop().unwrap();
    let Err(CavityFault::Mesh(MeshFault::Open { edges, near, hole })) =
        Cavity::from_mesh(&points, &triangles)
    else {
        panic!("an open mesh was taken");
    };
    assert_eq!(edges, 3);
    let middle = lost.iter().map(|c| points[*c as usize]).sum::<DVec3>() / 3.0;
    assert!(
        near.distance(middle) < 0.05 && hole > 0.01 && hole < 0.1,
        "{near} {hole}"
    );
    triangles.push([lost[0], lost[2], lost[1]]);
    assert!(matches!(
        Cavity::from_mesh(&points, &triangles),
        Err(CavityFault::Mesh(MeshFault::Twisted { edges: 3, .. }))
    ));
    triangles.push(lost);
    assert!(matches!(
        Cavity::from_mesh(&points, &triangles),
        Err(CavityFault::Mesh(MeshFault::Crowded { .. }))
    ));
}

#[test]
fn every_bad_pocket_is_named_at_once() {
    let good = pocket("good", DVec2::ZERO, DVec2::new(0.1, 0.1), -0.1, 0.0);
    let flat = Pocket {
        name: "flat".into(),
        z_low: 0.0,
        ..good.clone()
    };
    let thin = Pocket {
        name: "thin".into(),
        draft: 0.9,
        ..good.clone()
    };
    let tight = Pocket {
        name: "tight".into(),
        corner_radius: 0.06,
        ..good.clone()
    };
    let faults = Cavity::from_pockets(&[good, flat, thin, tight]).unwrap_err();
    let parts: Vec<Part> = faults.iter().map(|f| f.part()).collect();
    assert_eq!(parts, [Part::Pocket(1), Part::Pocket(2), Part::Pocket(3)]);
    assert!(faults[0].to_string().contains("no height") && faults[1].to_string().contains("closes up"));
    assert!(faults[2].to_string().contains("too narrow"), "{}", faults[2]);
}

#[test]
fn the_height_table_rises_from_nothing_to_the_capacity() {
    let p = shop_pan();
    let up = DVec3::new(0.05, -0.1, 1.0).normalize();
    let rows = p.height_table(up, 20).unwrap();
    assert_eq!(rows.len(), 21);
    assert!(rows[0].volume < 1e-12 && (rows[20].volume / p.capacity() - 1.0).abs() < 1e-9);
    assert!(
        rows.windows(2)
            .all(|w| w[1].volume > w[0].volume && w[1].height > w[0].height)
    );
    assert!((p.capacity() / (0.4 * 0.25 * 0.15) - 1.0).abs() < 1e-12);
    assert!((p.mouth_over_floor().unwrap() - 0.009).abs() < 1e-12);
    assert!((p.crank_gap(DVec3::Z, -0.06).unwrap() - 0.055).abs() < 1e-12);
}
