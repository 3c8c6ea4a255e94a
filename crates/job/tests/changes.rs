//! A design asked for with changes: what a study does with the levels of a case.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use sumpwright_job::{Changeable, Changed, Fault, Sources, read_from, read_study};

fn example(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples")
        .join(file)
}

fn second() -> Changeable {
    sound(Changeable::read(&example("heath-lane/second.toml")))
}

fn sound<T>(read: Result<T, Vec<Fault>>) -> T {
    read.unwrap_or_else(|faults| panic!("{faults:#?}"))
}

fn changed(changes: &[(&str, &str)]) -> Vec<Changed> {
    let changed = |(key, value): &(&str, &str)| Changed {
        key: (*key).to_owned(),
        value: (*value).to_owned(),
    };
    changes.iter().map(changed).collect()
}

#[test]
fn a_change_is_what_a_level_of_a_study_is() {
    let study = sound(read_study(&example("heath-lane/fill-and-mouth.toml")));
    let draw: Vec<f64> = study.inputs.iter().map(|_| 0.3).collect();
    let levels = study.levels(&draw);
    let by_study = sound(study.variant(&levels));
    // Only inputs that set one value by its key.
    let single = study
        .inputs
        .iter()
        .zip(&levels)
        .filter(|(input, _)| input.keys.len() == 1);
    let changes: Vec<Changed> = single
        .map(|(input, level)| Changed {
            key: input.keys[0].clone(),
            value: format!("\"{}\"", level.text),
        })
        .collect();
    assert!(!changes.is_empty());
    assert_eq!(
        changes.len(),
        study.inputs.len(),
        "the example moves one key by each input"
    );
    let by_page = sound(study.of.with(&changes));
    assert_eq!(by_page.fill, by_study.fill);
    assert_eq!(by_page.pan, by_study.pan);
    assert_eq!(by_page.circuit, by_study.circuit);
}

#[test]
fn a_revision_reads_as_what_it_was_written_from() {
    let second = second();
    let changes = changed(&[
        ("fill.volume", "\"5.2 L\""),
        ("plate \"tray wall\".z[1]", "\"-6 mm\""),
        ("plate \"tray wall\".wall[*][0]", "\"8 mm\""),
        ("door \"rear left\"", "\"out\""),
        ("circuit.aloft[2][1]", "\"1.2 L\""),
        ("oil.aeration", "0.05"),
        ("pickup.mouth[2]", "\"-121 mm\""),
    ]);
    let due = sound(second.with(&changes));
    let text = sound(second.revision(&changes, "Third", "second.toml", "by hand"));
    assert!(!text.contains("mouth"), "the file says so already: {text}");
    let mut files: BTreeMap<PathBuf, Vec<u8>> = BTreeMap::new();
    for file in ["first.toml", "second.toml"] {
        let bytes = std::fs::read(example(&format!("heath-lane/{file}"))).expect("the example is there");
        files.insert(file.into(), bytes);
    }
    files.insert("third.toml".into(), text.clone().into_bytes());
    let found = sound(read_from(Path::new("third.toml"), &Sources::Memory(files)));
    assert_eq!(found.fill, due.fill);
    assert_eq!(found.pan, due.pan, "{text}");
    assert_eq!(found.circuit, due.circuit, "{text}");
    assert_eq!(found.oil, due.oil, "{text}");
}

/// A section whose keys may all be left out is opened by one of them; one that needs more is not.
#[test]
fn a_section_that_is_not_stated_is_opened_where_it_may_be() {
    let a_box = sound(Changeable::read(&example("box/pan.toml")));
    let changes = changed(&[("limits.least_cover", "\"9 mm\""), ("fill.volume", "\"4.4 L\"")]);
    let design = sound(a_box.with(&changes));
    assert!((design.limits.least_cover - 9e-3).abs() < 1e-12);
    let text = sound(a_box.revision(&changes, "Stricter", "pan.toml", ""));
    assert!(text.contains("[limits]\nleast_cover = \"9 mm\""), "{text}");
    let values = sound(a_box.values(&changes));
    let (now, saved) = values.of("limits.least_cover").expect("it is changed");
    assert_eq!((now.number, now.unit.as_str(), saved), (9.0, "mm", None));
    let faults = a_box
        .with(&changed(&[("feed.bore", "\"20 mm\"")]))
        .expect_err("the box has no line");
    assert_eq!(
        (faults[0].id, faults[0].key.as_str()),
        ("unknown-key", "feed.bore")
    );
}

#[test]
fn a_fault_stands_at_the_change_that_makes_it() {
    let second = second();
    let told = |key: &str, value: &str| {
        let faults = second
            .with(&changed(&[(key, value)]))
            .expect_err("a fault is due");
        let own = faults.iter().find(|fault| fault.key == key);
        own.cloned()
            .unwrap_or_else(|| panic!("{key} is not among {faults:#?}"))
    };
    assert_eq!(
        told("plate \"tray wall\".z[1]", "\"-60 mm\"").place.to_string(),
        "the change of plate \"tray wall\".z[1]"
    );
    assert_eq!(told("fill.volume", "\"5 kg\"").id, "quantity");
    assert!(told("fill.volme", "\"5 L\"").mend.contains("fill.volume"));
    assert!(
        told("plate \"tray wal\".z[1]", "\"-6 mm\"")
            .mend
            .contains("tray wall")
    );
    for odd in [
        "",
        "\"",
        "[",
        "{}",
        "[1, 2]",
        "1979-05-27",
        "1 = 2",
        "\"a\"\n[x]",
        "\u{0}",
    ] {
        assert_eq!(told("fill.volume", odd).id, "wrong-kind", "{odd}");
    }
    let many = changed(&vec![("fill.volume", "\"5 L\""); 1000]);
    assert_eq!(second.with(&many).expect_err("too many")[0].id, "out-of-range");
    let faults = second.revision(&changed(&[("fill.volume", "\"5.8 L\"")]), "n", "b", "");
    assert_eq!(faults.expect_err("it says so already")[0].id, "nothing-changed");
}

#[test]
fn numbers_are_told_as_they_are_written() {
    let second = second();
    let values = sound(second.values(&[]));
    let of = |key: &str| values.of(key).map(|(now, _)| (now.value, now.number, now.unit));
    assert_eq!(of("fill.volume"), Some(("\"5.8 L\"".into(), 5.8, "L".into())));
    assert_eq!(of("circuit.aloft_low"), Some(("0.6".into(), 0.6, String::new())));
    assert_eq!(
        of("plate \"tray wall\".wall[*][0]"),
        Some(("\"5 mm\"".into(), 5.0, "mm".into()))
    );
    assert_eq!(of("plate \"tray wall\".wall[*][1]"), None, "its ends lie apart");
    assert_eq!(of("oil.grade"), None);
    assert_eq!(of("no.such"), None);
    let (warm, _) = values.of("oil.temperature").expect("it is stated");
    assert!((warm.in_unit(373.15) - 100.0).abs() < 1e-9);
}
