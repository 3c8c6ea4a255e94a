//! Flanges for the tests of the joint; all of our own making.
#![allow(dead_code)]

use glam::DVec2;
use sumpwright_seal::joint::{Bolt, Flange, Gap, Joint, Kind, Law, Path, Section, Station, rail_along};

pub const ALUMINIUM: f64 = 70e9;

pub fn bolt(x: f64, y: f64, preload: f64) -> Bolt {
    Bolt {
        place: DVec2::new(x, y),
        preload,
        stiffness: 2e8,
        seat: 0.0,
    }
}

pub fn sheet(modulus: f64, thickness: f64, width: Option<f64>, need: f64) -> Kind {
    Kind::Sheet {
        path: Path { line: None, width },
        law: Law::linear(modulus, thickness).expect("a sheet"),
        need,
    }
}

/// A straight rail with `count` bolts `pitch` apart, half a pitch beyond the last at both ends.
pub fn straight(count: usize, pitch: f64, preload: f64, section: Section, kind: Kind) -> Joint {
    let length = pitch * count as f64;
    Joint {
        flange: Flange {
            rail: rail_along(&[DVec2::ZERO, DVec2::new(length, 0.0)], section),
            closed: false,
            youngs: ALUMINIUM,
            poisson: 0.33,
            shear: false,
        },
        bolts: (0..count)
            .map(|at| bolt((at as f64 + 0.5) * pitch, 0.0, preload))
            .collect(),
        kind,
        gap: Gap::flat(),
        block: None,
        element: None,
    }
}

/// A circle as a closed line, the other way round when `turn` is -1, of `places` places.
pub fn circle(radius: f64, places: usize, turn: f64) -> Vec<DVec2> {
    (0..places)
        .map(|at| {
            let angle = std::f64::consts::TAU * at as f64 / places as f64 * turn;
            DVec2::from_angle(angle) * radius
        })
        .collect()
}

/// A rectangle with sharp corners, about the origin.
pub fn rectangle(length: f64, width: f64) -> Vec<DVec2> {
    let (x, y) = (length / 2.0, width / 2.0);
    vec![
        DVec2::new(x, y),
        DVec2::new(-x, y),
        DVec2::new(-x, -y),
        DVec2::new(x, -y),
    ]
}

/// An oblong pan flange, 420 × 220 mm, 20 mm wide and 8 mm thick, with bolts along each side; `out` puts the bolts so
/// far outside the rail's middle.
pub fn oblong(long: usize, short: usize, out: f64, kind: Kind) -> Joint {
    let (x, y) = (0.21, 0.11);
    let mut bolts = Vec::new();
    for at in 0..long {
        let share = (at as f64 + 0.5) / long as f64 * 2.0 - 1.0;
        bolts.push(bolt(x * share, y + out, 8e3));
        bolts.push(bolt(x * share, -y - out, 8e3));
    }
    for at in 0..short {
        let share = (at as f64 + 0.5) / short as f64 * 2.0 - 1.0;
        bolts.push(bolt(x + out, y * share, 8e3));
        bolts.push(bolt(-x - out, y * share, 8e3));
    }
    Joint {
        flange: Flange {
            rail: rail_along(&rectangle(2.0 * x, 2.0 * y), Section::plate(0.02, 0.008)),
            closed: true,
            youngs: ALUMINIUM,
            poisson: 0.33,
            shear: true,
        },
        bolts,
        kind,
        gap: Gap::flat(),
        block: None,
        element: None,
    }
}

/// The same joint seen in a mirror across y.
pub fn mirrored(joint: &Joint) -> Joint {
    let mut new = joint.clone();
    let flip = |place: DVec2| DVec2::new(place.x, -place.y);
    new.flange.rail = joint
        .flange
        .rail
        .iter()
        .map(|station| Station {
            place: flip(station.place),
            section: station.section,
        })
        .collect();
    for bolt in &mut new.bolts {
        bolt.place = flip(bolt.place);
    }
    for place in &mut new.gap.measured {
        place.y = -place.y;
    }
    new
}

/// Mean pressure at the place nearest to a point.
pub fn pressure_at(clamped: &sumpwright_seal::joint::Clamped, point: DVec2) -> f64 {
    let near = clamped
        .places
        .iter()
        .min_by(|a, b| a.place.distance(point).total_cmp(&b.place.distance(point)))
        .expect("a seal has places");
    near.pressure
}

/// Pressure along a straight seal at x, straight between its places.
pub fn along(clamped: &sumpwright_seal::joint::Clamped, x: f64) -> f64 {
    let places = &clamped.places;
    let next = places
        .partition_point(|place| place.place.x < x)
        .clamp(1, places.len() - 1);
    let (a, b) = (&places[next - 1], &places[next]);
    a.pressure + (b.pressure - a.pressure) * (x - a.place.x) / (b.place.x - a.place.x)
}
