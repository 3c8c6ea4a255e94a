//! Working through cases: what is done is skipped, what others are at is left to them.

use super::folder::{Outcome, StudyFolder};
use super::single::Shared;
use crate::cli::Slice;
use crate::commands::Workers;
use crate::failure::Failure;
use crate::progress::Progress;
use crate::stop::Stop;
use crate::terminal;
use ::study::Figure;
use ::study::search::Score;
use job::Level;
use rayon::prelude::*;
use std::sync::Mutex;
use std::time::Duration;

/// How long to wait for other processes before looking again.
const PATIENCE: Duration = Duration::from_millis(200);

/// A case with its values.
#[derive(Clone)]
pub struct Case {
    /// Number.
    pub number: usize,
    /// Values, input by input.
    pub levels: Vec<Level>,
}

/// All that working needs.
pub struct Work<'a> {
    /// What cases share.
    pub shared: Shared<'a>,
    /// The folder.
    pub folder: &'a StudyFolder,
    /// The threads.
    pub workers: &'a Workers,
    /// Asked to stop?
    pub stop: Stop,
    /// Only these cases.
    pub slice: Option<Slice>,
}

/// What was reached.
pub struct Reached {
    /// Every case that is known by now: of a search, those of the generations begun.
    pub cases: Vec<Case>,
    /// A search waits for cases that are not in the slice.
    pub waits_for: Option<String>,
}

impl Work<'_> {
    /// Works through the study as far as it can.
    pub fn run(&self) -> Result<Reached, Failure> {
        match self.shared.study.plan.draws() {
            Some(draws) => {
                let cases = self.numbered(0, &draws);
                let progress = Progress::counting("study", self.ours(&cases).len(), "cases");
                self.compute(&cases, &progress)?;
                progress.finish();
                Ok(Reached {
                    cases,
                    waits_for: None,
                })
            }
            None => self.search(),
        }
    }

    fn numbered(&self, first: usize, draws: &[Vec<f64>]) -> Vec<Case> {
        let case = |(i, draw): (usize, &Vec<f64>)| Case {
            number: first + i,
            levels: self.shared.study.levels(draw),
        };
        draws.iter().enumerate().map(case).collect()
    }

    /// Those of `cases` that are in the slice.
    fn ours<'c>(&self, cases: &'c [Case]) -> Vec<&'c Case> {
        let within = |case: &&Case| {
            self.slice
                .is_none_or(|slice| (slice.from..slice.to).contains(&case.number))
        };
        cases.iter().filter(within).collect()
    }

    /// Generation by generation; each follows from the figures of those before, so all of them must be there.
    fn search(&self) -> Result<Reached, Failure> {
        let study = self.shared.study;
        let search = study.plan.search().expect("a plan without draws is a search");
        let (mut known, mut done): (Vec<Case>, Vec<Vec<Score>>) = (Vec::new(), Vec::new());
        let total = self.slice.map_or(study.plan.cases(), |slice| {
            slice.to.min(study.plan.cases()).saturating_sub(slice.from)
        });
        let progress = Progress::counting("study", total, "cases");
        while let Some(draws) = search.next(&done) {
            let cases = self.numbered(known.len(), &draws);
            let generation = done.len();
            known.extend(cases.iter().cloned());
            let scores = loop {
                self.compute(&cases, &progress)?;
                let scores: Vec<Option<Score>> = cases.iter().map(|case| self.score(case)).collect();
                let missing: Vec<usize> = (cases.iter().zip(&scores))
                    .filter(|(_, score)| score.is_none())
                    .map(|(case, _)| case.number)
                    .collect();
                if missing.is_empty() {
                    break scores.into_iter().flatten().collect();
                }
                let ours = |number: &usize| self.slice.is_none_or(|s| (s.from..s.to).contains(number));
                if !missing.iter().all(ours) {
                    progress.finish();
                    let waits_for = format!(
                        "generation {} of the search lacks {} cases that are not in this slice, from case {} on; work those first, \
                         here or elsewhere, then run the same command again",
                        generation + 1,
                        missing.len(),
                        missing[0]
                    );
                    return Ok(Reached {
                        cases: known,
                        waits_for: Some(waits_for),
                    });
                }
                // Another process is at the last ones; should it die, its claims end with it.
                std::thread::sleep(PATIENCE);
                if self.stop.asked() {
                    return Err(Failure::Stopped);
                }
            };
            done.push(scores);
        }
        progress.finish();
        Ok(Reached {
            cases: known,
            waits_for: None,
        })
    }

    /// The score of a case that is done.
    fn score(&self, case: &Case) -> Option<Score> {
        let found = self.folder.case(case.number)?;
        let costs = |figures| -> Option<Vec<f64>> {
            let aims = self.shared.study.aims.iter();
            aims.map(|aim: &Figure| aim.cost(figures)).collect()
        };
        Some(match found.outcome.figures().and_then(costs) {
            Some(costs) => Score::Costs(costs),
            None => Score::Invalid,
        })
    }

    /// Computes what is to be done of `cases` and is not done nor claimed.
    fn compute(&self, cases: &[Case], progress: &Progress) -> Result<(), Failure> {
        let ours = self.ours(cases);
        let fault: Mutex<Option<Failure>> = Mutex::new(None);
        let over = || self.stop.asked() || fault.lock().expect("no holder of this lock panics").is_some();
        self.workers.run(|| {
            ours.par_iter().for_each(|case| {
                if over() {
                    return;
                }
                match self.one(case) {
                    Ok(Done::Found) => progress.found(1.0),
                    Ok(Done::Now) => progress.advance(1.0),
                    Ok(Done::Elsewhere) => {}
                    Err(failure) => {
                        fault
                            .lock()
                            .expect("no holder of this lock panics")
                            .get_or_insert(failure);
                    }
                }
            });
        });
        if let Some(failure) = fault.into_inner().expect("no holder of this lock panics") {
            return Err(failure);
        }
        if self.stop.asked() {
            return Err(Failure::Stopped);
        }
        Ok(())
    }

    fn one(&self, case: &Case) -> Result<Done, Failure> {
        if self.folder.case(case.number).is_some() {
            return Ok(Done::Found);
        }
        if self.folder.has(case.number) {
            terminal::remark(&format!(
                "note: the file of case {} is damaged; the case is computed again",
                case.number
            ));
        }
        let Some(_claim) = self.folder.claim(case.number)? else {
            return Ok(Done::Elsewhere);
        };
        // It may have been done between the look and the claim.
        if self.folder.case(case.number).is_some() {
            return Ok(Done::Found);
        }
        let outcome = self.shared.outcome(&case.levels);
        let values = case.levels.iter().map(|level| level.text.clone()).collect();
        self.folder.keep(case.number, values, outcome)?;
        Ok(Done::Now)
    }

    /// What every known case came to, as far as it is done.
    pub fn outcomes(&self, cases: &[Case]) -> Vec<Option<Outcome>> {
        let read = |case: &Case| self.folder.case(case.number).map(|file| file.outcome);
        cases.iter().map(read).collect()
    }
}

enum Done {
    Found,
    Now,
    Elsewhere,
}
