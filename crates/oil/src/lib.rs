//! Oil and its circuit: viscosity, density, aeration; hydraulics of holes, gaps and weirs; the pump;
//! oil held up in the engine and coming home late.

pub mod air;
pub mod circuit;
pub mod density;
pub mod fluid;
pub mod grades;
pub mod hydraulics;
pub mod viscosity;

pub use circuit::{Circuit, CircuitFault, CircuitState};
pub use fluid::{Fluid, OilFault, OilSpec};
