//! Experiments through the real program: probes as CSV, also from a finished run's folder, and what a wrong use gets.

mod common;

use common::Folder;

/// A small column in a short channel, its run an eighth of a second long.
const COLUMN: &str = r#"format = "2026-11"
kind = "experiment"
name = "small column"
notes = "Made up for a test."
[liquid]
name = "fresh water"
density = "1000 kg/m3"
viscosity = "1 mm2/s"
[[pocket]]
name = "channel"
rectangle = { x = ["0 mm", "200 mm"], y = ["0 mm", "20 mm"] }
z = ["0 mm", "120 mm"]
[tank]
cell = "10 mm"
walls = "slip"
[[start.box]]
name = "column"
x = ["0 mm", "60 mm"]
z = ["0 mm", "100 mm"]
[drive]
length = "0.12 s"
[[probe]]
name = "foot, at the back"
kind = "pressure"
at = ["0 mm", "10 mm", "10 mm"]
diameter = "6 mm"
faces = "front"
[[probe]]
name = "front"
kind = "front"
along = "front"
z = ["0 mm", "10 mm"]
[[probe]]
name = "back wall"
kind = "level"
at = ["5 mm", "10 mm"]
"#;

/// The rows of a CSV, its column names, and its comment lines.
fn table(text: &str) -> (Vec<Vec<f64>>, Vec<String>, Vec<String>) {
    let (remarks, rest): (Vec<&str>, Vec<&str>) = text.lines().partition(|l| l.starts_with('#'));
    let names = rest[0].split(',').map(str::to_owned).collect();
    let rows = rest[1..]
        .iter()
        .map(|l| l.split(',').map(|v| v.parse().expect("a number")).collect())
        .collect();
    (rows, names, remarks.into_iter().map(str::to_owned).collect())
}

#[test]
fn what_the_probes_show_is_written_as_csv_and_comes_back_from_the_run_folder() {
    let folder = Folder::new("experiment");
    folder.write("column.toml", COLUMN);
    let answer = folder.run(&["slosh", "column.toml"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(answer.out.contains("probes.csv"), "{}", answer.out);
    let path = folder.path("column-results").join("probes.csv");
    let text = std::fs::read_to_string(&path).unwrap();
    let (rows, names, remarks) = table(&text);
    assert_eq!(
        names,
        [
            "time [s]",
            "foot  at the back [Pa]",
            "front [m]",
            "back wall from above [m]",
            "back wall from below [m]",
            "back wall depth [m]"
        ]
    );
    assert!(
        remarks[0].contains("small column") && remarks[1].contains("Made up"),
        "{remarks:?}"
    );
    let (first, last) = (&rows[0], &rows[rows.len() - 1]);
    assert!((last[0] - 0.12).abs() < 1e-9, "{last:?}");
    // The column falls and its front runs: from 60 mm to at most the frictionless 60 + 2 sqrt(g · 100 mm) · 0.12 s.
    assert!(last[2] > 0.1 && last[2] < 0.2, "{last:?}");
    assert!(first[3] > 0.095 && last[3] < 0.09 && last[3] > 0.05, "{last:?}");
    // Just let go, the column presses less than at rest: 883 Pa would stand on the sensor.
    assert!(first[1] > 50.0 && first[1] < 883.0, "{first:?}");

    // A finished run is read from its folder, probes and all.
    std::fs::remove_file(&path).unwrap();
    let again = folder.run(&["slosh", "column.toml"]);
    assert!(again.err.contains("found on disk"), "{}", again.err);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
}

#[test]
fn check_and_still_say_that_an_experiment_has_no_pickup() {
    let folder = Folder::new("experiment-check");
    folder.write("column.toml", COLUMN);
    for command in ["check", "still"] {
        let answer = folder.run(&[command, "column.toml"]);
        assert_eq!(answer.code, 2, "{}", answer.err);
        assert!(
            answer.err.contains("column.toml:2, kind") && answer.err.contains("sumpwright slosh"),
            "{}",
            answer.err
        );
    }
    let answer = folder.run(&["slosh", "column.toml", "--log", "lap.csv"]);
    assert_eq!(answer.code, 2, "{}", answer.err);
    assert!(answer.err.contains("--log"), "{}", answer.err);
    let answer = folder.run(&["slosh", "column.toml", "--to", "3"]);
    assert!(
        answer.err.contains("it runs from 0.00 s to 0.12 s"),
        "{}",
        answer.err
    );
}
