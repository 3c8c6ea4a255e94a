//! `[engine]` and `[installation]`.

use measure::Dimension::{Angle, EngineSpeed};
use measure::frames::Installation;

use crate::design::Engine;
use crate::section::{Bounds, Section};

/// `[engine]`
pub(crate) fn engine(section: &Section) -> Option<Engine> {
    let name = section.text("name", "2.0 L four");
    let idle = section.quantity_or(
        "idle",
        EngineSpeed,
        Bounds::POSITIVE,
        15.0,
        "common practice, no source",
    );
    let redline = section.quantity("redline", EngineSpeed, Bounds::POSITIVE);
    let (idle, redline) = (idle?, redline?);
    if redline <= idle {
        let what = format!(
            "the redline {} is not above idle {}",
            section.show(redline, EngineSpeed),
            section.show(idle, EngineSpeed)
        );
        section.fault(
            "out-of-range",
            "redline",
            what,
            "give the highest engine speed in use".to_owned(),
        );
        return None;
    }
    Some(Engine {
        name: name?,
        idle,
        redline,
    })
}

/// `[installation]`: how the engine sits in the car.
pub(crate) fn installation(section: &Section) -> Option<Installation> {
    let quarter = std::f64::consts::FRAC_PI_2;
    let half = std::f64::consts::PI;
    let orientation = section.choice("orientation", &[("along", false), ("across", true)], None);
    let heading = match orientation {
        Some(true) => section.choice("front", &[("right", -quarter), ("left", quarter)], None),
        Some(false) => section.choice(
            "front",
            &[("forward", 0.0), ("rearward", half)],
            Some((
                "forward",
                "an engine along the car points its front forward unless stated",
            )),
        ),
        None => {
            section.node("front");
            None
        }
    };
    let upright = "upright and level unless stated";
    let most = Bounds::within(-quarter, quarter);
    let lean = section.quantity_or("inclination", Angle, most, 0.0, upright);
    let rake = section.quantity_or(
        "rake",
        Angle,
        Bounds::within(-quarter / 3.0, quarter / 3.0),
        0.0,
        upright,
    );
    Some(Installation {
        heading: heading?,
        lean: lean?,
        rake: rake?,
    })
}
