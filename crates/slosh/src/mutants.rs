//! Two ways to spoil the surface, for tests only: a check that still holds with them checks nothing.
//!
//! Planes from Youngs' gradient alone, and the surface taken half a cell beyond every centre (θ = 1), are both
//! published choices; both ruin small waves.

/// What is spoilt.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) enum Mutant {
    /// Nothing.
    #[default]
    Sound,
    /// Surface from Youngs' gradient alone, without columns.
    RoughNormals,
    /// Every distance to the surface is one cell.
    WholeCells,
}

#[cfg(test)]
mod tests {
    use super::Mutant;
    use crate::{Body, Settings, Solver, Supply, boxes};
    use glam::DVec3;
    use oil::fluid::Fluid;
    use std::f64::consts::PI;

    /// First mode of a box 0.3 m long with 50 mm of oil, 10 mm cells, over the exact 1.1182 Hz (linear theory, NASA
    /// SP-106): five periods of a small wave, by the sign changes of its moment. NaN when it does not swing.
    fn ring(mutant: Mutant) -> f64 {
        let (cells, h, depth) = (30, 0.01, 0.05);
        let k = PI / 0.3;
        let exact = (9.81 * k * (k * depth).tanh()).sqrt() / (2.0 * PI);
        let oil = Fluid {
            density: 850.0,
            viscosity: 1e-6,
        };
        let settings = Settings {
            wall_friction: false,
            ..Settings::default()
        };
        let mut solver = Solver::new(&boxes::tank([cells, 2, 9], h), oil, &[], settings).unwrap();
        solver.grid.mutant = mutant;
        solver
            .fill_where(|p| ((depth + 0.003 * (k * p.x).cos() - p.z) / h + 0.5).clamp(0.0, 1.0))
            .unwrap();
        let moment = |s: &Solver| -> f64 {
            let fill = s.fill();
            (0..fill.len())
                .map(|c| fill[c] * ((c % cells) as f64 - 14.5))
                .sum()
        };
        let body = Body::steady(DVec3::new(0.0, 0.0, -9.81));
        let (mut time, mut last, mut crossings) = (0.0, moment(&solver), Vec::new());
        while time < 5.0 / exact {
            let Ok(step) = solver.step(&body, &Supply::NONE, 1.0) else {
                return f64::NAN;
            };
            let now = moment(&solver);
            if (now < 0.0) != (last < 0.0) {
                crossings.push(time + step.dt * last / (last - now));
            }
            (time, last) = (time + step.dt, now);
        }
        match crossings[..] {
            [first, .., end] => 0.5 * (crossings.len() - 1) as f64 / (end - first) / exact,
            _ => f64::NAN,
        }
    }

    fn holds(ratio: f64) -> bool {
        (ratio - 1.0).abs() < 0.0015
    }

    #[test]
    fn the_frequency_check_holds_for_the_solver_and_fails_for_both_mutants() {
        let [sound, rough, whole] = [Mutant::Sound, Mutant::RoughNormals, Mutant::WholeCells].map(ring);
        assert!(holds(sound), "{sound:.5}");
        assert!(!holds(rough), "Youngs' normals pass: {rough:.5}");
        assert!(!holds(whole), "whole cells pass: {whole:.5}");
    }
}
