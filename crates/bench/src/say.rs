//! What was measured, as lines for a terminal.

use crate::demo::DemoTimed;
use crate::logs::{ReadLog, Reader};
use crate::long::LongRun;
use crate::machine;
use crate::roofline::{Roofline, estimate};
use crate::timed::Timed;
use crate::works::BoxWork;
use slosh::Phase;

/// A work's cost.
pub fn timed(work: &BoxWork, t: &Timed, roof: &Roofline) {
    let [x, y, z] = work.cells();
    let optional = |v: Option<String>| v.unwrap_or_else(|| "not measured on this system".into());
    println!(
        "machine            {}, {}, on {}",
        machine::name(),
        machine::vectors(),
        machine::date()
    );
    println!("cells              {x} x {y} x {z}, {:.0} liquid", t.mean_cells());
    println!("threads            {}", t.threads);
    println!("simulated          {:.3} s in {} steps", t.simulated, t.steps);
    println!("wall               {:.3} s a simulated second", t.wall_rate());
    println!(
        "processor          {}",
        optional(t.cpu_rate().map(|v| format!("{v:.3} s a simulated second")))
    );
    println!("steps              {:.1} /s", t.steps as f64 / t.wall);
    println!(
        "wall a step        {:.3} ms",
        1e3 * t.wall / t.steps.max(1) as f64
    );
    println!("cell updates       {:.3e} /s", t.cell_steps as f64 / t.wall);
    println!(
        "iterations         {:.2} a step, {} at most",
        t.mean_iterations(),
        t.iterations.1
    );
    println!(
        "transport          {:.3} sweeps a step",
        t.sweeps as f64 / t.steps.max(1) as f64
    );
    println!(
        "peak memory        {}",
        optional(t.peak_memory.map(|b| format!("{:.1} MB", b as f64 / 1e6)))
    );
    println!("volume error       {:.1e}", t.volume_error);
    println!("print              {:016x}", t.print);
    let work = estimate(t);
    println!(
        "moved, computed    {:.2} GB/s, {:.2} GFlop/s (estimate)",
        work.bytes / t.wall / 1e9,
        work.operations / t.wall / 1e9
    );
    println!(
        "of the roofline    {:.1} % from the caches, {:.1} % from memory (of {:.1} and {:.1} GB/s, {:.1} GFlop/s)",
        100.0 * roof.least_time(&work, true) / t.wall,
        100.0 * roof.least_time(&work, false) / t.wall,
        roof.cache / 1e9,
        roof.memory / 1e9,
        roof.arithmetic / 1e9
    );
    let all: f64 = t.phases.iter().sum();
    for phase in Phase::ALL {
        let time = t.phases[phase as usize];
        println!(
            "  {:17} {:5.1} %  {:.3} ms a step",
            phase.name(),
            100.0 * time / all,
            1e3 * time / t.steps.max(1) as f64
        );
    }
}

/// What the machine can do.
pub fn roofline(r: &Roofline) {
    println!("machine     {}, {}", machine::name(), machine::vectors());
    println!("threads     {}", r.threads);
    println!("caches      {:.1} GB/s (triad of 6 MB)", r.cache / 1e9);
    println!("memory      {:.1} GB/s (triad of 384 MB)", r.memory / 1e9);
    println!(
        "arithmetic  {:.1} GFlop/s (f64, multiply and add)",
        r.arithmetic / 1e9
    );
}

/// The demo's cost.
pub fn demo(d: &DemoTimed) {
    println!("machine        {}, {}", machine::name(), machine::vectors());
    println!(
        "cells          {} of {:.1} mm, {} open",
        d.cells.0,
        1e3 * d.cell,
        d.cells.1
    );
    println!("threads        {}", d.threads);
    println!(
        "simulated      {:.2} s from {} s, {} steps",
        d.simulated, d.stretch.0, d.steps
    );
    println!("wall           {:.3} s a simulated second", d.wall / d.simulated);
    if let Some(cpu) = d.cpu {
        println!("processor      {:.3} s a simulated second", cpu / d.simulated);
    }
    if let Some(bytes) = d.peak_memory {
        println!("peak memory    {:.1} MB", bytes as f64 / 1e6);
    }
}

/// The long run.
pub fn long(l: &LongRun) {
    println!("simulated      {} s in {} steps", l.simulated, l.steps);
    println!("volume error   {:.1e} of the fill at worst", l.volume_error);
    println!("fastest        {:.2} m/s", l.fastest);
    println!(
        "specks         {:.1e}, {:.1e}, {:.1e}, {:.1e} of the fill, by quarters of the run",
        l.specks[0], l.specks[1], l.specks[2], l.specks[3]
    );
    println!(
        "step           median {:.3} ms, least {:.3} ms; under a twentieth of the median for {:.4} s at most",
        1e3 * l.step.0,
        1e3 * l.step.1,
        l.short_for
    );
}

/// Readings of a log.
pub fn logs(found: &[(Reader, ReadLog)]) {
    println!(
        "{:<54} {:>8} {:>9} {:>9} {:>10}",
        "reader", "MB/s", "wall s", "rows", "memory MB"
    );
    for (reader, done) in found {
        let memory = done
            .peak_memory
            .map_or("-".into(), |bytes| format!("{:.0}", bytes as f64 / 1e6));
        println!(
            "{:<54} {:>8.0} {:>9.2} {:>9} {:>10}",
            reader.words(),
            done.rate(),
            done.wall,
            done.rows,
            memory
        );
    }
    println!("MB/s by processor time");
}
