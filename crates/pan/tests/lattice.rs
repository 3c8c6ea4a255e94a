//! The lattice against the cavity it was cut from, and against leaks.

mod common;
use common::*;
use glam::{DVec2, DVec3};
use sumpwright_pan::lattice::Face;
use sumpwright_pan::*;

fn open_volume(l: &Lattice) -> f64 {
    l.open_volume.iter().sum::<f64>() * l.cell.powi(3)
}

/// Cells reached from one cell through open faces; screens are taken as shut when `screens_shut`.
fn reached(l: &Lattice, from: DVec3, screens_shut: bool) -> Vec<bool> {
    let place = ((from - l.origin) / l.cell).floor();
    let start = l.cell_index(place.x as usize, place.y as usize, place.z as usize);
    let screens: std::collections::HashSet<Face> = l.screens.iter().map(|s| s.face).collect();
    let mut seen = vec![false; l.cells()];
    seen[start] = true;
    let mut todo = vec![start];
    while let Some(c) = todo.pop() {
        for (face, other) in l.neighbours(c) {
            let open = l.open_area[face.axis as usize][face.index as usize] > 0.0
                && !(screens_shut && screens.contains(&face));
            if open && !seen[other] {
                seen[other] = true;
                todo.push(other);
            }
        }
    }
    seen
}

fn reached_volume(l: &Lattice, from: DVec3, screens_shut: bool) -> f64 {
    let seen = reached(l, from, screens_shut);
    (0..l.cells())
        .filter(|&c| seen[c])
        .map(|c| l.open_volume[c])
        .sum::<f64>()
        * l.cell.powi(3)
}

#[test]
fn the_lattice_holds_the_volume_of_the_cavity() {
    let round = Pocket {
        outline: Outline::circle(DVec2::new(0.02, 0.01), 0.09),
        draft: 0.1,
        floor_radius: 0.01,
        ..pocket("round", DVec2::ZERO, DVec2::ONE, -0.12, 0.0)
    };
    let top = pocket(
        "top",
        DVec2::new(-0.15, -0.08),
        DVec2::new(0.13, 0.09),
        -0.03,
        0.05,
    );
    let cavity = Cavity::from_pockets(&[round, top]).unwrap();
    let p = pan(cavity, vec![], DVec3::new(0.02, 0.01, -0.1));
    for cell in [0.005, 0.008, 0.0113] {
        let l = Lattice::build(&p, cell).unwrap();
        let (got, want) = (open_volume(&l), p.cavity.volume());
        assert!((got / want - 1.0).abs() < 1e-6, "{cell}: {got} {want}");
        assert!(
            (reached_volume(&l, p.mouth.at, true) / want - 1.0).abs() < 1e-3,
            "{cell}"
        );
    }
}

#[test]
fn a_mesh_with_a_sloping_floor_keeps_its_volume() {
    let (points, triangles) = box_mesh(DVec3::new(-0.2, -0.1, 0.0), DVec3::new(0.2, 0.1, 0.0), |x| {
        -0.12 + 0.1 * x
    });
    let cavity = Cavity::from_mesh(&points, &triangles).unwrap();
    let want = 0.4 * 0.2 * 0.12;
    assert!((cavity.volume() / want - 1.0).abs() < 1e-12);
    let l = Lattice::build(&pan(cavity, vec![], DVec3::new(0.0, 0.0, -0.1)), 0.008).unwrap();
    assert!((open_volume(&l) / want - 1.0).abs() < 1e-6, "{}", open_volume(&l));
}

#[test]
fn a_mesh_and_pockets_of_one_shape_give_one_lattice() {
    let (low, high) = (DVec3::new(-0.1, -0.08, -0.1), DVec3::new(0.1, 0.08, 0.05));
    let (points, triangles) = box_mesh(low, high, |_| -0.1);
    let mut w = wall("w", &[(-0.1, -0.03), (0.1, 0.05)], -0.098, -0.02);
    w.openings.push(Opening::Hole {
        at: DVec2::new(0.1, -0.06),
        diameter: 0.006,
    });
    let of = |cavity: Cavity| {
        Lattice::build(
            &pan(cavity, vec![w.clone()], DVec3::new(0.0, 0.06, -0.09)),
            0.0083,
        )
        .unwrap()
    };
    let (a, b) = (
        of(box_cavity(low, high - low)),
        of(Cavity::from_mesh(&points, &triangles).unwrap()),
    );
    assert_eq!(
        (a.n, a.screens.len(), &a.space_of),
        (b.n, b.screens.len(), &b.space_of)
    );
    for axis in 0..3 {
        for (x, y) in a.open_area[axis].iter().zip(&b.open_area[axis]) {
            assert!((x - y).abs() < 1e-6, "{x} {y}");
        }
    }
    for (x, y) in a.screens.iter().zip(&b.screens) {
        assert!(x.face == y.face && (x.open - y.open).abs() < 1e-4, "{x:?} {y:?}");
    }
}

#[test]
fn a_ball_of_a_mesh_keeps_its_volume() {
    let (points, triangles) = ball(4, |d| 0.1 + 0.01 * d.x);
    let cavity = Cavity::from_mesh(&points, &triangles).unwrap();
    let want = cavity.volume();
    let l = Lattice::build(&pan(cavity, vec![], DVec3::new(0.0, 0.0, -0.05)), 0.008).unwrap();
    // Its slices are a millimetre thick and the mesh has a kink at every row of corners.
    assert!(
        (open_volume(&l) / want - 1.0).abs() < 2e-5,
        "{} {want}",
        open_volume(&l)
    );
}

#[test]
fn faces_open_no_wider_than_the_cavity_there() {
    let cavity = box_cavity(DVec3::new(-0.1, -0.05, -0.1), DVec3::new(0.2, 0.1, 0.1));
    let tank = Tank {
        cavity,
        plates: vec![],
        doors: vec![],
        lifts: vec![],
    };
    let l = Lattice::of_tank(&tank, 0.01).unwrap();
    assert_eq!(l.n, [20, 10, 10]);
    for axis in 0..3 {
        for (i, a) in l.open_area[axis].iter().enumerate() {
            let inner = l.cells_of_face(axis, i).is_some();
            assert!((a - f64::from(u8::from(inner))).abs() < 1e-9, "{axis} {i} {a}");
        }
    }
}

#[test]
fn the_rim_of_the_pickup_shuts_the_faces_over_its_mouth_and_no_others() {
    let cavity = box_cavity(DVec3::new(-0.1, -0.05, -0.1), DVec3::new(0.2, 0.1, 0.1));
    let mut pan = pan(cavity, vec![], DVec3::new(0.013, -0.007, -0.089));
    (pan.mouth.diameter, pan.mouth.outside) = (0.038, 0.042);
    let l = Lattice::build(&pan, 0.002).unwrap();
    let mut shut = 0.0;
    for (i, a) in l.open_area[2].iter().enumerate() {
        let Some((low, _)) = l.cells_of_face(2, i) else {
            continue;
        };
        if *a < 1.0 - 1e-9 {
            // Nearest layer of faces: 12 mm over the floor at -100 mm, 1 mm over the rim.
            assert_eq!(l.cell_place(low)[2], 5, "{i}");
            shut += (1.0 - a) * 0.002 * 0.002;
        }
    }
    let disc = 0.25 * std::f64::consts::PI * 0.042 * 0.042;
    assert!((shut / disc - 1.0).abs() < 0.01, "{shut} against {disc}");
    for face in &l.mouth {
        let [i, j, k] = l.cell_place(face.cell as usize);
        let over = l.open_area[2][l.face_index(2, i, j, k + 1)];
        assert!(
            over < 1.0,
            "a cell of the mouth at {i} {j} {k} is open to above: {over}"
        );
    }
}

#[test]
fn slanted_walls_part_the_pan_without_a_leak() {
    for degrees in [0.0, 17.0, 45.0, 60.0, 90.0_f64] {
        for lean in [0.0, 17.0, 45.0_f64] {
            for cell in [0.008, 0.011] {
                let cavity = Cavity::from_pockets(&[Pocket {
                    draft: 0.15,
                    ..pocket("p", DVec2::new(-0.15, -0.12), DVec2::new(0.15, 0.12), -0.1, 0.0)
                }])
                .unwrap();
                // A sheet through the point (10, 5, −50) mm, cut to the walls it would be made to: far past them
                // here, since a plate may stick out.
                let across = DVec2::from_angle(degrees.to_radians()).extend(0.0);
                let up = DVec3::Z * lean.to_radians().cos()
                    + DVec3::new(-across.y, across.x, 0.0) * lean.to_radians().sin();
                let middle = DVec3::new(0.01, 0.005, -0.05);
                let corner = |a: f64, b: f64| middle + across * a + up * b;
                let sheet = plate(
                    "sheet",
                    PlateShape::Sheet {
                        corners: vec![
                            corner(-0.3, -0.1),
                            corner(0.3, -0.1),
                            corner(0.3, 0.1),
                            corner(-0.3, 0.1),
                        ],
                    },
                );
                let n = across.cross(up).normalize();
                let offset = n.dot(middle);
                let want = cavity.volume_below(n, offset);
                let from = middle - n * 0.04;
                let p = pan(cavity, vec![sheet], from);
                let l = Lattice::build(&p, cell).unwrap();
                let got = reached_volume(&l, from, true);
                assert!(
                    l.screens.is_empty(),
                    "{degrees} {lean} {cell}: {} screens",
                    l.screens.len()
                );
                assert!(
                    (got / want - 1.0).abs() < 0.1,
                    "{degrees} {lean} {cell}: {got} {want}"
                );
            }
        }
    }
}

#[test]
fn a_wall_cut_to_touch_the_walls_parts_the_pan_without_a_leak() {
    // A wall at 17 degrees whose ends and floor edge just touch a pan with a round end; a second joins it.
    let well = Pocket {
        outline: Outline {
            vertices: vec![
                (DVec2::new(-0.15, -0.1), 0.0),
                (DVec2::new(0.1, -0.1), 1.0),
                (DVec2::new(0.1, 0.1), 0.0),
                (DVec2::new(-0.15, 0.1), 0.0),
            ],
        },
        ..pocket("well", DVec2::ZERO, DVec2::ONE, -0.1, 0.0)
    };
    let cavity = Cavity::from_pockets(&[well]).unwrap();
    let slope = 17f64.to_radians().tan();
    let first = wall(
        "first",
        &[(0.0 - 0.1 * slope, -0.1), (0.1 * slope, 0.1)],
        -0.1,
        0.0,
    );
    let second = wall("second", &[(0.0, 0.0), (0.2, 0.0)], -0.1, 0.0);
    for cell in [0.007, 0.008, 0.0095] {
        let p = pan(
            cavity.clone(),
            vec![first.clone(), second.clone()],
            DVec3::new(-0.1, 0.0, -0.05),
        );
        let l = Lattice::build(&p, cell).unwrap();
        assert!(l.screens.is_empty(), "{cell}: {:?}", l.screens);
        let rear = reached_volume(&l, DVec3::new(-0.1, 0.0, -0.05), false);
        let left = reached_volume(&l, DVec3::new(0.1, 0.05, -0.05), false);
        let right = reached_volume(&l, DVec3::new(0.1, -0.05, -0.05), false);
        let whole = p.cavity.volume();
        assert!(
            ((rear + left + right) / whole - 1.0).abs() < 1e-3,
            "{cell}: {rear} {left} {right} {whole}"
        );
        assert!((rear / 0.003 - 1.0).abs() < 0.05, "{cell}: {rear}");
        assert_eq!(l.spaces.len(), 3, "{cell}: {:?}", l.spaces);
    }
}

/// Free area that a lattice leaves in a plate's screens [m²].
fn screen_area(l: &Lattice) -> f64 {
    let part = |s: &sumpwright_pan::lattice::Screen| {
        s.open * l.open_area[s.face.axis as usize][s.face.index as usize]
    };
    l.screens.iter().map(part).sum::<f64>() * l.cell * l.cell
}

#[test]
fn holes_keep_their_area_on_square_and_leaning_plates() {
    let cavity = box_cavity(DVec3::new(-0.1, -0.08, -0.1), DVec3::new(0.2, 0.16, 0.1));
    for degrees in [0.0, 30.0, 45.0_f64] {
        let along = DVec2::from_angle(degrees.to_radians());
        let mut w = wall(
            "w",
            &[(-0.3 * along.x, -0.3 * along.y), (0.3 * along.x, 0.3 * along.y)],
            -0.1,
            0.0,
        );
        let mut want = 0.0;
        for (i, d) in [(0, 0.004), (1, 0.009), (2, 0.011), (3, 0.003)] {
            w.openings.push(Opening::Hole {
                at: DVec2::new(0.26 + 0.025 * f64::from(i), -0.053),
                diameter: d,
            });
            want += 0.25 * std::f64::consts::PI * d * d;
        }
        w.openings.push(Opening::Slot {
            from: DVec2::new(0.27, -0.03),
            to: DVec2::new(0.33, -0.02),
            width: 0.003,
        });
        want += 0.003 * 0.06f64.hypot(0.01) + 0.25 * std::f64::consts::PI * 9e-6;
        let l = Lattice::build(
            &pan(cavity.clone(), vec![w], DVec3::new(0.0, -0.07, -0.08)),
            0.008,
        )
        .unwrap();
        let got = screen_area(&l);
        assert!((got / want - 1.0).abs() < 1e-6, "{degrees}: {got} {want}");
    }
}

#[test]
fn perforation_and_a_gap_under_a_wall_keep_their_area() {
    let cavity = box_cavity(DVec3::new(-0.1, -0.08, -0.1), DVec3::new(0.2, 0.16, 0.1));
    let mut tray = plate(
        "tray",
        PlateShape::Shelf {
            outline: Outline::rectangle(DVec2::new(-0.1, -0.08), DVec2::new(0.1, 0.08)),
            z: -0.031,
        },
    );
    tray.perforation = 0.3;
    tray.perforation_hole = 0.003;
    let l = Lattice::build(
        &pan(cavity.clone(), vec![tray], DVec3::new(0.0, -0.07, -0.08)),
        0.008,
    )
    .unwrap();
    assert!(
        (screen_area(&l) / (0.3 * 0.2 * 0.16) - 1.0).abs() < 1e-9,
        "{}",
        screen_area(&l)
    );
    assert!(l.screens.iter().all(|s| (s.hole / 0.003 - 1.0).abs() < 1e-6));
    for gap in [0.002, 0.003, 0.005, 0.007] {
        let w = wall("w", &[(0.02, -0.08), (0.02, 0.08)], -0.1 + gap, 0.0);
        let l = Lattice::build(
            &pan(cavity.clone(), vec![w], DVec3::new(0.0, -0.07, -0.08)),
            0.008,
        )
        .unwrap();
        assert!(
            (screen_area(&l) / (gap * 0.16) - 1.0).abs() < 1e-6,
            "{gap}: {}",
            screen_area(&l)
        );
        // A slot between plate and floor: four areas over two edges. At the ends the walls add theirs.
        let middle = l
            .screens
            .iter()
            .filter(|s| (s.hole / (2.0 * gap) - 1.0).abs() < 1e-6);
        assert_eq!(middle.count(), l.screens.len() - 2, "{gap}: {:?}", l.screens);
        assert_eq!(l.spaces.len(), 2, "{:?}", l.spaces);
    }
}

/// Two walls `apart` beside each other across a box.
fn pair(apart: f64, cell: f64) -> Result<Lattice, sumpwright_pan::lattice::LatticeFault> {
    let cavity = box_cavity(DVec3::new(-0.1, -0.08, -0.1), DVec3::new(0.2, 0.16, 0.1));
    let at = |name: &str, x: f64| wall(name, &[(x, -0.08), (x, 0.08)], -0.1, -0.02);
    let walls = vec![at("first", 0.021), at("second", 0.021 + apart)];
    Lattice::build(&pan(cavity, walls, DVec3::new(-0.05, 0.0, -0.08)), cell)
}

#[test]
fn walls_nearer_than_a_cell_are_told_apart_or_refused() {
    assert!(pair(0.003, 0.002).is_ok());
    assert!(pair(0.009, 0.008).is_ok());
    let why = pair(0.003, 0.008).unwrap_err().to_string();
    assert!(
        why.contains("3.0 mm beside plate \"first\"") && why.contains("at most 3.0 mm"),
        "{why}"
    );
    // Within what counts as touching they are one.
    assert!(pair(0.0003, 0.008).is_ok());
}

#[test]
fn a_wall_nearer_than_a_cell_to_the_side_of_the_cavity_is_refused() {
    let cavity = box_cavity(DVec3::new(-0.1, -0.08, -0.1), DVec3::new(0.2, 0.16, 0.1));
    let near = wall("near", &[(0.098, -0.08), (0.098, 0.08)], -0.1, -0.02);
    let why = Lattice::build(&pan(cavity, vec![near], DVec3::new(-0.05, 0.0, -0.08)), 0.008)
        .unwrap_err()
        .to_string();
    assert!(
        why.contains("plate \"near\"") && why.contains("smaller cells"),
        "{why}"
    );
}

#[test]
fn a_wall_under_a_roof_between_faces_leaves_no_false_slot() {
    // Neither roof (z −53) nor walls (y ±60) lie on face planes of 8 mm cells.
    let mut p = shop_pan();
    p.doors.clear();
    for plate in &mut p.plates {
        plate.openings.clear();
    }
    for cell in [0.006, 0.008, 0.0107] {
        let l = Lattice::build(&p, cell).unwrap();
        assert!(l.screens.is_empty(), "{cell}: {} screens", l.screens.len());
        let middle = reached_volume(&l, p.mouth.at, false);
        assert!(
            (middle / (0.4 * 0.12 * 0.097) - 1.0).abs() < 0.12,
            "{cell}: {middle}"
        );
    }
}

#[test]
fn doors_keep_their_area_and_open_the_right_way() {
    let p = shop_pan();
    let l = Lattice::build(&p, 0.008).unwrap();
    assert_eq!(l.doors.len(), 2);
    for d in &l.doors {
        let area: f64 = d.faces.iter().map(|f| f.area).sum();
        assert!((area - 0.1 * 0.04).abs() < 1e-12, "{area}");
        let arm: f64 = d.faces.iter().map(|f| f.area * f.arm).sum::<f64>() / area;
        assert!((arm - 0.02).abs() < 1e-9, "{arm}");
        // The left door (y = +60) opens toward −y, into the middle; the right one toward +y.
        let want = if d.door == 0 { -1.0 } else { 1.0 };
        assert!(d.faces.iter().all(|f| f.sense == want && f.face.axis == 1));
        for f in &d.faces {
            assert_eq!(l.open_area[1][f.face.index as usize], 0.0, "shut door");
        }
        assert!((d.hinge.cross(d.to_centre) - DVec3::Y * want * 0.02).length() < 1e-12);
    }
}

#[test]
fn mouth_and_returns_keep_their_shares() {
    let p = shop_pan();
    let l = Lattice::build(&p, 0.008).unwrap();
    let area: f64 = l.mouth.iter().map(|m| m.area).sum();
    assert!((area / (0.25 * std::f64::consts::PI * 4e-4) - 1.0).abs() < 1e-12);
    for m in &l.mouth {
        let [_, _, k] = l.cell_place(m.cell as usize);
        assert_eq!(k, 0, "9 mm over the floor is nearest to the first face plane");
    }
    for r in &l.returns {
        assert!((r.iter().map(|f| f.share).sum::<f64>() - 1.0).abs() < 1e-12);
    }
    let swept: f64 = (0..l.cells())
        .map(|c| f64::from(l.crank_share[c]) * l.open_volume[c])
        .sum::<f64>()
        * l.cell.powi(3);
    // The sweep lies half a millimetre over the flange at its lowest, all of it in the block space.
    let want = std::f64::consts::PI * 0.075 * 0.075 * 0.4;
    assert!((swept / want - 1.0).abs() < 0.02, "{swept} {want}");
}

#[test]
fn spaces_are_named_by_where_they_are() {
    let l = Lattice::build(&shop_pan(), 0.008).unwrap();
    let mut names: Vec<&str> = l.spaces.iter().map(|s| s.name.as_str()).collect();
    names.sort_unstable();
    assert_eq!(names, ["above roof", "left", "middle", "right"], "{:?}", l.spaces);
    assert!(l.spaces.iter().all(|s| s.has_mouth == (s.name == "middle")));
    let sum: f64 = l.spaces.iter().map(|s| s.volume).sum();
    assert!((sum / open_volume(&l) - 1.0).abs() < 1e-9);
}

/// A wall that hangs over a deeper floor is carried on down as well as up: half of it stands over a sump twice its own
/// height deep.
#[test]
fn a_wall_over_a_deep_floor_parts_what_lies_below_it() {
    let cavity = box_cavity(DVec3::new(-0.1, -0.08, -0.16), DVec3::new(0.2, 0.16, 0.2));
    let hung = wall("w", &[(0.0, -0.08), (0.0, 0.08)], -0.06, -0.02);
    let p = pan(cavity, vec![hung], DVec3::new(0.05, 0.0, -0.15));
    let l = Lattice::build(&p, 0.01).unwrap();
    assert_eq!(l.spaces.len(), 2, "{:?}", l.spaces);
    assert!((l.spaces[0].volume - l.spaces[1].volume).abs() < 1e-9);
}

/// A tray parts what is over it from what is under it though oil passes all round its edge.
#[test]
fn a_tray_with_gaps_round_it_parts_above_from_below() {
    let cavity = box_cavity(DVec3::new(-0.15, -0.1, -0.12), DVec3::new(0.3, 0.2, 0.2));
    let tray = Plate {
        shape: PlateShape::Shelf {
            outline: Outline::rectangle(DVec2::new(-0.13, -0.07), DVec2::new(0.12, 0.08)),
            z: -0.04,
        },
        ..wall("tray", &[(0.0, 0.0), (0.1, 0.0)], 0.0, 0.1)
    };
    let p = pan(cavity, vec![tray], DVec3::new(0.0, 0.0, -0.11));
    let l = Lattice::build(&p, 0.01).unwrap();
    let mut names: Vec<&str> = l.spaces.iter().map(|s| s.name.as_str()).collect();
    names.sort_unstable();
    assert_eq!(names, ["above tray", "middle"], "{:?}", l.spaces);
}

#[test]
fn a_mirrored_pan_gives_the_mirrored_lattice() {
    let p = shop_pan();
    for cell in [0.007, 0.008] {
        let (a, b) = (
            Lattice::build(&p, cell).unwrap(),
            Lattice::build(&mirrored(&p), cell).unwrap(),
        );
        assert_eq!(a.n, b.n);
        assert_eq!(a.screens.len(), b.screens.len());
        let ny = a.n[1];
        for c in 0..a.cells() {
            let [i, j, k] = a.cell_place(c);
            let d = b.cell_index(i, ny - 1 - j, k);
            assert!((a.open_volume[c] - b.open_volume[d]).abs() < 1e-9, "{i} {j} {k}");
            assert_eq!(a.space_of[c] == u16::MAX, b.space_of[d] == u16::MAX);
        }
        for axis in 0..3 {
            let m = a.face_counts(axis);
            for index in 0..a.open_area[axis].len() {
                let [i, j, k] = a.face_place(Face {
                    axis: axis as u8,
                    index: index as u32,
                });
                let other = b.face_index(axis, i, m[1] - 1 - j, k);
                let (x, y) = (a.open_area[axis][index], b.open_area[axis][other]);
                assert!((x - y).abs() < 1e-9, "axis {axis}, {i} {j} {k}: {x} {y}");
            }
        }
        for (d, e) in a.doors.iter().zip(&b.doors) {
            assert_eq!(d.faces.len(), e.faces.len());
            for f in &d.faces {
                let [i, j, k] = a.face_place(f.face);
                let other = b.face_index(1, i, ny - j, k) as u32;
                let g = e
                    .faces
                    .iter()
                    .find(|g| g.face.index == other)
                    .expect("the mirrored face is the door's");
                assert!(
                    (f.area - g.area).abs() < 1e-12 && (f.arm - g.arm).abs() < 1e-9 && f.sense == -g.sense
                );
            }
        }
        let sorted = |l: &Lattice| {
            let mut open: Vec<f64> = l.screens.iter().map(|s| s.open).collect();
            open.sort_by(f64::total_cmp);
            open
        };
        for (x, y) in sorted(&a).iter().zip(sorted(&b)) {
            assert!((x - y).abs() < 1e-7, "{x} {y}");
        }
    }
}

/// A made pan: leaning walls, round corners, round floor edge, block space over it.
fn drafted_pan() -> Cavity {
    let well = Pocket {
        draft: 5f64.to_radians(),
        corner_radius: 0.025,
        floor_radius: 0.01,
        ..pocket(
            "well",
            DVec2::new(-0.2, -0.125),
            DVec2::new(0.2, 0.125),
            -0.15,
            0.0,
        )
    };
    let block = pocket("block", DVec2::new(-0.21, -0.1), DVec2::new(0.21, 0.1), 0.0, 0.15);
    Cavity::from_pockets(&[well, block]).unwrap()
}

#[test]
fn a_box_of_slanted_walls_under_a_lid_holds_what_it_encloses() {
    let cavity = drafted_pan();
    for degrees in [0.0, 20.0, 45.0_f64] {
        for cell in [0.0061, 0.008] {
            let corner = |q: f64| {
                let p = DVec2::from_angle((degrees + 90.0 * q).to_radians()).rotate(DVec2::splat(0.05));
                (p.x + 0.013, p.y - 0.007)
            };
            let path = [corner(0.0), corner(1.0), corner(2.0), corner(3.0), corner(0.0)];
            // Down to the floor, up to the lid's underside, neither on a face plane.
            let walls = wall("box", &path, -0.15, -0.0613);
            let lid = plate(
                "lid",
                PlateShape::Shelf {
                    outline: Outline::circle(DVec2::new(0.013, -0.007), 0.09),
                    z: -0.0613,
                },
            );
            let p = pan(cavity.clone(), vec![walls, lid], DVec3::new(0.013, -0.007, -0.14));
            let l = Lattice::build(&p, cell).unwrap();
            let got = reached_volume(&l, p.mouth.at, false);
            let want = 0.1 * 0.1 * (0.15 - 0.0613);
            // Walls move to the nearest faces: up to half a cell all round, which the lid and floor share.
            assert!((got / want - 1.0).abs() < 0.15, "{degrees} {cell}: {got} {want}");
            let mouths: Vec<_> = l.spaces.iter().filter(|s| s.has_mouth).collect();
            assert!(
                mouths.len() == 1 && (mouths[0].volume / got - 1.0).abs() < 0.01,
                "{:?}",
                l.spaces
            );
        }
    }
}

#[test]
fn boxes_of_any_plan_and_cell_do_not_leak() {
    let cavity = drafted_pan();
    let mut seed = 12345u64;
    let mut odd = |a: f64, b: f64| {
        seed = seed
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        a + (b - a) * (seed >> 11) as f64 / (1u64 << 53) as f64
    };
    for case in 0..20 {
        let corners = odd(3.0, 7.0) as usize;
        let middle = DVec2::new(odd(-0.06, 0.06), odd(-0.02, 0.02));
        let turn = odd(0.0, 6.3);
        let mut path: Vec<(f64, f64)> = (0..corners)
            .map(|i| {
                let at = turn + std::f64::consts::TAU * (i as f64 + odd(-0.2, 0.2)) / corners as f64;
                let p = middle + DVec2::from_angle(at) * odd(0.055, 0.08);
                (p.x, p.y)
            })
            .collect();
        let plan: Vec<DVec2> = path.iter().map(|p| DVec2::new(p.0, p.1)).collect();
        let area = Outline::polygon(&plan).region(0.0, 1e-5).area();
        path.push(path[0]);
        let (top, cell) = (odd(-0.09, -0.05), odd(0.005, 0.01));
        let lid = PlateShape::Shelf {
            outline: Outline::circle(middle, 0.085),
            z: top,
        };
        let plates = vec![wall("box", &path, -0.15, top), plate("lid", lid)];
        let p = pan(cavity.clone(), plates, middle.extend(-0.14));
        let l = Lattice::build(&p, cell).unwrap();
        let got = reached_volume(&l, p.mouth.at, false);
        let want = area * (top + 0.15);
        assert!(
            (got / want - 1.0).abs() < 0.25,
            "case {case}, cell {cell}: {got} {want}, {path:?}"
        );
    }
}

#[test]
fn a_leaning_sheet_from_wall_to_wall_in_a_drafted_pan_does_not_leak() {
    // A sloping roof cut to the pan's outline at its height, as a shop would cut it, within the half
    // millimetre that counts as touching.
    let cavity = drafted_pan();
    let middle = DVec3::new(0.0, 0.0, -0.07);
    for tilt in [6.0, 14.0, 30.0_f64] {
        let u = DVec3::new(tilt.to_radians().cos(), 0.0, tilt.to_radians().sin());
        let section = cavity.plane_section(middle, u, DVec3::Y).inset(0.0003, 1e-5);
        // Keep the piece in the well (a steep plane also cuts the block).
        let corners: Vec<DVec3> = section.shapes[0][0]
            .iter()
            .map(|p| middle + u * p.x + DVec3::Y * p.y)
            .collect();
        let roof = plate("roof", PlateShape::Sheet { corners });
        for cell in [0.006, 0.0085] {
            let p = pan(cavity.clone(), vec![roof.clone()], DVec3::new(0.0, 0.0, -0.14));
            let l = Lattice::build(&p, cell).unwrap();
            let n = u.cross(DVec3::Y);
            let want = cavity.volume_below(n, n.dot(middle));
            let got = reached_volume(&l, p.mouth.at, false);
            assert!(
                (got / want - 1.0).abs() < 0.05,
                "{tilt} {cell}: {got} {want}, {} screens",
                l.screens.len()
            );
        }
    }
}

#[test]
fn a_typical_pan_is_cut_in_well_under_a_second() {
    let mut p = shop_pan();
    p.cavity = drafted_pan();
    let start = std::time::Instant::now();
    let l = Lattice::build(&p, 0.008).unwrap();
    let took = start.elapsed().as_secs_f64();
    // 0.5 s is the aim on a quiet bench; three times that here, since other tests run beside it.
    assert!(took < 1.5, "{} cells in {took} s", l.cells());
}
