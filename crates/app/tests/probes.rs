//! Probes of a pan's own design through the real program.

mod common;

use common::{Folder, PAN};

const PROBES: &str = r#"
[[probe]]
name = "floor"
kind = "pressure"
at = ["-70 mm", "50 mm", "-100 mm"]
[[probe]]
name = "sender"
kind = "level"
at = ["-70 mm", "50 mm"]
"#;

/// The table without its remarks: names, then the cells of each row.
fn table(folder: &Folder) -> (Vec<String>, Vec<Vec<String>>) {
    let text = std::fs::read_to_string(folder.path("pan-results/probes.csv")).expect("there is a table");
    let cells = |line: &str| line.split(',').map(str::to_owned).collect::<Vec<_>>();
    let mut lines = text.lines().filter(|l| !l.starts_with('#'));
    let names = cells(lines.next().expect("names"));
    (names, lines.map(cells).collect())
}

fn number(cell: &str) -> f64 {
    cell.parse().expect("a number")
}

/// At rest the floor bears the oil over it: ρ g (level − floor). The oil's density at 100 °C lies between 700 and
/// 860 kg/m³ for any grade with any air that may be stated for it.
#[test]
fn the_probes_of_a_pan_read_the_oil_at_rest() {
    let folder = Folder::new("pan-probes");
    folder.write("pan.toml", format!("{PAN}{PROBES}"));
    let answer = folder.run(&["slosh", "pan.toml", "--cell", "12 mm", "--to", "0.2"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(answer.out.contains("probes.csv"), "{}", answer.out);
    let (names, rows) = table(&folder);
    assert_eq!(
        names,
        [
            "time [s]",
            "floor [Pa]",
            "sender from above [m]",
            "sender from below [m]",
            "sender depth [m]"
        ]
    );
    assert!(rows.len() > 10, "{} rows", rows.len());
    let last: Vec<f64> = rows[rows.len() - 1].iter().map(|c| number(c)).collect();
    assert!((last[0] - 0.2).abs() < 1e-9, "{last:?}");
    let depth = last[3] + 0.1;
    assert!((last[4] - depth).abs() < 0.002 && depth > 0.03, "{last:?}");
    let density = last[1] / (9.80665 * depth);
    assert!(
        (700.0..860.0).contains(&density),
        "{density:.0} kg/m³ from {last:?}"
    );
}

#[test]
fn a_check_writes_its_moments_one_after_the_other_and_leaves_no_old_table_behind() {
    let folder = Folder::new("pan-probes-check");
    folder.write("pan.toml", format!("{PAN}{PROBES}"));
    let answer = folder.check(&[]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(answer.out.contains("probes.csv"), "{}", answer.out);
    let (names, rows) = table(&folder);
    assert_eq!(names[..2], ["moment", "time [s]"]);
    let result = std::fs::read(folder.path("pan-results/result.json")).expect("a result");
    let result: serde_json::Value = serde_json::from_slice(&result).expect("JSON");
    let moment = result["moments"][0]["name"].as_str().expect("a name");
    assert!(
        rows.iter().all(|row| row[0] == moment),
        "{moment} and {:?}",
        rows[0]
    );
    assert!(
        rows.windows(2)
            .all(|pair| number(&pair[0][1]) < number(&pair[1][1]))
    );

    folder.write("pan.toml", PAN);
    let answer = folder.check(&[]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(!answer.out.contains("probes"), "{}", answer.out);
    assert!(!folder.path("pan-results/probes.csv").exists());
}

#[test]
fn a_probe_outside_the_pan_is_told_with_how_far_the_pan_goes() {
    let folder = Folder::new("pan-probes-outside");
    folder.write(
        "pan.toml",
        format!("{PAN}{PROBES}").replace("\"-70 mm\", \"50 mm\"]", "\"-70 mm\", \"150 mm\"]"),
    );
    let answer = folder.run(&["still", "pan.toml"]);
    assert_eq!(answer.code, 2, "{}", answer.err);
    for words in [
        "the probe lies outside the cavity",
        "probe \"sender\".at",
        "y -100.0 mm",
    ] {
        assert!(
            answer.err.contains(words),
            "`{words}` is missing in:\n{}",
            answer.err
        );
    }
}
