//! Kinds of joint, the ring's closed form, what-ifs and weak bolts.

mod common;

use common::{ALUMINIUM, along, bolt, circle, oblong, rectangle, sheet, straight};
use glam::{DVec2, DVec3};
use std::f64::consts::{PI, TAU};
use sumpwright_seal::joint::{
    Change, Flange, Gap, Joint, JointFault, Kind, Law, Path, Section, clamp, least_thickness, rail_along,
    usual_changes, weak_bolts, what_ifs,
};

/// A ring on a narrow bed under n even loads, by Fourier's series. With κ = φ/R − w″/R² and τ = φ′/R + w′/R² (A. E. H.
/// Love, Mathematical Theory of Elasticity, ch. XXI, bending of a ring out of its plane) the mode cos mθ has the
/// stiffness `EI GJ m² (m² − 1)² / (R⁴ (EI + m² GJ))` per length beside the bed's k; the loads have the modes n, 2n, …
#[test]
fn a_ring_bends_and_twists_as_by_fouriers_series() {
    let (radius, load, seal) = (0.1, 5e3, 0.5e-3);
    let section = Section::plate(0.016, 0.008);
    for (count, bed) in [(3u32, 2e7), (6, 2e8), (8, 2e9)] {
        let bolts = circle(radius, count as usize, 1.0);
        let joint = Joint {
            flange: Flange {
                rail: rail_along(&circle(radius, 1440, 1.0), section),
                closed: true,
                youngs: ALUMINIUM,
                poisson: 0.33,
                shear: false,
            },
            bolts: bolts.iter().map(|at| bolt(at.x, at.y, load)).collect(),
            kind: sheet(bed / seal * 1e-3, 1e-3, Some(seal), 1e6),
            gap: Gap::flat(),
            block: None,
            element: Some(TAU * radius / 480.0),
        };
        let bending = ALUMINIUM * 0.016 * 0.008f64.powi(3) / 12.0;
        // Torsion constant of 16 × 8, a/b = 2, by the table of rectangular bars: 0.229 a b³ (series: 0.22868).
        let torsion = 0.22868 * 0.016 * 0.008f64.powi(3);
        let twisting = ALUMINIUM / 2.66 * torsion;
        let by_series = |angle: f64| {
            let modes: f64 = (1..400)
                .map(|j| {
                    let m = f64::from(j * count);
                    let stiff = bending * twisting * m * m * (m * m - 1.0).powi(2)
                        / (radius.powi(4) * (bending + m * m * twisting));
                    2.0 * (m * angle).cos() * bed / (bed + stiff)
                })
                .sum();
            f64::from(count) * load / (TAU * radius) * (1.0 + modes)
        };
        let clamped = clamp(&joint).expect("a ring");
        // At the place itself, which stands a little off the bolt: by its own angle.
        for near in [0.0, PI / f64::from(count), 0.4 * PI / f64::from(count)] {
            let target = DVec2::from_angle(near) * radius;
            let place = clamped
                .places
                .iter()
                .min_by(|a, b| a.place.distance(target).total_cmp(&b.place.distance(target)))
                .expect("places");
            let (got, wanted) = (place.pressure * seal, by_series(place.place.to_angle()));
            let mean = f64::from(count) * load / (TAU * radius);
            assert!(
                (got - wanted).abs() < 2e-4 * mean,
                "{count} loads at {near:.2}: {got} N/m, by the series {wanted}"
            );
        }
    }
}

/// Springs one behind the other: a block that gives way by `bed` under a sheet of modulus E and thickness t is a sheet
/// of `1/(t/E + 1/bed)`.
#[test]
fn a_block_that_gives_way_is_a_softer_joint() {
    let (modulus, thickness, bed) = (150e6, 1e-3, 3e11);
    let mut joint = oblong(7, 4, 0.003, sheet(modulus, thickness, None, 1e6));
    joint.element = Some(4e-3);
    joint.block = Some(bed);
    let soft = Joint {
        kind: sheet(1.0 / (thickness / modulus + 1.0 / bed), 1.0, None, 1e6),
        block: None,
        ..joint.clone()
    };
    let (one, other) = (clamp(&joint).expect("a loop"), clamp(&soft).expect("a loop"));
    for (a, b) in one.places.iter().zip(&other.places) {
        assert!((a.pressure - b.pressure).abs() < 1e-6 * one.mean);
    }
    let stiff = clamp(&Joint { block: None, ..joint }).expect("a loop");
    assert!(
        one.evenness() > stiff.evenness(),
        "a softer bed presses more evenly"
    );
}

/// A seal on a line of its own, when that line is the rail's middle, is the seal without one.
#[test]
fn a_seal_on_its_own_line_along_the_middle_is_the_plain_one() {
    let mut joint = straight(
        9,
        0.06,
        8e3,
        Section::plate(0.02, 0.008),
        sheet(100e6, 1e-3, Some(0.01), 1e6),
    );
    let plain = clamp(&joint).expect("a row");
    let path = Path {
        line: Some(vec![DVec2::ZERO, DVec2::new(0.54, 0.0)]),
        width: Some(0.01),
    };
    if let Kind::Sheet { path: held, .. } = &mut joint.kind {
        *held = path;
    }
    let own = clamp(&joint).expect("a row");
    for at in [0.1, 0.27, 0.3, 0.41] {
        let (a, b) = (along(&plain, at), along(&own, at));
        assert!((a - b).abs() < 0.01 * plain.mean, "at {at}: {a} and {b}");
    }
    let mut astray = oblong(4, 2, 0.0, sheet(100e6, 1e-3, Some(0.01), 1e6));
    if let Kind::Sheet { path, .. } = &mut astray.kind {
        path.line = Some(rectangle(0.3, 0.1));
    }
    assert!(matches!(clamp(&astray), Err(JointFault::SealOffFlange { .. })));
}

fn wavy() -> Gap {
    Gap::measured(
        (0..=40)
            .map(|at| {
                let x = -0.2 + 0.01 * f64::from(at);
                DVec3::new(x, 0.11, 0.08e-3 * (x * 45.0).sin())
            })
            .collect(),
    )
}

/// Metal faces, wet bead: what is left open counts against what the bead bridges.
#[test]
fn sealant_is_judged_by_the_opening_that_is_left() {
    let kind = |bridges: f64| Kind::Sealant {
        path: Path::default(),
        metal: Law::metal(ALUMINIUM, 110e9, 0.008).expect("metal"),
        bridges,
    };
    let mut joint = oblong(3, 2, 0.0, kind(0.1e-3));
    joint.bolts.iter_mut().for_each(|bolt| bolt.seat = 0.02);
    joint.gap = wavy();
    let clamped = clamp(&joint).expect("a loop");
    let widest = clamped.widest();
    assert!(widest > 2e-6 && clamped.places.iter().all(|place| place.pressure == 0.0));
    assert!((clamped.worst_place().service - (0.1e-3 / widest).min(100.0)).abs() < 1e-9);
    let fine = clamp(&Joint {
        element: Some(1e-3),
        ..joint.clone()
    });
    let finest = fine.expect("a loop").widest();
    assert!(
        (widest / finest - 1.0).abs() < 0.05,
        "{widest} and, on a fine mesh, {finest}"
    );
    joint.kind = kind(widest * 0.9);
    assert!(!clamp(&joint).expect("a loop").holds());
    joint.kind = kind(widest * 1.1);
    assert!(clamp(&joint).expect("a loop").holds());
}

/// A cord of 3 mm in a groove of 2.4 mm is squeezed by 0.6 mm where the faces meet and less where they part.
#[test]
fn a_cord_is_squeezed_less_where_the_faces_part() {
    let mut joint = oblong(
        3,
        2,
        0.0,
        Kind::Bead {
            path: Path {
                line: None,
                width: Some(3e-3),
            },
            metal: Law::metal(ALUMINIUM, 110e9, 0.008).expect("metal"),
            law: Law::cord(3e-3, 4e6, 3e-3).expect("a cord"),
            height: 3e-3,
            squeeze: 0.6e-3,
            least: 0.15,
            bridges: 0.1e-3,
        },
    );
    joint.bolts.iter_mut().for_each(|bolt| bolt.seat = 0.02);
    let flat = clamp(&joint).expect("a loop");
    // Faces together: Lindley's 1380 N/m over 3 mm; between bolts a little less.
    let most = flat.places.iter().map(|place| place.pressure).fold(0.0, f64::max);
    assert!((most * 3e-3 / 1380.0 - 1.0).abs() < 0.05, "{}", most * 3e-3);
    assert!(flat.holds(), "{:?}", flat.worst_place());
    joint.bolts.iter_mut().for_each(|bolt| bolt.preload = 60.0);
    let loose = clamp(&joint).expect("a loop");
    assert!(
        !loose.holds(),
        "sixty newtons a bolt do not close a cord of 1380 N/m: {:?}",
        loose.worst_place()
    );
}

#[test]
fn what_ifs_tell_which_way_each_change_goes() {
    let mut joint = oblong(5, 3, 0.0, sheet(60e6, 1.5e-3, None, 4e6));
    joint.gap = wavy();
    let clamped = clamp(&joint).expect("a loop");
    assert!(!clamped.holds() && !clamped.short.is_empty());
    let base = clamped.worst_place().service;
    let mut changes = usual_changes(&joint, &clamped);
    changes.push(Change::Kind {
        name: "a soft sheet".into(),
        kind: Box::new(sheet(30e6, 1.5e-3, None, 4e6)),
    });
    let ways = what_ifs(&joint, changes).expect("what-ifs");
    let find = |wanted: &dyn Fn(&Change) -> bool| {
        ways.iter()
            .find(|way| wanted(&way.change))
            .map(|way| way.outcome)
            .expect("this change is among the usual")
    };
    let thick = find(&|change| *change == Change::Thickness { factor: 1.25 });
    let thicker = find(&|change| *change == Change::Thickness { factor: 2.0 });
    assert!(
        base < thick.service && thick.service < thicker.service,
        "{base} {thick:?} {thicker:?}"
    );
    let every = find(&|change| matches!(change, Change::Bolts { spans } if spans.len() == 16));
    assert!(every.service > base && every.most < 3.0 * clamped.mean * 1.5);
    assert!(find(&|change| matches!(change, Change::Kind { .. })).service > base);
    assert!(find(&|change| *change == Change::Flat).widest <= clamped.widest());
    // The least thickness serves, and a little less does not.
    joint.kind = sheet(60e6, 1.5e-3, None, 3.5e6);
    joint.gap = Gap::flat();
    let least = least_thickness(&joint).expect("a search").expect("a thickness");
    for (factor, serves) in [(1.0, true), (0.97, false)] {
        let way = what_ifs(
            &joint,
            vec![Change::Thickness {
                factor: factor * least / 0.008,
            }],
        )
        .expect("a what-if");
        assert_eq!(
            way[0].outcome.service >= 1.0,
            serves,
            "{least} × {factor}: {:?}",
            way[0]
        );
    }
}

#[test]
fn the_bolt_that_can_be_spared_least_is_found() {
    // One span of the long side twice as long: its ends cannot be spared.
    let mut joint = oblong(8, 4, 0.0, sheet(60e6, 1.5e-3, None, 1e6));
    let far = |place: DVec2| place.distance(DVec2::new(0.02625, 0.11));
    joint.bolts.retain(|bolt| far(bolt.place) > 1e-6);
    let weak = weak_bolts(&joint, 0.0).expect("weak bolts");
    let worst = joint.bolts[weak[0].bolt].place;
    assert!(far(worst) < 0.054, "{worst}: {weak:?}");
    assert!(
        weak.windows(2)
            .all(|pair| pair[0].outcome.service <= pair[1].outcome.service)
    );
    let mut bolts: Vec<usize> = weak.iter().map(|weak| weak.bolt).collect();
    bolts.sort_unstable();
    assert!(bolts.into_iter().eq(0..joint.bolts.len()));
}

/// Two bolts side by side across the rail: their span has no length and no room, and nothing stumbles over it.
#[test]
fn two_bolts_side_by_side_across_the_rail_are_a_joint() {
    let mut joint = oblong(5, 3, 0.0, sheet(60e6, 1.5e-3, None, 4e6));
    let beside = bolt(joint.bolts[0].place.x, joint.bolts[0].place.y + 9e-3, 8e3);
    joint.bolts.push(beside);
    let clamped = clamp(&joint).expect("a loop");
    assert_eq!(clamped.spans.len(), 17);
    assert!(clamped.spans.iter().any(|span| span.length < 1e-9));
    let ways = what_ifs(&joint, usual_changes(&joint, &clamped)).expect("what-ifs");
    let more = ways.iter().filter_map(|way| match &way.change {
        Change::Bolts { spans } => Some(spans.len()),
        _ => None,
    });
    assert_eq!(more.max(), Some(16));
    // A ring with one bolt: the only span goes all round.
    joint.bolts.truncate(1);
    assert!(matches!(clamp(&joint), Ok(_) | Err(JointFault::Tips)));
}
