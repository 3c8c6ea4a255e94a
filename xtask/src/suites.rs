//! Runs the test programs of the workspace, as many at a time as the machine has cores, the slowest first.
//!
//! `cargo test` runs one after the other, and a program with one long test leaves the other cores idle. What a program
//! prints is shown whole when it ends.

use crate::shell;
use serde_json::Value;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Puts the lints' driver in the compiler's place for the crates of the workspace.
const LINTING: (&str, &str) = ("RUSTC_WORKSPACE_WRAPPER", "clippy-driver");

/// Names of programs that take long, longest first (seen with two cores): they start first so that none is left at the end.
const LONG: [&str; 9] = [
    "app/studies",
    "app/opened",
    "job/reference",
    "drive/planted",
    "outline/scan",
    "app/reference",
    "validate/free_surface",
    "app/journeys",
    "app/kills",
];

/// Holds estimates of time against the time that passes, so nothing runs beside it.
const ALONE: &str = "app/planning";

/// A test program.
struct Suite {
    name: String,
    program: PathBuf,
    /// Where cargo would run it: the folder of its package.
    folder: PathBuf,
}

/// Builds and runs them all, then the examples in the documentation.
pub fn run() -> Result<(), String> {
    let mut suites = build()?;
    if suites.is_empty() {
        return Err("cargo built no test program".to_owned());
    }
    let rank = |suite: &Suite| LONG.iter().position(|l| suite.name == *l).unwrap_or(LONG.len());
    suites.sort_by_key(rank);
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let count = suites.len();
    println!("\n> {count} test programs, {cores} at a time");
    let failed = Mutex::new(Vec::new());
    let (alone, mut others): (Vec<Suite>, Vec<Suite>) = suites.into_iter().partition(|s| s.name == ALONE);
    for suite in alone {
        suite.judged(&failed);
    }
    others.reverse();
    let waiting = Mutex::new(others);
    let next = || waiting.lock().expect("no holder panics").pop();
    std::thread::scope(|scope| {
        for _ in 0..cores {
            scope.spawn(|| {
                while let Some(suite) = next() {
                    suite.judged(&failed);
                }
            });
        }
    });
    let failed = failed.into_inner().expect("no holder panics");
    if !failed.is_empty() {
        return Err(format!("tests failed in {}", failed.join(", ")));
    }
    let examples = ["test", "--workspace", "--doc", "--quiet"];
    shell::run_with(&shell::root(), "cargo", &examples, &[LINTING])
}

/// Prints how a suite ended, whole when it failed; true when it passed.
fn said(suite: &Suite, output: &std::io::Result<Output>, took: Duration) -> bool {
    let seconds = took.as_secs_f64();
    match output {
        Ok(output) if output.status.success() => {
            let text = String::from_utf8_lossy(&output.stdout);
            let result = text.lines().rev().find(|line| line.starts_with("test result"));
            println!(
                "{seconds:6.1} s  {}: {}",
                suite.name,
                result.unwrap_or("no tests")
            );
            true
        }
        Ok(output) => {
            println!(
                "{seconds:6.1} s  {} FAILED, {}\n{}{}",
                suite.name,
                output.status,
                String::from_utf8_lossy(&output.stdout),
                String::from_utf8_lossy(&output.stderr)
            );
            false
        }
        Err(why) => {
            println!("{} cannot be started: {why}", suite.name);
            false
        }
    }
}

impl Suite {
    /// Runs it, says how it ended, and puts its name among `failed` when it did not pass.
    fn judged(self, failed: &Mutex<Vec<String>>) {
        let before = Instant::now();
        let output = self.run();
        if !said(&self, &output, before.elapsed()) {
            failed.lock().expect("no holder panics").push(self.name);
        }
    }

    fn run(&self) -> std::io::Result<Output> {
        Command::new(&self.program)
            .args(["--test-threads", "1"])
            .current_dir(&self.folder)
            .env("CARGO_MANIFEST_DIR", &self.folder)
            .stdin(Stdio::null())
            .output()
    }
}

/// Builds the test programs, linting on the way, and reads from cargo which they are.
///
/// The lints' driver is a whole compiler: with it in the compiler's place for our own crates one pass both lints and
/// builds, where `cargo clippy` before `cargo test` would read every crate twice.
fn build() -> Result<Vec<Suite>, String> {
    let arguments = ["test", "--workspace", "--no-run", "--message-format", "json"];
    println!("\n> cargo {}, linting", arguments.join(" "));
    let mut cargo = Command::new("cargo")
        .args(arguments)
        .current_dir(shell::root())
        .env(LINTING.0, LINTING.1)
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|e| format!("cannot start cargo: {e}"))?;
    let mut suites = Vec::new();
    let mut warned = 0;
    for line in BufReader::new(cargo.stdout.take().expect("asked for above")).lines() {
        let line = line.map_err(|e| format!("cargo fell silent: {e}"))?;
        let Ok(message) = serde_json::from_str::<Value>(&line) else {
            continue;
        };
        if message["reason"] == "compiler-message" {
            eprint!("{}", message["message"]["rendered"].as_str().unwrap_or_default());
            warned += usize::from(message["message"]["level"] == "warning");
        }
        suites.extend(suite(&message));
    }
    let status = cargo.wait().map_err(|e| format!("cargo was lost: {e}"))?;
    if !status.success() {
        return Err("the tests do not build".to_owned());
    }
    if warned > 0 {
        return Err(format!("{warned} warnings above; none is let through"));
    }
    Ok(suites)
}

/// The test program that a message of cargo tells of.
fn suite(message: &Value) -> Option<Suite> {
    if message["profile"]["test"] != true {
        return None;
    }
    let program = PathBuf::from(message["executable"].as_str()?);
    let folder = Path::new(message["manifest_path"].as_str()?).parent()?.to_owned();
    let package = folder.file_name()?.to_string_lossy().into_owned();
    let target = message["target"]["name"].as_str()?;
    Some(Suite {
        name: format!("{package}/{target}"),
        program,
        folder,
    })
}
