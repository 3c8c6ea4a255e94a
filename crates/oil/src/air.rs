//! Air in oil under suction: bubbles grow, dissolved air comes out.

/// Volume of air that mineral oil holds dissolved, measured as free air at the pressure it is saturated at, by volume of
/// oil (Bunsen coefficient; from memory, 0.08 to 0.10).
pub const DISSOLVED: f64 = 0.09;

/// Volume of bubbles by volume of oil when the pressure falls from `from` to `to` [Pa, absolute] at one temperature
/// (Boyle): `φ/(1 − φ) · p₀/p`, with the share `share` of the whole volume at `from`.
pub fn bubbles(share: f64, from: f64, to: f64) -> f64 {
    share / (1.0 - share) * from / to
}

/// Most air that comes out of oil saturated at `from` when it is held at `to` [Pa, absolute], as volume at `to` by volume of
/// oil: `B (p₀ − p)/p` (Henry). Zero where the pressure does not fall.
///
/// This is what comes out in the end; in the fraction of a second that oil is in a suction tube less does.
pub fn released(from: f64, to: f64) -> f64 {
    DISSOLVED * (from - to).max(0.0) / to
}

/// The share of the whole volume that `air` by volume of oil makes.
pub fn share(air: f64) -> f64 {
    air / (1.0 + air)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proofs::{oils, suction};

    #[test]
    fn bubbles_grow_as_boyle_says() {
        for (pressure, due) in oils::SUCTION {
            let got = share(bubbles(0.10, 101_325.0, pressure));
            assert!((got - due).abs() < 1e-5, "{pressure} Pa: {got}, due {due}");
        }
    }

    #[test]
    fn dissolved_air_comes_out_as_henry_says_and_never_goes_below_nothing() {
        for (pressure, due) in suction::RELEASED {
            let got = share(released(101_325.0, pressure));
            // Printed to four places.
            assert!((got - due).abs() < 5e-5, "{pressure} Pa: {got}, due {due}");
        }
        assert_eq!(released(101_325.0, 150_000.0), 0.0);
    }
}
