//! Reads one section of the merged tree.
//!
//! A [`Section`] remembers which keys were asked for. Whatever stands in the file and was never asked for is
//! a fault when the section is done, so that no input is ever ignored in silence. Faults and inputs gather
//! on the [`Desk`]; a reader that found a fault gives `None` and its caller goes on to the next key.
//! Quantities are read in `quantities`, words and plain numbers in `words`.

mod asked;
mod bounds;
mod quantities;
mod words;

use std::cell::RefCell;

use measure::{Dimension, UnitOrder};
use pan::{Pan, PanFault};

use crate::fault::{Fault, Place};
use crate::input::{InputLine, Origin};
use crate::tree::{Node, Table, Value};

pub(crate) use asked::{Asked, Record};
pub use asked::{Need, Shape};
pub(crate) use bounds::Bounds;

/// What gathers while a design is read.
#[derive(Default)]
pub(crate) struct Desk {
    faults: RefCell<Vec<Fault>>,
    inputs: RefCell<Vec<InputLine>>,
    pub record: Record,
    pub order: UnitOrder,
    /// A pan that is built and checked already: a cavity of the same pockets is not built again, the same pan not checked again.
    pub built: Option<Built>,
}

/// A pan that was built for another variant of the design, with what it found wrong with itself.
pub(crate) struct Built {
    pub pan: Pan,
    pub found: Vec<PanFault>,
}

impl Desk {
    pub fn new(order: UnitOrder) -> Desk {
        Desk {
            order,
            ..Desk::default()
        }
    }

    pub fn fault(&self, fault: Fault) {
        self.faults.borrow_mut().push(fault);
    }

    pub fn input(&self, line: InputLine) {
        self.inputs.borrow_mut().push(line);
    }

    pub fn done(self) -> (Vec<Fault>, Vec<InputLine>) {
        (self.faults.into_inner(), self.inputs.into_inner())
    }

    /// What was asked, whatever came of it.
    pub fn asked(self) -> Record {
        self.record
    }
}

/// One table of the design.
pub(crate) struct Section<'t> {
    pub desk: &'t Desk,
    table: &'t Table,
    /// Where the section begins.
    pub place: Place,
    /// Key path, such as `pickup` or `plate "front wall"`; empty at the top.
    pub path: String,
    asked: RefCell<Vec<&'static str>>,
    missing: RefCell<Vec<(&'static str, Fault)>>,
}

impl<'t> Section<'t> {
    /// The table in `node`, or a fault when something else stands there.
    pub fn open(desk: &'t Desk, node: &'t Node, path: String) -> Option<Section<'t>> {
        match &node.value {
            Value::Table(table) => Some(Section::of(desk, table, node.place.clone(), path)),
            other => {
                desk.fault(Fault {
                    id: "wrong-kind",
                    place: node.place.clone(),
                    what: format!("{} stands where a section with keys is due", other.kind()),
                    mend: format!("write it as [{path}] with its keys below"),
                    key: path,
                });
                None
            }
        }
    }

    fn of(desk: &'t Desk, table: &'t Table, place: Place, path: String) -> Section<'t> {
        desk.record.opened(&path);
        Section {
            desk,
            table,
            place,
            path,
            asked: RefCell::default(),
            missing: RefCell::default(),
        }
    }

    /// Notes how the value of `key` is written.
    pub fn shaped(&self, key: &str, shape: Shape) {
        self.desk.record.shape(&self.key(key), shape);
    }

    /// Notes whether `key` has to be stated.
    pub fn needed(&self, key: &str, need: Need) {
        self.desk.record.need(&self.key(key), need);
    }

    /// The part's own name; empty for a section without one.
    pub fn name(&self) -> String {
        match self.table.get("name").map(|e| &e.node.value) {
            Some(Value::Text(name)) => name.clone(),
            _ => String::new(),
        }
    }

    /// Full name of a key here; the section's own for "".
    pub fn key(&self, key: &str) -> String {
        if key.is_empty() {
            return self.path.clone();
        }
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    /// Whether `key` is stated. Counts as asked for.
    pub fn has(&self, key: &'static str) -> bool {
        self.needed(key, Need::May);
        self.node(key).is_some()
    }

    /// Where `key` stands, or where the section begins.
    pub fn place_of(&self, key: &str) -> Place {
        self.table
            .get(key)
            .map_or_else(|| self.place.clone(), |e| e.place.clone())
    }

    /// What stands at `key`. Counts as asked for.
    pub fn node(&self, key: &'static str) -> Option<&'t Node> {
        if !self.asked.borrow().contains(&key) {
            self.asked.borrow_mut().push(key);
            self.desk.record.asked(&self.key(key));
        }
        self.table.get(key).map(|e| &e.node)
    }

    /// What stands at `key`; its lack is a fault.
    pub fn required(&self, key: &'static str, example: &str) -> Option<&'t Node> {
        let node = self.node(key);
        self.needed(key, Need::Must);
        if node.is_none() {
            let fault = Fault {
                id: "missing-key",
                place: self.place.clone(),
                key: self.key(key),
                what: format!("{} is not stated", self.key(key)),
                mend: format!("add for instance {key} = {example}"),
            };
            self.missing.borrow_mut().push((key, fault));
        }
        node
    }

    /// Adds a fault at `key`.
    pub fn fault(&self, id: &'static str, key: &str, what: String, mend: String) {
        let place = self.place_of(key);
        self.desk.fault(Fault {
            id,
            place,
            key: self.key(key),
            what,
            mend,
        });
    }

    /// A section in which nothing is stated, for one that may be left out.
    pub fn empty(desk: &'t Desk, place: Place, path: String) -> Section<'t> {
        static NOTHING: Table = Table { entries: Vec::new() };
        Section::of(desk, &NOTHING, place, path)
    }

    /// The section `key`, or an empty one when it is left out.
    pub fn below_or_empty(&self, key: &'static str) -> Section<'t> {
        self.below(key)
            .unwrap_or_else(|| Section::empty(self.desk, self.place.clone(), self.key(key)))
    }

    /// The section `key`; its lack is a fault.
    pub fn required_below(&self, key: &'static str, example: &str) -> Option<Section<'t>> {
        self.needed(key, Need::Must);
        if self.node(key).is_some() {
            return self.below(key);
        }
        let fault = Fault {
            id: "missing-section",
            place: self.place.clone(),
            key: self.key(key),
            what: format!("the section [{}] is not there", self.key(key)),
            mend: format!("add it, for instance with {example}"),
        };
        self.missing.borrow_mut().push((key, fault));
        None
    }

    /// Which of several ways to say the same thing is stated; none or two are a fault.
    pub fn one_of(&self, ways: &[&'static str], example: &str) -> Option<&'static str> {
        for way in ways {
            self.needed(way, Need::OneOf(ways.to_vec()));
        }
        let stated: Vec<&'static str> = ways.iter().copied().filter(|way| self.has(way)).collect();
        match stated[..] {
            [one] => Some(one),
            [] => {
                let fault = Fault {
                    id: "missing-key",
                    place: self.place.clone(),
                    key: self.path.clone(),
                    what: format!("none of {} is stated", listed(ways)),
                    mend: format!("add for instance {example}"),
                };
                self.missing.borrow_mut().push((ways[0], fault));
                None
            }
            _ => {
                let what = format!("{} are stated, but they say the same thing", listed(&stated));
                self.fault("stated-twice", stated[1], what, "keep one of them".to_owned());
                None
            }
        }
    }

    /// The sections of a list without names, such as the holes of a plate; `holes[2]` is its third.
    pub fn several(&self, key: &'static str) -> Vec<Section<'t>> {
        self.shaped(key, Shape::Several);
        let Some(node) = self.node(key) else {
            return Vec::new();
        };
        let nodes: &'t [Node] = self.list(key, node).unwrap_or(&[]);
        let section = |(i, node)| Section::open(self.desk, node, format!("{}[{i}]", self.key(key)));
        nodes.iter().enumerate().filter_map(section).collect()
    }

    /// The section `key` below this one, when it stands there.
    pub fn below(&self, key: &'static str) -> Option<Section<'t>> {
        self.shaped(key, Shape::Section);
        Section::open(self.desk, self.node(key)?, self.key(key))
    }

    /// The named parts in the list `key`.
    pub fn parts(&self, key: &'static str) -> Vec<(String, Section<'t>)> {
        self.shaped(key, Shape::Parts);
        let Some(node) = self.node(key) else {
            return Vec::new();
        };
        let Value::List(parts) = &node.value else {
            let full = self.key(key);
            let what = format!("{full} is {}, but there may be several", node.value.kind());
            self.fault("wrong-kind", key, what, format!("begin each with [[{full}]]"));
            return Vec::new();
        };
        let part = |node: &'t Node| {
            let mut section = Section::open(self.desk, node, self.key(key))?;
            let name = section.text("name", "front wall")?;
            section.path = format!("{} \"{name}\"", section.path);
            section.shaped("remove", Shape::Truth);
            section.node("remove"); // its work is done when the base is merged
            Some((name, section))
        };
        parts.iter().filter_map(part).collect()
    }

    /// Lists what `node` at `key` was understood as.
    pub fn note(&self, key: &str, node: &Node, shown: String) {
        self.written(key, node, shown);
    }

    fn written(&self, key: &str, node: &Node, shown: String) {
        self.desk.input(InputLine {
            key: self.key(key),
            text: node.raw.clone(),
            shown,
            origin: Origin::Written(self.place_of(key)),
        });
    }

    /// Lists a value that the file does not state.
    pub fn default(&self, key: &str, shown: String, reason: &'static str) {
        self.needed(key, Need::Default(shown.clone(), reason));
        let origin = Origin::Default(reason);
        self.desk.input(InputLine {
            key: self.key(key),
            text: String::new(),
            shown,
            origin,
        });
    }

    /// Lists a value that the file does not state, unless it does.
    pub fn default_unless(&self, stated: bool, key: &str, shown: &str, reason: &'static str) {
        if stated {
            self.needed(key, Need::Default(shown.to_owned(), reason));
        } else {
            self.default(key, shown.to_owned(), reason);
        }
    }

    /// The entries of a list.
    pub fn list<'n>(&self, key: &str, node: &'n Node) -> Option<&'n [Node]> {
        if let Value::List(list) = &node.value {
            return Some(list);
        }
        self.desk.fault(Fault {
            id: "wrong-kind",
            place: node.place.clone(),
            key: self.key(key),
            what: format!("{} stands where a list is due", node.value.kind()),
            mend: "write a list in square brackets".to_owned(),
        });
        None
    }

    /// A quantity in the shop's units.
    pub fn show(&self, value: f64, due: Dimension) -> String {
        measure::show(value, due, self.desk.order)
    }

    /// Ends the section: every key that stands in it and was not asked for is a fault.
    pub fn finish(self) {
        let asked = self.asked.into_inner();
        let mut missing = self.missing.into_inner();
        for entry in self
            .table
            .entries
            .iter()
            .filter(|e| !asked.contains(&e.key.as_str()))
        {
            // A key that is not there yet is likelier meant than one that is.
            let (there, absent): (Vec<&str>, Vec<&str>) =
                asked.iter().partition(|key| self.table.get(key).is_some());
            let near = measure::nearest(&entry.key, absent.into_iter().chain(there));
            // The slip explains why its key seems to be missing: one fault, not two.
            missing.retain(|(key, _)| Some(*key) != near);
            let full = if self.path.is_empty() {
                entry.key.clone()
            } else {
                format!("{}.{}", self.path, entry.key)
            };
            self.desk.fault(Fault {
                id: "unknown-key",
                place: entry.place.clone(),
                what: format!("the key \"{}\" is not known here", entry.key),
                key: full,
                mend: match near {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None => format!("known here: {}", listed(&asked)),
                },
            });
        }
        for (_, fault) in missing {
            self.desk.fault(fault);
        }
    }
}

/// "a, b and c"
pub(crate) fn listed(words: &[&str]) -> String {
    match words {
        [] => "nothing".to_owned(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
