//! The round map: cover over the mouth for every direction and size of horizontal acceleration.

use std::f64::consts::TAU;

use glam::{DMat3, DVec3};
use pan::{Lattice, Pan};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::{FirstInstant, StillFault};

/// First-dry accelerations are found to this [g].
pub const FIRST_DRY_TOLERANCE: f64 = 1e-3;

/// A margin this small is dry [m]: it moves the answer by well under the tolerance.
const CLOSE_TO_DRY: f64 = 1e-6;

/// Largest last move of a level [m]; see [`levels_outward`].
const LAST_MOVE: f64 = 1e-4;

/// What a round map covers.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoundSpec {
    /// Directions, evenly over a turn.
    pub directions: usize,
    /// Rings of acceleration, evenly from `most_g / rings` to `most_g`.
    pub rings: usize,
    /// Largest horizontal acceleration [g].
    pub most_g: f64,
    /// Upward acceleration of the car [g]: 0 on a level road, below zero over a crest, above on a bank.
    pub vertical: f64,
}

impl Default for RoundSpec {
    /// 64 directions, 64 rings up to 2.5 g, level road.
    fn default() -> RoundSpec {
        RoundSpec {
            directions: 64,
            rings: 64,
            most_g: 2.5,
            vertical: 0.0,
        }
    }
}

/// Cover by direction and acceleration under both assumptions.
///
/// A direction says where the *oil is pushed*, seen from above in the car: 0 forward (braking), π/2 to the
/// left (a right-hand corner), counter-clockwise [rad].
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoundMap {
    /// Directions [rad], rising from 0.
    pub directions: Vec<f64>,
    /// Horizontal acceleration of each ring [g], rising.
    pub rings: Vec<f64>,
    /// Upward acceleration of the car [g].
    pub vertical: f64,
    /// Plates ignored: cover [m] as `long_corner[direction][ring]`, 0 when bare.
    pub long_corner: Vec<Vec<f64>>,
    /// Spaces keep their oil: cover [m] likewise; none without a lattice.
    pub first_instant: Option<Vec<Vec<f64>>>,
    /// Least acceleration at which the mouth is bare, plates ignored [g]; none within the rings.
    pub first_dry_long: Vec<Option<f64>>,
    /// The same with spaces that keep their oil; empty without a lattice.
    pub first_dry_instant: Vec<Option<f64>>,
}

/// Unit vector against apparent gravity in the pan for oil pushed toward `direction` [rad] with `g` [g] and
/// the car accelerating upward with `vertical` [g]. Errors in free fall.
pub fn up_for(pan_from_car: DMat3, direction: f64, g: f64, vertical: f64) -> Result<DVec3, StillFault> {
    let pushed = DVec3::new(g * direction.cos(), g * direction.sin(), -(1.0 + vertical));
    crate::up_from(pan_from_car * pushed)
}

/// The round map of `volume` [m³] of oil in the pan. `pan_from_car` turns car vectors into the pan's;
/// `lattice` adds the first instant. The same on any number of threads.
///
/// Errors when the oil has no level, a number is none, or `vertical` is free fall or beyond (≤ -1 g).
pub fn round_map(
    pan: &Pan,
    lattice: Option<&Lattice>,
    pan_from_car: DMat3,
    volume: f64,
    spec: &RoundSpec,
) -> Result<RoundMap, StillFault> {
    if !(spec.most_g.is_finite() && spec.most_g > 0.0) {
        return Err(StillFault::BadNumber {
            what: "the largest acceleration [g]",
            value: spec.most_g,
        });
    }
    if !(spec.vertical.is_finite() && spec.vertical > -1.0) {
        return Err(StillFault::BadNumber {
            what: "the vertical acceleration [g]",
            value: spec.vertical,
        });
    }
    let directions: Vec<f64> = (0..spec.directions)
        .map(|d| TAU * d as f64 / spec.directions as f64)
        .collect();
    let rings: Vec<f64> = (1..=spec.rings)
        .map(|r| spec.most_g * r as f64 / spec.rings as f64)
        .collect();
    let instant = lattice
        .map(|l| FirstInstant::new(l, pan_from_car * DVec3::Z, volume))
        .transpose()?;
    let up = |direction: f64, g: f64| up_for(pan_from_car, direction, g, spec.vertical);

    let rows: Vec<(Row, Option<Row>)> = directions
        .par_iter()
        .map(|&direction| {
            let ups: Vec<DVec3> = rings
                .iter()
                .map(|&g| up(direction, g))
                .collect::<Result<_, _>>()?;
            let at_rest = up(direction, 0.0)?;
            let levels = levels_outward(pan, at_rest, &ups, volume)?;
            let over_mouth = |(up, level): (&DVec3, &f64)| level - up.dot(pan.mouth.at);
            let margins: Vec<f64> = ups.iter().zip(&levels).map(over_mouth).collect();
            let long = Row::new(&rings, margins, |g| crate::margin(pan, up(direction, g)?, volume))?;
            let instant = instant.as_ref().map(|instant| {
                let margins = ups.iter().map(|&up| instant.margin(up)).collect();
                Row::new(&rings, margins, |g| Ok(instant.margin(up(direction, g)?)))
            });
            Ok((long, instant.transpose()?))
        })
        .collect::<Result<_, StillFault>>()?;

    let (long, instant): (Vec<Row>, Vec<Option<Row>>) = rows.into_iter().unzip();
    let instant: Option<Vec<Row>> = instant
        .into_iter()
        .collect::<Option<Vec<Row>>>()
        .filter(|_| lattice.is_some());
    Ok(RoundMap {
        directions,
        rings,
        vertical: spec.vertical,
        first_dry_long: long.iter().map(|r| r.first_dry).collect(),
        long_corner: long.into_iter().map(|r| r.cover).collect(),
        first_dry_instant: instant.iter().flatten().map(|r| r.first_dry).collect(),
        first_instant: instant.map(|rows| rows.into_iter().map(|r| r.cover).collect()),
    })
}

/// One direction of a map.
struct Row {
    cover: Vec<f64>,
    first_dry: Option<f64>,
}

impl Row {
    fn new(
        rings: &[f64],
        margins: Vec<f64>,
        margin: impl Fn(f64) -> Result<f64, StillFault>,
    ) -> Result<Row, StillFault> {
        let first_dry = first_dry(rings, &margins, margin)?;
        Ok(Row {
            cover: margins.into_iter().map(|m| m.max(0.0)).collect(),
            first_dry,
        })
    }
}

/// Levels of `volume` for directions that lean over little by little, the first next to `start`.
///
/// Each guess carries on the last three levels (a parabola); Newton's rule with the exact volume and surface
/// then moves it. A move of s leaves an error of about s² over the size of the pan, so the first move under
/// [`LAST_MOVE`] is the last: a micrometre as a rule.
fn levels_outward(pan: &Pan, start: DVec3, ups: &[DVec3], volume: f64) -> Result<Vec<f64>, StillFault> {
    let mut levels = vec![pan.cavity.level(start, volume)?];
    for &up in ups {
        let guess = match levels[..] {
            [.., a, b, c] => 3.0 * (c - b) + a,
            [a, b] => 2.0 * b - a,
            _ => levels[0],
        };
        let mut at = guess;
        let mut settled = false;
        for _ in 0..4 {
            let below = pan.cavity.below(up, at);
            let step = (volume - below.volume) / below.surface;
            if !step.is_finite() {
                break;
            }
            at += step;
            settled = step.abs() < LAST_MOVE;
            if settled {
                break;
            }
        }
        levels.push(if settled {
            at
        } else {
            pan.cavity.level_near(up, volume, guess)?
        });
    }
    levels.remove(0);
    Ok(levels)
}

/// Least acceleration [g] at which the mouth is bare in one direction; none when every ring is covered.
///
/// `rings` rise from above 0 and `margins` [m] belong to them. The first bare ring and the one before it
/// bracket the answer, which the secant through both ends (Illinois rule) then closes to
/// [`FIRST_DRY_TOLERANCE`]; `margin` gives the oil over the mouth at any acceleration.
pub fn first_dry(
    rings: &[f64],
    margins: &[f64],
    margin: impl Fn(f64) -> Result<f64, StillFault>,
) -> Result<Option<f64>, StillFault> {
    let Some(first) = margins.iter().position(|&m| m <= 0.0) else {
        return Ok(None);
    };
    let (mut low, mut above) = match first {
        0 => (0.0, margin(0.0)?),
        _ => (rings[first - 1], margins[first - 1]),
    };
    if above <= 0.0 {
        return Ok(Some(low));
    }
    let (mut high, mut below) = (rings[first], margins[first]);
    let mut moved = None;
    while high - low > FIRST_DRY_TOLERANCE {
        let at = low + (high - low) * above / (above - below);
        let value = margin(at)?;
        if value.abs() < CLOSE_TO_DRY {
            return Ok(Some(at));
        }
        let dry = value < 0.0;
        if dry {
            (high, below) = (at, value);
        } else {
            (low, above) = (at, value);
        }
        // The end that stays put twice is given less weight, so that it moves.
        match moved {
            Some(true) if dry => above *= 0.5,
            Some(false) if !dry => below *= 0.5,
            _ => {}
        }
        moved = Some(dry);
    }
    Ok(Some(0.5 * (low + high)))
}
