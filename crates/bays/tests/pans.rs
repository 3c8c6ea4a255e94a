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

/// A pan parted across twice, at x = -60 mm and x = 60 mm, by walls with a hole each.
fn thrice() -> Pan {
    let mut pan = parted(vec![], 0.0, vec![]);
    let wall = |x: f64| Plate {
        name: format!("wall at {x}"),
        shape: PlateShape::Wall {
            path: vec![DVec2::new(x, -0.1), DVec2::new(x, 0.1)],
            z_low: -0.15,
            z_high: 0.0,
        },
        openings: vec![Opening::Hole {
            at: DVec2::new(0.1, -0.135),
            diameter: 0.02,
        }],
        ..pan.plates[0].clone()
    };
    let plates = vec![wall(-0.06), wall(0.06)];
    pan.plates = plates;
    pan
}

/// Three chambers in a row, oil standing high in the last: its level against the orifice formula put through an ordinary
/// integration of the three heads (midpoint rule, steps of 1 ms).
#[test]
fn three_chambers_level_as_the_orifice_formula_integrates() {
    let found = network(&thrice());
    assert_eq!((found.bays.len(), found.ports.len()), (3, 2));
    let tilt = Manoeuvre::TiltBench {
        angle: 10f64.to_radians(),
        toward: 0.0,
        tilting: 1.0,
        hold: 20.0,
    };
    let drive = tilt.drive(&usual()).unwrap().in_frame(DMat3::IDENTITY);
    let history = run(inputs(&found, &drive, 4e-3)).unwrap();
    let mut order: Vec<usize> = (0..3).collect();
    order.sort_by(|a, b| {
        found.bays[*a]
            .levels
            .middle
            .x
            .total_cmp(&found.bays[*b].levels.middle.x)
    });
    let row = |time: f64| {
        history
            .time
            .iter()
            .position(|t| *t >= history.time[0] + time)
            .unwrap()
    };
    let at = |time: f64| {
        order
            .clone()
            .into_iter()
            .map(|b| history.spaces[row(time)][b])
            .collect::<Vec<f64>>()
    };
    let (lean, gravity) = (10f64.to_radians(), 9.80665);
    // Level of each along the tilted field, from the plane through the middle of the floor.
    let places = [-0.105, 0.0, 0.105];
    let lengths = [0.09, 0.12, 0.09];
    let level = |b: usize, v: f64| v / (lengths[b] * 0.2) * lean.cos() - places[b] * lean.sin();
    let pass = |v: &[f64; 3]| {
        let area = 0.25 * std::f64::consts::PI * 0.02f64.powi(2);
        let flow = |b: usize| {
            let head = level(b, v[b]) - level(b + 1, v[b + 1]);
            head.signum() * oil::hydraulics::orifice(0.61, area, head.abs(), gravity)
        };
        let (first, second) = (flow(0), flow(1));
        [-first, first - second, second]
    };
    let begun = at(3.5);
    let mut v = [begun[0], begun[1], begun[2]];
    let step = 1e-3;
    for _ in 0..2500 {
        let k = pass(&v);
        let half = [0, 1, 2].map(|b| v[b] + 0.5 * step * k[b]);
        let k = pass(&half);
        v = [0, 1, 2].map(|b| v[b] + step * k[b]);
    }
    let end = at(6.0);
    for b in 0..3 {
        let (moved, due) = (end[b] - begun[b], v[b] - begun[b]);
        assert!(
            (moved - due).abs() < 0.05 * (v[2] - begun[2]).abs(),
            "chamber {b}: {moved} {due}"
        );
    }
}

/// Two chambers through a wide low opening swing against each other as a U-tube does: ω² = g A/l (1/S₁ + 1/S₂), any
/// textbook of hydraulics; l is the port's own length.
#[test]
fn a_wide_opening_swings_as_a_u_tube() {
    let notch = Opening::Notch {
        low: DVec2::new(0.0, -0.15),
        high: DVec2::new(0.2, -0.11),
    };
    let found = network(&parted(vec![notch], 0.0, vec![]));
    let port = &found.ports[0];
    let area: f64 = port.patches.iter().map(|p| p.area).sum();
    let due = (9.80665 * area / port.length * 2.0 / (0.15 * 0.2)).sqrt() / std::f64::consts::TAU;
    let passage = sumpwright_bays::ports::Passage {
        wetted: [area; 2],
        length: port.length,
    };
    // Heads a millimetre apart, no loss to speak of at such speeds: one bay's level alone tells the other's.
    let (mut flow, mut head, dt, mut crossings) = (0.0, 1e-4, 1e-4, Vec::new());
    for step in 0..60_000 {
        let before = head;
        let steady = 0.61 * area * (2.0 * 9.80665 * f64::abs(head)).sqrt() * f64::signum(head);
        (flow, _) = passage.gather(flow, steady, 1.0, 9.80665, dt);
        head -= dt * flow * 2.0 / (0.15 * 0.2);
        if before > 0.0 && head <= 0.0 {
            crossings.push(dt * f64::from(step));
        }
    }
    let found = 1.0 / (crossings[2] - crossings[1]);
    assert!((found / due - 1.0).abs() < 0.05, "{found} Hz, {due} due");
}

fn circuit() -> oil::circuit::Circuit {
    oil::circuit::Circuit {
        displacement: 12e-6,
        relief_flow: 40.0 / 6e4,
        aloft: vec![(10.0, 0.2e-3), (110.0, 0.8e-3)],
        aloft_factor: 1.0,
        shares: vec![1.0],
        delays: vec![0.4],
    }
}

/// A parted pan that is pumped from, its wall and door on either side of the middle, or both mirrored.
fn pumped(mirrored: bool) -> Pan {
    let sign = if mirrored { -1.0 } else { 1.0 };
    let mut pan = parted(vec![], 0.0, vec![door(true)]);
    pan.plates[0].shape = PlateShape::Wall {
        path: vec![DVec2::new(-0.15, 0.03 * sign), DVec2::new(0.15, 0.03 * sign)],
        z_low: -0.15,
        z_high: -0.05,
    };
    pan.doors[0].opens_positive = mirrored;
    pan.mouth.at = DVec3::new(0.05, -0.04 * sign, -0.14);
    pan.returns = vec![pan::ReturnPlace {
        name: "bearings".into(),
        at: DVec3::new(0.0, 0.05 * sign, -0.005),
        diameter: 0.06,
    }];
    pan
}

fn driven(pan: &Pan, drive: &drive::Drive) -> pickup::CoverHistory {
    let found = network(pan);
    let circuit = circuit();
    let with = Inputs {
        circuit: Some(&circuit),
        ..inputs(&found, drive, 4.2e-3)
    };
    run(with).unwrap()
}

/// Pan, doors, returns and drive mirrored: the same cover, air and doors at the same time.
#[test]
fn a_mirrored_pan_in_a_mirrored_drive_is_the_same() {
    let (one, other) = (
        driven(&pumped(false), &corner(Side::Left)),
        driven(&pumped(true), &corner(Side::Right)),
    );
    assert!(one.doors.iter().any(|d| d[0] > 0.1), "the door never moved");
    for row in 0..one.time.len() {
        let apart = (one.cover[row] - other.cover[row]).abs();
        assert!(
            apart < 1e-4,
            "{} s: {} {}",
            one.time[row],
            one.cover[row],
            other.cover[row]
        );
        assert!((one.doors[row][0] - other.doors[row][0]).abs() < 1e-3);
    }
    assert!((one.air.last().unwrap() - other.air.last().unwrap()).abs() < 1e-6);
}

/// With pump, oil aloft and returns the ledger holds too.
#[test]
fn the_ledger_holds_with_the_pump_running() {
    let history = driven(&pumped(false), &braking());
    assert!(history.check_ledger(4.2e-3).unwrap() < 1e-9);
    assert!(history.drawn.last().unwrap() > &1e-3);
}

/// A well gated by a door: the more the shut door leaks, the less the well keeps through a corner that pulls it out.
#[test]
fn more_door_leak_never_helps_a_gated_well() {
    let least = |gap: f64| {
        let mut pan = pumped(false);
        pan.doors[0].gap = gap;
        // The mouth is on the right and the door opens toward it; a right corner pulls the oil out to the left.
        if let PlateShape::Wall { z_high, .. } = &mut pan.plates[0].shape {
            *z_high = 0.0;
        }
        let found = network(&pan);
        let drive = corner(Side::Right);
        let history = run(inputs(&found, &drive, 4.2e-3)).unwrap();
        let well = found.mouth.as_ref().unwrap().bay;
        history
            .spaces
            .iter()
            .map(|s| s[well])
            .fold(f64::INFINITY, f64::min)
    };
    let kept: Vec<f64> = [0.2e-3, 0.5e-3, 1e-3, 2e-3, 4e-3].map(least).to_vec();
    for pair in kept.windows(2) {
        assert!(pair[1] <= pair[0] + 1e-7, "{kept:?}");
    }
    assert!(kept[4] < 0.9 * kept[0], "the gap tells nothing: {kept:?}");
}

/// Runs side by side on several threads give what one alone gives, to the bit.
#[test]
fn threads_change_nothing() {
    let (pan, drive) = (pumped(false), braking());
    let alone = driven(&pan, &drive);
    std::thread::scope(|scope| {
        let runs: Vec<_> = (0..4).map(|_| scope.spawn(|| driven(&pan, &drive))).collect();
        for run in runs {
            assert!(run.join().unwrap() == alone);
        }
    });
}

/// Oil over the mouth ends at a roof, as the 3-D solver measures it: a shelf 60 mm over the mouth in a full pan.
#[test]
fn cover_ends_at_a_roof() {
    let mut pan = parted(vec![], 0.0, vec![]);
    pan.plates[0].shape = PlateShape::Shelf {
        outline: Outline::rectangle(DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1)),
        z: -0.08,
    };
    pan.plates[0].openings = vec![Opening::Hole {
        at: DVec2::new(-0.1, 0.0),
        diameter: 0.03,
    }];
    let found = network(&pan);
    assert_eq!(found.bays.len(), 2);
    let drive = braking();
    let history = run(inputs(&found, &drive, 8e-3)).unwrap();
    assert!((history.cover[0] - 0.06).abs() < 1e-6, "{}", history.cover[0]);
}
