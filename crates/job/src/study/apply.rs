//! A case put into the design's tree and read as any design is.

use measure::Dimension;

use super::Study;
use super::input::{Change, Level, Scale, plain, short, unit_of, with_unit};
use super::keys::{Kind, Step, Target};
use crate::design::Design;
use crate::fault::{Fault, Place};
use crate::tree::{Entry, Node, Table, Value};

impl Study {
    /// The values of a draw, input by input.
    pub fn levels(&self, draw: &[f64]) -> Vec<Level> {
        let inputs = self.inputs.iter().zip(draw);
        inputs.map(|(input, u)| input.level(*u)).collect()
    }

    /// The design with these values; the errors are all its faults, as of any design.
    ///
    /// # Errors
    /// Whatever the reader of designs finds wrong with it.
    pub fn variant(&self, levels: &[Level]) -> Result<Design, Vec<Fault>> {
        self.of.read_tree(self.changed(levels)?)
    }

    /// The factor that these values put on the drive's horizontal acceleration.
    pub fn acceleration_factor(&self, levels: &[Level]) -> f64 {
        let inputs = self.inputs.iter().zip(levels);
        let factors = inputs.filter(|(input, _)| matches!(input.change, Change::Acceleration));
        factors.fold(1.0, |so_far, (_, level)| so_far * factor_of(level))
    }

    /// The tree with these values.
    pub(super) fn changed(&self, levels: &[Level]) -> Result<Node, Vec<Fault>> {
        let mut tree = self.of.tree.clone();
        let mut faults = Vec::new();
        // Parts that leave go last: until then every number is where it was found.
        for (input, level) in self.inputs.iter().zip(levels) {
            match &input.change {
                Change::Set(targets) => {
                    for target in targets {
                        put(&mut tree, &target.steps, target.kind, &level.text, &input.place);
                    }
                }
                Change::Add(targets, against) => {
                    let signed = targets
                        .iter()
                        .map(|t| (t, 1.0))
                        .chain(against.iter().map(|t| (t, -1.0)));
                    for (target, sign) in signed {
                        let amount = sign * amount(level, target.kind);
                        match self.moved(&tree, target, |value| value + amount) {
                            Ok(text) => put(&mut tree, &target.steps, target.kind, &text, &input.place),
                            Err(fault) => faults.push(fault),
                        }
                    }
                }
                Change::Times(targets) => {
                    let factor = factor_of(level);
                    for target in targets {
                        match self.moved(&tree, target, |value| value * factor) {
                            Ok(text) => put(&mut tree, &target.steps, target.kind, &text, &input.place),
                            Err(fault) => faults.push(fault),
                        }
                    }
                }
                Change::Part(_) | Change::Acceleration => {}
            }
        }
        for (input, level) in self.inputs.iter().zip(levels) {
            if let Change::Part(part) = &input.change
                && level.text == "out"
            {
                for (list, name) in with_doors(&self.of.tree, &part.list, &part.name) {
                    leave_out(&mut tree, &list, &name);
                }
            }
        }
        if faults.is_empty() { Ok(tree) } else { Err(faults) }
    }

    /// What stands at a number now, moved, in its own unit.
    fn moved(&self, tree: &Node, target: &Target, to: impl Fn(f64) -> f64) -> Result<String, Fault> {
        let node = at(tree, &target.steps).expect("a stated number is in the tree");
        let unit = unit_of(node);
        let value = match target.kind {
            Kind::Quantity(due) => measure::read(&plain(node), due).map_err(|fault| Fault {
                id: "quantity",
                place: node.place.clone(),
                key: target.key.clone(),
                what: fault.what(),
                mend: fault.mend(),
            })?,
            Kind::Bare => plain(node).parse().unwrap_or(f64::NAN),
        };
        let scale = Scale::known(target.kind, &unit, false);
        Ok(with_unit(&short(scale.number(to(value)), 6), &unit))
    }
}

/// A factor, which may be in percent.
fn factor_of(level: &Level) -> f64 {
    measure::read(&level.text, Dimension::Share).expect("levels are read before they are kept")
}

/// What is added [SI].
fn amount(level: &Level, kind: Kind) -> f64 {
    let Kind::Quantity(due) = kind else {
        return level.number;
    };
    let number = |c: char| c.is_ascii_digit() || c.is_whitespace() || "+-\u{2212}.,/".contains(c);
    let unit = level.text.trim_start_matches(number).trim();
    let zero = measure::read(&with_unit("0", unit), due).unwrap_or(0.0);
    measure::read(&level.text, due).unwrap_or(f64::NAN) - zero
}

/// A part and what goes with it: a plate takes its doors.
pub(super) fn with_doors(tree: &Node, list: &str, name: &str) -> Vec<(String, String)> {
    let mut all = vec![(list.to_owned(), name.to_owned())];
    if list == "plate" {
        for (door, node) in super::keys::parts(tree, "door") {
            let Value::Table(table) = &node.value else {
                continue;
            };
            let on = table.get("plate").map(|entry| &entry.node.value);
            if matches!(on, Some(Value::Text(plate)) if plate == name) {
                all.push(("door".to_owned(), door.to_owned()));
            }
        }
    }
    all
}

/// What stands at `steps`.
pub(super) fn at<'t>(tree: &'t Node, steps: &[Step]) -> Option<&'t Node> {
    steps
        .iter()
        .try_fold(tree, |node, step| match (step, &node.value) {
            (Step::Key(word), Value::Table(table)) => table.get(word).map(|entry| &entry.node),
            (Step::Index(i), Value::List(list)) => list.get(*i),
            _ => None,
        })
}

/// Puts a value at `steps`, where a number stands or could; a section that is not there is opened.
pub(super) fn put(tree: &mut Node, steps: &[Step], kind: Kind, text: &str, place: &Place) {
    let bare = || text.parse::<f64>().ok().map(Value::Number);
    let value = match kind {
        Kind::Bare | Kind::Quantity(Dimension::Share) => bare(),
        Kind::Quantity(_) => None,
    };
    let node = Node {
        place: place.clone(),
        raw: text.to_owned(),
        value: value.unwrap_or_else(|| Value::Text(text.to_owned())),
    };
    let (last, above) = steps.split_last().expect("a number lies somewhere");
    let mut parent = tree;
    for step in above {
        parent = match (step, &mut parent.value) {
            (Step::Key(word), Value::Table(table)) => {
                let known = table.entries.iter().position(|entry| entry.key == *word);
                let at = known.unwrap_or_else(|| {
                    table.entries.push(opened(word, place));
                    table.entries.len() - 1
                });
                &mut table.entries[at].node
            }
            (Step::Index(i), Value::List(list)) => &mut list[*i],
            _ => unreachable!("the steps were found in this very tree"),
        };
    }
    match (last, &mut parent.value) {
        (Step::Key(word), Value::Table(table)) => match table.entries.iter_mut().find(|e| e.key == *word) {
            Some(entry) => {
                entry.node = node;
                entry.place = place.clone();
            }
            None => table.entries.push(Entry {
                key: word.clone(),
                place: place.clone(),
                node,
            }),
        },
        (Step::Index(i), Value::List(list)) => list[*i] = node,
        _ => unreachable!("the steps were found in this very tree"),
    }
}

/// A section that none of the files states.
fn opened(word: &str, place: &Place) -> Entry {
    Entry {
        key: word.to_owned(),
        place: place.clone(),
        node: Node {
            place: place.clone(),
            raw: String::new(),
            value: Value::Table(Table::default()),
        },
    }
}

pub(super) fn leave_out(tree: &mut Node, list: &str, name: &str) {
    let Value::Table(table) = &mut tree.value else {
        return;
    };
    let Some(entry) = table.entries.iter_mut().find(|entry| entry.key == list) else {
        return;
    };
    if let Value::List(parts) = &mut entry.node.value {
        parts.retain(|part| {
            let own = match &part.value {
                Value::Table(table) => table.get("name").map(|entry| &entry.node.value),
                _ => None,
            };
            !matches!(own, Some(Value::Text(own)) if own == name)
        });
        if parts.is_empty() {
            table.entries.retain(|entry| entry.key != list);
        }
    }
}
