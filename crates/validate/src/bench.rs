//! Runs the experiments of `examples/experiments` as the ordinary program does: file, lattice, run, record.

use crate::curve::Curve;
use crate::{Row, Scale};
use job::{Experiment, Job, Start};
use pan::Lattice;
use slosh::run::{Fill, Frame, Inputs, Run};
use slosh::{Record, Settings};
use std::path::Path;

/// What one run showed.
pub struct Shown {
    /// Probes, one row a step.
    pub record: Record,
    /// The liquid at the moments asked for.
    pub frames: Vec<Frame>,
    /// The cells.
    pub lattice: Lattice,
}

impl Shown {
    /// A probe's column against time.
    ///
    /// # Panics
    /// When the experiment has no such probe.
    pub fn curve(&self, column: &str) -> Curve {
        Curve {
            time: self.record.time.clone(),
            value: (self.record.series(column)).unwrap_or_else(|| panic!("no probe shows `{column}`")),
        }
    }
}

/// Reads `examples/experiments/NAME.toml`.
pub fn read(name: &str) -> Result<Experiment, String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples/experiments")
        .join(name)
        .with_extension("toml");
    match job::read_any(&path) {
        Ok(Job::Experiment(experiment)) => Ok(*experiment),
        Ok(Job::Pan(_)) => Err(format!("{} is no experiment", path.display())),
        Err(faults) => Err(faults
            .iter()
            .map(|f| format!("{f:?}"))
            .collect::<Vec<_>>()
            .join("\n")),
    }
}

/// Computes it with cells of `cell` [m] up to `until` [s]; frames at the first samples not before each of `moments`.
pub fn compute(experiment: &Experiment, cell: f64, until: f64, moments: &[f64]) -> Result<Shown, String> {
    let lattice = Lattice::of_tank(&experiment.tank, cell).map_err(|fault| fault.to_string())?;
    let inputs = Inputs {
        lattice: &lattice,
        doors: &experiment.tank.doors,
        fluid: experiment.fluid,
        circuit: None,
        drive: &experiment.drive,
        fill: match &experiment.start {
            Start::Volume(volume) => Fill::Volume(*volume),
            Start::Boxes(boxes) => Fill::Boxes(boxes),
        },
        probes: &experiment.probes,
        tank: Some(&experiment.tank),
        settings: Settings {
            wall_friction: experiment.walls_rub,
            ..Settings::default()
        },
        start: experiment.drive.start(),
        end: experiment.drive.end().min(until),
    };
    let mut run = Run::start(inputs).map_err(|fault| fault.to_string())?;
    let mut frames = Vec::new();
    while !run.finished() {
        run.advance().map_err(|fault| fault.to_string())?;
        while moments.get(frames.len()).is_some_and(|t| run.time() >= *t) {
            frames.push(run.frame());
        }
    }
    let record = run.record().clone();
    drop(run);
    Ok(Shown {
        record,
        frames,
        lattice,
    })
}

/// A row that says why a case could not be computed; it is always off.
pub fn stopped(case: &str, source: &'static str, why: &str) -> Row {
    let note = format!("not computed: {}", why.replace(['\n', '|'], "; "));
    Row::new(
        case,
        (f64::NAN, f64::NAN),
        "",
        (0.0, Scale::Absolute),
        source,
        note,
    )
}

/// Does `work` for each grid, all at once; the results in the order of `grids`.
pub fn each<G: Copy + Send, T: Send>(grids: &[G], work: impl Fn(G) -> T + Sync) -> Vec<T> {
    std::thread::scope(|scope| {
        let hands: Vec<_> = grids
            .iter()
            .map(|&grid| {
                let work = &work;
                scope.spawn(move || work(grid))
            })
            .collect();
        hands
            .into_iter()
            .map(|hand| {
                hand.join()
                    .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
            })
            .collect()
    })
}
