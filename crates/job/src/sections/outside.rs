//! `[outside]` and `[engine_movement]`: what the pan looks like from outside, and how far it wanders with the engine.

use clearance::Stretch;
use clearance::outside::{Flange, Outside, Plug};
use glam::{DVec2, DVec3};
use measure::Dimension::Length;

use super::shapes;
use crate::section::{Bounds, Section};

/// Nothing on a pan is thicker or longer than this [m]: a slip of units.
const MOST: Bounds = Bounds::within(0.0, 0.5);
/// Most bolts of a flange.
const MOST_BOLTS: usize = 400;

/// `[outside]`
pub(crate) fn outside(section: &Section) -> Option<Outside> {
    let usual = "common practice, no source";
    let wall = section.quantity_or("wall", Length, MOST, 3e-3, usual);
    let as_walls = "as thick as the walls unless stated";
    let floor = section.quantity_or("floor", Length, MOST, wall.unwrap_or(3e-3), as_walls);
    let square = section.choice(
        "edges",
        &[("square", true), ("round", false)],
        Some((
            "square",
            "the safe side: square edges stand out farther than round ones",
        )),
    );
    let flange = flange(section, usual);
    let bolts = bolts(section);
    let head_diameter = section.quantity_or(
        "head_diameter",
        Length,
        MOST,
        14e-3,
        "an M6 screw with its flange or washer; common practice, no source",
    );
    let head_height = section.quantity_or(
        "head_height",
        Length,
        MOST,
        8e-3,
        "an M6 cap screw on a washer; common practice, no source",
    );
    let plug = match section.below("drain_plug") {
        None => Some(None),
        Some(inside) => {
            let plug = plug(&inside);
            inside.finish();
            plug.map(Some)
        }
    };
    Some(Outside {
        wall: wall?,
        floor: floor?,
        square: square?,
        flange: flange?,
        bolts: bolts?,
        head_diameter: head_diameter?,
        head_height: head_height?,
        plug: plug?,
    })
}

fn flange(section: &Section, usual: &'static str) -> Option<Flange> {
    let thickness = section.quantity_or("flange_thickness", Length, MOST, 8e-3, usual);
    if section.has("flange_outline") {
        if section.has("flange_width") {
            let what = "the flange has an outline and a width".to_owned();
            section.fault(
                "stated-twice",
                "flange_width",
                what,
                "keep one of them".to_owned(),
            );
            return None;
        }
        let outline = shapes::outline(section, "flange_outline");
        return Some(Flange {
            thickness: thickness?,
            width: 0.0,
            outline: Some(outline?),
        });
    }
    let width = section.quantity_or("flange_width", Length, MOST, 20e-3, usual);
    Some(Flange {
        thickness: thickness?,
        width: width?,
        outline: None,
    })
}

fn bolts(section: &Section) -> Option<Vec<DVec2>> {
    if !section.has("bolts") {
        return Some(Vec::new());
    }
    let rows = section.rows("bolts", [Length; 2])?;
    if rows.len() > MOST_BOLTS {
        let what = format!("{} bolts are stated", rows.len());
        let mend = format!("at most {MOST_BOLTS} are read here");
        section.fault("out-of-range", "bolts", what, mend);
        return None;
    }
    Some(rows.into_iter().map(DVec2::from_array).collect())
}

fn plug(section: &Section) -> Option<Plug> {
    let at = section.point3("at");
    let points = shapes::direction(section, "points");
    let diameter = section.quantity("diameter", Length, Bounds::above_to(0.0, 0.5));
    let length = section.quantity("length", Length, Bounds::above_to(0.0, 0.5));
    Some(Plug {
        at: at?,
        points: points?,
        diameter: diameter?,
        length: length?,
    })
}

/// `[engine_movement]`, in the pan's axes.
pub(crate) fn movement(section: &Section) -> Option<Stretch> {
    let most = Bounds::within(0.0, 0.2);
    let reason =
        "rubber mounts, hot and working: common practice, no source; solid mounts move by less than 1 mm";
    let way = |key: &'static str, usual: f64| section.quantity_or(key, Length, most, usual, reason);
    let (front, rear) = (way("front", 4e-3), way("rear", 4e-3));
    let (left, right) = (way("left", 8e-3), way("right", 8e-3));
    let (up, down) = (way("up", 8e-3), way("down", 8e-3));
    Some(Stretch {
        low: -DVec3::new(rear?, right?, down?),
        high: DVec3::new(front?, left?, up?),
    })
}
