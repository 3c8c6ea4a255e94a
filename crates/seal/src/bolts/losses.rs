//! Stiffness of bolt and parts, and what heat, settling and creep make of the clamp load.

use std::f64::consts::PI;

use super::{Head, Thread};

/// Young's modulus of a steel bolt [Pa] (handbook value).
pub const STEEL_YOUNGS: f64 = 205e9;
/// Thermal expansion of a steel bolt [1/K] (handbook value, 20 to 150 °C).
pub const STEEL_EXPANSION: f64 = 11.5e-6;

/// How much a fully threaded bolt stretches under a newton [m/N]: `(lk + 0.8 d)/(E A3)`, where head and engaged thread
/// count as 0.4 d each (VDI 2230, from memory).
pub fn bolt_compliance(thread: &Thread, clamped: f64, youngs: f64) -> f64 {
    (clamped + 0.8 * thread.diameter) / (youngs * thread.core_area())
}

/// Area of the cylinder that gives as the clamped parts do [m²], in a flange so wide.
///
/// `π/4 (dw² − dh²) + π/8 dw (Da − dw) ((x + 1)² − 1)` with `x = ∛(lk dw / Da²)`; a flange wider than `dw + lk` counts
/// as that. VDI 2230:1986, from memory.
pub fn clamped_area(head: &Head, clamped: f64, width: f64) -> f64 {
    let dw = head.bears;
    let da = width.min(dw + clamped);
    let ring = head.area();
    if da <= dw {
        return 0.25 * PI * (da * da - head.hole * head.hole).max(0.05 * dw * dw);
    }
    let x = (clamped * dw / (da * da)).cbrt();
    ring + 0.125 * PI * dw * (da - dw) * ((x + 1.0) * (x + 1.0) - 1.0)
}

/// How much clamped metal gives under a newton [m/N]: `lk/(E A)`.
pub fn part_compliance(clamped: f64, youngs: f64, area: f64) -> f64 {
    clamped / (youngs * area)
}

/// Clamp load lost as rough faces settle by `settling` [m]: `fz/(δS + δP)` [N] (VDI 2230).
pub fn settled(settling: f64, compliance: f64) -> f64 {
    settling / compliance
}

/// Settling of thread, head and one plain joint of faces milled or turned [m]: 3 + 3 + 2 µm (VDI 2230, table of guide
/// values for roughness under 40 µm; from memory).
pub const USUAL_SETTLING: f64 = 8e-6;

/// Clamp load gained when all becomes warmer by `kelvin` [N]: `(αP − αS) ΔT lk/(δS + δP)`; below zero it is lost.
/// Bolt and part are taken to be equally warm.
pub fn heat(part: f64, bolt: f64, kelvin: f64, clamped: f64, compliance: f64) -> f64 {
    (part - bolt) * kelvin * clamped / compliance
}

/// How far two rails of a length slip on each other when both become warmer [m].
pub fn slip(one: f64, other: f64, kelvin: f64, length: f64) -> f64 {
    (one - other).abs() * kelvin.abs() * length
}

/// What creep relaxation leaves: `F (1 − F38/100)`, the share as ASTM F38 measures it.
pub fn crept(force: f64, share: f64) -> f64 {
    force * (1.0 - share)
}
