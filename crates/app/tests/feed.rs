//! `sumpwright feed` from outside: the answer, the pictures, the gate, and wrong input.

mod common;

use common::{Folder, PAN};

/// A line for the test's pan, whose mouth is 36 mm wide.
const LINE: &str = r#"[feed]
bore = "18 mm"
pump = ["0 mm", "60 mm", "15 mm"]
entry = "box"
corners = [["0 mm", "0 mm", "0 mm"]]
bend_radius = "30 mm"
screen = { wire = "0.4 mm", opening = "1.2 mm" }
"#;

fn answer(name: &str, more: &str, arguments: &[&str]) -> (Folder, common::Answer) {
    let folder = Folder::new(name);
    folder.write("pan.toml", format!("{PAN}\n{more}"));
    let mut all = vec!["feed", "pan.toml"];
    all.extend(arguments);
    let answer = folder.run(&all);
    (folder, answer)
}

#[test]
fn a_line_is_followed_and_drawn() {
    let (folder, answer) = answer("feed", LINE, &["--out", "suction"]);
    assert_eq!(answer.code, 0, "{}\n{}", answer.out, answer.err);
    for word in [
        "With working oil the pump is fed",
        "Largest engine speed that is fed",
        "straight tube",
        "lift to the pump",
        "75 % of the screen blocked",
        "metal, 0.0500 mm",
        "O-ring",
        "It ranks mouths and passes none",
        "keep the pressure alarm",
    ] {
        assert!(
            answer.out.contains(word),
            "`{word}` is missing in:\n{}",
            answer.out
        );
    }
    for picture in ["inlet.svg", "losses.svg"] {
        let text = std::fs::read_to_string(folder.path("suction").join(picture)).expect(picture);
        assert!(
            text.contains("width=\"180mm\"") && !text.contains("NaN"),
            "{picture}"
        );
    }
    let map = std::fs::read_to_string(folder.path("suction").join("inlet.csv")).expect("the map is there");
    assert_eq!(map.lines().count(), 1 + 37 * 29);
}

#[test]
fn the_numbers_agree_with_each_other() {
    let (_folder, answer) = answer("feed-json", LINE, &["--json"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let f: serde_json::Value = serde_json::from_str(&answer.out).expect("one object");
    let number = |v: &serde_json::Value| v.as_f64().expect("a number");
    for state in f["states"].as_array().unwrap() {
        let lost: f64 = state["losses"]
            .as_array()
            .unwrap()
            .iter()
            .map(|l| number(&l["loss"]))
            .sum();
        assert!(
            (number(&f["over"]) - lost - number(&state["pressure"])).abs() < 1e-6,
            "{state}"
        );
    }
    // The same tube under another oil is another answer.
    let thick = PAN.replace("5W-30", "20W-50");
    assert_ne!(thick, PAN, "the test's pan names its grade");
    let folder = Folder::new("feed-thick");
    folder.write("pan.toml", format!("{thick}\n{}", LINE));
    let other = folder.run(&["feed", "pan.toml", "--json"]);
    let other: serde_json::Value = serde_json::from_str(&other.out).expect("one object");
    assert_ne!(f["speeds"], other["speeds"]);
}

#[test]
fn a_tube_too_narrow_fails_the_gate() {
    let narrow = LINE.replace("bore = \"18 mm\"", "bore = \"9 mm\"");
    let (_folder, answer) = answer("feed-narrow", &narrow, &["--gate"]);
    assert_eq!(answer.code, 1, "{}\n{}", answer.out, answer.err);
    assert!(
        answer.out.contains("under the") || answer.out.contains("draws foam"),
        "{}",
        answer.out
    );
}

#[test]
fn without_a_line_it_says_what_to_state_and_that_it_reads() {
    let (folder, bare) = answer("feed-none", "", &[]);
    assert_eq!(bare.code, 2, "{}", bare.out);
    for word in [
        "states no suction line",
        "pan.toml, feed",
        "nothing of it is assumed",
        "[feed]",
    ] {
        assert!(bare.err.contains(word), "`{word}` is missing in:\n{}", bare.err);
    }
    // What it shows can be used as it stands.
    let shown = &bare.err[bare.err.find("[feed]\n").unwrap()..];
    folder.write("pan.toml", format!("{PAN}\n{shown}"));
    let answer = folder.run(&["feed", "pan.toml"]);
    assert_eq!(answer.code, 0, "{}\n{shown}", answer.err);
}

#[test]
fn wrong_input_is_told_with_line_and_mend() {
    let wrong = LINE.replace("opening", "openning");
    let (_folder, answer) = answer("feed-wrong", &wrong, &[]);
    assert_eq!(answer.code, 2, "{}", answer.out);
    for word in [
        "\"openning\" is not known here",
        "feed.screen.openning",
        "did you mean \"opening\"?",
    ] {
        assert!(
            answer.err.contains(word),
            "`{word}` is missing in:\n{}",
            answer.err
        );
    }
}
