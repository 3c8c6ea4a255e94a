//! A joint of our own invention: a rectangle of eight bolts, low in one corner.

use sumpwright_report::findings::{
    BoltFact, FaceFact, LimitFact, OrderFact, PressFact, SealFacts, SealView, ShortFact, SkimFact, SpanFact,
    Warning, WhatIfFact,
};

pub fn seal() -> SealFacts {
    let ring = |x: f64, y: f64| vec![[-x, -y], [x, -y], [x, y], [-x, y]];
    let along = (0..80)
        .map(|i| {
            let t = f64::from(i) / 20.0;
            let (side, u) = (t.floor() as usize % 4, t.fract());
            let c = ring(0.19, 0.11);
            let (a, b) = (c[side], c[(side + 1) % 4]);
            let at = [a[0] + (b[0] - a[0]) * u, a[1] + (b[1] - a[1]) * u];
            let pressure = 4e6 - 3e6 * (at[0] + at[1]) / 0.3;
            [at[0], at[1], pressure, -1e-5, pressure / 3e6]
        })
        .collect();
    SealFacts {
        said: "At the torque stated the joint does not get what it needs everywhere.".into(),
        holds: false,
        warnings: vec![Warning {
            said: "the bolts bottom 1.0 mm before they clamp".into(),
            mend: "take shorter bolts".into(),
        }],
        faces: vec![FaceFact {
            face: "pan".into(),
            said: "The pan's face is 0.120 mm out of flat.".into(),
            flatness: Some(1.2e-4),
            at_least: Some(0.9e-4),
            least_squares: Some(1.3e-4),
            rms: Some(4e-5),
            target: 1e-4,
            datum: "the lower plane".into(),
            points: vec![
                [0.19, 0.11, 0.0],
                [-0.19, 0.11, 1.2e-4],
                [-0.19, -0.11, 4e-5],
                [0.19, -0.11, 3e-5],
            ],
            spans: vec![SpanFact {
                bolts: [1, 2],
                length: 0.19,
                hollow: 5e-5,
                crown: 0.0,
                readings: 1,
            }],
            skim: Some(SkimFact {
                depth: 2e-5,
                clean_up: 1.2e-4,
                places: vec![[-0.19, 0.11, 2e-5]],
            }),
            lines: vec![[5e-5, 6e-5, 7e-5]],
            disagree: Some(1e-6),
        }],
        press: Some(PressFact {
            said: "With 3.00 kN a bolt the need is met 0.70 times at the worst place.".into(),
            holds: false,
            clamp: [3000.0, 6000.0],
            service: [0.7, 1.4],
            mean: 4e6,
            evenness: 0.3,
            widest: 0.0,
            short: vec![ShortFact {
                bolts: [3, 4],
                length: 0.05,
                at: [0.19, 0.11],
                service: 0.7,
                opening: 0.0,
            }],
            pulled_in: Some([1.2e-4, 3e-5]),
            what_ifs: vec![WhatIfFact {
                said: "both faces made flat".into(),
                service: 1.2,
                short: 0.0,
                widest: 0.0,
            }],
            along,
        }),
        bolts: BoltFact {
            said: "8 bolts M6 x 25, 8.8, oiled.".into(),
            count: 8,
            stated: Some(9.0),
            suggested: Some(8.5),
            least: Some(6.0),
            torque: 9.0,
            friction: [0.10, 0.16],
            nut_factor: [0.143, 0.213],
            clamp: [5.5e3, 7.6e3, 10.5e3],
            limits: vec![LimitFact {
                said: "bolt at 90 % of yield while it turns".into(),
                force: Some(10.4e3),
                torque: 8.9,
            }],
            proof: [11.6e3, 16.1e3],
            engaged: 11e-3,
            engagement_wanted: [10.4e-3, 8.3e-3],
            strips: [18e3, 22e3],
            spare: Some(-1e-3),
            under_head: [150e6, 230e6],
            settles: 1.2e3,
            heat: [-400.0, 1.6e3],
            creep: [0.2, 0.35],
            left: [3.4e3, 8.4e3],
            left_at_worst: [3.0e3, 10.0e3],
            slip: 1e-5,
        },
        turned: Vec::new(),
        order: Some(OrderFact {
            said: "From the middle outward: 2, 6, 4, 8, 1, 5, 3, 7.".into(),
            order: vec![2, 6, 4, 8, 1, 5, 3, 7],
            passes: vec![2.7, 5.85, 9.0, 9.0],
            spread: vec![[0.8, 1.0], [0.9, 1.0], [0.95, 1.0], [0.99, 1.0]],
            worth: Some(4),
        }),
        counted: vec!["Friction counted oiled from 0.10 to 0.16.".into()],
        cautions: vec!["The engine maker's torques win over everything here.".into()],
        view: SealView {
            outer: ring(0.2, 0.12),
            inner: ring(0.18, 0.1).into_iter().rev().collect(),
            bolts: vec![
                [-0.19, -0.11],
                [0.0, -0.11],
                [0.19, -0.11],
                [0.19, 0.0],
                [0.19, 0.11],
                [0.0, 0.11],
                [-0.19, 0.11],
                [-0.19, 0.0],
            ],
            hole: 6.6e-3,
        },
    }
}
