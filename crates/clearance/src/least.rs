//! The least gap between two bodies, with its place on both.

use crate::body::{Body, Filled, HalfSpace, Shape};
use crate::meet::{Met, meet};
use crate::pose::{Pose, Stretch};
use crate::tree::{Node, Tree};
use glam::DVec3;

/// Gaps nearer than this are one gap [m]: no search goes on for less.
const SAME: f64 = 1e-9;
/// Bodies that overlap are parted to this [m].
const PARTED: f64 = 1e-6;

/// The least gap of a pair of bodies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Distance [m]; negative when they overlap: then the length of the shortest straight move that parts them,
    /// sought along the axes and the diagonals.
    pub gap: f64,
    /// Nearest place on the first body [m], as it stands before its stretch.
    pub on_a: DVec3,
    /// Nearest place on the second [m].
    pub on_b: DVec3,
    /// Part of the first body.
    pub part_a: u32,
    /// Part of the second.
    pub part_b: u32,
}

/// What a search for the least gap found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Least {
    /// Nothing nearer than the cap.
    Clear,
    /// The least gap.
    Gap(Gap),
    /// The bodies' skins cross, at this place, parts of first and second.
    Crossing(DVec3, u32, u32),
}

/// The least gap between `a`, moved by `pose` and then anywhere within `stretch`, and `b`; `None` when it is `cap` [m]
/// or more.
pub fn least_gap(a: &Body, pose: &Pose, stretch: &Stretch, b: &Body, cap: f64) -> Option<Gap> {
    let found = least(a, pose, stretch, b, cap);
    match found {
        Least::Crossing(at, part_a, part_b) => Some(parted(a, pose, stretch, b, (at, part_a, part_b))),
        Least::Gap(gap) if !one_holds_the_other(a, pose, b) => Some(gap),
        Least::Clear if !one_holds_the_other(a, pose, b) => None,
        Least::Gap(gap) => Some(parted(a, pose, stretch, b, (gap.on_b, gap.part_a, gap.part_b))),
        Least::Clear => {
            let at = b.samples().first().copied().unwrap_or(DVec3::ZERO);
            Some(parted(a, pose, stretch, b, (at, 0, 0)))
        }
    }
}

/// The search by skins alone: a body wholly inside the other's hollow is not noticed.
pub(crate) fn least(a: &Body, pose: &Pose, stretch: &Stretch, b: &Body, cap: f64) -> Least {
    search(a, pose, stretch, b, cap, false).0
}

/// Any gap under the cap, the first that is met: enough to know that there is one, and far sooner known.
pub(crate) fn any(a: &Body, pose: &Pose, stretch: &Stretch, b: &Body, cap: f64) -> Least {
    search(a, pose, stretch, b, cap, true).0
}

/// The same for a body that does not wander; adds the boxes that were opened to `work`.
pub(crate) fn any_counted(a: &Body, pose: &Pose, b: &Body, cap: f64, work: &std::cell::Cell<u64>) -> Least {
    let (found, opened) = search(a, pose, &Stretch::NONE, b, cap, true);
    work.set(work.get() + opened);
    found
}

fn search(a: &Body, pose: &Pose, stretch: &Stretch, b: &Body, cap: f64, first: bool) -> (Least, u64) {
    let Shape::Pieces(tree) = &a.shape else {
        return (Least::Clear, 1);
    };
    if tree.is_empty() {
        return (Least::Clear, 1);
    }
    match &b.shape {
        Shape::Pieces(other) if other.is_empty() => (Least::Clear, 1),
        Shape::Pieces(other) => {
            let mut search = Search {
                a: tree,
                pose,
                stretch,
                b: other,
                cap,
                first,
                best: None,
                crossing: None,
                opened: 1,
            };
            if search.apart(0, 0) < cap {
                search.walk(0, 0);
            }
            let found = match (search.crossing, search.best) {
                (Some((at, part_a, part_b)), _) => Least::Crossing(at, part_a, part_b),
                (None, Some(gap)) => Least::Gap(gap),
                (None, None) => Least::Clear,
            };
            (found, search.opened)
        }
        Shape::HalfSpaces(planes) => (over_planes(tree, pose, stretch, planes, cap), 1),
    }
}

/// Least height over any of the planes.
fn over_planes(tree: &Tree, pose: &Pose, stretch: &Stretch, planes: &[HalfSpace], cap: f64) -> Least {
    let mut best: Option<Gap> = None;
    for plane in planes {
        let local = pose.unplaced(plane);
        let shift = stretch.farthest(-plane.out).dot(plane.out);
        let mut todo = vec![0];
        while let Some(at) = todo.pop() {
            let node = tree.node(at);
            let limit = best.map_or(cap, |b| b.gap);
            let low = DVec3::select(local.out.cmpgt(DVec3::ZERO), node.low, node.high);
            if (low - local.at).dot(local.out) + shift >= limit {
                continue;
            }
            if node.count == 0 {
                todo.extend([at + 1, node.first as usize]);
                continue;
            }
            for piece in tree.leaf(node) {
                let core = piece.farthest(-local.out);
                let gap = (core - local.at).dot(local.out) - piece.round + shift;
                if gap < best.map_or(cap, |b| b.gap) {
                    let on_a = pose.place(core) - plane.out * piece.round;
                    best = Some(Gap {
                        gap,
                        on_a,
                        on_b: on_a - plane.out * (on_a - plane.at).dot(plane.out),
                        part_a: piece.part,
                        part_b: 0,
                    });
                }
            }
        }
    }
    best.map_or(Least::Clear, Least::Gap)
}

struct Search<'t> {
    a: &'t Tree,
    pose: &'t Pose,
    stretch: &'t Stretch,
    b: &'t Tree,
    cap: f64,
    /// The first gap under the cap will do.
    first: bool,
    best: Option<Gap>,
    crossing: Option<(DVec3, u32, u32)>,
    /// Boxes opened.
    opened: u64,
}

impl Search<'_> {
    fn limit(&self) -> f64 {
        self.best.map_or(self.cap, |b| b.gap - SAME)
    }

    /// Box of a node of `a` where it may be.
    fn box_of(&self, node: &Node) -> (DVec3, DVec3) {
        let (low, high) = self.pose.bounds((node.low, node.high));
        (low + self.stretch.low, high + self.stretch.high)
    }

    fn apart(&self, na: usize, nb: usize) -> f64 {
        let (low, high) = self.box_of(self.a.node(na));
        let other = self.b.node(nb);
        (other.low - high).max(low - other.high).max(DVec3::ZERO).length()
    }

    fn middle(&self, na: usize, nb: usize) -> f64 {
        let (low, high) = self.box_of(self.a.node(na));
        let other = self.b.node(nb);
        (low + high - other.low - other.high).length_squared()
    }

    fn walk(&mut self, na: usize, nb: usize) {
        self.opened += 1;
        let (a, b) = (*self.a.node(na), *self.b.node(nb));
        if a.count > 0 && b.count > 0 {
            self.measure(&a, &b);
            return;
        }
        // The larger box is opened, so that both shrink together.
        let size = |n: &Node| (n.high - n.low).length_squared();
        let pairs = if b.count > 0 || (a.count == 0 && size(&a) >= size(&b)) {
            [(na + 1, nb), (a.first as usize, nb)]
        } else {
            [(na, nb + 1), (na, b.first as usize)]
        };
        let mut near = pairs.map(|(x, y)| (self.apart(x, y), self.middle(x, y), x, y));
        if (near[1].0, near[1].1) < (near[0].0, near[0].1) {
            near.swap(0, 1);
        }
        for (apart, _, x, y) in near {
            if self.crossing.is_some() || (self.first && self.best.is_some()) {
                return;
            }
            if apart == 0.0 || apart < self.limit() {
                self.walk(x, y);
            }
        }
    }

    fn measure(&mut self, na: &Node, nb: &Node) {
        for a in self.a.leaf(na) {
            for b in self.b.leaf(nb) {
                let round = a.round + b.round;
                let cutoff = self.limit() + round;
                match meet(a, self.pose, self.stretch, b, cutoff.max(SAME)) {
                    Met::Beyond => {}
                    Met::Crossing(at) => {
                        self.crossing = Some((at, a.part, b.part));
                        return;
                    }
                    Met::Apart {
                        distance,
                        a: on_a,
                        b: on_b,
                    } => {
                        if distance - round < self.limit() {
                            let out = self.out(on_a, on_b);
                            self.best = Some(Gap {
                                gap: distance - round,
                                on_a: on_a + out * a.round,
                                on_b: on_b - out * b.round,
                                part_a: a.part,
                                part_b: b.part,
                            });
                            if self.first {
                                return;
                            }
                        }
                    }
                }
            }
        }
    }

    /// Unit direction from the place on `a`, wherever in its stretch it is nearest, to the place on `b`.
    fn out(&self, on_a: DVec3, on_b: DVec3) -> DVec3 {
        let way = on_b - on_a;
        (way - way.clamp(self.stretch.low, self.stretch.high)).normalize_or_zero()
    }
}

/// Skins apart, but one inside the other?
fn one_holds_the_other(a: &Body, pose: &Pose, b: &Body) -> bool {
    let back = |p: DVec3| pose.unturned(p - pose.carry);
    let in_a =
        !matches!(a.filled, Filled::Pieces | Filled::Open) && b.samples().iter().any(|p| a.holds(back(*p)));
    let in_b = matches!(b.filled, Filled::Skin) && a.samples().iter().any(|p| b.holds(pose.place(*p)));
    in_a || in_b
}

/// The shortest of the straight moves of `a` along the axes and diagonals that parts it from `b`.
fn parted(a: &Body, pose: &Pose, stretch: &Stretch, b: &Body, near: (DVec3, u32, u32)) -> Gap {
    let apart = |by: DVec3| {
        let moved = Pose {
            carry: pose.carry + by,
            ..*pose
        };
        match any(a, &moved, stretch, b, PARTED) {
            Least::Clear => !one_holds_the_other(a, &moved, b),
            _ => false,
        }
    };
    let (Some(box_a), Some(box_b)) = (a.bounds(), b.bounds()) else {
        // Half-spaces never cross: their gap is measured with its sign.
        return gap_here(near, 0.0);
    };
    let (low, high) = pose.bounds(box_a);
    let (low, high) = (low + stretch.low, high + stretch.high);
    let mut best: Option<(f64, DVec3)> = None;
    for way in ways() {
        // Far enough that the boxes are apart along the axis in which that takes least.
        let along = |i: usize| match way[i] {
            w if w > 0.0 => (box_b.1[i] - low[i]) / w,
            w if w < 0.0 => (box_b.0[i] - high[i]) / w,
            _ => f64::INFINITY,
        };
        let far = along(0).min(along(1)).min(along(2)) + 2.0 * PARTED;
        let most = best.map_or(far, |(t, _)| t.min(far));
        if !apart(way * most) {
            continue;
        }
        let (mut inside, mut outside) = (0.0, most);
        while outside - inside > PARTED {
            let middle = 0.5 * (inside + outside);
            if apart(way * middle) {
                outside = middle;
            } else {
                inside = middle;
            }
        }
        if best.is_none_or(|(t, _)| outside < t) {
            best = Some((outside, way));
        }
    }
    let Some((depth, way)) = best else {
        return gap_here(near, f64::INFINITY);
    };
    // Just parted, the nearest places are where the overlap was deepest.
    let moved = Pose {
        carry: pose.carry + way * depth,
        ..*pose
    };
    match least(a, &moved, stretch, b, 1e-3) {
        Least::Gap(gap) => Gap {
            gap: -depth,
            on_a: gap.on_a - way * depth,
            ..gap
        },
        _ => gap_here(near, depth),
    }
}

fn gap_here((at, part_a, part_b): (DVec3, u32, u32), depth: f64) -> Gap {
    Gap {
        gap: -depth,
        on_a: at,
        on_b: at,
        part_a,
        part_b,
    }
}

/// The six axes, twelve edges and eight corners of a cube.
fn ways() -> impl Iterator<Item = DVec3> {
    let three = [-1.0, 0.0, 1.0];
    let all = three.into_iter().flat_map(move |x| {
        three
            .into_iter()
            .flat_map(move |y| three.into_iter().map(move |z| DVec3::new(x, y, z)))
    });
    let mut ways: Vec<DVec3> = all.filter(|w| *w != DVec3::ZERO).map(DVec3::normalize).collect();
    // Straight moves first: of equal lengths the plainest is told.
    ways.sort_by_key(|w| w.to_array().iter().filter(|c| **c != 0.0).count());
    ways.into_iter()
}
