//! `sumpwright explain` and `sumpwright diff` through the real program.

mod common;

use common::Folder;

#[track_caller]
fn said(name: &str, arguments: &[&str], words: &[&str]) {
    let answer = Folder::new(name).run(arguments);
    assert_eq!(answer.code, 0, "{}", answer.err);
    for word in words {
        assert!(
            answer.out.contains(word),
            "`{word}` is missing in:\n{}",
            answer.out
        );
    }
}

#[test]
fn a_key_is_explained_however_it_is_typed() {
    said(
        "explain-door",
        &["explain", "door \"front door\".stop"],
        &[
            "door.stop",
            "widest angle",
            "60.0 deg",
            "common practice, no source",
            "shuts too late",
        ],
    );
    said(
        "explain-section",
        &["explain", "[[plate]]"],
        &["holes.diameter", "perforation", "lower and upper edge"],
    );
    said(
        "explain-all",
        &["explain"],
        &["pickup", "circuit", "oil that is not in the pan"],
    );
    said(
        "explain-experiment",
        &["explain", "start.level", "--of", "experiment"],
        &["height of the level liquid", "level, volume, box"],
    );
}

/// 41 mm holds for an opening of 38 mm alone: a default that follows from other keys says so.
#[test]
fn a_default_that_follows_from_other_keys_is_not_told_as_a_number_for_all() {
    for key in ["pickup.outside", "door.mass"] {
        said("explain-follows", &["explain", key], &["follows from other keys"]);
    }
    let plain = Folder::new("explain-plain").run(&["explain", "door.stop"]);
    assert!(!plain.out.contains("follows"), "{}", plain.out);
}

#[test]
fn a_key_that_is_not_known_gets_the_likely_one() {
    for (asked, likely) in [
        ("door.hing", "door.hinge"),
        ("mouth", "pickup.mouth"),
        ("volume", "fill.volume"),
    ] {
        let answer = Folder::new("explain-slip").run(&["explain", asked]);
        assert_eq!(answer.code, 2, "{}", answer.out);
        assert!(
            answer.err.contains(&format!("\"{asked}\"")) && answer.err.contains(likely),
            "{}",
            answer.err
        );
    }
}

#[test]
fn the_json_of_a_key_holds_its_default_with_the_reason() {
    let answer = Folder::new("explain-json").run(&["explain", "return.delay", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&answer.out).expect("a JSON list");
    assert_eq!(value[0]["key"], "return.delay");
    assert_eq!(value[0]["default"], "1.00 s");
    assert!(
        value[0]["reason"]
            .as_str()
            .unwrap()
            .starts_with("common practice")
    );
}

/// The numbers by hand: 20 mm deeper under 320 x 220 mm with corners of 12 mm radius, (4 − π) r² less each layer:
/// 0.020 · (0.0704 − 0.8584 · 0.000144) m³ = 1.4055 L more.
#[test]
fn a_revision_is_told_in_words_and_numbers() {
    let folder = Folder::new("diff");
    folder.write("pan.toml", std::fs::read("../../examples/box/pan.toml").unwrap());
    folder.write(
        "two.toml",
        "format = \"2026-11\"\nname = \"Deeper\"\nbase = \"pan.toml\"\n\n[[pocket]]\nname = \"sump\"\n\
         z = [\"-130 mm\", \"0 mm\"]\n\n[[plate]]\nname = \"roof\"\n\
         shelf = { x = [\"-60 mm\", \"40 mm\"], y = [\"-100 mm\", \"100 mm\"] }\nz = \"-20 mm\"\n\n[[door]]\n\
         name = \"front door\"\nremove = true\n\n[pickup]\nmouth = [\"-10 mm\", \"0 mm\", \"-120 mm\"]\n",
    );
    let answer = folder.run(&["diff", "pan.toml", "two.toml"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    for words in [
        "Deeper, against",
        "+1.41 L",
        "+20.0 mm",
        "plate \"roof\"",
        "door \"front door\"",
        "pocket \"sump\".z",
        "pickup.mouth",
        "doors",
    ] {
        assert!(
            answer.out.contains(words),
            "`{words}` is missing in:\n{}",
            answer.out
        );
    }
    let answer = folder.run(&["diff", "pan.toml", "two.toml", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&answer.out).expect("one JSON object");
    let room = &value["numbers"][0];
    let step = room["to"].as_f64().unwrap() - room["from"].as_f64().unwrap();
    assert!((step - 1.4055e-3).abs() < 2e-7, "{step}");
    let same = folder.run(&["diff", "pan.toml", "pan.toml"]);
    assert!(same.out.contains("nothing differs"), "{}", same.out);
    let gone = folder.run(&["diff", "pan.toml", "three.toml"]);
    assert_eq!(gone.code, 2);
    assert!(
        gone.err.contains("three.toml") && gone.err.contains("mend: "),
        "{}",
        gone.err
    );
}

#[test]
fn a_new_project_brings_the_schema_that_its_design_names() {
    let folder = Folder::new("new-schema");
    let answer = folder.run(&["new", "my-pan"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let design = std::fs::read_to_string(folder.path("my-pan/pan.toml")).unwrap();
    assert!(
        design.starts_with("#:schema pan.schema.json\n"),
        "{}",
        &design[..80]
    );
    let schema = std::fs::read_to_string(folder.path("my-pan/pan.schema.json")).unwrap();
    let schema: serde_json::Value = serde_json::from_str(&schema).unwrap();
    assert!(schema["properties"]["pickup"]["properties"]["mouth"].is_object());
}
