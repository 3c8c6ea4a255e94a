use super::*;

/// An invented four-cylinder: 10 cm³/rev, relief at 45 L/min, 0.4 L aloft at idle to 1.2 L at speed.
fn circuit() -> Circuit {
    Circuit {
        displacement: 10e-6,
        relief_flow: 45e-3 / 60.0,
        aloft: vec![(15.0, 0.4e-3), (60.0, 0.9e-3), (120.0, 1.2e-3)],
        aloft_factor: 1.0,
        shares: vec![0.5, 0.3, 0.2],
        delays: vec![0.0, 0.35, 1.2],
    }
}

const FILL: f64 = 5.0e-3;

/// A plain repeatable stream of numbers in 0..1 (SplitMix64).
fn stream(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed;
    move || {
        state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }
}

#[test]
fn the_pump_takes_what_speed_gives_and_never_more_than_the_relief_passes() {
    let c = circuit();
    assert!((c.demand(30.0) - 3e-4).abs() < 1e-18);
    assert_eq!(c.demand(200.0), c.relief_flow);
    assert_eq!(c.demand(-1.0), 0.0);
    // One production V6, oil pump page of its service manual: 68.4 L/min at 6000 rpm is 11.4 cm³ a crank turn.
    let v6 = Circuit {
        displacement: 11.4e-6,
        relief_flow: 1.0,
        ..circuit()
    };
    assert!((v6.demand(100.0) * 60e3 - 68.4).abs() < 1e-9);
}

#[test]
fn oil_aloft_is_straight_between_rows_and_flat_beyond() {
    let c = circuit();
    assert_eq!(c.aloft_at(0.0), 0.4e-3);
    assert!((c.aloft_at(37.5) - 0.65e-3).abs() < 1e-15);
    assert_eq!(c.aloft_at(500.0), 1.2e-3);
    assert!((c.with_aloft_factor(1.5).aloft_at(60.0) - 1.35e-3).abs() < 1e-15);
}

#[test]
fn a_steady_engine_stays_steady_and_misses_exactly_the_oil_aloft() {
    let c = circuit();
    let (mut state, mut pan) = CircuitState::start(&c, 100.0, FILL).unwrap();
    assert!((FILL - pan - c.aloft_at(100.0)).abs() < 1e-15);
    let dt = 0.004;
    for step in 0..5000 {
        let drawn = c.demand(100.0) * dt;
        let home: f64 = state.advance(&c, dt, 100.0, drawn).iter().sum();
        pan += home - drawn;
        assert!(
            (FILL - pan - c.aloft_at(100.0)).abs() < 1e-12,
            "step {step}: pan {pan}"
        );
    }
}

#[test]
fn the_ledger_holds_over_a_long_random_run_with_jumps_air_and_uneven_steps() {
    let c = circuit();
    let mut random = stream(7);
    let (mut state, mut pan) = CircuitState::start(&c, 15.0, FILL).unwrap();
    let mut speed = 15.0;
    let mut worst = 0.0_f64;
    for _ in 0..400_000 {
        if random() < 0.01 {
            speed = 10.0 + 130.0 * random();
        }
        let dt = if random() < 0.05 {
            0.5 * random() + 1e-6
        } else {
            2e-3 * random() + 1e-6
        };
        let wanted = c.demand(speed) * dt;
        let drawn = (wanted * if random() < 0.2 { random() } else { 1.0 }).min(pan.max(0.0));
        pan -= drawn;
        let entered = state.advance(&c, dt, speed, drawn);
        assert!(entered.iter().all(|&v| v >= 0.0));
        pan += entered.iter().sum::<f64>();
        assert!(state.engine() >= 0.0);
        worst = worst.max((pan + state.engine() + state.in_flight() - FILL).abs() / FILL);
    }
    assert!(worst < 1e-9, "ledger off by {worst:.2e} of the fill");
}

#[test]
fn each_return_place_gets_its_share_after_its_delay() {
    let c = Circuit {
        aloft: vec![(0.0, 0.0)],
        ..circuit()
    };
    // Engine still for long, then a pulse of 1 mL in one step of 10 ms: nothing aloft, so it goes straight on.
    let (mut state, _) = CircuitState::start(&c, 0.0, FILL).unwrap();
    let dt = 0.01;
    let mut arrived = [0.0; 3];
    let mut when = [f64::NAN; 3];
    for step in 0..200 {
        let drawn = if step == 0 { 1e-6 } else { 0.0 };
        for (place, &v) in state.advance(&c, dt, 0.0, drawn).iter().enumerate() {
            arrived[place] += v;
            if v > 1e-12 && when[place].is_nan() {
                when[place] = f64::from(step) * dt;
            }
        }
    }
    for place in 0..3 {
        assert!(
            (arrived[place] - 1e-6 * c.shares[place]).abs() < 1e-18,
            "place {place}: {}",
            arrived[place]
        );
        assert!(
            (when[place] - c.delays[place]).abs() < dt * 1.001,
            "place {place} at {}",
            when[place]
        );
    }
}

/// Oil in the pan after 6 s in which the engine jumps from 20 to 110 rev/s and back.
fn pan_after_blips(c: &Circuit, dt: f64) -> f64 {
    let (mut state, mut pan) = CircuitState::start(c, 20.0, FILL).unwrap();
    for step in 0..(6.0 / dt).round() as usize {
        let t = step as f64 * dt;
        let speed = if (1.0..3.5).contains(&t) { 110.0 } else { 20.0 };
        let drawn = c.demand(speed) * dt;
        pan += state.advance(c, dt, speed, drawn).iter().sum::<f64>() - drawn;
    }
    pan
}

#[test]
fn the_answer_hangs_on_the_step_only_to_first_order() {
    let c = circuit();
    let exact = pan_after_blips(&c, 0.25e-3);
    let coarse = (pan_after_blips(&c, 8e-3) - exact).abs();
    let fine = (pan_after_blips(&c, 4e-3) - exact).abs();
    assert!(coarse < 1e-6, "8 ms steps move the pan by {:.3} mL", coarse * 1e6);
    assert!(
        fine < 0.7 * coarse + 1e-10,
        "halving the step: {coarse:.2e} to {fine:.2e}"
    );
}

#[test]
fn a_throttle_lift_brings_the_surplus_home_with_the_stated_time_constant() {
    let c = Circuit {
        delays: vec![0.0; 3],
        ..circuit()
    };
    let (mut state, mut pan) = CircuitState::start(&c, 120.0, FILL).unwrap();
    let start = pan;
    for _ in 0..2000 {
        let drawn = c.demand(15.0) * 1e-3;
        pan += state.advance(&c, 1e-3, 15.0, drawn).iter().sum::<f64>() - drawn;
    }
    let back = (pan - start) / (c.aloft_at(120.0) - c.aloft_at(15.0));
    // One time constant: 1 - 1/e by definition.
    assert!((back - (1.0 - (-1.0_f64).exp())).abs() < 1e-3, "{back}");
}

#[test]
fn long_delays_settle_instead_of_swinging() {
    let c = Circuit {
        delays: vec![6.0; 3],
        ..circuit()
    };
    let (mut state, mut pan) = CircuitState::start(&c, 20.0, FILL).unwrap();
    let mut late = (f64::INFINITY, f64::NEG_INFINITY);
    for step in 0..20_000 {
        let drawn = c.demand(25.0) * 5e-3;
        pan += state.advance(&c, 5e-3, 25.0, drawn).iter().sum::<f64>() - drawn;
        if step > 14_000 {
            late = (late.0.min(pan), late.1.max(pan));
        }
    }
    assert!(
        late.1 - late.0 < 1e-9,
        "still swings by {:.3} mL",
        (late.1 - late.0) * 1e6
    );
}

#[test]
fn a_state_written_and_read_back_goes_on_to_the_same_bits() {
    let c = circuit();
    let (mut state, _) = CircuitState::start(&c, 60.0, FILL).unwrap();
    let mut random = stream(3);
    for _ in 0..500 {
        state.advance(
            &c,
            1e-3 * (0.1 + random()),
            20.0 + 100.0 * random(),
            4e-7 * random(),
        );
    }
    let text = serde_json::to_string(&state).unwrap();
    let mut twin: CircuitState = serde_json::from_str(&text).unwrap();
    assert_eq!(state, twin);
    for _ in 0..500 {
        let (dt, speed, drawn) = (1e-3 * (0.1 + random()), 20.0 + 100.0 * random(), 4e-7 * random());
        assert_eq!(
            state.advance(&c, dt, speed, drawn),
            twin.advance(&c, dt, speed, drawn)
        );
    }
    assert_eq!(state, twin);
}

#[test]
fn a_fill_that_all_goes_aloft_is_refused_with_the_numbers() {
    let c = circuit();
    let fault = CircuitState::start(&c, 120.0, 1.2e-3).unwrap_err();
    assert!(matches!(fault, CircuitFault::NothingLeft { .. }));
    let said = fault.to_string();
    assert!(said.contains("7200 rpm") && said.contains("1.20 L"), "{said}");
    assert!(CircuitState::start(&c, 120.0, f64::NAN).is_err());
    assert!(CircuitState::start(&c, f64::INFINITY, FILL).is_err());
}

#[test]
fn every_poisoned_number_of_a_circuit_is_refused() {
    assert!(circuit().check().is_empty());
    for bad in [f64::NAN, f64::INFINITY, -1.0] {
        let mut broken = vec![
            Circuit {
                displacement: bad,
                ..circuit()
            },
            Circuit {
                relief_flow: bad,
                ..circuit()
            },
            Circuit {
                aloft_factor: bad,
                ..circuit()
            },
        ];
        let mut c = circuit();
        c.aloft[1].1 = bad;
        broken.push(c);
        let mut c = circuit();
        c.aloft[2].0 = bad;
        broken.push(c);
        let mut c = circuit();
        c.shares[0] = bad;
        broken.push(c);
        let mut c = circuit();
        c.delays[2] = bad;
        broken.push(c);
        for c in broken {
            assert!(!c.check().is_empty(), "{c:?}");
            assert!(CircuitState::start(&c, 60.0, FILL).is_err());
        }
    }
    let uneven = Circuit {
        delays: vec![0.1],
        ..circuit()
    };
    assert!(matches!(
        uneven.check()[0],
        CircuitFault::ReturnsUneven { shares: 3, delays: 1 }
    ));
    let part = Circuit {
        shares: vec![0.5, 0.3, 0.1],
        ..circuit()
    };
    assert!(matches!(part.check()[0], CircuitFault::SharesNotWhole { .. }));
}

#[test]
fn delays_that_hold_more_than_the_oil_aloft_are_said() {
    assert!(circuit().cautions().is_empty());
    let slow = Circuit {
        delays: vec![5.0; 3],
        ..circuit()
    };
    assert!(slow.cautions()[0].contains("return delays"));
}
