//! What flows through the patches of an opening.
//!
//! Each surface stands so and so high over a patch. Where both sides are wet the difference of the heads drives the
//! flow, where only one is, its own depth: `v = C √(2gΔ)`, over the wetted height. Summed over patches this is a weir
//! (two thirds of C √(2g) h^1.5 and width), a drowned weir, a gap under a wall. Thick oil in small holes is slower: the
//! head also pays `6π ν v / (g d)` (Sampson's flow through a hole; Happel and Brenner, Low Reynolds Number Hydrodynamics,
//! ch. 4).
//!
//! Patches are taken as many at a time as the processor's wide registers hold, without a branch, in single precision: a
//! ten-millionth of a head of 0.3 m is nothing beside what a flat surface leaves out, and volumes are
//! kept in double precision elsewhere. Sums run in one order for any width of register: the answer has the same bits
//! everywhere.

use crate::network::{Patch, SHARP, Way};
use crate::wide::Wide;
use glam::DVec3;
use pulp::Simd;
use std::f64::consts::PI;

/// Head that is added under the root [m], so that two levels can come to rest: a flow is linear far below it.
const LEVEL: f32 = 1e-4;

/// Patches of a group: as many as the widest register holds.
const LANES: usize = 16;

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

/// A surface in the precision of the kernel, with the sizes of its normal's parts.
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
            size: up.map(f32::abs),
            height: plane.height as f32,
        }
    }

    /// How high it stands over the lowest corner of a box: above zero where it reaches into the box.
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

/// Patches side by side; what a short group lacks is its last patch again, without area.
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
const BLOCK: usize = 2;

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
            for lane in 0..LANES {
                let patch = patches[lane.min(patches.len() - 1)];
                for axis in 0..3 {
                    group.at[axis][lane] = patch.at[axis] as f32;
                    group.half[axis][lane] = patch.half[axis] as f32;
                }
                group.area[lane] = if lane < patches.len() {
                    patch.area as f32
                } else {
                    0.0
                };
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
    pub(crate) fn passed<S: Simd>(
        &self,
        simd: S,
        first: Plane,
        second: Plane,
        width: f64,
        field: Field,
    ) -> Passed {
        if field.gravity <= 0.0 {
            return Passed::default();
        }
        let law = Law::of(simd, width, field);
        let (first, second) = (Side::of(first), Side::of(second));
        let wide = [Broad::of(simd, &first), Broad::of(simd, &second)];
        let mut sums = [[0.0; LANES]; 5];
        for block in &self.blocks {
            let reach = first
                .reach(block.middle, block.half)
                .max(second.reach(block.middle, block.half));
            if reach > 0.0 {
                for group in &block.groups {
                    group.add(simd, &wide, &law, &mut sums);
                }
            }
        }
        let [flow, slope, a, b, push] = sums.map(|lanes| f64::from(added(&lanes)));
        Passed {
            flow,
            slope,
            wet: [a, b],
            push,
        }
    }
}

/// The sum of the lanes, by halves: one order for any width of register.
#[inline(always)]
fn added(lanes: &Lanes) -> f32 {
    let mut left = *lanes;
    let mut half = LANES / 2;
    while half > 0 {
        for l in 0..half {
            left[l] += left[l + half];
        }
        half /= 2;
    }
    left[0]
}

/// A surface in all places of a register.
#[derive(Clone, Copy)]
struct Broad<S: Simd> {
    up: [Wide<S>; 3],
    size: [Wide<S>; 3],
    height: Wide<S>,
}

impl<S: Simd> Broad<S> {
    #[inline(always)]
    fn of(simd: S, side: &Side) -> Broad<S> {
        Broad {
            up: side.up.map(|part| Wide::all(simd, part)),
            size: side.size.map(|part| Wide::all(simd, part)),
            height: Wide::all(simd, side.height),
        }
    }

    /// How high it stands over places, and half of their patches' own heights along its normal.
    #[inline(always)]
    fn over(&self, at: [Wide<S>; 3], half: [Wide<S>; 3], flat: Wide<S>) -> (Wide<S>, Wide<S>) {
        let ([x, y, z], [hx, hy, hz]) = (at, half);
        let over = self.height - (self.up[0] * x + self.up[1] * y + self.up[2] * z);
        let tall = self.size[0] * hx + self.size[1] * hy + self.size[2] * hz;
        (over, tall.max(flat))
    }
}

impl Group {
    /// Adds flow, slope, wetted areas and push of each lane to its sums.
    #[inline(always)]
    fn add<S: Simd>(&self, simd: S, sides: &[Broad<S>; 2], law: &Law<S>, sums: &mut [Lanes; 5]) {
        let number = |value: f32| Wide::all(simd, value);
        let (nothing, half_way, whole) = (number(0.0), number(0.5), number(1.0));
        let lanes = |lanes: &[f32; LANES], part: usize| Wide::of(simd, S::as_simd_f32s(lanes).0[part]);
        for part in 0..S::as_simd_f32s(&self.area).0.len() {
            let at = [0, 1, 2].map(|axis: usize| lanes(&self.at[axis], part));
            let half = [0, 1, 2].map(|axis: usize| lanes(&self.half[axis], part));
            let (a, half_a) = sides[0].over(at, half, number(FLAT));
            let (b, half_b) = sides[1].over(at, half, number(FLAT));
            if (a + half_a).max(b + half_b).most() <= 0.0 {
                continue;
            }
            let area = lanes(&self.area, part);
            let mut put = |sum: usize, value: Wide<S>| {
                let place = &mut S::as_mut_simd_f32s(&mut sums[sum]).0[part];
                *place = (Wide::of(simd, *place) + value).value();
            };
            let forth = a.reaches(b);
            let (high, low) = (a.max(b), a.min(b));
            if (a - half_a).min(b - half_b).least() >= 0.0 {
                // Wholly under oil on both sides: nothing falls free.
                let (v, rise) = law.speed(high - low);
                let flow = area * v;
                put(0, flow.where_else(forth, -flow));
                put(1, area * rise);
                put(2, area);
                put(3, area);
                put(4, area * (a - b));
                continue;
            }
            // Share of a patch that is wet.
            let wet =
                |over: Wide<S>, half: Wide<S>| (half_way + half_way * over / half).max(nothing).min(whole);
            let (wet_a, wet_b) = (wet(a, half_a), wet(b, half_b));
            let half = half_a.where_else(forth, half_b);
            let wet_high = wet_a.where_else(forth, wet_b);
            let wet_low = wet_b.where_else(forth, wet_a);
            // Drowned: the difference of the heads.
            let drowned = wet_low.min(wet_high);
            let (v, rise) = law.speed(high - low.max(-half));
            // Free: from the surface, or the patch's upper edge, down to where the other side's oil begins. The mean of
            // a root over a span is ⅔ (s₁² + s₁s₀ + s₀²)/(s₁ + s₀) of the roots at its ends.
            let free = wet_high - drowned;
            let top = (high - half).max(nothing);
            let (s0, s1) = (top.sqrt(), (top + (half + half) * free).sqrt());
            let root = number(2.0 / 3.0) * (s1 * s1 + s1 * s0 + s0 * s0) / (s1 + s0 + number(1e-12));
            let (free_v, free_rise) = law.speed(root * root);
            let flow = area * (drowned * v + free * free_v);
            put(0, flow.where_else(forth, -flow));
            put(1, area * (drowned * rise + free * free_rise));
            put(2, area * wet_a);
            put(3, area * wet_b);
            put(4, area * (a.max(nothing) - b.max(nothing)));
        }
    }
}

/// Head against speed: `Δh = square v² + laminar v`.
#[derive(Clone, Copy)]
struct Law<S: Simd> {
    simd: S,
    square: f32,
    laminar: f32,
}

impl<S: Simd> Law<S> {
    #[inline(always)]
    fn of(simd: S, width: f64, field: Field) -> Law<S> {
        Law {
            simd,
            square: (1.0 / (2.0 * field.gravity * SHARP * SHARP)) as f32,
            laminar: (6.0 * PI * field.viscosity / (field.gravity * width.max(1e-6))) as f32,
        }
    }

    /// Mean speed over the area of the holes under a head of zero or more [m/s], and its slope.
    #[inline(always)]
    fn speed(&self, head: Wide<S>) -> (Wide<S>, Wide<S>) {
        let number = |value: f32| Wide::all(self.simd, value);
        let head = head.max(number(0.0));
        let laminar = number(self.laminar);
        let root =
            (number(self.laminar * self.laminar) + number(4.0 * self.square) * (head + number(LEVEL))).sqrt();
        // (root − laminar) / 2 square, without the difference of two like numbers.
        let part = number(1.0) / (root * (root + laminar));
        let ease = (part + part) * root;
        let fall = number(2.0 * self.square) * head * part;
        (ease * head, ease * (number(1.0) - fall))
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
        Strip::of(patches)[0].passed(pulp::Scalar, plane(first), plane(second), 0.02, FIELD)
    }

    #[track_caller]
    fn near(got: f64, due: f64, share: f64) {
        assert!((got / due - 1.0).abs() < share, "got {got:.5e}, due {due:.5e}");
    }

    impl Law<pulp::Scalar> {
        fn at(&self, head: f32) -> (f64, f64) {
            let (speed, slope) = self.speed(Wide::all(self.simd, head));
            (f64::from(speed.value()), f64::from(slope.value()))
        }
    }

    /// One number at a time and in this machine's widest registers: the same bits.
    #[test]
    fn registers_of_any_width_give_the_same_bits() {
        struct Both<'s>(&'s Strip, Plane, Plane);
        impl pulp::WithSimd for Both<'_> {
            type Output = Passed;
            #[inline(always)]
            fn with_simd<S: Simd>(self, simd: S) -> Passed {
                self.0.passed(simd, self.1, self.2, 0.02, FIELD)
            }
        }
        let patches: Vec<Patch> = (0..75)
            .map(|i| Patch {
                at: DVec3::new(
                    0.013 * f64::from(i % 9),
                    0.004 * f64::from(i % 7),
                    0.0017 * f64::from(i),
                ),
                half: DVec3::new(0.0, 0.005, 0.004),
                area: 7.3e-5,
                way: HOLE,
            })
            .collect();
        let strip = &Strip::of(&patches)[0];
        for lean in [0.0, 0.3, -0.7] {
            let plane = |height| Plane {
                up: DVec3::new(lean, 0.1, 1.0).normalize(),
                height,
            };
            for (one, other) in [(0.08, 0.05), (0.05, 0.08), (0.3, 0.2), (0.02, -1.0)] {
                let (first, second) = (plane(one), plane(other));
                let plain = strip.passed(pulp::Scalar, first, second, 0.02, FIELD);
                let wide = pulp::Arch::new().dispatch(Both(strip, first, second));
                assert_eq!(plain, wide);
                assert!(plain.flow != 0.0);
            }
        }
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
        let got = Law::of(pulp::Scalar, 0.005, field).at(0.02).0;
        near(got, field.gravity * 0.02 * 0.005 / (6.0 * PI * 1e-3), 0.05);
    }

    #[test]
    fn the_slope_is_that_of_the_flow() {
        for head in [1e-5, 1e-4, 1e-3, 0.02] {
            let at = |h: f64| Law::of(pulp::Scalar, 0.01, FIELD).at(h as f32);
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
