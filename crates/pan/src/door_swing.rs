//! What a door's flap runs into between shut and its stop.

use crate::panel::{Flap, Panel};
use crate::{Cavity, Door};

/// Step in which the flap is swung [rad]; a strike is told to within this.
const STEP: f64 = 0.035;
/// Points across and along the flap.
const POINTS: usize = 7;
/// The flap is taken this much smaller all round [m], or by the door's gap when that is more: neighbours that it
/// only brushes are the gap's business.
const MARGIN: f64 = 1e-3;

/// What a flap strikes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Struck {
    /// The wall or floor of the cavity.
    Cavity,
    /// Another plate, by index.
    Plate(usize),
}

/// The first thing that a door's flap runs into before its stop, with the angle [rad]; `None` when it swings
/// free. `panels[i]` are the panels of plate i; `own` is the panel the door hangs on.
pub fn strike(cavity: &Cavity, panels: &[Vec<Panel>], door: &Door, own: &Panel) -> Option<(f64, Struck)> {
    let flap = door.flap(own);
    let steps = (door.stop / STEP).ceil().max(1.0) as usize;
    let places = flap_places(&flap, MARGIN.max(door.gap));
    for i in 1..=steps {
        let (before, angle) = (
            door.stop * (i - 1) as f64 / steps as f64,
            door.stop * i as f64 / steps as f64,
        );
        for &(out, side) in &places {
            let (from, to) = (flap.point(before, out, side), flap.point(angle, out, side));
            if !cavity.contains(to) {
                return Some((angle, Struck::Cavity));
            }
            for (plate, panel) in panels
                .iter()
                .enumerate()
                .flat_map(|(p, list)| list.iter().map(move |q| (p, q)))
            {
                // Its own panel is behind it from the first step on.
                if panel == own {
                    continue;
                }
                let through = panel.crossing(from, to);
                if through.is_some_and(|at| panel.outline.contains(at) && !panel.openings.contains(at)) {
                    return Some((angle, Struck::Plate(plate)));
                }
            }
        }
    }
    None
}

/// (out from the hinge, along the hinge) of points on the flap.
fn flap_places(flap: &Flap, margin: f64) -> Vec<(f64, f64)> {
    let length = (flap.length - margin).max(0.5 * flap.length);
    let half = (0.5 * flap.width - margin).max(0.25 * flap.width);
    let mut places = Vec::new();
    for i in 1..=POINTS {
        for j in 0..POINTS {
            let out = length * i as f64 / POINTS as f64;
            places.push((out, half * (2.0 * j as f64 / (POINTS - 1) as f64 - 1.0)));
        }
    }
    places
}
