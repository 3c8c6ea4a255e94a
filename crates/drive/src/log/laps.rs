//! Laps: by the lap number, by a distance that starts anew, by coming past the same place, or one for all.

use crate::Lap;
use glam::DVec2;

/// Shortest lap that is believed [m], and [s].
const SHORTEST: (f64, f64) = (200.0, 10.0);

/// What tells laps in a log; all on one clock.
pub(super) struct Signs<'a> {
    pub time: &'a [f64],
    pub number: Option<&'a [f64]>,
    /// Distance as logged [m].
    pub logged: Option<&'a [f64]>,
    /// Place [m].
    pub place: Option<&'a [DVec2]>,
    /// Distance counted on through all laps [m].
    pub distance: &'a [f64],
}

/// Laps and a sentence on how they were found.
pub(super) fn find(signs: &Signs) -> (Vec<Lap>, String) {
    let time = signs.time;
    if let Some(number) = signs.number {
        let laps = by_number(time, number);
        let said = format!("Laps are taken from the lap number: {}.", laps.len());
        return (laps, said);
    }
    if let Some(logged) = signs.logged {
        let mut ends: Vec<usize> = Vec::new();
        for i in 1..time.len() {
            // A clock between two rows may see one fall as two steps.
            let apart = ends.last().is_none_or(|&e| time[i] - time[e] > SHORTEST.1);
            if apart && logged[i] < 0.5 * logged[i - 1] && logged[i - 1] > SHORTEST.0 {
                ends.push(i);
            }
        }
        if !ends.is_empty() {
            let bounds: Vec<usize> = std::iter::once(0).chain(ends).chain([time.len() - 1]).collect();
            let laps = between(time, &bounds);
            let said = format!(
                "Laps are taken from the distance, which starts anew: {}, the first and last perhaps not whole.",
                laps.len()
            );
            return (laps, said);
        }
    }
    if let Some(place) = signs.place {
        let passes = passes(time, place, signs.distance);
        if passes.len() > 1 {
            let laps = between(time, &passes);
            let said = format!(
                "Laps are taken from the place: the car comes past the same point {} times; what lies before and after is in no lap.",
                passes.len()
            );
            return (laps, said);
        }
    }
    let whole = Lap {
        name: "whole log".into(),
        start: time[0],
        end: time[time.len() - 1],
    };
    (
        vec![whole],
        "Nothing in the log tells laps apart; the whole of it counts as one.".into(),
    )
}

/// Whether the car drives over the same places at least three times, by any sign there is.
pub(super) fn repeat(
    time: &[f64],
    number: Option<&[f64]>,
    logged: Option<&[f64]>,
    place: Option<&[DVec2]>,
) -> bool {
    let numbered = number.is_some_and(|n| {
        n.last()
            .zip(n.first())
            .is_some_and(|(last, first)| last - first >= 2.0)
    });
    let anew = logged.is_some_and(|d| {
        d.windows(2)
            .filter(|w| w[1] < 0.5 * w[0] && w[0] > SHORTEST.0)
            .count()
            >= 2
    });
    let round = place.is_some_and(|place| {
        let mut distance = vec![0.0; place.len()];
        for i in 1..place.len() {
            distance[i] = distance[i - 1] + place[i].distance(place[i - 1]);
        }
        passes(time, place, &distance).len() >= 3
    });
    numbered || anew || round
}

fn by_number(time: &[f64], number: &[f64]) -> Vec<Lap> {
    let mut laps: Vec<Lap> = Vec::new();
    let mut start = 0;
    for i in 1..=time.len() {
        // Half a lap's change at least: resampling may leave values in between.
        if i == time.len() || (number[i].round() - number[start].round()).abs() >= 1.0 {
            let last = i.min(time.len() - 1);
            if last > start {
                laps.push(Lap {
                    name: format!("lap {:.0}", number[start].round()),
                    start: time[start],
                    end: time[last],
                });
            }
            start = i;
        }
        if i == time.len() {
            break;
        }
    }
    laps
}

fn between(time: &[f64], bounds: &[usize]) -> Vec<Lap> {
    let pairs = bounds.windows(2).filter(|w| w[1] > w[0]).enumerate();
    pairs
        .map(|(k, w)| Lap {
            name: format!("lap {}", k + 1),
            start: time[w[0]],
            end: time[w[1]],
        })
        .collect()
}

/// Samples at which the car comes past one point in the same direction; the point, of a few tried, passed most often.
///
/// A log may start in the paddock, so points further along it are tried as well.
fn passes(time: &[f64], place: &[DVec2], distance: &[f64]) -> Vec<usize> {
    let total = distance[distance.len() - 1];
    let tries = [0.02, 0.15, 0.3, 0.5].map(|share| distance.partition_point(|&d| d < share * total));
    tries
        .map(|at| passes_of(time, place, distance, at.min(time.len() - 1)))
        .into_iter()
        .max_by_key(Vec::len)
        .unwrap_or_default()
}

fn passes_of(time: &[f64], place: &[DVec2], distance: &[f64], at: usize) -> Vec<usize> {
    let n = time.len();
    let heading = |i: usize| {
        let a = distance.partition_point(|&d| d < distance[i] - 5.0);
        let b = distance.partition_point(|&d| d < distance[i] + 5.0).min(n - 1);
        (place[b] - place[a]).normalize_or_zero()
    };
    let (here, ahead) = (place[at], heading(at));
    let mut found: Vec<usize> = Vec::new();
    let mut i = 0;
    while i < n {
        let step = if i > 0 { distance[i] - distance[i - 1] } else { 0.0 };
        let reach = 15.0 + step;
        if place[i].distance(here) > reach || heading(i).dot(ahead) < 0.7 {
            i += 1;
            continue;
        }
        // Within reach: the nearest sample of this passage counts.
        let start = i;
        while i < n && place[i].distance(here) <= reach {
            i += 1;
        }
        let nearest = (start..i)
            .min_by(|&a, &b| place[a].distance(here).total_cmp(&place[b].distance(here)))
            .unwrap_or(start);
        let far = found.last().is_none_or(|&l| {
            distance[nearest] - distance[l] > SHORTEST.0 && time[nearest] - time[l] > SHORTEST.1
        });
        if far {
            found.push(nearest);
        }
    }
    found
}
