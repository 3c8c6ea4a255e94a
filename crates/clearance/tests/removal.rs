//! The way out, on cases made by hand.

mod common;

use common::{alone, block as crankcase, box_pan, fixed, pan, pocket};
use glam::{DVec2, DVec3};
use pan::{Outline, Pan, Plate, PlateShape};
use sumpwright_clearance::body::{block, tube};
use sumpwright_clearance::outside::Flange;
use sumpwright_clearance::removal::{Removal, removal};
use sumpwright_clearance::survey::Within;
use sumpwright_clearance::{Body, Surroundings};

fn bar(name: &str, low: DVec3, high: DVec3) -> sumpwright_clearance::survey::Around {
    fixed(Body::solid(name, block(low, high)), 5e-3)
}

fn sought(pan: &Pan, s: &Surroundings) -> Removal {
    removal(pan, s).expect("there is something in its way, or could be")
}

/// A flat pan, 300 × 200 × 40 mm, walls of 2 mm; its pickup comes with it.
fn flat() -> (Pan, Surroundings) {
    let (low, high) = (DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1));
    let pan = pan(&[pocket("tray", low, high, -0.04), crankcase(low, high)]);
    let mut s = alone(true);
    s.removal.pickup_on_pan = true;
    (pan, s)
}

/// A rail beside it and one under its edge's outside: nothing is below the pan.
#[test]
fn with_nothing_under_it_the_pan_drops_straight_out() {
    let (pan, mut s) = flat();
    s.around = vec![bar(
        "rail",
        DVec3::new(-0.5, 0.11, -0.2),
        DVec3::new(0.5, 0.15, 0.0),
    )];
    let found = sought(&pan, &s);
    assert!(found.straight_stop.is_none() && found.comes_out(), "{found:?}");
    // From its own top at 0 to a millimetre under the rail's lower edge.
    assert!((found.needed - 0.201).abs() < 1e-9, "{found:?}");
    assert_eq!(found.way.len(), 2);
}

/// Two deep rails across leave a slot for a pan of 304 mm by 42 mm. Leaned by a it is 304 cos a + 42 sin a wide, and
/// somewhere on its way it is in the slot with all of itself.
fn slot(width: f64) -> (Pan, Surroundings) {
    let (pan, mut s) = flat();
    let edge = 0.5 * width;
    s.around = vec![
        bar(
            "rear rail",
            DVec3::new(-0.6, -0.5, -0.75),
            DVec3::new(-edge, 0.5, -0.25),
        ),
        bar(
            "front rail",
            DVec3::new(edge, -0.5, -0.75),
            DVec3::new(0.6, 0.5, -0.25),
        ),
    ];
    (pan, s)
}

/// 275 mm: 304 cos a + 42 sin a = 275 at 32.9 degrees.
#[test]
fn a_slot_narrower_than_the_pan_is_passed_leaning() {
    let (pan, mut s) = slot(0.275);
    s.removal.tilt = 50f64.to_radians();
    let found = sought(&pan, &s);
    let stop = found.straight_stop.as_ref().expect("level it does not pass");
    // Floor at 42 mm, rails 250 mm down, half a millimetre of room.
    assert!((stop.dropped - (0.25 - 0.042 - 0.5e-3)).abs() < 1e-4, "{stop:?}");
    assert!(stop.body.ends_with("rail"), "{stop:?}");
    assert!(found.comes_out(), "{found:?}");
    let lean = found.way.iter().map(|p| p.front_down.abs()).fold(0.0, f64::max);
    assert!(
        lean > 32.9f64.to_radians(),
        "leaned by {} only",
        lean.to_degrees()
    );
    // With less lean, or none, there is no way: it is too long, however it is slid.
    for tilt in [0.0, 30f64.to_radians()] {
        s.removal.tilt = tilt;
        let less = sought(&pan, &s);
        assert!(!less.comes_out(), "{less:?}");
    }
}

/// 230 mm: within 45 degrees the pan is never narrower than 304 cos 45 + 42 sin 45 = 245 mm.
#[test]
fn a_slot_too_narrow_at_any_lean_stops_it_and_is_named() {
    let (pan, mut s) = slot(0.23);
    s.removal.tilt = 45f64.to_radians();
    let found = sought(&pan, &s);
    assert!(!found.comes_out(), "{found:?}");
    let stop = found.stop.as_ref().expect("something stops it");
    assert!(
        ["rear rail", "front rail"].contains(&stop.body.as_str()),
        "{stop:?}"
    );
    assert!(found.deepest < found.needed, "{found:?}");
    // Either rail taken off opens the way.
    assert_eq!(found.without.len(), 2, "{found:?}");
}

/// The crossmember lies under the tray's rear half: it must go forward before it comes down.
#[test]
fn a_crossmember_under_the_tray_is_passed_by_sliding() {
    let (pan, mut s) = flat();
    s.around = vec![bar(
        "crossmember",
        DVec3::new(-0.2, -0.5, -0.1),
        DVec3::new(-0.1, 0.5, -0.06),
    )];
    let found = sought(&pan, &s);
    assert_eq!(
        found.straight_stop.as_ref().map(|s| s.body.as_str()),
        Some("crossmember")
    );
    assert!(found.comes_out(), "{found:?}");
    assert!(found.way.iter().any(|p| p.front > 0.045), "{found:?}");
    // With the front shut as well there is no room to slide.
    s.around.push(bar(
        "rack",
        DVec3::new(0.155, -0.5, -0.3),
        DVec3::new(0.2, 0.5, 0.0),
    ));
    s.removal.tilt = 0.1;
    let shut = sought(&pan, &s);
    assert!(!shut.comes_out(), "{shut:?}");
    let stop = shut.stop.expect("something stops it");
    assert!(["crossmember", "rack"].contains(&stop.body.as_str()), "{stop:?}");
}

/// A shelf in the pan over a pickup tube that is bolted to the engine: the pan comes down 10 mm and hooks on.
#[test]
fn a_plate_over_the_pickup_tube_hooks_on_it() {
    let mut pan = box_pan();
    pan.plates.push(Plate {
        name: "roof".into(),
        shape: PlateShape::Shelf {
            outline: Outline::rectangle(DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1)),
            z: -0.04,
        },
        thickness: 2e-3,
        openings: Vec::new(),
        perforation: 0.0,
        perforation_hole: 0.0,
    });
    let mut s = alone(true);
    s.removal.pickup_on_pan = true;
    s.removal.slide = 0.04;
    s.within = vec![Within {
        body: Body::solid(
            "pickup tube",
            tube(
                &[DVec3::new(-0.1, 0.0, -0.061), DVec3::new(0.1, 0.0, -0.061)],
                0.01,
            ),
        ),
        wanted: 3e-3,
        turns: false,
    }];
    let found = sought(&pan, &s);
    let stop = found.straight_stop.as_ref().expect("the roof hooks");
    assert_eq!((stop.body.as_str(), stop.part.as_str()), ("pickup tube", "roof"));
    // Roof's underside at -41 mm, tube's top at -51 mm, half a millimetre of room.
    assert!((stop.dropped - 9.5e-3).abs() < 1e-4, "{stop:?}");
    assert!(!found.comes_out(), "{found:?}");
    assert_eq!(found.without, ["pickup tube"]);
    // A roof that stays on the engine is in nobody's way.
    s.removal.staying = vec![0];
    assert!(sought(&pan, &s).comes_out());
}

#[test]
fn a_body_that_overlaps_the_pan_as_it_sits_is_said_first() {
    let (pan, mut s) = flat();
    s.around = vec![bar(
        "rail",
        DVec3::new(-0.5, 0.09, -0.03),
        DVec3::new(0.5, 0.15, -0.01),
    )];
    let found = sought(&pan, &s);
    assert_eq!(found.overlaps, ["rail"]);
    assert!(!found.comes_out());
}

#[test]
fn a_flange_under_the_block_does_not_hinder_its_own_pan() {
    let (pan, mut s) = flat();
    s.outside.flange = Flange {
        thickness: 8e-3,
        width: 20e-3,
        outline: None,
    };
    s.around = vec![bar(
        "rail",
        DVec3::new(-0.5, 0.13, -0.2),
        DVec3::new(0.5, 0.15, 0.0),
    )];
    assert!(sought(&pan, &s).straight_stop.is_none());
    // A rail that reaches under the flange stops it there.
    s.around = vec![bar(
        "rail",
        DVec3::new(-0.5, 0.115, -0.2),
        DVec3::new(0.5, 0.15, -0.02),
    )];
    let found = sought(&pan, &s);
    let stop = found.straight_stop.as_ref().expect("the flange sits on the rail");
    assert_eq!(stop.part, "flange");
    assert!((stop.dropped - 11.5e-3).abs() < 1e-4, "{stop:?}");
}
