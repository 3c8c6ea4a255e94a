//! A rail cut across: how stiff it is against bending out of its plane, twisting and shear.
//!
//! The rail is a plate, `width` across and `thickness` high; the pan's wall may hang on it as a leg of an L and bend
//! with it. Bending is about the level axis through the L's centroid. Left out: that an L bends sideways when it is
//! loaded level, and that the pan's closed box holds its rail against twisting. Both make a real rail stiffer than
//! this one.

use super::JointFault;
use serde::{Deserialize, Serialize};

/// A cut across the rail.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Section {
    /// Across the rail, from its inner to its outer edge [m].
    pub width: f64,
    /// Of the rail's plate [m].
    pub thickness: f64,
    /// The wall that bends with it; none is the safe side.
    pub wall: Option<Wall>,
}

/// The part of the pan's wall that bends with the rail.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Wall {
    /// How far below the rail's plate it is counted [m].
    pub height: f64,
    /// Its thickness [m].
    pub thickness: f64,
}

/// What a section gives to the beam, metal aside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stiffness {
    /// Second moment of area about the level axis [m⁴].
    pub bending: f64,
    /// Saint-Venant's torsion constant [m⁴].
    pub twist: f64,
    /// Area that carries shear [m²].
    pub shear: f64,
}

impl Section {
    /// A bare plate.
    pub fn plate(width: f64, thickness: f64) -> Section {
        Section {
            width,
            thickness,
            wall: None,
        }
    }

    /// Refuses what is not a size.
    pub(crate) fn check(&self) -> Result<(), JointFault> {
        let mut sizes = vec![
            ("the rail's width", self.width),
            ("the rail's thickness", self.thickness),
        ];
        if let Some(wall) = self.wall {
            sizes.push(("the wall's height", wall.height));
            sizes.push(("the wall's thickness", wall.thickness));
        }
        sizes
            .into_iter()
            .try_for_each(|(what, value)| JointFault::positive(what, value))
    }

    /// The three numbers of the beam.
    ///
    /// Bending by the parallel-axis theorem; twist as the sum of the legs' ([`twist_of_plate`]); shear over 5/6 of
    /// the plate and, if there is one, over the wall, which then carries it as a web.
    pub(crate) fn stiffness(&self) -> Stiffness {
        let (b, t) = (self.width, self.thickness);
        let plate = b * t.powi(3) / 12.0;
        let Some(Wall { height, thickness }) = self.wall else {
            return Stiffness {
                bending: plate,
                twist: twist_of_plate(b, t),
                shear: 5.0 / 6.0 * b * t,
            };
        };
        // Heights over the plate's middle; the wall hangs below its lower face.
        let (area_plate, area_wall) = (b * t, height * thickness);
        let wall_middle = -(t + height) / 2.0;
        let centroid = area_wall * wall_middle / (area_plate + area_wall);
        Stiffness {
            bending: plate
                + area_plate * centroid.powi(2)
                + thickness * height.powi(3) / 12.0
                + area_wall * (wall_middle - centroid).powi(2),
            twist: twist_of_plate(b, t) + twist_of_plate(height, thickness),
            shear: (5.0 / 6.0 * area_plate).max(area_wall),
        }
    }
}

/// Torsion constant of a rectangle [m⁴], sides in any order.
///
/// `J = a b³/3 [1 − 192/π⁵ (b/a) Σ tanh(nπa/2b)/n⁵]`, n odd, a the long side; eight terms, 1e-7 of the whole.
/// Source: S. Timoshenko & J. N. Goodier, Theory of Elasticity, torsion of rectangular bars.
fn twist_of_plate(one: f64, other: f64) -> f64 {
    use std::f64::consts::PI;
    let (long, short) = (one.max(other), one.min(other));
    let series: f64 = (0..8)
        .map(|k| f64::from(2 * k + 1))
        .map(|n| (n * PI * long / (2.0 * short)).tanh() / n.powi(5))
        .sum();
    long * short.powi(3) / 3.0 * (1.0 - 192.0 / PI.powi(5) * short / long * series)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Timoshenko & Goodier, Theory of Elasticity, table of torsion of rectangular bars: J = k a b³ with
    /// k 0.1406, 0.196, 0.229, 0.263, 0.281, 0.312 for a/b 1, 1.5, 2, 3, 4, 10 (from memory).
    #[test]
    fn a_plate_twists_as_in_the_table_of_rectangular_bars() {
        for (ratio, wanted) in [
            (1.0, 0.1406),
            (1.5, 0.196),
            (2.0, 0.229),
            (3.0, 0.263),
            (4.0, 0.281),
            (10.0, 0.312),
        ] {
            let got = twist_of_plate(ratio, 1.0) / ratio;
            assert!(
                (got - wanted).abs() < 6e-4,
                "a/b {ratio}: {got:.4}, table {wanted}"
            );
        }
    }

    /// An L of two 10 × 1 legs by hand: centroid 2.75 below the plate's middle, second moment 247.5.
    #[test]
    fn a_wall_counts_as_the_leg_of_an_l() {
        let bent = Section {
            width: 10.0,
            thickness: 1.0,
            wall: Some(Wall {
                height: 10.0,
                thickness: 1.0,
            }),
        };
        let by_hand = 10.0 / 12.0 + 10.0 * 2.75f64.powi(2) + 1000.0 / 12.0 + 10.0 * 2.75f64.powi(2);
        let got = bent.stiffness().bending;
        assert!((got - by_hand).abs() < 1e-9, "{got}, by hand {by_hand}");
    }
}
