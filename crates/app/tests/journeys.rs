//! Whole journeys through the real program: the main job, stopping and resuming, places that cannot be written to.

mod common;

use common::{Folder, PAN, honest, log};
use serde_json::Value;
use std::process::Command;
use std::time::{Duration, Instant};

fn result(folder: &Folder, out: &str) -> Value {
    let text = std::fs::read_to_string(folder.path(out).join("result.json")).expect("a result was written");
    serde_json::from_str(&text).expect("it is JSON")
}

/// The result without the part that says how long it took.
fn without_timings(mut value: Value) -> Value {
    value.as_object_mut().expect("an object").remove("timings");
    value
}

#[test]
fn a_new_design_passes_check_and_is_never_written_over() {
    let folder = Folder::new("starter");
    let answer = folder.run(&["new", "pan"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let answer = folder.run(&["still", "pan/pan.toml"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(answer.out.contains("capacity"), "{}", answer.out);
    let again = folder.run(&["new", "pan"]);
    assert_eq!(again.code, 2, "{}", again.err);
    assert!(again.err.contains("nothing was changed"), "{}", again.err);
}

#[test]
fn check_gives_a_verdict_a_report_and_a_result() {
    let folder = Folder::new("check");
    folder.write("pan.toml", PAN);
    let answer = folder.check(&[]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    for words in ["Box: ", "least cover", "air drawn", "report"] {
        assert!(
            answer.out.contains(words),
            "`{words}` is missing in:\n{}",
            answer.out
        );
    }
    let page = std::fs::read_to_string(folder.path("pan-results").join("report.html")).unwrap();
    assert!(page.starts_with("<!doctype html>"), "{}", &page[..60]);
    assert!(page.len() < 2_000_000, "{} bytes", page.len());
    let found = result(&folder, "pan-results");
    let fill = found["ledger"]["fill"].as_f64().unwrap();
    assert!((fill - 3.5e-3).abs() < 1e-12, "{fill}");
    assert!(
        found["ledger"]["worst_error"].as_f64().unwrap() <= 1e-9 * fill,
        "{}",
        found["ledger"]
    );
}

#[test]
fn json_stands_alone_on_stdout() {
    let folder = Folder::new("json");
    folder.write("pan.toml", PAN);
    let answer = folder.check(&["--json"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let printed: Value = serde_json::from_str(&answer.out).expect("stdout is one JSON object");
    assert_eq!(
        without_timings(printed),
        without_timings(result(&folder, "pan-results"))
    );
    assert!(answer.err.contains("least cover"), "{}", answer.err);
}

#[test]
fn the_gate_speaks_by_exit_code_only_when_asked() {
    let folder = Folder::new("gate");
    // The mouth stands at the front of the sump, and braking is driven the other way round: it must run dry.
    let design = PAN
        .replace(
            "[\"-70 mm\", \"0 mm\", \"-86 mm\"]",
            "[\"-130 mm\", \"0 mm\", \"-70 mm\"]",
        )
        .replace("\"3.5 L\"", "\"2.6 L\"")
        .replace("\"0.9 g\"", "\"1.3 g\"")
        .replace("45 km/h", "90 km/h");
    folder.write("pan.toml", design);
    let open = folder.check(&[]);
    assert_eq!(open.code, 0, "{}", open.err);
    assert!(open.out.contains("Box: stop"), "{}", open.out);
    assert!(
        result(&folder, "pan-results")["verdict"]["air_per_lap"]["value"]
            .as_f64()
            .unwrap()
            > 0.0
    );
    let gated = folder.check(&["--gate"]);
    assert_eq!(gated.code, 1, "{}", gated.err);
    assert!(
        gated.err.contains("found on disk"),
        "a finished run is used again:\n{}",
        gated.err
    );
}

#[test]
fn a_log_is_driven_and_what_was_understood_is_said() {
    let folder = Folder::new("log");
    folder.write("pan.toml", PAN);
    folder.write("lap.csv", log(8, honest));
    let answer = folder.check(&["--log", "lap.csv"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let found = result(&folder, "pan-results");
    let said = found["drive"]["said"].to_string();
    assert!(said.contains("lateral"), "{said}");
    assert_eq!(found["drive"]["file"], "lap.csv");
}

#[test]
fn the_answer_is_the_same_on_one_thread_and_on_two() {
    let folder = Folder::new("threads");
    folder.write("pan.toml", PAN);
    let one = folder.check(&["--threads", "1", "--out", "one"]);
    let two = folder.check(&["--threads", "2", "--out", "two"]);
    assert_eq!((one.code, two.code), (0, 0), "{}{}", one.err, two.err);
    assert_eq!(
        without_timings(result(&folder, "one")),
        without_timings(result(&folder, "two"))
    );
}

#[test]
fn a_mirrored_pan_in_a_mirrored_corner_gives_the_mirrored_answer() {
    let corner = |side: &str| {
        PAN[..PAN.find("[[drive.manoeuvre]]").unwrap()].to_string()
            + "[[drive.manoeuvre]]\nname = \"corner\"\nkind = \"sustained corner\"\nlateral = \"0.6 g\"\n\
               speed = \"80 km/h\"\nhold = \"0.8 s\"\nlead_in = \"0.3 s\"\nrun_out = \"0.2 s\"\nside = \""
            + side
            + "\"\n"
    };
    let left = corner("left").replace(
        "[\"-70 mm\", \"0 mm\", \"-86 mm\"",
        "[\"-70 mm\", \"40 mm\", \"-88 mm\"",
    );
    // Wall and door stand across the middle line, so only the mouth changes sides.
    let right = corner("right").replace(
        "[\"-70 mm\", \"0 mm\", \"-86 mm\"",
        "[\"-70 mm\", \"-40 mm\", \"-88 mm\"",
    );
    let folder = Folder::new("mirror");
    let mut covers = Vec::new();
    for (name, design) in [("left", left), ("right", right)] {
        folder.write("pan.toml", design);
        let answer = folder.check(&["--out", name]);
        assert_eq!(answer.code, 0, "{}", answer.err);
        covers.push(result(&folder, name));
    }
    let cover = |v: &Value| v["verdict"]["least_cover"]["value"].as_f64().unwrap();
    let air = |v: &Value| v["verdict"]["air_per_lap"]["value"].as_f64().unwrap();
    let (a, b) = (&covers[0], &covers[1]);
    assert!(
        (cover(a) - cover(b)).abs() < 1e-3,
        "cover {} m and {} m",
        cover(a),
        cover(b)
    );
    // Breaking oil is chaotic: what differs in the last digit at first is a few per cent of the air at last.
    assert!(
        (air(a) - air(b)).abs() <= 0.05 * air(a).max(1e-6),
        "air {} m3 and {} m3",
        air(a),
        air(b)
    );
    let side = |v: &Value| v["moments"][0]["name"].as_str().unwrap().to_string();
    assert!(
        side(a).contains("left") && side(b).contains("right"),
        "{} and {}",
        side(a),
        side(b)
    );
}

#[test]
fn a_folder_that_cannot_be_written_to_is_known_before_anything_is_computed() {
    let folder = Folder::new("unwritable");
    folder.write("pan.toml", PAN);
    folder.write("taken", "a file where a folder is wanted");
    let begun = Instant::now();
    let answer = folder.check(&["--out", "taken/results"]);
    assert_eq!(answer.code, 3, "{}", answer.err);
    assert!(
        answer.err.contains("taken") && answer.err.contains("--out"),
        "{}",
        answer.err
    );
    assert!(
        begun.elapsed() < Duration::from_secs(20),
        "it must not compute first"
    );
}

#[test]
fn a_run_folder_from_other_inputs_is_refused_and_left_alone() {
    let folder = Folder::new("other-inputs");
    folder.write("pan.toml", PAN);
    let answer = folder.check(&[]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let runs = folder.path("pan-results").join("runs");
    let run = std::fs::read_dir(&runs)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .find(|path| path.is_dir())
        .expect("there is a run");
    let inputs = run.join("inputs.json");
    let other = std::fs::read_to_string(&inputs)
        .unwrap()
        .replacen("\"fill\": 0.0035", "\"fill\": 0.0036", 1);
    std::fs::write(&inputs, &other).unwrap();
    let answer = folder.check(&[]);
    assert_eq!(answer.code, 3, "{}", answer.err);
    assert!(answer.err.contains("other inputs"), "{}", answer.err);
    assert!(answer.err.contains("move"), "{}", answer.err);
    assert_eq!(std::fs::read_to_string(&inputs).unwrap(), other);
}

/// A disk of 300 kB, where the system lets this user make one.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_said_and_the_run_goes_on_when_there_is_room() {
    let folder = Folder::new("full");
    folder.write("pan.toml", PAN);
    let disk = folder.path("disk");
    std::fs::create_dir(&disk).unwrap();
    let mount = |size: &str, options: &str| {
        Command::new("mount")
            .args(["-t", "tmpfs", "-o", &format!("{options}size={size}"), "tmpfs"])
            .arg(&disk)
            .output()
            .is_ok_and(|o| o.status.success())
    };
    if !mount("300k", "") {
        eprintln!("skipped: this user may not mount a small disk");
        return;
    }
    let full = folder.check(&["--out", "disk"]);
    let grown = mount("64m", "remount,");
    let then = folder.check(&["--out", "disk"]);
    let _ = Command::new("umount").arg(&disk).output();
    assert_eq!(full.code, 3, "{}{}", full.out, full.err);
    assert!(full.err.contains("cannot write"), "{}", full.err);
    assert!(full.err.contains("free some space"), "{}", full.err);
    assert!(grown, "the disk could not be made larger");
    assert_eq!(then.code, 0, "{}", then.err);
}
