//! Litres along the dipstick, in the car as it stands.

use super::Folder;
use crate::failure::Failure;
use glam::DVec3;
use job::Design;
use measure::frames::Installation;
use measure::{Dimension, show};
use report::findings::{DipstickFacts, StickMark, StickRow, Warning};
use still::Stick;

/// A row every half litre [m³].
const STEP: f64 = 0.5e-3;
/// How well a car's rake and an engine's lean are known [rad].
const UNSURE: f64 = std::f64::consts::PI / 180.0;

/// What is marked; `None` when no stick is described.
pub fn facts(design: &Design, folder: &mut Folder) -> Result<Option<DipstickFacts>, Failure> {
    let Some(stated) = &design.shop.cards.dipstick else {
        return Ok(None);
    };
    let stick = Stick {
        foot: stated.foot,
        top: stated.top,
    };
    let up = design.installation.pan_from_car() * DVec3::Z;
    let no_level = |what: String| {
        Failure::input(
            format!("the dipstick cannot be marked: {what}"),
            format!("{}, shop.dipstick", stated.place),
            "give foot and top of a stick that rises, and fills that the cavity holds",
        )
    };
    let along_with = |up: DVec3, volume: f64| -> Result<f64, Failure> {
        let offset = design
            .pan
            .height_at_volume(up, volume)
            .map_err(|f| no_level(f.to_string()))?;
        stick
            .wetted(up, offset)
            .ok_or_else(|| no_level("it lies along the oil".to_owned()))
    };
    let along = |volume: f64| along_with(up, volume);
    let litres = |v: f64| show(v, Dimension::Volume, design.units);
    let touch = design.pan.crank_touch_volume(up);
    let room = design
        .pan
        .crank_gap(up, 0.0)
        .map(|gap| design.pan.volume_at_height(up, gap - design.limits.crank_gap));
    let mut said = Vec::new();
    let high = match (stated.high, room) {
        (Some(high), _) => {
            let gap = (design.pan.height_at_volume(up, high).ok())
                .and_then(|offset| design.pan.crank_gap(up, offset));
            let length = |v: f64| show(v, Dimension::Length, design.units);
            said.push(match gap {
                Some(gap) if gap < design.limits.crank_gap => format!(
                    "HIGH as stated, {}: {} to the crank's sweep with the engine off, where limits.crank_gap asks for {}.",
                    litres(high),
                    length(gap),
                    length(design.limits.crank_gap)
                ),
                Some(gap) => format!("HIGH as stated, {}: {} to the crank's sweep, engine off.", litres(high), length(gap)),
                None => format!("HIGH as stated, {}; no crank is stated to hold it against.", litres(high)),
            });
            Some(high)
        }
        (None, Some(room)) if room > 0.0 => {
            said.push(format!(
                "HIGH leaves {} from the oil to the crank's sweep, engine off ({} touch it).",
                show(design.limits.crank_gap, Dimension::Length, design.units),
                touch.map_or("more than the pan holds".to_owned(), litres)
            ));
            Some(room)
        }
        _ => {
            said.push("No HIGH mark: neither a crank nor shop.dipstick.high is stated.".to_owned());
            None
        }
    };
    match stated.low {
        Some(low) => said.push(format!("LOW as stated, {}: the lowest safe fill.", litres(low))),
        None => {
            said.push("No LOW mark yet: sumpwright check finds the lowest safe fill; state it as shop.dipstick.low.".to_owned());
        }
    }
    let mut marks = Vec::new();
    let mut mark = |name: &str, volume: f64, running: bool| -> Result<(), Failure> {
        marks.push(StickMark {
            name: name.to_owned(),
            volume,
            along: along(volume)?,
            running,
        });
        Ok(())
    };
    if let Some(low) = stated.low {
        mark("LOW", low, false)?;
    }
    mark("FILL", design.fill, false)?;
    if let Some(high) = high {
        mark("HIGH", high, false)?;
    }
    if let Ok(idle) = design.circuit.pan_at(design.engine.idle, design.fill) {
        mark("filled, at idle", idle, true)?;
    }
    warn(design, stated.low, high, &marks, folder);
    let most = marks.iter().map(|m| m.volume).fold(0.0, f64::max) + STEP;
    let count = (most / STEP).ceil().min(200.0) as usize;
    let rows: Result<Vec<StickRow>, Failure> = (1..=count)
        .map(|i| i as f64 * STEP)
        .filter(|v| *v < design.pan.cavity.volume())
        .map(|volume| {
            Ok(StickRow {
                volume,
                along: along(volume)?,
            })
        })
        .collect();
    let rows: Vec<StickRow> = rows?.into_iter().filter(|r| r.along >= 0.0).collect();
    said.push(unsure(design, &along_with)?);
    said.push(format!(
        "Counted for a level floor, a rake of {}, the engine leaning by {}.",
        show(design.installation.rake, Dimension::Angle, design.units),
        show(design.installation.lean, Dimension::Angle, design.units)
    ));
    Ok(Some(DipstickFacts {
        rows,
        marks,
        steps: [
            "Car on a level floor, tyres as they race, driver out.",
            "Engine hot, off for ten minutes, so that the oil is home.",
            "Stick out, wiped, in to its stop, out again: read the lower edge of the wet.",
            "First fill with a measured can: where the stick says otherwise, the can is right.",
        ]
        .map(str::to_owned)
        .into(),
        said,
    }))
}

/// What is wrong with the marks.
fn warn(design: &Design, low: Option<f64>, high: Option<f64>, marks: &[StickMark], folder: &mut Folder) {
    let litres = |v: f64| show(v, Dimension::Volume, design.units);
    let mut say = |said: String, mend: &str| {
        folder.warnings.push(Warning {
            said,
            mend: mend.to_owned(),
        });
    };
    for m in marks.iter().filter(|m| m.along < 0.0) {
        say(
            format!(
                "the dipstick's foot stands above the oil at {}, {}",
                m.name,
                litres(m.volume)
            ),
            "a longer stick, or its foot lower",
        );
    }
    if let Some(high) = high
        && design.fill > high
    {
        say(
            format!(
                "the fill of {} stands over HIGH, {}",
                litres(design.fill),
                litres(high)
            ),
            "less oil, more room under the crank, or a smaller limits.crank_gap that you answer for",
        );
    }
    if let (Some(low), Some(high)) = (low, high)
        && low >= high
    {
        say(
            format!(
                "LOW, {}, is not below HIGH, {}: no level is right",
                litres(low),
                litres(high)
            ),
            "a pan that needs less oil, or more room under the crank",
        );
    }
}

/// What a degree of rake and of lean does to the reading of the fill.
fn unsure(design: &Design, along: &dyn Fn(DVec3, f64) -> Result<f64, Failure>) -> Result<String, Failure> {
    let reading = |installation: Installation| along(installation.pan_from_car() * DVec3::Z, design.fill);
    let here = reading(design.installation)?;
    let rake = reading(Installation {
        rake: design.installation.rake + UNSURE,
        ..design.installation
    })?;
    let lean = reading(Installation {
        lean: design.installation.lean + UNSURE,
        ..design.installation
    })?;
    let length = |v: f64| show(v.abs(), Dimension::Length, design.units);
    Ok(format!(
        "A degree more of rake moves the reading of FILL by {}, a degree of lean by {}.",
        length(rake - here),
        length(lean - here)
    ))
}
