//! A pan as a part with walls: flange, holes, oil side.

mod common;

use common::*;
use glam::{DAffine3, DMat3, DQuat, DVec2, DVec3};
use sumpwright_solid::part::{Front, Leads, Origin, Part, Stated, looks_like_a_part, understand};
use sumpwright_solid::{Asked, Fault, Mesh, Surface, Unit, read};

fn surface(mesh: &Mesh) -> Surface {
    let asked = Asked {
        unit: Some(Unit::Millimetre),
        ..Asked::default()
    };
    read(obj(mesh, 1.0), &asked).unwrap_or_else(|r| panic!("{}", r.fault))
}

fn part_with(mesh: &Mesh, stated: &Stated) -> Result<Part, Fault> {
    understand(&surface(mesh), stated)
}

fn part(mesh: &Mesh) -> Part {
    part_with(mesh, &Stated::default()).unwrap_or_else(|f| panic!("{f}"))
}

fn moved(mesh: &Mesh, by: DAffine3) -> Mesh {
    let points = mesh.points.iter().map(|p| by.transform_point3(*p)).collect();
    Mesh {
        points,
        triangles: mesh.triangles.clone(),
    }
}

#[test]
fn the_oil_side_of_a_machined_pan_has_the_volume_of_its_closed_form() {
    let pan = pan_part();
    let solid = surface(&pan.mesh);
    assert!(
        (solid.volume() / (pan.metal * 1e-9) - 1.0).abs() < 1e-12,
        "the part itself: {}",
        solid.volume()
    );
    assert!(looks_like_a_part(&solid));
    let part = part(&pan.mesh);
    let off = part.volume / (pan.oil * 1e-9) - 1.0;
    assert!(off.abs() < 1e-12, "{} L, off by {off:e}", part.volume * 1e3);

    // Drain and dipstick, at their inner rims.
    assert_eq!(part.openings.len(), 2);
    assert!(
        part.openings[0]
            .at
            .abs_diff_eq(DVec3::new(0.08, -0.04, -0.11), 1e-9),
        "{:?}",
        part.openings[0]
    );
    assert!(
        part.openings[1]
            .at
            .abs_diff_eq(DVec3::new(0.16, 0.03, -0.05), 1e-9),
        "{:?}",
        part.openings[1]
    );
    assert!((part.openings[0].across - 14e-3).abs() < 0.05e-3);

    let holes = &part.flange.holes;
    assert_eq!(holes.len(), pan.bolts.len() + 2);
    for at in &pan.bolts {
        let at = DVec2::from(*at).extend(0.0) * 1e-3;
        let hole = holes
            .iter()
            .find(|h| h.at.abs_diff_eq(at, 1e-9))
            .unwrap_or_else(|| panic!("{at}"));
        assert!(hole.round && hole.leads == Leads::Through);
        assert!((hole.diameter - 8.5e-3).abs() < 1e-9, "{}", hole.diameter);
    }
    assert_eq!(holes.iter().filter(|h| h.leads == Leads::Blind).count(), 2);
    // Counted counter-clockwise from the file's x.
    assert!(
        holes[0].at.abs_diff_eq(DVec3::new(0.177, 0.0, 0.0), 1e-9),
        "{:?}",
        holes[0]
    );
    assert!((part.flange.length - 0.38).abs() < 1e-12 && (part.flange.width - 0.24).abs() < 1e-12);
}

#[test]
fn the_oil_side_is_a_solid_that_another_library_measures_alike() {
    use parry3d_f64::shape::{Shape, TriMesh, TriMeshFlags};
    let pan = pan_part();
    let oil = part(&pan.mesh).oil;
    let points = oil
        .points
        .iter()
        .map(|p| parry3d_f64::math::Vector::new(p.x, p.y, p.z))
        .collect();
    let flags = TriMeshFlags::ORIENTED | TriMeshFlags::HALF_EDGE_TOPOLOGY;
    let shape = TriMesh::with_flags(points, oil.triangles.clone(), flags).expect("closed and oriented");
    let mass = shape.mass_properties(1.0).mass();
    assert!((mass / (pan.oil * 1e-9) - 1.0).abs() < 1e-9, "{mass}");
}

#[test]
fn a_part_drawn_lying_on_its_side_and_far_away_comes_to_the_same_oil() {
    let pan = pan_part();
    // The block is toward -y of the file, the front toward +z.
    let file_from_pan = DAffine3::from_mat3_translation(
        DMat3::from_cols(DVec3::Z, DVec3::NEG_X, DVec3::NEG_Y),
        DVec3::new(1200., -300., 77.),
    );
    let mesh = moved(&pan.mesh, file_from_pan);
    let found = part(&mesh);
    assert!((found.volume / (pan.oil * 1e-9) - 1.0).abs() < 1e-9);
    assert!(
        found.said.iter().any(|s| s.contains("facing -y of the file")),
        "{:?}",
        found.said
    );
    assert!(
        found
            .said
            .iter()
            .any(|s| s.starts_with("the engine's front is taken to be +z of the file")),
        "{:?}",
        found.said
    );
    // The file's origin is kept, on the flange's height.
    let origin = found.pan_from_file.transform_point3(DVec3::ZERO);
    assert!(origin.truncate().length() < 1e-12, "{origin}");

    let stated = Stated {
        up: Some(DVec3::NEG_Y),
        front: Some(Front::Way(DVec3::NEG_Z)),
        origin: Some(Origin::Place(DVec3::new(1.2, 0.0, 0.077))),
        ..Stated::default()
    };
    let turned = part_with(&mesh, &stated).unwrap();
    // Front and rear have changed places, and left and right with them.
    assert!(
        turned.openings[0]
            .at
            .abs_diff_eq(DVec3::new(-0.08, 0.04, -0.11), 1e-9),
        "{:?}",
        turned.openings
    );
    let wrong = Stated {
        up: Some(DVec3::Y),
        ..Stated::default()
    };
    let fault = part_with(&mesh, &wrong).unwrap_err();
    assert!(
        fault
            .what
            .starts_with("no flange was found: no flat ring facing +y"),
        "{fault}"
    );
}

#[test]
fn a_scan_askew_and_rough_comes_near_the_same_oil() {
    let pan = pan_part();
    let turn = DQuat::from_euler(glam::EulerRot::XYZ, 0.4, -0.7, 1.1);
    let mut mesh = moved(
        &pan.mesh,
        DAffine3::from_rotation_translation(turn, DVec3::new(40., 500., -90.)),
    );
    // Noise of 0.03 mm, the same for every run.
    let mut state = 1u64;
    let mut noise = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) as f64 / f64::from(1u32 << 31) - 0.5) * 0.06
    };
    for p in &mut mesh.points {
        *p += DVec3::new(noise(), noise(), noise());
    }
    let found = part(&mesh);
    assert!(
        (found.volume / (pan.oil * 1e-9) - 1.0).abs() < 2e-3,
        "{}",
        found.volume
    );
    assert_eq!(found.openings.len(), 2);
    assert_eq!(found.flange.holes.iter().filter(|h| h.round).count(), 16);
    let up = found.pan_from_file.matrix3.transpose() * DVec3::Z;
    assert!(up.dot(turn * DVec3::Z) > 0.999_99, "{up}");
    assert!(
        found.said.iter().any(|s| s.contains("middle of the flange")),
        "{:?}",
        found.said
    );
}

#[test]
fn front_and_origin_by_holes() {
    let pan = pan_part();
    let first = part(&pan.mesh);
    let number = |x: f64, y: f64| {
        let at = DVec3::new(x, y, 0.0) * 1e-3;
        first
            .flange
            .holes
            .iter()
            .find(|h| h.at.abs_diff_eq(at, 1e-9))
            .unwrap()
            .number
    };
    let stated = Stated {
        front: Some(Front::Holes(number(150., 107.), number(-150., 107.))),
        origin: Some(Origin::Hole(number(-177., 0.))),
        ..Stated::default()
    };
    let found = part_with(&pan.mesh, &stated).unwrap();
    let drain = found.openings[0].at;
    assert!(
        drain.abs_diff_eq(DVec3::new(-0.257, 0.04, -0.11), 1e-9),
        "{drain}"
    );
    let missing = Stated {
        origin: Some(Origin::Hole(99)),
        ..Stated::default()
    };
    assert_eq!(
        part_with(&pan.mesh, &missing).unwrap_err().what,
        "there is no hole 99: the flange has 16"
    );
}

#[test]
fn a_wide_opening_is_refused_unless_it_is_stated() {
    let pan = pan_part();
    let narrow = Stated {
        opening: 12e-3,
        ..Stated::default()
    };
    let fault = part_with(&pan.mesh, &narrow).unwrap_err();
    assert_eq!(fault.id, "part-open");
    assert!(
        fault
            .what
            .starts_with("an opening 14 mm across around (80.0, -40.0, -110.0) mm joins the inside"),
        "{fault}"
    );
}

#[test]
fn a_cavity_is_not_taken_for_a_part() {
    let (mesh, _) = cavity();
    assert!(!looks_like_a_part(&surface(&mesh)));
    let fault = part_with(&mesh, &Stated::default()).unwrap_err();
    assert_eq!(fault.id, "part-flange");
    assert!(
        fault.what.contains("660 cm2 facing +z around (0.0, 0.0, 0.0) mm"),
        "{fault}"
    );
}

#[test]
fn a_pan_drawn_without_its_bolt_holes_is_still_seen_as_a_part() {
    let mut b = Builder::default();
    let (outside, inside) = (
        rectangle([-150., 150.], [-100., 100.]),
        rectangle([-147., 147.], [-97., 97.]),
    );
    b.face(&outside, std::slice::from_ref(&inside), 0., true);
    b.wall(&outside, [-90., 0.], true);
    b.face(&outside, &[], -90., false);
    b.wall(&inside, [-87., 0.], false);
    b.face(&inside, &[], -87., true);
    assert!(looks_like_a_part(&surface(&b.mesh)));
    assert!((part(&b.mesh).volume / (294. * 194. * 87. * 1e-9) - 1.0).abs() < 1e-12);
    // A thick block with a shallow dish in it is none.
    let mut b = Builder::default();
    b.face(&outside, std::slice::from_ref(&inside), 0., true);
    b.wall(&outside, [-90., 0.], true);
    b.face(&outside, &[], -90., false);
    b.wall(&inside, [-9., 0.], false);
    b.face(&inside, &[], -9., true);
    assert!(!looks_like_a_part(&surface(&b.mesh)));
}

#[test]
fn a_wall_that_stands_over_the_flange_is_cut_off_at_its_plane() {
    // The post is drawn 25 mm taller, with a slanting top.
    let mut pan = pan_part();
    for p in &mut pan.mesh.points {
        if p.z == 0.0 && DVec2::new(p.x + 60., p.y - 20.).length() < 11. {
            p.z = 25.0 + 0.5 * (p.x + 60.);
        }
    }
    let found = part(&pan.mesh);
    assert!(
        (found.volume / (pan.oil * 1e-9) - 1.0).abs() < 1e-12,
        "{}",
        found.volume
    );
}
