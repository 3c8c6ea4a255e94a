//! The `sumpwright` program: commands, runs on disk, progress. Knows no physics.
//!
//! Exit codes: 0 computed · 1 computed and the verdict is against the pan (only with `--gate`) · 2 the input
//! is wrong · 3 it could not be computed (stopped, disk full, a fault of the program).

mod cases;
mod clearances;
mod cli;
mod commands;
mod export;
mod failure;
mod feeds;
mod findings;
mod forecast;
mod open;
mod overseer;
mod place;
mod planning;
mod preparation;
mod probe_table;
mod progress;
mod refine;
mod runner;
mod seals;
mod shop;
mod sizes;
mod sketch;
mod stop;
mod store;
mod study;
mod terminal;

use clap::Parser;
use cli::{Cli, Command};
use std::process::ExitCode;

fn main() -> ExitCode {
    let cli = Cli::parse();
    overseer::begin();
    let done = match &cli.command {
        Command::New(arguments) => commands::new::run(arguments),
        Command::Check(arguments) => commands::check::run(arguments),
        Command::Open(arguments) => commands::open::run(arguments),
        Command::Drive(arguments) => commands::drive::run(arguments),
        Command::Outline(arguments) => commands::outline::run(arguments),
        Command::Explain(arguments) => commands::explain::run(arguments),
        Command::Diff(arguments) => commands::diff::run(arguments),
        Command::Solid(arguments) => commands::solid::run(arguments),
        Command::Still(arguments) => commands::still::run(arguments),
        Command::Clearance(arguments) => commands::clearance::run(arguments),
        Command::Feed(arguments) => commands::feed::run(arguments),
        Command::Seal(arguments) => commands::seal::run(arguments),
        Command::Shop(arguments) => commands::shop::run(arguments),
        Command::Bays(arguments) => commands::bays::run(arguments),
        Command::Study(arguments) => commands::study::run(arguments),
        Command::Slosh(arguments) => commands::slosh::run(arguments),
        Command::Export(arguments) => commands::export::run(arguments),
    };
    match done {
        Ok(code) => code,
        Err(failure) => {
            if !overseer::tell_failure(&failure) {
                failure.show();
            }
            failure.exit_code()
        }
    }
}
