//! Against `proofs::suction` and limits that every line keeps.

use super::*;
use proofs::suction as published;

fn plain(bore: f64, length: f64) -> Line {
    Line {
        mouth: bore,
        rim: bore + 3e-3,
        floor: 0.010,
        entry: Entry::Tube {
            wall: 1.5e-3,
            radius: 0.0,
        },
        screen: None,
        pieces: vec![Piece {
            bore,
            run: Run::Straight(length),
        }],
        roughness: 1.5e-6,
        inlet: bore,
    }
}

#[test]
fn whole_lines_are_as_worked_outside() {
    for case in published::LINES {
        let line = plain(case.bore, case.length);
        let oil = Fluid {
            density: case.density,
            viscosity: case.viscosity * 1e-6,
        };
        let flow = case.flow / 60e3;
        // The pump 50 mm above the oil.
        let push = -measure::STANDARD_GRAVITY * 0.050;
        let of = |part| line.loss(part, &oil, flow, push);
        let lost = of(Part::Tube) + case.fittings * of(Part::Speed);
        if let Some(due) = case.loss {
            assert!((lost / due - 1.0).abs() < 2e-4, "{lost} Pa, due {due}");
        }
        let inlet = 101_325.0 - lost - of(Part::Lift) - of(Part::Speed);
        // Worked with a round roughness; printed to 1 Pa.
        assert!((inlet - case.inlet).abs() < 2.0, "{inlet} Pa, due {}", case.inlet);
    }
}

/// A line with everything in it.
fn furnished() -> Line {
    let bend = Run::Bend {
        angle: PI / 2.0,
        radius: 0.030,
    };
    let piece = |bore, run| Piece { bore, run };
    Line {
        mouth: 0.040,
        rim: 0.044,
        screen: Some(Screen {
            weave: Weave::Wires {
                wire: 0.4e-3,
                gap: 1.2e-3,
            },
            area: area(0.040),
            blocked: 0.0,
        }),
        entry: Entry::Cone {
            wall: 2e-3,
            length: 0.020,
        },
        pieces: vec![
            piece(0.019, Run::Straight(0.08)),
            piece(0.019, bend),
            piece(0.017, Run::Straight(0.10)),
        ],
        inlet: 0.022,
        ..plain(0.019, 0.1)
    }
}

fn hot() -> Fluid {
    Fluid {
        density: 800.0,
        viscosity: 14e-6,
    }
}

fn cold() -> Fluid {
    Fluid {
        density: 870.0,
        viscosity: 1500e-6,
    }
}

#[test]
fn every_part_costs_more_with_more_flow_and_nothing_without() {
    let mut lines = vec![furnished()];
    for entry in [Entry::Box, Entry::Bell { radius: 0.01 }] {
        lines.push(Line { entry, ..furnished() });
    }
    let mut plate = furnished();
    plate.screen.as_mut().unwrap().weave = Weave::Holes {
        hole: 2.5e-3,
        open: 0.4,
        thickness: 1e-3,
    };
    lines.push(plate);
    for line in &lines {
        for oil in [hot(), cold()] {
            for part in Part::ALL.into_iter().filter(|p| *p != Part::Lift) {
                let at = |litres: f64| line.loss(part, &oil, litres / 60e3, 0.0);
                assert_eq!(at(0.0), 0.0, "{part:?}");
                let costs: Vec<f64> = (1..40).map(|l| at(1.5 * f64::from(l))).collect();
                assert!(costs[0] > 0.0, "{part:?}: {costs:?}");
                assert!(costs.windows(2).all(|w| w[1] > w[0]), "{part:?}: {costs:?}");
            }
        }
    }
}

#[test]
fn a_bell_beats_a_cone_beats_a_box_beats_a_bare_thin_tube() {
    let flow = 40.0 / 60e3;
    let cost = |entry| {
        let line = Line { entry, ..furnished() };
        line.loss(Part::Entry, &hot(), flow, 0.0)
    };
    let costs = [
        cost(Entry::Bell { radius: 0.0105 }),
        cost(Entry::Cone {
            wall: 2e-3,
            length: 0.020,
        }),
        cost(Entry::Box),
        cost(Entry::Tube {
            wall: 0.5e-3,
            radius: 0.0,
        }),
    ];
    assert!(costs.windows(2).all(|w| w[0] < w[1]), "{costs:?}");
}

#[test]
fn a_screen_half_blocked_costs_four_times_when_fast_and_twice_when_creeping() {
    let ratio = |oil: Fluid, flow: f64| {
        let mut line = furnished();
        let clean = line.loss(Part::Screen, &oil, flow, 0.0);
        line.screen.as_mut().unwrap().blocked = 0.5;
        line.loss(Part::Screen, &oil, flow, 0.0) / clean
    };
    // Beyond the table's end the coefficient stands still.
    let thin = Fluid {
        density: 800.0,
        viscosity: 0.1e-6,
    };
    assert!((ratio(thin, 1e-3) - 4.0).abs() < 1e-9);
    // Cold, a little is left of the fast part.
    let creeping = ratio(cold(), 0.2e-3);
    assert!((creeping - 2.0).abs() < 0.1, "{creeping}");
}

#[test]
fn a_floor_far_below_costs_nothing_and_one_close_by_much() {
    let cost = |floor: f64| {
        let line = Line { floor, ..furnished() };
        line.loss(Part::Rim, &hot(), 40.0 / 60e3, 0.0)
    };
    assert!(cost(0.1) < 2.0, "{} Pa", cost(0.1));
    assert!(cost(0.002) > 1000.0, "{} Pa", cost(0.002));
}
