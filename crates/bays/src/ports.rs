//! What flows through a patch of an opening.
//!
//! Each surface stands so and so high over the patch. Where both sides are wet the difference of the heads drives the
//! flow, where only one is, its own depth: `v = C √(2gΔ)`, over the wetted height. Summed over patches this is a weir
//! (two thirds of C √(2g) h^1.5 and width), a drowned weir, a gap under a wall. Thick oil in small holes is slower: the
//! head also pays `6π ν v / (g d)` (Sampson's flow through a hole; Happel and Brenner, Low Reynolds Number Hydrodynamics,
//! ch. 4).

use std::f64::consts::PI;

/// Head difference below which the flow is made linear [m], so that two levels can come to rest.
const LEVEL: f64 = 1e-4;

/// How one bay's oil stands at a patch.
#[derive(Clone, Copy, Debug)]
pub struct Head {
    /// Height of the surface over the patch's centre along the surface's normal [m]; below zero when it lies lower.
    pub over: f64,
    /// Half the patch's height along that normal [m].
    pub half: f64,
}

impl Head {
    /// Share of the patch that is wet.
    pub fn wet(&self) -> f64 {
        if self.half > 1e-9 {
            (0.5 + 0.5 * self.over / self.half).clamp(0.0, 1.0)
        } else {
            f64::from(u8::from(self.over > 0.0))
        }
    }
}

/// What the oil and the field are.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// Apparent gravity [m/s²].
    pub gravity: f64,
    /// Kinematic viscosity [m²/s].
    pub viscosity: f64,
}

/// Flow from the first side to the second [m³/s], and how it grows with the first side's head over the second's
/// [m³/s per m], through `area` [m²] of holes `width` [m] wide with the discharge `coefficient`.
pub fn flow(first: Head, second: Head, area: f64, coefficient: f64, width: f64, field: Field) -> (f64, f64) {
    if first.over < second.over {
        let (q, slope) = downhill(second, first, area, coefficient, width, field);
        return (-q, slope);
    }
    downhill(first, second, area, coefficient, width, field)
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

fn downhill(high: Head, low: Head, area: f64, coefficient: f64, width: f64, field: Field) -> (f64, f64) {
    let (wet, drowned) = (high.wet(), low.wet().min(high.wet()));
    if wet <= 0.0 || field.gravity <= 0.0 {
        return (0.0, 0.0);
    }
    let speed = |head: f64| speed(head, coefficient, width, field);
    let (v, slope) = speed(high.over - low.over.max(-high.half));
    let (mut q, mut rise) = (drowned * v, drowned * slope);
    let free = wet - drowned;
    if free > 0.0 {
        // From the surface, or the patch's upper edge, down to where the other side's oil begins.
        let top = (high.over - high.half).max(0.0);
        let thick = 2.0 * high.half * free;
        let mean_root = if thick > 1e-9 {
            2.0 / 3.0 * ((top + thick) * (top + thick).sqrt() - top * top.sqrt()) / thick
        } else {
            top.sqrt()
        };
        let (v, slope) = speed(mean_root * mean_root);
        q += free * v;
        rise += free * slope;
    }
    (area * q, area * rise)
}

/// Mean speed over the area of the holes under a head [m/s], and its slope.
fn speed(head: f64, coefficient: f64, width: f64, field: Field) -> (f64, f64) {
    if head <= 0.0 {
        let (v, _) = speed(LEVEL * 1e-3, coefficient, width, field);
        return (0.0, v / (LEVEL * 1e-3));
    }
    let square = 1.0 / (2.0 * field.gravity * coefficient * coefficient);
    let laminar = 6.0 * PI * field.viscosity / (field.gravity * width.max(1e-6));
    let root = (laminar * laminar + 4.0 * square * head).sqrt();
    // (root − laminar) / 2 square, without the difference of two like numbers.
    let v = 2.0 * head / (root + laminar);
    let calm = (head / (head + LEVEL)).sqrt();
    let slope = calm / root + v * 0.5 * LEVEL / (head + LEVEL).powi(2) / calm;
    (v * calm, slope)
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
                let head = |level: f64| Head {
                    over: level - z,
                    half: 0.0025,
                };
                flow(head(up), head(down), 0.005 * width, 0.61, 0.02, FIELD).0
            })
            .sum()
    }

    #[track_caller]
    fn near(got: f64, due: f64, share: f64) {
        assert!((got / due - 1.0).abs() < share, "got {got:.5e}, due {due:.5e}");
    }

    /// Orifice formula, any textbook.
    #[test]
    fn a_drowned_hole_is_an_orifice() {
        let got = flow(
            Head {
                over: 0.08,
                half: 0.01,
            },
            Head {
                over: 0.05,
                half: 0.01,
            },
            3.1416e-4,
            0.62,
            0.02,
            FIELD,
        );
        near(
            got.0,
            formula::orifice(0.62, 3.1416e-4, 0.03, FIELD.gravity),
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
        let got = speed(0.02, 0.61, 0.005, field).0;
        near(got, field.gravity * 0.02 * 0.005 / (6.0 * PI * 1e-3), 0.05);
    }

    #[test]
    fn the_slope_is_that_of_the_flow() {
        for head in [1e-5, 1e-4, 1e-3, 0.02] {
            let at = |h: f64| speed(h, 0.61, 0.01, FIELD);
            let step = 1e-4 * head;
            let due = (at(head + step).0 - at(head - step).0) / (2.0 * step);
            near(at(head).1, due, 1e-3);
        }
    }
}
