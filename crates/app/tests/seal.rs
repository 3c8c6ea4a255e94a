//! `sumpwright seal` from outside, on the worked example: the answer, the files, the gate, wrong input.

mod common;

use common::{Answer, Folder};

const FILES: [&str; 6] = [
    "first.toml",
    "second.toml",
    "pan-face.csv",
    "block-face.csv",
    "saturday.csv",
    "course.csv",
];

/// The worked example with changes to `joint.toml`.
fn answer(name: &str, changes: &[(&str, &str)], arguments: &[&str]) -> (Folder, Answer) {
    let folder = Folder::new(name);
    let from = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/heath-lane");
    for file in FILES {
        folder.write(file, std::fs::read_to_string(from.join(file)).unwrap());
    }
    let mut joint = std::fs::read_to_string(from.join("joint.toml")).unwrap();
    for (from, to) in changes {
        assert!(joint.contains(from), "{from}");
        joint = joint.replacen(from, to, 1);
    }
    folder.write("joint.toml", joint);
    let mut all = vec!["seal", "joint.toml"];
    all.extend(arguments);
    let answer = folder.run(&all);
    (folder, answer)
}

fn json(changes: &[(&str, &str)], name: &str) -> serde_json::Value {
    let (_folder, answer) = answer(name, changes, &["--json"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    serde_json::from_str(&answer.out).unwrap()
}

#[test]
fn the_worked_example_is_judged_and_drawn() {
    let (folder, answer) = answer("seal", &[], &["--out", "joint"]);
    assert_eq!(answer.code, 0, "{}\n{}", answer.out, answer.err);
    for word in [
        "out of flat",
        "The worst span is from bolt",
        "N·m (",
        "lbf·ft, ",
        "lbf·in)",
        "From the middle outward",
        "engine maker's torques",
        "keeps turning at the same torque",
        "on limit sizes",
    ] {
        assert!(
            answer.out.contains(word),
            "`{word}` is missing in:\n{}",
            answer.out
        );
    }
    for file in [
        "seal.txt",
        "seal.json",
        "pressure.svg",
        "face-pan.svg",
        "face-block.svg",
        "face-both.svg",
    ] {
        let text = std::fs::read_to_string(folder.path(&format!("joint/{file}")))
            .unwrap_or_else(|e| panic!("{file}: {e}"));
        assert!(!text.contains("NaN") && !text.contains("inf"), "{file}");
    }
}

/// The cut that is suggested, made in the table of readings, brings the face under its target.
#[test]
fn the_skim_suggested_mends_the_face() {
    let block = "[seal.block_face]\nfile = \"block-face.csv\"\nseen_from = \"below\"\n";
    let before = json(
        &[(block, ""), ("target = \"0.1 mm\"", "target = \"0.05 mm\"")],
        "before-skim",
    );
    let face = &before["faces"][0];
    let (flatness, skim) = (face["flatness"].as_f64().unwrap(), &face["skim"]);
    assert!(flatness > 0.05e-3);
    assert!((skim["depth"].as_f64().unwrap() - (flatness - 0.05e-3)).abs() < 1e-12);
    let cuts = skim["places"].as_array().unwrap();
    let mut rows = "x [mm], y [mm], z [mm]\n".to_owned();
    for p in face["points"].as_array().unwrap() {
        let at = |k: usize| p[k].as_f64().unwrap();
        let depth = cuts
            .iter()
            .find(|c| c[0] == p[0] && c[1] == p[1])
            .map_or(0.0, |c| c[2].as_f64().unwrap());
        rows += &format!("{}, {}, {}\n", at(0) * 1e3, at(1) * 1e3, (at(2) - depth) * 1e3);
    }
    let folder = Folder::new("after-skim");
    let from = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/heath-lane");
    for file in FILES {
        folder.write(file, std::fs::read_to_string(from.join(file)).unwrap());
    }
    folder.write("pan-face.csv", rows);
    let joint = std::fs::read_to_string(from.join("joint.toml")).unwrap();
    folder.write(
        "joint.toml",
        joint
            .replace(block, "")
            .replace("target = \"0.1 mm\"", "target = \"0.05 mm\""),
    );
    let answer = folder.run(&["seal", "joint.toml", "--json"]);
    let after: serde_json::Value = serde_json::from_str(&answer.out).unwrap();
    let flat = after["faces"][0]["flatness"].as_f64().unwrap();
    assert!(flat <= 0.05e-3 * (1.0 + 1e-9), "{flat}");
    assert!(after["faces"][0].get("skim").is_none() || flat > 0.05e-3);
}

#[test]
fn a_torque_above_proof_is_warned_of_with_the_number_and_fails_the_gate() {
    let (_folder, answer) = answer(
        "proof",
        &[("torque = \"8 N.m\"", "torque = \"14 N.m\"")],
        &["--gate"],
    );
    assert_eq!(answer.code, 1, "{}", answer.out);
    assert!(
        answer.out.contains("over its proof load of 11.60 kN"),
        "{}",
        answer.out
    );
    assert!(
        answer
            .out
            .contains("the stated 14.0 N·m (10.3 lbf·ft, 124 lbf·in)"),
        "{}",
        answer.out
    );
}

#[test]
fn a_torque_that_breaks_the_bolts_is_said_first_and_presses_nothing() {
    let change = [("torque = \"8 N.m\"", "torque = \"40 N.m\"")];
    let (_folder, answer) = answer("breaks", &change, &[]);
    let said = "the bolts may break before the wrench is through";
    assert!(answer.out.contains(said), "{}", answer.out);
    assert!(!answer.out.contains("gets what it needs"), "{}", answer.out);
}

/// What the library can say of a joint, the command says.
#[test]
fn another_joint_is_tried_and_the_bolt_that_is_missed_most_is_named() {
    let (_folder, answer) = answer("another", &[], &[]);
    for words in ["a cord of 3.00 mm", "can be spared least: were it lost"] {
        assert!(
            answer.out.contains(words),
            "`{words}` is missing in:\n{}",
            answer.out
        );
    }
}

#[test]
fn bolts_that_bottom_are_warned_of() {
    let (_folder, answer) = answer("bottom", &[("length = \"25 mm\"", "length = \"35 mm\"")], &[]);
    assert!(
        answer
            .out
            .contains("the bolts bottom 5.40 mm (0.213 in) before they clamp"),
        "{}",
        answer.out
    );
    assert!(
        answer
            .out
            .contains("the bolts bottom in their holes and clamp nothing"),
        "{}",
        answer.out
    );
}

#[test]
fn missing_friction_is_counted_as_a_range_that_is_said() {
    let (_folder, answer) = answer("friction", &[("lubrication = \"oiled\"\n", "")], &[]);
    assert!(
        answer
            .out
            .contains("Friction is not known: 0.08 to 0.24 is counted"),
        "{}",
        answer.out
    );
}

/// More clamp load never opens the joint.
#[test]
fn more_torque_does_not_make_the_joint_worse() {
    let service = |torque: &str| {
        let change = format!("torque = \"{torque}\"");
        json(&[("torque = \"8 N.m\"", &change)], &format!("torque-{torque}"))["press"]["widest"]
            .as_f64()
            .unwrap()
    };
    assert!(service("8 N.m") <= service("6 N.m") + 1e-9);
}

#[test]
fn a_design_without_a_joint_says_what_to_add() {
    let folder = Folder::new("no-joint");
    folder.write("pan.toml", common::PAN);
    let answer = folder.run(&["seal", "pan.toml"]);
    assert_eq!(answer.code, 2);
    assert!(
        answer.err.contains("states no joint") && answer.err.contains("[seal.bolts]"),
        "{}",
        answer.err
    );
}

/// Torque and angle as typed at the bench: a bolt that climbs, one that keeps turning at the same torque.
#[test]
fn a_bolt_that_keeps_turning_is_flagged() {
    let (folder, _) = answer("seal-turned", &[], &[]);
    let head = "bolt, angle [deg], torque [N.m]\n";
    folder.write(
        "read.csv",
        format!("{head}1, 0, 1\n1, 20, 4\n1, 40, 7\n2, 0, 1\n2, 20, 4\n2, 40, 7\n2, 60, 7.2\n2, 90, 7.2\n2, 120, 7.1\n"),
    );
    let answer = folder.run(&["seal", "joint.toml", "--turned", "read.csv", "--gate"]);
    assert_eq!(answer.code, 1, "{}", answer.err);
    assert!(answer.out.contains("Bolt 1 climbs"), "{}", answer.out);
    assert!(
        answer.out.contains("warning: bolt 2 turned on by 80"),
        "{}",
        answer.out
    );
    for (text, said) in [
        ("", "the table is empty"),
        (
            "bolt, angle [deg]\n1, 2\n",
            "does not name bolt, angle and torque",
        ),
        ("bolt, angle [deg], torque [N.m]\n", "no rows"),
        ("bolt, angle [deg], torque [N.m]\n99, 0, 1\n", "read.csv:2"),
        ("bolt, angle, torque [N.m]\n1, 0, 1\n", "angle:"),
        (
            "bolt, angle [deg], torque [N.m]\n1, 0, 1\n1, 20, 4\n",
            "three at least",
        ),
    ] {
        folder.write("read.csv", text);
        let wrong = folder.run(&["seal", "joint.toml", "--turned", "read.csv"]);
        assert_eq!(wrong.code, 2, "{text}");
        assert!(wrong.err.contains(said), "`{said}` is missing in:\n{}", wrong.err);
    }
}
