//! The pan as solids that a printer or a mill can take: its body, and the hollow in it.
//!
//! ```text
//!   ____o___                 ___o____    z = 0, the flange's face
//!  |__  o   |               |   o  __|   o  bolt holes, through the flange and its bosses
//!     |_____|    cavity     |_____|      outside: every pocket grown by the wall, its floor let down
//!           |_______________|
//! ```
//!
//! The body is the union of what stands (grown pockets, flange, bosses) less what is hollow (pockets, holes). Both are
//! pieces with an upright or leaning side ([`piece`]); between two heights where nothing changes they are one slab with
//! plane sides, found in its middle and proved at its ends ([`slab`]); slabs are joined into one closed skin ([`joined`]).
//! So flat faces, walls and holes' chords are exact to the grid of the plans (0.1 nm) and welding (1 µm); arcs, floor
//! radii and edges where leaning walls meet are within [`CLOSENESS`].

mod joined;
mod piece;
mod slab;

use glam::{DVec2, DVec3};
use pan::{Pocket, Region};
use piece::Piece;
use solid::Mesh;

/// Chords stay this close to arcs, and skins to the shape that is stated [m].
pub const CLOSENESS: f64 = 20e-6;
/// By how much bosses are made wider when they only just touch something [m].
const NUDGES: [f64; 3] = [0.0, 20e-6, 40e-6];
/// Widest web of metal that is no web: less than this between a hole and an edge is said [m].
const WEB: f64 = 0.5e-3;

/// What is to be made, in the pan's axes [m].
#[derive(Clone, Debug)]
pub struct Making {
    /// The pan's own pockets.
    pub pockets: Vec<Pocket>,
    /// Thickness of the walls, measured level.
    pub wall: f64,
    /// Thickness of the floor.
    pub floor: f64,
    /// True when the outside's corners are round about the cavity's, as bent; false when square, as milled.
    pub round: bool,
    /// Least lean of the outside from upright [rad], so that a pattern can be drawn or a print needs no support.
    pub draft: f64,
    /// Plan of the flange, its hole left out.
    pub flange: Region,
    /// Thickness of the flange.
    pub flange_thickness: f64,
    /// Bolts, places in plan.
    pub bolts: Vec<DVec2>,
    /// Diameter of the holes for them.
    pub hole: f64,
    /// Diameter of the metal round each hole; no boss where it is not wider than the hole.
    pub boss: f64,
    /// How far bosses stand down below the flange.
    pub boss_height: f64,
    /// The drain.
    pub drain: Option<Drain>,
}

/// The drain's hole with its boss.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drain {
    /// Middle of its face outside.
    pub at: DVec3,
    /// Which way its plug's head points: unit, down or level.
    pub points: DVec3,
    /// Diameter of the hole.
    pub hole: f64,
    /// Diameter of the boss.
    pub boss: f64,
}

/// Why no solid can be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum BodyFault {
    /// No pockets.
    #[error("the pan has no pocket below the flange")]
    NoPockets,
    /// A bolt hole meets the cavity.
    #[error("the hole of bolt {bolt} ({:.1} mm) meets the cavity: its middle stands {:.2} mm from the edge", hole * 1e3, away * 1e3)]
    HoleMeetsCavity {
        /// Which, from 1.
        bolt: usize,
        /// Its diameter [m].
        hole: f64,
        /// From its middle to the cavity's edge [m]; zero inside.
        away: f64,
    },
    /// A bolt hole breaks through the flange's edge.
    #[error("the hole of bolt {bolt} ({:.1} mm) breaks through the edge of the flange: its middle stands {:.2} mm from it", hole * 1e3, away * 1e3)]
    HoleOverEdge {
        /// Which, from 1.
        bolt: usize,
        /// Its diameter [m].
        hole: f64,
        /// From its middle to the metal's edge [m].
        away: f64,
    },
    /// The wall under the flange is in the way of a bolt.
    #[error("the wall, {:.1} mm thick, stands in the hole of bolt {bolt}: there is room for {:.1} mm", wall * 1e3, room * 1e3)]
    WallTooThick {
        /// Which, from 1.
        bolt: usize,
        /// Wall stated [m].
        wall: f64,
        /// Thickest that leaves the hole free [m].
        room: f64,
    },
    /// The drain does not lead into the cavity.
    #[error("the drain at ({:.1}, {:.1}, {:.1}) mm does not lead into the cavity", at.x * 1e3, at.y * 1e3, at.z * 1e3)]
    DrainMisses {
        /// Its place [m].
        at: DVec3,
    },
    /// The drain points neither down nor level.
    #[error("the drain points neither straight down nor level")]
    DrainSlants,
    /// Nothing is left, or the skin touches itself.
    #[error("the skin of the {what} touches itself near ({:.2}, {:.2}, {:.2}) mm", near.x * 1e3, near.y * 1e3, near.z * 1e3)]
    Touches {
        /// Which solid.
        what: &'static str,
        /// Where [m].
        near: DVec3,
    },
}

impl BodyFault {
    /// How to mend it.
    pub fn mend(&self) -> String {
        match self {
            BodyFault::NoPockets => "describe the pan's pockets; their floors lie below z = 0".into(),
            BodyFault::HoleMeetsCavity { hole, .. } => format!(
                "move the bolt at least {:.1} mm out of the cavity's edge, or make the hole smaller",
                (0.5 * hole + WEB) * 1e3
            ),
            BodyFault::HoleOverEdge { hole, .. } => format!(
                "let the flange reach at least {:.1} mm beyond the bolt's middle, or give it a boss wider than that",
                (0.5 * hole + WEB) * 1e3
            ),
            BodyFault::WallTooThick { room, .. } => format!(
                "make the wall thinner than {:.1} mm there, or move the bolt and the flange's edge outward",
                room.max(0.0) * 1e3
            ),
            BodyFault::DrainMisses { .. } => {
                "place the drain's face on the wall or floor outside, its head pointing away from the cavity"
                    .into()
            }
            BodyFault::DrainSlants => {
                "let it point down or level, or leave it out and drill it by hand".into()
            }
            BodyFault::Touches { .. } => {
                "move the parts that meet there by 0.01 mm, so that they overlap or stay apart".into()
            }
        }
    }
}

impl Making {
    /// The pan's hollow below the flange, closed there [m].
    pub fn cavity(&self) -> Result<Mesh, BodyFault> {
        self.joined("cavity", &self.hollow())
    }

    /// The pan [m].
    pub fn body(&self) -> Result<Mesh, BodyFault> {
        self.check()?;
        // A boss that only just touches a wall would make a skin that touches itself: it is made a hair wider.
        let mut last = Err(BodyFault::NoPockets);
        for nudge in NUDGES {
            last = self.joined("body", &self.pieces(nudge));
            if last.is_ok() {
                break;
            }
        }
        last
    }

    /// Plan of what is metal at a height: the body cut there.
    pub fn plan(&self, z: f64) -> Region {
        slab::plan(&self.pieces(0.0), z)
    }

    /// Plan of the hollow at a height.
    pub fn hollow_plan(&self, z: f64) -> Region {
        slab::plan(&self.hollow(), z)
    }

    fn joined(&self, what: &'static str, pieces: &[Piece]) -> Result<Mesh, BodyFault> {
        let slabs = slab::slabs(pieces, CLOSENESS);
        if slabs.is_empty() {
            return Err(BodyFault::NoPockets);
        }
        joined::closed(&slabs).map_err(|near| BodyFault::Touches { what, near })
    }

    fn hollow(&self) -> Vec<Piece> {
        let own = self.pockets.iter().filter(|p| p.z_low < 0.0);
        own.map(|p| Piece::pocket(p, CLOSENESS)).collect()
    }

    fn walls(&self) -> Vec<Piece> {
        let own = self.pockets.iter().filter(|p| p.z_low < 0.0);
        own.map(|p| Piece::grown(p, self.wall, self.floor, self.round, self.draft, CLOSENESS))
            .collect()
    }

    fn pieces(&self, nudge: f64) -> Vec<Piece> {
        let under = -self.flange_thickness;
        let mut pieces = self.walls();
        if self.flange_thickness > 0.0 {
            pieces.push(Piece::upright(self.flange.clone(), under, 0.0));
        }
        let bottom = under - self.boss_height;
        if self.boss > self.hole {
            pieces.extend(
                self.bolts
                    .iter()
                    .map(|at| Piece::round(*at, self.boss + nudge, bottom, 0.0, CLOSENESS)),
            );
        }
        let mut cuts = self.hollow();
        cuts.extend(
            self.bolts
                .iter()
                .map(|at| Piece::round(*at, self.hole, bottom - 1e-3, 0.0, CLOSENESS)),
        );
        if let Some(drain) = &self.drain {
            // From the face to where the middle line comes out in the cavity.
            if let Some(depth) = self.depth_of(drain) {
                pieces.extend(Piece::drilled(
                    drain.at,
                    -drain.points,
                    depth,
                    drain.boss + nudge,
                    CLOSENESS,
                ));
                let from = drain.at + drain.points * 1e-3;
                cuts.extend(Piece::drilled(
                    from,
                    -drain.points,
                    depth + 1e-3,
                    drain.hole,
                    CLOSENESS,
                ));
            }
        }
        pieces.extend(cuts.into_iter().map(Piece::cutting));
        pieces
    }

    /// How far the drain's hole goes from its face until its whole width is in the cavity [m].
    fn depth_of(&self, drain: &Drain) -> Option<f64> {
        let hollow = self.hollow();
        let inside = |p: DVec3| slab::plan(&hollow, p.z).contains(p.truncate());
        let side = drain.points.any_orthonormal_vector();
        let other = drain.points.cross(side);
        let (mut depth, step) = (0.0, 0.25e-3);
        while depth < 0.1 {
            let middle = drain.at - drain.points * depth;
            let rim = (0..8).map(|k| {
                let turn = DVec2::from_angle(f64::from(k) * std::f64::consts::FRAC_PI_4) * 0.5 * drain.hole;
                middle + side * turn.x + other * turn.y
            });
            if middle.z < 0.0 && rim.chain([middle]).all(|p| p.z < 0.0 && inside(p)) {
                return Some(depth);
            }
            depth += step;
        }
        None
    }

    fn check(&self) -> Result<(), BodyFault> {
        let rim = slab::plan(&self.hollow(), -1e-9);
        if rim.is_empty() {
            return Err(BodyFault::NoPockets);
        }
        let under = slab::plan(&self.walls(), -self.flange_thickness - 1e-6);
        let away =
            |region: &Region, p: DVec2| region.nearest_on_edge(p).map_or(f64::INFINITY, |n| n.distance(p));
        for (i, at) in self.bolts.iter().enumerate() {
            let (bolt, radius) = (i + 1, 0.5 * self.hole);
            let to_rim = if rim.contains(*at) { 0.0 } else { away(&rim, *at) };
            if to_rim <= radius + 1e-6 {
                return Err(BodyFault::HoleMeetsCavity {
                    bolt,
                    hole: self.hole,
                    away: to_rim,
                });
            }
            let outer = self.flange.union(&rim);
            let bossed = self.boss > self.hole;
            let to_edge = if outer.contains(*at) {
                away(&outer, *at)
            } else {
                0.0
            };
            if !bossed && to_edge <= radius + 1e-6 {
                return Err(BodyFault::HoleOverEdge {
                    bolt,
                    hole: self.hole,
                    away: to_edge,
                });
            }
            let to_wall = if under.contains(*at) {
                0.0
            } else {
                away(&under, *at)
            };
            if to_wall <= radius + 1e-6 {
                let room = self.wall + to_wall - radius - WEB;
                let room = if under.contains(*at) {
                    to_rim - radius - WEB
                } else {
                    room
                };
                return Err(BodyFault::WallTooThick {
                    bolt,
                    wall: self.wall,
                    room: room.max(0.0),
                });
            }
        }
        if let Some(drain) = &self.drain {
            let upright = drain.points.z < -1.0 + 1e-9;
            if !upright && drain.points.z.abs() > 1e-9 {
                return Err(BodyFault::DrainSlants);
            }
            if self.depth_of(drain).is_none() {
                return Err(BodyFault::DrainMisses { at: drain.at });
            }
        }
        Ok(())
    }

    /// Bolts whose head has no room beside the wall: number, and what is missing [m].
    pub fn tight_heads(&self, head: f64) -> Vec<(usize, f64)> {
        let under = slab::plan(&self.walls(), -self.flange_thickness - self.boss_height - 1e-6);
        let room = |at: &DVec2| {
            under
                .nearest_on_edge(*at)
                .map_or(f64::INFINITY, |n| n.distance(*at))
        };
        self.bolts
            .iter()
            .enumerate()
            .map(|(i, at)| (i + 1, 0.5 * head - room(at)))
            .filter(|(_, missing)| *missing > 1e-6)
            .collect()
    }
}
