//! Sheet metal against published examples, against itself bent again, and against a general geometry library.

use glam::{DAffine3, DMat3, DVec2, DVec3};
use pan::{Cavity, Door, Hinge, Mouth, Opening, Outline, Pan, Plate, PlateShape, Pocket, Region, Side};
use proptest::prelude::*;
use std::f64::consts::{FRAC_PI_2, PI};
use sumpwright_shop::sheet::bend::flat_length;
use sumpwright_shop::sheet::door::{self, Hanging};
use sumpwright_shop::sheet::fasten::row;
use sumpwright_shop::sheet::flat::develop;
use sumpwright_shop::sheet::part::{Face, Fold, Part};
use sumpwright_shop::sheet::{Bend, Blank, Edge, Fasten, Metal, Rivet, SheetFault, Work, plate};

const MM: f64 = 1e-3;
const INCH: f64 = 25.4e-3;

fn bend(degrees: f64, radius: f64, thickness: f64, k: f64) -> Bend {
    Bend {
        angle: degrees.to_radians(),
        radius,
        thickness,
        k,
    }
}

/// Worked with the formulae of Machinery's Handbook (BA = A (R + K T), BD = 2 tan(A/2) (R + T) − BA) by hand, mm.
#[test]
fn allowance_and_deduction_of_the_worked_bends() {
    for (degrees, r, t, k, allowance, deduction) in [
        (90.0, 2.0, 2.0, 0.44, 4.52389, 3.47611),
        (90.0, 3.0, 1.5, 0.40, 5.65487, 3.34513),
        (45.0, 3.0, 2.0, 0.42, 3.01593, 1.12621),
        (120.0, 2.0, 1.6, 0.38, 5.46218, 7.00858),
    ] {
        let b = bend(degrees, r, t, k);
        assert!(
            (b.allowance() - allowance).abs() < 6e-6,
            "{degrees}: {}",
            b.allowance()
        );
        assert!(
            (b.deduction() - deduction).abs() < 6e-6,
            "{degrees}: {}",
            b.deduction()
        );
    }
}

/// FAA AC 43.13-1B, 4-57: allowance `(0.0078 T + 0.01743 R)` a degree, with T .050 in and R .032 in: allowance .085 in,
/// deduction .079 in; four legs .740, .420, 1.050, 1.000 in → flat 2.973 in. The rule equals K = 0.447.
#[test]
fn the_channel_of_the_aviation_handbook() {
    let rule = (0.0078 * 0.050 + 0.01743 * 0.032) * 90.0;
    let b = bend(90.0, 0.032 * INCH, 0.050 * INCH, 0.447);
    assert!(
        (b.allowance() / INCH - rule).abs() < 1e-4,
        "{} {rule}",
        b.allowance() / INCH
    );
    assert!(
        (b.allowance() / INCH - 0.085).abs() < 5e-4,
        "{}",
        b.allowance() / INCH
    );
    assert!(
        (b.deduction() / INCH - 0.079).abs() < 5e-4,
        "{}",
        b.deduction() / INCH
    );
    let flat = flat_length(&[0.740, 0.420, 1.050, 1.000].map(|l| l * INCH), &[b; 3]);
    // The handbook rounds each deduction to a thousandth before it adds three.
    assert!((flat / INCH - 2.973).abs() < 1.6e-3, "{}", flat / INCH);
}

/// FAA AC 43.13-1B, 4-57 and its K chart: setback for T .064 in, R .25 in at 45° .130 in and 135° .758 in; tan(A/2) at
/// 30° .2679, at 120° 1.732.
#[test]
fn setbacks_of_the_aviation_handbook() {
    for (degrees, setback) in [(45.0, 0.130), (135.0, 0.758)] {
        let got = bend(degrees, 0.25, 0.064, 0.4).setback();
        assert!((got - setback).abs() < 6e-4, "{degrees}: {got}");
    }
    for (degrees, factor) in [(30.0, 0.2679), (120.0, 1.732)] {
        let got = bend(degrees, 1.0, 0.0, 0.4).setback();
        assert!((got - factor).abs() < 6e-4, "{degrees}: {got}");
    }
}

/// Worked by hand with the same formulae: a pan 20/100/300/100/20 mm outside, T 2, R 3, K .40: BD 4.03097, flat 523.876.
#[test]
fn the_flat_of_a_pan_with_flanges() {
    let b = bend(90.0, 3.0, 2.0, 0.40);
    assert!((b.deduction() - 4.03097).abs() < 6e-6, "{}", b.deduction());
    let flat = flat_length(&[20.0, 100.0, 300.0, 100.0, 20.0], &[b; 4]);
    assert!((flat - 523.876).abs() < 6e-4, "{flat}");
}

/// Rows of Machinery's Handbook's table, between them, and beyond them.
#[test]
fn the_neutral_line_is_read_from_the_table_and_what_lies_beyond_is_said() {
    let near = |got: (f64, bool), k: f64, inside: bool| {
        assert!(
            (got.0 - k).abs() < 1e-9 && got.1 == inside,
            "{got:?}, wanted {k} {inside}"
        );
    };
    near(Metal::A5052H32.k(0.762 * MM, 1.6002 * MM), 0.404, true);
    near(Metal::Steel.k(4.7752 * MM, 2.3622 * MM), 0.450, true);
    near(Metal::Stainless.k(1.524 * MM, 0.7366 * MM), 0.479, true);
    // Half-way between radii .030 and .060 in.
    near(Metal::A6061T6.k(1.143 * MM, 1.6002 * MM), 0.403, true);
    near(Metal::A5052H32.k(10.0 * MM, 3.175 * MM), 0.406, false);
}

/// FAA AC 43.13-1B, table 4-6, at .064 in: 5052-H32 0.5 T to 1 T, 6061-T6 1 T to 2 T, 2024-T3 3 T to 5 T; low-carbon
/// steel 0.5 T or 0.8 mm.
#[test]
fn least_radii_are_those_of_the_table() {
    let t = 1.626 * MM;
    for (metal, low, high) in [
        (Metal::A5052H32, 0.5, 1.0),
        (Metal::A6061T6, 1.0, 2.0),
        (Metal::A2024T3, 3.0, 5.0),
    ] {
        let (got_low, got_high, inside) = metal.least_radius(t);
        let right = (got_low - low * t).abs() < 1e-9 && (got_high - high * t).abs() < 1e-9;
        assert!(right && inside, "{metal:?}: {got_low} {got_high}");
    }
    assert_eq!(Metal::Steel.least_radius(1.0 * MM).0, 0.8 * MM);
    assert!(!Metal::A5052H32.least_radius(12.0 * MM).2);
    assert_eq!(Metal::A5052H32.usual_radius(1.5 * MM), 1.5 * MM);
}

/// FAA AC 43.13-1B, 4-57: edge distance at least 2 D, 2.5 D flush; pitch 3 D to 6 D from memory.
#[test]
fn rivets_keep_their_distances() {
    let plain = Rivet {
        diameter: 3.2 * MM,
        flush: false,
    };
    assert!((plain.least_edge() - 6.4 * MM).abs() < 1e-12);
    assert!((Rivet { flush: true, ..plain }.least_edge() - 8.0 * MM).abs() < 1e-12);
    for long in [0.0, 5.0, 9.7, 30.0, 97.3, 240.0] {
        let places = row(0.0, long * MM, plain.pitch().1, plain.pitch().0);
        assert!(!places.is_empty());
        for pair in places.windows(2) {
            let pitch = pair[1] - pair[0];
            let right = pitch > plain.pitch().0 - 1e-9 && pitch < plain.pitch().1 + 1e-9;
            assert!(right, "{long}: {pitch}");
        }
    }
}

/// A leg of a bracket: width beyond its bends [mm], angle [°], up.
type Leg = (f64, f64, bool);

/// A base with a flange on each side, some with a lip, widths, angles and ways at random.
fn bracket() -> impl Strategy<Value = Part> {
    let leg = || (15.0..60.0, 10.0..140.0, any::<bool>());
    let sizes = (1.0..3.0, 0.5..2.0, 0.33..0.5, 60.0..120.0, 60.0..120.0);
    let legs = prop::collection::vec((leg(), prop::option::of(leg())), 4);
    (sizes, legs, -3.0..3.0, -1.5..1.5).prop_map(|((t, r, k, w, h), legs, turn, tilt)| {
        let first = DMat3::from_rotation_y(tilt) * DMat3::from_rotation_z(turn);
        let size: DVec2 = DVec2::new(w, h) * MM;
        made([t * MM, r * t * MM, k], size, &legs, DAffine3::from_mat3(first))
    })
}

fn made([t, r, k]: [f64; 3], size: DVec2, legs: &[(Leg, Option<Leg>)], first: DAffine3) -> Part {
    let face = |name: String, region: Region, fold: Option<Fold>| Face { name, region, fold };
    let mut faces = vec![face("base".into(), Region::rectangle(DVec2::ZERO, size), None)];
    let corners = [
        DVec2::ZERO,
        DVec2::new(size.x, 0.0),
        size,
        DVec2::new(0.0, size.y),
    ];
    for (i, ((wide, angle, up), lip)) in legs.iter().enumerate() {
        // The leg lies to the left of the side walked clockwise.
        let (from, to) = (corners[(i + 1) % 4], corners[i]);
        let long = from.distance(to);
        // A base of 60 mm has room for bends up to 95° on both sides.
        let b = bend(angle.min(95.0), r, t, k);
        let fold = Fold {
            parent: 0,
            origin: from,
            along: (to - from).normalize(),
            bend: b,
            up: *up,
        };
        let on = lip.map(|(w, a, u)| (w * MM, bend(a, r, t, k), u));
        // Bends eat metal: widths are counted from their tangent lines.
        let wide = wide * MM + b.middle_setback() + on.map_or(0.0, |(_, b, _)| b.middle_setback());
        let ends = (18.0 * MM, long - 18.0 * MM);
        faces.push(face(
            format!("leg {i}"),
            fold.rectangle(ends, (0.0, wide)),
            Some(fold),
        ));
        let Some((lip_wide, bend, up)) = on else { continue };
        let on = Fold {
            parent: faces.len() - 1,
            origin: fold.at(0.0, wide),
            along: fold.along,
            bend,
            up,
        };
        let region = on.rectangle(
            (ends.0 + MM, ends.1 - MM),
            (0.0, lip_wide + bend.middle_setback()),
        );
        faces.push(face(format!("lip {i}"), region, Some(on)));
    }
    Part {
        name: "bracket".into(),
        thickness: t,
        faces,
        first,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    /// The flat pattern, bent again by its own lines, is the model: every corner of every face within a millionth of a
    /// millimetre, though the one knows only tangents, allowances and radii and the other only sharp lines.
    #[test]
    fn a_bracket_laid_flat_and_bent_again_is_the_bracket(part in bracket()) {
        let flat = develop(&part).unwrap_or_else(|f| panic!("{f}"));
        for (i, face) in flat.faces.iter().enumerate() {
            for p in face.loops().flatten() {
                let bent = flat.fold(&part, i, *p);
                let meant = part.point(i, *p - flat.moved[i]);
                prop_assert!(bent.distance(meant) < 1e-9, "{} {bent} {meant}", part.faces[i].name);
            }
        }
        // Length along a leg with a lip: the handbook's sum of outside legs less deductions, from 20 mm inside the base.
        for (i, face) in part.faces.iter().enumerate().filter(|(_, f)| f.name.starts_with("lip")) {
            let on = face.fold.expect("a lip is bent");
            let first = part.faces[on.parent].fold.expect("a leg is bent");
            let outside = |b: &Bend| 0.5 * part.thickness * (0.5 * b.angle).tan();
            let far = face.region.loops().flatten().map(|p| on.seen(*p).y).fold(0.0, f64::max);
            let legs = [
                20.0 * MM + outside(&first.bend),
                first.seen(on.origin).y + outside(&first.bend) + outside(&on.bend),
                far + outside(&on.bend),
            ];
            let by_formula = flat_length(&legs, &[first.bend, on.bend]);
            let edge = flat.faces[i].loops().flatten().map(|p| first.seen(*p).y).fold(0.0, f64::max);
            prop_assert!((20.0 * MM + edge - by_formula).abs() < 1e-9, "{} {by_formula}", 20.0 * MM + edge);
        }
    }
}

fn pan_with(pockets: &[Pocket], plates: Vec<Plate>) -> Pan {
    Pan {
        cavity: Cavity::from_pockets(pockets).unwrap_or_else(|f| panic!("{f:?}")),
        plates,
        doors: Vec::new(),
        mouth: Mouth {
            at: DVec3::new(0.0, 0.0, -0.07),
            diameter: 0.03,
            outside: 0.03,
        },
        returns: Vec::new(),
        crank: None,
    }
}

/// A well 200 by 160 mm, 90 mm deep.
fn well(draft: f64, floor: f64) -> Pocket {
    Pocket {
        name: "well".into(),
        side: Side::Pan,
        outline: Outline::rectangle(DVec2::new(-0.1, -0.08), DVec2::new(0.1, 0.08)),
        z_low: -0.09,
        z_high: 0.0,
        draft: draft.to_radians(),
        corner_radius: 10.0 * MM,
        floor_radius: floor * MM,
    }
}

fn plate_of(name: &str, shape: PlateShape, openings: Vec<Opening>) -> Plate {
    Plate {
        name: name.into(),
        shape,
        thickness: 1.5 * MM,
        openings,
        perforation: 0.0,
        perforation_hole: 0.0,
    }
}

fn wall(path: &[[f64; 2]], z: [f64; 2]) -> PlateShape {
    PlateShape::Wall {
        path: path.iter().map(|p| DVec2::from(*p) * MM).collect(),
        z_low: z[0] * MM,
        z_high: z[1] * MM,
    }
}

fn hole(x: f64, y: f64, diameter: f64) -> Opening {
    Opening::Hole {
        at: DVec2::new(x, y) * MM,
        diameter: diameter * MM,
    }
}

fn work() -> Work {
    Work {
        metal: Metal::A5052H32,
        thickness: 1.5 * MM,
        radius: None,
        gap: 0.5 * MM,
        die: None,
        tabs: Vec::new(),
        tab: 15.0 * MM,
        tabs_positive: true,
        fasten: Fasten::Weld,
        rivet_edge: 4.8 * MM,
    }
}

/// Bent again, every corner of every face lies on the model's plate and both skins of the metal keep inside the pan; the
/// figure's area and length are those of the same lines in i_overlay.
fn folded(pan: &Pan, index: usize, work: &Work) -> Blank {
    let bent = plate::bent(pan, index, work, &[]).unwrap_or_else(|f| panic!("{f}"));
    let flat = develop(&bent.part).unwrap_or_else(|f| panic!("{f}"));
    let panels = pan.plates[index].panels();
    for (i, face) in flat.faces.iter().enumerate() {
        let name = &bent.part.faces[i].name;
        for p in face.loops().flatten() {
            let at = flat.fold(&bent.part, i, *p);
            if let Some(panel) = panels.get(i) {
                let off = at.distance(panel.point(*p - flat.moved[i]));
                assert!(off < 1e-5, "{name}: {off} m off the model");
            }
            let normal = bent.part.pose(i).transform_vector3(DVec3::Z);
            for side in [-0.5, 0.5] {
                let skin = at + normal * side * work.thickness;
                for way in [DVec3::X, DVec3::Y, DVec3::Z].into_iter().flat_map(|w| [w, -w]) {
                    let there = skin + way * 0.6 * work.gap;
                    assert!(
                        pan.cavity.contains(there),
                        "{name}: {there} is outside the cavity"
                    );
                }
            }
        }
    }
    let blank = plate::blank(pan, index, work, &[]).unwrap_or_else(|f| panic!("{f}"));
    let loops: Vec<Vec<DVec2>> = blank.figure.shapes.iter().map(|s| s.line.chords(1e-6)).collect();
    let (outer, openings) = (Region::from_loops(&loops[..1]), Region::from_loops(&loops[1..]));
    let area = outer.difference(&openings).area();
    assert!((area - blank.area).abs() < 1e-6, "{area} {}", blank.area);
    let edges = outer.edges().chain(openings.edges());
    let length: f64 = edges.map(|(a, b)| a.distance(b)).sum();
    assert!(
        (length - blank.cut_length).abs() < 1e-4,
        "{length} {}",
        blank.cut_length
    );
    blank
}

#[test]
fn a_wall_drawn_too_long_is_cut_to_the_pan() {
    let drawn = wall(&[[20.0, -200.0], [20.0, 200.0]], [-120.0, -20.0]);
    let across = plate_of("across", drawn, vec![hole(200.0, -60.0, 12.0)]);
    let blank = folded(&pan_with(&[well(0.0, 0.0)], vec![across]), 0, &work());
    // 160 mm less two gaps wide; from the floor at −90 and a gap up to −20.
    let off = (blank.size - DVec2::new(159.0, 69.5) * MM).abs().max_element();
    assert!(off < 2e-8, "{}", blank.size);
    assert_eq!((blank.holes, blank.windows, blank.bends.len()), (1, 0, 0));
    let circle = blank.figure.holes().next().expect("the hole is round").1;
    // 200 mm along the path is y = 0: the middle of the plate; z = −60 stands 29.5 over its edge.
    assert!(
        circle.centre.distance(DVec2::new(79.5, 29.5) * MM) < 1e-8,
        "{circle:?}"
    );
}

#[test]
fn a_wall_round_the_mouth_has_the_flat_length_of_the_handbook() {
    let path = [[-50.0, -79.9], [-50.0, 30.0], [40.0, 30.0], [60.0, -20.0]];
    let round = plate_of("round the mouth", wall(&path, [-95.0, -30.0]), vec![]);
    let blank = folded(&pan_with(&[well(0.0, 0.0)], vec![round]), 0, &work());
    let b: Vec<Bend> = blank.bends.iter().map(|b| b.bend).collect();
    assert_eq!(b.len(), 2);
    // Middle legs to outside legs, less the deductions. The first leg starts a gap off the pan's side at y = −80.
    let out = |b: &Bend| 0.75 * MM * (0.5 * b.angle).tan();
    let last = DVec2::new(20.0, -50.0).length() * MM;
    let legs = [
        109.5 * MM + out(&b[0]),
        90.0 * MM + out(&b[0]) + out(&b[1]),
        last + out(&b[1]),
    ];
    let length = flat_length(&legs, &b);
    assert!((blank.size.x - length).abs() < 1e-8, "{} {length}", blank.size.x);
    // The path turns right twice, and a wall is seen from its right: both legs come up.
    assert!(blank.bends.iter().all(|b| b.up) && blank.seen_from == "the front");
}

#[test]
fn plates_in_leaning_and_rounded_wells_keep_the_gap_and_have_smooth_edges() {
    let drawn = wall(&[[20.0, -200.0], [20.0, 200.0]], [-120.0, -20.0]);
    let pan = pan_with(&[well(6.0, 6.0)], vec![plate_of("across", drawn, vec![])]);
    let blank = folded(&pan, 0, &work());
    // Straight edges and two rounds at the floor, not the hundred steps of the sliced cavity.
    let corners = blank.figure.shapes[0].line.vertices.len();
    assert!(corners < 40, "{corners}");
    // The top edge at z = −20, where the well is 2 (80 − 20 tan 6°) wide; the gap stands square to the wall.
    let lean = 6f64.to_radians();
    let top = 2.0 * (80.0 - 20.0 * lean.tan() - 0.5 / lean.cos()) * MM;
    assert!((blank.size.x - top).abs() < 5e-5, "{} {top}", blank.size.x);
    let roof = PlateShape::Shelf {
        outline: Outline::rectangle(DVec2::splat(-0.2), DVec2::splat(0.2)),
        z: -0.04,
    };
    let pan = pan_with(&[well(0.0, 0.0)], vec![plate_of("roof", roof, vec![])]);
    let blank = folded(&pan, 0, &work());
    // Four sides and four corners of 10 mm less the gap.
    let line = &blank.figure.shapes[0].line;
    let arcs: Vec<f64> = line
        .sides()
        .filter(|s| !s.is_straight())
        .map(|s| s.radius())
        .collect();
    assert!(arcs.len() == 4 && line.vertices.len() == 8, "{:?}", line.vertices);
    assert!(arcs.iter().all(|r| (r - 9.5 * MM).abs() < 5e-5), "{arcs:?}");
}

#[test]
fn a_plate_that_ends_on_another_is_shortened_by_half_its_thickness_and_the_gap() {
    let across = plate_of(
        "across",
        wall(&[[20.0, -200.0], [20.0, 200.0]], [-120.0, -20.0]),
        vec![],
    );
    let along = plate_of(
        "along",
        wall(&[[20.0, 10.0], [200.0, 10.0]], [-120.0, -20.0]),
        vec![],
    );
    let pan = pan_with(&[well(0.0, 0.0)], vec![across, along]);
    let whole = plate::blank(&pan, 0, &work(), &[]).unwrap_or_else(|f| panic!("{f}"));
    assert!((whole.size.x - 159.0 * MM).abs() < 1e-8, "{}", whole.size);
    let short = plate::blank(&pan, 1, &work(), &[]).unwrap_or_else(|f| panic!("{f}"));
    assert!(
        (short.size.x - (80.0 - 0.75 - 1.0) * MM).abs() < 1e-8,
        "{}",
        short.size
    );
}

#[test]
fn tabs_lie_on_floor_and_walls_at_the_angle_of_what_they_meet() {
    let work = Work {
        tabs: vec![Edge::Bottom, Edge::Start, Edge::End],
        ..work()
    };
    let across = plate_of(
        "across",
        wall(&[[20.0, -200.0], [20.0, 200.0]], [-120.0, -20.0]),
        vec![],
    );
    let blank = folded(&pan_with(&[well(6.0, 0.0)], vec![across]), 0, &work);
    assert_eq!(blank.bends.len(), 3);
    assert!(
        blank.holes >= 6 && blank.bends.iter().all(|b| !b.up),
        "{}",
        blank.holes
    );
    assert!(
        (blank.bends[0].bend.angle - FRAC_PI_2).abs() < 1e-9,
        "{:?}",
        blank.bends[0]
    );
    // In plan the wall runs 120 along to 400 across: it meets the pan's sides 16.7° off square, one open, one shut.
    let askew = plate_of(
        "askew",
        wall(&[[-80.0, -200.0], [40.0, 200.0]], [-120.0, -20.0]),
        vec![],
    );
    let blank = folded(&pan_with(&[well(0.0, 0.0)], vec![askew]), 0, &work);
    let off = 120f64.atan2(400.0);
    let (a, b) = (blank.bends[1].bend.angle, blank.bends[2].bend.angle);
    assert!((a + b - PI).abs() < 1e-2, "{} {}", a.to_degrees(), b.to_degrees());
    assert!(((a - FRAC_PI_2).abs() - off).abs() < 1.5e-2, "{}", a.to_degrees());
    // A box of four walls with a tab on the floor under each, mitred where they turn inward.
    let path = [
        [-40.0, -40.0],
        [40.0, -40.0],
        [40.0, 40.0],
        [-40.0, 40.0],
        [-40.0, -40.0],
    ];
    let boxed = plate_of("box", wall(&path, [-100.0, -40.0]), vec![]);
    let tabs = vec![Edge::Bottom];
    let blank = folded(
        &pan_with(&[well(0.0, 0.0)], vec![boxed]),
        0,
        &Work { tabs, ..work },
    );
    assert_eq!(blank.bends.len(), 3 + 4);
}

fn make(shape: PlateShape, openings: Vec<Opening>, work: &Work) -> Result<Blank, SheetFault> {
    let pan = pan_with(&[well(0.0, 0.0)], vec![plate_of("wall", shape, openings)]);
    plate::blank(&pan, 0, work, &[])
}

#[test]
fn holes_in_bends_are_refused_and_holes_near_them_are_said() {
    // The bend stands 60 mm along the path.
    let corner = || wall(&[[0.0, -60.0], [0.0, 0.0], [50.0, 0.0]], [-80.0, -20.0]);
    let said = |x: f64, work: &Work| {
        let blank = make(corner(), vec![hole(x, -50.0, 8.0)], work).unwrap_or_else(|f| panic!("{f}"));
        blank
            .warnings
            .iter()
            .any(|(said, _)| said.contains("out of round"))
    };
    let fault = make(corner(), vec![hole(61.0, -50.0, 8.0)], &work()).expect_err("it lies in the bend");
    assert!(
        matches!(fault, SheetFault::HoleInBend { at } if (at.x - 0.061).abs() < 1e-4),
        "{fault}"
    );
    assert!(fault.mend().contains("notch"), "{}", fault.mend());
    assert!(said(67.0, &work()) && !said(80.0, &work()));
    // T 2, R 3: 8 mm from the outside of the other leg (2.5 T + R), which stands 1 mm before the middle lines' corner.
    let thick = Work {
        thickness: 2.0 * MM,
        radius: Some(3.0 * MM),
        ..work()
    };
    for (edge, warned) in [(7.9, true), (8.1, false)] {
        assert_eq!(said(60.0 - 1.0 + edge + 4.0, &thick), warned, "{edge}");
    }
    // A notch over the corner is cut before the bend, which runs over what is left.
    let notch = Opening::Notch {
        low: DVec2::new(50.0, -90.0) * MM,
        high: DVec2::new(70.0, -70.0) * MM,
    };
    let blank = make(corner(), vec![notch], &work()).unwrap_or_else(|f| panic!("{f}"));
    let [from, to] = blank.bends[0].lines[0];
    assert!(
        (from.distance(to) - 50.0 * MM).abs() < 1e-7,
        "{}",
        from.distance(to)
    );
}

#[test]
fn what_cannot_be_made_is_said_with_a_way_out() {
    let corner = || wall(&[[0.0, -60.0], [0.0, 0.0], [50.0, 0.0]], [-80.0, -20.0]);
    let tight = Work {
        radius: Some(0.2 * MM),
        ..work()
    };
    let fault = make(corner(), vec![], &tight).expect_err("it cracks");
    assert!(matches!(fault, SheetFault::RadiusTooSmall { .. }), "{fault}");
    assert!(fault.mend().contains("or more"), "{}", fault.mend());
    let short = || wall(&[[0.0, -60.0], [0.0, 0.0], [6.0, 0.0]], [-80.0, -20.0]);
    let fault = make(short(), vec![], &work()).expect_err("the brake cannot hold it");
    assert!(matches!(fault, SheetFault::FlangeTooNarrow { .. }), "{fault}");
    assert!(fault.mend().contains("die"), "{}", fault.mend());
    let narrow = Work {
        die: Some(8.0 * MM),
        ..work()
    };
    make(short(), vec![], &narrow).expect("a narrow die holds it");
    let back = wall(&[[0.0, -60.0], [0.0, 0.0], [1.0, -60.0]], [-80.0, -20.0]);
    assert!(matches!(
        make(back, vec![], &work()),
        Err(SheetFault::TurnsBack { .. })
    ));
    let far = wall(&[[150.0, -60.0], [150.0, 0.0]], [-80.0, -20.0]);
    assert!(matches!(make(far, vec![], &work()), Err(SheetFault::Outside)));
    let riveted = Work {
        tabs: vec![Edge::Bottom],
        tab: 12.0 * MM,
        fasten: Fasten::Rivet(Rivet {
            diameter: 4.8 * MM,
            flush: false,
        }),
        ..work()
    };
    let floor = wall(&[[0.0, -60.0], [0.0, 60.0]], [-95.0, -20.0]);
    assert!(matches!(
        make(floor, vec![], &riveted),
        Err(SheetFault::RivetNearEdge { .. })
    ));
    let round = PlateShape::Shelf {
        outline: Outline::circle(DVec2::ZERO, 0.03),
        z: -0.05,
    };
    assert!(matches!(
        make(round, vec![], &riveted),
        Err(SheetFault::NoEdge { edge: "bottom", .. })
    ));
}

/// Two tabs on the sides of a re-entrant notch fall on each other when laid flat.
#[test]
fn a_part_whose_faces_overlap_when_flat_is_refused() {
    let corners = [
        [0.0, 0.0],
        [100.0, 0.0],
        [100.0, 60.0],
        [70.0, 60.0],
        [70.0, 20.0],
        [30.0, 20.0],
        [30.0, 60.0],
        [0.0, 60.0],
    ];
    let notch = Region::from_loops(&[corners.iter().map(|p| DVec2::from(*p) * MM).collect()]);
    let leg = |name: &str, origin: [f64; 2], along: DVec2| {
        let fold = Fold {
            parent: 0,
            origin: DVec2::from(origin) * MM,
            along,
            bend: bend(90.0, 1.5 * MM, 1.5 * MM, 0.4),
            up: true,
        };
        Face {
            name: name.into(),
            region: fold.rectangle((5.0 * MM, 35.0 * MM), (0.0, 25.0 * MM)),
            fold: Some(fold),
        }
    };
    let base = Face {
        name: "base".into(),
        region: notch,
        fold: None,
    };
    // The tabs lie inside the notch, 40 mm wide: each to the left of its line.
    let part = Part {
        name: "u".into(),
        thickness: 1.5 * MM,
        faces: vec![
            base,
            leg("left tab", [30.0, 60.0], DVec2::NEG_Y),
            leg("right tab", [70.0, 20.0], DVec2::Y),
        ],
        first: DAffine3::IDENTITY,
    };
    let fault = develop(&part).expect_err("they overlap");
    assert!(
        matches!(&fault, SheetFault::Overlaps { one, .. } if one == "left tab"),
        "{fault}"
    );
}

#[test]
fn a_door_has_a_flap_over_its_opening_a_hinge_row_that_matches_and_a_stop_at_its_angle() {
    let across = plate_of(
        "across",
        wall(&[[20.0, -80.0], [20.0, 80.0]], [-90.0, -10.0]),
        vec![],
    );
    let door = Door {
        name: "low".into(),
        plate: 0,
        low: DVec2::new(40.0, -85.0) * MM,
        high: DVec2::new(120.0, -55.0) * MM,
        hinge: Hinge::Top,
        opens_positive: true,
        mass: 0.0065,
        stop: 60f64.to_radians(),
        gap: 0.7 * MM,
        density: 2700.0,
        spring: [0.0; 2],
    };
    let mut pan = pan_with(&[well(0.0, 0.0)], vec![across]);
    pan.doors = vec![door.clone()];
    let hanging = Hanging {
        overlap: 4.0 * MM,
        leaf: 11.0 * MM,
        rivet: Rivet {
            diameter: 2.4 * MM,
            flush: false,
        },
    };
    let thin = Work {
        thickness: door::flap_thickness(&door),
        ..work()
    };
    assert!((thin.thickness - 1.0 * MM).abs() < 1e-9, "{}", thin.thickness);
    let flap = door::flap(&door, &hanging, &thin).unwrap_or_else(|f| panic!("{f}"));
    // 80 mm and 4 mm on both sides; 30 mm and 4 mm, less the millimetre at the pin.
    let off = (flap.size - DVec2::new(88.0, 33.0) * MM).abs().max_element();
    assert!(off < 1e-9, "{}", flap.size);
    let openings = door::openings(&door, &hanging);
    let on_plate = openings.iter().filter_map(|o| match o {
        Opening::Hole { at, .. } => Some(at.x - 0.08),
        _ => None,
    });
    let on_plate: Vec<f64> = on_plate.collect();
    let on_flap: Vec<f64> = flap.figure.holes().map(|(_, c)| c.centre.x - 0.044).collect();
    assert_eq!(on_plate.len(), flap.holes);
    for x in &on_flap {
        assert!(on_plate.iter().any(|p| (p - x).abs() < 1e-9), "{x} {on_plate:?}");
        assert!(0.044 - x.abs() >= hanging.rivet.least_edge() - 1e-9, "{x}");
    }
    assert!(door::row_is_free(&pan, &door, &hanging));
    let with_door = plate::blank(&pan, 0, &work(), &openings).unwrap_or_else(|f| panic!("{f}"));
    assert_eq!((with_door.holes, with_door.windows), (flap.holes, 1));
    let stop = door::stop(&door, &hanging, &thin).unwrap_or_else(|f| panic!("{f}"));
    assert!((stop.bends[0].bend.angle - door.stop).abs() < 1e-12 && stop.holes == 1);
    let narrow = Hanging {
        leaf: 8.0 * MM,
        ..hanging
    };
    assert!(matches!(narrow.checked(), Err(SheetFault::RivetNearEdge { .. })));
}
