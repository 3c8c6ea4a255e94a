//! Oil between the bays over a drive, and the cover history that comes of it.

use crate::network::Network;
use crate::ports::Plane;
use crate::state::State;
use drive::Drive;
use oil::circuit::{Circuit, CircuitFault};
use oil::fluid::Fluid;
use pickup::CoverHistory;
use pickup::history::{HistoryFault, LEDGER_TOLERANCE};

/// Time between two rows of the history [s].
pub const SAMPLE: f64 = 0.02;

/// Everything a run depends on.
#[derive(Clone, Copy)]
pub struct Inputs<'a> {
    /// Bays and ports.
    pub network: &'a Network,
    /// Oil at the temperature of the drive.
    pub fluid: Fluid,
    /// Pump, oil aloft, returns; `None` when nothing is drawn and nothing comes home.
    pub circuit: Option<&'a Circuit>,
    /// The drive in the pan frame.
    pub drive: &'a Drive,
    /// All the oil there is [m³].
    pub fill: f64,
    /// Start on the drive's clock [s].
    pub start: f64,
    /// End [s].
    pub end: f64,
}

/// Why a run could not start or go on.
#[derive(Debug, thiserror::Error)]
pub enum RunFault {
    /// The circuit holds more oil than there is.
    #[error("at {time:.2} s: {fault}")]
    Circuit {
        /// Drive time [s].
        time: f64,
        /// What the circuit says.
        fault: CircuitFault,
    },
    /// There is more oil than the bays hold.
    #[error("{oil:.6} m³ of oil do not fit into {room:.6} m³")]
    Overfull {
        /// Oil in the pan [m³].
        oil: f64,
        /// All that the bays hold [m³].
        room: f64,
    },
    /// Oil went missing or appeared: a fault of the program.
    #[error("at {time:.2} s the ledger is off by {error:.3e} of the fill; this is a fault of the program")]
    Ledger {
        /// Drive time [s].
        time: f64,
        /// |pan + engine + in flight − fill| / fill.
        error: f64,
    },
    /// The history holds something that cannot be: a fault of the program.
    #[error("{0}; this is a fault of the program")]
    History(#[from] HistoryFault),
}

/// Computes the whole stretch.
pub fn run(inputs: Inputs) -> Result<CoverHistory, RunFault> {
    watched(inputs, |_| {})
}

/// The same; `seen` is told where each bay's surface lies, once for every row of the history.
pub fn watched(
    inputs: Inputs,
    mut seen: impl FnMut(&mut dyn Iterator<Item = Plane>),
) -> Result<CoverHistory, RunFault> {
    let mut state = State::start(inputs)?;
    let mut history = CoverHistory::default();
    history.push(state.row(inputs.start))?;
    seen(&mut state.planes());
    let mut sample = 0u64;
    while inputs.start + sample as f64 * SAMPLE < inputs.end - 1e-9 {
        let from = inputs.start + sample as f64 * SAMPLE;
        let to = (inputs.start + (sample + 1) as f64 * SAMPLE).min(inputs.end);
        let steps = state.steps();
        let dt = (to - from) / steps as f64;
        for step in 0..steps {
            state.advance(from + (step + 1) as f64 * dt, dt);
        }
        sample += 1;
        let row = state.row(to);
        let error = (row.ledger.total() - inputs.fill).abs() / inputs.fill;
        if !(error <= LEDGER_TOLERANCE) {
            return Err(RunFault::Ledger { time: to, error });
        }
        history.push(row)?;
        seen(&mut state.planes());
    }
    Ok(history)
}
