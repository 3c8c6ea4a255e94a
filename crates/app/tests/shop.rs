//! `sumpwright shop` from outside: the folder of the worked example, numbers by hand, wrong input.

mod common;

use common::{Answer, Folder};

fn example(name: &str) -> String {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    std::fs::read_to_string(path.join(name)).unwrap()
}

/// The worked example with changes to `shop.toml`.
fn heath_lane(name: &str, changes: &[(&str, &str)]) -> Folder {
    let folder = Folder::new(name);
    for file in [
        "first.toml",
        "second.toml",
        "joint.toml",
        "pan-face.csv",
        "block-face.csv",
        "saturday.csv",
        "course.csv",
    ] {
        folder.write(file, example(&format!("heath-lane/{file}")));
    }
    let mut text = example("heath-lane/shop.toml");
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    folder.write("shop.toml", text);
    folder
}

fn json(answer: &Answer) -> serde_json::Value {
    assert_eq!(answer.code, 0, "{}", answer.err);
    serde_json::from_str(&answer.out).unwrap()
}

#[test]
fn the_worked_example_has_its_plan_and_its_cards() {
    let folder = heath_lane("shop", &[]);
    let facts = json(&folder.run(&["shop", "shop.toml", "--json"]));
    let made = folder.path("shop-shop");
    for file in [
        "plan/routes.pdf",
        "plan/routes.svg",
        "plan/time-make.pdf",
        "plan/time-modify.svg",
        "plan/time-buy.pdf",
        "cards.pdf",
        "cards/weld.pdf",
        "cards/leak.pdf",
        "cards/tilt.pdf",
        "cards/doors.pdf",
        "cards/fit.pdf",
        "cards/torque.pdf",
        "cards/dipstick.pdf",
        "cards/first-laps.pdf",
        "cards/rules.pdf",
    ] {
        let bytes = std::fs::read(made.join(file)).unwrap_or_else(|_| panic!("{file} is missing"));
        let pdf = bytes.starts_with(b"%PDF-") && bytes.ends_with(b"%%EOF");
        assert!(pdf || file.ends_with(".svg"), "{file}");
    }
    let routes = facts["time"]["routes"].as_array().unwrap();
    assert_eq!(routes.len(), 3);
    for r in routes {
        let (chance, error) = (r["chance"].as_f64().unwrap(), r["error"].as_f64().unwrap());
        assert!((error - (chance * (1.0 - chance) / 1e4).sqrt()).abs() < 1e-12);
        let decides = r["tasks"]
            .as_array()
            .unwrap()
            .iter()
            .map(|t| t["decides"].as_f64().unwrap());
        assert!(
            decides.fold(0.0, f64::max) > 0.99,
            "the first start ends every chain"
        );
    }
    // What a way holds: computed as `still` computes it, or as stated.
    let held = |i: usize| routes[i]["holds"]["from"].as_f64().unwrap() / 9.80665;
    let still = json(&folder.run(&["still", "joint.toml", "--json"]));
    let dry = still["long_corner"]["first_dry"].as_array().unwrap().iter();
    let least = dry
        .map(|d| d["g"].as_f64().unwrap())
        .fold(f64::INFINITY, f64::min);
    assert!((held(0) - least).abs() < 0.01, "{} is not {least}", held(0));
    assert!((held(2) - 0.8).abs() < 1e-9);
    // The card of the tightening order and the pressure picture of `seal` say the same.
    let seal = folder.run(&["seal", "joint.toml", "--out", "joint"]);
    assert_eq!(seal.code, 0, "{}", seal.err);
    let picture = std::fs::read_to_string(folder.path("joint/pressure.svg")).unwrap();
    assert!(picture.contains("Ring: the bolt") && picture.contains("Square: its turn"));
}

/// A box of 320 by 220 by 110 mm with square corners: 4.0 L stand 56.8 mm deep, so an upright stick 10 mm over the floor is wet
/// for 46.8 mm. Leaned by 25° to the front, what stays 5 mm under the flange is a wedge, ½ 0.105²/tan 25° · 0.22 = 2.60 L, and
/// 2.6 L stand √(2 V tan 25°/0.22) high against the wall, as far back as that over tan 25°. Leaned to the left the oil just
/// reaches the other wall: 3.78 L, and 3.7 L stand V/(0.32 · 0.22) + 0.11 tan 25° high against the low wall.
#[test]
fn stick_and_tilt_of_a_box_by_hand() {
    let folder = Folder::new("shop-box");
    let text = example("box/pan.toml")
        .replace("corner_radius = \"12 mm\"\n", "corner_radius = \"0 mm\"\n")
        .replace("volume = \"4.2 L\"", "volume = \"4.8 L\"");
    let more = "\n[shop.dipstick]\nfoot = [\"20 mm\", \"30 mm\", \"-100 mm\"]\ntop = [\"20 mm\", \"30 mm\", \"100 mm\"]\nlow = \"3.0 L\"\n\n\
                [shop.tilt]\nangle = \"25 deg\"\n";
    folder.write("pan.toml", text + more);
    let facts = json(&folder.run(&["shop", "pan.toml", "--json"]));
    let stick = &facts["cards"]["dipstick"];
    let row = (stick["rows"].as_array().unwrap().iter())
        .find(|r| (r["volume"].as_f64().unwrap() - 4.0e-3).abs() < 1e-9)
        .expect("a row at 4 L");
    let wanted = 4.0e-3 / (0.32 * 0.22) - 0.010;
    assert!(
        (row["along"].as_f64().unwrap() - wanted).abs() < 1e-5,
        "{row} is not {wanted}"
    );
    let tilt = &facts["cards"]["tilt"];
    let slope = 25f64.to_radians().tan();
    let cut = |side: &str| {
        (tilt["cuts"].as_array().unwrap().iter())
            .find(|c| c["low_side"] == side)
            .unwrap()
            .clone()
    };
    let near = |got: &serde_json::Value, wanted: f64| {
        let got = got.as_f64().unwrap();
        assert!((got - wanted).abs() < 1e-5, "{got} is not {wanted}");
    };
    let front = cut("front");
    near(&front["volume"], 2.6e-3);
    let high = (2.0 * 2.6e-3 * slope / 0.22).sqrt();
    near(&front["lines"][0]["depth"], 0.110 - high);
    assert_eq!(
        (&front["lines"][0]["on_floor"], &front["lines"][1]["on_floor"]),
        (&false.into(), &true.into())
    );
    near(&front["lines"][1]["depth"], 0.110);
    let left = cut("left");
    near(&left["volume"], 3.7e-3);
    let mean = 3.7e-3 / (0.32 * 0.22);
    near(&left["lines"][0]["depth"], 0.110 - mean - 0.11 * slope);
    near(&left["lines"][1]["depth"], 0.110 - mean + 0.11 * slope);
    assert_eq!(
        (&left["lines"][0]["side"], &left["lines"][1]["side"]),
        (&"left".into(), &"right".into())
    );
    let doors = facts["cards"]["doors"].as_array().unwrap();
    assert!(!doors.is_empty() && doors.iter().all(|d| d["out"].as_f64().unwrap() > 0.0));
    // No joint is stated: said, and no torque card.
    assert!(facts["said"].to_string().contains("No torque card"));
    assert!(!folder.path("pan-shop/cards/torque.pdf").exists());
}

#[test]
fn wrong_plans_are_refused_and_nothing_is_written() {
    let cases: [(&str, &str, &str, &str); 6] = [
        (
            "after = [\"sheet is cut\"]\nduration = [\"4 h\"",
            "after = [\"weld\"]\nduration = [\"4 h\"",
            "tasks wait for each other in a ring: \"fold and tack\" for \"weld\", \"weld\" for \"fold and tack\"",
            "shop.task \"fold and tack\".after",
        ),
        (
            "who = \"Jun\"",
            "who = \"June\"",
            "there is no person \"June\"",
            "did you mean \"Jun\"?",
        ),
        (
            "after = [\"leak test\"]",
            "after = [\"leek test\"]",
            "there is no task \"leek test\"",
            "did you mean \"leak test\"?",
        ),
        (
            "date = \"2026-12-19\"",
            "date = \"2026-11-26\"",
            "the event on 2026-11-26 is not after the start on 2026-11-26",
            "shop.event.date",
        ),
        (
            "duration = [\"1 day\", \"2 days\", \"5 days\"]",
            "duration = [\"1 day\", \"6 days\", \"5 days\"]",
            "the durations do not rise",
            "shop.task \"skim the flange\".duration",
        ),
        (
            "design = \"joint.toml\"",
            "design = \"jiont.toml\"",
            "jiont.toml",
            "shop.route \"make\".design",
        ),
    ];
    for (i, (from, to, what, place)) in cases.iter().enumerate() {
        let folder = heath_lane(&format!("shop-wrong-{i}"), &[(from, to)]);
        let answer = folder.run(&["shop", "shop.toml"]);
        assert_eq!(answer.code, 2, "{what}: {}{}", answer.out, answer.err);
        for word in [what, place] {
            assert!(
                answer.err.contains(word),
                "`{word}` is missing in:\n{}",
                answer.err
            );
        }
        assert!(!folder.path("shop-shop").exists());
    }
}

#[test]
fn a_gasket_is_cut_from_the_flange_in_pieces_that_fit_the_mat() {
    let gasket = "\n[shop.gasket]\nmat = [\"300 mm\", \"300 mm\"]\n";
    let folder = heath_lane("shop-gasket", &[]);
    let text = std::fs::read_to_string(folder.path("shop.toml")).unwrap();
    folder.write("shop.toml", format!("{text}{gasket}"));
    let facts = json(&folder.run(&["shop", "shop.toml", "--json"]));
    let gasket = &facts["gasket"];
    assert_eq!(gasket["holes"].as_array().unwrap().len(), 16);
    // M6 and the allowance of 0.6 mm.
    assert!((gasket["holes"][0]["diameter"].as_f64().unwrap() - 6.6e-3).abs() < 1e-12);
    let pieces = gasket["pieces"].as_array().unwrap();
    assert!(pieces.len() > 1, "440 mm do not go on a mat of 300 mm");
    for piece in pieces {
        let name = piece["name"].as_str().unwrap();
        let text =
            std::fs::read_to_string(folder.path(&format!("shop-shop/gasket/piece-{name}.dxf"))).unwrap();
        // Arcs stay arcs: chords would make it many times as long.
        assert!(
            text.lines().count() < 1500,
            "{name} has {} lines",
            text.lines().count()
        );
    }
    // The list has the plates as they are cut.
    let blanks = facts["plates"]["blanks"].as_array().unwrap();
    let rows = facts["list"]["rows"].as_array().unwrap();
    for blank in blanks {
        let row = rows
            .iter()
            .find(|row| row["part"] == blank["name"])
            .expect("every plate is in the list");
        assert_eq!(row["cut"], blank["cut_length"]);
        assert_eq!(
            row["bends"].as_u64().unwrap(),
            blank["bends"].as_array().unwrap().len() as u64
        );
    }
    // The way that makes it costs its hours and the list.
    let cost = &facts["time"]["routes"][0]["cost"];
    let parts = facts["list"]["bought"].as_f64().unwrap() + facts["list"]["work"].as_f64().unwrap();
    assert!(
        parts > 0.0 && (cost[0].as_f64().unwrap() - 240.0 - parts).abs() < 1e-9,
        "{cost}"
    );
}

/// A drawing beside the design, its scale proved by two distances; a hole outside it, and distances that disagree.
#[test]
fn a_gasket_is_cut_from_a_drawing_and_what_is_wrong_with_it_is_told() {
    let with = |name: &str, lines: &str| {
        let folder = heath_lane(name, &[]);
        folder.write("gasket.csv", example("gasket/gasket.csv"));
        let text = std::fs::read_to_string(folder.path("shop.toml")).unwrap();
        folder.write("shop.toml", format!("{text}\n[shop.gasket]\n{lines}"));
        let answer = folder.run(&["shop", "shop.toml", "--json"]);
        (folder, answer)
    };
    let measured = |height: &str| {
        format!("outline = {{ file = \"gasket.csv\", measured = [\"width 244 mm\", \"height {height}\"] }}\n")
    };
    let proved = measured("120 mm");
    let (folder, answer) = with("gasket-drawn", &proved);
    let facts = json(&answer);
    assert!(facts["gasket"]["holes"].as_array().unwrap().len() > 4);
    assert!(folder.path("shop-shop/gasket/gasket.dxf").is_file());
    for (name, lines, due) in [
        ("gasket-apart", measured("132 mm"), "measured"),
        (
            "gasket-hole",
            format!("{proved}[[shop.gasket.holes]]\nat = [\"0 mm\", \"400 mm\"]\ndiameter = \"8 mm\"\n"),
            "lies outside the outline",
        ),
    ] {
        let (folder, answer) = with(name, &lines);
        assert_eq!(answer.code, 2, "{name}: {}", answer.out);
        assert!(
            answer.err.contains(due) && answer.err.contains("shop.toml:") && answer.err.contains("mend"),
            "{name}: {}",
            answer.err
        );
        assert!(!folder.path("shop-shop").exists(), "nothing half-written");
    }
}
