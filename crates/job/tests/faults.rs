//! What a person reads when a design is wrong.
//!
//! Each test breaks the starter in one place and compares the whole message.

use std::path::{Path, PathBuf};

use proptest::prelude::*;
use sumpwright_job::{Fault, Sources, read_from, starter};

const STARTER: &str = starter()[0].text;

fn read_text(text: &str) -> Result<sumpwright_job::Design, Vec<Fault>> {
    let sources = Sources::Memory([(PathBuf::from("pan.toml"), text.as_bytes().to_vec())].into());
    read_from(Path::new("pan.toml"), &sources)
}

/// The starter with pieces of its text exchanged.
#[track_caller]
fn broken(changes: &[(&str, &str)]) -> String {
    let mut text = STARTER.to_owned();
    for (old, new) in changes {
        assert!(text.contains(old), "the starter no longer says {old}");
        text = text.replacen(old, new, 1);
    }
    text
}

/// Asserts the faults of the broken starter; in `wanted`, `{needle}` stands for the line that holds it.
#[track_caller]
fn says(changes: &[(&str, &str)], wanted: &[&str]) {
    let text = broken(changes);
    let got = match read_text(&text) {
        Ok(_) => panic!("the broken design was read"),
        Err(faults) => faults
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
            .join("\n"),
    };
    let fill = |wanted: &str| match wanted.split_once('{') {
        None => wanted.to_owned(),
        Some((before, rest)) => {
            let (needle, after) = rest.split_once('}').unwrap();
            let line = 1 + text
                .lines()
                .position(|l| l.contains(needle))
                .expect("the needle is in the text");
            format!("{before}{line}{after}")
        }
    };
    let wanted = wanted.iter().map(|w| fill(w)).collect::<Vec<_>>().join("\n");
    assert_eq!(got, wanted, "\n--- got\n{got}\n--- wanted\n{wanted}");
}

#[test]
fn an_unknown_key_names_the_nearest_known_one() {
    says(
        &[("inclination =", "inclinaton =")],
        &["error: the key \"inclinaton\" is not known here\n  \
           at pan.toml:{inclinaton}, installation.inclinaton\n  \
           mend: did you mean \"inclination\"?"],
    );
}

#[test]
fn a_misspelt_key_that_is_due_is_one_fault_and_not_two() {
    says(
        &[("relief_flow =", "relieff_flow =")],
        &["error: the key \"relieff_flow\" is not known here\n  \
           at pan.toml:{relieff_flow}, pump.relieff_flow\n  \
           mend: did you mean \"relief_flow\"?"],
    );
    says(
        &[("[pickup]", "[pick_up]")],
        &["error: the key \"pick_up\" is not known here\n  \
           at pan.toml:{[pick_up]}, pick_up\n  \
           mend: did you mean \"pickup\"?"],
    );
}

/// "fil" is as near to "oil", which is there, as to "fill", which is not.
#[test]
fn a_slip_is_taken_for_the_key_that_is_missing() {
    says(
        &[("[fill]", "[fil]")],
        &["error: the key \"fil\" is not known here\n  \
           at pan.toml:{[fil]}, fil\n  \
           mend: did you mean \"fill\"?"],
    );
}

#[test]
fn a_key_with_no_likeness_lists_what_is_known() {
    says(
        &[("[pump]", "[pump]\ncolour = \"red\"")],
        &["error: the key \"colour\" is not known here\n  \
           at pan.toml:{colour}, pump.colour\n  \
           mend: known here: displacement and relief_flow"],
    );
}

#[test]
fn a_wrong_dimension_says_which_is_due() {
    says(
        &[("relief_flow = \"45 L/min\"", "relief_flow = \"45 L\"")],
        &["error: \"45 L\": \"L\" makes it a volume; a flow is due\n  \
           at pan.toml:{relief_flow}, pump.relief_flow\n  \
           mend: write it for instance as \"24 L/min\" or \"6.3 gpm\""],
    );
}

#[test]
fn a_bare_number_where_a_length_is_due_is_refused() {
    says(
        &[("diameter = \"38 mm\"", "diameter = 38")],
        &["error: \"38\" carries no unit; a length is due\n  \
           at pan.toml:{diameter = 38}, pickup.diameter\n  \
           mend: write it for instance as \"35 mm\" or \"1-3/8 in\""],
    );
}

#[test]
fn a_missing_key_and_a_missing_section_are_said() {
    says(
        &[("relief_flow =", "#")],
        &["error: pump.relief_flow is not stated\n  \
           at pan.toml:{[pump]}, pump.relief_flow\n  \
           mend: add for instance relief_flow = \"24 L/min\""],
    );
    says(
        &[("[fill]\nvolume = \"5 L\"", "")],
        &["error: the section [fill] is not there\n  \
           at pan.toml:1, fill\n  \
           mend: add it, for instance with volume = \"5.2 L\""],
    );
}

#[test]
fn numbers_out_of_range_name_the_range() {
    says(
        &[("displacement = \"14 cc/rev\"", "displacement = \"-14 cc/rev\"")],
        &["error: \"-14 cc/rev\" is out of range\n  \
           at pan.toml:{displacement}, pump.displacement\n  \
           mend: volume per revolution above zero is due here"],
    );
    says(
        &[("temperature = \"110 C\"", "temperature = \"400 C\"")],
        &["error: \"400 C\" is out of range\n  \
           at pan.toml:{temperature}, oil.temperature\n  \
           mend: temperature at least -40.0 °C (-40.0 °F) and at most 200 °C (392 °F) is due here"],
    );
    says(
        &[("redline = \"7000 rpm\"", "redline = \"700 rpm\"")],
        &["error: the redline 700 rpm is not above idle 900 rpm\n  \
           at pan.toml:{redline}, engine.redline\n  \
           mend: give the highest engine speed in use"],
    );
}

#[test]
fn not_a_number_and_infinity_are_refused() {
    says(
        &[("share = 0.6", "share = nan")],
        &["error: \"NaN\" does not begin with a number; a share is due\n  \
           at pan.toml:{share = nan}, return \"under the crank\".share\n  \
           mend: write it for instance as \"0.3\" or \"30 %\""],
    );
    says(
        &[("volume = \"5 L\"", "volume = \"inf L\"")],
        &[
            "error: \"inf L\" does not begin with a number; a volume is due\n  \
           at pan.toml:{inf L}, fill.volume\n  \
           mend: write it for instance as \"5.2 L\" or \"5.5 qt\"",
        ],
    );
}

#[test]
fn an_unknown_format_is_refused() {
    says(
        &[("format = \"2026-11\"", "format = \"2031-02\"")],
        &["error: the format \"2031-02\" is not known\n  \
           at pan.toml:{format}, format\n  \
           mend: this program reads format = \"2026-11\"; a later program may have written the file"],
    );
}

#[test]
fn a_pocket_of_no_size_is_refused() {
    says(
        &[(
            "z = [\"-130 mm\", \"0 mm\"]\ncorner",
            "z = [\"0 mm\", \"0 mm\"]\ncorner",
        )],
        &["error: z runs from 0.0 mm (0.00 in) to 0.0 mm (0.00 in)\n  \
           at pan.toml:{z = [\"0 mm\", \"0 mm\"]}, pocket \"sump\".z\n  \
           mend: give the lower value first and leave room between the two"],
    );
    says(
        &[("x = [\"-150 mm\", \"150 mm\"]", "x = [\"150 mm\", \"150 mm\"]")],
        &["error: x runs from 150.0 mm (5.91 in) to 150.0 mm (5.91 in)\n  \
           at pan.toml:{x = [\"150 mm\", \"150 mm\"]}, pocket \"sump\".rectangle.x\n  \
           mend: give the lower value first and leave room between the two"],
    );
}

#[test]
fn an_outline_that_crosses_itself_is_refused() {
    says(
        &[(
            "rectangle = { x = [\"-150 mm\", \"150 mm\"], y = [\"-110 mm\", \"110 mm\"] }\nz = [\"-130",
            "outline = [[\"-150 mm\", \"-110 mm\"], [\"150 mm\", \"110 mm\"], [\"150 mm\", \"-110 mm\"], [\"-150 mm\", \"110 mm\"]]\nz = [\"-130",
        )],
        &["error: the outline crosses itself\n  \
           at pan.toml:{outline = }, pocket \"sump\".outline\n  \
           mend: list the corners in the order in which one walks round"],
    );
}

#[test]
fn a_pocket_that_its_corner_radius_eats_up_is_said_at_the_pocket() {
    says(
        &[("corner_radius = \"10 mm\"", "corner_radius = \"200 mm\"")],
        &[
            "error: pocket \"sump\" is too narrow for a corner radius of 200.00 mm\n  \
           at pan.toml:{[[pocket]]}, pocket \"sump\"\n  \
           mend: use a smaller corner radius or a wider outline",
        ],
    );
}

#[test]
fn more_oil_than_pan_and_block_hold_is_refused() {
    says(
        &[("volume = \"5 L\"", "volume = \"20 L\"")],
        &[
            "error: the fill of 20.00 L (21.13 qt) is more than the 15.17 L (16.03 qt) that pan and block hold\n  \
           at pan.toml:{20 L}, fill.volume\n  \
           mend: put in less oil, or check the pockets",
        ],
    );
}

#[test]
fn a_mouth_in_air_at_rest_is_refused_with_the_height_that_would_do() {
    // 5 L over 300 × 220 mm less the corners is 75.9 mm: the oil stands at z = -54.1 mm.
    says(
        &[(
            "mouth = [\"0 mm\", \"0 mm\", \"-120 mm\"]",
            "mouth = [\"0 mm\", \"0 mm\", \"-48 mm\"]",
        )],
        &["error: the pickup mouth stands 6 mm above the oil at rest\n  \
           at pan.toml:{-48 mm}, pickup.mouth\n  \
           mend: lower the mouth below z = -54 mm, or add oil"],
    );
}

#[test]
fn a_door_that_would_open_along_its_plate_is_refused() {
    says(
        &[("opens = \"rear\"", "opens = \"left\"")],
        &[
            "error: the plate \"front wall\" lies along that direction where the door hangs\n  \
           at pan.toml:{opens = \"left\"}, door \"front door\".opens\n  \
           mend: it can open \"rear\" or \"front\"",
        ],
    );
}

#[test]
fn a_door_on_a_plate_that_is_not_there_names_the_nearest() {
    says(
        &[("plate = \"front wall\"", "plate = \"front wal\"")],
        &["error: there is no plate named \"front wal\"\n  \
           at pan.toml:{plate = \"front wal\"}, door \"front door\".plate\n  \
           mend: did you mean \"front wall\"?"],
    );
}

#[test]
fn a_door_that_opens_into_a_wall_is_refused_at_its_stop() {
    // The flap is 36 mm long and the wall now stands 15 mm away: asin(15 / 36) = 24.6 degrees, found in steps of two.
    says(
        &[
            (
                "wall = [[\"-60 mm\", \"-110 mm\"], [\"-60 mm\"",
                "wall = [[\"45 mm\", \"-110 mm\"], [\"45 mm\"",
            ),
            ("hinge = \"top\"", "stop = \"60 deg\"\nhinge = \"top\""),
        ],
        &[
            "error: door \"front door\" runs into plate \"rear wall\" at 26 degrees, before its stop at 60 degrees\n  \
           at pan.toml:{stop}, door \"front door\".stop\n  \
           mend: lessen the stop angle, hang it on another edge, or let it open the other way",
        ],
    );
}

#[test]
fn parts_outside_the_cavity_are_refused_where_they_stand() {
    says(
        &[(
            "mouth = [\"0 mm\", \"0 mm\", \"-120 mm\"]",
            "mouth = [\"0 mm\", \"0 mm\", \"-140 mm\"]",
        )],
        &["error: the pickup mouth is not inside the cavity\n  \
           at pan.toml:{-140 mm}, pickup.mouth\n  \
           mend: move the mouth into the cavity"],
    );
    says(
        &[(
            "at = [\"120 mm\", \"0 mm\", \"20 mm\"]",
            "at = [\"320 mm\", \"0 mm\", \"20 mm\"]",
        )],
        &["error: return place \"timing case\" is not inside the cavity\n  \
           at pan.toml:{320 mm}, return \"timing case\".at\n  \
           mend: move the return place to where the oil falls into the cavity"],
    );
}

#[test]
fn a_pan_that_is_not_joined_to_the_block_is_refused() {
    says(
        &[("z = [\"0 mm\", \"100 mm\"]", "z = [\"5 mm\", \"100 mm\"]")],
        &[
            "error: the cavity is shut at the flange: pan and block space are not joined at z = 0\n  \
           at pan.toml:{[[pocket]]}, pocket\n  \
           mend: let a pan pocket end at z = 0 and a block pocket begin there, one over the other",
        ],
    );
}

#[test]
fn a_word_that_is_not_known_names_the_known_ones() {
    says(
        &[("hinge = \"top\"", "hinge = \"toop\"")],
        &["error: \"toop\" is not known as door \"front door\".hinge\n  \
           at pan.toml:{toop}, door \"front door\".hinge\n  \
           mend: did you mean \"top\"? Known here: top, bottom, start and end"],
    );
    says(
        &[("grade = \"10W-60\"", "grade = \"10W-61\"")],
        &["error: the grade \"10W-61\" is not in the table\n  \
           at pan.toml:{10W-61}, oil.grade\n  \
           mend: the nearest is \"10W-60\"; or give viscosity at two temperatures from the oil's sheet"],
    );
}

#[test]
fn the_same_thing_said_twice_is_refused() {
    says(
        &[(
            "grade = \"10W-60\"",
            "viscosity = [[\"40 C\", \"160 mm2/s\"], [\"100 C\", \"23 mm2/s\"]]\ngrade = \"10W-60\"",
        )],
        &[
            "error: grade and viscosity are stated, but they say the same thing\n  \
           at pan.toml:{viscosity = [[\"40 C\", \"160 mm2/s\"], [\"100 C\", \"23 mm2/s\"]]}, oil.viscosity\n  \
           mend: keep one of them",
        ],
    );
}

#[test]
fn return_shares_must_sum_to_one_and_be_stated_for_all_or_none() {
    says(
        &[("share = 0.4", "share = 0.3")],
        &["error: the return shares sum to 0.9000\n  \
           at pan.toml:{[[return]]}, return\n  \
           mend: they must sum to 1"],
    );
    says(
        &[("share = 0.4", "#")],
        &["error: some returns state their share and some do not\n  \
           at pan.toml:{[[return]]}, return\n  \
           mend: state the share of every return, or of none"],
    );
}

#[test]
fn oil_that_would_all_be_aloft_is_refused() {
    says(
        &[("[\"7000 rpm\", \"0.8 L\"]", "[\"7000 rpm\", \"8 L\"]")],
        &[
            "error: at 7000 rpm 8.00 L of oil is out of the pan but the fill is 5.00 L\n  \
           at pan.toml:{volume = \"5 L\"}, fill.volume\n  \
           mend: add oil or check the oil aloft",
        ],
    );
}

#[test]
fn two_parts_of_one_name_are_refused() {
    says(
        &[(
            "[[plate]]\nname = \"rear wall\"",
            "[[plate]] # again\nname = \"front wall\"",
        )],
        &["error: a plate named \"front wall\" stands already above\n  \
           at pan.toml:{# again}, plate \"front wall\"\n  \
           mend: give each its own name"],
    );
}

#[test]
fn a_course_needs_a_car_and_a_drive_needs_something_to_drive() {
    says(
        &[("[drive]\n", "[drive]\ncourse = \"course.csv\" # x\n")],
        &["error: a course needs a car to drive it\n  \
           at pan.toml:{csv\" # x}, drive.course\n  \
           mend: add a [car] with lateral, braking, driving, top_speed and gearing"],
    );
}

#[test]
fn a_manoeuvre_that_cannot_be_driven_is_refused() {
    says(
        &[
            (
                "[[drive.manoeuvre]]\nname = \"hard stop\"",
                "[[drive.manoeuvre]] # stop\nname = \"hard stop\"",
            ),
            ("speed = \"170 km/h\"", "speed = \"5 km/h\""),
        ],
        &[
            "error: from 1.4 m/s the load of 9.8 m/s² is not reached within the onset of 0.3 s\n  \
           at pan.toml:{# stop}, drive.manoeuvre \"hard stop\"\n  \
           mend: give more speed or a shorter onset",
        ],
    );
}

#[test]
fn a_line_that_is_not_toml_is_named() {
    let faults = read_text("format = \"2026-11\"\nname = box\n").unwrap_err();
    assert_eq!(faults.len(), 1);
    assert_eq!(
        (faults[0].id, faults[0].place.line),
        ("not-toml", 2),
        "{}",
        faults[0]
    );
    let faults = read_text(&STARTER.replace("[oil]", "[oil]\n[oil]")).unwrap_err();
    assert_eq!(faults[0].id, "not-toml", "{}", faults[0]);
}

#[test]
fn hostile_files_are_refused_and_do_not_overwhelm() {
    let id = |text: &str| read_text(text).unwrap_err()[0].id;
    assert_eq!(id("name = \"red \\u001b[31m\""), "control-character");
    assert_eq!(id("\"\\u0007\" = 1"), "control-character");
    assert_eq!(id(&"[[pocket]]\n".repeat(3000)), "list-too-long");
    assert_eq!(id(&format!("a = [{}]", "1,".repeat(3000))), "list-too-long");
    assert_eq!(id(&format!("a = {}", "[".repeat(100_000))), "not-toml");
    assert_eq!(
        id(&format!("a = {}1{}", "[".repeat(50_000), "]".repeat(50_000))),
        "not-toml"
    );
    let deep = format!("{} = 1", vec!["a"; 50_000].join("."));
    assert_eq!(id(&deep), "not-toml");
}

#[test]
fn all_faults_come_together_in_the_order_of_the_file() {
    let text = broken(&[
        ("volume = \"5 L\"", "volume = 5"),
        ("idle = \"900 rpm\"", "idle = \"900 mm\""),
        ("hinge = \"top\"", "hing = \"top\""),
        ("relief_flow", "relief"),
    ]);
    let faults = read_text(&text).unwrap_err();
    let ids: Vec<&str> = faults.iter().map(|f| f.id).collect();
    assert_eq!(
        ids,
        [
            "quantity",
            "missing-key",
            "unknown-key",
            "unknown-key",
            "quantity"
        ]
    );
    assert!(
        faults
            .windows(2)
            .all(|pair| pair[0].place.line <= pair[1].place.line)
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    /// Pieces cut out, doubled and exchanged: some such files read, none makes the reader panic.
    #[test]
    fn no_mangled_design_panics(from in 0usize..4000, length in 0usize..60, to in 0usize..4000, kind in 0u8..4, word in "[-0-9a-z\\[\\]\"=. ]{0,6}") {
        let letters: Vec<char> = STARTER.chars().collect();
        let (from, to) = (from % letters.len(), to % letters.len());
        let end = (from + length).min(letters.len());
        let piece: String = letters[from..end].iter().collect();
        let mut text: Vec<char> = letters.clone();
        match kind {
            0 => { text.drain(from..end); }
            1 => { text.splice(to..to, piece.chars()); }
            2 => { text.splice(from..end, word.chars()); }
            _ => { text.swap(from, to); }
        }
        let text: String = text.into_iter().collect();
        if let Err(faults) = read_text(&text) {
            prop_assert!(!faults.is_empty());
            for fault in faults {
                prop_assert!(!fault.what.is_empty() && !fault.mend.is_empty());
            }
        }
    }

    /// One value after another replaced by something of another kind.
    #[test]
    fn no_exchanged_value_panics(line in 0usize..200, value in prop::sample::select(vec![
        "0", "-1", "nan", "inf", "true", "[]", "{}", "\"\"", "\"0 mm\"", "\"-5 mm\"", "\"1e300 mm\"", "[[], []]",
        "[\"0 mm\", \"0 mm\"]", "[\"0 mm\", \"0 mm\", \"0 mm\"]", "1979-05-27", "\"900 m\"", "{ x = 1 }",
    ])) {
        let mut lines: Vec<String> = STARTER.lines().map(str::to_owned).collect();
        let line = line % lines.len();
        if let Some((key, _)) = lines[line].split_once(" = ") {
            lines[line] = format!("{key} = {value}");
        }
        let _ = read_text(&lines.join("\n"));
    }
}
