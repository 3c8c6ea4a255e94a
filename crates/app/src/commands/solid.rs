//! `sumpwright solid`: what a mesh file holds, before anything is computed in it.

mod looked;
mod views;

use super::options::{self, length};
use crate::cli::{Shows, Solid};
use crate::failure::Failure;
use crate::preparation::wrong_input;
use crate::store::atomic;
use crate::terminal;
use ::solid::part::{Front, Origin, Stated, hole_number, way};
use ::solid::{Asked, Healing, Unit};
use glam::DVec3;
use job::NamedSolid;
use looked::Looked;
use measure::Dimension;
use std::process::ExitCode;

/// Runs it.
pub fn run(arguments: &Solid) -> Result<ExitCode, Failure> {
    for (path, option, ending) in [
        (&arguments.picture, "--picture", "svg"),
        (&arguments.write, "--write", "stl"),
    ] {
        options::target(path.as_deref(), option, ending, &arguments.file)?;
    }
    let named = named(arguments)?;
    let name = arguments.file.file_name().unwrap_or_default().to_string_lossy();
    let looked_at = match job::look_at_solid(&named) {
        Ok(looked_at) => looked_at,
        Err((fault, refused)) => {
            if let Some(path) = &arguments.picture
                && let Some(picture) = views::refused(&name, &refused)
            {
                atomic::write(path, picture.as_bytes())?;
                terminal::remark(&format!("picture of where: {}", path.display()));
            }
            return Err(wrong_input(vec![fault]));
        }
    };
    if let Some(path) = &arguments.picture {
        atomic::write(path, views::understood(&name, &looked_at).as_bytes())?;
        terminal::remark(&format!("picture: {}", path.display()));
    }
    if let Some(path) = &arguments.write {
        let mesh = match &looked_at.part {
            Some(part) => &part.oil,
            None => looked_at.surface.mesh(),
        };
        atomic::write(path, &mesh.to_stl())?;
        terminal::remark(&format!("written: {}", path.display()));
    }
    let looked = Looked::at(&name, &looked_at);
    if arguments.json {
        let text = serde_json::to_string_pretty(&looked).expect("plain data");
        terminal::say(&format!("{text}\n"));
    } else {
        terminal::say(&looked.text(&design_lines(arguments, &looked)));
    }
    Ok(ExitCode::SUCCESS)
}

fn named(arguments: &Solid) -> Result<NamedSolid, Failure> {
    let usual = Healing::default();
    let unit = match &arguments.unit {
        None => None,
        Some(word) => Some(Unit::named(word).ok_or_else(|| {
            let known = Unit::ALL.map(Unit::word).join(", ");
            Failure::input(
                format!("\"{word}\" is no known unit"),
                "--unit",
                format!("write one of {known}"),
            )
        })?),
    };
    let asked = Asked {
        unit,
        healing: Healing {
            gap: length(arguments.gap.as_deref(), "--gap", 0.0..=1e-3)?.unwrap_or(usual.gap),
            hole: length(arguments.hole.as_deref(), "--hole", 0.0..=0.2)?.unwrap_or(usual.hole),
        },
        any_size: false,
    };
    let stated = stated(arguments)?;
    let part = match arguments.shows {
        Some(Shows::Part) => Some(Some(stated)),
        Some(Shows::Cavity) if stated != Stated::default() => {
            return Err(Failure::input(
                "flange, directions and openings are stated of what is no part",
                "--shows cavity",
                "leave them out, or write --shows part",
            ));
        }
        Some(Shows::Cavity) => Some(None),
        // Whoever states something of a part has one.
        None if stated != Stated::default() => Some(Some(stated)),
        None => None,
    };
    Ok(NamedSolid {
        path: arguments.file.clone(),
        asked,
        part,
    })
}

fn stated(arguments: &Solid) -> Result<Stated, Failure> {
    let usual = Stated::default();
    let direction = |word: &str, option: &str| {
        way(word).ok_or_else(|| {
            let mend = "write +x, -x, +y, -y, +z or -z of the file, or three numbers such as \"0 -1 0\"";
            Failure::input(format!("\"{word}\" is no direction"), option, mend)
        })
    };
    let hole = |word: &str, option: &str| {
        hole_number(word).ok_or_else(|| {
            let mend = "write for instance \"hole 3\", as this command numbers them";
            Failure::input(format!("\"{word}\" is no hole"), option, mend)
        })
    };
    let front = match &arguments.front[..] {
        [] => None,
        [word] => Some(Front::Way(direction(word, "--front")?)),
        [from, to, ..] => Some(Front::Holes(hole(from, "--front")?, hole(to, "--front")?)),
    };
    let origin = match &arguments.origin[..] {
        [] => None,
        [word] => Some(Origin::Hole(hole(word, "--origin")?)),
        three => Some(Origin::Place(place(three, "--origin")?)),
    };
    let flange = match &arguments.flange[..] {
        [] => None,
        three => Some(place(three, "--flange")?),
    };
    Ok(Stated {
        up: arguments
            .up
            .as_deref()
            .map(|word| direction(word, "--up"))
            .transpose()?,
        flange,
        front,
        origin,
        opening: length(arguments.opening.as_deref(), "--opening", 0.0..=0.3)?.unwrap_or(usual.opening),
        flat: length(arguments.flat.as_deref(), "--flat", 1e-6..=2e-3)?.unwrap_or(usual.flat),
    })
}

fn place(words: &[String], option: &str) -> Result<DVec3, Failure> {
    let [x, y, z] = words else {
        let mend = "write three lengths, such as \"10 mm\" \"0 mm\" \"0 mm\"";
        return Err(Failure::input("a place has three lengths", option, mend));
    };
    let read = |text: &String| {
        measure::read(text, Dimension::Length).map_err(|f| Failure::input(f.what(), option, f.mend()))
    };
    Ok(DVec3::new(read(x)?, read(y)?, read(z)?))
}

/// The lines for the design file that say the same as the command did.
fn design_lines(arguments: &Solid, looked: &Looked) -> Vec<String> {
    let quoted = |text: &str| format!("\"{}\"", text.replace('\\', "/").replace('"', "'"));
    let name = arguments.file.file_name().unwrap_or_default().to_string_lossy();
    let mut lines = vec!["[mesh]".to_owned(), format!("file = {}", quoted(&name))];
    if looked.unit_known_by != "the file" {
        lines.push(format!("unit = \"{}\"", looked.unit));
    }
    let mut say = |key: &str, value: Option<String>| lines.extend(value.map(|v| format!("{key} = {v}")));
    say("gap", arguments.gap.as_deref().map(quoted));
    say("hole", arguments.hole.as_deref().map(quoted));
    say("shows", Some(quoted(looked.shows)));
    let list = |words: &[String]| {
        format!(
            "[{}]",
            words.iter().map(|w| quoted(w)).collect::<Vec<_>>().join(", ")
        )
    };
    let direction = |word: &str| match word.split_whitespace().count() {
        3 => format!("[{}]", word.split_whitespace().collect::<Vec<_>>().join(", ")),
        _ => quoted(word),
    };
    say("up", arguments.up.as_deref().map(direction));
    say(
        "front",
        match &arguments.front[..] {
            [] => None,
            [word] => Some(direction(word)),
            words => Some(list(words)),
        },
    );
    say(
        "origin",
        match &arguments.origin[..] {
            [] => None,
            [word] => Some(quoted(word)),
            words => Some(list(words)),
        },
    );
    say(
        "flange",
        (!arguments.flange.is_empty()).then(|| list(&arguments.flange)),
    );
    say("opening", arguments.opening.as_deref().map(quoted));
    say("flat", arguments.flat.as_deref().map(quoted));
    lines
}
