//! A piece of a body: the hull of a few points or round rims, thickened all round by a ball.
//!
//! Everything that a distance needs to know of a convex shape is its farthest point in a direction. A cylinder is
//! the hull of two rims, a tube the hull of two points with a ball round it, a facet of a mesh three points: none of
//! them has to be cut into chords.

use glam::{DMat3, DVec3};

/// A circle, or a point when its radius is zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rim {
    /// Centre [m].
    pub at: DVec3,
    /// Unit normal of its plane; of no meaning for a point.
    pub axis: DVec3,
    /// Radius [m].
    pub radius: f64,
}

impl Rim {
    /// A point.
    pub fn point(at: DVec3) -> Rim {
        Rim {
            at,
            axis: DVec3::Z,
            radius: 0.0,
        }
    }

    /// Its farthest point along `way` (any length but zero).
    fn farthest(&self, way: DVec3) -> DVec3 {
        if self.radius == 0.0 {
            return self.at;
        }
        let level = way - self.axis * way.dot(self.axis);
        // Straight along the axis, what is left is rounding and leads out of the rim's plane; all of the rim is
        // then as far, its middle too.
        if level.length_squared() <= 1e-20 * way.length_squared() {
            return self.at;
        }
        let level = level.normalize();
        let level = level - self.axis * level.dot(self.axis);
        self.at + self.radius * level
    }

    /// Half the size of the box round it.
    fn half(&self) -> DVec3 {
        self.radius
            * (DVec3::ONE - self.axis * self.axis)
                .max(DVec3::ZERO)
                .map(f64::sqrt)
    }
}

/// What a piece is the hull of.
#[derive(Clone, Debug, PartialEq)]
pub enum Core {
    /// A facet.
    Facet([DVec3; 3]),
    /// Points.
    Points(Box<[DVec3]>),
    /// Rims and points.
    Rims(Box<[Rim]>),
}

/// One convex piece of a body.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// What it is the hull of.
    pub core: Core,
    /// Radius of the ball that thickens it [m].
    pub round: f64,
    /// Which named part of its body it belongs to.
    pub part: u32,
}

impl Piece {
    /// A facet.
    pub fn facet(corners: [DVec3; 3], round: f64, part: u32) -> Piece {
        let core = Core::Facet(corners);
        Piece { core, round, part }
    }

    /// Hull of points.
    pub fn points(points: impl Into<Box<[DVec3]>>, round: f64, part: u32) -> Piece {
        let core = Core::Points(points.into());
        Piece { core, round, part }
    }

    /// Cylinder with flat ends, or a cone's frustum.
    pub fn cylinder(from: DVec3, to: DVec3, radii: [f64; 2], part: u32) -> Piece {
        let axis = (to - from).normalize_or(DVec3::Z);
        let rim = |at, radius| Rim { at, axis, radius };
        Piece {
            core: Core::Rims(Box::new([rim(from, radii[0]), rim(to, radii[1])])),
            round: 0.0,
            part,
        }
    }

    /// Farthest point of the core along `way`, without the ball.
    pub fn farthest(&self, way: DVec3) -> DVec3 {
        let best = |points: &[DVec3]| {
            let mut best = points[0];
            let mut far = best.dot(way);
            for &p in &points[1..] {
                let d = p.dot(way);
                if d > far {
                    (best, far) = (p, d);
                }
            }
            best
        };
        match &self.core {
            Core::Facet(corners) => best(corners),
            Core::Points(points) => best(points),
            Core::Rims(rims) => {
                let mut found = rims[0].farthest(way);
                for rim in &rims[1..] {
                    let p = rim.farthest(way);
                    if p.dot(way) > found.dot(way) {
                        found = p;
                    }
                }
                found
            }
        }
    }

    /// Low and high corner of the box round it, ball included.
    pub fn bounds(&self) -> (DVec3, DVec3) {
        let round = |points: &[DVec3]| {
            let first = points[0];
            points[1..]
                .iter()
                .fold((first, first), |(low, high), p| (low.min(*p), high.max(*p)))
        };
        let (low, high) = match &self.core {
            Core::Facet(corners) => round(corners),
            Core::Points(points) => round(points),
            Core::Rims(rims) => {
                let both = |r: &Rim| (r.at - r.half(), r.at + r.half());
                rims[1..]
                    .iter()
                    .map(both)
                    .fold(both(&rims[0]), |a, b| (a.0.min(b.0), a.1.max(b.1)))
            }
        };
        (low - self.round, high + self.round)
    }

    /// The piece carried along `travel` with every place between: the hull of both ends of the way.
    pub fn swept(&self, travel: DVec3) -> Piece {
        let both =
            |points: &[DVec3]| -> Box<[DVec3]> { points.iter().flat_map(|p| [*p, *p + travel]).collect() };
        let core = match &self.core {
            Core::Facet(corners) => Core::Points(both(corners)),
            Core::Points(points) => Core::Points(both(points)),
            Core::Rims(rims) => Core::Rims(
                rims.iter()
                    .flat_map(|r| {
                        [
                            *r,
                            Rim {
                                at: r.at + travel,
                                ..*r
                            },
                        ]
                    })
                    .collect(),
            ),
        };
        Piece { core, ..self.clone() }
    }

    /// The piece turned about the origin, then carried.
    pub fn moved(&self, turn: DMat3, carry: DVec3) -> Piece {
        let m = |p: &DVec3| turn * *p + carry;
        let core = match &self.core {
            Core::Facet([a, b, c]) => Core::Facet([m(a), m(b), m(c)]),
            Core::Points(points) => Core::Points(points.iter().map(m).collect()),
            Core::Rims(rims) => Core::Rims(
                rims.iter()
                    .map(|r| Rim {
                        at: m(&r.at),
                        axis: turn * r.axis,
                        radius: r.radius,
                    })
                    .collect(),
            ),
        };
        Piece { core, ..self.clone() }
    }

    /// A point of it.
    pub fn inner_point(&self) -> DVec3 {
        let mean = |points: &[DVec3]| points.iter().sum::<DVec3>() / points.len() as f64;
        match &self.core {
            Core::Facet(corners) => mean(corners),
            Core::Points(points) => mean(points),
            Core::Rims(rims) => rims.iter().map(|r| r.at).sum::<DVec3>() / rims.len() as f64,
        }
    }

    /// Points whose hull is near the core: its corners, and `around` places on each rim.
    pub fn outline_points(&self, around: usize) -> Vec<DVec3> {
        match &self.core {
            Core::Facet(corners) => corners.to_vec(),
            Core::Points(points) => points.to_vec(),
            Core::Rims(rims) => {
                let one = |r: &Rim| {
                    let (u, v) = r.axis.any_orthonormal_pair();
                    let (at, radius) = (r.at, r.radius);
                    let count = if radius == 0.0 { 1 } else { around };
                    (0..count).map(move |i| {
                        let (sin, cos) = (std::f64::consts::TAU * i as f64 / around as f64).sin_cos();
                        at + radius * (u * cos + v * sin)
                    })
                };
                rims.iter().flat_map(one).collect()
            }
        }
    }
}
