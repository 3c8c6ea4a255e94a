//! What flows through the patches of an opening.
//!
//! Each surface stands so and so high over a patch. Where both sides are wet the difference of the heads drives the
//! flow, where only one is, its own depth: `v = C √(2gΔ)`, over the wetted height. Summed over patches this is a weir
//! (two thirds of C √(2g) h^1.5 and width), a drowned weir, a gap under a wall. Thick oil in small holes is slower: the
//! head also pays `6π ν v / (g d)` (Sampson's flow through a hole; Happel and Brenner, Low Reynolds Number Hydrodynamics,
//! ch. 4).
//!
//! Patches are taken [`LANES`] at a time, without a branch, so that the processor's wide registers do them together, in
//! single precision: a ten-millionth of a head of 0.3 m is nothing beside what a flat surface leaves out, and volumes are
//! kept in double precision elsewhere. Sums run in one order for any width of register: the answer has the same bits
//! everywhere.

use crate::network::{Patch, SHARP, Way};
use glam::DVec3;
use std::f64::consts::PI;

/// Head that is added under the root [m], so that two levels can come to rest: a flow is linear far below it.
const LEVEL: f32 = 1e-4;

/// Patches that are worked on together.
const LANES: usize = 8;

/// A patch is at least this tall [m], so that one which lies level fills at once and not by nothing.
const FLAT: f32 = 1e-9;

type Lanes = [f32; LANES];

/// A surface of oil: it lies where `up · place = height`.
#[derive(Clone, Copy, Debug, Default)]
pub struct Plane {
    /// Unit vector square to it, out of the oil.
    pub up: DVec3,
    /// Its height along `up` over the pan's origin [m].
    pub height: f64,
}

/// The same in the precision of the kernel, with the sizes of its normal's parts.
#[derive(Clone, Copy)]
struct Side {
    up: [f32; 3],
    size: [f32; 3],
    height: f32,
}

impl Side {
    #[inline(always)]
    fn of(plane: Plane) -> Side {
        let up = [plane.up.x as f32, plane.up.y as f32, plane.up.z as f32];
        Side {
            up,
            size: [most(up[0], -up[0]), most(up[1], -up[1]), most(up[2], -up[2])],
            height: plane.height as f32,
        }
    }

    /// How high it stands over the highest corner of a box, upside down: above zero where it reaches into the box.
    #[inline(always)]
    fn reach(&self, middle: [f32; 3], half: [f32; 3]) -> f32 {
        self.height - (self.up[0] * middle[0] + self.up[1] * middle[1] + self.up[2] * middle[2])
            + (self.size[0] * half[0] + self.size[1] * half[1] + self.size[2] * half[2])
    }
}

/// What the oil and the field are at an opening.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// Apparent gravity [m/s²].
    pub gravity: f64,
    /// Kinematic viscosity [m²/s].
    pub viscosity: f64,
}

/// What passes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Passed {
    /// From the first side to the second [m³/s].
    pub flow: f64,
    /// How it grows with the first side's head over the second's [m³/s per m].
    pub slope: f64,
    /// Area that each side wets [m²].
    pub wet: [f64; 2],
    /// Head of the first side over the second's on the area [m³].
    pub push: f64,
}

/// Patches side by side; what a short group lacks has no area.
#[derive(Clone, Copy, Debug, Default)]
struct Group {
    at: [Lanes; 3],
    half: [Lanes; 3],
    area: Lanes,
}

/// Neighbouring groups, with a box round them: most of an opening is dry most of the time, and is passed over by its boxes.
#[derive(Clone, Debug)]
struct Block {
    middle: [f32; 3],
    half: [f32; 3],
    groups: Vec<Group>,
}

/// Groups of a block.
const BLOCK: usize = 3;

/// The patches of a port that have holes of one width, or one door.
#[derive(Clone, Debug)]
pub struct Strip {
    /// What they are.
    pub way: Way,
    blocks: Vec<Block>,
}

impl Strip {
    /// The strips of a port's patches, in the order in which their kinds come.
    pub fn of(patches: &[Patch]) -> Vec<Strip> {
        let mut strips: Vec<(Way, Vec<&Patch>)> = Vec::new();
        for patch in patches {
            match strips.iter_mut().find(|(way, _)| *way == patch.way) {
                Some((_, same)) => same.push(patch),
                None => strips.push((patch.way, vec![patch])),
            }
        }
        // Patches of one height stand together: the upper ones are dry as one.
        for (_, patches) in &mut strips {
            patches.sort_by(|a, b| a.at.z.total_cmp(&b.at.z));
        }
        let group = |patches: &[&Patch]| {
            let mut group = Group::default();
            for (lane, patch) in patches.iter().enumerate() {
                for axis in 0..3 {
                    group.at[axis][lane] = patch.at[axis] as f32;
                    group.half[axis][lane] = patch.half[axis] as f32;
                }
                group.area[lane] = patch.area as f32;
            }
            group
        };
        let block = |patches: &[&Patch]| {
            let low = patches.iter().map(|p| p.at - p.half).reduce(DVec3::min);
            let high = patches.iter().map(|p| p.at + p.half).reduce(DVec3::max);
            let (low, high) = low.zip(high).expect("a chunk has a patch");
            Block {
                middle: (0.5 * (low + high)).as_vec3().to_array(),
                half: (0.5 * (high - low)).as_vec3().to_array(),
                groups: patches.chunks(LANES).map(group).collect(),
            }
        };
        let strip = |(way, patches): (Way, Vec<&Patch>)| Strip {
            way,
            blocks: patches.chunks(BLOCK * LANES).map(block).collect(),
        };
        strips.into_iter().map(strip).collect()
    }

    /// What passes under two surfaces through holes `width` [m] wide.
    #[inline(always)]
    pub fn passed(&self, first: Plane, second: Plane, width: f64, field: Field) -> Passed {
        if field.gravity <= 0.0 {
            return Passed::default();
        }
        let law = Law::of(width, field);
        let (first, second) = (Side::of(first), Side::of(second));
        let mut sums = [[0.0; LANES]; 5];
        for block in &self.blocks {
            let reach = most(
                first.reach(block.middle, block.half),
                second.reach(block.middle, block.half),
            );
            if reach > 0.0 {
                for group in &block.groups {
                    group.add(first, second, law, &mut sums);
                }
            }
        }
        let [flow, slope, a, b, push] =
            sums.map(|s| f64::from(((s[0] + s[1]) + (s[2] + s[3])) + ((s[4] + s[5]) + (s[6] + s[7]))));
        Passed {
            flow,
            slope,
            wet: [a, b],
            push,
        }
    }
}

impl Group {
    /// Adds flow, slope, wetted areas and push of each lane to its sums.
    #[inline(always)]
    fn add(&self, first: Side, second: Side, law: Law, sums: &mut [Lanes; 5]) {
        let (ua, ub) = (first.up, second.up);
        let (sa, sb) = (first.size, second.size);
        let (mut over, mut half) = ([[0.0; LANES]; 2], [[0.0; LANES]; 2]);
        for l in 0..LANES {
            let [x, y, z] = [self.at[0][l], self.at[1][l], self.at[2][l]];
            let [hx, hy, hz] = [self.half[0][l], self.half[1][l], self.half[2][l]];
            // How high each surface stands over the patch, and half of the patch's own height along its normal.
            over[0][l] = first.height - (ua[0] * x + ua[1] * y + ua[2] * z);
            over[1][l] = second.height - (ub[0] * x + ub[1] * y + ub[2] * z);
            half[0][l] = most(sa[0] * hx + sa[1] * hy + sa[2] * hz, FLAT);
            half[1][l] = most(sb[0] * hx + sb[1] * hy + sb[2] * hz, FLAT);
        }
        let (mut highest, mut drowned) = (f32::NEG_INFINITY, true);
        for l in 0..LANES {
            highest = most(most(over[0][l] + half[0][l], over[1][l] + half[1][l]), highest);
            drowned &= (over[0][l] >= half[0][l]) & (over[1][l] >= half[1][l]);
        }
        if highest <= 0.0 {
            return;
        }
        if drowned {
            // Wholly under oil on both sides: nothing falls free.
            for l in 0..LANES {
                let (apart, area) = (over[0][l] - over[1][l], self.area[l]);
                let (v, rise) = law.speed(apart.abs());
                sums[0][l] += (area * v).copysign(apart);
                sums[1][l] += area * rise;
                sums[2][l] += area;
                sums[3][l] += area;
                sums[4][l] += area * apart;
            }
            return;
        }
        for l in 0..LANES {
            let (a, b, half_a, half_b) = (over[0][l], over[1][l], half[0][l], half[1][l]);
            let (wet_a, wet_b) = (wet(a, half_a), wet(b, half_b));
            let forth = a >= b;
            let (high, low) = if forth { (a, b) } else { (b, a) };
            let half = if forth { half_a } else { half_b };
            let (wet_high, wet_low) = if forth { (wet_a, wet_b) } else { (wet_b, wet_a) };
            // Drowned: the difference of the heads.
            let drowned = least(wet_low, wet_high);
            let (v, rise) = law.speed(high - most(low, -half));
            // Free: from the surface, or the patch's upper edge, down to where the other side's oil begins. The mean of
            // a root over a span is ⅔ (s₁² + s₁s₀ + s₀²)/(s₁ + s₀) of the roots at its ends.
            let free = wet_high - drowned;
            let top = most(high - half, 0.0);
            let (s0, s1) = (top.sqrt(), (top + 2.0 * half * free).sqrt());
            let root = (2.0 / 3.0) * (s1 * s1 + s1 * s0 + s0 * s0) / (s1 + s0 + 1e-12);
            let (free_v, free_rise) = law.speed(root * root);
            let area = self.area[l];
            let flow = area * (drowned * v + free * free_v);
            sums[0][l] += if forth { flow } else { -flow };
            sums[1][l] += area * (drowned * rise + free * free_rise);
            sums[2][l] += area * wet_a;
            sums[3][l] += area * wet_b;
            sums[4][l] += area * (most(a, 0.0) - most(b, 0.0));
        }
    }
}

/// Share of a patch that is wet.
#[inline(always)]
fn wet(over: f32, half: f32) -> f32 {
    least(most(0.5 + 0.5 * over / half, 0.0), 1.0)
}

// One instruction each; those of the standard library mind what is no number.
#[inline(always)]
fn most(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

#[inline(always)]
fn least(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// Head against speed: `Δh = square v² + laminar v`.
#[derive(Clone, Copy, Debug)]
struct Law {
    square: f32,
    laminar: f32,
}

impl Law {
    #[inline(always)]
    fn of(width: f64, field: Field) -> Law {
        Law {
            square: (1.0 / (2.0 * field.gravity * SHARP * SHARP)) as f32,
            laminar: (6.0 * PI * field.viscosity / (field.gravity * width.max(1e-6))) as f32,
        }
    }

    /// Mean speed over the area of the holes under a head of zero or more [m/s], and its slope.
    #[inline(always)]
    fn speed(self, head: f32) -> (f32, f32) {
        let head = most(head, 0.0);
        let Law { square, laminar } = self;
        let root = (laminar * laminar + 4.0 * square * (head + LEVEL)).sqrt();
        // (root − laminar) / 2 square, without the difference of two like numbers.
        let both = root + laminar;
        let part = 1.0 / (root * both);
        let ease = 2.0 * part * root;
        (ease * head, ease * (1.0 - 2.0 * square * head * part))
    }
}

/// A port as a passage with oil in it that has to be set in motion.
#[derive(Clone, Copy, Debug)]
pub struct Passage {
    /// Free area that each side wets [m²].
    pub wetted: [f64; 2],
    /// Length of oil that moves [m].
    pub length: f64,
}

impl Passage {
    /// The flow [m³/s] a time `dt` [s] after it was `before`, and its slope against the head [m³/s per m], where the
    /// heads by themselves would drive `due` with slope `rise`.
    ///
    /// `l/(g A) dQ/dt = Δh − Q|Q|/(2g C² A²)`: the step is solved whole, so it neither rings nor overshoots for any `dt`.
    pub fn gather(&self, before: f64, due: f64, rise: f64, gravity: f64, dt: f64) -> (f64, f64) {
        let area = self.wetted[0].max(self.wetted[1]);
        if area <= 0.0 || gravity <= 0.0 {
            return (0.0, 0.0);
        }
        let loss = 1.0 / (2.0 * gravity * (crate::network::SHARP * area).powi(2));
        let gain = dt * gravity * area / self.length;
        let sum = before + gain * loss * due * due.abs();
        let flow = 2.0 * sum / (1.0 + (1.0 + 4.0 * gain * loss * sum.abs()).sqrt());
        // Oil that has left its own side dry carries nothing on.
        let from = self.wetted[usize::from(flow < 0.0)];
        if from <= 0.0 {
            return (0.0, 0.0);
        }
        let slope = gain / (1.0 + 2.0 * gain * loss * flow.abs());
        (flow, slope.min(rise.max(0.0)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use oil::hydraulics as formula;

    const FIELD: Field = Field {
        gravity: 9.80665,
        viscosity: 1e-6,
    };

    /// A wall's opening of `width` from `low` to `high` in layers of 5 mm, oil standing at `up` and `down` [m]: [m³/s].
    fn layers(width: f64, low: f64, high: f64, up: f64, down: f64) -> f64 {
        let count = ((high - low) / 0.005).round() as usize;
        (0..count)
            .map(|i| {
                let z = low + 0.005 * (i as f64 + 0.5);
                let patch = Patch {
                    at: DVec3::new(0.0, 0.0, z),
                    half: DVec3::new(0.0, 0.5 * width, 0.0025),
                    area: 0.005 * width,
                    way: HOLE,
                };
                through(&[patch], up, down).flow
            })
            .sum()
    }

    const HOLE: Way = Way::Hole { width: 0.02 };

    /// What passes with both surfaces level.
    fn through(patches: &[Patch], first: f64, second: f64) -> Passed {
        let plane = |height| Plane { up: DVec3::Z, height };
        Strip::of(patches)[0].passed(plane(first), plane(second), 0.02, FIELD)
    }

    #[track_caller]
    fn near(got: f64, due: f64, share: f64) {
        assert!((got / due - 1.0).abs() < share, "got {got:.5e}, due {due:.5e}");
    }

    /// Orifice formula, any textbook.
    #[test]
    fn a_drowned_hole_is_an_orifice() {
        let hole = Patch {
            at: DVec3::ZERO,
            half: DVec3::new(0.0, 0.01, 0.01),
            area: 3.1416e-4,
            way: HOLE,
        };
        let got = through(&[hole], 0.08, 0.05);
        near(
            got.flow,
            formula::orifice(SHARP, 3.1416e-4, 0.03, FIELD.gravity),
            0.01,
        );
    }

    /// Francis, and Rehbock for a full-width weir with a deep approach, whose oil comes without speed as a bay's does:
    /// 50 mm over the crest, 200 mm wide. (Over a crest of 100 mm a channel's own speed adds 6 %.)
    #[test]
    fn many_patches_are_a_weir() {
        let got = layers(0.2, 0.1, 0.2, 0.15, 0.02);
        near(got, 1.84 * 0.2 * 0.05f64.powf(1.5), 0.05);
        near(got, formula::rehbock(0.05, 2.0, 0.2, FIELD.gravity), 0.05);
    }

    /// Villemonte's share of the free flow over a drowned weir.
    #[test]
    fn a_drowned_weir_passes_what_villemonte_says() {
        let free = layers(0.2, 0.0, 0.2, 0.1, -0.05);
        for share in [0.25, 0.5, 0.75, 0.9] {
            near(
                layers(0.2, 0.0, 0.2, 0.1, 0.1 * share) / free,
                formula::drowned_share(0.1, 0.1 * share),
                0.05,
            );
        }
    }

    /// Underflow through 10 mm from 100 mm and 50 mm, 200 mm wide: between Swamee's coefficient and that of the momentum
    /// balance, which are 4 to 6 % apart.
    #[test]
    fn a_gap_under_a_wall_passes_what_the_gate_formulae_say() {
        for depth in [0.1, 0.05] {
            let got = layers(0.2, 0.0, 0.01, depth, -0.1);
            let by = |coefficient| formula::gate(coefficient, 0.01, depth, 0.2, FIELD.gravity);
            let (low, high) = (
                by(formula::gate_coefficient(0.01, depth)),
                by(formula::gate_coefficient_momentum(0.01, depth)),
            );
            assert!(
                got > 0.95 * low.min(high) && got < 1.05 * low.max(high),
                "{got:.4e} {low:.4e} {high:.4e}"
            );
        }
    }

    /// Sampson: `Δp = 6π μ v / d`, at 1,000 mm²/s through 5 mm the square of the speed is nothing.
    #[test]
    fn thick_oil_creeps_through_small_holes() {
        let field = Field {
            viscosity: 1e-3,
            ..FIELD
        };
        let got = Law::of(0.005, field).speed(0.02).0;
        near(got.into(), field.gravity * 0.02 * 0.005 / (6.0 * PI * 1e-3), 0.05);
    }

    #[test]
    fn the_slope_is_that_of_the_flow() {
        for head in [1e-5, 1e-4, 1e-3, 0.02] {
            let at = |h: f64| {
                let (speed, slope) = Law::of(0.01, FIELD).speed(h as f32);
                (f64::from(speed), f64::from(slope))
            };
            let step = 0.05 * head;
            let due = (at(head + step).0 - at(head - step).0) / (2.0 * step);
            near(at(head).1, due, 1e-3);
        }
    }

    /// A patch turned round, and patches in groups, pass what each does by itself.
    #[test]
    fn patches_add_up_and_turn_round() {
        let patches: Vec<Patch> = (0..11)
            .map(|i| Patch {
                at: DVec3::new(0.0, 0.01 * f64::from(i), 0.004 * f64::from(i)),
                half: DVec3::new(0.0, 0.005, 0.004),
                area: 8e-5,
                way: HOLE,
            })
            .collect();
        let whole = through(&patches, 0.03, 0.012);
        let sum: f64 = (patches.iter())
            .map(|p| through(std::slice::from_ref(p), 0.03, 0.012).flow)
            .sum();
        near(whole.flow, sum, 1e-6);
        let back = through(&patches, 0.012, 0.03);
        near(-back.flow, whole.flow, 1e-6);
        assert!(back.wet == [whole.wet[1], whole.wet[0]] && back.push == -whole.push);
    }
}
