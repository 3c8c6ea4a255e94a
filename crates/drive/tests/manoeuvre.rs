//! Single tests do what they say: sizes, sides, speeds, smoothness.

use glam::DVec3;
use measure::STANDARD_GRAVITY;
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};
use sumpwright_drive::manoeuvre::{Manoeuvre, ManoeuvreFault, Side, Staging};
use sumpwright_drive::{Drive, Gearing};

const G: f64 = STANDARD_GRAVITY;

fn staging() -> Staging {
    Staging::usual(Gearing::Constant(80.0))
}

fn drive(m: Manoeuvre) -> Drive {
    let d = m.drive(&staging()).unwrap();
    d.check().unwrap();
    d
}

fn all() -> Vec<Manoeuvre> {
    vec![
        Manoeuvre::SustainedCorner {
            lateral: 1.2 * G,
            side: Side::Left,
            speed: 30.0,
            hold: 4.0,
        },
        Manoeuvre::Stop {
            braking: 1.1 * G,
            speed: 40.0,
        },
        Manoeuvre::Launch {
            driving: 0.6 * G,
            speed: 30.0,
        },
        Manoeuvre::TrailBrake {
            braking: G,
            lateral: 1.2 * G,
            side: Side::Right,
            speed: 50.0,
            brake: 1.0,
            sweep: 1.0,
            hold: 2.0,
        },
        Manoeuvre::Chicane {
            lateral: G,
            side: Side::Left,
            speed: 25.0,
            hold: 1.0,
            change: 0.5,
        },
        Manoeuvre::TiltBench {
            angle: FRAC_PI_4,
            toward: FRAC_PI_2,
            tilting: 8.0,
            hold: 5.0,
        },
    ]
}

#[test]
fn every_test_starts_and_ends_at_rest_and_never_jumps() {
    for m in all() {
        let d = drive(m);
        let level = DVec3::new(0.0, 0.0, -G);
        assert!(
            (d.gravity[0] - level).length() < 1e-9 && (d.at(1.9).gravity - level).length() < 1e-9,
            "{}",
            d.name
        );
        assert!((d.at(d.end()).gravity - level).length() < 1e-9, "{}", d.name);
        // Half a cosine of 0.3 s over 1.2 g changes by at most 0.062 g in 0.01 s.
        let jump = d
            .gravity
            .windows(2)
            .map(|w| (w[1] - w[0]).length())
            .fold(0.0, f64::max);
        assert!(jump < 0.065 * G, "{}: {jump}", d.name);
    }
}

#[test]
fn a_corner_to_the_left_sends_oil_right_and_yaws_left() {
    let d = drive(all().remove(0));
    let m = d.at(4.0);
    assert!((m.gravity - DVec3::new(0.0, -1.2 * G, -G)).length() < 1e-9);
    assert!((m.spin.z - 1.2 * G / 30.0).abs() < 1e-9);
    let other = drive(Manoeuvre::SustainedCorner {
        lateral: 1.2 * G,
        side: Side::Right,
        speed: 30.0,
        hold: 4.0,
    });
    assert_eq!(other.gravity, d.mirrored().gravity);
    assert_eq!(other.spin, d.mirrored().spin);
}

/// 40 m/s at 1.1 g: v²/2a = 74.16 m, and half the onset and half the release (0.15 s each) at 40 m/s to 0 add
/// a/2 times the onset times ... in all v T/2 with T = v/a + onset: 80.16 m.
#[test]
fn a_stop_ends_at_rest_after_the_distance_it_must_take() {
    let d = drive(all().remove(1));
    let n = d.time.len() - 1;
    assert!(d.speed[n] < 1e-3, "{}", d.speed[n]);
    let t = 40.0 / (1.1 * G) + 0.3;
    // The load is symmetric in time, so the mean speed is half the first.
    let want = 2.0 * 40.0 + 0.5 * 40.0 * t;
    assert!(
        (d.distance[n] - want).abs() < 0.01,
        "{} against {want}",
        d.distance[n]
    );
    assert!(
        (d.at(3.0).gravity.x - 1.1 * G).abs() < 1e-9,
        "oil goes forward under braking"
    );
}

#[test]
fn a_launch_reaches_its_speed_and_sends_oil_back() {
    let d = drive(all().remove(2));
    assert!((d.speed[d.time.len() - 1] - 30.0).abs() < 1e-2);
    assert!((d.at(4.0).gravity.x + 0.6 * G).abs() < 1e-9);
}

#[test]
fn trail_braking_stays_on_the_ellipse_between_braking_and_cornering() {
    let d = drive(all().remove(3));
    for t in [3.31, 3.6, 3.8, 4.0, 4.29] {
        let a = d.at(t).gravity;
        let share = (a.x / G).powi(2) + (a.y / (1.2 * G)).powi(2);
        assert!((share - 1.0).abs() < 1e-3, "at {t}: {share}");
        assert!(a.y >= 0.0, "a corner to the right sends oil left");
    }
    let fault = Manoeuvre::TrailBrake {
        braking: G,
        lateral: G,
        side: Side::Left,
        speed: 10.0,
        brake: 3.0,
        sweep: 1.0,
        hold: 1.0,
    };
    assert!(matches!(
        fault.drive(&staging()),
        Err(ManoeuvreFault::Stops { .. })
    ));
}

#[test]
fn a_chicane_goes_one_way_and_then_the_other() {
    let d = drive(all().remove(4));
    assert!((d.at(2.8).gravity.y + G).abs() < 1e-9);
    assert!((d.at(4.5).gravity.y - G).abs() < 1e-9);
    assert!(d.at(3.55).gravity.y.abs() < 1e-9, "half way through the change");
}

/// On a bench apparent gravity keeps 1 g, unlike in a car (needed for reading bench results).
#[test]
fn a_tilt_bench_turns_gravity_without_changing_its_size() {
    let d = drive(all().remove(5));
    for i in 0..d.time.len() {
        assert!((d.gravity[i].length() - G).abs() < 1e-9);
    }
    let m = d.at(12.0);
    assert!(
        (m.gravity - DVec3::new(0.0, G, -G) * 0.5_f64.sqrt()).length() < 1e-9,
        "low on the left: {}",
        m.gravity
    );
    // Gravity fixed in the room turns against the spin in the bench's frame: dg/dt = -spin × g.
    let (a, b, t) = (d.at(5.9), d.at(6.1), d.at(6.0));
    let rate = (b.gravity - a.gravity) / 0.2;
    assert!(
        (rate + t.spin.cross(t.gravity)).length() < 1e-3,
        "{rate} against {}",
        -t.spin.cross(t.gravity)
    );
}

#[test]
fn numbers_out_of_range_are_refused_by_name() {
    let corner = |lateral, speed| Manoeuvre::SustainedCorner {
        lateral,
        side: Side::Left,
        speed,
        hold: 1.0,
    };
    for m in [
        corner(f64::NAN, 30.0),
        corner(-1.0, 30.0),
        corner(5.0, 0.0),
        corner(5.0, f64::INFINITY),
    ] {
        assert!(matches!(
            m.drive(&staging()),
            Err(ManoeuvreFault::OutOfRange { .. })
        ));
    }
    let short = Manoeuvre::Stop {
        braking: 10.0,
        speed: 1.0,
    };
    assert!(matches!(
        short.drive(&staging()),
        Err(ManoeuvreFault::TooSlow { .. })
    ));
}
