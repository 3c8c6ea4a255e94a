//! The replay of the worst moments.

use super::Computation;
use crate::failure::Failure;
use crate::store::open_shares;
use glam::DVec3;
use report::replay::{ReplayBundle, ReplayFrame, ReplayMoment, parts_of};

/// The oil of the moments as the page shows it, within its budget of bytes.
pub fn replay(c: &Computation) -> Result<ReplayBundle, Failure> {
    let lattice = &c.cases.gridded.lattice;
    let pan = &c.cases.prepared.design.pan;
    let limit = c.cases.prepared.design.limits.least_cover;
    let moments = c
        .verdict
        .moments
        .iter()
        .map(|found| (found, &c.moments[found.index], &c.computed[found.index]))
        // A sketch has no pictures.
        .filter(|(_, _, run)| !run.frames.is_empty())
        .map(|(found, moment, run)| {
            let history = &run.history;
            let frames = run
                .frames
                .iter()
                .filter(|frame| frame.time >= moment.start - 1e-9)
                .map(|frame| {
                    let row = history
                        .time
                        .partition_point(|t| *t < frame.time - 1e-9)
                        .min(history.len() - 1);
                    ReplayFrame {
                        time: frame.time,
                        fill: frame.fill.clone(),
                        cover: history.cover[row],
                        bare: history.bare(row),
                        gravity: frame.gravity.map(f64::from),
                        doors: frame.doors.iter().map(|a| f64::from(*a)).collect(),
                    }
                })
                .collect();
            ReplayMoment {
                name: moment.name.clone(),
                place: c.cases.place(found.worst_at),
                worst: found.worst_at,
                limit,
                frames,
            }
        })
        .collect();
    ReplayBundle {
        n: lattice.n,
        cell: lattice.cell,
        origin: lattice.origin.to_array(),
        open: open_shares(lattice),
        parts: parts_of(pan),
        car_forward: (c.cases.prepared.pan_from_car * DVec3::X).to_array(),
        moments,
        said: String::new(),
    }
    .fit(report::replay::BUDGET)
    .map_err(|fault| {
        Failure::computing(
            format!("the replay cannot be written: {fault}"),
            "keep the design and report it",
        )
    })
}
