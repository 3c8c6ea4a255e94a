//! A made-up suction side: smooth numbers with a corner that is not fed.

use report::findings::{
    AirFact, BellFact, BlockedScreen, FedSpeed, FeedChange, FeedFacts, FeedLine, FeedMap, FeedMoment,
    FeedState, JointFacts, LeakFact, LiftFacts, MouthFacts, PartLoss,
};
use sumpwright_report as report;

const OVER: f64 = 101_325.0;

fn pressure(speed: f64, celsius: f64) -> f64 {
    let flow = speed.min(80.0) / 80.0;
    OVER - 1200.0 - 9e3 * flow * flow - 55e3 * flow * (-celsius / 18.0).exp()
}

pub fn feed() -> FeedFacts {
    let speeds: Vec<f64> = (0..=24).map(|i| 15.0 + 4.0 * f64::from(i)).collect();
    let temperatures: Vec<f64> = (0..=28).map(|i| 273.15 + 5.0 * f64::from(i)).collect();
    let map = temperatures
        .iter()
        .flat_map(|t| speeds.iter().map(move |s| pressure(*s, t - 273.15)))
        .collect();
    let state = |name: &str, celsius: f64, speed: f64| {
        let left = pressure(speed, celsius);
        let lost = OVER - left - 1200.0;
        let part = |(part, share): (&str, f64)| PartLoss {
            part: part.to_owned(),
            loss: share * lost,
        };
        let mut losses: Vec<PartLoss> = [
            ("screen", 0.2),
            ("into the tube", 0.1),
            ("straight tube", 0.5),
            ("bends", 0.2),
        ]
        .map(part)
        .into();
        losses.push(PartLoss {
            part: "lift to the pump".to_owned(),
            loss: 1200.0,
        });
        FeedState {
            name: name.to_owned(),
            temperature: celsius + 273.15,
            engine_speed: speed,
            flow: 7e-6 * speed,
            flow_speed: 0.02 * speed,
            reynolds: 30.0 * speed,
            losses,
            pressure: left,
        }
    };
    let air = |leak: f64| AirFact {
        leak,
        bubbles: 0.09,
        released: 0.012,
    };
    FeedFacts {
        said:
            "With working oil the pump is fed: the inlet keeps 91.1 kPa (13.2 psi) at the worst of the drive."
                .to_owned(),
        holds: true,
        over: OVER,
        least: 70e3,
        working: 383.15,
        line: FeedLine {
            length: 0.26,
            narrowest: 0.018,
            rise: 0.135,
            screen_open: Some(2.1),
        },
        lift: LiftFacts {
            standing: 1050.0,
            worst: 1200.0,
            at: 2.5,
        },
        map: FeedMap {
            speeds,
            temperatures,
            pressure: map,
        },
        speeds: vec![
            FedSpeed {
                temperature: 273.15,
                viscosity: 1.9e-3,
                speed: Some(42.0),
                free: false,
            },
            FedSpeed {
                temperature: 303.15,
                viscosity: 2.8e-4,
                speed: Some(111.0),
                free: true,
            },
        ],
        warm_enough: Some(297.0),
        states: vec![
            state("cold, at idle", 0.0, 15.0),
            state("cold, at full speed", 0.0, 111.0),
            state("working, at full speed", 110.0, 111.0),
        ],
        drive: FeedMoment {
            time: 2.5,
            place: "at 2.5 s".to_owned(),
            engine_speed: 108.0,
            pressure: 91_100.0,
        },
        blocked: vec![BlockedScreen {
            share: 0.5,
            pressure: 88e3,
        }],
        most_blocked: Some(0.81),
        changes: vec![FeedChange {
            what: "a tube and inlet 2.0 mm (0.08 in) wider".to_owned(),
            pressure: 94e3,
            warm_enough: Some(291.0),
        }],
        mouth: MouthFacts {
            floor: 0.010,
            bells: vec![BellFact {
                diameter: 0.036,
                own: true,
                speed: 0.74,
                asked: 0.136,
                ring: 4.4,
                clearance: 0.28,
            }],
        },
        joint: JointFacts {
            seal: "metal on metal".to_owned(),
            follows: 0.0,
            states: vec!["cold, at idle".to_owned(), "working, at full speed".to_owned()],
            leaks: vec![LeakFact {
                what: "as described: metal on metal, 0.050 mm out of flat".to_owned(),
                own: true,
                air: vec![air(0.004), air(0.021)],
            }],
        },
        remarks: vec!["Pressures are absolute.".to_owned()],
    }
}
