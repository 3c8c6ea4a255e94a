//! The cases that `check` computes, and `bays` sketches: the worst moments at the middle allowance, then the worst
//! of them with less and more oil aloft, and with other fills.

use crate::failure::Failure;
use crate::place;
use crate::preparation::{Driven, Gridded, Prepared};
use crate::runner::{Computed, Task};
use job::Start;
use oil::circuit::Circuit;
use pickup::allowance::Allowance;
use pickup::fill::{FillSearch, Outcome, SearchFault, lowest_safe_fill};
use pickup::verdict::{Judging, MomentHistory, Verdict, Word, judge};
use pickup::{Bands, CoverHistory, PanWords};
use still::{DriveView, Moment, Wanted, worst_moments};

/// Length of the window that counts, and of the run-in before it [s]: the oil of a pan forgets how it was laid
/// after three or four swings of its first mode (1 to 2 Hz).
pub const WINDOW: (f64, f64) = (3.5, 2.0);

/// The lowest fill is searched this far either side of the stated one [m³].
const SEARCH_REACH: f64 = 2.0e-3;

/// Twos of runs that other allowances and this search take at most: one, and one for the other end, two that cut the
/// reach to the tolerance, one to see whether more is always better.
pub const LATER_PAIRS: usize = 5;

/// To within this [m³]: two or three millimetres on a dipstick.
const SEARCH_TOLERANCE: f64 = 0.25e-3;

/// Computes tasks in their order, by whichever depth; told what they are for.
pub type Computes<'a> = &'a dyn Fn(&str, &[Task]) -> Result<Vec<Computed>, Failure>;

/// Everything that the cases share.
pub struct Cases<'a> {
    /// The design.
    pub prepared: &'a Prepared,
    /// Its drive.
    pub driven: &'a Driven,
    /// Its lattice.
    pub gridded: &'a Gridded,
    /// Names in the pan.
    pub words: PanWords,
    /// Half-width of the band that cover lies in where no grid study tells it [m].
    pub band: f64,
}

impl<'a> Cases<'a> {
    /// The cases of a design on a lattice.
    pub fn on(prepared: &'a Prepared, driven: &'a Driven, gridded: &'a Gridded) -> Cases<'a> {
        Cases {
            prepared,
            driven,
            gridded,
            words: PanWords::of(&prepared.design.pan, &gridded.lattice),
            band: 0.5 * gridded.lattice.cell,
        }
    }

    /// The circuit at an allowance of oil aloft.
    pub fn circuit(&self, allowance: Allowance) -> Circuit {
        let factors = &self.prepared.design.allowance;
        let factor = match allowance {
            Allowance::Low => factors.low,
            Allowance::Mid => 1.0,
            Allowance::High => factors.high,
        };
        self.prepared.design.circuit.with_aloft_factor(factor)
    }

    /// The moments of the drive that look worst by the cheap measure.
    pub fn worst_moments(&self, count: usize) -> Result<Vec<Moment>, Failure> {
        let drive = &self.driven.pan;
        let circuit = self.circuit(Allowance::Mid);
        let design = &self.prepared.design;
        let pan_volume: Result<Vec<f64>, _> = drive
            .engine_speed
            .iter()
            .map(|speed| circuit.pan_at(*speed, design.fill))
            .collect();
        let pan_volume = pan_volume.map_err(too_little_oil)?;
        let place: Option<Vec<f64>> =
            (self.driven.file.is_some() && place::knows_distance(drive)).then(|| {
                drive
                    .time
                    .iter()
                    .map(|t| place::distance_into_lap(drive, *t))
                    .collect()
            });
        let view = DriveView {
            time: &drive.time,
            gravity: &drive.gravity,
            pan_volume: &pan_volume,
            place: place.as_deref(),
        };
        let wanted = Wanted {
            count,
            window: WINDOW.0,
            run_in: WINDOW.1,
        };
        worst_moments(
            &design.pan,
            Some(&self.gridded.lattice),
            self.prepared.pan_from_car,
            &view,
            &wanted,
        )
        .map_err(|fault| Failure::computing(format!("the drive cannot be searched: {fault}"), ""))
    }

    /// The whole drive as one moment.
    pub fn whole_drive(&self) -> Moment {
        let drive = &self.driven.pan;
        Moment {
            name: "drive".to_string(),
            why: "the whole drive was asked for".to_string(),
            ..self.stretch(drive.start(), drive.end())
        }
    }

    /// A stretch of the drive [s] as one moment, all of which counts.
    pub fn stretch(&self, from: f64, to: f64) -> Moment {
        Moment {
            run_in_start: from,
            start: from,
            end: to,
            worst_at: from,
            margin: 0.0,
            name: "stretch".to_string(),
            pushed: String::new(),
            pick: still::Pick::LeastCover,
            why: "the user named it".to_string(),
        }
    }

    /// A run over a moment.
    pub fn task(&self, moment: &Moment, allowance: Allowance, fill: f64, pictures: bool) -> Task {
        Task {
            circuit: Some(self.circuit(allowance)),
            fill: Start::Volume(fill),
            start: moment.run_in_start,
            end: moment.end,
            pictures,
        }
    }

    /// Where an instant of the drive lies, in words.
    pub fn place(&self, time: f64) -> String {
        place::place(&self.driven.car, self.driven.file.is_none(), time)
    }

    /// The verdict over computed moments, each with the half-widths of its grid study where there was one.
    pub fn judge(&self, moments: &[&Moment], computed: &[&Computed], bands: &[Option<Bands>]) -> Verdict {
        let histories: Vec<_> = (moments.iter().zip(computed).zip(bands))
            .map(|((moment, computed), bands)| (*moment, &computed.history, *bands))
            .collect();
        self.judge_histories(&histories)
    }

    /// The same over histories, whichever depth computed them.
    pub fn judge_histories(&self, moments: &[(&Moment, &CoverHistory, Option<Bands>)]) -> Verdict {
        let place = |time: f64| self.place(time);
        let histories: Vec<MomentHistory> = moments
            .iter()
            .map(|(moment, history, bands)| MomentHistory {
                name: &moment.name,
                pushed: &moment.pushed,
                start: moment.start,
                end: moment.end,
                history,
                place: &place,
                bands: *bands,
            })
            .collect();
        let laps: Vec<(f64, f64)> = self.driven.car.laps.iter().map(|l| (l.start, l.end)).collect();
        judge(
            &histories,
            &Judging {
                limits: &self.prepared.design.limits,
                band: self.band,
                pan: &self.words,
                laps: &laps,
                order: self.prepared.design.units,
            },
        )
    }

    /// The worst moment at the low and the high allowance, taken to be as sure as at the middle one.
    pub fn other_allowances(
        &self,
        compute: Computes,
        moment: &Moment,
        bands: Option<Bands>,
    ) -> Result<Vec<(Allowance, Verdict)>, Failure> {
        let allowances = [Allowance::Low, Allowance::High];
        let fill = self.prepared.design.fill;
        let tasks = allowances.map(|allowance| self.task(moment, allowance, fill, false));
        let computed = compute("less and more oil aloft", &tasks)?;
        Ok(allowances
            .into_iter()
            .zip(&computed)
            .map(|(allowance, computed)| (allowance, self.judge(&[moment], &[computed], &[bands])))
            .collect())
    }

    /// The lowest fill at which the worst moment holds; `stated` is its verdict at the stated fill.
    pub fn lowest_fill(
        &self,
        compute: Computes,
        moment: &Moment,
        stated: &Verdict,
        bands: Option<Bands>,
    ) -> Result<Result<FillSearch, String>, Failure> {
        let design = &self.prepared.design;
        let fill = design.fill;
        let (low, high) = if holds(stated.word) {
            let fastest = design.circuit.outside_at(design.engine.redline);
            ((fill - SEARCH_REACH).max(fastest + 2.0 * SEARCH_TOLERANCE), fill)
        } else {
            let crank = design
                .pan
                .crank_touch_volume(self.prepared.up)
                .unwrap_or(f64::INFINITY);
            let most = crank.min(design.pan.cavity.volume()).min(fill + SEARCH_REACH);
            (fill, most)
        };
        if high - low < SEARCH_TOLERANCE {
            return Ok(Err(
                "there is no room to search: oil at rest would touch the crank with more, and the \
                           engine holds the rest"
                    .to_string(),
            ));
        }
        let outcome = |verdict: &Verdict| Outcome {
            holds: holds(verdict.word),
            least_cover: verdict.least_cover,
            air: verdict.moments.iter().map(|m| m.air).sum(),
        };
        let search = lowest_safe_fill(low, high, SEARCH_TOLERANCE, |fills: &[f64]| {
            let other: Vec<f64> = fills.iter().copied().filter(|f| *f != fill).collect();
            let tasks: Vec<Task> = other
                .iter()
                .map(|f| self.task(moment, Allowance::Mid, *f, false))
                .collect();
            let mut computed = compute("lowest fill", &tasks)?.into_iter();
            Ok(fills
                .iter()
                .map(|f| {
                    if *f == fill {
                        return outcome(stated);
                    }
                    let computed = computed.next().expect("one run for each other fill");
                    outcome(&self.judge(&[moment], &[&computed], &[bands]))
                })
                .collect())
        });
        match search {
            Ok(search) => Ok(Ok(search)),
            Err(SearchFault::Compute { fault, .. }) => Err(fault),
            Err(SearchFault::BadBounds { low, high, .. }) => Ok(Err(format!(
                "from {low} m³ to {high} m³ there is nothing to search"
            ))),
        }
    }
}

/// Whether a verdict is one to run with.
pub fn holds(word: Word) -> bool {
    matches!(word, Word::Go | Word::Watch)
}

/// More oil aloft than there is.
pub fn too_little_oil(fault: oil::circuit::CircuitFault) -> Failure {
    Failure::input(
        fault.to_string(),
        "the design, fill and circuit.aloft",
        "add oil, or state less oil aloft",
    )
}
