//! How the engine, and with it the pan, sits in the car.

use glam::DMat3;
use serde::{Deserialize, Serialize};

/// How the pan sits in the car: three turns that carry the car's axes into the pan's.
///
/// Start with the pan's axes on the car's (ISO 8855: x forward, y left, z up), then, in this order:
///
/// 1. `rake` turns everything about the car's y axis: positive sinks the car's nose.
/// 2. `heading` turns the pan about its z axis, seen from above counter-clockwise: the angle from the car's
///    x to the pan's x. 0 for an engine along the car with its front forward; -90° for an engine across the
///    car with its front at the right-hand side.
/// 3. `lean` turns the pan about its own x, the crank: positive leans the top of the engine to the right of
///    someone who looks along the crank from the back of the engine to its front.
///
/// ```
/// use sumpwright_measure::{DVec3, frames::Installation};
/// let along = Installation::default();
/// // Braking at 1 g: acceleration -x, apparent gravity +x, and the oil runs to the front of the engine.
/// let felt = along.pan_from_car() * DVec3::new(9.8, 0.0, -9.8);
/// assert!(felt.x > 0.0);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Installation {
    /// From the car's x to the pan's x about z [rad].
    pub heading: f64,
    /// About the crank, positive leans the top to the engine's right [rad].
    pub lean: f64,
    /// Nose of the car down [rad].
    pub rake: f64,
}

impl Installation {
    /// Turns a vector in car axes into the same vector in pan axes.
    pub fn pan_from_car(&self) -> DMat3 {
        self.car_from_pan().transpose()
    }

    /// Turns a vector in pan axes into the same vector in car axes.
    pub fn car_from_pan(&self) -> DMat3 {
        DMat3::from_rotation_y(self.rake)
            * DMat3::from_rotation_z(self.heading)
            * DMat3::from_rotation_x(self.lean)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec3;

    const QUARTER: f64 = std::f64::consts::FRAC_PI_2;

    fn near(got: DVec3, wanted: DVec3) {
        assert!((got - wanted).length() < 1e-12, "got {got}, wanted {wanted}");
    }

    /// Apparent gravity = gravity − acceleration, in units of g.
    fn felt(acceleration: DVec3) -> DVec3 {
        DVec3::new(0.0, 0.0, -1.0) - acceleration
    }

    #[test]
    fn a_braking_car_pushes_oil_to_the_front_of_an_engine_that_lies_along() {
        let along = Installation::default();
        near(
            along.pan_from_car() * felt(DVec3::new(-1.0, 0.0, 0.0)),
            DVec3::new(1.0, 0.0, -1.0),
        );
    }

    #[test]
    fn a_left_turn_pushes_oil_to_the_right() {
        let along = Installation::default();
        near(
            along.pan_from_car() * felt(DVec3::new(0.0, 1.2, 0.0)),
            DVec3::new(0.0, -1.2, -1.0),
        );
    }

    #[test]
    fn with_the_engine_across_and_its_front_at_the_right_braking_pushes_oil_to_the_pans_left() {
        let across = Installation {
            heading: -QUARTER,
            ..Default::default()
        };
        near(across.car_from_pan() * DVec3::X, DVec3::NEG_Y);
        near(
            across.pan_from_car() * felt(DVec3::new(-1.0, 0.0, 0.0)),
            DVec3::new(0.0, 1.0, -1.0),
        );
        // A left turn throws oil to the car's right, where this engine's front is.
        near(
            across.pan_from_car() * felt(DVec3::new(0.0, 1.0, 0.0)),
            DVec3::new(1.0, 0.0, -1.0),
        );
    }

    #[test]
    fn with_the_front_at_the_left_the_same_braking_pushes_oil_to_the_pans_right() {
        let across = Installation {
            heading: QUARTER,
            ..Default::default()
        };
        near(
            across.pan_from_car() * felt(DVec3::new(-1.0, 0.0, 0.0)),
            DVec3::new(0.0, -1.0, -1.0),
        );
    }

    #[test]
    fn positive_lean_takes_the_top_to_the_right_so_oil_at_rest_lies_on_the_right_wall() {
        let lean = 15f64.to_radians();
        let leaning = Installation {
            lean,
            ..Default::default()
        };
        // The pan's top, seen from the car, has moved to the right (-y).
        near(
            leaning.car_from_pan() * DVec3::Z,
            DVec3::new(0.0, -lean.sin(), lean.cos()),
        );
        near(
            leaning.pan_from_car() * DVec3::NEG_Z,
            DVec3::new(0.0, -lean.sin(), -lean.cos()),
        );
    }

    #[test]
    fn a_nose_down_car_at_rest_lets_oil_lie_forward() {
        let rake = 3f64.to_radians();
        let raked = Installation {
            rake,
            ..Default::default()
        };
        near(
            raked.pan_from_car() * DVec3::NEG_Z,
            DVec3::new(rake.sin(), 0.0, -rake.cos()),
        );
        // The same rake under an engine across the car reaches the pan's left side.
        let across = Installation {
            rake,
            heading: -QUARTER,
            ..Default::default()
        };
        near(
            across.pan_from_car() * DVec3::NEG_Z,
            DVec3::new(0.0, rake.sin(), -rake.cos()),
        );
    }

    #[test]
    fn the_two_matrices_undo_one_another_and_keep_handedness() {
        let any = Installation {
            heading: 0.7,
            lean: -0.3,
            rake: 0.1,
        };
        let round = any.pan_from_car() * any.car_from_pan();
        near(round * DVec3::new(1.0, 2.0, 3.0), DVec3::new(1.0, 2.0, 3.0));
        assert!((any.pan_from_car().determinant() - 1.0).abs() < 1e-12);
    }
}
