//! What lies under the head.

use std::f64::consts::PI;

use super::Thread;

/// The ring on which a head bears.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Head {
    /// Outer diameter of the ring [m].
    pub bears: f64,
    /// Diameter of the hole under it [m].
    pub hole: f64,
}

/// Hexagon and cap-screw heads (least bearing diameter of ISO 4014, ISO 4762) and medium holes (ISO 273) [mm].
const USUAL: [(f64, f64, f64); 6] = [
    (4.0, 5.88, 4.5),
    (5.0, 6.88, 5.5),
    (6.0, 8.88, 6.6),
    (8.0, 11.63, 9.0),
    (10.0, 14.63, 11.0),
    (12.0, 16.63, 13.5),
];

impl Head {
    /// Of a plain hexagon head without a washer in a medium hole.
    pub fn usual(thread: &Thread) -> Head {
        let row = USUAL
            .iter()
            .find(|row| (row.0 * 1e-3 - thread.diameter).abs() < 1e-6)
            .expect("every thread of the list has a head");
        Head {
            bears: row.1 * 1e-3,
            hole: row.2 * 1e-3,
        }
    }

    /// Mean diameter on which friction acts, `(dw + dh)/2` [m].
    pub fn friction_diameter(&self) -> f64 {
        0.5 * (self.bears + self.hole)
    }

    /// Bearing area [m²].
    pub fn area(&self) -> f64 {
        0.25 * PI * (self.bears * self.bears - self.hole * self.hole)
    }

    /// Mean pressure under the head [Pa].
    pub fn pressure(&self, force: f64) -> f64 {
        force / self.area()
    }
}
