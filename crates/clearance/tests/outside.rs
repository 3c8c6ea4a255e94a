//! The pan's outside: wall, floor, flange, heads and plug, for pockets and for a mesh.

mod common;

use common::{alone, block as crankcase, box_pan, fixed, pan, pocket};
use glam::{DMat3, DVec2, DVec3};
use pan::{Cavity, Outline, Pan};
use sumpwright_clearance::body::{block, tube};
use sumpwright_clearance::outside::{Flange, Plug};
use sumpwright_clearance::survey::{Against, Row};
use sumpwright_clearance::{Body, Road, Stretch, Surroundings, survey};

const HUNDREDTH: f64 = 1e-5;

fn one(pan: &Pan, s: &Surroundings) -> Row {
    let rows = survey(pan, s);
    assert_eq!(rows.len(), 1, "{rows:?}");
    rows.into_iter().next().unwrap()
}

fn ball(at: DVec3, radius: f64) -> Body {
    Body::solid("ball", tube(&[at, at], radius))
}

fn to_ball(pan: &Pan, mut s: Surroundings, at: DVec3) -> Row {
    s.around = vec![fixed(ball(at, 1e-3), 5e-3)];
    one(pan, &s)
}

#[test]
fn a_bent_pan_has_round_edges_and_a_milled_one_square_edges() {
    let pan = box_pan();
    // Off the lower front left corner of the cavity by (30, 40, 120) mm: 130 mm.
    let at = DVec3::new(0.18, 0.14, -0.22);
    let round = to_ball(&pan, alone(false), at);
    assert!(
        (round.at_rest - (0.13 - 2e-3 - 1e-3)).abs() < HUNDREDTH,
        "{round:?}"
    );
    let square = to_ball(&pan, alone(true), at);
    let due = DVec3::new(0.028, 0.038, 0.118).length() - 1e-3;
    assert!((square.at_rest - due).abs() < HUNDREDTH, "{square:?}");
}

#[test]
fn a_thick_floor_stands_lower_than_the_walls_are_thick() {
    let pan = box_pan();
    for square in [false, true] {
        let mut s = alone(square);
        s.outside.floor = 6e-3;
        let under = to_ball(&pan, s.clone(), DVec3::new(0.0, 0.0, -0.15));
        assert!(
            (under.at_rest - (0.05 - 6e-3 - 1e-3)).abs() < HUNDREDTH,
            "{under:?}"
        );
        assert_eq!(under.part, "floor");
        let beside = to_ball(&pan, s, DVec3::new(0.0, 0.15, -0.05));
        assert!(
            (beside.at_rest - (0.05 - 2e-3 - 1e-3)).abs() < HUNDREDTH,
            "{beside:?}"
        );
        assert_eq!(beside.part, "wall");
    }
}

/// A wall that leans by 10 degrees: distance of a point to the plane through the rim's edge.
#[test]
fn gaps_to_a_leaning_wall_are_square_to_it() {
    let mut sump = pocket("sump", DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1), -0.1);
    sump.draft = 10f64.to_radians();
    let pan = pan(&[sump, crankcase(DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1))]);
    let p = DVec3::new(0.0, 0.15, -0.06);
    let out = DVec2::new(10f64.to_radians().cos(), -10f64.to_radians().sin()); // (y, z)
    let due = (DVec2::new(p.y, p.z) - DVec2::new(0.1, 0.0)).dot(out) - 2e-3 - 1e-3;
    let got = to_ball(&pan, alone(false), p);
    assert!(
        (got.at_rest - due).abs() < HUNDREDTH,
        "got {}, due {due}",
        got.at_rest
    );
}

#[test]
fn round_corners_and_floor_edges_are_measured_to_their_true_arcs() {
    let mut sump = pocket("sump", DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1), -0.1);
    sump.corner_radius = 0.03;
    sump.floor_radius = 0.012;
    let pan = pan(&[sump, crankcase(DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1))]);
    // Corner arc: centre (120, 70) mm.
    let got = to_ball(&pan, alone(false), DVec3::new(0.17, 0.12, -0.04));
    let due = DVec2::new(0.05, 0.05).length() - 0.03 - 2e-3 - 1e-3;
    assert!(
        (got.at_rest - due).abs() < HUNDREDTH,
        "got {}, due {due}",
        got.at_rest
    );
    // Floor edge along x: centre y = 88 mm, z = -88 mm.
    let got = to_ball(&pan, alone(false), DVec3::new(0.0, 0.13, -0.12));
    let due = DVec2::new(0.042, 0.032).length() - 0.012 - 2e-3 - 1e-3;
    assert!(
        (got.at_rest - due).abs() < HUNDREDTH,
        "got {}, due {due}",
        got.at_rest
    );
}

#[test]
fn flange_heads_and_plug_are_named_where_they_are_nearest() {
    let pan = box_pan();
    let mut s = alone(true);
    s.outside.flange = Flange {
        thickness: 8e-3,
        width: 20e-3,
        outline: None,
    };
    s.outside.bolts = vec![DVec2::new(0.1, 0.11), DVec2::new(-0.1, 0.11)];
    s.outside.plug = Some(Plug {
        at: DVec3::new(0.152, 0.0, -0.08),
        points: DVec3::X,
        diameter: 0.03,
        length: 0.012,
    });
    let flange = to_ball(&pan, s.clone(), DVec3::new(0.0, 0.15, -0.004));
    assert_eq!(flange.part, "flange");
    assert!((flange.at_rest - 0.029).abs() < HUNDREDTH, "{flange:?}");
    // 8 mm of flange and 8 mm of head over it.
    let head = to_ball(&pan, s.clone(), DVec3::new(-0.1, 0.11, -0.021));
    assert_eq!(head.part, "bolt head 2");
    assert!(
        (head.at_rest - (0.021 - 0.016 - 1e-3)).abs() < HUNDREDTH,
        "{head:?}"
    );
    let plug = to_ball(&pan, s, DVec3::new(0.2, 0.0, -0.08));
    assert_eq!(plug.part, "drain plug");
    assert!(
        (plug.at_rest - (0.2 - 0.164 - 1e-3)).abs() < HUNDREDTH,
        "{plug:?}"
    );
}

#[test]
fn a_flange_may_have_an_outline_of_its_own() {
    let pan = box_pan();
    let mut s = alone(true);
    s.outside.flange = Flange {
        thickness: 8e-3,
        width: 0.0,
        outline: Some(Outline::rectangle(
            DVec2::new(-0.2, -0.12),
            DVec2::new(0.16, 0.115),
        )),
    };
    let got = to_ball(&pan, s, DVec3::new(-0.25, 0.0, -0.004));
    assert!((got.at_rest - 0.049).abs() < HUNDREDTH, "{got:?}");
}

#[test]
fn the_same_cavity_as_a_mesh_gives_the_same_gaps() {
    let pan = box_pan();
    let surface = pan.cavity.surface();
    let mesh = Pan {
        cavity: Cavity::from_mesh(&surface.points, &surface.triangles).expect("closed"),
        ..pan.clone()
    };
    let places = [
        DVec3::new(0.18, 0.14, -0.22),
        DVec3::new(0.0, 0.13, -0.05),
        DVec3::new(0.02, 0.0, -0.13),
        DVec3::new(-0.2, -0.13, -0.01),
    ];
    for at in places {
        let mut s = alone(false);
        s.outside.floor = 4e-3;
        s.outside.flange = Flange {
            thickness: 8e-3,
            width: 20e-3,
            outline: None,
        };
        let (a, b) = (to_ball(&pan, s.clone(), at), to_ball(&mesh, s, at));
        assert!(
            (a.at_rest - b.at_rest).abs() < HUNDREDTH,
            "{at}: {} and {}",
            a.at_rest,
            b.at_rest
        );
        assert_eq!(a.part, b.part);
    }
}

#[test]
fn engine_movement_takes_from_the_gap_on_the_side_it_leads_to() {
    let pan = box_pan();
    let mut s = alone(true);
    s.movement = Stretch {
        low: DVec3::new(0.0, -4e-3, -7e-3),
        high: DVec3::new(0.0, 5e-3, 3e-3),
    };
    let left = to_ball(&pan, s.clone(), DVec3::new(0.0, 0.15, -0.05));
    assert!((left.at_rest - left.moved - 5e-3).abs() < HUNDREDTH, "{left:?}");
    let right = to_ball(&pan, s.clone(), DVec3::new(0.0, -0.15, -0.05));
    assert!(
        (right.at_rest - right.moved - 4e-3).abs() < HUNDREDTH,
        "{right:?}"
    );
    let under = to_ball(&pan, s.clone(), DVec3::new(0.0, 0.0, -0.15));
    assert!(
        (under.at_rest - under.moved - 7e-3).abs() < HUNDREDTH,
        "{under:?}"
    );
    // The place told is on the pan as it stands.
    assert!((under.on_pan.z + 0.102).abs() < HUNDREDTH, "{under:?}");
    // What is bolted to the engine moves with it.
    s.around = vec![fixed(ball(DVec3::new(0.0, 0.0, -0.15), 1e-3), 5e-3)];
    s.around[0].on_engine = true;
    let row = one(&pan, &s);
    assert_eq!(row.at_rest, row.moved);
}

#[test]
fn the_road_comes_up_by_bump_and_wear_and_leans_with_the_rake() {
    let pan = box_pan();
    let road = Road {
        from: DVec3::ZERO,
        below: 0.2,
        bump: 0.05,
        wear: 6e-3,
        pitch: 0.0,
        roll: 0.0,
    };
    let mut s = alone(true);
    let level = |road: &Road, turn: DMat3| fixed(Body::half_spaces("road", road.half_spaces(turn)), 0.02);
    s.around = vec![level(&road, DMat3::IDENTITY)];
    let row = one(&pan, &s);
    assert!((row.at_rest - (0.2 - 0.056 - 0.102)).abs() < 1e-9, "{row:?}");
    // Nose down by 1 degree, engine along the car: the front of the pan comes nearer, 152 mm ahead of the origin.
    let rake = 1f64.to_radians();
    let car_from_pan = DMat3::from_rotation_y(rake);
    s.around = vec![level(&road, car_from_pan.transpose())];
    let row = one(&pan, &s);
    let due = 0.144 - 0.102 * rake.cos() - 0.152 * rake.sin();
    assert!((row.at_rest - due).abs() < 1e-9, "got {}, due {due}", row.at_rest);
    assert!(row.on_pan.x > 0.15);
    // Diving by as much again does the same to a level car, to either end.
    let dive = Road { pitch: rake, ..road };
    s.around = vec![level(&dive, DMat3::IDENTITY)];
    let row = one(&pan, &s);
    assert!(
        (row.at_rest - (0.144 * rake.cos() - 0.102 * rake.cos() - 0.152 * rake.sin())).abs() < 2e-5,
        "{row:?}"
    );
}

#[test]
fn a_body_inside_the_walls_overlaps_the_pan() {
    let pan = box_pan();
    // Wholly inside: nothing of it touches a wall.
    let row = to_ball(&pan, alone(true), DVec3::new(0.1, 0.0, -0.05));
    assert!(row.at_rest < -0.05, "{row:?}");
    // Its face 3 mm into the wall.
    let mut s = alone(true);
    s.around = vec![fixed(
        Body::solid(
            "rail",
            block(DVec3::new(-0.3, 0.099, -0.06), DVec3::new(0.3, 0.13, -0.04)),
        ),
        5e-3,
    )];
    let row = one(&pan, &s);
    assert!((row.at_rest + 3e-3).abs() < HUNDREDTH, "{row:?}");
    assert!(!row.holds());
    assert_eq!(row.against, Against::Outside);
}

/// Mirrored left to right: the same gaps, mirrored places.
#[test]
fn a_mirrored_design_gives_mirrored_gaps() {
    let build = |side: f64| {
        let y = |a: f64, b: f64| (a.min(b), a.max(b));
        let rectangle = |x: (f64, f64), a: f64, b: f64| {
            let (low, high) = y(side * a, side * b);
            (DVec2::new(x.0, low), DVec2::new(x.1, high))
        };
        let (l, h) = rectangle((-0.15, 0.05), -0.1, 0.07);
        let mut sump = pocket("sump", l, h, -0.12);
        sump.draft = 3f64.to_radians();
        sump.corner_radius = 0.015;
        let (l, h) = rectangle((-0.2, 0.2), -0.09, 0.09);
        let pan = pan(&[sump, pocket("tray", l, h, -0.04), crankcase(l, h)]);
        let mut s = alone(false);
        s.outside.flange = Flange {
            thickness: 8e-3,
            width: 18e-3,
            outline: None,
        };
        s.outside.bolts = vec![DVec2::new(0.1, side * 0.1)];
        let (low, high) = y(side * -3e-3, side * 6e-3);
        s.movement = Stretch {
            low: DVec3::new(0.0, low, -5e-3),
            high: DVec3::new(0.0, high, 0.0),
        };
        let m = |p: DVec3| DVec3::new(p.x, side * p.y, p.z);
        s.around = vec![
            fixed(
                Body::solid(
                    "rack",
                    tube(
                        &[m(DVec3::new(0.12, -0.3, -0.09)), m(DVec3::new(0.08, 0.3, -0.1))],
                        0.02,
                    ),
                ),
                5e-3,
            ),
            fixed(
                Body::solid(
                    "rail",
                    tube(
                        &[m(DVec3::new(-0.4, 0.15, -0.05)), m(DVec3::new(0.4, 0.16, -0.09))],
                        0.02,
                    ),
                ),
                5e-3,
            ),
            fixed(
                Body::solid(
                    "bar",
                    tube(
                        &[m(DVec3::new(0.0, -0.13, -0.11)), m(DVec3::new(0.1, -0.12, -0.12))],
                        0.02,
                    ),
                ),
                5e-3,
            ),
        ];
        survey(&pan, &s)
    };
    let (left, right) = (build(1.0), build(-1.0));
    assert_eq!(left.len(), 3);
    for (l, r) in left.iter().zip(&right) {
        assert!((l.moved - r.moved).abs() < 1e-7, "{l:?}\n{r:?}");
        assert!((l.at_rest - r.at_rest).abs() < 1e-7, "{l:?}\n{r:?}");
        assert_eq!(l.part, r.part);
        assert!(
            (l.on_pan - r.on_pan * DVec3::new(1.0, -1.0, 1.0)).length() < 1e-4,
            "{l:?}\n{r:?}"
        );
    }
}
