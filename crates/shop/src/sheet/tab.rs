//! Tabs: flanges bent along stated edges, to lie on floor, wall or another plate, with the holes that fasten them.
//!
//! ```text
//!        │ plate          A tab lies on what the edge meets, its outer face a fitting gap off it. So the sharp line of its
//!        │                bend stands (T/2 + gap) / sin A before that, and the tab bends by the angle A between the
//!   ─────╰────── tab      plate's own way and the wall's. An edge that meets nothing gets a tab at right angles.
//!  ═══════════════ wall
//! ```

use super::blank::Cut;
use super::fasten::{Fasten, PLUG_PITCH, plug, row};
use super::fault::SheetFault;
use super::flat::relief_width;
use super::part::{Face, Fold, Part};
use super::plate::{Edge, Work};
use super::trim::{Trimmed, section, straight_edges};
use glam::DVec2;
use outline::Closed;
use pan::panel::Panel;
use pan::{Pan, Region};
use std::f64::consts::FRAC_PI_2;

/// Shortest edge that carries a tab [m].
const LEAST_EDGE: f64 = 15e-3;
/// How far on each side of the plate the wall's slope is felt [m].
const FEEL: f64 = 1e-3;

/// What stands behind the tabs of a plate.
pub(super) struct Ground<'a> {
    pub pan: &'a Pan,
    pub panels: &'a [Panel],
    pub sizes: &'a [Trimmed],
    /// Whether the tabs come up in the flat.
    pub up: bool,
}

/// Adds the tabs that the work asks for.
pub(super) fn add(
    part: &mut Part,
    ground: &Ground,
    work: &Work,
    cuts: &mut Vec<Cut>,
    notes: &mut Vec<String>,
) -> Result<(), SheetFault> {
    let last = ground.panels.len() - 1;
    for &edge in &work.tabs {
        let mut found = false;
        for face in 0..ground.panels.len() {
            // The ends of a wall are those of its first and last leg.
            if (edge == Edge::Start && face != 0) || (edge == Edge::End && face != last) {
                continue;
            }
            for ends in straight_edges(&part.faces[face].region, edge.way(), LEAST_EDGE) {
                found |= tab(part, ground, work, (face, edge, ends), cuts, notes)?;
            }
        }
        if !found {
            return Err(SheetFault::NoEdge {
                edge: edge.word(),
                least: LEAST_EDGE,
            });
        }
    }
    Ok(())
}

/// One tab along the edge from `a` to `b`, the metal to its left; false when the edge is too short for it.
fn tab(
    part: &mut Part,
    ground: &Ground,
    work: &Work,
    (face, edge, (a, b)): (usize, Edge, (DVec2, DVec2)),
    cuts: &mut Vec<Cut>,
    notes: &mut Vec<String>,
) -> Result<bool, SheetFault> {
    // Walked so that the tab lies to the left.
    let (along, long) = ((a - b).normalize(), a.distance(b));
    let out = along.perp();
    let (angle, back) = lie(ground, work, face, (a.midpoint(b), out), notes, edge);
    let bend = work.bend(angle)?;
    let hold = held_back(part, work, face);
    let (low, high) = ends_of(part, face, (b, along, long), hold, work.tab, ground.up);
    if high - low < LEAST_EDGE.min(2.0 * work.tab) {
        return Ok(false);
    }
    let least = work.least_flange(&bend);
    let name = format!("the tab at the {}", edge.word());
    if work.tab < least - 1e-9 {
        return Err(SheetFault::FlangeTooNarrow {
            face: name,
            wide: work.tab,
            least,
        });
    }
    let fold = Fold {
        parent: face,
        origin: b - out * back,
        along,
        bend,
        up: ground.up,
    };
    // The outside of the tab ends `tab` from the outside of the bend.
    let wide = work.tab - 0.5 * work.thickness * (0.5 * angle).tan();
    let region = fold.rectangle((low, high), (0.0, wide));
    part.faces.push(Face {
        name: name.clone(),
        region,
        fold: Some(fold),
    });
    fasten(work, part.faces.len() - 1, &fold, (low, high), wide, &name, cuts)?;
    Ok(true)
}

/// Angle of the tab's bend, and how far its sharp line stands behind the edge of the metal.
fn lie(
    ground: &Ground,
    work: &Work,
    face: usize,
    (middle, out): (DVec2, DVec2),
    notes: &mut Vec<String>,
    edge: Edge,
) -> (f64, f64) {
    let (panel, size) = (&ground.panels[face], &ground.sizes[face]);
    let side = if work.tabs_positive { 1.0 } else { -1.0 };
    let half = 0.5 * work.thickness;
    let inside = middle - out * 2e-3;
    let reach = |section: &Region| {
        let stretches = section.chords(inside, out);
        stretches
            .iter()
            .find(|(from, to)| *from < 0.0 && *to > 0.0)
            .map(|s| s.1 - 2e-3)
    };
    let near = |wall: f64| wall < work.gap + work.thickness + 0.5e-3;
    if let Some(wall) = reach(&size.section).filter(|w| near(*w)) {
        // The wall's way past the plate: how much farther out it stands a little to the tab's side.
        let there = reach(&section(ground.pan, panel, side * FEEL));
        let slope = there.map_or(0.0, |t| (t - wall) / FEEL);
        let angle = snapped(FRAC_PI_2 - slope.atan());
        return (angle, (half + work.gap) / angle.sin() - wall);
    }
    let on_plate = size.ends.iter().find_map(|e| {
        let off = e.along.perp_dot(middle - e.at).abs();
        (off < e.half + work.gap + work.thickness + 1e-3 && e.along.dot(out).abs() < 0.35).then_some((e, off))
    });
    if let Some((e, off)) = on_plate {
        // Along the other plate, to the tab's side.
        let lift = |v: DVec2| panel.u * v.x + panel.v * v.y;
        let way = e.normal.cross(lift(out.perp())).normalize_or_zero();
        let way = way * (way.dot(panel.normal) * side).signum();
        let angle = snapped(way.dot(lift(out)).clamp(-1.0, 1.0).acos());
        return (angle, (half + work.gap + e.half) / angle.sin() - off);
    }
    notes.push(format!(
        "the tab at the {} meets nothing: it is bent square, as a stiffener",
        edge.word()
    ));
    (FRAC_PI_2, 0.0)
}

/// A tenth of a degree off a whole degree is the reckoning's own error.
fn snapped(angle: f64) -> f64 {
    let degrees = angle.to_degrees();
    if (degrees - degrees.round()).abs() < 0.1 {
        degrees.round().to_radians()
    } else {
        angle
    }
}

/// How far a tab keeps from the ends of its edge: clear of the bend beside it and of the pan's corner radius there.
fn held_back(part: &Part, work: &Work, face: usize) -> f64 {
    let corner = part
        .folds()
        .filter(|(i, f)| *i == face || f.parent == face)
        .map(|(_, f)| f.bend.middle_setback() + 0.5 * work.thickness)
        .fold(0.0, f64::max);
    let radius = work
        .radius
        .unwrap_or_else(|| work.metal.usual_radius(work.thickness));
    corner.max(radius + work.thickness) + relief_width(work.thickness)
}

/// From where to where along the edge the tab runs: shorter at an inside corner, where the next leg's tab lies too.
fn ends_of(
    part: &Part,
    face: usize,
    (from, along, long): (DVec2, DVec2, f64),
    hold: f64,
    wide: f64,
    up: bool,
) -> (f64, f64) {
    let (mut low, mut high) = (hold, long - hold);
    for (i, fold) in part.folds() {
        if (i != face && fold.parent != face) || fold.up != up || fold.along.dot(along).abs() > 0.5 {
            continue;
        }
        let mitre = wide * (0.5 * fold.bend.angle).tan() + relief_width(part.thickness);
        for (end, place) in [(true, from), (false, from + along * long)] {
            if fold.seen(place).y.abs() < 1e-3 + fold.bend.middle_setback() {
                if end {
                    low = low.max(mitre);
                } else {
                    high = high.min(long - mitre);
                }
            }
        }
    }
    (low, high)
}

/// The holes that fasten a tab, on the middle of its flat.
fn fasten(
    work: &Work,
    face: usize,
    fold: &Fold,
    (low, high): (f64, f64),
    wide: f64,
    name: &str,
    cuts: &mut Vec<Cut>,
) -> Result<(), SheetFault> {
    let m = fold.bend.middle_setback();
    let (hole, end, pitch, least) = match work.fasten {
        Fasten::Plain => return Ok(()),
        Fasten::Weld => {
            let hole = plug(work.thickness);
            (hole, 2.0 * hole, PLUG_PITCH, 3.0 * hole)
        }
        Fasten::Rivet(r) => (r.hole(), r.least_edge(), r.pitch().1, r.pitch().0),
    };
    // As near to the bend as the head or the weld allows, and at least the rule from the edge.
    let middle = 0.5 * (m + wide);
    if let Fasten::Rivet(rivet) = work.fasten {
        let edge = wide - middle;
        if edge < rivet.least_edge() - 1e-9 {
            return Err(SheetFault::RivetNearEdge {
                face: name.to_owned(),
                diameter: rivet.diameter,
                edge,
                least: rivet.least_edge(),
            });
        }
    }
    for s in row(low + end, high - end, pitch, least) {
        cuts.push(Cut {
            shape: Closed::circle(fold.at(s, middle), 0.5 * hole),
            face: Some(face),
            edge: None,
        });
    }
    Ok(())
}
