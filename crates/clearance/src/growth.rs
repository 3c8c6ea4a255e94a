//! Room to grow: how far each side of each pocket may move until the first body stands at the gap wanted.
//!
//! A side that moves by t sweeps the pocket's outside along that direction; the sweep is the pocket's outside
//! carried anywhere from 0 to t, so one search with that stretch tells whether t is too much, and halving finds the
//! most. Only what lies below flange and bolt heads grows: a wing has its lid under them.

use crate::least::{Least, any};
use crate::outside::{CLOSENESS, own_pockets, shell};
use crate::survey::Surroundings;
use crate::{Body, Filled, Pose, Shape, Stretch, Tree, least_gap};
use glam::DVec3;
use pan::polygon::loop_edges;
use pan::{Cavity, Pan, Region};
use serde::{Deserialize, Serialize};

/// No side is asked to move farther than this [m].
pub const FARTHEST: f64 = 0.3;
/// How near the answer is [m].
const CLOSE: f64 = 2e-6;
/// Thickness of the layers in which the gained volume is summed [m].
const LAYER: f64 = 4e-3;

/// Which way a side moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Toward {
    /// To the engine's left.
    Left,
    /// To its right.
    Right,
    /// To its front.
    Front,
    /// To its rear.
    Rear,
    /// Down.
    Down,
}

impl Toward {
    /// All of them.
    pub const ALL: [Toward; 5] = [
        Toward::Left,
        Toward::Right,
        Toward::Front,
        Toward::Rear,
        Toward::Down,
    ];

    /// Unit direction in the pan frame.
    pub fn way(self) -> DVec3 {
        match self {
            Toward::Left => DVec3::Y,
            Toward::Right => DVec3::NEG_Y,
            Toward::Front => DVec3::X,
            Toward::Rear => DVec3::NEG_X,
            Toward::Down => DVec3::NEG_Z,
        }
    }

    /// In a word.
    pub fn said(self) -> &'static str {
        match self {
            Toward::Left => "left",
            Toward::Right => "right",
            Toward::Front => "front",
            Toward::Rear => "rear",
            Toward::Down => "down",
        }
    }
}

/// Room on one side of a pocket.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Room {
    /// The pocket; "pan" for a mesh.
    pub pocket: String,
    /// Which side.
    pub toward: Toward,
    /// How far it may move [m], at most [`FARTHEST`].
    pub free: f64,
    /// What the pan gains by that [m³].
    pub gained: f64,
    /// Number of the body that stops it; `None` when nothing does within [`FARTHEST`].
    pub stopped_by: Option<usize>,
}

/// Room on every side of every pocket that reaches below the flange and its bolt heads. Nothing without bodies around.
pub fn growth(pan: &Pan, s: &Surroundings) -> Vec<Room> {
    if s.around.is_empty() {
        return Vec::new();
    }
    let heads = if s.outside.bolts.is_empty() {
        0.0
    } else {
        s.outside.head_height
    };
    let top = -s.outside.flange.thickness - heads;
    let whole = match own_pockets(&pan.cavity) {
        Some(pockets) => match Cavity::from_pockets(&pockets) {
            Ok(cavity) => cavity,
            Err(_) => return Vec::new(),
        },
        None => pan.cavity.clone(),
    };
    let mut rooms = Vec::new();
    for (name, part) in parts(&whole) {
        if part.bounds().0.z >= top {
            continue;
        }
        let body = Body {
            name: name.clone(),
            parts: vec!["wall".into(), "floor".into()],
            shape: Shape::Pieces(Tree::new(shell(&part, &s.outside, top, CLOSENESS))),
            filled: Filled::Open,
        };
        for toward in Toward::ALL {
            let (free, stopped_by) = room(&body, toward.way(), s);
            rooms.push(Room {
                pocket: name.clone(),
                toward,
                free,
                gained: gained(&part, &whole, toward.way(), free, top),
                stopped_by,
            });
        }
    }
    rooms
}

/// The pockets one by one, or a mesh as a whole.
fn parts(whole: &Cavity) -> Vec<(String, Cavity)> {
    if whole.pockets().is_empty() {
        return vec![("pan".to_owned(), whole.clone())];
    }
    let one = |p: &pan::Pocket| {
        let cavity = Cavity::from_pockets(std::slice::from_ref(p)).ok()?;
        Some((p.name.clone(), cavity))
    };
    whole.pockets().iter().filter_map(one).collect()
}

/// How far the body may be stretched along `way`, and which body stops it.
fn room(body: &Body, way: DVec3, s: &Surroundings) -> (f64, Option<usize>) {
    let (mut free, mut stopped_by) = (FARTHEST, None);
    for (i, around) in s.around.iter().enumerate() {
        let movement = if around.on_engine {
            Stretch::NONE
        } else {
            s.movement
        };
        let gap_now = least_gap(body, &Pose::REST, &movement, &around.body, around.wanted);
        // A gap that is too small already may not become smaller; one on another side does not.
        let due = gap_now.map_or(around.wanted, |g| g.gap - CLOSE);
        let fits = |by: f64| {
            let stretch = movement.with(&Stretch::along(way * by));
            matches!(any(body, &Pose::REST, &stretch, &around.body, due), Least::Clear)
        };
        if fits(free) {
            continue;
        }
        let (mut good, mut bad) = (0.0, free);
        while bad - good > CLOSE {
            let middle = 0.5 * (good + bad);
            if fits(middle) {
                good = middle;
            } else {
                bad = middle;
            }
        }
        (free, stopped_by) = (good, Some(i));
    }
    (free, stopped_by)
}

/// Volume that `part`, carried anywhere from 0 to `by` along `way`, adds to `whole` below `top` [m³].
///
/// Sideways every level of the part is drawn out in plan. Downward the plan at a height is all that passes through
/// it: of walls that lean one way, the plans at both ends of the move.
fn gained(part: &Cavity, whole: &Cavity, way: DVec3, by: f64, top: f64) -> f64 {
    if by <= 0.0 {
        return 0.0;
    }
    let (low, high) = part.bounds();
    let (low, high) = (low.z, high.z.min(top));
    let down = way.z < 0.0;
    let bottom = if down { low - by } else { low };
    let own = |z: f64| part.level_section(z.clamp(low + 1e-6, high - 1e-6));
    let plan = |z: f64| -> Region {
        if down {
            let from = if z < low { low } else { z };
            own(from).union(&own((z + by).min(high)))
        } else {
            drawn_out(&own(z), way.truncate() * by)
        }
    };
    let mut breaks = vec![bottom, high];
    if down {
        breaks.push(low);
        breaks.push(high - by);
    }
    for p in whole.pockets() {
        breaks.extend([p.z_low, p.z_high, p.z_low + p.floor_radius]);
    }
    breaks.retain(|z| (bottom..=high).contains(z));
    breaks.sort_by(f64::total_cmp);
    breaks.dedup_by(|a, b| *a - *b < 1e-9);
    // Two Gauss points a layer: exact for areas up to the third degree in height.
    let off = 0.5 / 3f64.sqrt();
    let mut sum = 0.0;
    for pair in breaks.windows(2) {
        let layers = ((pair[1] - pair[0]) / LAYER).ceil().max(1.0) as usize;
        let thick = (pair[1] - pair[0]) / layers as f64;
        for i in 0..layers {
            for side in [-off, off] {
                let z = pair[0] + thick * (i as f64 + 0.5 + side);
                let there = if z < whole.bounds().0.z {
                    Region::default()
                } else {
                    whole.level_section(z)
                };
                sum += 0.5 * thick * plan(z).difference(&there).area();
            }
        }
    }
    sum
}

/// A region with every place that it passes when it is carried along `by`.
fn drawn_out(region: &Region, by: glam::DVec2) -> Region {
    let mut loops: Vec<pan::polygon::Loop> = Vec::new();
    for l in region.loops() {
        for (a, b) in loop_edges(l) {
            // Turned the same way whichever way the edge runs: all that an edge passes counts.
            let mut quad = vec![a, b, b + by, a + by];
            if (b - a).perp_dot(by) < 0.0 {
                quad.reverse();
            }
            loops.push(quad);
        }
    }
    region.union(&Region::from_loops(&loops))
}
