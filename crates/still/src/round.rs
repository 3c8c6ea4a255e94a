//! The round map: cover over the mouth for every direction and size of horizontal acceleration.

use std::f64::consts::TAU;

use glam::{DMat3, DVec3};
use pan::{Lattice, Pan};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::{FirstInstant, StillFault};

/// First-dry accelerations are found to this [g].
pub const FIRST_DRY_TOLERANCE: f64 = 1e-3;

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
            let mut guess = pan.cavity.level(up(direction, 0.0)?, volume)?;
            let mut cover = Vec::with_capacity(rings.len());
            for &g in &rings {
                let up = up(direction, g)?;
                guess = pan.cavity.level_near(up, volume, guess)?;
                cover.push((guess - up.dot(pan.mouth.at)).max(0.0));
            }
            let dry = |g: f64| Ok(mouth_dry(pan, up(direction, g)?, volume));
            let long = Row {
                first_dry: first_dry(&rings, &cover, dry)?,
                cover,
            };
            let instant = instant.as_ref().map(|instant| -> Result<Row, StillFault> {
                let cover: Vec<f64> = rings
                    .iter()
                    .map(|&g| Ok(instant.cover(up(direction, g)?)))
                    .collect::<Result<_, StillFault>>()?;
                let dry = |g: f64| Ok(instant.margin(up(direction, g)?) <= 0.0);
                Ok(Row {
                    first_dry: first_dry(&rings, &cover, dry)?,
                    cover,
                })
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

struct Row {
    cover: Vec<f64>,
    first_dry: Option<f64>,
}

/// True when the plane through the mouth has more than `volume` under it.
fn mouth_dry(pan: &Pan, up: DVec3, volume: f64) -> bool {
    pan.cavity.volume_below(up, up.dot(pan.mouth.at)) >= volume
}

/// Least acceleration [g] at which the mouth is bare in one direction: the first bare ring, then halving
/// between it and the ring before to [`FIRST_DRY_TOLERANCE`]; none when every ring is covered. `rings` rise
/// from above 0; `cover` [m] belongs to them; `dry` answers for any acceleration.
pub fn first_dry(
    rings: &[f64],
    cover: &[f64],
    dry: impl Fn(f64) -> Result<bool, StillFault>,
) -> Result<Option<f64>, StillFault> {
    let Some(first) = cover.iter().position(|&c| c <= 0.0) else {
        return Ok(None);
    };
    let mut low = if first == 0 { 0.0 } else { rings[first - 1] };
    let mut high = rings[first];
    if first == 0 && dry(0.0)? {
        return Ok(Some(0.0));
    }
    while high - low > FIRST_DRY_TOLERANCE {
        let middle = 0.5 * (low + high);
        if dry(middle)? { high = middle } else { low = middle }
    }
    Ok(Some(0.5 * (low + high)))
}
