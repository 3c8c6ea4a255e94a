//! `[shop.dipstick]`, `[shop.tilt]`, `[shop.weld]`, `[shop.fit]`.

use measure::Dimension::{Angle, Length, Time, Volume};

use crate::cards::{Fit, Stick, Weld};
use crate::section::{Bounds, Section};

const PRACTICE: &str = "common practice, no source";

/// A stick leaning more than this from upright reads nothing useful: 75 degrees.
const LEAST_RISE: f64 = 0.26;

pub(crate) fn stick(section: &Section) -> Option<Stick> {
    let (foot, top) = (section.point3("foot"), section.point3("top"));
    let volume = |key| section.optional_quantity(key, Volume, Bounds::POSITIVE);
    let (low, high) = (volume("low"), volume("high"));
    if !section.has("low") {
        let reason = "the lowest safe fill is found by sumpwright check; state it here";
        section.default("low", "not known".to_owned(), reason);
    }
    if !section.has("high") {
        let reason = "from the room that limits.crank_gap leaves under the crank";
        section.default("high", "from the crank".to_owned(), reason);
    }
    let (foot, top) = (foot?, top?);
    let along = top - foot;
    if !(along.z > LEAST_RISE * along.length()) {
        section.fault(
            "out-of-range",
            "top",
            "the stick does not rise from its foot to its top".to_owned(),
            "give the lower end as foot; a stick that leans more than 75 deg from upright tells nothing"
                .to_owned(),
        );
        return None;
    }
    if let (Some(low), Some(high)) = (low, high)
        && low >= high
    {
        let what = "the low mark is not below the high mark".to_owned();
        section.fault(
            "out-of-order",
            "low",
            what,
            "state less oil for low than for high".to_owned(),
        );
        return None;
    }
    Some(Stick {
        foot,
        top,
        low,
        high,
        place: section.place.clone(),
    })
}

pub(crate) fn tilt(section: &Section) -> Option<f64> {
    let range = Bounds::within(5f64.to_radians(), 60f64.to_radians());
    let reason = "as far as two people hold a pan with oil: common practice, no source";
    section.quantity_or("angle", Angle, range, 30f64.to_radians(), reason)
}

pub(crate) fn weld(section: &Section) -> Option<Weld> {
    let run = section.quantity_or("run", Length, Bounds::within(0.01, 0.3), 0.04, PRACTICE);
    let skim = section.quantity_or("skim", Length, Bounds::within(0.0, 0.01), 1e-3, PRACTICE);
    Some(Weld {
        run: run?,
        skim: skim?,
    })
}

pub(crate) fn fit(section: &Section) -> Option<Fit> {
    let bead = section.quantity_or("bead", Length, Bounds::within(1e-3, 0.01), 3e-3, PRACTICE);
    let wait = section.optional_quantity("wait", Time, Bounds::within(0.0, 30.0 * 86_400.0));
    let bad = section.has("wait") && wait.is_none();
    let retorque = section.choice(
        "retorque",
        &[("ask the maker", None), ("yes", Some(true)), ("no", Some(false))],
        Some(("ask the maker", "some sealants forbid it")),
    );
    (!bad).then_some(())?;
    Some(Fit {
        bead: bead?,
        wait,
        retorque: retorque?,
    })
}
