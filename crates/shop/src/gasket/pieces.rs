//! A gasket larger than the cutter's mat, in pieces that lock into each other.
//!
//! A cut runs straight across the rail and puts a round tongue into the neighbour, narrower at its neck than in its head,
//! so that the pieces cannot slide apart in the joint. Cuts keep away from bolts and passages: there the pressure is
//! needed most. Pieces are cut again until each fits, so a ring too wide and too long comes apart both ways.
//!
//! ```text
//!    ────────┬──────────
//!            │_
//!    piece 1   ◯  piece 2      neck 0.44 of the head
//!            │‾
//!    ────────┴──────────
//! ```

use super::region::Area;
use super::{GasketFault, Hole, place};
use glam::{DMat2, DVec2};
use outline::{Closed, Figure};
use serde::Serialize;

/// Radius of a tongue's head over the width of its share of the rail; common practice, no source.
const HEAD: f64 = 0.2;
/// Least and largest radius of a head [m]: smaller tears, larger weakens the rail.
const HEADS: [f64; 2] = [1.2e-3, 8e-3];
/// How far the head's middle stands out, over its radius.
const OUT: f64 = 0.9;
/// Material that stays between a joint and a hole [m].
const CLEAR: f64 = 3e-3;
/// A rail wider than this gets a second tongue [m].
const WIDE: f64 = 60e-3;
/// The rail runs within this of square to the cut (cosine to the cut's normal).
const SQUARE: f64 = 0.8;
/// Places at which a cut is tried [m].
const STEP: f64 = 0.5e-3;
/// Most pieces that a shop would put together.
const MOST: usize = 40;

/// A piece that fits on the mat.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// P1, P2, … against the clock from the lower left.
    pub name: String,
    /// Its edges and holes.
    pub figure: Figure,
    /// Area [m²].
    pub area: f64,
    /// The holes in it, by name.
    pub holes: Vec<String>,
}

/// Where two pieces lock.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Joint {
    /// One end of the cut [m].
    pub from: DVec2,
    /// Other end [m].
    pub to: DVec2,
    /// Middles and radius of its tongues' heads [m].
    pub heads: Vec<(DVec2, f64)>,
}

/// Splits the gasket; nothing when it fits whole.
pub(super) fn split(
    outer: &Closed,
    windows: &[Closed],
    holes: &[Hole],
    mat: [f64; 2],
) -> Result<(Vec<Piece>, Vec<Joint>), Vec<GasketFault>> {
    let whole = Area {
        outer: outer.clone(),
        openings: windows.to_vec(),
    };
    let mat = DVec2::new(mat[0].min(mat[1]), mat[0].max(mat[1]));
    if fits(&whole, mat) {
        return Ok((Vec::new(), Vec::new()));
    }
    let mut waiting = vec![whole];
    let mut done = Vec::new();
    let mut joints = Vec::new();
    while let Some(area) = waiting.pop() {
        if fits(&area, mat) {
            done.push(area);
            continue;
        }
        if waiting.len() + done.len() >= MOST {
            let what = format!("the gasket would fall into more than {MOST} pieces");
            return Err(vec![GasketFault::new("mat", what, "state a larger mat")]);
        }
        let (parts, new) = cut(&area, holes, mat)?;
        waiting.extend(parts);
        joints.extend(new);
    }
    pieces(done, holes).map(|pieces| (pieces, joints))
}

/// Short and long side of a box.
fn sides(area: &Area) -> DVec2 {
    let (low, high) = area.outer.bounds();
    let size = high - low;
    DVec2::new(size.min_element(), size.max_element())
}

fn fits(area: &Area, mat: DVec2) -> bool {
    sides(area).cmple(mat + 1e-9).all()
}

/// Cuts an area once, across its longer side, or the other where only that is too long.
fn cut(area: &Area, holes: &[Hole], mat: DVec2) -> Result<(Vec<Area>, Vec<Joint>), Vec<GasketFault>> {
    let (low, high) = area.outer.bounds();
    let size = high - low;
    let along_x = match sides(area).y > mat.y {
        true => size.x >= size.y,
        false => size.x < size.y,
    };
    let most = if sides(area).y > mat.y { mat.y } else { mat.x };
    // The cut is worked out upright; what is to be cut across y is turned a quarter and back.
    let turn = if along_x {
        DMat2::IDENTITY
    } else {
        DMat2::from_angle(-std::f64::consts::FRAC_PI_2)
    };
    let there = |l: &Closed| l.placed(turn, DVec2::ZERO);
    let lies = Area {
        outer: there(&area.outer),
        openings: area.openings.iter().map(there).collect(),
    };
    let spots: Vec<(DVec2, f64)> = (holes.iter()).map(|h| (turn * h.at, 0.5 * h.diameter)).collect();
    let (low, high) = lies.outer.bounds();
    let long = high.x - low.x;
    let many = (long / most).ceil();
    // The next piece is as long as the rest allows, but never longer than the mat with the tongue on it.
    let wanted = low.x + long / many;
    let last = (low.x + most).min(high.x - 0.1 * most);
    let first = low.x + 0.25 * long.min(most);
    let steps = ((last - first) / STEP).floor().max(0.0) as usize;
    let mut best: Option<(f64, Vec<Crossing>, f64)> = None;
    for k in 0..=steps {
        let x = first + k as f64 * STEP;
        let Some(crossings) = crossings(&lies, x) else {
            continue;
        };
        let tongue = crossings
            .iter()
            .flat_map(|c| c.heads())
            .map(|h| (1.0 + OUT) * h.1);
        if x + tongue.fold(0.0, f64::max) > low.x + most {
            continue;
        }
        let room = room(&crossings, &spots);
        if room < CLEAR {
            continue;
        }
        let score = (x - wanted).abs() / long - 0.2 * room.min(15e-3) / 15e-3;
        if best.as_ref().is_none_or(|b| score < b.0) {
            best = Some((score, crossings, x));
        }
    }
    let Some((_, crossings, x)) = best else {
        let (a, b) = (DVec2::new(first, low.y), DVec2::new(last, high.y));
        let (a, b) = (turn.transpose() * a, turn.transpose() * b);
        let what = format!(
            "between {} and {} there is no place for a joint: holes stand closer than {:.0} mm to it everywhere, or the \
             rail runs askew",
            place(a.min(b)),
            place(a.max(b)),
            CLEAR * 1e3
        );
        let mend = "state a larger mat, or cut it whole by leaving the mat out";
        return Err(vec![GasketFault::new("no-joint", what, mend)]);
    };
    let cutter = cutter(&crossings, x, low, high);
    let back = |l: &Closed| l.placed(turn.transpose(), DVec2::ZERO).counter_clockwise();
    let mut parts = lies.cut(&cutter, true);
    parts.extend(lies.cut(&cutter, false));
    for part in &mut parts {
        part.outer = back(&part.outer);
        part.openings = part.openings.iter().map(back).collect();
    }
    let joints = crossings.iter().map(|c| Joint {
        from: turn.transpose() * DVec2::new(c.x, c.low),
        to: turn.transpose() * DVec2::new(c.x, c.high),
        heads: c.heads().map(|(p, r)| (turn.transpose() * p, r)).collect(),
    });
    Ok((parts, joints.collect()))
}

/// Where a cut crosses the material.
struct Crossing {
    x: f64,
    low: f64,
    high: f64,
}

impl Crossing {
    /// Middles and radii of the tongues' heads.
    fn heads(&self) -> impl Iterator<Item = (DVec2, f64)> + '_ {
        let width = self.high - self.low;
        let many = (width / WIDE).ceil().max(1.0);
        let share = width / many;
        let radius = (HEAD * share).clamp(HEADS[0], HEADS[1]);
        (0..many as usize).map(move |k| {
            let y = self.low + (k as f64 + 0.5) * share;
            (DVec2::new(self.x + OUT * radius, y), radius)
        })
    }
}

/// Where the upright line at `x` crosses the material; none where it runs askew to an edge, or where a tongue would break out.
fn crossings(area: &Area, x: f64) -> Option<Vec<Crossing>> {
    let lines = || std::iter::once(&area.outer).chain(&area.openings);
    let mut hits: Vec<f64> = Vec::new();
    for side in lines().flat_map(Closed::sides) {
        let (low, high) = side.bounds();
        if x < low.x || x > high.x {
            continue;
        }
        match side.centre() {
            None => {
                let run = side.to - side.from;
                // A line through a corner is tried a step further.
                if run.x == 0.0 || (side.from.x - x).abs().min((side.to.x - x).abs()) < 1e-9 {
                    return None;
                }
                if run.x.abs() < SQUARE * run.length() {
                    return None;
                }
                hits.push(side.from.y + (x - side.from.x) / run.x * run.y);
            }
            Some(centre) => {
                let (r, off) = (side.radius(), x - centre.x);
                let half = (r * r - off * off).max(0.0).sqrt();
                for y in [centre.y - half, centre.y + half] {
                    let p = DVec2::new(x, y);
                    if side.nearest(p).distance(p) < 1e-9 {
                        if half < SQUARE * r || p.distance(side.from).min(p.distance(side.to)) < 1e-8 {
                            return None;
                        }
                        hits.push(y);
                    }
                }
            }
        }
    }
    hits.sort_by(f64::total_cmp);
    if hits.is_empty() || hits.len() % 2 == 1 {
        return None;
    }
    let all: Vec<Crossing> = (hits.chunks(2))
        .map(|c| Crossing {
            x,
            low: c[0],
            high: c[1],
        })
        .collect();
    let whole = all.iter().flat_map(Crossing::heads).all(|(p, r)| {
        let edge = lines().map(|l| l.distance(p)).fold(f64::INFINITY, f64::min);
        edge >= 1.6 * r
    });
    whole.then_some(all)
}

/// Least room between the joints and the holes [m].
fn room(crossings: &[Crossing], spots: &[(DVec2, f64)]) -> f64 {
    let mut least = f64::INFINITY;
    for c in crossings {
        for (p, r) in spots {
            let line = DVec2::new(c.x, p.y.clamp(c.low, c.high));
            least = least.min(line.distance(*p) - r);
            for (head, radius) in c.heads() {
                least = least.min(head.distance(*p) - r - radius);
            }
        }
    }
    least
}

/// Everything left of the cut with its tongues, as a closed line.
fn cutter(crossings: &[Crossing], x: f64, low: DVec2, high: DVec2) -> Closed {
    const BEYOND: f64 = 0.05;
    let mut vertices = vec![
        (DVec2::new(low.x - BEYOND, low.y - BEYOND), 0.0),
        (DVec2::new(x, low.y - BEYOND), 0.0),
    ];
    for (p, r) in crossings.iter().flat_map(Crossing::heads) {
        // The head's circle meets the cut at the neck; from there it goes round to the right.
        let neck = (r * r - (p.x - x).powi(2)).sqrt();
        let sweep = 2.0 * (std::f64::consts::PI - (neck / r).asin());
        let half = (0.25 * 0.5 * sweep).tan();
        vertices.push((DVec2::new(x, p.y - neck), half));
        vertices.push((DVec2::new(p.x + r, p.y), half));
        vertices.push((DVec2::new(x, p.y + neck), 0.0));
    }
    vertices.extend([
        (DVec2::new(x, high.y + BEYOND), 0.0),
        (DVec2::new(low.x - BEYOND, high.y + BEYOND), 0.0),
    ]);
    Closed::new(vertices)
}

/// Names the pieces and gives each its holes.
fn pieces(areas: Vec<Area>, holes: &[Hole]) -> Result<Vec<Piece>, Vec<GasketFault>> {
    let bounds = areas.iter().map(|a| a.outer.bounds());
    let (low, high) = bounds
        .reduce(|(a, b), (l, h)| (a.min(l), b.max(h)))
        .unwrap_or_default();
    let middle = 0.5 * (low + high);
    let angle = |a: &Area| {
        let (l, h) = a.outer.bounds();
        ((0.5 * (l + h) - middle).to_angle() + 165f64.to_radians()).rem_euclid(std::f64::consts::TAU)
    };
    let mut areas = areas;
    areas.sort_by(|a, b| angle(a).total_cmp(&angle(b)));
    let mut pieces = Vec::new();
    for (i, area) in areas.into_iter().enumerate() {
        let own: Vec<&Hole> = holes.iter().filter(|h| area.outer.contains(h.at)).collect();
        let cut = own.iter().map(|h| Closed::circle(h.at, 0.5 * h.diameter));
        let taken: f64 = own
            .iter()
            .map(|h| std::f64::consts::PI * (0.5 * h.diameter).powi(2))
            .sum();
        let lines = std::iter::once(area.outer.clone())
            .chain(area.openings.iter().cloned())
            .chain(cut);
        pieces.push(Piece {
            name: format!("P{}", i + 1),
            figure: Figure::from_lines(lines).map_err(super::edge_faults)?,
            area: area.area() - taken,
            holes: own.iter().map(|h| h.name.clone()).collect(),
        });
    }
    Ok(pieces)
}
