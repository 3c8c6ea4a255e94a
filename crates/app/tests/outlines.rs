//! `sumpwright outline` through the real program.

mod common;

use common::{Folder, PAN};

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

/// A dark plate of 60 x 40 mm with a hole of 8.4 mm, drawn by the square at 10 pixels to the millimetre (254 dpi).
fn scan(note: &str) -> Vec<u8> {
    let mut picture = image::GrayImage::from_pixel(800, 600, image::Luma([230]));
    for (x, y, pixel) in picture.enumerate_pixels_mut() {
        let (u, v) = (f64::from(x) + 0.5 - 100.0, f64::from(y) + 0.5 - 100.0);
        let hole = (u - 500.0).hypot(v - 200.0) < 42.0 || (u - 100.0).hypot(v - 200.0) < 42.0;
        let plate = (0.0..600.0).contains(&u) && (0.0..400.0).contains(&v) && !hole;
        if plate != (note == "light") {
            pixel.0 = [70];
        }
    }
    let mut out = std::io::Cursor::new(Vec::new());
    picture
        .write_to(&mut out, image::ImageFormat::Png)
        .expect("it is written to memory");
    out.into_inner()
}

#[test]
fn a_scan_is_traced_its_scale_proved_its_holes_snapped_and_laid_over_the_picture() {
    let folder = Folder::new("outline-scan");
    folder.write("plate.png", scan(""));
    let unproved = folder.run(&["outline", "plate.png", "--write", "cut.dxf"]);
    assert!(
        unproved.code == 2 && unproved.err.contains("only assumed"),
        "{}",
        unproved.err
    );
    let two = ["--measured", "H1 H2 40 mm", "--measured", "width 60 mm"];
    let more = ["--snap", "metric", "--write", "cut.dxf", "--picture", "over.svg"];
    let answer = folder.run(&[&["outline", "plate.png"][..], &two, &more].concat());
    assert_eq!(answer.code, 0, "{}", answer.err);
    for words in [
        "the scale is proved",
        "rms",
        "now 8.400 mm",
        "M8, close fit",
        "Scaled by 1.18",
    ] {
        assert!(
            answer.out.contains(words),
            "`{words}` is missing in:\n{}",
            answer.out
        );
    }
    let over = std::fs::read_to_string(folder.path("over.svg")).expect("it was written");
    assert!(over.contains("data:image/png;base64,iVBOR") && over.len() < 2_000_000);
    let cut = folder.run(&["outline", "cut.dxf", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&cut.out).expect("one JSON object");
    let holes = value["holes"].as_array().expect("a list");
    assert_eq!(holes.len(), 2);
    let across =
        holes[0]["at"][0].as_f64().unwrap_or(f64::NAN) - holes[1]["at"][0].as_f64().unwrap_or(f64::NAN);
    assert!((across.abs() - 0.04).abs() < 5e-5, "{across}");
    let asked = folder.run(&[
        "outline",
        "plate.png",
        "--dpi",
        "254",
        "--measured",
        "H1 H2 40 mm",
        "--measured",
        "width 60 mm",
    ]);
    assert_eq!(asked.code, 0, "{}", asked.err);
    folder.write("light.png", scan("light"));
    let light = folder.run(&["outline", "light.png", "--dpi", "254", "--light-part"]);
    assert!(
        light.code == 0 && light.out.contains("8.399"),
        "{}{}",
        light.out,
        light.err
    );
}

#[test]
fn wrong_pictures_and_options_of_pictures_are_told() {
    let plate = scan("");
    refused(
        "scan-cut",
        "a.png",
        &plate[..300],
        &[],
        &["picture cannot be read", "a.png"],
    );
    refused(
        "scan-dpi",
        "a.png",
        &plate,
        &["--dpi", "3"],
        &["--dpi", "out of range"],
    );
    refused(
        "scan-sheet",
        "a.png",
        &plate,
        &["--sheet", "b9"],
        &["--sheet", "a4, a3, letter"],
    );
    refused(
        "scan-no-sheet",
        "a.png",
        &plate,
        &["--sheet", "a4"],
        &["sheet cannot be found", "--corners"],
    );
    refused(
        "scan-corners",
        "a.png",
        &plate,
        &["--corners", "1,2 3,4"],
        &["--corners", "four points"],
    );
    refused(
        "scan-alone",
        "a.png",
        &plate,
        &["--corners", "1,2 3,4 5,6 7,8"],
        &["--corners", "--sheet"],
    );
    refused(
        "scan-line",
        "a.png",
        &plate,
        &["--corners", "1,2 3,4 5,6 7,8", "--sheet", "a4"],
        &["quadrangle"],
    );
    let sides = ["--corners", "0,600 800,600 800,0 0,0", "--sides", "80 mm, 60 mm"];
    refused("scan-sides", "a.png", &plate, &sides, &["--sides", "2 distances"]);
    refused(
        "scan-drawing",
        "a.csv",
        PLATE,
        &["--dpi", "300"],
        &["no picture", "--dpi"],
    );
    refused(
        "scan-slip",
        "a.png",
        &plate,
        &["--dpi", "254", "--measured", "width 64 mm"],
        &["1.0667 times"],
    );
    refused(
        "scan-torn",
        "a.png",
        &plate,
        &["--measured", "width 60 mm", "--measured", "height 50 mm"],
        &["do not agree"],
    );
}

/// The example's scan was made from the example's table: turned by -2.3 degrees about its middle, 150 dpi.
#[test]
fn the_examples_scan_gives_back_the_gasket_that_it_was_made_from() {
    let examples = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/gasket");
    let folder = Folder::new("outline-example");
    for file in ["gasket.csv", "scan.jpg"] {
        let bytes = std::fs::read(examples.join(file)).expect("the example is there");
        assert!(bytes.len() < 300_000);
        folder.write(file, bytes);
    }
    let look = |arguments: &[&str]| {
        let answer = folder.run(&[&["outline"][..], arguments, &["--json"]].concat());
        assert_eq!(answer.code, 0, "{}", answer.err);
        serde_json::from_str::<serde_json::Value>(&answer.out).expect("one JSON object")
    };
    let truth = look(&["gasket.csv", "--level", "H1 H5"]);
    let two = ["--measured", "H1 H7 235.3 mm", "--measured", "H5 H11 235.3 mm"];
    let traced = look(
        &[
            &[
                "scan.jpg",
                "--level",
                "H1 H5",
                "--snap",
                "metric",
                "--write",
                "gasket.dxf",
            ][..],
            &two,
        ]
        .concat(),
    );
    assert_eq!(traced["proof"]["proved"], true);
    let holes = |value: &serde_json::Value| -> Vec<[f64; 3]> {
        let number = |v: &serde_json::Value| v.as_f64().expect("a number");
        let holes = value["holes"].as_array().expect("a list");
        holes
            .iter()
            .map(|h| [number(&h["at"][0]), number(&h["at"][1]), number(&h["diameter"])])
            .collect()
    };
    let (wanted, got) = (holes(&truth), holes(&traced));
    assert_eq!(wanted.len(), got.len());
    for (a, b) in wanted.iter().zip(&got) {
        assert!((a[0] - b[0]).hypot(a[1] - b[1]) < 0.1e-3, "{a:?} {b:?}");
        // The dowel holes of 5 mm are no clearance size and stay as traced.
        assert!((a[2] - b[2]).abs() < 0.05e-3, "{a:?} {b:?}");
    }
    let area = |value: &serde_json::Value| value["outlines"][0]["area"].as_f64().expect("a number");
    assert!((area(&truth) / area(&traced) - 1.0).abs() < 2e-3);
}

/// Blocks in blocks, uses in uses, a polyline that promises a thousand million corners, a picture that promises thirty
/// thousand by thirty thousand pixels, and files of other kinds.
#[test]
fn hostile_and_foreign_files_are_refused_with_a_way_to_mend_it() {
    let block = |i: usize, inside: &str| format!("0\nBLOCK\n2\nB{i}\n{inside}0\nENDBLK\n");
    let mut blocks = block(0, "0\nCIRCLE\n40\n5\n");
    for i in 1..10 {
        blocks += &block(i, &format!("0\nINSERT\n2\nB{}\n", i - 1).repeat(10));
    }
    let dxf = |blocks: &str, entities: &str| {
        format!(
            "0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"
        )
    };
    refused(
        "hostile-blocks",
        "a.dxf",
        dxf(&blocks, "0\nINSERT\n2\nB9\n"),
        &["--unit", "mm"],
        &["more than 200000 pieces"],
    );
    let itself = block(0, "0\nINSERT\n2\nB0\n");
    refused(
        "hostile-itself",
        "a.dxf",
        dxf(&itself, "0\nINSERT\n2\nB0\n"),
        &["--unit", "mm"],
        &["or in themselves"],
    );
    let promise = dxf(
        "",
        "0\nLWPOLYLINE\n90\n1000000000\n70\n1\n10\n0\n20\n0\n10\n9\n20\n0\n",
    );
    refused(
        "hostile-promise",
        "a.dxf",
        promise,
        &["--unit", "mm"],
        &["encloses no area"],
    );
    let mut uses = "<svg><defs><circle id=\"u0\" r=\"4\"/>".to_owned();
    for i in 1..11 {
        uses += &format!(
            "<g id=\"u{i}\">{}</g>",
            format!("<use href=\"#u{}\"/>", i - 1).repeat(10)
        );
    }
    refused(
        "hostile-uses",
        "a.svg",
        uses + "</defs><use href=\"#u10\"/></svg>",
        &[],
        &["more than 200000 pieces"],
    );
    let deep = format!("<svg>{}{}</svg>", "<g>".repeat(50_000), "</g>".repeat(50_000));
    refused("hostile-deep", "a.svg", deep, &[], &["64 deep"]);
    let mut huge = scan("");
    huge[16..24].copy_from_slice(&[0, 0, 0x75, 0x30, 0, 0, 0x75, 0x30]);
    // The header chunk's check sum no longer fits, which the library may notice first.
    refused("hostile-huge", "a.png", huge, &[], &["picture"]);
    refused(
        "foreign-pdf",
        "a.pdf",
        "%PDF-1.7\n",
        &[],
        &["a PDF", "DXF or SVG"],
    );
    refused(
        "foreign-step",
        "a.step",
        "ISO-10303-21;\n",
        &[],
        &["a STEP file", "as DXF"],
    );
    let folder = Folder::new("outline-design");
    folder.write(
        "pan.toml",
        PAN.replace(
            "rectangle = { x = [\"-150 mm\", \"150 mm\"], y = [\"-100 mm\", \"100 mm\"] }",
            "outline = { file = \"rail.dxf\" }",
        ),
    );
    folder.write("rail.dxf", dxf("", "0\nCIRCLE\n40\n5\n"));
    let answer = folder.run(&["still", "pan.toml"]);
    assert_eq!(answer.code, 2);
    for words in [
        "says no unit",
        "pan.toml:",
        "pocket \"sump\".outline.file",
        "state the unit",
    ] {
        assert!(
            answer.err.contains(words),
            "`{words}` is missing in:\n{}",
            answer.err
        );
    }
}
