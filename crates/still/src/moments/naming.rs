//! What the car does and where the oil goes, in words of the shop.

use glam::DVec3;
use measure::STANDARD_GRAVITY;

/// Less horizontal acceleration than this is no cornering and no braking [m/s²]: 0.15 g, our own line.
pub(super) const NOTICEABLE: f64 = 0.15 * STANDARD_GRAVITY;

/// A part of the acceleration below this share of the whole is not named.
const SHARE_NAMED: f64 = 0.4;

/// A corner held above half its peak for so long is a long one [s].
const LONG: f64 = 2.5;

/// Below this part of its usual weight the car goes over a crest.
const CREST: f64 = 0.75;

/// Names a moment from the car's acceleration (car frame [m/s²], an even `rate` [1/s]) over its window;
/// `worst` is the sample of the worst instant. Fits after "in the" ("long left over a crest"); one that
/// begins with "hard" after "under" ("hard braking").
pub fn what_the_car_does(acceleration: &[DVec3], worst: usize, rate: f64) -> String {
    let a = acceleration[worst.min(acceleration.len() - 1)];
    let flat = a.truncate().length();
    let crest = if 1.0 + a.z / STANDARD_GRAVITY < CREST {
        " over a crest"
    } else {
        ""
    };
    if flat < NOTICEABLE {
        return if crest.is_empty() {
            "straight".to_string()
        } else {
            "crest".to_string()
        };
    }
    let side = if a.y > 0.0 { "left" } else { "right" };
    let cornering = a.y.abs() >= SHARE_NAMED * flat;
    let driving = a.x.abs() >= SHARE_NAMED * flat;
    let said = match (cornering, driving) {
        (true, true) if a.x < 0.0 => format!("{side} under braking"),
        (true, true) => format!("{side} under power"),
        (true, false) => {
            let held = |v: &&DVec3| v.y * a.y.signum() >= 0.5 * a.y.abs();
            let length = acceleration.iter().filter(held).count() as f64 / rate;
            if length >= LONG {
                format!("long {side}")
            } else {
                side.to_string()
            }
        }
        _ if a.x < 0.0 => "hard braking".to_string(),
        _ => "hard acceleration".to_string(),
    };
    said + crest
}

/// Where oil is pushed under `gravity` [m/s²], seen from above in the pan: "front", "rear left"; `rest_up` is
/// the up-direction of the standing car in the pan. Empty when it is hardly pushed at all.
pub fn pushed_toward(gravity: DVec3, rest_up: DVec3) -> String {
    let flat = gravity - rest_up * gravity.dot(rest_up);
    if flat.length() < NOTICEABLE {
        return String::new();
    }
    let part = |value: f64, plus: &'static str, minus: &'static str| {
        let named = value.abs() >= SHARE_NAMED * flat.length();
        named.then_some(if value > 0.0 { plus } else { minus })
    };
    let words: Vec<&str> = [part(flat.x, "front", "rear"), part(flat.y, "left", "right")]
        .into_iter()
        .flatten()
        .collect();
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    const G: f64 = STANDARD_GRAVITY;

    fn named(x: f64, y: f64, z: f64, seconds: f64) -> String {
        let a = vec![DVec3::new(x, y, z) * G; (seconds * 20.0) as usize];
        what_the_car_does(&a, 3, 20.0)
    }

    #[test]
    fn moments_are_named_as_a_driver_would() {
        assert_eq!(named(0.0, 1.2, 0.0, 4.0), "long left");
        assert_eq!(named(0.0, -1.2, 0.0, 1.0), "right");
        assert_eq!(named(-1.0, 0.1, 0.0, 1.0), "hard braking");
        assert_eq!(named(0.6, 0.0, 0.0, 1.0), "hard acceleration");
        assert_eq!(named(-0.7, 0.8, 0.0, 1.0), "left under braking");
        assert_eq!(named(0.6, -0.9, 0.0, 1.0), "right under power");
        assert_eq!(named(0.0, 1.0, -0.4, 4.0), "long left over a crest");
        assert_eq!(named(0.0, 0.05, 0.0, 1.0), "straight");
    }

    #[test]
    fn oil_goes_out_of_the_corner_and_forward_under_braking() {
        // ISO 8855: apparent gravity is gravity minus acceleration, so a left (ay > 0) pushes oil right.
        assert_eq!(pushed_toward(DVec3::new(0.0, -G, -G), DVec3::Z), "right");
        assert_eq!(pushed_toward(DVec3::new(G, 0.0, -G), DVec3::Z), "front");
        assert_eq!(pushed_toward(DVec3::new(-G, G, -G), DVec3::Z), "rear left");
        assert_eq!(pushed_toward(DVec3::new(0.0, 0.0, -G), DVec3::Z), "");
    }
}
