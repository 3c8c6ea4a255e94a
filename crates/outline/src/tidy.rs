//! Tidying of outlines after reading: sides that continue one another become one.

use crate::closed::Closed;
use crate::side::{Side, bulge_through};
use glam::DVec2;

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

/// Whether the line crosses or touches itself, and where.
///
/// Chords within `sagitta` of the line are laid into a grid of squares; only chords that share a square are compared.
pub(crate) fn crossing(outline: &Closed, sagitta: f64) -> Option<DVec2> {
    let points = outline.chords(sagitta);
    let n = points.len();
    if n < 4 {
        return None;
    }
    let (low, high) = outline.bounds();
    let many = (n as f64).sqrt().ceil().clamp(1.0, 512.0);
    let size = ((high - low).max_element() / many).max(f64::MIN_POSITIVE);
    let square = |p: DVec2| {
        (((p - low) / size).floor().as_i64vec2())
            .clamp(glam::I64Vec2::ZERO, glam::I64Vec2::splat(many as i64))
    };
    let mut grid: std::collections::HashMap<(i64, i64), Vec<usize>> = std::collections::HashMap::new();
    let mut compared = 0_usize;
    for i in 0..n {
        let (a, b) = (points[i], points[(i + 1) % n]);
        let (s, e) = (square(a.min(b)), square(a.max(b)));
        for x in s.x..=e.x {
            for y in s.y..=e.y {
                let here = grid.entry((x, y)).or_default();
                for &j in here.iter() {
                    let apart = i.abs_diff(j);
                    if apart > 1 && apart < n - 1 {
                        compared += 1;
                        if let Some(at) = meeting(a, b, points[j], points[(j + 1) % n]) {
                            return Some(at);
                        }
                    }
                }
                here.push(i);
                // A hostile tangle crosses itself long before; an honest outline never comes near this.
                if compared > 50_000_000 {
                    return Some(a);
                }
            }
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
    fn an_eight_crosses_itself_in_its_middle_and_a_letter_d_does_not() {
        let p = |x: f64, y: f64| (DVec2::new(x, y), 0.0);
        let eight = Closed::new(vec![p(0.0, 0.0), p(2.0, 2.0), p(2.0, 0.0), p(0.0, 2.0)]);
        assert!(crossing(&eight, 0.01).is_some_and(|at| at.distance(DVec2::ONE) < 1e-9));
        let d = Closed::new(vec![(DVec2::new(0.0, -1.0), 1.0), (DVec2::new(0.0, 1.0), 0.0)]);
        assert_eq!(crossing(&d, 0.001), None);
        assert_eq!(crossing(&Closed::circle(DVec2::ZERO, 3.0), 0.001), None);
    }
}
