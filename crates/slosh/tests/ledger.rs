//! Every drop is somewhere.
#![allow(clippy::print_stdout, reason = "figures for --nocapture")]

use glam::DVec3;
use oil::fluid::Fluid;
use sumpwright_slosh::{Body, Settings, SloshFault, Solver, Supply, boxes};

const G: f64 = 9.81;

fn oil() -> Fluid {
    Fluid {
        density: 850.0,
        viscosity: 1.2e-5,
    }
}

/// Flips of 2 g at 2 Hz against two baffles: the volume and the clean-up ledger together hold to 1e-9.
#[test]
fn no_oil_is_lost_in_two_g_flips_with_baffles() {
    let h = 0.01;
    let mut lattice = boxes::tank([24, 12, 12], h);
    boxes::wall(&mut lattice, 0, |p| {
        (p.x - 0.08).abs() < 0.4 * h && p.z > 0.01 && p.z < 0.08
    });
    boxes::wall(&mut lattice, 1, |p| (p.y - 0.06).abs() < 0.4 * h && p.z < 0.05);
    let mut solver = Solver::new(&lattice, oil(), &[], Settings::default()).unwrap();
    solver.fill_below(DVec3::Z, 0.053).unwrap();
    let start = solver.oil_volume();
    let (mut time, mut steps) = (0.0, 0);
    while time < 2.0 {
        let side = if time % 0.5 < 0.25 { 2.0 } else { -2.0 };
        let body = Body::steady(DVec3::new(side * G, 0.5 * side * G, -G));
        time += solver.step(&body, &Supply::NONE, 1.0).unwrap().dt;
        steps += 1;
    }
    let off = (solver.oil_volume() + solver.ledger_error() - start) / start;
    println!(
        "{steps} steps, balance {off:.2e}, ledger {:.2e}",
        solver.ledger_error() / start
    );
    assert!(off.abs() < 1e-9, "balance off by {off:.2e}");
    assert!(
        (solver.ledger_error() / start).abs() < 1e-6,
        "ledger {:.2e}",
        solver.ledger_error() / start
    );
    let most = solver.fill().into_iter().fold(0.0, f64::max);
    assert!(most < 1.5, "a cell holds {most} of itself");
}

/// Oil and air drawn sum to the demand; oil drawn and returned balance the pan to round-off; when the oil runs
/// out the pump draws air alone and never more oil than there is.
#[test]
fn pump_and_return_balance_the_pan() {
    let h = 0.01;
    let mut lattice = boxes::tank([16, 12, 10], h);
    boxes::mouth(&mut lattice, DVec3::new(0.08, 0.06, 0.02), 0.012);
    boxes::returns(&mut lattice, DVec3::new(0.02, 0.02, 0.085), 0.012);
    let mut solver = Solver::new(&lattice, oil(), &[], Settings::default()).unwrap();
    solver.fill_below(DVec3::Z, 0.04).unwrap();
    let start = solver.oil_volume();
    let demand = 4e-4;
    let (mut time, mut drawn, mut air, mut home) = (0.0, 0.0, 0.0, 0.0);
    let mut first_air = None;
    while time < 3.0 {
        let back = if time < 1.0 { 2e-4 } else { 0.0 };
        let supply = Supply {
            demand,
            returns: &[back],
        };
        let step = solver
            .step(&Body::steady(DVec3::new(0.0, 0.0, -G)), &supply, 1.0)
            .unwrap();
        assert!((step.oil_drawn + step.air_drawn - demand * step.dt).abs() < 1e-18);
        (drawn, air, home, time) = (
            drawn + step.oil_drawn,
            air + step.air_drawn,
            home + step.returned,
            time + step.dt,
        );
        if first_air.is_none() && air > 1e-9 {
            first_air = Some(time);
        }
    }
    let off = (solver.oil_volume() + drawn - home + solver.ledger_error() - start) / start;
    println!("balance {off:.2e}, drawn {drawn:.3e} air {air:.3e} home {home:.3e}, first air {first_air:?}");
    assert!(off.abs() < 1e-12, "balance off by {off:.2e}");
    assert!(drawn > 0.4 * start && air > 0.0);
    let first = first_air.unwrap();
    assert!(
        first > 0.5,
        "air after {first} s with 20 mm of oil over the mouth"
    );
    assert!(solver.fill().iter().all(|f| *f >= 0.0));
}

/// Sealed and brim-full: the pressure has no free constant to lean on, and still stands still.
#[test]
fn a_full_chamber_without_surface_stays_full_and_still() {
    let h = 0.01;
    let mut lattice = boxes::tank([12, 6, 8], h);
    boxes::wall(&mut lattice, 0, |p| (p.x - 0.06).abs() < 0.4 * h);
    let mut solver = Solver::new(&lattice, oil(), &[], Settings::default()).unwrap();
    solver
        .fill_where(|p| f64::from(p.x < 0.06 || p.z < 0.04))
        .unwrap();
    let start = solver.oil_volume();
    let mut time = 0.0;
    while time < 0.5 {
        let step = solver
            .step(&Body::steady(DVec3::new(0.5 * G, 0.0, -G)), &Supply::NONE, 1.0)
            .unwrap();
        assert!(step.residual <= 1e-4);
        time += step.dt;
    }
    let full: f64 = solver
        .fill()
        .iter()
        .enumerate()
        .filter(|(c, _)| c % 12 < 6)
        .map(|(_, f)| f)
        .sum();
    assert!(
        (full - 6.0 * 6.0 * 8.0).abs() < 1e-6,
        "{full} cells left in the full chamber"
    );
    let quick = solver
        .velocity_at_cells()
        .into_iter()
        .enumerate()
        .filter(|(c, _)| c % 12 < 6)
        .map(|(_, v)| v.length());
    let quick = quick.fold(0.0, f64::max);
    assert!(quick < 1e-3, "{quick} m/s in the full chamber");
    assert!((solver.oil_volume() - start).abs() < 1e-12 * start);
    // Hydrostatic across the sealed chamber: 50 mm of height and 40 mm sideways at half a g.
    let p = solver.pressure_at(DVec3::new(0.055, 0.03, 0.005))
        - solver.pressure_at(DVec3::new(0.015, 0.03, 0.055));
    let exact = 850.0 * G * (0.05 + 0.5 * 0.04);
    assert!((p / exact - 1.0).abs() < 0.01, "{p} Pa against {exact}");
}

#[test]
fn a_dry_tank_draws_air_and_takes_oil_home() {
    let mut lattice = boxes::tank([8, 8, 8], 0.01);
    boxes::mouth(&mut lattice, DVec3::new(0.04, 0.04, 0.02), 0.012);
    boxes::returns(&mut lattice, DVec3::new(0.06, 0.06, 0.065), 0.012);
    let mut solver = Solver::new(&lattice, oil(), &[], Settings::default()).unwrap();
    let body = Body::steady(DVec3::new(0.0, 0.0, -G));
    let dry = solver
        .step(
            &body,
            &Supply {
                demand: 1e-4,
                returns: &[],
            },
            1e-3,
        )
        .unwrap();
    assert!(dry.oil_drawn == 0.0 && (dry.air_drawn - 1e-7).abs() < 1e-20);
    let (mut time, mut home) = (0.0, 0.0);
    while time < 0.5 {
        let step = solver
            .step(
                &body,
                &Supply {
                    demand: 0.0,
                    returns: &[1e-4],
                },
                1.0,
            )
            .unwrap();
        (time, home) = (time + step.dt, home + step.returned);
    }
    assert!((solver.oil_volume() + solver.ledger_error() - home).abs() < 1e-12 * home);
    let low: f64 = solver.fill()[..3 * 64].iter().sum::<f64>() * 1e-6;
    assert!(
        low > 0.6 * home,
        "only {low:.2e} of {home:.2e} m3 fell to the floor"
    );
}

#[test]
fn wrong_numbers_are_refused_with_their_name() {
    let lattice = boxes::tank([8, 8, 8], 0.01);
    assert!(matches!(
        Solver::new(
            &lattice,
            Fluid {
                density: f64::NAN,
                viscosity: 1e-5
            },
            &[],
            Settings::default()
        ),
        Err(SloshFault::Input {
            what: "oil density",
            ..
        })
    ));
    let mut broken = lattice.clone();
    broken.open_volume[3] = f64::NAN;
    assert!(matches!(
        Solver::new(&broken, oil(), &[], Settings::default()),
        Err(SloshFault::Lattice { .. })
    ));
    let mut solver = Solver::new(&lattice, oil(), &[], Settings::default()).unwrap();
    assert!(matches!(
        solver.fill_volume(DVec3::Z, 1.0),
        Err(SloshFault::Overfull { .. })
    ));
    assert!(solver.fill_volume(DVec3::Z, f64::NAN).is_err());
    assert!(solver.fill_volume(DVec3::ZERO, 1e-4).is_err());
    solver.fill_volume(DVec3::Z, 1e-4).unwrap();
    assert!(
        (solver.oil_volume() - 1e-4).abs() < 1e-18,
        "{}",
        solver.oil_volume() - 1e-4
    );
    let ok = Body::steady(DVec3::new(0.0, 0.0, -G));
    for body in [
        Body {
            gravity: DVec3::new(f64::NAN, 0.0, 0.0),
            ..ok
        },
        Body {
            spin: DVec3::splat(f64::INFINITY),
            ..ok
        },
        Body {
            spin_rate: DVec3::splat(f64::NAN),
            ..ok
        },
        Body {
            pivot: DVec3::splat(f64::NAN),
            ..ok
        },
    ] {
        assert!(matches!(
            solver.step(&body, &Supply::NONE, 1.0),
            Err(SloshFault::Input { .. })
        ));
    }
    assert!(solver.step(&ok, &Supply::NONE, f64::NAN).is_err());
    assert!(
        solver
            .step(
                &ok,
                &Supply {
                    demand: f64::NAN,
                    returns: &[]
                },
                1.0
            )
            .is_err()
    );
    assert!(matches!(
        solver.step(
            &ok,
            &Supply {
                demand: 1e-4,
                returns: &[]
            },
            1.0
        ),
        Err(SloshFault::MouthBlocked)
    ));
    assert!(matches!(
        solver.step(
            &ok,
            &Supply {
                demand: 0.0,
                returns: &[1e-5]
            },
            1.0
        ),
        Err(SloshFault::ReturnBlocked { place: 0 })
    ));
    // None of these refusals harmed the run.
    assert!(solver.step(&ok, &Supply::NONE, 1.0).is_ok());
}
