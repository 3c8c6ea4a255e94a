//! Oil that moves: the three-dimensional free-surface solver on the cut-cell lattice of `pan`.
//!
//! The scheme in one breath: staggered (MAC) velocities, oil carried by planes in cells (PLIC volume of
//! fluid, Weymouth–Yue split), pressure by ghost-fluid distances to the surface, solved with
//! multigrid-preconditioned conjugate gradients. Thin plates are shut faces, doors are faces that open by
//! their own inertia, holes smaller than a cell are losses on a face. Oil is conserved: whatever a clean-up
//! moves out of the cells is booked.
//!
//! Knows the lattice, the oil and apparent gravity; deliberately knows nothing of design files, laps,
//! engines or verdicts.

mod advection;
pub mod boxes;
mod cleanup;
mod crew;
mod doors;
mod enclosed;
mod extrapolate;
mod fault;
mod fill;
mod gate;
mod grid;
mod kernels;
mod level;
mod momentum;
mod multigrid;
#[cfg(test)]
mod mutants;
mod phase;
mod plane;
#[cfg(test)]
mod poison;
mod pressure;
mod probes;
mod region;
pub mod run;
mod slices;
mod solver;
mod state;
mod supply;
mod surface;
mod team;
mod terms;
mod transfer;
mod viscosity;
mod vof;
mod walled;
mod watch;

pub use fault::SloshFault;
pub use phase::Phase;
pub use solver::Solver;
pub use terms::{Body, Settings, Step, Supply};
pub use watch::{Column, Record};
