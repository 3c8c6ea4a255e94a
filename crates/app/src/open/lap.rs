//! The whole drive by bays, row by row, and the moments of it that are worth a look.

mod moments;

use super::House;
use super::refusals::failure;
use super::shelf::Bench;
use crate::cases::Cases;
use crate::place;
use crate::sketch::{BLIND, Sketch};
use measure::STANDARD_GRAVITY;
use pickup::CoverHistory;
use pickup::allowance::Allowance;
use report::replay::code::base64;
use serve::wire::{LapAnswer, LapWire, Packed, Variant};
use serve::workshop::Answer;
use std::sync::Arc;

/// The answer.
pub fn lap(house: &House, variant: &Variant) -> Answer<LapAnswer> {
    let bench = house.shelf.bench(variant)?;
    let lap = house.shelf.lap(&bench);
    let lap = lap.made.get_or_init(|| made(house, &bench).map(Arc::new));
    lap.clone().map(|lap| (*lap).clone())
}

fn made(house: &House, bench: &Bench) -> Answer<LapAnswer> {
    let shelf = &house.shelf;
    let grid = shelf.grid(bench)?;
    let driven = shelf.driven(bench)?;
    let made = grid.parts();
    let cases = shelf.cases(bench, &driven, made);
    let sketch = Sketch {
        cases: &cases,
        network: &made.network,
    };
    let whole = cases.whole_drive();
    let task = cases.task(&whole, Allowance::Mid, bench.prepared.design.fill, false);
    let mut surfaces: Vec<f32> = Vec::new();
    let history = sketch
        .watched(&task, |planes| {
            for plane in planes {
                surfaces.extend(plane.up.as_vec3().to_array());
                surfaces.push(plane.height as f32);
            }
        })
        .map_err(|f| failure(shelf.folder(), f))?;
    let verdict = cases.judge_histories(&[(&whole, &history, None)]);
    let (least_cover, least_at) = history
        .least_cover(whole.start, whole.end)
        .unwrap_or((0.0, whole.start));
    let rows = Rows::of(&cases, &history);
    let laps = driven.car.laps.iter().map(|lap| LapWire {
        name: lap.name.clone(),
        start: lap.start,
        end: lap.end,
    });
    Ok(LapAnswer {
        drive: driven.car.name.clone(),
        time: packed(history.time.iter().copied()),
        distance: rows.distance,
        speed: rows.speed,
        engine_speed: rows.engine_speed,
        acceleration: rows.acceleration,
        place: rows.place,
        cover: packed(history.cover.iter().copied()),
        bare: packed((0..history.len()).map(|row| f64::from(u8::from(history.bare(row))))),
        spaces: packed(history.spaces.iter().flatten().copied()),
        surfaces: packed_singles(surfaces.into_iter()),
        doors: packed(history.doors.iter().flatten().copied()),
        limit: bench.prepared.design.limits.least_cover,
        word: verdict.word.said().to_owned(),
        sentence: verdict.sentence,
        least_cover,
        least_at,
        bare_time: history.bare_in(whole.start, whole.end),
        air: history.air_in(whole.start, whole.end),
        moments: moments::moments(&cases, &history),
        laps: laps.collect(),
        blind: BLIND.to_owned(),
        said: driven.car.said.clone(),
    })
}

/// The drive at the rows of a history.
struct Rows {
    distance: Packed,
    speed: Packed,
    engine_speed: Packed,
    acceleration: Packed,
    place: Packed,
}

impl Rows {
    fn of(cases: &Cases, history: &CoverHistory) -> Rows {
        let car = &cases.driven.car;
        let at = history.time.iter().map(|time| car.at(*time));
        let series = |known: bool, of: &dyn Fn(f64) -> f64| match known {
            true => packed(history.time.iter().map(|time| of(*time))),
            false => Packed::new(),
        };
        let places = history.time.iter().filter_map(|time| car.place_at(*time));
        Rows {
            distance: series(place::knows_distance(car), &|time| car.distance_at(time)),
            speed: series(car.speed.iter().any(|v| *v > 0.0), &|time| car.speed_at(time)),
            engine_speed: packed(at.clone().map(|moment| moment.engine_speed)),
            acceleration: packed(at.flat_map(|moment| {
                let felt = -moment.gravity / STANDARD_GRAVITY;
                [felt.x, felt.y, felt.z - 1.0]
            })),
            place: packed(places.flat_map(|place| [place.x, place.y])),
        }
    }
}

/// Numbers as the wire takes long series.
pub fn packed(numbers: impl Iterator<Item = f64>) -> Packed {
    packed_singles(numbers.map(|number| number as f32))
}

fn packed_singles(numbers: impl Iterator<Item = f32>) -> Packed {
    base64(&numbers.flat_map(f32::to_le_bytes).collect::<Vec<u8>>())
}
