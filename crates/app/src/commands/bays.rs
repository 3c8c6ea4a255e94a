//! `sumpwright bays`: the whole drive in seconds, by the oil between the spaces of the pan.

mod race;

use super::{Folders, MAKE_BUNDLE, NO_BUNDLE, Workers, options};
use crate::cases::{Cases, Computes};
use crate::clearances;
use crate::cli::{Against, Bays};
use crate::failure::Failure;
use crate::feeds;
use crate::findings::{self, Computation};
use crate::preparation::{Driven, Gridded, Prepared};
use crate::runner::{Bench, Computed, Shown};
use crate::seals;
use crate::shop;
use crate::sizes::Load;
use crate::sketch::{self, BLIND, Sketch};
use crate::stop::Stop;
use crate::store::atomic;
use crate::terminal;
use bays::Network;
use job::Design;
use measure::{Dimension, show};
use pickup::CoverHistory;
use pickup::allowance::Allowance;
use pickup::verdict::Verdict;
use report::drawing::svg;
use report::findings::Depth;
use report::pictures::spaces::Joined;
use report::pictures::{self, Look};
use serde::Serialize;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Instant;
use still::Moment;

/// Runs it.
pub fn run(arguments: &Bays) -> Result<ExitCode, Failure> {
    options::target(
        arguments.picture.as_deref(),
        "--picture",
        "svg",
        &arguments.common.design,
    )?;
    if arguments.report && !report::page::has_bundle() {
        return Err(Failure::computing(NO_BUNDLE, MAKE_BUNDLE));
    }
    let prepared = Prepared::read(&arguments.common)?;
    let driven = prepared.drive(&arguments.common)?;
    let gridded = prepared.grid(prepared.size(None)?)?;
    let network = Sketch::network(&prepared, &gridded.lattice)?;
    let cases = Cases {
        band: sketch::BAND,
        ..Cases::on(&prepared, &driven, &gridded)
    };
    let sketch = Sketch {
        cases: &cases,
        network: &network,
    };
    if arguments.against.is_some() {
        return against(arguments, &sketch);
    }
    if let Some(path) = &arguments.picture {
        atomic::write(path, picture(&sketch)?.as_bytes())?;
        terminal::remark(&format!("picture: {}", path.display()));
    }
    if let Some(length) = &arguments.race {
        return race::race(arguments, &sketch, length);
    }
    let begun = Instant::now();
    let moment = cases.whole_drive();
    let task = cases.task(&moment, Allowance::Mid, prepared.design.fill, false);
    let computed = sketch.compute(std::slice::from_ref(&task))?;
    let seconds = begun.elapsed().as_secs_f64();
    let history = &computed[0].history;
    let verdict = cases.judge(&[&moment], &[&computed[0]], &[None]);
    if arguments.report {
        let path = write_report(arguments, &sketch, &moment, &computed, &verdict)?;
        terminal::remark(&format!("report: {}", path.display()));
    }
    if arguments.common.json {
        let object = serde_json::json!({
            "word": verdict.word, "sentence": verdict.sentence, "blind": BLIND,
            "spaces": network.bays.iter().map(|bay| &bay.name).collect::<Vec<_>>(),
            "history": history,
        });
        terminal::say(&format!(
            "{}\n",
            serde_json::to_string_pretty(&object).expect("plain data")
        ));
        return Ok(ExitCode::SUCCESS);
    }
    let units = prepared.design.units;
    let (least, at) = history
        .least_cover(moment.start, moment.end)
        .expect("a run has rows");
    let bare = history.bare_in(moment.start, moment.end);
    let mut text = format!("{}\n{}", prepared.design.name, spaces(&network, units));
    text += &terminal::table(&[
        (
            "least cover",
            format!(
                "{} at {at:.2} s, {}",
                show(least, Dimension::Length, units),
                cases.place(at)
            ),
        ),
        (
            "mouth bare for",
            format!("{bare:.2} s of {:.1} s", moment.end - moment.start),
        ),
        ("computed in", format!("{seconds:.2} s")),
    ]);
    text += &format!("\n{}: {}\n  {BLIND}\n", verdict.word.said(), verdict.sentence);
    terminal::say(&text);
    Ok(ExitCode::SUCCESS)
}

/// Writes the page and its object, with other allowances and the lowest fill sketched too.
fn write_report(
    arguments: &Bays,
    sketch: &Sketch,
    moment: &Moment,
    computed: &[Computed],
    verdict: &Verdict,
) -> Result<PathBuf, Failure> {
    let cases = sketch.cases;
    let prepared = cases.prepared;
    let folders = Folders::make(&arguments.common.design, arguments.out.as_deref())?;
    let top_speed = cases.driven.car.engine_speed.iter().copied().fold(0.0, f64::max);
    let rest = findings::rest_maps(prepared, cases.gridded, top_speed, 0.0)?;
    let compute: Computes = &|_, tasks| sketch.compute(tasks);
    let allowances = cases.other_allowances(compute, moment, None)?;
    let lowest_fill = cases.lowest_fill(compute, moment, verdict, None)?;
    let sealed = seals::look(&prepared.design)?;
    let computation = Computation {
        depth: Depth::Bays,
        cases,
        moments: std::slice::from_ref(moment),
        computed,
        studies: &[None],
        verdict,
        allowances: &allowances,
        lowest_fill: Some(&lowest_fill),
        rest: &rest,
        clearance: clearances::look(&prepared.design).map(|looked| looked.facts),
        feed: feeds::look(&prepared.design, cases.driven)?,
        cards: shop::cards::told(&prepared.design, sealed.as_ref())?,
        seal: sealed,
        timings: Vec::new(),
        file: arguments.common.design.display().to_string(),
    };
    let findings = findings::findings(&computation)?;
    let replay = findings::replay(&computation)?;
    let failed = |fault: String| Failure::computing(fault, "");
    let page =
        report::page::page(&findings, &replay, prepared.design.units).map_err(|f| failed(f.to_string()))?;
    let json = report::to_json(&findings).map_err(|f| failed(f.to_string()))?;
    let path = folders.out.join("bays.html");
    atomic::write(&path, page.as_bytes())?;
    atomic::write(&folders.out.join("bays.json"), json.as_bytes())?;
    Ok(path)
}

/// The spaces and what joins them, drawn.
fn picture(sketch: &Sketch) -> Result<String, Failure> {
    let (network, cases) = (sketch.network, sketch.cases);
    let joined: Vec<Joined> = (network.ports.iter())
        .map(|port| Joined {
            between: port.between,
            area: port.patches.iter().map(|patch| patch.area).sum(),
        })
        .collect();
    let design = &cases.prepared.design;
    let look = Look::wide(design.units);
    let drawing = pictures::spaces::spaces(&design.pan, &cases.gridded.lattice, &joined, &look)
        .map_err(|fault| Failure::computing(fault.to_string(), "keep the design and report it"))?
        .ok_or_else(|| Failure::computing("there is nothing to draw", ""))?;
    Ok(svg::file(&drawing))
}

/// The spaces and what joins them.
fn spaces(network: &Network, units: measure::UnitOrder) -> String {
    let mut rows = Vec::new();
    for (n, bay) in network.bays.iter().enumerate() {
        let joined: Vec<String> = (network.ports.iter())
            .filter(|port| port.between.contains(&n))
            .map(|port| {
                let other = port.between[usize::from(port.between[0] == n)];
                let area = network.area_between(n, other);
                format!(
                    "{} ({})",
                    network.bays[other].name,
                    show(area, Dimension::Area, units)
                )
            })
            .collect();
        let mouth = if bay.has_mouth { "mouth" } else { "" };
        rows.push(vec![
            bay.name.clone(),
            show(bay.levels.volume, Dimension::Volume, units),
            mouth.into(),
            if joined.is_empty() {
                String::new()
            } else {
                format!("open to {}", joined.join(", "))
            },
        ]);
    }
    terminal::columns(&rows)
}

/// How a moment came out by both.
#[derive(Serialize)]
struct Compared {
    moment: String,
    /// Least cover that lasts as long as the longest gulp allowed [m], by bays and by slosh; none in a moment that is shorter.
    least_cover: [Option<f64>; 2],
    /// Time that the mouth was bare [s].
    bare: [f64; 2],
    /// Air drawn [m³].
    air: [f64; 2],
    /// Root mean square of the difference of all spaces' oil, as a share of the fill.
    apart: f64,
}

/// Both on the worst moments.
fn against(arguments: &Bays, sketch: &Sketch) -> Result<ExitCode, Failure> {
    let cases = sketch.cases;
    let Against::Slosh = arguments.against.expect("asked for");
    let (prepared, driven, gridded): (&Prepared, &Driven, &Gridded) =
        (cases.prepared, cases.driven, cases.gridded);
    let moments = cases.worst_moments(usize::from(arguments.moments))?;
    let design = &prepared.design;
    let load = Load {
        runs: moments.len(),
        frames: 0,
    };
    prepared.check_memory(gridded.lattice.cell, load)?;
    let folders = Folders::make(&arguments.common.design, arguments.out.as_deref())?;
    let bench = Bench {
        lattice: &gridded.lattice,
        doors: &design.pan.doors,
        shown: Shown::Pan(&design.name, &design.pan),
        fluid: prepared.fluid,
        drive: &driven.pan,
        probes: &[],
        tank: None,
        settings: slosh::Settings::default(),
        runs: folders.runs.clone(),
        stop: Stop::listen(),
    };
    let tasks: Vec<_> = moments
        .iter()
        .map(|m| cases.task(m, Allowance::Mid, design.fill, false))
        .collect();
    let workers = Workers::new(arguments.threads)?;
    let computed = workers.run(|| bench.compute("slosh", &tasks))?;
    let sketched = sketch.compute(&tasks)?;
    let rows: Vec<Compared> = (moments.iter().zip(&sketched).zip(&computed))
        .map(|((moment, bays), slosh)| compared(moment, &bays.history, &slosh.history, design))
        .collect();
    if arguments.common.json {
        let object = serde_json::json!({ "against": "slosh", "blind": BLIND, "moments": rows });
        terminal::say(&format!(
            "{}\n",
            serde_json::to_string_pretty(&object).expect("plain data")
        ));
        return Ok(ExitCode::SUCCESS);
    }
    let length = |v: f64| show(v, Dimension::Length, design.units);
    let mut table = vec![
        [
            "moment",
            "least cover: bays",
            "slosh",
            "bare: bays",
            "slosh",
            "spaces apart",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    for row in &rows {
        table.push(vec![
            row.moment.clone(),
            row.least_cover[0].map_or("-".into(), length),
            row.least_cover[1].map_or("-".into(), length),
            format!("{:.2} s", row.bare[0]),
            format!("{:.2} s", row.bare[1]),
            format!("{:.1} % of the fill", 100.0 * row.apart),
        ]);
    }
    terminal::say(&format!(
        "{}\n{}  {BLIND}\n",
        design.name,
        terminal::columns(&table)
    ));
    Ok(ExitCode::SUCCESS)
}

fn compared(moment: &Moment, bays: &CoverHistory, slosh: &CoverHistory, design: &Design) -> Compared {
    let (from, to) = (moment.start, moment.end);
    let both = |take: &dyn Fn(&CoverHistory) -> f64| [take(bays), take(slosh)];
    let rows = bays.time.len().min(slosh.time.len());
    let (mut sum, mut count) = (0.0, 0usize);
    for n in (0..rows).filter(|n| bays.time[*n] >= from) {
        for (a, b) in bays.spaces[n].iter().zip(&slosh.spaces[n]) {
            sum += (a - b) * (a - b);
            count += 1;
        }
    }
    Compared {
        moment: moment.name.clone(),
        least_cover: [bays, slosh].map(|h| h.least_lasting_cover(from, to, design.limits.longest_gulp)),
        bare: both(&|h| h.bare_in(from, to)),
        air: both(&|h| h.air_in(from, to)),
        apart: (sum / count.max(1) as f64).sqrt() / design.fill,
    }
}
