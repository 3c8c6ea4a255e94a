//! Holes, short bores, tall openings; draining and levelling through them.

use std::f64::consts::PI;

/// Discharge coefficient of a thin sharp-edged hole, Re above about 1e4 (textbook value, read in several).
/// No verified value is known here for a thin plate below Re of about 100.
pub const THIN_PLATE: f64 = 0.61;

/// Head of zero at least; NaN stays NaN.
fn above_zero(head: f64) -> f64 {
    if head < 0.0 { 0.0 } else { head }
}

/// Flow [m³/s] through a hole of `area` [m²] under `head` [m] (drowned: the difference of levels):
/// `Q = Cd A √(2 g h)`.
pub fn orifice(coefficient: f64, area: f64, head: f64, gravity: f64) -> f64 {
    coefficient * area * (2.0 * gravity * above_zero(head)).sqrt()
}

/// Flow [m³/s] through an upright opening of `width` [m] with its upper and lower edge under `upper` and
/// `lower` [m] of head: `Q = ⅔ Cd b √(2g) (H₂^1.5 − H₁^1.5)`; the integral of the orifice over its height.
pub fn tall_opening(coefficient: f64, width: f64, upper: f64, lower: f64, gravity: f64) -> f64 {
    let (upper, lower) = (above_zero(upper), above_zero(lower));
    2.0 / 3.0 * coefficient * width * (2.0 * gravity).sqrt() * (lower.powf(1.5) - upper.powf(1.5))
}

/// Discharge coefficient of a sharp-edged bore, `slenderness` = length over bore in 2..=10, at the Reynolds
/// number of the *ideal* speed √(2Δp/ρ) in 10..=2e4; `None` outside.
///
/// Lichtarowicz, Duggins & Markland, J. Mech. Eng. Sci. 7 (1965):
/// `1/Cd = 1/Cdu + (20/Re)(1 + 2.25 L/d) − 0.005 (L/d)/(1 + 7.5 log₁₀(0.00015 Re)²)`, `Cdu = 0.827 − 0.0085 L/d`.
pub fn bore_coefficient(reynolds: f64, slenderness: f64) -> Option<f64> {
    if !(10.0..=2e4).contains(&reynolds) || !(2.0..=10.0).contains(&slenderness) {
        return None;
    }
    let ultimate = 0.827 - 0.0085 * slenderness;
    let log = (0.000_15 * reynolds).log10();
    let inverse = 1.0 / ultimate + 20.0 / reynolds * (1.0 + 2.25 * slenderness)
        - 0.005 * slenderness / (1.0 + 7.5 * log * log);
    Some(1.0 / inverse)
}

/// Time [s] for the level in an upright vessel of `plan` [m²] to fall from `from` to `to` [m] over a free hole
/// of `area` [m²], quasi-steady: `t = A/(Cd a) √(2/g) (√h₀ − √h₁)`.
pub fn drain_time(coefficient: f64, plan: f64, area: f64, from: f64, to: f64, gravity: f64) -> f64 {
    plan / (coefficient * area) * (2.0 / gravity).sqrt() * (from.sqrt() - to.sqrt())
}

/// Time [s] for the level difference of two upright vessels of `plans` [m²] to fall from `from` to `to` [m]
/// through a drowned hole of `area` [m²]:
/// `t = 2 A₁A₂ (√H₁ − √H₂) / [(A₁ + A₂) Cd a √(2g)]`.
pub fn levelling_time(
    coefficient: f64,
    plans: (f64, f64),
    area: f64,
    from: f64,
    to: f64,
    gravity: f64,
) -> f64 {
    let (one, other) = plans;
    2.0 * one * other * (from.sqrt() - to.sqrt())
        / ((one + other) * coefficient * area * (2.0 * gravity).sqrt())
}

/// Depth [m] of water that the pump-intake standard asks for over a bell of `diameter` [m] drawing `flow`
/// [m³/s]: `S = D (1 + 2.3 V/√(gD))` (ANSI/HI 9.8; formula read in two pages, the standard itself not).
///
/// Made for water wells. At pickup size it asks for more than a pan is deep: use it to rank bells against
/// each other, never as a pass mark.
pub fn submergence(flow: f64, diameter: f64, gravity: f64) -> f64 {
    let speed = flow / (PI / 4.0 * diameter * diameter);
    diameter * (1.0 + 2.3 * speed / (gravity * diameter).sqrt())
}
