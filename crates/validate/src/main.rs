//! Computes every published case and writes the validation page: `validate docs/validation.md [subject…]`.
//! With subjects (words of their titles) only those are computed and printed, and no page is written.
#![allow(clippy::print_stdout, reason = "a chore talks to the person who runs it")]

use std::path::Path;
use std::process::ExitCode;
use std::time::Instant;
use validate::plot::Plot;
use validate::{rows, subjects};

/// Folder of the plots beside the page.
const FOLDER: &str = "validation";

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let (path, only) = match words.split_first() {
        Some((path, only)) => (path.as_str(), only),
        None => ("docs/validation.md", &[][..]),
    };
    let (mut sections, mut count) = (String::new(), 0);
    let mut off: Vec<String> = Vec::new();
    let mut plots = Vec::new();
    for subject in subjects() {
        let wanted = only.is_empty()
            || only
                .iter()
                .any(|w| subject.title.to_lowercase().contains(&w.to_lowercase()));
        if !wanted {
            continue;
        }
        let start = Instant::now();
        let findings = (subject.findings)();
        let computed = &findings.rows;
        count += computed.len();
        let missed = computed.iter().filter(|row| !row.holds()).count();
        if missed > 0 {
            off.push(format!("{missed} of {} in \"{}\"", computed.len(), subject.title));
        }
        for row in computed {
            println!("{} {}", if row.holds() { "holds" } else { "OFF  " }, row.say());
            if !row.holds() {
                println!("      {}", row.note);
            }
        }
        println!(
            "{}: {} rows, {:.0} s",
            subject.title,
            computed.len(),
            start.elapsed().as_secs_f64()
        );
        for study in &findings.studies {
            println!(
                "grid  {}: {:?}, order {:?}",
                study.what,
                study.values,
                study.order()
            );
        }
        sections.push_str(&rows::section(subject.title, subject.about, &findings, FOLDER));
        plots.extend(findings.plots);
    }
    if !only.is_empty() {
        // One subject alone: its pictures go where they can be looked at without touching the page.
        return written(write_plots(
            &std::env::temp_dir().join("validation-plots"),
            &plots,
        ));
    }
    let sum = summary(count, &off);
    println!("{sum}");
    // Rows that are off are findings, told on the page; only a page that cannot be written is a failure.
    let page = Path::new(path);
    let folder = page.parent().unwrap_or(Path::new("")).join(FOLDER);
    written(write_plots(&folder, &plots).and_then(|()| {
        std::fs::write(page, format!("{HEAD}{sum}\n\n{}\n", sections.trim_end()))
            .map_err(|why| format!("{path} cannot be written: {why}"))
    }))
}

fn write_plots(folder: &Path, plots: &[Plot]) -> Result<(), String> {
    if plots.is_empty() {
        return Ok(());
    }
    let failed = |why: std::io::Error| format!("{} cannot be written: {why}", folder.display());
    std::fs::create_dir_all(folder).map_err(failed)?;
    for plot in plots {
        std::fs::write(folder.join(&plot.name).with_extension("svg"), plot.svg()).map_err(failed)?;
    }
    println!("{} plots in {}", plots.len(), folder.display());
    Ok(())
}

fn written(result: Result<(), String>) -> ExitCode {
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            println!("{why}");
            ExitCode::FAILURE
        }
    }
}

/// What holds and what does not, in a sentence or two.
fn summary(count: usize, off: &[String]) -> String {
    if off.is_empty() {
        return format!("All {count} rows hold.");
    }
    format!(
        "{count} rows; off: {}. What is off is not to be relied on yet: the next work on the solver is to tighten \
         it. All other rows hold.",
        off.join(", ")
    )
}

const HEAD: &str = "# The program against the world outside

Written by `cargo xtask validate`; do not edit by hand. Each row sets a published or exact number beside the
computed one. *holds*: the difference is within what is allowed, for the reason in the note. **off**: it is
not, and the note says what is known about why.

";
