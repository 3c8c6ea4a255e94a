//! `[[door]]`: one-way doors on plates.

use glam::{DVec2, DVec3};
use measure::Dimension::{Angle, Density, Length, Mass, Torque};
use pan::{Door, Hinge, Plate, PlateShape};

use super::plates::low_high;
use crate::section::{Bounds, Section, listed};

/// Aluminium sheet of 1 mm: 2.7 kg for each square metre.
const FLAP: f64 = 2.7;

/// A door and the section that states it, for faults found later.
///
/// `plates` are those of the design in order; one with faults of its own is `None` and leaves its doors
/// unread beyond their keys.
pub(crate) fn read<'t>(
    top: &Section<'t>,
    names: &[String],
    plates: &[Option<Plate>],
) -> Vec<(Option<Door>, Section<'t>)> {
    let parts = top.parts("door").into_iter();
    parts
        .map(|(name, section)| (door(name, &section, names, plates), section))
        .collect()
}

fn door(name: String, section: &Section, names: &[String], plates: &[Option<Plate>]) -> Option<Door> {
    let plate = plate_index(section, names);
    let corners = low_high(section);
    let hinge = section.choice(
        "hinge",
        &[
            ("top", Hinge::Top),
            ("bottom", Hinge::Bottom),
            ("start", Hinge::Start),
            ("end", Hinge::End),
        ],
        None,
    );
    let toward = section.choice(
        "opens",
        &[
            ("front", DVec3::X),
            ("rear", DVec3::NEG_X),
            ("left", DVec3::Y),
            ("right", DVec3::NEG_Y),
            ("up", DVec3::Z),
            ("down", DVec3::NEG_Z),
        ],
        None,
    );
    let area = corners.map_or(0.0, |(low, high)| (high - low).element_product());
    let mass = section.quantity_or(
        "mass",
        Mass,
        Bounds::POSITIVE,
        area * FLAP,
        "a flap of 1 mm aluminium sheet: common practice, no source",
    );
    let stop = section.quantity_or(
        "stop",
        Angle,
        Bounds::above_to(0.0, std::f64::consts::PI),
        60f64.to_radians(),
        "common practice, no source: a door that swings wider shuts too late",
    );
    let gap = section.quantity_or(
        "gap",
        Length,
        Bounds::NOT_NEGATIVE,
        0.75e-3,
        "common practice, no source: 0.5 mm to 1 mm round a shut door",
    );
    let density = section.quantity_or(
        "density",
        Density,
        Bounds::POSITIVE,
        2700.0,
        "aluminium; sheet steel is 7850 kg/m3",
    );
    let spring = ["spring_shut", "spring_open"].map(|key| {
        let none = "no spring unless stated";
        section.quantity_or(key, Torque, Bounds::NOT_NEGATIVE, 0.0, none)
    });
    let (plate, (low, high), toward) = (plate?, corners?, toward?);
    let opens_positive = opens_positive(
        section,
        plates[plate].as_ref()?,
        &names[plate],
        (low + high) / 2.0,
        toward,
    )?;
    Some(Door {
        name,
        plate,
        low,
        high,
        hinge: hinge?,
        opens_positive,
        mass: mass?,
        stop: stop?,
        gap: gap?,
        density: density?,
        spring: [spring[0]?, spring[1]?],
    })
}

fn plate_index(section: &Section, names: &[String]) -> Option<usize> {
    let name = section.text("plate", "front wall")?;
    let found = names.iter().position(|n| *n == name);
    if found.is_none() {
        let known: Vec<&str> = names.iter().map(String::as_str).collect();
        let mend = match measure::nearest(&name, known.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("the design has the plates {}", listed(&known)),
        };
        section.fault(
            "unknown-plate",
            "plate",
            format!("there is no plate named \"{name}\""),
            mend,
        );
    }
    found
}

/// Whether a door at `at` (plate coordinates) that opens `toward` swings to the positive side of its plate.
///
/// A direction more than 75 degrees off the plate's normal says too little and is refused.
fn opens_positive(section: &Section, plate: &Plate, name: &str, at: DVec2, toward: DVec3) -> Option<bool> {
    const LEAST: f64 = 0.258_819; // cos 75°
    let normal = normal(&plate.shape, at)?;
    let along = normal.dot(toward);
    if along.abs() >= LEAST {
        return Some(along > 0.0);
    }
    section.fault(
        "door-along-plate",
        "opens",
        format!("the plate \"{name}\" lies along that direction where the door hangs"),
        format!("it can open {} or {}", said(normal), said(-normal)),
    );
    None
}

/// Unit normal on the positive side of the plate. `None` when the shape has no side there.
fn normal(shape: &PlateShape, at: DVec2) -> Option<DVec3> {
    match shape {
        PlateShape::Wall { path, .. } => {
            let mut left = at.x;
            let mut walk = DVec2::ZERO;
            for ends in path.windows(2) {
                walk = ends[1] - ends[0];
                left -= walk.length();
                if left <= 0.0 {
                    break;
                }
            }
            walk.try_normalize().map(|d| d.perp().extend(0.0))
        }
        PlateShape::Shelf { .. } => Some(DVec3::Z),
        PlateShape::Sheet { corners } => {
            let first = *corners.first()?;
            let fan = corners
                .windows(2)
                .map(|e| (e[0] - first).cross(e[1] - first))
                .sum::<DVec3>();
            fan.try_normalize()
        }
    }
}

fn said(direction: DVec3) -> &'static str {
    let ways = [
        (DVec3::X, "\"front\""),
        (DVec3::NEG_X, "\"rear\""),
        (DVec3::Y, "\"left\""),
        (DVec3::NEG_Y, "\"right\""),
        (DVec3::Z, "\"up\""),
        (DVec3::NEG_Z, "\"down\""),
    ];
    let mut best = ways[0];
    for way in ways {
        if way.0.dot(direction) > best.0.dot(direction) {
            best = way;
        }
    }
    best.1
}
