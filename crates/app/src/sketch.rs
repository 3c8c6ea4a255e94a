//! Bays in the place of the 3-D solver: the same tasks, the same histories, in a blink.

use crate::cases::Cases;
use crate::failure::Failure;
use crate::runner::{Computed, Task};
use bays::Network;
use bays::ports::Plane;
use bays::run::{Inputs, RunFault};
use job::Start;
use pickup::CoverHistory;
use rayon::prelude::*;
use slosh::Record;

/// What bays cannot see: said with every answer.
pub const BLIND: &str = "bays see no waves within a space but the first and no spray; `sumpwright check` \
is the proof";

/// Half-width of the band that a cover by bays lies in [m]: what the suite of docs/validation.md is held to.
pub const BAND: f64 = 8e-3;

/// Oil between the spaces of one pan.
pub struct Sketch<'a> {
    /// What the cases share.
    pub cases: &'a Cases<'a>,
    /// Bays and ports.
    pub network: &'a Network,
}

impl<'a> Sketch<'a> {
    /// Bays and ports of a lattice.
    ///
    /// # Errors
    /// When the lattice cannot be cut, which is a fault of the program.
    pub fn network(
        prepared: &crate::preparation::Prepared,
        lattice: &pan::Lattice,
    ) -> Result<Network, Failure> {
        Network::cut(lattice, &prepared.design.pan.doors)
            .map_err(|fault| Failure::computing(fault.to_string(), "tell us: this is a fault of the program"))
    }

    /// Computes the tasks, in their order.
    ///
    /// # Errors
    /// When there is too little oil for the circuit or too much for the pan.
    pub fn compute(&self, tasks: &[Task]) -> Result<Vec<Computed>, Failure> {
        tasks.par_iter().map(|task| self.one(task)).collect()
    }

    fn one(&self, task: &Task) -> Result<Computed, Failure> {
        let history = self.watched(task, |_| {})?;
        Ok(Computed {
            steps: history.len() as u64,
            history,
            record: Record::default(),
            frames: Vec::new(),
        })
    }

    /// Computes a task; `seen` is told where each bay's surface lies, once for every row of the history.
    ///
    /// # Errors
    /// As of [`Sketch::compute`].
    pub fn watched(
        &self,
        task: &Task,
        seen: impl FnMut(&mut dyn Iterator<Item = Plane>),
    ) -> Result<CoverHistory, Failure> {
        let (prepared, driven) = (self.cases.prepared, self.cases.driven);
        let Start::Volume(fill) = task.fill else {
            unreachable!("a design states its oil by volume");
        };
        let inputs = Inputs {
            network: self.network,
            fluid: prepared.fluid,
            circuit: task.circuit.as_ref(),
            drive: &driven.pan,
            fill,
            start: task.start,
            end: task.end,
        };
        bays::run::watched(inputs, seen).map_err(failure)
    }
}

/// What the user is told of a run of bays that failed.
pub fn failure(fault: RunFault) -> Failure {
    match fault {
        RunFault::Circuit { .. } | RunFault::Overfull { .. } => Failure::input(
            fault.to_string(),
            "fill, circuit.aloft",
            "change [fill] or [circuit]",
        ),
        RunFault::Ledger { .. } | RunFault::History(_) => Failure::computing(fault.to_string(), "tell us"),
    }
}
