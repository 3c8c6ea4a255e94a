//! `sumpwright bays` through the real program.

mod common;

use common::Folder;

fn a_box(name: &str) -> Folder {
    let folder = Folder::new(name);
    folder.write("pan.toml", std::fs::read("../../examples/box/pan.toml").unwrap());
    folder
}

#[test]
fn the_spaces_and_what_joins_them_are_told_with_the_verdict() {
    let answer = a_box("bays").run(&["bays", "pan.toml"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    for words in [
        "middle",
        "front",
        "rear",
        "open to front",
        "least cover",
        "mouth bare for",
        "stop: ",
        "no waves within a space",
    ] {
        assert!(
            answer.out.contains(words),
            "`{words}` is missing in:\n{}",
            answer.out
        );
    }
}

/// Spaces hold the oil that the pump has not taken: fill less what is aloft, at every row.
#[test]
fn the_json_holds_a_history_whose_ledger_is_the_fill() {
    let answer = a_box("bays-json").run(&["bays", "pan.toml", "--json"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let value: serde_json::Value = serde_json::from_str(&answer.out).expect("one JSON object");
    assert_eq!(value["spaces"].as_array().unwrap().len(), 3);
    let history = &value["history"];
    let ledger = history["ledger"].as_array().unwrap();
    assert!(ledger.len() > 500, "{}", ledger.len());
    for row in ledger {
        let part = |key: &str| row[key].as_f64().unwrap();
        let sum = part("pan") + part("engine") + part("in_flight");
        assert!((sum - 4.2e-3).abs() < 1e-11, "{row}");
    }
}

#[test]
fn a_pan_that_is_too_full_is_refused() {
    let folder = a_box("bays-full");
    folder.write(
        "full.toml",
        "format = \"2026-11\"\nname = \"Full\"\nbase = \"pan.toml\"\n[fill]\nvolume = \"40 L\"\n",
    );
    let answer = folder.run(&["bays", "full.toml"]);
    assert_eq!(answer.code, 2, "{}", answer.out);
    assert!(
        answer.err.contains("error: ") && answer.err.contains("mend: "),
        "{}",
        answer.err
    );
}

/// The page of a sketch says that it is one, and what it cannot see; it never takes the place of the proof's page.
#[test]
fn the_report_of_a_sketch_says_what_it_cannot_see() {
    let folder = a_box("bays-report");
    let answer = folder.run(&["bays", "pan.toml", "--report", "--out", "out"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let page = std::fs::read_to_string(folder.path("out/bays.html")).unwrap();
    for words in [
        "A sketch, not the proof",
        "sumpwright check",
        "climbs a wall",
        "lowest fill that holds",
    ] {
        assert!(page.contains(words), "`{words}` is missing");
    }
    assert!(
        !page.contains("in three dimensions"),
        "the page claims more than was done"
    );
    assert!(!folder.path("out/report.html").exists());
    let text = std::fs::read_to_string(folder.path("out/bays.json")).unwrap();
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(value["depth"], "bays");
    assert_eq!(value["aloft"].as_array().unwrap().len(), 3);
}

#[test]
fn a_race_tells_the_lap_in_which_the_margin_goes() {
    let folder = a_box("bays-race");
    let text = std::fs::read_to_string(folder.path("pan.toml")).unwrap();
    let (rest, _) = text.split_once("[[drive.manoeuvre]]").unwrap();
    let calm = "[[drive.manoeuvre]]\nname = \"sweep\"\nkind = \"sustained corner\"\nside = \"left\"\nlateral = \"0.2 g\"\n\
                speed = \"80 km/h\"\nhold = \"4 s\"\n";
    folder.write("calm.toml", format!("{rest}{calm}"));
    let answer = folder.run(&["bays", "calm.toml", "--race", "1 h", "--burns", "3 L/h", "--json"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let value: serde_json::Value = serde_json::from_str(&answer.out).unwrap();
    let laps = value["laps"].as_array().unwrap();
    assert!(laps.len() > 10);
    let left = |n: usize| laps[n]["left"].as_f64().unwrap();
    let seconds = value["lap"]["end"].as_f64().unwrap() - value["lap"]["start"].as_f64().unwrap();
    assert!((left(0) - left(1) - 3e-3 / 3600.0 * seconds).abs() < 1e-9);
    let thin = value["first_thin"]
        .as_u64()
        .expect("three litres an hour empty a box");
    let limit = value["limit"].as_f64().unwrap();
    assert!(laps[thin as usize - 1]["least_cover"].as_f64().unwrap() < limit);
    assert!(laps[thin as usize - 2]["least_cover"].as_f64().unwrap() >= limit);
    let told = folder.run(&["bays", "calm.toml", "--race", "1 h", "--burns", "3 L/h"]);
    assert!(told.out.contains("Refill before lap"), "{}", told.out);
}

#[test]
fn a_race_that_cannot_be_is_refused_with_the_option() {
    let folder = a_box("bays-race-wrong");
    for (options, words) in [
        (&["--race", "2 parsecs"][..], ["--race", "2 parsecs"]),
        (&["--race", "0.1 s"][..], ["--race", "shorter than a lap"]),
        (
            &["--race", "1 h", "--burns", "9 L/h"][..],
            ["--burns", "out of range"],
        ),
    ] {
        let answer = folder.run(&[&["bays", "pan.toml"], options].concat());
        assert_eq!(answer.code, 2, "{}", answer.err);
        for word in words {
            assert!(
                answer.err.contains(word),
                "`{word}` is missing in:\n{}",
                answer.err
            );
        }
    }
}

#[test]
fn the_spaces_are_drawn_with_their_names_and_what_joins_them() {
    let folder = a_box("bays-picture");
    let answer = folder.run(&["bays", "pan.toml", "--picture", "spaces.svg"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let drawn = std::fs::read_to_string(folder.path("spaces.svg")).unwrap();
    for words in [">middle<", ">front<", ">rear<", "cm²", "The spaces of the pan"] {
        assert!(drawn.contains(words), "`{words}` is missing");
    }
    let answer = folder.run(&["bays", "pan.toml", "--picture", "pan.toml"]);
    assert_eq!(answer.code, 2, "{}", answer.err);
    assert!(answer.err.contains("--picture"), "{}", answer.err);
}
