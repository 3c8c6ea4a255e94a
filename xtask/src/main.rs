//! Chores of the house: set-up, demo, tests, validation, and keeping ARCHITECTURE.md true.
//!
//! `cargo xtask demo` and `cargo xtask test` are all a newcomer needs; both do their own set-up.
//! Needs the Rust toolchain and Node 20; everything else is fetched by cargo and npm.
#![allow(clippy::print_stdout, reason = "a chore talks to the person who runs it")]

mod demo;
mod paper;
mod setup;
mod shell;
mod suites;
mod test;
mod tidy;

use std::process::ExitCode;

const HELP: &str = "\
cargo xtask CHORE

  setup      npm packages and the page's build (the others do it themselves)
  demo       build everything, run the main job on the worked example, say where the report is
  test       everything that CI runs: format, tidy, page tests, lints and tests, paper, browser test
  tidy       compare ARCHITECTURE.md with the workspace
  bench      time the solver and general libraries, and write docs/benchmarks.md (some minutes);
             `bench w1 --threads 2 --seconds 0.5` times one work, `bench --help` lists them
  validate   compute the published cases in full and write docs/validation.md (some minutes)
";

fn main() -> ExitCode {
    let chore = std::env::args().nth(1).unwrap_or_default();
    let done = match chore.as_str() {
        "setup" => setup::web(),
        "demo" => demo::run(),
        "test" => test::run(),
        "tidy" => tidy::run(),
        "bench" => bench(),
        "validate" => validate(),
        "" | "help" | "--help" | "-h" => {
            print!("{HELP}");
            Ok(())
        }
        other => Err(format!("there is no chore `{other}`\n\n{HELP}")),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("xtask: {why}");
            ExitCode::FAILURE
        }
    }
}

fn bench() -> Result<(), String> {
    let mut more: Vec<String> = std::env::args().skip(2).collect();
    if more.is_empty() {
        more.push("all".into());
    }
    // The study is timed by the program itself.
    shell::cargo(&["build", "--release", "--package", "sumpwright"])?;
    let mut arguments = vec!["run", "--release", "--package", "sumpwright-bench", "--"];
    arguments.extend(more.iter().map(String::as_str));
    shell::cargo(&arguments)
}

fn validate() -> Result<(), String> {
    shell::cargo(&[
        "run",
        "--release",
        "--package",
        "sumpwright-validate",
        "--",
        "docs/validation.md",
    ])
}
