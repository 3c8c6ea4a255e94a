//! Where on a drive the mouth was worst off: the dips of this very history, not what a cheap measure would pick.

use crate::cases::{Cases, WINDOW};
use glam::DVec3;
use pickup::CoverHistory;
use serve::wire::MomentWire;
use std::ops::Range;
use still::moments::what_the_car_does;

/// Most moments.
const MOST: usize = 8;

/// The history's own rate [1/s].
const RATE: f64 = 1.0 / bays::run::SAMPLE;

/// Two dips so close are one [s].
const APART: f64 = WINDOW.0;

/// Among dips without air the cover must come up between two by this much, or by half of the lower one's distance to the
/// limit, else they are one [m].
const RISES: f64 = 2e-3;

/// A drive that is covered throughout still has a worst moment: so many of its dips are told.
const OF_COVERED: usize = 3;

/// The dips, the worst first: those that draw the most air, then those with the least cover.
pub fn moments(cases: &Cases, history: &CoverHistory) -> Vec<MomentWire> {
    let limit = cases.prepared.design.limits.least_cover;
    let mut dips: Vec<Dip> = Vec::new();
    let mut all = dips_of(history);
    all.sort_by(|a, b| a.before(b));
    for dip in all {
        let full = dips.len() >= MOST || dip.cover >= limit && dips.len() >= OF_COVERED;
        if full {
            break;
        }
        if dips.iter().all(|other| apart(history, other, &dip, limit)) {
            dips.push(dip);
        }
    }
    dips.iter().map(|dip| told(cases, history, dip)).collect()
}

/// A stretch round a least cover.
#[derive(Clone, Debug)]
struct Dip {
    /// Rows.
    rows: Range<usize>,
    /// The row of the least cover, the last of several: the oil has gone as far as it goes.
    worst: usize,
    cover: f64,
    /// Drawn within [m³].
    air: f64,
}

impl Dip {
    fn before(&self, other: &Dip) -> std::cmp::Ordering {
        let by_air = other.air.total_cmp(&self.air);
        let by_cover = self.cover.total_cmp(&other.cover);
        by_air.then(by_cover).then(self.worst.cmp(&other.worst))
    }
}

/// All local minima of the cover, level stretches as one.
fn dips_of(history: &CoverHistory) -> Vec<Dip> {
    let cover = &history.cover;
    let reach = (0.5 * APART * RATE) as usize;
    let mut dips = Vec::new();
    let mut row = 0;
    while row < cover.len() {
        let mut last = row;
        while last + 1 < cover.len() && cover[last + 1] == cover[row] {
            last += 1;
        }
        let falls = row == 0 || cover[row - 1] > cover[row];
        let rises = last + 1 == cover.len() || cover[last + 1] > cover[row];
        if falls && rises {
            let rows = row.saturating_sub(reach)..(last + reach + 1).min(cover.len());
            dips.push(Dip {
                air: history.air[rows.end - 1] - history.air[rows.start],
                worst: (row + last) / 2,
                cover: cover[row],
                rows,
            });
        }
        row = last + 1;
    }
    dips
}

/// Whether two dips are two.
fn apart(history: &CoverHistory, a: &Dip, b: &Dip, limit: f64) -> bool {
    let (from, to) = (a.worst.min(b.worst), a.worst.max(b.worst));
    if history.time[to] - history.time[from] < APART {
        return false;
    }
    let between = history.cover[from..=to].iter().copied().fold(0.0, f64::max);
    let higher = a.cover.max(b.cover);
    between - higher >= RISES.max(0.5 * (limit - higher))
}

fn told(cases: &Cases, history: &CoverHistory, dip: &Dip) -> MomentWire {
    let car = &cases.driven.car;
    let [start, end] = [dip.rows.start, dip.rows.end - 1].map(|row| history.time[row]);
    let worst = history.time[dip.worst];
    let pulls: Vec<DVec3> = history.time[dip.rows.clone()]
        .iter()
        .map(|time| -car.at(*time).gravity - measure::STANDARD_GRAVITY * DVec3::Z)
        .collect();
    MomentWire {
        name: what_the_car_does(&pulls, dip.worst - dip.rows.start, RATE),
        place: cases.place(worst),
        start,
        end,
        worst,
        least_cover: dip.cover,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use pickup::history::Row;

    fn history(cover: impl Fn(f64) -> f64) -> CoverHistory {
        let mut history = CoverHistory::default();
        for n in 0..1500 {
            let time = f64::from(n) / RATE;
            let row = Row {
                time,
                cover: cover(time).max(0.0),
                ..Row::default()
            };
            history.push(row).expect("sound");
        }
        history
    }

    #[test]
    fn dips_are_found_where_they_are() {
        let history = history(|t| 0.02 + 0.015 * (t * 0.7).cos());
        let worst: Vec<f64> = dips_of(&history)
            .iter()
            .map(|dip| history.time[dip.worst])
            .collect();
        assert!(
            worst
                .iter()
                .any(|t| (t - std::f64::consts::PI / 0.7).abs() < 0.03),
            "{worst:?}"
        );
    }

    #[test]
    fn a_bare_stretch_is_one_dip() {
        let history = history(|t| if (10.0..12.0).contains(&t) { 0.0 } else { 0.02 });
        let dips = dips_of(&history);
        let bare: Vec<&Dip> = dips.iter().filter(|dip| dip.cover == 0.0).collect();
        assert_eq!(bare.len(), 1);
        assert!((history.time[bare[0].worst] - 11.0).abs() < 0.05);
    }

    #[test]
    fn two_dips_with_a_rise_between_are_two_and_without_one_are_one() {
        let twice = |high: f64| {
            history(move |t| {
                if (t - 10.0).abs() < 0.5 || (t - 15.0).abs() < 0.5 {
                    0.001
                } else if (10.0..15.0).contains(&t) {
                    high
                } else {
                    0.03
                }
            })
        };
        let two = |history: &CoverHistory| {
            let dips: Vec<Dip> = dips_of(history)
                .into_iter()
                .filter(|d| d.cover < 0.0011)
                .collect();
            assert_eq!(dips.len(), 2);
            apart(history, &dips[0], &dips[1], 0.005)
        };
        assert!(two(&twice(0.02)));
        assert!(!two(&twice(0.0015)));
    }
}
