//! The pan leaned on the bench.

use glam::{DVec2, DVec3};
use job::Design;
use measure::{Dimension, show};
use pan::Region;
use report::findings::{TiltCut, TiltFacts, TiltLine};
use still::{Lean, LeanedCut};

/// The pan is poured to a tenth of a litre [m³].
const STEP: f64 = 0.1e-3;
/// Less of the oil in the pan than this is not worth a lean.
const LEAST_SHARE: f64 = 0.25;
/// What a depth gauge and a protractor tell on a pan [m]; common practice, no source.
const BAND: f64 = 3e-3;

const SIDES: [(&str, &str, DVec2); 4] = [
    ("left", "right", DVec2::Y),
    ("right", "left", DVec2::NEG_Y),
    ("front", "rear", DVec2::X),
    ("rear", "front", DVec2::NEG_X),
];

/// What is to be seen; `None` when no oil stays in.
pub fn facts(design: &Design) -> Option<TiltFacts> {
    let angle = design.shop.cards.tilt;
    let lean = |low| Lean { low, angle };
    let running = design
        .circuit
        .pan_at(design.engine.redline, design.fill)
        .unwrap_or(design.fill);
    let litres = |v: f64| show(v, Dimension::Volume, design.units);
    let mut cuts: Vec<TiltCut> = Vec::new();
    for (low_side, high_side, low) in SIDES {
        let stays = lean(low).most(&design.pan);
        let volume = (running.min(stays) / STEP + 1e-6).floor() * STEP;
        // A splash in a corner proves nothing.
        if volume < LEAST_SHARE * running {
            continue;
        }
        let why = match stays < running {
            true => format!(
                "So much stays in, 5 mm below the flange face; {} are in the pan at the redline.",
                litres(running)
            ),
            false => "What is in the pan at the redline, the rest being aloft.".to_owned(),
        };
        let cut = lean(low).cut(&design.pan, volume);
        if let Some(cut) = cut.and_then(|c| one(design, [low_side, high_side], low, volume, why, &c)) {
            // A pan that is alike on both sides is leaned to one.
            let alike = cuts.last().is_some_and(|l| {
                l.lines
                    .iter()
                    .zip(&cut.lines)
                    .all(|(a, b)| (a.depth - b.depth).abs() < 1e-4)
                    && (l.volume - cut.volume).abs() < 1e-9
                    && (l.cover - cut.cover).abs() < 1e-4
                    && matches!(
                        (l.low_side.as_str(), low_side),
                        ("left", "right") | ("front", "rear")
                    )
            });
            if !alike {
                cuts.push(cut);
            }
        }
    }
    (!cuts.is_empty()).then_some(TiltFacts {
        angle,
        band: BAND,
        cuts,
    })
}

fn one(
    design: &Design,
    [low_side, high_side]: [&str; 2],
    low: DVec2,
    volume: f64,
    why: String,
    cut: &LeanedCut,
) -> Option<TiltCut> {
    let [high_end, low_end] = cut.ends?;
    let (least, most) = cut.hollow.bounds()?;
    let loops = |r: &Region| {
        r.loops()
            .map(|l| l.iter().map(|p| p.to_array()).collect())
            .collect()
    };
    let angle = design.shop.cards.tilt;
    let wall = |side: &str, end: DVec2, outward: f64| {
        // Where a step out of the oil line along the face is still hollow, the line ends on a floor and not on a wall.
        let beyond = cut.hollow.contains(end + DVec2::new(outward * 1e-3, 0.5e-3));
        let toward = if end.x > 0.0 { low_side } else { high_side };
        TiltLine {
            on_floor: beyond,
            side: if beyond { toward } else { side }.to_owned(),
            depth: -end.y,
            from_mouth: end.x.abs(),
        }
    };
    let car = design.installation.car_from_pan() * DVec3::new(low.x, low.y, 0.0);
    let manoeuvre = if car.x.abs() >= car.y.abs() {
        if car.x > 0.0 { "braking" } else { "driving off" }
    } else if car.y > 0.0 {
        "a right-hand corner"
    } else {
        "a left-hand corner"
    };
    Some(TiltCut {
        low_side: low_side.to_owned(),
        volume,
        why,
        lines: [wall(low_side, low_end, 1.0), wall(high_side, high_end, -1.0)],
        cover: cut.cover,
        said: format!(
            "Cut through the mouth, seen from the engine's {}. The same lean as {manoeuvre} at {:.2} g held for long.",
            if low.y == 0.0 { "right" } else { "rear" },
            angle.tan()
        ),
        walls_cut: loops(&cut.hollow),
        oil: loops(&cut.oil),
        flange: [[least.x, 0.0], [most.x, 0.0]],
        ends: [low_end, high_end].map(|e| [e.to_array(), [e.x, 0.0]]).into(),
        mouth: [0.0, design.pan.mouth.at.z],
        mirrored: matches!(low_side, "left" | "rear"),
    })
}
