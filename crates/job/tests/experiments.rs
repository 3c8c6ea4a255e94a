//! Experiments: what a file says arrives, and what is wrong with it stands at its place.

use std::path::{Path, PathBuf};

use glam::DVec3;
use pan::Watch;
use sumpwright_job::{Experiment, Fault, Job, Sources, Start, read_any, read_any_from, read_from};

const TANK: &str = r#"
format = "2026-11"
kind = "experiment"
name = "box that rolls"

[liquid]
name = "fresh water"
density = "998 kg/m3"
viscosity = "0.896 mm2/s"

[[pocket]]
name = "box"
rectangle = { x = ["-450 mm", "450 mm"], y = ["-31 mm", "31 mm"] }
z = ["0 mm", "508 mm"]

[tank]
cell = "10 mm"

[start]
level = "93 mm"

[drive]
gravity = "9.81 m/s2"

[[drive.motion]]
name = "roll"
kind = "turn"
through = ["0 mm", "0 mm", "0 mm"]
about = "right"
record = "roll.csv"
smoothing = "100 ms"

[[probe]]
name = "sensor 1"
kind = "pressure"
at = ["-450 mm", "0 mm", "93 mm"]
diameter = "8 mm"
faces = "front"
"#;

/// A swing of 4 degrees, from rest, with its unit.
fn roll(unit: &str) -> String {
    let mut text = format!("# made up\ntime [s],angle [{unit}]\n");
    for i in 0..400 {
        let t = 0.01 * f64::from(i);
        text += &format!("{t:.2},{:.4}\n", 4.0 * (1.0 - (3.84 * t).cos()));
    }
    text
}

fn sources(text: &str, record: &str) -> Sources {
    let file = |name: &str, text: &str| (PathBuf::from(name), text.as_bytes().to_vec());
    Sources::Memory([file("tank.toml", text), file("roll.csv", record)].into())
}

fn read(text: &str, record: &str) -> Result<Experiment, Vec<Fault>> {
    match read_any_from(Path::new("tank.toml"), &sources(text, record))? {
        Job::Experiment(experiment) => Ok(*experiment),
        Job::Pan(_) => panic!("an experiment was taken for a pan"),
    }
}

fn shown(faults: &[Fault]) -> String {
    faults.iter().map(|f| format!("{f}\n")).collect()
}

#[test]
fn what_the_file_says_arrives() {
    let e = read(TANK, &roll("deg")).unwrap_or_else(|f| panic!("{}", shown(&f)));
    assert_eq!((e.fluid.density, e.liquid.as_str()), (998.0, "fresh water"));
    assert!((e.fluid.viscosity - 0.896e-6).abs() < 1e-18);
    assert!(e.walls_rub && e.cell == 0.010);
    assert!((e.tank.cavity.volume() - 0.9 * 0.062 * 0.508).abs() < 1e-9);
    let Start::Boxes(boxes) = &e.start else {
        panic!("a level is a box")
    };
    assert_eq!((boxes.len(), boxes[0].high.z), (1, 0.093));
    assert!((e.drive.end() - 3.99).abs() < 1e-9, "{}", e.drive.end());
    // A quarter of the swing in: angle 4 degrees, the tank turned about -y, so its rear (x < 0) side is down.
    let m = e.drive.at(std::f64::consts::FRAC_PI_2 / 3.84);
    let angle = 4f64.to_radians();
    let due = 9.81 * DVec3::new(-angle.sin(), 0.0, -angle.cos());
    assert!((m.gravity - due).length() < 2e-3, "{} {due}", m.gravity);
    assert!((m.spin.y + angle * 3.84).abs() < 1e-3, "{}", m.spin);
    assert!(matches!(
        e.probes[0].watch,
        Watch::Pressure { facing: DVec3::X, diameter, .. } if (diameter - 8e-3).abs() < 1e-12
    ));
    // The key of a run must hold the record of the motion.
    let files: Vec<String> = e.files.iter().map(|f| f.path.display().to_string()).collect();
    assert_eq!(files, ["tank.toml", "roll.csv"]);
}

#[test]
fn a_revision_changes_the_liquid_or_one_probe() {
    let revision = "base = \"tank.toml\"\nformat = \"2026-11\"\nkind = \"experiment\"\nname = \"in oil\"\n\
        [oil]\ngrade = \"10W-60\"\ntemperature = \"20 C\"\naeration = 0\n\
        [start]\nvolume = \"4 L\"\n[[drive.motion]]\nname = \"roll\"\namplitude = \"4 deg\"\nperiod = \"1.6 s\"\n\
        [[probe]]\nname = \"sensor 1\"\nremove = true\n[drive]\nlength = \"2 s\"\n";
    let file = |name: &str, text: &str| (PathBuf::from(name), text.as_bytes().to_vec());
    let all = Sources::Memory([file("tank.toml", TANK), file("oil.toml", revision)].into());
    // `smoothing` belongs to the base's record and goes with it.
    let Ok(Job::Experiment(e)) = read_any_from(Path::new("oil.toml"), &all) else {
        panic!("the revision is not read")
    };
    assert!(e.probes.is_empty() && e.fluid.viscosity > 2e-4);
    assert_eq!(e.start, Start::Volume(4e-3));
    assert_eq!((e.drive.end(), e.bases), (2.0, 1));
}

#[test]
fn wrong_input_is_told_with_line_key_and_mend() {
    let places = [
        (
            "density = \"998 kg/m3\"",
            "density = \"0 kg/m3\"",
            "liquid.density",
            "above zero",
        ),
        ("[liquid]", "[liquit]", "liquit", "did you mean \"liquid\"?"),
        (
            "level = \"93 mm\"",
            "level = \"600 mm\"",
            "start.level",
            "z 0.0 mm",
        ),
        (
            "level = \"93 mm\"",
            "volume = \"40 L\"",
            "start.volume",
            "put in less",
        ),
        (
            "about = \"right\"",
            "about = \"rihgt\"",
            "drive.motion \"roll\".about",
            "\"right\"?",
        ),
        (
            "about = \"right\"",
            "about = [0, 0, 0]",
            "drive.motion \"roll\".about",
            "three numbers",
        ),
        (
            "kind = \"turn\"",
            "kind = \"spin\"",
            "drive.motion \"roll\".kind",
            "known here: turn and shift",
        ),
        (
            "smoothing = \"100 ms\"",
            "smoothing = \"20 ms\"",
            "drive.motion \"roll\".record",
            "longer smoothing",
        ),
        (
            "\"roll.csv\"",
            "\"rol.csv\"",
            "drive.motion \"roll\".record",
            "check the spelling",
        ),
        (
            "at = [\"-450 mm\", \"0 mm\"",
            "at = [\"-460 mm\", \"0 mm\"",
            "probe \"sensor 1\".at",
            "the cavity runs from",
        ),
        (
            "faces = \"front\"",
            "",
            "probe \"sensor 1\".faces",
            "add for instance",
        ),
        (
            "kind = \"pressure\"",
            "kind = \"presure\"",
            "probe \"sensor 1\".kind",
            "did you mean \"pressure\"?",
        ),
        ("cell = \"10 mm\"", "cell = 10", "tank.cell", "35 mm"),
        (
            "[drive]",
            "[drive]\nlength = \"5 s\"",
            "drive.length",
            "state a shorter length",
        ),
        ("[tank]", "[pickup]\n[tank]", "pickup", "known here"),
        (
            "kind = \"pressure\"",
            "kind = \"profile\"",
            "probe \"sensor 1\".count",
            "add for instance count = 60",
        ),
        (
            "[tank]",
            "[[plate]]\nname = \"roof\"\nshelf = { x = [\"-450 mm\", \"450 mm\"], y = [\"-31 mm\", \"31 mm\"] }\nz = \"400 mm\"\nlift = { speed = \"1 m/s\" }\n[tank]",
            "plate \"roof\".lift",
            "as a wall",
        ),
    ];
    for (old, new, key, mend) in places {
        assert!(TANK.contains(old), "{old}");
        let text = TANK.replacen(old, new, 1);
        let faults = read(&text, &roll("deg"))
            .err()
            .unwrap_or_else(|| panic!("{new} was read"));
        let all = shown(&faults);
        assert!(
            faults.iter().any(|f| f.key == key && f.mend.contains(mend)),
            "{new}: {all}"
        );
        let fault = faults.iter().find(|f| f.key == key).unwrap();
        assert!(fault.place.line > 0, "{all}");
        // The place is a line that the test wrote, or that of the section or record concerned.
        let line = text.lines().nth(fault.place.line - 1).unwrap();
        assert!(
            new.lines().any(|written| line.contains(written))
                || line.starts_with("[[")
                || line.starts_with("record"),
            "{new} is told at line {}: {line}",
            fault.place.line
        );
    }
}

#[test]
fn a_slip_in_the_record_is_told_in_the_record() {
    let slip = roll("deg").replace("1.00,", "0.99,");
    let faults = read(TANK, &slip).unwrap_err();
    assert_eq!(faults.len(), 1, "{}", shown(&faults));
    assert_eq!(faults[0].place.to_string(), "roll.csv:103", "{}", faults[0]);
    let faults = read(TANK, &roll("mm")).unwrap_err();
    assert_eq!(faults[0].place.to_string(), "roll.csv:2", "{}", faults[0]);
    assert!(faults[0].mend.contains("angle [deg]"), "{}", faults[0]);
}

#[test]
fn an_experiment_is_not_judged_as_a_pan() {
    let faults = read_from(Path::new("tank.toml"), &sources(TANK, &roll("deg"))).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert_eq!((faults[0].key.as_str(), faults[0].place.line), ("kind", 3));
    assert!(faults[0].mend.contains("sumpwright slosh"));
}

#[test]
fn the_page_on_experiments_is_a_sound_experiment_that_states_every_key() {
    let page = include_str!("../../../docs/experiments.md");
    let blocks = page
        .split("```toml\n")
        .skip(1)
        .map(|rest| rest.split("```").next().unwrap());
    let text: String = blocks.collect();
    let swing: String = roll("deg")
        .lines()
        .map(|l| format!("{l}\n"))
        .chain((400..720).map(|i| {
            let t = 0.01 * f64::from(i);
            format!("{t:.2},{:.4}\n", 4.0 * (1.0 - (3.84 * t).cos()))
        }))
        .collect();
    let e = read(&text, &swing).unwrap_or_else(|f| panic!("{}", shown(&f)));
    assert!(e.cautions.is_empty(), "{}", shown(&e.cautions));
    assert_eq!((e.probes.len(), e.tank.lifts.len(), e.drive.end()), (4, 1, 7.0));
    let left_out: Vec<&str> = e
        .inputs
        .iter()
        .filter(|i| i.text.is_empty())
        .map(|i| i.key.as_str())
        .collect();
    // Pockets and plates stand on the other page; boxes and motions show each of their keys once, not every time.
    let once = |key: &&str| {
        !["plate \"", "pocket \"", "start.box \"bed"]
            .iter()
            .any(|part| key.starts_with(part))
    };
    let never: Vec<&str> = left_out.into_iter().filter(once).collect();
    assert!(never.is_empty(), "the page does not state {never:?}");
}

/// The page's other experiment, on the base that it names and a table's accelerometer.
#[test]
fn the_page_on_experiments_shows_a_sound_revision() {
    let page = include_str!("../../../docs/experiments.md");
    let text = page
        .split("```\n")
        .find(|block| block.contains("base = \"lateral-water.toml\""))
        .expect("the page has a revision");
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/experiments");
    let bytes = |name: &str| std::fs::read(examples.join(name)).expect("the example is there");
    let shaken: String = (0..200)
        .map(|i| format!("{:.3},{:.4}\n", 0.005 * f64::from(i), (0.05 * f64::from(i)).sin()))
        .collect();
    let files = [
        ("ours.toml", text.as_bytes().to_vec()),
        ("lateral-water.toml", bytes("lateral-water.toml")),
        ("roll.csv", bytes("roll.csv")),
        (
            "shaker.csv",
            format!("time [s],acceleration [m/s2]\n{shaken}").into_bytes(),
        ),
    ];
    let sources = Sources::Memory(files.map(|(name, bytes)| (PathBuf::from(name), bytes)).into());
    match read_any_from(Path::new("ours.toml"), &sources) {
        Ok(Job::Experiment(e)) => {
            assert_eq!((e.name.as_str(), e.drive.end()), ("Oil on our shaker", 0.995));
            // Hot oil has no place in it: 10W-60 at 40 °C is more than a hundred times as thick as water.
            assert!(e.fluid.viscosity > 1e-4, "{:.2e} m²/s", e.fluid.viscosity);
            assert!(e.drive.spin.is_none(), "the roll was dropped");
        }
        Ok(Job::Pan(_)) => panic!("it is an experiment"),
        Err(faults) => panic!("{}", shown(&faults)),
    }
}

/// A box beyond the tank is told at the side on which it lies apart.
#[test]
fn a_start_box_beside_the_tank_is_told_at_its_own_side() {
    let block = "[[start.box]]\nname = \"b\"\nx = [\"500 mm\", \"600 mm\"]\nz = [\"0 mm\", \"50 mm\"]";
    let text = TANK.replacen("[start]\nlevel = \"93 mm\"", block, 1);
    let faults = read(&text, &roll("deg")).unwrap_err();
    assert!(
        faults
            .iter()
            .any(|f| f.key.ends_with(".x") && f.id == "outside-tank"),
        "{}",
        shown(&faults)
    );
}

#[test]
fn every_example_experiment_is_read() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/experiments");
    let mut read = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "toml") {
            continue;
        }
        match read_any(&path) {
            Ok(Job::Experiment(e)) => {
                assert!(!e.notes.is_empty(), "{} names no source", path.display());
                assert!(!e.probes.is_empty(), "{} measures nothing", path.display());
                assert!(e.cautions.is_empty(), "{}", shown(&e.cautions));
            }
            Ok(Job::Pan(_)) => panic!("{} is taken for a pan", path.display()),
            Err(faults) => panic!("{}", shown(&faults)),
        }
        read += 1;
    }
    assert!(read >= 1, "no example was found");
}
