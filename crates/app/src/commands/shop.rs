//! `sumpwright shop`: what the bench and the mill work from, as one folder.

use crate::cli::Shop;
use crate::failure::Failure;
use crate::preparation::wrong_input;
use crate::shop::{self, ShopFacts};
use crate::terminal;
use std::path::Path;
use std::process::ExitCode;

/// Names of a folder that are told.
const MOST_NAMES: usize = 9;

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
    text += &terminal::columns(&shelves(facts));
    for w in &facts.warnings {
        text += &format!("\nwarning: {}\n  mend: {}\n", w.said, w.mend);
    }
    for line in &facts.said {
        text += &format!("\n{line}\n");
    }
    let read_me = out.join("read-me.txt");
    text + &format!("\nwhat each file is for: {}\n", read_me.display())
}

/// A line for each folder: its name, how many files, what they are of.
fn shelves(facts: &ShopFacts) -> Vec<Vec<String>> {
    let mut shelves: Vec<(String, usize, Vec<String>)> = Vec::new();
    for file in &facts.files {
        let (shelf, name) = match file.path.split_once('/') {
            Some((shelf, name)) => (format!("{shelf}/"), name),
            None => (String::new(), file.path.as_str()),
        };
        let at = shelves.iter().position(|(s, ..)| *s == shelf).unwrap_or_else(|| {
            shelves.push((shelf, 0, Vec::new()));
            shelves.len() - 1
        });
        let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
        shelves[at].1 += 1;
        if !shelves[at].2.iter().any(|s| s == stem) {
            shelves[at].2.push(stem.to_owned());
        }
    }
    let line = |(shelf, count, names): (String, usize, Vec<String>)| {
        let mut said = names[..names.len().min(MOST_NAMES)].join(", ");
        if names.len() > MOST_NAMES {
            said += &format!(" and {} more", names.len() - MOST_NAMES);
        }
        let files = if count == 1 { "file" } else { "files" };
        vec![shelf, format!("{count} {files}"), said]
    };
    shelves.into_iter().map(line).collect()
}
