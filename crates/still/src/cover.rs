//! Oil over the mouth with plates ignored.

use glam::DVec3;
use pan::Pan;

use crate::StillFault;

/// The unit vector against apparent gravity. Errors when gravity is zero or no number: without weight oil
/// has no level.
pub fn up_from(gravity: DVec3) -> Result<DVec3, StillFault> {
    (-gravity)
        .try_normalize()
        .filter(|up| up.is_finite())
        .ok_or(StillFault::BadNumber {
            what: "apparent gravity [m/s²]",
            value: gravity.length(),
        })
}

/// Where `volume` [m³] of oil lies: the plane `up · x = offset` [m]. Exact for the cavity.
pub fn level(pan: &Pan, up: DVec3, volume: f64) -> Result<f64, StillFault> {
    Ok(pan.cavity.level(up, volume)?)
}

/// Oil surface over the centre of the mouth along `up` [m]; below zero when the mouth stands clear of the
/// oil by that much. Plates ignored.
pub fn margin(pan: &Pan, up: DVec3, volume: f64) -> Result<f64, StillFault> {
    Ok(level(pan, up, volume)? - up.dot(pan.mouth.at))
}

/// Oil over the centre of the mouth along `up` [m]; 0 when bare. Plates ignored.
pub fn cover(pan: &Pan, up: DVec3, volume: f64) -> Result<f64, StillFault> {
    Ok(margin(pan, up, volume)?.max(0.0))
}
