//! The same run again, from a saved state, and in the mirror.
#![allow(clippy::print_stdout, reason = "figures for --nocapture")]

use glam::DVec3;
use oil::fluid::Fluid;
use pan::Lattice;
use sumpwright_slosh::{Body, Settings, SloshFault, Solver, Supply, boxes};

const G: f64 = 9.81;

fn oil() -> Fluid {
    Fluid {
        density: 850.0,
        viscosity: 1.2e-5,
    }
}

fn flap() -> pan::Door {
    pan::Door {
        name: "door".into(),
        plate: 0,
        low: glam::DVec2::ZERO,
        high: glam::DVec2::new(0.04, 0.03),
        hinge: pan::Hinge::Top,
        opens_positive: true,
        mass: 0.02,
        stop: 1.0,
        gap: 0.0,
        density: 2700.0,
        spring: [0.0; 2],
    }
}

/// A walled tank with a door, a mouth and a return; `side` −1 builds it in the mirror (y → width − y).
fn pan_in(side: f64) -> Lattice {
    let h = 0.01;
    let width = 0.12;
    let y = move |p: DVec3| if side > 0.0 { p.y } else { width - p.y };
    let mut lattice = boxes::tank([16, 12, 10], h);
    boxes::wall(&mut lattice, 1, |p| (y(p) - 0.05).abs() < 0.4 * h && p.z < 0.06);
    boxes::wall(&mut lattice, 0, |p| {
        (p.x - 0.06).abs() < 0.4 * h && p.z > 0.01 && p.z < 0.05
    });
    let hinge = if side > 0.0 {
        DVec3::new(0.1, 0.05, 0.04)
    } else {
        DVec3::new(0.1, width - 0.05, 0.04)
    };
    // Opens toward the larger room: +y here, −y in the mirror.
    boxes::door(&mut lattice, 1, hinge, DVec3::X * side, side, |p| {
        (y(p) - 0.05).abs() < 0.4 * h && p.z > 0.01 && p.z < 0.04 && p.x > 0.08 && p.x < 0.12
    });
    let at = |v: f64| if side > 0.0 { v } else { width - v };
    boxes::mouth(&mut lattice, DVec3::new(0.1, at(0.085), 0.02), 0.012);
    boxes::returns(&mut lattice, DVec3::new(0.03, at(0.03), 0.085), 0.012);
    lattice
}

fn start(lattice: &Lattice) -> Solver {
    start_with(lattice, Settings::default())
}

fn start_with(lattice: &Lattice, settings: Settings) -> Solver {
    let mut solver = Solver::new(lattice, oil(), &[flap()], settings).unwrap();
    solver.fill_below(DVec3::Z, 0.045).unwrap();
    solver
}

fn body(time: f64, side: f64) -> Body {
    let swing = (9.0 * time).sin();
    Body {
        gravity: DVec3::new(0.6 * G * (5.0 * time).cos(), side * 1.2 * G * swing, -G),
        spin: DVec3::new(0.0, 0.0, side * 0.6 * swing),
        spin_rate: DVec3::new(0.0, 0.0, side * 0.6 * 9.0 * (9.0 * time).cos()),
        pivot: DVec3::new(0.5, 0.06, 0.3),
    }
}

fn run(solver: &mut Solver, mut time: f64, until: f64, side: f64) -> f64 {
    let supply = Supply {
        demand: 2e-4,
        returns: &[1.5e-4],
    };
    while time < until {
        time += solver.step(&body(time, side), &supply, 0.01).unwrap().dt;
    }
    time
}

#[test]
fn a_restored_run_goes_on_to_the_same_bit() {
    let lattice = pan_in(1.0);
    let mut whole = start(&lattice);
    let middle = run(&mut whole, 0.0, 0.4, 1.0);
    let saved = whole.state();
    run(&mut whole, middle, 0.8, 1.0);
    let mut again = Solver::new(&lattice, oil(), &[flap()], Settings::default()).unwrap();
    again.restore(&saved).unwrap();
    assert!(again.state() == saved, "restoring changed the state");
    run(&mut again, middle, 0.8, 1.0);
    assert!(
        again.state() == whole.state(),
        "the restored run went another way"
    );
    // Also when taken up by a solver that has been elsewhere.
    let mut used = start(&lattice);
    run(&mut used, 0.0, 0.2, 1.0);
    used.restore(&saved).unwrap();
    run(&mut used, middle, 0.8, 1.0);
    assert!(used.state() == whole.state(), "a used solver remembers its past");
}

#[test]
fn damaged_and_foreign_states_are_refused() {
    let lattice = pan_in(1.0);
    let mut solver = start(&lattice);
    run(&mut solver, 0.0, 0.05, 1.0);
    let saved = solver.state();
    let other = Fluid {
        viscosity: 1e-4,
        ..oil()
    };
    let mut foreign = Solver::new(&lattice, other, &[flap()], Settings::default()).unwrap();
    assert!(matches!(foreign.restore(&saved), Err(SloshFault::State { .. })));
    for cut in [0, 7, 20, saved.len() / 2, saved.len() - 1] {
        assert!(solver.restore(&saved[..cut]).is_err(), "cut at {cut}");
    }
    let mut long = saved.clone();
    long.push(0);
    assert!(solver.restore(&long).is_err());
    // The fill array poisoned inside the file.
    let mut poisoned = saved.clone();
    let tail = poisoned.len() / 8 * 4;
    for at in (200..tail).step_by(8) {
        poisoned[at..at + 8].copy_from_slice(&f64::NAN.to_le_bytes());
    }
    assert!(solver.restore(&poisoned).is_err());
    solver.restore(&saved).unwrap();
    assert!(solver.state() == saved);
}

/// Mirrored pan, mirrored body: the mirrored oil. Not to the bit: colours of the pressure sweeps and sums run
/// in another order. The pressure is solved to 1e-6 here, about what single numbers hold, so that only an unsymmetric operation can differ;
/// still, splashing grows a difference of rounding tenfold every 30 ms, and a wisp just over the line on one side is
/// just under it on the other, so the late tolerance is wide.
#[test]
fn the_mirrored_pan_starves_at_the_same_moment() {
    let (left, right) = (pan_in(1.0), pan_in(-1.0));
    let settings = Settings {
        tolerance: 1e-6,
        ..Settings::default()
    };
    let (mut a, mut b) = (start_with(&left, settings), start_with(&right, settings));
    for (until, allowed) in [(0.1, 1e-3), (0.2, 3e-2)] {
        let supply = Supply {
            demand: 2e-4,
            returns: &[1.5e-4],
        };
        let mut time = until - 0.1;
        while time < until - 1e-9 {
            // Equal steps on both sides.
            let dt = 1.25e-3;
            let one = a.step(&body(time, 1.0), &supply, dt).unwrap();
            let two = b.step(&body(time, -1.0), &supply, dt).unwrap();
            assert!((one.dt - two.dt).abs() < 1e-15, "steps differ");
            time += one.dt;
        }
        let (fa, fb) = (a.fill(), b.fill());
        let mut off = 0.0;
        for c in 0..fa.len() {
            let (i, j, k) = (c % 16, c / 16 % 12, c / 192);
            off += (fa[c] - fb[i + 16 * (11 - j + 12 * k)]).abs();
        }
        let share = off / fa.iter().sum::<f64>();
        let doors = (a.door_angles()[0], b.door_angles()[0]);
        println!("t {until}: {share:.2e} of the oil elsewhere; doors {doors:?}");
        assert!(
            share < allowed,
            "t {until}: {share:.2e} of the oil is elsewhere in the mirror"
        );
        assert!((doors.0 - doors.1).abs() < 0.01, "doors {doors:?}");
    }
}

/// Threads and lanes change nothing: the same bits from one thread, two, three, and from plain instructions.
#[test]
fn threads_and_lanes_give_the_same_bits() {
    let lattice = pan_in(1.0);
    let run = |threads: usize, plain: bool| {
        let settings = Settings {
            threads,
            plain,
            ..Settings::default()
        };
        let mut solver = start_with(&lattice, settings);
        let supply = Supply {
            demand: 2e-4,
            returns: &[1.5e-4],
        };
        let mut time = 0.0;
        while time < 0.15 {
            time += solver.step(&body(time, 1.0), &supply, 0.01).unwrap().dt;
        }
        solver.state()
    };
    let one = run(1, false);
    for (threads, plain) in [(2, false), (3, false), (1, true), (2, true)] {
        assert!(
            run(threads, plain) == one,
            "{threads} threads, plain {plain}: other bits"
        );
    }
}

/// A pressure solve takes as many iterations in small cells as in large ones, within one a halving; and few.
#[test]
fn small_cells_take_hardly_more_iterations() {
    let mut before = f64::INFINITY;
    for across in [24, 48] {
        let h = 0.24 / across as f64;
        let lattice = boxes::tank([across, across * 2 / 3, across / 2], h);
        let mut solver = start(&lattice);
        solver.fill_volume(DVec3::Z, 2.3e-3).unwrap();
        let body = Body::steady(DVec3::new(-G, 0.0, -G));
        let (mut time, mut iterations, mut steps) = (0.0, 0, 0);
        while time < 0.1 {
            let step = solver.step(&body, &Supply::NONE, 0.01).unwrap();
            (time, iterations, steps) = (time + step.dt, iterations + step.iterations, steps + 1);
        }
        let mean = f64::from(iterations) / f64::from(steps);
        println!("{across} cells along: {mean:.2} iterations a step");
        assert!(mean < 6.0, "{across} cells along: {mean:.2} iterations a step");
        assert!(
            mean < before + 1.0,
            "{across} cells along: {mean:.2} iterations after {before:.2}"
        );
        before = mean;
    }
}
