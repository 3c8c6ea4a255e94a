//! The pan as solids for a trial fit, and its mass.

use clearance::outside::{self, Flange};
use job::Design;
use pan::cavity::Solid;
use pan::{Region, Side};
use report::findings::Warning;
use report::pictures;
use report::pictures::body::Cut;
use serde::Serialize;
use shop::body::{BodyFault, Drain, Making};
use shop::stock;

use super::{Folder, pages};
use crate::failure::Failure;

/// The flange of a design that states none [m]: thickness, width. Common practice, no source.
const USUAL_FLANGE: [f64; 2] = [8e-3, 20e-3];

/// Neighbouring facets that turn more than this show an edge [rad]; chords of radii turn less.
const SHARP: f64 = 0.35;

/// The pan as a solid.
#[derive(Debug, Serialize)]
pub struct BodyFacts {
    /// Metal [m³].
    pub volume: f64,
    /// Of what.
    pub metal: String,
    /// Mass [kg].
    pub mass: f64,
    /// Hollow below the flange [m³].
    pub cavity: f64,
    /// Facets of the body and of the cavity.
    pub facets: [usize; 2],
    /// Length along the engine, width across it, height [m].
    pub size: [f64; 3],
}

/// Makes the solids; `None` when the pan is not described by pockets.
pub fn make(design: &Design, folder: &mut Folder) -> Result<Option<BodyFacts>, Failure> {
    let Some(making) = making(design) else {
        folder.said.push(
            "no solid of the pan with its wall was made: its cavity came as a mesh, and a wall is put round pockets only; the \
             hollow itself is in the folder"
                .to_owned(),
        );
        if let Solid::Mesh(mesh) | Solid::MeshAndBlock(mesh, _) = design.pan.cavity.solid() {
            let hollow = solid::Mesh {
                points: mesh.points().to_vec(),
                triangles: mesh.triangles().to_vec(),
            };
            add_cavity(&design.name, &hollow, folder);
        }
        return Ok(None);
    };
    let wrong = |fault: BodyFault| wrong(design, &fault);
    let cavity = making.cavity().map_err(wrong)?;
    let body = making.body().map_err(wrong)?;
    let unit = "millimetres";
    let name = &design.name;
    folder.add(
        "body/pan.stl",
        &format!("the pan as a solid, {unit}: print it and offer it to the block"),
        body.to_stl(),
    );
    folder.add(
        "body/pan.3mf",
        "the same, its unit inside the file",
        body.to_3mf(name),
    );
    add_cavity(name, &cavity, folder);
    section(design, &making, &body, &cavity, folder)?;
    if making.bolts.is_empty() {
        folder.said.push(
            "the pan's solid has no bolt holes: no section states them; give bolts in [outside] or at in [seal.bolts]"
                .to_owned(),
        );
    }
    let tight = making.tight_heads(design.shop.body.head);
    if let Some(worst) = tight.iter().map(|(_, missing)| *missing).max_by(f64::total_cmp) {
        let bolts: Vec<String> = tight.iter().map(|(bolt, _)| bolt.to_string()).collect();
        folder.warnings.push(Warning {
            said: format!(
                "the wall under the flange leaves no room for bolt heads of {:.1} mm: up to {:.1} mm is missing at bolts {}",
                design.shop.body.head * 1e3,
                worst * 1e3,
                bolts.join(", ")
            ),
            mend: "make the wall thinner there, or move the bolts outward".to_owned(),
        });
    }
    let stuff = stock::named(design.shop.body.metal).expect("the key takes the words of the table only");
    let (low, high) = body.bounds().unwrap_or_default();
    let volume = body.volume();
    Ok(Some(BodyFacts {
        volume: to(1e9, volume),
        metal: stuff.name.to_owned(),
        mass: to(1e3, volume * stuff.density),
        cavity: to(1e9, cavity.volume()),
        facets: [body.triangles.len(), cavity.triangles.len()],
        size: (high - low).to_array().map(|v| to(1e6, v)),
    }))
}

/// Adds the hollow as a solid.
fn add_cavity(name: &str, cavity: &solid::Mesh, folder: &mut Folder) {
    folder.add(
        "body/cavity.stl",
        "the pan's hollow as a solid, millimetres: to be cut out of a block in CAM",
        cavity.to_stl(),
    );
    folder.add(
        "body/cavity.3mf",
        "the same, its unit inside the file",
        cavity.to_3mf(&format!("{name}, cavity")),
    );
}

/// Adds the section drawing.
fn section(
    design: &Design,
    making: &Making,
    body: &solid::Mesh,
    cavity: &solid::Mesh,
    folder: &mut Folder,
) -> Result<(), Failure> {
    let edges = cavity.sharp_edges(SHARP);
    let cut = Cut {
        name: &design.name,
        pan: &design.pan,
        making,
        body: (&body.points, &body.triangles),
        cavity: (&cavity.points, &cavity.triangles),
        edges: &edges,
        paper: design.shop.paper,
        units: design.units,
    };
    let Some(sheet) = pictures::body::body(&cut) else {
        folder
            .said
            .push("no section drawing was made: the pan does not fit on the sheet even at 1:20".to_owned());
        return Ok(());
    };
    pages::show(
        folder,
        "body/section",
        "the pan cut lengthwise and across, with its main sizes",
        &sheet,
    )
}

/// Rounded to a part of the unit: no false digits in what is handed out.
fn to(parts: f64, value: f64) -> f64 {
    (value * parts).round() / parts
}

/// What is to be made; `None` for a cavity that came as a mesh.
pub fn making(design: &Design) -> Option<Making> {
    let cavity = &design.pan.cavity;
    let pockets: Vec<_> = cavity
        .pockets()
        .iter()
        .filter(|p| p.side == Side::Pan)
        .cloned()
        .collect();
    if pockets.is_empty() {
        return None;
    }
    let body = &design.shop.body;
    let outside = design.clearances.as_ref().map(|c| &c.surroundings.outside);
    let (flange, flange_thickness) = match (&design.sealing, outside) {
        (Some(seal), _) => {
            let ring = [seal.outer.clone(), seal.inner.clone()].map(|l| Region::from_loops(&[l]));
            (ring[0].difference(&ring[1]), seal.thickness)
        }
        (None, Some(o)) => (outside::flange_plan(cavity, &o.flange), o.flange.thickness),
        (None, None) => {
            let [thickness, width] = USUAL_FLANGE;
            let usual = Flange {
                thickness,
                width,
                outline: None,
            };
            (outside::flange_plan(cavity, &usual), thickness)
        }
    };
    let drain = outside.and_then(|o| o.plug).map(|plug| Drain {
        at: plug.at,
        points: plug.points,
        hole: body.drain_hole,
        boss: plug.diameter,
    });
    Some(Making {
        pockets,
        wall: body.wall,
        floor: body.floor,
        round: body.round,
        draft: body.draft,
        flange,
        flange_thickness,
        bolts: body.bolts.clone(),
        hole: body.bolt_hole,
        boss: body.boss_diameter,
        boss_height: body.boss_height,
        drain,
    })
}

fn wrong(design: &Design, fault: &BodyFault) -> Failure {
    let place = |key: &str| format!("{}, {key}", design.shop.body.place);
    let bolts = match (&design.sealing, &design.clearances) {
        (Some(seal), _) => format!("{}, seal.bolts.at", seal.bolts.place),
        _ => place("outside.bolts"),
    };
    let at = match fault {
        BodyFault::NoPockets => place("pocket"),
        BodyFault::HoleMeetsCavity { .. } | BodyFault::HoleOverEdge { .. } => bolts,
        BodyFault::WallTooThick { .. } => place("shop.body.wall"),
        BodyFault::DrainMisses { .. } | BodyFault::DrainSlants => place("outside.drain_plug"),
        BodyFault::Touches { .. } => place("shop.body"),
    };
    Failure::input(fault.to_string(), at, fault.mend())
}
