//! The same runs on two or three cell sizes.

use crate::failure::Failure;
use crate::preparation::Gridded;
use crate::runner::{Bench, Computed, Task};
use crate::sizes::{Size, at_most};
use pan::{Lattice, Pan};
use pickup::GridStudy;

/// From one grid to the next the cells grow by this: three grids then span one and a half, and the two coarser ones
/// together cost two thirds of the finest.
pub const RATIO: f64 = 1.22;

/// The least ratio that says anything; nearer grids differ by chance.
const LEAST_RATIO: f64 = 1.12;

/// How much larger than the finest the coarsest cell of so many grids is.
pub fn room(grids: usize) -> f64 {
    RATIO.powi(grids as i32 - 1)
}

/// A size made small enough that the coarser cells of a study still see the pan's tight places.
pub fn with_room(pan: &Pan, size: Size, grids: usize) -> Size {
    let places = pan.tight_places();
    let Some(tightest) = Lattice::largest_cell(&places) else {
        return size;
    };
    let most = tightest.across / room(grids);
    if size.cell <= most {
        return size;
    }
    Size {
        cell: most,
        why: format!(
            "{:.1} mm cells: {grids} grids are wanted, and the cells of the coarsest may not be larger than the {}",
            most * 1e3,
            tightest.name
        ),
    }
}

/// The coarser cells of a study with `grids` grids whose finest is `cell` [m], finer first. Fewer than wanted where
/// the pan's tight places leave no room; none at all is a fault.
pub fn coarser(pan: &Pan, cell: f64, grids: usize) -> Result<Vec<f64>, Failure> {
    let wanted = grids.saturating_sub(1);
    if wanted == 0 {
        return Ok(Vec::new());
    }
    let places = pan.tight_places();
    let tightest = Lattice::largest_cell(&places);
    let space = tightest.map_or(f64::INFINITY, |place| place.across / cell * (1.0 + 1e-6));
    let fits = (1..=wanted)
        .rev()
        .map(|number| (number, RATIO.min(space.powf(1.0 / number as f64))))
        .find(|(_, ratio)| *ratio >= LEAST_RATIO);
    let Some((number, ratio)) = fits else {
        let place = tightest.expect("without a tight place there is room");
        return Err(Failure::input(
            format!(
                "cells of {:.2} mm leave no room for a coarser grid: none may be larger than the {}",
                cell * 1e3,
                place.name
            ),
            "--refine",
            format!(
                "state at most --cell \"{}\", or leave --cell out",
                at_most(place.across / room(grids))
            ),
        ));
    };
    Ok((1..=number).map(|i| cell * ratio.powi(i as i32)).collect())
}

/// Computes the tasks on the coarser grids and reads the study of each: `windows` are the stretches that count [s],
/// `finest` the runs on `bench`. One study a task; none when there are no coarser grids.
pub fn studies(
    bench: &Bench,
    coarser: &[Gridded],
    tasks: &[Task],
    windows: &[(f64, f64)],
    finest: &[Computed],
) -> Result<Vec<Option<GridStudy>>, Failure> {
    if coarser.is_empty() {
        return Ok(vec![None; tasks.len()]);
    }
    let plain: Vec<Task> = tasks
        .iter()
        .map(|task| Task {
            pictures: false,
            ..task.clone()
        })
        .collect();
    let mut runs = Vec::new();
    for gridded in coarser {
        let cell = gridded.lattice.cell;
        let what = format!("cells of {:.1} mm", 1e3 * cell);
        runs.push((cell, bench.on(&gridded.lattice).compute(&what, &plain)?));
    }
    let study = |at: usize| {
        let mut grids = vec![(bench.lattice.cell, &finest[at].history)];
        grids.extend(runs.iter().map(|(cell, computed)| (*cell, &computed[at].history)));
        GridStudy::read(&grids, windows[at].0, windows[at].1).map(Some)
    };
    (0..tasks.len())
        .map(study)
        .collect::<Result<_, _>>()
        .map_err(|fault| Failure::computing(fault.to_string(), "keep the design and report it"))
}
