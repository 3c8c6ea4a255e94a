//! A design file as a tree of values that remember where they stand.

use std::cell::RefCell;
use std::sync::Arc;

use toml_edit::{ArrayOfTables, Document, Item, TableLike};

use crate::fault::{Fault, Place};

/// A value and where it stands.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub place: Place,
    /// As written, blanks squeezed; for messages and for the list of inputs.
    pub raw: String,
    pub value: Value,
}

#[derive(Clone, Debug)]
pub(crate) enum Value {
    Text(String),
    Whole(i64),
    Number(f64),
    Truth(bool),
    Date,
    List(Vec<Node>),
    Table(Table),
}

impl Value {
    /// With its article, as a sentence needs it.
    pub fn kind(&self) -> &'static str {
        match self {
            Value::Text(_) => "a text",
            Value::Whole(_) | Value::Number(_) => "a number",
            Value::Truth(_) => "true or false",
            Value::Date => "a date",
            Value::List(_) => "a list",
            Value::Table(_) => "a table",
        }
    }
}

/// Keys with their values, in the order of the file.
#[derive(Clone, Debug, Default)]
pub(crate) struct Table {
    pub entries: Vec<Entry>,
}

#[derive(Clone, Debug)]
pub(crate) struct Entry {
    pub key: String,
    /// Where the key stands.
    pub place: Place,
    pub node: Node,
}

impl Table {
    pub fn get(&self, key: &str) -> Option<&Entry> {
        self.entries.iter().find(|e| e.key == key)
    }
}

/// Parses the text of the file at `place`.
pub(crate) fn parse(text: &str, place: &Place) -> Result<Node, Fault> {
    let lines = Lines {
        text,
        file: place.clone(),
        odd: RefCell::new(None),
    };
    let document = Document::parse(text).map_err(|error| Fault {
        id: "not-toml",
        place: lines.place(error.span().map_or(0, |span| span.start)),
        key: String::new(),
        what: format!("this line is not TOML: {}", squeezed(error.message())),
        mend: "keys stand as `key = \"value\"`, sections as `[section]`; text and quantities stand in quotes"
            .to_owned(),
    })?;
    let table = lines.table(document.as_table());
    match lines.odd.into_inner() {
        Some(fault) => Err(fault),
        None => Ok(Node {
            place: Place {
                line: 1,
                ..place.clone()
            },
            raw: String::new(),
            value: Value::Table(table),
        }),
    }
}

/// Turns byte offsets into lines.
struct Lines<'t> {
    text: &'t str,
    file: Place,
    /// The first thing that no design may hold.
    odd: RefCell<Option<Fault>>,
}

impl Lines<'_> {
    fn place(&self, offset: usize) -> Place {
        let before = &self.text.as_bytes()[..offset.min(self.text.len())];
        let line = 1 + before.iter().filter(|b| **b == b'\n').count();
        Place {
            file: Arc::clone(&self.file.file),
            line,
        }
    }

    /// Keeps letters that would steer a terminal out of names, and with them out of messages and reports.
    fn plain(&self, text: &str, place: &Place) {
        if text
            .chars()
            .any(|c| c.is_control() && !matches!(c, '\n' | '\t' | '\r'))
        {
            self.odd(
                place,
                "control-character",
                "a text holds a control character",
                "write it in plain letters",
            );
        }
    }

    fn odd(&self, place: &Place, id: &'static str, what: &str, mend: &str) {
        self.odd.borrow_mut().get_or_insert_with(|| Fault {
            id,
            place: place.clone(),
            key: String::new(),
            what: what.to_owned(),
            mend: mend.to_owned(),
        });
    }

    fn few(&self, count: usize, place: &Place) {
        if count > MOST_ENTRIES {
            let what = format!("a list holds {count} entries");
            self.odd(
                place,
                "list-too-long",
                &what,
                &format!("at most {MOST_ENTRIES} are read"),
            );
        }
    }

    fn table(&self, table: &dyn TableLike) -> Table {
        let entry = |(key, item): (&str, &Item)| {
            let key_span = table.key(key).and_then(|k| k.span());
            // A key made by `[a.b]` has no span of its own: take the first thing inside it.
            let offset = key_span.or_else(|| item.span()).map(|span| span.start);
            let node = self.item(item)?;
            let place = offset.map_or_else(|| node.place.clone(), |o| self.place(o));
            self.plain(key, &place);
            Some(Entry {
                key: key.to_owned(),
                place,
                node,
            })
        };
        Table {
            entries: table.iter().filter_map(entry).collect(),
        }
    }

    fn item(&self, item: &Item) -> Option<Node> {
        match item {
            Item::None => None,
            Item::Value(value) => Some(self.value(value)),
            Item::Table(table) => {
                let inside = self.table(table);
                let place = match table.span() {
                    Some(span) => self.place(span.start),
                    None => inside
                        .entries
                        .first()
                        .map_or(self.file.clone(), |e| e.place.clone()),
                };
                Some(Node {
                    place,
                    raw: String::new(),
                    value: Value::Table(inside),
                })
            }
            Item::ArrayOfTables(tables) => Some(self.tables(tables)),
        }
    }

    fn tables(&self, tables: &ArrayOfTables) -> Node {
        let nodes: Vec<Node> = tables
            .iter()
            .map(|table| Node {
                place: table
                    .span()
                    .map_or(self.file.clone(), |span| self.place(span.start)),
                raw: String::new(),
                value: Value::Table(self.table(table)),
            })
            .collect();
        let place = nodes.first().map_or(self.file.clone(), |n| n.place.clone());
        self.few(nodes.len(), &place);
        Node {
            place,
            raw: String::new(),
            value: Value::List(nodes),
        }
    }

    fn value(&self, value: &toml_edit::Value) -> Node {
        let span = value.span().unwrap_or(0..0);
        let raw = squeezed(self.text.get(span.clone()).unwrap_or(""));
        let place = self.place(span.start);
        match value {
            toml_edit::Value::String(text) => self.plain(text.value(), &place),
            toml_edit::Value::Array(list) => self.few(list.len(), &place),
            _ => {}
        }
        let value = match value {
            toml_edit::Value::String(text) => Value::Text(text.value().clone()),
            toml_edit::Value::Integer(number) => Value::Whole(*number.value()),
            toml_edit::Value::Float(number) => Value::Number(*number.value()),
            toml_edit::Value::Boolean(truth) => Value::Truth(*truth.value()),
            toml_edit::Value::Datetime(_) => Value::Date,
            toml_edit::Value::Array(list) => Value::List(list.iter().map(|v| self.value(v)).collect()),
            toml_edit::Value::InlineTable(table) => Value::Table(self.table(table)),
        };
        Node { place, raw, value }
    }
}

/// Most entries of one list: a pan has tens of parts, an outline hundreds of corners.
const MOST_ENTRIES: usize = 2000;

/// One line, no row of blanks, at most 300 letters.
fn squeezed(text: &str) -> String {
    const MOST: usize = 300;
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if words.chars().count() <= MOST {
        return words;
    }
    words.chars().take(MOST).chain("...".chars()).collect()
}
