//! What rods and counterweights sweep: exact slider-crank motion, one convex piece for each small turn of the crank.
//!
//! The crank pin runs round a circle of half the stroke. The rod's other end stays on the bore's line, which may pass
//! beside the crank's centre by the pin offset. With θ the crank's angle from the bore, r the throw, l the rod's
//! length and d the offset, the rod leans by φ with sin φ = (d − r sin θ)/l, and the wrist pin stands
//! r cos θ + l cos φ along the bore. The big end's outline is carried with the pin and turned by φ.
//!
//! Source: plane kinematics of the slider-crank, from first principles.

use crate::{Body, Piece};
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// The sweep's pieces follow each corner's path this closely [m].
const CLOSENESS: f64 = 2e-6;
/// A piece may hold this much more than the big end sweeps [m]: gaps are told smaller by no more than that.
const FILLED: f64 = 6e-6;
/// Fewest and most pieces of a turn.
const PIECES: (usize, usize) = (90, 12_000);

/// Rods on a crank.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rods {
    /// A point of the crank's centreline [m]; stations are counted from here.
    pub origin: DVec3,
    /// Unit direction of the centreline.
    pub axis: DVec3,
    /// Half the stroke [m].
    pub throw: f64,
    /// Between the rod's centres [m].
    pub length: f64,
    /// How far the bore's line passes beside the crank's centre [m].
    pub pin_offset: f64,
    /// The big end in the rod's plane: convex parts.
    pub big_end: Vec<BigEndPart>,
    /// The rods.
    pub rods: Vec<Rod>,
    /// Counterweights.
    pub counterweights: Vec<Counterweight>,
}

/// One rod.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rod {
    /// Middle of its bearing along the centreline [m].
    pub station: f64,
    /// How far its bore leans from upright, to the right of someone who looks toward the engine's front
    /// [rad].
    pub lean: f64,
}

/// A convex part of the big end.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BigEndPart {
    /// Corners [m]: (across the rod, along it toward the piston) from the big end's centre.
    pub corners: Vec<DVec2>,
    /// How far it reaches along the crank to either side of the rod's middle [m].
    pub half_width: f64,
}

/// A counterweight: what it sweeps is a disc.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Counterweight {
    /// Where it begins along the centreline [m].
    pub from: f64,
    /// Where it ends [m].
    pub to: f64,
    /// Largest radius [m].
    pub radius: f64,
}

/// Why the rods cannot turn.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum RodFault {
    /// Too short to go round.
    #[error(
        "a rod of {:.1} mm cannot go round a throw of {:.1} mm with a pin offset of {:.1} mm",
        length * 1e3, throw * 1e3, pin_offset * 1e3
    )]
    TooShort {
        /// Rod [m].
        length: f64,
        /// Half the stroke [m].
        throw: f64,
        /// Offset [m].
        pin_offset: f64,
    },
}

impl Rods {
    /// Can they turn?
    pub fn fault(&self) -> Option<RodFault> {
        (self.length <= self.throw + self.pin_offset.abs()).then_some(RodFault::TooShort {
            length: self.length,
            throw: self.throw,
            pin_offset: self.pin_offset,
        })
    }

    /// Where a point of the big end (across, along) is at crank angle `theta` [rad]: in the plane of the motion,
    /// (to the right of the bore, along the bore) from the crank's centre [m].
    pub fn place(&self, point: DVec2, theta: f64) -> DVec2 {
        let (sin, cos) = theta.sin_cos();
        let pin = self.throw * DVec2::new(sin, cos);
        let lean = ((self.pin_offset - self.throw * sin) / self.length).asin();
        // The rod's own axes: along it, and across it to the right.
        let along = DVec2::new(lean.sin(), lean.cos());
        let across = DVec2::new(lean.cos(), -lean.sin());
        pin + across * point.x + along * point.y
    }

    /// The wrist pin's height along the bore from the crank's centre [m].
    pub fn wrist(&self, theta: f64) -> f64 {
        let lean = ((self.pin_offset - self.throw * theta.sin()) / self.length).asin();
        self.throw * theta.cos() + self.length * lean.cos()
    }

    /// The space that the big ends sweep over a turn, a part for each rod.
    pub fn swept(&self) -> Body {
        self.swept_in(|part| self.steps(part))
    }

    /// The same in `count` pieces a turn, for a picture.
    pub fn swept_roughly(&self, count: usize) -> Body {
        self.swept_in(|_| count.max(3))
    }

    fn swept_in(&self, steps: impl Fn(&BigEndPart) -> usize) -> Body {
        let mut pieces = Vec::new();
        for (number, rod) in self.rods.iter().enumerate() {
            for part in &self.big_end {
                self.sweep(rod, part, number as u32, steps(part), &mut pieces);
            }
        }
        let mut body = Body::solid("rods", pieces);
        body.parts = (1..=self.rods.len()).map(|i| format!("rod {i}")).collect();
        body
    }

    /// The space that the counterweights sweep; `None` without any.
    pub fn counterweights_swept(&self) -> Option<Body> {
        let disc = |(i, c): (usize, &Counterweight)| {
            let at = |s: f64| self.origin + self.axis * s;
            Piece::cylinder(at(c.from), at(c.to), [c.radius; 2], i as u32)
        };
        let pieces: Vec<Piece> = self.counterweights.iter().enumerate().map(disc).collect();
        if pieces.is_empty() {
            return None;
        }
        let mut body = Body::solid("counterweights", pieces);
        body.parts = (1..=self.counterweights.len())
            .map(|i| format!("counterweight {i}"))
            .collect();
        Some(body)
    }

    /// Pieces of a turn for a part of the big end.
    ///
    /// Between two of them no corner leaves its chord by more than [`CLOSENESS`]: a path x(θ) leaves the chord of a
    /// step δ by at most |x''| δ²/8; the pin's own acceleration is r, and the rod's turning adds at most ρ(φ'' + φ'²)
    /// at a corner ρ from the pin, with φ' ≤ q = r/√(l² − (r + |d|)²) and φ'' ≤ q(1 + q²). An edge that turns by qδ
    /// about its middle leaves a notch there that the hull of both positions fills, by up to a quarter of its length
    /// times the turn: at most [`FILLED`].
    fn steps(&self, part: &BigEndPart) -> usize {
        let reach = part.corners.iter().map(|c| c.length()).fold(0.0, f64::max);
        let edges = (0..part.corners.len()).map(|i| (i, (i + 1) % part.corners.len()));
        let longest = edges
            .map(|(i, j)| part.corners[i].distance(part.corners[j]))
            .fold(0.0, f64::max);
        let shortest = (self.length.powi(2) - (self.throw + self.pin_offset.abs()).powi(2))
            .max(1e-12)
            .sqrt();
        let q = self.throw / shortest;
        let acceleration = self.throw + reach * (q * (1.0 + q * q) + q * q);
        let step = (8.0 * CLOSENESS / acceleration)
            .sqrt()
            .min(4.0 * FILLED / (longest * q).max(1e-9));
        ((std::f64::consts::TAU / step).ceil() as usize).clamp(PIECES.0, PIECES.1)
    }

    fn sweep(&self, rod: &Rod, part: &BigEndPart, number: u32, count: usize, pieces: &mut Vec<Piece>) {
        let upright = (DVec3::Z - self.axis * self.axis.z).normalize_or(self.axis.any_orthonormal_vector());
        // Right is told by the engine's front, whichever end the crank is stated from.
        let right = self.axis.cross(upright) * 1f64.copysign(self.axis.x);
        let (sin, cos) = rod.lean.sin_cos();
        let (bore, side) = (upright * cos + right * sin, right * cos - upright * sin);
        let middle = self.origin + self.axis * rod.station;
        let off = self.axis * part.half_width;
        let at = |i: usize| -> Vec<DVec3> {
            let theta = std::f64::consts::TAU * (i % count) as f64 / count as f64;
            part.corners
                .iter()
                .map(|corner| {
                    let p = self.place(*corner, theta);
                    middle + side * p.x + bore * p.y
                })
                .collect()
        };
        let mut here = at(0);
        for i in 1..=count {
            let next = at(i);
            let points: Box<[DVec3]> = here
                .iter()
                .chain(&next)
                .flat_map(|p| [*p - off, *p + off])
                .collect();
            pieces.push(Piece::points(points, 0.0, number));
            here = next;
        }
    }
}

/// The big end as a shop measures it: a block as wide as the big end is across, with the cap's depth below its
/// centre, and the heads of two bolts below that.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// Across the big end, square to the rod [m].
    pub across: f64,
    /// From the big end's centre down to the underside of the cap [m].
    pub cap: f64,
    /// Along the crank [m].
    pub width: f64,
    /// The bolts' heads or nuts, when they stand below the cap.
    pub bolts: Option<RodBolts>,
}

/// Heads or nuts of the rod bolts.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct RodBolts {
    /// Between the two bolts' middles [m].
    pub apart: f64,
    /// From the big end's centre down to the end of the head [m].
    pub down: f64,
    /// Diameter of the head [m].
    pub diameter: f64,
}

impl Measured {
    /// Convex parts in the rod's plane, square-cornered: the safe side.
    pub fn parts(&self) -> Vec<BigEndPart> {
        let rectangle = |low: DVec2, high: DVec2, half_width| BigEndPart {
            corners: vec![low, DVec2::new(high.x, low.y), high, DVec2::new(low.x, high.y)],
            half_width,
        };
        let half = 0.5 * self.across;
        let mut parts = vec![rectangle(
            DVec2::new(-half, -self.cap),
            DVec2::new(half, half),
            0.5 * self.width,
        )];
        if let Some(bolts) = &self.bolts {
            for side in [-0.5, 0.5] {
                let (middle, half) = (side * bolts.apart, 0.5 * bolts.diameter);
                parts.push(rectangle(
                    DVec2::new(middle - half, -bolts.down),
                    DVec2::new(middle + half, 0.0),
                    half,
                ));
            }
        }
        parts
    }
}
