//! `[mesh]`: the cavity as a closed mesh, or the pan as a part whose oil side is made of it.

use std::path::Path;

use glam::DVec3;
use measure::Dimension::{Length, Volume};
use pan::mesh::ClosedMesh;
use pan::{Cavity, CavityFault, Pocket};
use solid::part::{Front, Origin as PlanOrigin, Stated, hole_number, way};
use solid::{Asked, Surface, Unit, UnitFrom};

use crate::design::ReadFile;
use crate::fault::Fault;
use crate::input::{InputLine, Origin};
use crate::section::{Bounds, Section, Shape};
use crate::solids::placed;
use crate::sources::{MESH_LIMIT, Sources, within};
use crate::tree::Value;

/// What `shows` says.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shows {
    Cavity,
    Part,
}

/// What the section came to.
pub(crate) struct Meshed {
    /// In the pan's axes.
    pub mesh: ClosedMesh,
    /// What was healed and should be looked at, one sentence each.
    pub healed: Vec<String>,
}

/// Which of the two the file shows; the cavity unless stated.
pub(crate) fn shows(section: &Section) -> Option<Shows> {
    section.choice(
        "shows",
        &[("cavity", Shows::Cavity), ("part", Shows::Part)],
        Some(("cavity", "the mesh is the oil's space itself unless it says part")),
    )
}

/// Reads the file with all that is stated about it. `any_size`: a tank, of which no size is to be expected.
pub(crate) fn read(
    section: &Section,
    shows: Option<Shows>,
    any_size: bool,
    root: &Path,
    sources: &Sources,
    files: &mut Vec<ReadFile>,
) -> Option<Meshed> {
    let file = section.text("file", "cavity.stl");
    let unit = unit(section);
    let usual = solid::Healing::default();
    let gap = section.quantity_or(
        "gap",
        Length,
        Bounds::within(0.0, 1e-3),
        usual.gap,
        "edges nearer than this are sewn together",
    );
    let hole = section.quantity_or(
        "hole",
        Length,
        Bounds::within(0.0, 0.2),
        usual.hole,
        "holes up to this across are closed flat",
    );
    // All that is stated is read before anything ends this, or more faults than there are would be told.
    let stated = match shows {
        Some(Shows::Cavity) => of_a_part_only(section).then_some(None),
        _ => part(section).map(Some),
    };
    let (file, stated) = (file?, stated?);
    shows?;
    let asked = Asked {
        unit: unit?,
        healing: solid::Healing {
            gap: gap?,
            hole: hole?,
        },
        any_size,
    };
    let place = section.place_of("file");
    let key = section.key("file");
    let path = within(root, &place.file, &file, &place, &key)
        .map_err(|fault| section.desk.fault(fault))
        .ok()?;
    let bytes = sources
        .named_by_design(&path, root, MESH_LIMIT, &place, &key)
        .map_err(|fault| section.desk.fault(fault))
        .ok()?;
    files.push(ReadFile {
        path: path.clone(),
        bytes,
    });
    let bytes: &[u8] = files.last().map_or(&[], |f| &f.bytes);
    let said = |fault: &solid::Fault| section.desk.fault(placed(fault, &path, place.clone(), &key));
    let surface = solid::read(bytes, &asked)
        .map_err(|refused| said(&refused.fault))
        .ok()?;
    tell(section, &surface);
    let mut healed = surface.source().said.clone();
    healed.extend(surface.healed().said());
    let mesh = match stated {
        Some(stated) => {
            let part = solid::part::understand(&surface, &stated)
                .map_err(|f| said(&f))
                .ok()?;
            derived(
                section,
                "oil side",
                section.show(part.volume, Volume),
                "up to the flange",
            );
            for line in &part.said {
                derived(section, "part", line.clone(), "found in the part's shape");
            }
            part.oil
        }
        None if !section.has("shows") && !any_size && solid::part::looks_like_a_part(&surface) => {
            let what = "the mesh looks like the pan itself, with a flange round a hollow, and not like the oil's space";
            let mend = "state shows = \"part\" to have its oil side found, or shows = \"cavity\" if it is the oil's space";
            section.fault("looks-like-a-part", "file", what.to_owned(), mend.to_owned());
            return None;
        }
        None => surface.into_mesh(),
    };
    match ClosedMesh::from_closed(mesh.points, mesh.triangles) {
        Ok(mesh) => Some(Meshed { mesh, healed }),
        Err(fault) => {
            let fault = CavityFault::Mesh(fault);
            section.fault("mesh", "file", fault.to_string(), fault.mend().to_owned());
            None
        }
    }
}

/// The cavity of a mesh, with the block's pockets over a part.
pub(crate) fn cavity(mesh: ClosedMesh, block: &[Pocket]) -> Result<Cavity, Vec<CavityFault>> {
    if block.is_empty() {
        Ok(Cavity::from_closed_mesh(mesh))
    } else {
        Cavity::from_part(mesh, block)
    }
}

fn unit(section: &Section) -> Option<Option<Unit>> {
    if !section.has("unit") {
        return Some(None);
    }
    let words = Unit::ALL.map(|unit| (unit.word(), unit));
    section.choice("unit", &words, None).map(Some)
}

/// Lists what the file was understood as.
fn tell(section: &Section, surface: &Surface) {
    let source = surface.source();
    if source.unit_from != UnitFrom::Stated {
        let reason = match source.unit_from {
            UnitFrom::File => "the file says so",
            _ => "the unit that gives the size of a pan",
        };
        derived(section, "unit", source.unit.word().to_owned(), reason);
    }
    let (low, high) = surface.bounds();
    let size = (high - low)
        .to_array()
        .map(|l| section.show(l, Length))
        .join(" x ");
    let shown = format!("{}, {} facets, {size}", source.format.word(), source.facets);
    derived(section, "solid", shown, "what the file holds");
}

fn derived(section: &Section, key: &str, shown: String, reason: &'static str) {
    section.desk.input(InputLine {
        key: section.key(key),
        text: String::new(),
        shown,
        origin: Origin::Derived(reason),
    });
}

/// False, with a fault each, when something is stated that a cavity has not.
fn of_a_part_only(section: &Section) -> bool {
    let mut sound = true;
    for key in ["up", "front", "flange", "origin", "opening", "flat"] {
        if section.has(key) {
            let what = format!("{key} is stated, but the mesh is the oil's space itself, in the pan's axes");
            let mend = format!(
                "leave {key} out, or state shows = \"part\" if the file shows the pan with its walls"
            );
            section.fault("not-a-part", key, what, mend);
            sound = false;
        }
    }
    sound
}

/// What is stated about a part.
fn part(section: &Section) -> Option<Stated> {
    let usual = Stated::default();
    let up = section.has("up").then(|| direction(section, "up"));
    let front = section.has("front").then(|| front(section));
    let flange = section.has("flange").then(|| section.point3("flange"));
    let origin = section.has("origin").then(|| origin(section));
    let opening = section.quantity_or(
        "opening",
        Length,
        Bounds::within(0.0, 0.3),
        usual.opening,
        "holes through the wall up to this across are closed: drain, dipstick, level sender",
    );
    let flat = section.quantity_or(
        "flat",
        Length,
        Bounds::above_to(0.0, 2e-3),
        usual.flat,
        "how far the flange's face may be off a plane",
    );
    Some(Stated {
        up: swapped(up)?,
        front: swapped(front)?,
        flange: swapped(flange)?,
        origin: swapped(origin)?,
        opening: opening?,
        flat: flat?,
    })
}

/// Not stated is fine, stated and wrong is not.
fn swapped<T>(stated: Option<Option<T>>) -> Option<Option<T>> {
    match stated {
        None => Some(None),
        Some(read) => read.map(Some),
    }
}

const WAYS: &str = "write +x, -x, +y, -y, +z or -z of the file, or three numbers such as [0, -1, 0]";

/// A direction of the file: a word, or three plain numbers.
fn direction(section: &Section, key: &'static str) -> Option<DVec3> {
    section.shaped(key, Shape::FileWay);
    let node = section.required(key, "\"+z\"")?;
    let found = match &node.value {
        Value::Text(word) => way(word),
        Value::List(parts) if parts.len() == 3 => {
            let numbers: Vec<f64> = parts
                .iter()
                .map(|part| section.number_in(key, part))
                .collect::<Option<_>>()?;
            DVec3::new(numbers[0], numbers[1], numbers[2]).try_normalize()
        }
        _ => None,
    };
    match found {
        Some(found) => section.note(key, node, solid::part::direction(found)),
        None => {
            let what = format!("{} is no direction", node.raw);
            section.fault("wrong-kind", key, what, WAYS.to_owned());
        }
    }
    found
}

/// A direction, or from one hole toward another.
fn front(section: &Section) -> Option<Front> {
    section.shaped("front", Shape::TwoHoles);
    section.shaped("front", Shape::FileWay);
    let node = section.required("front", "\"+x\"")?;
    if let Value::List(parts) = &node.value
        && let [Value::Text(from), Value::Text(to)] = [&parts.first()?.value, &parts.last()?.value]
    {
        return match (parts.len(), hole_number(from), hole_number(to)) {
            (2, Some(from), Some(to)) if from != to => {
                section.note("front", node, format!("from hole {from} toward hole {to}"));
                Some(Front::Holes(from, to))
            }
            _ => {
                let what = format!("{} are not two holes", node.raw);
                let mend = "write two different ones, such as [\"hole 3\", \"hole 9\"], as `sumpwright solid` numbers them";
                section.fault("wrong-kind", "front", what, mend.to_owned());
                None
            }
        };
    }
    direction(section, "front").map(Front::Way)
}

/// A place of the file, or a hole.
fn origin(section: &Section) -> Option<PlanOrigin> {
    section.shaped("origin", Shape::OneHole);
    section.shaped("origin", Shape::Row(vec![Length; 3]));
    let node = section.required("origin", "\"hole 1\"")?;
    if let Value::Text(words) = &node.value {
        let number = hole_number(words);
        match number {
            Some(number) => section.note("origin", node, format!("hole {number}")),
            None => {
                let what = format!("{} is no hole", node.raw);
                let mend = "write \"hole 3\", as `sumpwright solid` numbers them, or a place of the file";
                section.fault("wrong-kind", "origin", what, mend.to_owned());
            }
        }
        return number.map(PlanOrigin::Hole);
    }
    section.point3("origin").map(PlanOrigin::Place)
}

/// What was healed, as cautions of the design.
pub(crate) fn cautions(section: &Section, healed: &[String]) -> Vec<Fault> {
    let caution = |what: &String| Fault {
        id: "mesh-healed",
        place: section.place_of("file"),
        key: section.key("file"),
        what: format!("the mesh: {what}"),
        mend: "nothing need be done if that is what you expect; `sumpwright solid --picture` shows the solid"
            .to_owned(),
    };
    healed.iter().map(caution).collect()
}
