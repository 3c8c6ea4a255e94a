//! Flatness of a face from measured points, and what would mend it.
//!
//! The flatness of a face is the width of the thinnest slab, between two parallel planes, that holds all of it (the
//! minimum zone of ISO 1101 and ISO 12781-1, in our words). The slab rests on the points' convex hull either with a
//! face against a corner or with two edges that cross ([`zone`]), and there are finitely many such pairs: the answer
//! is found, not searched for. The least-squares plane stands beside it because measuring machines print it; its range
//! is never smaller.
//!
//! Points in metres in any frame, heights in z out of the metal: a rigid motion changes nothing.

mod both;
mod edge;
mod hull;
mod map;
mod skim;
mod squares;
mod zone;

pub use both::{Rail, together};
pub use edge::{EdgeReading, Line, Net, Straightness, net, straightness};
pub use map::{Span, spans};
pub use skim::{Cut, Skim, skim};
pub use squares::{LeastSquares, least_squares};
pub use zone::{Held, Zone, minimum_zone};

use glam::DVec3;

/// Most points that are taken: a scan is thinned before.
pub const MOST_POINTS: usize = 20_000;
/// Points nearer in plan than this are the same place [m].
pub const SAME_PLACE: f64 = 10e-6;
/// A face whose points lie in a strip narrower than this share of its length has no plane of its own.
const NARROWEST: f64 = 0.005;

/// Why points have no flatness. Indexes are those of the points handed in.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum FlatnessFault {
    /// Less than four points.
    #[error("{0} points are too few: any three points lie on a plane")]
    TooFew(usize),
    /// More than [`MOST_POINTS`].
    #[error("{0} points are more than are taken here")]
    TooMany(usize),
    /// A coordinate that is no number.
    #[error("point {} is no number", .0 + 1)]
    NoNumber(usize),
    /// Two points at one place in plan.
    #[error("points {} and {} are the same place", .0 + 1, .1 + 1)]
    SamePlace(usize, usize),
    /// All points on one line, or in a strip so narrow that its tilt across is not known [m].
    #[error("all points lie along one line")]
    OneLine {
        /// Longest way between the points [m].
        length: f64,
        /// Width of the strip that holds them [m].
        width: f64,
    },
}

/// Checks points once, before anything is made of them.
pub fn checked(points: &[DVec3]) -> Result<(), FlatnessFault> {
    if let Some(i) = points.iter().position(|p| !p.is_finite()) {
        return Err(FlatnessFault::NoNumber(i));
    }
    if points.len() > MOST_POINTS {
        return Err(FlatnessFault::TooMany(points.len()));
    }
    if let Some((i, j)) = twice(points) {
        return Err(FlatnessFault::SamePlace(i, j));
    }
    // Three points in a row are told as what they are before they are too few.
    if points.len() >= 3 {
        let frame = squares::frame(points);
        let across = |axis: DVec3| {
            let at = points.iter().map(|p| axis.dot(*p));
            at.clone().fold(f64::NEG_INFINITY, f64::max) - at.fold(f64::INFINITY, f64::min)
        };
        let (length, width) = (across(frame.x_axis), across(frame.y_axis));
        if !(width > NARROWEST * length) {
            return Err(FlatnessFault::OneLine { length, width });
        }
    }
    if points.len() < 4 {
        return Err(FlatnessFault::TooFew(points.len()));
    }
    Ok(())
}

/// The first two points at one place in plan whose heights are those of one face: where a face stands on edge in its
/// frame, points above one another are far apart.
fn twice(points: &[DVec3]) -> Option<(usize, usize)> {
    let (low, high) = points
        .iter()
        .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(l, h), p| {
            (l.min(*p), h.max(*p))
        });
    let near = (0.05 * (high - low).length()).max(SAME_PLACE);
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|&a, &b| points[a].x.total_cmp(&points[b].x));
    let mut found: Option<(usize, usize)> = None;
    for (n, &i) in order.iter().enumerate() {
        for &j in &order[n + 1..] {
            let off = (points[j] - points[i]).abs();
            if off.x > SAME_PLACE {
                break;
            }
            if off.truncate().length() <= SAME_PLACE && off.z <= near {
                let pair = (i.min(j), i.max(j));
                found = Some(found.map_or(pair, |f| f.min(pair)));
            }
        }
    }
    found
}
