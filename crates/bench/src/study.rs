//! A study of a thousand designs over the worked example's lap, by the program itself.

use crate::all::target;
use serde::{Deserialize, Serialize};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

/// What varies: oil, mouth, and the height and place of a wall, so that the pan is cut anew for every case.
const STUDY: &str = r#"format = "2026-11"
kind = "study"
name = "A thousand"
design = "second.toml"
method = "sobol"
cases = 1000

[[vary]]
name = "fill"
key = "fill.volume"
range = ["5.2 L", "6.2 L"]

[[vary]]
name = "mouth forward"
key = "pickup.mouth[0]"
range = ["50 mm", "130 mm"]

[[vary]]
name = "wall height"
key = 'plate "tray wall".z[1]'
range = ["-11 mm", "-4 mm"]
"#;

/// What it took.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct StudyTimed {
    /// Cases.
    pub cases: usize,
    /// Threads.
    pub threads: usize,
    /// Wall [s], start-up and tables included.
    pub wall: f64,
}

/// Runs it on `threads`.
///
/// # Errors
/// When the program is not built beside this one.
pub fn time(threads: usize) -> Result<StudyTimed, String> {
    let program = std::env::current_exe()
        .map_err(|e| e.to_string())?
        .with_file_name(format!("sumpwright{}", std::env::consts::EXE_SUFFIX));
    if !program.is_file() {
        return Err(format!("{} is not built", program.display()));
    }
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/heath-lane");
    let folder = target().join("study-bench");
    let _ = std::fs::remove_dir_all(&folder);
    let said = |e: std::io::Error| format!("{}: {e}", folder.display());
    std::fs::create_dir_all(&folder).map_err(said)?;
    for name in ["first.toml", "second.toml", "saturday.csv", "course.csv"] {
        std::fs::copy(example.join(name), folder.join(name)).map_err(said)?;
    }
    std::fs::write(folder.join("thousand.toml"), STUDY).map_err(said)?;
    let before = Instant::now();
    let done = Command::new(program)
        .current_dir(&folder)
        .args(["study", "thousand.toml", "--threads", &threads.to_string()])
        .stdout(Stdio::null())
        .stderr(Stdio::inherit())
        .status()
        .map_err(|e| e.to_string())?;
    if !done.success() {
        return Err(format!("the study ended with {done}"));
    }
    Ok(StudyTimed {
        cases: 1000,
        threads,
        wall: before.elapsed().as_secs_f64(),
    })
}
