//! Reads one section of the merged tree: quantities, points, names, choices.
//!
//! A [`Section`] remembers which keys were asked for. Whatever stands in the file and was never asked for is
//! a fault when the section is done, so that no input is ever ignored in silence. Faults and inputs gather
//! on the [`Desk`]; a reader that found a fault gives `None` and its caller goes on to the next key.

use std::cell::RefCell;

use glam::{DVec2, DVec3};
use measure::{Dimension, UnitOrder, show};

use crate::fault::{Fault, Place};
use crate::input::{InputLine, Origin};
use crate::tree::{Node, Table, Value};

/// What gathers while a design is read.
#[derive(Default)]
pub(crate) struct Desk {
    faults: RefCell<Vec<Fault>>,
    inputs: RefCell<Vec<InputLine>>,
    pub order: UnitOrder,
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
}

/// Bounds of a number [SI], both allowed unless `open_low`.
#[derive(Clone, Copy)]
pub(crate) struct Bounds {
    pub low: f64,
    pub high: f64,
    /// The low bound itself is refused.
    pub open_low: bool,
}

impl Bounds {
    pub const ANY: Bounds = Bounds {
        low: f64::NEG_INFINITY,
        high: f64::INFINITY,
        open_low: false,
    };
    pub const POSITIVE: Bounds = Bounds {
        low: 0.0,
        high: f64::INFINITY,
        open_low: true,
    };
    pub const NOT_NEGATIVE: Bounds = Bounds {
        low: 0.0,
        high: f64::INFINITY,
        open_low: false,
    };

    pub const fn within(low: f64, high: f64) -> Bounds {
        Bounds {
            low,
            high,
            open_low: false,
        }
    }

    pub const fn above_to(low: f64, high: f64) -> Bounds {
        Bounds {
            low,
            high,
            open_low: true,
        }
    }

    fn hold(&self, value: f64) -> bool {
        let low = if self.open_low {
            value > self.low
        } else {
            value >= self.low
        };
        low && value <= self.high
    }

    fn said(&self, due: Dimension, order: UnitOrder) -> String {
        let low = (self.low.is_finite()).then(|| {
            let word = if self.open_low { "above" } else { "at least" };
            let bound = if self.low == 0.0 {
                "zero".to_owned()
            } else {
                show(self.low, due, order)
            };
            format!("{word} {bound}")
        });
        let high = (self.high.is_finite()).then(|| format!("at most {}", show(self.high, due, order)));
        [low, high]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" and ")
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
            Value::Table(table) => Some(Section {
                desk,
                table,
                place: node.place.clone(),
                path,
                asked: RefCell::default(),
                missing: RefCell::default(),
            }),
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
        }
        self.table.get(key).map(|e| &e.node)
    }

    /// What stands at `key`; its lack is a fault.
    pub fn required(&self, key: &'static str, example: &str) -> Option<&'t Node> {
        let node = self.node(key);
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
    fn empty(desk: &'t Desk, place: Place, path: String) -> Section<'t> {
        static NOTHING: Table = Table { entries: Vec::new() };
        Section {
            desk,
            table: &NOTHING,
            place,
            path,
            asked: RefCell::default(),
            missing: RefCell::default(),
        }
    }

    /// The section `key`, or an empty one when it is left out.
    pub fn below_or_empty(&self, key: &'static str) -> Section<'t> {
        self.below(key)
            .unwrap_or_else(|| Section::empty(self.desk, self.place.clone(), self.key(key)))
    }

    /// The section `key`; its lack is a fault.
    pub fn required_below(&self, key: &'static str, example: &str) -> Option<Section<'t>> {
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
        let Some(node) = self.node(key) else {
            return Vec::new();
        };
        let nodes: &'t [Node] = self.list(key, node).unwrap_or(&[]);
        let section = |(i, node)| Section::open(self.desk, node, format!("{}[{i}]", self.key(key)));
        nodes.iter().enumerate().filter_map(section).collect()
    }

    /// The section `key` below this one, when it stands there.
    pub fn below(&self, key: &'static str) -> Option<Section<'t>> {
        Section::open(self.desk, self.node(key)?, self.key(key))
    }

    /// The named parts in the list `key`.
    pub fn parts(&self, key: &'static str) -> Vec<(String, Section<'t>)> {
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
        let origin = Origin::Default(reason);
        self.desk.input(InputLine {
            key: self.key(key),
            text: String::new(),
            shown,
            origin,
        });
    }

    /// A required quantity [SI].
    pub fn quantity(&self, key: &'static str, due: Dimension, bounds: Bounds) -> Option<f64> {
        let node = self.required(key, &format!("\"{}\"", due.examples().0))?;
        self.measured(key, node, due, bounds)
    }

    /// A quantity [SI], or the house's value, which the list of inputs then names with its reason.
    pub fn quantity_or(
        &self,
        key: &'static str,
        due: Dimension,
        bounds: Bounds,
        default: f64,
        reason: &'static str,
    ) -> Option<f64> {
        match self.node(key) {
            Some(node) => self.measured(key, node, due, bounds),
            None => {
                self.default(key, show(default, due, self.desk.order), reason);
                Some(default)
            }
        }
    }

    /// A quantity [SI] that may be left out.
    pub fn optional_quantity(&self, key: &'static str, due: Dimension, bounds: Bounds) -> Option<f64> {
        self.measured(key, self.node(key)?, due, bounds)
    }

    fn measured(&self, key: &str, node: &Node, due: Dimension, bounds: Bounds) -> Option<f64> {
        let value = self.value(key, node, due)?;
        let shown = show(value, due, self.desk.order);
        if !bounds.hold(value) {
            self.desk.fault(Fault {
                id: "out-of-range",
                place: node.place.clone(),
                key: self.key(key),
                what: format!("{} is out of range", node.raw),
                mend: format!("{due} {} is due here", bounds.said(due, self.desk.order)),
            });
            return None;
        }
        self.written(key, node, shown);
        Some(value)
    }

    /// The quantity in `node` [SI], without a line in the list of inputs.
    pub fn value(&self, key: &str, node: &Node, due: Dimension) -> Option<f64> {
        let text = match &node.value {
            Value::Text(text) => text.clone(),
            // A bare number: `read` refuses it where a unit is due.
            Value::Whole(number) => number.to_string(),
            Value::Number(number) => number.to_string(),
            other => {
                let (metric, inch) = due.examples();
                self.desk.fault(Fault {
                    id: "wrong-kind",
                    place: node.place.clone(),
                    key: self.key(key),
                    what: format!("{} stands where {} is due", other.kind(), due.with_article()),
                    mend: format!("write it for instance as \"{metric}\" or \"{inch}\""),
                });
                return None;
            }
        };
        match measure::read(&text, due) {
            Ok(value) => Some(value),
            Err(fault) => {
                self.desk.fault(Fault {
                    id: "quantity",
                    place: node.place.clone(),
                    key: self.key(key),
                    what: fault.what(),
                    mend: fault.mend(),
                });
                None
            }
        }
    }

    /// `N` quantities in a list [SI], without a line in the list of inputs.
    pub fn row<const N: usize>(&self, key: &str, node: &Node, due: [Dimension; N]) -> Option<[f64; N]> {
        let list = match &node.value {
            Value::List(list) if list.len() == N => list,
            other => {
                let found = match other {
                    Value::List(list) => format!("a list of {}", list.len()),
                    other => other.kind().to_owned(),
                };
                let example: Vec<String> = due.iter().map(|d| format!("\"{}\"", d.examples().0)).collect();
                self.desk.fault(Fault {
                    id: "wrong-kind",
                    place: node.place.clone(),
                    key: self.key(key),
                    what: format!("{found} stands where a list of {N} is due"),
                    mend: format!("write it for instance as [{}]", example.join(", ")),
                });
                return None;
            }
        };
        let values = list.iter().zip(due).map(|(node, due)| self.value(key, node, due));
        let values: Vec<Option<f64>> = values.collect(); // every fault of the row, not the first
        let mut row = [0.0; N];
        for (slot, value) in row.iter_mut().zip(values) {
            *slot = value?;
        }
        Some(row)
    }

    /// Rows of `N` quantities [SI].
    pub fn rows<const N: usize>(&self, key: &'static str, due: [Dimension; N]) -> Option<Vec<[f64; N]>> {
        let example: Vec<String> = due.iter().map(|d| format!("\"{}\"", d.examples().0)).collect();
        let node = self.required(key, &format!("[[{}], ...]", example.join(", ")))?;
        let rows = self.rows_of(key, node, due)?;
        let shown = rows
            .iter()
            .map(|row| self.shown(row, due))
            .collect::<Vec<_>>()
            .join("; ");
        self.written(key, node, shown);
        Some(rows)
    }

    /// Rows of `N` quantities in `node` [SI], without a line in the list of inputs.
    pub fn rows_of<const N: usize>(
        &self,
        key: &str,
        node: &Node,
        due: [Dimension; N],
    ) -> Option<Vec<[f64; N]>> {
        let rows: Vec<Option<[f64; N]>> = self
            .list(key, node)?
            .iter()
            .map(|node| self.row(key, node, due))
            .collect();
        rows.into_iter().collect()
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

    fn shown(&self, values: &[f64], due: impl IntoIterator<Item = Dimension>) -> String {
        let parts: Vec<String> = values
            .iter()
            .zip(due)
            .map(|(v, due)| show(*v, due, self.desk.order))
            .collect();
        format!("({})", parts.join(", "))
    }

    /// A required list of `N` quantities [SI].
    pub fn tuple<const N: usize>(&self, key: &'static str, due: [Dimension; N]) -> Option<[f64; N]> {
        let example: Vec<String> = due.iter().map(|d| format!("\"{}\"", d.examples().0)).collect();
        let node = self.required(key, &format!("[{}]", example.join(", ")))?;
        let row = self.row(key, node, due)?;
        self.written(key, node, self.shown(&row, due));
        Some(row)
    }

    /// A required point in plan, or in the coordinates of a plate [m].
    pub fn point2(&self, key: &'static str) -> Option<DVec2> {
        self.tuple(key, [Dimension::Length; 2]).map(DVec2::from_array)
    }

    /// A required point of the pan [m].
    pub fn point3(&self, key: &'static str) -> Option<DVec3> {
        self.tuple(key, [Dimension::Length; 3]).map(DVec3::from_array)
    }

    /// A required pair, the first below the second.
    pub fn rising(&self, key: &'static str, due: Dimension) -> Option<(f64, f64)> {
        let [low, high] = self.tuple(key, [due; 2])?;
        if low < high {
            return Some((low, high));
        }
        self.fault(
            "zero-size",
            key,
            format!(
                "{key} runs from {} to {}",
                self.show(low, due),
                self.show(high, due)
            ),
            "give the lower value first and leave room between the two".to_owned(),
        );
        None
    }

    /// A bare number such as a gear ratio.
    pub fn number_in(&self, key: &str, node: &Node) -> Option<f64> {
        let value = match node.value {
            Value::Whole(number) => number as f64,
            Value::Number(number) => number,
            _ => f64::NAN,
        };
        if value.is_finite() {
            return Some(value);
        }
        let what = format!("{} stands where a plain number is due", node.raw);
        self.fault(
            "wrong-kind",
            key,
            what,
            "write a number without quotes or unit, for instance 3.9".to_owned(),
        );
        None
    }

    /// A required bare number above zero, such as a gear ratio.
    pub fn number(&self, key: &'static str, example: &str) -> Option<f64> {
        let node = self.required(key, example)?;
        let value = self.number_in(key, node)?;
        if value <= 0.0 {
            self.fault(
                "out-of-range",
                key,
                format!("{value} is out of range"),
                "a number above zero is due".to_owned(),
            );
            return None;
        }
        self.written(key, node, value.to_string());
        Some(value)
    }

    /// A whole number from 1, that may be left out.
    pub fn optional_count(&self, key: &'static str) -> Option<usize> {
        let node = self.node(key)?;
        if let Value::Whole(number @ 1..) = node.value {
            self.written(key, node, number.to_string());
            return usize::try_from(number).ok();
        }
        let what = format!("{} stands where a whole number from 1 is due", node.raw);
        self.fault("wrong-kind", key, what, "write it without quotes".to_owned());
        None
    }

    /// True or false, with the house's word for a key left out.
    pub fn truth_or(&self, key: &'static str, default: bool, reason: &'static str) -> Option<bool> {
        let Some(node) = self.node(key) else {
            self.default(key, default.to_string(), reason);
            return Some(default);
        };
        if let Value::Truth(truth) = node.value {
            self.written(key, node, truth.to_string());
            return Some(truth);
        }
        let what = format!("{} stands where true or false is due", node.value.kind());
        self.fault(
            "wrong-kind",
            key,
            what,
            format!("write {key} = true or {key} = false"),
        );
        None
    }

    /// A required text that is not empty.
    pub fn text(&self, key: &'static str, example: &str) -> Option<String> {
        let node = self.required(key, &format!("\"{example}\""))?;
        self.text_in(key, node)
    }

    /// A text that may be left out.
    pub fn optional_text(&self, key: &'static str) -> Option<String> {
        self.text_in(key, self.node(key)?)
    }

    fn text_in(&self, key: &'static str, node: &Node) -> Option<String> {
        match &node.value {
            Value::Text(text) if !text.trim().is_empty() => {
                if key != "name" || self.path.is_empty() {
                    self.written(key, node, text.clone());
                }
                Some(text.clone())
            }
            other => {
                let found = if let Value::Text(_) = other {
                    "an empty text"
                } else {
                    other.kind()
                };
                let what = format!("{found} stands where a text is due");
                self.fault("wrong-kind", key, what, format!("write {key} = \"...\""));
                None
            }
        }
    }

    /// One of several words; `default` with its reason when the key is left out, else a missing key.
    pub fn choice<T: Clone>(
        &self,
        key: &'static str,
        words: &[(&'static str, T)],
        default: Option<(&'static str, &'static str)>,
    ) -> Option<T> {
        let found = |word: &str| {
            words
                .iter()
                .find(|(w, _)| *w == word)
                .map(|(_, value)| value.clone())
        };
        if let Some((word, reason)) = default
            && self.node(key).is_none()
        {
            self.default(key, word.to_owned(), reason);
            return found(word);
        }
        let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let text = self.text(key, known[0])?;
        let value = found(&text);
        if value.is_none() {
            let mend = match measure::nearest(&text, known.iter().copied()) {
                Some(near) => format!("did you mean \"{near}\"? Known here: {}", listed(&known)),
                None => format!("known here: {}", listed(&known)),
            };
            self.fault(
                "unknown-word",
                key,
                format!("\"{text}\" is not known as {}", self.key(key)),
                mend,
            );
        }
        value
    }

    /// A quantity in the shop's units.
    pub fn show(&self, value: f64, due: Dimension) -> String {
        show(value, due, self.desk.order)
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
            let near = measure::nearest(&entry.key, asked.iter().copied());
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
