//! The search for a way out: best first over drop, tilt and slide, on lattices of ever smaller steps.
//!
//! A lattice point is tried only when it comes up, from the point that it was reached from; the move between the two
//! is proved free along its whole length by halving: a position whose nearest body is farther than anything can move
//! until the next one needs no more looking. The order prefers positions that are lower and straighter; nothing in
//! it is left to chance, so the same design gives the same way.

use super::{Hit, Limits, Position, Scene, Stop};
use glam::DVec3;
use std::cmp::Ordering;
use std::collections::{BinaryHeap, HashMap, HashSet};

/// Steps of the lattices: drop and slide [m], tilt [rad].
const LATTICES: [(f64, f64); 3] = [(12e-3, 0.07), (6e-3, 0.035), (3e-3, 0.0175)];
/// Positions that are tried on each.
const MOST_TRIED: usize = 6000;
/// Boxes that are opened for each at most: a fine scan makes every position dear.
const MOST_WORK: u64 = 4_000_000;
/// A move is taken as free when halving it goes on below this [m]: what could be touched then is touched by less.
const FINEST: f64 = 0.4e-3;
/// How much a millimetre of slide and a degree of tilt weigh against a millimetre still to come down.
const SLIDE_WEIGHT: f64 = 0.25;
const TILT_WEIGHT: f64 = 0.6e-3 * 57.3;

/// What a search found.
pub(super) struct Found {
    /// The way, home first.
    pub way: Option<Vec<Position>>,
    /// How far down it came [m].
    pub deepest: f64,
    /// What stopped it most often where it was deepest.
    pub stop: Option<Stop>,
    /// Bodies that stopped it there, the most frequent first, with how often.
    pub blamed: Vec<(usize, usize)>,
}

/// Drop, front, left, front down, left up in steps.
type Point = [i16; 5];

/// The moves that are tried from a point: along each freedom, down along with each other one, and each tilt with the
/// slide across it.
fn moves() -> Vec<Point> {
    let mut all: Vec<Point> = Vec::new();
    for i in 0..5 {
        for sign in [1, -1] {
            let mut one = [0; 5];
            one[i] = sign;
            all.push(one);
            if i > 0 {
                let mut down = one;
                down[0] = 1;
                all.push(down);
            }
        }
    }
    for (tilt, slide) in [(3, 1), (4, 2)] {
        for (a, b) in [(1, 1), (1, -1), (-1, 1), (-1, -1)] {
            let mut both = [0; 5];
            (both[tilt], both[slide]) = (a, b);
            all.push(both);
            both[0] = 1;
            all.push(both);
        }
    }
    all
}

/// A point to be tried, and from where.
struct Try {
    cost: f64,
    order: usize,
    point: Point,
    from: Point,
}

impl PartialEq for Try {
    fn eq(&self, other: &Try) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Try {}
impl PartialOrd for Try {
    fn partial_cmp(&self, other: &Try) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Try {
    /// The cheapest comes up first; of equals the earliest.
    fn cmp(&self, other: &Try) -> Ordering {
        other
            .cost
            .total_cmp(&self.cost)
            .then(other.order.cmp(&self.order))
    }
}

/// Searches, coarse steps first, with one body left out if stated.
pub(super) fn search(scene: &Scene, limits: &Limits, needed: f64, leave_out: Option<usize>) -> Found {
    let mut best: Option<Found> = None;
    for (step, tilt) in LATTICES {
        let mut lattice = Lattice {
            scene,
            limits,
            needed,
            leave_out,
            step,
            tilt,
            hits: Vec::new(),
        };
        let found = lattice.run();
        if found.way.is_some() {
            return found;
        }
        if best.as_ref().is_none_or(|b| found.deepest > b.deepest) {
            best = Some(found);
        }
    }
    best.expect("there are lattices")
}

struct Lattice<'a> {
    scene: &'a Scene,
    limits: &'a Limits,
    needed: f64,
    leave_out: Option<usize>,
    step: f64,
    tilt: f64,
    /// How far down a move was stopped, and by what.
    hits: Vec<(f64, Hit)>,
}

impl Lattice<'_> {
    fn position(&self, p: &Point) -> Position {
        Position {
            drop: f64::from(p[0]) * self.step,
            front: f64::from(p[1]) * self.step,
            left: f64::from(p[2]) * self.step,
            front_down: f64::from(p[3]) * self.tilt,
            left_up: f64::from(p[4]) * self.tilt,
        }
    }

    fn within(&self, p: &Point) -> bool {
        let at = self.position(p);
        let close = 1e-9;
        p[0] >= 0
            && at.drop <= self.needed + 4.0 * self.scene.reach
            && at.front.abs() <= self.limits.slide + close
            && at.left.abs() <= self.limits.slide + close
            && at.front_down.abs() <= self.limits.tilt + close
            && at.left_up.abs() <= self.limits.tilt + close
    }

    /// How far the pan still reaches above the lowest body [m].
    fn above(&self, at: &Position) -> f64 {
        let pose = at.pose(self.scene.pivot);
        let bounds = self.scene.outer.bounds().expect("a pan has a size");
        pose.bounds(bounds).1.z - (self.scene.lowest - super::UNDER)
    }

    fn cost(&self, at: &Position) -> f64 {
        let slide = at.front.abs() + at.left.abs();
        let tilt = at.front_down.abs() + at.left_up.abs();
        self.needed - at.drop + SLIDE_WEIGHT * slide + TILT_WEIGHT * tilt
    }

    fn run(&mut self) -> Found {
        self.scene.work.set(0);
        let home: Point = [0; 5];
        let moves = moves();
        let mut from: HashMap<Point, Point> = HashMap::from([(home, home)]);
        let mut refused: HashSet<(Point, Point)> = HashSet::new();
        let mut queue = BinaryHeap::new();
        let mut order = 0;
        let mut deepest = 0.0_f64;
        let mut here = home;
        let mut tried = 0;
        loop {
            for m in &moves {
                let mut point = here;
                (0..5).for_each(|i| point[i] += m[i]);
                if !self.within(&point) || from.contains_key(&point) || refused.contains(&(here, point)) {
                    continue;
                }
                order += 1;
                queue.push(Try {
                    cost: self.cost(&self.position(&point)),
                    order,
                    point,
                    from: here,
                });
            }
            let next = loop {
                let Some(next) = queue.pop() else { break None };
                if from.contains_key(&next.point) {
                    continue;
                }
                tried += 1;
                if tried > MOST_TRIED || self.scene.work.get() > MOST_WORK {
                    break None;
                }
                let (a, b) = (self.position(&next.from), self.position(&next.point));
                match self.blocked(&a, &b) {
                    None => break Some(next),
                    Some(hit) => {
                        refused.insert((next.from, next.point));
                        self.hits.push((a.drop.max(b.drop), hit));
                    }
                }
            };
            let Some(next) = next else { break };
            from.insert(next.point, next.from);
            here = next.point;
            let at = self.position(&here);
            deepest = deepest.max(at.drop);
            if self.above(&at) <= 0.0 {
                let way = self.straightened(&self.traced(&from, here));
                return self.found(Some(way), deepest);
            }
        }
        self.found(None, deepest)
    }

    fn traced(&self, from: &HashMap<Point, Point>, end: Point) -> Vec<Position> {
        let mut way = vec![self.position(&end)];
        let mut at = end;
        while at != [0; 5] {
            at = from[&at];
            way.push(self.position(&at));
        }
        way.reverse();
        way
    }

    /// Corners that can be cut are cut: from each the farthest that a straight move reaches.
    fn straightened(&self, way: &[Position]) -> Vec<Position> {
        let mut kept = vec![way[0]];
        let mut at = 0;
        while at + 1 < way.len() {
            let far = (at + 2..way.len())
                .rev()
                .find(|j| self.blocked(&way[at], &way[*j]).is_none())
                .unwrap_or(at + 1);
            kept.push(way[far]);
            at = far;
        }
        kept
    }

    /// What is in the way of a move; `None` when it is free along its whole length.
    fn blocked(&self, a: &Position, b: &Position) -> Option<Hit> {
        if let Some(hit) = self.scene.hit(b, 0.0, self.leave_out) {
            return Some(hit);
        }
        self.between(a, b)
    }

    /// Both ends are free.
    fn between(&self, a: &Position, b: &Position) -> Option<Hit> {
        let reach = 0.5 * self.scene.displacement(a, b);
        if reach < FINEST {
            return None;
        }
        let middle = a.toward(b, 0.5);
        self.scene.hit(&middle, reach, self.leave_out)?;
        if let Some(hit) = self.scene.hit(&middle, 0.0, self.leave_out) {
            return Some(hit);
        }
        self.between(a, &middle).or_else(|| self.between(&middle, b))
    }

    fn found(&mut self, way: Option<Vec<Position>>, deepest: f64) -> Found {
        // Where it was deepest: the last stretch of as much as two steps.
        let near: Vec<&(f64, Hit)> = self
            .hits
            .iter()
            .filter(|(drop, _)| *drop >= deepest - 2.0 * self.step)
            .collect();
        let mut counts: HashMap<usize, usize> = HashMap::new();
        for (_, hit) in &near {
            *counts.entry(hit.obstacle).or_default() += 1;
        }
        let mut blamed: Vec<(usize, usize)> = counts.into_iter().collect();
        blamed.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
        let block = |i: usize| !self.scene.obstacles[i].removable && self.scene.obstacles.len() > 1;
        // The block's face is never what a shop asks about, unless nothing else was met.
        blamed.sort_by_key(|(i, _)| block(*i));
        let stop = blamed.first().and_then(|(i, _)| {
            let (drop, hit) = near
                .iter()
                .filter(|(_, hit)| hit.obstacle == *i)
                .max_by(|a, b| a.0.total_cmp(&b.0))?;
            Some(Stop {
                body: self.scene.obstacles[*i].body.name.clone(),
                part: hit.part.clone(),
                dropped: *drop,
                at: DVec3::from(hit.at.to_array()),
            })
        });
        Found {
            way,
            deepest,
            stop,
            blamed,
        }
    }
}
