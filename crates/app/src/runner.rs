//! Computes runs, several at once, each kept in its own folder so that it can be stopped and taken up.

use crate::failure::Failure;
use crate::progress::Progress;
use crate::stop::Stop;
use crate::store::{RunFolder, Scene, Stored, run_folder};
use crate::terminal;
use drive::Drive;
use job::Start;
use oil::circuit::Circuit;
use oil::fluid::Fluid;
use pan::{Door, Lattice, Pan, Probe, Tank};
use pickup::CoverHistory;
use rayon::prelude::*;
use slosh::run::{Fill, Frame, Inputs, Run, RunFault, SAMPLE};
use slosh::{Record, Settings};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};

/// A checkpoint is written every so many samples (half a second of oil motion).
const SAMPLES_BETWEEN_CHECKPOINTS: u64 = 25;

/// A picture is kept every so many samples (25 a second).
const SAMPLES_BETWEEN_FRAMES: u64 = 2;

/// Pictures kept of so many seconds of oil motion.
pub fn frames_in(seconds: f64) -> usize {
    (seconds / (SAMPLE * SAMPLES_BETWEEN_FRAMES as f64)).ceil() as usize + 1
}

/// What all runs of one command share.
pub struct Bench<'a> {
    /// The pan as cells.
    pub lattice: &'a Lattice,
    /// The pan's doors.
    pub doors: &'a [Door],
    /// Oil at temperature.
    pub fluid: Fluid,
    /// The drive in the pan frame.
    pub drive: &'a Drive,
    /// What is watched at every step.
    pub probes: &'a [Probe],
    /// The tank of an experiment, when plates of it lift.
    pub tank: Option<&'a Tank>,
    /// How the solver works.
    pub settings: Settings,
    /// What the pictures are pictures of.
    pub shown: Shown<'a>,
    /// Folder that holds the runs.
    pub runs: PathBuf,
    /// Ctrl-C.
    pub stop: Stop,
}

/// What the pictures of a run are pictures of.
#[derive(Clone, Copy)]
pub enum Shown<'a> {
    /// A design's pan and its name.
    Pan(&'a str, &'a Pan),
    /// An experiment's tank and its name.
    Tank(&'a str, &'a Tank),
}

impl Shown<'_> {
    fn scene(&self, lattice: &Lattice) -> Scene {
        match self {
            Shown::Pan(name, pan) => Scene::of(name, pan, lattice),
            Shown::Tank(name, tank) => Scene::of_tank(name, tank, lattice),
        }
    }
}

/// One run to compute.
#[derive(Clone)]
pub struct Task {
    /// Oil circuit with its allowance of oil aloft; an experiment has none.
    pub circuit: Option<Circuit>,
    /// All the oil, and how it lies at the start.
    pub fill: Start,
    /// Start with run-in [s].
    pub start: f64,
    /// End [s].
    pub end: f64,
    /// Whether pictures are wanted.
    pub pictures: bool,
}

/// A finished run.
pub struct Computed {
    /// Its history.
    pub history: CoverHistory,
    /// What its probes showed.
    pub record: Record,
    /// Its pictures.
    pub frames: Vec<Frame>,
    /// Steps that the solver took.
    pub steps: u64,
}

impl<'a> Bench<'a> {
    /// The same on other cells.
    pub fn on<'b>(&self, lattice: &'b Lattice) -> Bench<'b>
    where
        'a: 'b,
    {
        Bench {
            lattice,
            runs: self.runs.clone(),
            stop: self.stop.clone(),
            ..*self
        }
    }

    /// What the solver is given for a task that runs beside others, `among` tasks in all: cores that are left over
    /// share the work of its steps.
    pub fn inputs<'b>(&'b self, task: &'b Task, among: usize) -> Inputs<'b> {
        let settings = Settings {
            threads: (rayon::current_num_threads() / among.max(1)).max(1),
            ..self.settings
        };
        Inputs {
            lattice: self.lattice,
            doors: self.doors,
            fluid: self.fluid,
            circuit: task.circuit.as_ref(),
            drive: self.drive,
            fill: match &task.fill {
                Start::Volume(volume) => Fill::Volume(*volume),
                Start::Boxes(boxes) => Fill::Boxes(boxes),
            },
            probes: self.probes,
            tank: self.tank,
            settings,
            start: task.start,
            end: task.end,
        }
    }

    /// Whether any of these tasks has been begun before.
    pub fn begun(&self, tasks: &[Task]) -> bool {
        tasks
            .iter()
            .any(|task| RunFolder::begun(&self.runs, &self.key(task).0))
    }

    /// Name of a task's folder.
    pub fn folder(&self, task: &Task) -> String {
        self.key(task).0
    }

    /// Key of a task's run, and what it is made from. Threads and lanes change no answer and no key.
    fn key(&self, task: &Task) -> (String, serde_json::Value) {
        let said = serde_json::json!({
            "fluid": self.fluid, "circuit": task.circuit, "doors": self.doors, "fill": fill_said(&task.fill),
            "probes": self.probes, "settings": format!("{:?}", Settings { threads: 1, plain: false, ..self.settings }),
            "lifts": self.tank.map(|tank| (&tank.lifts, &tank.plates)),
            "start": task.start, "end": task.end, "pictures": task.pictures,
            "cell": self.lattice.cell, "cells": self.lattice.n, "drive": self.drive.name,
        });
        let lattice = postcard::to_allocvec(self.lattice).expect("a lattice is plain data");
        let window = self.drive.window(task.start - 1.0, task.end);
        let window = postcard::to_allocvec(&window).expect("a drive is plain data");
        (run_folder::key(&said, &[&lattice, &window]), said)
    }

    /// Computes all tasks; `what` names them in the progress line. In the order of `tasks`.
    pub fn compute(&self, what: &str, tasks: &[Task]) -> Result<Vec<Computed>, Failure> {
        let progress = Progress::new(what, tasks.iter().map(|t| t.end - t.start).sum());
        let broken = AtomicBool::new(false);
        let done: Vec<Result<Computed, Failure>> = tasks
            .par_iter()
            .map(|task| {
                let done = self.one(task, tasks.len(), &progress, &broken);
                if done.is_err() {
                    broken.store(true, Ordering::Relaxed);
                }
                done
            })
            .collect();
        progress.finish();
        // One that was stopped because another broke says nothing.
        let (mut computed, mut stopped) = (Vec::new(), None);
        for done in done {
            match done {
                Ok(run) => computed.push(run),
                Err(Failure::Stopped) => stopped = Some(Failure::Stopped),
                Err(failure) => return Err(failure),
            }
        }
        stopped.map_or(Ok(computed), Err)
    }

    fn one(
        &self,
        task: &Task,
        among: usize,
        progress: &Progress,
        broken: &AtomicBool,
    ) -> Result<Computed, Failure> {
        let inputs = self.inputs(task, among);
        let (key, said) = self.key(task);
        let folder = RunFolder::open(&self.runs, &key, &said)?;
        let found = folder.stored()?;
        let stored = found.stored;
        for said in &found.said {
            terminal::remark(&format!("note: {said}"));
        }
        if !found.said.is_empty() {
            let from = stored.as_ref().map_or(0.0, |s| s.samples as f64 * SAMPLE);
            terminal::remark(&format!(
                "note: the run goes on from its last whole checkpoint, {from:.2} s after its start; check the disk"
            ));
        }
        let mut frames_kept = stored.as_ref().map_or(0, |s| s.frames);
        let mut run = match stored {
            Some(stored) => Run::restore(inputs, stored.state),
            None => Run::start(inputs),
        }
        .map_err(failure)?;
        progress.found(run.time() - task.start);
        let mut writer = folder.frame_writer(frames_kept, &self.shown.scene(self.lattice))?;
        if run.samples() == 0 && frames_kept == 0 && task.pictures {
            writer.append(&run.frame())?;
            frames_kept = 1;
        }
        let keep = |run: &Run, frames: u64, writer: &mut crate::store::frames::FrameWriter| {
            writer.flush()?;
            folder.store(&Stored {
                samples: run.samples(),
                frames,
                finished: run.finished(),
                state: run.state(),
            })
        };
        while !run.finished() {
            let before = run.time();
            if let Err(fault) = run.advance() {
                writer.flush()?;
                return Err(self.broken_off(inputs, &folder, fault, run.samples(), frames_kept)?);
            }
            if task.pictures && run.samples().is_multiple_of(SAMPLES_BETWEEN_FRAMES) {
                writer.append(&run.frame())?;
                frames_kept += 1;
            }
            progress.advance(run.time() - before);
            let asked = self.stop.asked() || broken.load(Ordering::Relaxed);
            if asked || run.finished() || run.samples().is_multiple_of(SAMPLES_BETWEEN_CHECKPOINTS) {
                keep(&run, frames_kept, &mut writer)?;
            }
            if asked {
                return Err(Failure::Stopped);
            }
        }
        let frames = if task.pictures {
            folder.frames()?
        } else {
            Vec::new()
        };
        Ok(Computed {
            history: run.history().clone(),
            record: run.record().clone(),
            frames,
            steps: run.steps(),
        })
    }
}

impl Bench<'_> {
    /// Keeps a run that cannot go on up to its last good sample, and says so. The fault has spoilt the run itself, so it
    /// is computed again from its last checkpoint: half a second of oil motion, to the same bits.
    fn broken_off(
        &self,
        inputs: Inputs,
        folder: &RunFolder,
        fault: RunFault,
        good: u64,
        frames: u64,
    ) -> Result<Failure, Failure> {
        let mut run = match folder.stored()?.stored {
            Some(stored) => Run::restore(inputs, stored.state),
            None => Run::start(inputs),
        }
        .map_err(failure)?;
        while run.samples() < good {
            run.advance().map_err(failure)?;
        }
        folder.store(&Stored {
            samples: run.samples(),
            frames,
            finished: false,
            state: run.state(),
        })?;
        let Failure::Computing(mut complaint) = failure(fault) else {
            unreachable!("a run's fault is no wrong input");
        };
        complaint.place = format!(
            "{}, which keeps the run up to {:.2} s of the drive",
            folder.path().display(),
            run.time()
        );
        Ok(Failure::Computing(complaint))
    }
}

/// A fill for the key of a run. JSON has no infinity, so the corners of boxes are written as their bits would be
/// read back: as text.
fn fill_said(fill: &Start) -> serde_json::Value {
    match fill {
        Start::Volume(volume) => serde_json::json!(volume),
        Start::Boxes(boxes) => boxes
            .iter()
            .map(|b| format!("{:?} to {:?}", b.low.to_array(), b.high.to_array()))
            .collect(),
    }
}

fn failure(fault: RunFault) -> Failure {
    let mend = match &fault {
        RunFault::Circuit { .. } => "add oil, or state less oil aloft in [circuit]",
        RunFault::Slosh { .. } => {
            "try another cell size with --cell; if it stays, keep the design and the run folder and report it"
        }
        RunFault::BoxesInCircuit | RunFault::Dry => "change [start]",
        RunFault::Ledger { .. } | RunFault::History(_) => "keep the design and the run folder and report it",
        RunFault::Checkpoint(_) => "delete the run's folder and run the same command again",
    };
    Failure::computing(format!("the oil could not be computed: {fault}"), mend)
}

#[cfg(test)]
mod tests;
