//! The gasket against other people's libraries and against counting.

use glam::DVec2;
use outline::write::{Format, Mark, MarkKind, checked_flat};
use outline::{Closed, Figure, Role};
use std::f64::consts::PI;
use sumpwright_shop::gasket::{Asked, Gasket, Hole, HoleKind, MATERIALS, edges, ligament, made};

/// A box of two corners [mm] with its corners rounded.
fn rounded(low: [f64; 2], high: [f64; 2], radius: f64) -> Closed {
    let bulge = (PI / 8.0).tan();
    let (l, h, r) = (DVec2::from(low), DVec2::from(high), radius);
    let corners = [
        (l.x + r, l.y, 0.0),
        (h.x - r, l.y, bulge),
        (h.x, l.y + r, 0.0),
        (h.x, h.y - r, bulge),
        (h.x - r, h.y, 0.0),
        (l.x + r, h.y, bulge),
        (l.x, h.y - r, 0.0),
        (l.x, l.y + r, bulge),
    ];
    Closed::new(
        corners
            .iter()
            .map(|&(x, y, b)| (1e-3 * DVec2::new(x, y), b))
            .collect(),
    )
}

fn bolt(name: usize, x: f64, y: f64) -> Hole {
    Hole {
        name: name.to_string(),
        kind: HoleKind::Bolt,
        at: 1e-3 * DVec2::new(x, y),
        diameter: 6.6e-3,
    }
}

/// A flange 440 mm by 300 mm, 22 mm wide, with sixteen bolts in the middle of its rail.
fn flange() -> Asked {
    let mut holes = Vec::new();
    for x in [-200.0, -120.0, -40.0, 40.0, 120.0, 200.0] {
        holes.push((x, -139.0));
        holes.push((x, 139.0));
    }
    for y in [-60.0, 60.0] {
        holes.push((-209.0, y));
        holes.push((209.0, y));
    }
    Asked {
        outer: rounded([-220.0, -150.0], [220.0, 150.0], 20.0),
        windows: vec![rounded([-198.0, -128.0], [198.0, 128.0], 12.0)],
        holes: (holes.iter().enumerate())
            .map(|(i, &(x, y))| bolt(i + 1, x, y))
            .collect(),
        set_back: 0.5e-3,
        least: 2.5e-3,
        mat: None,
    }
}

fn sound(asked: &Asked) -> Gasket {
    made(asked).unwrap_or_else(|f| panic!("{f:?}"))
}

/// Numbers without a library: a well-known generator with Knuth's constants.
fn dice(seed: &mut u64) -> f64 {
    *seed = seed
        .wrapping_mul(6364136223846793005)
        .wrapping_add(1442695040888963407);
    (*seed >> 11) as f64 / (1u64 << 53) as f64
}

/// Points along a line, no farther apart than `step`.
fn walked(line: &Closed, step: f64) -> Vec<DVec2> {
    (line.sides())
        .flat_map(|s| {
            let n = (s.length() / step).ceil().max(1.0) as usize;
            (0..n).map(move |k| s.at(k as f64 / n as f64))
        })
        .collect()
}

#[test]
fn the_least_bridge_is_what_counting_finds_on_three_hundred_plates_by_dice() {
    let mut seed = 7;
    let mut compared = 0;
    for _ in 0..300 {
        let outer = rounded([0.0, 0.0], [60.0, 40.0], 5.0 + 10.0 * dice(&mut seed));
        let slot = {
            let (x, y) = (12.0 + 20.0 * dice(&mut seed), 8.0 + 12.0 * dice(&mut seed));
            rounded(
                [x, y],
                [x + 8.0 + 4.0 * dice(&mut seed), y + 9.0],
                0.5 + 3.0 * dice(&mut seed),
            )
        };
        let slot = slot.placed(glam::DMat2::from_angle(0.3 * dice(&mut seed)), DVec2::ZERO);
        let hole = Closed::circle(
            1e-3 * DVec2::new(45.0 + 8.0 * dice(&mut seed), 8.0 + 24.0 * dice(&mut seed)),
            1e-3 * (1.0 + 3.0 * dice(&mut seed)),
        );
        let lines = [outer, slot, hole];
        // Lines that meet are another matter: they are refused before bridges are asked for.
        if Figure::from_lines(lines.iter().cloned()).is_err() {
            continue;
        }
        let names: Vec<String> = ["edge", "slot", "hole"].map(str::to_owned).to_vec();
        let found = ligament::bridges(&lines, &names, 0.0);
        let points: Vec<Vec<DVec2>> = lines.iter().map(|l| walked(l, 0.1e-3)).collect();
        let mut counted = f64::INFINITY;
        for (i, j) in [(0, 1), (0, 2), (1, 2)] {
            for p in &points[i] {
                for q in &points[j] {
                    counted = counted.min(p.distance(*q));
                }
            }
        }
        let got = found[0].width;
        // Points 0.1 mm apart miss the nearest place by half that along each line: at widths of a millimetre and more by
        // less than 0.01 mm, and never find less.
        assert!(
            got <= counted + 1e-9 && counted - got < 0.05e-3,
            "got {got}, counted {counted}"
        );
        compared += 1;
    }
    assert!(compared > 200, "{compared} plates were sound");
}

#[test]
fn bridges_to_a_bolt_hole_are_what_the_sizes_say_and_narrow_ones_are_told() {
    let mut asked = flange();
    let gasket = sound(&asked);
    // The bore stands back to 127.5 + 1 … : rail from 128.5 to 150, bolt at 139 with radius 3.3: 11 - 3.3 outward and
    // 10.5 - 3.3 inward.
    let least = gasket.least.as_ref().expect("there is one");
    assert!((least.width - 7.2e-3).abs() < 1e-9, "{least:?}");
    assert!(least.between.contains(&"the bore".to_owned()));
    assert!(gasket.narrow.is_empty());
    // Area by hand: rounded boxes less circles.
    let area = |w: f64, h: f64, r: f64| w * h - (4.0 - PI) * r * r;
    let want = area(440.0, 300.0, 20.0) - area(397.0, 257.0, 12.5) - 16.0 * PI * 3.3 * 3.3;
    assert!(
        (gasket.area * 1e6 - want).abs() < 1e-3,
        "got {} want {want}",
        gasket.area * 1e6
    );
    asked.holes[0].at.y = -146.5e-3 + 1e-3;
    let narrow = sound(&asked).narrow;
    assert_eq!(narrow.len(), 1);
    assert!((narrow[0].width - 1.2e-3).abs() < 1e-9, "{narrow:?}");
    // A neck between two stretches of one edge: a notch from above leaves 2 mm over a plate's lower side.
    let notched: Vec<(DVec2, f64)> = [
        (0.0, 0.0),
        (50.0, 0.0),
        (50.0, 20.0),
        (30.0, 20.0),
        (30.0, 2.0),
        (20.0, 2.0),
        (20.0, 20.0),
        (0.0, 20.0),
    ]
    .map(|(x, y)| (1e-3 * DVec2::new(x, y), 0.0))
    .to_vec();
    let asked = Asked {
        outer: Closed::new(notched),
        windows: Vec::new(),
        holes: Vec::new(),
        ..flange()
    };
    let least = sound(&asked).least.expect("the neck");
    assert!((least.width - 2e-3).abs() < 1e-12, "{least:?}");
}

/// i_overlay (9.1, MIT or Apache) offsets the chords of the same outline, round joins; chords within 2 µm.
#[test]
fn an_outline_set_back_agrees_with_a_general_polygon_library_and_keeps_its_arcs() {
    use i_overlay::mesh::float::outline::offset::OutlineOffset;
    use i_overlay::mesh::float::style::{LineJoin, OutlineStyle};
    let bore = Closed::new(
        [
            (0.0, 0.0, 0.0),
            (120.0, 0.0, 0.3),
            (120.0, 80.0, 0.0),
            (70.0, 80.0, -0.4),
            (40.0, 80.0, 0.0),
            (0.0, 60.0, 0.2),
        ]
        .map(|(x, y, b)| (1e-3 * DVec2::new(x, y), b))
        .to_vec(),
    );
    for by in [0.25e-3, 1e-3, 4e-3] {
        let asked = Asked {
            outer: rounded([-60.0, -60.0], [200.0, 150.0], 10.0),
            windows: vec![bore.clone()],
            holes: Vec::new(),
            set_back: by,
            ..flange()
        };
        let gasket = sound(&asked);
        let ours = gasket
            .whole
            .shapes
            .iter()
            .find(|s| s.role == Role::Window)
            .expect("the bore");
        let chords: Vec<[f64; 2]> = bore.chords(2e-6).iter().map(|p| (*p * 1e3).to_array()).collect();
        let style = OutlineStyle::new(by * 1e3).line_join(LineJoin::Round(0.01));
        let theirs = vec![chords].outline(&style);
        let theirs: f64 = (theirs.iter().flatten())
            .map(|l| {
                let p = |i: usize| DVec2::from(l[i % l.len()]);
                0.5 * (0..l.len()).map(|i| p(i).perp_dot(p(i + 1))).sum::<f64>()
            })
            .sum::<f64>()
            .abs();
        let got = ours.line.area() * 1e6;
        // 2 µm along an edge of 400 mm.
        assert!(
            (got - theirs).abs() < 1.0,
            "set back {by}: got {got}, theirs {theirs} mm²"
        );
        assert!(ours.line.vertices.iter().filter(|v| v.1 != 0.0).count() >= 3);
        // Each place of the moved line is as far from the old one as asked.
        for p in walked(&ours.line, 1e-3) {
            assert!((bore.distance(p) - by).abs() < 1e-8, "{p}");
        }
    }
}

#[test]
fn a_flange_made_of_chords_has_its_arcs_again() {
    let (outer, bore) = (
        rounded([-220.0, -150.0], [220.0, 150.0], 32.0),
        rounded([-200.0, -130.0], [200.0, 130.0], 12.0),
    );
    // Chords of another fineness than the bore's: nothing but the distance tells what the outer edge is.
    let (out, inner) = edges(&outer.chords(3e-6), &bore.chords(5e-6));
    for (got, want) in [(&out, &outer), (&inner, &bore)] {
        assert!(got.vertices.len() <= 12, "{} corners", got.vertices.len());
        assert_eq!(got.vertices.iter().filter(|v| v.1 != 0.0).count(), 4);
        for p in walked(want, 1e-3) {
            assert!(got.distance(p) < 10e-6);
        }
    }
}

#[test]
fn pieces_fit_the_mat_lock_into_each_other_and_are_the_whole_by_area() {
    for mat in [[0.3, 0.3], [0.25, 0.32], [0.2, 0.2]] {
        let gasket = sound(&Asked {
            mat: Some(mat),
            ..flange()
        });
        assert!(gasket.pieces.len() >= 2, "{mat:?}");
        let parts: f64 = gasket.pieces.iter().map(|p| p.area).sum();
        assert!(
            (parts / gasket.area - 1.0).abs() < 1e-9,
            "{mat:?}: {parts} of {}",
            gasket.area
        );
        // The same by the figures that are written, not by what the splitter counted.
        let drawn: f64 = (gasket.pieces.iter().flat_map(|p| &p.figure.shapes))
            .map(|s| {
                if s.role == Role::Outline {
                    s.line.area()
                } else {
                    -s.line.area()
                }
            })
            .sum();
        assert!((drawn / gasket.area - 1.0).abs() < 1e-9);
        let mut names: Vec<&String> = gasket.pieces.iter().flat_map(|p| &p.holes).collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), 16, "every bolt is in one piece");
        for piece in &gasket.pieces {
            let (low, high) = piece.figure.bounds();
            let size = high - low;
            let (short, long) = (size.min_element(), size.max_element());
            assert!(
                short <= mat[0].min(mat[1]) + 1e-9 && long <= mat[0].max(mat[1]) + 1e-9,
                "{} {size}",
                piece.name
            );
            assert_eq!(piece.figure.outlines().count(), 1);
            assert_eq!(piece.figure.holes().count(), piece.holes.len());
            let arcs = piece.figure.shapes[0].line.vertices.iter().filter(|v| v.1 != 0.0);
            assert!(arcs.count() >= 2, "{} keeps its arcs", piece.name);
        }
        // A ring cut in n places is n pieces, or more by one cut for each piece cut again.
        assert_eq!(gasket.joints.len(), gasket.pieces.len(), "{mat:?}");
        for joint in &gasket.joints {
            for hole in &gasket.holes {
                let r = 0.5 * hole.diameter;
                let near = outline::side::Side {
                    from: joint.from,
                    to: joint.to,
                    bulge: 0.0,
                }
                .nearest(hole.at);
                assert!(near.distance(hole.at) - r >= 3e-3 - 1e-9);
                for (head, radius) in &joint.heads {
                    assert!(head.distance(hole.at) - r - radius >= 3e-3 - 1e-9);
                }
            }
            // The tongue belongs to one piece and its neck is narrower than its head.
            for (head, radius) in &joint.heads {
                let within = |p: DVec2| -> Vec<&str> {
                    let all = gasket.pieces.iter();
                    all.filter(|g| g.figure.shapes[0].line.contains(p))
                        .map(|g| g.name.as_str())
                        .collect()
                };
                assert_eq!(within(*head).len(), 1);
                let along = (joint.to - joint.from).normalize();
                let root = outline::side::Side {
                    from: joint.from,
                    to: joint.to,
                    bulge: 0.0,
                }
                .nearest(*head);
                assert_eq!(within(root - 0.1e-3 * (*head - root).normalize()), within(*head));
                assert_ne!(
                    within(root + 0.6 * radius * along + 1e-4 * (*head - root).normalize()),
                    within(*head)
                );
            }
        }
    }
    assert!(
        sound(&Asked {
            mat: Some([0.31, 0.45]),
            ..flange()
        })
        .pieces
        .is_empty(),
        "it fits turned"
    );
}

/// DXF by the `dxf` crate (0.6, MIT), SVG by `roxmltree` and `svgtypes`: sizes, arcs and units to 0.01 mm.
#[test]
fn cut_files_are_read_by_other_libraries_as_they_were_meant() {
    let gasket = sound(&Asked {
        mat: Some([0.3, 0.3]),
        ..flange()
    });
    let piece = &gasket.pieces[0];
    let marks = [Mark::Words {
        kind: MarkKind::Mark,
        at: DVec2::ZERO,
        turn: 0.0,
        height: 4e-3,
        words: piece.name.clone(),
    }];
    for figure in [&gasket.whole, &piece.figure] {
        let text = checked_flat(figure, &marks, Format::Dxf).unwrap_or_else(|f| panic!("{f}"));
        let drawing = dxf::Drawing::load(&mut text.as_bytes()).expect("the other library reads it");
        assert_eq!(
            drawing.header.default_drawing_units,
            dxf::enums::Units::Millimeters
        );
        let (mut area, mut words) = (0.0, 0);
        for entity in drawing.entities() {
            match &entity.specific {
                dxf::entities::EntityType::LwPolyline(p) => {
                    assert_eq!(entity.common.layer, "CUT");
                    let line = Closed::new(
                        p.vertices
                            .iter()
                            .map(|v| (DVec2::new(v.x, v.y), v.bulge))
                            .collect(),
                    );
                    let shape = figure
                        .shapes
                        .iter()
                        .find(|s| (s.line.area() * 1e6 - line.area().abs()).abs() < 0.01);
                    let shape = shape.expect("one of ours");
                    for p in walked(&line, 2.0) {
                        assert!(shape.line.distance(p * 1e-3) < 0.01e-3);
                    }
                    area += line.area().abs() * if shape.role == Role::Outline { 1.0 } else { -1.0 };
                }
                dxf::entities::EntityType::Circle(c) => {
                    assert_eq!(entity.common.layer, "CUT");
                    assert!((c.radius - 3.3).abs() < 0.01);
                    area -= PI * c.radius * c.radius;
                }
                dxf::entities::EntityType::Text(t) => {
                    words += usize::from(t.value == piece.name && entity.common.layer == "MARK")
                }
                _ => {}
            }
        }
        let want: f64 = (figure.shapes.iter())
            .map(|s| {
                if s.role == Role::Outline {
                    s.line.area()
                } else {
                    -s.line.area()
                }
            })
            .sum();
        assert!((area - want * 1e6).abs() < 0.1 && words == 1, "{area} {want}");
        let text = checked_flat(figure, &marks, Format::Svg).unwrap_or_else(|f| panic!("{f}"));
        let document = roxmltree::Document::parse(&text).expect("well-formed");
        let root = document.root_element();
        let view: Vec<f64> = root
            .attribute("viewBox")
            .expect("stated")
            .split(' ')
            .map(|v| v.parse().expect("a number"))
            .collect();
        assert_eq!(root.attribute("width"), Some(format!("{}mm", view[2]).as_str()));
        let mut extent = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        for path in document
            .descendants()
            .filter(|n| n.tag_name().name() == "path" && n.attribute("id").is_some())
        {
            for segment in svgtypes::PathParser::from(path.attribute("d").expect("data")) {
                if let svgtypes::PathSegment::MoveTo { x, y, .. }
                | svgtypes::PathSegment::LineTo { x, y, .. }
                | svgtypes::PathSegment::EllipticalArc { x, y, .. } = segment.expect("a command")
                {
                    let p = DVec2::new(x, y);
                    extent = (extent.0.min(p), extent.1.max(p));
                }
            }
        }
        let ends = figure
            .shapes
            .iter()
            .filter(|s| s.role != Role::Hole)
            .flat_map(|s| s.line.sides());
        let ends: Vec<DVec2> = ends
            .flat_map(|s| {
                if s.sweep().abs() > 0.9 * PI {
                    vec![s.from, s.at(0.5)]
                } else {
                    vec![s.from]
                }
            })
            .collect();
        let size = ends.iter().fold(DVec2::NEG_INFINITY, |m, p| m.max(*p))
            - ends.iter().fold(DVec2::INFINITY, |m, p| m.min(*p));
        assert!(
            ((extent.1 - extent.0) - size * 1e3).length() < 0.01,
            "{extent:?} {size}"
        );
    }
}

#[test]
fn what_cannot_be_cut_is_told_with_its_place() {
    let told = |asked: &Asked| made(asked).expect_err("it cannot be cut").remove(0).to_string();
    let mut asked = flange();
    asked.holes[3].at = DVec2::new(0.3, 0.0);
    assert!(
        told(&asked).contains("bolt 4 at x = 300.0 mm, y = 0.0 mm lies outside the outline"),
        "{}",
        told(&asked)
    );
    asked.holes[3].at = DVec2::ZERO;
    assert!(told(&asked).contains("inside an opening"), "{}", told(&asked));
    asked.holes[3].at = 1e-3 * DVec2::new(0.0, 148.0);
    assert!(
        told(&asked).contains("breaks through an edge"),
        "{}",
        told(&asked)
    );
    let mut asked = flange();
    asked.holes[0].at = asked.holes[2].at + DVec2::new(3e-3, 0.0);
    assert!(told(&asked).contains("run into each other"), "{}", told(&asked));
    let mut asked = flange();
    asked.outer = Closed::new(
        [(0.0, 0.0), (0.2, 0.2), (0.2, 0.0), (0.0, 0.1)]
            .map(|(x, y)| (DVec2::new(x, y), 0.0))
            .to_vec(),
    );
    asked.windows.clear();
    asked.holes.clear();
    assert!(
        told(&asked).contains("crosses or touches itself"),
        "{}",
        told(&asked)
    );
    let mut asked = flange();
    asked.set_back = 30e-3;
    assert!(
        told(&asked).contains("reaches over the outer edge"),
        "{}",
        told(&asked)
    );
    asked.set_back = 22e-3;
    assert!(told(&asked).contains("cross or touch"), "{}", told(&asked));
    // Bolts every 12 mm leave no room for a joint.
    let mut asked = flange();
    asked.holes = (0..34)
        .flat_map(|k| [-139.0, 139.0].map(|y| bolt(k, -198.0 + 12.0 * k as f64, y)))
        .collect();
    asked.mat = Some([0.3, 0.35]);
    assert!(told(&asked).contains("no place for a joint"), "{}", told(&asked));
    assert_eq!(MATERIALS.len(), 5);
}
