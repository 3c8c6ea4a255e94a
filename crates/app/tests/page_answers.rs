//! What the page is answered, against what the commands say: the same numbers.

mod common;

use common::Folder;
use common::served::{Served, unpacked};
use serde_json::{Value, json};

fn of_example(name: &str, example: &str, files: &[&str]) -> Folder {
    let folder = Folder::new(name);
    for file in files {
        let bytes = std::fs::read(format!("../../examples/{example}/{file}")).expect("the example is there");
        folder.write(file, bytes);
    }
    folder
}

fn a_box(name: &str) -> Folder {
    of_example(name, "box", &["pan.toml"])
}

fn variant(design: &str, changes: &[(&str, &str)]) -> Value {
    let changes = changes
        .iter()
        .map(|(key, value)| json!({ "key": key, "value": value }));
    json!({ "design": design, "changes": changes.collect::<Vec<_>>() })
}

fn said(folder: &Folder, arguments: &[&str]) -> Value {
    let answer = folder.run(arguments);
    assert_eq!(answer.code, 0, "{arguments:?}: {}", answer.err);
    serde_json::from_str(&answer.out).expect("one JSON object")
}

fn numbers(list: &Value) -> Vec<f64> {
    let list = list.as_array().expect("a list");
    list.iter().map(|v| v.as_f64().expect("a number")).collect()
}

/// To the last bit that the wire carries.
#[track_caller]
fn same(packed: &Value, numbers: &[f64]) {
    let singles: Vec<f32> = numbers.iter().map(|v| *v as f32).collect();
    assert_eq!(unpacked(packed), singles);
}

fn as_bays(lap: &Value, bays: &Value) {
    assert_eq!(lap["sentence"], bays["sentence"]);
    let word = lap["word"].as_str().expect("a word").replace(' ', "");
    let other = bays["word"]
        .as_str()
        .expect("a word")
        .replace(['_', '-', ' '], "");
    assert!(word.eq_ignore_ascii_case(&other), "{word}, {other}");
    assert_eq!(lap["blind"], bays["blind"]);
    let history = &bays["history"];
    let rows = |of: &Value| -> Vec<f64> {
        let rows = of.as_array().expect("rows");
        rows.iter().flat_map(numbers).collect()
    };
    same(&lap["time"], &numbers(&history["time"]));
    same(&lap["cover"], &numbers(&history["cover"]));
    same(&lap["spaces"], &rows(&history["spaces"]));
    same(&lap["doors"], &rows(&history["doors"]));
    let least = numbers(&history["cover"])
        .into_iter()
        .fold(f64::INFINITY, f64::min);
    assert_eq!(lap["least_cover"].as_f64(), Some(least));
    let air = numbers(&history["air"]);
    let drawn = air.last().expect("rows") - air[0];
    assert!((lap["air"].as_f64().expect("a number") - drawn).abs() < 1e-12);
}

#[test]
fn the_lap_is_that_of_bays() {
    let folder = a_box("answers-lap");
    let served = Served::open(&folder, "pan.toml");
    let lap = served.good("lap", &variant("pan.toml", &[]));
    let bays = said(&folder, &["bays", "pan.toml", "--json"]);
    as_bays(&lap, &bays);
    let rows = unpacked(&lap["time"]).len();
    let spaces = bays["spaces"].as_array().expect("names").len();
    assert_eq!(unpacked(&lap["surfaces"]).len(), 4 * rows * spaces);
    assert_eq!(unpacked(&lap["acceleration"]).len(), 3 * rows);
    let bare: f32 = unpacked(&lap["bare"]).iter().sum();
    let bare_time = lap["bare_time"].as_f64().expect("a number");
    assert!(
        (f64::from(bare) * 0.02 - bare_time).abs() < 0.5,
        "{bare} rows, {bare_time} s"
    );
    // Moments: the worst first, well apart, each at a dip of this very cover.
    let (time, cover) = (unpacked(&lap["time"]), unpacked(&lap["cover"]));
    let moments = lap["moments"].as_array().expect("moments");
    assert!((1..=8).contains(&moments.len()), "{moments:?}");
    for (n, moment) in moments.iter().enumerate() {
        let worst = moment["worst"].as_f64().expect("a time");
        let row = time.partition_point(|t| f64::from(*t) < worst - 1e-3);
        assert_eq!(
            cover[row],
            moment["least_cover"].as_f64().expect("a cover") as f32,
            "{moment}"
        );
        assert!(
            moment["place"]
                .as_str()
                .is_some_and(|place| place.starts_with("at ")),
            "{moment}"
        );
        for other in &moments[..n] {
            assert!(
                (other["worst"].as_f64().expect("a time") - worst).abs() >= 3.5,
                "{moments:?}"
            );
        }
    }
}

#[test]
fn a_variant_is_what_it_is_saved_as() {
    let folder = a_box("answers-saved");
    let served = Served::open(&folder, "pan.toml");
    let variant = variant(
        "pan.toml",
        &[
            ("fill.volume", "\"4.6 L\""),
            ("plate \"front wall\".z[1]", "\"-20 mm\""),
        ],
    );
    let pan = served.good("pan", &variant);
    let differences = pan["differences"].to_string();
    assert!(
        differences.contains("4.60 L") && differences.contains("4.20 L"),
        "{differences}"
    );
    let lap = served.good("lap", &variant);
    let mut ask =
        json!({ "variant": variant, "digest": pan["digest"], "name": "Higher", "file": "higher.toml" });
    let saved = served.good("save", &ask);
    assert_eq!(saved["file"], "higher.toml");
    as_bays(&lap, &said(&folder, &["bays", "higher.toml", "--json"]));
    // Once more under the same name, and after the design was written.
    let (status, refusal) = served.ask("save", Some(&ask));
    assert_eq!(status, 409, "{refusal}");
    let text = std::fs::read_to_string(folder.path("pan.toml")).expect("it is there");
    folder.write("pan.toml", text.replace("\"4.2 L\"", "\"4.3 L\""));
    ask["file"] = "other.toml".into();
    let (status, refusal) = served.ask("save", Some(&ask));
    assert_eq!(status, 409, "{refusal}");
    assert!(refusal.to_string().contains("fill.volume: 4.30 L"), "{refusal}");
    assert!(!folder.path("other.toml").exists());
}

#[test]
fn oil_at_rest_is_that_of_still() {
    let folder = a_box("answers-still");
    let served = Served::open(&folder, "pan.toml");
    let still = said(&folder, &["still", "pan.toml", "--json"]);
    let round = served.good("round", &variant("pan.toml", &[]));
    for (ours, theirs) in [
        ("first_dry_long", "long_corner"),
        ("first_dry_instant", "first_instant"),
    ] {
        let dry = round[ours].as_array().expect("a list");
        let found: Vec<(f64, f64)> = (numbers(&round["directions"]).into_iter().zip(dry))
            .filter_map(|(direction, g)| Some((direction, g.as_f64()?)))
            .collect();
        let due: Vec<(f64, f64)> = (still[theirs]["first_dry"].as_array().expect("a list").iter())
            .map(|one| (one["direction"].as_f64().unwrap(), one["g"].as_f64().unwrap()))
            .collect();
        assert_eq!(found, due, "{ours}");
    }
    let ask = |acceleration: [f64; 3], engine_speed: f64| {
        let variant = variant("pan.toml", &[]);
        json!({ "variant": variant, "acceleration": acceleration, "engine_speed": engine_speed })
    };
    // Engine off, standing: the dipstick's own row.
    let standing = served.good("still", &ask([0.0; 3], 0.0));
    let rows = still["dipstick"].as_array().expect("rows");
    let full = rows
        .iter()
        .find(|row| row["mark"] == "fill")
        .expect("the fill is marked");
    assert_eq!(standing["level"], full["level"]);
    assert_eq!(standing["oil"], full["volume"]);
    // At the redline under every push of the map.
    let map = &still["long_corner"];
    let (directions, rings) = (numbers(&map["directions"]), numbers(&map["rings"]));
    let redline = 6800.0 / 60.0;
    for d in (0..directions.len()).step_by(16) {
        for r in (0..rings.len()).step_by(7) {
            let (direction, g) = (directions[d], rings[r]);
            let pull = [-g * direction.cos(), -g * direction.sin(), 0.0];
            let answer = served.good("still", &ask(pull, redline));
            let due = map["cover"][d][r].as_f64().expect("a cover");
            let cover = answer["cover"].as_f64().expect("a cover");
            // The map follows a level from ring to ring, to some micrometres.
            assert!(
                (cover - due).abs() < 1e-5,
                "{direction} rad, {g} g: {cover}, {due}"
            );
            assert_eq!(answer["word"] == "bare", cover == 0.0);
            assert_eq!(answer["oil"], still["volume"]);
        }
    }
}

#[test]
fn sections_say_what_their_commands_say() {
    let files = [
        "first.toml",
        "second.toml",
        "joint.toml",
        "shop.toml",
        "saturday.csv",
        "course.csv",
        "pan-face.csv",
        "block-face.csv",
    ];
    let folder = of_example("answers-parts", "heath-lane", &files);
    let served = Served::open(&folder, "shop.toml");
    let part = |part: &str| {
        let ask = json!({ "variant": variant("shop.toml", &[]), "part": part });
        served.good("section", &ask)
    };
    let plain = |html: &Value| {
        let html = html.as_str().expect("markup").replace('\u{a0}', " ");
        html.replace("&#39;", "'")
            .replace("&quot;", "\"")
            .replace("&amp;", "&")
    };
    let seal = said(&folder, &["seal", "shop.toml", "--json"]);
    let answer = part("seal");
    let order: Vec<String> = (numbers(&seal["order"]["order"]).iter())
        .map(|bolt| format!("bolt {bolt}"))
        .collect();
    assert_eq!(answer["bolts"], json!(order));
    assert!(plain(&answer["html"]).contains(seal["said"].as_str().expect("words")));
    let feed = said(&folder, &["feed", "shop.toml", "--json"]);
    assert!(plain(&part("feed")["html"]).contains(feed["said"].as_str().expect("words")));
    assert!(plain(&part("cards")["html"]).contains("Torque card"));
}

#[test]
fn what_is_wrong_is_told_at_its_key_with_its_kind() {
    let folder = a_box("answers-wrong");
    let served = Served::open(&folder, "pan.toml");
    let (status, refusal) = served.ask("still", Some(&json!({
        "variant": variant("pan.toml", &[("fill.volume", "\"90 L\"")]), "acceleration": [0, 0, 0], "engine_speed": 0,
    })));
    assert_eq!(
        (status, refusal["faults"][0]["key"].as_str()),
        (422, Some("fill.volume")),
        "{refusal}"
    );
    let (status, refusal) = served.ask(
        "pan",
        Some(&variant("pan.toml", &[("pickup.mout[2]", "\"-90 mm\"")])),
    );
    assert_eq!(status, 422);
    assert!(
        refusal["faults"][0]["mend"]
            .as_str()
            .unwrap()
            .contains("pickup.mouth[2]"),
        "{refusal}"
    );
    let (status, _) = served.ask("pan", Some(&variant("none.toml", &[])));
    assert_eq!(status, 404);
    let (status, _) = served.ask("pan", Some(&variant("../pan.toml", &[])));
    assert_eq!(status, 422);
    let (status, project) = served.ask("project", None);
    assert_eq!(
        (status, project["designs"][0]["file"].as_str()),
        (200, Some("pan.toml")),
        "{project}"
    );
    assert_eq!(project["opened"], "pan.toml");
}
