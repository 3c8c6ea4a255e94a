//! `[[probe]]`: where the liquid is measured.

use ::pan::{Cavity, Probe, Watch};
use glam::DVec3;
use measure::Dimension::{Length, Share};

use super::{shapes, start};
use crate::section::{Bounds, Section};

#[derive(Clone, Copy)]
enum Kind {
    Pressure,
    Level,
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
        ("front", Kind::Front),
    ];
    let Some(kind) = part.choice("kind", &kinds, None) else {
        // The keys are right or wrong only for a kind: judge none of them.
        for key in ["at", "diameter", "faces", "along", "x", "y", "z", "share"] {
            part.node(key);
        }
        return None;
    };
    match kind {
        Kind::Pressure => pressure(part, hollow),
        Kind::Level => {
            let at = part.point2("at")?;
            let upright = at.extend(0.0);
            let column = hollow.map(|h| {
                let (low, high) = h.bounds();
                let steps = 400;
                (0..=steps).any(|i| {
                    let z = low.z + (high.z - low.z) * (f64::from(i) + 0.5) / f64::from(steps + 1);
                    near(h, upright.with_z(z))
                })
            });
            if column == Some(false) {
                outside(part, hollow);
                return None;
            }
            Some(Watch::Level { at })
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
            if let Some(h) = hollow {
                let (low, high) = h.bounds();
                if !(band.low.cmplt(high).all() && band.high.cmpgt(low).all()) {
                    outside(part, hollow);
                    return None;
                }
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
        outside(part, hollow);
        return None;
    }
    Some(Watch::Pressure {
        at,
        facing: facing?,
        diameter: diameter?,
    })
}

fn outside(part: &Section, hollow: Option<&Cavity>) {
    let what = "the probe lies outside the tank".to_owned();
    let key = if part.has("at") { "at" } else { "z" };
    part.fault("outside-tank", key, what, start::tank_from_to(part, hollow));
}

/// Inside the cavity or on its wall: within a millimetre, as a sensor let into a wall is drawn.
fn near(cavity: &Cavity, point: DVec3) -> bool {
    const WALL: f64 = 1e-3;
    let step = |i: i32| f64::from(i) * WALL;
    (-1..=1).any(|x| {
        (-1..=1).any(|y| (-1..=1).any(|z| cavity.contains(point + DVec3::new(step(x), step(y), step(z)))))
    })
}
