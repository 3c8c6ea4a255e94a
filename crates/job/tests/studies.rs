//! Studies: keys found in the design, values put into it, faults told, a case written as a revision that reads the same.

use std::path::{Path, PathBuf};

use sumpwright_job::{Asks, Design, Fault, Study, read, read_study};

/// A folder of its own with the box sump of the examples.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("sumpwright-studies-{}-{name}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).unwrap();
        let pan = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/box/pan.toml");
        std::fs::copy(pan, path.join("pan.toml")).unwrap();
        Folder(path)
    }

    fn study(&self, body: &str) -> Result<Study, Vec<Fault>> {
        let head = "format = \"2026-11\"\nkind = \"study\"\nname = \"s\"\ndesign = \"pan.toml\"\n";
        let path = self.0.join("study.toml");
        std::fs::write(&path, format!("{head}{body}")).unwrap();
        read_study(&path)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn sound(study: Result<Study, Vec<Fault>>) -> Study {
    study.unwrap_or_else(|faults| panic!("{}", faults.iter().map(|f| format!("{f}\n")).collect::<String>()))
}

fn variant(study: &Study, draw: &[f64]) -> Design {
    let levels = study.levels(draw);
    study
        .variant(&levels)
        .unwrap_or_else(|faults| panic!("{}", faults.iter().map(|f| format!("{f}\n")).collect::<String>()))
}

#[test]
fn values_reach_the_design_by_key_by_list_and_by_every_part() {
    let folder = Folder::new("reach");
    let study = sound(folder.study(
        "[[vary]]\nname = \"fill\"\nkey = \"fill.volume\"\nrange = [\"4.0 L\", \"5.0 L\"]\n\
         [[vary]]\nname = \"mouth\"\nkey = \"pickup.mouth[2]\"\nvalues = [\"-95 mm\", \"-3.9 in\"]\n\
         [[vary]]\nname = \"gap\"\nkey = 'door \"*\".gap'\nrange = [\"0.4 mm\", \"0.8 mm\"]\nsteps = 3\n\
         [[vary]]\nname = \"walls\"\nkeys = ['plate \"front wall\".wall[*][0]']\nas = \"added\"\nrange = [\"-10 mm\", \"10 mm\"]\nstep = \"5 mm\"\n\
         [[vary]]\nname = \"aloft\"\nwhat = \"oil aloft\"\nrange = [0.5, 1.5]\n",
    ));
    assert_eq!(study.asks, Asks::Choice);
    assert_eq!(study.plan.cases(), 128);
    let design = variant(&study, &[0.25, 0.9, 0.99, 0.99, 0.5]);
    assert!((design.fill - 4.25e-3).abs() < 1e-12);
    assert!((design.pan.mouth.at.z + 3.9 * 0.0254).abs() < 1e-12);
    assert!(
        design
            .pan
            .doors
            .iter()
            .all(|door| (door.gap - 0.8e-3).abs() < 1e-12)
    );
    let pan::PlateShape::Wall { path, .. } = &design.pan.plates[0].shape else {
        panic!()
    };
    assert!(path.iter().all(|p| (p.x - 0.060).abs() < 1e-12), "{path:?}");
    let middle = variant(&study, &[0.25, 0.9, 0.99, 0.5, 0.5]);
    assert_eq!(middle.circuit.aloft, study.of.design.circuit.aloft);
    let much = variant(&study, &[0.25, 0.9, 0.99, 0.5, 0.999_999]);
    for (got, stated) in much.circuit.aloft.iter().zip(&study.of.design.circuit.aloft) {
        assert_eq!(got.0, stated.0);
        assert!((got.1 - 1.5 * stated.1).abs() < 1e-9, "{got:?}");
    }
}

/// Both examples that are shipped read, and their inputs reach what they name: a factor may move quantities of several kinds.
#[test]
fn the_studies_of_the_examples_read_and_the_words_for_inputs_reach_their_keys() {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/heath-lane");
    sound(read_study(&examples.join("fill-and-mouth.toml")));
    let study = sound(read_study(&examples.join("how-sure.toml")));
    assert_eq!(study.asks, Asks::Chance);
    let at = |name: &str| study.inputs.iter().position(|input| input.name == name).unwrap();
    let mut draw = vec![0.5; study.inputs.len()];
    draw[at("pump flow")] = 0.9;
    draw[at("door gap")] = 0.999_99;
    draw[at("g sensor")] = 0.25;
    let design = variant(&study, &draw);
    let (own, stated) = (&design.circuit, &study.of.design.circuit);
    let factor = own.displacement / stated.displacement;
    assert!(factor > 1.03 && factor < 1.08, "{factor}");
    assert!((own.relief_flow / stated.relief_flow - factor).abs() < 1e-5);
    assert!(
        design
            .pan
            .doors
            .iter()
            .all(|door| (door.gap - 1.2e-3).abs() < 1e-5)
    );
    assert!((study.acceleration_factor(&study.levels(&draw)) - 0.98).abs() < 1e-9);
}

/// What moves up at one key moves down at the other, and a plate that is out takes its door.
#[test]
fn what_is_added_here_is_taken_there_and_a_plate_takes_its_door() {
    let folder = Folder::new("against");
    let study = sound(folder.study(
        "[[vary]]\nname = \"door\"\nkeys = ['door \"front door\".high[0]']\nagainst = ['door \"front door\".low[0]']\nas = \"added\"\n\
         range = [\"0 mm\", \"20 mm\"]\n\
         [[vary]]\nname = \"front\"\nkey = 'plate \"front wall\"'\nvalues = [\"in\", \"out\"]\n",
    ));
    let door = |design: &Design| (design.pan.doors[0].low.x, design.pan.doors[0].high.x);
    let (low, high) = door(&study.of.design);
    let wide = door(&variant(&study, &[0.5, 0.1]));
    assert!(
        (wide.0 - (low - 0.01)).abs() < 1e-9 && (wide.1 - (high + 0.01)).abs() < 1e-9,
        "{wide:?}"
    );
    let without = variant(&study, &[0.5, 0.9]);
    assert_eq!(without.pan.plates.len(), study.of.design.pan.plates.len() - 1);
    assert!(without.pan.doors.is_empty());
}

/// The written revision is a design like any other, and reads as the very variant it was written from.
#[test]
fn a_case_written_as_a_revision_reads_as_that_case() {
    let folder = Folder::new("revision");
    let study = sound(folder.study(
        "[[vary]]\nname = \"fill\"\nkey = \"fill.volume\"\nrange = [\"4.0 L\", \"5.0 L\"]\n\
         [[vary]]\nname = \"mouth\"\nkey = \"pickup.mouth[0]\"\nrange = [\"-20 mm\", \"0 mm\"]\n\
         [[vary]]\nname = \"top\"\nkey = 'plate \"rear wall\".z[1]'\nrange = [\"-50 mm\", \"-20 mm\"]\n\
         [[vary]]\nname = \"sump\"\nkey = 'pocket \"sump\".rectangle.x[1]'\nrange = [\"158 mm\", \"162 mm\"]\n\
         [[vary]]\nname = \"stop\"\nkey = 'drive.manoeuvre \"hard stop\".braking'\nrange = [\"0.8 g\", \"1.1 g\"]\n\
         [[vary]]\nname = \"gap\"\nkey = 'door \"front door\".gap'\nrange = [\"0.4 mm\", \"0.8 mm\"]\n\
         [[vary]]\nname = \"front\"\nkey = 'plate \"front wall\"'\nvalues = [\"in\", \"out\"]\n",
    ));
    for (n, draw) in study.plan.draws().unwrap().iter().take(8).enumerate() {
        let levels = study.levels(draw);
        let text = study
            .revision(&levels, "winner", "pan.toml", "of a study \"s\"")
            .unwrap();
        let path = folder.0.join(format!("w{n}.toml"));
        std::fs::write(&path, &text).unwrap();
        let written = read(&path).unwrap_or_else(|faults| panic!("{text}\n{faults:?}"));
        let own = variant(&study, draw);
        assert_eq!(format!("{:?}", written.pan), format!("{:?}", own.pan), "{text}");
        assert_eq!(written.fill, own.fill);
        assert_eq!(written.circuit, own.circuit);
        let drives = |design: &Design| {
            design
                .drives
                .iter()
                .map(|d| d.drive().unwrap())
                .collect::<Vec<_>>()
        };
        assert_eq!(drives(&written), drives(&own), "{text}");
        assert!(
            !text.contains("[oil]") && !text.contains("orientation"),
            "only what changes:\n{text}"
        );
    }
}

#[test]
fn an_invalid_variant_has_the_faults_of_any_design() {
    let folder = Folder::new("invalid");
    let study = sound(
        folder.study("[[vary]]\nname = \"fill\"\nkey = \"fill.volume\"\nvalues = [\"0.9 L\", \"4.2 L\"]\n"),
    );
    let faults = study
        .variant(&study.levels(&[0.1]))
        .expect_err("0.9 L is all aloft");
    assert!(faults.iter().any(|f| f.id == "nothing-left"), "{faults:?}");
    assert!(study.variant(&study.levels(&[0.9])).is_ok());
}

/// Each wrong input: a word of the message, and of the mend.
#[test]
fn each_wrong_study_is_told_with_how_to_mend_it() {
    let folder = Folder::new("wrong");
    let vary = |key: &str, values: &str| format!("[[vary]]\nname = \"x\"\nkey = '{key}'\n{values}\n");
    let range = "range = [\"1 L\", \"2 L\"]";
    let cases = [
        (
            vary("fill.volme", range),
            "unknown-key",
            "no key fill.volme",
            "fill.volume",
        ),
        (
            vary("plate \"front wal\".z[1]", range),
            "unknown-key",
            "no key plate",
            "front wall",
        ),
        (
            vary("plate \"front wall\".zz", range),
            "unknown-key",
            "no key",
            "front wall",
        ),
        (
            vary("door \"front door\".hinge", range),
            "not-numeric",
            "is no number",
            "words cannot be varied",
        ),
        (
            vary("pickup.mouth", range),
            "not-numeric",
            "is a list",
            "pickup.mouth[0]",
        ),
        (vary("pickup", range), "not-numeric", "is a section", "number"),
        (
            vary("[fill", range),
            "wrong-kind",
            "not written as a key",
            "fill.volume",
        ),
        (
            vary("fill.volume", "range = [\"1 mm\", \"2 mm\"]"),
            "quantity",
            "volume is due",
            "5.2 L",
        ),
        (
            vary("fill.volume", "range = [\"2 L\", \"1 L\"]"),
            "zero-size",
            "does not rise",
            "lower value first",
        ),
        (
            vary("fill.volume", "range = [\"1 L\"]"),
            "wrong-kind",
            "list of 1",
            "low end",
        ),
        (
            vary("fill.volume", "range = [\"1 L\", \"2 L\"]\nstep = \"3 L\""),
            "out-of-range",
            "does not go into",
            "as large as",
        ),
        (
            vary("fill.volume", "values = []"),
            "wrong-kind",
            "list of 0",
            "at least one",
        ),
        (
            vary("plate \"front wall\"", "values = [\"in\", \"away\"]"),
            "wrong-kind",
            "in or out",
            "\"out\"",
        ),
        (
            vary("pocket \"sump\"", "values = [\"in\", \"out\"]"),
            "wrong-kind",
            "left out",
            "plate or a door",
        ),
        (String::new(), "missing-section", "nothing varies", "[[vary]]"),
        (
            format!("method = \"grid\"\n{}", vary("fill.volume", range)),
            "plan",
            "without steps",
            "step =",
        ),
        (
            format!("method = \"sobel\"\n{}", vary("fill.volume", range)),
            "unknown-word",
            "sobel",
            "sobol",
        ),
        (
            format!("cases = 70000\n{}", vary("fill.volume", range)),
            "out-of-range",
            "70000",
            "65536",
        ),
        (
            format!("aims = [\"margins\"]\n{}", vary("fill.volume", range)),
            "unknown-word",
            "margins",
            "\"margin\"",
        ),
        (
            format!("aims = [\"at the crank\"]\n{}", vary("fill.volume", range)),
            "no-data",
            "no crank",
            "[crank]",
        ),
        (
            format!("casess = 3\n{}", vary("fill.volume", range)),
            "unknown-key",
            "casess",
            "cases",
        ),
        (
            "[[unsure]]\nname = \"x\"\nwhat = \"oil aloft\"\nnormal = [1.0, 0.0]\n".to_owned(),
            "out-of-range",
            "not above zero",
            "deviation",
        ),
        (
            "method = \"search\"\n[[unsure]]\nname = \"x\"\nwhat = \"oil aloft\"\nrange = [0.5, 1.5]\n"
                .to_owned(),
            "wrong-kind",
            "neither be searched",
            "sobol",
        ),
        (
            format!(
                "{}[[unsure]]\nname = \"y\"\nwhat = \"oil aloft\"\nrange = [0.5, 1.5]\n",
                vary("fill.volume", range)
            ),
            "stated-twice",
            "mixed",
            "two studies",
        ),
    ];
    for (body, id, what, mend) in cases {
        let faults = match folder.study(&body) {
            Ok(_) => panic!("taken as sound:\n{body}"),
            Err(faults) => faults,
        };
        let found = faults
            .iter()
            .any(|f| f.id == id && f.what.contains(what) && f.mend.contains(mend));
        assert!(found, "{body}\n{faults:#?}");
        let of_values = |f: &&sumpwright_job::Fault| {
            f.id == "unknown-key"
                && [".range", ".values", ".step", ".steps"]
                    .iter()
                    .any(|end| f.key.ends_with(end))
        };
        assert_eq!(
            faults.iter().find(of_values),
            None,
            "a key that is right is called unknown:\n{body}"
        );
        assert!(
            faults.iter().all(|f| f.place.file.ends_with("study.toml")),
            "{faults:#?}"
        );
    }
}

#[test]
fn a_study_without_its_design_or_of_an_experiment_is_told() {
    let folder = Folder::new("design");
    std::fs::remove_file(folder.0.join("pan.toml")).unwrap();
    let body = "[[vary]]\nname = \"x\"\nkey = \"fill.volume\"\nrange = [\"1 L\", \"2 L\"]\n";
    let faults = folder.study(body).err().expect("no design");
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert!(
        faults[0].id == "no-such-file" && faults[0].key == "design",
        "{faults:?}"
    );
    let pan = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/box/pan.toml");
    let faults = read_study(&pan).err().expect("a pan is no study");
    assert_eq!(faults[0].id, "not-a-study");
    let pan = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/heath-lane/fill-and-mouth.toml");
    let faults = read(&pan).expect_err("a study is no pan");
    assert_eq!(faults[0].id, "study", "{faults:?}");
}
