//! `sumpwright seal`: will the joint of pan and block hold, and with which torque?

use crate::cli::Seal;
use crate::failure::Failure;
use crate::preparation::wrong_input;
use crate::seals;
use crate::store::atomic;
use crate::terminal;
use measure::{Dimension, UnitOrder, show, show_torque};
use report::drawing::svg;
use report::findings::SealFacts;
use report::pictures::{Look, seal as picture};
use std::path::Path;
use std::process::ExitCode;

/// Runs it.
pub fn run(arguments: &Seal) -> Result<ExitCode, Failure> {
    let design = job::read(&arguments.design).map_err(wrong_input)?;
    let Some(mut facts) = seals::look(&design)? else {
        return Err(Failure::input(
            "the design states no joint",
            format!("{}, seal", arguments.design.display()),
            "add [seal.flange], [seal.block], [seal.joint] and [seal.bolts] (docs/seal.md)",
        ));
    };
    if let Some(path) = &arguments.turned {
        let turned = seals::turning::look(path, facts.bolts.count, design.units)?;
        facts.turned = turned.said;
        facts.holds &= turned.warnings.is_empty();
        facts.warnings.extend(turned.warnings);
    }
    let json = || serde_json::to_string_pretty(&facts).expect("plain data") + "\n";
    let said = text(&design.name, &facts, design.units);
    if let Some(out) = &arguments.out {
        write(out, &facts, design.units, &said, &json())?;
    }
    if arguments.json {
        terminal::say(&json());
    } else {
        terminal::say(&said);
    }
    Ok(if arguments.gate && !facts.holds {
        ExitCode::from(1)
    } else {
        ExitCode::SUCCESS
    })
}

/// Pictures, text and JSON into a folder.
fn write(out: &Path, facts: &SealFacts, units: UnitOrder, said: &str, json: &str) -> Result<(), Failure> {
    atomic::make_folder(out)?;
    let look = Look::wide(units);
    let mut files = vec![
        ("seal.txt".to_owned(), said.to_owned()),
        ("seal.json".to_owned(), json.to_owned()),
    ];
    if let Some(drawing) = picture::pressure(facts, &look) {
        files.push(("pressure.svg".to_owned(), svg::file(&drawing)));
    }
    for face in &facts.faces {
        if let Some(drawing) = picture::face(facts, face, &look) {
            files.push((format!("face-{}.svg", face.face), svg::file(&drawing)));
        }
    }
    for (name, text) in files {
        let path = out.join(name);
        atomic::write(&path, text.as_bytes())?;
        terminal::remark(&format!("written: {}", path.display()));
    }
    Ok(())
}

fn text(name: &str, facts: &SealFacts, units: UnitOrder) -> String {
    let mut text = format!("{name}\n{}\n", facts.said);
    for w in &facts.warnings {
        text += &format!("\nwarning: {}\n  mend: {}\n", w.said, w.mend);
    }
    for face in &facts.faces {
        text += &format!("\n{}\n", face.said);
    }
    if let Some(press) = &facts.press {
        text += &format!("\n{}\n", press.said);
        let mut rows = vec![
            ["each alone", "need met at the worst place", "falls short"]
                .map(str::to_owned)
                .to_vec(),
        ];
        for w in &press.what_ifs {
            rows.push(vec![
                w.said.clone(),
                report::page::times(w.service),
                show(w.short, Dimension::Length, units),
            ]);
        }
        text += &terminal::columns(&rows);
    }
    let b = &facts.bolts;
    text += &format!("\n{}\n", b.said);
    let force = |v: f64| show(v, Dimension::Force, units);
    let mut rows = vec![
        ["limit, lowest first", "clamp load", "torque"]
            .map(str::to_owned)
            .to_vec(),
    ];
    for l in &b.limits {
        rows.push(vec![
            l.said.clone(),
            l.force.map(force).unwrap_or_default(),
            show_torque(l.torque, units),
        ]);
    }
    text += &terminal::columns(&rows);
    if let Some(least) = b.least {
        text += &format!(
            "The gasket needs {} with the most friction.\n",
            show_torque(least, units)
        );
    }
    if let Some(order) = &facts.order {
        text += &format!("\n{}\n", order.said);
    }
    if !facts.turned.is_empty() {
        text += &format!("\n{}\n", facts.turned.join("\n"));
    }
    text += "\n";
    for line in facts.counted.iter().chain(&facts.cautions) {
        text += &format!("- {line}\n");
    }
    text
}
