//! A piece of the solid: a plan that moves inward or outward with height.

use glam::{DVec2, DVec3};
use pan::{Outline, Pocket, Region};

/// What stands or is hollow between two heights.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    pub low: f64,
    pub high: f64,
    /// False when it is taken away.
    pub stands: bool,
    /// Plan where it is not moved.
    plan: Region,
    side: Side,
    /// Heights between which its sides are straight, beside its ends.
    nodes: Vec<f64>,
    round: bool,
    closeness: f64,
}

/// How its sides run.
#[derive(Clone, Debug)]
enum Side {
    Upright,
    /// As a pocket's walls.
    Pocket(Pocket),
    /// Grown by `wall` from a pocket's walls; leaning by `draft` at least.
    Grown {
        pocket: Pocket,
        wall: f64,
        draft: f64,
    },
    /// A bar of round section lying level along a plan direction: its long sides move.
    Lying {
        along: DVec2,
        z: f64,
        radius: f64,
    },
}

impl Piece {
    pub fn upright(plan: Region, low: f64, high: f64) -> Piece {
        Piece {
            low,
            high,
            stands: true,
            plan,
            side: Side::Upright,
            nodes: Vec::new(),
            round: false,
            closeness: 0.0,
        }
    }

    pub fn round(at: DVec2, diameter: f64, low: f64, high: f64, closeness: f64) -> Piece {
        let plan = Outline::circle(at, 0.5 * diameter).region(0.0, closeness);
        Piece::upright(plan, low, high.min(0.0))
    }

    /// A pocket, below the flange.
    pub fn pocket(p: &Pocket, closeness: f64) -> Piece {
        Piece {
            plan: p.outline.region(p.corner_radius, closeness),
            nodes: round_nodes(p, p.floor_radius, closeness),
            side: Side::Pocket(p.clone()),
            closeness,
            ..Piece::upright(Region::default(), p.z_low, p.z_high.min(0.0))
        }
    }

    /// A pocket grown by walls and floor.
    pub fn grown(p: &Pocket, wall: f64, floor: f64, round: bool, draft: f64, closeness: f64) -> Piece {
        let mut pocket = p.clone();
        pocket.z_low -= floor;
        // A ceiling of the pocket's own is as thick as the wall.
        let high = (p.z_high + wall).min(0.0);
        // Bent metal goes round the cavity's radius at the wall's distance; milled metal has a square edge.
        pocket.floor_radius = if round {
            p.floor_radius + wall.min(floor)
        } else {
            0.0
        };
        Piece {
            plan: p.outline.region(p.corner_radius, closeness),
            nodes: round_nodes(&pocket, pocket.floor_radius, closeness)
                .into_iter()
                .chain([p.z_high])
                .filter(|z| *z < high)
                .collect(),
            side: Side::Grown { pocket, wall, draft },
            round,
            closeness,
            ..Piece::upright(Region::default(), p.z_low - floor, high)
        }
    }

    /// A round bar from a face inward, straight up or level; none when it slants.
    pub fn drilled(from: DVec3, way: DVec3, depth: f64, diameter: f64, closeness: f64) -> Option<Piece> {
        let end = from + way * depth;
        if way.z > 1.0 - 1e-9 {
            return Some(Piece::round(from.truncate(), diameter, from.z, end.z, closeness));
        }
        let along = way.truncate().try_normalize().filter(|_| way.z.abs() < 1e-9)?;
        let radius = 0.5 * diameter;
        let pieces = (std::f64::consts::PI / (2.0 * (1.0 - closeness / radius).acos())).ceil() as usize;
        let nodes = (1..pieces.max(2))
            .map(|i| from.z - radius * (std::f64::consts::PI * i as f64 / pieces as f64).cos())
            .collect();
        let (a, b) = (from.truncate(), end.truncate());
        Some(Piece {
            // Only its middle line: the plan is made at each height.
            plan: Region::from_loops(&[bar(a, b, radius)]),
            side: Side::Lying {
                along,
                z: from.z,
                radius,
            },
            nodes,
            closeness,
            ..Piece::upright(Region::default(), from.z - radius, (from.z + radius).min(0.0))
        })
    }

    /// The same, taken away.
    pub fn cutting(self) -> Piece {
        Piece {
            stands: false,
            ..self
        }
    }

    /// Heights at which its sides may change.
    pub fn breaks(&self) -> impl Iterator<Item = f64> + '_ {
        [self.low, self.high]
            .into_iter()
            .chain(self.nodes.iter().copied())
            .filter(|z| *z >= self.low && *z <= self.high)
    }

    pub fn spans(&self, z: f64) -> bool {
        self.low < z && z < self.high
    }

    /// How far its sides have moved inward at a height [m].
    pub fn inset(&self, z: f64) -> f64 {
        match &self.side {
            Side::Upright => 0.0,
            Side::Pocket(p) => p.inset_at(z.clamp(p.z_low, p.z_high)),
            Side::Grown { pocket, wall, draft } => {
                let at = z.clamp(pocket.z_low, pocket.z_high);
                // Leaning more than the cavity, the wall is as thick as stated at its foot and grows toward the flange.
                let more = (draft.tan() - pocket.draft.tan()).max(0.0) * (z - pocket.z_low);
                pocket.inset_at(at) - wall - more
            }
            Side::Lying {
                z: middle, radius, ..
            } => radius - (radius * radius - (z - middle).powi(2)).max(0.0).sqrt(),
        }
    }

    /// How far an edge of its plan that runs along `edge` (unit) moves when the sides move by `inset`.
    pub fn moves(&self, edge: DVec2, inset: f64) -> f64 {
        match &self.side {
            Side::Lying { along, .. } if edge.perp_dot(*along).abs() > 0.5 => 0.0,
            _ => inset,
        }
    }

    pub fn leans(&self) -> bool {
        !matches!(self.side, Side::Upright)
    }

    /// Plan with its sides moved inward by `inset`.
    pub fn plan(&self, inset: f64) -> Region {
        match &self.side {
            Side::Lying { along, radius, .. } => {
                let half = radius - inset;
                if half <= 0.0 {
                    return Region::default();
                }
                let across = along.perp() * (half / radius);
                let corners: Vec<DVec2> = self.plan.loops().flatten().copied().collect();
                let middle = corners.iter().sum::<DVec2>() / corners.len().max(1) as f64;
                let narrow = |p: &DVec2| {
                    let d = *p - middle;
                    middle + *along * d.dot(*along) + across * d.dot(along.perp())
                };
                Region::from_loops(&[corners.iter().map(narrow).collect()])
            }
            _ if inset >= 0.0 => self.plan.inset(inset, self.closeness),
            _ => self.plan.outset(-inset, self.round, self.closeness),
        }
    }
}

fn bar(a: DVec2, b: DVec2, half: f64) -> Vec<DVec2> {
    let side = (b - a).normalize_or_zero().perp() * half;
    vec![a - side, b - side, b + side, a + side]
}

/// Heights that part a floor radius into chords.
fn round_nodes(p: &Pocket, radius: f64, closeness: f64) -> Vec<f64> {
    if radius <= 0.0 {
        return Vec::new();
    }
    let step = 2.0 * (1.0 - closeness / radius.max(2.0 * closeness)).acos();
    let pieces = (std::f64::consts::FRAC_PI_2 / step).ceil().max(1.0) as usize;
    (1..=pieces)
        .map(|i| {
            let angle = std::f64::consts::FRAC_PI_2 * i as f64 / pieces as f64;
            p.z_low + radius * (1.0 - angle.cos())
        })
        .collect()
}
