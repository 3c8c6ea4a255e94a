//! The demo: set-up, build, then the main job on the two revisions of the worked example.

use crate::{setup, shell};
use std::path::Path;

/// The worked example: a first sketch that draws air and a second revision that holds.
const DESIGNS: [&str; 2] = ["first.toml", "second.toml"];

/// Folder of the worked example.
pub const EXAMPLE: &str = "examples/heath-lane";

/// Runs it, and leaves the reports in `demo-out/`.
pub fn run() -> Result<(), String> {
    setup::web()?;
    shell::cargo(&["build", "--release", "--package", "sumpwright"])?;
    let root = shell::root();
    let example = root.join(EXAMPLE);
    let program = shell::program("release");
    let program = program
        .to_str()
        .ok_or("the path of the workspace is not plain text")?;
    let mut reports = Vec::new();
    for design in DESIGNS {
        let out = root
            .join("demo-out")
            .join(Path::new(design).file_stem().unwrap_or_default());
        let out_text = out
            .to_str()
            .ok_or("the path of the workspace is not plain text")?;
        let design = example.join(design);
        let design = design
            .to_str()
            .ok_or("the path of the workspace is not plain text")?;
        shell::run_in(
            &root,
            program,
            &["check", design, "--moments", "3", "--out", out_text],
        )?;
        reports.push(out.join("report.html"));
    }
    println!("\nThe reports, to open in a browser:");
    for report in reports {
        println!("  {}", report.display());
    }
    Ok(())
}
