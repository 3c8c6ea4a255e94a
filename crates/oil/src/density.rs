//! Density against temperature.
//!
//! API MPMS chapter 11.1 / ASTM D1250, lubricating-oil group, 1980 form: the thermal expansion at 15 °C is
//! `α = 0.62780 / ρ₁₅` per kelvin (ρ in kg/m³) and `ρ(T) = ρ₁₅ exp[−αΔ(1 + 0.8 αΔ)]`, Δ from 15 °C. (The
//! inch form, 0.34878 / ρ₆₀ per °F from 60 °F, was read in a public formula page; the metric constant is
//! from memory and is that one × 1.8.)

use crate::fluid::OilFault;

/// Densities at 15 °C [kg/m³] that the formula was made for.
pub const RANGE: (f64, f64) = (800.0, 1164.0);

/// Constant of the expansion [kg/m³ per K].
const EXPANSION: f64 = 0.627_80;

/// Density [kg/m³] at `temperature` [K] of an oil that has `density_15` [kg/m³] at 15 °C.
///
/// Errors when `density_15` lies outside [`RANGE`] or the temperature is not finite and positive.
pub fn at(density_15: f64, temperature: f64) -> Result<f64, OilFault> {
    if !(density_15 >= RANGE.0 && density_15 <= RANGE.1) {
        return Err(OilFault::DensityOut { density: density_15 });
    }
    if !(temperature.is_finite() && temperature > 0.0) {
        return Err(OilFault::BadNumber {
            what: "the oil temperature",
            value: temperature,
        });
    }
    let swell = EXPANSION / density_15 * (temperature - 288.15);
    Ok(density_15 * (-swell * (1.0 + 0.8 * swell)).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_870_oil_comes_out_as_worked_outside_this_program() {
        // ρ₁₅ 870 kg/m³; worked from the formula to two places, so ± 0.01.
        for (t, due) in [
            (0.0, 879.39),
            (15.0, 870.0),
            (40.0, 854.22),
            (100.0, 815.78),
            (120.0, 802.82),
        ] {
            let got = at(870.0, t + 273.15).unwrap();
            assert!((got - due).abs() < 0.01, "{t} °C: {got}, due {due}");
        }
    }

    #[test]
    fn numbers_outside_the_formula_are_refused() {
        assert!(matches!(at(0.87, 300.0), Err(OilFault::DensityOut { .. })));
        assert!(at(f64::NAN, 300.0).is_err());
        assert!(at(870.0, f64::NAN).is_err());
    }
}
