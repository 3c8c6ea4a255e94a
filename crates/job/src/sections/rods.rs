//! `[rods]`: what the big ends and counterweights sweep inside the pan.

use clearance::Rods;
use clearance::outside::convex_parts;
use clearance::rods::{BigEndPart, Counterweight, Measured, Rod, RodBolts};
use glam::DVec2;
use measure::Dimension::{Angle, Length};
use pan::CrankSweep;

use super::shapes;
use crate::section::{Bounds, Section, Shape};

/// Most rods on a crank.
const MOST_RODS: usize = 24;
/// Most counterweights.
const MOST_WEIGHTS: usize = 48;
/// Most corners of a big end's outline, arcs made into chords.
const MOST_CORNERS: usize = 400;
/// Chords of a big end's arcs [m].
const SAGITTA: f64 = 20e-6;
/// Gap wanted to the sweep when none is stated [m].
pub(crate) const USUAL_GAP: f64 = 3e-3;
/// Why.
pub(crate) const GAP_REASON: &str =
    "3 mm (1/8 in) beside the rod bolts, gasket not counted; common practice, no source";

/// Rods, with the gap wanted to what they sweep [m].
pub(crate) fn read(section: &Section, crank: Option<&CrankSweep>) -> Option<(Rods, f64)> {
    let size = Bounds::above_to(0.0, 1.0);
    let stroke = section.quantity("stroke", Length, size);
    let length = section.quantity("length", Length, size);
    let pin_offset = section.quantity_or(
        "pin_offset",
        Length,
        Bounds::within(-0.1, 0.1),
        0.0,
        "the bore runs through the crank's centre unless stated",
    );
    let big_end = big_end(section);
    let rods = stations(section);
    let counterweights = counterweights(section);
    let gap = section.quantity_or("gap", Length, Bounds::within(0.0, 0.1), USUAL_GAP, GAP_REASON);
    let Some(crank) = crank else {
        let what = "the rods need the crank's centreline".to_owned();
        let mend = "add a [crank] with from, to and radius".to_owned();
        section.fault("missing-section", "", what, mend);
        return None;
    };
    let rods = Rods {
        origin: crank.origin,
        axis: crank.axis,
        throw: 0.5 * stroke?,
        length: length?,
        pin_offset: pin_offset?,
        big_end: big_end?,
        rods: rods?,
        counterweights: counterweights?,
    };
    if let Some(fault) = rods.fault() {
        let mend = "length is between the rod's two centres, stroke is twice the throw".to_owned();
        section.fault("rods", "length", fault.to_string(), mend);
        return None;
    }
    Some((rods, gap?))
}

/// The big end by its outline, or by what a shop measures of it.
fn big_end(section: &Section) -> Option<Vec<BigEndPart>> {
    let width = section.quantity("width", Length, Bounds::above_to(0.0, 0.3));
    match section.one_of(&["big_end", "outline"], "big_end = \"76 mm\" and cap = \"33 mm\"")? {
        "outline" => {
            let outline = shapes::outline(section, "outline")?;
            let region = outline.region(0.0, SAGITTA);
            let corners: usize = region.loops().map(Vec::len).sum();
            if corners > MOST_CORNERS {
                let what = format!("the outline has {corners} corners when its arcs are made chords");
                let mend = format!("draw it with at most {MOST_CORNERS}");
                section.fault("out-of-range", "outline", what, mend);
                return None;
            }
            let half_width = 0.5 * width?;
            let part = |corners: Vec<DVec2>| BigEndPart { corners, half_width };
            Some(convex_parts(&region).into_iter().map(part).collect())
        }
        _ => {
            let size = Bounds::above_to(0.0, 0.5);
            let across = section.quantity("big_end", Length, size);
            let cap = section.quantity("cap", Length, size);
            let bolts = match section.below("bolts") {
                None => Some(None),
                Some(inside) => {
                    let apart = inside.quantity("apart", Length, size);
                    let down = inside.quantity("down", Length, size);
                    let diameter = inside.quantity("diameter", Length, size);
                    inside.finish();
                    (|| {
                        Some(Some(RodBolts {
                            apart: apart?,
                            down: down?,
                            diameter: diameter?,
                        }))
                    })()
                }
            };
            let measured = Measured {
                across: across?,
                cap: cap?,
                width: width?,
                bolts: bolts?,
            };
            Some(measured.parts())
        }
    }
}

/// Where the rods stand along the crank, and how each bore leans.
fn stations(section: &Section) -> Option<Vec<Rod>> {
    section.shaped("stations", Shape::Quantities(Length));
    section.shaped("leans", Shape::Quantities(Angle));
    let node = section.required("stations", "[\"45 mm\", \"135 mm\"]")?;
    let list = section.list("stations", node)?;
    let stations: Vec<Option<f64>> = list
        .iter()
        .map(|n| section.value("stations", n, Length))
        .collect();
    let stations: Vec<f64> = stations.into_iter().collect::<Option<_>>()?;
    if stations.is_empty() || stations.len() > MOST_RODS {
        let what = format!("{} rods are stated", stations.len());
        let mend = format!("give the middle of each bearing along the crank, 1 to {MOST_RODS} of them");
        section.fault("out-of-range", "stations", what, mend);
        return None;
    }
    section.note("stations", node, format!("{} rods", stations.len()));
    let leans = match section.node("leans") {
        None => {
            section.default("leans", "0 deg".to_owned(), "upright bores unless stated");
            vec![0.0; stations.len()]
        }
        Some(node) => {
            let list = section.list("leans", node)?;
            let leans: Vec<Option<f64>> = list.iter().map(|n| section.value("leans", n, Angle)).collect();
            let leans: Vec<f64> = leans.into_iter().collect::<Option<_>>()?;
            if leans.len() != stations.len() {
                let what = format!("{} leans for {} rods", leans.len(), stations.len());
                let mend = "give one lean for each station, in the same order".to_owned();
                section.fault("out-of-range", "leans", what, mend);
                return None;
            }
            section.note("leans", node, format!("{} bores", leans.len()));
            leans
        }
    };
    let rod = |(station, lean)| Rod { station, lean };
    Some(stations.into_iter().zip(leans).map(rod).collect())
}

fn counterweights(section: &Section) -> Option<Vec<Counterweight>> {
    let mut all = Vec::new();
    let mut sound = true;
    for one in section.several("counterweights") {
        let at = one.rising("at", Length);
        let radius = one.quantity("radius", Length, Bounds::above_to(0.0, 0.5));
        one.finish();
        match (at, radius) {
            (Some((from, to)), Some(radius)) => all.push(Counterweight { from, to, radius }),
            _ => sound = false,
        }
    }
    if all.len() > MOST_WEIGHTS {
        let what = format!("{} counterweights are stated", all.len());
        let mend = format!("at most {MOST_WEIGHTS} are read here");
        section.fault("out-of-range", "counterweights", what, mend);
        return None;
    }
    sound.then_some(all)
}
