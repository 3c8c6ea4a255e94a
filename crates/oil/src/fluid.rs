//! The oil itself at one temperature, as the solvers see it.

use serde::{Deserialize, Serialize};

/// Oil at the temperature of the drive.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Fluid {
    /// Density [kg/m³].
    pub density: f64,
    /// Kinematic viscosity [m²/s].
    pub viscosity: f64,
}
