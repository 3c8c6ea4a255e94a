//! Plates that lift during a run: the lattice is built anew as they rise, and the liquid goes on in it.
//!
//! A lifting plate clears the cells' faces row by row; the row that its edge stands in is open in part and resists
//! as a hole smaller than a cell does. It is moved on in steps of a quarter of a cell, so between two steps its
//! edge is off by an eighth at most.

use crate::SloshFault;
use crate::solver::Solver;
use oil::fluid::Fluid;
use pan::{Door, Lattice, Tank};

/// Part of a cell that the quickest plate rises in one step.
const STEP: f64 = 0.25;

/// The lifting plates of a tank and the clock of their steps.
#[derive(Clone, Copy)]
pub(crate) struct Gate<'a> {
    tank: &'a Tank,
    first: f64,
    last: f64,
    /// Time between two steps [s].
    every: f64,
}

impl<'a> Gate<'a> {
    /// `None` when nothing lifts.
    pub fn of(tank: &'a Tank, cell: f64) -> Option<Gate<'a>> {
        let fastest = tank.lifts.iter().map(|l| l.speed).reduce(f64::max)?;
        Some(Gate {
            tank,
            first: tank.lifts.iter().map(|l| l.from).reduce(f64::min)?,
            last: tank.lifts.iter().map(|l| tank.clear_at(l)).reduce(f64::max)?,
            every: STEP * cell / fastest,
        })
    }

    /// When the step after `done` of them is due [s]; `None` once all plates are out of the liquid's way.
    pub fn next(&self, done: u64) -> Option<f64> {
        let due = self.first + done as f64 * self.every;
        (due < self.last + self.every).then_some(due)
    }

    /// The lattice after `done` steps, with the spaces of `shut`, so that a history keeps its columns.
    pub fn lattice(&self, done: u64, shut: &Lattice) -> Result<Lattice, SloshFault> {
        let now = if done == 0 {
            f64::NEG_INFINITY
        } else {
            self.first + (done as f64 - 0.5) * self.every
        };
        let built = Lattice::of_tank(&self.tank.at(now), shut.cell).map_err(|fault| SloshFault::Lattice {
            what: fault.to_string(),
        })?;
        Ok(Lattice {
            space_of: shut.space_of.clone(),
            spaces: shut.spaces.clone(),
            ..built
        })
    }
}

impl Solver {
    /// The same liquid in another lattice of the same cells: what opened is free, what shut stands still.
    pub(crate) fn moved_into(
        &self,
        lattice: &Lattice,
        fluid: Fluid,
        doors: &[Door],
    ) -> Result<Solver, SloshFault> {
        let mut next = Solver::new(lattice, fluid, doors, self.settings)?;
        next.adopt(self)?;
        Ok(next)
    }
}
