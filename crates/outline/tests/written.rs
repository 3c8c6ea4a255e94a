//! What is written is read by other people's libraries as it was meant, arcs as arcs.

mod made;

use glam::DVec2;
use sumpwright_outline::write::{Format, checked};
use sumpwright_outline::{Figure, ReadOptions, Role, read};

fn gasket() -> Figure {
    let options = ReadOptions::default();
    read(made::GASKET.as_bytes(), &options)
        .unwrap_or_else(|f| panic!("{f:?}"))
        .1
}

/// To 0.001 mm; both readers give numbers as written, so this is generous.
const CLOSE: f64 = 1e-3;

/// The `dxf` crate (0.6, MIT) reads it: units, layers, circles, and light polylines with their bulges.
#[test]
fn a_written_dxf_is_read_by_another_library_with_its_arcs() {
    let figure = gasket();
    let text = checked(&figure, Format::Dxf).unwrap_or_else(|f| panic!("{f}"));
    let drawing = dxf::Drawing::load(&mut text.as_bytes()).expect("the other library reads it");
    assert_eq!(
        drawing.header.default_drawing_units,
        dxf::enums::Units::Millimeters
    );
    assert_eq!(drawing.header.version, dxf::enums::AcadVersion::R2000);
    let (mut lines, mut circles, mut bars) = (0, 0, 0);
    for entity in drawing.entities() {
        match &entity.specific {
            dxf::entities::EntityType::LwPolyline(p) => {
                let shape = &figure
                    .shapes
                    .iter()
                    .filter(|s| s.role != Role::Hole)
                    .nth(lines)
                    .expect("one of ours");
                assert_eq!(p.vertices.len(), shape.line.vertices.len());
                for (theirs, (at, bulge)) in p.vertices.iter().zip(&shape.line.vertices) {
                    assert!(DVec2::new(theirs.x, theirs.y).distance(*at * 1e3) < CLOSE);
                    assert!((theirs.bulge - bulge).abs() < 1e-9, "{} {bulge}", theirs.bulge);
                }
                assert_eq!(
                    entity.common.layer,
                    if shape.role == Role::Outline {
                        "OUTLINE"
                    } else {
                        "WINDOWS"
                    }
                );
                lines += 1;
            }
            dxf::entities::EntityType::Circle(c) => {
                let near = figure.holes().any(|(_, h)| {
                    DVec2::new(c.center.x, c.center.y).distance(h.centre * 1e3) < CLOSE
                        && (c.radius - h.radius * 1e3).abs() < CLOSE
                });
                assert!(near && entity.common.layer == "HOLES");
                circles += 1;
            }
            dxf::entities::EntityType::Line(l) => {
                assert!((l.p2.x - l.p1.x - 100.0).abs() < CLOSE && entity.common.layer == "NOT_CUT");
                bars += 1;
            }
            _ => {}
        }
    }
    // The outline of the order in which it is written comes first, then holes, then the window.
    assert_eq!((lines, circles, bars), (2, 12, 1));
}

/// The `svgtypes` crate (0.15, MIT or Apache) reads the path data: each arc has the radius and the ends that it should.
#[test]
fn a_written_svg_states_its_size_and_its_arcs_are_read_by_another_library() {
    let figure = gasket();
    let text = checked(&figure, Format::Svg).unwrap_or_else(|f| panic!("{f}"));
    let document = roxmltree::Document::parse(&text).expect("it is well-formed");
    let root = document.root_element();
    let (width, height) = (
        root.attribute("width").expect("stated"),
        root.attribute("height").expect("stated"),
    );
    let view: Vec<f64> = root
        .attribute("viewBox")
        .expect("stated")
        .split(' ')
        .map(|v| v.parse().expect("a number"))
        .collect();
    assert_eq!(
        format!("{}mm {}mm", view[2], view[3]),
        format!("{width} {height}")
    );
    for shape in figure.shapes.iter().filter(|s| s.role != Role::Hole) {
        let path = document
            .descendants()
            .find(|n| n.attribute("id") == Some(&shape.name))
            .expect("it is there");
        let mut at = DVec2::ZERO;
        let mut start = DVec2::ZERO;
        let mut arcs = 0;
        let place = |x: f64, y: f64| DVec2::new(x, view[3] - y);
        let (low, _) = figure.bounds();
        let shift = DVec2::new(-low.x * 1e3 + 5.0, -low.y * 1e3 + 15.0);
        for segment in svgtypes::PathParser::from(path.attribute("d").expect("data")) {
            match segment.expect("a command") {
                svgtypes::PathSegment::MoveTo { x, y, .. } => (at, start) = (place(x, y), place(x, y)),
                svgtypes::PathSegment::LineTo { x, y, .. } => at = place(x, y),
                svgtypes::PathSegment::EllipticalArc {
                    rx,
                    ry,
                    x,
                    y,
                    large_arc,
                    ..
                } => {
                    assert!(rx == ry && !large_arc);
                    let to = place(x, y);
                    let mine = shape.line.sides().find(|s| {
                        (s.from * 1e3 + shift).distance(at) < CLOSE
                            && (s.to * 1e3 + shift).distance(to) < CLOSE
                    });
                    let mine = mine.unwrap_or_else(|| panic!("no side of ours runs from {at} to {to}"));
                    assert!((mine.radius() * 1e3 - rx).abs() < CLOSE);
                    at = to;
                    arcs += 1;
                }
                svgtypes::PathSegment::ClosePath { .. } => assert!(at.distance(start) < CLOSE),
                other => panic!("{other:?}"),
            }
        }
        assert_eq!(arcs, shape.line.vertices.iter().filter(|v| v.1 != 0.0).count());
    }
    let circles = document
        .descendants()
        .filter(|n| n.tag_name().name() == "circle")
        .count();
    assert_eq!(circles, figure.holes().count());
}

#[test]
fn every_format_reads_back_as_the_same_figure_wherever_it_lies() {
    let figure = gasket();
    for (turn, by) in [(0.0, DVec2::ZERO), (1.1, DVec2::new(-3.0, 2.0))] {
        let placed = figure.placed(glam::DMat2::from_angle(turn), by);
        for format in [Format::Dxf, Format::Svg, Format::Csv] {
            let text = checked(&placed, format).unwrap_or_else(|f| panic!("{format:?}: {f}"));
            let (_, back) =
                read(text.as_bytes(), &ReadOptions::default()).unwrap_or_else(|f| panic!("{f:?}"));
            let area = |f: &Figure| f.shapes.iter().map(|s| s.line.area()).sum::<f64>();
            assert!((area(&back) - area(&figure)).abs() < 1e-9, "{format:?}");
            assert_eq!(back.holes().count(), 12);
        }
    }
}
