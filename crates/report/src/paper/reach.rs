//! Whether a piece of a drawing reaches a window.

use crate::drawing::{Anchor, Item, Path, Shape, pdf};
use glam::DVec2;
use std::f64::consts::FRAC_PI_8;

/// Whether something of the item shows between two corners.
///
/// Arcs are taken as chords of a sixteenth of a turn with their sagitta as their thickness: an item may be called near by
/// two hundredths of its radius too early and never too late.
pub(super) fn touches(item: &Item, low: DVec2, high: DVec2) -> bool {
    let half = item.pen.map_or(0.0, |p| 0.5 * p.weight.width());
    let filled = item.fill.is_some();
    match &item.shape {
        Shape::Line { from, to } => crosses(*from, *to, low - half, high + half),
        Shape::Arc {
            centre,
            radius,
            start,
            sweep,
        } => round(*centre, *radius, *start, *sweep, low - half, high + half),
        Shape::Circle { centre, radius } => {
            let inside = filled && (0.5 * (low + high)).distance(*centre) <= *radius;
            inside
                || round(
                    *centre,
                    *radius,
                    0.0,
                    std::f64::consts::TAU,
                    low - half,
                    high + half,
                )
        }
        Shape::Paths(paths) => {
            paths.iter().any(|p| along(p, low - half, high + half))
                || (filled && winding(paths, 0.5 * (low + high)) != 0)
        }
        Shape::Picture { .. } | Shape::Text { .. } => near(item, low, high),
    }
}

/// Whether the item's box reaches the window.
pub(super) fn near(item: &Item, low: DVec2, high: DVec2) -> bool {
    let (l, h) = box_of(item);
    l.cmple(high).all() && low.cmple(h).all()
}

fn box_of(item: &Item) -> (DVec2, DVec2) {
    let half = DVec2::splat(item.pen.map_or(0.0, |p| 0.5 * p.weight.width()));
    let (low, high) = match &item.shape {
        Shape::Line { from, to } => (from.min(*to), from.max(*to)),
        Shape::Arc { centre, radius, .. } | Shape::Circle { centre, radius } => {
            (*centre - *radius, *centre + *radius)
        }
        Shape::Paths(paths) => {
            let mut bounds = (DVec2::INFINITY, DVec2::NEG_INFINITY);
            for path in paths {
                sides(path, |a, b, bulge| {
                    let (centre, radius) = circle(a, b, bulge);
                    let reach = if bulge == 0.0 {
                        DVec2::ZERO
                    } else {
                        DVec2::splat(radius)
                    };
                    let (l, h) = if bulge == 0.0 {
                        (a.min(b), a.max(b))
                    } else {
                        (centre - reach, centre + reach)
                    };
                    bounds = (bounds.0.min(l), bounds.1.max(h));
                });
            }
            bounds
        }
        Shape::Picture { low, high, .. } => (*low, *high),
        Shape::Text {
            at,
            words,
            size,
            anchor,
            turn,
            strong,
        } => {
            // Without letters nothing will be printed; a letter is seldom wider than its size.
            let width = pdf::width(words, *size, *strong).unwrap_or(*size * words.chars().count() as f64);
            let from = match anchor {
                Anchor::Start => 0.0,
                Anchor::Middle => -0.5 * width,
                Anchor::End => -width,
            };
            let way = DVec2::from_angle(*turn);
            let corners = [
                (from, -0.3),
                (from + width, -0.3),
                (from, 1.0),
                (from + width, 1.0),
            ];
            let corners = corners.map(|(x, y)| *at + x * way + y * size * way.perp());
            (
                corners.iter().fold(DVec2::INFINITY, |m, p| m.min(*p)),
                corners.iter().fold(DVec2::NEG_INFINITY, |m, p| m.max(*p)),
            )
        }
    };
    (low - half, high + half)
}

fn sides(path: &Path, mut each: impl FnMut(DVec2, DVec2, f64)) {
    let v = &path.vertices;
    let last = if path.closed {
        v.len()
    } else {
        v.len().saturating_sub(1)
    };
    for i in 0..last {
        each(v[i].0, v[(i + 1) % v.len()].0, v[i].1);
    }
}

/// Centre and radius of an arc; nonsense for a straight stretch.
fn circle(a: DVec2, b: DVec2, bulge: f64) -> (DVec2, f64) {
    let centre = 0.5 * (a + b) + (1.0 - bulge * bulge) / (4.0 * bulge) * (b - a).perp();
    (centre, centre.distance(a))
}

fn along(path: &Path, low: DVec2, high: DVec2) -> bool {
    let mut found = false;
    sides(path, |a, b, bulge| {
        found |= match bulge {
            0.0 => crosses(a, b, low, high),
            _ => {
                let (centre, radius) = circle(a, b, bulge);
                round(
                    centre,
                    radius,
                    (a - centre).to_angle(),
                    4.0 * bulge.atan(),
                    low,
                    high,
                )
            }
        };
    });
    found
}

fn round(centre: DVec2, radius: f64, start: f64, sweep: f64, low: DVec2, high: DVec2) -> bool {
    let steps = (sweep.abs() / FRAC_PI_8).ceil().max(1.0);
    let turn = sweep / steps;
    let sagitta = radius * (1.0 - (0.5 * turn).cos());
    let at = |k: f64| centre + radius * DVec2::from_angle(start + k * turn);
    (0..steps as usize).any(|k| crosses(at(k as f64), at(k as f64 + 1.0), low - sagitta, high + sagitta))
}

/// Whether a straight stretch meets a rectangle (cut by its four sides in turn, Liang and Barsky 1984).
fn crosses(a: DVec2, b: DVec2, low: DVec2, high: DVec2) -> bool {
    let way = b - a;
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (p, q) in [
        (-way.x, a.x - low.x),
        (way.x, high.x - a.x),
        (-way.y, a.y - low.y),
        (way.y, high.y - a.y),
    ] {
        if p == 0.0 {
            if q < 0.0 {
                return false;
            }
        } else if p < 0.0 {
            from = from.max(q / p);
        } else {
            to = to.min(q / p);
        }
    }
    from <= to
}

/// How often the paths wind round a place, arcs as chords: a place that lies between chord and arc has the line near it.
fn winding(paths: &[Path], p: DVec2) -> i32 {
    let mut turns = 0;
    for path in paths {
        sides(path, |a, b, bulge| {
            let mut step = |a: DVec2, b: DVec2| {
                let left = (b - a).perp_dot(p - a);
                if a.y <= p.y && b.y > p.y && left > 0.0 {
                    turns += 1;
                } else if a.y > p.y && b.y <= p.y && left < 0.0 {
                    turns -= 1;
                }
            };
            if bulge == 0.0 {
                step(a, b);
                return;
            }
            let (centre, _) = circle(a, b, bulge);
            let sweep = 4.0 * bulge.atan();
            let steps = (sweep.abs() / FRAC_PI_8).ceil().max(1.0) as usize;
            let mut from = a;
            for k in 1..=steps {
                let to = match k == steps {
                    true => b,
                    false => centre + DVec2::from_angle(sweep * k as f64 / steps as f64).rotate(a - centre),
                };
                step(from, to);
                from = to;
            }
        });
    }
    turns
}
