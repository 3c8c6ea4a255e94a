//! `sumpwright feed`: is the pump fed through its suction line?

use crate::cli::Feed;
use crate::failure::Failure;
use crate::feeds;
use crate::preparation::Prepared;
use crate::store::atomic;
use crate::terminal;
use measure::UnitOrder;
use report::drawing::{Drawing, svg};
use report::feed_rows::{self, Rows};
use report::findings::FeedFacts;
use report::pictures::{Look, feed as picture};
use std::path::Path;
use std::process::ExitCode;

/// Runs it.
pub fn run(arguments: &Feed) -> Result<ExitCode, Failure> {
    let common = &arguments.common;
    let prepared = Prepared::read(common)?;
    let design = &prepared.design;
    if design.feed.is_none() {
        return Err(Failure::input(
            "the design states no suction line",
            format!("{}, feed", common.design.display()),
            format!(
                "add a [feed] with your own measures (docs/feed.md). It begins like this; nothing of it is assumed:\n\n{}",
                feeds::starter(design)
            ),
        ));
    }
    let driven = prepared.drive(common)?;
    for warning in &prepared.warnings {
        terminal::remark(&format!("note: {warning}"));
    }
    let facts = feeds::look(design, &driven)?.expect("the section is there");
    if let Some(out) = &arguments.out {
        write(out, &facts, design.units)?;
    }
    if common.json {
        report::json::check_numbers(&facts).map_err(|fault| Failure::computing(fault.to_string(), ""))?;
        let text = serde_json::to_string_pretty(&facts).expect("plain data");
        terminal::say(&format!("{text}\n"));
    } else {
        terminal::say(&text(&design.name, &facts, design.units));
    }
    Ok(if arguments.gate && !facts.holds {
        ExitCode::from(1)
    } else {
        ExitCode::SUCCESS
    })
}

/// Pictures and map.
fn write(out: &Path, facts: &FeedFacts, units: UnitOrder) -> Result<(), Failure> {
    atomic::make_folder(out)?;
    let look = Look::wide(units);
    let pictures: [(&str, Option<Drawing>); 2] = [
        ("inlet.svg", picture::inlet(facts, &look)),
        ("losses.svg", picture::losses(facts, &look)),
    ];
    for (name, drawing) in pictures {
        let drawing = drawing.ok_or_else(|| Failure::computing("there is nothing to draw", ""))?;
        atomic::write(&out.join(name), svg::file(&drawing).as_bytes())?;
    }
    let mut table = String::from("oil temperature [C],engine speed [rpm],inlet pressure [kPa absolute]\n");
    for (j, temperature) in facts.map.temperatures.iter().enumerate() {
        for (i, speed) in facts.map.speeds.iter().enumerate() {
            let pressure = facts.map.pressure[i + facts.map.speeds.len() * j];
            table += &format!(
                "{:.2},{:.1},{:.3}\n",
                temperature - 273.15,
                speed * 60.0,
                pressure * 1e-3
            );
        }
    }
    atomic::write(&out.join("inlet.csv"), table.as_bytes())?;
    terminal::remark(&format!("pictures and map: {}", out.display()));
    Ok(())
}

fn text(name: &str, facts: &FeedFacts, units: UnitOrder) -> String {
    let mut text = format!("{name}\n{}\n", facts.said);
    for rows in [
        feed_rows::speeds(facts, units),
        feed_rows::parts(facts, units),
        feed_rows::changes(facts, units),
        feed_rows::air(facts),
        feed_rows::carried(facts),
        feed_rows::bells(facts, units),
    ] {
        text += &table(rows);
    }
    text += "\n";
    for remark in &facts.remarks {
        text += &format!("- {remark}\n");
    }
    text
}

fn table(rows: Rows) -> String {
    if rows.rows.is_empty() {
        return String::new();
    }
    let mut all = vec![rows.head];
    all.extend(rows.rows);
    format!("\n{}\n{}", rows.caption, terminal::columns(&all))
}
