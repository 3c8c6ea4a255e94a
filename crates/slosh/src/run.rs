//! One run: the solver driven over a stretch of a drive, with the oil circuit round it.
//!
//! Advances in samples of fixed length, so that where a run is stopped, saved and taken up again leaves
//! no trace: the steps between two samples are the same in any case.
//!
//! Ledger at every sample: oil in the lattice + held up in the engine + in flight = fill. Oil that comes
//! home waits in a small bucket per return place and flows from it into the pan within
//! [`RETURN_SMOOTHING`], because a step's length is known only after it is taken; the bucket counts as in
//! flight.

use crate::SloshFault;
use crate::gate::Gate;
use crate::{Body, Record, Settings, Solver, Supply};
use drive::Drive;
use glam::DVec3;
use oil::circuit::{Circuit, CircuitFault, CircuitState};
use oil::fluid::Fluid;
use pan::{Block, Door, Lattice, Probe, Tank};
use pickup::CoverHistory;
use pickup::history::{HistoryFault, Ledger, Row};
use serde::{Deserialize, Serialize};

/// Time between two rows of the history [s].
pub const SAMPLE: f64 = 0.02;

/// Time constant with which returned oil leaves its bucket [s]; longer than any step, shorter than any
/// delay that a user would state.
pub const RETURN_SMOOTHING: f64 = 0.02;

/// Oil at rest is laid under the mean apparent gravity over this long before the start [s].
const SETTLED_OVER: f64 = 0.5;

/// Everything a run depends on.
#[derive(Clone, Copy)]
pub struct Inputs<'a> {
    /// The pan as cells.
    pub lattice: &'a Lattice,
    /// The pan's doors.
    pub doors: &'a [Door],
    /// Oil at the temperature of the drive, aeration included.
    pub fluid: Fluid,
    /// Pump, oil aloft, returns; `None` when nothing is drawn and nothing comes home.
    pub circuit: Option<&'a Circuit>,
    /// The drive in the pan frame.
    pub drive: &'a Drive,
    /// All the oil there is, and how it lies at the start.
    pub fill: Fill<'a>,
    /// What is watched at every step.
    pub probes: &'a [Probe],
    /// The tank that `lattice` was built from, when plates of it lift.
    pub tank: Option<&'a Tank>,
    /// How the solver works; walls that do not rub make a slice of something wide.
    pub settings: Settings,
    /// Start on the drive's clock, run-in included [s].
    pub start: f64,
    /// End [s].
    pub end: f64,
}

/// The oil at the start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fill<'a> {
    /// This much [m³], level under the apparent gravity of the start.
    Volume(f64),
    /// What these boxes hold, let go at the start; the circuit must then be `None`.
    Boxes(&'a [Block]),
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
    /// Boxes hold what they hold, and a circuit wants its share of the fill.
    #[error("liquid laid in boxes cannot feed an oil circuit; state a fill, or leave the circuit out")]
    BoxesInCircuit,
    /// There is nothing to compute.
    #[error("there is no liquid in the cells at the start; check the start boxes against the tank")]
    Dry,
    /// The solver stopped.
    #[error("at {time:.2} s: {fault}")]
    Slosh {
        /// Drive time [s].
        time: f64,
        /// What the solver says.
        fault: SloshFault,
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
    /// A checkpoint that does not fit these inputs.
    #[error("the checkpoint does not belong to these inputs: {0}")]
    Checkpoint(String),
}

/// Largest ledger error allowed, as a share of the fill.
pub const LEDGER_TOLERANCE: f64 = 1e-9;

/// What a checkpoint holds; restoring it continues to the bit-same answer.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct RunState {
    samples: u64,
    circuit: Option<CircuitState>,
    waiting: Vec<f64>,
    history: CoverHistory,
    record: Record,
    fill: f64,
    lifted: u64,
    solver: Vec<u8>,
}

impl RunState {
    /// The cover history up to this state.
    pub fn history(&self) -> &CoverHistory {
        &self.history
    }
}

/// The oil at one instant, for pictures: never read back by a verdict.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Frame {
    /// Drive time [s].
    pub time: f64,
    /// Apparent gravity in the pan frame [m/s²].
    pub gravity: [f32; 3],
    /// Opening angle of each door [rad].
    pub doors: Vec<f32>,
    /// Fill of the open part of each cell, 0..255, in lattice order.
    pub fill: Vec<u8>,
}

/// A run under way.
pub struct Run<'a> {
    inputs: Inputs<'a>,
    solver: Solver,
    circuit: Option<CircuitState>,
    waiting: Vec<f64>,
    samples: u64,
    history: CoverHistory,
    record: Record,
    /// All the oil there is [m³].
    fill: f64,
    gate: Option<Gate<'a>>,
    /// Steps that the gate has made.
    lifted: u64,
}

impl<'a> Run<'a> {
    /// Lays the oil at rest under the apparent gravity of the start and takes the first row.
    pub fn start(inputs: Inputs<'a>) -> Result<Self, RunFault> {
        let time = inputs.start;
        let slosh = |fault| RunFault::Slosh { time, fault };
        let mut solver = fresh(&inputs, inputs.lattice)?;
        let mut circuit = None;
        let fill = match inputs.fill {
            Fill::Volume(fill) => {
                let mut in_pan = fill;
                if let Some(shape) = inputs.circuit {
                    let speed = inputs.drive.at(time).engine_speed;
                    let (state, left) = CircuitState::start(shape, speed, fill)
                        .map_err(|fault| RunFault::Circuit { time, fault })?;
                    circuit = Some(state);
                    in_pan = left;
                }
                let up = -mean_gravity(inputs.drive, time).normalize();
                solver.fill_volume(up, in_pan).map_err(slosh)?;
                fill
            }
            Fill::Boxes(_) if inputs.circuit.is_some() => {
                return Err(RunFault::BoxesInCircuit);
            }
            Fill::Boxes(boxes) => {
                solver.fill_boxes(boxes).map_err(slosh)?;
                solver.oil_volume()
            }
        };
        if !(fill > 0.0) {
            return Err(RunFault::Dry);
        }
        let mut run = Run {
            inputs,
            solver,
            circuit,
            waiting: vec![0.0; return_places(&inputs)],
            samples: 0,
            history: CoverHistory::default(),
            record: Record::of(inputs.probes),
            fill,
            gate: gate(&inputs),
            lifted: 0,
        };
        run.take_row(0.0, 0.0)?;
        Ok(run)
    }

    /// Takes up a saved run.
    pub fn restore(inputs: Inputs<'a>, state: RunState) -> Result<Self, RunFault> {
        let gate = gate(&inputs);
        let mut solver = match gate {
            Some(gate) if state.lifted > 0 => {
                let lattice = gate.lattice(state.lifted, inputs.lattice);
                fresh(&inputs, &lattice.map_err(|fault| at_start(&inputs, fault))?)?
            }
            _ => fresh(&inputs, inputs.lattice)?,
        };
        solver
            .restore(&state.solver)
            .map_err(|fault| RunFault::Checkpoint(fault.to_string()))?;
        if state.waiting.len() != return_places(&inputs)
            || state.circuit.is_some() != inputs.circuit.is_some()
        {
            return Err(RunFault::Checkpoint("another circuit".into()));
        }
        if state.record.columns != Record::of(inputs.probes).columns {
            return Err(RunFault::Checkpoint("other probes".into()));
        }
        Ok(Run {
            inputs,
            solver,
            circuit: state.circuit,
            waiting: state.waiting,
            samples: state.samples,
            history: state.history,
            record: state.record,
            fill: state.fill,
            gate,
            lifted: state.lifted,
        })
    }

    /// The full-precision state.
    pub fn state(&self) -> RunState {
        RunState {
            samples: self.samples,
            circuit: self.circuit.clone(),
            waiting: self.waiting.clone(),
            history: self.history.clone(),
            record: self.record.clone(),
            fill: self.fill,
            lifted: self.lifted,
            solver: self.solver.state(),
        }
    }

    /// Drive time reached [s].
    pub fn time(&self) -> f64 {
        sample_time(&self.inputs, self.samples)
    }

    /// Samples taken since the start.
    pub fn samples(&self) -> u64 {
        self.samples
    }

    /// Steps of the solver so far.
    pub fn steps(&self) -> u64 {
        self.solver.steps()
    }

    /// True when the end is reached.
    pub fn finished(&self) -> bool {
        self.time() >= self.inputs.end - 1e-9
    }

    /// History so far.
    pub fn history(&self) -> &CoverHistory {
        &self.history
    }

    /// What the probes showed so far, one row a step.
    pub fn record(&self) -> &Record {
        &self.record
    }

    /// Goes on by one sample.
    pub fn advance(&mut self) -> Result<(), RunFault> {
        let end = sample_time(&self.inputs, self.samples + 1);
        let mut time = self.time();
        let last = self.history.time.len() - 1;
        let (mut drawn, mut air) = (self.history.drawn[last], self.history.air[last]);
        let mut rates = vec![0.0; self.waiting.len()];
        while end - time > 1e-12 {
            let until = self.lift(time)?.min(end);
            let moment = self.inputs.drive.at(time);
            let body = Body {
                gravity: moment.gravity,
                spin: moment.spin,
                spin_rate: moment.spin_rate,
                pivot: self.inputs.drive.pivot,
            };
            for (rate, waiting) in rates.iter_mut().zip(&self.waiting) {
                *rate = waiting / RETURN_SMOOTHING;
            }
            let supply = Supply {
                demand: self.demand(moment.engine_speed),
                returns: &rates,
            };
            let step = self
                .solver
                .step(&body, &supply, (until - time).min(0.5 * RETURN_SMOOTHING))
                .map_err(|fault| RunFault::Slosh { time, fault })?;
            time += step.dt;
            drawn += step.oil_drawn;
            air += step.air_drawn;
            for (waiting, rate) in self.waiting.iter_mut().zip(&rates) {
                *waiting -= rate * step.dt;
            }
            if let (Some(circuit), Some(shape)) = (&mut self.circuit, self.inputs.circuit) {
                let home = circuit.advance(shape, step.dt, moment.engine_speed, step.oil_drawn);
                for (waiting, volume) in self.waiting.iter_mut().zip(home) {
                    *waiting += volume;
                }
            }
            self.record.take(time, &self.solver, self.inputs.probes);
            let error = (self.ledger().total() - self.fill).abs() / self.fill;
            if !(error <= LEDGER_TOLERANCE) {
                return Err(RunFault::Ledger { time, error });
            }
        }
        self.samples += 1;
        self.take_row(drawn, air)
    }

    /// Where all the oil is now.
    pub fn ledger(&self) -> Ledger {
        Ledger {
            pan: self.solver.oil_volume(),
            engine: self.circuit.as_ref().map_or(0.0, CircuitState::engine),
            in_flight: self.circuit.as_ref().map_or(0.0, CircuitState::in_flight)
                + self.waiting.iter().sum::<f64>(),
        }
    }

    /// The oil now, for pictures.
    pub fn frame(&self) -> Frame {
        let gravity = self.inputs.drive.at(self.time()).gravity.as_vec3();
        Frame {
            time: self.time(),
            gravity: gravity.to_array(),
            doors: self.solver.door_angles().iter().map(|a| *a as f32).collect(),
            fill: self
                .solver
                .fill()
                .iter()
                .map(|f| (f.clamp(0.0, 1.0) * 255.0).round() as u8)
                .collect(),
        }
    }

    /// Lifts the gate as far as it is due at `time` [s]; gives the time of its next step.
    fn lift(&mut self, time: f64) -> Result<f64, RunFault> {
        let Some(gate) = self.gate else {
            return Ok(f64::INFINITY);
        };
        let before = self.lifted;
        // Steps end on the gate's clock to round-off, and none may be shorter than that.
        while gate.next(self.lifted).is_some_and(|due| due < time + 1e-9) {
            self.lifted += 1;
        }
        if self.lifted != before {
            let slosh = |fault| RunFault::Slosh { time, fault };
            let lattice = gate.lattice(self.lifted, self.inputs.lattice).map_err(slosh)?;
            self.solver = self
                .solver
                .moved_into(&lattice, self.inputs.fluid, self.inputs.doors)
                .map_err(slosh)?;
        }
        Ok(gate.next(self.lifted).unwrap_or(f64::INFINITY))
    }

    /// What the pump asks for at an engine speed [m³/s].
    fn demand(&self, engine_speed: f64) -> f64 {
        self.inputs
            .circuit
            .map_or(0.0, |circuit| circuit.demand(engine_speed))
    }

    fn take_row(&mut self, drawn: f64, air: f64) -> Result<(), RunFault> {
        let time = self.time();
        let moment = self.inputs.drive.at(time);
        let mut spaces = Vec::new();
        self.solver.space_volumes(&mut spaces);
        self.history.push(Row {
            time,
            cover: self.solver.cover_over_mouth(moment.gravity),
            demand: self.demand(moment.engine_speed),
            air,
            drawn,
            spaces,
            doors: self.solver.door_angles().to_vec(),
            at_crank: self.solver.oil_at_crank(),
            ledger: self.ledger(),
        })?;
        Ok(())
    }
}

fn gate<'a>(inputs: &Inputs<'a>) -> Option<Gate<'a>> {
    Gate::of(inputs.tank?, inputs.lattice.cell)
}

fn at_start(inputs: &Inputs, fault: SloshFault) -> RunFault {
    RunFault::Slosh {
        time: inputs.start,
        fault,
    }
}

/// A dry solver for these inputs.
fn fresh(inputs: &Inputs, lattice: &Lattice) -> Result<Solver, RunFault> {
    Solver::new(lattice, inputs.fluid, inputs.doors, inputs.settings).map_err(|fault| at_start(inputs, fault))
}

fn return_places(inputs: &Inputs) -> usize {
    inputs.circuit.map_or(0, |circuit| circuit.shares.len())
}

fn sample_time(inputs: &Inputs, samples: u64) -> f64 {
    (inputs.start + samples as f64 * SAMPLE).min(inputs.end)
}

fn mean_gravity(drive: &Drive, time: f64) -> DVec3 {
    const POINTS: usize = 11;
    (0..POINTS)
        .map(|i| {
            drive
                .at(time - SETTLED_OVER * i as f64 / (POINTS - 1) as f64)
                .gravity
        })
        .sum::<DVec3>()
        / POINTS as f64
}
