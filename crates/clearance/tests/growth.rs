//! Room to grow against boxes worked out by hand.

mod common;

use common::{alone, block as crankcase, box_pan, fixed, pan, pocket};
use glam::{DVec2, DVec3};
use pan::{Cavity, Pan};
use sumpwright_clearance::body::block;
use sumpwright_clearance::growth::{FARTHEST, Room, Toward, growth};
use sumpwright_clearance::outside::Flange;
use sumpwright_clearance::{Body, Stretch, Surroundings};

fn room<'a>(rooms: &'a [Room], pocket: &str, toward: Toward) -> &'a Room {
    rooms
        .iter()
        .find(|r| r.pocket == pocket && r.toward == toward)
        .unwrap_or_else(|| panic!("no {pocket} {toward:?} in {rooms:?}"))
}

fn near(got: f64, due: f64, close: f64, what: &str) {
    assert!((got - due).abs() < close, "{what}: got {got}, due {due}");
}

/// A rail along the left, a bar under the floor, nothing else.
fn bay() -> Surroundings {
    let mut s = alone(true);
    s.outside.flange = Flange {
        thickness: 8e-3,
        width: 20e-3,
        outline: None,
    };
    let rail = block(DVec3::new(-0.5, 0.14, -0.2), DVec3::new(0.5, 0.2, 0.1));
    let bar = block(DVec3::new(0.05, -0.5, -0.2), DVec3::new(0.09, 0.5, -0.14));
    s.around = vec![
        fixed(Body::solid("rail", rail), 5e-3),
        fixed(Body::solid("bar", bar), 6e-3),
    ];
    s
}

/// Left: 140 − 102 − 5 = 33 mm over 300 × (100 − 8) mm of wall. Down: 140 − 102 − 6 = 32 mm under 300 × 200 mm.
#[test]
fn a_box_sump_grows_until_the_rail_and_the_bar() {
    let rooms = growth(&box_pan(), &bay());
    assert_eq!(rooms.len(), 5);
    let left = room(&rooms, "sump", Toward::Left);
    near(left.free, 0.033, 1e-5, "left");
    near(left.gained, 0.3 * 0.092 * 0.033, 2e-7, "litres left");
    assert_eq!(left.stopped_by, Some(0));
    let down = room(&rooms, "sump", Toward::Down);
    near(down.free, 0.032, 1e-5, "down");
    near(down.gained, 0.3 * 0.2 * 0.032, 1e-6, "litres down");
    assert_eq!(down.stopped_by, Some(1));
    for toward in [Toward::Right, Toward::Front, Toward::Rear] {
        let r = room(&rooms, "sump", toward);
        assert_eq!((r.free, r.stopped_by), (FARTHEST, None), "{r:?}");
    }
    near(
        room(&rooms, "sump", Toward::Front).gained,
        0.2 * 0.092 * FARTHEST,
        1e-6,
        "litres front",
    );
}

#[test]
fn engine_movement_takes_from_the_room() {
    let mut s = bay();
    s.movement = Stretch {
        low: DVec3::new(0.0, 0.0, -4e-3),
        high: DVec3::new(0.0, 7e-3, 0.0),
    };
    let rooms = growth(&box_pan(), &s);
    near(room(&rooms, "sump", Toward::Left).free, 0.026, 1e-5, "left");
    near(room(&rooms, "sump", Toward::Down).free, 0.028, 1e-5, "down");
}

/// A deep well behind a shallow tray: the well's front side gains only below the tray, the tray's floor only beside
/// the well.
#[test]
fn what_other_pockets_hold_already_is_no_gain() {
    let well = pocket("well", DVec2::new(-0.15, -0.1), DVec2::new(0.0, 0.1), -0.1);
    let tray = pocket("tray", DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1), -0.04);
    let pan = pan(&[
        well,
        tray,
        crankcase(DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1)),
    ]);
    let mut s = bay();
    s.around.truncate(1);
    // Something 50 mm in front of the well, under the tray.
    let bar = block(DVec3::new(0.057, -0.5, -0.2), DVec3::new(0.09, 0.5, -0.07));
    s.around.push(fixed(Body::solid("bar", bar), 5e-3));
    let rooms = growth(&pan, &s);
    let front = room(&rooms, "well", Toward::Front);
    near(front.free, 0.05, 1e-5, "front");
    near(front.gained, 0.05 * 0.2 * 0.06, 2e-6, "litres front");
    // The tray's floor, 42 mm down with its thickness, stands 28 mm over the bar.
    let down = room(&rooms, "tray", Toward::Down);
    near(down.free, 0.023, 1e-5, "down");
    near(down.gained, 0.15 * 0.2 * 0.023, 1e-6, "litres down");
}

#[test]
fn a_gap_too_small_on_one_side_stops_only_that_side() {
    let mut s = bay();
    let close = block(DVec3::new(-0.5, -0.2, -0.2), DVec3::new(0.5, -0.104, 0.1));
    s.around.push(fixed(Body::solid("wall", close), 5e-3));
    let rooms = growth(&box_pan(), &s);
    near(room(&rooms, "sump", Toward::Right).free, 0.0, 1e-5, "right");
    assert_eq!(room(&rooms, "sump", Toward::Right).stopped_by, Some(2));
    near(room(&rooms, "sump", Toward::Left).free, 0.033, 1e-5, "left");
    near(room(&rooms, "sump", Toward::Down).free, 0.032, 1e-5, "down");
}

/// Walls that lean by 5 degrees: sideways every level moves alike; the sides' own lean adds nothing.
#[test]
fn leaning_walls_gain_what_their_sides_sweep() {
    let mut sump = pocket("sump", DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1), -0.1);
    sump.draft = 5f64.to_radians();
    let pan = pan(&[sump, crankcase(DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1))]);
    let mut s = bay();
    s.around.truncate(1);
    let rooms = growth(&pan, &s);
    let left = room(&rooms, "sump", Toward::Left);
    // Mean length of the side over 8 to 100 mm of depth.
    let mean = 0.3 - 2.0 * 0.054 * 5f64.to_radians().tan();
    near(left.gained, left.free * 0.092 * mean, 2e-6, "litres left");
    // Nothing stops it downward: its plan goes down as it is widest, 8 mm under the flange.
    let down = room(&rooms, "sump", Toward::Down);
    assert_eq!(down.free, FARTHEST);
    let inset = 0.008 * 5f64.to_radians().tan();
    let due = (0.3 - 2.0 * inset) * (0.2 - 2.0 * inset) * 0.3;
    // The cavity's plan just under the lid is known to a step of a millimetre.
    near(down.gained, due, 1e-3 * due, "litres down");
}

#[test]
fn a_mesh_grows_as_the_pockets_it_came_from() {
    let pan = box_pan();
    let surface = pan.cavity.surface();
    let mesh = Pan {
        cavity: Cavity::from_mesh(&surface.points, &surface.triangles).expect("closed"),
        ..pan.clone()
    };
    let mut s = bay();
    s.outside.square = false;
    let (a, b) = (growth(&pan, &s), growth(&mesh, &s));
    for toward in [Toward::Left, Toward::Down] {
        let (a, b) = (room(&a, "sump", toward), room(&b, "pan", toward));
        near(b.free, a.free, 1e-5, toward.said());
        near(b.gained, a.gained, 1e-6, toward.said());
        assert_eq!(a.stopped_by, b.stopped_by);
    }
}
