//! How long it will take, the smallest cells for a time, and several cell sizes. Each case through the real program.

mod common;

use common::{Answer, Folder, PAN};
use serde_json::Value;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Instant;

/// Times are compared here, so these tests take turns on the machine's cores.
fn turn() -> MutexGuard<'static, ()> {
    static ONE: Mutex<()> = Mutex::new(());
    ONE.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The program's own words for a stretch of time, in seconds.
fn seconds(said: &str) -> f64 {
    let mut words = said.split_whitespace();
    let number: f64 = words.next().and_then(|n| n.parse().ok()).unwrap_or(f64::NAN);
    match words.next().map(|unit| unit.trim_end_matches([',', ';'])) {
        Some("s") => number,
        Some("min") => 60.0 * number,
        _ => panic!("no time in `{said}`"),
    }
}

/// What stands behind `lead` in the remarks.
fn after<'a>(answer: &'a Answer, lead: &str) -> &'a str {
    let (_, rest) = (answer.err.split_once(lead)).unwrap_or_else(|| panic!("no `{lead}` in\n{}", answer.err));
    rest
}

/// The estimate is made on this machine as it is; other programs that come or go meanwhile move it, so the bounds are
/// wider here than the 30 % that it is meant to keep on a quiet machine.
#[test]
fn the_estimate_before_the_start_comes_near_the_time_that_it_takes() {
    let _turn = turn();
    let folder = Folder::new("estimate");
    folder.write("pan.toml", PAN);
    let answer = folder.run(&["slosh", "pan.toml", "--cell", "9 mm", "--to", "1.2"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let estimate = seconds(after(&answer, "estimate: about "));
    let taken = seconds(after(&answer, " s of oil motion in "));
    assert!(
        estimate > taken / 2.5 - 1.0 && estimate < 2.5 * taken + 1.0,
        "estimated {estimate} s, taken {taken} s:\n{}",
        answer.err
    );
    assert!(answer.err.contains("MB of memory"), "{}", answer.err);
    // What is on disk needs no estimate.
    let again = folder.run(&["slosh", "pan.toml", "--cell", "9 mm", "--to", "1.2"]);
    assert!(!again.err.contains("estimate"), "{}", again.err);
    assert_eq!(again.out, answer.out);
}

#[test]
fn within_takes_the_smallest_cells_that_fit_and_goes_on_with_them() {
    let _turn = turn();
    let folder = Folder::new("within");
    folder.write("pan.toml", PAN);
    let run = |time: &str, out: &str| {
        folder.run(&["slosh", "pan.toml", "--to", "0.6", "--within", time, "--out", out])
    };
    let cell = |answer: &Answer| -> f64 {
        assert_eq!(answer.code, 0, "{}", answer.err);
        let line = answer
            .out
            .lines()
            .find(|l| l.trim_start().starts_with("cell "))
            .expect("it is told");
        assert!(line.contains("the smallest that fit"), "{line}");
        line.split_whitespace()
            .nth(1)
            .and_then(|n| n.parse().ok())
            .expect("a number")
    };
    let begun = Instant::now();
    let short = run("4 s", "short");
    let taken = begun.elapsed().as_secs_f64();
    let long = run("25 s", "long");
    assert!(
        cell(&long) < 0.9 * cell(&short),
        "{} mm in 25 s, {} mm in 4 s",
        cell(&long),
        cell(&short)
    );
    // Rehearsal, other tests on the same cores and all.
    assert!(
        taken < 40.0,
        "4 s were allowed, {taken:.0} s taken:\n{}",
        short.err
    );
    // The same command keeps its cells, whatever the machine does now, and finds its run.
    let again = run("4 s", "short");
    assert_eq!(cell(&again), cell(&short));
    assert!(again.err.contains("found on disk"), "{}", again.err);
}

#[test]
fn a_time_in_which_nothing_can_be_computed_is_refused_with_what_it_would_need() {
    let _turn = turn();
    let folder = Folder::new("too-short");
    // A log of a quarter of an hour.
    folder.write(
        "pan.toml",
        PAN.replace("lead_in = \"0.4 s\"", "lead_in = \"60 s\""),
    );
    let answer = folder.run(&["check", "pan.toml", "--whole", "--within", "1 s"]);
    assert_eq!(answer.code, 2, "{}{}", answer.out, answer.err);
    for words in [
        "1 s are too short",
        "the largest that this pan allows",
        "--within",
        "mend: allow ",
    ] {
        assert!(
            answer.err.contains(words),
            "`{words}` is missing in:\n{}",
            answer.err
        );
    }
    for wrong in ["5", "soon", "0 s", "-3 s", "NaN s", "5 mm"] {
        let answer = folder.run(&["check", "pan.toml", "--within", wrong]);
        assert_eq!(answer.code, 2, "{wrong}: {}", answer.err);
        assert!(answer.err.contains("--within"), "{wrong}: {}", answer.err);
    }
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|e| panic!("{e} in\n{text}"))
}

#[test]
fn refine_tells_each_grid_its_order_and_the_band_and_judges_by_the_worse_end() {
    let _turn = turn();
    let folder = Folder::new("refine");
    folder.write("pan.toml", PAN);
    let run = |more: &[&str]| {
        let mut arguments = vec!["slosh", "pan.toml", "--cell", "9 mm", "--to", "0.56"];
        arguments.extend(more);
        let answer = folder.run(&arguments);
        assert_eq!(answer.code, 0, "{}{}", answer.out, answer.err);
        answer
    };
    let answer = run(&["--refine"]);
    for words in [
        "9 mm",
        "11 mm",
        "13.4 mm",
        "order",
        "answer and band",
        "least cover",
        "air drawn",
    ] {
        assert!(
            answer.out.contains(words),
            "`{words}` is missing in:\n{}",
            answer.out
        );
    }
    let found = json(&run(&["--refine", "--json"]).out);
    let cover = &found["grids"]["least_cover"];
    let cells: Vec<f64> = (cover["grids"].as_array().expect("three grids").iter())
        .map(|g| g["cell"].as_f64().expect("a number"))
        .collect();
    assert_eq!(cells.len(), 3, "{cells:?}");
    assert!(
        (cells[1] / cells[0] - 1.22).abs() < 0.01 && cells[2] < 0.014,
        "{cells:?}"
    );
    // The finest grid is the run itself.
    let plain = json(&run(&["--json"]).out);
    let least = (plain["cover"].as_array().expect("a history").iter())
        .map(|v| v.as_f64().expect("a number"))
        .fold(f64::INFINITY, f64::min);
    assert_eq!(cover["grids"][0]["value"].as_f64(), Some(least));
    assert_eq!(found["history"]["cover"], plain["cover"]);
    let (band, word) = (cover["band"].as_f64().expect("a number"), &found["word"]);
    assert!(band > 0.0, "three grids never agree to the last digit: {cover}");
    // Covered with more than the limit of 5 mm at the worse end, or not a go.
    assert_eq!(word == "go", least - band >= 0.005, "{word}: {least} ± {band}");
    let two = json(&run(&["--refine=2", "--json"]).out);
    assert_eq!(two["grids"]["air"]["grids"].as_array().map(Vec::len), Some(2));
}

#[test]
fn refine_in_a_check_stands_in_the_report() {
    let _turn = turn();
    let folder = Folder::new("refine-check");
    folder.write("pan.toml", PAN);
    let answer = folder.check(&["--refine=2"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(answer.out.contains("on several cell sizes"), "{}", answer.out);
    let page = std::fs::read_to_string(folder.path("pan-results").join("report.html")).expect("a report");
    for words in [
        "How far the cells move the answer",
        "cells of 12 mm",
        "observed order",
        "assumed 1",
    ] {
        assert!(page.contains(words), "`{words}` is missing in the report");
    }
    let result =
        json(&std::fs::read_to_string(folder.path("pan-results").join("result.json")).expect("a result"));
    let moment = &result["moments"][0];
    assert_eq!(moment["grids"]["least_cover"]["band"], moment["least_cover_band"]);
}

#[test]
fn a_size_that_leaves_no_coarser_grid_is_refused() {
    let _turn = turn();
    let folder = Folder::new("no-coarser");
    folder.write("pan.toml", PAN);
    let answer = folder.run(&["slosh", "pan.toml", "--cell", "13.5 mm", "--refine"]);
    assert_eq!(answer.code, 2, "{}", answer.err);
    for words in [
        "no room for a coarser grid",
        "14.0 mm under the mouth",
        "--refine",
        "mend: state at most --cell",
    ] {
        assert!(
            answer.err.contains(words),
            "`{words}` is missing in:\n{}",
            answer.err
        );
    }
}
