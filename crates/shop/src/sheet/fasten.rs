//! What holds plates: rivets in rows, plug welds.
//!
//! Distances of rivets: edge at least 2 D, 2.5 D for flush heads (FAA AC 43.13-1B, 4-57); pitch 3 D to 6 D (from memory
//! of the same). Sizes of plug welds: common practice, no source.

use serde::Serialize;

/// A rivet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Rivet {
    /// Diameter of its shank D [m].
    pub diameter: f64,
    /// Countersunk head.
    pub flush: bool,
}

impl Rivet {
    /// Least distance of its middle from an edge [m].
    pub fn least_edge(&self) -> f64 {
        if self.flush {
            2.5 * self.diameter
        } else {
            2.0 * self.diameter
        }
    }

    /// Least and widest pitch [m].
    pub fn pitch(&self) -> (f64, f64) {
        (3.0 * self.diameter, 6.0 * self.diameter)
    }

    /// Hole that is drilled for it [m]: 0.1 mm over the shank (common practice, no source).
    pub fn hole(&self) -> f64 {
        self.diameter + 0.1e-3
    }
}

/// What holds a tab.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub enum Fasten {
    /// Holes in the tab, filled with weld onto what lies under it.
    Weld,
    /// A row of rivets.
    Rivet(Rivet),
    /// No holes: seam welded, brazed or glued.
    Plain,
}

/// Diameter of a hole for a plug weld at a thickness [m]: about 3 T and at least 5 mm (common practice, no source).
pub fn plug(thickness: f64) -> f64 {
    (3.0 * thickness).max(5e-3)
}

/// Pitch of plug welds [m] (common practice, no source).
pub const PLUG_PITCH: f64 = 40e-3;

/// Evenly spaced places along a row from `first` to `last` [m], no farther apart than `pitch`; one in the middle when
/// two would stand nearer than `least`, none when there is no row.
pub fn row(first: f64, last: f64, pitch: f64, least: f64) -> Vec<f64> {
    let long = last - first;
    if long < -1e-9 {
        return Vec::new();
    }
    if long < least {
        return vec![0.5 * (first + last)];
    }
    let gaps = (long / pitch - 1e-9)
        .ceil()
        .max(1.0)
        .min((long / least + 1e-9).floor());
    let step = long / gaps;
    (0..=gaps as usize).map(|i| first + step * i as f64).collect()
}
