//! The flange on its joint against closed forms, finer meshes, symmetry and limits.

mod common;

use common::{ALUMINIUM, along, bolt, circle, mirrored, oblong, pressure_at, sheet, straight};
use glam::{DVec2, DVec3};
use sumpwright_seal::joint::{
    Flange, Gap, Joint, JointFault, Kind, Law, Path, Section, clamp, rail_along, rail_between,
};

/// Rows of (βs, under a load, midway), both over the mean.
fn table() -> Vec<[f64; 3]> {
    include_str!("data/hetenyi-row-of-loads.csv")
        .lines()
        .filter(|line| !line.starts_with('#') && !line.starts_with("beta"))
        .map(|line| {
            let cells: Vec<f64> = line
                .split(',')
                .map(|cell| cell.parse().expect("a number"))
                .collect();
            [cells[0], cells[1], cells[2]]
        })
        .collect()
}

/// Hetényi's row of equal loads, all 19 rows of the table, by a straight rail long enough that its ends are not felt.
#[test]
fn a_straight_row_presses_as_a_beam_on_an_elastic_foundation() {
    let section = Section::plate(0.02, 0.008);
    let bending = ALUMINIUM * 0.02 * 0.008f64.powi(3) / 12.0;
    for [beta_s, under, midway] in table() {
        let pitch = 0.06;
        let bed = 4.0 * bending * (beta_s / pitch).powi(4);
        let count = ((14.0 / beta_s).ceil() as usize * 2 + 1).max(9);
        let mut joint = straight(
            count,
            pitch,
            8.0,
            section,
            sheet(bed / 0.02 * 1e-3, 1e-3, None, 1e6),
        );
        joint.element = Some(pitch / 64.0);
        let clamped = clamp(&joint).expect("a row of bolts");
        let mean = 8.0 / pitch / 0.02;
        let middle = (count / 2) as f64 + 0.5;
        let got = [
            along(&clamped, middle * pitch) / mean,
            along(&clamped, (middle + 0.5) * pitch) / mean,
        ];
        // Between two Gauss points the pressure is read straight: some 1e-4 of the peak at the largest βs.
        assert!(
            (got[0] - under).abs() < 4e-4 * under && (got[1] - midway).abs() < 4e-4,
            "βs {beta_s}: got {got:?}, wanted {under}, {midway}"
        );
        let span = clamped.spans[count / 2];
        assert!(
            (span.beta_length / beta_s - 1.0).abs() < 1e-9,
            "βs {beta_s}: {}",
            span.beta_length
        );
    }
}

/// Two rows worked in N/mm² with width: aluminium 20 × 8, gasket 100 N/mm² over 15 × 1 mm, pitch 60, 8 kN: 12.262 under
/// the bolt and 6.0116 midway; 12 mm thick: 10.015 and 7.9111 MPa. (Hetényi's closed form by hand.)
#[test]
fn two_worked_rows_in_megapascal() {
    for (thickness, under, midway) in [(0.008, 12.262e6, 6.0116e6), (0.012, 10.015e6, 7.9111e6)] {
        let kind = sheet(100e6, 1e-3, Some(0.015), 1e6);
        let mut joint = straight(21, 0.06, 8e3, Section::plate(0.02, thickness), kind);
        joint.element = Some(1e-3);
        let clamped = clamp(&joint).expect("a row of bolts");
        let got = [along(&clamped, 0.63), along(&clamped, 0.66)];
        assert!(
            (got[0] / under - 1.0).abs() < 3e-4 && (got[1] / midway - 1.0).abs() < 3e-4,
            "{thickness}: got {got:?}"
        );
    }
}

/// Beyond βs = 4.73 the closed form would pull; a one-sided joint opens midway instead, and presses no less in all.
#[test]
fn beyond_the_limit_of_the_closed_form_the_joint_opens_midway() {
    let bending = ALUMINIUM * 0.02 * 0.008f64.powi(3) / 12.0;
    for (beta_s, opens) in [(4.6, false), (4.9, true)] {
        let bed = 4.0 * bending * (beta_s / 0.06f64).powi(4);
        let kind = sheet(bed / 0.02 * 1e-3, 1e-3, None, 1e6);
        let mut joint = straight(9, 0.06, 8e3, Section::plate(0.02, 0.008), kind);
        joint.element = Some(1e-3);
        let clamped = clamp(&joint).expect("a row of bolts");
        let midway: Vec<_> = clamped
            .places
            .iter()
            .filter(|place| (place.place.x - 0.3).abs() < 1.5e-3)
            .collect();
        assert_eq!(
            midway.iter().any(|place| place.opening > 0.0),
            opens,
            "βs {beta_s}"
        );
        let total: f64 = clamped
            .places
            .iter()
            .map(|place| place.pressure * 0.02 * place.length)
            .sum();
        assert!(
            (total / 72e3 - 1.0).abs() < 1e-9,
            "pressed with {total} N by 72 kN"
        );
    }
}

/// A ring under evenly spaced bolts: every span is alike, and a mesh half as fine changes little.
#[test]
fn a_ring_is_alike_in_every_span_and_settles_with_the_mesh() {
    let ring = |element: f64| {
        let joint = Joint {
            flange: Flange {
                rail: rail_along(&circle(0.12, 720, 1.0), Section::plate(0.02, 0.006)),
                closed: true,
                youngs: ALUMINIUM,
                poisson: 0.33,
                shear: true,
            },
            bolts: circle(0.123, 12, 1.0)
                .iter()
                .map(|at| bolt(at.x, at.y, 7e3))
                .collect(),
            kind: sheet(150e6, 1e-3, None, 1e6),
            gap: Gap::flat(),
            block: None,
            element: Some(element),
        };
        clamp(&joint).expect("a ring")
    };
    let (coarse, fine) = (ring(4e-3), ring(1e-3));
    for clamped in [&coarse, &fine] {
        let worst: Vec<f64> = clamped
            .spans
            .iter()
            .map(|span| clamped.places[span.worst].pressure)
            .collect();
        for pressure in &worst {
            assert!(
                (pressure / worst[0] - 1.0).abs() < 1e-6,
                "spans differ: {worst:?}"
            );
        }
    }
    let at = DVec2::from_angle(std::f64::consts::TAU / 24.0) * 0.12;
    let (one, other) = (pressure_at(&coarse, at), pressure_at(&fine, at));
    assert!(
        (one / other - 1.0).abs() < 5e-3,
        "midway {one} and, finer, {other}"
    );
    let under = DVec2::new(0.12, 0.0);
    let (one, other) = (pressure_at(&coarse, under), pressure_at(&fine, under));
    assert!(
        (one / other - 1.0).abs() < 2e-2,
        "under a bolt {one} and, finer, {other}"
    );
}

/// The oblong flange with its bolts outside the middle: quarter by quarter the same, and the same on a finer mesh.
#[test]
fn a_loop_with_corners_is_symmetric_and_settles_with_the_mesh() {
    let mut joint = oblong(5, 3, 0.004, sheet(150e6, 1e-3, None, 1e6));
    joint.element = Some(4e-3);
    let coarse = clamp(&joint).expect("a loop");
    for place in &coarse.places {
        for (x, y) in [(-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)] {
            let other = pressure_at(&coarse, DVec2::new(x * place.place.x, y * place.place.y));
            assert!(
                (place.pressure - other).abs() < 1e-6 * coarse.mean,
                "{} and {other}",
                place.pressure
            );
        }
    }
    joint.element = Some(1e-3);
    let fine = clamp(&joint).expect("a loop");
    let (one, other) = (coarse.worst_place(), fine.worst_place());
    assert!(
        (one.pressure - other.pressure).abs() < 0.01 * coarse.mean,
        "worst {} and, finer, {}",
        one.pressure,
        other.pressure
    );
    for (a, b) in coarse.bolts.iter().zip(&fine.bolts) {
        assert!(
            (a.risen / b.risen - 1.0).abs() < 0.01,
            "seats {} and {}",
            a.risen,
            b.risen
        );
    }
}

/// A rail that cannot bend presses its joint evenly: force over area.
#[test]
fn a_rigid_flange_presses_evenly() {
    let mut joint = oblong(5, 3, 0.0, sheet(100e6, 1e-3, None, 1e6));
    joint.flange.youngs = 1e17;
    joint.flange.shear = false;
    let clamped = clamp(&joint).expect("a loop");
    let area: f64 = 2.0 * (0.42 + 0.22) * 0.02;
    assert!((clamped.mean / (16.0 * 8e3 / area) - 1.0).abs() < 1e-6);
    assert!(clamped.evenness() > 0.999, "{}", clamped.evenness());
    assert!(clamped.spans.iter().all(|span| span.beta_length < 0.2));
}

/// A rail without stiffness of its own presses only at its bolts: the joint is open between them.
#[test]
fn a_soft_flange_presses_only_at_its_bolts() {
    let mut joint = oblong(5, 3, 0.0, sheet(100e6, 1e-3, None, 1e6));
    joint.flange.youngs = 2e7;
    joint.element = Some(2e-3);
    let clamped = clamp(&joint).expect("a loop");
    let near = |place: DVec2| {
        joint
            .bolts
            .iter()
            .map(|bolt| bolt.place.distance(place))
            .fold(f64::INFINITY, f64::min)
    };
    let carried: f64 = clamped
        .places
        .iter()
        .filter(|place| near(place.place) < 12e-3)
        .map(|place| place.pressure * place.length * 0.02)
        .sum();
    assert!(
        carried > 0.98 * 128e3,
        "{carried} N of 128 kN within 12 mm of a bolt"
    );
    assert!(clamped.open.len() >= 16, "{} runs open", clamped.open.len());
}

/// A sine of out-of-flat under a beam that stays in contact: `EI w⁗ + k (w − g) = 0` gives the share that bending
/// takes up, `k / (k + EI κ⁴)`, κ the sine's wave number.
#[test]
fn the_share_of_out_of_flat_pulled_in_is_that_of_a_beam_on_its_bed() {
    let (pitch, wave) = (0.05, 0.2);
    let wave_number = std::f64::consts::TAU / wave;
    for thickness in [0.006, 0.01, 0.02] {
        let bending = ALUMINIUM * 0.02 * f64::powi(thickness, 3) / 12.0;
        let bed = 20e6 / 2e-3 * 0.02;
        let mut joint = straight(
            40,
            pitch,
            8e3,
            Section::plate(0.02, thickness),
            sheet(20e6, 2e-3, None, 1e6),
        );
        let flat = clamp(&joint).expect("a row of bolts");
        joint.gap = Gap::measured(
            (0..=800)
                .map(|at| {
                    let x = 2.0 * f64::from(at) / 800.0;
                    DVec3::new(x, 0.0, 0.1e-3 * (wave_number * x).sin())
                })
                .collect(),
        );
        let bent = clamp(&joint).expect("a row of bolts");
        assert!(bent.open.is_empty() && flat.open.is_empty());
        let left: Vec<f64> = bent
            .places
            .iter()
            .zip(&flat.places)
            .filter(|(place, _)| (place.place.x - 1.0).abs() < 0.2)
            .map(|(one, other)| one.opening - other.opening)
            .collect();
        let most = left.iter().copied().fold(0.0, f64::max);
        let share = 1.0 - most / 0.1e-3;
        let wanted = bed / (bed + bending * wave_number.powi(4));
        assert!(
            (share - wanted).abs() < 2e-3,
            "{thickness}: {share}, by the formula {wanted}"
        );
    }
}

/// The same on a loop: the thicker the rail, the more is left to the joint.
#[test]
fn a_stiff_flange_leaves_the_out_of_flat_that_a_soft_one_pulls_in() {
    let mut shares = Vec::new();
    for thickness in [0.004, 0.01, 0.04] {
        let mut joint = oblong(6, 3, 0.0, sheet(20e6, 2e-3, None, 1e6));
        for station in &mut joint.flange.rail {
            station.section.thickness = thickness;
        }
        let measured = (0..=42)
            .flat_map(|at| {
                let x = -0.21 + 0.01 * f64::from(at);
                let height = 0.1e-3 * (std::f64::consts::TAU * x / 0.21).sin();
                [DVec3::new(x, 0.11, height), DVec3::new(x, -0.11, -height)]
            })
            .collect();
        joint.gap = Gap::measured(measured);
        let clamped = clamp(&joint).expect("a loop");
        let pulled = clamped.pulled_in.expect("a measured gap");
        assert!(
            pulled.before > 0.15e-3 && pulled.before < 0.25e-3,
            "{}",
            pulled.before
        );
        shares.push(pulled.share());
    }
    assert!(
        shares[0] > 0.85 && shares[0] > shares[1] && shares[1] > shares[2],
        "{shares:?}"
    );
    assert!(shares[2] < 0.3, "{shares:?}");
}

/// A tilt and a shift are no out-of-flat: the free flange follows them without force.
#[test]
fn a_tilted_block_changes_nothing() {
    let mut joint = oblong(4, 3, 0.003, sheet(150e6, 1e-3, None, 1e6));
    let level = clamp(&joint).expect("a loop");
    joint.gap = Gap::measured(
        joint
            .flange
            .rail
            .iter()
            .map(|station| {
                let place = station.place;
                place.extend(2e-4 + 1e-3 * place.x - 2e-3 * place.y)
            })
            .collect(),
    );
    let tilted = clamp(&joint).expect("a loop");
    for (one, other) in level.places.iter().zip(&tilted.places) {
        assert!((one.pressure - other.pressure).abs() < 1e-6 * level.mean);
    }
    let pulled = tilted.pulled_in.expect("a measured gap");
    assert!(pulled.before < 1e-12 && pulled.after < 1e-12, "{pulled:?}");
}

#[test]
fn a_mirrored_flange_gives_the_mirrored_answer() {
    let mut joint = oblong(5, 2, 0.004, sheet(150e6, 1e-3, None, 3e6));
    joint.bolts[3].preload = 3e3;
    joint.bolts[7].place.x += 0.011;
    joint.gap = Gap::measured(vec![
        DVec3::new(0.1, 0.11, 1e-4),
        DVec3::new(-0.21, 0.02, 0.0),
        DVec3::new(0.05, -0.11, 2e-5),
    ]);
    let one = clamp(&joint).expect("a loop");
    let other = clamp(&mirrored(&joint)).expect("its mirror image");
    for place in &one.places {
        let there = pressure_at(&other, DVec2::new(place.place.x, -place.place.y));
        assert!(
            (place.pressure - there).abs() < 1e-6 * one.mean,
            "{} and {there}",
            place.pressure
        );
    }
    assert!((one.short_length() - other.short_length()).abs() < 1e-9);
}

/// Bolts outside the seal's width press its outer edge; on the middle line both edges alike.
#[test]
fn bolts_off_the_middle_press_the_edge_on_their_side() {
    let narrow = |out: f64| clamp(&oblong(6, 3, out, sheet(150e6, 1e-3, Some(0.01), 1e6))).expect("a loop");
    let outer = narrow(0.007);
    let place = &outer.places[outer.spans[0].worst];
    assert!(
        place.highest > 2.0 * place.lowest.max(0.1e6),
        "{} and {}",
        place.highest,
        place.lowest
    );
}

/// Metal on metal: what stays open between bolts hardly hangs on how hard metal is taken to be.
#[test]
fn openings_of_metal_faces_hang_little_on_the_stiffness_taken_for_metal() {
    let widest: Vec<f64> = [0.5, 1.0, 2.0]
        .into_iter()
        .map(|factor| {
            let metal = Law::metal(factor * ALUMINIUM, factor * 110e9, 0.008).expect("metal");
            let kind = Kind::Sealant {
                path: Path::default(),
                metal,
                bridges: 0.1e-3,
            };
            let mut joint = oblong(4, 2, 0.0, kind);
            for bolt in &mut joint.bolts {
                bolt.seat = 0.02;
            }
            joint.gap = Gap::measured(
                (0..40)
                    .map(|at| {
                        let x = -0.2 + 0.01 * f64::from(at);
                        DVec3::new(x, 0.11, 0.05e-3 * (x * 40.0).sin())
                    })
                    .collect(),
            );
            clamp(&joint).expect("a loop").widest()
        })
        .collect();
    assert!(widest[1] > 5e-6, "{widest:?}");
    assert!((widest[0] / widest[2] - 1.0).abs() < 0.25, "{widest:?}");
}

/// A rail between two outlines, rectangle in rectangle: its middle line and width.
#[test]
fn a_rail_between_outlines_has_their_middle_and_width() {
    let (outer, inner) = (common::rectangle(0.44, 0.24), common::rectangle(0.40, 0.20));
    let rail = rail_between(&outer, &inner, 0.008, None).expect("a rail");
    let side: Vec<_> = rail
        .iter()
        .filter(|station| station.place.x.abs() < 0.15 && station.place.y > 0.0)
        .collect();
    assert!(side.len() > 100);
    for station in side {
        assert!((station.place.y - 0.11).abs() < 1e-9 && (station.section.width - 0.02).abs() < 1e-9);
    }
    let crossed = rail_between(&inner, &outer, 0.008, None);
    assert!(matches!(crossed, Err(JointFault::NoRail { .. })), "{crossed:?}");
}

#[test]
fn what_is_no_joint_is_refused_with_the_place() {
    let good = || oblong(4, 2, 0.0, sheet(150e6, 1e-3, None, 1e6));
    let refused = |change: &dyn Fn(&mut Joint)| {
        let mut joint = good();
        change(&mut joint);
        clamp(&joint).expect_err("a fault")
    };
    assert!(matches!(
        refused(&|joint| joint.bolts[2].place.y += 0.05),
        JointFault::BoltOffFlange { bolt: 2, .. }
    ));
    assert!(matches!(
        refused(&|joint| joint.bolts[3].place = joint.bolts[1].place),
        JointFault::BoltsTogether { one: 1, other: 3 }
    ));
    assert_eq!(refused(&|joint| joint.bolts.clear()), JointFault::NoBolts);
    assert!(matches!(
        refused(&|joint| joint.bolts.iter_mut().for_each(|bolt| bolt.preload = 0.0)),
        JointFault::NotPositive { .. }
    ));
    assert!(matches!(
        refused(&|joint| joint.gap = Gap::measured(vec![DVec3::new(0.0, 0.0, 1e-4)])),
        JointFault::HeightOffFlange { point: 0, .. }
    ));
    assert!(matches!(
        refused(&|joint| joint.flange.rail.truncate(2)),
        JointFault::TooShort { .. }
    ));
    assert!(matches!(
        refused(&|joint| joint.flange.youngs = f64::NAN),
        JointFault::NotFinite { .. }
    ));
    assert!(matches!(
        refused(&|joint| joint.flange.rail[1].section.thickness = -1.0),
        JointFault::NotPositive { .. }
    ));
}

/// One bolt pulling outside a narrow seal tips the flange; that is said, not solved.
#[test]
fn a_flange_that_tips_is_said_to_tip() {
    let mut joint = oblong(4, 2, 0.018, sheet(150e6, 1e-3, Some(0.01), 1e6));
    for bolt in &mut joint.bolts[1..] {
        bolt.preload = 0.0;
    }
    assert_eq!(clamp(&joint), Err(JointFault::Tips));
}
