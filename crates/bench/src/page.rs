//! The page: docs/benchmarks.md.

use crate::all::Found;
use crate::logs::Reader;
use crate::machine;
use crate::roofline::{Roofline, estimate};
use crate::timed::Timed;
use slosh::Phase;
use std::fmt::Write;

const HEAD: &str = "# How fast the solver is

Written by `cargo xtask bench`; do not edit by hand. One run on one machine; every ratio is between figures of \
this same run. Wall time suffers when the machine has other work; processor time less so.

";

/// The page's text.
pub fn text(found: &Found) -> String {
    let mut page = String::from(HEAD);
    let _ = writeln!(
        page,
        "Machine: {}, {}. Date: {}. {}\n",
        machine::name(),
        machine::vectors(),
        machine::date(),
        quiet(found.load)
    );
    reference(&mut page, found);
    phases(&mut page, &found.reference[0]);
    roofline(&mut page, found);
    ratios(&mut page, found);
    demo(&mut page, found);
    bays(&mut page, found);
    logs(&mut page, found);
    peers(&mut page, found);
    page.trim_end().to_string() + "\n"
}

/// Whether the machine was quiet when the run began.
fn quiet(load: Option<f64>) -> String {
    match load {
        None => "Whether it had other work is not known.".into(),
        Some(load) if load < 0.5 => "It had no other work.".into(),
        Some(load) => format!(
            "**It had other work**: {load:.1} programs wanted a processor when this began. Wall times, speed-up and \
             roofline are then worth little; processor times and ratios of them still say something."
        ),
    }
}

fn reference(page: &mut String, found: &Found) {
    let [one, two] = &found.reference;
    let _ = writeln!(
        page,
        "## The reference work\n\nA box of 300 x 200 x 150 mm with 4.5 L of oil (850 kg/m³, 12 mm²/s) in cells of 5 mm; \
         gravity and 1 g along x for a second, then along y. Computed here: {:.2} s of it.\n",
        one.simulated
    );
    let _ = writeln!(page, "| | 1 thread | {} threads |\n|---|---|---|", two.threads);
    let mut row = |what: &str, value: &dyn Fn(&Timed) -> String| {
        let _ = writeln!(page, "| {what} | {} | {} |", value(one), value(two));
    };
    row("wall, s a simulated second", &|t| format!("{:.2}", t.wall_rate()));
    row("processor, s a simulated second", &|t| {
        optional(t.cpu_rate(), |v| format!("{v:.2}"))
    });
    row("steps", &|t| t.steps.to_string());
    row("steps a second", &|t| format!("{:.0}", t.steps as f64 / t.wall));
    row("liquid cells, mean", &|t| format!("{:.0}", t.mean_cells()));
    row("million cell updates a second", &|t| {
        format!("{:.2}", t.cell_steps as f64 / t.wall / 1e6)
    });
    row("pressure iterations a step (most)", &|t| {
        format!("{:.2} ({})", t.mean_iterations(), t.iterations.1)
    });
    row("peak memory, MB", &|t| {
        optional(t.peak_memory, |b| format!("{:.0}", b as f64 / 1e6))
    });
    row("volume error", &|t| format!("{:.0e}", t.volume_error));
    let _ = writeln!(
        page,
        "\nOne thread and {} agree to the bit; the speed-up is {:.2}.\n",
        two.threads,
        one.wall / two.wall
    );
}

fn phases(page: &mut String, one: &Timed) {
    let all: f64 = one.phases.iter().sum();
    let _ = writeln!(
        page,
        "Share of each phase, one thread:\n\n| phase | share | ms a step |\n|---|---|---|"
    );
    for phase in Phase::ALL {
        let time = one.phases[phase as usize];
        let _ = writeln!(
            page,
            "| {} | {:.1} % | {:.3} |",
            phase.name(),
            100.0 * time / all,
            1e3 * time / one.steps as f64
        );
    }
    page.push('\n');
}

fn roofline(page: &mut String, found: &Found) {
    let _ = writeln!(
        page,
        "## Against the machine\n\nBandwidth by a triad, arithmetic by chains of multiply and add, both measured here. \
         What the work moves and computes is an estimate (`crates/bench/src/roofline.rs` says how it counts); the \
         least time is what the machine would need for that much.\n\n| | 1 thread | {} threads |\n|---|---|---|",
        found.roofs[1].threads
    );
    let mut row = |what: &str, value: &dyn Fn(&Roofline, &Timed) -> f64| {
        let v = [0, 1].map(|i| value(&found.roofs[i], &found.reference[i]));
        let _ = writeln!(page, "| {what} | {:.1} | {:.1} |", v[0], v[1]);
    };
    row("caches, GB/s", &|r, _| r.cache / 1e9);
    row("memory, GB/s", &|r, _| r.memory / 1e9);
    row("arithmetic, GFlop/s", &|r, _| r.arithmetic / 1e9);
    row("the work moves, GB/s", &|_, t| estimate(t).bytes / t.wall / 1e9);
    row("the work computes, GFlop/s", &|_, t| {
        estimate(t).operations / t.wall / 1e9
    });
    row("of the roofline with the data in the caches, %", &|r, t| {
        100.0 * r.least_time(&estimate(t), true) / t.wall
    });
    row("of the roofline with the data in memory, %", &|r, t| {
        100.0 * r.least_time(&estimate(t), false) / t.wall
    });
    page.push('\n');
}

fn ratios(page: &mut String, found: &Found) {
    let [low, tall] = &found.tall;
    let [coarse, middle, fine] = &found.refined;
    let _ = writeln!(
        page,
        "## How the work grows\n\nA box twice as tall with the same oil, first {:.2} s: {:.2} times the cost.\n\n\
         Halved cells, first {:.1} s of the reference work, one thread:\n\n\
         | cell | steps | cost against the coarser | iterations a step (most) |\n|---|---|---|---|",
        low.simulated,
        cost(tall) / cost(low),
        middle.simulated
    );
    let mut row = |name: &str, t: &Timed, ratio: Option<f64>| {
        let _ = writeln!(
            page,
            "| {name} | {} | {} | {:.2} ({}) |",
            t.steps,
            ratio.map_or("-".into(), |r| format!("{r:.1} times")),
            t.mean_iterations(),
            t.iterations.1
        );
    };
    row("10 mm", coarse, None);
    row("5 mm", middle, Some(cost(middle) / cost(coarse)));
    row("2.5 mm", fine, Some(cost(fine) / cost(middle)));
    page.push('\n');
}

fn demo(page: &mut String, found: &Found) {
    let d = &found.demo;
    let _ = writeln!(
        page,
        "## The worked example\n\n`examples/heath-lane/second.toml` in cells of {:.0} mm ({} cells, {} open), {} threads, \
         {:.2} s of its lap from {:.0} s on: {:.2} s of wall time a simulated second, {} steps a simulated second, peak \
         memory {} MB.\n",
        1e3 * d.cell,
        d.cells.0,
        d.cells.1,
        d.threads,
        d.simulated,
        d.stretch.0,
        d.wall / d.simulated,
        (d.steps as f64 / d.simulated).round(),
        optional(d.peak_memory, |b| format!("{:.0}", b as f64 / 1e6))
    );
}

fn bays(page: &mut String, found: &Found) {
    let s = &found.sketch;
    let _ = writeln!(
        page,
        "## Bays\n\nAn invented pan of {} spaces, {} openings in {} patches and {} doors, one thread: {:.0} ms for the lattice, \
         {:.0} ms to cut it, **{:.0} ms for a lap of two minutes** logged at 100 Hz (least of five), **{:.2} s for two hours** of it; \
         peak memory {} MB.\n",
        s.spaces,
        s.openings.0,
        s.openings.1,
        s.doors,
        1e3 * s.lattice,
        1e3 * s.cut,
        1e3 * s.lap,
        s.race,
        optional(s.peak_memory, |b| format!("{:.0}", b as f64 / 1e6))
    );
    let _ = match &found.study {
        Ok(study) => writeln!(
            page,
            "`sumpwright study` over the worked example's logged lap, oil, mouth and a wall varied, the pan cut anew for each of {} \
             cases, {} threads: **{:.0} s**, start-up and tables included.\n",
            study.cases, study.threads, study.wall
        ),
        Err(why) => writeln!(page, "A study of a thousand designs was left out: {why}.\n"),
    };
}

fn peers(page: &mut String, found: &Found) {
    if found.peers.is_empty() {
        return;
    }
    let _ = writeln!(
        page,
        "## Beside general libraries\n\nThe same oil in the same box over the first stretch of the reference work, one \
         thread each, processor seconds for a simulated second. They are general tools and do more than move oil in a \
         pan; ours does only that. A stretch this short is scaled up openly: later the oil is faster and the schemes \
         whose step follows it, ours among them, need more. Accuracy is not compared here.\n\n\
         | library | stretch | steps | points | its cost | ours, same stretch | ratio |\n|---|---|---|---|---|---|---|"
    );
    for (peer, theirs, ours) in &found.peers {
        let own = cost(ours) / ours.simulated;
        let _ = match theirs {
            Ok(t) => writeln!(
                page,
                "| {} | {:.3} s | {} | {} | {:.0} | {own:.1} | {:.0} |",
                peer.name,
                t.simulated,
                t.steps,
                t.points,
                t.rate(),
                t.rate() / own
            ),
            Err(why) => writeln!(
                page,
                "| {} | {:.3} s | left out: {why} | | | {own:.1} | |",
                peer.name, peer.seconds
            ),
        };
    }
    page.push('\n');
    for (peer, _, _) in &found.peers {
        let _ = writeln!(page, "- {}: {}.", peer.name, peer.said);
    }
}

fn logs(page: &mut String, found: &Found) {
    let Some((_, first)) = found.logs.first() else {
        return;
    };
    let _ = writeln!(
        page,
        "## Reading a log\n\nA log of {:.0} MB ({} rows of sixteen columns under a preamble and a units row), each reader in a \
         process of its own. The libraries are handed the file past its preamble; they split cells, and parse them with the \
         standard library. All that give numbers give the same. MB a second of processor time.\n\n\
         | reader | MB/s | wall, s | peak memory, MB |\n|---|---|---|---|",
        first.bytes as f64 / 1e6,
        first.rows
    );
    for (reader, done) in &found.logs {
        let memory = optional(done.peak_memory, |bytes| format!("{:.0}", bytes as f64 / 1e6));
        let _ = writeln!(
            page,
            "| {} | {:.0} | {:.2} | {memory} |",
            reader.words(),
            done.rate(),
            done.wall
        );
    }
    let rate = |of: Reader| {
        found
            .logs
            .iter()
            .find(|(r, _)| *r == of)
            .map_or(f64::NAN, |(_, d)| d.rate())
    };
    let fastest = rate(Reader::CsvNumbers).max(rate(Reader::SimdNumbers));
    let _ = writeln!(
        page,
        "\nOurs reads numbers at {:.2} times the rate of the faster library.\n",
        rate(Reader::Table) / fastest
    );
}

/// Processor time, or wall time where the system does not say.
fn cost(t: &Timed) -> f64 {
    t.cpu.unwrap_or(t.wall)
}

fn optional<T>(value: Option<T>, show: impl Fn(T) -> String) -> String {
    value.map_or_else(|| "not measured on this system".into(), show)
}
