//! `[removal]`: how the pan may be moved on its way out.

use clearance::removal::Limits;
use measure::Dimension::{Angle, Length};

use crate::section::{Bounds, Section, Shape, listed};
use crate::tree::Value;

/// The limits; `plates` are the names of the design's plates in order.
pub(crate) fn read(section: &Section, plates: &[String]) -> Option<Limits> {
    let usual = Limits::default();
    let tilt = section.quantity_or(
        "tilt",
        Angle,
        Bounds::within(0.0, 1.05),
        usual.tilt,
        "as far as a pan is leaned by hand: common practice, no source",
    );
    let slide = section.quantity_or(
        "slide",
        Length,
        Bounds::within(0.0, 0.6),
        usual.slide,
        "as far as a pan is slid under the block: common practice, no source",
    );
    let room = section.quantity_or(
        "room",
        Length,
        Bounds::within(0.0, 0.05),
        usual.room,
        "just clear of everything: common practice, no source",
    );
    let pickup_on_pan = section.choice(
        "pickup",
        &[("engine", false), ("pan", true)],
        Some(("engine", "the pickup stays on the engine unless stated")),
    );
    let staying = staying(section, plates);
    Some(Limits {
        tilt: tilt?,
        slide: slide?,
        room: room?,
        staying: staying?,
        pickup_on_pan: pickup_on_pan?,
    })
}

/// Numbers of the plates that are named in `stays`.
fn staying(section: &Section, plates: &[String]) -> Option<Vec<usize>> {
    section.shaped("stays", Shape::Texts);
    let Some(node) = section.node("stays") else {
        section.default(
            "stays",
            "none".to_owned(),
            "plates come off with the pan unless stated",
        );
        return Some(Vec::new());
    };
    let mut numbers = Vec::new();
    for name in section.list("stays", node)? {
        let Value::Text(name) = &name.value else {
            let what = format!("{} stands where the name of a plate is due", name.value.kind());
            section.fault("wrong-kind", "stays", what, "write stays = [\"tray\"]".to_owned());
            return None;
        };
        let Some(number) = plates.iter().position(|p| p == name) else {
            let known: Vec<&str> = plates.iter().map(String::as_str).collect();
            let mend = match measure::nearest(name, known.iter().copied()) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("the plates are {}", listed(&known)),
            };
            section.fault(
                "unknown-plate",
                "stays",
                format!("there is no plate \"{name}\""),
                mend,
            );
            return None;
        };
        numbers.push(number);
    }
    section.note("stays", node, format!("{} plates", numbers.len()));
    Some(numbers)
}
