//! A flap against the formulae, and steps against finer ones.

use super::*;
use glam::DVec2;
use oil::fluid::Fluid;
use pan::{Cavity, Door, Hinge, Lattice, Mouth as Pickup, Outline, Pan, Plate, PlateShape, Pocket};

/// A box parted by a wall with a door of 50 × 40 mm in it, hung on its upper edge, all under oil.
fn gated(opens_positive: bool) -> Pan {
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
                z_high: 0.0,
            },
            thickness: 1.5e-3,
            openings: vec![],
            perforation: 0.0,
            perforation_hole: 5e-3,
        }],
        doors: vec![Door {
            name: "door".into(),
            plate: 0,
            low: DVec2::new(0.08, -0.14),
            high: DVec2::new(0.12, -0.09),
            hinge: Hinge::Top,
            opens_positive,
            mass: 0.030,
            density: 7850.0,
            stop: 1.2,
            gap: 0.0,
            spring: [0.0, 0.0],
        }],
        mouth: Pickup {
            at: DVec3::new(0.07, 0.0, -0.14),
            diameter: 0.03,
            outside: 0.033,
        },
        returns: Vec::new(),
        crank: None,
    }
}

/// Angle of the flap and flow through it [m³/s] under a steady head [m] in its own sense.
fn held(head: f64, forth: bool) -> (f64, f64) {
    let pan = gated(true);
    let lattice = Lattice::build(&pan, 0.01).unwrap();
    let network = Network::cut(&lattice, &pan.doors).unwrap();
    let still = drive::manoeuvre::Manoeuvre::Stop {
        braking: 0.1,
        speed: 1.0,
    };
    let staging = drive::manoeuvre::Staging::usual(drive::Gearing::Constant(100.0));
    let mut calm = still.drive(&staging).unwrap().in_frame(glam::DMat3::IDENTITY);
    calm.gravity
        .iter_mut()
        .for_each(|g| *g = DVec3::new(0.0, 0.0, -9.80665));
    let mut state = State::start(Inputs {
        network: &network,
        fluid: Fluid {
            density: 810.0,
            viscosity: 1e-6,
        },
        circuit: None,
        drive: &calm,
        fill: 6e-3,
        start: 0.0,
        end: 1.0,
    })
    .unwrap();
    let hung = network.flaps[0].hung.unwrap();
    let ahead = usize::from((hung.sense > 0.0) != forth);
    let mut held = state.volumes.clone();
    // Both bays have the plan of half the box.
    held[network.ports[0].between[ahead]] += head * 0.15 * 0.2;
    for step in 1..2000 {
        state.volumes.clone_from(&held);
        state.look();
        state.advance(1e-3 * f64::from(step), 1e-3);
    }
    (state.flaps[0].0, state.flows[hung.port] * hung.sense)
}

/// First principles, `sin θ = Δp b L / W'` with the submerged weight: a steel flap of 30 g, 50 × 40 mm, in oil of
/// 810 kg/m³: 6.917, 13.937 and 21.179 degrees under 2, 4 and 6 mm. And the orifice formula through what is open:
/// under the free edge the chord, at either side a triangle.
#[test]
fn a_flap_hangs_and_passes_as_the_formulae_say() {
    for (head, degrees) in [(2e-3, 6.917), (4e-3, 13.937), (6e-3, 21.179f64)] {
        let (angle, flow) = held(head, true);
        assert!(
            (angle.to_degrees() / degrees - 1.0).abs() < 0.05,
            "{head} m: {}",
            angle.to_degrees()
        );
        let (length, width) = (0.05, 0.04);
        let open = 2.0 * (0.5 * angle).sin() * length * width + length * length * angle.sin();
        let due = oil::hydraulics::orifice(0.61, open, head, 9.80665);
        assert!((flow / due - 1.0).abs() < 0.05, "{head} m: {flow} against {due}");
        let (shut, back) = held(head, false);
        assert!(shut == 0.0 && back.abs() < 1e-3 * due, "{shut} {back}");
    }
}

/// The pace that is chosen against steps of a millisecond, through a hard stop.
#[test]
fn steps_are_as_short_as_the_oil_asks() {
    let pan = gated(true);
    let lattice = Lattice::build(&pan, 0.01).unwrap();
    let network = Network::cut(&lattice, &pan.doors).unwrap();
    let stop = drive::manoeuvre::Manoeuvre::Stop {
        braking: 9.0,
        speed: 30.0,
    };
    let staging = drive::manoeuvre::Staging::usual(drive::Gearing::Constant(100.0));
    let drive = stop.drive(&staging).unwrap().in_frame(glam::DMat3::IDENTITY);
    let inputs = Inputs {
        network: &network,
        fluid: Fluid {
            density: 850.0,
            viscosity: 1.2e-5,
        },
        circuit: None,
        drive: &drive,
        fill: 3e-3,
        start: 0.0,
        end: 4.0,
    };
    let history = |fine: bool| {
        let mut state = State::start(inputs).unwrap();
        let (mut rows, mut taken) = (Vec::new(), 0);
        for sample in 0..200 {
            let steps = if fine { 20 } else { state.steps() };
            taken += steps;
            let dt = SAMPLE / steps as f64;
            for step in 0..steps {
                state.advance(f64::from(sample) * SAMPLE + (step + 1) as f64 * dt, dt);
            }
            rows.push(state.row(f64::from(sample + 1) * SAMPLE));
        }
        (rows, taken)
    };
    let ((fine, _), (chosen, taken)) = (history(true), history(false));
    assert!(
        (201..800).contains(&taken),
        "{taken} steps: neither always one nor always the most"
    );
    let squares = |by: &dyn Fn(&Row) -> f64| {
        let sum: f64 = fine
            .iter()
            .zip(&chosen)
            .map(|(a, b)| (by(a) - by(b)).powi(2))
            .sum();
        (sum / fine.len() as f64).sqrt()
    };
    let (cover, volume) = (squares(&|row| row.cover), squares(&|row| row.spaces[0]));
    assert!(
        cover < 2e-3 && volume < 0.02 * inputs.fill,
        "{:.2} mm, {:.3} L",
        1e3 * cover,
        1e3 * volume
    );
}
