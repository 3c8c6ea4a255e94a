//! Keys as a study names them, and where they lie in the merged tree.
//!
//! A key is written as faults and `explain` write it: `pickup.mouth[2]`, `plate "front wall".z[1]`,
//! `plate "front wall".holes[0].diameter`. Numbers in brackets count from nought. `[*]` stands for every entry of a list, `"*"` for every
//! part of a kind.

use measure::Dimension;

use crate::reference::Key;
use crate::section::{Need, Shape};
use crate::tree::{Entry, Node, Table, Value};

/// A step down the tree.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Step {
    Key(String),
    Index(usize),
}

/// What a number is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Quantity(Dimension),
    /// A plain number, such as a gear ratio.
    Bare,
}

/// A number of the design.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Target {
    /// As a message writes it.
    pub key: String,
    pub steps: Vec<Step>,
    pub kind: Kind,
    /// Whether the design states it; else it takes its usual value.
    pub stated: bool,
}

/// A named part of the design, such as a plate.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Named {
    pub list: String,
    pub name: String,
}

/// What a written key means.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Meant {
    Numbers(Vec<Target>),
    Part(Named),
}

/// Why a key means nothing: what is wrong and how to mend it.
pub(super) struct Unmeant {
    pub id: &'static str,
    pub what: String,
    pub mend: String,
}

/// The tree with what is known of its keys.
pub(super) struct Known<'t> {
    tree: &'t Node,
    keys: &'t [Key],
}

/// A piece of a written key.
#[derive(Clone, Debug, PartialEq)]
enum Piece {
    Key(String),
    Name(String),
    EveryName,
    Index(usize),
    Every,
}

/// Deepest key that is followed.
const DEEPEST: usize = 16;

impl<'t> Known<'t> {
    pub fn of(tree: &'t Node, keys: &'t [Key]) -> Known<'t> {
        Known { tree, keys }
    }

    /// The tree.
    pub fn tree(&self) -> &'t Node {
        self.tree
    }

    /// What `text` means.
    pub fn meant(&self, text: &str) -> Result<Meant, Unmeant> {
        let Some(pieces) = pieces(text) else {
            return Err(Unmeant {
                id: "wrong-kind",
                what: format!("\"{text}\" is not written as a key"),
                mend: "write it for instance as fill.volume, pickup.mouth[2] or plate \"front wall\".z[1]; in TOML put single \
                       quotes round a key that holds a name"
                    .to_owned(),
            });
        };
        if let [Piece::Key(list), Piece::Name(name)] = &pieces[..] {
            let there = parts(self.tree, list).iter().any(|(own, _)| own == name);
            return match there {
                true if matches!(list.as_str(), "plate" | "door") => Ok(Meant::Part(Named {
                    list: list.clone(),
                    name: name.clone(),
                })),
                true => Err(Unmeant {
                    id: "wrong-kind",
                    what: format!("a {list} cannot be left out by a study"),
                    mend: "only a plate or a door can; name one of its numbers instead".to_owned(),
                }),
                false => Err(self.unknown(text)),
            };
        }
        let mut found = Vec::new();
        self.follow(self.tree, &pieces, String::new(), Vec::new(), &mut found);
        if found.is_empty() {
            return Err(self.unknown(text));
        }
        let mut numbers = Vec::new();
        for (key, steps, node) in found {
            let Some(kind) = self.kind(&steps) else {
                return Err(not_numeric(&key, node));
            };
            // A list where one of its numbers is due.
            if let Some(node) = node
                && matches!(
                    node.value,
                    Value::List(_) | Value::Table(_) | Value::Truth(_) | Value::Date
                )
            {
                return Err(not_numeric(&key, Some(node)));
            }
            numbers.push(Target {
                key,
                steps,
                kind,
                stated: node.is_some(),
            });
        }
        Ok(Meant::Numbers(numbers))
    }

    /// Every place that `pieces` lead to from `node`, with its key as messages write it; `None` for a key that is known and not stated.
    fn follow(
        &self,
        node: &'t Node,
        pieces: &[Piece],
        key: String,
        steps: Vec<Step>,
        found: &mut Vec<(String, Vec<Step>, Option<&'t Node>)>,
    ) {
        let Some((piece, rest)) = pieces.split_first() else {
            found.push((key, steps, Some(node)));
            return;
        };
        let with = |step: Step| {
            let mut steps = steps.clone();
            steps.push(step);
            steps
        };
        match (piece, &node.value) {
            (Piece::Key(word), Value::Table(table)) => {
                let dotted = if key.is_empty() {
                    word.clone()
                } else {
                    format!("{key}.{word}")
                };
                let steps = with(Step::Key(word.clone()));
                match table.get(word) {
                    Some(entry) => self.follow(&entry.node, rest, dotted, steps, found),
                    None => found.extend(self.unstated(dotted, steps, rest)),
                }
            }
            (Piece::Name(_) | Piece::EveryName, Value::List(list)) => {
                for (i, part) in list.iter().enumerate() {
                    let Some(name) = name_of(part) else { continue };
                    if matches!(piece, Piece::Name(wanted) if wanted != name) {
                        continue;
                    }
                    self.follow(
                        part,
                        rest,
                        format!("{key} \"{name}\""),
                        with(Step::Index(i)),
                        found,
                    );
                }
            }
            (Piece::Index(_) | Piece::Every, Value::List(list)) => {
                for (i, entry) in list.iter().enumerate() {
                    if matches!(piece, Piece::Index(wanted) if *wanted != i) {
                        continue;
                    }
                    self.follow(entry, rest, format!("{key}[{i}]"), with(Step::Index(i)), found);
                }
            }
            _ => {}
        }
    }

    /// A key that is known and not stated, below `steps` by `rest`: in a section that is there, or in one that any of its keys
    /// may open because all of them may be left out.
    fn unstated(
        &self,
        mut key: String,
        mut steps: Vec<Step>,
        rest: &[Piece],
    ) -> Option<(String, Vec<Step>, Option<&'t Node>)> {
        for piece in rest {
            let Piece::Key(word) = piece else { return None };
            let section = format!("{key}.");
            let may = |known: &&Key| matches!(known.need, Need::Default(..) | Need::May);
            if !self
                .keys
                .iter()
                .filter(|known| known.path.starts_with(&section))
                .all(|known| may(&known))
            {
                return None;
            }
            key += &format!(".{word}");
            steps.push(Step::Key(word.clone()));
        }
        self.kind(&steps).map(|_| (key, steps, None))
    }

    /// What the number at `steps` is, by what the readers ask there; `None` when no number is read there.
    fn kind(&self, steps: &[Step]) -> Option<Kind> {
        let words: Vec<&str> = steps
            .iter()
            .filter_map(|step| match step {
                Step::Key(word) => Some(word.as_str()),
                Step::Index(_) => None,
            })
            .collect();
        let trailing: Vec<usize> = steps
            .iter()
            .rev()
            .map_while(|step| match step {
                Step::Index(i) => Some(*i),
                Step::Key(_) => None,
            })
            .collect();
        let last = trailing.first().copied();
        // Corners may hold tables of their own: `outline[2].through[0]`.
        let whole = words.join(".");
        let outer = words[..words.len().saturating_sub(1)].join(".");
        let of = |path: &str| self.keys.iter().find(|key| key.path == path);
        if let Some(key) = of(&outer)
            && key.shapes.contains(&Shape::Corners)
            && matches!(words.last(), Some(&"to" | &"through"))
        {
            return last.map(|_| Kind::Quantity(Dimension::Length));
        }
        let shape = |shape: &Shape| match (shape, last) {
            (Shape::Quantity(due, _), None) => Some(Kind::Quantity(*due)),
            (Shape::Number, None) => Some(Kind::Bare),
            (Shape::Numbers, Some(_)) if trailing.len() == 1 => Some(Kind::Bare),
            (Shape::Quantities(due), Some(_)) if trailing.len() == 1 => Some(Kind::Quantity(*due)),
            (Shape::Row(due), Some(at)) if trailing.len() == 1 => due.get(at).copied().map(Kind::Quantity),
            (Shape::Rows(due), Some(at)) if trailing.len() == 2 => due.get(at).copied().map(Kind::Quantity),
            (Shape::Corners, Some(_)) if trailing.len() == 2 => Some(Kind::Quantity(Dimension::Length)),
            _ => None,
        };
        of(&whole)?.shapes.iter().find_map(shape)
    }

    /// A key that is not there, with the nearest that is.
    fn unknown(&self, text: &str) -> Unmeant {
        let mut numbers = Vec::new();
        self.numbers(self.tree, String::new(), &mut Vec::new(), &mut numbers);
        let near = measure::nearest(text, numbers.iter().map(String::as_str)).map(str::to_owned);
        // A slip in the name of a part is judged by the name alone.
        let part = || {
            let (list, rest) = text.split_once(" \"")?;
            let (name, rest) = rest.split_once('"')?;
            let there = parts(self.tree, list);
            let near = measure::nearest(name, there.iter().map(|(name, _)| *name))?;
            (near != name).then(|| format!("{list} \"{near}\"{rest}"))
        };
        // Of a section that is there, what can vary in it.
        let head = text.rsplit_once(['.', '[']).map_or(text, |(head, _)| head);
        let beside: Vec<&str> = numbers
            .iter()
            .filter(|key| key.starts_with(head))
            .take(8)
            .map(String::as_str)
            .collect();
        let mend = match near.or_else(part) {
            Some(near) => format!("did you mean {near}?"),
            None if !beside.is_empty() => format!("there are {}", crate::section::listed(&beside)),
            None => {
                "name a number that the design states, as faults and `sumpwright explain` write it".to_owned()
            }
        };
        Unmeant {
            id: "unknown-key",
            what: format!("the design has no key {text}"),
            mend,
        }
    }

    /// Every number below `node`.
    fn numbers(&self, node: &Node, key: String, steps: &mut Vec<Step>, found: &mut Vec<String>) {
        if steps.len() > DEEPEST {
            return;
        }
        match &node.value {
            Value::Table(Table { entries }) => {
                for Entry { key: word, node, .. } in entries {
                    let dotted = if key.is_empty() {
                        word.clone()
                    } else {
                        format!("{key}.{word}")
                    };
                    steps.push(Step::Key(word.clone()));
                    self.numbers(node, dotted, steps, found);
                    steps.pop();
                }
            }
            Value::List(list) => {
                for (i, entry) in list.iter().enumerate() {
                    let full = match name_of(entry) {
                        Some(name) => format!("{key} \"{name}\""),
                        None => format!("{key}[{i}]"),
                    };
                    steps.push(Step::Index(i));
                    self.numbers(entry, full, steps, found);
                    steps.pop();
                }
            }
            _ if self.kind(steps).is_some() => found.push(key),
            _ => {}
        }
    }
}

fn not_numeric(key: &str, node: Option<&Node>) -> Unmeant {
    let found = match node.map(|node| &node.value) {
        Some(Value::List(_)) => "is a list".to_owned(),
        Some(Value::Table(_)) => "is a section".to_owned(),
        Some(Value::Truth(_)) => "is true or false".to_owned(),
        _ => "is no number".to_owned(),
    };
    let mend = match node.map(|node| &node.value) {
        Some(Value::List(_)) => format!("name one of its numbers: {key}[0], or {key}[*] for all of them"),
        _ => "name a number or a quantity with a unit; words cannot be varied".to_owned(),
    };
    Unmeant {
        id: "not-numeric",
        what: format!("{key} {found}, so it cannot be varied"),
        mend,
    }
}

/// The parts of a named list at the top of the tree.
pub(super) fn parts<'t>(tree: &'t Node, list: &str) -> Vec<(&'t str, &'t Node)> {
    let Value::Table(table) = &tree.value else {
        return Vec::new();
    };
    match table.get(list).map(|entry| &entry.node.value) {
        Some(Value::List(parts)) => parts
            .iter()
            .filter_map(|part| Some((name_of(part)?, part)))
            .collect(),
        _ => Vec::new(),
    }
}

fn name_of(part: &Node) -> Option<&str> {
    match &part.value {
        Value::Table(table) => match &table.get("name")?.node.value {
            Value::Text(name) => Some(name),
            _ => None,
        },
        _ => None,
    }
}

/// A written key in pieces.
fn pieces(text: &str) -> Option<Vec<Piece>> {
    let mut pieces = Vec::new();
    let mut rest = text.trim();
    loop {
        let end = rest.find(['.', '[', ' ', '"']).unwrap_or(rest.len());
        let (word, tail) = rest.split_at(end);
        if word.is_empty() {
            return None;
        }
        pieces.push(Piece::Key(word.to_owned()));
        rest = tail.trim_start();
        if let Some(quoted) = rest.strip_prefix('"') {
            let (name, tail) = quoted.split_once('"')?;
            pieces.push(match name {
                "*" => Piece::EveryName,
                name => Piece::Name(name.to_owned()),
            });
            rest = tail;
        }
        while let Some(inside) = rest.strip_prefix('[') {
            let (number, tail) = inside.split_once(']')?;
            pieces.push(match number.trim() {
                "*" => Piece::Every,
                number => Piece::Index(number.parse().ok()?),
            });
            rest = tail;
        }
        if rest.is_empty() {
            return (pieces.len() <= DEEPEST).then_some(pieces);
        }
        rest = rest.strip_prefix('.')?;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_taken_apart_as_faults_write_it() {
        let key = |word: &str| Piece::Key(word.to_owned());
        assert_eq!(
            pieces("plate \"front wall\".holes[2].at[1]"),
            Some(vec![
                key("plate"),
                Piece::Name("front wall".to_owned()),
                key("holes"),
                Piece::Index(2),
                key("at"),
                Piece::Index(1)
            ])
        );
        assert_eq!(
            pieces("circuit.aloft[*][1]"),
            Some(vec![key("circuit"), key("aloft"), Piece::Every, Piece::Index(1)])
        );
        assert_eq!(
            pieces("door \"*\".gap"),
            Some(vec![key("door"), Piece::EveryName, key("gap")])
        );
        for odd in ["", ".", "a.", "a[", "a[x]", "a \"b", "a b", "[0]"] {
            assert_eq!(pieces(odd), None, "{odd}");
        }
    }
}
