//! A revision names its base and states only what changes.
//!
//! Tables merge key by key, the revision's value standing over the base's. The lists of named parts
//! (pockets, plates, doors, returns, manoeuvres, motions, probes, start boxes, keep-outs, tasks, people, routes) merge by `name`: a part of the same name changes only the
//! keys it states, a new name adds a part, `remove = true` drops one. Every other list is replaced whole.
//! Where a part may be described in one of several ways (a pocket by rectangle, circle or outline), stating
//! one way drops the base's other ways.

use std::path::{Path, PathBuf};

use crate::fault::{Fault, Place};
use crate::sources::{self, DESIGN_LIMIT, Sources};
use crate::tree::{self, Entry, Node, Table, Value};

/// Lists whose entries carry a name and merge by it.
const NAMED: [&str; 14] = [
    "pocket",
    "plate",
    "door",
    "return",
    "manoeuvre",
    "motion",
    "probe",
    "box",
    "keep_out",
    "vary",
    "unsure",
    "task",
    "person",
    "route",
];

/// Ways to describe the same thing: of each row at most one is meant. A way is a key and those that only go with it.
const ALTERNATIVES: [(&str, &[&[&str]]); 19] = [
    ("", &[&["pocket"], &["mesh"]]),
    ("", &[&["liquid"], &["oil"]]),
    ("start", &[&["level"], &["volume"], &["box"]]),
    (
        "motion",
        &[&["record", "smoothing"], &["amplitude", "period", "ramp"]],
    ),
    ("pocket", &[&["rectangle"], &["circle"], &["outline"]]),
    ("plate", &[&["wall"], &["shelf"], &["sheet"]]),
    ("oil", &[&["grade"], &["viscosity"]]),
    ("crank", &[&["radius"], &["profile"]]),
    ("feed", &[&["corners", "bend_radius"], &["tube"]]),
    ("screen", &[&["wire", "opening"], &["hole", "open", "thickness"]]),
    (
        "car",
        &[
            &["gearing"],
            &["gears", "final_drive", "tyre_radius", "shift"],
            &["engine_speed"],
        ],
    ),
    (
        "keep_out",
        &[
            &["box"],
            &["cylinder"],
            &["tube"],
            &["plane"],
            &["road"],
            &["swing"],
            &["mesh"],
        ],
    ),
    ("outside", &[&["flange_width"], &["flange_outline"]]),
    ("rods", &[&["big_end", "cap", "bolts"], &["outline"]]),
    ("route", &[&["holds"], &["design"]]),
    ("vary", &[&["key"], &["keys"], &["what"]]),
    ("vary", &[&["range", "step", "steps"], &["values"]]),
    ("unsure", &[&["key"], &["keys"], &["what"]]),
    ("unsure", &[&["range"], &["triangular"], &["normal"]]),
];

/// Longest chain of bases.
const LONGEST: usize = 16;

/// Keys that only some words of another key have: stating that key anew drops the base's.
const FOLLOWERS: [(&str, &str, &[&str]); 2] = [
    ("feed", "entry", &["cone_length", "edge_radius"]),
    ("joint", "seal", &["thickness", "cord", "groove"]),
];

/// The merged tree of a design.
#[derive(Clone)]
pub(crate) struct Whole {
    pub tree: Node,
    /// Every file read, the user's first, then its bases in order, with their bytes.
    pub files: Vec<(PathBuf, Vec<u8>)>,
}

/// Reads the design at `path` with all its bases.
pub(crate) fn read(path: &Path, sources: &Sources) -> Result<Whole, Vec<Fault>> {
    let root = path.parent().unwrap_or(Path::new(""));
    let mut files: Vec<(PathBuf, Vec<u8>)> = Vec::new();
    let mut trees: Vec<Node> = Vec::new();
    let mut next = Some((path.to_path_buf(), None::<Place>));
    while let Some((file, named_at)) = next.take() {
        let bytes = match &named_at {
            None => sources.named_by_user(&file, DESIGN_LIMIT),
            Some(place) => sources.named_by_design(&file, root, DESIGN_LIMIT, place, "base"),
        }
        .map_err(|fault| vec![fault])?;
        let place = Place::file(file.clone());
        let text = sources::text(bytes.clone(), &place).map_err(|fault| vec![fault])?;
        let tree = tree::parse(&text, &place).map_err(|fault| vec![fault])?;
        files.push((file.clone(), bytes));
        if let Some((named, place)) = base(&tree).map_err(|fault| vec![fault])? {
            let base = sources::within(root, &file, &named, &place, "base").map_err(|fault| vec![fault])?;
            if let Some(fault) = loop_fault(&files, &base, &place) {
                return Err(vec![fault]);
            }
            next = Some((base, Some(place)));
        }
        trees.push(tree);
    }
    let mut faults = Vec::new();
    let mut merged = trees.pop().expect("the first file gave a tree");
    check_names(&merged, "", &mut faults);
    while let Some(revision) = trees.pop() {
        check_names(&revision, "", &mut faults);
        merged = merge(merged, revision, "", &mut faults);
    }
    drop_removed(&mut merged, "", &mut faults);
    if faults.is_empty() {
        Ok(Whole { tree: merged, files })
    } else {
        Err(faults)
    }
}

fn base(tree: &Node) -> Result<Option<(String, Place)>, Fault> {
    let Value::Table(table) = &tree.value else {
        return Ok(None);
    };
    match table.get("base") {
        None => Ok(None),
        Some(Entry {
            node: Node {
                value: Value::Text(name),
                ..
            },
            place,
            ..
        }) => Ok(Some((name.clone(), place.clone()))),
        Some(Entry { node, place, .. }) => Err(Fault {
            id: "wrong-kind",
            place: place.clone(),
            key: "base".to_owned(),
            what: format!(
                "{} stands where the name of a design file is due",
                node.value.kind()
            ),
            mend: "write it for instance as base = \"first.toml\"".to_owned(),
        }),
    }
}

fn loop_fault(files: &[(PathBuf, Vec<u8>)], base: &Path, place: &Place) -> Option<Fault> {
    let name = |path: &Path| {
        path.file_name()
            .unwrap_or(path.as_os_str())
            .to_string_lossy()
            .into_owned()
    };
    let chain = || {
        let names = files.iter().map(|(path, _)| name(path)).chain([name(base)]);
        names.collect::<Vec<_>>().join(" -> ")
    };
    let looped = files.iter().any(|(path, _)| path == base);
    if !looped && files.len() < LONGEST {
        return None;
    }
    Some(Fault {
        id: "base-loop",
        place: place.clone(),
        key: "base".to_owned(),
        what: if looped {
            format!("the design is its own base: {}", chain())
        } else {
            format!("more than {LONGEST} bases stand on one another: {}", chain())
        },
        mend: "let the first design of the chain stand without a base".to_owned(),
    })
}

/// Every part of a named list needs a name, and its own.
fn check_names(node: &Node, list: &str, faults: &mut Vec<Fault>) {
    match &node.value {
        Value::Table(table) => {
            for entry in &table.entries {
                check_names(&entry.node, &entry.key, faults);
            }
        }
        Value::List(parts) if NAMED.contains(&list) => {
            let mut seen: Vec<&str> = Vec::new();
            for part in parts {
                let Some(name) = name_of(part) else {
                    faults.push(Fault {
                        id: "missing-key",
                        place: part.place.clone(),
                        key: format!("{list}.name"),
                        what: format!("this {list} has no name"),
                        mend: "give it one, for instance name = \"front wall\"".to_owned(),
                    });
                    continue;
                };
                if seen.contains(&name) {
                    faults.push(Fault {
                        id: "same-name",
                        place: part.place.clone(),
                        key: format!("{list} \"{name}\""),
                        what: format!("a {list} named \"{name}\" stands already above"),
                        mend: "give each its own name".to_owned(),
                    });
                }
                seen.push(name);
            }
        }
        _ => {}
    }
}

fn name_of(part: &Node) -> Option<&str> {
    let Value::Table(table) = &part.value else {
        return None;
    };
    match &table.get("name")?.node.value {
        Value::Text(name) if !name.trim().is_empty() => Some(name),
        _ => None,
    }
}

/// `revision` over `base`; `section` is the key under which both stand.
pub(crate) fn merge(base: Node, revision: Node, section: &str, faults: &mut Vec<Fault>) -> Node {
    match (base.value, revision.value) {
        (Value::Table(under), Value::Table(over)) => Node {
            value: Value::Table(merge_tables(under, over, section, faults)),
            place: revision.place,
            raw: revision.raw,
        },
        (Value::List(under), Value::List(over)) if NAMED.contains(&section) => Node {
            value: Value::List(merge_parts(under, over, section, faults)),
            place: base.place,
            raw: base.raw,
        },
        (_, value) => Node {
            value,
            place: revision.place,
            raw: revision.raw,
        },
    }
}

fn merge_tables(mut under: Table, over: Table, section: &str, faults: &mut Vec<Fault>) -> Table {
    let part = section.is_empty() && shows_part(&under, &over);
    if part {
        keep_block(&mut under);
    }
    for (of, ways) in ALTERNATIVES {
        let stated = |way: &&[&str]| over.get(way[0]).is_some();
        // Beside a pan part, pockets are the block's room and no other way to say the same.
        let beside = part && ways.iter().any(|way| way[0] == "mesh");
        if of != section || beside || !ways.iter().any(stated) {
            continue;
        }
        let dropped = |e: &Entry| {
            let own = ways.iter().find(|way| way.contains(&e.key.as_str()));
            own.is_some_and(|way| !stated(way))
        };
        under.entries.retain(|e| !dropped(e));
    }
    for (of, key, followers) in FOLLOWERS {
        if of == section && over.get(key).is_some() {
            under.entries.retain(|e| !followers.contains(&e.key.as_str()));
        }
    }
    for entry in over.entries {
        match under.entries.iter().position(|e| e.key == entry.key) {
            None => under.entries.push(entry),
            Some(at) => {
                let old = under.entries[at].node.clone();
                let node = merge(old, entry.node, &entry.key, faults);
                under.entries[at] = Entry {
                    key: entry.key,
                    place: entry.place,
                    node,
                };
            }
        }
    }
    under
}

/// Whether the cavity is a pan part, by the revision or else by its base. A revision that states another cavity
/// without saying so drops the base's part.
fn shows_part(under: &Table, over: &Table) -> bool {
    let shows = |table: &Table| match &table.get("mesh")?.node.value {
        Value::Table(mesh) => match &mesh.get("shows")?.node.value {
            Value::Text(word) => Some(word == "part"),
            _ => None,
        },
        _ => None,
    };
    shows(over).or_else(|| shows(under)).unwrap_or(false)
}

/// Drops the pockets that a part stands in for.
fn keep_block(under: &mut Table) {
    let block = |pocket: &Node| match &pocket.value {
        Value::Table(pocket) => matches!(
            pocket.get("side").map(|e| &e.node.value),
            Some(Value::Text(side)) if side == "block"
        ),
        _ => false,
    };
    for entry in &mut under.entries {
        if entry.key == "pocket"
            && let Value::List(pockets) = &mut entry.node.value
        {
            pockets.retain(block);
        }
    }
}

fn merge_parts(mut under: Vec<Node>, over: Vec<Node>, list: &str, faults: &mut Vec<Fault>) -> Vec<Node> {
    for part in over {
        // A part without a name has been reported by `check_names`.
        let Some(name) = name_of(&part).map(str::to_owned) else {
            continue;
        };
        match under.iter().position(|p| name_of(p) == Some(&name)) {
            Some(at) if removal(&part) => {
                under.remove(at);
            }
            Some(at) => under[at] = merge(under[at].clone(), part, list, faults),
            None if removal(&part) => faults.push(Fault {
                id: "nothing-to-remove",
                place: part.place.clone(),
                key: format!("{list} \"{name}\".remove"),
                what: format!("the base has no {list} named \"{name}\" to remove"),
                mend: near_name(&name, &under),
            }),
            None => under.push(part),
        }
    }
    under
}

fn near_name(name: &str, parts: &[Node]) -> String {
    let known: Vec<&str> = parts.iter().filter_map(name_of).collect();
    match measure::nearest(name, known.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if known.is_empty() => "leave this part out".to_owned(),
        None => format!("the base has {}", crate::section::listed(&known)),
    }
}

fn removal(part: &Node) -> bool {
    let Value::Table(table) = &part.value else {
        return false;
    };
    table
        .get("remove")
        .is_some_and(|e| matches!(e.node.value, Value::Truth(true)))
}

/// What still says `remove = true` removes nothing: a design without a base, or a part new in its file.
fn drop_removed(node: &mut Node, list: &str, faults: &mut Vec<Fault>) {
    match &mut node.value {
        Value::Table(table) => {
            for entry in &mut table.entries {
                drop_removed(&mut entry.node, &entry.key.clone(), faults);
            }
        }
        Value::List(parts) if NAMED.contains(&list) => {
            for part in parts.iter().filter(|p| removal(p)) {
                let name = name_of(part).unwrap_or("");
                faults.push(Fault {
                    id: "nothing-to-remove",
                    place: part.place.clone(),
                    key: format!("{list} \"{name}\".remove"),
                    what: format!("there is no base to remove the {list} \"{name}\" from"),
                    mend: "leave this part out".to_owned(),
                });
            }
        }
        _ => {}
    }
}
