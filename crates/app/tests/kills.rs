//! A run killed at any instant, and files spoilt at any place, and still the same history to the bit.
//!
//! Instants and places are random and differ from run to run; a failure prints its seed, and `SUMPWRIGHT_SEED`
//! repeats it (the instants then only as well as the machine keeps time).

mod common;

use assert_cmd::cargo::CommandCargoExt;
use common::{Folder, PAN};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Random numbers by xorshift (Marsaglia 2003).
struct Chance(u64);

impl Chance {
    fn new(test: &str) -> Chance {
        let seed = match std::env::var("SUMPWRIGHT_SEED") {
            Ok(text) => text.parse().expect("SUMPWRIGHT_SEED is a whole number"),
            Err(_) => std::time::SystemTime::now()
                .duration_since(std::time::UNIX_EPOCH)
                .map_or(1, |d| d.as_nanos() as u64),
        };
        // Shown when the test fails.
        eprintln!("{test}: SUMPWRIGHT_SEED={seed}");
        Chance(seed.max(1))
    }

    fn below(&mut self, limit: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % limit.max(1)
    }
}

const SLOSH: [&str; 9] = [
    "slosh",
    "pan.toml",
    "--cell",
    "12 mm",
    "--json",
    "--threads",
    "1",
    "--to",
    "2",
];

/// The history that the program prints, and what it says beside it.
fn slosh(folder: &Folder, out: &str) -> (String, String) {
    let mut arguments = SLOSH.to_vec();
    arguments.extend(["--out", out]);
    let answer = folder.run(&arguments);
    assert_eq!(answer.code, 0, "{}", answer.err);
    (answer.out, answer.err)
}

/// The folder of the only run.
fn run_folder(folder: &Folder, out: &str) -> PathBuf {
    std::fs::read_dir(folder.path(out).join("runs"))
        .expect("there are runs")
        .map(|entry| entry.expect("it can be read").path())
        .find(|path| path.is_dir())
        .expect("there is a run")
}

fn frames(folder: &Folder, out: &str) -> Vec<u8> {
    std::fs::read(run_folder(folder, out).join("frames.bin")).expect("there are frames")
}

/// Starts the program and kills it after `patience`; true when it was still at work.
fn killed(folder: &Folder, arguments: &[&str], patience: Duration) -> bool {
    let mut child = Command::cargo_bin("sumpwright")
        .expect("the program is built with its tests")
        .current_dir(folder.path("."))
        .args(arguments)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program starts");
    let begun = Instant::now();
    while begun.elapsed() < patience {
        if let Some(status) = child.try_wait().expect("it can be asked") {
            assert!(status.success(), "{status}");
            return false;
        }
        std::thread::sleep(Duration::from_millis(1));
    }
    let at_work = child.try_wait().expect("it can be asked").is_none();
    child.kill().expect("it can be killed");
    child.wait().expect("it ends");
    at_work
}

/// Kills the program `times` times at random instants within `span`; how often it was still at work. A machine that was
/// busy while `span` was measured may be quicker now, so a kill that came too late shortens it.
fn kills_within(
    span: &mut Duration,
    times: usize,
    folder: &Folder,
    arguments: &[&str],
    chance: &mut Chance,
) -> u32 {
    let mut kills = 0;
    for _ in 0..times {
        let patience = Duration::from_micros(chance.below(span.as_micros() as u64));
        match killed(folder, arguments, patience) {
            true => kills += 1,
            false => *span /= 2,
        }
    }
    kills
}

#[test]
fn a_run_killed_at_random_instants_has_the_same_history_to_the_bit() {
    let mut chance = Chance::new("killed at random instants");
    let folder = Folder::new("kills");
    folder.write("pan.toml", PAN);
    let begun = Instant::now();
    let (history, _) = slosh(&folder, "whole");
    let whole = begun.elapsed();
    assert!(
        history.contains("\"cover\""),
        "{}",
        &history[..200.min(history.len())]
    );
    let mut kills = 0;
    let mut span = whole;
    for round in 0..3 {
        let out = format!("broken-{round}");
        let mut arguments = SLOSH.to_vec();
        arguments.extend(["--out", &out]);
        kills += kills_within(&mut span, 5, &folder, &arguments, &mut chance);
        let (found, said) = slosh(&folder, &out);
        assert!(found == history, "the history differs; the last run said\n{said}");
        assert!(!said.contains("damaged"), "a kill alone spoils nothing:\n{said}");
        assert!(
            frames(&folder, &out) == frames(&folder, "whole"),
            "the pictures differ"
        );
    }
    assert!(kills >= 3, "only {kills} of 15 found the program at work");
}

#[test]
fn a_killed_check_ends_in_the_same_result() {
    let mut chance = Chance::new("a killed check");
    let folder = Folder::new("killed-check");
    folder.write("pan.toml", PAN);
    let begun = Instant::now();
    let answer = folder.check(&["--out", "whole"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let whole = begun.elapsed();
    let arguments = [
        "check",
        "pan.toml",
        "--cell",
        "12 mm",
        "--moments",
        "1",
        "--brief",
        "--out",
        "broken",
    ];
    let kills = kills_within(&mut whole.clone(), 4, &folder, &arguments, &mut chance);
    assert!(kills > 0, "the run was too quick to be killed even once");
    let last = folder.check(&["--out", "broken"]);
    assert_eq!(last.code, 0, "{}", last.err);
    let result = |out: &str| {
        let text = std::fs::read_to_string(folder.path(out).join("result.json")).expect("a result");
        let mut value: serde_json::Value = serde_json::from_str(&text).expect("it is JSON");
        value.as_object_mut().expect("an object").remove("timings");
        value
    };
    assert_eq!(result("whole"), result("broken"));
    let replay = |out: &str| {
        let page = std::fs::read_to_string(folder.path(out).join("report.html")).expect("a report");
        let data = page
            .split("id=\"replay-data\"")
            .nth(1)
            .expect("the page carries its replay");
        data.split(['>', '<'])
            .nth(1)
            .expect("it is an element")
            .to_string()
    };
    assert!(replay("whole").len() > 1000, "the replay holds frames");
    assert!(replay("whole") == replay("broken"), "the replay differs");
}

/// Cuts a file or flips a bit of it at a random place.
fn spoil(path: &Path, chance: &mut Chance) -> String {
    let mut bytes = std::fs::read(path).expect("it is there");
    let at = chance.below(bytes.len() as u64) as usize;
    let how = if chance.below(2) == 0 {
        bytes.truncate(at);
        "cut"
    } else {
        bytes[at] ^= 1 << chance.below(8);
        "a bit flipped"
    };
    std::fs::write(path, bytes).expect("it can be written");
    format!("{} {how} at {at}", path.display())
}

#[test]
fn a_spoilt_file_is_noticed_and_the_run_goes_on_from_the_last_whole_checkpoint() {
    let mut chance = Chance::new("spoilt files");
    let folder = Folder::new("spoilt");
    folder.write("pan.toml", PAN);
    let (history, said) = slosh(&folder, "out");
    assert!(!said.contains("damaged"), "{said}");
    let pictures = frames(&folder, "out");
    let run = run_folder(&folder, "out");
    let one = ["checkpoint-a.bin"].as_slice();
    let two = ["checkpoint-b.bin"].as_slice();
    let both = ["checkpoint-a.bin", "checkpoint-b.bin"].as_slice();
    for files in [one, two, &["frames.bin"], both, &["frames.bin"], one] {
        let done: Vec<String> = files.iter().map(|f| spoil(&run.join(f), &mut chance)).collect();
        // What a kill in the middle of a checkpoint leaves beside it.
        std::fs::write(run.join("checkpoint-a.bin.new"), b"SWCKPT02 half a file").expect("it can be written");
        let (found, said) = slosh(&folder, "out");
        let done = done.join(", ");
        assert!(said.contains("damaged"), "{done} was not noticed:\n{said}");
        assert!(
            said.contains("goes on from its last whole checkpoint"),
            "{done}:\n{said}"
        );
        assert!(found == history, "after {done} the history differs:\n{said}");
        assert!(
            frames(&folder, "out") == pictures,
            "after {done} the pictures differ"
        );
    }
}
