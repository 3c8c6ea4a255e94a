//! Whole designs: the starter, the worked example, the same pan in inches.

use std::path::{Path, PathBuf};

use sumpwright_job::{Design, DrivePlan, Fault, Origin, Sources, read, read_from, starter};

fn shown(faults: &[Fault]) -> String {
    faults.iter().map(|f| format!("{f}\n")).collect()
}

fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples/heath-lane")
        .join(name)
}

fn starter_design() -> Design {
    let text = starter()[0].text;
    let sources = Sources::Memory([(PathBuf::from("pan.toml"), text.as_bytes().to_vec())].into());
    read_from(Path::new("pan.toml"), &sources).unwrap_or_else(|faults| panic!("{}", shown(&faults)))
}

#[test]
fn the_starter_is_a_sound_design_that_can_be_driven() {
    let design = starter_design();
    assert!(design.cautions.is_empty(), "{}", shown(&design.cautions));
    assert_eq!(design.name, "box sump, starter");
    assert!((design.fill - 5e-3).abs() < 1e-15);
    // 300 × 220 × 130 mm less what the four 10 mm corners cut off.
    let corners = (4.0 - std::f64::consts::PI) * 0.01 * 0.01;
    let wanted = (0.3 * 0.22 - corners) * 0.13;
    assert!(
        (design.pan.capacity() / wanted - 1.0).abs() < 1e-6,
        "got {} m³",
        design.pan.capacity()
    );
    assert_eq!(design.pan.plates.len(), 2);
    assert_eq!(design.pan.doors.len(), 1);
    // The wall runs from right to left, so its positive side faces the rear, and the door opens there.
    assert!(design.pan.doors[0].opens_positive);
    assert_eq!(design.drives.len(), 2);
    for plan in &design.drives {
        let drive = plan.drive().unwrap_or_else(|faults| panic!("{}", shown(&faults)));
        assert_eq!(drive.name, plan.name());
        assert!(drive.time.len() > 100);
    }
}

#[test]
fn every_input_is_listed_with_its_line_or_its_reason() {
    let design = starter_design();
    let line = |key: &str| {
        let found = design.inputs.iter().find(|i| i.key == key);
        found.unwrap_or_else(|| panic!("{key} is not listed")).clone()
    };
    let mouth = line("pickup.mouth");
    assert_eq!(mouth.text, "[\"0 mm\", \"0 mm\", \"-120 mm\"]");
    assert_eq!(
        mouth.shown,
        "(0.0 mm (0.00 in), 0.0 mm (0.00 in), -120.0 mm (-4.72 in))"
    );
    let Origin::Written(place) = &mouth.origin else {
        panic!("{:?}", mouth.origin)
    };
    let text = starter()[0].text.lines().nth(place.line - 1).unwrap();
    assert!(text.starts_with("mouth ="), "line {} is {text}", place.line);
    let stop = line("door \"front door\".stop");
    assert_eq!(stop.shown, "60.0 deg");
    assert!(matches!(stop.origin, Origin::Default(reason) if reason.contains("common practice")));
    assert!(line("oil.aeration").text.is_empty());
    assert_eq!(
        line("plate \"rear wall\".holes[1].diameter").shown,
        "16.0 mm (0.630 in)"
    );
}

/// Every length and volume of the starter, written in the other system.
#[test]
fn the_same_pan_in_inches_is_the_same_pan() {
    let text = starter()[0]
        .text
        .replace("units = \"metric\"", "units = \"inch\"");
    let mut inch = String::new();
    let mut rest = text.as_str();
    while let Some(at) = rest.find(" mm\"") {
        let start = rest[..at].rfind('"').unwrap() + 1;
        let millimetres: f64 = rest[start..at].parse().unwrap();
        inch += &format!("{}{} in\"", &rest[..start], millimetres / 25.4);
        rest = &rest[at + 4..];
    }
    inch += rest;
    let inch = inch
        .replace("\"5 L\"", &format!("\"{} qt\"", 5.0 / 0.946_352_946))
        .replace("\"110 C\"", "\"230 F\"");
    assert!(!inch.contains("0 mm\""));
    let sources = Sources::Memory([(PathBuf::from("pan.toml"), inch.into_bytes())].into());
    let inch =
        read_from(Path::new("pan.toml"), &sources).unwrap_or_else(|faults| panic!("{}", shown(&faults)));
    let metric = starter_design();
    let near = |a: f64, b: f64| assert!((a - b).abs() <= 1e-9 * b.abs().max(1e-3), "got {a}, wanted {b}");
    near(inch.fill, metric.fill);
    near(inch.oil.temperature, metric.oil.temperature);
    near(inch.pan.capacity(), metric.pan.capacity());
    near(inch.pan.mouth.at.z, metric.pan.mouth.at.z);
    near(inch.pan.doors[0].high.y, metric.pan.doors[0].high.y);
    near(inch.pan.doors[0].mass, metric.pan.doors[0].mass);
    assert_eq!(
        inch.inputs
            .iter()
            .find(|i| i.key == "pickup.diameter")
            .unwrap()
            .shown,
        "1.50 in (38.0 mm)"
    );
}

#[test]
fn the_worked_example_reads_and_its_second_revision_changes_only_what_it_states() {
    let read = |name| read(&example(name)).unwrap_or_else(|faults| panic!("{}", shown(&faults)));
    let (first, second) = (read("first.toml"), read("second.toml"));
    assert!(first.cautions.is_empty(), "{}", shown(&first.cautions));
    assert!(second.cautions.is_empty(), "{}", shown(&second.cautions));
    assert_eq!(first.bases, 0);
    assert_eq!(second.bases, 1);
    assert_eq!(second.files.len(), 2);
    assert!(first.pan.plates.is_empty());
    assert!(second.pan.plates.len() >= 2 && !second.pan.doors.is_empty());
    // The tray behind the well is made shallow.
    assert!(second.pan.capacity() < first.pan.capacity());
    assert_eq!(first.circuit, second.circuit);
    assert_eq!(first.pan.mouth.diameter, second.pan.mouth.diameter);
    assert_ne!(first.pan.mouth.at, second.pan.mouth.at);
    let names: Vec<String> = second.drives.iter().map(DrivePlan::name).collect();
    assert_eq!(names, ["saturday.csv", "course.csv"]);
    for plan in &second.drives {
        let drive = plan.drive().unwrap_or_else(|faults| panic!("{}", shown(&faults)));
        assert!(
            drive.time.len() > 1000 && drive.gravity.iter().all(|g| g.is_finite()),
            "{}",
            drive.name
        );
        // Driven counter-clockwise, so the mean apparent gravity points to the right.
        let mean = drive.gravity.iter().map(|g| g.y).sum::<f64>() / drive.gravity.len() as f64;
        assert!(mean < -1.0, "{}: mean {mean} m/s²", drive.name);
    }
}

/// Every section and key of docs/design-file.md, read as the one design that its blocks make.
#[test]
fn the_page_on_the_design_file_is_a_sound_design() {
    let page = include_str!("../../../docs/design-file.md");
    let blocks = page
        .split("```toml\n")
        .skip(1)
        .map(|rest| rest.split("```").next().unwrap());
    let text: String = blocks.collect();
    let sources = Sources::Memory([(PathBuf::from("page.toml"), text.into_bytes())].into());
    let design =
        read_from(Path::new("page.toml"), &sources).unwrap_or_else(|faults| panic!("{}", shown(&faults)));
    assert!(design.cautions.is_empty(), "{}", shown(&design.cautions));
    assert_eq!((design.pan.plates.len(), design.drives.len()), (3, 8));
    let left_out: Vec<&str> = design
        .inputs
        .iter()
        .filter(|i| i.text.is_empty())
        .map(|i| i.key.as_str())
        .collect();
    // Plates, pockets and manoeuvres show each of their keys once, not every time.
    let once = |key: &&str| {
        !["plate \"", "pocket \"", "drive.manoeuvre \""]
            .iter()
            .any(|part| key.starts_with(part))
    };
    let never: Vec<&str> = left_out.into_iter().filter(once).collect();
    assert!(never.is_empty(), "the page does not state {never:?}");
}

/// The blocks of docs/clearance.md on the starter, whose crank they bring their own of: every key stated.
#[test]
fn the_page_on_clearance_is_a_sound_design() {
    let page = include_str!("../../../docs/clearance.md");
    let blocks = page
        .split("```toml\n")
        .skip(1)
        .map(|rest| rest.split("```").next().unwrap());
    let starter = starter()[0].text;
    let crank = starter.find("\n[crank]").unwrap();
    let after = crank + starter[crank..].find("radius = \"60 mm\"").unwrap() + "radius = \"60 mm\"".len();
    let text = format!(
        "{}{}\n{}",
        &starter[..crank],
        &starter[after..],
        blocks.collect::<String>()
    );
    let sources = Sources::Memory([(PathBuf::from("page.toml"), text.into_bytes())].into());
    let design =
        read_from(Path::new("page.toml"), &sources).unwrap_or_else(|faults| panic!("{}", shown(&faults)));
    let clearances = design.clearances.expect("the page states surroundings");
    assert_eq!(clearances.surroundings.around.len(), 1);
    assert_eq!(clearances.surroundings.rods.expect("rods").rods.len(), 4);
    let sections = ["outside", "engine_movement", "keep_out", "rods", "removal"];
    let ours = |key: &str| sections.iter().any(|s| key.starts_with(s));
    let never: Vec<&String> = (design.inputs.iter())
        .filter(|i| i.text.is_empty() && ours(&i.key))
        .map(|i| &i.key)
        .collect();
    assert!(never.is_empty(), "the page does not state {never:?}");
}

/// Whatever way a keep-out was described in the base, a revision's way takes its place.
#[test]
fn a_revision_may_describe_a_keep_out_anew() {
    let base = format!(
        "{}\n[[keep_out]]\nname = \"bar\"\ngap = \"4 mm\"\nbox = {{ low = [\"0 mm\", \"0 mm\", \"-300 mm\"], \
         high = [\"9 mm\", \"9 mm\", \"-200 mm\"] }}\n",
        starter()[0].text
    );
    let revision = "format = \"2026-11\"\nbase = \"pan.toml\"\nname = \"second\"\n[[keep_out]]\nname = \"bar\"\n\
                    road = { below = \"240 mm\", bump = \"50 mm\" }\n";
    let sources = Sources::Memory(
        [
            (PathBuf::from("pan.toml"), base.into_bytes()),
            (PathBuf::from("second.toml"), revision.as_bytes().to_vec()),
        ]
        .into(),
    );
    let design =
        read_from(Path::new("second.toml"), &sources).unwrap_or_else(|faults| panic!("{}", shown(&faults)));
    let around = &design.clearances.expect("a keep-out").surroundings.around;
    assert_eq!(around.len(), 1);
    assert!(around[0].body.bounds().is_none(), "a road has no end");
    assert!((around[0].wanted - 4e-3).abs() < 1e-15);
}
