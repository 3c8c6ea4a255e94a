//! From bolt to bolt: which span of a face is worst.

use glam::{DVec2, DVec3};

use super::both::{Profile, Rail};

/// The face between two neighbouring bolts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// The bolt at its start, counter-clockwise or as the rail runs, by index.
    pub from: usize,
    /// The bolt at its end.
    pub to: usize,
    /// From bolt to bolt along the rail [m].
    pub length: f64,
    /// How far the face falls below the straight line from bolt to bolt, at most [m]: what is left open when both bolts
    /// are down on it.
    pub hollow: f64,
    /// How far it stands above that line, at most [m].
    pub crown: f64,
    /// Where the greater of the two lies.
    pub at: DVec2,
    /// How many readings lie between the bolts; with none the span is not known.
    pub readings: usize,
}

/// Every span in the order of the rail, from the first bolt along it. Empty for less than two bolts.
///
/// Heights at a bolt are on the straight line between the readings on either side of it.
pub fn spans(rail: &Rail, bolts: &[DVec2], points: &[DVec3]) -> Vec<Span> {
    let (Some(profile), true) = (Profile::new(rail, points), bolts.len() >= 2) else {
        return Vec::new();
    };
    let mut places: Vec<(f64, usize)> = bolts
        .iter()
        .enumerate()
        .map(|(i, b)| (rail.along(*b).0, i))
        .collect();
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    let read: Vec<f64> = points.iter().map(|p| rail.along(p.truncate()).0).collect();
    (0..places.len())
        .map(|k| {
            let ((start, from), (end, to)) = (places[k], places[(k + 1) % places.len()]);
            let length = rail.ahead(start, end);
            let (low, high) = (profile.at(start), profile.at(end));
            let mut span = Span {
                from,
                to,
                length,
                hollow: 0.0,
                crown: 0.0,
                at: rail.place(start + 0.5 * length),
                readings: 0,
            };
            let mut worst = 0.0;
            for s in &read {
                let way = rail.ahead(start, *s);
                // What was read at the bolts themselves is the line's own end.
                if way <= AT_BOLT || way >= length - AT_BOLT {
                    continue;
                }
                span.readings += 1;
                let over = profile.at(*s) - (low + (high - low) * way / length);
                span.hollow = span.hollow.max(-over);
                span.crown = span.crown.max(over);
                if over.abs() > worst {
                    worst = over.abs();
                    span.at = rail.place(*s);
                }
            }
            span
        })
        .collect()
}

/// A reading nearer to a bolt along the rail than this was taken at the bolt [m].
const AT_BOLT: f64 = 1e-3;
