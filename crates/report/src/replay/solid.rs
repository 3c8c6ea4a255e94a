//! The pan's parts as triangles and lines for the replay.

use super::{Mesh, Parts, ReplayDoor};
use crate::section::without_doors;
use glam::{DVec2, DVec3};
use pan::{Cavity, Door, Pan, Plate, Region, Tank};

/// Shell, plates, doors and mouth of a pan.
pub fn parts_of(pan: &Pan) -> Parts {
    Parts {
        mouth: pan.mouth.at.to_array(),
        mouth_diameter: pan.mouth.diameter,
        ..hollow(&pan.cavity, &pan.plates, &pan.doors)
    }
}

/// Shell, plates and doors of a tank; it has no mouth, which stands as one without bore.
pub fn parts_of_tank(tank: &Tank) -> Parts {
    hollow(&tank.cavity, &tank.plates, &tank.doors)
}

fn hollow(cavity: &Cavity, plates: &[Plate], doors: &[Door]) -> Parts {
    let surface = cavity.surface();
    let mut shell = Mesh {
        points: surface.points.iter().map(|p| p.to_array()).collect(),
        triangles: surface.triangles,
        edges: Vec::new(),
    };
    for line in cavity.edges() {
        let first = shell.points.len() as u32;
        shell.points.extend(line.iter().map(|p| p.to_array()));
        shell
            .edges
            .extend((1..line.len() as u32).map(|i| [first + i - 1, first + i]));
    }
    let panels: Vec<_> = plates.iter().map(|p| p.panels()).collect();
    let plates = plates
        .iter()
        .enumerate()
        .map(|(i, plate)| {
            let mut mesh = Mesh::default();
            for panel in &panels[i] {
                flat(&mut mesh, &without_doors(doors, i, panel), &|p| panel.point(p));
            }
            (plate.name.clone(), mesh)
        })
        .collect();
    let doors = doors
        .iter()
        .filter_map(|door| {
            let flap = door.flap(panels.get(door.plate).and_then(|p| door.panel(p))?);
            let half = 0.5 * flap.width;
            let corners = [
                (0.0, -half),
                (0.0, half),
                (flap.length, half),
                (flap.length, -half),
            ];
            let corners = corners.map(|(out, side)| flap.point(0.0, out, side).to_array());
            Some(ReplayDoor {
                name: door.name.clone(),
                corners,
                hinge: flap.hinge.to_array(),
            })
        })
        .collect();
    Parts {
        shell,
        plates,
        doors,
        ..Parts::default()
    }
}

/// Adds a flat region with its rim.
fn flat(mesh: &mut Mesh, region: &Region, point: &dyn Fn(DVec2) -> DVec3) {
    for corners in region.triangles() {
        let first = mesh.points.len() as u32;
        mesh.points.extend(corners.map(|p| point(p).to_array()));
        mesh.triangles.push([first, first + 1, first + 2]);
    }
    for (a, b) in region.edges() {
        let first = mesh.points.len() as u32;
        mesh.points.extend([point(a).to_array(), point(b).to_array()]);
        mesh.edges.push([first, first + 1]);
    }
}
