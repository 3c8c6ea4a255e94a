//! `sumpwright study` through the real program.

mod common;

use assert_cmd::cargo::CommandCargoExt;
use common::{Answer, Folder, PAN};
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;
use std::collections::BTreeSet;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Twelve designs, some of which cannot be: with 0.8 L the mouth stands in air.
const GRID: &str = r#"format = "2026-11"
kind = "study"
name = "fill and mouth"
design = "pan.toml"
method = "grid"

[[vary]]
name = "fill"
key = "fill.volume"
values = ["0.8 L", "3.2 L", "3.6 L", "4.0 L"]

[[vary]]
name = "mouth"
key = "pickup.mouth[0]"
range = ["-90 mm", "-50 mm"]
steps = 3
"#;

fn a_study(name: &str, text: &str) -> Folder {
    let folder = Folder::new(name);
    folder.write("pan.toml", PAN);
    folder.write("study.toml", text);
    folder
}

fn sound(answer: Answer) -> Answer {
    assert_eq!(answer.code, 0, "{}\n{}", answer.out, answer.err);
    answer
}

fn csv(folder: &Folder, out: &str) -> String {
    std::fs::read_to_string(folder.path(out).join("results.csv")).expect("there is a table")
}

fn rows(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(text.as_bytes());
    reader
        .records()
        .map(|record| record.unwrap().iter().map(str::to_owned).collect())
        .collect()
}

fn column(rows: &[Vec<String>], head: &str) -> Vec<String> {
    let at = rows[0]
        .iter()
        .position(|h| h == head)
        .unwrap_or_else(|| panic!("{head} in {:?}", rows[0]));
    rows[1..].iter().map(|row| row[at].clone()).collect()
}

fn start(folder: &Folder, arguments: &[&str]) -> Child {
    Command::cargo_bin("sumpwright")
        .expect("the program is built with its tests")
        .current_dir(folder.path("."))
        .args(arguments)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program starts")
}

fn case_files(folder: &Folder, out: &str) -> BTreeSet<String> {
    let Ok(shelf) = std::fs::read_dir(folder.path(out).join("cases/0000")) else {
        return BTreeSet::new();
    };
    shelf
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|name| name.ends_with(".json"))
        .collect()
}

#[test]
fn every_design_of_a_grid_is_a_row_and_an_invalid_one_has_its_fault() {
    let folder = a_study("study-grid", GRID);
    let answer = sound(folder.run(&["study", "study.toml", "--out", "s"]));
    for words in [
        "12 of 12 cases done, 9 of them computed",
        "3 cannot be, such as case 0: the pickup mouth stands",
        "nothing beats these in margin and oil",
        "what decides margin",
        "by bays",
    ] {
        assert!(
            answer.out.contains(words),
            "`{words}` is missing in:\n{}",
            answer.out
        );
    }
    let table = rows(&csv(&folder, "s"));
    assert_eq!(table.len(), 13);
    assert_eq!(
        column(&table, "state")[..4],
        ["invalid", "invalid", "invalid", "computed"]
    );
    assert!(column(&table, "fault")[0].contains("mouth stands"));
    assert_eq!(column(&table, "fill [L]")[11], "4");
    assert_eq!(column(&table, "mouth [mm]")[11], "-50");
    assert!(column(&table, "worst place")[5].contains("hard stop"));
    let svg = std::fs::read_to_string(folder.path("s/trade-offs.svg")).unwrap();
    assert!(svg.contains("margin [mm]") && svg.contains("oil [L]"));
    assert!(
        std::fs::read_to_string(folder.path("s/study.html"))
            .unwrap()
            .contains("<svg")
    );

    // The same in Parquet, read by its own reader.
    let file = std::fs::File::open(folder.path("s/results.parquet")).unwrap();
    let reader = SerializedFileReader::new(file).unwrap();
    let read: Vec<_> = reader.get_row_iter(None).unwrap().map(Result::unwrap).collect();
    assert_eq!(read.len(), 12);
    for (n, row) in read.iter().enumerate() {
        for (i, (head, field)) in row.get_column_iter().enumerate() {
            assert_eq!(*head, table[0][i]);
            let cell = &table[n + 1][i];
            match field {
                Field::Null => assert_eq!(cell, ""),
                Field::Long(value) => assert_eq!(cell, &value.to_string()),
                Field::Double(value) => {
                    assert!(
                        (cell.parse::<f64>().unwrap() - value).abs() <= 1e-8 * value.abs(),
                        "{head}: {cell}"
                    );
                }
                Field::Str(value) => assert_eq!(cell, value),
                other => panic!("{head}: {other:?}"),
            }
        }
    }
}

/// A case written as a design and computed by itself comes to the same numbers.
#[test]
fn the_best_is_written_as_a_design_that_bays_and_the_study_agree_on() {
    let folder = a_study("study-write", GRID);
    let answer = sound(folder.run(&[
        "study",
        "study.toml",
        "--out",
        "s",
        "--write",
        "best.toml",
        "--case",
        "7",
    ]));
    assert!(answer.out.contains("best.toml (case 7)"), "{}", answer.out);
    let text = std::fs::read_to_string(folder.path("best.toml")).unwrap();
    assert!(
        text.contains("base = \"pan.toml\"") && text.contains("volume = \"3.6 L\""),
        "{text}"
    );
    assert!(!text.contains("[engine]"), "{text}");
    let bays = sound(folder.run(&["bays", "best.toml", "--json"]));
    let value: serde_json::Value = serde_json::from_str(&bays.out).unwrap();
    let least = value["history"]["cover"]
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_f64().unwrap());
    let least = 1e3 * least.fold(f64::INFINITY, f64::min);
    let kept: f64 = column(&rows(&csv(&folder, "s")), "least cover [mm]")[7]
        .parse()
        .unwrap();
    assert!(
        (least - kept).abs() < 1e-5,
        "{least} by bays, {kept} in the study"
    );
    // No file is replaced, and none is written where its base cannot be named.
    let again = folder.run(&["study", "study.toml", "--out", "s", "--write", "best.toml"]);
    assert!(
        again.code == 2 && again.err.contains("there already"),
        "{}",
        again.err
    );
    let elsewhere = folder.run(&["study", "study.toml", "--out", "s", "--write", "s/best.toml"]);
    assert!(
        elsewhere.code == 2 && elsewhere.err.contains("would lie elsewhere"),
        "{}",
        elsewhere.err
    );
    let invalid = folder.run(&[
        "study",
        "study.toml",
        "--out",
        "s",
        "--write",
        "x.toml",
        "--case",
        "0",
    ]);
    assert!(
        invalid.code == 2 && invalid.err.contains("cannot be"),
        "{}",
        invalid.err
    );
    let none = folder.run(&[
        "study",
        "study.toml",
        "--out",
        "s",
        "--write",
        "x.toml",
        "--case",
        "99",
    ]);
    assert!(none.code == 2 && none.err.contains("no case 99"), "{}", none.err);
}

#[test]
fn a_study_killed_in_the_middle_goes_on_and_ends_with_the_same_table() {
    let folder = a_study("study-kill", GRID);
    sound(folder.run(&["study", "study.toml", "--out", "whole"]));
    let mut child = start(
        &folder,
        &["study", "study.toml", "--out", "cut", "--threads", "1"],
    );
    let begun = Instant::now();
    while case_files(&folder, "cut").len() < 5 && begun.elapsed() < Duration::from_secs(300) {
        std::thread::sleep(Duration::from_millis(2));
    }
    child.kill().expect("it can be killed");
    child.wait().expect("it ends");
    let there = case_files(&folder, "cut");
    assert!(there.len() >= 5, "{there:?}");
    let answer = sound(folder.run(&["study", "study.toml", "--out", "cut"]));
    assert!(answer.err.contains("found on disk"), "{}", answer.err);
    assert_eq!(csv(&folder, "cut"), csv(&folder, "whole"));
    // A file that was cut off is noticed, and its case computed again.
    let spoilt = folder.path("cut/cases/0000/000004.json");
    let half = std::fs::read(&spoilt).unwrap();
    std::fs::write(&spoilt, &half[..half.len() / 2]).unwrap();
    let answer = sound(folder.run(&["study", "study.toml", "--out", "cut"]));
    assert!(answer.err.contains("case 4 is damaged"), "{}", answer.err);
    assert_eq!(csv(&folder, "cut"), csv(&folder, "whole"));
}

/// Ctrl-C: the cases at work end or are left, nothing is half-written, and the same command goes on.
#[cfg(unix)]
#[test]
fn a_study_stopped_by_hand_says_so_and_goes_on() {
    let folder = a_study("study-stop", GRID);
    sound(folder.run(&["study", "study.toml", "--out", "whole"]));
    let child = Command::cargo_bin("sumpwright")
        .unwrap()
        .current_dir(folder.path("."))
        .args(["study", "study.toml", "--out", "cut", "--threads", "1"])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let begun = Instant::now();
    while case_files(&folder, "cut").len() < 4 && begun.elapsed() < Duration::from_secs(300) {
        std::thread::sleep(Duration::from_millis(2));
    }
    let asked = Command::new("kill")
        .args(["-s", "INT", &child.id().to_string()])
        .status()
        .unwrap();
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(asked.success() && output.status.code() == Some(3), "{said}");
    assert!(
        said.contains("stopped; the same command goes on from here"),
        "{said}"
    );
    assert!(!said.contains("panicked"), "{said}");
    let there = case_files(&folder, "cut");
    assert!(there.len() < 12, "it was stopped too late to tell: {there:?}");
    sound(folder.run(&["study", "study.toml", "--out", "cut"]));
    assert_eq!(csv(&folder, "cut"), csv(&folder, "whole"));
}

/// The same grid, asked in a file of its own and in the design's: the same table, and the design is still a design.
#[test]
fn a_study_may_stand_in_the_designs_own_file() {
    let folder = a_study("study-inside", GRID);
    sound(folder.run(&["study", "study.toml", "--out", "own"]));
    let inside = GRID
        .replace("[[vary]]", "[[study.vary]]")
        .replace("format = \"2026-11\"\nkind = \"study\"\n", "\n[study]\n")
        .replace("design = \"pan.toml\"\n", "");
    folder.write("pan.toml", format!("{PAN}{inside}"));
    sound(folder.run(&["study", "pan.toml", "--out", "inside"]));
    assert_eq!(csv(&folder, "inside"), csv(&folder, "own"));
    sound(folder.run(&["still", "pan.toml"]));
    // A wrong key is placed where it stands.
    folder.write(
        "pan.toml",
        format!("{PAN}{}", inside.replace("fill.volume", "fill.volum")),
    );
    let answer = folder.run(&["study", "pan.toml"]);
    assert_eq!(answer.code, 2);
    assert!(
        answer.err.contains("fill.volume") && answer.err.contains("pan.toml:"),
        "{}",
        answer.err
    );
}

#[test]
fn two_processes_on_one_folder_share_the_cases_and_do_not_clash() {
    let folder = a_study("study-two", GRID);
    let mut both: Vec<Child> = (0..2)
        .map(|_| start(&folder, &["study", "study.toml", "--out", "s", "--threads", "1"]))
        .collect();
    for child in &mut both {
        assert!(child.wait().unwrap().success());
    }
    assert_eq!(case_files(&folder, "s").len(), 12);
    let table = csv(&folder, "s");
    assert_eq!(rows(&table).len(), 13);
    sound(folder.run(&["study", "study.toml", "--out", "alone"]));
    assert_eq!(table, csv(&folder, "alone"));
    let left: Vec<_> = std::fs::read_dir(folder.path("s/claims")).unwrap().collect();
    assert!(left.is_empty(), "{left:?}");
    let files = std::fs::read_dir(folder.path("s")).unwrap();
    assert!(
        files
            .map(|f| f.unwrap().path())
            .all(|p| p.extension().is_none_or(|e| e != "new"))
    );
}

#[test]
fn slices_together_are_the_whole() {
    let folder = a_study("study-slices", GRID);
    let first = sound(folder.run(&["study", "study.toml", "--out", "s", "--cases", "0..5"]));
    assert!(first.out.contains("5 of 12 cases done"), "{}", first.out);
    assert_eq!(case_files(&folder, "s").len(), 5);
    sound(folder.run(&["study", "study.toml", "--out", "s", "--cases", "5..99"]));
    sound(folder.run(&["study", "study.toml", "--out", "whole"]));
    assert_eq!(csv(&folder, "s"), csv(&folder, "whole"));
    let past = folder.run(&["study", "study.toml", "--out", "s", "--cases", "12..20"]);
    assert!(
        past.code == 2 && past.err.contains("12 cases, numbered from 0"),
        "{}",
        past.err
    );
    assert_eq!(folder.run(&["study", "study.toml", "--cases", "5..5"]).code, 2);
}

#[test]
fn a_folder_of_another_study_or_design_is_refused_and_left_alone() {
    let folder = a_study("study-other", GRID);
    sound(folder.run(&["study", "study.toml", "--out", "s", "--cases", "0..4"]));
    let before = csv(&folder, "s");
    folder.write("other.toml", GRID.replace("fill and mouth", "another"));
    let answer = folder.run(&["study", "other.toml", "--out", "s"]);
    assert!(
        answer.code == 2
            && answer
                .err
                .contains("another study, \u{201c}fill and mouth\u{201d}"),
        "{}",
        answer.err
    );
    folder.write("pan.toml", PAN.replace("3.5 L", "3.4 L"));
    let answer = folder.run(&["study", "study.toml", "--out", "s"]);
    assert!(
        answer.code == 2 && answer.err.contains("pan.toml as it was before"),
        "{}",
        answer.err
    );
    assert!(
        answer.err.contains("mend: ") && answer.err.contains("--out"),
        "{}",
        answer.err
    );
    assert_eq!(csv(&folder, "s"), before);
    assert_eq!(case_files(&folder, "s").len(), 4);
}

#[test]
fn a_range_that_makes_every_design_invalid_is_told_with_the_commonest_fault() {
    let folder = a_study(
        "study-none",
        &GRID.replace(
            "\"0.8 L\", \"3.2 L\", \"3.6 L\", \"4.0 L\"",
            "\"0.78 L\", \"0.8 L\"",
        ),
    );
    let answer = folder.run(&["study", "study.toml", "--out", "s"]);
    assert_eq!(answer.code, 2, "{}", answer.out);
    for words in [
        "none of the 6 designs tried can be",
        "mouth stands",
        "change the ranges",
        "study.toml",
    ] {
        assert!(
            answer.err.contains(words),
            "`{words}` is missing in:\n{}",
            answer.err
        );
    }
    assert_eq!(rows(&csv(&folder, "s")).len(), 7);
}

#[test]
fn a_search_goes_the_same_way_again_and_a_slice_says_what_it_waits_for() {
    let search = GRID
        .replace(
            "method = \"grid\"",
            "method = \"search\"\ngenerations = 3\npopulation = 4",
        )
        .replace(
            "values = [\"0.8 L\", \"3.2 L\", \"3.6 L\", \"4.0 L\"]",
            "range = [\"3.2 L\", \"4.2 L\"]",
        )
        .replace("\nsteps = 3", "");
    let folder = a_study("study-search", &search);
    let slice = sound(folder.run(&["study", "study.toml", "--out", "a", "--cases", "0..2"]));
    assert!(
        slice.out.contains("generation 1 of the search lacks 2 cases"),
        "{}",
        slice.out
    );
    let slice = sound(folder.run(&["study", "study.toml", "--out", "a", "--cases", "2..7"]));
    assert!(
        slice.out.contains("generation 2 of the search lacks 1 cases"),
        "{}",
        slice.out
    );
    let whole = sound(folder.run(&["study", "study.toml", "--out", "a"]));
    assert!(
        whole.out.contains("12 of 12 cases done") && whole.out.contains("a search crowds"),
        "{}",
        whole.out
    );
    sound(folder.run(&["study", "study.toml", "--out", "b", "--threads", "2"]));
    assert_eq!(csv(&folder, "a"), csv(&folder, "b"));
}

#[test]
fn what_is_not_known_gives_a_chance_with_its_interval() {
    let folder = a_study(
        "study-chance",
        "format = \"2026-11\"\nkind = \"study\"\nname = \"sure\"\ndesign = \"pan.toml\"\nmethod = \"latin hypercube\"\ncases = 16\n\
         [[unsure]]\nname = \"aloft\"\nwhat = \"oil aloft\"\ntriangular = [0.5, 1.0, 2.0]\n\
         [[unsure]]\nname = \"sensor\"\nwhat = \"g sensor scale\"\nrange = [0.8, 1.2]\n\
         [[unsure]]\nname = \"leak\"\nwhat = \"door leak\"\nrange = [\"0.3 mm\", \"1.0 mm\"]\n",
    );
    let answer = sound(folder.run(&["study", "study.toml", "--json"]));
    let value: serde_json::Value = serde_json::from_str(&answer.out).expect("one object");
    let chance = &value["chance_of_air"];
    assert_eq!(chance["of"], 16);
    let (low, high) = (chance["low"].as_f64().unwrap(), chance["high"].as_f64().unwrap());
    let share = chance["seen"].as_f64().unwrap() / 16.0;
    assert!(low <= share && share <= high && high - low > 0.1, "{chance}");
    let explained = value["explained"].as_array().unwrap();
    assert!(
        !explained.is_empty() && explained[0]["inputs"].as_array().unwrap().len() == 3,
        "{value}"
    );
    let answer = folder.run(&["study", "study.toml", "--write", "x.toml"]);
    assert!(
        answer.code == 2 && answer.err.contains("no best design"),
        "{}",
        answer.err
    );
}

/// The proof goes the way of `check`: the same cells, moments and report.
#[test]
fn the_best_is_proved_in_three_dimensions() {
    let folder = a_study("study-prove", GRID);
    let answer = sound(folder.run(&["study", "study.toml", "--out", "s", "--prove", "1"]));
    assert!(
        answer.out.contains("proved in three dimensions"),
        "{}",
        answer.out
    );
    let proved: Vec<_> = std::fs::read_dir(folder.path("s/proved"))
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect();
    assert_eq!(proved.len(), 1);
    assert!(proved[0].join("report.html").exists() && proved[0].join("result.json").exists());
}
