//! A lap over and over: what is carried from lap to lap, and what the engine burns.

use drive::Gearing;
use drive::manoeuvre::{Manoeuvre, Staging};
use glam::{DMat3, DVec2, DVec3};
use oil::fluid::Fluid;
use pan::{Cavity, Lattice, Mouth, Outline, Pan, Pocket};
use sumpwright_bays::Network;
use sumpwright_bays::race::{Race, RaceLap, race};
use sumpwright_bays::run::Inputs;

/// A box of 300 × 200 × 150 mm with the mouth 70 mm forward of its middle, 10 mm over the floor.
fn network() -> Network {
    let cavity = Cavity::from_pockets(&[Pocket {
        name: "box".into(),
        side: pan::Side::Pan,
        outline: Outline::rectangle(DVec2::new(-0.15, -0.1), DVec2::new(0.15, 0.1)),
        z_low: -0.15,
        z_high: 0.0,
        draft: 0.0,
        corner_radius: 0.0,
        floor_radius: 0.0,
    }])
    .unwrap();
    let pan = Pan {
        cavity,
        plates: Vec::new(),
        doors: Vec::new(),
        mouth: Mouth {
            at: DVec3::new(0.07, 0.0, -0.14),
            diameter: 0.03,
            outside: 0.033,
        },
        returns: Vec::new(),
        crank: None,
    };
    let lattice = Lattice::build(&pan, 0.01).unwrap();
    Network::cut(&lattice, &pan.doors).unwrap()
}

/// Launch and stop: oil goes to the rear first.
fn lap() -> drive::Drive {
    let launch = Manoeuvre::Launch {
        driving: 5.0,
        speed: 20.0,
    };
    let staging = Staging::usual(Gearing::Constant(100.0));
    launch.drive(&staging).unwrap().in_frame(DMat3::IDENTITY)
}

fn laps(count: usize, burnt: f64, fill: f64) -> Vec<RaceLap> {
    let (network, drive) = (network(), lap());
    let inputs = Inputs {
        network: &network,
        fluid: Fluid {
            density: 850.0,
            viscosity: 1.2e-5,
        },
        circuit: None,
        drive: &drive,
        fill,
        start: drive.start(),
        end: drive.end(),
    };
    let asked = Race {
        laps: count,
        burnt,
        thin: 0.01,
        lasts: 0.1,
    };
    race(inputs, &asked, |_, _| true).unwrap()
}

/// Where nothing is burnt and the lap ends as it began, laps are alike: all but the first to a tenth of a millimetre.
#[test]
fn laps_without_use_repeat() {
    let laps = laps(4, 0.0, 4e-3);
    for pair in laps[1..].windows(2) {
        let apart = (pair[0].least_cover - pair[1].least_cover).abs();
        assert!(apart < 1e-4, "{apart}");
        assert!((pair[0].left - 4e-3).abs() < 1e-12);
    }
}

/// What is left falls by use times time, and cover falls with it.
#[test]
fn oil_falls_by_what_is_burnt_and_cover_with_it() {
    let seconds = lap().end() - lap().start();
    let burnt = 0.1e-3 / seconds;
    let laps = laps(12, burnt, 4e-3);
    for (n, lap) in laps.iter().enumerate() {
        let due = 4e-3 - 0.1e-3 * (n + 1) as f64;
        assert!(
            (lap.left - due).abs() < 1e-10,
            "lap {}: {} for {due}",
            n + 1,
            lap.left
        );
    }
    for pair in laps[1..].windows(2) {
        assert!(pair[1].least_cover < pair[0].least_cover + 1e-9);
    }
}

/// A race ends when the pan is empty, and when whoever watches it says so.
#[test]
fn a_race_ends_with_the_oil_or_when_told() {
    let seconds = lap().end() - lap().start();
    let dry = laps(10, 1e-3 / seconds, 3e-3);
    assert!(dry.len() <= 4, "{} laps on three litres", dry.len());
    assert!(dry.last().unwrap().left < 1e-12 && dry.last().unwrap().bare_for > 0.0);
    let (network, drive) = (network(), lap());
    let inputs = Inputs {
        network: &network,
        fluid: Fluid {
            density: 850.0,
            viscosity: 1.2e-5,
        },
        circuit: None,
        drive: &drive,
        fill: 4e-3,
        start: drive.start(),
        end: drive.end(),
    };
    let asked = Race {
        laps: 10,
        burnt: 0.0,
        thin: 0.01,
        lasts: 0.1,
    };
    assert_eq!(race(inputs, &asked, |number, _| number < 2).unwrap().len(), 2);
}
