//! `[pickup]`, `[[return]]` and `[crank]`.

use glam::DVec3;
use measure::Dimension::{Length, Share, Time};
use pan::{CrankSweep, Mouth, ReturnPlace};

use crate::section::{Bounds, Section};

/// Wall of a suction tube whose outside is not stated [m].
const TUBE_WALL: f64 = 1.5e-3;

/// `[pickup]`
pub(crate) fn mouth(section: &Section) -> Option<Mouth> {
    let at = section.point3("mouth");
    let diameter = section.quantity("diameter", Length, Bounds::POSITIVE);
    let outside = section.quantity_or(
        "outside",
        Length,
        Bounds::POSITIVE,
        diameter.unwrap_or(0.0) + 2.0 * TUBE_WALL,
        "common practice, no source: a tube wall of 1.5 mm round the opening",
    );
    let (diameter, outside) = (diameter?, outside?);
    if outside < diameter {
        let what = format!(
            "the outside of the pickup at its rim, {}, is smaller than its opening, {}",
            section.show(outside, Length),
            section.show(diameter, Length)
        );
        let mend =
            "state the outside diameter of bell, screen box or tube at the rim, or leave it out".to_owned();
        section.fault("out-of-range", "outside", what, mend);
        return None;
    }
    Some(Mouth {
        at: at?,
        diameter,
        outside,
    })
}

/// A return place with its share and delay.
pub(crate) struct Return {
    pub place: ReturnPlace,
    /// Share of the returning oil; `None` when not stated.
    pub share: Option<f64>,
    /// Time in flight [s].
    pub delay: f64,
}

/// `[[return]]`, with the section that states it, for faults found later.
pub(crate) fn returns<'t>(top: &Section<'t>) -> Vec<(Option<Return>, Section<'t>)> {
    top.parts("return")
        .into_iter()
        .map(|(name, section)| (one_return(name, &section), section))
        .collect()
}

fn one_return(name: String, section: &Section) -> Option<Return> {
    let at = section.point3("at");
    let diameter = section.quantity("diameter", Length, Bounds::POSITIVE);
    let share = section.optional_quantity("share", Share, Bounds::within(0.0, 1.0));
    let delay = section.quantity_or(
        "delay",
        Time,
        Bounds::within(0.0, 60.0),
        1.0,
        "common practice, no source: hot oil from the bearings is home in about a second",
    );
    if section.has("share") && share.is_none() {
        return None;
    }
    Some(Return {
        place: ReturnPlace {
            name,
            at: at?,
            diameter: diameter?,
        },
        share,
        delay: delay?,
    })
}

/// `[crank]`: centreline and what sweeps round it.
pub(crate) fn crank(section: &Section) -> Option<CrankSweep> {
    let (from, to) = (section.point3("from"), section.point3("to"));
    let way = section.one_of(&["radius", "profile"], "radius = \"75 mm\"");
    let profile = match way {
        Some("radius") => section
            .quantity("radius", Length, Bounds::POSITIVE)
            .map(|r| vec![(0.0, r), (1.0, r)]),
        Some(_) => profile(section),
        None => None,
    };
    let (from, to, mut profile) = (from?, to?, profile?);
    let along: DVec3 = to - from;
    let length = along.length();
    let Some(axis) = along.try_normalize() else {
        let what = "the crank has no length: from and to are one point".to_owned();
        section.fault(
            "zero-size",
            "to",
            what,
            "give the two ends of the crank centreline".to_owned(),
        );
        return None;
    };
    if way == Some("radius") {
        profile[1].0 = length;
    }
    Some(CrankSweep {
        origin: from,
        axis,
        profile,
    })
}

/// Stations along the centreline, counted from `from`, with the radius swept there.
fn profile(section: &Section) -> Option<Vec<(f64, f64)>> {
    let rows = section.rows("profile", [Length; 2])?;
    let rising = rows.windows(2).all(|w| w[0][0] <= w[1][0]);
    let radii = rows.iter().all(|r| r[1] >= 0.0) && rows.iter().any(|r| r[1] > 0.0);
    if rows.len() < 2 || !rising || !radii {
        let what = "the profile needs two rows or more, with stations that rise and radii of zero or more";
        let mend = "write each row as [\"station from the start\", \"swept radius\"]";
        section.fault("out-of-range", "profile", what.to_owned(), mend.to_owned());
        return None;
    }
    Some(
        rows.into_iter()
            .map(|[station, radius]| (station, radius))
            .collect(),
    )
}
