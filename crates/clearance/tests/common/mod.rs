//! Pans made for the tests.

#![allow(dead_code, reason = "each test file uses its own part")]

use glam::{DVec2, DVec3};
use pan::{Cavity, Mouth, Outline, Pan, Pocket, Side};
use sumpwright_clearance::outside::{Flange, Outside};
use sumpwright_clearance::removal::Limits;
use sumpwright_clearance::{Body, Stretch, Surroundings, survey::Around, survey::Kind};

/// A pocket of the pan between two corners in plan.
pub fn pocket(name: &str, low: DVec2, high: DVec2, floor: f64) -> Pocket {
    Pocket {
        name: name.into(),
        side: Side::Pan,
        outline: Outline::rectangle(low, high),
        z_low: floor,
        z_high: 0.0,
        draft: 0.0,
        corner_radius: 0.0,
        floor_radius: 0.0,
    }
}

/// The crankcase over it.
pub fn block(low: DVec2, high: DVec2) -> Pocket {
    Pocket {
        side: Side::Block,
        z_low: 0.0,
        z_high: 0.1,
        ..pocket("crankcase", low, high, 0.0)
    }
}

/// A pan of pockets.
pub fn pan(pockets: &[Pocket]) -> Pan {
    Pan {
        cavity: Cavity::from_pockets(pockets).expect("a sound cavity"),
        plates: Vec::new(),
        doors: Vec::new(),
        mouth: Mouth {
            at: DVec3::new(0.0, 0.0, -0.08),
            diameter: 0.03,
            outside: 0.034,
        },
        returns: Vec::new(),
        crank: None,
    }
}

/// 300 × 200 × 100 mm, the flange face its top.
pub fn box_pan() -> Pan {
    let (low, high) = (DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1));
    pan(&[pocket("sump", low, high, -0.1), block(low, high)])
}

/// Walls of 2 mm, no flange, no bolts.
pub fn bare(square: bool) -> Outside {
    Outside {
        wall: 2e-3,
        floor: 2e-3,
        square,
        flange: Flange {
            thickness: 0.0,
            width: 0.0,
            outline: None,
        },
        bolts: Vec::new(),
        head_diameter: 0.013,
        head_height: 0.008,
        plug: None,
    }
}

/// Nothing round it and nothing in it.
pub fn alone(square: bool) -> Surroundings {
    Surroundings {
        outside: bare(square),
        movement: Stretch::NONE,
        around: Vec::new(),
        within: Vec::new(),
        rods: None,
        rods_wanted: 3e-3,
        removal: Limits::default(),
    }
}

/// A body that stands still in the car.
pub fn fixed(body: Body, wanted: f64) -> Around {
    Around {
        body,
        kind: Kind::Fixed,
        wanted,
        on_engine: false,
    }
}
