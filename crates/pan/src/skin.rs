//! The walls of pockets as facets close to their true shape, for measuring distances.
//!
//! The layers of a cavity serve volumes: their leaning walls are steps. Here every slab of height has the plan of
//! its middle, and each edge of that plan becomes a facet that leans as its pocket's wall does; where two walls meet,
//! corners move so that both facets keep their planes. Floors and ceilings lie where pockets begin and end.

use crate::Pocket;
use crate::polygon::{Loop, Region, nearest_on_segment};
use glam::{DVec2, DVec3};

/// Most that a wall leans within one slab to either side of its middle, as a multiple of the chords' closeness: at a
/// re-entrant corner, which a true wall rounds, the facets are out by less than half of it.
const LEAN: f64 = 2.0;
/// Most slabs of a skin; a taller or flatter pan gets coarser ones.
const SLABS: usize = 3000;
/// An edge of the plan this near to a pocket's own edge is that pocket's [m].
const ON_EDGE: f64 = 1e-7;

/// Walls, floors and ceilings.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Skin {
    /// Wall facets: four corners, the lower edge and then the upper one back.
    pub walls: Vec<[DVec3; 4]>,
    /// Level pieces: plan and height [m].
    pub levels: Vec<(Region, f64)>,
}

impl Skin {
    /// The skin of a union of pockets below `top` [m], chords within `sagitta` [m] of arcs. Open at `top`.
    ///
    /// With `grown` above zero every wall stands that much farther out, its corners sharp, and so does every floor by
    /// `floor`: the outside of a pan with square edges. Floor radii are then left out.
    pub fn of(pockets: &[Pocket], top: f64, sagitta: f64, grown: f64, floor: f64) -> Skin {
        let cut: Vec<Cut> = pockets
            .iter()
            .filter(|p| p.z_low < top)
            .map(|p| Cut::of(p, top, sagitta, grown, floor))
            .collect();
        let mut breaks: Vec<f64> = cut.iter().flat_map(|c| c.breaks(top)).collect();
        breaks.sort_by(f64::total_cmp);
        breaks.dedup_by(|a, b| *a - *b < 1e-9);
        let mut lean = LEAN * sagitta;
        while breaks
            .windows(2)
            .map(|w| slabs(&cut, w[0], w[1], lean))
            .sum::<usize>()
            > SLABS
        {
            lean *= 2.0;
        }
        let mut skin = Skin::default();
        for (i, pair) in breaks.windows(2).enumerate() {
            skin.add_levels(&cut, &breaks, i);
            skin.add_slabs(&cut, pair[0], pair[1], lean, sagitta);
        }
        skin
    }

    /// Level pieces at break `i`: what is open above and not below is a floor, the other way round a ceiling.
    fn add_levels(&mut self, cut: &[Cut], breaks: &[f64], i: usize) {
        let z = breaks[i];
        let plan = |slab: Option<(f64, f64)>| match slab {
            None => Region::default(),
            Some((low, high)) => {
                let middle = 0.5 * (low + high);
                let here: Vec<Region> = cut
                    .iter()
                    .filter(|c| c.spans(middle))
                    .map(|c| c.plan(z))
                    .collect();
                Region::union_of(&here)
            }
        };
        let below = plan(i.checked_sub(1).map(|j| (breaks[j], z)));
        let above = plan(Some((z, breaks[i + 1])));
        for level in [above.difference(&below), below.difference(&above)] {
            if !level.is_empty() {
                self.levels.push((level, z));
            }
        }
    }

    fn add_slabs(&mut self, cut: &[Cut], low: f64, high: f64, lean: f64, sagitta: f64) {
        let count = slabs(cut, low, high, lean);
        let here: Vec<&Cut> = cut.iter().filter(|c| c.spans(0.5 * (low + high))).collect();
        if here.is_empty() {
            return;
        }
        let ends = ends(&here, low, high, count);
        for pair in ends.windows(2) {
            let (z0, z1) = (pair[0], pair[1]);
            let middle = 0.5 * (z0 + z1);
            let plans: Vec<Region> = here.iter().map(|c| c.plan(middle)).collect();
            let union = if plans.len() == 1 {
                plans[0].clone()
            } else {
                Region::union_of(&plans)
            };
            for l in union.loops() {
                let moves = |z: f64| -> Vec<f64> {
                    (0..l.len())
                        .map(|i| {
                            let at = 0.5 * (l[i] + l[(i + 1) % l.len()]);
                            let owner = owner(&plans, at, sagitta);
                            here[owner].inset(z) - here[owner].inset(middle)
                        })
                        .collect()
                };
                let (lower, upper) = (shifted(l, &moves(z0)), shifted(l, &moves(z1)));
                for i in 0..l.len() {
                    let j = (i + 1) % l.len();
                    self.walls.push([
                        lower[i].extend(z0),
                        lower[j].extend(z0),
                        upper[j].extend(z1),
                        upper[i].extend(z1),
                    ]);
                }
            }
        }
    }
}

/// A pocket made ready.
struct Cut {
    pocket: Pocket,
    /// Its plan at its own top.
    top: Region,
    sagitta: f64,
}

impl Cut {
    fn of(pocket: &Pocket, top: f64, sagitta: f64, grown: f64, floor: f64) -> Cut {
        let plan = pocket.outline.region(pocket.corner_radius, sagitta);
        let mut pocket = pocket.clone();
        if grown > 0.0 {
            pocket.z_low -= floor;
            pocket.floor_radius = 0.0;
        }
        let plan = plan.outset(grown, false, sagitta);
        // The lean is counted from the pocket's own top, so that one cut off keeps its walls.
        let cut = Cut {
            top: plan,
            pocket,
            sagitta,
        };
        debug_assert!(cut.pocket.z_low < top);
        cut
    }

    fn breaks(&self, top: f64) -> impl Iterator<Item = f64> {
        let p = &self.pocket;
        let round = (p.floor_radius > 0.0).then_some(p.z_low + p.floor_radius);
        [Some(p.z_low), Some(p.z_high), round]
            .into_iter()
            .flatten()
            .map(move |z| z.min(top))
    }

    fn spans(&self, z: f64) -> bool {
        self.pocket.z_low < z && z < self.pocket.z_high
    }

    fn inset(&self, z: f64) -> f64 {
        self.pocket.inset_at(z)
    }

    fn plan(&self, z: f64) -> Region {
        self.pocket.plan_at(&self.top, z, self.sagitta)
    }
}

/// Slabs between two heights, so that no wall leans more than `lean` to either side of a slab's middle.
fn slabs(cut: &[Cut], low: f64, high: f64, lean: f64) -> usize {
    let middle = 0.5 * (low + high);
    cut.iter()
        .filter(|c| c.spans(middle))
        .map(|c| ((c.inset(high) - c.inset(low)).abs() / (2.0 * lean)).ceil() as usize)
        .max()
        .unwrap_or(0)
        .max(1)
}

/// Heights that part a stretch into `count` slabs of about equal lean of the pocket that leans most.
fn ends(here: &[&Cut], low: f64, high: f64, count: usize) -> Vec<f64> {
    let leaning = |c: &&&Cut| (c.inset(high) - c.inset(low)).abs();
    let Some(most) = here.iter().max_by(|a, b| leaning(a).total_cmp(&leaning(b))) else {
        return vec![low, high];
    };
    let (first, last) = (most.inset(low), most.inset(high));
    (0..=count)
        .map(|i| {
            if i == 0 || first == last {
                return low + (high - low) * i as f64 / count as f64;
            }
            if i == count {
                return high;
            }
            // The inset falls or rises throughout a stretch: halve to where it is due.
            let due = first + (last - first) * i as f64 / count as f64;
            let (mut a, mut b) = (low, high);
            for _ in 0..60 {
                let z = 0.5 * (a + b);
                if (most.inset(z) - due) * (last - first) < 0.0 {
                    a = z;
                } else {
                    b = z;
                }
            }
            0.5 * (a + b)
        })
        .collect()
}

/// Which pocket an edge of the union belongs to, by its middle.
fn owner(plans: &[Region], at: DVec2, sagitta: f64) -> usize {
    if plans.len() == 1 {
        return 0;
    }
    let away = |r: &Region| {
        r.edges()
            .map(|(a, b)| nearest_on_segment(at, a, b).distance(at))
            .fold(f64::INFINITY, f64::min)
    };
    let mut best = (f64::INFINITY, 0);
    for (i, plan) in plans.iter().enumerate() {
        let d = away(plan);
        if d < best.0 {
            best = (d, i);
        }
        if d < ON_EDGE.min(sagitta) {
            break;
        }
    }
    best.1
}

/// The corners of a loop when edge i moves inward by `inward[i]`: each stays on both of its moved edges.
fn shifted(l: &Loop, inward: &[f64]) -> Vec<DVec2> {
    let n = l.len();
    let normal = |i: usize| (l[(i + 1) % n] - l[i]).normalize_or_zero().perp();
    (0..n)
        .map(|i| {
            let j = (i + n - 1) % n;
            let (a, b) = (normal(j), normal(i));
            let (da, db) = (inward[j], inward[i]);
            let turn = a.perp_dot(b);
            if turn.abs() < 1e-3 {
                // Nearly one line: its normal, by the mean of both moves.
                return l[i] + (a + b).normalize_or_zero() * (0.5 * (da + db));
            }
            // The point x with a·x = da and b·x = db.
            l[i] + DVec2::new(da * b.y - db * a.y, db * a.x - da * b.x) / turn
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Outline, Side};

    fn pocket() -> Pocket {
        Pocket {
            name: "sump".into(),
            side: Side::Pan,
            outline: Outline::rectangle(DVec2::new(-0.1, -0.05), DVec2::new(0.1, 0.05)),
            z_low: -0.1,
            z_high: 0.0,
            draft: 0.0,
            corner_radius: 0.0,
            floor_radius: 0.0,
        }
    }

    #[test]
    fn a_square_pocket_has_four_walls_and_a_floor() {
        let skin = Skin::of(&[pocket()], 0.0, 5e-6, 0.0, 0.0);
        assert_eq!(skin.walls.len(), 4);
        assert_eq!(skin.levels.len(), 1);
        assert!((skin.levels[0].0.area() - 0.02).abs() < 1e-12);
        assert_eq!(skin.levels[0].1, -0.1);
        let grown = Skin::of(&[pocket()], 0.0, 5e-6, 4e-3, 6e-3);
        assert!((grown.levels[0].0.area() - 0.208 * 0.108).abs() < 1e-12);
        assert!((grown.levels[0].1 + 0.106).abs() < 1e-15);
    }

    /// A wall of 3 degrees and a floor radius of 8 mm: every corner of every facet lies on the drawn profile.
    #[test]
    fn facets_of_leaning_walls_and_round_floors_lie_on_the_drawn_profile() {
        let p = Pocket {
            draft: 3f64.to_radians(),
            floor_radius: 8e-3,
            ..pocket()
        };
        let skin = Skin::of(std::slice::from_ref(&p), 0.0, 5e-6, 0.0, 0.0);
        assert!(skin.walls.len() > 400);
        for corner in skin.walls.iter().flatten() {
            let over = (corner.z - p.z_low).min(p.floor_radius);
            let round = p.floor_radius - (p.floor_radius.powi(2) - (p.floor_radius - over).powi(2)).sqrt();
            let inset = -corner.z * p.draft.tan() + round;
            let wall = (0.1 - inset - corner.x.abs())
                .abs()
                .min((0.05 - inset - corner.y.abs()).abs());
            assert!(wall < 1e-9, "{corner} is {wall} m off its wall");
        }
        // The facets leave no gap in height.
        let mut ends: Vec<(f64, f64)> = skin.walls.iter().map(|w| (w[0].z, w[2].z)).collect();
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        ends.dedup();
        assert!(ends.windows(2).all(|w| w[0].1 == w[1].0));
    }

    #[test]
    fn a_step_shows_no_wall_inside_the_deeper_pocket() {
        let shallow = Pocket {
            outline: Outline::rectangle(DVec2::new(-0.3, -0.05), DVec2::new(0.1, 0.05)),
            z_low: -0.04,
            ..pocket()
        };
        let skin = Skin::of(&[pocket(), shallow], 0.0, 5e-6, 0.0, 0.0);
        let inside = |p: DVec3| p.x > -0.099 && p.x < 0.099 && p.y.abs() < 0.049 && p.z > -0.099;
        for wall in &skin.walls {
            assert!(!inside(wall.iter().sum::<DVec3>() / 4.0), "{wall:?}");
        }
        let floors: f64 = skin.levels.iter().map(|(r, _)| r.area()).sum();
        assert!((floors - 0.04).abs() < 1e-12, "{floors}");
    }
}
