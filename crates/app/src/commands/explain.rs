//! `sumpwright explain`: what a key of a design file means, takes and matters.

use crate::cli::{Explain, FileWord};
use crate::failure::Failure;
use crate::terminal;
use job::{FileKind, Key, Need};
use serde_json::json;
use std::process::ExitCode;

/// Runs it.
pub fn run(arguments: &Explain) -> Result<ExitCode, Failure> {
    if let Some(word) = arguments.schema {
        terminal::say(&job::schema(word.kind()));
        return Ok(ExitCode::SUCCESS);
    }
    let kind = arguments.of.kind();
    let keys = job::keys(kind);
    let asked = asked(arguments.key.as_deref().unwrap_or_default());
    let found: Vec<&Key> = keys.iter().filter(|key| belongs(key, &asked)).collect();
    if found.is_empty() {
        return Err(unknown(&asked, &keys, kind));
    }
    if arguments.json {
        let list: Vec<serde_json::Value> = found.iter().map(|key| object(key)).collect();
        let text = serde_json::to_string_pretty(&list).expect("plain data");
        terminal::say(&format!("{text}\n"));
        return Ok(ExitCode::SUCCESS);
    }
    let text = match found.iter().find(|key| key.path == asked) {
        None => sections(&found),
        Some(key) if found.len() == 1 => one(key),
        Some(key) => format!("{}\n{}", one(key), below(&found, &asked)),
    };
    terminal::say(&text);
    Ok(ExitCode::SUCCESS)
}

impl FileWord {
    fn kind(self) -> FileKind {
        match self {
            FileWord::Pan => FileKind::Pan,
            FileWord::Experiment => FileKind::Experiment,
            FileWord::Study => FileKind::Study,
        }
    }
}

/// What was typed, without the brackets and names of a file or of a message: `[[plate]]`, `plate "roof".z`.
fn asked(text: &str) -> String {
    let mut out = String::new();
    let mut quoted = false;
    for letter in text.trim().chars() {
        match letter {
            '"' => quoted = !quoted,
            _ if quoted => {}
            '[' | ']' | ' ' => {}
            _ => out.push(letter),
        }
    }
    out.trim_end_matches('.').to_owned()
}

/// Whether a key is the one asked for or stands below it; without a question, whether it stands at the top.
fn belongs(key: &Key, asked: &str) -> bool {
    if asked.is_empty() {
        return !key.path.contains('.');
    }
    let rest = key.path.strip_prefix(asked);
    rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

fn unknown(asked: &str, keys: &[Key], kind: FileKind) -> Failure {
    let last = asked.rsplit('.').next().unwrap_or(asked);
    // The same word in another section, then the likeliest slip.
    let same: Vec<&str> = (keys.iter().map(|key| key.path.as_str()))
        .filter(|path| path.rsplit('.').next() == Some(last))
        .collect();
    let near = match same[..] {
        [] => measure::nearest(asked, keys.iter().map(|key| key.path.as_str())).map_or_else(
            || "`sumpwright explain` lists the sections".to_owned(),
            |near| format!("did you mean {near}?"),
        ),
        _ => format!("did you mean {}?", same.join(" or ")),
    };
    let file = match kind {
        FileKind::Pan => "a pan's design",
        FileKind::Experiment => "an experiment",
        FileKind::Study => "a study",
    };
    Failure::input(format!("no key of {file} is called \"{asked}\""), "explain", near)
}

/// All that is known of one key.
fn one(key: &Key) -> String {
    let (left_out, reason) = match &key.need {
        Need::Must if key.everywhere => ("it must be stated".to_owned(), String::new()),
        Need::Must => ("it must be stated where it belongs".to_owned(), String::new()),
        Need::OneOf(ways) => (
            format!("exactly one of {} must be stated", ways.join(", ")),
            String::new(),
        ),
        Need::May => ("it may be left out".to_owned(), String::new()),
        Need::Default(value, reason) if key.follows => (
            format!("it follows from other keys, for instance {value}"),
            (*reason).to_owned(),
        ),
        Need::Default(value, reason) => (value.clone(), (*reason).to_owned()),
    };
    let ways: Vec<String> = key.shapes.iter().map(job::Shape::said).collect();
    let rows = [
        ("what it is", key.meaning.to_owned()),
        ("written as", ways.join("; or ")),
        ("left out", left_out),
        ("why that", reason),
        ("how much it matters", key.matters.to_owned()),
    ];
    format!("{}\n{}", key.path, terminal::table(&rows))
}

/// The keys below one, a line each.
fn below(found: &[&Key], asked: &str) -> String {
    let rows = found.iter().filter(|key| key.path != asked).map(|key| {
        let own = key.path[asked.len() + 1..].to_owned();
        vec![own, key.meaning.to_owned()]
    });
    terminal::columns(&rows.collect::<Vec<_>>())
}

/// What stands at the top of a file.
fn sections(found: &[&Key]) -> String {
    let rows = found
        .iter()
        .map(|key| vec![key.path.clone(), key.meaning.to_owned()]);
    format!(
        "{}\n  `sumpwright explain pickup` tells more of a section, `sumpwright explain pickup.mouth` of a key.\n",
        terminal::columns(&rows.collect::<Vec<_>>())
    )
}

fn object(key: &Key) -> serde_json::Value {
    let (need, default, reason) = match &key.need {
        Need::Must => ("must", None, None),
        Need::OneOf(_) => ("one of several", None, None),
        Need::May => ("may", None, None),
        Need::Default(value, reason) => ("may", Some(value), Some(reason)),
    };
    json!({
        "key": key.path,
        "meaning": key.meaning,
        "written": key.shapes.iter().map(job::Shape::said).collect::<Vec<_>>(),
        "need": need,
        "default": default,
        "follows_from_other_keys": key.follows,
        "reason": reason,
        "matters": key.matters,
    })
}
