//! `sumpwright clearance`: does the pan clear everything round it and inside it?

use super::options;
use crate::clearances::{self, Looked};
use crate::cli::Clearance;
use crate::failure::Failure;
use crate::preparation::wrong_input;
use crate::store::atomic;
use crate::terminal;
use measure::{Dimension, UnitOrder, show};
use report::drawing::svg;
use report::findings::ClearanceFacts;
use report::pictures::{Look, clearance as picture};
use std::process::ExitCode;

/// Runs it.
pub fn run(arguments: &Clearance) -> Result<ExitCode, Failure> {
    options::target(
        arguments.picture.as_deref(),
        "--picture",
        "svg",
        &arguments.design,
    )?;
    let design = job::read(&arguments.design).map_err(wrong_input)?;
    let Some(Looked { facts, notes }) = clearances::look(&design) else {
        return Err(Failure::input(
            "the design states nothing that the pan could touch",
            format!("{}, keep_out", arguments.design.display()),
            "add a [[keep_out]] for each body near the pan, or [rods] for what turns inside it (docs/clearance.md)",
        ));
    };
    if let Some(path) = &arguments.picture {
        let drawing = picture::clearance(&facts, &Look::wide(design.units))
            .ok_or_else(|| Failure::computing("there is nothing to draw", ""))?;
        atomic::write(path, svg::file(&drawing).as_bytes())?;
        terminal::remark(&format!("picture: {}", path.display()));
    }
    if arguments.json {
        let text = serde_json::to_string_pretty(&facts).expect("plain data");
        terminal::say(&format!("{text}\n"));
    } else {
        terminal::say(&text(&design.name, &facts, design.units));
    }
    for note in &notes {
        terminal::remark(note);
    }
    Ok(if arguments.gate && !facts.holds() {
        ExitCode::from(1)
    } else {
        ExitCode::SUCCESS
    })
}

fn text(name: &str, facts: &ClearanceFacts, units: UnitOrder) -> String {
    let length = |v: f64| show(v, Dimension::Length, units);
    let mut text = format!("{name}\n{}\n\n", facts.said);
    if facts.pairs.is_empty() {
        return text;
    }
    let head = ["", "body", "nearest to", "at rest", "engine moved", "wanted", ""];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for (i, p) in facts.pairs.iter().enumerate() {
        let moved = if p.moved < p.at_rest {
            length(p.moved)
        } else {
            String::new()
        };
        rows.push(vec![
            (i + 1).to_string(),
            p.body_said(),
            p.against_said(),
            length(p.at_rest),
            moved,
            length(p.wanted),
            p.state.said().to_owned(),
        ]);
    }
    text += &terminal::columns(&rows);
    text += &growth(facts, units);
    text += &way_out(facts);
    text
}

/// How far each side may move, a row a pocket and side.
fn growth(facts: &ClearanceFacts, units: UnitOrder) -> String {
    if facts.growth.is_empty() {
        return String::new();
    }
    let head = ["room to grow", "side", "free", "gains", "stopped by"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for g in &facts.growth {
        let free = show(g.free, Dimension::Length, units);
        rows.push(vec![
            g.pocket.clone(),
            g.toward.clone(),
            if g.open { format!("over {free}") } else { free },
            if g.open {
                String::new()
            } else {
                show(g.gained, Dimension::Volume, units)
            },
            g.stopped_by
                .clone()
                .unwrap_or_else(|| "nothing stated".to_owned()),
        ]);
    }
    format!("\n{}", terminal::columns(&rows))
}

/// The way out, and the one caution that goes with it.
fn way_out(facts: &ClearanceFacts) -> String {
    let Some(removal) = &facts.removal else {
        return String::new();
    };
    let mut text = format!("\n{}\n", removal.said);
    if removal.way.len() > 1 {
        for (i, step) in removal.way.iter().enumerate() {
            text += &format!("  {}. {}\n", i + 1, step.said);
        }
    }
    text += "Work under a car only on rated stands, with the engine held from above by a rated support, and keep out from\n\
             under while the pan comes down; have a licensed shop do what you are not equipped for.\n";
    text
}
