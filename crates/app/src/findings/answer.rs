//! The answer as facts: verdict, moments, allowances, lowest fill, cures.

use super::Computation;
use crate::cases::holds;
use crate::failure::Failure;
use glam::DVec3;
use measure::{Dimension, show};
use pickup::allowance::{Allowance, weigh};
use pickup::fill::{Answer, FillSearch};
use pickup::verdict::MomentFinding;
use report::findings::{AloftCase, Cure, Instant, LowestFill, Measured, Moment, TriedFill, Verdict, thin};
use report::section::through_mouth;

/// Rows of a moment's history that the report draws.
const HISTORY_ROWS: usize = 400;

fn instant(c: &Computation, time: f64) -> Instant {
    Instant {
        time,
        place: c.cases.place(time),
    }
}

/// The verdict at the middle allowance, weighed with the others where they were computed.
pub fn verdict(c: &Computation) -> Verdict {
    let v = c.verdict;
    let mut word = v.word;
    let mut sentence = v.sentence.clone();
    if !c.allowances.is_empty() {
        let mut all: Vec<(Allowance, &pickup::verdict::Verdict)> =
            c.allowances.iter().map(|(a, v)| (*a, v)).collect();
        all.push((Allowance::Mid, v));
        let weighed = weigh(&all);
        // A worse answer at another allowance belongs into the headline, also where the word stays.
        if weighed.word != word || all.iter().any(|(_, other)| other.word > v.word) {
            word = weighed.word;
            sentence = format!("{sentence} {}", weighed.sentence);
        }
    }
    let cures = cures(c);
    if let Some(cure) = cures.first().filter(|_| !holds(v.word)) {
        sentence = format!("{sentence} {}.", cure.said);
    }
    let longest_gulp_at = v.longest_gulp.map(|g| instant(c, 0.5 * (g.start + g.end)));
    Verdict {
        word,
        sentence,
        reason: v.reason.clone(),
        least_cover: Measured {
            value: v.least_cover,
            band: Some(v.band),
        },
        least_cover_at: instant(c, v.least_cover_at),
        air_per_lap: Measured {
            value: v.air_per_lap,
            band: v.air_band,
        },
        longest_gulp: v.longest_gulp.map_or(0.0, |g| g.length()),
        longest_gulp_at,
        first_air: v.first_air.map(|t| instant(c, t)),
        most_at_crank: v.most_at_crank,
        most_at_crank_at: (v.most_at_crank > 0.0).then(|| instant(c, v.most_at_crank_at)),
        cures,
    }
}

/// What would keep the mouth covered.
fn cures(c: &Computation) -> Vec<Cure> {
    let design = &c.cases.prepared.design;
    let litres = |volume: f64| show(volume, Dimension::Volume, design.units);
    let mut cures = Vec::new();
    if holds(c.verdict.word) {
        return cures;
    }
    if let Some(Ok(search)) = c.lowest_fill {
        match search.answer {
            Answer::Found { fill, .. } => {
                let up = c.cases.prepared.up;
                let gap = design
                    .pan
                    .height_at_volume(up, fill)
                    .ok()
                    .and_then(|level| design.pan.crank_gap(up, level));
                cures.push(Cure {
                    said: format!("{} more oil, {} in all, keeps the mouth covered in this moment",
                        litres(fill - design.fill), litres(fill)),
                    cost: gap.map_or(String::new(), |gap| {
                        format!("with the engine off {} are left to the crank sweep",
                            show(gap, Dimension::Length, design.units))
                    }),
                    computed: true,
                });
            }
            Answer::HoldsNowhere => cures.push(Cure {
                said: "More oil alone does not cure it: the pan wants walls or doors that keep oil at the mouth, \
                       or the mouth nearer to where the oil goes"
                    .into(),
                cost: String::new(),
                computed: true,
            }),
            Answer::HoldsThroughout | Answer::NotOneSided { .. } => {}
        }
    }
    let doors_of_mouth = c
        .cases
        .words
        .doors
        .iter()
        .any(|d| d.into.is_some_and(|space| c.cases.words.spaces[space].has_mouth));
    if let Some(worst) = c.verdict.moments.first()
        && !doors_of_mouth
    {
        let pushed = &c.moments[worst.index].pushed;
        if !pushed.is_empty() {
            cures.push(Cure {
                said: format!(
                    "A wall on the {pushed} side of the mouth with a door that opens toward the mouth, so that oil \
                     comes in and does not go out"
                ),
                cost: "a door is a moving part: check that it swings free at every oil change".into(),
                computed: false,
            });
        }
    }
    cures
}

/// The moments, worst first.
pub fn moments(c: &Computation) -> Result<Vec<Moment>, Failure> {
    c.verdict
        .moments
        .iter()
        .enumerate()
        .map(|(rank, found)| moment(c, rank + 1, found))
        .collect()
}

fn moment(c: &Computation, rank: usize, found: &MomentFinding) -> Result<Moment, Failure> {
    let (moment, run) = (&c.moments[found.index], &c.computed[found.index]);
    let pan = &c.cases.prepared.design.pan;
    let gravity = c.cases.driven.pan.at(found.worst_at).gravity;
    let nearest = run.frames.iter().min_by(|a, b| {
        (a.time - found.worst_at)
            .abs()
            .total_cmp(&(b.time - found.worst_at).abs())
    });
    let sections = match nearest {
        Some(frame) => {
            let doors: Vec<f64> = frame.doors.iter().map(|a| f64::from(*a)).collect();
            let down = DVec3::from_array(frame.gravity.map(f64::from));
            through_mouth(pan, &c.cases.gridded.lattice, &frame.fill, &doors, down)
                .map_err(|fault| Failure::computing(fault.to_string(), "keep the design and report it"))?
        }
        None => Vec::new(),
    };
    Ok(Moment {
        rank,
        name: moment.name.clone(),
        said: format!("Picked for {}.", moment.why),
        start: moment.run_in_start,
        counts_from: moment.start,
        end: moment.end,
        worst: instant(c, found.worst_at),
        least_cover: found.least_cover,
        least_cover_band: Some(found.band),
        thin_for: found.thin_for,
        bare_for: found.bare_for,
        air: found.air,
        air_band: found.air_band,
        grids: c.studies[found.index].clone(),
        longest_gulp: found.longest_gulp.map_or(0.0, |g| g.length()),
        most_at_crank: found.most_at_crank,
        gravity_at_worst: gravity.to_array(),
        why: found.sentence.clone(),
        history: thin(&run.history, HISTORY_ROWS),
        sections,
    })
}

/// Low, mid, high.
pub fn aloft(c: &Computation) -> Vec<AloftCase> {
    let Some(worst) = c.verdict.moments.first() else {
        return Vec::new();
    };
    if c.allowances.is_empty() {
        return Vec::new();
    }
    let speed = c.cases.driven.car.at(worst.worst_at).engine_speed;
    Allowance::ALL
        .into_iter()
        .filter_map(|allowance| {
            // The middle row is the worst moment alone, as the other two are.
            let found = match allowance {
                Allowance::Mid => worst,
                _ => c
                    .allowances
                    .iter()
                    .find(|(a, _)| *a == allowance)?
                    .1
                    .moments
                    .first()?,
            };
            Some(AloftCase {
                name: allowance.said().to_string(),
                aloft: c.cases.circuit(allowance).outside_at(speed),
                word: found.word,
                least_cover: found.least_cover,
                air: found.air,
                longest_gulp: found.longest_gulp.map_or(0.0, |g| g.length()),
            })
        })
        .collect()
}

/// The lowest fill.
pub fn lowest_fill(c: &Computation) -> Option<LowestFill> {
    let units = c.cases.prepared.design.units;
    let litres = |volume: f64| show(volume, Dimension::Volume, units);
    let search = match c.lowest_fill? {
        Ok(search) => search,
        Err(why) => {
            return Some(LowestFill {
                fill: None,
                band: 0.0,
                said: format!("Not searched: {why}."),
                tried: vec![],
            });
        }
    };
    let FillSearch {
        answer,
        tried,
        tolerance,
    } = search;
    let ends = || (litres(tried[0].0), litres(tried[tried.len() - 1].0));
    let (fill, said) = match *answer {
        Answer::Found { fill, fails_at } => (
            Some(fill),
            format!(
                "Computed on the worst moment: it holds with {}, it fails with {}.",
                litres(fill),
                litres(fails_at)
            ),
        ),
        Answer::HoldsThroughout => (
            Some(tried[0].0),
            format!(
                "Computed on the worst moment: it still holds with {}, the least that was tried.",
                ends().0
            ),
        ),
        Answer::HoldsNowhere => (
            None,
            format!(
                "Computed on the worst moment: it fails up to {}, the most that was tried.",
                ends().1
            ),
        ),
        Answer::NotOneSided { holds_at, fails_at } => (
            None,
            format!(
                "More oil is not simply better here: it holds with {} and fails with {}.",
                litres(holds_at),
                litres(fails_at)
            ),
        ),
    };
    let tried = tried
        .iter()
        .map(|(fill, o)| TriedFill {
            fill: *fill,
            least_cover: o.least_cover,
            air: o.air,
        })
        .collect();
    Some(LowestFill {
        fill,
        band: *tolerance,
        said,
        tried,
    })
}
