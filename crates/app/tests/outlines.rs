//! `sumpwright outline` through the real program.

mod common;

use common::Folder;

/// A plate with two holes, typed by hand.
const PLATE: &str = "unit, mm\n0, 0\n200, 0\n200, 100\n0, 100\nhole, 20, 50, 8.4\nhole, 180, 50, 8.4\n";

/// A file that is refused: code 2, each of `words` said, a way to mend it, nothing on stdout.
fn refused(name: &str, file: &str, bytes: impl AsRef<[u8]>, more: &[&str], words: &[&str]) {
    let folder = Folder::new(name);
    folder.write(file, bytes);
    let mut arguments = vec!["outline", file];
    arguments.extend(more);
    let answer = folder.run(&arguments);
    assert_eq!(answer.code, 2, "{}\n{}", answer.out, answer.err);
    assert!(answer.out.is_empty(), "{}", answer.out);
    for word in words.iter().chain(&["error: ", "mend: "]) {
        assert!(
            answer.err.contains(word),
            "`{word}` is missing in:\n{}",
            answer.err
        );
    }
}

#[test]
fn a_typed_table_is_told_with_its_holes_and_drawn() {
    let folder = Folder::new("outline-table");
    folder.write("plate.csv", PLATE);
    let answer = folder.run(&["outline", "plate.csv", "--picture", "plate.svg"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    for words in [
        "200.000 x 100.000 mm",
        "7.8740 x 3.9370 in",
        "H1",
        "180.000",
        "8.400",
    ] {
        assert!(
            answer.out.contains(words),
            "`{words}` is missing in:\n{}",
            answer.out
        );
    }
    let picture = std::fs::read_to_string(folder.path("plate.svg")).expect("the picture was written");
    assert!(picture.contains(">H2<") && picture.contains("50 mm"), "{picture}");
    let json = folder.run(&["outline", "plate.csv", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&json.out).expect("one JSON object");
    assert_eq!(
        value["holes"][1]["diameter"].as_f64().map(|d| (d * 1e9).round()),
        Some(8.4e6)
    );
    assert!(!json.out.contains("null"));
}

#[test]
fn wrong_files_and_options_are_told_with_place_and_mend() {
    let dxf = "0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n10\n0\n20\n0\n40\n30\n0\nENDSEC\n0\nEOF\n";
    refused(
        "outline-no-unit",
        "a.dxf",
        dxf,
        &[],
        &["no unit", "as inches 1524.0", "a.dxf"],
    );
    refused(
        "outline-cut",
        "a.dxf",
        dxf.trim_end_matches("0\nEOF\n"),
        &[],
        &["cut short", "a.dxf:"],
    );
    refused(
        "outline-binary",
        "a.dxf",
        b"123456789012345678\r\n\x1a\0xyz",
        &[],
        &["binary", "ASCII"],
    );
    refused("outline-empty", "a.csv", "", &[], &["no closed outline"]);
    refused("outline-word", "a.csv", "unit, mm\n0, x\n", &[], &["a.csv:2"]);
    refused(
        "outline-svg",
        "a.svg",
        "<svg><path d=\"M0 0h9\"/></svg>",
        &[],
        &["does not close", "a.svg:1"],
    );
    refused(
        "outline-layer",
        "a.dxf",
        dxf,
        &["--unit", "mm", "--layer", "CUT"],
        &["no layer \"CUT\""],
    );
    refused(
        "outline-unit",
        "a.csv",
        PLATE,
        &["--unit", "parsec"],
        &["--unit", "mm, cm"],
    );
    refused(
        "outline-join",
        "a.csv",
        PLATE,
        &["--join", "3"],
        &["--join", "no unit"],
    );
    refused(
        "outline-fit",
        "a.csv",
        PLATE,
        &["--fit", "3 m"],
        &["--fit", "out of range"],
    );
    refused(
        "outline-over",
        "a.csv",
        PLATE,
        &["--picture", "a.csv"],
        &["--picture", ".svg"],
    );
    let folder = Folder::new("outline-missing");
    let answer = folder.run(&["outline", "gone.dxf"]);
    assert_eq!(answer.code, 2);
    assert!(answer.err.contains("there is no file gone.dxf"), "{}", answer.err);
}

#[test]
fn a_scale_is_proved_written_and_refused_when_it_is_off() {
    let folder = Folder::new("outline-scale");
    folder.write("plate.csv", PLATE);
    let two = ["--measured", "H1 H2 160 mm", "--measured", "width 7.874 in"];
    let mut arguments = vec![
        "outline",
        "plate.csv",
        "--write",
        "plate.dxf",
        "--write",
        "plate.svg",
    ];
    arguments.extend(two);
    let answer = folder.run(&arguments);
    assert_eq!(answer.code, 0, "{}", answer.err);
    assert!(answer.out.contains("the scale is proved"), "{}", answer.out);
    assert!(
        answer
            .err
            .contains("written and read back: plate.dxf, 200.000 x 100.000 mm (7.8740 x 3.9370 in)")
    );
    for file in ["plate.dxf", "plate.svg"] {
        let again = folder.run(&[&["outline", file][..], &two].concat());
        assert_eq!(again.code, 0, "{}", again.err);
        assert!(again.out.contains("200.000 x 100.000 mm"), "{}", again.out);
    }
    // As a program writes it that has lost the unit: numbers in mm, taken at 96 to the inch.
    let bare = "<svg viewBox=\"0 0 300 200\"><rect width=\"200\" height=\"100\"/><circle cx=\"20\" cy=\"50\" r=\"4\"/>\
                <circle cx=\"180\" cy=\"50\" r=\"4\"/></svg>";
    folder.write("bare.svg", bare);
    let off = folder.run(&[&["outline", "bare.svg"][..], &two].concat());
    assert_eq!(off.code, 2);
    for words in [
        "3.7795 times as large",
        "millimetres were taken for pixels of 96",
        "--unit mm",
    ] {
        assert!(off.err.contains(words), "{}", off.err);
    }
    let unproved = folder.run(&["outline", "bare.svg", "--write", "cut.dxf"]);
    assert_eq!(unproved.code, 2);
    assert!(
        unproved.err.contains("only assumed") && !folder.path("cut.dxf").exists(),
        "{}",
        unproved.err
    );
    let right = folder.run(
        &[
            &["outline", "bare.svg", "--unit", "mm", "--write", "cut.dxf"][..],
            &two,
        ]
        .concat(),
    );
    assert_eq!(right.code, 0, "{}", right.err);
    let over = folder.run(&["outline", "bare.svg", "--unit", "mm", "--write", "bare.svg"]);
    assert!(
        over.code == 2 && over.err.contains("is the file that is read"),
        "{}",
        over.err
    );
    assert_eq!(
        std::fs::read_to_string(folder.path("bare.svg")).ok().as_deref(),
        Some(bare)
    );
}
