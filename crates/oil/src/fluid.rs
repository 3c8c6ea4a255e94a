//! The oil itself at one temperature, as the solvers see it, and what it is made from.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::viscosity::{TwoPoints, USUAL};
use crate::{density, grades};

/// Oil at the temperature of the drive.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Fluid {
    /// Density [kg/m³].
    pub density: f64,
    /// Kinematic viscosity [m²/s].
    pub viscosity: f64,
}

/// Share of air up to which the bubble formulae hold (dilute, round bubbles).
pub const DILUTE: f64 = 0.15;

/// Share of air beyond which this is foam and no formula here says anything.
const FOAM: f64 = 0.30;

/// What an oil is: its viscosity at two temperatures and its density.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OilSpec {
    /// Name for people.
    pub name: String,
    /// Viscosity at two temperatures.
    pub viscosity: TwoPoints,
    /// Density at 15 °C [kg/m³].
    pub density_15: f64,
    /// Where the numbers come from.
    pub basis: String,
}

/// Why an oil cannot be used.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum OilFault {
    /// Not a finite number above zero.
    #[error("{what} is {value}; it must be a number above zero")]
    BadNumber {
        /// Which number.
        what: &'static str,
        /// Its value in SI.
        value: f64,
    },
    /// Thinner than the viscosity formula holds for [m²/s].
    #[error(
        "a viscosity of {:.2} mm²/s is below 2 mm²/s, where the two-point formula ends; check the two viscosities and the temperature",
        viscosity * 1e6
    )]
    TooThin {
        /// The viscosity.
        viscosity: f64,
    },
    /// So cold that the formula gives no number.
    #[error("at {:.0} C the oil is a solid for the two-point formula; check the oil temperature", temperature - 273.15)]
    Solid {
        /// The temperature [K].
        temperature: f64,
    },
    /// The two points are in the wrong order or the oil thickens with heat.
    #[error(
        "{:.1} mm²/s at {:.0} C and {:.1} mm²/s at {:.0} C: give the colder and thicker point first",
        cold.1 * 1e6, cold.0 - 273.15, hot.1 * 1e6, hot.0 - 273.15
    )]
    PointsCrossed {
        /// (K, m²/s) given as cold.
        cold: (f64, f64),
        /// (K, m²/s) given as hot.
        hot: (f64, f64),
    },
    /// Density outside what the formula was made for.
    #[error("a density of {density} kg/m³ at 15 C is outside 800 to 1164 kg/m³, what lubricating oils have")]
    DensityOut {
        /// The density [kg/m³].
        density: f64,
    },
    /// Share of air not in 0..0.3.
    #[error("an air share of {share} is outside 0 to 0.3; above that the oil is foam and cannot be computed")]
    AerationOut {
        /// The share.
        share: f64,
    },
    /// No such grade in the table.
    #[error(
        "grade \"{name}\" is not in the table; the nearest is \"{nearest}\" (or give two viscosities from the oil's sheet)"
    )]
    UnknownGrade {
        /// What was asked for.
        name: String,
        /// The nearest name in the table.
        nearest: &'static str,
    },
}

impl OilSpec {
    /// Typical oil of a grade in the table ([`grades::TABLE`]), e.g. "5W-40".
    pub fn of_grade(name: &str) -> Result<OilSpec, OilFault> {
        grades::find(name).map(grades::Grade::spec)
    }

    /// The oil at `temperature` [K] with the share `aeration` of its volume as air bubbles (0..0.3).
    ///
    /// Viscosity by ASTM D341, density by API MPMS 11.1. Air makes it lighter, `ρ(1 − φ)`, and, as round
    /// bubbles, more viscous: `μ(1 + φ)`: G. I. Taylor 1932 for bubbles of no viscosity (Murai & Oiwa
    /// 2008, who also give `1 − 5φ/3` for strongly drawn-out bubbles). Kinematic, so `ν(1 + φ)/(1 − φ)`.
    pub fn at(&self, temperature: f64, aeration: f64) -> Result<Fluid, OilFault> {
        if !(0.0..=FOAM).contains(&aeration) {
            return Err(OilFault::AerationOut { share: aeration });
        }
        let viscosity = self.viscosity.at(temperature)?;
        let density = density::at(self.density_15, temperature)?;
        Ok(Fluid {
            density: density * (1.0 - aeration),
            viscosity: viscosity * bubbly(0.0, aeration) / (1.0 - aeration),
        })
    }

    /// Sentences for the report about numbers outside the range that the formulae were made for.
    pub fn cautions(&self, temperature: f64, aeration: f64) -> Vec<String> {
        let mut said = Vec::new();
        let celsius = temperature - 273.15;
        if temperature < USUAL.0 || temperature > USUAL.1 {
            said.push(format!(
                "Oil at {celsius:.0} C is outside -20 to 160 C, where the two-point viscosity can be trusted."
            ));
        }
        if aeration > DILUTE {
            said.push(format!(
                "{:.0} % air is more than the 15 % up to which the formula for bubbly oil holds.",
                aeration * 100.0
            ));
        }
        said
    }
}

/// Factor on the dynamic viscosity of oil with the share `aeration` of round bubbles whose viscosity is
/// `ratio` times the oil's: `1 + 2.5 φ (λ + 0.4)/(λ + 1)`, dilute (G. I. Taylor, Proc. R. Soc. A 138, 1932).
pub fn bubbly(ratio: f64, aeration: f64) -> f64 {
    1.0 + 2.5 * aeration * (ratio + 0.4) / (ratio + 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bubbles_thicken_as_taylor_says() {
        // λ = 0.00225 (air in hot oil), printed to six figures.
        for (share, due) in proofs::oils::BUBBLES {
            assert!((bubbly(0.00225, share) - due).abs() < 1e-5);
        }
        assert!((bubbly(0.0, 0.1) - 1.1).abs() < 1e-15);
    }

    #[test]
    fn aerated_oil_is_lighter_and_kinematically_thicker() {
        let oil = OilSpec::of_grade("5W-30").unwrap();
        let clear = oil.at(383.15, 0.0).unwrap();
        let airy = oil.at(383.15, 0.1).unwrap();
        assert!((airy.density / clear.density - 0.9).abs() < 1e-12);
        assert!((airy.viscosity / clear.viscosity - 1.1 / 0.9).abs() < 1e-12);
    }

    #[test]
    fn foam_and_poison_are_refused_and_stretching_is_said() {
        let oil = OilSpec::of_grade("10W-60").unwrap();
        for bad in [-0.01, 0.5, f64::NAN] {
            assert!(
                matches!(oil.at(380.0, bad), Err(OilFault::AerationOut { .. })),
                "{bad}"
            );
        }
        assert!(oil.cautions(383.15, 0.08).is_empty());
        assert_eq!(oil.cautions(240.0, 0.2).len(), 2);
    }
}
