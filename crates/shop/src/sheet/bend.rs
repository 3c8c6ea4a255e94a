//! One bend: how much flat metal it takes.
//!
//! With the angle A through which the metal is bent [rad], inside radius R, thickness T and the neutral line at K T from
//! the inside: allowance `BA = A (R + K T)`, outside setback `OSSB = tan(A/2) (R + T)`, deduction `BD = 2 OSSB − BA`; the
//! flat length is the sum of the outside legs less the deductions. Source: Machinery's Handbook; FAA AC 43.13-1B, 4-57.

use serde::Serialize;

/// A bend, in SI.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Bend {
    /// Angle through which the metal is bent from flat [rad], above 0 and below π.
    pub angle: f64,
    /// Inside radius [m].
    pub radius: f64,
    /// Thickness [m].
    pub thickness: f64,
    /// Place of the neutral line in parts of the thickness, from the inside.
    pub k: f64,
}

impl Bend {
    /// Flat metal that the bend takes between its tangent lines [m].
    pub fn allowance(&self) -> f64 {
        self.angle * (self.radius + self.k * self.thickness)
    }

    /// From the tangent line to where the outside faces would meet [m].
    pub fn setback(&self) -> f64 {
        (0.5 * self.angle).tan() * (self.radius + self.thickness)
    }

    /// What the flat is shorter than the outside legs together [m].
    pub fn deduction(&self) -> f64 {
        2.0 * self.setback() - self.allowance()
    }

    /// From the tangent line to where the middle planes of the two legs would meet [m].
    pub fn middle_setback(&self) -> f64 {
        (0.5 * self.angle).tan() * self.middle_radius()
    }

    /// Radius of the middle of the metal [m].
    pub fn middle_radius(&self) -> f64 {
        self.radius + 0.5 * self.thickness
    }
}

/// Flat length of a strip with these outside legs [m] and a bend between each two.
pub fn flat_length(outside_legs: &[f64], bends: &[Bend]) -> f64 {
    outside_legs.iter().sum::<f64>() - bends.iter().map(Bend::deduction).sum::<f64>()
}
