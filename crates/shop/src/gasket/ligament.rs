//! The narrowest bridges of material between edges, exactly for straight lines and arcs.
//!
//! Between two sides that do not meet the least distance lies at an end of one of them, or where the line that joins the
//! two nearest points stands square on both: the foot of an arc's centre on a straight side, or the line through the
//! centres of two arcs. All such pairs are tried.

use glam::DVec2;
use outline::Closed;
use outline::side::Side;
use serde::Serialize;

/// A bridge of material.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bridge {
    /// How wide it is [m].
    pub width: f64,
    /// One end [m].
    pub from: DVec2,
    /// Other end [m].
    pub to: DVec2,
    /// What it lies between.
    pub between: [String; 2],
}

/// The narrowest bridge and every pair's narrowest under `limit` [m], narrowest first.
///
/// `lines` are the outer edge, then openings and holes, none of which meet; `names` says what they are. A narrow neck
/// between two stretches of one line is a bridge too, where the way round along the line is twice as long.
pub fn bridges(lines: &[Closed], names: &[String], limit: f64) -> Vec<Bridge> {
    let bounds: Vec<(DVec2, DVec2)> = lines.iter().map(Closed::bounds).collect();
    let sides: Vec<Vec<Side>> = lines.iter().map(|l| l.sides().collect()).collect();
    let boxes: Vec<Vec<(DVec2, DVec2)>> = (sides.iter())
        .map(|l| l.iter().map(Side::bounds).collect())
        .collect();
    let mut best = f64::INFINITY;
    let mut found = Vec::new();
    for i in 0..lines.len() {
        for j in i..lines.len() {
            let reach = best.max(limit);
            if i != j && apart(bounds[i], bounds[j]) > reach {
                continue;
            }
            let pair = match i == j {
                true => neck(&sides[i], reach),
                false => least(&sides[i], &boxes[i], &sides[j], &boxes[j], reach),
            };
            if let Some((from, to)) = pair
                && in_material(lines, 0.5 * (from + to))
            {
                let width = from.distance(to);
                best = best.min(width);
                let between = [names[i].clone(), names[j].clone()];
                found.push(Bridge {
                    width,
                    from,
                    to,
                    between,
                });
            }
        }
    }
    found.retain(|b| b.width < limit || b.width <= best);
    found.sort_by(|a, b| a.width.total_cmp(&b.width));
    found
}

fn in_material(lines: &[Closed], p: DVec2) -> bool {
    lines[0].contains(p) && !lines[1..].iter().any(|l| l.contains(p))
}

/// Distance between two boxes; 0 where they overlap.
fn apart(a: (DVec2, DVec2), b: (DVec2, DVec2)) -> f64 {
    (a.0 - b.1).max(b.0 - a.1).max(DVec2::ZERO).length()
}

fn least(
    a: &[Side],
    a_boxes: &[(DVec2, DVec2)],
    b: &[Side],
    b_boxes: &[(DVec2, DVec2)],
    mut reach: f64,
) -> Option<(DVec2, DVec2)> {
    let mut pair = None;
    for (s, sb) in a.iter().zip(a_boxes) {
        for (t, tb) in b.iter().zip(b_boxes) {
            if apart(*sb, *tb) <= reach {
                let (p, q) = nearest(s, t);
                if p.distance(q) <= reach {
                    reach = p.distance(q);
                    pair = Some((p, q));
                }
            }
        }
    }
    pair
}

/// The narrowest place between two stretches of one line.
fn neck(sides: &[Side], mut reach: f64) -> Option<(DVec2, DVec2)> {
    let n = sides.len();
    let mut start = vec![0.0];
    for s in sides {
        start.push(start[start.len() - 1] + s.length());
    }
    let whole = start[n];
    let mut pair = None;
    for i in 0..n {
        for j in i + 2..n {
            if i == 0 && j == n - 1 {
                continue;
            }
            let (p, q) = nearest(&sides[i], &sides[j]);
            let width = p.distance(q);
            // Round a fillet or along a short side one comes near oneself without a neck.
            let way = (start[j] + along(&sides[j], q)) - (start[i] + along(&sides[i], p));
            if width <= reach && way.min(whole - way) > 2.0 * width {
                reach = width;
                pair = Some((p, q));
            }
        }
    }
    pair
}

/// Length along a side up to a place on it.
fn along(side: &Side, p: DVec2) -> f64 {
    match side.centre() {
        None => side.from.distance(p),
        Some(centre) => {
            let turned = (side.from - centre).angle_to(p - centre) * side.sweep().signum();
            turned.rem_euclid(std::f64::consts::TAU).min(side.sweep().abs()) * side.radius()
        }
    }
}

/// The two nearest places of two sides that do not meet.
pub fn nearest(a: &Side, b: &Side) -> (DVec2, DVec2) {
    let mut best = (a.from, b.from);
    let mut least = f64::INFINITY;
    let mut offer = |p: DVec2, q: DVec2| {
        if p.distance_squared(q) < least {
            least = p.distance_squared(q);
            best = (p, q);
        }
    };
    for p in [a.from, a.to] {
        offer(p, b.nearest(p));
    }
    for q in [b.from, b.to] {
        offer(a.nearest(q), q);
    }
    match (a.centre(), b.centre()) {
        (None, None) => {}
        (Some(c), None) => {
            let p = a.nearest(b.nearest(c));
            offer(p, b.nearest(p));
        }
        (None, Some(c)) => {
            let q = b.nearest(a.nearest(c));
            offer(a.nearest(q), q);
        }
        (Some(c), Some(d)) => {
            let way = (d - c).normalize_or_zero();
            for sign in [1.0, -1.0] {
                let p = a.nearest(c + sign * a.radius() * way);
                offer(p, b.nearest(p));
                let q = b.nearest(d + sign * b.radius() * way);
                offer(a.nearest(q), q);
            }
        }
    }
    best
}
