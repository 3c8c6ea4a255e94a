//! Times the slosh solver on works that are wholly described here, against what the machine could do.
//!
//! `bench w1 --threads 1 --seconds 0.5` does one work and prints what it cost.
#![allow(clippy::print_stdout, reason = "a chore talks to the person who runs it")]

mod machine;
mod roofline;
mod say;
mod timed;
mod works;

use clap::{Args, Parser, Subcommand};
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
    /// What this machine can do
    Machine(Threads),
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
        Work::Machine(threads) => {
            say::roofline(&roofline::measure(threads.threads)?);
            Ok(())
        }
    }
}

fn one(work: BoxWork, stretch: &Stretch) -> Result<(), String> {
    let work = work.with_cell(stretch.cell_mm * 1e-3);
    let timed = timed::time_box(&work, stretch.threads, stretch.seconds)?;
    if stretch.json {
        println!("{}", serde_json::to_string(&timed).map_err(|e| e.to_string())?);
    } else {
        say::timed(&work, &timed, &roofline::measure(stretch.threads)?);
    }
    Ok(())
}
