//! Where a body is moved to, and by how much it may wander.

use glam::{DMat3, DVec3};
use serde::{Deserialize, Serialize};

/// A rigid move.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Turn, applied first.
    pub turn: DMat3,
    /// Carry [m].
    pub carry: DVec3,
}

impl Pose {
    /// Not moved.
    pub const REST: Pose = Pose {
        turn: DMat3::IDENTITY,
        carry: DVec3::ZERO,
    };

    /// Carried only.
    pub fn carried(carry: DVec3) -> Pose {
        Pose { carry, ..Pose::REST }
    }

    /// Turned about a point, then carried.
    pub fn about(pivot: DVec3, turn: DMat3, carry: DVec3) -> Pose {
        Pose {
            turn,
            carry: pivot - turn * pivot + carry,
        }
    }

    /// Where a point goes.
    #[inline]
    pub fn place(&self, p: DVec3) -> DVec3 {
        self.turn * p + self.carry
    }

    /// A direction as the body sees it.
    #[inline]
    pub fn unturned(&self, way: DVec3) -> DVec3 {
        self.turn.transpose() * way
    }

    /// Box round a moved box.
    pub fn bounds(&self, (low, high): (DVec3, DVec3)) -> (DVec3, DVec3) {
        let (middle, half) = (self.place(0.5 * (low + high)), 0.5 * (high - low));
        let reach = self.turn.x_axis.abs() * half.x
            + self.turn.y_axis.abs() * half.y
            + self.turn.z_axis.abs() * half.z;
        (middle - reach, middle + reach)
    }
}

/// Every place that a body may be carried to without turning: a box of moves.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Stretch {
    /// Least move along each axis [m], zero or less.
    pub low: DVec3,
    /// Most [m], zero or more.
    pub high: DVec3,
}

impl Stretch {
    /// Stays where it is.
    pub const NONE: Stretch = Stretch {
        low: DVec3::ZERO,
        high: DVec3::ZERO,
    };

    /// Carried along one vector and every place between.
    pub fn along(way: DVec3) -> Stretch {
        Stretch {
            low: way.min(DVec3::ZERO),
            high: way.max(DVec3::ZERO),
        }
    }

    /// Both at once.
    pub fn with(&self, other: &Stretch) -> Stretch {
        Stretch {
            low: self.low + other.low,
            high: self.high + other.high,
        }
    }

    /// The move that goes farthest along `way`.
    #[inline]
    pub fn farthest(&self, way: DVec3) -> DVec3 {
        DVec3::select(way.cmpgt(DVec3::ZERO), self.high, self.low)
    }
}
