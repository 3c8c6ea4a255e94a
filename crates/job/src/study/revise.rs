//! A case as a design file of its own: it names its base and states only what changes.

use std::fmt::Write;

use super::Study;
use super::apply::{at, with_doors};
use super::input::{Change, Level};
use super::keys::{Step, Target};
use crate::assembly::FORMAT;
use crate::fault::Fault;
use crate::tree::{Node, Value};

impl Study {
    /// The case as a revision named `name` whose base is reached as `base` from where it will lie; `notes` tell where it comes
    /// from.
    ///
    /// # Errors
    /// When a value is of the drive and not of the design (the scale of the g sensor).
    pub fn revision(
        &self,
        levels: &[Level],
        name: &str,
        base: &str,
        notes: &str,
    ) -> Result<String, Vec<Fault>> {
        if let Some(input) = (self.inputs.iter()).find(|input| matches!(input.change, Change::Acceleration)) {
            return Err(vec![Fault {
                id: "no-data",
                place: input.place.clone(),
                key: format!("vary \"{}\"", input.name),
                what: "the scale of the g sensor is no number of a design".to_owned(),
                mend: "leave it out of the study whose winner is to be written".to_owned(),
            }]);
        }
        let tree = self.changed(levels)?;
        let gone: Vec<(String, String)> = (self.inputs.iter().zip(levels))
            .filter_map(|(input, level)| match &input.change {
                Change::Part(part) if level.text == "out" => {
                    Some(with_doors(&self.of.tree, &part.list, &part.name))
                }
                _ => None,
            })
            .flatten()
            .collect();
        let targets = self.inputs.iter().flat_map(|input| match &input.change {
            Change::Set(targets) | Change::Times(targets) => targets.clone(),
            Change::Add(targets, against) => targets.iter().chain(against).cloned().collect(),
            Change::Part(_) | Change::Acceleration => Vec::new(),
        });
        let targets: Vec<Target> = targets.collect();
        Ok(revision(
            [&self.of.tree, &tree],
            &targets,
            &gone,
            [name, base, notes],
        ))
    }
}

/// A design that states what stands at `targets` in the second tree, and that the parts `gone` are out of the first; of the
/// given name, base and notes.
pub(super) fn revision(
    [before, now]: [&Node; 2],
    targets: &[Target],
    gone: &[(String, String)],
    [name, base, notes]: [&str; 3],
) -> String {
    let mut blocks: Vec<Block> = Vec::new();
    for target in targets {
        state([before, now], &target.steps, gone, &mut blocks);
    }
    let mut text = format!(
        "format = \"{FORMAT}\"\nname = {}\nnotes = {}\nbase = {}\n",
        quoted(name),
        quoted(notes),
        quoted(base)
    );
    for block in blocks {
        let _ = write!(text, "\n{}\n", block.head);
        for (key, value) in block.lines {
            let _ = writeln!(text, "{key} = {value}");
        }
    }
    for (list, name) in gone {
        let _ = write!(text, "\n[[{list}]]\nname = {}\nremove = true\n", quoted(name));
    }
    text
}

/// Adds the line that states what stands at `steps`: the whole value of its key, because a list is replaced whole.
fn state([before, tree]: [&Node; 2], steps: &[Step], gone: &[(String, String)], blocks: &mut Vec<Block>) {
    // Indices in `steps` are those of the tree before parts left it.
    let mut head = Vec::new();
    let mut part = None;
    let (mut before, mut rest) = (before, steps);
    let mut own = tree;
    loop {
        let Some((Step::Key(word), tail)) = rest.split_first() else {
            return;
        };
        let Some(node) = child(before, word) else {
            // A key that the design does not state, in a section of its own or not.
            match child(own, word) {
                Some(found) if matches!(tail.first(), Some(Step::Key(_))) => {
                    head.push(word.clone());
                    (before, own, rest) = (found, found, tail);
                    continue;
                }
                _ => break,
            }
        };
        match (&node.value, tail.first()) {
            (Value::List(list), Some(Step::Index(i))) if list.get(*i).is_some_and(|p| name(p).is_some()) => {
                let named = name(&list[*i]).expect("just seen").to_owned();
                if gone.contains(&(word.clone(), named.clone())) {
                    return;
                }
                head.push(word.clone());
                let Some(Value::List(now)) = child(own, word).map(|node| &node.value) else {
                    return;
                };
                let Some(found) = now.iter().find(|p| name(p) == Some(&named)) else {
                    return;
                };
                part = Some(named);
                (before, own, rest) = (&list[*i], found, &tail[1..]);
            }
            // A section in brackets, not a table in braces, whose value is written whole.
            (Value::Table(_), Some(Step::Key(_))) if node.raw.is_empty() => {
                head.push(word.clone());
                let Some(found) = child(own, word) else { return };
                (before, own, rest) = (node, found, tail);
            }
            _ => break,
        }
    }
    let Some(Step::Key(word)) = rest.first() else {
        return;
    };
    let Some(node) = at(own, &rest[..1]) else { return };
    let path = head.join(".");
    let (head, first) = match &part {
        Some(name) => (format!("[[{path}]]"), Some(("name".to_owned(), quoted(name)))),
        None => (format!("[{path}]"), None),
    };
    let line = (word.clone(), written(node));
    let same = |block: &&mut Block| block.head == head && first.is_none_or_is(block.lines.first());
    match blocks.iter_mut().find(same) {
        Some(block) if block.lines.contains(&line) => {}
        Some(block) => block.lines.push(line),
        None => blocks.push(Block {
            head,
            lines: first.into_iter().chain([line]).collect(),
        }),
    }
}

struct Block {
    head: String,
    lines: Vec<(String, String)>,
}

trait IsFirst {
    fn is_none_or_is(&self, line: Option<&(String, String)>) -> bool;
}

impl IsFirst for Option<(String, String)> {
    fn is_none_or_is(&self, line: Option<&(String, String)>) -> bool {
        self.as_ref().is_none_or(|own| Some(own) == line)
    }
}

fn child<'t>(node: &'t Node, word: &str) -> Option<&'t Node> {
    match &node.value {
        Value::Table(table) => table.get(word).map(|entry| &entry.node),
        _ => None,
    }
}

fn name(part: &Node) -> Option<&str> {
    match &child(part, "name")?.value {
        Value::Text(name) => Some(name),
        _ => None,
    }
}

/// A value as TOML in one line.
pub(super) fn written(node: &Node) -> String {
    match &node.value {
        Value::Text(text) => quoted(text),
        Value::Whole(number) => number.to_string(),
        Value::Number(number) => format!("{number:?}"),
        Value::Truth(truth) => truth.to_string(),
        Value::Date => node.raw.clone(),
        Value::List(list) => {
            let entries: Vec<String> = list.iter().map(written).collect();
            format!("[{}]", entries.join(", "))
        }
        Value::Table(table) => {
            let entries = table.entries.iter();
            let entries: Vec<String> = entries
                .map(|entry| format!("{} = {}", entry.key, written(&entry.node)))
                .collect();
            format!("{{ {} }}", entries.join(", "))
        }
    }
}

fn quoted(text: &str) -> String {
    toml_edit::Value::from(text).to_string().trim().to_owned()
}
