//! A pan part's oil side with the block's room above it, against the same hollow made of pockets.

use glam::{DVec2, DVec3};
use sumpwright_pan::mesh::ClosedMesh;
use sumpwright_pan::*;

fn pocket(name: &str, side: Side, x: [f64; 2], y: [f64; 2], z: [f64; 2]) -> Pocket {
    Pocket {
        name: name.to_owned(),
        side,
        outline: Outline::rectangle(DVec2::new(x[0], y[0]), DVec2::new(x[1], y[1])),
        z_low: z[0],
        z_high: z[1],
        draft: 0.0,
        corner_radius: 0.0,
        floor_radius: 0.0,
    }
}

/// A box as a mesh.
fn block(low: [f64; 3], high: [f64; 3]) -> ClosedMesh {
    let point = |i: usize| DVec3::from([0, 1, 2].map(|a| if i >> a & 1 == 1 { high[a] } else { low[a] }));
    let triangles = [
        [0, 2, 1],
        [1, 2, 3],
        [4, 5, 6],
        [5, 7, 6],
        [0, 1, 4],
        [1, 5, 4],
        [2, 6, 3],
        [3, 6, 7],
        [0, 4, 2],
        [2, 4, 6],
        [1, 3, 5],
        [3, 7, 5],
    ];
    ClosedMesh::from_closed((0..8).map(point).collect(), triangles.to_vec()).unwrap()
}

/// The same hollow twice: pan as a mesh and as a pocket, the block narrower than the pan.
fn both() -> (Cavity, Cavity) {
    let crankcase = pocket(
        "crankcase",
        Side::Block,
        [-0.14, 0.14],
        [-0.07, 0.09],
        [0.0, 0.08],
    );
    let part = Cavity::from_part(
        block([-0.15, -0.1, -0.11], [0.15, 0.1, 0.0]),
        std::slice::from_ref(&crankcase),
    );
    let sump = pocket("sump", Side::Pan, [-0.15, 0.15], [-0.1, 0.1], [-0.11, 0.0]);
    (part.unwrap(), Cavity::from_pockets(&[sump, crankcase]).unwrap())
}

#[test]
fn a_part_with_a_block_holds_what_the_same_pockets_hold() {
    let (part, pockets) = both();
    assert!((part.volume() - pockets.volume()).abs() < 1e-15);
    assert_eq!(part.bounds(), pockets.bounds());
    for up in [
        DVec3::Z,
        DVec3::new(0.6, 0.0, 0.8),
        DVec3::new(-0.48, 0.64, 0.6),
        DVec3::NEG_Z,
        DVec3::Y,
    ] {
        for share in [0.1, 0.4, 0.55, 0.9] {
            let volume = share * part.volume();
            let (a, b) = (
                part.level(up, volume).unwrap(),
                pockets.level(up, volume).unwrap(),
            );
            assert!((a - b).abs() < 1e-9, "{up} {share}: {a} and {b}");
        }
    }
}

#[test]
fn sections_and_points_of_a_part_with_a_block_are_those_of_the_pockets() {
    let (part, pockets) = both();
    for z in [-0.1, -1e-3, 0.0, 1e-3, 0.05] {
        let (a, b) = (part.level_section(z).area(), pockets.level_section(z).area());
        assert!((a - b).abs() < 1e-12, "z {z}: {a} and {b}");
    }
    for along in [DVec2::X, DVec2::Y, DVec2::new(0.6, 0.8)] {
        let at = DVec2::new(0.02, -0.03);
        let (a, b) = (
            part.upright_section(at, along).area(),
            pockets.upright_section(at, along).area(),
        );
        assert!((a - b).abs() < 1e-9, "{along}: {a} and {b}");
    }
    let lean = (DVec3::new(0.8, 0.0, 0.6), DVec3::Y);
    let origin = DVec3::new(0.0, 0.01, -0.02);
    let (a, b) = (
        part.plane_section(origin, lean.0, lean.1).area(),
        pockets.plane_section(origin, lean.0, lean.1).area(),
    );
    assert!((a - b).abs() < 1e-9, "{a} and {b}");
    let drawn = part.surface().volume();
    assert!((drawn - part.volume()).abs() < 1e-9, "{drawn}");
    for k in 0..2000u32 {
        let at = |seed: u32, low: f64, high: f64| {
            low + (high - low) * f64::from(k.wrapping_mul(seed) % 9973) / 9973.0
        };
        let p = DVec3::new(
            at(7919, -0.16, 0.16),
            at(104_729, -0.11, 0.11),
            at(1_299_709, -0.12, 0.09),
        );
        assert_eq!(part.contains(p), pockets.contains(p), "{p}");
        let floors = (part.floor_under(p), pockets.floor_under(p));
        match floors {
            (Some(a), Some(b)) => assert!((a - b).abs() < 1e-9, "{p}: {floors:?}"),
            _ => assert_eq!(floors.0, floors.1, "{p}"),
        }
    }
}

#[test]
fn the_cells_of_a_part_with_a_block_are_those_of_the_pockets() {
    let tank = |cavity: Cavity| Tank {
        cavity,
        plates: vec![],
        doors: vec![],
        lifts: vec![],
    };
    let (part, pockets) = both();
    let (a, b) = (
        Lattice::of_tank(&tank(part), 0.007).unwrap(),
        Lattice::of_tank(&tank(pockets), 0.007).unwrap(),
    );
    assert_eq!((a.n, a.spaces.len()), (b.n, b.spaces.len()));
    for (x, y) in a.open_volume.iter().zip(&b.open_volume) {
        assert!((x - y).abs() < 1e-9, "{x} and {y}");
    }
    for axis in 0..3 {
        for (x, y) in a.open_area[axis].iter().zip(&b.open_area[axis]) {
            assert!((x - y).abs() < 1e-6, "axis {axis}: {x} and {y}");
        }
    }
}

#[test]
fn a_block_pocket_below_the_flange_is_refused() {
    let deep = pocket("crankcase", Side::Block, [-0.1, 0.1], [-0.1, 0.1], [-0.01, 0.08]);
    let faults = Cavity::from_part(block([-0.15, -0.1, -0.11], [0.15, 0.1, 0.0]), &[deep]).unwrap_err();
    assert!(
        faults[0]
            .to_string()
            .contains("\"crankcase\" reaches below the flange, down to -10.00 mm"),
        "{}",
        faults[0]
    );
}

#[test]
fn a_mesh_said_to_be_closed_is_proved() {
    let sound = block([0.0; 3], [0.3, 0.2, 0.1]);
    let mut open = sound.triangles().to_vec();
    open.pop();
    assert!(ClosedMesh::from_closed(sound.points().to_vec(), open).is_err());
    let mut twisted = sound.triangles().to_vec();
    twisted[3].swap(0, 1);
    assert!(ClosedMesh::from_closed(sound.points().to_vec(), twisted).is_err());
    let mut doubled = sound.triangles().to_vec();
    doubled.extend(sound.triangles());
    assert!(ClosedMesh::from_closed(sound.points().to_vec(), doubled).is_err());
}
