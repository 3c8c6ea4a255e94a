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
