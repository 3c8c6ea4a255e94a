//! `sumpwright shop`: what the bench and the mill work from, as one folder.

use crate::cli::Shop;
use crate::failure::Failure;
use crate::preparation::wrong_input;
use crate::shop::{self, ShopFacts};
use crate::terminal;
use std::path::Path;
use std::process::ExitCode;

/// Runs it.
pub fn run(arguments: &Shop) -> Result<ExitCode, Failure> {
    let design = job::read(&arguments.design).map_err(wrong_input)?;
    let (folder, facts) = shop::make(&design)?;
    let out = arguments.out.clone().unwrap_or_else(|| {
        let file = &arguments.design;
        let stem = file.file_stem().unwrap_or(file.as_os_str()).to_string_lossy();
        file.with_file_name(format!("{stem}-shop"))
    });
    shop::write(&folder, &out)?;
    if arguments.json {
        terminal::say(&(serde_json::to_string_pretty(&facts).expect("plain data") + "\n"));
    } else {
        terminal::say(&text(&facts, &out));
    }
    Ok(ExitCode::SUCCESS)
}

fn text(facts: &ShopFacts, out: &Path) -> String {
    let mut text = format!("{}\n\n", facts.design);
    let rows: Vec<Vec<String>> = (facts.files.iter())
        .map(|f| vec![f.path.clone(), f.what.clone()])
        .collect();
    text += &terminal::columns(&rows);
    for w in &facts.warnings {
        text += &format!("\nwarning: {}\n  mend: {}\n", w.said, w.mend);
    }
    for line in &facts.said {
        text += &format!("\n{line}\n");
    }
    text + &format!("\nwritten: {}\n", out.display())
}
