//! How fast oil can follow.

use std::f64::consts::PI;

/// First sideways mode of oil in a rectangular box [Hz]: `length` [m] along the motion, `depth` [m] at rest,
/// `gravity` [m/s²] normal to the surface at rest.
///
/// Small waves, no viscosity, no plates: `ω² = g k tanh(k h)` with `k = π/L` (linear wave theory; NASA
/// SP-106, Abramson 1966; read in public notes that agree).
pub fn first_mode(length: f64, depth: f64, gravity: f64) -> f64 {
    let k = PI / length;
    (gravity * k * (k * depth).tanh()).sqrt() / (2.0 * PI)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boxes_ring_at_the_published_rates() {
        // Evaluated from the formula with g = 9.81 m/s² to five decimals (length, depth, Hz).
        for (length, depth, due) in [
            (0.900, 0.093, 0.52162),
            (0.900, 0.3556, 0.85654),
            (0.300, 0.050, 1.11816),
            (0.250, 0.080, 1.54438),
        ] {
            let got = first_mode(length, depth, 9.81);
            assert!(
                (got - due).abs() < 1e-5,
                "{length} x {depth}: {got} Hz, due {due}"
            );
        }
    }
}
