//! Pockets as solids: checked, sliced, united.

use crate::Pocket;
use crate::outline::{ARC_SAGITTA, OutlineFault};
use crate::polygon::Region;
use crate::stack::{Stack, steps};

/// Heights nearer than this are one height [m].
const SAME_HEIGHT: f64 = 1e-9;

/// What is wrong with a pocket.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PocketFault {
    /// A height, angle or radius that is no number, or a negative radius.
    #[error("has a height, draft or radius that is not a usable number")]
    NotANumber,
    /// The outline encloses nothing.
    #[error("has an outline that {0}")]
    Outline(OutlineFault),
    /// No height.
    #[error("has no height: it runs from {:.2} mm up to {:.2} mm", z_low * 1e3, z_high * 1e3)]
    NoHeight {
        /// Floor [m].
        z_low: f64,
        /// Top [m].
        z_high: f64,
    },
    /// Walls that lean more than they stand.
    #[error("has a draft of {:.1} degrees; walls may lean up to 60", draft.to_degrees())]
    DraftTooLarge {
        /// Lean [rad].
        draft: f64,
    },
    /// The walls meet above the floor.
    #[error("closes up before its floor: its walls meet about {:.1} mm above z = {:.1} mm", above_floor * 1e3, z_low * 1e3)]
    ClosesUp {
        /// Height over the floor at which nothing is left [m].
        above_floor: f64,
        /// Floor [m].
        z_low: f64,
    },
    /// The corner radius leaves nothing of the outline.
    #[error("is too narrow for a corner radius of {:.2} mm", radius * 1e3)]
    CornerRadiusTooLarge {
        /// Radius [m].
        radius: f64,
    },
    /// The floor radius is taller than the pocket.
    #[error("has a floor radius of {:.2} mm but is only {:.2} mm deep", radius * 1e3, depth * 1e3)]
    FloorRadiusTooLarge {
        /// Radius [m].
        radius: f64,
        /// Depth [m].
        depth: f64,
    },
}

/// The union of pockets as layers.
pub(crate) fn stack_of(pockets: &[Pocket], step: f64, sagitta: f64) -> Stack {
    let tops: Vec<Region> = pockets
        .iter()
        .map(|p| p.outline.region(p.corner_radius, sagitta))
        .collect();
    let mut breaks: Vec<f64> = pockets.iter().flat_map(|p| [p.z_low, p.z_high]).collect();
    // A floor radius ends at a height of its own, so that the walls over it stay whole.
    breaks.extend(
        pockets
            .iter()
            .filter(|p| p.floor_radius > 0.0)
            .map(|p| p.z_low + p.floor_radius),
    );
    breaks.sort_by(f64::total_cmp);
    breaks.dedup_by(|a, b| *a - *b < SAME_HEIGHT);
    let mut layers = Vec::new();
    for pair in breaks.windows(2) {
        let middle = 0.5 * (pair[0] + pair[1]);
        let here: Vec<usize> = (0..pockets.len())
            .filter(|&i| pockets[i].z_low < middle && middle < pockets[i].z_high)
            .collect();
        let leans = here
            .iter()
            .any(|&i| pockets[i].inset_at(pair[0]) != pockets[i].inset_at(pair[1]));
        let pieces = if leans {
            steps(pair[0], pair[1], step)
        } else {
            vec![(pair[0], pair[1], middle)]
        };
        for (low, high, z) in pieces {
            let plans: Vec<Region> = here
                .iter()
                .map(|&p| pockets[p].plan_at(&tops[p], z, sagitta))
                .collect();
            layers.push((low, high, Region::union_of(&plans)));
        }
    }
    Stack::new(layers)
}

impl Pocket {
    /// Why this is no solid, if so.
    pub fn fault(&self) -> Option<PocketFault> {
        let numbers = [
            self.z_low,
            self.z_high,
            self.draft,
            self.corner_radius,
            self.floor_radius,
        ];
        if numbers.iter().any(|v| !v.is_finite()) || self.corner_radius < 0.0 || self.floor_radius < 0.0 {
            return Some(PocketFault::NotANumber);
        }
        if self.z_high - self.z_low < 1e-6 {
            return Some(PocketFault::NoHeight {
                z_low: self.z_low,
                z_high: self.z_high,
            });
        }
        if let Some(f) = self.outline.fault() {
            return Some(PocketFault::Outline(f));
        }
        if self.draft.abs() > 60f64.to_radians() {
            return Some(PocketFault::DraftTooLarge { draft: self.draft });
        }
        let depth = self.z_high - self.z_low;
        if self.floor_radius > depth {
            return Some(PocketFault::FloorRadiusTooLarge {
                radius: self.floor_radius,
                depth,
            });
        }
        let top = self.outline.region(self.corner_radius, ARC_SAGITTA);
        if top.is_empty() {
            return Some(PocketFault::CornerRadiusTooLarge {
                radius: self.corner_radius,
            });
        }
        for i in 0..=8 {
            let z = self.z_high - depth * f64::from(i) / 8.0;
            if self.plan_at(&top, z, ARC_SAGITTA).is_empty() {
                return Some(PocketFault::ClosesUp {
                    above_floor: z - self.z_low,
                    z_low: self.z_low,
                });
            }
        }
        None
    }

    /// How far the wall stands inside the outline at height z [m].
    pub fn inset_at(&self, z: f64) -> f64 {
        let lean = (self.z_high - z) * self.draft.tan();
        let over_floor = z - self.z_low;
        let r = self.floor_radius;
        if over_floor >= r {
            return lean;
        }
        // Quarter circle between wall and floor, as if the wall were upright.
        lean + r - (r * r - (r - over_floor).powi(2)).max(0.0).sqrt()
    }

    /// Plan at height z of a pocket whose plan at its top is `top`.
    pub(crate) fn plan_at(&self, top: &Region, z: f64, sagitta: f64) -> Region {
        let inset = self.inset_at(z);
        if inset >= 0.0 {
            top.inset(inset, sagitta)
        } else {
            top.outset(-inset, false, sagitta)
        }
    }
}
