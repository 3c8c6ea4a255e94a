//! The worked example's second revision over a stretch of its own lap, as the program computes it.

use crate::machine;
use pan::Lattice;
use serde::{Deserialize, Serialize};
use slosh::run::{Fill, Inputs, Run};
use std::path::Path;
use std::time::Instant;

/// What the stretch cost.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct DemoTimed {
    /// Cells of the lattice and of them open.
    pub cells: (usize, usize),
    /// Cell [m].
    pub cell: f64,
    /// Threads.
    pub threads: usize,
    /// Stretch on the drive's clock [s].
    pub stretch: (f64, f64),
    /// Simulated seconds; fewer than asked when the time was up.
    pub simulated: f64,
    /// Wall [s].
    pub wall: f64,
    /// Processor time [s].
    pub cpu: Option<f64>,
    /// Steps.
    pub steps: u64,
    /// Memory [bytes].
    pub peak_memory: Option<u64>,
}

/// Computes from `from` for `seconds`, or until `patience` [s] of wall time is spent.
pub fn time_demo(
    cell: f64,
    threads: usize,
    from: f64,
    seconds: f64,
    patience: f64,
) -> Result<DemoTimed, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let file = root.join("examples/heath-lane/second.toml");
    let faults = |faults: Vec<job::Fault>| {
        let said: Vec<String> = faults.iter().map(|f| f.what.clone()).collect();
        said.join("; ")
    };
    let design = job::read(&file).map_err(faults)?;
    let drive = design.drives[0]
        .drive()
        .map_err(faults)?
        .in_frame(design.installation.pan_from_car());
    let oil = &design.oil;
    let fluid = oil
        .spec
        .at(oil.temperature, oil.aeration)
        .map_err(|e| e.to_string())?;
    let lattice = Lattice::build(&design.pan, cell).map_err(|e| e.to_string())?;
    let inputs = Inputs {
        lattice: &lattice,
        doors: &design.pan.doors,
        fluid,
        circuit: Some(&design.circuit),
        drive: &drive,
        fill: Fill::Volume(design.fill),
        probes: &[],
        tank: None,
        settings: slosh::Settings {
            threads,
            ..slosh::Settings::default()
        },
        start: from,
        end: from + seconds,
    };
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .map_err(|e| e.to_string())?;
    pool.install(|| {
        let mut run = Run::start(inputs).map_err(|e| e.to_string())?;
        let cpu = machine::processor_time();
        let begun = Instant::now();
        while !run.finished() && begun.elapsed().as_secs_f64() < patience {
            run.advance().map_err(|e| e.to_string())?;
        }
        Ok(DemoTimed {
            cells: (
                lattice.cells(),
                lattice.open_volume.iter().filter(|v| **v > 0.0).count(),
            ),
            cell,
            threads,
            stretch: (from, from + seconds),
            simulated: run.time() - from,
            wall: begun.elapsed().as_secs_f64(),
            cpu: cpu.and_then(|cpu| Some(machine::processor_time()? - cpu)),
            steps: run.steps(),
            peak_memory: machine::peak_memory(),
        })
    })
}
