//! What is written is read by other people's libraries as it was meant, arcs as arcs.

mod made;

use glam::DVec2;
use sumpwright_outline::write::{Format, Mark, MarkKind, checked, checked_flat};
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

/// The `dxf` crate and `roxmltree` find a flat pattern's edges, bends and words on their layers; our own reader takes the
/// edges and nothing else.
#[test]
fn a_flat_pattern_has_its_edges_bends_and_words_on_layers_of_their_own() {
    let figure = gasket();
    let (low, high) = figure.bounds();
    let bend = Mark::Line {
        kind: MarkKind::Bend,
        from: low,
        to: high,
    };
    let words = Mark::Words {
        kind: MarkKind::Mark,
        at: low,
        turn: 0.5,
        height: 4e-3,
        words: "bend up 90\u{b0}, R < 3 & T".to_owned(),
    };
    let marks = [bend, words];
    let text = checked_flat(&figure, &marks, Format::Dxf).unwrap_or_else(|f| panic!("{f}"));
    let drawing = dxf::Drawing::load(&mut text.as_bytes()).expect("the other library reads it");
    let on = |layer: &str| drawing.entities().filter(|e| e.common.layer == layer).count();
    assert_eq!(on("CUT"), figure.shapes.len());
    assert_eq!((on("BEND"), on("MARK"), on("NOT_CUT")), (1, 1, 2));
    for layer in ["CUT", "BEND", "MARK", "NOT_CUT"] {
        assert!(drawing.layers().any(|l| l.name == layer), "{layer}");
    }
    for entity in drawing.entities().filter(|e| e.common.layer == "BEND") {
        let dxf::entities::EntityType::Line(line) = &entity.specific else {
            panic!("{entity:?}")
        };
        assert!(DVec2::new(line.p1.x, line.p1.y).distance(low * 1e3) < CLOSE);
        assert!(DVec2::new(line.p2.x, line.p2.y).distance(high * 1e3) < CLOSE);
    }
    let text = checked_flat(&figure, &marks, Format::Svg).unwrap_or_else(|f| panic!("{f}"));
    let document = roxmltree::Document::parse(&text).expect("it is XML");
    let group = |id: &str| document.descendants().find(|n| n.attribute("id") == Some(id));
    assert_eq!(
        group("bend").map(|g| g.children().filter(|c| c.is_element()).count()),
        Some(1)
    );
    let said = group("mark").and_then(|g| {
        g.descendants()
            .find_map(|n| n.text().filter(|t| t.contains("bend")))
    });
    assert_eq!(said, Some("bend up 90\u{b0}, R < 3 & T"));
    let (_, back) = read(text.as_bytes(), &ReadOptions::default()).unwrap_or_else(|f| panic!("{f:?}"));
    assert_eq!(back.shapes.len(), figure.shapes.len());
}
