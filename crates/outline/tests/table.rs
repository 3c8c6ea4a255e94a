//! Tables typed by hand: what a builder with a calliper writes down.

use std::f64::consts::PI;
use sumpwright_outline::{Figure, LengthUnit, OutlineFault, ReadOptions, Role, UnitOrigin, table};

fn read(text: &str) -> Figure {
    table::read(text.as_bytes(), &ReadOptions::default()).unwrap_or_else(|f| panic!("{f:?}\n{text}"))
}

fn fault(text: &str) -> OutlineFault {
    table::read(text.as_bytes(), &ReadOptions::default())
        .expect_err("it should be refused")
        .remove(0)
}

const PLATE: &str = "unit, mm\n# x, y, corner radius\n0, 0, 12\n320, 0, 12\narc, 335, 90\n320, 180\n0, 180, 12\n\
                     hole, 14, 14, 9\nhole, 306, 14, 9\nwindow\n60,40\n260,40\n260,140\n60,140\n";

#[test]
fn corners_radii_an_arc_holes_and_a_window_read_true() {
    // The radius at 320, 0 would lie on the side that is an arc.
    let refused = fault(PLATE);
    assert_eq!(refused.line, Some(4));
    let figure = read(&PLATE.replace("320, 0, 12", "320, 0"));
    let outline = &figure.shapes[0];
    // The arc rises 15 mm over a chord of 180 mm: r = (90² + 15²) / 30 = 277.5 mm.
    let (r, half) = (277.5_f64, (90.0_f64 / 277.5).asin());
    let wanted = 320.0 * 180.0 - 2.0 * (1.0 - 0.25 * PI) * 144.0 + r * r * (half - half.sin() * half.cos());
    assert!(
        (outline.line.area() * 1e6 - wanted).abs() < 1e-6,
        "{}",
        outline.line.area() * 1e6
    );
    assert_eq!(figure.holes().count(), 2);
    assert_eq!(figure.shapes.iter().filter(|s| s.role == Role::Window).count(), 1);
    assert_eq!(figure.unit, Some((LengthUnit::Millimetre, UnitOrigin::Stated)));
}

#[test]
fn decimal_commas_tabs_fractions_and_units_in_cells_are_read() {
    let comma = read("unit;mm\n0;0\n10,5;0\n10,5;20\n");
    let tabs = read("unit\tmm\n0\t0\n10.5\t0\n10,5\t20\n");
    let cells = read("0 mm, 0 mm\n10.5 mm, 0 mm\n1.05 cm, 20 mm\n");
    assert_eq!(comma.shapes[0].line, tabs.shapes[0].line);
    assert!((comma.shapes[0].line.area() - cells.shapes[0].line.area()).abs() < 1e-15);
    assert_eq!(cells.unit, None);
    let inches = read("x, y, bulge\nunit, in\n0, 0, 1\n1-1/2, 0, 1\n");
    assert!((inches.shapes[0].line.area() / (0.0254 * 0.0254) - 0.25 * PI * 2.25).abs() < 1e-9);
}

#[test]
fn slips_are_told_with_their_line() {
    for (text, line, words) in [
        ("0, 0\n10, 0\n", 1, "no row states one"),
        ("unit, furlong\n", 1, "no known unit"),
        ("unit, mm\n0, 0\n10, zero\n", 3, "zero"),
        ("unit, mm\n0, 0\n10, 0, 1, 2, 3\n", 3, "5 cells"),
        ("unit, mm\nhole, 3, 4\n", 2, "diameter"),
        ("unit, mm\nhole, 3, 4, -2\n", 2, "not above zero"),
        ("unit, mm\narc, 3, 4\n", 2, "begins with an arc"),
        ("unit, mm\n0,0\narc, 5, 0\n10, 0\n10, 9\n", 2, "on one line"),
        ("unit, mm\n0,0\n9,9\n9,0\n0,7\n", 2, "crosses"),
        ("unit, mm\n0,0,8\n9,0,8\n9,9\n", 2, "does not fit"),
        ("unit, mm\n0,0\n1e6,0\n0,9\n", 3, "longer than 100 m"),
        ("unit, mm\ncorner, 3, 4\n", 2, "no row of an outline"),
    ] {
        let told = fault(text);
        assert_eq!(told.line, Some(line), "{text}: {told:?}");
        assert!(
            told.what.contains(words) && !told.mend.is_empty(),
            "{text}: {told:?}"
        );
    }
    let binary = table::read(b"unit, mm\n0\0", &ReadOptions::default()).expect_err("no text");
    assert_eq!((binary[0].id, binary[0].line), ("not-text", Some(2)));
    assert_eq!(fault("").id, "no-outline");
}
