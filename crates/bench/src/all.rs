//! All works in one run, each in a process of its own so that its memory is its own.

use crate::demo::DemoTimed;
use crate::logs::{ReadLog, Reader};
use crate::machine;
use crate::peers::{self, PeerTimed};
use crate::roofline::{self, Roofline};
use crate::sketch::SketchTimed;
use crate::study::StudyTimed;
use crate::timed::Timed;
use std::path::PathBuf;
use std::process::{Command, Stdio};

/// What a run of everything found.
pub struct Found {
    /// Other work on the machine when the run began: programs that wanted a processor.
    pub load: Option<f64>,
    /// The roofline with one thread and with two.
    pub roofs: [Roofline; 2],
    /// The reference work with one thread and with two.
    pub reference: [Timed; 2],
    /// The first half second in the box and in one twice as tall.
    pub tall: [Timed; 2],
    /// The first 0.1 s in cells of 10, 5 and 2.5 mm.
    pub refined: [Timed; 3],
    /// The worked example.
    pub demo: DemoTimed,
    /// Bays in a pan of eight spaces.
    pub sketch: SketchTimed,
    /// A study of a thousand designs, or why it was left out.
    pub study: Result<StudyTimed, String>,
    /// A log of 200 MB by each reader.
    pub logs: Vec<(Reader, ReadLog)>,
    /// Each peer with what it took, or why it was left out, and the solver over the same stretch.
    pub peers: Vec<(&'static peers::Peer, Result<PeerTimed, String>, Timed)>,
}

/// Longest wall time that the demo may take [s].
const PATIENCE: f64 = 90.0;

/// Does everything; `seconds` of the reference work.
pub fn run(seconds: f64, with_peers: bool) -> Result<Found, String> {
    let two = std::thread::available_parallelism().map_or(1, usize::from).min(2);
    let said = |what: &str| eprintln!("bench: {what}");
    let load = machine::other_load();
    said("the machine");
    let roofs = [roofline::measure(1)?, roofline::measure(two)?];
    said("the reference work on one thread and on two");
    let reference = [work("w1", 1, seconds, 5.0)?, work("w1", two, seconds, 5.0)?];
    if reference[0].print != reference[1].print {
        return Err("one thread and two do not give the same answer; this is a fault of the program".into());
    }
    said("the taller box");
    let half = 0.25 * seconds;
    let tall = [work("w1", 1, half, 5.0)?, work("tall", 1, half, 5.0)?];
    said("finer cells");
    let refined = [
        work("w1", 1, 0.1, 10.0)?,
        work("w1", 1, 0.1, 5.0)?,
        work("w1", 1, 0.1, 2.5)?,
    ];
    said("the worked example");
    let (threads, patience) = (two.to_string(), PATIENCE.to_string());
    let demo = child(&[
        "demo",
        "--json",
        "--threads",
        &threads,
        "--from",
        "20",
        "--seconds",
        "5",
        "--patience",
        &patience,
    ])?;
    said("bays");
    let sketch = child(&["bays"])?;
    said("a study of a thousand designs");
    let study = child(&["study", "--threads", &threads]);
    said("a long log");
    let logs = logs(200)?;
    let mut found = Vec::new();
    for (at, peer) in peers::ALL.iter().enumerate().filter(|_| with_peers) {
        said(peer.name);
        let folder = target().join("peers").join(format!("{at}"));
        let theirs = std::fs::create_dir_all(&folder)
            .map_err(|e| e.to_string())
            .and_then(|()| (peer.run)(&folder, peer.seconds));
        if let Err(why) = &theirs {
            said(&format!("left out: {why}"));
        }
        found.push((peer, theirs, work("w1", 1, peer.seconds, 5.0)?));
    }
    Ok(Found {
        load,
        roofs,
        reference,
        tall,
        refined,
        demo,
        sketch,
        study,
        logs,
        peers: found,
    })
}

/// A log of so many megabytes by each reader in turn; all that give numbers must give the same.
pub fn logs(megabytes: u64) -> Result<Vec<(Reader, ReadLog)>, String> {
    let size = megabytes.to_string();
    let one = |reader: Reader| -> Result<(Reader, ReadLog), String> {
        let done = child(&["logs", "--json", "--megabytes", &size, "--reader", reader.name()])?;
        Ok((reader, done))
    };
    let found = Reader::ALL.into_iter().map(one).collect::<Result<Vec<_>, _>>()?;
    let numbers = [Reader::Table, Reader::CsvNumbers, Reader::SimdNumbers];
    let sums = found
        .iter()
        .filter(|(reader, _)| numbers.contains(reader))
        .map(|(_, done)| done.sum);
    if sums.clone().any(|sum| sum != found[0].1.sum) {
        return Err(format!(
            "the readers do not agree: {:?}",
            sums.collect::<Vec<f64>>()
        ));
    }
    Ok(found)
}

/// Where cargo puts what it builds.
pub fn target() -> PathBuf {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..");
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("target"), PathBuf::from)
}

fn work(name: &str, threads: usize, seconds: f64, cell_mm: f64) -> Result<Timed, String> {
    child(&[
        name,
        "--json",
        "--threads",
        &threads.to_string(),
        "--seconds",
        &seconds.to_string(),
        "--cell-mm",
        &cell_mm.to_string(),
    ])
}

fn child<T: serde::de::DeserializeOwned>(arguments: &[&str]) -> Result<T, String> {
    let program = std::env::current_exe().map_err(|e| e.to_string())?;
    let done = Command::new(program)
        .args(arguments)
        .stderr(Stdio::inherit())
        .output()
        .map_err(|e| e.to_string())?;
    if !done.status.success() {
        return Err(format!(
            "`bench {}` ended with {}",
            arguments.join(" "),
            done.status
        ));
    }
    serde_json::from_slice(&done.stdout).map_err(|e| e.to_string())
}
