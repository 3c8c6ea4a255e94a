//! Doors that oil opens one way and shuts the other.
#![allow(clippy::print_stdout, reason = "figures for --nocapture")]

use glam::DVec3;
use oil::fluid::Fluid;
use pan::Lattice;
use sumpwright_slosh::{Body, Settings, Solver, Supply, boxes};

const G: f64 = 9.81;
const H: f64 = 0.01;

fn oil() -> Fluid {
    Fluid {
        density: 850.0,
        viscosity: 1e-6,
    }
}

/// Two chambers, a shut wall between them and a door 40 mm wide, 30 mm high in it, hinge on top, opening
/// toward +x.
fn chambers() -> Lattice {
    let mut lattice = boxes::tank([20, 6, 14], H);
    boxes::wall(&mut lattice, 0, |p| (p.x - 0.1).abs() < 0.4 * H);
    // A turn about −y swings the free lower edge toward +x.
    boxes::door(
        &mut lattice,
        0,
        DVec3::new(0.1, 0.03, 0.04),
        DVec3::NEG_Y,
        1.0,
        |p| (p.x - 0.1).abs() < 0.4 * H && p.z > 0.01 && p.z < 0.04 && p.y > 0.01 && p.y < 0.05,
    );
    lattice
}

fn flap(mass: f64, gap: f64) -> pan::Door {
    pan::Door {
        name: "door".into(),
        plate: 0,
        low: glam::DVec2::ZERO,
        high: glam::DVec2::new(0.04, 0.03),
        hinge: pan::Hinge::Top,
        opens_positive: true,
        mass,
        stop: 1.2,
        gap,
        density: 2700.0,
        spring: [0.0; 2],
    }
}

fn run(lattice: &Lattice, door: pan::Door, left: f64, right: f64, until: f64) -> Solver {
    let mut solver = Solver::new(lattice, oil(), &[door], Settings::default()).unwrap();
    solver
        .fill_where(|p| f64::from(p.z < if p.x < 0.1 { left } else { right }))
        .unwrap();
    let mut time = 0.0;
    while time < until {
        time += solver
            .step(&Body::steady(DVec3::new(0.0, 0.0, -G)), &Supply::NONE, 1.0)
            .unwrap()
            .dt;
    }
    solver
}

fn right_side(solver: &Solver) -> f64 {
    solver
        .fill()
        .iter()
        .enumerate()
        .filter(|(c, _)| c % 20 >= 10)
        .map(|(_, f)| f)
        .sum()
}

#[test]
fn a_door_opens_with_head_and_lets_oil_through() {
    let lattice = chambers();
    let solver = run(&lattice, flap(0.02, 0.0), 0.1, 0.05, 0.15);
    assert!(solver.door_angles()[0] > 0.1, "angle {}", solver.door_angles()[0]);
    let gained = right_side(&solver) - 5.0 * 60.0;
    assert!(gained > 20.0, "{gained} cells passed");
}

#[test]
fn a_door_shut_by_reverse_head_leaks_exactly_nothing() {
    let lattice = chambers();
    let solver = run(&lattice, flap(0.02, 0.0), 0.05, 0.1, 0.5);
    assert_eq!(solver.door_angles()[0], 0.0);
    assert!(
        (right_side(&solver) - 600.0).abs() < 1e-9,
        "{} cells left",
        right_side(&solver)
    );
}

/// A gap of 0.5 mm round a 40 × 30 mm flap is 70 mm²; `Q = 0.6 a sqrt(2 g Δ)` drains the higher side.
#[test]
fn the_gap_of_a_shut_door_leaks_like_an_orifice() {
    let lattice = chambers();
    let solver = run(&lattice, flap(0.02, 0.0005), 0.05, 0.1, 1.0);
    assert_eq!(solver.door_angles()[0], 0.0);
    let leaked = (600.0 - right_side(&solver)) * H.powi(3);
    let area = 2.0 * (0.04 + 0.03) * 0.0005;
    // Level difference falls linearly in its root: A = 6e-3 m² each side.
    let mut head: f64 = 0.05;
    let mut formula = 0.0;
    for _ in 0..1000 {
        let q = 0.6 * area * (2.0 * G * head).sqrt() * 1e-3;
        formula += q;
        head -= 2.0 * q / 6e-3;
    }
    println!(
        "leak {leaked:.3e} m3, formula {formula:.3e}, {:.1} %",
        100.0 * (leaked / formula - 1.0)
    );
    assert!(
        (leaked / formula - 1.0).abs() < 0.1,
        "{leaked:.3e} against {formula:.3e} m3"
    );
}

/// A flap hung upright opens at any head and stands where the head's torque meets its weight's:
/// `sin θ = Δp b L / (m g (1 − ρ/ρ_flap))` for a uniform Δp (first principles).
/// A heavy flap under a small head stays near that angle while the head lasts.
#[test]
fn a_heavy_flap_hangs_where_head_and_weight_balance() {
    let lattice = chambers();
    // 300 g of steel, head about 3 mm: 850·9.81·0.003·0.04·0.03 / (0.3·9.81·0.892) = 0.0114 rad.
    let steel = pan::Door {
        density: 7850.0,
        ..flap(0.3, 0.0)
    };
    let buoyed = 0.3 * (1.0 - 850.0 / 7850.0);
    let mut solver = Solver::new(&lattice, oil(), &[steel], Settings::default()).unwrap();
    solver
        .fill_where(|p| {
            if p.z < 0.07 {
                1.0
            } else if p.z < 0.08 && p.x < 0.1 {
                0.9
            } else {
                f64::from(p.z < 0.08) * 0.6
            }
        })
        .unwrap();
    let head = |s: &Solver| {
        let right = right_side(s);
        (s.fill().iter().sum::<f64>() - 2.0 * right) / 60.0 * H
    };
    let (mut time, mut sum, mut count) = (0.0, 0.0, 0);
    while time < 0.35 {
        time += solver
            .step(&Body::steady(DVec3::new(0.0, 0.0, -G)), &Supply::NONE, 1.0)
            .unwrap()
            .dt;
        if time > 0.1 && head(&solver) > 5e-4 {
            let balance = 850.0 * head(&solver) * 0.04 * 0.03 / buoyed;
            sum += solver.door_angles()[0].sin() / balance;
            count += 1;
        }
    }
    let ratio = sum / f64::from(count);
    println!(
        "flap stands at {ratio:.3} of its balance angle, head left {:.2e} m",
        head(&solver)
    );
    assert!((ratio - 1.0).abs() < 0.25, "{ratio}");
}

/// The head of 50 mm pulls at the flap with Δp b L²/2 = 850·9.81·0.05·0.04·0.03²/2 = 7.5 mN·m; the flap's weight of
/// 20 g pulls at nothing while it hangs.
#[test]
fn a_spring_holds_a_door_shut_against_less_than_its_torque() {
    let lattice = chambers();
    let sprung = |torque: f64| pan::Door {
        spring: [torque, torque],
        ..flap(0.02, 0.0)
    };
    let held = run(&lattice, sprung(0.009), 0.1, 0.05, 0.15);
    assert_eq!(held.door_angles()[0], 0.0);
    let gives = run(&lattice, sprung(0.005), 0.1, 0.05, 0.15);
    assert!(gives.door_angles()[0] > 0.02, "{}", gives.door_angles()[0]);
}

/// 2 g reversals through the door: it slams and the ledger holds.
#[test]
fn slams_neither_break_the_step_nor_the_ledger() {
    let lattice = chambers();
    let mut solver = Solver::new(&lattice, oil(), &[flap(0.01, 0.0003)], Settings::default()).unwrap();
    solver.fill_below(DVec3::Z, 0.06).unwrap();
    let start = solver.oil_volume();
    let (mut time, mut most) = (0.0, 0.0f64);
    while time < 1.5 {
        let side = if time % 0.4 < 0.2 { 2.0 } else { -2.0 };
        time += solver
            .step(&Body::steady(DVec3::new(side * G, 0.0, -G)), &Supply::NONE, 1.0)
            .unwrap()
            .dt;
        most = most.max(solver.door_angles()[0]);
    }
    let off = (solver.oil_volume() + solver.ledger_error() - start) / start;
    assert!(off.abs() < 1e-9, "balance {off:.2e}");
    assert!(most > 0.3, "the door never opened: {most}");
    // One way only: the far side has gained.
    assert!(right_side(&solver) > 1.3 * 360.0, "{} cells", right_side(&solver));
}
