//! Everything that CI runs.

use crate::{demo, paper, setup, shell, suites, tidy};

/// Runs all of it; stops at the first failure.
pub fn run() -> Result<(), String> {
    shell::cargo(&["fmt", "--all", "--check"])?;
    tidy::run()?;
    setup::web()?;
    shell::npm(&["run", "check"])?;
    shell::npm(&["test"])?;
    suites::run()?;
    paper::run()?;
    browser_test()
}

/// The report as a browser shows it: run the main job with large cells, then drive its page; and the page of a folder.
fn browser_test() -> Result<(), String> {
    let browser = setup::browser()?;
    let root = shell::root();
    let out = shell::target().join("browser-test");
    let out_text = out
        .to_str()
        .ok_or("the path of the workspace is not plain text")?;
    let program = shell::program("debug");
    let program = program
        .to_str()
        .ok_or("the path of the workspace is not plain text")?;
    let design = root.join(demo::EXAMPLE).join("second.toml");
    let design = design
        .to_str()
        .ok_or("the path of the workspace is not plain text")?;
    shell::run_in(
        &root,
        program,
        &[
            "check",
            design,
            "--cell",
            "9 mm",
            "--moments",
            "2",
            "--brief",
            "--out",
            out_text,
        ],
    )?;
    let report = out.join("report.html");
    let report = report
        .to_str()
        .ok_or("the path of the workspace is not plain text")?;
    let npm = if cfg!(windows) { "npm.cmd" } else { "npm" };
    let with = [("SUMPWRIGHT_CHROMIUM", browser.as_str())];
    let web = root.join("web");
    shell::run_with(&web, npm, &["run", "test:browser", "--", report], &with)?;
    shell::run_with(&web, npm, &["run", "test:page", "--", program, design], &with)
}
