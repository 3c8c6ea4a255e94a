//! `sumpwright slosh` on an experiment: the whole of its motion, and what its probes show as CSV.

use super::{Folders, Workers};
use crate::cli::Slosh;
use crate::failure::Failure;
use crate::probe_table::{self, Head, shown};
use crate::runner::{Bench, Shown, Task};
use crate::sizes::{STATED, stated_cell};
use crate::stop::Stop;
use crate::terminal;
use job::Experiment;
use measure::{Dimension, show};
use pan::Lattice;
use slosh::Settings;
use std::process::ExitCode;

/// Smallest and largest cell that a user may ask for [m]: tanks are of any size.
const CELL_RANGE: (f64, f64) = (1e-4, 0.5);

/// Computes it.
pub fn run(arguments: &Slosh, experiment: &Experiment, stop: Stop) -> Result<ExitCode, Failure> {
    let common = &arguments.common;
    for (given, key) in [
        (common.log.is_some(), "--log"),
        (common.course.is_some(), "--course"),
    ] {
        if given {
            return Err(Failure::input(
                "an experiment is moved as its own file says",
                key,
                "leave it out, or state another [[drive.motion]]",
            ));
        }
    }
    for (given, key) in [
        (arguments.computing.refine.is_some(), "--refine"),
        (arguments.computing.within.is_some(), "--within"),
    ] {
        if given {
            return Err(Failure::input(
                "an experiment is computed with one cell size",
                key,
                "leave it out, and compare runs with several --cell",
            ));
        }
    }
    let (cell, why) = match &arguments.computing.cell {
        Some(text) => (stated_cell(text, CELL_RANGE)?, STATED),
        None => (experiment.cell, "as the file states"),
    };
    let lattice = Lattice::of_tank(&experiment.tank, cell).map_err(|fault| {
        Failure::input(
            fault.to_string(),
            "tank.cell",
            "state another cell size with --cell",
        )
    })?;
    let drive = &experiment.drive;
    let (from, to) = (arguments.from, arguments.to.unwrap_or(drive.end()));
    if !(from >= drive.start() && to > from && to <= drive.end()) {
        return Err(Failure::input(
            format!("{from} s to {to} s is no stretch of this motion"),
            "--from, --to",
            format!("it runs from {:.2} s to {:.2} s", drive.start(), drive.end()),
        ));
    }
    let folders = Folders::make(&common.design, arguments.computing.out.as_deref())?;
    for caution in &experiment.cautions {
        terminal::remark(&format!("note: {} ({})", caution.what, caution.mend));
    }
    for said in &drive.said {
        terminal::remark(&format!("note: {said}"));
    }
    let bench = Bench {
        lattice: &lattice,
        doors: &experiment.tank.doors,
        fluid: experiment.fluid,
        drive,
        probes: &experiment.probes,
        tank: Some(&experiment.tank),
        shown: Shown::Tank(&experiment.name, &experiment.tank),
        settings: Settings {
            wall_friction: experiment.walls_rub,
            ..Settings::default()
        },
        runs: folders.runs.clone(),
        stop,
    };
    let task = Task {
        circuit: None,
        fill: experiment.start.clone(),
        start: from,
        end: to,
        pictures: true,
    };
    let computed = Workers::new(arguments.computing.threads)?.run(|| bench.compute("slosh", &[task]))?;
    let record = &computed[0].record;
    let head = Head {
        name: &experiment.name,
        notes: &experiment.notes,
        cell,
    };
    let path = probe_table::write(&folders.out, &head, record)?;
    if common.json {
        let text = serde_json::to_string_pretty(record).expect("a record is plain numbers");
        terminal::say(&format!("{text}\n"));
        return Ok(ExitCode::SUCCESS);
    }
    let text = terminal::table(&[
        (
            "cell",
            format!("{} ({why})", show(cell, Dimension::Length, experiment.units)),
        ),
        ("steps", computed[0].steps.to_string()),
        ("probes", shown(path.as_deref())),
        ("kept in", folders.runs.display().to_string()),
    ]);
    terminal::say(&text);
    Ok(ExitCode::SUCCESS)
}
