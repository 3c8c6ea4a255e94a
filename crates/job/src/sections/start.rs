//! `[start]` of an experiment: how the liquid lies at time zero.

use ::pan::{Block, Cavity, LevelFault};
use glam::DVec3;
use measure::Dimension::{Length, Volume};

use crate::experiment::Start;
use crate::section::{Bounds, Section};

/// The one of `level`, `volume` and `[[start.box]]` that is stated; `hollow` is the tank's, when it is sound.
pub(crate) fn read(section: &Section, hollow: Option<&Cavity>) -> Option<Start> {
    match section.one_of(&["level", "volume", "box"], "level = \"93 mm\"")? {
        "level" => {
            let z = section.quantity("level", Length, Bounds::ANY)?;
            let whole = Block {
                low: DVec3::splat(f64::NEG_INFINITY),
                high: DVec3::new(f64::INFINITY, f64::INFINITY, z),
            };
            if hollow.is_some_and(|h| z <= h.bounds().0.z || z > h.bounds().1.z) {
                let what = format!("no part of the tank lies at {}", section.show(z, Length));
                section.fault("outside-tank", "level", what, from_to(section, "tank", hollow));
                return None;
            }
            Some(Start::Boxes(vec![whole]))
        }
        "volume" => {
            let volume = section.quantity("volume", Volume, Bounds::POSITIVE)?;
            if let Some(Err(LevelFault::Overfull { capacity, .. })) =
                hollow.map(|h| h.level(DVec3::Z, volume))
            {
                let what = format!(
                    "{} is more than the {} that the tank holds",
                    section.show(volume, Volume),
                    section.show(capacity, Volume)
                );
                section.fault("overfull", "volume", what, "put in less".to_owned());
                return None;
            }
            Some(Start::Volume(volume))
        }
        _ => boxes(section, hollow),
    }
}

fn boxes(section: &Section, hollow: Option<&Cavity>) -> Option<Start> {
    let blocks: Vec<Option<Block>> = section
        .parts("box")
        .into_iter()
        .map(|(_, part)| {
            let block = block(&part);
            let side = block.as_ref().zip(hollow).and_then(|(block, h)| apart(block, h));
            if let Some(key) = side {
                let what = "the box lies outside the tank".to_owned();
                part.fault("outside-tank", key, what, from_to(&part, "tank", hollow));
            }
            part.finish();
            block
        })
        .collect();
    if blocks.is_empty() {
        return None; // said by `parts`
    }
    Some(Start::Boxes(blocks.into_iter().collect::<Option<_>>()?))
}

/// x, y and z from low to high; x or y left out means from wall to wall.
pub(super) fn block(part: &Section) -> Option<Block> {
    let side = |key| match part.has(key) {
        true => part.rising(key, Length),
        false => {
            part.default(key, "from wall to wall".to_owned(), "not stated");
            Some((f64::NEG_INFINITY, f64::INFINITY))
        }
    };
    let (x, y, z) = (side("x"), side("y"), part.rising("z", Length));
    let ((x0, x1), (y0, y1), (z0, z1)) = (x?, y?, z?);
    Some(Block {
        low: DVec3::new(x0, y0, z0),
        high: DVec3::new(x1, y1, z1),
    })
}

/// The side along which a block lies wholly beyond the hollow; `None` when they meet.
pub(super) fn apart(block: &Block, hollow: &Cavity) -> Option<&'static str> {
    let (low, high) = hollow.bounds();
    let meet = block.low.cmplt(high) & block.high.cmpgt(low);
    ["x", "y", "z"]
        .into_iter()
        .enumerate()
        .find_map(|(i, key)| (!meet.test(i)).then_some(key))
}

/// A mend that says how large the hollow is; `called` is the word for it.
pub(super) fn from_to(section: &Section, called: &str, hollow: Option<&Cavity>) -> String {
    let Some(h) = hollow else {
        return format!("check the {called}");
    };
    let (low, high) = h.bounds();
    let show = |v| section.show(v, Length);
    format!(
        "the {called} runs from x {} to {}, y {} to {}, z {} to {}",
        show(low.x),
        show(high.x),
        show(low.y),
        show(high.y),
        show(low.z),
        show(high.z)
    )
}
