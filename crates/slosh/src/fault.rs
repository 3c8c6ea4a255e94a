//! What can go wrong in a run of the solver, as typed faults.

use thiserror::Error;

/// Why the solver refuses or stops. It never hands back a plausible number in silence.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum SloshFault {
    /// An input number is outside what it may be.
    #[error("{what} is {value}; it must be {must}")]
    Input {
        /// Which number.
        what: &'static str,
        /// What it was.
        value: f64,
        /// What it may be.
        must: &'static str,
    },
    /// The lattice does not fit together (array lengths, door indices).
    #[error("the lattice does not fit together: {what}")]
    Lattice {
        /// Which part.
        what: String,
    },
    /// None of the cells under the mouth is open.
    #[error("the pickup mouth draws from no open cell; lower the mouth into the cavity or use smaller cells")]
    MouthBlocked,
    /// None of the cells of a return place is open.
    #[error("return place {place} ends in no open cell; move it into the cavity or use smaller cells")]
    ReturnBlocked {
        /// Index of the return place.
        place: usize,
    },
    /// More oil than the open cells hold.
    #[error("{volume:.6e} m3 of oil do not fit into {capacity:.6e} m3 of open cells")]
    Overfull {
        /// Asked for [m³].
        volume: f64,
        /// Open volume of the cells [m³].
        capacity: f64,
    },
    /// A number that is no number turned up.
    #[error("{what} is not a finite number at cell ({}, {}, {}) in step {step}", cell[0], cell[1], cell[2])]
    NotFinite {
        /// Which field.
        what: &'static str,
        /// Cell (i, j, k).
        cell: [usize; 3],
        /// Step of the run.
        step: u64,
    },
    /// The pressure equation did not converge.
    #[error(
        "pressure did not converge in step {step}: residual {residual:.2e} after {iterations} iterations \
         (aim {aim:.0e}, time step {dt:.3e} s); use smaller cells or report this run"
    )]
    Pressure {
        /// Largest divergence left, as a share of a cell's volume in the step.
        residual: f64,
        /// What was asked.
        aim: f64,
        /// Iterations spent.
        iterations: u32,
        /// Time step [s].
        dt: f64,
        /// Step of the run.
        step: u64,
    },
    /// The viscosity of thick oil did not converge.
    #[error(
        "viscosity did not converge: residual {residual:.2e} m/s after {iterations} iterations (aim {aim:.0e} m/s); \
         report this run"
    )]
    Viscosity {
        /// Largest velocity still unsettled [m/s].
        residual: f64,
        /// What was asked [m/s].
        aim: f64,
        /// Iterations spent.
        iterations: u32,
    },
    /// A saved state does not belong to this solver or is damaged.
    #[error("the saved state cannot be used: {why}")]
    State {
        /// What is wrong with it.
        why: String,
    },
}
