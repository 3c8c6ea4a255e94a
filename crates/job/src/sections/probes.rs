//! `[[probe]]`: where the liquid is measured, in a pan as in an experiment.

use ::pan::{Cavity, Probe, Watch};
use glam::{DVec2, DVec3};
use measure::Dimension::{Length, Share};

use super::{shapes, start};
use crate::section::{Bounds, Section};

#[derive(Clone, Copy)]
enum Kind {
    Pressure,
    Level,
    Profile,
    Front,
}

/// All probes; `hollow` is the cavity, when it is sound.
pub(crate) fn read(top: &Section, hollow: Option<&Cavity>) -> Option<Vec<Probe>> {
    top.parts("probe")
        .into_iter()
        .map(|(name, part)| {
            let watch = watch(&part, hollow);
            part.finish();
            Some(Probe { name, watch: watch? })
        })
        .collect::<Vec<_>>()
        .into_iter()
        .collect()
}

fn watch(part: &Section, hollow: Option<&Cavity>) -> Option<Watch> {
    let kinds = [
        ("pressure", Kind::Pressure),
        ("level", Kind::Level),
        ("profile", Kind::Profile),
        ("front", Kind::Front),
    ];
    let Some(kind) = part.choice("kind", &kinds, None) else {
        // The keys are right or wrong only for a kind: judge none of them.
        for key in [
            "at", "diameter", "faces", "from", "to", "count", "along", "x", "y", "z", "share",
        ] {
            part.node(key);
        }
        return None;
    };
    match kind {
        Kind::Pressure => pressure(part, hollow),
        Kind::Level => {
            let at = part.point2("at")?;
            if hollow.is_some_and(|h| !over_floor(h, at)) {
                outside(part, "at", hollow);
                return None;
            }
            Some(Watch::Level { at })
        }
        Kind::Profile => {
            let (from, to) = (part.point2("from"), part.point2("to"));
            part.required("count", "60");
            let count = part.optional_count("count");
            let (from, to, count) = (from?, to?, count?);
            for (key, at) in [("from", from), ("to", to)] {
                if hollow.is_some_and(|h| !over_floor(h, at)) {
                    outside(part, key, hollow);
                    return None;
                }
            }
            if !(2..=500).contains(&count) {
                let what = format!("a profile at {count} places is none");
                part.fault("out-of-range", "count", what, "state 2 to 500 places".to_owned());
                return None;
            }
            Some(Watch::Profile {
                from,
                to,
                count: count as u32,
            })
        }
        Kind::Front => {
            let along = shapes::direction(part, "along");
            let band = start::block(part);
            let share = part.quantity_or(
                "share",
                Share,
                Bounds::above_to(0.0, 1.0),
                0.5,
                "a place counts as reached when half of the band is liquid there",
            );
            let along = along?;
            if along.abs().max_element() < 1.0 || along.z != 0.0 {
                let what = "a front is followed along x or y only".to_owned();
                let mend = "write front, rear, left or right".to_owned();
                part.fault("front-along", "along", what, mend);
                return None;
            }
            let (band, share) = (band?, share?);
            if share >= 1.0 {
                let what = "nothing is more than all of the band".to_owned();
                part.fault("out-of-range", "share", what, "state less than 1".to_owned());
                return None;
            }
            if let Some(key) = hollow.and_then(|h| start::apart(&band, h)) {
                outside(part, key, hollow);
                return None;
            }
            Some(Watch::Front { along, band, share })
        }
    }
}

fn pressure(part: &Section, hollow: Option<&Cavity>) -> Option<Watch> {
    let at = part.point3("at");
    let (diameter, facing) = if part.has("diameter") {
        (
            part.quantity("diameter", Length, Bounds::above_to(0.0, 1.0)),
            shapes::direction(part, "faces"),
        )
    } else {
        if part.has("faces") {
            let what = "a probe without diameter is a point and faces nowhere".to_owned();
            let mend = "add diameter, or leave faces out".to_owned();
            part.fault("missing-key", "faces", what, mend);
            return None;
        }
        part.default("diameter", "a point".to_owned(), "not stated");
        (Some(0.0), Some(DVec3::X))
    };
    let at = at?;
    if hollow.is_some_and(|h| !near(h, at)) {
        outside(part, "at", hollow);
        return None;
    }
    Some(Watch::Pressure {
        at,
        facing: facing?,
        diameter: diameter?,
    })
}

fn outside(part: &Section, key: &str, hollow: Option<&Cavity>) {
    let what = "the probe lies outside the cavity".to_owned();
    part.fault(
        "outside-cavity",
        key,
        what,
        start::from_to(part, "cavity", hollow),
    );
}

/// True where the cavity lies over a place in plan, its walls counted in.
fn over_floor(cavity: &Cavity, at: DVec2) -> bool {
    (-1..=1).any(|y| {
        let section = cavity.upright_section(at + DVec2::new(0.0, f64::from(y) * WALL), DVec2::X);
        (-1..=1).any(|x| {
            let line = DVec2::new(f64::from(x) * WALL, 0.0);
            !section.chords(line, DVec2::Y).is_empty()
        })
    })
}

/// A place this near to the cavity lies on its wall [m].
const WALL: f64 = 1e-3;

/// Inside the cavity or on its wall, as a sensor let into a wall is drawn.
fn near(cavity: &Cavity, point: DVec3) -> bool {
    let step = |i: i32| f64::from(i) * WALL;
    (-1..=1).any(|x| {
        (-1..=1).any(|y| (-1..=1).any(|z| cavity.contains(point + DVec3::new(step(x), step(y), step(z)))))
    })
}
