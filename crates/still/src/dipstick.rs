//! Litres against height with the engine off, as the car stands.

use glam::DVec3;
use pan::Pan;
use serde::{Deserialize, Serialize};

use crate::StillFault;

/// One row of the dipstick table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DipstickRow {
    /// What this row is ("full", "crank touch"); empty for a plain row.
    pub mark: String,
    /// Oil in the pan, engine off [m³].
    pub volume: f64,
    /// Height of the level over the flange face where the mouth is [m]; below it negative.
    pub level: f64,
}

/// Table of level against oil, rising in volume: a row every `step` [m³] from one step to the brim (the
/// last below `pan.capacity()`), the capacity itself ("brim": level with the flange when that lies level), each of `marks` (name, volume [m³]), and where they exist the
/// volumes at which the level reaches the mouth and the crank sweep.
///
/// `up` is the unit up-direction of the standing car in the pan frame. Errors when a step is not above
/// zero, when `up` lies in the flange plane, or when a mark does not fit the cavity.
pub fn dipstick(
    pan: &Pan,
    up: DVec3,
    step: f64,
    marks: &[(String, f64)],
) -> Result<Vec<DipstickRow>, StillFault> {
    if !(step.is_finite() && step > 0.0) {
        return Err(StillFault::BadNumber {
            what: "the step of the dipstick table [m³]",
            value: step,
        });
    }
    if !(up.is_finite() && up.z > 1e-3) {
        return Err(StillFault::BadNumber {
            what: "the upward direction of the car in the pan",
            value: up.z,
        });
    }
    let capacity = pan.capacity();
    let mut rows: Vec<(String, f64)> = Vec::new();
    let mut litres = 1;
    while litres as f64 * step < capacity && litres <= 1000 {
        rows.push((String::new(), litres as f64 * step));
        litres += 1;
    }
    rows.push(("brim".to_string(), capacity));
    rows.push((
        "mouth".to_string(),
        pan.volume_at_height(up, up.dot(pan.mouth.at)),
    ));
    if let Some(touch) = pan
        .crank_touch_volume(up)
        .filter(|v| *v > 0.0 && *v < pan.cavity.volume())
    {
        rows.push(("crank touch".to_string(), touch));
    }
    rows.extend(marks.iter().cloned());
    rows.sort_by(|a, b| a.1.total_cmp(&b.1));
    rows.into_iter()
        .map(|(mark, volume)| {
            let offset = crate::level(pan, up, volume)?;
            let over = up.x * pan.mouth.at.x + up.y * pan.mouth.at.y;
            Ok(DipstickRow {
                mark,
                volume,
                level: (offset - over) / up.z,
            })
        })
        .collect()
}
