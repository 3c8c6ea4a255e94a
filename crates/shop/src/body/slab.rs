//! The solid between two heights: plane sides over the plan of its middle, proved at both ends.
//!
//! Each edge of the middle plan belongs to a piece and moves with it up and down; corners stay on both of their edges,
//! so that sides are planes. Where that does not give the plan that is due at an end (walls that meet, corners that
//! vanish), the slab is halved; one thinner than [`THINNEST`] gets upright sides.

use super::piece::Piece;
use glam::DVec2;
use pan::Region;
use pan::polygon::{Loop, loop_area, nearest_on_segment};

/// Slabs are not halved below this height [m].
const THINNEST: f64 = 20e-6;
/// Breaks nearer than this are one [m].
const SAME_HEIGHT: f64 = 1e-6;

/// Between two heights: loops with the metal on their left, corner by corner the same at both ends.
#[derive(Clone, Debug)]
pub(super) struct Slab {
    pub low: f64,
    pub high: f64,
    pub lower: Vec<Loop>,
    pub upper: Vec<Loop>,
}

/// Plan at a height.
pub(super) fn plan(pieces: &[Piece], z: f64) -> Region {
    let here: Vec<&Piece> = pieces.iter().filter(|p| p.spans(z)).collect();
    united(
        &here,
        &here.iter().map(|p| p.plan(p.inset(z))).collect::<Vec<_>>(),
    )
}

/// Slabs from bottom to top.
pub(super) fn slabs(pieces: &[Piece], closeness: f64) -> Vec<Slab> {
    let mut breaks: Vec<f64> = pieces.iter().flat_map(|p| p.breaks()).collect();
    breaks.sort_by(f64::total_cmp);
    breaks.dedup_by(|a, b| *a - *b < SAME_HEIGHT);
    let mut slabs = Vec::new();
    for pair in breaks.windows(2) {
        let middle = 0.5 * (pair[0] + pair[1]);
        let here: Vec<&Piece> = pieces.iter().filter(|p| p.spans(middle)).collect();
        add(&here, pair[0], pair[1], closeness, &mut slabs);
    }
    slabs
}

fn add(here: &[&Piece], low: f64, high: f64, closeness: f64, slabs: &mut Vec<Slab>) {
    let ends: Vec<[f64; 2]> = here.iter().map(|p| [p.inset(low), p.inset(high)]).collect();
    let plans: Vec<Region> = (here.iter().zip(&ends))
        .map(|(p, [a, b])| p.plan(0.5 * (a + b)))
        .collect();
    let middle = united(here, &plans);
    if middle.is_empty() {
        return;
    }
    let loops: Vec<Loop> = middle.loops().cloned().collect();
    if ends.iter().all(|[a, b]| a == b) {
        slabs.push(Slab {
            low,
            high,
            upper: loops.clone(),
            lower: loops,
        });
        return;
    }
    let owners: Vec<Vec<usize>> = loops.iter().map(|l| owners(here, &plans, l)).collect();
    let at = |end: usize| -> Vec<Loop> {
        loops
            .iter()
            .zip(&owners)
            .map(|(l, owners)| {
                let inward: Vec<f64> = (0..l.len())
                    .map(|i| {
                        let owner = owners[i];
                        let [a, b] = ends[owner];
                        let edge = (l[(i + 1) % l.len()] - l[i]).normalize_or_zero();
                        let moved = here[owner].moves(edge, ends[owner][end] - 0.5 * (a + b));
                        if here[owner].stands { moved } else { -moved }
                    })
                    .collect();
                shifted(l, &inward)
            })
            .collect()
    };
    let (lower, upper) = (at(0), at(1));
    let thin = high - low < THINNEST;
    let holds = |moved: &[Loop], end: usize| {
        let due: Vec<Region> = (here.iter().zip(&ends)).map(|(p, e)| p.plan(e[end])).collect();
        true_to(moved, &loops, &united(here, &due), closeness)
    };
    if holds(&lower, 0) && holds(&upper, 1) {
        slabs.push(Slab {
            low,
            high,
            lower,
            upper,
        });
    } else if thin {
        slabs.push(Slab {
            low,
            high,
            upper: loops.clone(),
            lower: loops,
        });
    } else {
        let middle = 0.5 * (low + high);
        add(here, low, middle, closeness, slabs);
        add(here, middle, high, closeness, slabs);
    }
}

fn united(here: &[&Piece], plans: &[Region]) -> Region {
    let of = |stands: bool| {
        Region::union_of(
            here.iter()
                .zip(plans)
                .filter(|(p, _)| p.stands == stands)
                .map(|(_, plan)| plan),
        )
    };
    if here.iter().all(|p| p.stands) {
        return of(true);
    }
    of(true).difference(&of(false))
}

/// Whether the moved loops are sound (no edge turned about, no loop crossed) and give the plan that is due.
fn true_to(moved: &[Loop], from: &[Loop], due: &Region, closeness: f64) -> bool {
    let mut signed = 0.0;
    for (l, old) in moved.iter().zip(from) {
        for i in 0..l.len() {
            let j = (i + 1) % l.len();
            if (l[j] - l[i]).dot(old[j] - old[i]) <= 0.0 {
                return false;
            }
        }
        signed += loop_area(l);
    }
    let region = Region::from_oriented_loops(moved);
    if (region.area() - signed).abs() > 1e-9 * signed.abs() + 1e-10 {
        return false;
    }
    let off = region.difference(due).union(&due.difference(&region));
    // Nothing of what differs is wider than the closeness.
    off.is_empty() || off.inset(0.5 * closeness, closeness).is_empty()
}

/// Which piece each edge of a loop belongs to: the one whose plan's edge lies nearest to its middle.
fn owners(here: &[&Piece], plans: &[Region], l: &Loop) -> Vec<usize> {
    let reach: Vec<Option<(DVec2, DVec2)>> = plans.iter().map(|p| p.bounds()).collect();
    (0..l.len())
        .map(|i| {
            let at = 0.5 * (l[i] + l[(i + 1) % l.len()]);
            let mut best = (f64::INFINITY, 0);
            for (k, plan) in plans.iter().enumerate() {
                let near = |(low, high): (DVec2, DVec2)| {
                    at.cmpge(low - best.0.min(1.0)).all() && at.cmple(high + best.0.min(1.0)).all()
                };
                if !reach[k].is_some_and(near) {
                    continue;
                }
                let d = (plan.edges())
                    .map(|(a, b)| nearest_on_segment(at, a, b).distance_squared(at))
                    .fold(f64::INFINITY, f64::min)
                    .sqrt();
                // Where an upright and a leaning side lie in one line, the leaning one is moved.
                if d < best.0 - 1e-9 || (d < best.0 + 1e-9 && here[k].leans() && !here[best.1].leans()) {
                    best = (d, k);
                }
            }
            best.1
        })
        .collect()
}

/// The corners of a loop when edge i moves inward by `inward[i]`: each stays on both of its moved edges.
fn shifted(l: &Loop, inward: &[f64]) -> Loop {
    let n = l.len();
    let normal = |i: usize| (l[(i + 1) % n] - l[i]).normalize_or_zero().perp();
    (0..n)
        .map(|i| {
            let j = (i + n - 1) % n;
            let (a, b) = (normal(j), normal(i));
            let (da, db) = (inward[j], inward[i]);
            let turn = a.perp_dot(b);
            if turn.abs() < 1e-3 {
                return l[i] + (a + b).normalize_or_zero() * (0.5 * (da + db));
            }
            // The point x with a·x = da and b·x = db.
            l[i] + DVec2::new(da * b.y - db * a.y, db * a.x - da * b.x) / turn
        })
        .collect()
}
