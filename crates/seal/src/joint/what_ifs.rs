//! What a change would do: a thicker rail, more bolts, faces made flat, another joint.

use super::clamped::outcome;
use super::rail::Mesh;
use super::{Bolt, Clamped, Gap, Joint, JointFault, Kind, Wall};
use serde::{Deserialize, Serialize};

/// A span shorter than this has no room for one more head and socket [m]. Common practice, no source.
const ROOM: f64 = 30e-3;

/// A change to a joint, alone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Change {
    /// The rail so many times as thick.
    Thickness {
        /// Factor.
        factor: f64,
    },
    /// The rail stiffened by a wall or an angle.
    Wall {
        /// The wall.
        wall: Wall,
    },
    /// One more bolt midway of each of these spans, like its neighbours.
    Bolts {
        /// Numbers in [`Clamped::spans`].
        spans: Vec<usize>,
    },
    /// Every bolt pulling so many times as hard.
    Preload {
        /// Factor.
        factor: f64,
    },
    /// Both faces made flat.
    Flat,
    /// Another joint.
    Kind {
        /// What the caller calls it.
        name: String,
        /// The joint.
        kind: Box<Kind>,
    },
}

/// A joint under its bolts in a few numbers.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// How many times the need is met at the worst place.
    pub service: f64,
    /// Length of the seal on which it is not met [m].
    pub short: f64,
    /// Widest opening [m].
    pub widest: f64,
    /// Mean pressure at the place pressed least [Pa].
    pub least: f64,
    /// Mean pressure at the place pressed most [Pa].
    pub most: f64,
}

impl From<&Clamped> for Outcome {
    fn from(clamped: &Clamped) -> Outcome {
        let pressures = clamped.places.iter().map(|place| place.pressure);
        Outcome {
            service: clamped.worst_place().service,
            short: clamped.short_length(),
            widest: clamped.widest(),
            least: pressures.clone().fold(f64::INFINITY, f64::min),
            most: pressures.fold(0.0, f64::max),
        }
    }
}

/// A change and what it leads to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WhatIf {
    /// What is changed.
    pub change: Change,
    /// What comes out.
    pub outcome: Outcome,
}

/// Changes that a shop can make to any flange: 1.25, 1.5 and 2 times as thick; a bolt more in each span that falls
/// short (or, when none does, in the worst); one in every span; spans under 30 mm have no room; a quarter more preload; flat faces, when they are not.
pub fn usual_changes(joint: &Joint, clamped: &Clamped) -> Vec<Change> {
    let mut changes: Vec<Change> = [1.25, 1.5, 2.0]
        .into_iter()
        .map(|factor| Change::Thickness { factor })
        .collect();
    let service = |span: usize| clamped.places[clamped.spans[span].worst].service;
    let every: Vec<usize> = (0..clamped.spans.len())
        .filter(|&span| clamped.spans[span].length >= ROOM)
        .collect();
    let mut poor: Vec<usize> = every
        .iter()
        .copied()
        .filter(|&span| service(span) < 1.0)
        .collect();
    if poor.is_empty() {
        poor.extend(
            every
                .iter()
                .copied()
                .min_by(|&a, &b| service(a).total_cmp(&service(b))),
        );
    }
    if !poor.is_empty() && poor.len() < every.len() {
        changes.push(Change::Bolts { spans: poor });
    }
    if !every.is_empty() {
        changes.push(Change::Bolts { spans: every });
    }
    changes.push(Change::Preload { factor: 1.25 });
    if !joint.gap.measured.is_empty() {
        changes.push(Change::Flat);
    }
    changes
}

/// Tries each change alone. Faults: those of [`super::clamp`] for the changed joint.
pub fn what_ifs(joint: &Joint, changes: Vec<Change>) -> Result<Vec<WhatIf>, JointFault> {
    changes
        .into_iter()
        .map(|change| {
            let outcome = outcome(&changed(joint, &change)?)?;
            Ok(WhatIf { change, outcome })
        })
        .collect()
}

/// The least thickness of the rail with which the need is met all round [m], to 1 %, or none up to four times the
/// present one; also smaller than the present one, down to a quarter of it. For a rail of several thicknesses: of the
/// thickest, the others in proportion.
///
/// Thickness is searched from thin to thick, and the first that serves is taken.
pub fn least_thickness(joint: &Joint) -> Result<Option<f64>, JointFault> {
    joint.check()?;
    let thickest = joint
        .flange
        .rail
        .iter()
        .map(|station| station.section.thickness)
        .fold(0.0, f64::max);
    let serves = |factor: f64| {
        Ok::<_, JointFault>(outcome(&changed(joint, &Change::Thickness { factor })?)?.service >= 1.0)
    };
    let mut thin = 0.25;
    if serves(thin)? {
        return Ok(Some(thin * thickest));
    }
    let mut thick = thin;
    while !serves(thick)? {
        thin = thick;
        thick *= 2f64.sqrt();
        if thick > 4.0001 {
            return Ok(None);
        }
    }
    while thick / thin > 1.01 {
        let middle = (thin * thick).sqrt();
        if serves(middle)? {
            thick = middle;
        } else {
            thin = middle;
        }
    }
    Ok(Some(thick * thickest))
}

/// The joint with one change made.
fn changed(joint: &Joint, change: &Change) -> Result<Joint, JointFault> {
    let mut new = joint.clone();
    match change {
        Change::Thickness { factor } => {
            JointFault::positive("the factor on thickness", *factor)?;
            for station in &mut new.flange.rail {
                station.section.thickness *= factor;
            }
        }
        Change::Wall { wall } => {
            for station in &mut new.flange.rail {
                station.section.wall = Some(*wall);
            }
        }
        Change::Bolts { spans } => new.bolts.extend(bolts_between(joint, spans)?),
        Change::Preload { factor } => {
            JointFault::positive("the factor on preload", *factor)?;
            for bolt in &mut new.bolts {
                bolt.preload *= factor;
            }
        }
        Change::Flat => new.gap = Gap::flat(),
        Change::Kind { kind, .. } => new.kind = (**kind).clone(),
    }
    Ok(new)
}

/// A bolt midway of each span, as far off the rail's middle as its neighbours, with the mean of what they have.
fn bolts_between(joint: &Joint, spans: &[usize]) -> Result<Vec<Bolt>, JointFault> {
    let mesh = Mesh::new(&joint.flange, &joint.bolts, joint.element())?;
    let mut order: Vec<usize> = (0..joint.bolts.len()).collect();
    order.sort_by(|&a, &b| mesh.bolts_along[a].total_cmp(&mesh.bolts_along[b]));
    let aside = |bolt: usize| {
        let place = joint.bolts[bolt].place;
        let (beam, share, _) = mesh.nearest(place);
        let beam = &mesh.beams[beam];
        (place - beam.place(share)).dot(beam.way.perp())
    };
    let pairs = if mesh.closed { order.len() } else { order.len() - 1 };
    Ok(spans
        .iter()
        .filter(|&&span| span < pairs)
        .map(|&span| {
            let [one, other] = [order[span], order[(span + 1) % order.len()]];
            let (from, mut to) = (mesh.bolts_along[one], mesh.bolts_along[other]);
            if span + 1 == order.len() {
                to += mesh.length;
            }
            // The first beam of a ring begins at its first node, which may stand after the line's own start.
            let along =
                ((from + to) / 2.0 - mesh.beams[0].along).rem_euclid(mesh.length) + mesh.beams[0].along;
            let beam = mesh
                .beams
                .iter()
                .rev()
                .find(|beam| beam.along <= along)
                .unwrap_or(&mesh.beams[0]);
            let share = ((along - beam.along) / beam.length).clamp(0.0, 1.0);
            let (a, b) = (&joint.bolts[one], &joint.bolts[other]);
            Bolt {
                place: beam.place(share) + beam.way.perp() * ((aside(one) + aside(other)) / 2.0),
                preload: (a.preload + b.preload) / 2.0,
                stiffness: (a.stiffness + b.stiffness) / 2.0,
                seat: (a.seat + b.seat) / 2.0,
            }
        })
        .collect())
}
