//! Runs the test programs of the workspace, as many at a time as the machine has cores, the slowest first.
//!
//! `cargo test` runs one after the other, and a program with one long test leaves the other cores idle. What a program
//! prints is shown whole when it ends.

use crate::shell;
use serde_json::Value;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Names of programs that take long, longest first (seen with two cores): they start first so that none is left at the end.
const LONG: [&str; 9] = [
    "app/studies",
    "app/planning",
    "job/reference",
    "drive/planted",
    "outline/scan",
    "app/reference",
    "slosh/free_surface",
    "app/journeys",
    "app/kills",
];

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
    suites.reverse();
    let waiting = Mutex::new(suites);
    let failed = Mutex::new(Vec::new());
    let next = || waiting.lock().expect("no holder panics").pop();
    std::thread::scope(|scope| {
        for _ in 0..cores {
            scope.spawn(|| {
                while let Some(suite) = next() {
                    let before = Instant::now();
                    let output = suite.run();
                    let good = said(&suite, &output, before.elapsed());
                    if !good {
                        failed.lock().expect("no holder panics").push(suite.name);
                    }
                }
            });
        }
    });
    let failed = failed.into_inner().expect("no holder panics");
    if !failed.is_empty() {
        return Err(format!("tests failed in {}", failed.join(", ")));
    }
    shell::cargo(&["test", "--workspace", "--doc", "--quiet"])
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
    fn run(&self) -> std::io::Result<Output> {
        Command::new(&self.program)
            .args(["--test-threads", "1"])
            .current_dir(&self.folder)
            .env("CARGO_MANIFEST_DIR", &self.folder)
            .stdin(Stdio::null())
            .output()
    }
}

/// Builds the test programs and reads from cargo which they are.
fn build() -> Result<Vec<Suite>, String> {
    let arguments = [
        "test",
        "--workspace",
        "--no-run",
        "--message-format",
        "json-render-diagnostics",
    ];
    println!("\n> cargo {}", arguments.join(" "));
    let output = Command::new("cargo")
        .args(arguments)
        .current_dir(shell::root())
        .stderr(Stdio::inherit())
        .output()
        .map_err(|e| format!("cannot start cargo: {e}"))?;
    if !output.status.success() {
        return Err("the tests do not build".to_owned());
    }
    let mut suites = Vec::new();
    for line in String::from_utf8_lossy(&output.stdout).lines() {
        let Ok(message) = serde_json::from_str::<Value>(line) else {
            continue;
        };
        let text = |value: &Value| value.as_str().map(str::to_owned);
        let (Some(program), Some(manifest)) = (text(&message["executable"]), text(&message["manifest_path"]))
        else {
            continue;
        };
        if message["profile"]["test"] != true {
            continue;
        }
        let folder = PathBuf::from(manifest)
            .parent()
            .map(PathBuf::from)
            .unwrap_or_default();
        let package = folder
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        let target = text(&message["target"]["name"]).unwrap_or_default();
        suites.push(Suite {
            name: format!("{package}/{target}"),
            program: PathBuf::from(program),
            folder,
        });
    }
    Ok(suites)
}
