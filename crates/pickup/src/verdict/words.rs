//! Sentences.

use measure::{Dimension, show_within};

use super::reason::VOLUME_BAND;
use super::{Judging, MomentFinding, MomentHistory, Word};

/// "a", "a and b", "a, b and c".
pub(super) fn list(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// A name with its trade word in front unless it already has one.
fn with_word(name: &str, word: &str, known: &[&str]) -> String {
    let lower = name.to_lowercase();
    if known.iter().any(|k| lower.contains(k)) {
        name.to_string()
    } else {
        format!("{word} {name}")
    }
}

pub(super) fn door(name: &str) -> String {
    with_word(name, "door", &["door", "flap", "gate"])
}

pub(super) fn plate(name: &str) -> String {
    with_word(
        name,
        "plate",
        &[
            "plate", "wall", "baffle", "roof", "tray", "shelf", "scraper", "sheet",
        ],
    )
}

/// "In the long left at 612 m", "Under hard braking at 40 m", "On the straight".
fn opening(name: &str, place: &str) -> String {
    let lead = match name.split(' ').next() {
        Some("hard" | "braking" | "acceleration") => "Under",
        Some("straight") => "On the",
        Some("crest") => "Over the",
        _ => "In the",
    };
    let gap = if place.is_empty() { "" } else { " " };
    format!("{lead} {name}{gap}{place}")
}

/// Seconds to what a log can show: tenths above a second, hundredths below.
fn seconds(time: f64) -> String {
    if time >= 0.95 {
        format!("{time:.1} s")
    } else {
        format!("{time:.2} s")
    }
}

/// One sentence for one judged moment.
pub(super) fn moment(f: &MomentFinding, moment: &MomentHistory, with: &Judging) -> String {
    let place = opening(&f.name, &(moment.place)(f.worst_at));
    let length = |value: f64| show_within(value, f.band.max(1e-3), Dimension::Length, with.order);
    let band = show_within(f.band, 0.1 * f.band, Dimension::Length, with.order);
    let litres = |value: f64| show_within(value, VOLUME_BAND, Dimension::Volume, with.order);
    let because = if f.reason.said.is_empty() {
        String::new()
    } else {
        format!(": {}", f.reason.said)
    };
    let gulp = f.longest_gulp.map_or(0.0, |g| g.length());
    let limits = with.limits;
    let grids_speak = moment
        .bands
        .is_some_and(|b| b.longest_bare.is_some() || b.worst_second.is_some());
    match (f.word, f.longest_gulp) {
        (Word::Stop, _) if gulp > limits.longest_gulp || f.bare_for == gulp => {
            // The air is that of all gulps, so the time beside it must be too.
            let bare = if f.bare_for > 1.1 * gulp {
                format!("{}, {} of it at a stretch,", seconds(f.bare_for), seconds(gulp))
            } else {
                seconds(gulp)
            };
            format!(
                "{place} the mouth is bare for {bare} and draws {} of air{because}.",
                litres(f.air)
            )
        }
        (Word::Stop, _) => {
            let share = f.air_share_between.low * 100.0;
            format!(
                "{place} the mouth is bare again and again, {} in all; {share:.0} % of what the pump takes in a \
                 second is air{because}.",
                seconds(f.bare_for)
            )
        }
        (Word::NotKnown, _) if grids_speak => {
            let what = if f.bare_between.high > limits.longest_gulp {
                format!(
                    "bare for {} to {} at a stretch",
                    seconds(f.bare_between.low),
                    seconds(f.bare_between.high)
                )
            } else {
                let share = f.air_share_between;
                format!(
                    "so nearly bare that {:.0} % to {:.0} % of what the pump takes in a second is air",
                    100.0 * share.low,
                    100.0 * share.high
                )
            };
            format!(
                "{place} the mouth is {what}, as near as the computed cell sizes can tell; the finest says {}\
                 {because}.",
                seconds(gulp)
            )
        }
        (Word::NotKnown, Some(_)) => format!(
            "{place} the mouth is bare for {}, but with the level {} higher or lower, as near as it can be \
             told, that would be {} to {}{because}.",
            seconds(gulp),
            band,
            seconds(f.bare_between.low),
            seconds(f.bare_between.high)
        ),
        (Word::NotKnown, None) => format!(
            "{place} {} stands over the mouth, less than the {} to which it can be told{because}.",
            length(f.least_cover),
            band
        ),
        (Word::Watch, Some(_)) => format!(
            "{place} the mouth is bare for {}, within the {} let pass{because}.",
            seconds(gulp),
            seconds(limits.longest_gulp)
        ),
        (Word::Watch, None) if f.least_cover - f.band < limits.least_cover => format!(
            "{place} only {} of oil stands over the mouth, known to {}; the limit is {}{because}.",
            length(f.least_cover),
            band,
            length(limits.least_cover)
        ),
        (Word::Watch, None) => format!(
            "{place} {} of oil reaches the crank; the mouth stays covered by {}.",
            litres(f.most_at_crank),
            length(f.least_cover)
        ),
        (Word::Go, _) => format!(
            "{place} the mouth stays covered: {} at least.",
            length(f.least_cover)
        ),
    }
}
