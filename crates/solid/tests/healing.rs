//! Faults of meshes: healed and told, or refused with their place.

mod common;

use common::*;
use glam::{DVec2, DVec3};
use sumpwright_solid::{Asked, Healing, Mesh, Refused, Surface, Unit, read};

fn asked() -> Asked {
    Asked {
        unit: Some(Unit::Millimetre),
        ..Asked::default()
    }
}

fn healed(mesh: &Mesh) -> Surface {
    read(obj(mesh, 1.0), &asked()).unwrap_or_else(|r| panic!("{}", r.fault))
}

fn refused(mesh: &Mesh) -> Box<Refused> {
    read(obj(mesh, 1.0), &asked()).unwrap_err()
}

fn litres(surface: &Surface, due: f64) {
    let got = surface.volume() * 1e3;
    assert!((got - due).abs() < 1e-9, "{got} L, due {due} L");
}

/// A box of 300 x 200 x 100 mm, 6 L.
fn six_litres() -> Mesh {
    block([0.; 3], [300., 200., 100.])
}

#[test]
fn a_shell_inside_out_is_turned_and_told() {
    let mut mesh = six_litres();
    mesh.triangles.iter_mut().for_each(|t| t.swap(0, 1));
    let surface = healed(&mesh);
    litres(&surface, 6.0);
    assert_eq!(surface.healed().said(), ["a shell was inside out and was turned"]);
}

#[test]
fn facets_that_face_against_their_neighbours_are_turned() {
    let mut mesh = six_litres();
    mesh.triangles[2].swap(0, 1);
    mesh.triangles[7].swap(0, 1);
    let surface = healed(&mesh);
    litres(&surface, 6.0);
    assert_eq!(
        surface.healed().said(),
        ["2 facets faced against their neighbours and were turned"]
    );
}

#[test]
fn copies_walls_of_no_thickness_and_facets_without_area_are_dropped() {
    let mut mesh = six_litres();
    mesh.triangles.push(mesh.triangles[4]);
    mesh.triangles.push([3, 3, 5]);
    let surface = healed(&mesh);
    litres(&surface, 6.0);
    let said = surface.healed().said();
    assert_eq!(
        said,
        [
            "a facet without area was dropped",
            "a facet stood there twice and was dropped once"
        ]
    );
    // Two boxes that share a face, which so stands there twice, back to back; cut by the same diagonal or not.
    let mut mirrored = mesh.clone();
    mirrored.points.iter_mut().for_each(|p| p.x = 600. - p.x);
    mirrored.triangles.iter_mut().for_each(|t| t.swap(1, 2));
    for (second, walls, shells, due) in [
        (mirrored, 4, 1, 12.0),
        (block([300., 0., 0.], [400., 200., 100.]), 0, 2, 8.0),
    ] {
        let mut b = Builder::default();
        for part in [&six_litres(), &second] {
            for t in &part.triangles {
                let t = t.map(|c| b.corner(part.points[c as usize]));
                b.mesh.triangles.push(t);
            }
        }
        let surface = healed(&b.mesh);
        litres(&surface, due);
        assert_eq!((surface.healed().walls, surface.healed().shells), (walls, shells));
    }
}

#[test]
fn a_gap_and_faces_that_meet_with_different_corners_are_sewn() {
    // The lid is a separate sheet, 0.03 mm above the walls, with corners of its own along its edges.
    let mut b = Builder::default();
    let ring = rectangle([0., 300.], [0., 200.]);
    b.wall(&ring, [0., 100.], true);
    b.face(&ring, &[], 0., false);
    let mut lid = ring.clone();
    lid.insert(1, DVec2::new(170., 0.));
    lid.insert(1, DVec2::new(80., 0.));
    lid.insert(4, DVec2::new(300., 90.));
    b.face(&lid, &[], 100.03, true);
    let surface = healed(&b.mesh);
    let told = surface.healed();
    assert_eq!(told.joined, 4);
    assert!(told.split >= 2, "{told:?}");
    assert!(
        (surface.volume() * 1e3 - 6.0).abs() < 6.0 * 0.03 / 100.0,
        "{}",
        surface.volume()
    );
    let said = told.said();
    assert!(
        said.iter()
            .any(|s| s.starts_with("gaps were sewn: 4 corners joined")),
        "{said:?}"
    );
    // With no gap allowed the same file is refused.
    let strict = Asked {
        healing: Healing {
            gap: 0.0,
            ..Healing::default()
        },
        ..asked()
    };
    let fault = read(obj(&b.mesh, 1.0), &strict).unwrap_err().fault;
    assert_eq!(fault.id, "solid-open");
}

#[test]
fn a_small_hole_is_closed_flat_and_a_large_one_refused_with_its_place() {
    let ring = rectangle([0., 300.], [0., 200.]);
    let with_hole = |radius: f64| {
        let mut b = Builder::default();
        b.wall(&ring, [0., 100.], true);
        b.face(&ring, &[], 0., false);
        b.face(&ring, &[circle([120., 70.], radius, 24)], 100., true);
        b.mesh
    };
    let surface = healed(&with_hole(0.6));
    litres(&surface, 6.0);
    let told = surface.healed();
    assert_eq!(told.holes.len(), 1);
    assert!(told.holes[0].at.abs_diff_eq(DVec3::new(0.12, 0.07, 0.1), 1e-9));

    let refused = refused(&with_hole(10.0));
    assert_eq!(refused.fault.id, "solid-open");
    assert_eq!(
        refused.fault.what,
        "the mesh is open: 24 edges have a facet on one side only; a hole 28.3 mm across around (120.0, 70.0, 100.0) mm"
    );
    assert!(
        refused
            .fault
            .mend
            .contains("holes up to 2 mm across are closed by themselves"),
        "{}",
        refused.fault.mend
    );
    assert_eq!(refused.fault.marks.len(), 1);
    assert!(
        !refused.mesh.triangles.is_empty(),
        "the mesh is kept for a picture"
    );

    let wide = Asked {
        healing: Healing {
            hole: 30e-3,
            ..Healing::default()
        },
        ..asked()
    };
    litres(&read(obj(&with_hole(10.0), 1.0), &wide).unwrap(), 6.0);
}

#[test]
fn crumbs_are_dropped_and_hollows_counted() {
    let crumb = block([150., 100., 400.], [150.5, 100.5, 400.5]);
    let mut hollow = block([100., 50., 20.], [200., 150., 70.]);
    let sheet = Mesh {
        points: vec![
            DVec3::new(0., 0., 500.),
            DVec3::new(1., 0., 500.),
            DVec3::new(0., 1., 500.),
        ],
        triangles: vec![[0, 1, 2]],
    };
    for turned in [false, true] {
        if turned {
            hollow.triangles.iter_mut().for_each(|t| t.swap(0, 1));
        }
        let surface = healed(&together(&[
            six_litres(),
            crumb.clone(),
            hollow.clone(),
            sheet.clone(),
        ]));
        litres(&surface, 6.0 - 0.5);
        let told = surface.healed();
        assert_eq!((told.crumbs, told.voids, told.shells), (2, 1, 2));
        assert_eq!(told.turned, usize::from(!turned));
    }
}

#[test]
fn bodies_that_touch_along_an_edge_are_parted() {
    let second = block([300., 200., 0.], [400., 300., 100.]);
    let mut b = Builder::default();
    for part in [&six_litres(), &second] {
        for t in &part.triangles {
            let t = t.map(|c| b.corner(part.points[c as usize]));
            b.mesh.triangles.push(t);
        }
    }
    let surface = healed(&b.mesh);
    litres(&surface, 7.0);
    assert_eq!(surface.healed().parted, 1);
    assert_eq!(surface.healed().shells, 2);
}

#[test]
fn bodies_that_lie_partly_in_one_another_are_refused() {
    // Aligned, so that no side goes through the inside of a facet; and askew.
    let refused_one = refused(&together(&[
        six_litres(),
        block([200., 0., 0.], [500., 200., 100.]),
    ]));
    assert_eq!(refused_one.fault.id, "solid-overlap", "{}", refused_one.fault);
    let fault = refused(&together(&[
        six_litres(),
        block([200., 50., 20.], [500., 150., 130.]),
    ]))
    .fault;
    assert!(["solid-crossing", "solid-overlap"].contains(&fault.id), "{fault}");
    assert!(fault.what.contains("(250.0, 100.0, 60.0) mm"), "{fault}");
}

#[test]
fn a_skin_that_runs_through_itself_is_refused_with_its_place() {
    // A box whose top has a spike pushed down through the floor.
    let mut mesh = six_litres();
    let apex = mesh.points.len() as u32;
    mesh.points.push(DVec3::new(140., 90., -30.));
    let top = mesh
        .triangles
        .iter()
        .position(|t| t.iter().all(|c| mesh.points[*c as usize].z == 100.))
        .unwrap();
    let [a, b, c] = mesh.triangles.remove(top);
    mesh.triangles.extend([[a, b, apex], [b, c, apex], [c, a, apex]]);
    let refused = refused(&mesh);
    assert_eq!(refused.fault.id, "solid-crossing", "{}", refused.fault);
    let at = refused.fault.marks[0].at;
    assert!(
        (at.z).abs() < 1e-9 && at.truncate().distance(DVec2::new(0.14, 0.09)) < 0.05,
        "{at}"
    );
}

#[test]
fn a_skin_without_an_inside_is_refused() {
    // A Moebius band of 12 quads; closed edges or not, it has no inside.
    let mut b = Builder::default();
    let count = 12;
    let point = |k: usize, side: f64| {
        let angle = std::f64::consts::TAU * k as f64 / count as f64;
        let half = angle / 2.0;
        let out = 150.0 + side * 30.0 * half.cos();
        DVec3::new(out * angle.cos(), out * angle.sin(), side * 30.0 * half.sin())
    };
    for k in 0..count {
        let (next, flip) = if k + 1 == count { (0, -1.0) } else { (k + 1, 1.0) };
        let corners = [
            point(k, 1.0),
            point(k, -1.0),
            point(next, -flip),
            point(next, flip),
        ];
        let [p, q, r, s] = corners.map(|c| b.corner(c));
        b.mesh.triangles.extend([[p, q, r], [p, r, s]]);
    }
    assert_eq!(refused(&b.mesh).fault.id, "solid-one-sided");
}

#[test]
fn a_sheet_and_a_fin_are_refused() {
    let mut flat = Builder::default();
    flat.face(&rectangle([0., 300.], [0., 200.]), &[], 0., true);
    assert_eq!(refused(&flat.mesh).fault.id, "solid-open");
    let mut fin = six_litres();
    let tip = fin.points.len() as u32;
    fin.points.push(DVec3::new(150., -80., 200.));
    let [a, b, _] = fin.triangles[0];
    fin.triangles.push([a, b, tip]);
    let fault = refused(&fin).fault;
    assert_eq!(fault.id, "solid-crowded", "{fault}");
}
