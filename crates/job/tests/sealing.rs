//! The joint of a design: what is read, and what is told of wrong input with its place and its mend.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use sumpwright_job::{Design, Fault, JointKind, Sources, read_from};

fn root(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples/heath-lane")
        .join(name)
}

fn file(name: &str) -> String {
    std::fs::read_to_string(root(name)).unwrap()
}

/// The worked example, with changes to its text and files.
fn read(changes: &[(&str, &str)], files: &[(&str, &str)]) -> Result<Design, Vec<Fault>> {
    let mut joint = file("joint.toml");
    for (from, to) in changes {
        assert!(joint.contains(from), "{from} is not in the example");
        joint = joint.replacen(from, to, 1);
    }
    let mut all: BTreeMap<PathBuf, Vec<u8>> = BTreeMap::new();
    for name in [
        "first.toml",
        "second.toml",
        "pan-face.csv",
        "block-face.csv",
        "saturday.csv",
        "course.csv",
    ] {
        all.insert(name.into(), std::fs::read(root(name)).unwrap());
    }
    all.insert("joint.toml".into(), joint.into_bytes());
    for (name, text) in files {
        all.insert((*name).into(), text.as_bytes().to_vec());
    }
    read_from(Path::new("joint.toml"), &Sources::Memory(all))
}

#[track_caller]
fn told(changes: &[(&str, &str)], files: &[(&str, &str)], key: &str, what: &str) -> Fault {
    let faults = match read(changes, files) {
        Ok(_) => panic!("was taken; wanted: {what}"),
        Err(faults) => faults,
    };
    let found = faults.iter().find(|f| f.key == key && f.what.contains(what));
    let found = found.unwrap_or_else(|| panic!("wanted {key}: {what}; got {faults:#?}"));
    assert!(!found.mend.is_empty() && found.place.line > 0, "{found}");
    found.clone()
}

#[test]
fn the_worked_example_is_read() {
    let design = read(&[], &[]).unwrap_or_else(|f| panic!("{f:#?}"));
    let seal = design.sealing.unwrap();
    assert_eq!(seal.bolts.at.len(), 16);
    assert!(matches!(seal.kind, JointKind::Sealant { .. }));
    assert!(
        (seal.mean_width() - 20e-3).abs() < 0.1e-3,
        "{}",
        seal.mean_width()
    );
    let (pan, block) = (seal.pan_face.unwrap(), seal.block_face.unwrap());
    assert_eq!((pan.points.len(), block.points.len()), (32, 32));
    // Seen from below: the first row stands at y = +130 in its file and is the same place as the pan's first.
    assert!(block.points[0].truncate().distance(pan.points[0].truncate()) < 1e-9);
    // µm in the head.
    assert!(block.points[0].z.abs() < 0.05e-3);
    // Every file read is told, so that a run's key holds it.
    assert!(design.files.iter().any(|f| f.path == Path::new("pan-face.csv")));
}

#[test]
fn a_design_without_a_joint_has_none() {
    assert!(
        read_from(&root("second.toml"), &Sources::Disk)
            .unwrap()
            .sealing
            .is_none()
    );
}

#[test]
fn points_that_have_no_flatness_are_told_with_their_line() {
    let f = told(
        &[],
        &[(
            "pan-face.csv",
            "x [mm], y [mm], z [mm]\n-168, -130, 0\n0, -130, 0.02\n168, -130, 0\n",
        )],
        "seal.pan_face.file",
        "along one line",
    );
    assert!(f.mend.contains("round the whole flange"));
    let rows = "x [mm], y [mm], z [mm]\n-168, -130, 0\n168, -130, 0.02\n168, 130, 0\n# again\n168, -130, 0.05\n-168, 130, 0\n";
    let f = told(
        &[],
        &[("pan-face.csv", rows)],
        "seal.pan_face.file",
        "point 4 was measured twice: it lies where point 2 does",
    );
    assert_eq!((f.place.line, &*f.place.file), (6, Path::new("pan-face.csv")));
    told(
        &[],
        &[(
            "pan-face.csv",
            "x [mm], y [mm], z [mm]\n-168, -130, 0\n168, -130, 0.02\n168, 130, 0\n",
        )],
        "seal.pan_face.file",
        "3 points",
    );
    let f = told(
        &[],
        &[(
            "pan-face.csv",
            "x [mm], y [mm], z [mm]\n-168, -130, 0\n0, 0, 0.02\n168, 130, 0\n-168, 130, 0\n",
        )],
        "seal.pan_face.file",
        "point 2 at (0.0, 0.0) mm lies",
    );
    assert!(f.what.contains("off the flange") && f.place.line == 3);
}

#[test]
fn tables_that_do_not_say_enough_are_told() {
    told(
        &[],
        &[("pan-face.csv", "x, y, z\n-168, -130, 0\n")],
        "seal.pan_face.file",
        "x:",
    );
    told(
        &[],
        &[("pan-face.csv", "line, gap [mm]\nA, 0.05\n")],
        "seal.pan_face.file",
        "feeler readings have no places",
    );
    told(
        &[],
        &[(
            "pan-face.csv",
            "line, x [mm], y [mm], gap [mm]\nA, -168, -130, 0\nA, , , 0.05\nA, 168, -130, 0\n",
        )],
        "seal.pan_face.file",
        "has no place",
    );
    told(
        &[],
        &[(
            "pan-face.csv",
            "line, x [mm], y [mm], gap [mm]\nA, -168, -130, 0\nA, 0, 130, 0.05\nA, 168, -130, 0\n",
        )],
        "seal.pan_face.file",
        "beside the straight edge",
    );
    let faults = read(&[], &[("pan-face.csv", "")]).err().unwrap();
    assert!(
        faults
            .iter()
            .any(|f| f.what.contains("empty") && !f.mend.is_empty()),
        "{faults:#?}"
    );
}

#[test]
fn a_feeler_reading_without_its_place_is_told() {
    let lines = "lines = [{ from = [\"-168 mm\", \"-130 mm\"], to = [\"168 mm\", \"-130 mm\"], gaps = [\"0 mm\", \"0.05 mm\"] }]";
    let f = told(
        &[("file = \"pan-face.csv\"", lines)],
        &[],
        "seal.pan_face.lines[0].gaps",
        "has no place",
    );
    assert!(f.mend.contains("distance from the line's start"));
}

#[test]
fn bolts_off_the_flange_or_in_one_place_are_told_by_number() {
    told(
        &[("[\"0 mm\", \"-130 mm\"]", "[\"0 mm\", \"-100 mm\"]")],
        &[],
        "seal.bolts.at",
        "bolt 3 at (0.0, -100.0) mm stands inside",
    );
    told(
        &[("[\"0 mm\", \"-130 mm\"]", "[\"0 mm\", \"-150 mm\"]")],
        &[],
        "seal.bolts.at",
        "bolt 3 at (0.0, -150.0) mm stands outside",
    );
    told(
        &[("[\"0 mm\", \"-130 mm\"]", "[\"-84 mm\", \"-130 mm\"]")],
        &[],
        "seal.bolts.at",
        "bolts 2 and 3 stand in one place",
    );
}

#[test]
fn lengths_that_cannot_be_are_told() {
    let hole = (
        "thread_depth = \"18 mm\"          # full thread, from the face\nrecess = \"1 mm\"",
        "recess = \"0 mm\"",
    );
    told(
        &[
            hole,
            ("length = \"25 mm\"", "length = \"25 mm\"\nengagement = \"20 mm\""),
        ],
        &[],
        "seal.bolts.engagement",
        "an engagement of 20.0 mm",
    );
    told(
        &[("length = \"25 mm\"", "length = \"25 mm\"\nengagement = \"9 mm\"")],
        &[],
        "seal.bolts.engagement",
        "the depth of the block's thread",
    );
    told(
        &[("length = \"25 mm\"", "length = \"10 mm\"")],
        &[],
        "seal.bolts.length",
        "do not reach through",
    );
    told(
        &[("lubrication = \"oiled\"", "friction = [0.2, 0.1]")],
        &[],
        "seal.bolts.friction",
        "no range of friction",
    );
    told(
        &[("thread = \"M6\"", "thread = \"M7\"")],
        &[],
        "seal.bolts.thread",
        "\"M7\" is not known",
    );
}

/// Missing friction: the range that is taken stands among the inputs, with its reason.
#[test]
fn friction_that_is_not_known_is_told_as_a_range() {
    let design = read(&[("lubrication = \"oiled\"\n", "")], &[]).unwrap_or_else(|f| panic!("{f:#?}"));
    let line = design
        .inputs
        .iter()
        .find(|i| i.key == "seal.bolts.friction")
        .unwrap();
    assert_eq!(line.shown, "0.08 to 0.24");
    assert_eq!(design.sealing.unwrap().bolts.friction.high, 0.24);
}

/// Lines tie up through the opening; what hangs over it is no metal and leaves the face.
#[test]
fn straight_edges_that_cross_over_the_opening_give_the_rails_only() {
    let mut text = "line; x [mm]; y [mm]; gap [mm]\n".to_owned();
    let c = [(-205, -125), (205, -125), (205, 125), (-205, 125)];
    for (n, (a, b)) in [(0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3)]
        .into_iter()
        .enumerate()
    {
        let (p, q): ((i32, i32), (i32, i32)) = (c[a], c[b]);
        text += &format!(
            "{n}; {}; {}; 0\n{n}; {},0; {},0; 0,0\n{n}; {}; {}; 0\n",
            p.0,
            p.1,
            (p.0 + q.0) / 2,
            (p.1 + q.1) / 2,
            q.0,
            q.1
        );
    }
    let design = read(&[], &[("pan-face.csv", &text)]).unwrap_or_else(|f| panic!("{f:#?}"));
    let face = design.sealing.unwrap().pan_face.unwrap();
    assert_eq!((face.lines.len(), face.points.len()), (6, 8));
    assert!(face.points.iter().all(|p| p.z.abs() < 1e-9));
}
