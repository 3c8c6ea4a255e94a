//! A dipstick: where the oil stands on it.

use glam::DVec3;

/// A straight stick, pan frame [m].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stick {
    /// Lower end.
    pub foot: DVec3,
    /// Another point of it, higher up.
    pub top: DVec3,
}

impl Stick {
    /// How far up from its foot, along the stick, the plane `up · x = offset` cuts it [m]; below zero the oil does not
    /// reach it. `None` when the stick lies along the oil.
    pub fn wetted(&self, up: DVec3, offset: f64) -> Option<f64> {
        let along = (self.top - self.foot).normalize_or_zero();
        let rise = up.dot(along);
        (rise > 1e-3).then(|| (offset - up.dot(self.foot)) / rise)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a stick that leans 60 degrees from upright has two millimetres for each millimetre of level.
    #[test]
    fn a_leaning_stick_spreads_the_level() {
        let stick = Stick {
            foot: DVec3::new(0.1, 0.0, -0.12),
            top: DVec3::new(0.1 + 3f64.sqrt(), 0.0, 0.88),
        };
        let got = stick.wetted(DVec3::Z, -0.07).unwrap();
        assert!((got - 0.1).abs() < 1e-12, "{got}");
        assert!(stick.wetted(DVec3::Z, -0.13).unwrap() < 0.0);
        let flat = Stick {
            top: stick.foot + DVec3::X,
            ..stick
        };
        assert_eq!(flat.wetted(DVec3::Z, 0.0), None);
    }
}
