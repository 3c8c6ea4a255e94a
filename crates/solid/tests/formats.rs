//! The same part through every format and unit; its volume by another library.

mod common;

use common::*;
use glam::DVec3;
use parry3d_f64::shape::{TriMesh, TriMeshFlags};
use sumpwright_solid::{Asked, Format, Mesh, Surface, Unit, UnitFrom, read};

fn taken(bytes: Vec<u8>) -> Surface {
    read(bytes, &Asked::default()).unwrap_or_else(|r| panic!("{}", r.fault))
}

/// Volume by parry3d, which needs the mesh closed and its triangles to agree.
fn by_parry(mesh: &Mesh) -> f64 {
    let points = mesh
        .points
        .iter()
        .map(|p| parry3d_f64::math::Vector::new(p.x, p.y, p.z))
        .collect();
    let flags = TriMeshFlags::ORIENTED | TriMeshFlags::HALF_EDGE_TOPOLOGY;
    let shape = TriMesh::with_flags(points, mesh.triangles.clone(), flags).expect("parry takes the mesh");
    parry3d_f64::shape::Shape::mass_properties(&shape, 1.0).mass()
}

#[test]
fn the_same_part_in_four_formats_and_two_units_is_the_same_cavity() {
    let (mesh, cubic_mm) = cavity();
    let inch = 1.0 / 25.4;
    let files = [
        (
            stl_binary(&mesh, 1.0),
            Format::StlBinary,
            Unit::Millimetre,
            UnitFrom::Size,
        ),
        (
            stl_binary(&mesh, inch),
            Format::StlBinary,
            Unit::Inch,
            UnitFrom::Size,
        ),
        (
            stl_text(&mesh, 1.0),
            Format::StlText,
            Unit::Millimetre,
            UnitFrom::Size,
        ),
        (stl_text(&mesh, inch), Format::StlText, Unit::Inch, UnitFrom::Size),
        (obj(&mesh, 1.0), Format::Obj, Unit::Millimetre, UnitFrom::Size),
        (obj(&mesh, inch), Format::Obj, Unit::Inch, UnitFrom::Size),
        (
            threemf_of(&mesh, "millimeter", 1.0),
            Format::ThreeMf,
            Unit::Millimetre,
            UnitFrom::File,
        ),
        (
            threemf_of(&mesh, "inch", inch),
            Format::ThreeMf,
            Unit::Inch,
            UnitFrom::File,
        ),
    ];
    for (bytes, format, unit, from) in files {
        let surface = taken(bytes);
        let source = surface.source();
        assert_eq!(
            (source.format, source.unit, source.unit_from),
            (format, unit, from)
        );
        assert_eq!(surface.mesh().triangles.len(), mesh.triangles.len());
        assert_eq!(surface.mesh().points.len(), mesh.points.len());
        let off = surface.volume() / (cubic_mm * 1e-9) - 1.0;
        assert!(off.abs() < 1e-6, "{format:?} {unit:?}: {off:e}");
        let parry = by_parry(surface.mesh());
        let off = surface.volume() / parry - 1.0;
        assert!(off.abs() < 1e-9, "{format:?} {unit:?}: parry {parry}, {off:e}");
        assert!(
            surface.healed().said().is_empty(),
            "{:?}",
            surface.healed().said()
        );
    }
}

#[test]
fn an_independent_reader_sees_the_same_facets_in_a_binary_stl() {
    let (mesh, _) = cavity();
    let bytes = stl_binary(&mesh, 1.0);
    let theirs = stl_io::read_stl(&mut std::io::Cursor::new(bytes.clone())).unwrap();
    let ours = taken(bytes);
    assert_eq!(ours.mesh().triangles.len(), theirs.faces.len());
    for (t, face) in theirs.faces.iter().enumerate() {
        for k in 0..3 {
            let their = DVec3::from(theirs.vertices[face.vertices[k]].0.map(f64::from)) * 1e-3;
            assert_eq!(ours.mesh().corners(t)[k], their);
        }
    }
}

#[test]
fn a_3mf_of_components_is_put_together_by_its_transforms() {
    // One block of 100 x 50 x 20 mm used three times: as it is, turned about z and shifted, and mirrored in x.
    let object = format!(
        "<object id=\"7\">{}</object>",
        threemf_mesh(&block([0.; 3], [100., 50., 20.]), 0.1)
    );
    let pair = "<object id=\"8\"><components>\
                <component objectid=\"7\"/>\
                <component objectid=\"7\" transform=\"0 1 0 -1 0 0 0 0 1 -10 0 0\"/>\
                </components></object>";
    let build = "<item objectid=\"8\" transform=\"1 0 0 0 1 0 0 0 1 0 0 5\"/>\
                 <item objectid=\"7\" transform=\"-1 0 0 0 1 0 0 0 1 -20 0 0\"/>";
    let surface = taken(threemf(threemf_model("centimeter", &(object + pair), build)));
    assert_eq!(surface.source().bodies, 3);
    assert!(
        (surface.volume() - 3.0 * 1e-4).abs() < 1e-15,
        "{}",
        surface.volume()
    );
    let (low, high) = surface.bounds();
    // x: mirrored block from -30 to -20 cm; turned one from -15 to -10 cm; first to 10 cm. z: to 7 cm.
    assert!(low.abs_diff_eq(DVec3::new(-0.3, 0.0, 0.0), 1e-15), "{low}");
    assert!(high.abs_diff_eq(DVec3::new(0.1, 0.1, 0.07), 1e-15), "{high}");
    // The mirrored one did not come out inside out.
    assert_eq!(surface.healed().turned, 0);
}

#[test]
fn a_3mf_whose_objects_lie_in_parts_of_their_own_is_read() {
    let part = threemf_model(
        "millimeter",
        &format!(
            "<object id=\"3\">{}</object>",
            threemf_mesh(&block([0.; 3], [300., 50., 20.]), 1.0)
        ),
        "",
    );
    let main = threemf_model(
        "millimeter",
        "<object id=\"1\"><components><component p:path=\"/3D/Objects/one.model\" objectid=\"3\"/></components></object>",
        "<item objectid=\"1\"/>",
    );
    let parts = vec![
        ("_rels/.rels", relations()),
        ("3D/3dmodel.model", main),
        ("3D/Objects/one.model", part),
    ];
    let packed = package(parts, |bytes| {
        use std::io::Write;
        let mut encoder = flate2::write::DeflateEncoder::new(Vec::new(), flate2::Compression::default());
        encoder.write_all(bytes).unwrap();
        (8, encoder.finish().unwrap())
    });
    assert!((taken(packed).volume() - 3e-4).abs() < 1e-15);
}

#[test]
fn faces_of_many_corners_and_backward_numbers_of_an_obj_are_read() {
    // An L of 300 mm, its two faces of six corners each, numbered backward.
    let text = "o L\nv 0 0 0\nv 300 0 0\nv 300 100 0\nv 100 100 0\nv 100 200 0\nv 0 200 0\n\
                v 0 0 50\nv 300 0 50\nv 300 100 50\nv 100 100 50\nv 100 200 50\nv 0 200 50\n\
                vn 0 0 1\ng sides\nusemtl none\n\
                f -6 -5 -4 -3 -2 -1\nf 6 5 4 3 2 1\n\
                f 1 2 8 7\nf 2 3 9 8\nf 3 4 10 9\nf 4 5 11 10\nf 5 6 12 11\nf 6 1 7 \\\n 12\n";
    let surface = taken(text.as_bytes().to_vec());
    assert!(
        (surface.volume() - (3e4 + 1e4) * 50.0 * 1e-9).abs() < 1e-15,
        "{}",
        surface.volume()
    );
}

#[test]
fn units_are_guessed_from_the_size_of_pans_and_slips_are_named() {
    let long = |length: f64| stl_binary(&block([0.; 3], [length, 0.4 * length, 0.2 * length]), 1.0);
    let fault = |bytes, unit| {
        read(
            bytes,
            &Asked {
                unit,
                ..Asked::default()
            },
        )
        .unwrap_err()
        .fault
    };
    for (length, unit) in [
        (330.0, Unit::Millimetre),
        (13.0, Unit::Inch),
        (0.33, Unit::Metre),
        (90.0, Unit::Centimetre),
    ] {
        assert_eq!(taken(long(length)).source().unit, unit, "{length}");
    }
    let asked = fault(long(30.0), None);
    assert_eq!(
        asked.what,
        "the file does not say its unit: its length of 30.0000 is 762 mm in inches and 300 mm in centimetres"
    );
    for (length, unit, words) in [
        (
            13.0,
            Unit::Millimetre,
            "25.4 times that is 330 mm: inches taken for millimetres?",
        ),
        (
            330.0,
            Unit::Inch,
            "1/25.4 times that is 330 mm: millimetres taken for inches?",
        ),
        (
            0.33,
            Unit::Millimetre,
            "1000 times that is 330 mm: metres taken for millimetres?",
        ),
        (
            330.0,
            Unit::Metre,
            "1/1000 times that is 330 mm: millimetres taken for metres?",
        ),
    ] {
        let fault = fault(long(length), Some(unit));
        assert!(fault.what.contains(words), "{}", fault.what);
    }
    // A 3MF that says millimetres and means inches.
    let slipped = fault(
        threemf_of(&block([0.; 3], [13., 5., 3.]), "millimeter", 1.0),
        None,
    );
    assert!(slipped.what.contains("as the file says"), "{}", slipped.what);
    let contradiction = fault(
        threemf_of(&block([0.; 3], [13., 5., 3.]), "inch", 1.0),
        Some(Unit::Millimetre),
    );
    assert_eq!(contradiction.what, "mm is stated, but the 3MF file says in");
}
