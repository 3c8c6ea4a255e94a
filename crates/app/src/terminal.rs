//! What goes to the terminal.

use measure::{Dimension, UnitOrder, show};
use report::findings::Findings;
use std::io::Write;
use std::path::Path;

/// Prints to stdout; a reader that has gone away (`… | head`) is no fault.
pub fn say(text: &str) {
    let mut out = std::io::stdout().lock();
    let _ = out.write_all(text.as_bytes());
    let _ = out.flush();
}

/// Prints a remark to stderr.
pub fn remark(text: &str) {
    let _ = writeln!(std::io::stderr().lock(), "{text}");
}

/// Two columns, the left one as wide as its widest entry; entries with an empty value are left out.
pub fn table(rows: &[(&str, String)]) -> String {
    let rows: Vec<_> = rows.iter().filter(|(_, value)| !value.is_empty()).collect();
    let width = rows
        .iter()
        .map(|(name, _)| name.chars().count())
        .max()
        .unwrap_or(0);
    rows.iter()
        .map(|(name, value)| format!("  {name:width$}  {value}\n"))
        .collect()
}

/// The verdict in a few lines.
pub fn summary(findings: &Findings, units: UnitOrder, report: &Path) -> String {
    let length = |v: f64| show(v, Dimension::Length, units);
    let litres = |v: f64| show(v, Dimension::Volume, units);
    let verdict = &findings.verdict;
    let cover = match verdict.least_cover.band {
        Some(band) => format!("{}, known to {}", length(verdict.least_cover.value), length(band)),
        None => length(verdict.least_cover.value),
    };
    let gulp = match (&verdict.longest_gulp_at, verdict.longest_gulp) {
        (Some(at), gulp) => format!("{gulp:.2} s {}", at.place),
        (None, _) => "none".to_string(),
    };
    let aloft: Vec<String> = findings
        .aloft
        .iter()
        .map(|case| format!("{} {}", case.name, case.word.said()))
        .collect();
    let crank = match &verdict.most_at_crank_at {
        Some(at) => format!("{} {}", litres(verdict.most_at_crank), at.place),
        None => "none".to_string(),
    };
    let mut text = format!(
        "\n{}: {}\n{}\n\n",
        findings.design.name,
        verdict.word.said(),
        verdict.sentence
    );
    text += &table(&[
        (
            "least cover",
            format!("{cover}, {}", verdict.least_cover_at.place),
        ),
        ("air drawn in a lap", litres(verdict.air_per_lap.value)),
        ("longest gulp", gulp),
        ("oil at the crank", crank),
        ("oil aloft", aloft.join(", ")),
        (
            "lowest fill",
            findings
                .lowest_fill
                .as_ref()
                .map_or(String::new(), |l| l.said.clone()),
        ),
        ("report", report.display().to_string()),
    ]);
    text
}
