//! Outlines that were cut to pieces of straight chords get their arcs back.
//!
//! Regions are united and cut with straight edges; what was an arc comes out as a row of short chords that turn the
//! same way by nearly the same angle. A cutter should follow the arc and not its chords.

use crate::closed::Closed;
use crate::round::Circle;
use crate::side::Side;
use crate::side::bulge_through;
use glam::DVec2;

/// A corner that turns more than this is a corner [rad]: chords within 0.02 mm of an arc of 1 mm turn by 0.4.
const CORNER: f64 = 0.45;
/// Chords of one arc are of one length but for the first and the last, which may have been cut.
const UNEVEN: f64 = 0.02;
/// Largest radius that is taken for an arc [m].
const FLATTEST: f64 = 2.0;

impl Closed {
    /// The closed outline through `points`, with arcs where a row of chords stands for one; no corner lies farther than
    /// `tolerance` [m] from the arc, which encloses what its chords enclose. A row has four chords or more, so that a polygon drawn with corners keeps them.
    pub fn from_chords(points: &[DVec2], tolerance: f64) -> Closed {
        let n = points.len();
        if n < 5 {
            return Closed::new(points.iter().map(|p| (*p, 0.0)).collect());
        }
        let at = |i: usize| points[i % n];
        let turn = |i: usize| {
            let (a, b) = (at(i) - at(i + n - 1), at(i + 1) - at(i));
            a.perp_dot(b).atan2(a.dot(b))
        };
        // Begin at a corner that belongs to no arc, so that none is cut in two by the start.
        let start = (0..n)
            .find(|&i| turn(i).abs() > CORNER)
            .or_else(|| (0..n).find(|&i| turn(i) * turn(i + 1) <= 0.0))
            .unwrap_or(0);
        let mut vertices = Vec::new();
        let mut i = 0;
        while i < n {
            let most = n - i;
            let mut many = 1;
            let mut best = None;
            if most >= 4 {
                let mut row = 4;
                while row <= most {
                    let run: Vec<DVec2> = (0..=row).map(|k| at(start + i + k)).collect();
                    match arc_of(&run, tolerance) {
                        Some(bulge) => (many, best) = (row, Some(bulge)),
                        None => break,
                    }
                    row += 1;
                }
            }
            vertices.push((at(start + i), best.unwrap_or(0.0)));
            i += many;
        }
        Closed::new(vertices)
    }
}

/// Bulge of the arc that stands for the row of chords, if one does.
fn arc_of(run: &[DVec2], tolerance: f64) -> Option<f64> {
    let chords: Vec<DVec2> = run.windows(2).map(|w| w[1] - w[0]).collect();
    let turns: Vec<f64> = (chords.windows(2))
        .map(|c| c[0].perp_dot(c[1]).atan2(c[0].dot(c[1])))
        .collect();
    let first = turns[0];
    if turns.iter().any(|t| t * first <= 0.0 || t.abs() > CORNER) {
        return None;
    }
    // The inner chords are of one length.
    let inner = &chords[1..chords.len() - 1];
    let long = inner.iter().map(|c| c.length()).fold(0.0, f64::max);
    if inner
        .iter()
        .any(|c| c.length() < (1.0 - UNEVEN) * long - 2.0 * tolerance)
        || [chords[0], chords[chords.len() - 1]]
            .iter()
            .any(|c| c.length() > (1.0 + UNEVEN) * long + 2.0 * tolerance)
    {
        return None;
    }
    let circle = Circle::through(run)?;
    if circle.radius > FLATTEST || turns.iter().sum::<f64>().abs() > 5.5 {
        return None;
    }
    let (from, to) = (run[0], run[run.len() - 1]);
    let middle = run[run.len() / 2];
    let onto = circle.centre + (middle - circle.centre).normalize_or_zero() * circle.radius;
    let bulge = same_area(bulge_through(from, onto, to), run);
    let side = Side { from, to, bulge };
    (run.iter().all(|p| side.nearest(*p).distance(*p) <= tolerance)).then_some(bulge)
}

/// The bulge near `bulge` whose arc encloses with its chord what the row encloses: rows that were made to keep an arc's
/// area give back that arc.
fn same_area(bulge: f64, run: &[DVec2]) -> f64 {
    let from = run[0];
    let to = run[run.len() - 1];
    let wanted: f64 = run
        .windows(2)
        .map(|w| 0.5 * (w[0] - from).perp_dot(w[1] - from))
        .sum();
    let area = |bulge: f64| {
        let side = Side { from, to, bulge };
        side.area_about_origin() - 0.5 * from.perp_dot(to)
    };
    let mut b = bulge;
    for _ in 0..4 {
        let h = 1e-4 * bulge;
        let slope = (area(b + h) - area(b - h)) / (2.0 * h);
        b -= (area(b) - wanted) / slope;
    }
    if b.is_finite() && (b / bulge - 1.0).abs() < 0.1 {
        b
    } else {
        bulge
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slot_cut_into_chords_is_a_slot_again_and_a_hexagon_stays_one() {
        let slot = Closed::new(vec![
            (DVec2::new(0.0, 0.0), 0.0),
            (DVec2::new(0.1, 0.0), 1.0),
            (DVec2::new(0.1, 0.02), 0.0),
            (DVec2::new(0.0, 0.02), 1.0),
        ]);
        let chords = slot.chords(20e-6);
        let back = Closed::from_chords(&chords, 30e-6);
        assert!(back.vertices.len() == 4, "{:?}", back.vertices);
        let area = Closed::new(chords.iter().map(|p| (*p, 0.0)).collect()).area();
        assert!((back.area() - area).abs() < 1e-9, "{} {area}", back.area());
        assert!((back.length() - slot.length()).abs() < 1e-4);
        let corner = |i: i32| 0.03 * DVec2::from_angle(f64::from(i) * std::f64::consts::FRAC_PI_3);
        let hexagon: Vec<DVec2> = (0..6).map(corner).collect();
        let back = Closed::from_chords(&hexagon, 5e-6);
        assert!(back.vertices.len() == 6 && back.vertices.iter().all(|v| v.1 == 0.0));
    }
}
