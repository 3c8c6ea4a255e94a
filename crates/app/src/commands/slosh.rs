//! `sumpwright slosh`: the oil in three dimensions over a stretch that the user names.

use super::{Folders, Workers, experiment};
use crate::cases::Cases;
use crate::cli::{Aloft, Slosh};
use crate::failure::Failure;
use crate::forecast::Later;
use crate::planning::Wish;
use crate::preparation::{Prepared, wrong_input};
use crate::probe_table::{self, Head};
use crate::refine;
use crate::runner::{Bench, Shown, Task, frames_in};
use crate::sizes::Load;
use crate::stop::Stop;
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
    let workers = Workers::new(arguments.computing.threads)?;
    let size = prepared.first_size(&arguments.computing)?;
    let load = Load {
        runs: 1,
        frames: frames_in(to - from),
    };
    prepared.check_memory(size.cell, load)?;
    let first_cells = prepared.grid(size)?;
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
    let bench = Bench {
        lattice: &first_cells.lattice,
        doors: &design.pan.doors,
        shown: Shown::Pan(&design.name, &design.pan),
        fluid: prepared.fluid,
        drive: &driven.pan,
        probes: &design.probes,
        tank: None,
        settings: slosh::Settings::default(),
        runs: folders.runs.clone(),
        stop,
    };
    let tasks = [task];
    let wish = Wish {
        prepared: &prepared,
        computing: &arguments.computing,
        what: "this stretch",
        tasks: &tasks,
        later: (Later::default(), ""),
        load,
    };
    let (plan, computed, study) = workers.run(|| -> Result<_, Failure> {
        let plan = wish.plan(&bench, &first_cells)?;
        let bench = bench.on(&plan.gridded.lattice);
        let computed = bench.compute("slosh", &tasks)?;
        let studies = refine::studies(&bench, &plan.coarser, &tasks, &[(from, to)], &computed)?;
        Ok((plan, computed, studies.into_iter().next().flatten()))
    })?;
    let gridded = &plan.gridded;
    let history = &computed[0].history;
    let verdict = study.as_ref().map(|study| {
        let cases = Cases::on(&prepared, &driven, gridded);
        let stretch = cases.stretch(from, to);
        cases.judge(&[&stretch], &[&computed[0]], &[Some(study.bands())])
    });
    let head = Head {
        name: &design.name,
        notes: &design.notes,
        cell: gridded.lattice.cell,
    };
    let probes = probe_table::write(&folders.out, &head, &computed[0].record)?;
    if arguments.common.json {
        let plain = "a checked history is plain numbers";
        let text = match (&study, &verdict) {
            (Some(study), Some(verdict)) => serde_json::to_string_pretty(&serde_json::json!({
                "word": verdict.word, "sentence": verdict.sentence, "grids": study, "history": history,
            })),
            _ => serde_json::to_string_pretty(history),
        };
        terminal::say(&format!("{}\n", text.expect(plain)));
        return Ok(ExitCode::SUCCESS);
    }
    let length = |v: f64| show(v, Dimension::Length, design.units);
    let (least, at) = history.least_cover(from, to).expect("a run has rows");
    let bare: f64 = history
        .gulps(from, to)
        .iter()
        .map(|g| g.length())
        .fold(0.0, |sum, length| sum + length);
    let (air, oil) = (history.air_in(from, to), history.drawn_in(from, to));
    let share = if air > 0.0 { air / (air + oil) } else { 0.0 };
    let band = study.as_ref().and_then(|study| study.bands().air);
    let drawn = report::numbers::air(air, band, gridded.lattice.cell, design.units);
    let mut text = terminal::table(&[
        ("least cover", format!("{} at {at:.2} s", length(least))),
        ("mouth bare for", format!("{bare:.2} s of {:.2} s", to - from)),
        ("air drawn", drawn.line()),
        ("air in all that the pump took", format!("{:.1} %", 100.0 * share)),
        (
            "cell",
            format!("{} ({})", length(gridded.lattice.cell), gridded.why),
        ),
        ("steps", computed[0].steps.to_string()),
        ("probes", probe_table::shown(probes.as_deref())),
        ("kept in", folders.runs.display().to_string()),
    ]);
    if let (Some(study), Some(verdict)) = (&study, &verdict) {
        text += &format!("\n{}", terminal::grids(study, design.units));
        text += &format!("\n{}: {}\n", verdict.word.said(), verdict.sentence);
    }
    terminal::say(&text);
    Ok(ExitCode::SUCCESS)
}
