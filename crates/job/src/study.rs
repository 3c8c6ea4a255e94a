//! A study: many variants of one design, by a file of its own (`kind = "study"`) or by a `[study]` in the design's file.
//!
//! [`read_study`] gives a [`Study`]: the design that is varied, what varies ([`StudyInput`]) and the plan of cases. A case is a draw of
//! the plan; [`Study::levels`] turns it into values as a shop writes them, [`Study::variant`] puts these into the merged tree of the design and
//! reads that with the same reader as any design, from the files as they were read at the start. [`Study::revision`] writes a
//! case as a design file that names its base and states only what changes.

mod apply;
mod changeable;
mod input;
mod keys;
mod revise;

use std::path::{Path, PathBuf};

use ::study::{Figure, Method, Plan, PlanFault};

use crate::assembly;
use crate::design::{Design, ReadFile};
use crate::fault::{Fault, Place};
use crate::inherit::{self, Whole};
use crate::section::{Desk, Need, Section, Shape};
use crate::sources::{self, Sources};
use crate::tree::{Node, Value};

pub use changeable::{Changeable, Changed, Values, Written};
pub use input::{Level, StudyInput};

/// What a study asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asks {
    /// Which design is best: inputs that the builder chooses.
    Choice,
    /// How sure one design is: inputs that nobody knows well.
    Chance,
}

impl Asks {
    /// Keys of an input that say which values it takes.
    fn values(self) -> &'static [&'static str] {
        match self {
            Asks::Choice => &["range", "values", "step", "steps", "as", "against"],
            Asks::Chance => &["range", "triangular", "normal", "as", "against"],
        }
    }
}

/// A study, read and checked.
pub struct Study {
    /// Name for people.
    pub name: String,
    /// What the user wrote about it; may be empty.
    pub notes: String,
    /// The study's own file and its bases, as read.
    pub files: Vec<ReadFile>,
    /// Choice or chance.
    pub asks: Asks,
    /// What varies, in the order of the file.
    pub inputs: Vec<StudyInput>,
    /// The plan of cases.
    pub plan: Plan,
    /// What is aimed at; the first is the one whose scatter is explained.
    pub aims: Vec<Figure>,
    /// The design that is varied, with the files as they were at the start.
    pub of: Changeable,
}

/// What stands in the study's file.
pub(crate) struct Stated {
    name: String,
    notes: String,
    asks: Asks,
    inputs: Vec<StudyInput>,
    plan: Plan,
    aims: Vec<Figure>,
    design_path: PathBuf,
    design: Design,
    whole: Whole,
}

/// Most cases of one generation, and most generations.
const MOST_GENERATIONS: usize = 1000;

/// Reads the study at `path` with its design; the errors are all faults of both.
pub fn read_study(path: &Path) -> Result<Study, Vec<Fault>> {
    let sources = Sources::Disk;
    let whole = inherit::read(path, &sources)?;
    let desk = Desk::new(assembly::unit_order(&whole.tree));
    let stated = match inside(&whole.tree) {
        Some(node) => in_design(&desk, node, &whole, path, &sources)?,
        None => match not_a_study(&whole.tree) {
            Some(fault) => return Err(vec![fault]),
            None => on_desk(&desk, &whole.tree, path, &sources),
        },
    };
    let (faults, _) = desk.done();
    let stated = match stated {
        Some(stated) if faults.is_empty() => stated,
        _ => return Err(assembly::in_order(faults)),
    };
    Ok(Study {
        name: stated.name,
        notes: stated.notes,
        files: assembly::read_files(whole.files),
        asks: stated.asks,
        inputs: stated.inputs,
        plan: stated.plan,
        aims: stated.aims,
        of: Changeable::of(stated.design_path, stated.design, stated.whole),
    })
}

/// The `[study]` of a design's tree; none in a file of another kind.
fn inside(tree: &Node) -> Option<&Node> {
    let Value::Table(table) = &tree.value else {
        return None;
    };
    let of_pan = table
        .get("kind")
        .is_none_or(|entry| matches!(&entry.node.value, Value::Text(word) if word == "pan"));
    table.get("study").filter(|_| of_pan).map(|entry| &entry.node)
}

/// Reads the `[study]` at `node` of a design's own file.
fn in_design(
    desk: &Desk,
    node: &Node,
    whole: &Whole,
    path: &Path,
    sources: &Sources,
) -> Result<Option<Stated>, Vec<Fault>> {
    let design = assembly::read_whole(whole.clone(), path, sources)?;
    let Some(top) = Section::open(desk, node, "study".to_owned()) else {
        return Ok(None);
    };
    let name = top.optional_text("name").unwrap_or_else(|| design.name.clone());
    let notes = top.optional_text("notes").unwrap_or_default();
    let found = (path.to_owned(), design, whole.clone());
    Ok(asked(top, Some(name), notes, Some(found)))
}

fn not_a_study(tree: &Node) -> Option<Fault> {
    let kind = match &tree.value {
        Value::Table(table) => table.get("kind"),
        _ => None,
    };
    if let Some(entry) = kind
        && matches!(&entry.node.value, Value::Text(word) if word == "study")
    {
        return None;
    }
    Some(Fault {
        id: "not-a-study",
        place: kind.map_or_else(|| tree.place.clone(), |entry| entry.place.clone()),
        key: "kind".to_owned(),
        what: "this file describes no study".to_owned(),
        mend: "add a [study] with its [[study.vary]] to the design, or write a file of its own that says kind = \"study\" and \
               names its design = \"pan.toml\" (docs/study.md)"
            .to_owned(),
    })
}

/// Reads a study's tree; faults and what was asked lie on the desk then.
pub(crate) fn on_desk(desk: &Desk, tree: &Node, path: &Path, sources: &Sources) -> Option<Stated> {
    let root = path.parent().unwrap_or(Path::new(""));
    let top = Section::open(desk, tree, String::new())?;
    assembly::format(&top);
    top.shaped("kind", Shape::Words(vec!["study"]));
    top.node("kind"); // its work is done
    let name = top.text("name", "where should the mouth stand");
    assembly::base(&top);
    let notes = top.optional_text("notes").unwrap_or_default();
    assembly::units(&top);
    let found = design(&top, path, root, sources);
    asked(top, name, notes, found)
}

/// What is asked of a design that was found; without one its own faults are told already.
fn asked(
    top: Section,
    name: Option<String>,
    notes: String,
    found: Option<(PathBuf, Design, Whole)>,
) -> Option<Stated> {
    let varied = top.parts("vary");
    let unsure = top.parts("unsure");
    let asks = asks(&top, varied.len(), unsure.len());
    let sections = varied
        .into_iter()
        .map(|part| (Asks::Choice, part))
        .chain(unsure.into_iter().map(|part| (Asks::Chance, part)));
    let mut inputs = Some(Vec::new());
    let known = crate::reference::pan_keys();
    for (asks, (name, section)) in sections {
        // Without its design nothing can be said of a key; its own faults are told already.
        let input = found.as_ref().and_then(|(_, design, whole)| {
            input::read(&section, name, asks, &keys::Known::of(&whole.tree, known), design)
        });
        if found.is_some() {
            section.finish();
        }
        inputs = inputs.zip(input).map(|(mut all, one): (Vec<StudyInput>, _)| {
            all.push(one);
            all
        });
    }
    let (design_path, design, whole) = match found {
        Some(found) => found,
        None => {
            // What else stands in the file is not judged without its design.
            return None;
        }
    };
    let method = method(&top, asks);
    let seed = top.optional_count("seed");
    top.default_unless(
        seed.is_some(),
        "seed",
        "1",
        "any whole number; another one gives other cases",
    );
    let aims = aims(&top, &design);
    let plan = plan(&top, inputs.as_deref(), method, seed.unwrap_or(1) as u64);
    top.finish();
    Some(Stated {
        name: name?,
        notes,
        asks: asks?,
        inputs: inputs?,
        plan: plan?,
        aims: aims?,
        design_path,
        design,
        whole,
    })
}

/// The design that the study names.
fn design(top: &Section, path: &Path, root: &Path, sources: &Sources) -> Option<(PathBuf, Design, Whole)> {
    let named = top.text("design", "pan.toml")?;
    let place = top.place_of("design");
    let told = |faults: Vec<Fault>| faults.into_iter().for_each(|fault| top.desk.fault(fault));
    let found = sources::within(root, path, &named, &place, "design").map_err(|fault| vec![fault]);
    let file = found.map_err(told).ok()?;
    // A design that is not there is the study's fault: its line names it.
    if let Err(fault) = sources.named_by_design(&file, root, sources::DESIGN_LIMIT, &place, "design") {
        top.desk.fault(fault);
        return None;
    }
    let read = || {
        let whole = inherit::read(&file, sources)?;
        let again = whole.clone();
        let design = match crate::experiment::not_a_pan(&whole.tree) {
            Some(fault) => Err(vec![fault]),
            None => assembly::read_whole(whole, &file, sources),
        }?;
        Ok((design, again))
    };
    let (design, whole) = read().map_err(told).ok()?;
    Some((file, design, whole))
}

fn asks(top: &Section, varied: usize, unsure: usize) -> Option<Asks> {
    match (varied, unsure) {
        (0, 0) => {
            let what = "nothing varies".to_owned();
            let mend =
                "add a [[vary]] for what you choose, or an [[unsure]] for what you do not know".to_owned();
            top.fault("missing-section", "vary", what, mend);
            None
        }
        (_, 0) => Some(Asks::Choice),
        (0, _) => Some(Asks::Chance),
        _ => {
            let what = "what is chosen and what is not known are mixed".to_owned();
            let mend =
                "make two studies: one with [[vary]], then one of its best design with [[unsure]]".to_owned();
            top.fault("stated-twice", "unsure", what, mend);
            None
        }
    }
}

/// How cases are picked.
fn method(top: &Section, asks: Option<Asks>) -> Option<Method> {
    #[derive(Clone, Copy, PartialEq)]
    enum Way {
        Grid,
        Sobol,
        LatinHypercube,
        Search,
    }
    let way = top.choice(
        "method",
        &[
            ("grid", Way::Grid),
            ("sobol", Way::Sobol),
            ("latin hypercube", Way::LatinHypercube),
            ("search", Way::Search),
        ],
        Some((
            "sobol",
            "points that fill the room evenly, however many are taken",
        )),
    )?;
    if asks == Some(Asks::Chance) && matches!(way, Way::Grid | Way::Search) {
        let what = "what nobody knows can neither be searched nor laid out in a grid".to_owned();
        top.fault(
            "wrong-kind",
            "method",
            what,
            "say \"sobol\" or \"latin hypercube\"".to_owned(),
        );
        return None;
    }
    let count = |key: &'static str, usual: usize, reason: &'static str, most: usize| {
        let stated = top.optional_count(key);
        top.default_unless(top.has(key), key, &usual.to_string(), reason);
        let count = stated.unwrap_or(usual);
        if count > most {
            let what = format!("{count} is out of range");
            top.fault("out-of-range", key, what, format!("at most {most} are taken"));
            return None;
        }
        (stated.is_some() || !top.has(key)).then_some(count)
    };
    match way {
        Way::Grid => Some(Method::Grid),
        Way::Sobol | Way::LatinHypercube => {
            let cases = count(
                "cases",
                128,
                "enough for a first look at a handful of inputs",
                ::study::sample::MOST_SOBOL,
            )?;
            Some(match way {
                Way::Sobol => Method::Sobol { cases },
                _ => Method::LatinHypercube { cases },
            })
        }
        Way::Search => {
            let generations = count("generations", 12, "enough for a first look", MOST_GENERATIONS);
            let population = count("population", 24, "enough for a first look", MOST_GENERATIONS);
            let (generations, population) = (generations?, population?);
            if population < 4 {
                let what = format!("a population of {population} has nothing to choose from");
                top.fault("out-of-range", "population", what, "state at least 4".to_owned());
                return None;
            }
            Some(Method::Search {
                generations,
                population,
            })
        }
    }
}

/// What is aimed at.
fn aims(top: &Section, design: &Design) -> Option<Vec<Figure>> {
    top.shaped("aims", Shape::Texts);
    let reason = "a covered mouth first, then little oil";
    top.needed("aims", Need::Default("margin and oil".to_owned(), reason));
    let Some(node) = top.node("aims") else {
        top.default("aims", "margin and oil".to_owned(), reason);
        return Some(vec![Figure::Margin, Figure::Oil]);
    };
    let mut aims = Vec::new();
    let mut sound = true;
    for entry in top.list("aims", node)? {
        let Value::Text(word) = &entry.value else {
            let what = format!("{} stands where a word is due", entry.value.kind());
            top.fault(
                "wrong-kind",
                "aims",
                what,
                "write aims = [\"margin\", \"oil\"]".to_owned(),
            );
            return None;
        };
        let words = Figure::ALL.map(|(word, _)| word);
        let Some((_, figure)) = Figure::ALL.iter().find(|(known, _)| known == word) else {
            let mend = match measure::nearest(word, words) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("known here: {}", crate::section::listed(&words)),
            };
            top.fault("unknown-word", "aims", format!("\"{word}\" is no aim"), mend);
            sound = false;
            continue;
        };
        if *figure == Figure::AtCrank && design.pan.crank.is_none() {
            let what = "oil \"at the crank\" is not known: the design describes no crank".to_owned();
            top.fault(
                "no-data",
                "aims",
                what,
                "add a [crank] to the design, or leave this aim out".to_owned(),
            );
            sound = false;
        }
        if !aims.contains(figure) {
            aims.push(*figure);
        }
    }
    if aims.is_empty() && sound {
        let what = "the list of aims is empty".to_owned();
        top.fault(
            "wrong-kind",
            "aims",
            what,
            "write aims = [\"margin\", \"oil\"]".to_owned(),
        );
        sound = false;
    }
    sound.then_some(aims)
}

fn plan(top: &Section, inputs: Option<&[StudyInput]>, method: Option<Method>, seed: u64) -> Option<Plan> {
    let inputs = inputs?;
    let spreads = inputs.iter().map(|input| input.spread.clone()).collect();
    match Plan::new(spreads, method?, seed) {
        Ok(plan) => Some(plan),
        Err(fault) => {
            let (place, key, mend) = match fault {
                PlanFault::NoLevels { input } => (
                    inputs[input].place.clone(),
                    format!("vary \"{}\"", inputs[input].name),
                    "add step = \"2 mm\" or the like, or steps = 5, or list its values",
                ),
                PlanFault::TooMany { .. } => (
                    top.place_of("method"),
                    "method".to_owned(),
                    "take coarser steps, or method = \"sobol\" with so many cases as you can wait for",
                ),
                PlanFault::TooWide { .. } => (top.place.clone(), "vary".to_owned(), "let fewer vary"),
            };
            let what = match fault {
                PlanFault::NoLevels { .. } => {
                    format!("a grid needs levels, and {key} has a range without steps")
                }
                other => other.to_string(),
            };
            top.desk.fault(Fault {
                id: "plan",
                place,
                key,
                what,
                mend: mend.to_owned(),
            });
            None
        }
    }
}

/// A place in the study's file for messages of the edge.
impl Study {
    /// Where the study itself stands.
    pub fn place(&self) -> Place {
        Place::file(&self.files[0].path)
    }
}
