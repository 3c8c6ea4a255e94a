//! At which steady g the mouth runs dry, by direction.

use super::House;
use super::refusals::failure;
use super::shelf::Bench;
use crate::findings::rest_maps;
use crate::open::lap::packed;
use measure::STANDARD_GRAVITY;
use serve::wire::{RoundAnswer, Variant};
use serve::workshop::Answer;
use std::sync::Arc;

/// Most points of the drive.
const POINTS: usize = 4000;

/// The answer.
pub fn round(house: &House, variant: &Variant) -> Answer<RoundAnswer> {
    let bench = house.shelf.bench(variant)?;
    let round = bench.round.get_or_init(|| made(house, &bench).map(Arc::new));
    round.clone().map(|round| (*round).clone())
}

fn made(house: &House, bench: &Bench) -> Answer<RoundAnswer> {
    let shelf = &house.shelf;
    let grid = shelf.grid(bench)?;
    let redline = bench.prepared.design.engine.redline;
    let rest = rest_maps(&bench.prepared, &grid.parts().gridded, redline, 0.0)
        .map_err(|f| failure(shelf.folder(), f))?;
    let driven = shelf.driven(bench)?;
    let gravity = &driven.car.gravity;
    let every = gravity.len().div_ceil(POINTS).max(1);
    let points = gravity.iter().step_by(every);
    let points = points.flat_map(|g| [-g.x / STANDARD_GRAVITY, -g.y / STANDARD_GRAVITY]);
    Ok(RoundAnswer {
        directions: rest.map.directions,
        first_dry_long: rest.map.first_dry_long,
        // With one space the first instant is the long corner.
        first_dry_instant: if grid.parts().network.bays.len() > 1 {
            rest.map.first_dry_instant
        } else {
            Vec::new()
        },
        most_g: rest.map.rings.last().copied().unwrap_or(0.0),
        points: packed(points),
    })
}
