//! An experiment: a tank, a liquid, how it lies at the start, how the tank is moved, what is measured.
//!
//! The same file format as a pan's design with `kind = "experiment"` at its head; pockets, plates and doors are
//! those of a pan. There is no engine, pump, pickup or car.

use std::path::Path;

use ::drive::Drive;
use ::oil::fluid::Fluid;
use ::pan::{Block, Probe, Tank};
use measure::Dimension::Length;
use measure::UnitOrder;

use crate::assembly::{self, Parts, finished};
use crate::checks;
use crate::design::{Design, ReadFile};
use crate::fault::{Fault, Place};
use crate::inherit::{self, Whole};
use crate::input::InputLine;
use crate::section::{Bounds, Desk, Section, Shape};
use crate::sections::{lifts, liquid, motions, probes, start};
use crate::sources::Sources;
use crate::tree::{Node, Value};

/// What a design file describes.
#[derive(Clone, Debug)]
pub enum Job {
    /// A pan in a car.
    Pan(Box<Design>),
    /// A tank in a laboratory.
    Experiment(Box<Experiment>),
}

/// Everything that one experiment's file says.
#[derive(Clone, Debug)]
pub struct Experiment {
    /// Name for people.
    pub name: String,
    /// What the user wrote about it, its source above all; may be empty.
    pub notes: String,
    /// Every file read: the experiment itself as the user named it, its bases, its mesh, its motion records.
    pub files: Vec<ReadFile>,
    /// How many of `files` are bases.
    pub bases: usize,
    /// Which units stand first when quantities are shown.
    pub units: UnitOrder,
    /// Hollow, plates, doors.
    pub tank: Tank,
    /// Cell edge to compute with [m].
    pub cell: f64,
    /// Whether walls rub; false for a slice of something wide.
    pub walls_rub: bool,
    /// Name of the liquid.
    pub liquid: String,
    /// The liquid.
    pub fluid: Fluid,
    /// How it lies at the start.
    pub start: Start,
    /// What the liquid feels, in the tank's frame, from time zero.
    pub drive: Drive,
    /// What is measured.
    pub probes: Vec<Probe>,
    /// Every input, in the order of the sections, defaults with their reason.
    pub inputs: Vec<InputLine>,
    /// What can be computed but looks wrong.
    pub cautions: Vec<Fault>,
}

/// The liquid at the start.
#[derive(Clone, Debug, PartialEq)]
pub enum Start {
    /// This much [m³], level.
    Volume(f64),
    /// What these boxes hold, let go at time zero.
    Boxes(Vec<Block>),
}

/// Reads the file at `path`, whatever it describes; the errors are all its faults.
pub fn read_any(path: &Path) -> Result<Job, Vec<Fault>> {
    read_any_from(path, &Sources::Disk)
}

/// The same, from other sources.
pub fn read_any_from(path: &Path, sources: &Sources) -> Result<Job, Vec<Fault>> {
    let whole = inherit::read(path, sources)?;
    if is_experiment(&whole.tree) {
        let experiment = read_whole(whole, path, sources)?;
        Ok(Job::Experiment(Box::new(experiment)))
    } else {
        match not_a_pan(&whole.tree) {
            Some(fault) => Err(vec![fault]),
            None => Ok(Job::Pan(Box::new(assembly::read_whole(whole, path, sources)?))),
        }
    }
}

/// The fault of taking an experiment or a study for a pan.
pub(crate) fn not_a_pan(tree: &Node) -> Option<Fault> {
    if kind(tree).is_some_and(|(word, _)| word == "study") {
        return Some(Fault {
            id: "study",
            place: kind(tree).map_or_else(|| tree.place.clone(), |(_, place)| place),
            key: "kind".to_owned(),
            what: "this file describes a study, not a pan".to_owned(),
            mend: "run it with `sumpwright study`, or name the design of a pan".to_owned(),
        });
    }
    is_experiment(tree).then(|| Fault {
        id: "experiment",
        place: kind(tree).map_or_else(|| tree.place.clone(), |(_, place)| place),
        key: "kind".to_owned(),
        what: "this file describes an experiment, which has no pickup to judge".to_owned(),
        mend: "compute it with `sumpwright slosh`, or name the design of a pan".to_owned(),
    })
}

fn is_experiment(tree: &Node) -> bool {
    kind(tree).is_some_and(|(word, _)| word == "experiment")
}

fn kind(tree: &Node) -> Option<(&str, Place)> {
    let Value::Table(table) = &tree.value else {
        return None;
    };
    let entry = table.get("kind")?;
    match &entry.node.value {
        Value::Text(word) => Some((word, entry.place.clone())),
        _ => None,
    }
}

fn read_whole(whole: Whole, path: &Path, sources: &Sources) -> Result<Experiment, Vec<Fault>> {
    let bases = whole.files.len() - 1;
    let mut files = assembly::read_files(whole.files);
    let desk = Desk::new(assembly::unit_order(&whole.tree));
    let found = on_desk(&desk, &whole.tree, path, sources, &mut files);
    let (faults, inputs) = desk.done();
    match found {
        Some(found) if faults.is_empty() => Ok(Experiment {
            inputs,
            files,
            bases,
            ..found
        }),
        _ => Err(assembly::in_order(faults)),
    }
}

/// Reads a merged tree; faults, inputs and what was asked lie on the desk then.
pub(crate) fn on_desk(
    desk: &Desk,
    tree: &Node,
    path: &Path,
    sources: &Sources,
    files: &mut Vec<ReadFile>,
) -> Option<Experiment> {
    let root = path.parent().unwrap_or(Path::new(""));
    let top = Section::open(desk, tree, String::new())?;
    experiment(top, root, sources, files)
}

fn experiment(top: Section, root: &Path, sources: &Sources, files: &mut Vec<ReadFile>) -> Option<Experiment> {
    assembly::format(&top);
    top.shaped("kind", Shape::Words(vec!["experiment"]));
    top.node("kind"); // its work is done
    let name = top.text("name", "short name of the experiment");
    assembly::base(&top);
    let notes = top.optional_text("notes").unwrap_or_default();
    let units = assembly::units(&top);
    let liquid = liquid::read(&top);
    let (cavity, parts) = assembly::read_hollow(&top, true, root, sources, files);
    let settings = finished(top.required_below("tank", "cell = \"5 mm\""), |section| {
        Some((
            section.quantity("cell", Length, Bounds::within(1e-4, 0.5)),
            section.choice(
                "walls",
                &[("rub", true), ("slip", false)],
                Some(("rub", "walls rub unless stated")),
            ),
        ))
    });
    let tank = tank(cavity, &parts);
    let mut cautions = parts.mesh_cautions();
    let sound = tank
        .as_ref()
        .is_some_and(|tank| checks::told(&top, &parts, &tank.check(), &mut cautions));
    let hollow = tank.as_ref().filter(|_| sound).map(|tank| &tank.cavity);
    let start = finished(top.required_below("start", "level = \"93 mm\""), |section| {
        start::read(section, hollow)
    });
    let drive = finished(top.required_below("drive", "length = \"2 s\""), |section| {
        motions::drive(section, &name.clone().unwrap_or_default(), root, sources, files)
    });
    let probes = probes::read(&top, hollow);
    parts.finish();
    top.finish();
    let (cell, walls_rub) = settings?;
    let (liquid, fluid) = liquid?;
    Some(Experiment {
        name: name?,
        notes,
        files: Vec::new(),
        bases: 0,
        units: units?,
        tank: tank?,
        cell: cell?,
        walls_rub: walls_rub?,
        liquid,
        fluid,
        start: start?,
        drive: drive?,
        probes: probes?,
        inputs: Vec::new(),
        cautions,
    })
}

/// The tank, when every part of it could be read.
fn tank(cavity: Option<::pan::Cavity>, parts: &Parts) -> Option<Tank> {
    let (plates, doors) = parts.plates_and_doors();
    let lifts = lifts::read(&parts.plates, &parts.doors);
    Some(Tank {
        cavity: cavity?,
        plates: plates?,
        doors: doors?,
        lifts: lifts?,
    })
}
