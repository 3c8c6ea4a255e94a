//! What goes to the terminal.

use crate::probe_table;
use measure::{Dimension, UnitOrder, show};
use pickup::GridStudy;
use report::findings::Findings;
use report::numbers::{air, grid_rows, measured, short};
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

/// Columns, each as wide as its widest cell; the last one is not padded.
pub fn columns(rows: &[Vec<String>]) -> String {
    let width = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column));
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let line = |row: &Vec<String>| {
        let cells = row.iter().enumerate().map(|(i, cell)| {
            let width = if i + 1 == row.len() { 0 } else { width(i) };
            format!("  {cell:width$}")
        });
        cells.collect::<String>().trim_end().to_owned() + "\n"
    };
    rows.iter().map(line).collect()
}

/// What each cell size gave, the order that the numbers show, and the band.
pub fn grids(study: &GridStudy, units: UnitOrder) -> String {
    let mut head = vec!["cells of".to_string()];
    let cells = study.least_cover.grids.iter();
    head.extend(cells.map(|grid| short(grid.cell, Dimension::Length, units)));
    head.extend(["order", "answer and band", ""].map(str::to_string));
    let mut rows = vec![head];
    for row in grid_rows(study, units) {
        let mut cells = vec![row.name.to_string()];
        cells.extend(row.values);
        cells.extend([row.order, row.answer, row.said.to_string()]);
        rows.push(cells);
    }
    columns(&rows)
}

/// The verdict in a few lines, and where `report` and `probes` lie.
pub fn summary(findings: &Findings, units: UnitOrder, report: &Path, probes: Option<&Path>) -> String {
    let litres = |v: f64| show(v, Dimension::Volume, units);
    let verdict = &findings.verdict;
    let cover = measured(verdict.least_cover, Dimension::Length, units).line();
    let drawn = verdict.air_per_lap;
    let drawn = air(drawn.value, drawn.band, findings.pan.cell, units).line();
    let cells = format!(
        "{}{}",
        short(findings.pan.cell, Dimension::Length, units),
        if findings.moments.iter().any(|m| m.grids.is_some()) {
            ", and coarser ones for the band"
        } else {
            "; the band is half a cell, --refine measures it"
        }
    );
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
        ("air drawn in a lap", drawn),
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
        ("cells", cells),
        ("report", report.display().to_string()),
        ("probes", probe_table::shown(probes)),
    ]);
    if let Some((moment, study)) = (findings.moments.iter()).find_map(|m| Some((m, m.grids.as_ref()?))) {
        text += &format!(
            "\n  {}, on several cell sizes:\n{}",
            moment.name,
            grids(study, units)
        );
    }
    text
}
