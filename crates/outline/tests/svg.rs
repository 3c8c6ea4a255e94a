//! SVG drawings: every command, transforms, sizes and units read true; hostile files answered in bounded time.

use std::f64::consts::PI;
use std::time::{Duration, Instant};
use sumpwright_outline::{Figure, LengthUnit, OutlineFault, ReadOptions, Role, UnitOrigin, svg};

fn page(size: &str, inside: &str) -> String {
    format!("<?xml version=\"1.0\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" {size}>\n{inside}\n</svg>\n")
}

/// A page of 200 x 100 mm in whose view box a unit is a millimetre.
const MM: &str = "width=\"200mm\" height=\"100mm\" viewBox=\"0 0 200 100\"";

fn read(text: &str) -> Figure {
    svg::read(text.as_bytes(), &ReadOptions::default()).unwrap_or_else(|f| panic!("{f:?}\n{text}"))
}

fn faults(text: &str) -> Vec<OutlineFault> {
    svg::read(text.as_bytes(), &ReadOptions::default()).expect_err("it should be refused")
}

fn area(figure: &Figure) -> f64 {
    figure.shapes[0].line.area() * 1e6
}

/// The area [mm²] by independent libraries: the path read by svgpathtools 1.7, 2000 chords a segment, shapely 2.
#[test]
fn a_path_with_every_command_encloses_what_it_should() {
    let path = "<path d=\"M20 50 C20 20 60 20 60 50 S100 80 100 50 Q110 20 130 40 T160 50 A25 18 30 0 1 150 85 \
                H60 V90 L20 90 l0 -10 a5 5 0 0 1 0 -10 z\"/>";
    let got = area(&read(&page(MM, path)));
    assert!((got - PATH_AREA).abs() < 0.5, "{got}");
}

const PATH_AREA: f64 = 6031.089;

#[test]
fn shapes_and_circular_arcs_stay_lines_and_arcs_under_turns_and_mirrors() {
    let inside = "<g transform=\"translate(100,50) rotate(37) scale(-1,1)\">\
                  <rect x=\"-60\" y=\"-30\" width=\"120\" height=\"60\" rx=\"10\"/>\
                  <circle cx=\"20\" cy=\"0\" r=\"6\"/>\
                  <path d=\"M-30 -5 h20 a5 5 0 0 1 0 10 h-20 a5 5 0 0 1 0 -10z\"/></g>";
    let figure = read(&page(MM, inside));
    assert_eq!(figure.shapes[0].line.vertices.len(), 8);
    assert!((area(&figure) - (7200.0 - (4.0 - PI) * 100.0)).abs() < 1e-6);
    let (_, hole) = figure.holes().next().expect("the hole");
    let (sin, cos) = 37f64.to_radians().sin_cos();
    // Mirrored to (-20, 0), turned by 37 degrees on a page whose y runs down, moved; then y from the foot.
    let wanted = [100.0 - 20.0 * cos, 50.0 - 20.0 * sin];
    assert!(
        (hole.centre.x * 1e3 - wanted[0]).abs() < 1e-9
            && (hole.centre.y * 1e3 - (100.0 - wanted[1])).abs() < 1e-9
    );
    let slot = figure
        .shapes
        .iter()
        .find(|s| s.role == Role::Window)
        .expect("the slot");
    assert_eq!(slot.line.vertices.len(), 4);
    assert!((slot.line.area() * 1e6 - (200.0 + 25.0 * PI)).abs() < 1e-6);
}

/// Drawing programs write circles as four cubic curves with kappa = 0.5522847498 (up to 2.7e-4 of the radius off).
#[test]
fn a_circle_written_as_four_curves_is_a_round_hole() {
    let (r, k) = (8.0, 8.0 * 0.5522847498);
    let circle = format!(
        "<path d=\"M0 0H150V90H0z\"/><path d=\"M{} 40c0 {k} -{} {r} -{r} {r}s-{r} -{} -{r} -{r}s{} -{r} {r} -{r}s{r} {} {r} {r}z\"/>",
        50.0 + r,
        r - k,
        r - k,
        r - k,
        r - k,
    );
    let figure = read(&page(MM, &circle));
    let (_, hole) = figure.holes().next().unwrap_or_else(|| panic!("{figure:?}"));
    assert!(
        (hole.radius * 1e3 - 8.0).abs() < 0.003 && (hole.centre.x * 1e3 - 50.0).abs() < 1e-3,
        "{hole:?}"
    );
}

#[test]
fn sizes_in_every_unit_are_true_and_bare_ones_are_assumed_and_said() {
    let square = "<rect x=\"0\" y=\"0\" width=\"96\" height=\"96\"/>";
    let side = |size: &str| (area(&read(&page(size, square)))).sqrt();
    for (size, wanted) in [
        ("width=\"4in\" height=\"2in\"", 25.4),
        ("width=\"192mm\" height=\"192mm\" viewBox=\"0 0 96 96\"", 192.0),
        ("width=\"9.6cm\" viewBox=\"0 0 96 96\"", 96.0),
        ("width=\"72pt\" height=\"72pt\" viewBox=\"0 0 96 96\"", 25.4),
        ("width=\"200mm\" height=\"100mm\" viewBox=\"0 0 96 96\"", 100.0),
        ("width=\"96\" height=\"96\"", 25.4),
        ("viewBox=\"0 0 96 96\"", 25.4),
    ] {
        assert!((side(size) - wanted).abs() < 1e-9, "{size}: {}", side(size));
    }
    let bare = read(&page("viewBox=\"0 0 96 96\"", square));
    assert_eq!(bare.unit, Some((LengthUnit::Pixel96, UnitOrigin::Assumed)));
    assert!(
        bare.cautions[0].contains("prove it by two measured lengths"),
        "{:?}",
        bare.cautions
    );
    let asked = ReadOptions {
        unit: Some(LengthUnit::Millimetre),
        ..ReadOptions::default()
    };
    let figure = svg::read(page("viewBox=\"0 0 96 96\"", square).as_bytes(), &asked).expect("it reads");
    assert!((area(&figure) - 9216.0).abs() < 1e-9);
}

#[test]
fn groups_are_listed_and_chosen_uses_are_laid_out_and_text_is_passed_over() {
    let inside = "<defs><circle id=\"bolt\" r=\"4\"/></defs>\
                  <g id=\"plate\"><rect width=\"100\" height=\"50\"/><use href=\"#bolt\" x=\"10\" y=\"10\"/>\
                  <use href=\"#bolt\" transform=\"translate(90,40) scale(0.5)\"/></g>\
                  <g id=\"help\"><circle cx=\"150\" cy=\"50\" r=\"30\"/></g>\
                  <g style=\"display: none\"><circle cx=\"150\" cy=\"50\" r=\"20\"/></g><text>M8</text>\
                  <g id=\"not-cut\"><path d=\"M0 0h100\"/></g>";
    let figure = read(&page(MM, inside));
    assert_eq!((figure.outlines().count(), figure.holes().count()), (2, 2));
    assert!(
        figure.said.iter().any(|s| s.contains("1 text"))
            && figure.said.iter().any(|s| s.contains("not-cut (1)"))
    );
    let chosen = |name: &str| ReadOptions {
        layers: vec![name.to_owned()],
        ..ReadOptions::default()
    };
    let plate = svg::read(page(MM, inside).as_bytes(), &chosen("plate")).expect("it is there");
    assert_eq!((plate.outlines().count(), plate.holes().count()), (1, 2));
    let fault = &svg::read(page(MM, inside).as_bytes(), &chosen("plat")).expect_err("it is not there")[0];
    assert!(fault.mend.contains("did you mean plate?"), "{fault:?}");
}

#[test]
fn slips_are_told_with_their_line() {
    let told = |inside: &str| {
        let fault = faults(&page(MM, inside)).remove(0);
        (fault.id, fault.line)
    };
    assert_eq!(told("<path d=\"M0 0 L 10\"/>"), ("path", Some(3)));
    assert_eq!(told("\n<path d=\"M0 0h9v9\"/>"), ("open-line", Some(4)));
    assert_eq!(
        told("<rect width=\"50%\" height=\"3\"/>"),
        ("not-a-number", Some(3))
    );
    assert_eq!(told("<use href=\"#gone\"/>"), ("no-such-use", Some(3)));
    assert_eq!(
        told("<g transform=\"turn(3)\"><rect width=\"5\" height=\"3\"/></g>"),
        ("transform", Some(3))
    );
    assert_eq!(told("<circle r=\"0\"/>"), ("no-radius", Some(3)));
    assert_eq!(told("<text>nothing</text>"), ("no-outline", None));
    assert_eq!(faults("<html></html>")[0].id, "not-svg");
    assert_eq!(faults("<svg><g></svg>")[0].id, "not-svg");
    assert_eq!(
        faults(&page("width=\"100mm\" viewBox=\"0 0 0 9\"", ""))[0].id,
        "view-box"
    );
}

/// Uses within uses, ten each and ten deep; a group that uses itself; a hundred thousand nested groups; entities that
/// double thirty times; a rectangle a thousand million wide; a path of a million moves.
#[test]
fn hostile_drawings_are_refused_quickly() {
    let start = Instant::now();
    let mut uses = "<defs><circle id=\"u0\" r=\"4\"/>".to_owned();
    for i in 1..11 {
        let ten = format!("<use href=\"#u{}\"/>", i - 1).repeat(10);
        uses += &format!("<g id=\"u{i}\">{ten}</g>");
    }
    uses += "</defs><use href=\"#u10\"/>";
    assert_eq!(faults(&page(MM, &uses))[0].id, "too-many");
    assert_eq!(
        faults(&page(MM, "<g id=\"a\"><use href=\"#a\"/></g>"))[0].id,
        "too-deep"
    );
    let deep = format!(
        "{}<circle r=\"4\"/>{}",
        "<g>".repeat(100_000),
        "</g>".repeat(100_000)
    );
    assert_eq!(faults(&page(MM, &deep))[0].id, "too-deep");
    let doubled: String = (1..30)
        .map(|i| format!("<!ENTITY e{i} \"&e{};&e{};\">", i - 1, i - 1))
        .collect();
    let laughs = format!("<!DOCTYPE svg [<!ENTITY e0 \"<g/>\">{doubled}]><svg>&e29;</svg>");
    assert_eq!(faults(&laughs)[0].id, "not-svg");
    assert_eq!(
        faults(&page(MM, "<rect width=\"999999999\" height=\"3\"/>"))[0].id,
        "too-large"
    );
    assert!(!faults(&page(MM, &format!("<path d=\"{}\"/>", "M1 1".repeat(1_000_000)))).is_empty());
    // A path of fifty thousand moves, used fifty thousand times; a transform of a million letters, as often.
    let moves = format!(
        "<defs><path id=\"m\" d=\"{}\"/></defs>{}",
        "M1 1".repeat(50_000),
        "<use href=\"#m\"/>".repeat(50_000)
    );
    assert_eq!(faults(&page(MM, &moves))[0].id, "too-many");
    let turns = "rotate(0)".repeat(100_000);
    let turned = format!(
        "<defs><g id=\"t\" transform=\"{turns}\"/></defs>{}",
        "<use href=\"#t\"/>".repeat(50_000)
    );
    assert_eq!(faults(&page(MM, &turned))[0].id, "too-many");
    assert_eq!(faults(&page(MM, &"<g/>".repeat(1_000_000)))[0].id, "not-svg");
    assert!(start.elapsed() < Duration::from_secs(60), "{:?}", start.elapsed());
}
