//! Runs of plain tanks: start boxes, prescribed motion, probes, lifting gates; and taking them up again.

use drive::Drive;
use drive::motion::{Motion, Shift, Signal};
use glam::{DVec2, DVec3};
use oil::fluid::Fluid;
use pan::{Block, Cavity, Lattice, Lift, Outline, Plate, PlateShape, Pocket, Probe, Side, Tank, Watch};
use std::f64::consts::TAU;
use sumpwright_slosh::Record;
use sumpwright_slosh::Settings;
use sumpwright_slosh::run::{Fill, Inputs, Run};

const G: f64 = 9.81;
const FAR: f64 = f64::INFINITY;
const WATER: Fluid = Fluid {
    density: 1000.0,
    viscosity: 1e-6,
};

/// A box of `size` [m] with its low corner at the origin.
fn tank(size: DVec3) -> Tank {
    let pocket = Pocket {
        name: "box".into(),
        side: Side::Pan,
        outline: Outline::rectangle(DVec2::ZERO, size.truncate()),
        z_low: 0.0,
        z_high: size.z,
        draft: 0.0,
        corner_radius: 0.0,
        floor_radius: 0.0,
    };
    Tank {
        cavity: Cavity::from_pockets(&[pocket]).unwrap(),
        plates: Vec::new(),
        doors: Vec::new(),
        lifts: Vec::new(),
    }
}

/// A column of 60 × 100 mm at the rear of a channel, behind a gate when there is one.
struct Column {
    tank: Tank,
    lattice: Lattice,
    drive: Drive,
    start: [Block; 1],
    probes: Vec<Probe>,
}

fn column(lift: Option<Lift>) -> Column {
    let mut tank = tank(DVec3::new(0.3, 0.02, 0.12));
    if let Some(lift) = lift {
        tank.plates.push(Plate {
            name: "gate".into(),
            shape: PlateShape::Wall {
                path: vec![DVec2::new(0.06, 0.0), DVec2::new(0.06, 0.02)],
                z_low: 0.0,
                z_high: 0.12,
            },
            thickness: 1e-3,
            openings: Vec::new(),
            perforation: 0.0,
            perforation_hole: 0.0,
        });
        tank.lifts.push(lift);
    }
    let probe = |name: &str, watch| Probe {
        name: name.into(),
        watch,
    };
    Column {
        lattice: Lattice::of_tank(&tank, 0.01).unwrap(),
        tank,
        drive: Motion::default().drive("rest", G, 0.3).unwrap(),
        start: [Block {
            low: DVec3::splat(-FAR),
            high: DVec3::new(0.06, FAR, 0.1),
        }],
        probes: vec![
            probe(
                "foot",
                Watch::Pressure {
                    at: DVec3::new(0.0, 0.01, 0.02),
                    facing: DVec3::X,
                    diameter: 0.008,
                },
            ),
            probe(
                "front",
                Watch::Front {
                    along: DVec3::X,
                    band: Block {
                        low: DVec3::new(-FAR, -FAR, 0.0),
                        high: DVec3::new(FAR, FAR, 0.01),
                    },
                    share: 0.5,
                },
            ),
            probe(
                "back",
                Watch::Level {
                    at: DVec2::new(0.005, 0.01),
                },
            ),
        ],
    }
}

impl Column {
    fn inputs(&self) -> Inputs<'_> {
        Inputs {
            lattice: &self.lattice,
            doors: &[],
            fluid: WATER,
            circuit: None,
            drive: &self.drive,
            fill: Fill::Boxes(&self.start),
            probes: &self.probes,
            tank: Some(&self.tank),
            settings: Settings {
                wall_friction: false,
                ..Settings::default()
            },
            start: 0.0,
            end: self.drive.end(),
        }
    }

    fn record(&self) -> Record {
        let mut run = Run::start(self.inputs()).unwrap();
        while !run.finished() {
            run.advance().unwrap();
        }
        assert!((run.ledger().total() - 0.06 * 0.02 * 0.1).abs() < 1e-12);
        run.record().clone()
    }
}

/// Value of a column of the record just before `time`.
fn at(record: &Record, name: &str, time: f64) -> f64 {
    let row = record.time.partition_point(|t| *t <= time) - 1;
    record.series(name).unwrap()[row]
}

#[test]
fn a_run_taken_up_again_gives_the_same_record_to_the_last_bit() {
    for lift in [
        None,
        Some(Lift {
            plate: 0,
            speed: 1.0,
            from: 0.03,
        }),
    ] {
        let column = column(lift);
        let whole = column.record();
        let mut run = Run::start(column.inputs()).unwrap();
        for _ in 0..3 {
            run.advance().unwrap();
        }
        let state = run.state();
        drop(run);
        let mut again = Run::restore(column.inputs(), state).unwrap();
        while !again.finished() {
            again.advance().unwrap();
        }
        assert_eq!(again.record(), &whole, "with {lift:?}");
    }
}

#[test]
fn a_gate_holds_the_column_until_it_lifts_and_the_front_follows_its_edge() {
    let held = column(Some(Lift {
        plate: 0,
        speed: 0.5,
        from: 0.06,
    }))
    .record();
    // Shut: hydrostatic at the sensor, nothing beyond the gate.
    let rest = 1000.0 * G * 0.08;
    let foot = at(&held, "foot", 0.058);
    assert!((foot / rest - 1.0).abs() < 0.02, "{foot} Pa, at rest {rest}");
    let front = at(&held, "front", 0.058);
    assert!((front - 0.06).abs() < 1e-6, "{front}");
    // Lifting for 20 ms: a gap of 10 mm lets oil out below and holds the column above.
    let back = at(&held, "back from above", 0.08);
    assert!(back > 0.095, "{back}");
    assert!(at(&held, "front", 0.3) > 0.2);
    // A gate is never quicker than none, and one that vanishes in a moment is none.
    let free = column(None).record();
    let flown = column(Some(Lift {
        plate: 0,
        speed: 100.0,
        from: 0.0,
    }))
    .record();
    let fronts = [&free, &flown, &held].map(|r| {
        let delay = if std::ptr::eq(r, &held) { 0.06 } else { 0.0 };
        at(r, "front", delay + 0.12)
    });
    assert!((fronts[0] - fronts[1]).abs() < 0.01, "{fronts:?}");
    assert!(fronts[2] < fronts[0] - 0.005, "{fronts:?}");
}

#[test]
fn boxes_and_a_circuit_do_not_go_together_and_a_dry_tank_is_refused() {
    let mut column = column(None);
    let circuit = oil::circuit::Circuit {
        displacement: 1e-5,
        relief_flow: 1e-3,
        aloft: vec![(0.0, 0.0)],
        aloft_factor: 1.0,
        shares: Vec::new(),
        delays: Vec::new(),
    };
    let inputs = Inputs {
        circuit: Some(&circuit),
        ..column.inputs()
    };
    let fault = Run::start(inputs).err().unwrap();
    assert!(
        fault.to_string().contains("cannot feed an oil circuit"),
        "{fault}"
    );
    column.start[0].high.z = -1.0;
    let fault = Run::start(column.inputs()).err().unwrap();
    assert!(fault.to_string().contains("no liquid"), "{fault}");
}

/// Steady wall amplitude of a tank of length L swayed by X₀ sin(Ωt), small waves, no friction:
/// `η = (X₀ Ω²/g) [L/2 + Σ 4/(L k²) Ω²/(ω² − Ω²)]` over odd modes, `k = nπ/L`, `ω² = g k tanh(k h)`;
/// linear wave theory, derived by expanding the sway in the tank's modes. L 0.3 m, h 0.05 m, X₀ 2 mm,
/// Ω = 0.6 ω₁ = 4.2154 rad/s: 0.796 mm.
#[test]
fn a_swayed_tank_answers_with_the_amplitude_of_linear_theory() {
    let (length, depth, sway, pulse) = (0.3, 0.05, 0.002, 4.2154);
    let due: f64 = (1..200).step_by(2).fold(0.5 * length, |sum, n| {
        let k = f64::from(n) * std::f64::consts::PI / length;
        let square = G * k * (k * depth).tanh();
        sum + 4.0 / (length * k * k) * pulse * pulse / (square - pulse * pulse)
    }) * sway
        * pulse
        * pulse
        / G;
    assert!((due - 0.000_796).abs() < 1e-6, "{due}");
    let tank = tank(DVec3::new(length, 0.02, 0.1));
    let lattice = Lattice::of_tank(&tank, 0.01).unwrap();
    let period = TAU / pulse;
    let motion = Motion {
        turn: None,
        shifts: vec![Shift {
            along: DVec3::X,
            displacement: Signal::Harmonic {
                amplitude: sway,
                period,
                ramp: 4.0 * period,
            },
        }],
    };
    let drive = motion.drive("sway", G, 7.0 * period).unwrap();
    let probes = [0.0, length].map(|x| Probe {
        name: format!("{x}"),
        watch: Watch::Level {
            at: DVec2::new(x, 0.01),
        },
    });
    let level = [Block {
        low: DVec3::splat(-FAR),
        high: DVec3::new(FAR, FAR, depth),
    }];
    let inputs = Inputs {
        lattice: &lattice,
        doors: &[],
        fluid: WATER,
        circuit: None,
        drive: &drive,
        fill: Fill::Boxes(&level),
        probes: &probes,
        tank: None,
        settings: Settings {
            wall_friction: false,
            ..Settings::default()
        },
        start: 0.0,
        end: drive.end(),
    };
    let mut run = Run::start(inputs).unwrap();
    while !run.finished() {
        run.advance().unwrap();
    }
    let record = run.record();
    // The part of half the difference of the two walls that swings with the drive, over three whole periods.
    let (left, right) = (
        record.series("0 from above").unwrap(),
        record.series("0.3 from above").unwrap(),
    );
    let (mut sum, mut last) = (0.0, 4.0 * period);
    for (i, &time) in record.time.iter().enumerate() {
        if time > 4.0 * period {
            sum += (pulse * time).sin() * 0.5 * (right[i] - left[i]) * (time - last);
            last = time;
        }
    }
    let got = (2.0 * sum / (3.0 * period)).abs();
    assert!((got / due - 1.0).abs() < 0.03, "got {got:.6} m, due {due:.6} m");
}
