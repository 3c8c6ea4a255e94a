//! `[shop.body]`: the pan as a solid.

use clearance::outside::Outside;
use measure::Dimension::{Angle, Length};
use shop::stock;

use crate::sealing::Sealing;
use crate::section::{Bounds, Section};
use crate::shop::Body;

const PRACTICE: &str = "common practice, no source";
const AS_OUTSIDE: &str = "as [outside] has it";
/// Nothing on a pan is thicker [m]: a slip of units.
const THICK: Bounds = Bounds::above_to(0.0, 0.05);
const WIDE: Bounds = Bounds::within(0.0, 0.1);
/// Metal beyond a bolt head's ring all round [m].
const BEYOND_HEAD: f64 = 1e-3;

pub(crate) fn body(section: &Section, sealing: Option<&Sealing>, outside: Option<&Outside>) -> Option<Body> {
    let (usual, reason) = outside.map_or((3e-3, PRACTICE), |o| (o.wall, AS_OUTSIDE));
    let wall = section.quantity_or("wall", Length, THICK, usual, reason);
    let (usual, reason) = match outside {
        Some(o) if !section.has("wall") => (o.floor, AS_OUTSIDE),
        _ => (wall.unwrap_or(3e-3), "as thick as the walls unless stated"),
    };
    let floor = section.quantity_or("floor", Length, THICK, usual, reason);
    let square = outside.is_none_or(|o| o.square);
    let reason = match outside {
        Some(_) => AS_OUTSIDE,
        None => "as milled",
    };
    let round = section.choice(
        "edges",
        &[("square", false), ("round", true)],
        Some((if square { "square" } else { "round" }, reason)),
    );
    let draft = section.quantity_or(
        "draft",
        Angle,
        Bounds::within(0.0, 0.35),
        0.0,
        "outside as the cavity leans: milled or welded; a cast one has 2 deg or more (common practice, no source)",
    );
    let words: Vec<(&'static str, &'static str)> = stock::STUFFS.iter().map(|s| (s.name, s.name)).collect();
    let own = sealing.map(|s| s.flange.name);
    let metal = section.choice(
        "metal",
        &words,
        Some(match own {
            Some(own) => (own, "as the flange of [seal]"),
            None => ("aluminium 6082-T6", PRACTICE),
        }),
    );
    let (usual, reason) = match sealing {
        Some(s) => (s.bolts.head.hole, "as [seal.bolts] has it"),
        None => (6.6e-3, "medium clearance hole of ISO 273 for M6 (from memory)"),
    };
    let bolt_hole = section.quantity_or("bolt_hole", Length, THICK, usual, reason);
    let head = match (sealing, outside) {
        (Some(s), _) => s.bolts.head.bears,
        (None, Some(o)) => o.head_diameter,
        (None, None) => 14e-3,
    };
    let boss_diameter = section.quantity_or(
        "boss_diameter",
        Length,
        WIDE,
        head + 2.0 * BEYOND_HEAD,
        "the ring under the head and 1 mm round it; common practice, no source",
    );
    let boss_height = section.quantity_or(
        "boss_height",
        Length,
        WIDE,
        0.0,
        "heads bear on the flange itself unless stated",
    );
    let drain_hole = section.quantity_or(
        "drain_hole",
        Length,
        THICK,
        12.5e-3,
        "to be tapped M14x1.5: 14 less 1.5 mm; common practice, no source",
    );
    let bolts = match (sealing, outside) {
        (Some(s), _) => s.bolts.at.clone(),
        (None, Some(o)) => o.bolts.clone(),
        (None, None) => Vec::new(),
    };
    Some(Body {
        wall: wall?,
        floor: floor?,
        round: round?,
        draft: draft?,
        metal: metal?,
        bolts,
        head,
        bolt_hole: bolt_hole?,
        boss_diameter: boss_diameter?,
        boss_height: boss_height?,
        drain_hole: drain_hole?,
        place: section.place.clone(),
    })
}
