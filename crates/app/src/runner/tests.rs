//! What is kept when the solver gives up in the middle of a run.

use super::*;
use crate::cli::Common;
use crate::preparation::Prepared;
use std::path::Path;

/// A run of the box of the examples whose pressure solve is allowed too few iterations: it begins at rest, which needs
/// few, and fails once the oil moves. The number that does so is the solver's affair, so it is looked for.
#[test]
fn a_pressure_that_does_not_converge_stops_the_run_with_its_residual_and_keeps_what_was_computed() {
    let runs = std::env::temp_dir().join(format!("sumpwright-{}-broken-off", std::process::id()));
    let _ = std::fs::remove_dir_all(&runs);
    let common = Common {
        design: Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/box/pan.toml"),
        log: None,
        course: None,
        json: false,
    };
    let Ok(prepared) = Prepared::read(&common) else {
        panic!("the example is sound");
    };
    let Ok(driven) = prepared.drive(&common) else {
        panic!("the example has a drive");
    };
    let design = &prepared.design;
    let lattice = Lattice::build(&design.pan, 0.020).expect("large cells do here");
    let task = Task {
        circuit: Some(design.circuit.clone()),
        fill: Start::Volume(design.fill),
        start: 0.0,
        end: 3.0,
        pictures: true,
    };
    let bench = |most: u32| Bench {
        lattice: &lattice,
        doors: &design.pan.doors,
        fluid: prepared.fluid,
        drive: &driven.pan,
        probes: &[],
        tank: None,
        shown: Shown::Pan("test", &design.pan),
        settings: Settings {
            max_iterations: most,
            ..Settings::default()
        },
        runs: runs.clone(),
        stop: Stop::default(),
    };
    let fails = |most: u32| match bench(most).compute("test", std::slice::from_ref(&task)) {
        Err(Failure::Computing(complaint)) => complaint,
        Err(_) => panic!("it could not be computed, and is no wrong input"),
        Ok(_) => panic!(
            "{most} iterations do for all of it, and {} not for a sample",
            most - 1
        ),
    };
    // Samples, history and pictures that the folder holds.
    let kept = |most: u32| {
        let bench = bench(most);
        let (key, said) = bench.key(&task);
        let folder = RunFolder::open(&runs, &key, &said).expect("the folder is free again");
        let stored = folder
            .stored()
            .expect("it can be read")
            .stored
            .expect("there is a checkpoint");
        let frames = folder.frames().expect("they are whole").len();
        let run = Run::restore(bench.inputs(&task, 1), stored.state).expect("it belongs to these inputs");
        (run.samples(), run.history().clone(), frames as u64)
    };
    let (most, complaint) = (2..60)
        .map(|most| (most, fails(most)))
        .find(|(most, _)| {
            let samples = kept(*most).0;
            samples > 0 && !samples.is_multiple_of(SAMPLES_BETWEEN_CHECKPOINTS)
        })
        .expect("some number of iterations does for a while");
    for words in [
        "pressure did not converge",
        "residual",
        &format!("after {most} iterations"),
    ] {
        assert!(
            complaint.what.contains(words),
            "`{words}` is missing in: {}",
            complaint.what
        );
    }
    assert!(!complaint.mend.is_empty());

    // What was computed is there, sample by sample up to the one before the fault: more than the last plain checkpoint.
    let (samples, history, frames) = kept(most);
    assert_eq!(history.len() as u64, samples + 1);
    assert_eq!(frames, samples / SAMPLES_BETWEEN_FRAMES + 1);
    let (key, _) = bench(most).key(&task);
    assert!(complaint.place.contains(&key), "{}", complaint.place);
    let until = format!("{:.2} s", samples as f64 * SAMPLE);
    assert!(
        complaint.place.contains(&until),
        "{} and {until}",
        complaint.place
    );

    // The same command says the same again, and loses nothing.
    let again = fails(most);
    assert_eq!((again.what, again.place), (complaint.what, complaint.place));
    assert_eq!(kept(most), (samples, history, frames));
    let _ = std::fs::remove_dir_all(&runs);
}
