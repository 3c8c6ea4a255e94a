//! True of every outline: written in any format it reads back the same, in any unit it is the same, and areas, turns and
//! mirrors agree.

use glam::{DMat2, DVec2};
use proptest::prelude::*;
use sumpwright_outline::write::{Format, checked};
use sumpwright_outline::{Figure, LengthUnit, ReadOptions, read};

/// A star-shaped outline about the origin with sides that bulge either way, and holes along a smaller ring, as a table.
fn plate() -> impl Strategy<Value = String> {
    let corner = (60.0..100.0_f64, -0.15..0.15_f64);
    let hole = (0.0..1.0_f64, 1.0..4.0_f64);
    (
        prop::collection::vec(corner, 5..14),
        prop::collection::vec(hole, 0..6),
        -500.0..500.0_f64,
    )
        .prop_map(|(corners, holes, shift)| {
            let mut text = "unit, mm\nx, y, bulge\n".to_owned();
            let n = corners.len() as f64;
            for (i, (radius, bulge)) in corners.iter().enumerate() {
                let p = *radius * DVec2::from_angle(std::f64::consts::TAU * i as f64 / n);
                text += &format!("{:.6}, {:.6}, {bulge:.9}\n", p.x + shift, p.y - shift);
            }
            let m = holes.len() as f64;
            for (i, (place, radius)) in holes.iter().enumerate() {
                let p = (15.0 + 8.0 * place) * DVec2::from_angle(std::f64::consts::TAU * i as f64 / m);
                text += &format!(
                    "hole, {:.6}, {:.6}, {:.6}\n",
                    p.x + shift,
                    p.y - shift,
                    2.0 * radius
                );
            }
            text
        })
}

fn figure(text: &str, options: &ReadOptions) -> Option<Figure> {
    // Some throws cross themselves or put one hole over another; they are refused, and nothing is to be shown of them.
    read(text.as_bytes(), options).ok().map(|(_, figure)| figure)
}

fn areas(figure: &Figure) -> Vec<f64> {
    let mut areas: Vec<f64> = figure.shapes.iter().map(|s| s.line.area()).collect();
    areas.sort_by(f64::total_cmp);
    areas
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_written_reads_back_the_same(text in plate(), turn in 0.0..6.2_f64) {
        let Some(figure) = figure(&text, &ReadOptions::default()) else { return Ok(()) };
        let figure = figure.placed(DMat2::from_angle(turn), DVec2::new(0.3, -0.2));
        for format in [Format::Dxf, Format::Svg, Format::Csv] {
            let written = checked(&figure, format);
            prop_assert!(written.is_ok(), "{format:?}: {written:?}\n{text}");
        }
    }

    #[test]
    fn an_inch_is_25_4_mm_whatever_is_drawn(text in plate()) {
        let asked = |unit| ReadOptions { unit: Some(unit), ..ReadOptions::default() };
        let (mm, inch) = (figure(&text, &asked(LengthUnit::Millimetre)), figure(&text, &asked(LengthUnit::Inch)));
        let (Some(mm), Some(inch)) = (mm, inch) else { return Ok(()) };
        for (a, b) in areas(&mm).iter().zip(areas(&inch)) {
            prop_assert!((b / a / (25.4 * 25.4) - 1.0).abs() < 1e-6, "{a} {b}");
        }
    }

    #[test]
    fn turning_and_mirroring_change_no_area_and_no_point_changes_sides(text in plate(), turn in 0.0..6.2_f64, x in -0.1..0.1_f64, y in -0.1..0.1_f64) {
        let Some(figure) = figure(&text, &ReadOptions::default()) else { return Ok(()) };
        let placing = DMat2::from_angle(turn) * DMat2::from_diagonal(DVec2::new(-1.0, 1.0));
        let placed = figure.placed(placing, DVec2::ZERO);
        let p = figure.bounds().0.midpoint(figure.bounds().1) + DVec2::new(x, y);
        for (a, b) in figure.shapes.iter().zip(&placed.shapes) {
            prop_assert!((a.line.area() / b.line.area() - 1.0).abs() < 1e-9);
            let near = a.line.distance(p) < 1e-9;
            prop_assert!(near || a.line.contains(p) == b.line.contains(placing * p));
            prop_assert!((a.line.distance(p) - b.line.distance(placing * p)).abs() < 1e-9);
        }
    }
}
