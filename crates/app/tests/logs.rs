//! `sumpwright drive` through the real program: what it says of logs, right and wrong.

mod common;

use common::{Folder, honest, log};

/// A log that is refused: code 2, each of `words` said, a way to mend it.
fn refused(name: &str, bytes: impl AsRef<[u8]>, words: &[&str]) {
    let folder = Folder::new(name);
    folder.write("lap.csv", bytes);
    let answer = folder.run(&["drive", "lap.csv"]);
    assert_eq!(answer.code, 2, "{}\n{}", answer.out, answer.err);
    assert!(answer.out.is_empty(), "{}", answer.out);
    for word in words.iter().chain(&["error: ", "mend: ", "lap.csv"]) {
        assert!(
            answer.err.contains(word),
            "`{word}` is missing in:\n{}",
            answer.err
        );
    }
}

/// Worked apart from the program on the raw rows, lateral against speed times yaw rate has a correlation of -0.69 and
/// a slope of -1.04; the program compares means over two seconds, which takes noise out and so lies nearer to -1.
#[test]
fn the_road_log_reads_and_its_lateral_sign_is_found_with_the_evidence() {
    let folder = Folder::new("road");
    folder.write("road.csv", proofs::road::LOG);
    let answer = folder.run(&["drive", "road.csv", "--picture", "road.svg"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    for words in [
        "546.0 s",
        "accel_y_g",
        "correlation with speed times yaw rate is -0.8",
        "so it was turned over and is above zero left",
        "so it is kept and is above zero forward",
        "10 rows without",
        "passed over: roll_deg, pitch_deg, throttle_pct",
        "laps cannot be told apart",
    ] {
        assert!(
            answer.out.contains(words),
            "`{words}` is missing in:\n{}",
            answer.out
        );
    }
    let picture = std::fs::read_to_string(folder.path("road.svg")).expect("the picture was written");
    assert!(picture.contains("braking") && picture.contains("road speed, km/h"));
}

/// By hand from the file: column accel_x_g has its largest value, 0.63 g, at 430 s and its least, -0.47 g, at 503 s.
#[test]
fn the_json_of_the_road_log_holds_its_hardest_moments() {
    let folder = Folder::new("road-json");
    folder.write("road.csv", proofs::road::LOG);
    let answer = folder.run(&["drive", "road.csv", "--json"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    let value: serde_json::Value = serde_json::from_str(&answer.out).expect("one JSON object");
    let raw = |take: fn(f64, f64) -> bool| {
        let rows = proofs::road::LOG
            .lines()
            .filter(|l| l.starts_with(|c: char| c.is_ascii_digit()));
        let cells = rows.map(|l| {
            let mut cells = l.split(',').map(|c| c.parse::<f64>().unwrap_or(f64::NAN));
            let time = cells.next().expect("a row has a time");
            (time, cells.nth(1).expect("a row has accel_x"))
        });
        cells
            .reduce(|a, b| if take(b.1, a.1) { b } else { a })
            .expect("there are rows")
    };
    for (way, sign, (at, g)) in [
        ("speeding up", 1.0, raw(|new, old| new > old)),
        ("braking", -1.0, raw(|new, old| new < old)),
    ] {
        let hardest = value["hardest"].as_array().expect("a list");
        let found = hardest
            .iter()
            .find(|h| h["way"] == way)
            .expect("this way is there");
        let (got, when) = (found["acceleration"].as_f64(), found["at"].as_f64());
        assert_eq!(when, Some(at), "{way}");
        let off = got.expect("a number") - sign * g * 9.80665;
        assert!(off.abs() < 1e-9, "{way}: {got:?}, the file has {g} g");
    }
    assert!(!answer.out.contains("null"));
}

#[test]
fn a_log_without_engine_speed_is_looked_at_and_that_is_said() {
    let folder = Folder::new("no-engine");
    let text = log(20, honest)
        .replace("engine speed", "battery")
        .replace("rpm", "V");
    folder.write("lap.csv", text);
    let answer = folder.run(&["drive", "lap.csv"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(
        answer.out.contains("no engine speed: state it in the design"),
        "{}",
        answer.out
    );
    assert!(answer.out.contains("passed over: battery"), "{}", answer.out);
}

#[test]
fn faults_of_a_log_are_told_with_their_line() {
    let good = log(20, honest);
    let with = |line: usize, text: &str| {
        let mut lines: Vec<&str> = good.lines().collect();
        lines[line - 1] = text;
        lines.join("\n")
    };
    refused("look-empty", "", &["empty"]);
    refused("look-ragged", with(50, "2.35,90.0,4500"), &["lap.csv:50"]);
    refused(
        "look-word",
        with(50, "2.35,90.0,4500,oops,0.04,1.0"),
        &["lap.csv:50", "oops", "lateral"],
    );
    let twice = format!(
        "{good}{}",
        good.lines()
            .skip(2)
            .map(|l| l.replacen(",90.0,", ",20.0,", 1) + "\n")
            .collect::<String>()
    );
    refused(
        "look-clock",
        twice,
        &[
            "lap.csv:403",
            "2 recordings one after the other: lines 3 to 402",
            "first_line = ",
        ],
    );
    let still: Vec<String> = good
        .lines()
        .skip(2)
        .map(|l| format!("7{}", &l[l.find(',').unwrap_or(0)..]))
        .collect();
    let still = format!(
        "{}\n{}",
        good.lines().take(2).collect::<Vec<_>>().join("\n"),
        still.join("\n")
    );
    refused(
        "look-still",
        still,
        &["lap.csv:402", "column 1", "time does not rise"],
    );
    refused("look-binary", b"a,b\n1\x002,3", &["lap.csv"]);
    let long = format!("{good}9,{}\n", "1".repeat(4 << 20));
    refused("look-long", long, &["lap.csv:403"]);
    refused("look-wide", vec!["1"; 1_000_000].join(","), &["lap.csv"]);
}

/// MDF 4 begins with the eight characters `MDF     ` and its version (ASAM MDF 4, identification block; from memory).
#[test]
fn files_that_are_no_text_tables_are_named_with_what_to_do() {
    let mdf = [b"MDF     4.10    sumpwrgt".as_slice(), &[0; 200]].concat();
    refused(
        "look-mdf",
        &mdf,
        &["an ASAM MDF measurement file", "export the channels to CSV text"],
    );
    let zip = [b"PK\x03\x04".as_slice(), &[20, 0, 0, 0, 8, 0], &[7; 90]].concat();
    refused(
        "look-zip",
        &zip,
        &["a ZIP archive or a spreadsheet", "save the sheet as CSV"],
    );
    let parquet = [b"PAR1".as_slice(), &[21, 4, 21, 0], &[7; 90]].concat();
    refused(
        "look-parquet",
        &parquet,
        &["an Apache Parquet table", "write it out as CSV"],
    );
    let gzip = [b"\x1f\x8b\x08".as_slice(), &[0; 90]].concat();
    refused("look-gzip", &gzip, &["packed with gzip", "unpack it"]);
    refused(
        "look-page",
        "<!DOCTYPE html><html>time,ay</html>",
        &["a web page", "export it as CSV"],
    );
}

/// The same statements as under [drive], typed by hand or taken from a design.
#[test]
fn what_is_asked_can_be_stated_by_hand_or_in_a_design() {
    let folder = Folder::new("stated");
    let odd = log(20, honest).replace("lateral,longitudinal", "sideways,onward");
    folder.write("lap.csv", &odd);
    let asked = folder.run(&["drive", "lap.csv"]);
    assert_eq!(asked.code, 2, "{}", asked.out);
    assert!(
        asked.err.contains("--with 'channels.lateral = { column"),
        "{}",
        asked.err
    );
    let lateral = "channels.lateral = { column = \"sideways\", sign = \"-\" }";
    let onward = "channels.longitudinal = \"#5\"";
    let typed = folder.run(&["drive", "lap.csv", "--with", lateral, "--with", onward]);
    assert_eq!(typed.code, 0, "{}", typed.err);
    let taken = "The sign of lateral acceleration is taken as stated (-1)";
    assert!(
        typed.out.contains("sideways") && typed.err.is_empty(),
        "{}",
        typed.out
    );
    assert!(typed.out.contains(taken), "{}", typed.out);
    // A design need not be whole to lend its statements.
    let design = "format = \"2026-11\"\n[drive]\nlog = \"lap.csv\"\n[drive.channels]\nlateral = { column = \"sideways\", sign = \"-\" }\nlongitudinal = \"#5\"\n";
    folder.write("pan.toml", design);
    for arguments in [
        &["drive", "--design", "pan.toml"][..],
        &["drive", "lap.csv", "--design", "pan.toml"],
    ] {
        let answer = folder.run(arguments);
        assert_eq!(answer.out, typed.out, "{}", answer.err);
    }
    let over = folder.run(&[
        "drive",
        "--design",
        "pan.toml",
        "--with",
        "channels.lateral.sign = \"+\"",
    ]);
    assert!(
        over.out.contains("is taken as stated (+1)"),
        "{}{}",
        over.out,
        over.err
    );
    for (line, words) in [
        (
            "channels.lateral = { colum = \"sideways\" }",
            "did you mean \"column\"?",
        ),
        ("chanels.lateral = \"sideways\"", "did you mean \"channels\"?"),
        ("channels.lateral", "not TOML"),
        ("log_turned.yaw = 90", "no unit"),
    ] {
        let answer = folder.run(&["drive", "lap.csv", "--with", line]);
        assert_eq!(answer.code, 2, "{}", answer.out);
        assert!(
            answer.err.contains("--with:1") && answer.err.contains(words),
            "{}",
            answer.err
        );
    }
}

#[test]
fn lines_to_read_and_the_oil_are_taken_and_shown() {
    let folder = Folder::new("lines");
    let text: String = (log(20, honest).lines().enumerate())
        .map(|(i, line)| match i {
            0 => format!("{line},oil pressure,oil temperature\n"),
            1 => format!("{line},psi,F\n"),
            i => format!("{line},{},{}\n", 40 + i % 20, 212),
        })
        .collect();
    let twice = text.clone()
        + &text
            .lines()
            .skip(2)
            .map(|l| l.replacen(",90.0,", ",20.0,", 1) + "\n")
            .collect::<String>();
    folder.write("lap.csv", &twice);
    let answer = folder.run(&["drive", "lap.csv", "--with", "layout.last_line = 402"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    // 59 psi is 4.07 bar and 40 psi 2.76 bar; 212 F is 100 C.
    for words in [
        "oil pressure     2.76 bar",
        "4.07 bar",
        "oil temperature  100 °C (212 °F)",
        "20.0 s",
    ] {
        assert!(
            answer.out.contains(words),
            "`{words}` is missing in:\n{}",
            answer.out
        );
    }
    let json = folder.run(&["drive", "lap.csv", "--with", "layout.last_line = 402", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&json.out).expect("one JSON object");
    let most = value["beside"][0]["most"].as_f64().expect("a number");
    assert!((most - 59.0 * 6894.757).abs() < 1.0, "{most}");
}

#[test]
fn a_picture_never_takes_the_place_of_the_log() {
    let folder = Folder::new("over");
    folder.write("lap.csv", log(20, honest));
    let answer = folder.run(&["drive", "lap.csv", "--picture", "lap.csv"]);
    assert_eq!(answer.code, 2, "{}", answer.err);
    assert!(answer.err.contains("ends in .svg"), "{}", answer.err);
    let kept = std::fs::read_to_string(folder.path("lap.csv")).expect("it is still there");
    assert_eq!(kept, log(20, honest));
}
