//! Starting other programs, the same way on Linux, macOS and Windows.

use std::path::{Path, PathBuf};
use std::process::Command;

/// Folder of the workspace.
pub fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().expect("xtask lies in the workspace").to_path_buf()
}

/// Runs a command in `folder`, saying what it runs; an error names the command and its exit code.
pub fn run_in(folder: &Path, program: &str, arguments: &[&str]) -> Result<(), String> {
    run_with(folder, program, arguments, &[])
}

/// The same with environment variables set.
pub fn run_with(
    folder: &Path,
    program: &str,
    arguments: &[&str],
    variables: &[(&str, &str)],
) -> Result<(), String> {
    let line = format!("{program} {}", arguments.join(" "));
    println!("\n> {line}");
    let mut command = Command::new(program);
    command.args(arguments).current_dir(folder);
    for (name, value) in variables {
        command.env(name, value);
    }
    let status = command
        .status()
        .map_err(|e| format!("cannot start `{line}`: {e}"))?;
    if status.success() {
        Ok(())
    } else {
        Err(format!("`{line}` ended with {status}"))
    }
}

/// Runs cargo at the root of the workspace.
pub fn cargo(arguments: &[&str]) -> Result<(), String> {
    run_in(&root(), "cargo", arguments)
}

/// Runs npm in `web/`. On Windows npm is a script and needs its ending spelled out.
pub fn npm(arguments: &[&str]) -> Result<(), String> {
    let npm = if cfg!(windows) { "npm.cmd" } else { "npm" };
    run_in(&root().join("web"), npm, arguments)
        .map_err(|e| format!("{e}\n  mend: install Node 20 or newer (it brings npm), then run this again"))
}

/// What a command prints, or nothing when it cannot be run.
pub fn output_of(program: &str, arguments: &[&str]) -> Option<String> {
    let output = Command::new(program)
        .args(arguments)
        .current_dir(root())
        .output()
        .ok()?;
    output
        .status
        .success()
        .then(|| String::from_utf8_lossy(&output.stdout).into_owned())
}

/// Where cargo puts what it builds.
pub fn target() -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root().join("target"), PathBuf::from)
}

/// The program as cargo built it for `profile` ("debug" or "release").
pub fn program(profile: &str) -> PathBuf {
    target()
        .join(profile)
        .join(format!("sumpwright{}", std::env::consts::EXE_SUFFIX))
}
