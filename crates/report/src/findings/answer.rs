//! The answer: verdict, allowance, lowest fill, cures.

use super::Instant;
pub use pickup::Word;
use serde::{Deserialize, Serialize};

/// A number with the half-width of its uncertainty, when known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// The value, SI.
    pub value: f64,
    /// Half-width of the band it lies in, same unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub band: Option<f64>,
}

/// The verdict at the middle allowance of oil aloft.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Verdict {
    /// In one word.
    pub word: Word,
    /// In one sentence: place, cause, cure.
    pub sentence: String,
    /// The reason: which space the oil went to, which plate or door decided it.
    pub reason: String,
    /// Least cover over the mouth [m].
    pub least_cover: Measured,
    /// Where and when.
    pub least_cover_at: Instant,
    /// Air drawn in the worst lap [m³].
    pub air_per_lap: Measured,
    /// Longest single gulp of air [s].
    pub longest_gulp: f64,
    /// Where and when the longest gulp is, when there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub longest_gulp_at: Option<Instant>,
    /// When air is first drawn, when it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_air: Option<Instant>,
    /// Most oil inside the crank sweep at once [m³].
    pub most_at_crank: f64,
    /// Where and when, when any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_at_crank_at: Option<Instant>,
    /// What would keep the mouth covered, best first.
    pub cures: Vec<Cure>,
}

/// Something that would keep the mouth covered.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cure {
    /// In words: "0.4 L more oil".
    pub said: String,
    /// What it costs or what speaks against it; empty when nothing does.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub cost: String,
    /// True when this was computed, false when it follows by argument only.
    pub computed: bool,
}

/// The verdict at one allowance of oil aloft.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AloftCase {
    /// "low", "mid" or "high".
    pub name: String,
    /// Oil missing from the pan at the worst moment's engine speed [m³].
    pub aloft: f64,
    /// In one word.
    pub word: Word,
    /// Least cover [m].
    pub least_cover: f64,
    /// Air drawn in the worst moment [m³].
    pub air: f64,
    /// Longest gulp [s].
    pub longest_gulp: f64,
}

/// The lowest fill that keeps the mouth covered.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LowestFill {
    /// The fill [m³]; absent when none holds below the brim or the crank.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fill: Option<f64>,
    /// Half-width of the search [m³].
    pub band: f64,
    /// How it was found, or why there is none.
    pub said: String,
    /// What was tried.
    pub tried: Vec<TriedFill>,
}

/// A fill that was tried.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct TriedFill {
    /// The fill [m³].
    pub fill: f64,
    /// Least cover at it [m].
    pub least_cover: f64,
    /// Air drawn [m³].
    pub air: f64,
}
