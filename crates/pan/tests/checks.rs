//! Every fault of a pan is found, named and shown with its cure; a sound pan has none.

mod common;
use common::*;
use glam::{DVec2, DVec3};
use sumpwright_pan::*;

fn found(p: &Pan) -> Vec<PanFault> {
    p.check()
}

/// The one fault that `p` should have, as text.
fn only(p: &Pan) -> (Part, Severity, String) {
    let all = found(p);
    let text: Vec<String> = all.iter().map(|f| f.to_string()).collect();
    assert_eq!(all.len(), 1, "{text:?}");
    assert!(!all[0].mend().is_empty());
    (all[0].part, all[0].severity(), text[0].clone())
}

fn expect(p: &Pan, part: Part, severity: Severity, words: &str) {
    let (got, how, text) = only(p);
    assert!(
        got == part && how == severity && text.contains(words),
        "{got:?} {how:?} {text}"
    );
}

#[test]
fn a_sound_pan_has_no_faults() {
    let all = found(&shop_pan());
    assert!(
        all.is_empty(),
        "{:?}",
        all.iter().map(|f| f.to_string()).collect::<Vec<_>>()
    );
}

/// Only cells can be too large for two plates, not a design: its checks ask nothing of a lattice that fine.
#[test]
fn plates_side_by_side_are_no_fault_of_the_pan() {
    let mut p = shop_pan();
    let at = p
        .plates
        .iter()
        .position(|plate| matches!(plate.shape, PlateShape::Wall { .. }))
        .unwrap();
    let mut second = p.plates[at].clone();
    second.name = "second skin".into();
    if let PlateShape::Wall { path, .. } = &mut second.shape {
        path.iter_mut().for_each(|at| *at += 0.001);
    }
    p.plates.push(second);
    assert!(Lattice::build(&p, 0.007).is_err());
    let told = found(&p);
    assert!(!told.iter().any(|f| f.to_string().contains("nearer than cells")));
}

#[test]
fn cavities_in_pieces_or_shut_at_the_flange_are_faults() {
    let mut p = shop_pan();
    let mut pockets = p.cavity.pockets().to_vec();
    pockets.push(pocket(
        "far",
        DVec2::new(0.5, 0.0),
        DVec2::new(0.6, 0.1),
        -0.05,
        0.0,
    ));
    p.cavity = Cavity::from_pockets(&pockets).unwrap();
    let all = found(&p);
    assert!(
        all.iter()
            .any(|f| matches!(&f.trouble, Trouble::CavityInPieces { volumes } if volumes.len() == 2))
    );

    let mut p = shop_pan();
    let mut pockets = p.cavity.pockets().to_vec();
    pockets[0].z_high = -0.01;
    p.cavity = Cavity::from_pockets(&pockets).unwrap();
    assert!(
        found(&p)
            .iter()
            .any(|f| f.trouble == Trouble::ShutAtFlange && f.severity() == Severity::Fault)
    );

    let mut p = shop_pan();
    p.cavity = Cavity::from_pockets(&p.cavity.pockets()[..1]).unwrap();
    p.returns.clear();
    p.crank = None;
    expect(&p, Part::Cavity, Severity::Warning, "ends at the flange");
}

#[test]
fn a_misplaced_mouth_is_named_with_its_distance() {
    let place = |z: f64| {
        let mut p = shop_pan();
        p.mouth.at.z = z;
        p
    };
    expect(&place(-0.2), Part::Mouth, Severity::Fault, "not inside");
    expect(
        &place(-0.148),
        Part::Mouth,
        Severity::Warning,
        "stands 2.0 mm over the floor",
    );
    expect(
        &place(-0.12),
        Part::Mouth,
        Severity::Warning,
        "stands 30.0 mm over the floor",
    );
    let mut p = shop_pan();
    p.mouth.at.y = 0.055;
    expect(&p, Part::Mouth, Severity::Fault, "cut by plate \"left wall\"");
    p.mouth.at = DVec3::new(0.0, 0.12, -0.14);
    expect(&p, Part::Mouth, Severity::Fault, "reaches into a wall");
    p.mouth.diameter = f64::NAN;
    expect(&p, Part::Mouth, Severity::Fault, "not a usable number");
}

#[test]
fn plates_outside_crooked_or_with_holes_beside_them_are_named() {
    let mut p = shop_pan();
    p.plates.push(wall("lost", &[(0.5, 0.0), (0.6, 0.0)], -0.1, 0.0));
    expect(
        &p,
        Part::Plate(3),
        Severity::Fault,
        "plate \"lost\" lies wholly outside",
    );
    p.plates[3] = wall("short", &[(0.1, 0.0), (0.1, 0.0)], -0.1, 0.0);
    expect(&p, Part::Plate(3), Severity::Fault, "needs a path");
    let mut p = shop_pan();
    p.plates[1].openings.push(Opening::Hole {
        at: DVec2::new(0.1, 0.3),
        diameter: 0.01,
    });
    expect(
        &p,
        Part::Plate(1),
        Severity::Fault,
        "100 % of opening 2 lies beside",
    );
    p.plates[1].openings[1] = Opening::Hole {
        at: DVec2::new(0.0, -0.1),
        diameter: 0.01,
    };
    expect(
        &p,
        Part::Plate(1),
        Severity::Warning,
        "50 % of opening 2 lies beside",
    );
    p.plates[1].openings[1] = Opening::Hole {
        at: DVec2::new(0.1, -0.1),
        diameter: 0.0,
    };
    expect(&p, Part::Plate(1), Severity::Fault, "opening 2 has no size");
}

#[test]
fn doors_too_large_overlapping_or_over_a_hole_are_named() {
    let mut p = shop_pan();
    p.doors[0].high.y = -0.04;
    expect(&p, Part::Door(0), Severity::Fault, "is larger than its place");
    let mut p = shop_pan();
    let twin = Door {
        name: "twin".into(),
        ..p.doors[0].clone()
    };
    p.doors.push(twin);
    expect(&p, Part::Door(2), Severity::Fault, "overlaps door \"left door\"");
    p.doors[2].plate = 9;
    expect(&p, Part::Door(2), Severity::Fault, "a plate that does not exist");
    let mut p = shop_pan();
    p.plates[1].openings[0] = Opening::Hole {
        at: DVec2::new(0.2, -0.13),
        diameter: 0.01,
    };
    expect(&p, Part::Door(0), Severity::Fault, "lies over opening 1");
    let mut p = shop_pan();
    p.doors[0].mass = 0.0;
    expect(&p, Part::Door(0), Severity::Fault, "has a mass of 0");
    let mut p = shop_pan();
    p.doors[0].stop = 1.4;
    expect(&p, Part::Door(0), Severity::Warning, "opens to 80 degrees");
}

#[test]
fn a_door_that_opens_into_a_wall_is_told_the_angle() {
    let mut p = shop_pan();
    // A cross wall 20 mm beside the left wall, on the side the 40 mm flap opens to.
    p.plates
        .push(wall("cross", &[(-0.05, 0.03), (0.05, 0.03)], -0.15, -0.1));
    let (part, severity, text) = only(&p);
    assert!(part == Part::Door(0) && severity == Severity::Fault, "{text}");
    // The free edge, 39 mm out, is 30 mm off the wall at asin(30/39) = 50 degrees.
    assert!(
        text.contains("runs into plate \"cross\" at 5") && text.contains("stop at 60"),
        "{text}"
    );
    p.doors[0].opens_positive = true;
    assert!(
        found(&p).iter().all(|f| f.part != Part::Door(0)),
        "the other way is free"
    );
    // A door hinged at the bottom and one beside the pan's end wall.
    let mut p = shop_pan();
    p.plates
        .push(wall("end", &[(0.17, -0.06), (0.17, 0.06)], -0.15, -0.053));
    p.plates[3].openings.push(Opening::Notch {
        low: DVec2::new(0.02, -0.149),
        high: DVec2::new(0.1, -0.1),
    });
    p.doors.push(Door {
        name: "end door".into(),
        plate: 3,
        low: DVec2::new(0.01, -0.09),
        high: DVec2::new(0.11, -0.06),
        hinge: Hinge::Top,
        opens_positive: false,
        mass: 0.02,
        stop: 1.05,
        gap: 0.0,
        density: 2700.0,
        spring: [0.0; 2],
    });
    assert!(found(&p).is_empty(), "{:?}", found(&p));
    p.doors[2].hinge = Hinge::Start;
    let (_, _, text) = only(&p);
    assert!(text.contains("runs into the wall or floor of the pan"), "{text}");
}

#[test]
fn blocked_drains_and_sealed_spaces_are_named() {
    let mut p = shop_pan();
    p.plates[0].openings.clear();
    let all = found(&p);
    assert!(
        all.iter()
            .any(|f| f.part == Part::Return(0) && f.trouble == Trouble::DrainBlocked)
    );
    assert!(
        all.iter()
            .any(|f| f.part == Part::Return(1) && f.trouble == Trouble::DrainBlocked)
    );
    assert!(all[0].to_string().contains("no way to the pickup mouth"));
    let sealed = all.iter().find_map(|f| match f.trouble {
        Trouble::Unreachable { volume, .. } => Some(volume),
        _ => None,
    });
    let want = p.cavity.volume() - 0.4 * 0.25 * 0.097;
    assert!((sealed.unwrap() / want - 1.0).abs() < 0.05, "{sealed:?} {want}");
}

#[test]
fn a_door_passes_returning_oil_only_the_way_it_opens() {
    // A roof without slots but with one big notch over the left space: oil must pass the left door.
    let mut p = shop_pan();
    p.plates[0].openings = vec![Opening::Notch {
        low: DVec2::new(-0.1, 0.07),
        high: DVec2::new(0.1, 0.12),
    }];
    p.plates[1].openings.clear();
    assert!(found(&p).is_empty(), "{:?}", found(&p));
    p.doors[0].opens_positive = true;
    let all = found(&p);
    assert_eq!(all.len(), 2, "{all:?}");
    assert!(all.iter().all(|f| f.trouble == Trouble::DrainBlocked));
}

#[test]
fn the_crank_sweep_is_measured_against_floor_and_plates() {
    let mut p = shop_pan();
    let sweep = p.crank.as_mut().unwrap();
    sweep.origin.z = 0.03;
    sweep.profile = vec![(0.0, 0.08), (0.4, 0.08)];
    // Lowest point −50, roof at −53: 3 mm, fine for a plate.
    assert!(found(&p).is_empty(), "{:?}", found(&p));
    p.crank.as_mut().unwrap().origin.z = 0.025;
    expect(
        &p,
        Part::Crank,
        Severity::Warning,
        "runs 2.0 mm into plate \"roof\"",
    );
    p.crank.as_mut().unwrap().origin.z = -0.08;
    let all = found(&p);
    assert!(
        all.iter()
            .any(|f| matches!(f.trouble, Trouble::CrankStrikesPan { .. })),
        "{all:?}"
    );
    p.crank.as_mut().unwrap().axis = DVec3::new(2.0, 0.0, 0.0);
    expect(&p, Part::Crank, Severity::Fault, "not a usable number");
}

#[test]
fn a_return_outside_is_named() {
    let mut p = shop_pan();
    p.returns[1].at.z = 0.3;
    expect(
        &p,
        Part::Return(1),
        Severity::Fault,
        "return place \"rear\" is not inside",
    );
}

#[test]
fn the_cell_is_chosen_within_limits_and_says_why() {
    let p = shop_pan();
    let fine = Lattice::choose_cell(&p, 100_000_000);
    assert!((0.004..=0.0051).contains(&fine.cell), "{fine:?}");
    // 4.5 mm puts a face plane at the mouth, 9 mm over the floor.
    assert!(
        (fine.cell - 0.0045).abs() < 1e-9 && fine.reason.contains("under the mouth"),
        "{fine:?}"
    );
    let rough = Lattice::choose_cell(&p, 40_000);
    assert!(
        (rough.cell - 0.009).abs() < 1e-9 && rough.reason.contains("40000 cells allow"),
        "{rough:?}"
    );
    let tight = Lattice::choose_cell(&p, 1000);
    assert!(
        tight.cell <= 0.009 + 1e-9
            && tight
                .reason
                .contains("none may be larger than the 9.0 mm under the mouth"),
        "{tight:?}"
    );
    let mut high = p.clone();
    high.mouth.at.z += 0.009;
    let coarse = Lattice::choose_cell(&high, 1000);
    assert!(
        coarse.cell <= 0.010 && coarse.reason.contains("coarsest"),
        "{coarse:?}"
    );
    assert!(Lattice::build(&p, rough.cell).is_ok());
    assert!(matches!(
        Lattice::build(&p, f64::NAN),
        Err(LatticeFault::NoCell { .. })
    ));
    assert!(matches!(
        Lattice::build(&p, 1e-5),
        Err(LatticeFault::TooManyCells { .. })
    ));
    assert!(matches!(
        Lattice::build(&p, 1.0),
        Err(LatticeFault::TooCoarse { .. })
    ));
}

#[test]
fn tight_places_are_the_mouth_its_gap_doors_and_plates_that_face_each_other() {
    let mut p = shop_pan();
    let found = |p: &Pan, words: &str| {
        let places = p.tight_places();
        let place = places.iter().find(|t| t.name.contains(words));
        place.map(|t| (t.part, t.across))
    };
    let (part, across) = found(&p, "mouth").expect("the mouth is one");
    assert!(part == Part::Mouth && (across - p.mouth.diameter).abs() < 1e-12);
    let (part, across) = found(&p, "under the mouth").expect("its gap is one");
    assert!(part == Part::Mouth && (across - 0.009).abs() < 1e-9, "{across}");
    for (index, door) in p.doors.iter().enumerate() {
        let (part, across) = found(&p, &door.name).expect("every door is one");
        let (low, high) = door.corners();
        assert!(part == Part::Door(index) && across == (high - low).min_element());
    }
    // Left and right wall stand 120 mm apart, each of 2 mm of sheet; the roof lies square to both.
    let (_, across) = found(&p, "between plates").expect("two walls face each other");
    assert!((across - 0.118).abs() < 1e-9, "{across}");

    // A second wall 6 mm from the first along half of it: 6 mm less twice half of 2 mm of sheet.
    let first = wall("first", &[(0.05, -0.1), (0.05, 0.1)], -0.15, -0.05);
    let second = wall("second", &[(0.056, 0.0), (0.056, 0.1)], -0.15, -0.05);
    let (a, b) = (p.plates.len(), p.plates.len() + 1);
    p.plates.extend([first, second]);
    let (part, across) = found(&p, "\"first\" and").expect("they face each other");
    assert!(
        part == Part::Plate(b) && (across - 0.004).abs() < 1e-9,
        "{across}"
    );
    // Beside each other, lapped, or crossing they leave no place.
    p.plates[b] = wall("second", &[(0.056, 0.1), (0.056, 0.2)], -0.15, -0.05);
    assert_eq!(found(&p, "\"first\" and"), None);
    p.plates[b] = wall("second", &[(0.052, 0.0), (0.052, 0.1)], -0.15, -0.05);
    assert_eq!(found(&p, "\"first\" and"), None);
    p.plates[b] = wall("second", &[(0.0, 0.05), (0.1, 0.05)], -0.15, -0.05);
    assert_eq!(found(&p, "\"first\" and"), None);
    assert_eq!(p.plates[a].name, "first");
}
