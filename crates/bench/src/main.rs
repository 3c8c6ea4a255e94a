//! Times the slosh solver on works that are wholly described here, against what the machine could do and against
//! general libraries on the same work.
//!
//! `bench w1 --threads 1 --seconds 0.5` does one work and prints what it cost; `bench all` does all of them and
//! writes docs/benchmarks.md.
#![allow(clippy::print_stdout, reason = "a chore talks to the person who runs it")]

mod all;
mod demo;
mod logs;
mod long;
mod machine;
mod page;
mod peers;
mod roofline;
mod say;
mod sketch;
mod solids;
mod study;
mod timed;
mod works;

use clap::{Args, Parser, Subcommand};
use serde::Serialize;
use std::path::PathBuf;
use std::process::ExitCode;
use works::BoxWork;

/// Times the solver.
#[derive(Parser)]
struct Cli {
    #[command(subcommand)]
    work: Work,
}

#[derive(Subcommand)]
enum Work {
    /// Reference work W1: box 300 x 200 x 150 mm, 4.5 L, 1 g along x for 1 s then along y for 1 s
    W1(Stretch),
    /// W1 in a box twice as tall
    Tall(Stretch),
    /// The worked example over a stretch of its lap
    Demo(DemoStretch),
    /// A walled box under 2 g, reversed at 1 Hz; fails when something creeps in
    Long(LongStretch),
    /// What this machine can do
    Machine(Threads),
    /// A large mesh file read as a checked solid
    Solid(SolidFile),
    /// A long log read by ours and by general CSV libraries
    Logs(LogsWork),
    /// Bays: a two-minute lap in a pan of eight spaces, and two hours of it
    Bays,
    /// A study of a thousand designs over a lap, by the program built beside this one
    Study(Threads),
    /// All works but the mesh file, and the peers; writes the page
    All(Page),
}

#[derive(Args)]
struct Threads {
    /// Threads
    #[arg(long, default_value_t = 1)]
    threads: usize,
}

#[derive(Args)]
struct Stretch {
    /// Threads
    #[arg(long, default_value_t = 1)]
    threads: usize,
    /// Simulated seconds
    #[arg(long, default_value_t = 2.0)]
    seconds: f64,
    /// Cell in millimetres
    #[arg(long, default_value_t = 5.0)]
    cell_mm: f64,
    /// Print one line of JSON
    #[arg(long)]
    json: bool,
}

#[derive(Args)]
struct DemoStretch {
    #[command(flatten)]
    stretch: Stretch,
    /// Start on the lap's clock [s]
    #[arg(long, default_value_t = 20.0)]
    from: f64,
    /// Stop early after so much wall time [s]
    #[arg(long, default_value_t = f64::INFINITY)]
    patience: f64,
}

#[derive(Args)]
struct LongStretch {
    #[command(flatten)]
    stretch: Stretch,
    /// Keep the run's state in this file, and go on from it
    #[arg(long, value_name = "FILE")]
    keep: Option<PathBuf>,
}

#[derive(Args)]
struct SolidFile {
    /// Facets
    #[arg(long, default_value_t = 5_000_000)]
    facets: usize,
    /// Format
    #[arg(long, value_enum, default_value_t = solids::Format::Binary)]
    format: solids::Format,
    /// Find the oil side of the part too
    #[arg(long)]
    part: bool,
    /// Read this file and make none
    #[arg(long)]
    read: Option<PathBuf>,
}

#[derive(Args)]
struct LogsWork {
    /// Size of the log
    #[arg(long, default_value_t = 200)]
    megabytes: u64,
    /// One reader only; by default all, each in a process of its own
    #[arg(long)]
    reader: Option<logs::Reader>,
    /// Print one line of JSON for each
    #[arg(long)]
    json: bool,
}

#[derive(Args)]
struct Page {
    /// The page to write
    #[arg(default_value = "docs/benchmarks.md")]
    page: PathBuf,
    /// Simulated seconds of the reference work, of its two
    #[arg(long, default_value_t = 2.0)]
    seconds: f64,
    /// Leave the peers out
    #[arg(long)]
    no_peers: bool,
}

fn main() -> ExitCode {
    match run(&Cli::parse().work) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("bench: {why}");
            ExitCode::FAILURE
        }
    }
}

fn run(work: &Work) -> Result<(), String> {
    match work {
        Work::W1(stretch) => one(BoxWork::reference(), stretch),
        Work::Tall(stretch) => one(BoxWork::reference().tall(), stretch),
        Work::Demo(d) => {
            let s = &d.stretch;
            let cell = s.cell_mm * 1e-3;
            let timed = demo::time_demo(cell, s.threads, d.from, s.seconds, d.patience)?;
            if s.json {
                return json(&timed);
            }
            say::demo(&timed);
            Ok(())
        }
        Work::Long(l) => {
            let s = &l.stretch;
            let done = long::run(
                s.cell_mm * 1e-3,
                s.threads,
                s.seconds,
                l.keep.as_deref(),
                |time| {
                    eprintln!("long: {time:.0} s of {} s", s.seconds);
                },
            )?;
            if s.json {
                json(&done)?;
            } else {
                say::long(&done);
            }
            let faults = done.faults();
            if faults.is_empty() {
                Ok(())
            } else {
                Err(faults.join("; "))
            }
        }
        Work::Machine(threads) => {
            say::roofline(&roofline::measure(threads.threads)?);
            Ok(())
        }
        Work::Solid(s) => match &s.read {
            Some(path) => solids::read(path, s.part),
            None => solids::run(s.facets, s.format, s.part),
        },
        Work::Logs(w) => {
            let Some(reader) = w.reader else {
                let found = all::logs(w.megabytes)?;
                if w.json {
                    return json(&found);
                }
                say::logs(&found);
                return Ok(());
            };
            let path = logs::place(all::target(), w.megabytes);
            logs::write(&path, w.megabytes * 1_000_000)?;
            let done = logs::read(&path, reader)?;
            if w.json {
                return json(&done);
            }
            say::logs(&[(reader, done)]);
            Ok(())
        }
        Work::Bays => json(&sketch::time()?),
        Work::Study(threads) => json(&study::time(threads.threads)?),
        Work::All(page) => {
            let found = all::run(page.seconds, !page.no_peers)?;
            let text = page::text(&found);
            std::fs::write(&page.page, text)
                .map_err(|why| format!("{} cannot be written: {why}", page.page.display()))?;
            println!("written: {}", page.page.display());
            Ok(())
        }
    }
}

fn one(work: BoxWork, stretch: &Stretch) -> Result<(), String> {
    let work = work.with_cell(stretch.cell_mm * 1e-3);
    let timed = timed::time_box(&work, stretch.threads, stretch.seconds)?;
    if stretch.json {
        return json(&timed);
    }
    say::timed(&work, &timed, &roofline::measure(stretch.threads)?);
    Ok(())
}

fn json(value: &impl Serialize) -> Result<(), String> {
    println!("{}", serde_json::to_string(value).map_err(|e| e.to_string())?);
    Ok(())
}
