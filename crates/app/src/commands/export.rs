//! `sumpwright export`: a run's pictures for general viewers.

use crate::cli::{Export, ExportKind};
use crate::export::{collection, glb, vti};
use crate::failure::Failure;
use crate::store::frames::FrameFile;
use crate::store::{Scene, atomic};
use crate::terminal;
use slosh::run::Frame;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Runs it.
pub fn run(arguments: &Export) -> Result<ExitCode, Failure> {
    let (folder, file) = frames_of(&arguments.run)?;
    let file = FrameFile::read(&file)?;
    let scene: Scene = file.scene()?;
    let out = arguments.out.clone().unwrap_or_else(|| folder.join("export"));
    atomic::make_folder(&out)?;
    let (from, to) = (
        arguments.from.unwrap_or(f64::NEG_INFINITY),
        arguments.to.unwrap_or(f64::INFINITY),
    );
    let mut written = Vec::new();
    let mut span: Option<(f64, f64)> = None;
    let mut chosen = 0;
    for index in 0..file.frames() {
        let frame: Frame = file.frame(index)?;
        let (first, last) = span.unwrap_or((frame.time, frame.time));
        span = Some((first, last.max(frame.time)));
        if frame.time < from - 1e-9 || frame.time > to + 1e-9 {
            continue;
        }
        if chosen % arguments.every == 0 {
            let name = |end: &str| format!("oil-{index:05}.{end}");
            if arguments.only != Some(ExportKind::Surface) {
                atomic::write(&out.join(name("vti")), &vti(&scene, &frame))?;
            }
            if arguments.only != Some(ExportKind::Cells) {
                atomic::write(&out.join(name("glb")), &glb(&scene, &frame))?;
            }
            written.push((frame.time, name("vti")));
        }
        chosen += 1;
    }
    let (Some((first, last)), false) = (span, written.is_empty()) else {
        return Err(match span {
            None => Failure::input(
                "this run kept no pictures",
                arguments.run.display().to_string(),
                "compute the stretch with `sumpwright slosh`, which keeps them, and export that run",
            ),
            Some((first, last)) => Failure::input(
                "there is no picture in that stretch",
                "--from, --to",
                format!("the run's pictures go from {first:.2} s to {last:.2} s"),
            ),
        });
    };
    if arguments.only != Some(ExportKind::Surface) {
        atomic::write(&out.join("oil.pvd"), collection(&written).as_bytes())?;
    }
    terminal::say(&terminal::table(&[
        ("run", format!("{}, {first:.2} s to {last:.2} s", scene.name)),
        ("pictures", format!("{} of {}", written.len(), file.frames())),
        ("written to", out.display().to_string()),
    ]));
    Ok(ExitCode::SUCCESS)
}

/// The run's folder and its frame file; `path` is a run's folder, or a folder of runs that holds a single one.
fn frames_of(path: &Path) -> Result<(PathBuf, PathBuf), Failure> {
    let frames = path.join("frames.bin");
    if frames.is_file() {
        return Ok((path.to_path_buf(), frames));
    }
    let inside: Vec<PathBuf> = [path.to_path_buf(), path.join("runs")]
        .iter()
        .filter_map(|folder| std::fs::read_dir(folder).ok())
        .flatten()
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|run| run.join("frames.bin").is_file() && said(run)["inputs"]["pictures"] != false)
        .collect();
    match inside.as_slice() {
        [] => Err(Failure::input(
            "there is no run here",
            path.display().to_string(),
            "name the folder of one run: they lie in DESIGN-results/runs",
        )),
        [run] => Ok((run.clone(), run.join("frames.bin"))),
        several => {
            let mut lines: Vec<String> = several.iter().map(|run| described(run)).collect();
            lines.sort();
            Err(Failure::input(
                format!("there are {} runs here", several.len()),
                path.display().to_string(),
                format!("name one of them:\n    {}", lines.join("\n    ")),
            ))
        }
    }
}

/// What a run's folder says of its inputs; null when it says nothing that can be read.
fn said(run: &Path) -> serde_json::Value {
    std::fs::read(run.join("inputs.json"))
        .ok()
        .and_then(|bytes| serde_json::from_slice(&bytes).ok())
        .unwrap_or_default()
}

/// A run's folder, its stretch, its fill and its cells.
fn described(run: &Path) -> String {
    let said = said(run);
    let number = |key: &str| said["inputs"][key].as_f64();
    match (number("start"), number("end"), number("fill"), number("cell")) {
        (Some(start), Some(end), Some(fill), Some(cell)) => {
            format!(
                "{} ({start:.2} s to {end:.2} s, {:.2} L, cells of {:.1} mm)",
                run.display(),
                1e3 * fill,
                1e3 * cell
            )
        }
        _ => run.display().to_string(),
    }
}
