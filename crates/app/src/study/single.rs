//! One case: a variant of the design read, cut into bays, driven and judged.

use super::folder::Outcome;
use crate::cases::Cases;
use crate::cli::Common;
use crate::failure::{Complaint, Failure};
use crate::preparation::{Driven, Prepared, wrong_input};
use crate::sketch::{self, Sketch};
use ::study::Figures;
use job::{Level, Study};
use pickup::allowance::Allowance;

/// All that cases share.
pub struct Shared<'a> {
    /// The study.
    pub study: &'a Study,
    /// How the drive is named on the command line.
    pub common: &'a Common,
    /// The design as it stands.
    pub base: &'a Prepared,
    /// Its drive, read once.
    pub driven: &'a Driven,
}

impl Shared<'_> {
    /// Computes a case.
    pub fn outcome(&self, levels: &[Level]) -> Outcome {
        match self.figures(levels) {
            Ok(figures) => Outcome::Computed(figures),
            Err(Failure::Input(complaints)) => invalid(complaints),
            Err(Failure::Computing(complaint)) => Outcome::Failed { what: complaint.what },
            Err(Failure::Stopped) => Outcome::Failed {
                what: "it was stopped".to_owned(),
            },
        }
    }

    fn figures(&self, levels: &[Level]) -> Result<Figures, Failure> {
        let prepared = self.prepared(levels)?;
        let own = self.own_drive(&prepared, levels)?;
        let driven = own.as_ref().unwrap_or(self.driven);
        let gridded = prepared.grid(prepared.size(None)?)?;
        let network = Sketch::network(&prepared, &gridded.lattice)?;
        let cases = Cases {
            band: sketch::BAND,
            ..Cases::on(&prepared, driven, &gridded)
        };
        let sketch = Sketch {
            cases: &cases,
            network: &network,
        };
        let moment = cases.whole_drive();
        let task = cases.task(&moment, Allowance::Mid, prepared.design.fill, false);
        let history = sketch
            .compute(std::slice::from_ref(&task))?
            .swap_remove(0)
            .history;
        let verdict = cases.judge_histories(&[(&moment, &history, None)]);
        let (cover, time) = history
            .least_cover(moment.start, moment.end)
            .ok_or_else(|| Failure::computing("the drive is too short to judge", ""))?;
        let bare = history.bare_in(moment.start, moment.end);
        let design = &prepared.design;
        Ok(Figures {
            word: verdict.word,
            cover,
            bare,
            air: history.air_in(moment.start, moment.end),
            margin: Figures::margin_of(cover, design.limits.least_cover, bare),
            oil: design.fill,
            depth: -design.pan.cavity.bounds().0.z,
            plates: design.pan.plates.len(),
            at_crank: design.pan.crank.is_some().then_some(verdict.most_at_crank),
            place: cases.place(time),
            time,
        })
    }

    /// The variant, read and checked.
    pub fn prepared(&self, levels: &[Level]) -> Result<Prepared, Failure> {
        let design = self.study.variant(levels).map_err(wrong_input)?;
        Prepared::of(design, self.common)
    }

    /// The drive of a variant, when it is another one than the design's own.
    pub fn own_drive(&self, prepared: &Prepared, levels: &[Level]) -> Result<Option<Driven>, Failure> {
        let factor = self.study.acceleration_factor(levels);
        let same_plan = prepared.drives_as(self.base, self.common);
        let turned = prepared.pan_from_car != self.base.pan_from_car;
        if same_plan && factor == 1.0 && !turned {
            return Ok(None);
        }
        let mut car = if same_plan {
            self.driven.car.clone()
        } else {
            prepared.drive(self.common)?.car
        };
        for gravity in &mut car.gravity {
            gravity.x *= factor;
            gravity.y *= factor;
        }
        Ok(Some(Driven {
            pan: car.in_frame(prepared.pan_from_car),
            car,
            file: self.driven.file.clone(),
        }))
    }
}

fn invalid(mut complaints: Vec<Complaint>) -> Outcome {
    let faults = complaints.len();
    let first = if complaints.is_empty() {
        Complaint {
            what: "the design cannot be read".to_owned(),
            place: String::new(),
            mend: String::new(),
        }
    } else {
        complaints.swap_remove(0)
    };
    Outcome::Invalid {
        what: first.what,
        place: first.place,
        mend: first.mend,
        faults,
    }
}
