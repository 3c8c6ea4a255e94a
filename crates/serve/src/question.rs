//! What is asked, read from method, address and body, and put to the house. Any bytes give a question or a refusal.

use crate::confined::confined;
use crate::wire::{Fault, Refusal, RunAsk, SaveAsk, SectionAsk, StillAsk, Variant};
use crate::workshop::{Answer, Refused, Workshop, Wrong};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::error::Category;
use std::path::PathBuf;

/// Why there is no answer: the status and what is said.
#[derive(Debug)]
pub struct Refusing {
    /// HTTP status, 4xx or 5xx.
    pub status: u16,
    /// What is wrong.
    pub refusal: Refusal,
}

impl Refusing {
    /// One fault.
    pub fn one(status: u16, what: impl Into<String>, place: impl Into<String>, mend: &str) -> Refusing {
        let fault = Fault {
            what: what.into(),
            place: place.into(),
            key: None,
            mend: mend.into(),
        };
        Refusing {
            status,
            refusal: Refusal { faults: vec![fault] },
        }
    }
}

impl From<Refused> for Refusing {
    fn from(refused: Refused) -> Refusing {
        Refusing {
            status: match refused.wrong {
                Wrong::Input => 422,
                Wrong::Conflict => 409,
                Wrong::Missing => 404,
                Wrong::Computing => 500,
            },
            refusal: Refusal {
                faults: refused.faults,
            },
        }
    }
}

/// A question.
#[derive(Debug)]
pub enum Question {
    /// The folder.
    Project,
    /// The pan.
    Pan(Variant),
    /// Oil at rest.
    Still(StillAsk),
    /// The drive by bays.
    Lap(Variant),
    /// First dry by direction.
    Round(Variant),
    /// A part of the report.
    Section(SectionAsk),
    /// Write a revision.
    Save(SaveAsk),
    /// All runs.
    Runs,
    /// A new run.
    Start(RunAsk),
    /// Stop a run.
    Stop(u32),
    /// Go on with a run.
    Resume(u32),
    /// Take a run off the list.
    Forget(u32),
    /// Pictures of a run.
    Frames {
        /// Its number.
        id: u32,
        /// Which moment.
        moment: usize,
        /// From which frame on.
        from: usize,
    },
    /// A file of a run.
    File {
        /// Its number.
        id: u32,
        /// Relative to the run's folder.
        name: String,
    },
    /// An address to look at a file of a run.
    Show {
        /// Its number.
        id: u32,
        /// Relative to the run's folder.
        name: String,
    },
}

/// What an address asks for.
#[derive(Debug)]
pub enum Asked {
    /// It says all.
    Whole(Question),
    /// The body says the rest.
    Body(fn(&[u8]) -> Result<Question, Refusing>),
    /// The stream of events.
    Events,
}

/// Questions that wait for each other. A lap must not keep the pan waiting, nor either of them a stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lane {
    /// Answered while a slider is drawn.
    Hand,
    /// May take seconds.
    Long,
    /// Runs and files.
    Queue,
}

/// What the house found.
pub enum Found {
    /// An answer as JSON.
    Json(Vec<u8>),
    /// A file to send.
    File(PathBuf),
    /// A file to give an address to.
    Show(PathBuf),
}

/// Reads the part of an address behind `/api/`, and what follows its question mark.
pub fn asked(method: &str, path: &str, query: Option<&str>) -> Result<Asked, Refusing> {
    if let Some(asked) = route(method, path, query)? {
        return Ok(asked);
    }
    let other = if method == "GET" { "POST" } else { "GET" };
    let known = route(other, path, query)?.is_some();
    Err(match known {
        true => Refusing::one(
            405,
            format!("{method} is not taken here"),
            path,
            "ask as the page does",
        ),
        false => Refusing::one(404, "there is nothing to ask here", path, "ask as the page does"),
    })
}

fn route(method: &str, path: &str, query: Option<&str>) -> Result<Option<Asked>, Refusing> {
    let parts: Vec<&str> = path.split('/').collect();
    let whole = |question| Ok(Some(Asked::Whole(question)));
    let body = |read| Ok(Some(Asked::Body(read)));
    match (method, parts.as_slice()) {
        ("GET", ["project"]) => whole(Question::Project),
        ("GET", ["events"]) => Ok(Some(Asked::Events)),
        ("GET", ["runs"]) => whole(Question::Runs),
        ("GET", ["runs", id, "frames"]) => whole(Question::Frames {
            id: number(id, path)?,
            moment: count(query, "moment", path)?,
            from: count(query, "from", path)?,
        }),
        ("GET", ["runs", id, "files", name @ ..]) => {
            let (id, name) = (number(id, path)?, name_of(name, path)?);
            whole(Question::File { id, name })
        }
        ("POST", ["runs", id, "show", name @ ..]) => {
            let (id, name) = (number(id, path)?, name_of(name, path)?);
            whole(Question::Show { id, name })
        }
        ("POST", ["runs", id, "stop"]) => whole(Question::Stop(number(id, path)?)),
        ("POST", ["runs", id, "resume"]) => whole(Question::Resume(number(id, path)?)),
        ("POST", ["runs", id, "forget"]) => whole(Question::Forget(number(id, path)?)),
        ("POST", ["runs"]) => body(|b| read(b).map(Question::Start)),
        ("POST", ["pan"]) => body(|b| read(b).map(Question::Pan)),
        ("POST", ["still"]) => body(|b| read(b).map(Question::Still)),
        ("POST", ["lap"]) => body(|b| read(b).map(Question::Lap)),
        ("POST", ["round"]) => body(|b| read(b).map(Question::Round)),
        ("POST", ["section"]) => body(|b| read(b).map(Question::Section)),
        ("POST", ["save"]) => body(|b| read(b).map(Question::Save)),
        _ => Ok(None),
    }
}

/// What a body may ask, and the names of files in it.
trait Ask: DeserializeOwned {
    fn names(&self) -> Vec<(&'static str, &str)>;
}

impl Ask for Variant {
    fn names(&self) -> Vec<(&'static str, &str)> {
        vec![("design", &self.design)]
    }
}

impl Ask for StillAsk {
    fn names(&self) -> Vec<(&'static str, &str)> {
        self.variant.names()
    }
}

impl Ask for SectionAsk {
    fn names(&self) -> Vec<(&'static str, &str)> {
        self.variant.names()
    }
}

impl Ask for RunAsk {
    fn names(&self) -> Vec<(&'static str, &str)> {
        self.variant.names()
    }
}

impl Ask for SaveAsk {
    fn names(&self) -> Vec<(&'static str, &str)> {
        vec![("design", &self.variant.design), ("file", &self.file)]
    }
}

/// Broken JSON is refused with 400, JSON that is not this question with 422.
fn read<T: Ask>(body: &[u8]) -> Result<T, Refusing> {
    let ask: T = serde_json::from_slice(body).map_err(|e| {
        let status = if e.classify() == Category::Data { 422 } else { 400 };
        Refusing::one(
            status,
            format!("the question cannot be read: {e}"),
            "the question's body",
            "ask as the page does; if the page asked, load it again",
        )
    })?;
    for (key, name) in ask.names() {
        kept(name, key)?;
    }
    Ok(ask)
}

fn kept<'a>(name: &'a str, place: &str) -> Result<&'a str, Refusing> {
    confined(name).map_err(|why| {
        Refusing::one(
            422,
            format!("{name:?} is no name of a file below the project's folder: {why}"),
            place,
            "name a file relative to the project's folder, with / between folders",
        )
    })
}

/// The name of a file in the parts of an address.
fn name_of(parts: &[&str], path: &str) -> Result<String, Refusing> {
    let unread = || Refusing::one(400, "the file's name cannot be read", path, "write it as UTF-8");
    let name = decoded(&parts.join("/")).ok_or_else(unread)?;
    Ok(kept(&name, "the file's name")?.to_owned())
}

fn number(text: &str, path: &str) -> Result<u32, Refusing> {
    let missing = || {
        Refusing::one(
            404,
            format!("there is no run {text:?}"),
            path,
            "ask for a run of the list",
        )
    };
    text.parse().map_err(|_| missing())
}

/// A whole number of the query; 0 when it is left out.
fn count(query: Option<&str>, key: &str, path: &str) -> Result<usize, Refusing> {
    let values = query
        .unwrap_or_default()
        .split('&')
        .filter_map(|pair| pair.split_once('='));
    let Some((_, text)) = values.into_iter().find(|(name, _)| *name == key) else {
        return Ok(0);
    };
    let wrong = || {
        Refusing::one(
            400,
            format!("{key} is no whole number"),
            path,
            "state it as a number from 0 up",
        )
    };
    text.parse::<u32>().map(|n| n as usize).map_err(|_| wrong())
}

/// `%20` and the like undone; none when the result is no text.
fn decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        let digit = |b: u8| char::from(b).to_digit(16);
        bytes.push(match byte {
            b'%' => (digit(rest.next()?)? * 16 + digit(rest.next()?)?) as u8,
            byte => byte,
        });
    }
    String::from_utf8(bytes).ok()
}

impl Question {
    /// Which questions it waits for.
    pub fn lane(&self) -> Lane {
        match self {
            Question::Project | Question::Pan(_) | Question::Still(_) => Lane::Hand,
            Question::Lap(_) | Question::Round(_) | Question::Section(_) => Lane::Long,
            _ => Lane::Queue,
        }
    }

    /// Puts it to the house; may take long.
    pub fn put(&self, workshop: &dyn Workshop) -> Result<Found, Refusing> {
        match self {
            Question::Project => json(workshop.project()),
            Question::Pan(variant) => json(workshop.pan(variant)),
            Question::Still(ask) => json(workshop.still(ask)),
            Question::Lap(variant) => json(workshop.lap(variant)),
            Question::Round(variant) => json(workshop.round(variant)),
            Question::Section(ask) => json(workshop.section(ask)),
            Question::Save(ask) => json(workshop.save(ask)),
            Question::Runs => json(workshop.runs()),
            Question::Start(ask) => json(workshop.start(ask)),
            Question::Stop(id) => json(workshop.stop(*id)),
            Question::Resume(id) => json(workshop.resume(*id)),
            Question::Forget(id) => json(workshop.forget(*id)),
            Question::Frames { id, moment, from } => json(workshop.frames(*id, *moment, *from)),
            Question::File { id, name } => Ok(Found::File(workshop.file(*id, name)?)),
            Question::Show { id, name } => Ok(Found::Show(workshop.file(*id, name)?)),
        }
    }
}

fn json<T: Serialize>(answer: Answer<T>) -> Result<Found, Refusing> {
    serde_json::to_vec(&answer?).map(Found::Json).map_err(|e| {
        Refusing::one(
            500,
            format!("the answer cannot be written: {e}"),
            "",
            "keep the design and report it",
        )
    })
}
