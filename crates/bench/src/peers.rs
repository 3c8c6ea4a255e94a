//! The same work by general libraries, each fetched into `target/peers` (or, for the two-fluid solver, as a
//! package of a Debian system) and left out with a word when it cannot be had.

use serde::Deserialize;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What a peer says of its run.
#[derive(Clone, Debug, Deserialize)]
pub struct PeerTimed {
    /// Simulated seconds.
    pub simulated: f64,
    /// Wall time [s].
    pub wall: f64,
    /// Processor time [s], where it is known.
    pub cpu: Option<f64>,
    /// Steps.
    pub steps: u64,
    /// Points (particles or cells) that it moves.
    pub points: u64,
}

impl PeerTimed {
    /// Processor seconds for a simulated second; wall time where the processor's is not known.
    pub fn rate(&self) -> f64 {
        self.cpu.unwrap_or(self.wall) / self.simulated
    }
}

/// A general library that can do the reference work.
pub struct Peer {
    /// Name and kind, in words.
    pub name: &'static str,
    /// How it was set up, in words.
    pub said: &'static str,
    /// Simulated seconds that it is asked for.
    pub seconds: f64,
    /// Makes it ready in a folder and runs it.
    pub run: fn(&Path, f64) -> Result<PeerTimed, String>,
}

/// All peers. Their stretches begin with the work and are short, for they are slow; the solver is timed on the
/// same stretch beside them.
pub const ALL: [Peer; 3] = [
    Peer {
        name: "material points (a kernel of ours for taichi, Python)",
        said: "8 particles a cell on the same grid, affine transfer, weakly compressible with a sound speed of \
               10 m/s, f32, one thread; compiling is not counted",
        seconds: 0.04,
        run: material_point,
    },
    Peer {
        name: "smoothed particles (salva3d, Rust)",
        said: "divergence-free, the library's own settings, one particle a cell (coarser than the grid), f32, \
               one thread",
        seconds: 0.02,
        run: particles,
    },
    Peer {
        name: "finite volumes, two fluids (interFoam of the openfoam package)",
        said: "same cells, oil and air, compressive interface scheme, Courant number up to 1, one process",
        seconds: 0.1,
        run: two_fluid,
    },
];

/// Folder with the peers' own files.
fn sources() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("peers")
}

fn material_point(folder: &Path, seconds: f64) -> Result<PeerTimed, String> {
    let bin = if cfg!(windows) {
        "Scripts/python.exe"
    } else {
        "bin/python"
    };
    let python = folder.join(bin);
    let ready = folder.join("ready");
    if !ready.exists() {
        let system = if cfg!(windows) { "python" } else { "python3" };
        output(Command::new(system).args(["-m", "venv"]).arg(folder))?;
        output(Command::new(&python).args(["-m", "pip", "install", "--quiet", "taichi==1.7.4"]))?;
        fs::write(&ready, "").map_err(|e| e.to_string())?;
    }
    let script = sources().join("material_point.py");
    let printed = output(
        Command::new(&python)
            .arg(script)
            .args([seconds.to_string(), "1".into()]),
    )?;
    last_line(&printed)
}

fn particles(folder: &Path, seconds: f64) -> Result<PeerTimed, String> {
    let manifest = sources().join("particles").join("Cargo.toml");
    output(
        Command::new("cargo")
            .args(["build", "--release", "--quiet", "--manifest-path"])
            .arg(manifest)
            .arg("--target-dir")
            .arg(folder),
    )?;
    let program = folder
        .join("release")
        .join(format!("particles{}", std::env::consts::EXE_SUFFIX));
    last_line(&output(Command::new(program).arg(seconds.to_string()))?)
}

fn two_fluid(folder: &Path, seconds: f64) -> Result<PeerTimed, String> {
    if output(Command::new("interFoam").arg("-help")).is_err() {
        debian_package("openfoam")?;
    }
    let case = folder.join("case");
    let _ = fs::remove_dir_all(&case);
    let from = sources().join("two_fluid");
    for (part, name) in [("start", "0"), ("constant", "constant"), ("system", "system")] {
        copy(&from.join(part), &case.join(name))?;
    }
    let control = case.join("system").join("controlDict");
    let text = fs::read_to_string(&control).map_err(|e| e.to_string())?;
    fs::write(&control, text.replace("END_TIME", &seconds.to_string())).map_err(|e| e.to_string())?;
    let tool = |name: &str| {
        let mut command = Command::new(name);
        command.current_dir(&case);
        // The Debian package keeps its settings here and expects to be told.
        if std::env::var_os("WM_PROJECT_DIR").is_none() && Path::new("/usr/share/openfoam/etc").exists() {
            command.env("WM_PROJECT_DIR", "/usr/share/openfoam");
        }
        command
    };
    output(&mut tool("blockMesh"))?;
    output(&mut tool("setFields"))?;
    let log = output(&mut tool("interFoam"))?;
    let seconds_in = |line: &str, key: &str| -> Option<f64> {
        line.split(key).nth(1)?.split_whitespace().next()?.parse().ok()
    };
    let last = log
        .lines()
        .rfind(|line| line.starts_with("ExecutionTime"))
        .ok_or("its log names no time")?;
    let cpu = seconds_in(last, "ExecutionTime = ").ok_or("its log names no processor time")?;
    let wall = seconds_in(last, "ClockTime = ").ok_or("its log names no wall time")?;
    Ok(PeerTimed {
        simulated: seconds,
        wall,
        cpu: Some(cpu),
        steps: log.lines().filter(|line| line.starts_with("Time = ")).count() as u64,
        points: 60 * 40 * 30,
    })
}

/// Installs a package when this is a Debian system and we may.
fn debian_package(name: &str) -> Result<(), String> {
    let may = Path::new("/etc/debian_version").exists()
        && output(Command::new("id").arg("-u")).is_ok_and(|id| id.trim() == "0");
    if !may {
        return Err(format!(
            "interFoam is not installed (Debian: `apt-get install {name}`)"
        ));
    }
    output(Command::new("apt-get").args(["update", "-q"]))?;
    output(
        Command::new("apt-get")
            .args(["install", "-y", "-q", "--no-install-recommends", name])
            .env("DEBIAN_FRONTEND", "noninteractive"),
    )
    .map(drop)
}

fn copy(from: &Path, to: &Path) -> Result<(), String> {
    fs::create_dir_all(to).map_err(|e| format!("{}: {e}", to.display()))?;
    for entry in fs::read_dir(from).map_err(|e| format!("{}: {e}", from.display()))? {
        let entry = entry.map_err(|e| e.to_string())?;
        fs::copy(entry.path(), to.join(entry.file_name())).map_err(|e| e.to_string())?;
    }
    Ok(())
}

/// Runs a command; its stdout, or its last words when it fails.
fn output(command: &mut Command) -> Result<String, String> {
    let name = command.get_program().to_string_lossy().into_owned();
    let done = command
        .output()
        .map_err(|e| format!("`{name}` does not start: {e}"))?;
    let out = String::from_utf8_lossy(&done.stdout).into_owned();
    if done.status.success() {
        return Ok(out);
    }
    let error = String::from_utf8_lossy(&done.stderr).into_owned();
    let last = error.lines().chain(out.lines()).rfind(|l| !l.trim().is_empty());
    Err(format!(
        "`{name}` ended with {}: {}",
        done.status,
        last.unwrap_or("")
    ))
}

fn last_line(printed: &str) -> Result<PeerTimed, String> {
    let line = printed
        .lines()
        .rfind(|line| line.starts_with('{'))
        .ok_or("it printed no result")?;
    serde_json::from_str(line).map_err(|e| e.to_string())
}
