//! The rods' sweep against the closed forms of the slider-crank and against brute force.

mod common;

use common::{alone, box_pan};
use glam::{DVec2, DVec3};
use sumpwright_clearance::body::block;
use sumpwright_clearance::rods::{Counterweight, Measured, Rod, RodBolts, Rods};
use sumpwright_clearance::{Body, Pose, Stretch, least_gap, survey};

fn measured() -> Measured {
    Measured {
        across: 0.076,
        cap: 0.033,
        width: 0.024,
        bolts: Some(RodBolts {
            apart: 0.058,
            down: 0.041,
            diameter: 0.013,
        }),
    }
}

fn rods(pin_offset: f64) -> Rods {
    Rods {
        origin: DVec3::new(-0.1, 0.0, 0.06),
        axis: DVec3::X,
        throw: 0.043,
        length: 0.143,
        pin_offset,
        big_end: measured().parts(),
        rods: vec![Rod {
            station: 0.1,
            lean: 0.0,
        }],
        counterweights: Vec::new(),
    }
}

/// Heights of the wrist pin at the ends of its stroke, bore offset by d: √((l + r)² − d²) and √((l − r)² − d²), when
/// crank and rod lie on one line. Centric: l + r and l − r.
#[test]
fn the_wrist_pin_ends_its_stroke_where_crank_and_rod_lie_on_one_line() {
    for d in [0.0, 0.8e-3, -6e-3] {
        let r = rods(d);
        let heights: Vec<f64> = (0..720_000)
            .map(|i| r.wrist(f64::from(i) * std::f64::consts::TAU / 720_000.0))
            .collect();
        let (low, high) = heights
            .iter()
            .fold((f64::MAX, f64::MIN), |(l, h), z| (l.min(*z), h.max(*z)));
        let (l, t) = (r.length, r.throw);
        assert!(
            (high - ((l + t).powi(2) - d * d).sqrt()).abs() < 1e-10,
            "top {high}, offset {d}"
        );
        assert!(
            (low - ((l - t).powi(2) - d * d).sqrt()).abs() < 1e-10,
            "bottom {low}, offset {d}"
        );
    }
}

/// Farthest that the sweep reaches along a direction: corners of the big end at many crank angles.
fn reach_by_force(r: &Rods, way: DVec2) -> f64 {
    let mut far = f64::MIN;
    for i in 0..200_000 {
        let theta = f64::from(i) * std::f64::consts::TAU / 200_000.0;
        for corner in r.big_end.iter().flat_map(|p| &p.corners) {
            far = far.max(r.place(*corner, theta).dot(way));
        }
    }
    far
}

/// Farthest that the swept body reaches, from its gap to a wall square to the direction.
fn reach(r: &Rods, way: DVec2) -> f64 {
    let out = DVec3::new(0.0, -way.x, way.y); // right of the crank seen along x is -y
    let centre = DVec3::new(0.0, 0.0, 0.06);
    let plane = sumpwright_clearance::HalfSpace {
        at: centre + out * 0.5,
        out: -out,
    };
    let found = least_gap(
        &r.swept(),
        &Pose::REST,
        &Stretch::NONE,
        &Body::half_spaces("wall", vec![plane]),
        1.0,
    );
    0.5 - found.expect("within a metre").gap
}

#[test]
fn the_sweep_reaches_as_far_as_brute_force_in_every_direction() {
    for d in [0.0, 1e-3] {
        let r = rods(d);
        for i in 0..16 {
            let way = DVec2::from_angle(0.1 + f64::from(i) * std::f64::consts::TAU / 16.0);
            let (got, wanted) = (reach(&r, way), reach_by_force(&r, way));
            assert!((got - wanted).abs() < 3e-6, "{way}: got {got}, by force {wanted}");
        }
    }
}

/// A point on the rod's own line goes lowest at bottom dead centre: throw plus its depth, 43 + 41 mm, when it is the
/// only corner.
#[test]
fn a_point_under_the_pin_is_lowest_at_bottom_dead_centre() {
    let mut r = rods(0.0);
    r.big_end = vec![sumpwright_clearance::rods::BigEndPart {
        corners: vec![DVec2::new(0.0, -0.041)],
        half_width: 0.012,
    }];
    assert!((reach(&r, DVec2::NEG_Y) - 0.084).abs() < 2e-6);
    // The same point goes highest at top dead centre: throw less its depth.
    assert!((reach(&r, DVec2::Y) - 0.002).abs() < 2e-6);
}

/// Random points beside the sweep: distance to it by trying crank angles, each place a hull of rectangles.
#[test]
fn gaps_to_the_sweep_agree_with_trying_every_crank_angle() {
    let r = rods(0.5e-3);
    let body = r.swept();
    for i in 0..40 {
        let angle = 0.3 + f64::from(i) * 0.777;
        let p = DVec2::from_angle(angle) * (0.1 + 0.002 * f64::from(i % 7));
        let mut wanted = f64::MAX;
        for k in 0..72_000 {
            let theta = f64::from(k) * std::f64::consts::TAU / 72_000.0;
            for part in &r.big_end {
                let c: Vec<DVec2> = part.corners.iter().map(|c| r.place(*c, theta)).collect();
                for e in 0..c.len() {
                    let (a, b) = (c[e], c[(e + 1) % c.len()]);
                    let t = ((p - a).dot(b - a) / (b - a).length_squared()).clamp(0.0, 1.0);
                    wanted = wanted.min(p.distance(a.lerp(b, t)));
                }
            }
        }
        // A needle along the crank at that place, as long as the rod is wide: the distance is that in the plane.
        let at = DVec3::new(0.0, -p.x, 0.06 + p.y);
        let needle = Body::solid("needle", block(at - DVec3::X * 0.05, at + DVec3::X * 0.05));
        let got = least_gap(&body, &Pose::REST, &Stretch::NONE, &needle, 1.0)
            .expect("within a metre")
            .gap;
        if got > 1e-5 {
            assert!(
                (got - wanted).abs() < 1e-5,
                "at {p}: got {got}, by force {wanted}"
            );
        }
    }
}

#[test]
fn rods_of_a_leaning_bank_sweep_the_upright_sweep_turned() {
    let upright = rods(0.0);
    let lean = 0.6;
    let mut leaning = rods(0.0);
    leaning.rods[0].lean = lean;
    for i in 0..8 {
        let way = DVec2::from_angle(f64::from(i) * 0.7);
        // Leaning to the right turns every direction clockwise.
        let turned = DVec2::from_angle(-lean).rotate(way);
        assert!((reach(&upright, way) - reach(&leaning, turned)).abs() < 1e-9);
    }
}

#[test]
fn a_rod_too_short_to_go_round_is_said() {
    let mut r = rods(0.0);
    r.length = 0.04;
    let said = r.fault().expect("too short").to_string();
    assert_eq!(
        said,
        "a rod of 40.0 mm cannot go round a throw of 43.0 mm with a pin offset of 0.0 mm"
    );
    assert!(rods(0.0).fault().is_none());
}

#[test]
fn rods_and_counterweights_are_measured_to_floor_and_walls() {
    let mut s = alone(true);
    let mut r = rods(0.0);
    r.counterweights = vec![Counterweight {
        from: 0.02,
        to: 0.04,
        radius: 0.07,
    }];
    s.rods = Some(r.clone());
    let rows = survey(&box_pan(), &s);
    let named = |name: &str, against: &str| {
        rows.iter()
            .find(|row| row.body == name && row.against_name == against)
            .unwrap_or_else(|| panic!("no row {name} / {against}"))
    };
    // The floor is 160 mm under the crank; walls of the pan begin 60 mm under it and stand 100 mm to the side.
    let row = named("rods", "pan's inside");
    let down = 0.16 - reach_by_force(&r, DVec2::NEG_Y);
    assert!(row.at_rest <= down + 1e-9);
    assert_eq!(row.body_part, "rod 1");
    let row = named("counterweights", "pan's inside");
    let to_edge = DVec2::new(0.1, 0.06).length() - 0.07;
    assert!((row.at_rest - to_edge).abs() < 1e-6, "{row:?}");
}
