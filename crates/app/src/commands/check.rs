//! `sumpwright check`: the main job.

use super::{Folders, MAKE_BUNDLE, NO_BUNDLE, Workers};
use crate::cases::{Cases, LATER_PAIRS, WINDOW, holds};
use crate::clearances;
use crate::cli::Check;
use crate::failure::Failure;
use crate::feeds;
use crate::findings::Computation;
use crate::forecast::Later;
use crate::overseer::{self, Pictured, Told};
use crate::planning::Wish;
use crate::preparation::{Driven, Prepared};
use crate::probe_table::{self, Head};
use crate::refine;
use crate::runner::{Bench, Shown, Task, frames_in};
use crate::seals;
use crate::shop;
use crate::sizes::Load;
use crate::stop::Stop;
use crate::store::atomic;
use crate::terminal;
use pickup::allowance::Allowance;
use pickup::{Bands, GridStudy};
use report::findings::{Depth, Findings, Timing};
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Instant;
use still::Moment;

/// Runs it.
pub fn run(arguments: &Check) -> Result<ExitCode, Failure> {
    let stop = Stop::listen();
    let common = &arguments.common;
    let prepared = Prepared::read(common)?;
    let driven = prepared.drive(common)?;
    let (findings, probes) = findings(arguments, &prepared, &driven, &stop)?;
    let report = Folders::place(&common.design, arguments.computing.out.as_deref()).join("report.html");
    let summary = terminal::summary(&findings, prepared.design.units, &report, probes.as_deref());
    if common.json {
        let json = report::to_json(&findings).map_err(|fault| Failure::computing(fault.to_string(), ""))?;
        terminal::say(&format!("{json}\n"));
        terminal::remark(&summary);
    } else {
        terminal::say(&summary);
    }
    let against = arguments.gate && !holds(findings.verdict.word);
    Ok(if against {
        ExitCode::from(1)
    } else {
        ExitCode::SUCCESS
    })
}

/// Computes and judges a design, and writes its report, result and probes; also gives where the probes lie.
pub fn findings(
    arguments: &Check,
    prepared: &Prepared,
    driven: &Driven,
    stop: &Stop,
) -> Result<(Findings, Option<PathBuf>), Failure> {
    let common = &arguments.common;
    if !report::page::has_bundle() {
        return Err(Failure::computing(NO_BUNDLE, MAKE_BUNDLE));
    }
    let mut clock = Clock::default();
    let workers = Workers::new(arguments.computing.threads)?;
    let size = prepared.first_size(&arguments.computing)?;
    let load = load(arguments, driven, workers.count());
    prepared.check_memory(size.cell, load)?;
    let first = prepared.grid(size)?;
    let folders = Folders::make(&common.design, arguments.computing.out.as_deref())?;
    clock.lap("reading and geometry");
    for warning in &prepared.warnings {
        terminal::remark(&format!("note: {warning}"));
    }
    // Told before the long work: a pan that does not fit need not be computed.
    let looked = clearances::look(&prepared.design);
    for note in looked.iter().flat_map(|l| &l.notes) {
        terminal::remark(note);
    }
    let clearance = looked.map(|l| l.facts);
    clock.lap("clearance");
    let feed = feeds::look(&prepared.design, driven)?;
    if let Some(facts) = feed.as_ref().filter(|f| !f.holds) {
        terminal::remark(&format!("warning: {}", facts.said));
    }
    clock.lap("suction");
    let sealed = seals::look(&prepared.design)?;
    for warning in sealed.iter().flat_map(|s| &s.warnings) {
        terminal::remark(&format!("warning: {}\n  mend: {}", warning.said, warning.mend));
    }
    let cards = shop::cards::told(&prepared.design, sealed.as_ref())?;
    clock.lap("seal");

    let (findings, probes) = workers.run(|| -> Result<_, Failure> {
        let bench = Bench {
            lattice: &first.lattice,
            doors: &prepared.design.pan.doors,
            shown: Shown::Pan(&prepared.design.name, &prepared.design.pan),
            fluid: prepared.fluid,
            drive: &driven.pan,
            probes: &prepared.design.probes,
            tank: None,
            settings: slosh::Settings::default(),
            runs: folders.runs.clone(),
            stop: stop.clone(),
        };
        let plan = {
            let cases = Cases::on(prepared, driven, &first);
            let moments = picked(&cases, arguments)?;
            let wish = Wish {
                prepared,
                computing: &arguments.computing,
                what: "the worst moments",
                tasks: &tasks(&cases, &moments),
                later: (later(arguments), "oil aloft and the lowest fill"),
                load,
            };
            wish.plan(&bench, &first)?
        };
        clock.lap("estimate");

        let bench = bench.on(&plan.gridded.lattice);
        let cases = Cases::on(prepared, driven, &plan.gridded);
        let moments = picked(&cases, arguments)?;
        let top_speed = driven.car.engine_speed.iter().copied().fold(0.0, f64::max);
        let rest = crate::findings::rest_maps(prepared, &plan.gridded, top_speed, 0.0)?;
        clock.lap("oil at rest");
        let tasks = tasks(&cases, &moments);
        tell_pictured(&bench, &moments, &tasks);
        let computed = bench.compute("worst moments", &tasks)?;
        let windows: Vec<(f64, f64)> = moments.iter().map(|m| (m.start, m.end)).collect();
        let studies = refine::studies(&bench, &plan.coarser, &tasks, &windows, &computed)?;
        let bands: Vec<Option<Bands>> = studies.iter().map(|s| s.as_ref().map(GridStudy::bands)).collect();
        let verdict = cases.judge(
            &moments.iter().collect::<Vec<_>>(),
            &computed.iter().collect::<Vec<_>>(),
            &bands,
        );
        clock.lap("worst moments");
        let (mut allowances, mut lowest_fill) = (Vec::new(), None);
        if let Some(worst) = verdict
            .moments
            .first()
            .filter(|_| !arguments.brief && !arguments.whole)
        {
            let (moment, bands) = (&moments[worst.index], bands[worst.index]);
            allowances = cases.other_allowances(&|what, tasks| bench.compute(what, tasks), moment, bands)?;
            clock.lap("oil aloft low and high");
            let stated = cases.judge(&[moment], &[&computed[worst.index]], &[bands]);
            lowest_fill =
                Some(cases.lowest_fill(&|what, tasks| bench.compute(what, tasks), moment, &stated, bands)?);
            clock.lap("lowest fill");
        }
        let computation = Computation {
            depth: Depth::Slosh,
            cases: &cases,
            moments: &moments,
            computed: &computed,
            studies: &studies,
            verdict: &verdict,
            allowances: &allowances,
            lowest_fill: lowest_fill.as_ref(),
            rest: &rest,
            clearance: clearance.clone(),
            feed: feed.clone(),
            seal: sealed.clone(),
            cards: cards.clone(),
            timings: clock.timings.clone(),
            file: common.design.display().to_string(),
        };
        let findings = crate::findings::findings(&computation)?;
        let replay = crate::findings::replay(&computation)?;
        let page = report::page::page(&findings, &replay, prepared.design.units)
            .map_err(|fault| Failure::computing(fault.to_string(), ""))?;
        atomic::write(&folders.out.join("report.html"), page.as_bytes())?;
        let head = Head {
            name: &prepared.design.name,
            notes: &prepared.design.notes,
            cell: plan.gridded.lattice.cell,
        };
        let records: Vec<_> = (moments.iter().zip(&computed))
            .map(|(moment, computed)| (moment.name.as_str(), &computed.record))
            .collect();
        let probes = probe_table::write_moments(&folders.out, &head, &records)?;
        Ok((findings, probes))
    })?;
    let json = report::to_json(&findings).map_err(|fault| Failure::computing(fault.to_string(), ""))?;
    atomic::write(&folders.out.join("result.json"), json.as_bytes())?;
    Ok((findings, probes))
}

/// Tells who watches which folder each moment is computed in.
fn tell_pictured(bench: &Bench, moments: &[Moment], tasks: &[Task]) {
    if overseer::watches() {
        let pictured = moments.iter().zip(tasks).map(|(moment, task)| Pictured {
            name: moment.name.clone(),
            run: bench.folder(task),
        });
        overseer::tell(&Told::Moments(pictured.collect()));
    }
}

/// The moments to compute.
fn picked(cases: &Cases, arguments: &Check) -> Result<Vec<Moment>, Failure> {
    if arguments.whole {
        Ok(vec![cases.whole_drive()])
    } else {
        cases.worst_moments(usize::from(arguments.moments))
    }
}

fn tasks(cases: &Cases, moments: &[Moment]) -> Vec<Task> {
    let fill = cases.prepared.design.fill;
    moments
        .iter()
        .map(|m| cases.task(m, Allowance::Mid, fill, true))
        .collect()
}

/// What comes after the worst moments.
fn later(arguments: &Check) -> Later {
    let none = arguments.brief || arguments.whole;
    Later {
        pairs: if none { 0 } else { LATER_PAIRS },
    }
}

/// What a check holds in memory at once.
fn load(arguments: &Check, driven: &Driven, threads: usize) -> Load {
    let moments = if arguments.whole {
        1
    } else {
        usize::from(arguments.moments)
    };
    let others = if arguments.whole || arguments.brief { 1 } else { 2 };
    let seconds = if arguments.whole {
        driven.pan.end() - driven.pan.start()
    } else {
        moments as f64 * (WINDOW.0 + WINDOW.1)
    };
    Load {
        runs: threads.min(moments.max(others)),
        frames: frames_in(seconds),
    }
}

/// Wall time of the steps.
struct Clock {
    last: Instant,
    timings: Vec<Timing>,
}

impl Default for Clock {
    fn default() -> Clock {
        Clock {
            last: Instant::now(),
            timings: Vec::new(),
        }
    }
}

impl Clock {
    fn lap(&mut self, step: &str) {
        let seconds = self.last.elapsed().as_secs_f64();
        self.timings.push(Timing {
            step: step.to_string(),
            seconds,
        });
        self.last = Instant::now();
    }
}
