//! Wrong input gets a clear message, exit code 2, and loses nothing. Each case through the real program.

mod common;

use common::{Folder, PAN, honest, log};

/// Runs `check` on a design and wants exit code 2 with each of `words` in the message and a way to mend it.
fn refused(name: &str, design: &str, files: &[(&str, Vec<u8>)], arguments: &[&str], words: &[&str]) {
    let folder = Folder::new(name);
    folder.write("pan.toml", design);
    for (file, bytes) in files {
        folder.write(file, bytes);
    }
    let answer = folder.check(arguments);
    assert_eq!(answer.code, 2, "{}\n{}", answer.out, answer.err);
    for word in words {
        assert!(
            answer.err.contains(word),
            "`{word}` is missing in:\n{}",
            answer.err
        );
    }
    assert!(answer.err.contains("mend: "), "{}", answer.err);
    assert!(answer.err.starts_with("error: "), "{}", answer.err);
    assert!(!answer.err.contains("panicked"), "{}", answer.err);
    assert!(
        !folder.path("pan-results").exists(),
        "nothing may be written on wrong input"
    );
}

fn with_log(name: &str, bytes: impl Into<Vec<u8>>, words: &[&str]) {
    refused(
        name,
        PAN,
        &[("lap.csv", bytes.into())],
        &["--log", "lap.csv"],
        words,
    );
}

fn with_course(name: &str, text: &str, words: &[&str]) {
    let car = "[car]\nlateral = \"1.1 g\"\nbraking = \"1 g\"\ndriving = \"0.4 g\"\ntop_speed = \"180 km/h\"\n\
               gearing = [\"6500 rpm\", \"180 km/h\"]\n";
    refused(
        name,
        &format!("{PAN}{car}"),
        &[("course.csv", text.as_bytes().to_vec())],
        &["--course", "course.csv"],
        words,
    );
}

fn replaced(from: &str, to: &str) -> String {
    assert!(PAN.contains(from), "the test's design has no `{from}`");
    PAN.replace(from, to)
}

#[test]
fn a_missing_design_is_named() {
    let folder = Folder::new("no-design");
    let answer = folder.run(&["check", "nothing.toml"]);
    assert_eq!(answer.code, 2, "{}", answer.err);
    assert!(answer.err.contains("nothing.toml"), "{}", answer.err);
}

#[test]
fn a_missing_log_is_named() {
    let words = ["there is no file lap.csv", "the folder that you are in"];
    refused("no-log", PAN, &[], &["--log", "lap.csv"], &words);
}

#[test]
fn a_log_that_jumps_is_refused_with_line_and_limit() {
    let text = log(20, |i| if i < 200 { "1.700".into() } else { "-1.700".into() });
    with_log(
        "jump",
        text,
        &["lap.csv:20", "jumps by", "up to 2.0 g in 0.1 s", "cut the log"],
    );
}

#[test]
fn a_binary_log_is_refused() {
    let noise: Vec<u8> = (0..4000u32)
        .map(|i| (i.wrapping_mul(2_654_435_761) >> 24) as u8)
        .collect();
    with_log("binary", noise, &["lap.csv"]);
}

#[test]
fn a_log_without_time_is_refused() {
    with_log(
        "no-time",
        log(20, honest)
            .replace("time,", "sample,")
            .replacen("s,km", ",km", 1),
        &["time"],
    );
}

#[test]
fn a_log_without_g_is_refused() {
    let text = log(20, honest)
        .replace("lateral", "left damper")
        .replace("longitudinal", "right damper");
    with_log("no-g", text.replace("rpm,g,g", "rpm,mm,mm"), &["acceleration"]);
}

#[test]
fn metres_per_second_squared_written_as_g_are_seen() {
    with_log(
        "not-g",
        log(20, |i| {
            format!("{:.3}", 9.80665 * 0.8 * (i as f64 / 20.0 * 0.7).sin())
        }),
        &["m/s"],
    );
}

#[test]
fn duplicate_columns_are_refused() {
    with_log(
        "twice",
        log(20, honest).replace("longitudinal", "lateral"),
        &["lateral"],
    );
}

#[test]
fn a_long_stretch_that_is_no_number_is_refused() {
    let text = log(20, |i| {
        if (100..180).contains(&i) {
            "NaN".into()
        } else {
            honest(i)
        }
    });
    with_log("nan", text, &["lateral"]);
}

#[test]
fn a_course_of_two_points_is_refused() {
    with_course("two-points", "x,y\n0,0\n100,0\n", &["course.csv"]);
}

#[test]
fn a_course_that_crosses_itself_is_refused() {
    let mut text = String::from("x,y\n");
    for i in 0..120 {
        let a = f64::from(i) / 120.0 * std::f64::consts::TAU;
        text += &format!("{:.2},{:.2}\n", 200.0 * a.sin(), 120.0 * (2.0 * a).sin());
    }
    with_course("crossing", &text, &["cross"]);
}

#[test]
fn an_open_mesh_is_refused_with_the_place_of_its_hole() {
    // A box of 300 x 200 x 100 mm without its lid.
    let p = |x: f64, y: f64, z: f64| [x, y, z];
    let (a, b) = ((-150.0, -100.0, -100.0), (150.0, 100.0, 0.0));
    let c = [
        p(a.0, a.1, a.2),
        p(b.0, a.1, a.2),
        p(b.0, b.1, a.2),
        p(a.0, b.1, a.2),
        p(a.0, a.1, b.2),
        p(b.0, a.1, b.2),
        p(b.0, b.1, b.2),
        p(a.0, b.1, b.2),
    ];
    let faces = [
        [0, 2, 1],
        [0, 3, 2],
        [0, 1, 5],
        [0, 5, 4],
        [1, 2, 6],
        [1, 6, 5],
        [2, 3, 7],
        [2, 7, 6],
        [3, 0, 4],
        [3, 4, 7],
    ];
    let mut stl = String::from("solid pan\n");
    for face in faces {
        stl += "facet normal 0 0 0\nouter loop\n";
        for corner in face {
            let [x, y, z] = c[corner];
            stl += &format!("vertex {x} {y} {z}\n");
        }
        stl += "endloop\nendfacet\n";
    }
    stl += "endsolid pan\n";
    let start = PAN.find("[[pocket]]").unwrap();
    let end = PAN.find("[[plate]]").unwrap();
    let design = format!(
        "{}[mesh]\nfile = \"pan.stl\"\nunit = \"mm\"\n{}",
        &PAN[..start],
        &PAN[end..]
    );
    refused(
        "open-mesh",
        &design,
        &[("pan.stl", stl.into_bytes())],
        &[],
        &["open"],
    );
}

#[test]
fn a_pocket_without_size_is_refused() {
    let design = replaced(r#"z = ["-100 mm", "0 mm"]"#, r#"z = ["0 mm", "0 mm"]"#);
    refused("flat-pocket", &design, &[], &[], &["sump", "pan.toml:"]);
}

#[test]
fn a_door_that_opens_into_a_wall_is_refused() {
    let wall = "[[plate]]\nname = \"second wall\"\nwall = [[\"0 mm\", \"-100 mm\"], [\"0 mm\", \"100 mm\"]]\n\
                z = [\"-100 mm\", \"-20 mm\"]\nthickness = \"1.5 mm\"\n[[door]]";
    refused(
        "door-in-wall",
        &PAN.replacen("[[door]]", wall, 1),
        &[],
        &[],
        &["flap", "second wall"],
    );
}

#[test]
fn more_oil_than_the_cavity_holds_is_refused() {
    refused(
        "overfull",
        &replaced("3.5 L", "35 L"),
        &[],
        &[],
        &["fill", "pan.toml:"],
    );
}

#[test]
fn a_mouth_in_air_at_rest_is_refused() {
    let design = replaced(r#""0 mm", "-86 mm"]"#, r#""0 mm", "-10 mm"]"#);
    refused(
        "mouth-in-air",
        &design,
        &[],
        &[],
        &["mouth", "above the oil at rest", "pickup.mouth"],
    );
}

#[test]
fn a_base_that_includes_itself_is_refused() {
    let design = replaced("name = \"Box\"", "name = \"Box\"\nbase = \"pan.toml\"");
    refused("circle", &design, &[], &[], &["base"]);
}

#[test]
fn all_faults_of_a_file_are_shown_together() {
    let design = PAN
        .replace("idle = ", "idel = ")
        .replace("\"30 L/min\"", "\"30 L\"")
        .replace("diameter = \"36 mm\"", "diameter = 36");
    refused(
        "together",
        &design,
        &[],
        &[],
        &[
            "idel",
            "idle",
            "pump.relief_flow",
            "flow",
            "pickup.diameter",
            "mm",
            "pan.toml:5",
            "pan.toml:14",
        ],
    );
}

#[test]
fn a_cell_without_unit_or_sense_is_refused() {
    let folder = Folder::new("cell");
    folder.write("pan.toml", PAN);
    for cell in ["6", "6 kg", "0.01 mm", "-5 mm"] {
        let answer = folder.run(&["check", "pan.toml", "--cell", cell]);
        assert_eq!(answer.code, 2, "{cell}: {}", answer.err);
        assert!(answer.err.contains("--cell"), "{cell}: {}", answer.err);
    }
}

/// A wall with a corner, made of sheet: what the brake cannot do is refused with its place, and there is no folder; mended,
/// the folder is there.
#[test]
fn a_plate_that_cannot_be_bent_is_refused_and_leaves_no_folder() {
    let wall = "\n[[plate]]\nname = \"corner\"\nwall = [[\"-40 mm\", \"-40 mm\"], [\"-40 mm\", \"20 mm\"], [\"20 mm\", \"20 mm\"]]\n\
                z = [\"-60 mm\", \"-20 mm\"]\nholes = [{ at = [\"HOLE\", \"-40 mm\"], diameter = \"8 mm\" }]\n";
    let folder = Folder::new("bend");
    for (hole, more, words) in [
        ("60 mm", "", ["hole", "bend", "notch"]),
        (
            "30 mm",
            "[shop.sheet]\nradius = \"0.1 mm\"\n",
            ["radius", "cracks", "or more"],
        ),
        (
            "30 mm",
            "[[shop.sheet.plate]]\nname = \"conrer\"\n",
            ["conrer", "shop.sheet.plate", "corner"],
        ),
        (
            "30 mm",
            "[[shop.sheet.plate]]\nname = \"corner\"\ntabs = [\"end\"]\ntab = \"4 mm\"\n",
            ["tab", "brake", "die"],
        ),
    ] {
        folder.write("pan.toml", format!("{PAN}{}{more}", wall.replace("HOLE", hole)));
        let answer = folder.run(&["shop", "pan.toml", "--out", "bench"]);
        assert_eq!(answer.code, 2, "{hole} {more}: {}", answer.err);
        for word in words.iter().chain(&["pan.toml"]) {
            assert!(answer.err.contains(word), "{word} is not in {}", answer.err);
        }
        assert!(!folder.path("bench").exists());
    }
    folder.write("pan.toml", format!("{PAN}{}", wall.replace("HOLE", "30 mm")));
    let answer = folder.run(&["shop", "pan.toml", "--out", "bench"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    for file in ["corner.dxf", "corner.svg", "drawings.pdf", "templates.pdf"] {
        assert!(folder.path("bench/plates").join(file).is_file(), "{file}");
    }
}
