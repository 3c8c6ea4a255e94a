//! A pocket whose outline comes out of a drawing or a table beside the design.

use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::path::{Path, PathBuf};

use sumpwright_job::{Design, Fault, Sources, read_from, starter};

/// A revision of the starter whose sump takes its outline from `keys`, with files beside it.
fn design(keys: &str, files: &[(&str, &str)]) -> Result<Design, Vec<Fault>> {
    let text = format!(
        "format = \"2026-11\"\nname = \"drawn\"\nbase = \"pan.toml\"\n[[pocket]]\nname = \"sump\"\noutline = {{ {keys} }}\n"
    );
    let mut all: BTreeMap<PathBuf, Vec<u8>> = BTreeMap::new();
    all.insert("pan.toml".into(), starter()[0].text.as_bytes().to_vec());
    all.insert("drawn.toml".into(), text.into_bytes());
    for (name, text) in files {
        all.insert(name.into(), text.as_bytes().to_vec());
    }
    read_from(Path::new("drawn.toml"), &Sources::Memory(all))
}

fn told(result: Result<Design, Vec<Fault>>) -> String {
    let faults = result.expect_err("the design was read");
    faults.iter().map(|f| format!("{f}\n")).collect()
}

/// The starter's sump as a drawing: 300 x 220 mm about the origin, but with one end bulging by 10 mm, and a bolt hole.
fn drawing(unit: &str) -> String {
    // A bulge of 2 x 10 / 220 over the end of 220 mm.
    let polyline = "0\nLWPOLYLINE\n8\nRAIL\n70\n1\n10\n-150\n20\n-110\n10\n150\n20\n-110\n42\n0.09090909090909091\n\
                    10\n150\n20\n110\n10\n-150\n20\n110\n";
    let hole = "0\nCIRCLE\n8\nRAIL\n10\n-140\n20\n-100\n40\n4\n";
    format!(
        "0\nSECTION\n2\nHEADER\n{unit}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{polyline}{hole}0\nENDSEC\n0\nEOF\n"
    )
}

const MM: &str = "9\n$INSUNITS\n70\n4\n";

#[test]
fn a_pocket_takes_its_outline_from_a_drawing_and_keeps_its_arcs() {
    let files = [("rail.dxf", &*drawing(MM))];
    let read = design("file = \"rail.dxf\"", &files).unwrap_or_else(|f| panic!("{f:?}"));
    let (r, half) = (0.61_f64, (0.11_f64 / 0.61).asin());
    let bow = r * r * (half - half.sin() * half.cos());
    // The starter's sump is 130 mm deep with corners rounded by 10 mm: two at right angles, two at the bow.
    let cut = |angle: f64| 1e-4 * (1.0 / (angle / 2.0).tan() - (PI - angle) / 2.0);
    let wanted = 0.3 * 0.22 + bow - 2.0 * cut(0.5 * PI) - 2.0 * cut(0.5 * PI + half);
    let got = read.pan.capacity() / 0.13;
    assert!((got - wanted).abs() < 1e-6, "{got} {wanted}");
    // The drawing belongs to what a run's key holds, and the report says what was taken of it.
    assert!(read.files.iter().any(|f| f.path == Path::new("rail.dxf")));
    let line = read
        .inputs
        .iter()
        .find(|i| i.key == "pocket \"sump\".outline")
        .expect("it is listed");
    assert!(
        line.shown.starts_with("O1, 310.0 mm") && line.shown.contains("1 arcs"),
        "{}",
        line.shown
    );
}

#[test]
fn a_drawing_is_turned_mirrored_moved_and_given_its_unit() {
    let inch = drawing("")
        .replace("150", "5.905511811")
        .replace("110", "4.330708661");
    let inch = inch
        .replace("140", "5.5")
        .replace("100", "4")
        .replace("40\n4\n", "40\n0.16\n");
    let files = [("rail.dxf", &*drawing(MM)), ("inch.dxf", &*inch)];
    let plain = design("file = \"rail.dxf\"", &files).unwrap_or_else(|f| panic!("{f:?}"));
    let inches = design("file = \"inch.dxf\", unit = \"in\"", &files).unwrap_or_else(|f| panic!("{f:?}"));
    assert!((plain.pan.capacity() / inches.pan.capacity() - 1.0).abs() < 1e-8);
    // Mirrored and turned by half a turn, the bow of this drawing lies at the other end; moved back, nothing is lost.
    let keys = "file = \"rail.dxf\", layer = \"RAIL\", seen_from = \"below\", turn = \"180 deg\", at = [\"0 mm\", \"0 mm\"]";
    let turned = design(keys, &files).unwrap_or_else(|f| panic!("{f:?}"));
    assert!((plain.pan.capacity() / turned.pan.capacity() - 1.0).abs() < 1e-9);
}

#[test]
fn slips_are_told_where_they_can_be_mended() {
    let files = [
        ("rail.dxf", &*drawing("")),
        ("mm.dxf", &*drawing(MM)),
        ("bare.svg", "<svg><rect width=\"300\" height=\"220\"/></svg>"),
    ];
    let says = |keys: &str, words: &[&str]| {
        let text = told(design(keys, &files));
        for word in words {
            assert!(text.contains(word), "`{word}` is missing in:\n{text}");
        }
    };
    says(
        "file = \"rail.dxf\"",
        &["says no unit", "drawn.toml:6, pocket \"sump\".outline.file"],
    );
    says(
        "file = \"mm.dxf\", layer = \"RIAL\"",
        &["no layer \"RIAL\"", "did you mean RAIL?", "drawn.toml:6"],
    );
    says(
        "file = \"mm.dxf\", line = \"O7\"",
        &["no line of the file is called \"O7\"", "O1 (310.0 mm"],
    );
    says("file = \"gone.dxf\"", &["there is no file gone.dxf"]);
    says("file = \"../mm.dxf\"", &["leaves the project folder"]);
    says(
        "file = \"bare.svg\"",
        &["does not say how large its units are", "unit = \"mm\""],
    );
    says("file = \"mm.dxf\", unit = \"parsec\"", &["parsec", "mm"]);
    says(
        "file = \"mm.dxf\", colour = \"red\"",
        &["colour", "not known here"],
    );
    let open = drawing(MM).replace("70\n1\n10\n-150", "70\n0\n10\n-150");
    let text = told(design("file = \"open.dxf\"", &[("open.dxf", &open)]));
    assert!(
        text.contains("does not close") && text.contains("at open.dxf:"),
        "{text}"
    );
}
