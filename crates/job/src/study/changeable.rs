//! A design that is read once and then asked for with some of its values changed: what a study does with the levels of a
//! case, and the page with what its user types.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::apply::{at, leave_out, put, with_doors};
use super::input::{Scale, plain, short, unit_of, with_unit};
use super::keys::{Kind, Known, Meant, Target, Unmeant};
use super::revise::{self, written};
use crate::assembly;
use crate::design::Design;
use crate::fault::{Fault, Place};
use crate::inherit::{self, Whole};
use crate::sources::Sources;
use crate::tree::{self, Node, Value};

/// A design with what it was read from.
#[derive(Clone, Debug)]
pub struct Changeable {
    /// Its file, as reached from the path the user typed.
    pub path: PathBuf,
    /// As it stands.
    pub design: Design,
    /// Its merged tree.
    pub(super) tree: Node,
    /// The tree's files.
    files: Vec<(PathBuf, Vec<u8>)>,
    /// Everything that the design read, held in memory: it is asked for as it was at the start.
    sources: Sources,
}

/// A value that stands in for what a design's file says.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Changed {
    /// The key as a study writes it: `fill.volume`, `plate "front wall".z[1]`, `pickup.mouth[2]`; a plate or a door as a whole
    /// takes the values "in" and "out".
    pub key: String,
    /// The value as TOML: `"4.8 L"` with its quotes, `0.3`.
    pub value: String,
}

/// A number of a design, as it is written.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// As TOML.
    pub value: String,
    /// In its unit.
    pub number: f64,
    /// As written; empty when there is none.
    pub unit: String,
    /// What one of its unit is in SI, and where its nought lies.
    scale: (f64, f64),
}

impl Written {
    /// A value [SI] in this unit.
    pub fn in_unit(&self, value: f64) -> f64 {
        (value - self.scale.1) / self.scale.0
    }
}

/// Most changes of one design, and most letters of a key or a value.
const MOST: (usize, usize) = (500, 400);

/// The tree with changes, and what they came to.
struct Done {
    tree: Node,
    /// The numbers that are other than the file's, each with its change.
    targets: Vec<Target>,
    /// Parts that are gone.
    gone: Vec<(String, String)>,
}

impl Changeable {
    /// Reads the design at `path`; the errors are all its faults.
    pub fn read(path: &Path) -> Result<Changeable, Vec<Fault>> {
        let sources = Sources::Disk;
        let whole = inherit::read(path, &sources)?;
        if let Some(fault) = crate::experiment::not_a_pan(&whole.tree) {
            return Err(vec![fault]);
        }
        let design = assembly::read_whole(whole.clone(), path, &sources)?;
        Ok(Changeable::of(path.to_owned(), design, whole))
    }

    /// A design that was read out of `whole`.
    pub(super) fn of(path: PathBuf, design: Design, whole: Whole) -> Changeable {
        let held: BTreeMap<PathBuf, Vec<u8>> = (design.files.iter())
            .map(|file| (file.path.clone(), file.bytes.clone()))
            .collect();
        Changeable {
            path,
            design,
            tree: whole.tree,
            files: whole.files,
            sources: Sources::Memory(held),
        }
    }

    /// The design in a changed tree, from the files as they were read at the start.
    pub(super) fn read_tree(&self, tree: Node) -> Result<Design, Vec<Fault>> {
        let whole = Whole {
            tree,
            files: self.files.clone(),
        };
        assembly::read_variant(whole, &self.path, &self.sources, Some(&self.design))
    }

    /// The design with `changes`; a later change of a key takes the place of an earlier one.
    ///
    /// # Errors
    /// All that is wrong, each at the key of the change that it belongs to where it belongs to one.
    pub fn with(&self, changes: &[Changed]) -> Result<Design, Vec<Fault>> {
        if changes.is_empty() {
            return Ok(self.design.clone());
        }
        let done = self.done(changes)?;
        self.read_tree(done.tree)
            .map_err(|faults| faults.into_iter().map(|fault| placed(fault, changes)).collect())
    }

    /// The design with `changes` as a revision named `name` whose base is reached as `base` from where it will lie; it states
    /// what is other than in the file and nothing else. `notes` tell where it comes from.
    ///
    /// # Errors
    /// When nothing is changed, and all that is wrong with the design.
    pub fn revision(
        &self,
        changes: &[Changed],
        name: &str,
        base: &str,
        notes: &str,
    ) -> Result<String, Vec<Fault>> {
        self.with(changes)?;
        let done = self.done(changes)?;
        if done.targets.is_empty() && done.gone.is_empty() {
            return Err(vec![Fault {
                id: "nothing-changed",
                place: Place::file(&self.path),
                key: String::new(),
                what: "nothing is changed, so there is nothing to write".to_owned(),
                mend: "change a value first".to_owned(),
            }]);
        }
        Ok(revise::revision(
            [&self.tree, &done.tree],
            &done.targets,
            &done.gone,
            [name, base, notes],
        ))
    }

    /// Numbers of the design as the file writes them, and with `changes`.
    ///
    /// # Errors
    /// When a change has no meaning.
    pub fn values(&self, changes: &[Changed]) -> Result<Values<'_>, Vec<Fault>> {
        let now = self.done(changes)?.tree;
        Ok(Values {
            known: Known::of(&self.tree, crate::reference::pan_keys()),
            now,
        })
    }

    fn done(&self, changes: &[Changed]) -> Result<Done, Vec<Fault>> {
        if changes.len() > MOST.0 {
            let what = format!("{} values are changed at once", changes.len());
            let mend = format!("change at most {}, and save the design before more", MOST.0);
            return Err(vec![fault("out-of-range", "", what, mend)]);
        }
        let known = Known::of(&self.tree, crate::reference::pan_keys());
        let mut done = Done {
            tree: self.tree.clone(),
            targets: Vec::new(),
            gone: Vec::new(),
        };
        let mut faults = Vec::new();
        for (n, change) in changes.iter().enumerate() {
            // A later one of the same key stands.
            if changes[n + 1..].iter().any(|later| later.key == change.key) {
                continue;
            }
            if let Err(fault) = self.change(change, &known, &mut done) {
                faults.push(fault);
            }
        }
        // Parts that leave go last: until then every number is where it was found.
        for (list, name) in &done.gone {
            leave_out(&mut done.tree, list, name);
        }
        if faults.is_empty() { Ok(done) } else { Err(faults) }
    }

    fn change(&self, change: &Changed, known: &Known, done: &mut Done) -> Result<(), Fault> {
        let Changed { key, value } = change;
        if key.chars().count() > MOST.1 || value.chars().count() > MOST.1 {
            let shown: String = key.chars().take(40).collect();
            let what = "a key or a value is longer than any of a design".to_owned();
            return Err(fault("out-of-range", &shown, what, "write it shorter".to_owned()));
        }
        let node = scalar(change)?;
        let meant = known
            .meant(key)
            .map_err(|Unmeant { id, what, mend }| fault(id, key, what, mend))?;
        match meant {
            Meant::Numbers(targets) => {
                let text = plain(&node);
                for target in targets {
                    let old = at(&self.tree, &target.steps);
                    if old.is_some_and(|old| plain(old) == text) {
                        continue;
                    }
                    put(&mut done.tree, &target.steps, target.kind, &text, &place_of(key));
                    done.targets.push(target);
                }
            }
            Meant::Part(part) => match plain(&node).as_str() {
                "in" => {}
                "out" => {
                    for gone in with_doors(&self.tree, &part.list, &part.name) {
                        if !done.gone.contains(&gone) {
                            done.gone.push(gone);
                        }
                    }
                }
                other => {
                    let what = format!("a {} as a whole can only be in or out, not {other}", part.list);
                    let mend = "write \"in\" or \"out\"".to_owned();
                    return Err(fault("wrong-kind", key, what, mend));
                }
            },
        }
        Ok(())
    }
}

/// Numbers of a design as its file writes them, and with changes.
pub struct Values<'t> {
    known: Known<'t>,
    now: Node,
}

impl Values<'_> {
    /// What `key` is with the changes, and in the file; none where the design has no such number or leaves it out. Of a key that
    /// means several numbers all must be the same.
    pub fn of(&self, key: &str) -> Option<(Written, Option<Written>)> {
        let Ok(Meant::Numbers(targets)) = self.known.meant(key) else {
            return None;
        };
        let among = |tree: &Node| {
            let mut all = targets.iter().map(|target| written_at(tree, target));
            let first = all.next()??;
            all.all(|other| other.as_ref() == Some(&first)).then_some(first)
        };
        let saved = among(self.known.tree());
        Some((among(&self.now)?, saved))
    }

    /// A number that the design leaves out, as it would be written; none where no such key could be added.
    pub fn usual(&self, key: &str, number: f64, unit: &str) -> Option<Written> {
        let Ok(Meant::Numbers(targets)) = self.known.meant(key) else {
            return None;
        };
        let [target] = &targets[..] else { return None };
        let number = short(number, 6);
        let node = Node {
            place: place_of(key),
            raw: String::new(),
            value: Value::Text(with_unit(&number, unit)),
        };
        written_in(&node, target)
    }
}

fn written_at(tree: &Node, target: &Target) -> Option<Written> {
    written_in(at(tree, &target.steps)?, target)
}

fn written_in(node: &Node, target: &Target) -> Option<Written> {
    let unit = unit_of(node);
    let scale = Scale::known(target.kind, &unit, false);
    let value = match target.kind {
        Kind::Quantity(due) => measure::read(&plain(node), due).ok()?,
        Kind::Bare => plain(node).parse().ok()?,
    };
    let number: f64 = short(scale.number(value), 9).parse().ok()?;
    number.is_finite().then(|| Written {
        value: written(node),
        number,
        unit,
        scale: scale.parts(),
    })
}

/// The value of a change: a number, a text, or a truth.
fn scalar(change: &Changed) -> Result<Node, Fault> {
    let place = place_of(&change.key);
    let wrong = |what: String| {
        let mend =
            "write a quantity with its unit in quotes, such as \"4.8 L\", or a plain number".to_owned();
        fault("wrong-kind", &change.key, what, mend)
    };
    let tree = tree::parse(&format!("value = {}", change.value.trim()), &place)
        .map_err(|_| wrong(format!("{} is not a value", shown(&change.value))))?;
    let Value::Table(mut table) = tree.value else {
        return Err(wrong("there is no value".to_owned()));
    };
    let node = match (table.entries.pop(), table.entries.is_empty()) {
        (Some(entry), true) if entry.key == "value" => entry.node,
        _ => return Err(wrong(format!("{} is more than one value", shown(&change.value)))),
    };
    match node.value {
        Value::Text(_) | Value::Whole(_) | Value::Number(_) | Value::Truth(_) => Ok(Node { place, ..node }),
        other => Err(wrong(format!("{} stands where one value is due", other.kind()))),
    }
}

/// A value in a message.
fn shown(value: &str) -> String {
    let plain = |c: char| if c.is_control() { ' ' } else { c };
    format!("\"{}\"", value.chars().take(60).map(plain).collect::<String>())
}

/// Where a changed value stands: in no file.
fn place_of(key: &str) -> Place {
    Place::file(format!("the change of {key}"))
}

fn fault(id: &'static str, key: &str, what: String, mend: String) -> Fault {
    Fault {
        id,
        place: place_of(key),
        key: key.to_owned(),
        what,
        mend,
    }
}

/// A fault at the change that it belongs to: one that stands at the changed value, or at the key that holds it.
fn placed(fault: Fault, changes: &[Changed]) -> Fault {
    let holds = |whole: &str, part: &str| {
        let rest = part.strip_prefix(whole).filter(|_| !whole.is_empty());
        rest.is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
    };
    let stands = changes.iter().find(|c| fault.place == place_of(&c.key));
    let within = || {
        let every = |key: &str| key.replace("[*]", "[0]");
        changes.iter().find(|c| holds(&fault.key, &every(&c.key)))
    };
    match stands.or_else(within) {
        Some(change) => Fault {
            place: place_of(&change.key),
            key: change.key.clone(),
            ..fault
        },
        None => fault,
    }
}
