//! Pans for the tests, all invented.

// Each test file uses its own part of these.
#![allow(dead_code)]

use glam::{DVec2, DVec3};
use pan::{
    Cavity, CrankSweep, Door, Hinge, Mouth, Outline, Pan, Plate, PlateShape, Pocket, ReturnPlace, Side,
};

/// A box pocket between two corners.
pub fn box_pocket(name: &str, low: DVec3, high: DVec3) -> Pocket {
    let corners = [(low.x, low.y), (high.x, low.y), (high.x, high.y), (low.x, high.y)];
    Pocket {
        name: name.into(),
        side: Side::Pan,
        outline: Outline {
            vertices: corners.map(|(x, y)| (DVec2::new(x, y), 0.0)).to_vec(),
        },
        z_low: low.z,
        z_high: high.z,
        draft: 0.0,
        corner_radius: 0.0,
        floor_radius: 0.0,
    }
}

/// A pan of pockets with nothing in it but a mouth.
pub fn bare(pockets: &[Pocket], mouth: DVec3) -> Pan {
    Pan {
        cavity: Cavity::from_pockets(pockets).unwrap(),
        plates: Vec::new(),
        doors: Vec::new(),
        mouth: Mouth {
            at: mouth,
            diameter: 0.02,
            outside: 0.023,
        },
        returns: Vec::new(),
        crank: None,
    }
}

/// A box `size` [m] with its low corner at the origin.
pub fn tank(size: [f64; 3], mouth: DVec3) -> Pan {
    bare(&[box_pocket("box", DVec3::ZERO, DVec3::from(size))], mouth)
}

/// A wall across the pan at y, from `z_low` to `z_high`, along x from `x_low` to `x_high`.
pub fn wall(name: &str, y: f64, x: (f64, f64), z: (f64, f64)) -> Plate {
    Plate {
        name: name.into(),
        shape: PlateShape::Wall {
            path: vec![DVec2::new(x.0, y), DVec2::new(x.1, y)],
            z_low: z.0,
            z_high: z.1,
        },
        thickness: 0.002,
        openings: Vec::new(),
        perforation: 0.0,
        perforation_hole: 0.0,
    }
}

/// About what a demo pan is: a shallow tray, a well with draft and radii, block space above, two walls in
/// the well with a door each, a return and a crank sweep.
pub fn demo() -> Pan {
    let well = Pocket {
        draft: 3.0_f64.to_radians(),
        corner_radius: 0.015,
        floor_radius: 0.008,
        ..box_pocket(
            "well",
            DVec3::new(-0.18, -0.13, -0.16),
            DVec3::new(0.10, 0.13, 0.0),
        )
    };
    let tray = Pocket {
        corner_radius: 0.010,
        ..box_pocket(
            "tray",
            DVec3::new(-0.20, -0.10, -0.06),
            DVec3::new(0.28, 0.10, 0.0),
        )
    };
    let block = Pocket {
        side: Side::Block,
        ..box_pocket(
            "block",
            DVec3::new(-0.20, -0.10, 0.0),
            DVec3::new(0.28, 0.10, 0.12),
        )
    };
    let door = |plate: usize, opens_positive: bool, name: &str| Door {
        name: name.into(),
        plate,
        low: DVec2::new(0.10, -0.145),
        high: DVec2::new(0.15, -0.105),
        hinge: Hinge::Top,
        opens_positive,
        mass: 0.03,
        stop: 1.0,
        gap: 0.0007,
        density: 2700.0,
        spring: [0.0; 2],
    };
    Pan {
        plates: vec![
            wall("A", -0.05, (-0.20, 0.12), (-0.16, -0.06)),
            wall("B", 0.05, (-0.20, 0.12), (-0.16, -0.06)),
        ],
        doors: vec![door(0, true, "1"), door(1, false, "2")],
        returns: vec![ReturnPlace {
            name: "front".into(),
            at: DVec3::new(0.2, 0.0, 0.1),
            diameter: 0.03,
        }],
        crank: Some(CrankSweep {
            origin: DVec3::new(0.0, 0.0, 0.06),
            axis: DVec3::X,
            profile: vec![(-0.18, 0.075), (0.26, 0.075)],
        }),
        ..bare(&[well, tray, block], DVec3::new(-0.05, 0.0, -0.150))
    }
}

/// The same pan seen in a mirror, left for right (boxes only: arcs would turn round).
pub fn mirrored(pan: &Pan) -> Pan {
    let flip = |p: DVec3| DVec3::new(p.x, -p.y, p.z);
    let pockets: Vec<Pocket> = pan
        .cavity
        .pockets()
        .iter()
        .map(|pocket| {
            let mut pocket = pocket.clone();
            for (corner, _) in &mut pocket.outline.vertices {
                corner.y = -corner.y;
            }
            pocket.outline.vertices.reverse();
            pocket
        })
        .collect();
    let mut twin = bare(&pockets, flip(pan.mouth.at));
    twin.mouth.diameter = pan.mouth.diameter;
    for plate in &pan.plates {
        let PlateShape::Wall { path, z_low, z_high } = &plate.shape else {
            panic!("walls only")
        };
        let path = path.iter().map(|p| DVec2::new(p.x, -p.y)).collect();
        let shape = PlateShape::Wall {
            path,
            z_low: *z_low,
            z_high: *z_high,
        };
        twin.plates.push(Plate {
            shape,
            ..plate.clone()
        });
    }
    twin
}
