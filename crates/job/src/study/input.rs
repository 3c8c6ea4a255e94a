//! What varies: `[[vary]]` and `[[unsure]]`.

use ::study::Spread;
use measure::Dimension;

use super::Asks;
use super::keys::{Kind, Known, Meant, Named, Target, Unmeant};
use crate::design::Design;
use crate::fault::Place;
use crate::section::{Section, Shape};
use crate::tree::{Node, Value};

/// One thing that varies.
#[derive(Clone, Debug)]
pub struct StudyInput {
    /// Its name in the study.
    pub name: String,
    /// The keys of the design that it moves, as messages write them.
    pub keys: Vec<String>,
    /// How it spreads [SI]; levels by number.
    pub spread: Spread,
    /// Unit of its values as the study writes them; empty for plain numbers, factors and parts.
    pub unit: String,
    /// Where it stands.
    pub(super) place: Place,
    pub(super) change: Change,
    /// What its values are.
    kind: Kind,
    /// The levels, when it has some.
    levels: Vec<Level>,
}

/// What a value does to the design.
#[derive(Clone, Debug)]
pub(super) enum Change {
    /// Stands in for what is stated.
    Set(Vec<Target>),
    /// Is added to the first and taken from the second.
    Add(Vec<Target>, Vec<Target>),
    /// Is a factor on what is stated.
    Times(Vec<Target>),
    /// A part is in or out.
    Part(Named),
    /// Is a factor on the horizontal acceleration of the drive.
    Acceleration,
}

/// A value as the shop writes it.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// With its unit: "84.3 mm", "1.2", "out".
    pub text: String,
    /// As a number in the input's unit: 84.3, 1.2, 0.
    pub number: f64,
}

/// Words for inputs that nobody knows well, with the keys that they move.
const WHATS: [(&str, As, &[&str]); 5] = [
    ("oil aloft", As::Factor, &["circuit.aloft[*][1]"]),
    (
        "pump flow",
        As::Factor,
        &["pump.displacement", "pump.relief_flow"],
    ),
    ("door leak", As::Value, &["door \"*\".gap"]),
    ("oil temperature", As::Value, &["oil.temperature"]),
    ("g sensor scale", As::Factor, &[]),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum As {
    Value,
    Added,
    Factor,
}

/// Most levels of one input.
const MOST_LEVELS: usize = 10_000;

/// A range is cut this fine, so that values read as a shop writes them.
const FINEST: f64 = 1000.0;

/// Reads one.
pub(super) fn read(
    section: &Section,
    name: String,
    asks: Asks,
    known: &Known,
    design: &Design,
) -> Option<StudyInput> {
    let input = understood(section, name, asks, known, design);
    if input.is_none() {
        // Where what varies is not understood its values were not looked at; they are no unknown keys for that.
        for &key in asks.values() {
            section.has(key);
        }
    }
    input
}

fn understood(
    section: &Section,
    name: String,
    asks: Asks,
    known: &Known,
    design: &Design,
) -> Option<StudyInput> {
    let way = section.one_of(&["key", "keys", "what"], "key = \"fill.volume\"")?;
    section.shaped("key", Shape::Text);
    section.shaped("keys", Shape::Texts);
    section.shaped("what", Shape::Words(WHATS.map(|(word, _, _)| word).to_vec()));
    let stated = section.choice(
        "as",
        &[("value", As::Value), ("added", As::Added), ("factor", As::Factor)],
        Some((
            "value",
            "the value itself, unless it is to be added or a factor; for `what` as the word asks",
        )),
    )?;
    let (mut taken, texts): (As, Vec<String>) = match way {
        "what" => {
            let words: Vec<(&'static str, usize)> = WHATS.iter().enumerate().map(|(i, w)| (w.0, i)).collect();
            let (word, of, keys) = WHATS[section.choice("what", &words, None)?];
            if word == "g sensor scale" {
                return finish(
                    section,
                    name,
                    asks,
                    Change::Acceleration,
                    Kind::Quantity(Dimension::Share),
                    Vec::new(),
                );
            }
            if word == "door leak" && design.pan.doors.is_empty() {
                let mend = "leave this input out".to_owned();
                section.fault(
                    "no-data",
                    "what",
                    "the design has no door that could leak".to_owned(),
                    mend,
                );
                return None;
            }
            (of, keys.iter().map(|key| (*key).to_owned()).collect())
        }
        "key" => (stated, vec![section.text("key", "fill.volume")?]),
        _ => (stated, key_texts(section, "keys")?),
    };
    let against = match section.has("against") {
        true => key_texts(section, "against")?,
        false => Vec::new(),
    };
    section.shaped("against", Shape::Texts);
    if !against.is_empty() {
        if taken != As::Added {
            let what = "against is only for what is added".to_owned();
            section.fault("wrong-kind", "against", what, "say as = \"added\" too".to_owned());
            return None;
        }
        taken = As::Added;
    }
    let key = way;
    let mut targets = meant(section, key, &texts, known)?;
    if let [Meant::Part(part)] = &targets[..] {
        let part = part.clone();
        let keys = vec![format!("{} \"{}\"", part.list, part.name)];
        return in_or_out(section, name, part, keys);
    }
    let opposite = numbers(section, "against", meant(section, "against", &against, known)?)?;
    let numbers = numbers(section, key, std::mem::take(&mut targets))?;
    let kind = numbers.first()?.kind;
    if taken != As::Factor
        && let Some(odd) = numbers.iter().chain(&opposite).find(|target| target.kind != kind)
    {
        let what = format!(
            "{} and {} are quantities of different kinds",
            numbers[0].key, odd.key
        );
        section.fault("wrong-kind", key, what, "vary them one by one".to_owned());
        return None;
    }
    if taken != As::Value
        && let Some(unstated) = numbers.iter().chain(&opposite).find(|target| !target.stated)
    {
        let what = format!(
            "{} is not stated in the design, so nothing can be added to it",
            unstated.key
        );
        section.fault(
            "missing-key",
            key,
            what,
            "state it there, or give its values".to_owned(),
        );
        return None;
    }
    let keys = numbers
        .iter()
        .chain(&opposite)
        .map(|target| target.key.clone())
        .collect();
    let (change, kind) = match taken {
        As::Value => (Change::Set(numbers), kind),
        As::Added => (Change::Add(numbers, opposite), kind),
        As::Factor => (Change::Times(numbers), Kind::Quantity(Dimension::Share)),
    };
    finish(section, name, asks, change, kind, keys)
}

fn key_texts(section: &Section, key: &'static str) -> Option<Vec<String>> {
    let node = section.node(key)?;
    let list = section.list(key, node)?;
    let mut texts = Vec::new();
    for entry in list {
        let Value::Text(text) = &entry.value else {
            let what = format!("{} stands where a key is due", entry.value.kind());
            section.fault(
                "wrong-kind",
                key,
                what,
                format!("write {key} = ['plate \"roof\".z', ...]"),
            );
            return None;
        };
        texts.push(text.clone());
    }
    if texts.is_empty() {
        let what = "the list is empty".to_owned();
        section.fault("missing-key", key, what, "name a key of the design".to_owned());
        return None;
    }
    Some(texts)
}

/// What the keys mean; every fault of them.
fn meant(section: &Section, key: &str, texts: &[String], known: &Known) -> Option<Vec<Meant>> {
    let mut all = Some(Vec::new());
    for text in texts {
        match known.meant(text) {
            Ok(one) => {
                if let Some(all) = &mut all {
                    all.push(one);
                }
            }
            Err(Unmeant { id, what, mend }) => {
                section.fault(id, key, what, mend);
                all = None;
            }
        }
    }
    all
}

fn numbers(section: &Section, key: &str, meant: Vec<Meant>) -> Option<Vec<Target>> {
    let mut numbers = Vec::new();
    for one in meant {
        match one {
            Meant::Numbers(targets) => numbers.extend(targets),
            Meant::Part(part) => {
                let what = format!(
                    "the {} \"{}\" as a whole stands beside other keys",
                    part.list, part.name
                );
                section.fault("wrong-kind", key, what, "let it vary by itself".to_owned());
                return None;
            }
        }
    }
    Some(numbers)
}

/// A plate or door that may be left out.
fn in_or_out(section: &Section, name: String, part: Named, keys: Vec<String>) -> Option<StudyInput> {
    section.shaped("values", Shape::Values);
    let words = key_texts(section, "values").unwrap_or_default();
    let level = |word: &String| match word.as_str() {
        "in" => Some(1.0),
        "out" => Some(0.0),
        _ => None,
    };
    let levels: Option<Vec<Level>> = words
        .iter()
        .map(|word| {
            level(word).map(|number| Level {
                text: word.clone(),
                number,
            })
        })
        .collect();
    let Some(levels) = levels.filter(|levels| !levels.is_empty()) else {
        let what = format!(
            "the {} \"{}\" as a whole can only be in or out",
            part.list, part.name
        );
        let mend = "write values = [\"in\", \"out\"], or name one of its numbers".to_owned();
        section.fault("wrong-kind", "values", what, mend);
        return None;
    };
    Some(StudyInput {
        name,
        keys,
        spread: Spread::Levels(levels.len()),
        unit: String::new(),
        place: section.place.clone(),
        change: Change::Part(part),
        kind: Kind::Bare,
        levels,
    })
}

/// Reads the values, and makes the input.
fn finish(
    section: &Section,
    name: String,
    asks: Asks,
    change: Change,
    kind: Kind,
    keys: Vec<String>,
) -> Option<StudyInput> {
    let ways: &[&'static str] = match asks {
        Asks::Choice => &["range", "values"],
        Asks::Chance => &["range", "triangular", "normal"],
    };
    let example = match asks {
        Asks::Choice => "range = [\"5.0 L\", \"6.0 L\"]",
        Asks::Chance => "triangular = [\"0.6\", \"1.0\", \"1.4\"], which are low, likeliest and high",
    };
    for key in ways {
        section.shaped(key, Shape::Values);
    }
    let way = section.one_of(ways, example)?;
    let node = section.node(way)?;
    let list = section.list(way, node)?;
    let due = match way {
        "range" | "normal" => Some(2),
        "triangular" => Some(3),
        _ => None,
    };
    if due.is_some_and(|due| list.len() != due) || list.is_empty() {
        let what = format!("{way} is a list of {}", list.len());
        let mend = match way {
            "range" => "write the low end and the high end",
            "triangular" => "write low, likeliest and high",
            "normal" => "write the middle and the standard deviation",
            _ => "list at least one value",
        };
        section.fault("wrong-kind", way, what, mend.to_owned());
        return None;
    }
    let unit = unit_of(&list[0]);
    let added = matches!(change, Change::Add(..));
    let scale = Scale::of(section, way, kind, &unit, added)?;
    // The deviation of a temperature is a difference: 5 C more, not 278 K.
    let values: Vec<Option<f64>> = (list.iter().enumerate())
        .map(|(i, node)| scale.read(section, way, node, added || way == "normal" && i == 1))
        .collect();
    let values: Vec<f64> = values.into_iter().collect::<Option<_>>()?;
    let mut input = StudyInput {
        name,
        keys,
        spread: Spread::Levels(1),
        unit,
        place: section.place.clone(),
        change,
        kind,
        levels: Vec::new(),
    };
    let rising = values.windows(2).all(|pair| pair[0] < pair[1]);
    match way {
        "values" => {
            input.levels = (list.iter().zip(&values))
                .map(|(node, value)| Level {
                    text: plain(node),
                    number: scale.number(*value),
                })
                .collect();
            input.spread = Spread::Levels(values.len());
            return Some(input);
        }
        "normal" if values[1] > 0.0 => {
            input.spread = Spread::Normal {
                mean: values[0],
                deviation: values[1],
            };
        }
        "normal" => {
            let what = "the standard deviation is not above zero".to_owned();
            section.fault(
                "out-of-range",
                way,
                what,
                "write the middle, then the deviation".to_owned(),
            );
            return None;
        }
        "triangular" if values[0] <= values[1] && values[1] <= values[2] && values[0] < values[2] => {
            input.spread = Spread::Triangular {
                low: values[0],
                mid: values[1],
                high: values[2],
            };
        }
        _ if !rising => {
            let what = format!("{way} does not rise");
            section.fault(
                "zero-size",
                way,
                what,
                "write the lower value first and leave room between".to_owned(),
            );
            return None;
        }
        _ => {
            input.spread = Spread::Even {
                from: values[0],
                to: values[1],
            };
        }
    }
    if way == "range" && asks == Asks::Choice {
        laid_out(section, &mut input, &scale, (values[0], values[1]))?;
    }
    Some(input)
}

/// `step` or `steps` make levels of a range.
fn laid_out(section: &Section, input: &mut StudyInput, scale: &Scale, (low, high): (f64, f64)) -> Option<()> {
    section.shaped("step", Shape::Value);
    let steps = section.optional_count("steps");
    let step = section.node("step");
    let values: Vec<f64> = match (steps, step) {
        (None, None) => return Some(()),
        (Some(_), Some(_)) => {
            let what = "step and steps are stated, but they say the same thing".to_owned();
            section.fault("stated-twice", "steps", what, "keep one of them".to_owned());
            return None;
        }
        (Some(1), None) => {
            let what = "one step leaves nothing to vary".to_owned();
            section.fault("out-of-range", "steps", what, "state two or more".to_owned());
            return None;
        }
        (Some(count), None) if count <= MOST_LEVELS => {
            let part = (high - low) / (count - 1) as f64;
            (0..count).map(|i| low + i as f64 * part).collect()
        }
        (None, Some(node)) => {
            let step = scale.read(section, "step", node, true)?;
            let count = ((high - low) / step + 1e-9).floor();
            if !(step > 0.0 && (1.0..=MOST_LEVELS as f64).contains(&count)) {
                let what = format!("a step of {} does not go into the range", plain(node));
                section.fault(
                    "out-of-range",
                    "step",
                    what,
                    format!("it may be as large as the range, and at most {MOST_LEVELS} may fit"),
                );
                return None;
            }
            (0..=count as usize).map(|i| low + i as f64 * step).collect()
        }
        (Some(_), None) => {
            section.fault(
                "out-of-range",
                "steps",
                format!("more than {MOST_LEVELS} steps"),
                "take fewer".to_owned(),
            );
            return None;
        }
    };
    input.levels = values
        .iter()
        .map(|value| input.written(scale.number(*value), 6))
        .collect();
    input.spread = Spread::Levels(values.len());
    Some(())
}

impl StudyInput {
    /// The value at the share `u` of its spread, as the shop writes it.
    pub fn level(&self, u: f64) -> Level {
        let value = self.spread.at(u);
        if let Some(level) = self.levels.get(value as usize)
            && matches!(self.spread, Spread::Levels(_))
        {
            return level.clone();
        }
        let (low, high) = self.spread.ends();
        let scale = Scale::known(self.kind, &self.unit, matches!(self.change, Change::Add(..)));
        let (low, high) = (scale.number(low), scale.number(high));
        let decimals = (-((high - low).abs() / FINEST).log10()).ceil().clamp(0.0, 9.0) as usize;
        self.written(scale.number(value), decimals)
    }

    /// Whether it has levels.
    pub fn has_levels(&self) -> bool {
        !self.levels.is_empty()
    }

    fn written(&self, number: f64, decimals: usize) -> Level {
        let text = short(number, decimals);
        Level {
            number: text.parse().expect("a number just written"),
            text: with_unit(&text, &self.unit),
        }
    }
}

/// A number with no more decimals than it needs.
pub(super) fn short(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    let text = match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.'),
        false => &text,
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

pub(super) fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() {
        number.to_owned()
    } else {
        format!("{number} {unit}")
    }
}

/// Between SI and the unit of a study.
pub(super) struct Scale {
    kind: Kind,
    factor: f64,
    offset: f64,
}

impl Scale {
    /// Of a unit that the user wrote; a wrong one is a fault.
    fn of(section: &Section, key: &str, kind: Kind, unit: &str, added: bool) -> Option<Scale> {
        if let Kind::Quantity(due) = kind
            && let Err(fault) = measure::read(&with_unit("1", unit), due)
        {
            section.fault("quantity", key, fault.what(), fault.mend());
            return None;
        }
        Some(Scale::known(kind, unit, added))
    }

    /// Of a unit that is known to be one.
    pub fn known(kind: Kind, unit: &str, added: bool) -> Scale {
        let Kind::Quantity(due) = kind else {
            return Scale {
                kind,
                factor: 1.0,
                offset: 0.0,
            };
        };
        let read = |number: &str| measure::read(&with_unit(number, unit), due).unwrap_or(f64::NAN);
        let offset = read("0");
        Scale {
            kind,
            factor: read("1") - offset,
            offset: if added { 0.0 } else { offset },
        }
    }

    /// What one of the unit is in SI, and where its nought lies.
    pub fn parts(&self) -> (f64, f64) {
        (self.factor, self.offset)
    }

    /// From SI to the unit.
    pub fn number(&self, value: f64) -> f64 {
        (value - self.offset) / self.factor
    }

    /// What stands in `node` [SI]; a difference is without the unit's zero.
    fn read(&self, section: &Section, key: &str, node: &Node, difference: bool) -> Option<f64> {
        let Kind::Quantity(due) = self.kind else {
            return section.number_in(key, node);
        };
        let value = section.value(key, node, due)?;
        if !difference {
            return Some(value);
        }
        let zero = measure::read(&with_unit("0", &unit_of(node)), due).unwrap_or(0.0);
        Some(value - zero)
    }
}

/// What stands in a node, without quotes.
pub(super) fn plain(node: &Node) -> String {
    match &node.value {
        Value::Text(text) => text.trim().to_owned(),
        _ => node.raw.clone(),
    }
}

/// The unit that a quantity is written in.
pub(super) fn unit_of(node: &Node) -> String {
    let text = plain(node);
    let number = |c: char| c.is_ascii_digit() || c.is_whitespace() || "+-\u{2212}.,/".contains(c);
    text.trim_start_matches(number).trim().to_owned()
}
