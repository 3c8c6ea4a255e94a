//! `sumpwright clearance` from outside: the answer, the picture, the gate, and every kind of wrong input.

mod common;

use common::{Folder, PAN};

/// A bar 20 mm under the floor of the test's pan (walls of 3 mm), engine on solid mounts.
const BAR: &str = r#"
[engine_movement]
front = "0 mm"
rear = "0 mm"
left = "0 mm"
right = "0 mm"
up = "0 mm"
down = "2 mm"
[[keep_out]]
name = "bar"
box = { low = ["-20 mm", "-300 mm", "-160 mm"], high = ["20 mm", "300 mm", "-120 mm"] }
"#;

fn answer(name: &str, more: &str, arguments: &[&str]) -> (Folder, common::Answer) {
    let folder = Folder::new(name);
    folder.write("pan.toml", format!("{PAN}{more}"));
    let mut all = vec!["clearance", "pan.toml"];
    all.extend(arguments);
    let answer = folder.run(&all);
    (folder, answer)
}

#[test]
fn a_bar_under_the_floor_is_measured_and_drawn() {
    let (folder, answer) = answer("bar", BAR, &["--picture", "bar.svg", "--gate"]);
    assert_eq!(answer.code, 0, "{}\n{}", answer.out, answer.err);
    // 20 mm less a floor of 3 mm, less 2 mm when the engine sinks.
    for word in [
        "bar",
        "pan's floor",
        "17.0 mm",
        "15.0 mm",
        "clear",
        "Every gap is as large as wanted",
    ] {
        assert!(
            answer.out.contains(word),
            "`{word}` is missing in:\n{}",
            answer.out
        );
    }
    let picture = std::fs::read_to_string(folder.path("bar.svg")).expect("the picture is there");
    assert!(
        picture.contains("width=\"180mm\"") && picture.contains(">bar<"),
        "{picture}"
    );
    assert!(!picture.contains("NaN"), "{picture}");
}

#[test]
fn a_gap_too_small_is_warned_of_with_its_place_and_fails_the_gate() {
    let near = BAR.replace("\"-120 mm\"] }", "\"-106 mm\"] }");
    let (_folder, answer) = answer("near-bar", &near, &["--gate"]);
    assert_eq!(answer.code, 1, "{}\n{}", answer.out, answer.err);
    for word in [
        "warning: bar comes within 1.00 mm",
        "(3.00 mm (0.118 in) at rest)",
        "pan.toml:",
        "keep_out \"bar\"",
        "mend: ",
    ] {
        assert!(
            answer.err.contains(word),
            "`{word}` is missing in:\n{}",
            answer.err
        );
    }
    assert!(answer.out.contains("too close"), "{}", answer.out);
}

#[test]
fn json_says_the_same_in_metres() {
    let (_folder, answer) = answer("bar-json", BAR, &["--json"]);
    let value: serde_json::Value = serde_json::from_str(&answer.out).expect("one JSON object");
    let pair = &value["pairs"][0];
    assert_eq!(pair["body"], "bar");
    assert_eq!(pair["state"], "clear");
    assert!(
        (pair["at_rest"].as_f64().expect("a number") - 0.017).abs() < 1e-5,
        "{pair}"
    );
    assert!(
        (pair["moved"].as_f64().expect("a number") - 0.015).abs() < 1e-5,
        "{pair}"
    );
}

#[test]
fn a_check_tells_early_and_shows_it_on_the_page() {
    let near = BAR.replace("\"-120 mm\"] }", "\"-106 mm\"] }");
    let folder = Folder::new("bar-check");
    folder.write("pan.toml", format!("{PAN}{near}"));
    let answer = folder.check(&[]);
    assert_eq!(answer.code, 0, "{}\n{}", answer.out, answer.err);
    assert!(
        answer.err.contains("warning: bar comes within 1.00 mm"),
        "{}",
        answer.err
    );
    let page = std::fs::read_to_string(folder.path("pan-results/report.html")).expect("the page");
    for word in ["Does it fit", "too close, on the pan at", "use rated stands"] {
        assert!(page.contains(word), "`{word}` is missing in the page");
    }
    let json = std::fs::read_to_string(folder.path("pan-results/result.json")).expect("the result");
    assert!(json.contains("\"clearance\""));
}

#[test]
fn the_example_is_read_and_told() {
    let folder = Folder::new("tight-bay");
    let text = include_str!("../../../examples/tight-bay/pan.toml");
    folder.write("pan.toml", text);
    let answer = folder.run(&["clearance", "pan.toml"]);
    assert_eq!(answer.code, 0, "{}\n{}", answer.out, answer.err);
    for word in [
        "crossmember",
        "drag link",
        "header",
        "starter",
        "road",
        "rod 1",
        "oil pump",
    ] {
        assert!(
            answer.out.contains(word),
            "`{word}` is missing in:\n{}",
            answer.out
        );
    }
}

/// Wants exit code 2 with each of `words` in the message, a place and a way to mend it.
fn refused(name: &str, more: &str, arguments: &[&str], words: &[&str]) {
    let (_folder, answer) = answer(name, more, arguments);
    assert_eq!(answer.code, 2, "{}\n{}", answer.out, answer.err);
    for word in words.iter().chain(&["error: ", "mend: ", "  at "]) {
        assert!(
            answer.err.contains(word),
            "`{word}` is missing in:\n{}",
            answer.err
        );
    }
    assert!(!answer.err.contains("panicked"), "{}", answer.err);
}

fn keep_out(name: &str, body: &str, words: &[&str]) {
    refused(
        name,
        &format!("[[keep_out]]\nname = \"bar\"\n{body}\n"),
        &[],
        words,
    );
}

#[test]
fn a_design_without_surroundings_is_told_what_to_add() {
    refused(
        "no-bodies",
        "",
        &[],
        &["states nothing that the pan could touch", "[[keep_out]]"],
    );
}

#[test]
fn the_picture_must_be_an_svg() {
    refused(
        "no-svg",
        BAR,
        &["--picture", "pan.toml"],
        &["pan.toml does not end in .svg", ".svg"],
    );
}

#[test]
fn a_body_without_a_shape_or_with_two_is_refused() {
    keep_out(
        "no-shape",
        "",
        &["none of box, cylinder, tube, plane, road, swing and mesh is stated"],
    );
    let two = "box = { low = [\"0 mm\", \"0 mm\", \"-200 mm\"], high = [\"1 mm\", \"1 mm\", \"-190 mm\"] }\n\
               road = { below = \"200 mm\", bump = \"50 mm\" }";
    keep_out(
        "two-shapes",
        two,
        &["box and road are stated", "keep one of them"],
    );
}

#[test]
fn bodies_without_size_are_refused() {
    let flat = "box = { low = [\"0 mm\", \"0 mm\", \"-200 mm\"], high = [\"1 mm\", \"0 mm\", \"-190 mm\"] }";
    keep_out(
        "flat-box",
        flat,
        &["the box has no size", "keep_out \"bar\".box.high"],
    );
    let point = "cylinder = { from = [\"0 mm\", \"0 mm\", \"-200 mm\"], to = [\"0 mm\", \"0 mm\", \"-200 mm\"], diameter = \"9 mm\" }";
    keep_out("point-cylinder", point, &["from and to are one point"]);
    let thin = "tube = { path = [[\"0 mm\", \"0 mm\", \"-200 mm\"]], diameter = \"9 mm\" }";
    keep_out("short-tube", thin, &["a tube needs two points or more"]);
    let none = "cylinder = { from = [\"0 mm\", \"0 mm\", \"-200 mm\"], to = [\"9 mm\", \"0 mm\", \"-200 mm\"], diameter = \"0 mm\" }";
    keep_out("no-diameter", none, &["is out of range", "diameter"]);
}

#[test]
fn bare_numbers_unknown_words_and_far_bodies_are_refused() {
    keep_out(
        "bare",
        "box = { low = [0, 0, -200], high = [\"1 mm\", \"1 mm\", \"-190 mm\"] }",
        &["unit"],
    );
    let road = "road = { below = \"200 mm\", bump = \"50 mm\" }";
    keep_out(
        "word",
        &format!(
            "kind = \"hoot\"\n{}",
            "plane = { at = [\"0 mm\", \"0 mm\", \"-300 mm\"], faces = \"up\" }"
        ),
        &["\"hoot\" is not known", "\"hot\""],
    );
    keep_out(
        "key",
        "plane = { at = [\"0 mm\", \"0 mm\", \"-300 mm\"], faces = \"up\" }\ngapp = \"3 mm\"",
        &["did you mean \"gap\"?"],
    );
    keep_out(
        "road-kind",
        &format!("kind = \"hot\"\n{road}"),
        &["the road is a kind of its own"],
    );
    let far = "box = { low = [\"0 m\", \"0 m\", \"-20 m\"], high = [\"1 m\", \"1 m\", \"-19 m\"] }";
    keep_out("far", far, &["reaches 20.0 m", "within 10 m of the pan"]);
    keep_out(
        "inside-road",
        &format!("inside = true\n{road}"),
        &["has no end and cannot lie inside"],
    );
}

#[test]
fn swings_are_checked() {
    let swing = |angles: &str, to: &str| {
        format!(
            "swing = {{ from = [\"0 mm\", \"0 mm\", \"-200 mm\"], to = {to}, diameter = \"20 mm\", pivot = [\"0 mm\", \"90 mm\", \"-200 mm\"], axis = \"up\", angles = {angles} }}"
        )
    };
    let far = "[\"0 mm\", \"300 mm\", \"-200 mm\"]";
    keep_out(
        "swing-back",
        &swing("[\"20 deg\", \"-20 deg\"]", far),
        &["angles runs from"],
    );
    keep_out(
        "swing-round",
        &swing("[\"-200 deg\", \"200 deg\"]", far),
        &["more than a whole turn"],
    );
    let same = "[\"0 mm\", \"0 mm\", \"-200 mm\"]";
    keep_out(
        "swing-point",
        &swing("[\"-20 deg\", \"20 deg\"]", same),
        &["the link has no length"],
    );
}

#[test]
fn scans_are_checked() {
    let scan = "mesh = { file = \"scan.stl\", unit = \"mm\" }";
    keep_out(
        "no-scan",
        scan,
        &["there is no file", "scan.stl", "keep_out \"bar\".mesh.file"],
    );
    keep_out(
        "no-unit",
        "mesh = { file = \"scan.stl\" }",
        &["unit is not stated"],
    );
    keep_out(
        "scan-away",
        "mesh = { file = \"../scan.stl\", unit = \"mm\" }",
        &["leaves the project folder"],
    );
    let folder = Folder::new("bad-scan");
    folder.write("pan.toml", format!("{PAN}[[keep_out]]\nname = \"bar\"\n{scan}\n"));
    for bytes in [&b"nothing of a mesh"[..], &[0; 84], &[255; 90]] {
        folder.write("scan.stl", bytes);
        let answer = folder.run(&["clearance", "pan.toml"]);
        assert_eq!(answer.code, 2, "{}\n{}", answer.out, answer.err);
        assert!(answer.err.contains("mend: "), "{}", answer.err);
        assert!(!answer.err.contains("panicked"), "{}", answer.err);
    }
}

#[test]
fn an_open_scan_is_measured_by_its_skin() {
    let folder = Folder::new("open-scan");
    let text = format!(
        "{PAN}{}",
        BAR.replace("box = {", "mesh = { file = \"scan.stl\", unit = \"mm\" }\n#")
    );
    folder.write("pan.toml", text);
    folder.write(
        "scan.stl",
        "solid s\nfacet normal 0 0 1\nouter loop\nvertex -900 -900 -133\nvertex 900 -900 -133\nvertex 0 900 -133\nendloop\nendfacet\nendsolid s\n",
    );
    let answer = folder.run(&["clearance", "pan.toml"]);
    assert_eq!(answer.code, 0, "{}\n{}", answer.out, answer.err);
    assert!(
        answer.out.contains("30.0 mm") && answer.out.contains("28.0 mm"),
        "{}",
        answer.out
    );
}

const RODS: &str = r#"
[crank]
from = ["-140 mm", "0 mm", "62 mm"]
to = ["140 mm", "0 mm", "62 mm"]
radius = "70 mm"
[rods]
stroke = "80 mm"
length = "130 mm"
big_end = "70 mm"
cap = "30 mm"
width = "22 mm"
stations = ["40 mm", "120 mm"]
"#;

#[test]
fn rods_are_measured_to_the_walls() {
    let (_folder, answer) = answer("rods", RODS, &[]);
    assert_eq!(answer.code, 0, "{}\n{}", answer.out, answer.err);
    // The cap's lowest corner stands 72 mm under the crank's centre: the walls, 100 mm beside it, are nearer.
    for word in ["rod 2", "pan's inside wall", "Every gap is as large as wanted"] {
        assert!(
            answer.out.contains(word),
            "`{word}` is missing in:\n{}",
            answer.out
        );
    }
}

#[test]
fn rods_that_cannot_be_are_refused() {
    let changed = |from: &str, to: &str| {
        assert!(RODS.contains(from), "the test's rods have no `{from}`");
        RODS.replace(from, to)
    };
    let no_crank = &RODS[RODS.find("[rods]").expect("rods")..];
    refused(
        "no-crank",
        no_crank,
        &[],
        &["the rods need the crank's centreline", "[crank]"],
    );
    refused(
        "short-rod",
        &changed("130 mm", "30 mm"),
        &[],
        &["cannot go round a throw of 40.0 mm", "rods.length"],
    );
    refused(
        "no-stations",
        &changed("[\"40 mm\", \"120 mm\"]", "[]"),
        &[],
        &["0 rods are stated"],
    );
    let leans = format!("{RODS}leans = [\"45 deg\"]\n");
    refused("leans", &leans, &[], &["1 leans for 2 rods"]);
    let two = format!("{RODS}outline = [[\"0 mm\", \"0 mm\"], [\"9 mm\", \"0 mm\"], [\"0 mm\", \"9 mm\"]]\n");
    refused("two-big-ends", &two, &[], &["big_end and outline are stated"]);
}

#[test]
fn the_outside_is_checked() {
    let outside = |name: &str, keys: &str, words: &[&str]| {
        refused(name, &format!("{BAR}[outside]\n{keys}\n"), &[], words);
    };
    outside("thick", "wall = \"3 m\"", &["out of range", "outside.wall"]);
    outside("edges", "edges = \"sharp\"", &["\"sharp\" is not known"]);
    outside(
        "two-flanges",
        "flange_width = \"20 mm\"\nflange_outline = [[\"-200 mm\", \"-150 mm\"], [\"200 mm\", \"-150 mm\"], [\"0 mm\", \"150 mm\"]]",
        &["an outline and a width"],
    );
    outside(
        "plug",
        "drain_plug = { at = [\"0 mm\", \"0 mm\", \"-100 mm\"], points = \"down\" }",
        &["diameter", "length"],
    );
    refused(
        "movement",
        &BAR.replace("down = \"2 mm\"", "down = \"-2 mm\""),
        &[],
        &["out of range", "engine_movement.down"],
    );
}

/// The bar of 40 mm lies 20 mm under a floor of 200 mm across: growth down is told, and the way out is past it.
#[test]
fn room_to_grow_and_the_way_out_are_told() {
    let (_folder, answer) = answer("room", BAR, &["--json"]);
    let value: serde_json::Value = serde_json::from_str(&answer.out).expect("one JSON object");
    let down = value["growth"]
        .as_array()
        .expect("rows")
        .iter()
        .find(|g| g["toward"] == "down")
        .expect("a row for down");
    // 20 mm less 3 mm of floor, 6 mm wanted, 2 mm of movement.
    assert!(
        (down["free"].as_f64().expect("a number") - 0.009).abs() < 1e-5,
        "{down}"
    );
    assert!(
        (down["gained"].as_f64().expect("a number") - 0.3 * 0.2 * 0.009).abs() < 1e-6,
        "{down}"
    );
    assert_eq!(down["stopped_by"], "bar");
    let removal = &value["removal"];
    assert_eq!(
        removal["comes_out"], false,
        "a bar right across its middle: {removal}"
    );
    assert_eq!(removal["without"][0], "bar");
    assert!(
        (removal["straight"].as_f64().expect("a number") - 0.0165).abs() < 1e-4,
        "{removal}"
    );
}

#[test]
fn a_pan_that_drops_out_is_told_so_with_the_caution() {
    let beside = BAR.replace("\"-20 mm\", \"-300 mm\"", "\"-20 mm\", \"140 mm\"");
    let (_folder, answer) = answer("drops", &beside, &[]);
    assert_eq!(answer.code, 0, "{}\n{}", answer.out, answer.err);
    for word in [
        "The pan drops straight out",
        "Work under a car only on rated stands",
        "room to grow",
    ] {
        assert!(
            answer.out.contains(word),
            "`{word}` is missing in:\n{}",
            answer.out
        );
    }
    // Once and no more.
    assert_eq!(answer.out.matches("rated stands").count(), 1);
}

#[test]
fn what_is_said_of_removal_is_checked() {
    let removal = |name: &str, keys: &str, words: &[&str]| {
        refused(name, &format!("{BAR}[removal]\n{keys}\n"), &[], words);
    };
    removal("steep", "tilt = \"80 deg\"", &["out of range", "removal.tilt"]);
    removal(
        "stays",
        "stays = [\"wal\"]",
        &["there is no plate \"wal\"", "did you mean \"wall\"?"],
    );
    removal("stays-kind", "stays = [3]", &["name of a plate"]);
    removal("pickup", "pickup = \"car\"", &["\"car\" is not known"]);
}
