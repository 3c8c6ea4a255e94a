//! A small workshop of pans for the tests.
#![allow(dead_code)] // Each test file uses its own part of this.

use glam::{DVec2, DVec3};
use sumpwright_pan::*;

pub fn pocket(name: &str, low: DVec2, high: DVec2, z_low: f64, z_high: f64) -> Pocket {
    Pocket {
        name: name.into(),
        side: if z_low < 0.0 { Side::Pan } else { Side::Block },
        outline: Outline::rectangle(low, high),
        z_low,
        z_high,
        draft: 0.0,
        corner_radius: 0.0,
        floor_radius: 0.0,
    }
}

/// A box of the given sides with its low corner at the origin shifted by `at`.
pub fn box_cavity(at: DVec3, size: DVec3) -> Cavity {
    let p = pocket("box", at.truncate(), (at + size).truncate(), at.z, at.z + size.z);
    Cavity::from_pockets(&[p]).unwrap()
}

pub fn wall(name: &str, path: &[(f64, f64)], z_low: f64, z_high: f64) -> Plate {
    let path = path.iter().map(|p| DVec2::new(p.0, p.1)).collect();
    plate(name, PlateShape::Wall { path, z_low, z_high })
}

pub fn plate(name: &str, shape: PlateShape) -> Plate {
    Plate {
        name: name.into(),
        shape,
        thickness: 0.002,
        openings: Vec::new(),
        perforation: 0.0,
        perforation_hole: 0.0,
    }
}

pub fn pan(cavity: Cavity, plates: Vec<Plate>, mouth: DVec3) -> Pan {
    let mouth = Mouth {
        at: mouth,
        diameter: 0.02,
        outside: 0.023,
    };
    Pan {
        cavity,
        plates,
        doors: Vec::new(),
        mouth,
        returns: Vec::new(),
        crank: None,
    }
}

/// A shop's pan: well 400 × 250 × 150 mm, block space over it, four walls round the pickup with a door in each
/// of two, a roof with drain slots, a return at each end.
pub fn shop_pan() -> Pan {
    let well = pocket(
        "well",
        DVec2::new(-0.2, -0.125),
        DVec2::new(0.2, 0.125),
        -0.15,
        0.0,
    );
    let block = pocket("block", DVec2::new(-0.21, -0.1), DVec2::new(0.21, 0.1), 0.0, 0.15);
    let cavity = Cavity::from_pockets(&[well, block]).unwrap();
    let mut roof = plate(
        "roof",
        PlateShape::Shelf {
            outline: Outline::rectangle(DVec2::new(-0.2, -0.125), DVec2::new(0.2, 0.125)),
            z: -0.053,
        },
    );
    for x in [-0.15, -0.05, 0.05, 0.15] {
        roof.openings.push(Opening::Slot {
            from: DVec2::new(x, -0.1),
            to: DVec2::new(x, -0.06),
            width: 0.012,
        });
    }
    let mut left = wall("left wall", &[(-0.2, 0.06), (0.2, 0.06)], -0.15, -0.053);
    left.openings.push(Opening::Hole {
        at: DVec2::new(0.1, -0.14),
        diameter: 0.01,
    });
    let right = wall("right wall", &[(-0.2, -0.06), (0.2, -0.06)], -0.15, -0.053);
    let door = |name: &str, plate: usize, opens_positive: bool| Door {
        name: name.into(),
        plate,
        low: DVec2::new(0.15, -0.148),
        high: DVec2::new(0.25, -0.108),
        hinge: Hinge::Top,
        opens_positive,
        mass: 0.03,
        stop: 1.05,
        gap: 0.0005,
        density: 2700.0,
        spring: [0.0; 2],
    };
    let place = |name: &str, x: f64| ReturnPlace {
        name: name.into(),
        at: DVec3::new(x, 0.05, 0.1),
        diameter: 0.03,
    };
    let mut p = pan(cavity, vec![roof, left, right], DVec3::new(0.0, 0.0, -0.141));
    p.doors = vec![door("left door", 1, false), door("right door", 2, true)];
    p.returns = vec![place("front", 0.15), place("rear", -0.15)];
    p.crank = Some(CrankSweep {
        origin: DVec3::new(-0.2, 0.0, 0.07),
        axis: DVec3::X,
        profile: vec![(0.0, 0.075), (0.4, 0.075)],
    });
    p
}

/// The pan seen in a mirror along y.
pub fn mirrored(p: &Pan) -> Pan {
    let m2 = |v: DVec2| DVec2::new(v.x, -v.y);
    let m3 = |v: DVec3| DVec3::new(v.x, -v.y, v.z);
    let outline = |o: &Outline| {
        let n = o.vertices.len();
        // Backwards, so that it stays counter-clockwise; each bulge moves to the other end of its segment.
        let at = |i: usize| (m2(o.vertices[n - 1 - i].0), o.vertices[(2 * n - 2 - i) % n].1);
        Outline {
            vertices: (0..n).map(at).collect(),
        }
    };
    let pockets: Vec<Pocket> = p
        .cavity
        .pockets()
        .iter()
        .map(|k| Pocket {
            outline: outline(&k.outline),
            ..k.clone()
        })
        .collect();
    let mut q = p.clone();
    q.cavity = Cavity::from_pockets(&pockets).unwrap();
    for plate in &mut q.plates {
        // A wall keeps its walking direction, so its positive side swaps; shelves mirror their openings.
        match &mut plate.shape {
            PlateShape::Wall { path, .. } => path.iter_mut().for_each(|v| *v = m2(*v)),
            PlateShape::Shelf { outline: o, .. } => {
                *o = outline(o);
                for opening in &mut plate.openings {
                    *opening = match opening {
                        Opening::Hole { at, diameter } => Opening::Hole {
                            at: m2(*at),
                            diameter: *diameter,
                        },
                        Opening::Slot { from, to, width } => Opening::Slot {
                            from: m2(*from),
                            to: m2(*to),
                            width: *width,
                        },
                        Opening::Notch { low, high } => Opening::Notch {
                            low: DVec2::new(low.x, -high.y),
                            high: DVec2::new(high.x, -low.y),
                        },
                    };
                }
            }
            PlateShape::Sheet { corners } => {
                // The first edge must stay the first, so that plate coordinates keep their sense along it.
                corners.iter_mut().for_each(|v| *v = m3(*v));
            }
        }
    }
    for d in &mut q.doors {
        d.opens_positive = !d.opens_positive;
    }
    q.mouth.at = m3(q.mouth.at);
    q.returns.iter_mut().for_each(|r| r.at = m3(r.at));
    if let Some(c) = &mut q.crank {
        (c.origin, c.axis) = (m3(c.origin), m3(c.axis));
    }
    q
}

/// A bumpy ball: an octahedron split `times` over, corners pushed out by `radius(direction)`.
pub fn ball(times: usize, radius: impl Fn(DVec3) -> f64) -> (Vec<DVec3>, Vec<[u32; 3]>) {
    let mut points = vec![
        DVec3::X,
        DVec3::Y,
        DVec3::Z,
        DVec3::NEG_X,
        DVec3::NEG_Y,
        DVec3::NEG_Z,
    ];
    let mut triangles: Vec<[u32; 3]> = vec![
        [0, 1, 2],
        [1, 3, 2],
        [3, 4, 2],
        [4, 0, 2],
        [1, 0, 5],
        [3, 1, 5],
        [4, 3, 5],
        [0, 4, 5],
    ];
    for _ in 0..times {
        let mut middles = std::collections::HashMap::new();
        let mut next = Vec::new();
        for t in &triangles {
            let mut middle = |a: u32, b: u32| {
                *middles.entry((a.min(b), a.max(b))).or_insert_with(|| {
                    points.push((points[a as usize] + points[b as usize]).normalize());
                    points.len() as u32 - 1
                })
            };
            let (ab, bc, ca) = (middle(t[0], t[1]), middle(t[1], t[2]), middle(t[2], t[0]));
            next.extend([[t[0], ab, ca], [t[1], bc, ab], [t[2], ca, bc], [ab, bc, ca]]);
        }
        triangles = next;
    }
    let points = points.into_iter().map(|p| p * radius(p)).collect();
    (points, triangles)
}

/// A box as a mesh, its floor sloping: corners at z_low(x).
pub fn box_mesh(low: DVec3, high: DVec3, floor: impl Fn(f64) -> f64) -> (Vec<DVec3>, Vec<[u32; 3]>) {
    let mut points = Vec::new();
    for z in [0, 1] {
        for (x, y) in [(low.x, low.y), (high.x, low.y), (high.x, high.y), (low.x, high.y)] {
            points.push(DVec3::new(x, y, if z == 0 { floor(x) } else { high.z }));
        }
    }
    let quads = [
        [0, 3, 2, 1],
        [4, 5, 6, 7],
        [0, 1, 5, 4],
        [1, 2, 6, 5],
        [2, 3, 7, 6],
        [3, 0, 4, 7],
    ];
    let triangles = quads
        .iter()
        .flat_map(|q: &[u32; 4]| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]])
        .collect();
    (points, triangles)
}
