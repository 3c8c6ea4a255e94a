//! The verdict: cover histories of the worst moments → go, watch, stop or not known, with the reason in
//! words of the shop.
//!
//! Each moment is judged on its own, then the worst one speaks. With `c` the least cover, `b` the half-width
//! of its uncertainty, and every bare stretch known to lie between a shorter and a longer one (what the grids leave
//! open where the run was computed on several; else what it would be with the level `b` higher or lower):
//!
//! - *stop*: bare for longer than the limit even at the shorter stretch, or the air share over its limit so;
//! - *not known*: over the limit at the longer stretch but not at the shorter;
//! - *go*: never bare, `c − b` at or above the limit of cover, and little oil at the crank;
//! - *watch*: all else: thin, or bare for less than the limit.

use measure::UnitOrder;
use serde::{Deserialize, Serialize};

mod finding;
mod reason;
mod words;

pub use finding::{MomentFinding, Span};
pub use reason::{DoorState, Reason};

use crate::grid_study::Bands;
use crate::history::{CoverHistory, Gulp};
use crate::limits::Limits;
use crate::names::PanWords;

/// The four words a verdict can be, from best to worst.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Word {
    /// The mouth stays covered with margin.
    Go,
    /// Covered but thin somewhere, bare for a blink, or oil at the crank.
    Watch,
    /// The margin is smaller than its uncertainty, or something needed is missing.
    NotKnown,
    /// The pump draws air for longer than the limit.
    Stop,
}

impl Word {
    /// The word in the report.
    pub fn said(self) -> &'static str {
        match self {
            Word::Go => "go",
            Word::Watch => "watch",
            Word::NotKnown => "not known",
            Word::Stop => "stop",
        }
    }
}

/// One moment as the verdict sees it.
pub struct MomentHistory<'a> {
    /// What the car does: "long left", "hard braking", "launch".
    pub name: &'a str,
    /// Where the oil is pushed, seen from above in the pan: "right", "front", "rear left"; empty
    /// when it is hardly pushed.
    pub pushed: &'a str,
    /// Start of the window that counts, after the run-in [s].
    pub start: f64,
    /// End of the window [s].
    pub end: f64,
    /// What happened; it starts at or before `start` (its first row is the share "at the start").
    pub history: &'a CoverHistory,
    /// Place of an instant in words that follow the name: "at 612 m", "at 612 m in lap 2".
    pub place: &'a dyn Fn(f64) -> String,
    /// Half-widths from a grid study of this moment, where there was one.
    pub bands: Option<Bands>,
}

/// What a verdict is read with.
pub struct Judging<'a> {
    /// Limits.
    pub limits: &'a Limits,
    /// Half-width of the uncertainty of the cover of moments without a grid study [m] (half a cell for the slosh
    /// solver).
    pub band: f64,
    /// Names in the pan.
    pub pan: &'a PanWords,
    /// Laps of the drive as (start, end) [s]; empty when the drive has none.
    pub laps: &'a [(f64, f64)],
    /// Units in the sentences.
    pub order: UnitOrder,
}

/// The verdict over all moments. When nothing could be judged, `moments` is empty and the numbers are zero:
/// look at `moments` before showing them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Verdict {
    /// In one word.
    pub word: Word,
    /// In one sentence: place, what happens, why.
    pub sentence: String,
    /// The reason alone; empty when nothing needs one.
    pub reason: String,
    /// The moments, worst first; `index` leads back to the input.
    pub moments: Vec<MomentFinding>,
    /// Least cover of all moments [m].
    pub least_cover: f64,
    /// When [s].
    pub least_cover_at: f64,
    /// Half-width of the uncertainty of the least cover [m].
    pub band: f64,
    /// Air drawn in the worst lap, or in all moments together when the drive has no laps [m³].
    pub air_per_lap: f64,
    /// Half-width of its uncertainty [m³], where every moment that counts in it was computed on several grids.
    pub air_band: Option<f64>,
    /// Longest gulp, when there is one.
    pub longest_gulp: Option<Gulp>,
    /// First air of all moments [s], when there is any.
    pub first_air: Option<f64>,
    /// Most oil inside the crank sweep [m³].
    pub most_at_crank: f64,
    /// When [s].
    pub most_at_crank_at: f64,
}

/// Reads the verdict from the moments.
///
/// Without a moment, with a limit or band that is no number, or with a history that does not cover its
/// window or cannot be believed, the word is *not known* and the sentence says why.
pub fn judge(moments: &[MomentHistory], with: &Judging) -> Verdict {
    if let Some(why) = unusable(moments, with) {
        return Verdict::not_known(why, with.band);
    }
    let mut findings: Vec<MomentFinding> = moments
        .iter()
        .enumerate()
        .map(|(index, moment)| finding::find(index, moment, with))
        .collect();
    findings.sort_by(|a, b| {
        (b.word.cmp(&a.word))
            .then(b.air.total_cmp(&a.air))
            .then(b.bare_for.total_cmp(&a.bare_for))
            .then(a.least_cover.total_cmp(&b.least_cover))
            .then(a.index.cmp(&b.index))
    });
    let least = findings
        .iter()
        .min_by(|a, b| a.least_cover.total_cmp(&b.least_cover))
        .expect("at least one moment");
    let crank = findings
        .iter()
        .max_by(|a, b| a.most_at_crank.total_cmp(&b.most_at_crank))
        .expect("at least one");
    let longest_gulp = findings
        .iter()
        .filter_map(|f| f.longest_gulp)
        .max_by(|a, b| a.length().total_cmp(&b.length()));
    let first_air = findings.iter().filter_map(|f| f.first_air).min_by(f64::total_cmp);
    let worst = &findings[0];
    let (air_per_lap, air_band) = air_per_lap(moments, with.laps);
    Verdict {
        word: worst.word,
        sentence: worst.sentence.clone(),
        reason: worst.reason.said.clone(),
        least_cover: least.least_cover,
        least_cover_at: least.least_cover_at,
        band: least.band,
        air_per_lap,
        air_band,
        longest_gulp,
        first_air,
        most_at_crank: crank.most_at_crank,
        most_at_crank_at: crank.most_at_crank_at,
        moments: findings,
    }
}

impl Verdict {
    fn not_known(why: String, band: f64) -> Verdict {
        Verdict {
            word: Word::NotKnown,
            sentence: why,
            reason: String::new(),
            moments: Vec::new(),
            least_cover: 0.0,
            least_cover_at: 0.0,
            band: if band.is_finite() { band } else { 0.0 },
            air_per_lap: 0.0,
            air_band: None,
            longest_gulp: None,
            first_air: None,
            most_at_crank: 0.0,
            most_at_crank_at: 0.0,
        }
    }
}

fn unusable(moments: &[MomentHistory], with: &Judging) -> Option<String> {
    if moments.is_empty() {
        return Some("Not known: no moment of the drive was computed.".to_string());
    }
    if let Some(what) = with.limits.faults().first() {
        return Some(format!("Not known: the limit \"{what}\" is not a usable number."));
    }
    if !(with.band.is_finite() && with.band >= 0.0) {
        return Some("Not known: the uncertainty of the cover is not a number.".to_string());
    }
    for moment in moments {
        let name = moment.name;
        if let Err(fault) = moment.history.check() {
            return Some(format!("Not known: in the moment \"{name}\" {fault}."));
        }
        let sound = |b: Bands| {
            [Some(b.cover), b.longest_bare, b.worst_second, b.air]
                .into_iter()
                .flatten()
                .all(|band| band.is_finite() && band >= 0.0)
        };
        if !moment.bands.is_none_or(sound) {
            return Some(format!(
                "Not known: the grid study of the moment \"{name}\" gave a band that is no number."
            ));
        }
        let rows = moment.history.rows_in(moment.start, moment.end);
        if rows.len() < 2 {
            return Some(format!(
                "Not known: the moment \"{name}\" was not computed over its whole window."
            ));
        }
        let widths = (moment.history.spaces[0].len(), moment.history.doors[0].len());
        if widths != (with.pan.spaces.len(), with.pan.doors.len()) {
            return Some(format!(
                "Not known: the moment \"{name}\" has {} spaces and {} doors, the pan has {} and {}.",
                widths.0,
                widths.1,
                with.pan.spaces.len(),
                with.pan.doors.len()
            ));
        }
    }
    None
}

/// Air of the worst lap and the half-width of its uncertainty: what the windows that lie in a lap drew, summed.
fn air_per_lap(moments: &[MomentHistory], laps: &[(f64, f64)]) -> (f64, Option<f64>) {
    let within = |from: f64, to: f64| {
        let (mut sum, mut band) = (0.0, Some(0.0));
        for m in moments {
            let (start, end) = (m.start.max(from), m.end.min(to));
            if end > start {
                sum += m.history.air_in(start, end);
                band = band
                    .zip(m.bands)
                    .map(|(so_far, bands)| so_far + bands.air.unwrap_or(0.0));
            }
        }
        (sum, band)
    };
    if laps.is_empty() {
        return within(f64::NEG_INFINITY, f64::INFINITY);
    }
    laps.iter()
        .map(|&(from, to)| within(from, to))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .expect("there are laps")
}

#[cfg(test)]
mod tests;
