//! The pan as it stands with its changes, and what can be changed in it.

use super::House;
use super::controls;
use super::shelf::{Bench, Made};
use crate::commands::diff;
use crate::store::open_shares;
use glam::DVec3;
use measure::UnitOrder;
use pan::{CrankSweep, Pan};
use report::replay::{Mesh, code, parts_of};
use serve::wire::{
    DoorWire, MeshWire, MouthWire, PanAnswer, PlateWire, SceneWire, SpaceWire, SweepWire, Variant,
};
use serve::workshop::Answer;

/// The answer.
pub fn pan(house: &House, variant: &Variant) -> Answer<PanAnswer> {
    let shelf = &house.shelf;
    let bench = shelf.bench(variant)?;
    let grid = shelf.grid(&bench)?;
    let scene = grid.scene.get_or_init(|| scene(&grid.pan, grid.parts())).clone();
    let (reading, prepared) = (&bench.reading, &bench.prepared);
    Ok(PanAnswer {
        name: prepared.design.name.clone(),
        digest: reading.digest.clone(),
        units: match prepared.design.units {
            UnitOrder::MetricFirst => "metric",
            UnitOrder::InchFirst => "inch",
        }
        .to_owned(),
        scene: SceneWire {
            car_forward: flat(prepared.pan_from_car * DVec3::X),
            car_up: flat(prepared.up),
            ..scene
        },
        controls: controls::controls(house, &bench)?,
        notes: prepared.warnings.clone(),
        differences: differences(&bench),
    })
}

/// What the changes come to against the file.
fn differences(bench: &Bench) -> Vec<String> {
    if bench.changes.is_empty() {
        return Vec::new();
    }
    diff::sentences(&bench.reading.base, &bench.prepared)
}

/// Cells, spaces and parts; the car's directions are left to the bench.
fn scene(pan: &Pan, made: &Made) -> SceneWire {
    let lattice = &made.gridded.lattice;
    let parts = parts_of(pan);
    let open = code::levels(&open_shares(lattice), None);
    let space_of: Vec<u8> = (open.iter().zip(&lattice.space_of))
        .filter(|(level, _)| **level > 0)
        .map(|(_, space)| u8::try_from(*space).unwrap_or(u8::MAX))
        .collect();
    let plates = parts.plates.iter().map(|(name, mesh)| PlateWire {
        name: name.clone(),
        mesh: self::mesh(mesh),
    });
    let doors = parts.doors.iter().map(|door| DoorWire {
        name: door.name.clone(),
        corners: door.corners.iter().flatten().map(|v| *v as f32).collect(),
        hinge: door.hinge.iter().map(|v| *v as f32).collect(),
    });
    let spaces = made.network.bays.iter().map(|bay| SpaceWire {
        name: bay.name.clone(),
        volume: bay.levels.volume,
        middle: flat(bay.levels.middle),
        mouth: bay.has_mouth,
    });
    SceneWire {
        n: lattice.n.map(|n| n as u32),
        cell: lattice.cell as f32,
        origin: flat(lattice.origin),
        open: code::base64(&code::pack(&[open])),
        space_of: code::base64(&space_of),
        shell: mesh(&parts.shell),
        plates: plates.collect(),
        doors: doors.collect(),
        mouth: Some(MouthWire {
            at: flat(pan.mouth.at),
            diameter: pan.mouth.diameter as f32,
        }),
        crank: pan.crank.as_ref().and_then(sweep),
        car_forward: [1.0, 0.0, 0.0],
        car_up: [0.0, 0.0, 1.0],
        spaces: spaces.collect(),
    }
}

/// A sweep as the cylinder round it.
pub(super) fn sweep(crank: &CrankSweep) -> Option<SweepWire> {
    let (first, last) = (crank.profile.first()?, crank.profile.last()?);
    let radius = crank
        .profile
        .iter()
        .map(|(_, radius)| *radius)
        .fold(0.0, f64::max);
    Some(SweepWire {
        ends: [first, last].map(|(station, _)| flat(crank.origin + *station * crank.axis)),
        radius: radius as f32,
    })
}

/// A surface as it passes over the wire.
pub(super) fn mesh(mesh: &Mesh) -> MeshWire {
    MeshWire {
        points: mesh.points.iter().flatten().map(|v| *v as f32).collect(),
        triangles: mesh.triangles.iter().flatten().copied().collect(),
        edges: mesh.edges.iter().flatten().copied().collect(),
    }
}

pub(super) fn flat(v: DVec3) -> [f32; 3] {
    v.as_vec3().to_array()
}
