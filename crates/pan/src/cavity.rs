//! The hollow that oil can be in: the union of pockets, or a closed mesh.

use crate::mesh::{ClosedMesh, MeshFault};
use crate::outline::ARC_SAGITTA;
use crate::pocket::{PocketFault, stack_of};
use crate::polygon::Region;
use crate::stack::{Below, Stack};
use crate::{Part, Pocket};
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// Thickness of the steps that stand for leaning walls and round floor edges [m]. Whole pockets keep their exact
/// volume; a level between steps is out by less than a millimetre's lean along the walls.
pub const DRAFT_STEP: f64 = 1e-3;
/// How far to either side a section looks [m], so that a plane on a wall or ledge but for rounding is seen as
/// standing on it.
pub(crate) const BOTH_SIDES: f64 = 1e-7;
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
    /// The oil side of a pan part, all of it under z = 0, and the block's room above as layers.
    MeshAndBlock(ClosedMesh, Stack),
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
    /// A pocket reaches below the flange, where the mesh is the cavity.
    #[error("pocket \"{name}\" reaches below the flange, down to {:.2} mm, where the pan's own file says what is hollow", z_low * 1e3)]
    PocketInPart {
        /// Which, in the order given.
        index: usize,
        /// Its name.
        name: String,
        /// Its floor [m].
        z_low: f64,
    },
    /// The mesh is no solid.
    #[error(transparent)]
    Mesh(#[from] MeshFault),
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
            CavityFault::Pocket { index, .. } | CavityFault::PocketInPart { index, .. } => {
                Part::Pocket(*index)
            }
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
            CavityFault::PocketInPart { .. } => "let it begin at the flange, z = 0 or above, or leave it out",
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
        let stack = stack_from(pockets)?;
        let bounds = stack.bounds().ok_or_else(|| vec![CavityFault::NoPockets])?;
        let volume = stack.volume();
        Ok(Cavity {
            solid: Solid::Layers(stack),
            pockets: pockets.to_vec(),
            bounds,
            volume,
        })
    }

    /// A closed mesh as somebody else checked it [m, pan frame].
    pub fn from_closed_mesh(mesh: ClosedMesh) -> Cavity {
        Cavity {
            bounds: mesh.bounds(),
            volume: mesh.volume(),
            solid: Solid::Mesh(mesh),
            pockets: Vec::new(),
        }
    }

    /// The oil side of a pan part, which ends at z = 0 [m, pan frame], and the block's room above it as pockets.
    pub fn from_part(mesh: ClosedMesh, block: &[Pocket]) -> Result<Cavity, Vec<CavityFault>> {
        let stack = stack_from(block)?;
        let deep = block.iter().enumerate().filter(|(_, p)| p.z_low < -BOTH_SIDES);
        let faults: Vec<CavityFault> = deep
            .map(|(index, p)| CavityFault::PocketInPart {
                index,
                name: p.name.clone(),
                z_low: p.z_low,
            })
            .collect();
        if !faults.is_empty() {
            return Err(faults);
        }
        let (low, high) = mesh.bounds();
        let (block_low, block_high) = stack.bounds().ok_or_else(|| vec![CavityFault::NoPockets])?;
        Ok(Cavity {
            bounds: (low.min(block_low), high.max(block_high)),
            volume: mesh.volume() + stack.volume(),
            solid: Solid::MeshAndBlock(mesh, stack),
            pockets: block.to_vec(),
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
        matches!(&self.solid, Solid::Mesh(m) | Solid::MeshAndBlock(m, _) if m.was_inside_out())
    }

    /// What it is made of.
    pub fn solid(&self) -> &Solid {
        &self.solid
    }

    /// The pockets it was made from; none for a mesh, those of the block for a pan part.
    pub fn pockets(&self) -> &[Pocket] {
        &self.pockets
    }

    /// True when it is made of these pockets and of nothing else.
    pub fn is_of(&self, pockets: &[Pocket]) -> bool {
        matches!(self.solid, Solid::Layers(_)) && self.pockets == pockets
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
            Solid::MeshAndBlock(m, s) => {
                let (pan, block) = (m.below(up, offset), s.below(up, offset));
                Below {
                    volume: pan.volume + block.volume,
                    surface: pan.surface + block.surface,
                }
            }
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
            Solid::MeshAndBlock(m, s) => s.contains(p) || m.contains(p),
        }
    }

    /// Plan at height z: what is open both just above and just below it.
    pub fn level_section(&self, z: f64) -> Region {
        match &self.solid {
            Solid::Layers(s) => s.level_section(z),
            Solid::Mesh(m) => m.level_section(z),
            Solid::MeshAndBlock(..) => self.plane_section(DVec3::new(0.0, 0.0, z), DVec3::X, DVec3::Y),
        }
    }

    /// Section by the upright plane through `point` along the plan direction `direction` (any length but
    /// zero): a region in (distance along from `point`, z).
    pub fn upright_section(&self, point: DVec2, direction: DVec2) -> Region {
        let along = direction.normalize_or(DVec2::X);
        match &self.solid {
            Solid::Layers(s) => s.upright_section(point, along),
            Solid::Mesh(m) => m.section(point.extend(0.0), along.extend(0.0), DVec3::Z),
            Solid::MeshAndBlock(m, s) => m
                .section(point.extend(0.0), along.extend(0.0), DVec3::Z)
                .union(&s.upright_section(point, along)),
        }
    }

    /// Section by any plane, through `origin` with axes `u`, `v` (unit, square to one another): a region in
    /// (u, v) from `origin`. Level and upright planes see what is open on both sides of them, so that a plate
    /// lying on a ledge is not taken to reach over it.
    pub fn plane_section(&self, origin: DVec3, u: DVec3, v: DVec3) -> Region {
        match &self.solid {
            Solid::Mesh(m) => m.section(origin, u, v),
            Solid::Layers(s) => section_of(s, self.bounds, origin, u, v),
            Solid::MeshAndBlock(m, s) if u.cross(v).z.abs() > 1.0 - 1e-12 && origin.z.abs() <= BOTH_SIDES => {
                // In the flange's plane: open below, in the pan, and above, in the block.
                let above = origin + BOTH_SIDES * 2.0 * DVec3::Z;
                m.section(DVec3::new(origin.x, origin.y, 0.0), u, v)
                    .intersection(&section_of(s, self.bounds, above, u, v))
            }
            Solid::MeshAndBlock(m, s) => {
                m.section(origin, u, v)
                    .union(&section_of(s, self.bounds, origin, u, v))
            }
        }
    }

    /// Height of the floor under a point inside; `None` when the point is not inside.
    pub fn floor_under(&self, p: DVec3) -> Option<f64> {
        match &self.solid {
            Solid::Layers(s) => s.floor_under(p),
            Solid::Mesh(m) => m.floor_under(p),
            Solid::MeshAndBlock(m, s) => match s.floor_under(p) {
                Some(floor) if floor.abs() <= BOTH_SIDES => {
                    // On through the flange, when the pan is open there.
                    m.floor_under(p.with_z(-BOTH_SIDES)).or(Some(floor))
                }
                Some(floor) => Some(floor),
                None => m.floor_under(p),
            },
        }
    }

    /// The cavity as layers: its own, or a mesh sliced into layers no thicker than `thickest` [m].
    pub fn layers(&self, thickest: f64) -> std::borrow::Cow<'_, Stack> {
        match &self.solid {
            Solid::Layers(s) => std::borrow::Cow::Borrowed(s),
            Solid::Mesh(m) => std::borrow::Cow::Owned(m.stack(thickest)),
            Solid::MeshAndBlock(m, s) => {
                let pan = m.stack(thickest);
                let both = pan.layers().iter().chain(s.layers());
                let layers = both.map(|l| (l.z_low, l.z_high, l.region.clone())).collect();
                std::borrow::Cow::Owned(Stack::new(layers))
            }
        }
    }
}

/// Pockets as layers; all faults at once.
fn stack_from(pockets: &[Pocket]) -> Result<Stack, Vec<CavityFault>> {
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
    Ok(stack_of(pockets, DRAFT_STEP, ARC_SAGITTA))
}

/// Section of a stack by the plane through `origin` with axes `u`, `v`.
fn section_of(stack: &Stack, (low, high): (DVec3, DVec3), origin: DVec3, u: DVec3, v: DVec3) -> Region {
    let n = u.cross(v);
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
