//! Can the pan come off with the engine in the car?
//!
//! First straight down: the drop is one stretch, so whether it is free and where it ends are known exactly. When
//! something is in the way, the pan may also be tilted about both axes and slid both ways: a search over those five
//! freedoms (`search`), on lattices of ever smaller steps, with every move proved free along its whole length.
//!
//! What moves is the pan with its plates, bolts taken out. In its way are the bodies round it (not the road: the car
//! stands on stands), the block's face, and what is fixed to the engine inside it, rods and counterweights as if they
//! turned.

mod search;

use crate::least::{Least, any, any_counted, least};
use crate::outside::{self, Outside, ROUGH};
use crate::survey::{self, Kind, Surroundings, Which, named_bodies};
use crate::{Body, Filled, HalfSpace, Piece, Pose, Shape, Stretch, Tree};
use glam::{DMat3, DVec3};
use pan::Pan;
use serde::{Deserialize, Serialize};

/// Pieces of a rod's turn while a way out is searched.
const ROD_PIECES: usize = 180;
/// Room between the pan, once out, and the lowest body [m].
const UNDER: f64 = 1e-3;
/// Contacts that the pan begins with are forgiven this much [m].
const TOUCH: f64 = 2e-5;
/// Fitting gap round a plate that stays on the engine [m]. Common practice, no source.
const FITTING: f64 = 0.5e-3;
/// Bodies left out one at a time, at most.
const MOST_LEFT_OUT: usize = 3;

/// How far the pan may be turned and slid.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Limits {
    /// Most tilt about either axis [rad].
    pub tilt: f64,
    /// Most slide either way [m].
    pub slide: f64,
    /// Room that the hands want all round on the way [m]; where the pan sits closer, as much as it has there.
    pub room: f64,
    /// Plates that stay on the engine, by number.
    pub staying: Vec<usize>,
    /// True when the pickup comes off with the pan.
    pub pickup_on_pan: bool,
}

impl Default for Limits {
    fn default() -> Limits {
        Limits {
            tilt: 30f64.to_radians(),
            slide: 0.1,
            room: 0.5e-3,
            staying: Vec::new(),
            pickup_on_pan: false,
        }
    }
}

/// What stopped the pan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stop {
    /// The body.
    pub body: String,
    /// Which part of the pan.
    pub part: String,
    /// How far the pan had come down [m].
    pub dropped: f64,
    /// Where they meet, on the body [m].
    pub at: DVec3,
}

/// Where the pan is on its way out, from where it was bolted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Position {
    /// Let down [m].
    pub drop: f64,
    /// Slid to the front [m].
    pub front: f64,
    /// Slid to the left [m].
    pub left: f64,
    /// Front end down [rad].
    pub front_down: f64,
    /// Left side up [rad].
    pub left_up: f64,
}

impl Position {
    /// Bolted up.
    pub const HOME: Position = Position {
        drop: 0.0,
        front: 0.0,
        left: 0.0,
        front_down: 0.0,
        left_up: 0.0,
    };

    /// The move from home, tilts about `pivot`.
    pub fn pose(&self, pivot: DVec3) -> Pose {
        let turn = DMat3::from_rotation_y(self.front_down) * DMat3::from_rotation_x(self.left_up);
        Pose::about(pivot, turn, DVec3::new(self.front, self.left, -self.drop))
    }

    /// The position a share of the way to another.
    pub fn toward(&self, other: &Position, share: f64) -> Position {
        let mix = |a: f64, b: f64| a + (b - a) * share;
        Position {
            drop: mix(self.drop, other.drop),
            front: mix(self.front, other.front),
            left: mix(self.left, other.left),
            front_down: mix(self.front_down, other.front_down),
            left_up: mix(self.left_up, other.left_up),
        }
    }
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Removal {
    /// How far it must come down to be under everything [m].
    pub needed: f64,
    /// How far it comes straight down [m]; `needed` when nothing stops it.
    pub straight: f64,
    /// What stops it on the straight way.
    pub straight_stop: Option<Stop>,
    /// The way out, corner by corner, home first; empty when none was found or none was sought.
    pub way: Vec<Position>,
    /// How far the search came down [m].
    pub deepest: f64,
    /// What stopped the search most often where it was deepest.
    pub stop: Option<Stop>,
    /// Bodies each of which alone is in the way: without it a way was found.
    pub without: Vec<String>,
    /// Bodies that overlap the pan as it sits: no way was sought.
    pub overlaps: Vec<String>,
}

impl Removal {
    /// True when the pan comes out.
    pub fn comes_out(&self) -> bool {
        self.straight_stop.is_none() && self.overlaps.is_empty() || !self.way.is_empty()
    }
}

/// A body in the way, of one of the two groups of the pan's pieces.
struct Obstacle {
    body: Body,
    /// Measured to the pan's inside rather than to its outside.
    inside: bool,
    /// Least gap on the way [m].
    need: f64,
    /// May be taken off the car.
    removable: bool,
}

/// The pan as it moves, and what is in its way.
struct Scene {
    outer: Body,
    inner: Body,
    obstacles: Vec<Obstacle>,
    pivot: DVec3,
    /// Farthest point of the pan from the pivot [m].
    reach: f64,
    /// Lowest point of what it must come under [m].
    lowest: f64,
    /// Boxes opened since the search began: what bounds its work.
    work: std::cell::Cell<u64>,
}

/// A hit on the way.
struct Hit {
    obstacle: usize,
    part: String,
    at: DVec3,
}

/// Whether and how the pan comes off. `None` when nothing that was stated could be in its way.
pub fn removal(pan: &Pan, s: &Surroundings) -> Option<Removal> {
    let limits = &s.removal;
    let mut scene = Scene::of(pan, s)?;
    let overlaps = scene.settle(limits.room);
    let top = scene.outer.bounds()?.1.z;
    let needed = (top - scene.lowest + UNDER).max(0.0);
    let mut answer = Removal {
        needed,
        straight: 0.0,
        straight_stop: None,
        way: Vec::new(),
        deepest: 0.0,
        stop: None,
        without: Vec::new(),
        overlaps,
    };
    if !answer.overlaps.is_empty() {
        return Some(answer);
    }
    (answer.straight, answer.straight_stop) = scene.straight(needed);
    answer.deepest = answer.straight;
    if answer.straight_stop.is_none() {
        answer.way = vec![
            Position::HOME,
            Position {
                drop: needed,
                ..Position::HOME
            },
        ];
        return Some(answer);
    }
    let found = search::search(&scene, limits, needed, None);
    answer.deepest = answer.deepest.max(found.deepest);
    match found.way {
        Some(way) => answer.way = way,
        None => {
            let mut blamed = found.blamed;
            blamed.retain(|(i, _)| scene.obstacles[*i].removable);
            for (i, _) in blamed.iter().take(MOST_LEFT_OUT) {
                if search::search(&scene, limits, needed, Some(*i)).way.is_some() {
                    answer.without.push(scene.obstacles[*i].body.name.clone());
                }
            }
            answer.stop = found.stop.or_else(|| answer.straight_stop.clone());
        }
    }
    Some(answer)
}

impl Scene {
    fn of(pan: &Pan, s: &Surroundings) -> Option<Scene> {
        let bare = Outside {
            bolts: Vec::new(),
            ..s.outside.clone()
        };
        let outer = outside::outside_near(pan, &bare, ROUGH);
        let inner = inner_of(pan, s);
        let mut obstacles = Vec::new();
        for around in s.around.iter().filter(|a| a.kind != Kind::Road) {
            obstacles.push(Obstacle {
                body: around.body.clone(),
                inside: false,
                need: 0.0,
                removable: true,
            });
        }
        let within = |body: Body, removable: bool| Obstacle {
            body,
            inside: true,
            need: 0.0,
            removable,
        };
        for (which, body) in named_bodies(pan, s, Some(ROD_PIECES)) {
            obstacles.push(within(body, matches!(which, Which::Within(_))));
        }
        let plates = outside::plates_cut_back(pan, FITTING);
        for i in &s.removal.staying {
            obstacles.extend(plates.get(*i).cloned().map(|body| within(body, true)));
        }
        if !s.removal.pickup_on_pan {
            obstacles.push(within(survey::mouth(pan), false));
        }
        let low = |o: &Obstacle| o.body.bounds().map(|b| b.0.z);
        // Only bodies with an end can be come under.
        let lowest = obstacles.iter().filter_map(low).fold(f64::INFINITY, f64::min);
        if !lowest.is_finite() {
            return None;
        }
        let block = HalfSpace {
            at: DVec3::ZERO,
            out: DVec3::NEG_Z,
        };
        // Measured to walls and flange as they are: the balls round the outside's pieces stand over the face.
        obstacles.push(Obstacle {
            body: Body::half_spaces("the block", vec![block]),
            inside: true,
            need: 0.0,
            removable: false,
        });
        let (low, high) = outer.bounds()?;
        Some(Scene {
            pivot: 0.5 * (low + high),
            reach: 0.5 * (high - low).length(),
            outer,
            inner,
            obstacles,
            lowest: lowest.min(0.0),
            work: std::cell::Cell::new(0),
        })
    }

    fn mover(&self, obstacle: &Obstacle) -> &Body {
        if obstacle.inside { &self.inner } else { &self.outer }
    }

    /// Sets the gap that each body must keep: the room wanted, or what there is as the pan sits. Names of bodies that
    /// overlap it there.
    fn settle(&mut self, room: f64) -> Vec<String> {
        let mut overlaps = Vec::new();
        for i in 0..self.obstacles.len() {
            let o = &self.obstacles[i];
            let gap = match least(self.mover(o), &Pose::REST, &Stretch::NONE, &o.body, room) {
                Least::Clear => room,
                Least::Gap(gap) => gap.gap,
                Least::Crossing(..) => f64::NEG_INFINITY,
            };
            if gap < -TOUCH {
                overlaps.push(o.body.name.clone());
            }
            self.obstacles[i].need = gap - TOUCH;
        }
        overlaps
    }

    /// How far it comes straight down, and what stops it.
    fn straight(&self, needed: f64) -> (f64, Option<Stop>) {
        let (mut free, mut stop) = (needed, None);
        for o in &self.obstacles {
            let swept = |by: f64| {
                let stretch = Stretch::along(DVec3::new(0.0, 0.0, -by));
                any(self.mover(o), &Pose::REST, &stretch, &o.body, o.need)
            };
            if matches!(swept(free), Least::Clear) {
                continue;
            }
            let (mut good, mut bad) = (0.0, free);
            while bad - good > 1e-6 {
                let middle = 0.5 * (good + bad);
                if matches!(swept(middle), Least::Clear) {
                    good = middle;
                } else {
                    bad = middle;
                }
            }
            free = good;
            stop = Some((o, bad));
        }
        let stop = stop.map(|(o, bad)| {
            let pose = Pose::carried(DVec3::new(0.0, 0.0, -bad));
            let cap = o.need + 1e-3;
            let (at, part) = match least(self.mover(o), &pose, &Stretch::NONE, &o.body, cap) {
                Least::Gap(gap) => (gap.on_b, gap.part_a),
                Least::Crossing(at, part, _) => (at, part),
                Least::Clear => (self.pivot, 0),
            };
            Stop {
                body: o.body.name.clone(),
                part: self.part(o, part),
                dropped: free,
                at,
            }
        });
        (free, stop)
    }

    fn part(&self, o: &Obstacle, part: u32) -> String {
        self.mover(o)
            .parts
            .get(part as usize)
            .cloned()
            .unwrap_or_default()
    }

    /// The first body nearer than it may be, plus `more` [m], at a position.
    fn hit(&self, at: &Position, more: f64, leave_out: Option<usize>) -> Option<Hit> {
        let pose = at.pose(self.pivot);
        for (i, o) in self.obstacles.iter().enumerate() {
            if leave_out == Some(i) {
                continue;
            }
            match any_counted(self.mover(o), &pose, &o.body, o.need + more, &self.work) {
                Least::Clear => {}
                Least::Gap(gap) => {
                    return Some(Hit {
                        obstacle: i,
                        part: self.part(o, gap.part_a),
                        at: gap.on_b,
                    });
                }
                Least::Crossing(place, part, _) => {
                    return Some(Hit {
                        obstacle: i,
                        part: self.part(o, part),
                        at: place,
                    });
                }
            }
        }
        None
    }

    /// Most that any point of the pan moves between two positions [m].
    fn displacement(&self, a: &Position, b: &Position) -> f64 {
        let carry = DVec3::new(b.front - a.front, b.left - a.left, b.drop - a.drop).length();
        carry + self.reach * ((b.front_down - a.front_down).abs() + (b.left_up - a.left_up).abs())
    }
}

/// What moves on the inside: walls, floor, flange, and the plates that come with the pan.
fn inner_of(pan: &Pan, s: &Surroundings) -> Body {
    let walls = outside::inside_near(&pan.cavity, ROUGH);
    let mut parts: Vec<String> = walls.parts.iter().map(|p| format!("inside {p}")).collect();
    let mut pieces: Vec<Piece> = match walls.shape {
        Shape::Pieces(tree) => tree.pieces().to_vec(),
        Shape::HalfSpaces(_) => Vec::new(),
    };
    let mut add = |name: String, more: &mut dyn Iterator<Item = Piece>| {
        let part = parts.len() as u32;
        parts.push(name);
        pieces.extend(more.map(|p| Piece { part, ..p }));
    };
    if s.outside.flange.thickness > 0.0 {
        let plan = outside::flange_plan(&pan.cavity, &s.outside.flange);
        let slab = outside::slab(&plan, -s.outside.flange.thickness, 0.0, 0);
        add("flange".to_owned(), &mut slab.into_iter());
    }
    for (i, plate) in outside::plates(pan).into_iter().enumerate() {
        if let (false, Shape::Pieces(tree)) = (s.removal.staying.contains(&i), &plate.shape) {
            add(plate.name.clone(), &mut tree.pieces().iter().cloned());
        }
    }
    Body {
        name: "pan".into(),
        parts,
        shape: Shape::Pieces(Tree::new(pieces)),
        filled: Filled::Open,
    }
}
