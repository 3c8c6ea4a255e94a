//! `[[drive.manoeuvre]]`: single tests.

use drive::Gearing;
use drive::manoeuvre::{Manoeuvre, Side, Staging};
use measure::Dimension::{Acceleration, Angle, EngineSpeed, Speed, Time};
use measure::STANDARD_GRAVITY;

use crate::design::Engine;
use crate::plan::{Car, DrivePlan, manoeuvre_fault};
use crate::section::{Bounds, Section};

const LOAD: Bounds = Bounds::above_to(0.0, 6.0 * STANDARD_GRAVITY);
const LONG: Bounds = Bounds::within(0.0, 600.0);
const FAST: Bounds = Bounds::above_to(0.0, 150.0);

/// All manoeuvres of the section `[drive]`.
pub(crate) fn read(section: &Section, car: Option<&Car>, engine: Option<&Engine>) -> Vec<DrivePlan> {
    let mut plans = Vec::new();
    for (name, part) in section.parts("manoeuvre") {
        let manoeuvre = manoeuvre(&part);
        let staging = staging(&part, car, engine);
        let place = part.place.clone();
        part.finish();
        let (Some(manoeuvre), Some(staging)) = (manoeuvre, staging) else {
            continue;
        };
        // Driving it costs milliseconds and finds what the single numbers do not show.
        match manoeuvre.drive(&staging) {
            Err(fault) => section.desk.fault(manoeuvre_fault(&fault, &name, &place)),
            Ok(_) => plans.push(DrivePlan::Manoeuvre {
                name,
                place,
                manoeuvre,
                staging,
            }),
        }
    }
    plans
}

#[derive(Clone, Copy)]
enum Kind {
    Corner,
    Stop,
    Launch,
    TrailBrake,
    Chicane,
    TiltBench,
}

fn manoeuvre(part: &Section) -> Option<Manoeuvre> {
    let kind = part.choice(
        "kind",
        &[
            ("sustained corner", Kind::Corner),
            ("stop", Kind::Stop),
            ("launch", Kind::Launch),
            ("trail braking", Kind::TrailBrake),
            ("chicane", Kind::Chicane),
            ("tilt bench", Kind::TiltBench),
        ],
        None,
    );
    let Some(kind) = kind else {
        // The keys are right or wrong only for a kind: judge none of them.
        for key in [
            "lateral", "braking", "driving", "speed", "hold", "side", "brake", "sweep", "change",
        ] {
            part.node(key);
        }
        for key in ["angle", "toward", "tilting"] {
            part.node(key);
        }
        return None;
    };
    let side = || part.choice("side", &[("left", Side::Left), ("right", Side::Right)], None);
    let load = |key| part.quantity(key, Acceleration, LOAD);
    let time = |key| part.quantity(key, Time, LONG);
    let speed = || part.quantity("speed", Speed, FAST);
    match kind {
        Kind::Corner => {
            let (lateral, side, speed, hold) = (load("lateral"), side(), speed(), time("hold"));
            Some(Manoeuvre::SustainedCorner {
                lateral: lateral?,
                side: side?,
                speed: speed?,
                hold: hold?,
            })
        }
        Kind::Stop => {
            let (braking, speed) = (load("braking"), speed());
            Some(Manoeuvre::Stop {
                braking: braking?,
                speed: speed?,
            })
        }
        Kind::Launch => {
            let (driving, speed) = (load("driving"), speed());
            Some(Manoeuvre::Launch {
                driving: driving?,
                speed: speed?,
            })
        }
        Kind::TrailBrake => {
            let (braking, lateral, side) = (load("braking"), load("lateral"), side());
            let (speed, brake, sweep, hold) = (speed(), time("brake"), time("sweep"), time("hold"));
            Some(Manoeuvre::TrailBrake {
                braking: braking?,
                lateral: lateral?,
                side: side?,
                speed: speed?,
                brake: brake?,
                sweep: sweep?,
                hold: hold?,
            })
        }
        Kind::Chicane => {
            let (lateral, side, speed) = (load("lateral"), side(), speed());
            let (hold, change) = (time("hold"), time("change"));
            Some(Manoeuvre::Chicane {
                lateral: lateral?,
                side: side?,
                speed: speed?,
                hold: hold?,
                change: change?,
            })
        }
        Kind::TiltBench => {
            let quarter = std::f64::consts::FRAC_PI_2;
            let angle = part.quantity("angle", Angle, Bounds::above_to(0.0, quarter));
            let toward = part.choice(
                "toward",
                &[
                    ("front", 0.0),
                    ("left", quarter),
                    ("rear", 2.0 * quarter),
                    ("right", -quarter),
                ],
                None,
            );
            let (tilting, hold) = (time("tilting"), time("hold"));
            Some(Manoeuvre::TiltBench {
                angle: angle?,
                toward: toward?,
                tilting: tilting?,
                hold: hold?,
            })
        }
    }
}

fn staging(part: &Section, car: Option<&Car>, engine: Option<&Engine>) -> Option<Staging> {
    let reason = "common practice, no source";
    let gearing = match (
        part.optional_quantity("engine_speed", EngineSpeed, Bounds::NOT_NEGATIVE),
        car,
        engine,
    ) {
        (Some(speed), _, _) => Some(Gearing::Constant(speed)),
        (None, Some(car), _) if !part.has("engine_speed") => Some(car.gearing.clone()),
        (None, None, Some(engine)) if !part.has("engine_speed") => {
            let shown = part.show(engine.redline, EngineSpeed);
            part.default(
                "engine_speed",
                shown,
                "the redline: the pump draws most and most oil is aloft",
            );
            Some(Gearing::Constant(engine.redline))
        }
        _ => None,
    };
    let usual = Staging::usual(Gearing::Constant(0.0));
    let lead_in = part.quantity_or("lead_in", Time, LONG, usual.lead_in, reason);
    let onset = part.quantity_or("onset", Time, Bounds::above_to(0.0, 60.0), usual.onset, reason);
    let run_out = part.quantity_or("run_out", Time, LONG, usual.run_out, reason);
    Some(Staging {
        engine: gearing?,
        lead_in: lead_in?,
        onset: onset?,
        run_out: run_out?,
        rate: usual.rate,
    })
}
