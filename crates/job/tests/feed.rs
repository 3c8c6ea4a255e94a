//! The `[feed]` section: what is understood of it, and what a person reads when it is wrong.

use std::path::{Path, PathBuf};

use sumpwright_job::{Design, Fault, Sources, read_from, starter};

/// A sound line for the starter's mouth.
const LINE: &str = r#"
[feed]
bore = "19 mm"
pump = ["0 mm", "60 mm", "10 mm"]
entry = "box"
corners = [["0 mm", "0 mm", "-20 mm"]]
bend_radius = "30 mm"
screen = { wire = "0.4 mm", opening = "1.2 mm" }
joint = { flatness = "0.03 mm" }
"#;

fn read(line: &str) -> Result<Design, Vec<Fault>> {
    let text = format!("{}{line}", starter()[0].text);
    let sources = Sources::Memory([(PathBuf::from("pan.toml"), text.into_bytes())].into());
    read_from(Path::new("pan.toml"), &sources)
}

/// The faults with pieces of the line exchanged: each as "key: what; mend".
#[track_caller]
fn faults(changes: &[(&str, &str)]) -> Vec<String> {
    let mut text = LINE.to_owned();
    for (old, new) in changes {
        assert!(text.contains(old), "the line no longer says {old}");
        text = text.replacen(old, new, 1);
    }
    match read(&text) {
        Ok(_) => panic!("the broken line was read: {text}"),
        Err(faults) => faults
            .into_iter()
            .map(|f| {
                assert!(f.place.line > 0, "{f} has a line");
                format!("{}: {}; {}", f.key, f.what, f.mend)
            })
            .collect(),
    }
}

#[track_caller]
fn says(changes: &[(&str, &str)], wanted: &str) {
    assert_eq!(faults(changes), [wanted]);
}

#[test]
fn corners_become_straights_and_a_bend() {
    let design = read(LINE).unwrap();
    let feed = design.feed.unwrap();
    let line = &feed.supply.line;
    // 100 mm up and 67.1 mm across and up again; the bend takes its tangents and gives its arc.
    let way: f64 = 0.1 + (0.06_f64.powi(2) + 0.03_f64.powi(2)).sqrt();
    let angle = 0.06_f64.atan2(0.03);
    let due = way - 2.0 * 0.03 * (0.5 * angle).tan() + 0.03 * angle;
    assert!((line.length() - due).abs() < 1e-9, "{} and {due}", line.length());
    assert_eq!(line.pieces.len(), 3);
    assert!((feed.way.z - 0.130).abs() < 1e-12);
    let flat = design.inputs.iter().find(|i| i.key == "feed.joint.land").unwrap();
    assert!(flat.shown.starts_with("6.00 mm"), "{}", flat.shown);
}

#[test]
fn a_design_without_the_section_has_no_line() {
    assert!(read("").unwrap().feed.is_none());
}

#[test]
fn what_cannot_be_guessed_is_asked() {
    says(
        &[("bore = \"19 mm\"\n", "")],
        "feed.bore: feed.bore is not stated; add for instance bore = \"35 mm\"",
    );
    says(
        &[("entry = \"box\"\n", "")],
        "feed.entry: feed.entry is not stated; add for instance entry = \"bell\"",
    );
    says(
        &[("bend_radius = \"30 mm\"\n", "")],
        "feed.bend_radius: feed.bend_radius is not stated; add for instance bend_radius = \"35 mm\"",
    );
    says(
        &[(
            "corners = [[\"0 mm\", \"0 mm\", \"-20 mm\"]]\nbend_radius = \"30 mm\"\n",
            "",
        )],
        "feed: none of corners and tube is stated; add for instance corners = [[\"0 mm\", \"0 mm\", \"-20 mm\"]] and \
         bend_radius = \"30 mm\"",
    );
    says(
        &[(
            "{ flatness = \"0.03 mm\" }",
            "{ seal = \"o-ring\", cord = \"2.4 mm\" }",
        )],
        "feed.joint.groove: feed.joint.groove is not stated; add for instance groove = \"35 mm\"",
    );
    says(
        &[("entry = \"box\"", "entry = \"cone\"")],
        "feed.cone_length: feed.cone_length is not stated; add for instance cone_length = \"35 mm\"",
    );
}

#[test]
fn sizes_that_do_not_fit_each_other_are_refused() {
    says(
        &[("entry = \"box\"", "entry = \"tube\"")],
        "feed.entry: the mouth is 38.0 mm (1.50 in) wide and the tube's bore 19.0 mm (0.748 in); a bare tube's mouth is its \
         bore: set pickup.diameter to it, or say entry = \"bell\", \"cone\" or \"box\"",
    );
    says(
        &[("bore = \"19 mm\"", "bore = \"45 mm\"")],
        "feed.entry: the mouth is 38.0 mm (1.50 in) wide and the tube's bore 45.0 mm (1.77 in); pickup.diameter is the wide \
         end of a bell, cone or box; check it against feed.bore",
    );
    says(
        &[("bend_radius = \"30 mm\"", "bend_radius = \"5 mm\"")],
        "feed.bend_radius: a bend of 5.00 mm (0.197 in) is tighter than the tube of 19.0 mm (0.748 in) can be bent; give the \
         radius of the tube's middle line: half a bore for a mitre, 1 to 2 bores as bent",
    );
    says(
        &[("bend_radius = \"30 mm\"", "bend_radius = \"200 mm\"")],
        "feed.corners: the leg from (0.0 mm (0.00 in), 0.0 mm (0.00 in), -120.0 mm (-4.72 in)) to (0.0 mm (0.00 in), 0.0 mm \
         (0.00 in), -20.0 mm (-0.787 in)) of the tube is 23.6 mm (0.929 in) too short for its bends; take a smaller \
         bend_radius, or move the corners apart",
    );
    says(
        &[("\"0 mm\", \"-20 mm\"]]", "\"0 mm\", \"-120 mm\"]]")],
        "feed.corners: two corners of the tube are one place; list the corners between mouth and pump only; the ends are \
         pickup.mouth and feed.pump",
    );
    says(
        &[(
            "corners = [[\"0 mm\", \"0 mm\", \"-20 mm\"]]\nbend_radius = \"30 mm\"",
            "tube = [{ straight = \"80 mm\" }]",
        )],
        "feed.tube: the tube is 80.0 mm (3.15 in) long in all and cannot reach from the mouth to the pump, 143.2 mm (5.64 in) \
         away; add the pieces that are missing, or check feed.pump and pickup.mouth",
    );
    says(
        &[("opening = \"1.2 mm\"", "opening = \"0.05 mm\"")],
        "feed.screen.opening: 1 % of the screen is open; screens were measured from 5 % to 80 %: check wire and opening (the \
         gap between two wires)",
    );
    says(
        &[(
            "{ flatness = \"0.03 mm\" }",
            "{ seal = \"o-ring\", cord = \"2 mm\", groove = \"2.2 mm\" }",
        )],
        "feed.joint.groove: the groove of 2.20 mm (0.0866 in) is as deep as the cord of 2.00 mm (0.0787 in) is thick: nothing \
         squeezes the ring; a face seal wants 15 to 30 % of squeeze: a groove of about 0.75 of the cord",
    );
    says(
        &[("entry = \"box\"", "entry = \"box\"\nleast_pressure = \"1.1 bar\"")],
        "feed.least_pressure: the least pressure, 110.0 kPa (16.0 psi), is not below that over the oil, 101.3 kPa (14.7 psi); \
         both are absolute: state the least pressure below the crankcase's",
    );
}

#[test]
fn slips_of_units_words_and_keys_are_told_with_their_mend() {
    for (old, new, key, mend) in [
        ("bore = \"19 mm\"", "bore = \"19\"", "feed.bore", "unit"),
        (
            "bore = \"19 mm\"",
            "bore = \"19 in\"",
            "feed.bore",
            "at most 150.0 mm",
        ),
        ("bore = \"19 mm\"", "bore = \"-19 mm\"", "feed.bore", "above zero"),
        (
            "entry = \"box\"",
            "entry = \"bel\"",
            "feed.entry",
            "did you mean \"bell\"?",
        ),
        ("bore = ", "boar = \"1 mm\"\nbore = ", "feed.boar", "known here"),
        (
            "flatness = ",
            "flatnes = ",
            "feed.joint.flatnes",
            "did you mean \"flatness\"?",
        ),
        (
            "flatness = \"0.03 mm\"",
            "flatness = \"30 mm\"",
            "feed.joint.flatness",
            "at most 2.00 mm",
        ),
        ("flatness = ", "cord = ", "feed.joint.cord", "known here"),
        (
            "entry = \"box\"",
            "entry = \"box\"\ncrankcase = \"0 bar\"",
            "feed.crankcase",
            "at least 50.0 kPa",
        ),
        (
            "entry = \"box\"",
            "entry = \"box\"\ncoldest = \"-90 C\"",
            "feed.coldest",
            "at least -40",
        ),
        (
            "entry = \"box\"",
            "entry = \"box\"\nrelief = \"sump\"",
            "feed.relief",
            "inlet and pan",
        ),
        (
            "wire = \"0.4 mm\", opening",
            "wire = \"0.4 mm\", hole",
            "feed.screen",
            "keep one of them",
        ),
        ("pump = [\"0 mm\", ", "pump = [", "feed.pump", "for instance"),
    ] {
        let all = faults(&[(old, new)]);
        assert!(
            all.iter().any(|f| f.starts_with(key) && f.contains(mend)),
            "{new}: {key} and `{mend}` in {all:#?}"
        );
    }
}

/// A revision takes the line from its base; another entry, seal, screen or way of the tube drops what belonged to the first.
#[test]
fn a_revision_changes_the_line_without_leftovers() {
    let base = LINE
        .replace("entry = \"box\"", "entry = \"cone\"\ncone_length = \"12 mm\"")
        .replace(
            "{ flatness = \"0.03 mm\" }",
            "{ seal = \"gasket\", thickness = \"0.5 mm\" }",
        );
    let over = r#"format = "2026-11"
name = "second"
base = "first.toml"
[feed]
entry = "bell"
tube = [{ straight = "150 mm" }]
screen = { hole = "2.5 mm", open = "40 %" }
joint = { seal = "o-ring", cord = "2.4 mm", groove = "1.8 mm" }
"#;
    let first = format!("{}{base}", starter()[0].text);
    let files = [("first.toml", first.as_str()), ("pan.toml", over)];
    let files = files.map(|(name, text)| (PathBuf::from(name), text.as_bytes().to_vec()));
    let design = match read_from(Path::new("pan.toml"), &Sources::Memory(files.into())) {
        Ok(design) => design,
        Err(faults) => panic!("{faults:#?}"),
    };
    let line = design.feed.unwrap().supply.line;
    assert_eq!(line.pieces.len(), 1);
    assert!((line.bore() - 0.019).abs() < 1e-12, "the bore is the base's");
}
