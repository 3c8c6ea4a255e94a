//! Oil at rest under a steady pull: one level over all spaces, as in a corner that lasts.

use super::House;
use super::refusals::{failure, refused};
use crate::cases::too_little_oil;
use crate::findings::height_at_mouth;
use glam::DVec3;
use measure::STANDARD_GRAVITY;
use serve::wire::{StillAnswer, StillAsk, SurfaceWire};
use serve::workshop::{Answer, Refused, Wrong};
use still::StillFault;

/// No car pulls more [g].
const MOST_G: f64 = 20.0;

/// No engine turns faster [rev/s].
const FASTEST: f64 = 1000.0;

/// The answer.
pub fn still(house: &House, ask: &StillAsk) -> Answer<StillAnswer> {
    let pull = DVec3::from_array(ask.acceleration);
    if !(pull.is_finite() && pull.abs().max_element() <= MOST_G) {
        return Err(refused(
            Wrong::Input,
            format!("a pull of {:?} g is out of range", ask.acceleration),
            "the pull",
            format!("stay within {MOST_G} g"),
        ));
    }
    if !(0.0..=FASTEST).contains(&ask.engine_speed) {
        return Err(refused(
            Wrong::Input,
            format!("an engine speed of {} rev/s is out of range", ask.engine_speed),
            "the engine speed",
            format!("stay between 0 and {FASTEST} rev/s"),
        ));
    }
    let shelf = &house.shelf;
    let bench = shelf.bench(&ask.variant)?;
    let grid = shelf.grid(&bench)?;
    let network = &grid.parts().network;
    let prepared = &bench.prepared;
    let design = &prepared.design;
    let oil = if ask.engine_speed == 0.0 {
        design.fill
    } else {
        (design.circuit.pan_at(ask.engine_speed, design.fill))
            .map_err(|fault| failure(shelf.folder(), too_little_oil(fault)))?
    };
    let gravity = -STANDARD_GRAVITY * (DVec3::Z + pull);
    let up = still::up_from(prepared.pan_from_car * gravity).map_err(|_| {
        refused(
            Wrong::Input,
            "without weight oil has no level",
            "the pull",
            "leave some weight: less than 1 g downward",
        )
    })?;
    let pan = &design.pan;
    let height = still::level(pan, up, oil).map_err(no_level)?;
    let standing = still::level(pan, prepared.up, oil).map_err(no_level)?;
    let cover = (height - up.dot(pan.mouth.at)).max(0.0);
    let surfaces = network.bays.iter().map(|bay| SurfaceWire {
        up: up.as_vec3().to_array(),
        height: height as f32,
        volume: bay.levels.under(up, height - up.dot(bay.levels.middle)),
    });
    let swept = network.crank.iter();
    Ok(StillAnswer {
        oil,
        surfaces: surfaces.collect(),
        cover: Some(cover),
        word: word(cover, design.limits.least_cover).to_owned(),
        at_crank: swept
            .map(|(_, levels)| levels.under(up, height - up.dot(levels.middle)))
            .fold(0.0, |sum, part| sum + part),
        level: height_at_mouth(prepared, standing),
    })
}

/// What a cover [m] is called under a limit [m].
fn word(cover: f64, limit: f64) -> &'static str {
    if cover <= 0.0 {
        "bare"
    } else if cover < limit {
        "thin"
    } else {
        "covered"
    }
}

fn no_level(fault: StillFault) -> Refused {
    let mut refused = refused(
        Wrong::Input,
        format!("oil at rest has no level: {fault}"),
        "fill and pan",
        "state a fill that the pan holds",
    );
    for fault in &mut refused.faults {
        fault.key = Some("fill.volume".to_owned());
    }
    refused
}
