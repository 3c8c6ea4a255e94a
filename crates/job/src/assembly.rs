//! From the merged tree of a design to the [`Design`].

use std::cell::RefCell;
use std::path::{Path, PathBuf};

use measure::UnitOrder;
use measure::frames::Installation;
use pan::mesh::ClosedMesh;
use pan::{Cavity, Door, Pan, Plate, Pocket, Side};

use crate::checks;
use crate::design::{Design, ReadFile};
use crate::experiment;
use crate::fault::Fault;
use crate::inherit::{self, Whole};
use crate::sealing;
use crate::section::{Built, Desk, Section, Shape};
use crate::sections::outline_file::Files;
use crate::sections::suction::Return;
use crate::sections::{doors, drive, engine, feed, limits, mesh, oil, plates, pockets, probes, suction};
use crate::shop;
use crate::sources::Sources;
use crate::surroundings;
use crate::tree::{Node, Value};

/// Date of the design format that this program reads.
pub const FORMAT: &str = "2026-11";

/// Reads the design at `path` with all that it names; the errors are all its faults.
pub fn read(path: &Path) -> Result<Design, Vec<Fault>> {
    read_from(path, &Sources::Disk)
}

/// The same, from other sources.
pub fn read_from(path: &Path, sources: &Sources) -> Result<Design, Vec<Fault>> {
    let whole = inherit::read(path, sources)?;
    match experiment::not_a_pan(&whole.tree) {
        Some(fault) => Err(vec![fault]),
        None => read_whole(whole, path, sources),
    }
}

/// The design in a merged tree.
pub(crate) fn read_whole(whole: Whole, path: &Path, sources: &Sources) -> Result<Design, Vec<Fault>> {
    read_variant(whole, path, sources, None)
}

/// The same for a variant of another design, whose cavity serves again where its pockets do.
pub(crate) fn read_variant(
    whole: Whole,
    path: &Path,
    sources: &Sources,
    other: Option<&Design>,
) -> Result<Design, Vec<Fault>> {
    let bases = whole.files.len() - 1;
    let mut files = read_files(whole.files);
    let mut desk = Desk::new(unit_order(&whole.tree));
    desk.built = other.map(|design| Built {
        pan: design.pan.clone(),
        found: design.found.clone(),
    });
    let design = on_desk(&desk, &whole.tree, path, sources, &mut files);
    let (faults, inputs) = desk.done();
    match design {
        Some(design) if faults.is_empty() => Ok(Design {
            inputs,
            files,
            bases,
            ..design
        }),
        _ => Err(in_order(faults)),
    }
}

/// Reads a merged tree; faults, inputs and what was asked lie on the desk then.
pub(crate) fn on_desk(
    desk: &Desk,
    tree: &Node,
    path: &Path,
    sources: &Sources,
    files: &mut Vec<ReadFile>,
) -> Option<Design> {
    let root = path.parent().unwrap_or(Path::new(""));
    let top = Section::open(desk, tree, String::new())?;
    design(top, root, sources, files)
}

/// Files of a merged tree as a design keeps them.
pub(crate) fn read_files(files: Vec<(PathBuf, Vec<u8>)>) -> Vec<ReadFile> {
    let file = |(path, bytes)| ReadFile { path, bytes };
    files.into_iter().map(file).collect()
}

/// By file and line, so that a person mends a file from top to bottom; the user's own file first.
pub(crate) fn in_order(mut faults: Vec<Fault>) -> Vec<Fault> {
    debug_assert!(!faults.is_empty(), "a design that cannot be built has a fault");
    let mut files: Vec<std::sync::Arc<Path>> = Vec::new();
    for fault in &faults {
        if !files.contains(&fault.place.file) {
            files.push(fault.place.file.clone());
        }
    }
    faults.sort_by_key(|f| (files.iter().position(|file| *file == f.place.file), f.place.line));
    faults.dedup();
    faults
}

/// The units that the tree asks for, before anything is shown; a wrong word is found later.
pub(crate) fn unit_order(tree: &Node) -> UnitOrder {
    if let Value::Table(table) = &tree.value
        && let Some(entry) = table.get("units")
        && let Value::Text(text) = &entry.node.value
        && text == "inch"
    {
        return UnitOrder::InchFirst;
    }
    UnitOrder::MetricFirst
}

/// The pan's parts with the sections that state them.
pub(crate) struct Parts<'t> {
    pub pockets: Vec<(Option<Pocket>, Section<'t>)>,
    pub plates: Vec<(Option<Plate>, Section<'t>)>,
    pub doors: Vec<(Option<Door>, Section<'t>)>,
    pub returns: Vec<(Option<Return>, Section<'t>)>,
    pub mesh: Option<Section<'t>>,
    /// What was healed of the mesh.
    pub healed: Vec<String>,
    pub pickup: Option<Section<'t>>,
    pub crank: Option<Section<'t>>,
    pub fill: Option<Section<'t>>,
}

impl Parts<'_> {
    /// Plates and doors, when all could be read.
    pub fn plates_and_doors(&self) -> (Option<Vec<Plate>>, Option<Vec<Door>>) {
        (
            self.plates.iter().map(|(plate, _)| plate.clone()).collect(),
            self.doors.iter().map(|(door, _)| door.clone()).collect(),
        )
    }

    /// What was healed of the mesh, as cautions.
    pub fn mesh_cautions(&self) -> Vec<Fault> {
        let cautions = |section| mesh::cautions(section, &self.healed);
        self.mesh.as_ref().map(cautions).unwrap_or_default()
    }

    pub fn finish(self) {
        let sections = |parts: Vec<Section>| parts.into_iter().for_each(Section::finish);
        sections(self.pockets.into_iter().map(|p| p.1).collect());
        sections(self.plates.into_iter().map(|p| p.1).collect());
        sections(self.doors.into_iter().map(|p| p.1).collect());
        sections(self.returns.into_iter().map(|p| p.1).collect());
        sections(
            [self.mesh, self.pickup, self.crank, self.fill]
                .into_iter()
                .flatten()
                .collect(),
        );
    }
}

fn design(top: Section, root: &Path, sources: &Sources, files: &mut Vec<ReadFile>) -> Option<Design> {
    format(&top);
    let name = top.text("name", "short name of the pan");
    base(&top);
    let notes = top.optional_text("notes").unwrap_or_default();
    let units = units(&top);
    top.choice(
        "kind",
        &[("pan", ())],
        Some(("pan", "a file describes a pan unless it says experiment")),
    );
    let engine = finished(top.required_below("engine", "name and redline"), engine::engine);
    let installation = finished(
        top.required_below("installation", "orientation = \"along\""),
        engine::installation,
    );
    let oil = finished(top.required_below("oil", "grade = \"10W-60\""), oil::oil);
    let pump = finished(top.required_below("pump", "displacement and relief_flow"), |s| {
        Some(oil::pump(s))
    });
    let aloft = finished(top.required_below("circuit", "aloft"), oil::aloft);

    let (cavity, parts) = read_parts(&top, root, sources, files);
    let mouth = parts.pickup.as_ref().and_then(suction::mouth);
    let crank = parts.crank.as_ref().and_then(suction::crank);
    let fill = parts.fill.as_ref().and_then(oil::fill);

    let car_stated = top.has("car");
    let car = finished(top.below("car"), |section| drive::car(section, engine.as_ref()));
    let drives = finished(top.required_below("drive", "log = \"saturday.csv\""), |section| {
        Some(drive::drive(
            section,
            car.as_ref(),
            car_stated,
            engine.as_ref(),
            root,
        ))
    });
    let clearances = surroundings::read(
        &top,
        root,
        sources,
        files,
        installation.as_ref().map(Installation::pan_from_car),
        crank.as_ref(),
        &parts
            .plates
            .iter()
            .map(|(_, section)| section.name())
            .collect::<Vec<_>>(),
    );
    let drawn = RefCell::new(Vec::new());
    let outline_files = Files {
        root,
        sources,
        read: &drawn,
    };
    let sealing = sealing::read(
        &top,
        &outline_files,
        cavity.as_ref(),
        clearances.as_ref().and_then(Option::as_ref),
    );
    let names = |sections: Vec<&Section>| sections.iter().map(|s| s.name()).collect::<Vec<_>>();
    let shop = shop::read(
        &top,
        &outline_files,
        sealing.as_ref().and_then(Option::as_ref),
        clearances.as_ref().and_then(Option::as_ref),
        root,
        sources,
        &names(parts.plates.iter().map(|(_, section)| section).collect()),
        &names(parts.doors.iter().map(|(_, section)| section).collect()),
    );
    files.extend(drawn.into_inner());
    let limits = finished(Some(top.below_or_empty("limits")), limits::read);

    let returns: Option<Vec<&Return>> = parts.returns.iter().map(|(r, _)| r.as_ref()).collect();
    let (aloft, allowance) = aloft.unzip();
    let circuit = returns.and_then(|returns| oil::circuit(&top, pump.unwrap_or_default(), aloft, &returns));
    let pan = build(cavity, &parts, mouth, crank);
    let mut cautions = parts.mesh_cautions();
    let found = pan.as_ref().map(|pan| match &top.desk.built {
        Some(built) if built.pan == *pan => built.found.clone(),
        _ => pan.check(),
    });
    let sound = (found.as_ref()).is_some_and(|found| checks::told(&top, &parts, found, &mut cautions));
    let floor = pan.as_ref().filter(|_| sound).and_then(Pan::mouth_over_floor);
    let feed_stated = top.has("feed");
    let feed = finished(top.below("feed"), |section| {
        feed::read(
            section,
            mouth.as_ref(),
            floor,
            pump.unwrap_or_default(),
            oil.as_ref(),
        )
    });
    // What is wrong with it stands on the desk; a pan that is not sound is told by itself.
    let feed = if feed_stated { feed.map(Some) } else { Some(None) };
    let probes = probes::read(&top, pan.as_ref().filter(|_| sound).map(|pan| &pan.cavity));
    if let (true, Some(pan), Some(installation), Some(fill)) = (sound, &pan, &installation, fill) {
        checks::at_rest(&parts, pan, installation, fill, &mut cautions);
    }
    if let (Some(circuit), Some(allowance), Some(fill)) = (&circuit, &allowance, fill) {
        checks::circuit(&top, &parts, circuit, allowance, fill, &mut cautions);
    }
    if let Some(oil) = &oil {
        checks::oil(&top, oil, &mut cautions);
    }
    // Read by `sumpwright study` alone.
    top.shaped("study", Shape::Section);
    top.node("study");
    parts.finish();
    top.finish();
    Some(Design {
        name: name?,
        notes,
        files: Vec::new(),
        bases: 0,
        units: units?,
        engine: engine?,
        installation: installation?,
        oil: oil?,
        circuit: circuit?,
        allowance: allowance?,
        pan: pan?,
        fill: fill?,
        car,
        drives: drives?,
        limits: limits?,
        probes: probes?,
        clearances: clearances?,
        feed: feed?,
        sealing: sealing?,
        shop: shop?,
        inputs: Vec::new(),
        cautions,
        found: found?,
    })
}

/// Reads a section and ends it.
pub(crate) fn finished<'t, T>(
    section: Option<Section<'t>>,
    read: impl FnOnce(&Section<'t>) -> Option<T>,
) -> Option<T> {
    let section = section?;
    let value = read(&section);
    section.finish();
    value
}

/// Which units stand first.
pub(crate) fn units(top: &Section) -> Option<UnitOrder> {
    top.choice(
        "units",
        &[("metric", UnitOrder::MetricFirst), ("inch", UnitOrder::InchFirst)],
        Some((
            "metric",
            "metric stands first unless stated; every quantity may be written in either",
        )),
    )
}

/// The work of `base` is done.
pub(crate) fn base(top: &Section) {
    top.shaped("base", Shape::Text);
    top.node("base");
}

pub(crate) fn format(top: &Section) {
    let Some(format) = top.text("format", FORMAT) else {
        return;
    };
    if format != FORMAT {
        let what = format!("the format \"{format}\" is not known");
        let mend =
            format!("this program reads format = \"{FORMAT}\"; a later program may have written the file");
        top.fault("unknown-format", "format", what, mend);
    }
}

/// The hollow with its plates and doors: all that a tank has. A tank may be of any size, a pan may not.
pub(crate) fn read_hollow<'t>(
    top: &Section<'t>,
    any_size: bool,
    root: &Path,
    sources: &Sources,
    files: &mut Vec<ReadFile>,
) -> (Option<Cavity>, Parts<'t>) {
    let mesh = top.below("mesh");
    let drawn = RefCell::new(Vec::new());
    let pockets = pockets::read(
        top,
        &Files {
            root,
            sources,
            read: &drawn,
        },
    );
    files.extend(drawn.into_inner());
    let mut healed = Vec::new();
    let cavity = match &mesh {
        Some(section) => {
            let shows = mesh::shows(section);
            let read = mesh::read(section, shows, any_size, root, sources, files);
            if shows == Some(mesh::Shows::Cavity) && !pockets.is_empty() {
                let what = "the cavity is given by pockets and by a mesh".to_owned();
                let mend = "keep the [[pocket]]s or the [mesh]; beside a part, shows = \"part\", pockets are the block's room";
                section.fault("stated-twice", "file", what, mend.to_owned());
                None
            } else {
                read.and_then(|read| {
                    healed = read.healed;
                    mesh_cavity(top, section, read.mesh, &pockets)
                })
            }
        }
        None => pocket_cavity(top, &pockets),
    };
    let plates = plates::read(top);
    let names: Vec<String> = plates.iter().map(|(_, section)| section.name()).collect();
    let plain: Vec<Option<Plate>> = plates.iter().map(|(plate, _)| plate.clone()).collect();
    let doors = doors::read(top, &names, &plain);
    let parts = Parts {
        pockets,
        plates,
        doors,
        returns: Vec::new(),
        mesh,
        healed,
        pickup: None,
        crank: None,
        fill: None,
    };
    (cavity, parts)
}

fn read_parts<'t>(
    top: &Section<'t>,
    root: &Path,
    sources: &Sources,
    files: &mut Vec<ReadFile>,
) -> (Option<Cavity>, Parts<'t>) {
    let (cavity, hollow) = read_hollow(top, false, root, sources, files);
    let pickup = top.required_below("pickup", "mouth and diameter");
    let returns = suction::returns(top);
    if returns.is_empty() {
        let what = "there is no place where oil comes home".to_owned();
        let mend = "add a [[return]] with name, at and diameter".to_owned();
        top.fault("missing-section", "return", what, mend);
    }
    let crank = top.below("crank");
    let fill = top.required_below("fill", "volume = \"5.2 L\"");
    (
        cavity,
        Parts {
            returns,
            pickup,
            crank,
            fill,
            ..hollow
        },
    )
}

fn pocket_cavity(top: &Section, pockets: &[(Option<Pocket>, Section)]) -> Option<Cavity> {
    if pockets.is_empty() {
        let what = "the pan has no cavity".to_owned();
        let mend = "add a [[pocket]] with rectangle, circle or outline, or a [mesh]".to_owned();
        top.fault("missing-section", "pocket", what, mend);
        return None;
    }
    // One wrong pocket is reported by itself; a cavity without it would raise false alarms.
    let sound: Vec<Pocket> = pockets
        .iter()
        .map(|(pocket, _)| pocket.clone())
        .collect::<Option<_>>()?;
    if let Some(built) = &top.desk.built
        && built.pan.cavity.is_of(&sound)
    {
        return Some(built.pan.cavity.clone());
    }
    match Cavity::from_pockets(&sound) {
        Ok(cavity) => Some(cavity),
        Err(faults) => {
            for fault in faults {
                let pan::Part::Pocket(index) = fault.part() else {
                    top.fault("pocket", "pocket", fault.to_string(), fault.mend().to_owned());
                    continue;
                };
                pockets[index]
                    .1
                    .fault("pocket", "", fault.to_string(), fault.mend().to_owned());
            }
            None
        }
    }
}

/// The cavity of a mesh, and over a part the block's room.
fn mesh_cavity(
    top: &Section,
    section: &Section,
    mesh: ClosedMesh,
    pockets: &[(Option<Pocket>, Section)],
) -> Option<Cavity> {
    let mut sound = true;
    for (pocket, stated) in pockets {
        if pocket.as_ref().is_some_and(|p| p.side == Side::Pan) {
            let what = "the pan is given by a pocket and by a part".to_owned();
            let mend = "say side = \"block\" if it is room above the flange; else leave it out".to_owned();
            stated.fault("stated-twice", "side", what, mend);
            sound = false;
        }
    }
    let block: Vec<Pocket> = pockets
        .iter()
        .map(|(pocket, _)| pocket.clone())
        .collect::<Option<_>>()?;
    if !sound {
        return None;
    }
    let faults = match mesh::cavity(mesh, &block) {
        Ok(cavity) => return Some(cavity),
        Err(faults) => faults,
    };
    for fault in faults {
        let stated = match fault.part() {
            pan::Part::Pocket(index) => &pockets[index].1,
            pan::Part::Mesh => section,
            _ => top,
        };
        stated.fault("pocket", "", fault.to_string(), fault.mend().to_owned());
    }
    None
}

/// The pan, when every part of it could be read.
fn build(
    cavity: Option<Cavity>,
    parts: &Parts,
    mouth: Option<pan::Mouth>,
    crank: Option<pan::CrankSweep>,
) -> Option<Pan> {
    let (plates, doors) = parts.plates_and_doors();
    let returns: Option<Vec<pan::ReturnPlace>> = parts
        .returns
        .iter()
        .map(|(r, _)| r.as_ref().map(|r| r.place.clone()))
        .collect();
    if parts.crank.is_some() && crank.is_none() {
        return None;
    }
    Some(Pan {
        cavity: cavity?,
        plates: plates?,
        doors: doors?,
        mouth: mouth?,
        returns: returns?,
        crank,
    })
}
