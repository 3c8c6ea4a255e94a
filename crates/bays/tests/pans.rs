//! Oil between bays against formulae and common sense.

use drive::Gearing;
use drive::manoeuvre::{Manoeuvre, Side, Staging};
use glam::{DMat3, DVec2, DVec3};
use oil::fluid::Fluid;
use pan::{Cavity, Door, Hinge, Lattice, Mouth, Opening, Outline, Pan, Plate, PlateShape, Pocket};
use sumpwright_bays::Network;
use sumpwright_bays::run::{Inputs, run};

const OIL: Fluid = Fluid {
    density: 850.0,
    viscosity: 1.2e-5,
};

/// A box of 300 × 200 × 150 mm below the flange, parted across at x = 0 by a wall with `openings`.
fn parted(openings: Vec<Opening>, top: f64, doors: Vec<Door>) -> Pan {
    let (low, high) = (DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1));
    let cavity = Cavity::from_pockets(&[Pocket {
        name: "box".into(),
        side: pan::Side::Pan,
        outline: Outline::rectangle(low, high),
        z_low: -0.15,
        z_high: 0.0,
        draft: 0.0,
        corner_radius: 0.0,
        floor_radius: 0.0,
    }])
    .unwrap();
    Pan {
        cavity,
        plates: vec![Plate {
            name: "wall".into(),
            shape: PlateShape::Wall {
                path: vec![DVec2::new(0.0, -0.1), DVec2::new(0.0, 0.1)],
                z_low: -0.15,
                z_high: top,
            },
            thickness: 1.5e-3,
            openings,
            perforation: 0.0,
            perforation_hole: 5e-3,
        }],
        doors,
        mouth: Mouth {
            at: DVec3::new(0.07, 0.0, -0.14),
            diameter: 0.03,
            outside: 0.033,
        },
        returns: Vec::new(),
        crank: None,
    }
}

fn network(pan: &Pan) -> Network {
    let lattice = Lattice::build(pan, 0.01).unwrap();
    Network::cut(&lattice, &pan.doors).unwrap()
}

fn usual() -> Staging {
    Staging::usual(Gearing::Constant(100.0))
}

fn braking() -> drive::Drive {
    let stop = Manoeuvre::Stop {
        braking: 9.0,
        speed: 40.0,
    };
    stop.drive(&usual()).unwrap().in_frame(DMat3::IDENTITY)
}

fn corner(side: Side) -> drive::Drive {
    let corner = Manoeuvre::SustainedCorner {
        lateral: 9.0,
        side,
        speed: 30.0,
        hold: 3.0,
    };
    corner.drive(&usual()).unwrap().in_frame(DMat3::IDENTITY)
}

fn inputs<'a>(network: &'a Network, drive: &'a drive::Drive, fill: f64) -> Inputs<'a> {
    Inputs {
        network,
        fluid: OIL,
        circuit: None,
        drive,
        fill,
        start: drive.start(),
        end: drive.end(),
    }
}

/// The wall parts the box in two bays of 4.5 L; one hole joins them.
#[test]
fn a_wall_makes_two_bays_and_its_hole_a_port() {
    let hole = Opening::Hole {
        at: DVec2::new(0.1, -0.12),
        diameter: 0.02,
    };
    let found = network(&parted(vec![hole], 0.0, vec![]));
    assert_eq!(found.bays.len(), 2);
    for bay in &found.bays {
        assert!((bay.levels.volume - 4.5e-3).abs() < 1e-6, "{}", bay.levels.volume);
        assert!(
            (bay.size[0] - 0.15).abs() < 2e-3 && (bay.size[1] - 0.2).abs() < 2e-3,
            "{:?}",
            bay.size
        );
    }
    assert_eq!(found.ports.len(), 1);
}

/// Nothing is lost in a stop, and what leaves one bay is in the other.
#[test]
fn the_ledger_holds_to_the_last_bit() {
    let slot = Opening::Slot {
        from: DVec2::new(0.03, -0.145),
        to: DVec2::new(0.17, -0.145),
        width: 0.01,
    };
    let found = network(&parted(vec![slot], -0.06, vec![]));
    let drive = braking();
    let history = run(inputs(&found, &drive, 4e-3)).unwrap();
    assert!(history.check_ledger(4e-3).unwrap() < 1e-12);
    let most = history.spaces.iter().map(|s| s[0].max(s[1])).fold(0.0, f64::max);
    assert!(most > 2.4e-3, "the oil never ran: {most}");
}

/// A pan that is alike on both sides in a mirrored drive: the same cover at the same time.
#[test]
fn a_mirrored_corner_is_the_corner_mirrored() {
    let found = network(&parted(vec![], -0.06, vec![]));
    let (left, right) = (corner(Side::Left), corner(Side::Right));
    let one = run(inputs(&found, &left, 4e-3)).unwrap();
    let other = run(inputs(&found, &right, 4e-3)).unwrap();
    for (a, b) in one.cover.iter().zip(&other.cover) {
        assert!((a - b).abs() < 2e-4, "{a} {b}");
    }
}

fn door(opens_positive: bool) -> Door {
    Door {
        name: "door".into(),
        plate: 0,
        low: DVec2::new(0.05, -0.145),
        high: DVec2::new(0.15, -0.10),
        hinge: Hinge::Top,
        opens_positive,
        mass: 8e-3,
        stop: 1.0,
        gap: 0.5e-3,
        density: 2700.0,
        spring: [0.0; 2],
    }
}

/// Oil in the bay that the wall keeps, at the end of a stop [m³]: braking sends it to the front. The mouth's bay is the
/// front one here.
fn kept(opens_positive: bool, gap: f64) -> f64 {
    let hung = Door {
        gap,
        ..door(opens_positive)
    };
    let pan = parted(vec![], 0.0, vec![hung]);
    let found = network(&pan);
    let front = found
        .bays
        .iter()
        .position(|bay| bay.levels.middle.x > 0.0)
        .unwrap();
    let drive = braking();
    let history = run(inputs(&found, &drive, 4e-3)).unwrap();
    history.spaces.iter().map(|s| s[front]).fold(0.0, f64::max)
}

/// A door lets the oil go one way: the front bay gains in a stop through one that opens to it and little through the
/// other; the wider the gap of the shut one, the more.
#[test]
fn a_door_hung_the_other_way_changes_the_answer_the_right_way() {
    let (one, other) = (kept(true, 0.5e-3), kept(false, 0.5e-3));
    let (open, shut) = (one.max(other), one.min(other));
    assert!(open > 3e-3, "{one} {other}");
    // By hand: 0.5 mm round 100 × 45 mm under some 0.1 m of head for 4.4 s, 0.61 · 1.45e-4 · 1.4 · 4.4 = 0.54 L.
    assert!((shut - 2e-3 - 0.54e-3).abs() < 0.15e-3, "{one} {other}");
    let leaky = kept(one < other, 2e-3);
    assert!(leaky > shut, "{leaky} {shut}");
}

/// Two chambers level through a drowned hole in the time of the textbook's integral.
#[test]
fn two_chambers_level_in_the_time_of_the_formula() {
    let diameter: f64 = 0.02;
    let hole = Opening::Hole {
        at: DVec2::new(0.1, -0.135),
        diameter,
    };
    let found = network(&parted(vec![hole], 0.0, vec![]));
    // The bench is tilted and let go back at once: from then on the levels come together.
    let tilt = Manoeuvre::TiltBench {
        angle: 10f64.to_radians(),
        toward: 0.0,
        tilting: 1.0,
        hold: 20.0,
    };
    let drive = tilt.drive(&usual()).unwrap().in_frame(DMat3::IDENTITY);
    let history = run(inputs(&found, &drive, 4e-3)).unwrap();
    let front = found
        .bays
        .iter()
        .position(|bay| bay.levels.middle.x > 0.0)
        .unwrap();
    // While the tilt is held the difference of heads falls as the formula says, from one instant to a later one.
    let volume = |time: f64| {
        let row = history.time.iter().position(|t| *t >= time).unwrap();
        history.spaces[row][front]
    };
    let start = history.time[0];
    let (t0, t1) = (start + 3.5, start + 6.0);
    let end = volume(start + 20.0);
    let plan = 0.15 * 0.2 / 10f64.to_radians().cos();
    let head = |v: f64| 2.0 * (end - v) / plan;
    let area = 0.25 * std::f64::consts::PI * diameter * diameter;
    let gravity = 9.80665;
    let due = oil::hydraulics::levelling_time(
        0.61,
        (plan, plan),
        area,
        head(volume(t0)),
        head(volume(t1)),
        gravity,
    );
    assert!(
        (due / (t1 - t0) - 1.0).abs() < 0.05,
        "{due} s by the formula, {} s computed, heads {} {}",
        t1 - t0,
        head(volume(t0)),
        head(volume(t1))
    );
}
