//! The house asked as the page asks it.

mod disk;
mod odd;
mod saving;

use super::*;
use serve::wire::{Change, Group, Part};
use std::fs;
use std::time::{Duration, Instant};

/// A folder that is removed at the end.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("sumpwright-house-{}-{name}", std::process::id()));
        let _ = fs::remove_dir_all(&path);
        fs::create_dir_all(&path).expect("the temporary folder can be written to");
        Folder(path)
    }

    /// With some files of an example.
    fn of(name: &str, example: &str, files: &[&str]) -> Folder {
        let folder = Folder::new(name);
        let from = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("../../examples")
            .join(example);
        for file in files {
            fs::copy(from.join(file), folder.0.join(file)).expect("the example is there");
        }
        folder
    }

    fn a_box(name: &str) -> Folder {
        Folder::of(name, "box", &["pan.toml"])
    }

    fn lane(name: &str) -> Folder {
        let files = ["first.toml", "second.toml", "saturday.csv", "course.csv"];
        Folder::of(name, "heath-lane", &files)
    }

    fn write(&self, file: &str, text: &str) {
        fs::write(self.0.join(file), text).expect("the temporary folder can be written to");
    }

    fn house(&self) -> House {
        House::of(&self.0, None).expect("the folder is there")
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn variant(design: &str, changes: &[(&str, &str)]) -> Variant {
    let change = |(key, value): &(&str, &str)| Change {
        key: (*key).to_owned(),
        value: (*value).to_owned(),
    };
    Variant {
        design: design.to_owned(),
        changes: changes.iter().map(change).collect(),
    }
}

fn standing(variant: Variant) -> StillAsk {
    StillAsk {
        variant,
        acceleration: [0.0; 3],
        engine_speed: 0.0,
    }
}

/// What stands in each fault that is about `key`.
fn of_key(answer: Answer<PanAnswer>, key: &str) -> Vec<String> {
    let refused = answer.expect_err("a fault was due");
    assert_eq!(refused.wrong, Wrong::Input);
    let own = refused.faults.iter().filter(|f| f.key.as_deref() == Some(key));
    own.map(|f| format!("{} | {} | {}", f.what, f.place, f.mend))
        .collect()
}

#[test]
fn the_pan_has_spaces_and_controls_that_the_design_has() {
    let folder = Folder::a_box("pan");
    let pan = folder.house().pan(&variant("pan.toml", &[])).expect("sound");
    let names: Vec<&str> = pan.scene.spaces.iter().map(|space| space.name.as_str()).collect();
    assert_eq!(names.len(), 3, "{names:?}");
    assert_eq!(pan.scene.spaces.iter().filter(|space| space.mouth).count(), 1);
    assert!(pan.differences.is_empty());
    let of = |key: &str| {
        let found = pan.controls.iter().find(|control| control.key == key);
        found.unwrap_or_else(|| panic!("{key} is missing"))
    };
    let fill = of("fill.volume");
    assert_eq!((fill.number, fill.unit.as_str()), (4.2, "L"));
    assert_eq!(fill.value, "\"4.2 L\"");
    assert_eq!(fill.saved.as_deref(), Some("\"4.2 L\""));
    assert!(
        fill.help.starts_with("All the oil in the engine"),
        "{}",
        fill.help
    );
    let top = of("plate \"front wall\".z[1]");
    assert_eq!(
        (top.label.as_str(), top.group),
        ("front wall, height of its top", Group::Plates)
    );
    assert_eq!(
        (top.number, top.low, top.high, top.step),
        (-35.0, -110.0, 90.0, 1.0)
    );
    assert_eq!(of("plate \"rear wall\".wall[*][0]").number, -70.0);
    assert!(
        pan.controls
            .iter()
            .all(|control| control.key != "plate \"rear wall\".wall[*][1]")
    );
    assert_eq!(of("drive.manoeuvre \"hard stop\".braking").unit, "g");
    for control in &pan.controls {
        assert!(
            control.low <= control.number && control.number <= control.high && control.step > 0.0,
            "{control:?}"
        );
        assert!(!control.help.is_empty(), "{control:?}");
        assert!(control.high - control.low >= control.step, "{control:?}");
    }
    // The drive that a box is driven over has no grip of its own.
    assert!(
        pan.controls
            .iter()
            .all(|control| !control.key.starts_with("car."))
    );
}

/// Every control, moved by a step, is a change that is read; its own saved value stays and its number is what was sent.
#[test]
fn every_control_can_be_moved_by_a_step() {
    for folder in [Folder::a_box("moved-box"), Folder::lane("moved-lane")] {
        let house = folder.house();
        let design = if folder.0.join("second.toml").exists() {
            "second.toml"
        } else {
            "pan.toml"
        };
        let pan = house.pan(&variant(design, &[])).expect("sound");
        for control in &pan.controls {
            let number =
                control.number - control.step * if control.number > control.low { 1.0 } else { -1.0 };
            let number = (number * 1e6).round() / 1e6;
            let value = if control.value.starts_with('"') {
                format!("\"{number} {}\"", control.unit)
            } else {
                format!("{number:?}")
            };
            match house.pan(&variant(design, &[(&control.key, &value)])) {
                Ok(moved) => {
                    let now = moved.controls.iter().find(|c| c.key == control.key);
                    let now = now.unwrap_or_else(|| panic!("{} is lost", control.key));
                    assert!((now.number - number).abs() < 1e-9, "{now:?}, {number}");
                    assert_eq!(now.saved, control.saved, "{}", control.key);
                    assert!(
                        moved.differences.iter().any(|said| said.contains(", was ")),
                        "{}: {:?}",
                        control.key,
                        moved.differences
                    );
                }
                // A step may lead into another part; then the fault is told of this control's key.
                Err(refused) => assert!(
                    refused.wrong == Wrong::Input && refused.faults.iter().all(|f| !f.mend.is_empty()),
                    "{}: {refused:?}",
                    control.key
                ),
            }
        }
    }
}

#[test]
fn a_fault_is_told_at_the_key_that_was_changed() {
    let folder = Folder::a_box("faults");
    let house = folder.house();
    let ask = |key: &str, value: &str| of_key(house.pan(&variant("pan.toml", &[(key, value)])), key);
    for (key, value, word) in [
        ("fill.volume", "\"4.2\"", "unit"),
        ("fill.volume", "4.2", "unit"),
        ("fill.volume", "\"-1 L\"", "above"),
        ("fill.volume", "[1]", "one value"),
        ("fill.volume", "\"4 L\"\nname = \"x\"", "more than one value"),
        ("fill.volume", "\"4 L", "not a value"),
        ("fill.volum", "\"4 L\"", "fill.volume"),
        ("plate \"front wal\".z[1]", "\"-30 mm\"", "front wall"),
        ("plate \"front wall\".z[1]", "\"-200 mm\"", ""),
        ("pickup.mouth[2]", "\"-500 mm\"", ""),
        ("plate \"front wall\"", "\"away\"", "in or out"),
        ("name", "\"x\"", ""),
    ] {
        let told = ask(key, value);
        assert!(
            told.iter().any(|said| said.contains(word)),
            "{key} = {value}: `{word}` is missing in {told:?}"
        );
    }
}

#[test]
fn a_plate_that_is_out_takes_its_doors_along() {
    let folder = Folder::a_box("out");
    let changes = [("plate \"front wall\"", "\"out\"")];
    let pan = folder.house().pan(&variant("pan.toml", &changes)).expect("sound");
    assert_eq!(pan.scene.plates.len(), 1);
    assert!(pan.scene.doors.is_empty());
    assert_eq!(pan.scene.spaces.len(), 2);
    assert!(
        pan.differences
            .contains(&"plate \"front wall\" is left out".to_owned()),
        "{:?}",
        pan.differences
    );
}

/// Spaces hold what there is, to what the lattice is good for, whatever the pull.
#[test]
fn oil_at_rest_is_all_in_the_spaces() {
    let folder = Folder::lane("rest");
    let house = folder.house();
    for acceleration in [
        [0.0; 3],
        [-1.0, 0.0, 0.0],
        [0.0, 1.2, 0.0],
        [0.3, -0.8, -0.4],
        [0.0, 0.0, -1.6],
    ] {
        let ask = StillAsk {
            acceleration,
            ..standing(variant("second.toml", &[]))
        };
        let still = house.still(&ask).expect("sound");
        let sum: f64 = still.surfaces.iter().map(|surface| surface.volume).sum();
        assert!((still.oil - 5.8e-3).abs() < 1e-12);
        assert!(
            (sum - still.oil).abs() < 0.03 * still.oil,
            "{acceleration:?}: {sum} of {}",
            still.oil
        );
        let cover = still.cover.expect("there is a mouth");
        assert_eq!(cover > 0.0, still.word != "bare");
    }
    for odd in [[f64::NAN; 3], [0.0, 0.0, -1.0], [1e9, 0.0, 0.0]] {
        let ask = StillAsk {
            acceleration: odd,
            ..standing(variant("second.toml", &[]))
        };
        assert_eq!(house.still(&ask).expect_err("no level").wrong, Wrong::Input);
    }
}

#[test]
fn parts_of_the_report_are_markup_without_script_or_style() {
    let folder = Folder::of(
        "parts",
        "heath-lane",
        &[
            "first.toml",
            "second.toml",
            "joint.toml",
            "shop.toml",
            "saturday.csv",
            "course.csv",
            "pan-face.csv",
            "block-face.csv",
        ],
    );
    let house = folder.house();
    let ask = |design: &str, part: Part| {
        let variant = variant(design, &[]);
        house.section(&SectionAsk { variant, part }).expect("sound")
    };
    let seal = ask("shop.toml", Part::Seal);
    assert!(seal.html.contains("Torque card"), "{}", &seal.html[..400]);
    assert!(seal.bolts.len() > 4 && seal.bolts.iter().all(|bolt| bolt.starts_with("bolt ")));
    let mut parts = vec![seal];
    parts.extend([Part::Feed, Part::Cards].map(|part| ask("shop.toml", part)));
    for part in &parts {
        assert!(
            part.nothing.is_none() && part.html.contains("<section"),
            "{part:?}"
        );
        for odd in [
            "<script",
            "style=",
            "<style",
            " onload",
            "javascript:",
            "<img",
            "<iframe",
        ] {
            assert!(!part.html.contains(odd), "{odd}");
        }
    }
    let none = ask("second.toml", Part::Seal);
    assert!(none.html.is_empty() && none.nothing.is_some_and(|why| why.contains("[seal.flange]")));
}

/// What is kept is found again: the second of two equal questions costs next to nothing, and a change of the fill alone
/// cuts no cells anew.
#[test]
fn what_was_worked_out_is_found_again() {
    let folder = Folder::lane("kept");
    let house = folder.house();
    house.lap(&variant("second.toml", &[])).expect("sound");
    let begun = Instant::now();
    house.lap(&variant("second.toml", &[])).expect("sound");
    let again = begun.elapsed();
    assert!(again < Duration::from_millis(200), "{again:?}");
    let bench = |fill: &str| {
        let variant = variant("second.toml", &[("fill.volume", fill)]);
        house.shelf.bench(&variant).expect("sound")
    };
    let [a, b] = ["\"5.0 L\"", "\"5.1 L\""].map(|fill| house.shelf.grid(&bench(fill)).expect("sound"));
    assert!(Arc::ptr_eq(&a, &b));
    let [a, b] = ["\"5.0 L\"", "\"5.1 L\""].map(|fill| house.shelf.driven(&bench(fill)).expect("sound"));
    assert!(Arc::ptr_eq(&a, &b));
}

#[test]
fn many_may_ask_at_once() {
    let folder = Folder::a_box("many");
    let house = folder.house();
    std::thread::scope(|scope| {
        for n in 0..8 {
            let house = &house;
            scope.spawn(move || {
                for step in 0..4 {
                    let fill = format!("\"{:.1} L\"", 4.0 + 0.1 * f64::from((n + step) % 5));
                    let variant = variant("pan.toml", &[("fill.volume", &fill)]);
                    house.still(&standing(variant)).expect("sound");
                }
            });
        }
    });
}
