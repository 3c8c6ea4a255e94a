//! Every pair of bodies that must not touch, measured against the gap wanted.

use crate::outside::{self, Outside};
use crate::rods::Rods;
use crate::{Body, Piece, Pose, Stretch, least_gap};
use glam::DVec3;
use pan::Pan;
use serde::{Deserialize, Serialize};

/// Pairs farther apart than this are not listed [m].
pub const FARTHEST: f64 = 0.4;
/// And pairs of what turns inside with plates and mouth, farther apart than this [m].
const FARTHEST_INSIDE: f64 = 0.06;
/// Gap wanted between what turns and a plate, where nothing else is stated [m]: scrapers are set to 1 to 2 mm.
/// Common practice, no source.
pub const SCRAPER_GAP: f64 = 1.5e-3;

/// What a body does beside the pan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Kind {
    /// Stands still in the car: a crossmember.
    Fixed,
    /// Moves: a drag link, a steering rack, a rod.
    Moving,
    /// Hot: a header.
    Hot,
    /// The road.
    Road,
}

/// A body outside the pan.
#[derive(Clone, Debug)]
pub struct Around {
    /// The body.
    pub body: Body,
    /// What it is.
    pub kind: Kind,
    /// Gap wanted when the engine has moved as far as it may [m].
    pub wanted: f64,
    /// True when it is fixed to the engine and moves with it.
    pub on_engine: bool,
}

/// A body inside the pan, fixed to the engine.
#[derive(Clone, Debug)]
pub struct Within {
    /// The body.
    pub body: Body,
    /// Gap wanted to the pan's walls and floor [m].
    pub wanted: f64,
    /// True for what turns: a plate need only clear it by a scraper's gap.
    pub turns: bool,
}

/// All that clearance is asked about.
#[derive(Clone, Debug)]
pub struct Surroundings {
    /// What the pan looks like from outside.
    pub outside: Outside,
    /// How the engine moves on its mounts, hot and working [m].
    pub movement: Stretch,
    /// Bodies round the pan, in the order of the design.
    pub around: Vec<Around>,
    /// Bodies inside, in the order of the design.
    pub within: Vec<Within>,
    /// The rods, when described.
    pub rods: Option<Rods>,
    /// Gap wanted to what the rods and counterweights sweep [m].
    pub rods_wanted: f64,
    /// How far the pan may be turned and slid on its way out.
    pub removal: crate::removal::Limits,
}

/// Which body of the surroundings a row is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Which {
    /// A body round the pan.
    Around(usize),
    /// A body inside the pan.
    Within(usize),
    /// The rods.
    Rods,
    /// The counterweights.
    Counterweights,
    /// The crank's stated sweep.
    Crank,
}

/// What is measured against it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Against {
    /// The pan's outside.
    Outside,
    /// Its inside walls.
    Inside,
    /// A plate.
    Plate(usize),
    /// The pickup's mouth.
    Mouth,
}

/// One pair.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// The body.
    pub which: Which,
    /// Its name.
    pub body: String,
    /// Which part of it; empty when it has but one.
    pub body_part: String,
    /// What it is measured against.
    pub against: Against,
    /// Its name.
    pub against_name: String,
    /// Which part of that; empty when it has but one.
    pub part: String,
    /// Least gap as everything stands [m]; negative when they overlap: the shortest straight move that parts them.
    pub at_rest: f64,
    /// Least gap with the engine moved as far as it may in the worst way [m].
    pub moved: f64,
    /// Gap wanted [m].
    pub wanted: f64,
    /// Where the least gap with movement lies: on the pan as it stands, and on the body [m].
    pub on_pan: DVec3,
    /// On the body [m].
    pub on_body: DVec3,
}

impl Row {
    /// True when the gap is as large as wanted; a micrometre is forgiven.
    pub fn holds(&self) -> bool {
        self.moved >= self.wanted - 1e-6
    }
}

/// Named bodies with what is wanted of them, inside the pan.
struct Turning {
    which: Which,
    body: Body,
    wanted: f64,
    turns: bool,
}

/// Measures every pair nearer than [`FARTHEST`]. Rows in the order of the design, the outside first.
pub fn survey(pan: &Pan, surroundings: &Surroundings) -> Vec<Row> {
    let s = surroundings;
    let mut rows = Vec::new();
    let outer = outside::outside(pan, &s.outside);
    for (i, around) in s.around.iter().enumerate() {
        let stretch = if around.on_engine {
            Stretch::NONE
        } else {
            s.movement
        };
        let pair = Pair {
            a: &outer,
            against: (Against::Outside, "pan"),
            b: &around.body,
            which: Which::Around(i),
        };
        rows.extend(pair.row(&stretch, around.wanted));
    }
    let turning = inside_bodies(pan, s, None);
    if turning.is_empty() {
        return rows;
    }
    let walls = outside::inside(&pan.cavity);
    let plates = outside::plates(pan);
    let mouth = mouth(pan);
    for t in &turning {
        let pair = |a, against, name| Pair {
            a,
            against: (against, name),
            b: &t.body,
            which: t.which,
        };
        rows.extend(pair(&walls, Against::Inside, "pan's inside").row(&Stretch::NONE, t.wanted));
        let wanted = if t.turns { SCRAPER_GAP } else { 0.0 };
        for (i, plate) in plates.iter().enumerate() {
            rows.extend(pair(plate, Against::Plate(i), &plate.name).row(&Stretch::NONE, wanted));
        }
        if t.turns {
            rows.extend(pair(&mouth, Against::Mouth, "pickup mouth").row(&Stretch::NONE, t.wanted));
        }
    }
    rows
}

/// Bodies inside the pan with what they are; the rods' sweep in `rough` pieces a turn, for a picture, when stated.
pub fn named_bodies(pan: &Pan, s: &Surroundings, rough: Option<usize>) -> Vec<(Which, Body)> {
    let bodies = inside_bodies(pan, s, rough);
    bodies.into_iter().map(|t| (t.which, t.body)).collect()
}

/// Everything inside the pan that is fixed to the engine, or turns in it.
fn inside_bodies(pan: &Pan, s: &Surroundings, rough: Option<usize>) -> Vec<Turning> {
    let mut all = Vec::new();
    match (&s.rods, &pan.crank) {
        (Some(rods), _) => {
            all.push(Turning {
                which: Which::Rods,
                body: match rough {
                    Some(count) => rods.swept_roughly(count),
                    None => rods.swept(),
                },
                wanted: s.rods_wanted,
                turns: true,
            });
            if let Some(body) = rods.counterweights_swept() {
                all.push(Turning {
                    which: Which::Counterweights,
                    body,
                    wanted: s.rods_wanted,
                    turns: true,
                });
            }
        }
        (None, Some(crank)) => all.push(Turning {
            which: Which::Crank,
            body: crank_body(crank),
            wanted: s.rods_wanted,
            turns: true,
        }),
        (None, None) => {}
    }
    all.extend(s.within.iter().enumerate().map(|(i, w)| Turning {
        which: Which::Within(i),
        body: w.body.clone(),
        wanted: w.wanted,
        turns: w.turns,
    }));
    all
}

/// The stated sweep of the crank as cones between its stations.
pub(crate) fn crank_body(crank: &pan::CrankSweep) -> Body {
    let at = |s: f64| crank.origin + crank.axis * s;
    let cone = |w: &[(f64, f64)]| {
        let mut piece = Piece::cylinder(at(w[0].0), at(w[1].0), [w[0].1, w[1].1], 0);
        if let crate::Core::Rims(rims) = &mut piece.core {
            // A step in radius has no length to take a direction from.
            rims.iter_mut().for_each(|r| r.axis = crank.axis);
        }
        piece
    };
    Body::solid("crank sweep", crank.profile.windows(2).map(cone).collect())
}

/// The mouth's rim.
pub(crate) fn mouth(pan: &Pan) -> Body {
    let m = &pan.mouth;
    let up = m.at + DVec3::new(0.0, 0.0, 1e-4);
    Body::solid(
        "pickup mouth",
        vec![Piece::cylinder(m.at, up, [0.5 * m.outside; 2], 0)],
    )
}

struct Pair<'a> {
    a: &'a Body,
    against: (Against, &'a str),
    b: &'a Body,
    which: Which,
}

impl Pair<'_> {
    fn row(&self, stretch: &Stretch, wanted: f64) -> Option<Row> {
        let farthest = match self.against.0 {
            Against::Plate(_) | Against::Mouth => FARTHEST_INSIDE,
            Against::Outside | Against::Inside => FARTHEST,
        };
        let moved = least_gap(self.a, &Pose::REST, stretch, self.b, farthest)?;
        let at_rest = if *stretch == Stretch::NONE {
            moved
        } else {
            let cap = FARTHEST + (stretch.high - stretch.low).length();
            least_gap(self.a, &Pose::REST, &Stretch::NONE, self.b, cap)?
        };
        let part = |body: &Body, i: u32| body.parts.get(i as usize).cloned().unwrap_or_default();
        // A wall's lower edge belongs to the floor as well: what comes from below is told of the floor.
        let way = moved.on_b - moved.on_a;
        let way = way - way.clamp(stretch.low, stretch.high);
        let from_below = match self.against.0 {
            Against::Outside => way.z < -0.7 * way.length(),
            Against::Inside => way.z > 0.7 * way.length(),
            Against::Plate(_) | Against::Mouth => false,
        };
        let own_part = if moved.part_a == outside::WALL && from_below {
            outside::FLOOR
        } else {
            moved.part_a
        };
        Some(Row {
            which: self.which,
            body: self.b.name.clone(),
            body_part: part(self.b, moved.part_b),
            against: self.against.0,
            against_name: self.against.1.to_owned(),
            part: part(self.a, own_part),
            at_rest: at_rest.gap,
            moved: moved.gap,
            wanted,
            on_pan: moved.on_a,
            on_body: moved.on_b,
        })
    }
}
