//! `[[plate]]`: walls, shelves and free sheets inside the pan, with their openings.

use glam::{DVec2, DVec3};
use measure::Dimension::{Length, Share};
use pan::{Opening, Plate, PlateShape};

use super::shapes;
use crate::section::{Bounds, Section};
use crate::tree::Value;

/// A plate and the section that states it, for faults found later.
pub(crate) fn read<'t>(top: &Section<'t>) -> Vec<(Option<Plate>, Section<'t>)> {
    top.parts("plate")
        .into_iter()
        .map(|(name, section)| (plate(name, &section), section))
        .collect()
}

fn plate(name: String, section: &Section) -> Option<Plate> {
    let shape = shape(section);
    let thickness = section.quantity_or(
        "thickness",
        Length,
        Bounds::POSITIVE,
        1.5e-3,
        "common practice, no source; the solvers see a sheet without thickness",
    );
    let perforation = section.quantity_or(
        "perforation",
        Share,
        Bounds {
            low: 0.0,
            high: 0.95,
            open_low: false,
        },
        0.0,
        "a solid plate unless stated",
    );
    let perforation_hole = match perforation {
        Some(share) if share > 0.0 => section.quantity_or(
            "perforation_hole",
            Length,
            Bounds::POSITIVE,
            5e-3,
            "common practice, no source; cold oil passes small holes more slowly",
        ),
        _ => Some(0.0),
    };
    let openings = openings(section);
    Some(Plate {
        name,
        shape: shape?,
        thickness: thickness?,
        openings: openings?,
        perforation: perforation?,
        perforation_hole: perforation_hole?,
    })
}

fn shape(section: &Section) -> Option<PlateShape> {
    let example = "wall = [[\"0 mm\", \"-100 mm\"], [\"0 mm\", \"100 mm\"]]";
    match section.one_of(&["wall", "shelf", "sheet"], example)? {
        "wall" => wall(section),
        "shelf" => shelf(section),
        _ => sheet(section),
    }
}

fn wall(section: &Section) -> Option<PlateShape> {
    let path = section.rows("wall", [Length; 2]);
    let z = section.rising("z", Length);
    let path: Vec<DVec2> = path?.into_iter().map(DVec2::from_array).collect();
    if path.len() < 2 || path.windows(2).any(|ends| ends[0] == ends[1]) {
        let what = "a wall needs two points or more, no point twice in a row".to_owned();
        section.fault(
            "zero-size",
            "wall",
            what,
            "give the ends of the wall in plan".to_owned(),
        );
        return None;
    }
    let (z_low, z_high) = z?;
    Some(PlateShape::Wall { path, z_low, z_high })
}

fn shelf(section: &Section) -> Option<PlateShape> {
    // A shelf is a rectangle, or an outline of corners.
    let outline = match section.node("shelf").map(|node| &node.value) {
        Some(Value::Table(_)) => shapes::rectangle(section, "shelf"),
        _ => shapes::outline(section, "shelf"),
    };
    let z = section.quantity("z", Length, Bounds::ANY);
    Some(PlateShape::Shelf {
        outline: outline?,
        z: z?,
    })
}

fn sheet(section: &Section) -> Option<PlateShape> {
    let corners: Vec<DVec3> = section
        .rows("sheet", [Length; 3])?
        .into_iter()
        .map(DVec3::from_array)
        .collect();
    if corners.len() < 3 {
        let what = format!("a sheet of {} corners", corners.len());
        section.fault(
            "zero-size",
            "sheet",
            what,
            "give three corners or more".to_owned(),
        );
        return None;
    }
    Some(PlateShape::Sheet { corners })
}

fn openings(section: &Section) -> Option<Vec<Opening>> {
    let mut all = Vec::new();
    let mut whole = true;
    let mut take = |opening: Option<Opening>| match opening {
        Some(opening) => all.push(opening),
        None => whole = false,
    };
    for hole in section.several("holes") {
        let (at, diameter) = (
            hole.point2("at"),
            hole.quantity("diameter", Length, Bounds::POSITIVE),
        );
        hole.finish();
        take(
            at.zip(diameter)
                .map(|(at, diameter)| Opening::Hole { at, diameter }),
        );
    }
    for slot in section.several("slots") {
        let (from, to) = (slot.point2("from"), slot.point2("to"));
        let width = slot.quantity("width", Length, Bounds::POSITIVE);
        slot.finish();
        take(
            from.zip(to)
                .zip(width)
                .map(|((from, to), width)| Opening::Slot { from, to, width }),
        );
    }
    for notch in section.several("notches") {
        let corners = low_high(&notch);
        notch.finish();
        take(corners.map(|(low, high)| Opening::Notch { low, high }));
    }
    whole.then_some(all)
}

/// `low` and `high`: opposite corners in plate coordinates, with room between them.
pub(crate) fn low_high(section: &Section) -> Option<(DVec2, DVec2)> {
    let (low, high) = (section.point2("low"), section.point2("high"));
    let (low, high) = (low?, high?);
    if low.cmplt(high).all() {
        return Some((low, high));
    }
    let what = "the low corner is not below the high corner in both directions".to_owned();
    section.fault(
        "zero-size",
        "high",
        what,
        "give both numbers of low smaller than those of high".to_owned(),
    );
    None
}
