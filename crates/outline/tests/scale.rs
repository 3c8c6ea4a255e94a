//! The scale proved by measured distances; the usual slips named.

mod made;

use glam::{DMat2, DVec2};
use sumpwright_outline::scale::{Measured, Span, prove};
use sumpwright_outline::{Figure, LengthUnit, ReadOptions, UnitOrigin, read};

const AGREE: f64 = 0.5e-3;

fn gasket() -> Figure {
    read(made::GASKET.as_bytes(), &ReadOptions::default())
        .unwrap_or_else(|f| panic!("{f:?}"))
        .1
}

fn name_at(figure: &Figure, x: f64, y: f64) -> String {
    let (shape, _) = figure
        .holes()
        .find(|(_, c)| c.centre.distance(DVec2::new(x, y) * 1e-3) < 1e-6)
        .expect("a hole there");
    shape.name.clone()
}

/// Two distances as a calliper gives them on the true gasket.
fn distances(figure: &Figure) -> [Measured; 2] {
    let [a, b, c] = [(9.0, 9.0), (221.0, 9.0), (9.0, 111.0)].map(|(x, y)| name_at(figure, x, y));
    [format!("{a} {b} 212 mm"), format!("{a} {c} 4.016 in")]
        .map(|t| Measured::read(&t).unwrap_or_else(|f| panic!("{f}")))
}

#[test]
fn two_distances_that_agree_prove_the_scale_and_one_does_not() {
    let figure = gasket();
    let two = distances(&figure);
    let (_, proof) = prove(&figure, &two, AGREE, false).expect("they agree");
    assert!(proof.proved && proof.factor == 1.0 && (proof.distances[1].measured - 0.1020064).abs() < 1e-9);
    // 212 mm of a diagonal of 272 mm.
    assert!(
        (proof.within / AGREE - 244f64.hypot(120.0) / 212.0).abs() < 1e-9,
        "{}",
        proof.within
    );
    let (_, proof) = prove(&figure, &two[..1], AGREE, false).expect("it agrees");
    assert!(!proof.proved);
    let Span::Between(a, b) = two[0].what.clone() else {
        panic!("it lies between holes")
    };
    let back = Measured {
        what: Span::Between(b, a),
        length: 0.212,
    };
    let (_, proof) = prove(&figure, &[two[0].clone(), back], AGREE, false).expect("they agree");
    assert!(!proof.proved, "one way measured twice proves no more than once");
}

/// The slips as they arrive (needs of the trade): 500 mm arrived as 132.292 mm, 250 mm as 88.2 mm, a 10 mm circle as
/// 35.4 mm, and inches for millimetres either way.
#[test]
fn the_usual_slips_are_named_with_their_mend() {
    let cases = [
        (
            500.0 / 132.292,
            LengthUnit::Pixel96,
            "millimetres were taken for pixels of 96",
            "--unit mm",
        ),
        (
            132.292 / 500.0,
            LengthUnit::Millimetre,
            "pixels of 96 to the inch were taken for millimetres",
            "--unit px",
        ),
        (
            250.0 / 88.2,
            LengthUnit::Point,
            "millimetres were taken for points of 72",
            "--unit mm",
        ),
        (
            88.2 / 250.0,
            LengthUnit::Millimetre,
            "points of 72 to the inch were taken for millimetres",
            "--unit pt",
        ),
        (
            10.0 / 35.4,
            LengthUnit::Millimetre,
            "pixels of 90 to the inch were taken for millimetres",
            "--rescale",
        ),
        (
            35.4 / 10.0,
            LengthUnit::Pixel96,
            "millimetres were taken for pixels of 90",
            "--rescale",
        ),
        (
            25.4,
            LengthUnit::Millimetre,
            "inches were taken for millimetres",
            "--unit in",
        ),
        (
            1.0 / 25.4,
            LengthUnit::Inch,
            "millimetres were taken for inches",
            "--unit mm",
        ),
    ];
    let truth = gasket();
    let two = distances(&truth);
    for (factor, unit, words, mend) in cases {
        let mut arrived = truth.placed(DMat2::from_diagonal(DVec2::splat(1.0 / factor)), DVec2::ZERO);
        arrived.unit = Some((unit, UnitOrigin::Stated));
        let fault = &prove(&arrived, &two, AGREE, false).expect_err("the scale is off")[0];
        assert_eq!(fault.id, "scale-slip", "{fault:?}");
        assert!(
            fault.what.contains(words) && fault.mend.contains(mend),
            "{factor}: {fault:?}"
        );
        let (mended, proof) = prove(&arrived, &two, AGREE, true).expect("the distances agree");
        assert!((proof.factor / factor - 1.0).abs() < 1e-4);
        assert!((mended.shapes[0].line.area() / truth.shapes[0].line.area() - 1.0).abs() < 2e-4);
    }
}

#[test]
fn a_print_shrunk_by_three_percent_is_told_apart_from_a_wrong_reading() {
    let truth = gasket();
    let two = distances(&truth);
    let shrunk = truth.placed(DMat2::from_diagonal(DVec2::splat(0.97)), DVec2::ZERO);
    let fault = &prove(&shrunk, &two, AGREE, false).expect_err("it is off")[0];
    assert_eq!(fault.id, "scale-off");
    assert!(fault.what.contains("1.0309 times"), "{fault:?}");
    let mut slip = two;
    slip[1].length = 0.112;
    let fault = &prove(&truth, &slip, AGREE, false).expect_err("they contradict")[0];
    assert_eq!(fault.id, "distances-disagree");
}

#[test]
fn distances_are_read_as_written_and_slips_in_them_told() {
    assert_eq!(
        Measured::read("width 12 in").map(|m| (m.what, m.length)),
        Ok((Span::Width, 12.0 * 0.0254))
    );
    for text in [
        "",
        "H1",
        "H1 H2",
        "H1 H2 12",
        "H1 H2 12 kg",
        "width -3 mm",
        "width 1e9 mm",
    ] {
        let fault = Measured::read(text).expect_err(text);
        assert!(fault.mend.contains("H1 H4 212.5 mm"));
    }
    let figure = gasket();
    let fault = &prove(
        &figure,
        &[Measured::read("H1 H99 5 mm").expect("written right")],
        AGREE,
        false,
    )
    .expect_err("no H99")[0];
    assert!(
        fault.what.contains("H99") && fault.mend.contains("H12"),
        "{fault:?}"
    );
    let same = Measured::read("H1 H1 5 mm").expect("written right");
    assert_eq!(
        prove(&figure, &[same], AGREE, false).expect_err("no length")[0].id,
        "measured"
    );
}
