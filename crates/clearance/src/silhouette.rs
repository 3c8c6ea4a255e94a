//! What a body looks like from one side, for a picture. Not for measuring.

use crate::body::{Body, HalfSpace, Shape};
use crate::{Core, Piece};
use glam::{DVec2, DVec3};
use pan::Region;

/// Places on a rim that stand for it.
const AROUND: usize = 36;
/// Places on the ball round a piece that stand for it: sixteen on the unit circle.
const RING: [[f64; 2]; 16] = {
    let (a, b, c) = (
        0.923_879_532_511_286_8,
        0.382_683_432_365_089_8,
        std::f64::consts::FRAC_1_SQRT_2,
    );
    [
        [1.0, 0.0],
        [a, b],
        [c, c],
        [b, a],
        [0.0, 1.0],
        [-b, a],
        [-c, c],
        [-a, b],
        [-1.0, 0.0],
        [-a, -b],
        [-c, -c],
        [-b, -a],
        [0.0, -1.0],
        [b, -a],
        [c, -c],
        [a, -b],
    ]
};
/// Bodies of more pieces are drawn by rows instead of by union.
const MOST_PIECES: usize = 400;
/// Rows across the window of such a body.
const ROWS: usize = 500;

/// A direction of looking: to the right and up on paper, unit vectors square to one another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// To the right on paper.
    pub right: DVec3,
    /// Up on paper.
    pub up: DVec3,
}

impl View {
    /// Where a point is on paper [m].
    pub fn seen(&self, p: DVec3) -> DVec2 {
        DVec2::new(p.dot(self.right), p.dot(self.up))
    }
}

/// The body's outline seen in `view`, cut to the window between two corners on paper [m].
///
/// A half-space shows only where its plane is seen edge on, within about 10 degrees; it would hide all else.
pub fn silhouette(body: &Body, view: &View, window: (DVec2, DVec2)) -> Region {
    let frame = Region::rectangle(window.0, window.1);
    match &body.shape {
        Shape::HalfSpaces(planes) => {
            let parts: Vec<Region> = planes.iter().filter_map(|p| side(p, view, window)).collect();
            Region::union_of(&parts).intersection(&frame)
        }
        Shape::Pieces(tree) => {
            let near: Vec<Vec<DVec2>> = tree
                .pieces()
                .iter()
                .map(|p| outline(p, view))
                .filter(|o| meets(o, window))
                .collect();
            let whole = if near.len() <= MOST_PIECES {
                Region::from_loops(&near)
            } else {
                by_rows(&near, window)
            };
            whole.intersection(&frame)
        }
    }
}

/// Hull of a piece on paper.
fn outline(piece: &Piece, view: &View) -> Vec<DVec2> {
    let core: Vec<DVec2> = piece
        .outline_points(AROUND)
        .into_iter()
        .map(|p| view.seen(p))
        .collect();
    let core = hull(core, matches!(piece.core, Core::Facet(_)));
    if piece.round == 0.0 {
        return core;
    }
    let ring = |p: &DVec2| RING.map(|way| *p + piece.round * DVec2::from(way));
    hull(core.iter().flat_map(ring).collect(), false)
}

fn meets(outline: &[DVec2], window: (DVec2, DVec2)) -> bool {
    let first = DVec2::INFINITY;
    let (low, high) = outline
        .iter()
        .fold((first, -first), |(l, h), p| (l.min(*p), h.max(*p)));
    low.cmple(window.1).all() && high.cmpge(window.0).all()
}

/// Convex hull, counter-clockwise (Andrew's monotone chain); a facet needs no more than its sense.
fn hull(mut points: Vec<DVec2>, facet: bool) -> Vec<DVec2> {
    if facet && points.len() == 3 {
        if (points[1] - points[0]).perp_dot(points[2] - points[0]) < 0.0 {
            points.swap(1, 2);
        }
        return points;
    }
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points.dedup();
    let half = |points: &mut dyn Iterator<Item = DVec2>| {
        let mut chain: Vec<DVec2> = Vec::new();
        for p in points {
            while let [.., a, b] = chain[..]
                && (b - a).perp_dot(p - b) <= 0.0
            {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut lower = half(&mut points.iter().copied());
    lower.extend(half(&mut points.iter().rev().copied()));
    lower
}

/// Union of many convex outlines as the stretches that they cover of each row of the window.
fn by_rows(outlines: &[Vec<DVec2>], (low, high): (DVec2, DVec2)) -> Region {
    let pitch = (high.y - low.y) / ROWS as f64;
    let mut rows: Vec<Vec<(f64, f64)>> = vec![Vec::new(); ROWS];
    for outline in outlines {
        let (bottom, top) = outline
            .iter()
            .fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p.y), h.max(p.y)));
        let row = |y: f64| ((y - low.y) / pitch).floor().clamp(0.0, ROWS as f64 - 1.0) as usize;
        for (r, stretches) in rows.iter_mut().enumerate().take(row(top) + 1).skip(row(bottom)) {
            // What the outline covers of a row is widest at the row's edges or at a corner between them.
            let (y0, y1) = (low.y + pitch * r as f64, low.y + pitch * (r + 1) as f64);
            let mut span = (f64::MAX, f64::MIN);
            let mut take = |x: f64| span = (span.0.min(x), span.1.max(x));
            for i in 0..outline.len() {
                let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
                if (y0..=y1).contains(&a.y) {
                    take(a.x);
                }
                for y in [y0, y1] {
                    if (a.y < y) != (b.y < y) {
                        take(a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x));
                    }
                }
            }
            if span.0 <= span.1 {
                stretches.push(span);
            }
        }
    }
    let mut boxes = Vec::new();
    for (r, mut stretches) in rows.into_iter().enumerate() {
        let (y0, y1) = (low.y + pitch * r as f64, low.y + pitch * (r + 1) as f64);
        stretches.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut joined: Vec<(f64, f64)> = Vec::new();
        for s in stretches {
            match joined.last_mut() {
                Some(last) if s.0 <= last.1 => last.1 = last.1.max(s.1),
                _ => joined.push(s),
            }
        }
        for (a, b) in joined {
            boxes.push(vec![
                DVec2::new(a, y0),
                DVec2::new(b, y0),
                DVec2::new(b, y1),
                DVec2::new(a, y1),
            ]);
        }
    }
    Region::from_loops(&boxes)
}

/// The far side of a plane seen edge on.
fn side(plane: &HalfSpace, view: &View, (low, high): (DVec2, DVec2)) -> Option<Region> {
    let out = view.seen(plane.out);
    if out.length() < 0.985 {
        return None;
    }
    let out = out.normalize();
    let far = (high - low).length() + low.length().max(high.length());
    // Of the whole plane the line that is nearest to the pan, which lies about the origin.
    let at = out * (plane.at.dot(plane.out) / view.seen(plane.out).length());
    let along = out.perp() * (2.0 * far);
    Some(Region::from_loops(&[vec![
        at + along,
        at - along,
        at - along - out * far,
        at + along - out * far,
    ]]))
}
