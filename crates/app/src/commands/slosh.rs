//! `sumpwright slosh`: the oil in three dimensions over a stretch that the user names.

use super::{Folders, Workers, experiment};
use crate::cli::{Aloft, Slosh};
use crate::failure::Failure;
use crate::preparation::{Prepared, wrong_input};
use crate::runner::{Bench, Task, frames_in};
use crate::sizes::Load;
use crate::stop::Stop;
use crate::store::Scene;
use crate::terminal;
use job::{Job, Start};
use measure::{Dimension, show};
use std::process::ExitCode;

/// Runs it.
pub fn run(arguments: &Slosh) -> Result<ExitCode, Failure> {
    let stop = Stop::listen();
    let design = match job::read_any(&arguments.common.design).map_err(wrong_input)? {
        Job::Experiment(experiment) => return experiment::run(arguments, &experiment, stop),
        Job::Pan(design) => design,
    };
    let prepared = Prepared::of(*design, &arguments.common)?;
    let driven = prepared.drive(&arguments.common)?;
    let (from, to) = (arguments.from, arguments.to.unwrap_or(driven.pan.end()));
    let (first, last) = (driven.pan.start(), driven.pan.end());
    if !(from >= first && to > from && to <= last) {
        return Err(Failure::input(
            format!("{from} s to {to} s is no stretch of this drive"),
            "--from, --to",
            format!("the drive runs from {first:.2} s to {last:.2} s"),
        ));
    }
    let size = prepared.size(arguments.computing.cell.as_deref())?;
    let load = Load {
        runs: 1,
        frames: frames_in(to - from),
    };
    prepared.check_memory(size.cell, load)?;
    let gridded = prepared.grid(size)?;
    let folders = Folders::make(&arguments.common.design, arguments.computing.out.as_deref())?;
    let design = &prepared.design;
    let factor = match arguments.aloft {
        Aloft::Low => design.allowance.low,
        Aloft::Mid => 1.0,
        Aloft::High => design.allowance.high,
    };
    let task = Task {
        circuit: Some(design.circuit.with_aloft_factor(factor)),
        fill: Start::Volume(design.fill),
        start: from,
        end: to,
        pictures: true,
    };
    let scene = Scene::of(&design.name, &design.pan, &gridded.lattice);
    let bench = Bench {
        lattice: &gridded.lattice,
        doors: &design.pan.doors,
        scene: &scene,
        fluid: prepared.fluid,
        drive: &driven.pan,
        probes: &[],
        tank: None,
        walls_rub: true,
        runs: folders.runs.clone(),
        stop,
    };
    let computed = Workers::new(arguments.computing.threads)?.run(|| bench.compute("slosh", &[task]))?;
    let history = &computed[0].history;
    if arguments.common.json {
        let text = serde_json::to_string_pretty(history).expect("a checked history is plain numbers");
        terminal::say(&format!("{text}\n"));
        return Ok(ExitCode::SUCCESS);
    }
    let length = |v: f64| show(v, Dimension::Length, design.units);
    let litres = |v: f64| show(v, Dimension::Volume, design.units);
    let (least, at) = history.least_cover(from, to).expect("a run has rows");
    let bare: f64 = history
        .gulps(from, to)
        .iter()
        .map(|g| g.length())
        .fold(0.0, |sum, length| sum + length);
    let text = terminal::table(&[
        ("least cover", format!("{} at {at:.2} s", length(least))),
        ("mouth bare for", format!("{bare:.2} s of {:.2} s", to - from)),
        ("air drawn", litres(history.air_in(from, to))),
        (
            "cell",
            format!("{} ({})", length(gridded.lattice.cell), gridded.why),
        ),
        ("steps", computed[0].steps.to_string()),
        ("kept in", folders.runs.display().to_string()),
    ]);
    terminal::say(&text);
    Ok(ExitCode::SUCCESS)
}
