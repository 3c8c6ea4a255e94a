//! A work done once with a clock beside it.

use crate::machine;
use crate::works::BoxWork;
use serde::{Deserialize, Serialize};
use slosh::{Phase, Supply};
use std::time::Instant;

/// What a work cost.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Timed {
    /// Threads it was given.
    pub threads: usize,
    /// Simulated seconds.
    pub simulated: f64,
    /// Wall time of the steps [s].
    pub wall: f64,
    /// Processor time of the steps, all threads [s]; none where the system does not say.
    pub cpu: Option<f64>,
    /// Steps.
    pub steps: u64,
    /// Liquid cells summed over the steps.
    pub cell_steps: u64,
    /// Pressure iterations: sum over the steps, and the most in one.
    pub iterations: (u64, u32),
    /// Transport sub-steps, summed.
    pub sweeps: u64,
    /// Wall time of each phase [s], in the order of `Phase::ALL`.
    pub phases: Vec<f64>,
    /// Most memory that this process held [bytes]; none where the system does not say.
    pub peak_memory: Option<u64>,
    /// |volume + booked − fill| / fill at the end.
    pub volume_error: f64,
    /// Check sum over the fills at the end: runs that should agree to the bit do in this.
    pub print: u64,
}

impl Timed {
    /// Wall seconds for a simulated second.
    pub fn wall_rate(&self) -> f64 {
        self.wall / self.simulated
    }

    /// Processor seconds for a simulated second.
    pub fn cpu_rate(&self) -> Option<f64> {
        self.cpu.map(|cpu| cpu / self.simulated)
    }

    /// Iterations a step.
    pub fn mean_iterations(&self) -> f64 {
        self.iterations.0 as f64 / self.steps.max(1) as f64
    }

    /// Liquid cells, mean over the steps.
    pub fn mean_cells(&self) -> f64 {
        self.cell_steps as f64 / self.steps.max(1) as f64
    }
}

/// Does `work` for `seconds` of oil motion on `threads` threads. Filling and set-up are not timed.
pub fn time_box(work: &BoxWork, threads: usize, seconds: f64) -> Result<Timed, String> {
    steps(work, threads, seconds).map_err(|fault| fault.to_string())
}

fn steps(work: &BoxWork, threads: usize, seconds: f64) -> Result<Timed, slosh::SloshFault> {
    let mut solver = work.solver(threads)?;
    let before = solver.oil_volume();
    let mut timed = Timed {
        threads,
        simulated: seconds,
        wall: 0.0,
        cpu: None,
        steps: 0,
        cell_steps: 0,
        iterations: (0, 0),
        sweeps: 0,
        phases: vec![0.0; Phase::ALL.len()],
        peak_memory: None,
        volume_error: 0.0,
        print: 0,
    };
    let mut time = 0.0;
    let cpu = machine::processor_time();
    let begun = Instant::now();
    let mut last = begun;
    while seconds - time > 1e-12 {
        let (body, most) = work.body(time, seconds);
        let phases = &mut timed.phases;
        let mut ended = |phase: Phase| {
            let now = Instant::now();
            phases[phase as usize] += (now - last).as_secs_f64();
            last = now;
        };
        let step = solver.step_watched(&body, &Supply::NONE, most, &mut ended)?;
        time += step.dt;
        timed.steps += 1;
        timed.cell_steps += step.liquid_cells as u64;
        timed.iterations.0 += u64::from(step.iterations);
        timed.iterations.1 = timed.iterations.1.max(step.iterations);
        timed.sweeps += u64::from(step.sweeps);
    }
    timed.wall = begun.elapsed().as_secs_f64();
    timed.cpu = cpu.and_then(|cpu| Some(machine::processor_time()? - cpu));
    timed.peak_memory = machine::peak_memory();
    timed.volume_error = (solver.oil_volume() - before).abs() / before;
    timed.print = solver.fill().iter().fold(0xcbf2_9ce4_8422_2325, |h: u64, f| {
        (h ^ f.to_bits()).wrapping_mul(0x0100_0000_01b3)
    });
    Ok(timed)
}
