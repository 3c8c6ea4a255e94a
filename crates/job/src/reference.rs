//! Every key of a design file: how it is written, what it takes when left out, what it means and how much it matters.
//!
//! What is read is recorded while the pages of `docs/` and a few designs beside them are read (see
//! `Record` in `section`); the words stand in `reference/words.txt`. Tests hold the two together.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use measure::Dimension;

use crate::section::{Asked, Desk, Need, Record, Shape};
use crate::sources::Sources;
use crate::{assembly, experiment, inherit, study};

mod schema;

/// Which kind of file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileKind {
    /// The design of a pan.
    Pan,
    /// A tank in a laboratory.
    Experiment,
    /// Many variants of a design.
    Study,
}

/// A key of a design file.
#[derive(Clone, Debug)]
pub struct Key {
    /// Where it stands, parts without their names: `plate.holes.at`.
    pub path: String,
    /// Every way in which it may be written.
    pub shapes: Vec<Shape>,
    /// Whether it has to be stated.
    pub need: Need,
    /// Whether what it takes when left out follows from other keys; `need` then holds one such value.
    pub follows: bool,
    /// Whether every such section knows it: if not, it belongs to some kinds of its section only.
    pub everywhere: bool,
    /// What it is.
    pub meaning: &'static str,
    /// How much it matters to the answer.
    pub matters: &'static str,
}

const WORDS: &str = include_str!("reference/words.txt");
const PAN_PAGE: &str = include_str!("../../../docs/design-file.md");
const STUDY_PAGE: &str = include_str!("../../../docs/study.md");
const EXPERIMENT_PAGE: &str = include_str!("../../../docs/experiments.md");

/// What the page's one design does not state because it states another way of saying the same.
const PANS: [(&str, &str); 17] = [
    ("0.toml", include_str!("reference/a-drawing.toml")),
    ("1.toml", include_str!("reference/other-ways.toml")),
    ("2.toml", include_str!("reference/a-mesh.toml")),
    ("3.toml", include_str!("reference/one-speed.toml")),
    ("part.toml", include_str!("reference/a-part.toml")),
    ("surroundings.toml", include_str!("reference/surroundings.toml")),
    ("outlined.toml", include_str!("reference/outlined.toml")),
    ("suction.toml", include_str!("reference/suction.toml")),
    ("suction-bare.toml", include_str!("reference/suction-bare.toml")),
    (
        "suction-pieces.toml",
        include_str!("reference/suction-pieces.toml"),
    ),
    ("sealed.toml", include_str!("reference/sealed.toml")),
    (
        "sealed-otherwise.toml",
        include_str!("reference/sealed-otherwise.toml"),
    ),
    (
        "sealed-with-ears.toml",
        include_str!("reference/sealed-with-ears.toml"),
    ),
    ("made.toml", include_str!("reference/made.toml")),
    ("made-plain.toml", include_str!("reference/made-plain.toml")),
    ("made-sealed.toml", include_str!("reference/made-sealed.toml")),
    ("made-outside.toml", include_str!("reference/made-outside.toml")),
];
const EXPERIMENTS: [(&str, &str); 2] = [
    ("0.toml", include_str!("reference/a-level.toml")),
    ("1.toml", include_str!("reference/oil-in-a-tank.toml")),
];

const STUDIES: [(&str, &str); 2] = [
    ("0.toml", include_str!("reference/an-unsure-study.toml")),
    ("1.toml", include_str!("reference/a-search.toml")),
];

impl Key {
    /// What the key is, how it is written and what it takes when left out, in one line.
    pub fn said(&self) -> String {
        let mut said = format!("{}. {}", capital(self.meaning), self.written());
        match &self.need {
            Need::Default(value, reason) if self.follows => {
                said += &format!(" Left out: from other keys, for instance {value} ({reason}).");
            }
            Need::Default(value, reason) => said += &format!(" Left out: {value} ({reason})."),
            Need::May => said += " May be left out.",
            Need::Must | Need::OneOf(_) => {}
        }
        said
    }

    /// How it is written, as sentences.
    pub fn written(&self) -> String {
        let ways: Vec<String> = self.shapes.iter().map(Shape::said).collect();
        let mut said = format!("{}.", capital(&ways.join("; or ")));
        if let Need::OneOf(ways) = &self.need {
            said += &format!(" Exactly one of {} is stated.", crate::section::listed(ways));
        }
        if !self.everywhere {
            said += " Not in every such section.";
        }
        said
    }
}

impl Shape {
    /// In words, without a full stop.
    pub fn said(&self) -> String {
        let rows = |due: &[Dimension]| {
            let parts: Vec<String> = due.iter().map(|d| format!("\"{}\"", d.examples().0)).collect();
            format!("[{}]", parts.join(", "))
        };
        match self {
            Shape::Text => "text".to_owned(),
            Shape::Words(words) => words.join(" | "),
            Shape::Quantity(due, bounds) => {
                let (metric, inch) = due.examples();
                let written = if metric == inch {
                    format!("such as \"{metric}\"")
                } else {
                    format!("such as \"{metric}\" or \"{inch}\"")
                };
                let bounds = match bounds.as_str() {
                    "" => String::new(),
                    bounds => format!(" {bounds},"),
                };
                format!("{},{bounds} {written}", due.with_article())
            }
            Shape::Number => "a plain number above zero".to_owned(),
            Shape::Count => "a whole number from 1".to_owned(),
            Shape::Truth => "true | false".to_owned(),
            Shape::Row(due) => format!("a list such as {}", rows(due)),
            Shape::Rows(due) => format!("a list of lists such as [{}, ...]", rows(due)),
            Shape::Numbers => "a list of plain numbers".to_owned(),
            Shape::Quantities(due) => {
                format!("a list of any length such as [\"{}\", ...]", due.examples().0)
            }
            Shape::Value => "a value as the varied key takes it".to_owned(),
            Shape::Values => "a list of values, each as the varied key takes it".to_owned(),
            Shape::Texts => "a list of texts".to_owned(),
            Shape::Date => "a day such as \"2026-12-19\"".to_owned(),
            Shape::Days => {
                "a list of days and of stretches of days, such as [\"2026-12-19\", [\"2026-12-24\", \"2026-12-27\"]]".to_owned()
            }
            Shape::Durations => {
                "least, likely and most, such as [\"2 h\", \"4 h\", \"8 h\"] or [\"1 day\", \"2 days\", \"4 days\"], or one time that is sure"
                    .to_owned()
            }
            Shape::Corners => {
                "a list of corners [\"0 mm\", \"0 mm\"], an arc as { to = [...], through = [...] }".to_owned()
            }
            Shape::Direction => "front | rear | left | right | up | down, or three numbers".to_owned(),
            Shape::FileWay => "+x | -x | +y | -y | +z | -z of the file, or three numbers".to_owned(),
            Shape::TwoHoles => "two holes such as [\"hole 9\", \"hole 1\"]".to_owned(),
            Shape::OneHole => "a hole such as \"hole 3\"".to_owned(),
            Shape::Column => {
                "a column's name, or { column = \"...\", unit = \"...\", sign = \"-\" }".to_owned()
            }
            Shape::Section => "a section with keys of its own".to_owned(),
            Shape::Parts => "any number of sections, each with its name".to_owned(),
            Shape::Several => "a list of sections { ... }".to_owned(),
        }
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(char::to_uppercase);
    first.into_iter().flatten().chain(letters).collect()
}

/// The keys of a pan's design, worked out once in a process: a study asks for them too.
pub(crate) fn pan_keys() -> &'static [Key] {
    static KEYS: OnceLock<Vec<Key>> = OnceLock::new();
    KEYS.get_or_init(|| found(FileKind::Pan))
}

/// What a key of a pan's design is, and how much it matters; `path` is as of [`Key::path`].
pub fn meaning(path: &str) -> Option<(&'static str, &'static str)> {
    let key = pan_keys().iter().find(|key| key.path == path)?;
    Some((key.meaning, key.matters))
}

/// Every key of a kind of file, in the order of their paths.
pub fn keys(kind: FileKind) -> Vec<Key> {
    match kind {
        FileKind::Pan => pan_keys().to_vec(),
        _ => found(kind),
    }
}

fn found(kind: FileKind) -> Vec<Key> {
    let words = words();
    let (mut asked, sections) = recorded(kind);
    if kind == FileKind::Experiment {
        let mut pans = recorded(FileKind::Pan).0;
        pans.retain(|path, _| {
            SHARED.contains(&path.split('.').next().unwrap_or_default()) && path.contains('.')
        });
        // The page on experiments does not show again what the page on pans shows.
        for (path, pan) in pans {
            let own = asked.entry(path).or_default();
            let more = pan.shapes.into_iter().filter(|shape| !own.shapes.contains(shape));
            let more: Vec<Shape> = more.collect();
            own.shapes.extend(more);
            own.need = own.need.take().or(pan.need);
            own.times += pan.times;
        }
    }
    let known = |(path, asked): (&String, &Asked)| {
        let (meaning, matters) = words.get(path.as_str()).copied().unwrap_or_default();
        let parent = path.rsplit_once('.').map_or("", |(parent, _)| parent);
        let mut shapes = asked.shapes.clone();
        // What these are read by is a part of what they may be.
        if shapes.contains(&Shape::Direction) {
            shapes.retain(|shape| !matches!(shape, Shape::Words(_)));
        }
        if shapes.contains(&Shape::Column) {
            shapes.retain(|shape| *shape != Shape::Text);
        }
        Key {
            path: path.clone(),
            shapes,
            need: asked.need.clone().unwrap_or(Need::May),
            follows: asked.follows,
            everywhere: sections.get(parent).is_none_or(|count| asked.times >= *count),
            meaning,
            matters,
        }
    };
    asked.iter().map(known).collect()
}

/// A JSON schema (draft 4) for a kind of file, for editors.
pub fn schema(kind: FileKind) -> String {
    schema::text(kind, &keys(kind))
}

/// Sections that an experiment reads as a pan does.
const SHARED: [&str; 5] = ["pocket", "plate", "door", "mesh", "oil"];

/// What readers ask while they read everything that a kind of file may hold.
fn recorded(kind: FileKind) -> (BTreeMap<String, Asked>, BTreeMap<String, usize>) {
    let (page, others) = match kind {
        FileKind::Pan => (PAN_PAGE, &PANS[..]),
        FileKind::Experiment => (EXPERIMENT_PAGE, &EXPERIMENTS[..]),
        FileKind::Study => (STUDY_PAGE, &STUDIES[..]),
    };
    let mut files = BTreeMap::from([(PathBuf::from("page.toml"), blocks(page).into_bytes())]);
    for (name, text) in others {
        files.insert(PathBuf::from(name), text.as_bytes().to_vec());
    }
    let names: Vec<PathBuf> = files.keys().cloned().collect();
    if kind == FileKind::Study {
        // The page's study is of the design on the page of designs.
        files.insert(PathBuf::from("pan.toml"), blocks(PAN_PAGE).into_bytes());
    }
    let sources = Sources::Memory(files);
    let all = Record::default();
    // Reading a design takes its time and none of them knows of another.
    std::thread::scope(|scope| {
        let read = |name: &'_ PathBuf| {
            let (name, sources) = (name.clone(), &sources);
            scope.spawn(move || read_on(&name, sources, kind))
        };
        let readers: Vec<_> = names.iter().map(read).collect();
        for reader in readers {
            all.join(reader.join().expect("our own files are read without a panic"));
        }
    });
    all.done()
}

/// Reads one of our own files and tells what was asked; that it names logs which are not there is no matter.
fn read_on(name: &Path, sources: &Sources, kind: FileKind) -> Record {
    let Ok(whole) = inherit::read(name, sources) else {
        return Record::default();
    };
    let desk = Desk::default();
    let mut files = Vec::new();
    match kind {
        FileKind::Pan => drop(assembly::on_desk(&desk, &whole.tree, name, sources, &mut files)),
        FileKind::Experiment => drop(experiment::on_desk(&desk, &whole.tree, name, sources, &mut files)),
        FileKind::Study => drop(study::on_desk(&desk, &whole.tree, name, sources)),
    }
    desk.asked()
}

/// The blocks of a page that make one whole file.
fn blocks(page: &str) -> String {
    let block = |rest: &str| rest.split("```").next().unwrap_or_default().to_owned();
    page.split("```toml\n").skip(1).map(block).collect()
}

/// Meaning and weight of each key: lines `path: meaning | weight`.
fn words() -> BTreeMap<&'static str, (&'static str, &'static str)> {
    let line = |line: &'static str| {
        let (path, rest) = line.split_once(": ")?;
        let (meaning, matters) = rest.split_once(" | ")?;
        Some((path, (meaning.trim(), matters.trim())))
    };
    WORDS
        .lines()
        .filter(|l| !l.starts_with('#'))
        .filter_map(line)
        .collect()
}
