//! A body near the pan: boxes, cylinders, tubes, half-spaces, swept links, scanned meshes.

use crate::meet::holds;
use crate::pose::Pose;
use crate::{Piece, Tree};
use glam::{DMat3, DQuat, DVec3};
use pan::Cavity;

/// Chords of a swept arc stay this close to it [m].
const ARC_CLOSENESS: f64 = 1e-6;

/// Everything on the far side of a plane: the road under the car, a firewall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HalfSpace {
    /// A point of the plane [m].
    pub at: DVec3,
    /// Unit normal, out of the body into the free side.
    pub out: DVec3,
}

/// Where a body is.
#[derive(Clone, Debug)]
pub enum Shape {
    /// The union of pieces.
    Pieces(Tree),
    /// The union of half-spaces; one or more.
    HalfSpaces(Vec<HalfSpace>),
}

/// What lies inside a body's pieces.
#[derive(Clone, Debug)]
pub enum Filled {
    /// The pieces are solid.
    Pieces,
    /// The pieces are the facets of a closed skin, solid inside.
    Skin,
    /// The pieces are the walls round a cavity below the flange; what is in the cavity is in the body.
    Cavity(Box<Cavity>),
    /// A skin that is not closed: nothing is known of its inside.
    Open,
}

/// A body.
#[derive(Clone, Debug)]
pub struct Body {
    /// Name for people.
    pub name: String,
    /// Names of its parts, by the numbers in its pieces; empty names for a body of one part.
    pub parts: Vec<String>,
    /// Where it is.
    pub shape: Shape,
    /// What is inside.
    pub filled: Filled,
}

impl Body {
    /// Solid pieces of one part.
    pub fn solid(name: &str, pieces: Vec<Piece>) -> Body {
        Body {
            name: name.to_owned(),
            parts: vec![String::new()],
            shape: Shape::Pieces(Tree::new(pieces)),
            filled: Filled::Pieces,
        }
    }

    /// Half-spaces.
    pub fn half_spaces(name: &str, planes: Vec<HalfSpace>) -> Body {
        Body {
            name: name.to_owned(),
            parts: vec![String::new()],
            shape: Shape::HalfSpaces(planes),
            filled: Filled::Pieces,
        }
    }

    /// Triangles [m]; `closed` when they are proved to enclose a solid.
    pub fn skin(name: &str, points: &[DVec3], triangles: &[[u32; 3]], closed: bool) -> Body {
        let facet = |t: &[u32; 3]| Piece::facet(t.map(|c| points[c as usize]), 0.0, 0);
        Body {
            name: name.to_owned(),
            parts: vec![String::new()],
            shape: Shape::Pieces(Tree::new(triangles.iter().map(facet).collect())),
            filled: if closed { Filled::Skin } else { Filled::Open },
        }
    }

    /// The body turned about the origin and carried.
    pub fn moved(self, turn: DMat3, carry: DVec3) -> Body {
        if turn == DMat3::IDENTITY && carry == DVec3::ZERO {
            return self;
        }
        let shape = match self.shape {
            Shape::Pieces(tree) => Shape::Pieces(Tree::new(
                tree.pieces().iter().map(|p| p.moved(turn, carry)).collect(),
            )),
            Shape::HalfSpaces(planes) => Shape::HalfSpaces(
                planes
                    .into_iter()
                    .map(|p| HalfSpace {
                        at: turn * p.at + carry,
                        out: turn * p.out,
                    })
                    .collect(),
            ),
        };
        Body { shape, ..self }
    }

    /// The body with every place between its own and `travel` away [m]: a steering rack, an arm that slides.
    ///
    /// A half-space grows by the part of the travel that leads out of it.
    pub fn swept(self, travel: DVec3) -> Body {
        if travel == DVec3::ZERO {
            return self;
        }
        let shape = match self.shape {
            Shape::Pieces(tree) => {
                Shape::Pieces(Tree::new(tree.pieces().iter().map(|p| p.swept(travel)).collect()))
            }
            Shape::HalfSpaces(planes) => Shape::HalfSpaces(
                planes
                    .into_iter()
                    .map(|p| HalfSpace {
                        at: p.at + p.out * travel.dot(p.out).max(0.0),
                        ..p
                    })
                    .collect(),
            ),
        };
        Body { shape, ..self }
    }

    /// Low and high corner of the box round it; `None` for half-spaces, which have no end.
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        match &self.shape {
            Shape::Pieces(tree) => tree.bounds(),
            Shape::HalfSpaces(_) => None,
        }
    }

    /// True when the point lies in the body.
    pub fn holds(&self, p: DVec3) -> bool {
        let tree = match &self.shape {
            Shape::HalfSpaces(planes) => return planes.iter().any(|h| (p - h.at).dot(h.out) <= 0.0),
            Shape::Pieces(tree) => tree,
        };
        let Some((low, high)) = tree.bounds() else {
            return false;
        };
        if !(p.cmpge(low).all() && p.cmple(high).all()) {
            return false;
        }
        match &self.filled {
            Filled::Pieces => tree.pieces().iter().any(|piece| holds(piece, p)),
            Filled::Skin => crossings_above(tree, p) % 2 == 1,
            Filled::Cavity(cavity) => p.z < 0.0 && cavity.contains(p),
            Filled::Open => false,
        }
    }

    /// Some points of the body, spread over its pieces.
    pub(crate) fn samples(&self) -> Vec<DVec3> {
        match &self.shape {
            Shape::HalfSpaces(_) => Vec::new(),
            Shape::Pieces(tree) => {
                let pieces = tree.pieces();
                let step = pieces.len().div_ceil(16).max(1);
                pieces.iter().step_by(step).map(Piece::inner_point).collect()
            }
        }
    }
}

/// How many facets an upright ray from `p` goes through.
fn crossings_above(tree: &Tree, p: DVec3) -> usize {
    let facets = tree.pieces().iter().filter_map(|piece| match &piece.core {
        crate::Core::Facet(corners) => Some(corners),
        _ => None,
    });
    facets
        .filter(|[a, b, c]| {
            let flat = [a.truncate(), b.truncate(), c.truncate()];
            let here = p.truncate();
            // The same arithmetic for either direction of an edge, so that of two facets on it one claims the ray.
            let crosses = |s: glam::DVec2, t: glam::DVec2| {
                if (s.y <= here.y) == (t.y <= here.y) {
                    return false;
                }
                let (low, high) = if s.y < t.y { (s, t) } else { (t, s) };
                here.x < low.x + (here.y - low.y) / (high.y - low.y) * (high.x - low.x)
            };
            let over = (0..3).filter(|&i| crosses(flat[i], flat[(i + 1) % 3])).count() % 2 == 1;
            over && {
                let n = (*b - *a).cross(*c - *a);
                a.z - n.truncate().dot(here - flat[0]) / n.z > p.z
            }
        })
        .count()
}

/// A box between two corners.
pub fn block(low: DVec3, high: DVec3) -> Vec<Piece> {
    let corner = |i: usize| {
        let pick = |bit: usize, low: f64, high: f64| if i & bit == 0 { low } else { high };
        DVec3::new(
            pick(1, low.x, high.x),
            pick(2, low.y, high.y),
            pick(4, low.z, high.z),
        )
    };
    vec![Piece::points((0..8).map(corner).collect::<Box<[_]>>(), 0.0, 0)]
}

/// A tube with round ends and round bends along a path of two points or more.
pub fn tube(path: &[DVec3], radius: f64) -> Vec<Piece> {
    path.windows(2)
        .map(|ends| Piece::points([ends[0], ends[1]], radius, 0))
        .collect()
}

/// A round link that swings: every place it takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swing {
    /// One end in its middle position [m].
    pub from: DVec3,
    /// Other end [m].
    pub to: DVec3,
    /// Half its thickness [m].
    pub radius: f64,
    /// A point of the line it turns about [m].
    pub pivot: DVec3,
    /// Unit direction of that line; positive angles turn by the right-hand rule about it.
    pub axis: DVec3,
    /// Least and most angle from the middle position [rad].
    pub angles: (f64, f64),
    /// True when the link does not turn but is carried along the arc of its `from` end, as a drag link between two
    /// equal arms is.
    pub keeps_direction: bool,
}

impl Swing {
    /// The space it sweeps, round ends included.
    pub fn pieces(&self) -> Vec<Piece> {
        let arm = |p: DVec3| (p - self.pivot) - self.axis * (p - self.pivot).dot(self.axis);
        let reach = if self.keeps_direction {
            arm(self.from).length()
        } else {
            arm(self.from).length().max(arm(self.to).length())
        };
        let whole = self.angles.1 - self.angles.0;
        let step = 2.0 * (1.0 - (ARC_CLOSENESS / reach.max(2.0 * ARC_CLOSENESS))).acos();
        let count = (whole / step).ceil().clamp(1.0, 20_000.0) as usize;
        let at = |i: usize| {
            let turn = DQuat::from_axis_angle(self.axis, self.angles.0 + whole * i as f64 / count as f64);
            let turned = |p: DVec3| self.pivot + turn * (p - self.pivot);
            if self.keeps_direction {
                let carry = turned(self.from) - self.from;
                [self.from + carry, self.to + carry]
            } else {
                [turned(self.from), turned(self.to)]
            }
        };
        (0..count)
            .map(|i| {
                let ([a, b], [c, d]) = (at(i), at(i + 1));
                Piece::points([a, b, c, d], self.radius, 0)
            })
            .collect()
    }
}

/// The road under a standing car, in the pan's axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Road {
    /// The point of the pan (flange face) from which its height was measured [m].
    pub from: DVec3,
    /// How far below that point the road lies, straight down, at ride height [m].
    pub below: f64,
    /// Bump travel: how far the car comes down onto its stops [m].
    pub bump: f64,
    /// How far worn skid blocks and tyres let it come down farther [m].
    pub wear: f64,
    /// Most angle by which the nose dives or lifts, about the measuring point [rad].
    pub pitch: f64,
    /// Most roll to either side, about the measuring point [rad].
    pub roll: f64,
}

impl Road {
    /// The road at full bump, worn, at every extreme of pitch and roll; `pan_from_car` as the engine is installed.
    ///
    /// A pan's height over the road is a sine of the angles, so its least lies at an extreme or, for angles of a few
    /// degrees, within a micrometre of one.
    pub fn half_spaces(&self, pan_from_car: DMat3) -> Vec<HalfSpace> {
        let up = pan_from_car * DVec3::Z;
        let at = self.from - up * (self.below - self.bump - self.wear);
        let ends = |most: f64| if most == 0.0 { vec![0.0] } else { vec![-most, most] };
        let mut planes = Vec::new();
        for pitch in ends(self.pitch) {
            for roll in ends(self.roll) {
                let tilt = DMat3::from_rotation_y(pitch) * DMat3::from_rotation_x(roll);
                let out = pan_from_car * (tilt * DVec3::Z);
                // Turned about the measuring point's foot on the road.
                planes.push(HalfSpace { at, out });
            }
        }
        planes
    }
}

impl Pose {
    /// A half-space as a body moved by this pose sees it, turned back into the body's own frame.
    pub(crate) fn unplaced(&self, plane: &HalfSpace) -> HalfSpace {
        let back = self.turn.transpose();
        HalfSpace {
            at: back * (plane.at - self.carry),
            out: back * plane.out,
        }
    }
}
