//! The way out in words.

use super::at;
use clearance::removal::{Limits, Position, Removal, Stop};
use measure::{Dimension, UnitOrder, show};
use report::findings::{RemovalFact, WayFact, rounded};

/// Parts of a move smaller than these are not told [m], [rad].
const LEAST: (f64, f64) = (0.5e-3, 0.009);

/// The answer as facts.
pub fn fact(removal: &Removal, limits: &Limits, units: UnitOrder) -> RemovalFact {
    let way: Vec<WayFact> = removal
        .way
        .windows(2)
        .map(|pair| WayFact {
            said: step(&pair[0], &pair[1], units),
            drop: rounded(pair[1].drop),
            slide: [rounded(pair[1].front), rounded(pair[1].left)],
            tilt: [pair[1].front_down, pair[1].left_up],
        })
        .collect();
    RemovalFact {
        said: said(removal, limits, units),
        comes_out: removal.comes_out(),
        needed: rounded(removal.needed),
        straight: rounded(removal.straight),
        way,
        without: removal.without.clone(),
    }
}

fn said(r: &Removal, limits: &Limits, units: UnitOrder) -> String {
    let length = |v: f64| show(rounded(v), Dimension::Length, units);
    let angle = |v: f64| show(v, Dimension::Angle, units);
    if !r.overlaps.is_empty() {
        return format!(
            "Whether the pan comes off was not sought: as it sits it overlaps {}.",
            r.overlaps.join(" and ")
        );
    }
    let under = format!(
        "it is under everything {} down; leave that and its own depth free below it",
        length(r.needed)
    );
    let Some(stop) = &r.straight_stop else {
        return format!("The pan drops straight out: {under}.");
    };
    let straight = format!(
        "Straight down it stops after {}: {}.",
        length(stop.dropped),
        met(stop)
    );
    if r.comes_out() {
        return format!("{straight} Tilted and slid it comes out: {under}.");
    }
    let bound = format!(
        "up to {} of tilt and {} of slide",
        angle(limits.tilt),
        length(limits.slide)
    );
    let deepest = match &r.stop {
        Some(stop) => format!(
            "No way was found with {bound}; it came {} down, where {}.",
            length(r.deepest),
            met(stop)
        ),
        None => format!("No way was found with {bound}."),
    };
    let without = if r.without.is_empty() {
        String::new()
    } else {
        format!(" Take off {} first, and it comes out.", r.without.join(" or "))
    };
    format!("{straight} {deepest}{without}")
}

fn met(stop: &Stop) -> String {
    let part = if stop.part.is_empty() { "pan" } else { &stop.part };
    format!("its {part} meets {} at {}", stop.body, at(stop.at))
}

/// What a hand does between two positions.
fn step(a: &Position, b: &Position, units: UnitOrder) -> String {
    let length = |v: f64| show((v * 1e3).round() * 1e-3, Dimension::Length, units);
    let angle = |v: f64| show(v, Dimension::Angle, units);
    let mut parts = Vec::new();
    let mut slide = |by: f64, words: [&str; 2]| {
        if by.abs() >= LEAST.0 {
            parts.push(format!("{} {}", words[usize::from(by < 0.0)], length(by.abs())));
        }
    };
    slide(b.drop - a.drop, ["let it down", "lift it"]);
    slide(
        b.front - a.front,
        ["slide it to the front", "slide it to the rear"],
    );
    slide(b.left - a.left, ["slide it to the left", "slide it to the right"]);
    let mut tilt = |by: f64, words: [&str; 2]| {
        if by.abs() >= LEAST.1 {
            parts.push(format!("{} by {}", words[usize::from(by < 0.0)], angle(by.abs())));
        }
    };
    tilt(
        b.front_down - a.front_down,
        ["lower its front end", "raise its front end"],
    );
    tilt(
        b.left_up - a.left_up,
        ["raise its left side", "lower its left side"],
    );
    if parts.is_empty() {
        return "hold it".to_owned();
    }
    parts.join(", ")
}
