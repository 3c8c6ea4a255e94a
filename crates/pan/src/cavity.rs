//! The hollow that oil can be in: the union of pockets, or a closed mesh.

use crate::mesh::{ClosedMesh, MeshFault};
use crate::outline::{ARC_SAGITTA, OutlineFault};
use crate::polygon::Region;
use crate::stack::{Below, Stack, steps};
use crate::{Part, Pocket};
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// Thickness of the steps that stand for leaning walls and round floor edges [m]. Whole pockets keep their exact
/// volume; a level between steps is out by less than a millimetre's lean along the walls.
pub const DRAFT_STEP: f64 = 1e-3;
/// How far to either side a section looks [m], so that a plane on a wall or ledge but for rounding is seen as
/// standing on it.
pub(crate) const BOTH_SIDES: f64 = 1e-7;
/// Heights nearer than this are one height [m].
const SAME_HEIGHT: f64 = 1e-9;

/// The hollow of pan and block. Holds no plates.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cavity {
    solid: Solid,
    pockets: Vec<Pocket>,
    bounds: (DVec3, DVec3),
    volume: f64,
}

/// What the cavity is made of.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Solid {
    /// Layers cut from pockets.
    Layers(Stack),
    /// A closed mesh.
    Mesh(ClosedMesh),
}

/// Why there is no cavity.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CavityFault {
    /// No pockets given.
    #[error("there are no pockets, so there is nowhere for oil to be")]
    NoPockets,
    /// One pocket is no solid.
    #[error("pocket \"{name}\" {what}")]
    Pocket {
        /// Which, in the order given.
        index: usize,
        /// Its name.
        name: String,
        /// What is wrong.
        what: PocketFault,
    },
    /// The mesh is no solid.
    #[error(transparent)]
    Mesh(#[from] MeshFault),
}

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

/// Why there is no level.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum LevelFault {
    /// More oil than the cavity holds.
    #[error("{:.3} L of oil do not fit: the cavity holds {:.3} L", volume * 1e3, capacity * 1e3)]
    Overfull {
        /// Oil [m³].
        volume: f64,
        /// Cavity [m³].
        capacity: f64,
    },
    /// Negative, or no number, or no direction.
    #[error("a volume of {volume} m3 over the direction {up} has no level")]
    NotANumber {
        /// Oil [m³].
        volume: f64,
        /// Direction.
        up: DVec3,
    },
}

impl CavityFault {
    /// What it belongs to.
    pub fn part(&self) -> Part {
        match self {
            CavityFault::NoPockets => Part::Cavity,
            CavityFault::Pocket { index, .. } => Part::Pocket(*index),
            CavityFault::Mesh(_) => Part::Mesh,
        }
    }

    /// How to mend it.
    pub fn mend(&self) -> &'static str {
        match self {
            CavityFault::NoPockets => "describe at least one pocket, or name a closed mesh of the cavity",
            CavityFault::Pocket { what, .. } => match what {
                PocketFault::NotANumber => {
                    "give heights, draft and radii as numbers with units; radii may be zero but not negative"
                }
                PocketFault::Outline(_) => {
                    "go once round the pocket, corner by corner, without crossing the line; leave out repeated corners"
                }
                PocketFault::NoHeight { .. } => "let the top lie above the floor",
                PocketFault::DraftTooLarge { .. } => {
                    "give draft as the lean from upright; for flatter slopes use several pockets or a mesh"
                }
                PocketFault::ClosesUp { .. } => "lessen the draft, raise the floor or widen the outline",
                PocketFault::CornerRadiusTooLarge { .. } => "use a smaller corner radius or a wider outline",
                PocketFault::FloorRadiusTooLarge { .. } => "use a floor radius no larger than the depth",
            },
            CavityFault::Mesh(m) => match m {
                MeshFault::Open { .. } => {
                    "close the hole in the program that made the mesh; the cavity must be watertight, its open top included"
                }
                MeshFault::Crowded { .. } | MeshFault::Twisted { .. } => {
                    "repair the mesh: remove inner walls and doubled faces, then unify the normals"
                }
                MeshFault::Empty | MeshFault::Flat | MeshFault::NoSuchCorner { .. } => {
                    "export the cavity again as a closed solid"
                }
                MeshFault::NotANumber { .. } => "check the file and the unit it was written in",
            },
        }
    }
}

impl Cavity {
    /// The union of pockets; all faults at once.
    pub fn from_pockets(pockets: &[Pocket]) -> Result<Cavity, Vec<CavityFault>> {
        if pockets.is_empty() {
            return Err(vec![CavityFault::NoPockets]);
        }
        let faults: Vec<CavityFault> = pockets
            .iter()
            .enumerate()
            .filter_map(|(index, p)| {
                p.fault().map(|what| CavityFault::Pocket {
                    index,
                    name: p.name.clone(),
                    what,
                })
            })
            .collect();
        if !faults.is_empty() {
            return Err(faults);
        }
        let stack = stack_of(pockets, DRAFT_STEP, ARC_SAGITTA);
        let bounds = stack.bounds().ok_or_else(|| vec![CavityFault::NoPockets])?;
        let volume = stack.volume();
        Ok(Cavity {
            solid: Solid::Layers(stack),
            pockets: pockets.to_vec(),
            bounds,
            volume,
        })
    }

    /// A closed mesh [m, pan frame]. A mesh that is inside out is turned; see [`Cavity::was_inside_out`].
    pub fn from_mesh(points: &[DVec3], triangles: &[[u32; 3]]) -> Result<Cavity, CavityFault> {
        let mesh = ClosedMesh::new(points, triangles)?;
        let (bounds, volume) = (mesh.bounds(), mesh.volume());
        Ok(Cavity {
            solid: Solid::Mesh(mesh),
            pockets: Vec::new(),
            bounds,
            volume,
        })
    }

    /// True when the mesh came inside out and was turned.
    pub fn was_inside_out(&self) -> bool {
        matches!(&self.solid, Solid::Mesh(m) if m.was_inside_out())
    }

    /// What it is made of.
    pub fn solid(&self) -> &Solid {
        &self.solid
    }

    /// The pockets it was made from; none for a mesh.
    pub fn pockets(&self) -> &[Pocket] {
        &self.pockets
    }

    /// Low and high corner [m].
    pub fn bounds(&self) -> (DVec3, DVec3) {
        self.bounds
    }

    /// Volume [m³].
    pub fn volume(&self) -> f64 {
        self.volume
    }

    /// Volume of the points with `up · x ≤ offset` [m³]; `up` a unit vector. Exact for the layers or the mesh.
    pub fn volume_below(&self, up: DVec3, offset: f64) -> f64 {
        self.below(up, offset).volume
    }

    /// Volume under a plane, and the area of the plane inside (no plates).
    pub fn below(&self, up: DVec3, offset: f64) -> Below {
        match &self.solid {
            Solid::Layers(s) => s.below(up, offset),
            Solid::Mesh(m) => m.below(up, offset),
        }
    }

    /// Offsets along `up` between which the cavity lies.
    pub fn reach(&self, up: DVec3) -> (f64, f64) {
        let (low, high) = self.bounds;
        let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
        let r = up.abs().dot(half);
        (up.dot(middle) - r, up.dot(middle) + r)
    }

    /// Offset of the plane square to `up` (unit) under which `volume` [m³] lies, to about 1e-12 of the cavity.
    pub fn level(&self, up: DVec3, volume: f64) -> Result<f64, LevelFault> {
        let (low, high) = self.reach(up);
        self.level_near(up, volume, low + (high - low) * volume / self.volume)
    }

    /// As [`Cavity::level`], starting from a guess, which saves steps when directions change little by little.
    pub fn level_near(&self, up: DVec3, volume: f64, guess: f64) -> Result<f64, LevelFault> {
        if volume.is_nan() || volume < 0.0 || !up.is_normalized() || !guess.is_finite() {
            return Err(LevelFault::NotANumber { volume, up });
        }
        if volume > self.volume * (1.0 + 1e-12) {
            return Err(LevelFault::Overfull {
                volume,
                capacity: self.volume,
            });
        }
        let (mut low, mut high) = self.reach(up);
        let whole = high - low;
        let close = 1e-14 * self.volume;
        let mut at = guess.clamp(low, high);
        let mut halved = false;
        for _ in 0..200 {
            let b = self.below(up, at);
            let miss = b.volume - volume;
            if miss.abs() <= close || high - low <= 1e-15 * whole {
                break;
            }
            if miss > 0.0 {
                high = at;
            } else {
                low = at;
            }
            // Newton, unless it leaves the bracket or creeps along its edge: then halve.
            let newton = at - miss / b.surface;
            let inside = newton.is_finite() && newton > low && newton < high;
            let next = if inside && !(halved && newton == at) {
                newton
            } else {
                0.5 * (low + high)
            };
            halved = next == at;
            if halved {
                break;
            }
            at = next;
        }
        Ok(at)
    }

    /// True for points inside.
    pub fn contains(&self, p: DVec3) -> bool {
        let (low, high) = self.bounds;
        if !(p.cmpge(low).all() && p.cmple(high).all()) {
            return false;
        }
        match &self.solid {
            Solid::Layers(s) => s.contains(p),
            Solid::Mesh(m) => m.contains(p),
        }
    }

    /// Plan at height z: what is open both just above and just below it.
    pub fn level_section(&self, z: f64) -> Region {
        match &self.solid {
            Solid::Layers(s) => s.level_section(z),
            Solid::Mesh(m) => m.level_section(z),
        }
    }

    /// Section by the upright plane through `point` along the plan direction `direction` (any length but
    /// zero): a region in (distance along from `point`, z).
    pub fn upright_section(&self, point: DVec2, direction: DVec2) -> Region {
        let along = direction.normalize_or(DVec2::X);
        match &self.solid {
            Solid::Layers(s) => s.upright_section(point, along),
            Solid::Mesh(m) => m.section(point.extend(0.0), along.extend(0.0), DVec3::Z),
        }
    }

    /// Section by any plane, through `origin` with axes `u`, `v` (unit, square to one another): a region in
    /// (u, v) from `origin`. Level and upright planes see what is open on both sides of them, so that a plate
    /// lying on a ledge is not taken to reach over it.
    pub fn plane_section(&self, origin: DVec3, u: DVec3, v: DVec3) -> Region {
        let n = u.cross(v);
        let stack = match &self.solid {
            Solid::Mesh(m) => return m.section(origin, u, v),
            Solid::Layers(s) => s,
        };
        let seen = |p: DVec3| DVec2::new((p - origin).dot(u), (p - origin).dot(v));
        if n.z.abs() > 1.0 - 1e-12 {
            let z = origin.z;
            let both = stack
                .level_section(z - BOTH_SIDES)
                .intersection(&stack.level_section(z + BOTH_SIDES));
            return both.mapped(|p| seen(p.extend(z)));
        }
        let across = n.truncate();
        if n.z.abs() < 1e-12 {
            let (point, along) = (origin.truncate(), -across.normalize().perp());
            let side = across.normalize() * BOTH_SIDES;
            let both = stack
                .upright_section(point - side, along)
                .intersection(&stack.upright_section(point + side, along));
            return both.mapped(|p| seen((point + along * p.x).extend(p.y)));
        }
        // Leaning: of each layer the strip of plan over which the plane passes through it.
        let (low, high) = self.bounds;
        let far = (high - low).length() + (origin - low).length();
        let (down, steep) = (across.normalize(), across.length() / n.z);
        let mut loops = Vec::new();
        for l in stack.layers() {
            let at = |z: f64| ((origin.z - z) / steep).clamp(-far, far);
            let (a, b) = (at(l.z_low).min(at(l.z_high)), at(l.z_low).max(at(l.z_high)));
            let (o, side) = (origin.truncate(), down.perp() * far);
            let strip = vec![
                o + down * a - side,
                o + down * b - side,
                o + down * b + side,
                o + down * a + side,
            ];
            let part = l.region.intersection(&Region::from_loops(&[strip]));
            for points in part.loops() {
                let up = |p: DVec2| seen(p.extend(origin.z - (p - o).dot(down) * steep));
                loops.push(points.iter().map(|p| up(*p)).collect());
            }
        }
        Region::from_loops(&loops)
    }

    /// Height of the floor under a point inside; `None` when the point is not inside.
    pub fn floor_under(&self, p: DVec3) -> Option<f64> {
        if !self.contains(p) {
            return None;
        }
        match &self.solid {
            Solid::Layers(s) => {
                let at = s.layers().partition_point(|l| l.z_high <= p.z);
                let mut floor = s.layers()[at].z_low;
                for l in s.layers()[..at].iter().rev() {
                    if l.z_high < floor || !l.region.contains(p.truncate()) {
                        break;
                    }
                    floor = l.z_low;
                }
                Some(floor)
            }
            Solid::Mesh(m) => {
                let column = m.section(p, DVec3::X, DVec3::Z);
                column
                    .chords(DVec2::ZERO, DVec2::Y)
                    .iter()
                    .find(|(a, b)| *a <= 0.0 && *b >= 0.0)
                    .map(|(a, _)| p.z + a)
            }
        }
    }

    /// The cavity as layers: its own, or a mesh sliced into layers no thicker than `thickest` [m].
    pub fn layers(&self, thickest: f64) -> std::borrow::Cow<'_, Stack> {
        match &self.solid {
            Solid::Layers(s) => std::borrow::Cow::Borrowed(s),
            Solid::Mesh(m) => std::borrow::Cow::Owned(m.stack(thickest)),
        }
    }
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
    fn inset_at(&self, z: f64) -> f64 {
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
    fn plan_at(&self, top: &Region, z: f64, sagitta: f64) -> Region {
        let inset = self.inset_at(z);
        if inset >= 0.0 {
            top.inset(inset, sagitta)
        } else {
            top.outset(-inset, false, sagitta)
        }
    }
}
