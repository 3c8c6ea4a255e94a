//! One moment judged on its own.

use serde::{Deserialize, Serialize};

use super::reason::{self, Reason};
use super::{Judging, MomentHistory, Word, words};
use crate::history::{CoverHistory, Gulp, Stretch};
use crate::limits::AIR_SPAN;

/// A number between two bounds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Span {
    /// Not less than this.
    pub low: f64,
    /// Not more than this.
    pub high: f64,
}

/// What one moment came to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MomentFinding {
    /// Place in the list of moments given.
    pub index: usize,
    /// Its name.
    pub name: String,
    /// In one word.
    pub word: Word,
    /// In one sentence.
    pub sentence: String,
    /// Why.
    pub reason: Reason,
    /// Least cover [m].
    pub least_cover: f64,
    /// Half-width of its uncertainty [m].
    pub band: f64,
    /// When [s].
    pub least_cover_at: f64,
    /// The instant that speaks for the moment: middle of the longest gulp, else the least cover [s].
    pub worst_at: f64,
    /// Time with the mouth bare [s].
    pub bare_for: f64,
    /// Time with less than the limit over the mouth, bare time included [s].
    pub thin_for: f64,
    /// Air drawn [m³].
    pub air: f64,
    /// Half-width of its uncertainty [m³], known from a grid study only.
    pub air_band: Option<f64>,
    /// Longest gulp, when there is one.
    pub longest_gulp: Option<Gulp>,
    /// Longest bare stretch as the grid study leaves it; without one, with the level a band higher and a band
    /// lower [s].
    pub bare_between: Span,
    /// Largest share of air in any second, likewise.
    pub air_share_between: Span,
    /// When the mouth is first bare [s].
    pub first_air: Option<f64>,
    /// Most oil inside the crank sweep [m³].
    pub most_at_crank: f64,
    /// When [s].
    pub most_at_crank_at: f64,
}

/// Judges one moment. The history is sound and covers the window.
pub(super) fn find(index: usize, moment: &MomentHistory, with: &Judging) -> MomentFinding {
    let (history, start, end, limits) = (moment.history, moment.start, moment.end, with.limits);
    let band = moment.bands.map_or(with.band, |bands| bands.cover);
    let (least_cover, least_cover_at) = history.least_cover(start, end).expect("the window has rows");
    let (most_at_crank, most_at_crank_at) = history.most_at_crank(start, end).expect("the window has rows");
    let gulps = history.gulps(start, end);
    let longest_gulp = gulps
        .iter()
        .copied()
        .max_by(|a, b| a.length().total_cmp(&b.length()));
    let total = |stretches: &[Stretch]| 0.0 + stretches.iter().map(Stretch::length).sum::<f64>();

    let (mut bare_between, mut air_share_between) = by_level(history, &gulps, band, start, end);
    let from_grids = |value: f64, band: f64, most: f64| Span {
        low: (value - band).max(0.0),
        high: (value + band).min(most),
    };
    if let Some(bands) = moment.bands {
        if let Some(band) = bands.longest_bare {
            let longest = longest_gulp.map_or(0.0, |g| g.length());
            bare_between = from_grids(longest, band, end - start);
        }
        if let Some(band) = bands.worst_second {
            let share = history.worst_air_share(AIR_SPAN, start, end);
            air_share_between = from_grids(share, band, 1.0);
        }
    }
    // The empty sum is -0, which would be shown.
    let bare_for = history.bare_in(start, end);

    let over = |bare: f64, share: f64| bare > limits.longest_gulp || share > limits.air_share;
    let word = if over(bare_between.low, air_share_between.low) {
        Word::Stop
    } else if over(bare_between.high, air_share_between.high) {
        Word::NotKnown
    } else if gulps.is_empty() && least_cover - band >= limits.least_cover && most_at_crank <= limits.at_crank
    {
        Word::Go
    } else {
        Word::Watch
    };
    let worst_at = longest_gulp.map_or(least_cover_at, |g| 0.5 * (g.start + g.end));
    let mut finding = MomentFinding {
        index,
        name: moment.name.to_string(),
        word,
        sentence: String::new(),
        reason: reason::find(moment, worst_at, with),
        least_cover,
        band,
        least_cover_at,
        worst_at,
        bare_for,
        thin_for: total(&history.stretches_below(limits.least_cover, start, end)),
        air: history.air_in(start, end),
        air_band: moment.bands.map(|bands| bands.air.unwrap_or(0.0)),
        longest_gulp,
        bare_between,
        air_share_between,
        first_air: history.first_air(start, end),
        most_at_crank,
        most_at_crank_at,
    };
    finding.sentence = words::moment(&finding, moment, with);
    finding
}

/// Longest bare stretch [s] and largest share of air with the level `band` [m] higher and lower.
fn by_level(history: &CoverHistory, gulps: &[Gulp], band: f64, start: f64, end: f64) -> (Span, Span) {
    let maybe_bare = history.stretches_below(band, start, end);
    let sure: Vec<f64> = gulps.iter().map(|g| surely_bare(history, g, band)).collect();
    let bare_between = Span {
        low: sure.iter().copied().fold(0.0, f64::max),
        high: maybe_bare.iter().map(Stretch::length).fold(0.0, f64::max),
    };
    let share = history.worst_air_share(AIR_SPAN, start, end);
    let bare_for: f64 = gulps.iter().map(Gulp::length).sum();
    let kept = if bare_for > 0.0 {
        sure.iter().sum::<f64>() / bare_for
    } else {
        1.0
    };
    // With the level a band lower the pump could draw nothing but air while the mouth may be bare.
    let most = maybe_bare
        .iter()
        .map(|s| s.length().min(AIR_SPAN) / AIR_SPAN)
        .fold(share, f64::max);
    let air_share_between = Span {
        low: share * kept,
        high: most,
    };
    (bare_between, air_share_between)
}

/// How long a gulp would last [s] with the level `band` [m] higher: it loses, at each end, the time in which
/// the cover next to it runs through the band. An end at which the cover jumps, or that lies at the end of
/// the history, loses nothing.
fn surely_bare(history: &CoverHistory, gulp: &Gulp, band: f64) -> f64 {
    let first = history.time.partition_point(|&t| t < gulp.start);
    let past = history.time.partition_point(|&t| t <= gulp.end);
    // Seconds for the cover to run from the row nearest the gulp out to one band of cover.
    let outside = |rows: &mut dyn Iterator<Item = usize>, edge: f64| -> f64 {
        for row in rows {
            if history.bare(row) {
                return 0.0;
            }
            if history.cover[row] >= band {
                let run = (history.time[row] - edge).abs();
                return run * band / history.cover[row];
            }
        }
        0.0
    };
    let before = outside(&mut (0..first).rev(), gulp.start);
    let after = outside(&mut (past..history.len()), gulp.end);
    (gulp.length() - before - after).max(0.0)
}
