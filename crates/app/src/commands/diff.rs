//! `sumpwright diff`: what one design changes against another, in words and numbers.

use crate::cli::{Common, Diff};
use crate::failure::Failure;
use crate::findings::{height_at_mouth, rest_maps};
use crate::preparation::Prepared;
use crate::terminal;
use job::{Design, InputLine};
use measure::{Dimension, UnitOrder, show};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::ExitCode;

/// What a revision changes.
#[derive(Serialize)]
struct Changes {
    /// Name of the first and of the second design.
    names: [String; 2],
    /// What follows from the designs, where the two differ.
    numbers: Vec<Number>,
    /// Parts that only the second has, and only the first.
    added: Vec<String>,
    removed: Vec<String>,
    /// Keys that are stated or taken otherwise.
    keys: Vec<Change>,
}

/// A number that follows from a design, in both [SI]; none where there is none.
#[derive(Serialize)]
struct Number {
    what: &'static str,
    unit: &'static str,
    from: Option<f64>,
    to: Option<f64>,
    #[serde(skip)]
    of: Of,
}

#[derive(Clone, Copy)]
enum Of {
    Quantity(Dimension),
    Count,
    /// A load; beyond the rings when there is none.
    Load,
}

/// A key whose value differs; empty where the key does not belong.
#[derive(Serialize)]
struct Change {
    key: String,
    from: String,
    to: String,
}

/// Runs it.
pub fn run(arguments: &Diff) -> Result<ExitCode, Failure> {
    let designs = [read(&arguments.first)?, read(&arguments.second)?];
    let changes = changes(&designs)?;
    if arguments.json {
        let text = serde_json::to_string_pretty(&changes).expect("plain data");
        terminal::say(&format!("{text}\n"));
    } else {
        terminal::say(&changes.text(designs[1].design.units));
    }
    Ok(ExitCode::SUCCESS)
}

fn read(path: &Path) -> Result<Prepared, Failure> {
    Prepared::read(&Common::of(path))
}

fn changes(designs: &[Prepared; 2]) -> Result<Changes, Failure> {
    let [first, second] = designs;
    Ok(between(
        [&first.design, &second.design],
        [numbers(first)?, numbers(second)?],
    ))
}

/// What the second design changes against the first, as sentences: what is stated otherwise, then what follows at once, without
/// the maps of oil at rest.
pub fn sentences(first: &Prepared, second: &Prepared) -> Vec<String> {
    let changes = between([&first.design, &second.design], [at_once(first), at_once(second)]);
    let mut all = Vec::new();
    for (parts, what) in [(&changes.added, "is new"), (&changes.removed, "is left out")] {
        all.extend(parts.iter().map(|part| format!("{part} {what}")));
    }
    for Change { key, from, to } in &changes.keys {
        all.push(match (from.as_str(), to.as_str()) {
            ("", to) => format!("{key}: {to}, was not stated"),
            (from, "") => format!("{key}: no longer stated, was {from}"),
            (from, to) => format!("{key}: {to}, was {from}"),
        });
    }
    for number in &changes.numbers {
        let row = number.row(second.design.units);
        let step = if row[4].is_empty() {
            String::new()
        } else {
            format!(" ({})", row[4])
        };
        all.push(format!("{}: {}, was {}{step}", row[0], row[3], row[1]));
    }
    all
}

fn between([first, second]: [&Design; 2], [from, to]: [Vec<Follows>; 2]) -> Changes {
    let numbers = from
        .into_iter()
        .zip(to)
        .map(|((what, of, from), (_, _, to))| Number {
            what,
            unit: of.unit(),
            from,
            to,
            of,
        });
    let (a, b) = (inputs(first), inputs(second));
    let (parts_a, parts_b) = (parts(&a), parts(&b));
    let mut keys = Vec::new();
    let of_neither = |key: &str| {
        let part = part_of(key);
        part.is_none_or(|part| parts_a.contains(part) && parts_b.contains(part))
    };
    for key in order(first, second) {
        let (from, to) = (a.get(key), b.get(key));
        if from != to && of_neither(key) {
            let said = |value: Option<&&str>| value.map_or(String::new(), |v| (*v).to_owned());
            keys.push(Change {
                key: key.to_owned(),
                from: said(from),
                to: said(to),
            });
        }
    }
    let names = |only: &BTreeSet<&str>, other: &BTreeSet<&str>| {
        only.difference(other).map(|p| (*p).to_owned()).collect()
    };
    Changes {
        names: [first.name.clone(), second.name.clone()],
        numbers: numbers.filter(Number::differs).collect(),
        added: names(&parts_b, &parts_a),
        removed: names(&parts_a, &parts_b),
        keys,
    }
}

/// A number that follows from a design: what it is, of which kind, its value [SI].
type Follows = (&'static str, Of, Option<f64>);

/// What follows from a design, the maps of oil at rest among it.
fn numbers(p: &Prepared) -> Result<Vec<Follows>, Failure> {
    let grid = p.grid(p.size(None)?)?;
    let rest = rest_maps(p, &grid, p.design.engine.redline, 0.0)?;
    let weakest = |dry: &[Option<f64>]| dry.iter().copied().flatten().reduce(f64::min);
    let mut all = at_once(p);
    all.extend([
        (
            "mouth first bare in a long corner, weakest way",
            Of::Load,
            weakest(&rest.map.first_dry_long),
        ),
        (
            "mouth first bare in the first instant, weakest way",
            Of::Load,
            weakest(&rest.map.first_dry_instant),
        ),
    ]);
    Ok(all)
}

/// What follows from a design at once.
fn at_once(p: &Prepared) -> Vec<Follows> {
    use Dimension::{Area, Length, Volume};
    let design = &p.design;
    let pan = &design.pan;
    let running = design.circuit.pan_at(design.engine.redline, design.fill).ok();
    let level = |volume: f64| pan.height_at_volume(p.up, volume).ok();
    let over_mouth = |level: Option<f64>| level.map(|l| l - p.up.dot(pan.mouth.at));
    let (off, at_redline) = (level(design.fill), running.and_then(level));
    let shares = |plate: &pan::Plate| plate.perforation > 0.0 || !plate.openings.is_empty();
    vec![
        (
            "room below the flange",
            Of::Quantity(Volume),
            Some(pan.capacity()),
        ),
        (
            "deepest place under the flange",
            Of::Quantity(Length),
            Some(-pan.cavity.bounds().0.z),
        ),
        ("fill", Of::Quantity(Volume), Some(design.fill)),
        ("in the pan at redline", Of::Quantity(Volume), running),
        (
            "level at the mouth, engine off, over the flange",
            Of::Quantity(Length),
            off.map(|l| height_at_mouth(p, l)),
        ),
        (
            "oil at rest over the mouth, engine off",
            Of::Quantity(Length),
            over_mouth(off),
        ),
        (
            "oil at rest over the mouth, at redline",
            Of::Quantity(Length),
            over_mouth(at_redline),
        ),
        (
            "mouth over the floor",
            Of::Quantity(Length),
            pan.mouth_over_floor(),
        ),
        (
            "mouth under the flange",
            Of::Quantity(Length),
            Some(-pan.mouth.at.z),
        ),
        ("plates", Of::Count, Some(pan.plates.len() as f64)),
        (
            "plates with openings",
            Of::Count,
            Some(pan.plates.iter().filter(|plate| shares(plate)).count() as f64),
        ),
        ("doors", Of::Count, Some(pan.doors.len() as f64)),
        (
            "area of all doors",
            Of::Quantity(Area),
            Some(pan.doors.iter().map(pan::Door::area).sum()),
        ),
    ]
}

impl Of {
    fn unit(self) -> &'static str {
        match self {
            Of::Quantity(Dimension::Volume) => "m3",
            Of::Quantity(Dimension::Area) => "m2",
            Of::Quantity(_) => "m",
            Of::Count => "",
            Of::Load => "g",
        }
    }
}

impl Number {
    /// Whether the two differ by more than rounding.
    fn differs(&self) -> bool {
        match (self.from, self.to) {
            (Some(a), Some(b)) => (a - b).abs() > 1e-9 * a.abs().max(b.abs()),
            (a, b) => a.is_some() != b.is_some(),
        }
    }

    fn row(&self, units: UnitOrder) -> Vec<String> {
        let shown = |value: Option<f64>| match (value, self.of) {
            (Some(v), Of::Quantity(dimension)) => show(v, dimension, units),
            (Some(v), Of::Count) => format!("{v:.0}"),
            (Some(v), Of::Load) => format!("{v:.2} g"),
            (None, Of::Load) => "not in the range of the map".to_owned(),
            (None, _) => "none".to_owned(),
        };
        let step = match (self.from, self.to) {
            (Some(a), Some(b)) => {
                let sign = if b > a { "+" } else { "-" };
                format!("{sign}{}", shown(Some((b - a).abs())))
            }
            _ => String::new(),
        };
        vec![
            self.what.to_owned(),
            shown(self.from),
            "to".into(),
            shown(self.to),
            step,
        ]
    }
}

impl Changes {
    fn text(&self, units: UnitOrder) -> String {
        let [first, second] = &self.names;
        let mut text = format!("{second}, against {first}\n");
        if self.numbers.is_empty() && self.keys.is_empty() && self.added.is_empty() && self.removed.is_empty()
        {
            return text + "  nothing differs\n";
        }
        if !self.numbers.is_empty() {
            let rows: Vec<Vec<String>> = self.numbers.iter().map(|n| n.row(units)).collect();
            text += &format!("\nWhat follows\n{}", terminal::columns(&rows));
        }
        for (title, parts) in [("New parts", &self.added), ("Parts left out", &self.removed)] {
            if !parts.is_empty() {
                let lines: String = parts.iter().map(|part| format!("  {part}\n")).collect();
                text += &format!("\n{title}\n{lines}");
            }
        }
        if !self.keys.is_empty() {
            let said = |value: &str| {
                if value.is_empty() {
                    "not stated".to_owned()
                } else {
                    value.to_owned()
                }
            };
            let rows = self
                .keys
                .iter()
                .map(|c| vec![c.key.clone(), said(&c.from), "to".into(), said(&c.to)]);
            text += &format!(
                "\nWhat is stated otherwise\n{}",
                terminal::columns(&rows.collect::<Vec<_>>())
            );
        }
        text
    }
}

/// Every input of a design as understood, by key; the name and the notes tell a design from another anyway.
fn inputs(design: &Design) -> BTreeMap<&str, &str> {
    let told = |line: &&InputLine| !["name", "notes"].contains(&line.key.as_str());
    let lines = design.inputs.iter().filter(told);
    lines
        .map(|line| (line.key.as_str(), line.shown.as_str()))
        .collect()
}

/// Keys in the order of the second design's file, then those of the first alone.
fn order<'a>(first: &'a Design, second: &'a Design) -> Vec<&'a str> {
    let mut seen = BTreeSet::new();
    let all = second.inputs.iter().chain(&first.inputs);
    let told = |key: &&str| !["name", "notes"].contains(key);
    all.map(|line| line.key.as_str())
        .filter(told)
        .filter(|key| seen.insert(*key))
        .collect()
}

/// Named parts in a list of inputs: `plate "front wall"`.
fn parts<'a>(inputs: &BTreeMap<&'a str, &'a str>) -> BTreeSet<&'a str> {
    inputs.keys().filter_map(|key| part_of(key)).collect()
}

fn part_of(key: &str) -> Option<&str> {
    let start = key.find(" \"")? + 2;
    let end = key[start..].find("\".").map(|e| start + e + 1);
    Some(&key[..end.unwrap_or(key.len())])
}
