//! Tidying of outlines after reading: sides that continue one another become one.

use crate::closed::Closed;
use crate::side::{Side, bulge_through};
use glam::{DVec2, I64Vec2};
use std::collections::HashMap;

/// Merges neighbouring sides that lie on one line or one circle within `tolerance`, so that a circle written as four
/// curves or an arc cut in twelve is an arc again. Corners that stay are not moved.
pub(crate) fn merged(outline: &Closed, tolerance: f64) -> Closed {
    let sides: Vec<Side> = outline.sides().filter(|s| s.from != s.to).collect();
    if sides.len() < 3 {
        return outline.clone();
    }
    // Begin at a corner that stays, so that no run of sides is cut in two by the start.
    let n = sides.len();
    let start = (0..n)
        .find(|&i| one_side(&[sides[(i + n - 1) % n], sides[i]], tolerance).is_none())
        .unwrap_or(0);
    let turned: Vec<Side> = (0..n).map(|i| sides[(start + i) % n]).collect();
    let mut vertices: Vec<(DVec2, f64)> = Vec::new();
    let mut i = 0;
    while i < n {
        // As many sides as one will stand for, by doubling and halving the step.
        let (mut many, mut best) = (1, turned[i]);
        let mut step = 1;
        while step > 0 {
            let wanted = many + step;
            let longer =
                (i + wanted <= n && wanted <= 4096).then(|| one_side(&turned[i..i + wanted], tolerance));
            match longer.flatten() {
                Some(side) => {
                    (many, best) = (wanted, side);
                    step *= 2;
                }
                None => step /= 2,
            }
        }
        vertices.push((best.from, best.bulge));
        i += many;
    }
    Closed::new(vertices)
}

/// The one side that stands for a row of sides, no corner or middle of which it leaves by more than `tolerance`.
fn one_side(row: &[Side], tolerance: f64) -> Option<Side> {
    let (first, last) = (row.first()?, row.last()?);
    let (from, to) = (first.from, last.to);
    let sweep: f64 = row.iter().map(|s| s.sweep()).sum();
    // Nearly a whole turn leaves too short a chord to hold the circle by.
    if sweep.abs() > 5.5
        || row
            .iter()
            .any(|s| s.sweep() * sweep < 0.0 && s.sweep().abs() > 1e-6)
    {
        return None;
    }
    let length: f64 = row.iter().map(|s| s.length()).sum();
    let middle = point_along(row, 0.5 * length);
    let bulge = if row.iter().all(|s| s.is_straight()) {
        0.0
    } else {
        bulge_through(from, middle, to)
    };
    let side = Side { from, to, bulge };
    // Straight sides never become an arc, nor the other way round: what was drawn straight stays straight.
    if side.is_straight() != row.iter().all(|s| s.is_straight())
        || row.iter().any(|s| s.is_straight() != side.is_straight())
    {
        return None;
    }
    let near = |p: DVec2| side.nearest(p).distance(p) <= tolerance;
    let holds = row
        .iter()
        .all(|s| near(s.to) && near(s.at(0.5)) && near(s.at(0.25)) && near(s.at(0.75)));
    (holds && (side.length() - length).abs() <= 0.02 * length + tolerance).then_some(side)
}

fn point_along(row: &[Side], mut distance: f64) -> DVec2 {
    for side in row {
        let length = side.length();
        if distance <= length {
            return side.at(distance / length);
        }
        distance -= length;
    }
    row[row.len() - 1].to
}

/// Lines that cross or touch themselves or each other.
#[derive(Debug, PartialEq)]
pub(crate) enum Crossing {
    /// Two lines by their number (the same one twice for a line that crosses itself), and where.
    At(usize, usize, DVec2),
    /// More comparisons than are made.
    Tangled,
}

/// The first crossing among closed lines, each with the sagitta of the chords that stand for its arcs.
///
/// Chords are laid into a grid of squares; only chords that share a square are compared. `work` is how many squares and
/// pairs may be looked at: an honest drawing takes some thousands.
pub(crate) fn crossing(lines: &[(&Closed, f64)], mut work: usize) -> Option<Crossing> {
    struct Chord {
        line: usize,
        place: usize,
        of: usize,
        from: DVec2,
        to: DVec2,
    }
    let mut chords: Vec<Chord> = Vec::new();
    for (line, (outline, sagitta)) in lines.iter().enumerate() {
        // Very many sides are short ones: fewer chords a side keep the memory in bounds.
        let coarse = outline.vertices.len() > 20_000;
        let points = outline.chords(if coarse { 1e3 * sagitta } else { *sagitta });
        let of = points.len();
        chords.extend((0..of).map(|place| Chord {
            line,
            place,
            of,
            from: points[place],
            to: points[(place + 1) % of],
        }));
    }
    let bounds = lines.iter().map(|(l, _)| l.bounds());
    let (low, high) = bounds.reduce(|(a, b), (l, h)| (a.min(l), b.max(h)))?;
    let many = (chords.len() as f64).sqrt().ceil().clamp(1.0, 512.0);
    let size = ((high - low).max_element() / many).max(f64::MIN_POSITIVE);
    let square = |p: DVec2| {
        ((p - low) / size)
            .floor()
            .as_i64vec2()
            .clamp(I64Vec2::ZERO, I64Vec2::splat(many as i64))
    };
    let mut grid: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
    for (i, a) in chords.iter().enumerate() {
        let (s, e) = (square(a.from.min(a.to)), square(a.from.max(a.to)));
        for (x, y) in (s.x..=e.x).flat_map(|x| (s.y..=e.y).map(move |y| (x, y))) {
            let here = grid.entry((x, y)).or_default();
            work = work.saturating_sub(1 + here.len());
            if work == 0 {
                return Some(Crossing::Tangled);
            }
            for &j in here.iter() {
                let b = &chords[j];
                let apart = a.place.abs_diff(b.place);
                let neighbours = a.line == b.line && (apart <= 1 || apart == a.of - 1);
                if !neighbours && let Some(at) = meeting(a.from, a.to, b.from, b.to) {
                    return Some(Crossing::At(b.line, a.line, at));
                }
            }
            here.push(i);
        }
    }
    None
}

/// Where two straight stretches meet, ends included.
fn meeting(a: DVec2, b: DVec2, c: DVec2, d: DVec2) -> Option<DVec2> {
    let (r, s) = (b - a, d - c);
    let cross = r.perp_dot(s);
    if cross == 0.0 {
        return None;
    }
    let (t, u) = ((c - a).perp_dot(s) / cross, (c - a).perp_dot(r) / cross);
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then(|| a + t * r)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fillet_cut_in_pieces_is_one_arc_again_and_its_neighbours_stay() {
        // A square of 100 with one corner rounded by 20, the fillet in five pieces and one side in two.
        let fillet = Side {
            from: DVec2::new(100.0, 80.0),
            to: DVec2::new(80.0, 100.0),
            bulge: (std::f64::consts::PI / 8.0).tan(),
        };
        let part = (std::f64::consts::PI / 40.0).tan();
        let mut vertices = vec![(DVec2::new(50.0, 0.0), 0.0), (DVec2::new(100.0, 0.0), 0.0)];
        vertices.extend((0..5).map(|i| (fillet.at(f64::from(i) / 5.0), part)));
        vertices.extend([
            (fillet.to, 0.0),
            (DVec2::new(0.0, 100.0), 0.0),
            (DVec2::ZERO, 0.0),
        ]);
        let whole = Closed::new(vertices);
        let tidy = merged(&whole, 1e-6);
        assert_eq!(tidy.vertices.len(), 5, "{tidy:?}");
        assert!((tidy.area() - whole.area()).abs() < 1e-9);
        let bulges: Vec<f64> = tidy.vertices.iter().map(|v| v.1).filter(|b| *b != 0.0).collect();
        assert_eq!(bulges.len(), 1);
        assert!((bulges[0] - fillet.bulge).abs() < 1e-9);
    }

    #[test]
    fn an_eight_crosses_itself_in_its_middle_and_a_hole_over_the_edge_its_outline() {
        let p = |x: f64, y: f64| (DVec2::new(x, y), 0.0);
        let eight = Closed::new(vec![p(0.0, 0.0), p(2.0, 2.0), p(2.0, 0.0), p(0.0, 2.0)]);
        match crossing(&[(&eight, 0.01)], 10_000) {
            Some(Crossing::At(0, 0, at)) => assert!(at.distance(DVec2::ONE) < 1e-9),
            other => panic!("{other:?}"),
        }
        assert_eq!(crossing(&[(&eight, 0.01)], 2), Some(Crossing::Tangled));
        let d = Closed::new(vec![(DVec2::new(0.0, -1.0), 1.0), (DVec2::new(0.0, 1.0), 0.0)]);
        let circle = |r: f64| Closed::circle(DVec2::new(3.0, 0.0), r);
        assert_eq!(crossing(&[(&d, 0.001), (&circle(1.9), 0.001)], 100_000), None);
        match crossing(&[(&d, 0.001), (&circle(2.1), 0.001)], 100_000) {
            Some(Crossing::At(0, 1, at)) => assert!((at.length() - 1.0).abs() < 0.01, "{at}"),
            other => panic!("{other:?}"),
        }
    }
}
