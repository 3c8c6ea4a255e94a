//! DXF drawings: files written by an independent library (ezdxf 1.4, MIT) read right, faults told with their lines,
//! hostile files answered in bounded time and memory.

use std::f64::consts::PI;
use std::time::{Duration, Instant};
use sumpwright_outline::{Figure, LengthUnit, OutlineFault, ReadOptions, Role, UnitOrigin, dxf};

const INCH_BLOCKS: &[u8] = include_bytes!("data/inch-blocks.dxf");
const NO_UNIT: &[u8] = include_bytes!("data/no-unit-r12.dxf");
const CURVES: &[u8] = include_bytes!("data/curves.dxf");

fn read(bytes: &[u8]) -> Figure {
    dxf::read(bytes, &ReadOptions::default()).unwrap_or_else(|f| panic!("{f:?}"))
}

fn faults(text: &str) -> Vec<OutlineFault> {
    dxf::read(text.as_bytes(), &ReadOptions::default()).expect_err("it should be refused")
}

/// A drawing in mm with these entities, and blocks if any.
fn drawing(blocks: &str, entities: &str) -> String {
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n\
         0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"
    )
}

fn line(a: (f64, f64), b: (f64, f64)) -> String {
    format!(
        "0\nLINE\n8\nA\n10\n{}\n20\n{}\n11\n{}\n21\n{}\n",
        a.0, a.1, b.0, b.1
    )
}

/// By hand from the script that wrote the file: a plate 12 x 8 in with corners of 1 in radius; six round holes laid in
/// by blocks, turned, mirrored and halved; three slots of 0.6 x 0.2 in with round ends, laid in as a row.
#[test]
fn loose_lines_arcs_and_nested_turned_and_mirrored_blocks_in_inches_read_true() {
    let figure = read(INCH_BLOCKS);
    assert_eq!(figure.unit, Some((LengthUnit::Inch, UnitOrigin::Stated)));
    let outline = &figure.shapes[0];
    assert_eq!((outline.role, outline.line.vertices.len()), (Role::Outline, 8));
    let square_inch = 0.0254 * 0.0254;
    assert!((outline.line.area() / square_inch - (96.0 - 4.0 + PI)).abs() < 1e-9);
    let mut holes: Vec<[i64; 3]> = (figure.holes())
        .map(|(_, c)| [c.centre.x, c.centre.y, 2.0 * c.radius].map(|v| (v / 0.0254 * 1e6).round() as i64))
        .collect();
    holes.sort_unstable();
    let mut wanted = [
        [3.0, 2.0, 0.5],
        [5.0, 2.5, 0.25],
        [9.0, 6.0, 0.5],
        [7.0, 5.5, 0.25],
        [9.0, 1.5, 0.5],
        [7.0, 2.0, 0.25],
    ]
    .map(|h| h.map(|v: f64| (v * 1e6).round() as i64));
    wanted.sort_unstable();
    assert_eq!(holes, wanted);
    let slots: Vec<f64> = (figure.shapes.iter().filter(|s| s.role == Role::Window))
        .map(|s| s.line.area() / square_inch)
        .collect();
    assert_eq!(slots.len(), 3);
    assert!(
        slots.iter().all(|a| (a - 0.12 - 0.01 * PI).abs() < 1e-9),
        "{slots:?}"
    );
    let said = figure.said.join(" ");
    assert!(said.contains("OLD (1)") && said.contains("1 TEXT"), "{said}");
    // Arcs are arcs: four corners and six slot ends, and no chords.
    let arcs = figure
        .shapes
        .iter()
        .filter(|s| s.role != Role::Hole)
        .flat_map(|s| &s.line.vertices);
    assert_eq!(arcs.filter(|v| v.1 != 0.0).count(), 10);
}

#[test]
fn a_drawing_without_a_unit_is_asked_for_it_and_reads_when_told() {
    let fault = &dxf::read(NO_UNIT, &ReadOptions::default()).expect_err("no unit")[0];
    assert_eq!(fault.id, "no-unit");
    assert!(fault.mend.contains("as inches 5"), "{}", fault.mend);
    let options = ReadOptions {
        unit: Some(LengthUnit::Millimetre),
        ..ReadOptions::default()
    };
    let figure = dxf::read(NO_UNIT, &options).unwrap_or_else(|f| panic!("{f:?}"));
    // 200 x 120 mm less a segment of bulge 0.3 over 120 mm, and less one of bulge 0.2: they turn inward and outward.
    let segment = |bulge: f64, chord: f64| {
        let (sweep, radius) = (4.0 * bulge.atan(), chord * (1.0 + bulge * bulge) / (4.0 * bulge));
        0.5 * radius * radius * (sweep - sweep.sin())
    };
    let wanted = 24_000.0 - segment(0.3, 120.0) + segment(0.2, 120.0);
    let got = figure.shapes[0].line.area() * 1e6;
    assert!((got - wanted).abs() < 1e-6, "{got} {wanted}");
}

/// Area of the spline [mm²] by the independent library's own flattening to 0.0005 mm and shapely 2.
#[test]
fn ellipses_splines_uneven_blocks_and_entities_seen_from_behind_read_true() {
    let figure = read(CURVES);
    let area = |i: usize| figure.shapes[i].line.area() * 1e6;
    let round = |area: f64| {
        figure
            .shapes
            .iter()
            .any(|s| (s.line.area() * 1e6 - area).abs() < 1.0)
    };
    let a = (80.0_f64 * 80.0 + 30.0 * 30.0).sqrt();
    assert!(round(PI * a * 0.5 * a), "{}", area(0));
    assert!(round(SPLINE_AREA), "{}", area(1));
    assert!(round(PI * 20.0 * 10.0));
    assert!(round(PI * 144.0));
    assert!(round(0.25 * PI * 400.0));
    let (hole, circle) = figure
        .shapes
        .iter()
        .find_map(|s| Some((s, s.circle?)))
        .expect("the circle seen from behind");
    assert_eq!(hole.role, Role::Outline);
    assert!((circle.centre.x - 0.4).abs() < 1e-12 && (circle.centre.y - 0.06).abs() < 1e-12);
    assert!(
        figure.said.iter().any(|s| s.contains("followed by arcs")),
        "{:?}",
        figure.said
    );
}

const SPLINE_AREA: f64 = 10828.0615;

#[test]
fn a_gap_within_the_tolerance_is_joined_and_a_wider_one_told_with_its_place() {
    let three = line((0.0, 0.0), (50.0, 0.0)) + &line((50.0, 0.0), (50.0, 40.0));
    let narrow = three.clone() + &line((50.0, 40.02), (0.0, 0.0));
    let figure = read(drawing("", &narrow).as_bytes());
    assert!(
        figure
            .said
            .iter()
            .any(|s| s.contains("1 gap, the widest 0.0200 mm")),
        "{:?}",
        figure.said
    );
    let wide = three + &line((50.0, 40.3), (0.0, 0.0));
    let found = faults(&drawing("", &wide));
    assert_eq!((found.len(), found[0].id), (1, "open-line"));
    assert!(
        found[0].mend.contains("gap of 0.3000 mm at x = 50.000 mm"),
        "{}",
        found[0].mend
    );
    assert!(found[0].line.is_some());
    let options = ReadOptions {
        join: 0.4e-3,
        ..ReadOptions::default()
    };
    assert!(dxf::read(drawing("", &wide).as_bytes(), &options).is_ok());
}

#[test]
fn layers_are_listed_and_chosen_and_a_slip_in_a_name_is_pointed_out() {
    let circle = |layer: &str, r: f64| format!("0\nCIRCLE\n8\n{layer}\n10\n0\n20\n0\n40\n{r}\n");
    let text = drawing("", &(circle("OUTLINE", 30.0) + &circle("COVER", 60.0)));
    assert_eq!(read(text.as_bytes()).shapes.len(), 2);
    let chosen = |name: &str| ReadOptions {
        layers: vec![name.to_owned()],
        ..ReadOptions::default()
    };
    let figure = dxf::read(text.as_bytes(), &chosen("OUTLINE")).unwrap_or_else(|f| panic!("{f:?}"));
    assert_eq!(figure.shapes.len(), 1);
    assert_eq!(
        figure
            .layers
            .iter()
            .map(|l| (l.name.as_str(), l.taken))
            .collect::<Vec<_>>(),
        [("COVER", false), ("OUTLINE", true)]
    );
    let fault = &dxf::read(text.as_bytes(), &chosen("OUTLNE")).expect_err("no such layer")[0];
    assert!(fault.mend.contains("did you mean OUTLINE?"), "{}", fault.mend);
}

#[test]
fn files_that_are_no_drawing_or_cut_short_are_refused_with_their_line() {
    let id = |bytes: &[u8]| dxf::read(bytes, &ReadOptions::default()).expect_err("refused")[0].id;
    assert_eq!(id(b""), "empty");
    assert_eq!(id(b"solid cube\nfacet\n"), "not-dxf");
    assert_eq!(id(b"\x89PNG\r\n\x1a\n\0\0\0"), "not-dxf");
    let whole = drawing("", &line((0.0, 0.0), (1.0, 0.0)));
    let cut = faults(&whole[..whole.len() - 8]);
    assert_eq!(cut[0].id, "cut-short");
    let word = faults(&whole.replace("11\n1\n", "11\noops\n"));
    assert_eq!(word[0].id, "not-a-number");
    let at = word[0].line.expect("a line");
    assert_eq!(whole.lines().nth(at - 1), Some("1"));
    assert_eq!(faults(&drawing("", ""))[0].id, "no-outline");
    let nan = faults(&whole.replace("11\n1\n", "11\nNaN\n"));
    assert_eq!(nan[0].id, "not-a-number");
    let aside = "0\nCIRCLE\n10\n0\n20\n0\n40\n5\n210\n1\n220\n0\n230\n0\n";
    assert_eq!(faults(&drawing("", aside))[0].id, "not-flat");
}

/// Ten blocks, each holding the one before ten times: ten thousand million circles. A block that holds itself. A row of
/// 32767 x 32767. A polyline that states a thousand million corners. Sixty thousand lines from one point.
#[test]
fn hostile_drawings_are_refused_quickly() {
    let circle = "0\nCIRCLE\n10\n0\n20\n0\n40\n5\n";
    let block = |name: &str, inside: &str| format!("0\nBLOCK\n2\n{name}\n10\n0\n20\n0\n{inside}0\nENDBLK\n");
    let insert = |name: &str, more: &str| format!("0\nINSERT\n2\n{name}\n10\n0\n20\n0\n{more}");
    let mut nested = block("B0", circle);
    for i in 1..10 {
        nested += &block(&format!("B{i}"), &insert(&format!("B{}", i - 1), "").repeat(10));
    }
    let start = Instant::now();
    assert_eq!(faults(&drawing(&nested, &insert("B9", "")))[0].id, "too-many");
    assert_eq!(
        faults(&drawing(&block("S", &insert("S", "")), &insert("S", "")))[0].id,
        "too-deep"
    );
    let row = insert("E", "70\n32767\n71\n32767\n44\n1\n45\n1\n");
    assert_eq!(faults(&drawing(&block("E", ""), &row))[0].id, "too-many");
    let corners = "0\nLWPOLYLINE\n90\n1000000000\n70\n1\n10\n0\n20\n0\n10\n9\n20\n0\n10\n9\n20\n9\n";
    assert_eq!(read(drawing("", corners).as_bytes()).shapes.len(), 1);
    let star: String = (0..60_000)
        .map(|i| line((0.0, 0.0), (f64::from(i), 7.0)))
        .collect();
    assert_eq!(faults(&drawing("", &star))[0].id, "fork");
    let dust: String = (0..30_000)
        .map(|i| format!("0\nCIRCLE\n10\n{i}\n20\n0\n40\n0.3\n"))
        .collect();
    assert_eq!(faults(&drawing("", &dust))[0].id, "too-many");
    assert_eq!(
        faults(&drawing("", &"0\nLINE\n".repeat(500_000)))[0].id,
        "too-many"
    );
    assert_eq!(
        faults(&drawing(
            "",
            &format!("0\nLWPOLYLINE\n{}", "10\n1\n".repeat(1_100_000))
        ))[0]
            .id,
        "too-many"
    );
    // Five thousand tangles of forty lines.
    let tangle = |i: usize| -> String {
        let corner = |k: usize| {
            format!(
                "10\n{}\n20\n{}\n",
                50 * (i % 70) + (k * 17) % 40,
                50 * (i / 70) + (k * 29) % 40
            )
        };
        format!(
            "0\nLWPOLYLINE\n70\n1\n{}",
            (0..20).map(corner).collect::<String>()
        )
    };
    assert_eq!(
        faults(&drawing("", &(0..4_900).map(tangle).collect::<String>()))[0].id,
        "crosses-itself"
    );
    let scale = "41\n1e9\n42\n1e9\n";
    let large = block("L0", &(circle.to_owned() + &insert("L1", scale)))
        + &block("L1", &insert("L2", scale))
        + &block("L2", circle);
    assert!(!faults(&drawing(&large, &insert("L0", scale))).is_empty());
    // The time that a builder would wait; on two shared cores all of it takes a few seconds unoptimised.
    assert!(start.elapsed() < Duration::from_secs(60), "{:?}", start.elapsed());
}
