//! Oil and its circuit: viscosity, density, aeration; hydraulics of holes, gaps and weirs; the pump;
//! oil held up in the engine and coming home late.

pub mod circuit;
pub mod fluid;
