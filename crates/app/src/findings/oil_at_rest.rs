//! Oil at rest as facts: round maps and dipstick.

use super::Computation;
use super::facts::rest_fault;
use crate::failure::Failure;
use crate::preparation::{Gridded, Prepared};
use pickup::allowance::Allowance;
use report::findings::{DipstickRow, FirstDry, RoundMapFacts, StillFacts};
use still::{RoundMap, RoundSpec, dipstick, round_map};

/// Directions and rings of the round map: 4,096 states of acceleration.
const MAP: (usize, usize) = (128, 32);

/// Largest horizontal acceleration of the map [g]: road racing with wings stays below (common practice, no
/// source).
const MOST_G: f64 = 2.0;

/// A row of the dipstick table every half litre [m³].
const DIPSTICK_STEP: f64 = 0.5e-3;

/// Oil at rest for all directions.
pub struct RestMaps {
    /// Oil in the pan [m³].
    pub volume: f64,
    /// Why that much.
    pub why: String,
    /// Cover by direction and g.
    pub map: RoundMap,
    /// Dipstick table.
    pub dipstick: Vec<still::DipstickRow>,
}

/// Computes the maps with the oil that is in the pan at `engine_speed` [rev/s], the car accelerating upward by
/// `vertical` [g].
pub fn rest_maps(
    prepared: &Prepared,
    gridded: &Gridded,
    engine_speed: f64,
    vertical: f64,
) -> Result<RestMaps, Failure> {
    let design = &prepared.design;
    let volume = design
        .circuit
        .pan_at(engine_speed, design.fill)
        .map_err(|fault| {
            Failure::input(
                fault.to_string(),
                "the design, fill and circuit.aloft",
                "add oil, or state less oil aloft",
            )
        })?;
    let why = format!(
        "The fill less the oil aloft at {:.0} rpm, {} allowance.",
        engine_speed * 60.0,
        Allowance::Mid.said()
    );
    let spec = RoundSpec {
        directions: MAP.0,
        rings: MAP.1,
        most_g: MOST_G,
        vertical,
    };
    let map = round_map(
        &design.pan,
        Some(&gridded.lattice),
        prepared.pan_from_car,
        volume,
        &spec,
    )
    .map_err(rest_fault)?;
    let marks = [("fill".to_string(), design.fill)];
    let dipstick = dipstick(&design.pan, prepared.up, DIPSTICK_STEP, &marks).map_err(rest_fault)?;
    Ok(RestMaps {
        volume,
        why,
        map,
        dipstick,
    })
}

impl RestMaps {
    /// As facts for the report.
    pub fn facts(&self) -> StillFacts {
        let map = &self.map;
        let facts = |cover: &[Vec<f64>], dry: &[Option<f64>]| RoundMapFacts {
            vertical: map.vertical,
            directions: map.directions.clone(),
            rings: map.rings.clone(),
            cover: cover.to_vec(),
            first_dry: (map.directions.iter().zip(dry))
                .filter_map(|(direction, g)| {
                    g.map(|g| FirstDry {
                        direction: *direction,
                        g,
                    })
                })
                .collect(),
        };
        StillFacts {
            volume: self.volume,
            volume_why: self.why.clone(),
            long_corner: Some(facts(&map.long_corner, &map.first_dry_long)),
            first_instant: map
                .first_instant
                .as_ref()
                .map(|cover| facts(cover, &map.first_dry_instant)),
            dipstick: self
                .dipstick
                .iter()
                .map(|row| DipstickRow {
                    mark: row.mark.clone(),
                    volume: row.volume,
                    level: row.level,
                    along_stick: None,
                })
                .collect(),
        }
    }
}

/// The part of the findings.
pub fn still(c: &Computation) -> Result<StillFacts, Failure> {
    Ok(c.rest.facts())
}
