//! Viscosity against temperature from two points of an oil's sheet.
//!
//! ASTM D341, short form: `log₁₀ log₁₀(ν + 0.7) = A − B log₁₀ T`, ν in mm²/s and T in kelvin. The short
//! form holds above about 2 mm²/s; below the pour point it says nothing.

use serde::{Deserialize, Serialize};

use crate::fluid::OilFault;

/// Below this kinematic viscosity [m²/s] the short form of D341 does not hold.
pub const THINNEST: f64 = 2e-6;

/// Temperatures [K] outside which a caution is due: colder may be below the pour point, hotter is past
/// what engine oils are measured at.
pub const USUAL: (f64, f64) = (253.15, 433.15);

/// Two measured points of one oil.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct TwoPoints {
    /// (temperature [K], kinematic viscosity [m²/s]), the colder one.
    pub cold: (f64, f64),
    /// (temperature [K], kinematic viscosity [m²/s]), the hotter one.
    pub hot: (f64, f64),
}

impl TwoPoints {
    /// The usual pair of an oil's sheet: viscosity [m²/s] at 40 °C and at 100 °C.
    pub fn at_40_and_100(viscosity_40: f64, viscosity_100: f64) -> TwoPoints {
        TwoPoints {
            cold: (313.15, viscosity_40),
            hot: (373.15, viscosity_100),
        }
    }

    /// The constants A and B of D341 (ν in mm²/s, T in K).
    ///
    /// Errors when a number is not finite and positive, when the points are not in the order cold, hot,
    /// when the oil thickens with heat, or when a point lies below [`THINNEST`].
    pub fn constants(&self) -> Result<(f64, f64), OilFault> {
        let ((t0, v0), (t1, v1)) = (self.cold, self.hot);
        for (what, value) in [
            ("a temperature of the two points", t0),
            ("a temperature of the two points", t1),
        ] {
            if !(value.is_finite() && value > 0.0) {
                return Err(OilFault::BadNumber { what, value });
            }
        }
        for value in [v0, v1] {
            if !(value.is_finite() && value > 0.0) {
                return Err(OilFault::BadNumber {
                    what: "a viscosity of the two points",
                    value,
                });
            }
            if value < THINNEST {
                return Err(OilFault::TooThin { viscosity: value });
            }
        }
        if t1 <= t0 || v1 >= v0 {
            return Err(OilFault::PointsCrossed {
                cold: self.cold,
                hot: self.hot,
            });
        }
        let double_log = |v: f64| (v * 1e6 + 0.7).log10().log10();
        let b = (double_log(v0) - double_log(v1)) / (t1 / t0).log10();
        Ok((double_log(v0) + b * t0.log10(), b))
    }

    /// Kinematic viscosity [m²/s] at `temperature` [K].
    ///
    /// Errors as [`TwoPoints::constants`], for a temperature that is not finite and positive, and where
    /// the answer falls below [`THINNEST`].
    pub fn at(&self, temperature: f64) -> Result<f64, OilFault> {
        let (a, b) = self.constants()?;
        if !(temperature.is_finite() && temperature > 0.0) {
            return Err(OilFault::BadNumber {
                what: "the oil temperature",
                value: temperature,
            });
        }
        let viscosity = (10f64.powf(10f64.powf(a - b * temperature.log10())) - 0.7) * 1e-6;
        if viscosity.is_infinite() {
            return Err(OilFault::Solid { temperature });
        }
        if viscosity < THINNEST {
            Err(OilFault::TooThin { viscosity })
        } else {
            Ok(viscosity)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proofs::oils as published;

    const C: f64 = 273.15;

    #[test]
    fn the_worked_example_of_d341_comes_out() {
        let (cold, hot) = published::D341_SHEET;
        let (due_a, due_b, due_at_80) = published::D341_ANSWER;
        let oil = TwoPoints {
            cold: (313.0, cold * 1e-6),
            hot: (373.0, hot * 1e-6),
        };
        let (a, b) = oil.constants().unwrap();
        assert!(
            (a - due_a).abs() < 1e-3 && (b - due_b).abs() < 1e-3,
            "A {a}, B {b}"
        );
        let at_80 = oil.at(353.0).unwrap() * 1e6;
        assert!((at_80 - due_at_80).abs() < 0.05, "{at_80}");
    }

    #[test]
    fn race_oils_come_out_as_worked_outside_this_program() {
        for (at_40, at_100, t, due) in published::D341_WORKED {
            let got = TwoPoints::at_40_and_100(at_40 * 1e-6, at_100 * 1e-6)
                .at(t + C)
                .unwrap()
                * 1e6;
            // Printed to at least four figures.
            assert!(
                (got / due - 1.0).abs() < 1e-4,
                "{at_40}/{at_100} at {t} °C: {got}, due {due}"
            );
        }
    }

    #[test]
    fn both_points_come_back_exactly() {
        let oil = TwoPoints::at_40_and_100(84e-6, 14e-6);
        assert!((oil.at(313.15).unwrap() / 84e-6 - 1.0).abs() < 1e-12);
        assert!((oil.at(373.15).unwrap() / 14e-6 - 1.0).abs() < 1e-12);
    }

    #[test]
    fn points_that_make_no_oil_are_refused() {
        let crossed = TwoPoints::at_40_and_100(10e-6, 60e-6);
        assert!(matches!(crossed.constants(), Err(OilFault::PointsCrossed { .. })));
        let thin = TwoPoints::at_40_and_100(4e-6, 1.5e-6);
        assert!(matches!(thin.constants(), Err(OilFault::TooThin { .. })));
        let oil = TwoPoints::at_40_and_100(65e-6, 11e-6);
        assert!(matches!(oil.at(260.0 + C), Err(OilFault::TooThin { .. })));
        for bad in [f64::NAN, f64::INFINITY, -5.0, 0.0] {
            assert!(oil.at(bad).is_err(), "{bad}");
            assert!(TwoPoints::at_40_and_100(bad, 11e-6).at(350.0).is_err(), "{bad}");
            assert!(
                TwoPoints {
                    cold: (bad, 65e-6),
                    ..oil
                }
                .at(350.0)
                .is_err(),
                "{bad}"
            );
        }
        assert!(matches!(oil.at(20.0), Err(OilFault::Solid { .. })));
    }
}
