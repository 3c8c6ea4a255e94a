//! A joint under its bolts: pressure all along, where it is too little, how much out-of-flat the bolts took up.

use super::gap::off_plane;
use super::newton::{Pull, Settled, settle};
use super::system::{System, times};
use super::{Gap, Joint, JointFault};
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// Contacts across one cut of a bed.
const ACROSS: usize = 5;

/// A place of the seal.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// Length along the rail's middle line [m].
    pub along: f64,
    /// On the seal's middle line [m].
    pub place: DVec2,
    /// Length of the seal that it stands for [m].
    pub length: f64,
    /// Mean pressure over the seal's width [Pa]; 0 for a wet bead.
    pub pressure: f64,
    /// Greatest across the width [Pa].
    pub highest: f64,
    /// Least across the width [Pa].
    pub lowest: f64,
    /// Between the faces at the seal's middle, beyond the joint's free thickness [m]; below zero: closed by so much.
    pub opening: f64,
    /// How many times the joint's need is met; 1 is just enough, and more than 100 is 100.
    pub service: f64,
}

/// A run of places where the joint is not served.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stretch {
    /// Where it begins, as length along the rail [m]; a run over the rail's join begins before it and ends after.
    pub from: f64,
    /// Where it ends [m].
    pub to: f64,
    /// Its length along the seal [m].
    pub length: f64,
    /// The worst place in it: number in [`Clamped::places`].
    pub worst: usize,
    /// The bolts on either side of the worst place, along the rail.
    pub between: [usize; 2],
}

/// From one bolt to the next along the rail.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Span {
    /// The bolts at its ends.
    pub bolts: [usize; 2],
    /// Its length [m].
    pub length: f64,
    /// Length times β, the rail's stiffness against the joint's: under 2 the pressure is even, over 4.73 a flat rail
    /// lifts off midway. Source: M. Hetényi, Beams on Elastic Foundation (1946), row of equal loads.
    pub beta_length: f64,
    /// The worst place in it: number in [`Clamped::places`].
    pub worst: usize,
}

/// A bolt and its seat at rest.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Seat {
    /// Its pull [N].
    pub pull: f64,
    /// How far the flange rose under it [m]; below zero: sank.
    pub risen: f64,
    /// Length along the rail [m].
    pub along: f64,
}

/// What became of the measured out-of-flat.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PulledIn {
    /// Greatest less least gap along the seal, measured, less the best plane [m].
    pub before: f64,
    /// The same of what the clamped faces keep, over that of flat ones under the same bolts [m].
    pub after: f64,
}

impl PulledIn {
    /// Share that bending the flange took up; the rest is left for the joint to fill.
    pub fn share(&self) -> f64 {
        if self.before > 0.0 {
            1.0 - self.after / self.before
        } else {
            1.0
        }
    }
}

/// A joint under its bolts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Clamped {
    /// All along the seal.
    pub places: Vec<Place>,
    /// Bolts, in the caller's order.
    pub bolts: Vec<Seat>,
    /// From bolt to bolt along the rail.
    pub spans: Vec<Span>,
    /// The place that is served worst: number in [`Clamped::places`].
    pub worst: usize,
    /// Runs where the need is not met.
    pub short: Vec<Stretch>,
    /// Runs where the faces, or the face and the joint, have parted across the whole width.
    pub open: Vec<Stretch>,
    /// Mean pressure of the seal [Pa].
    pub mean: f64,
    /// What the bolts made of the measured out-of-flat; none when both faces are flat.
    pub pulled_in: Option<PulledIn>,
    /// Beams that the rail was cut into.
    pub beams: usize,
    /// Newton steps.
    pub steps: usize,
    /// Force left over, as a share of the bolts' pull.
    pub residual: f64,
}

impl Clamped {
    /// The place served worst.
    pub fn worst_place(&self) -> &Place {
        &self.places[self.worst]
    }

    /// True when the need is met all round.
    pub fn holds(&self) -> bool {
        self.short.is_empty()
    }

    /// Length of the seal on which the need is not met [m].
    pub fn short_length(&self) -> f64 {
        self.short.iter().fold(0.0, |sum, run| sum + run.length)
    }

    /// Widest opening [m]; 0 when none is open.
    pub fn widest(&self) -> f64 {
        self.places.iter().map(|place| place.opening).fold(0.0, f64::max)
    }

    /// Least over greatest mean pressure along the seal.
    pub fn evenness(&self) -> f64 {
        let least = self
            .places
            .iter()
            .map(|place| place.pressure)
            .fold(f64::INFINITY, f64::min);
        let most = self.places.iter().map(|place| place.pressure).fold(0.0, f64::max);
        if most > 0.0 { least / most } else { 0.0 }
    }
}

/// Presses the joint with every bolt at its preload.
///
/// The preloads are taken as they are after the last round: what tightening one bolt does to the others is
/// [`crate::order`]'s subject. Faults: whatever is no joint; [`JointFault::Tips`] when the bolts pull outside the seal;
/// [`JointFault::NotSettled`] when the contact was not found, which is a fault of the program.
pub fn clamp(joint: &Joint) -> Result<Clamped, JointFault> {
    let (system, settled, mut clamped) = press(joint)?;
    let pulls = known(joint);
    clamped.pulled_in = pulled_in(joint, &pulls, &system, &settled)?;
    Ok(clamped)
}

/// The same in a few numbers, at half the cost: nothing is compared with flat faces.
pub(crate) fn outcome(joint: &Joint) -> Result<super::Outcome, JointFault> {
    Ok((&press(joint)?.2).into())
}

fn press(joint: &Joint) -> Result<(System, Settled, Clamped), JointFault> {
    joint.check()?;
    let system = System::new(joint)?;
    let fresh = vec![0.0; system.contacts.len()];
    let pulls = known(joint);
    let settled = settle(&system, &pulls, &fresh, None)?;
    let clamped = read(joint, &system, &pulls, &fresh, &settled);
    Ok((system, settled, clamped))
}

fn known(joint: &Joint) -> Vec<Pull> {
    joint.bolts.iter().map(|bolt| Pull::Known(bolt.preload)).collect()
}

/// Reads pressures and openings off a joint at rest; all but `pulled_in`.
pub(crate) fn read(
    joint: &Joint,
    system: &System,
    pulls: &[Pull],
    most: &[f64],
    settled: &Settled,
) -> Clamped {
    let risen = &settled.risen;
    let places: Vec<Place> = system
        .cuts
        .iter()
        .enumerate()
        .map(|(at, cut)| {
            let range = ACROSS * at..ACROSS * (at + 1);
            let contacts = &system.contacts[range.clone()];
            let (mut force, mut highest, mut lowest) = (0.0, 0.0f64, f64::INFINITY);
            let mut nearest = f64::INFINITY;
            for (contact, &most) in contacts.iter().zip(&most[range]) {
                let closure = system.closure(contact, risen);
                let pressure = system.laws[contact.bed]
                    .as_ref()
                    .map_or(0.0, |law| law.at(closure, most).0);
                force += pressure * contact.area;
                highest = highest.max(pressure);
                lowest = lowest.min(pressure);
                nearest = nearest.min(-closure);
            }
            let pressure = force / (cut.length * cut.width);
            // A carried joint is open only where no part of its width touches; a bead sits at its middle.
            let opening = match joint.kind {
                super::Kind::Sheet { .. } => nearest,
                _ => cut.gap + times(&contacts[ACROSS / 2].row, risen),
            };
            Place {
                along: cut.along,
                place: cut.place,
                length: cut.length,
                pressure,
                highest,
                lowest,
                opening,
                service: joint.kind.service(pressure, opening),
            }
        })
        .collect();
    let bolts: Vec<Seat> = system
        .bolts
        .iter()
        .zip(pulls)
        .zip(&system.mesh.bolts_along)
        .map(|((row, pull), &along)| {
            let risen = times(row, risen);
            Seat {
                pull: pull.at(risen).0,
                risen,
                along,
            }
        })
        .collect();
    let whole: f64 = places.iter().map(|place| place.length * place.pressure).sum();
    let length: f64 = places.iter().map(|place| place.length).sum();
    let spans = spans(joint, system, &places);
    Clamped {
        worst: worst_of(&places, 0..places.len()),
        short: runs(&places, &spans, system, |place| place.service < 1.0),
        open: runs(&places, &spans, system, |place| place.opening > 0.0),
        spans,
        mean: whole / length,
        pulled_in: None,
        beams: system.mesh.beams.len(),
        steps: settled.steps,
        residual: settled.residual,
        bolts,
        places,
    }
}

/// Compares with the same joint on flat faces: what differs between the two closed gaps, at the middle of the seal, is
/// what was not pulled in.
fn pulled_in(
    joint: &Joint,
    pulls: &[Pull],
    system: &System,
    settled: &Settled,
) -> Result<Option<PulledIn>, JointFault> {
    if joint.gap.measured.is_empty() {
        return Ok(None);
    }
    let even = System::new(&Joint {
        gap: Gap::flat(),
        ..joint.clone()
    })?;
    let flat = settle(&even, pulls, &vec![0.0; even.contacts.len()], None)?;
    let before: Vec<f64> = system.cuts.iter().map(|cut| cut.gap).collect();
    let after: Vec<f64> = before
        .iter()
        .enumerate()
        .map(|(cut, gap)| {
            let row = &system.contacts[ACROSS * cut + ACROSS / 2].row;
            gap + times(row, &settled.risen) - times(row, &flat.risen)
        })
        .collect();
    let places: Vec<DVec2> = system.cuts.iter().map(|cut| cut.place).collect();
    let range = |heights: &[f64]| {
        let most = heights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        most - heights.iter().copied().fold(f64::INFINITY, f64::min)
    };
    Ok(Some(PulledIn {
        before: range(&off_plane(&places, &before)),
        after: range(&off_plane(&places, &after)),
    }))
}

/// The place served worst; of equals the one most open, then the one least pressed.
fn worst_of(places: &[Place], among: impl Iterator<Item = usize>) -> usize {
    let key = |at: usize| {
        let place: &Place = &places[at];
        [place.service, -place.opening, place.pressure]
    };
    among
        .min_by(|&a, &b| {
            key(a)
                .partial_cmp(&key(b))
                .expect("a settled joint has no place without a number")
        })
        .unwrap_or(0)
}

/// From bolt to bolt along the rail.
fn spans(joint: &Joint, system: &System, places: &[Place]) -> Vec<Span> {
    let along = &system.mesh.bolts_along;
    let mut order: Vec<usize> = (0..along.len()).collect();
    order.sort_by(|&a, &b| along[a].total_cmp(&along[b]));
    let closed = system.mesh.closed;
    let pairs = if closed { order.len() } else { order.len() - 1 };
    let whole = system.mesh.length;
    (0..pairs)
        .map(|at| {
            let bolts = [order[at], order[(at + 1) % order.len()]];
            let from = along[bolts[0]];
            let mut length = along[bolts[1]] - from;
            if at + 1 == order.len() {
                length += whole;
            }
            // The middle of the rail's sections in the span decides β.
            let betas: Vec<f64> = system
                .mesh
                .beams
                .iter()
                .filter(|beam| (beam.along + beam.length / 2.0 - from).rem_euclid(whole) < length)
                .map(|beam| joint.beta_of(beam.bending, beam.width))
                .collect();
            let beta = betas.iter().sum::<f64>() / betas.len().max(1) as f64;
            let inside = (0..places.len()).filter(|&k| (places[k].along - from).rem_euclid(whole) <= length);
            Span {
                bolts,
                length,
                beta_length: beta * length,
                worst: worst_of(places, inside),
            }
        })
        .collect()
}

/// Runs of neighbouring places of which something is true, over the join of a ring too.
fn runs(places: &[Place], spans: &[Span], system: &System, is: impl Fn(&Place) -> bool) -> Vec<Stretch> {
    let whole = system.mesh.length;
    let along = &system.mesh.bolts_along;
    let mut order: Vec<usize> = (0..places.len()).collect();
    order.sort_by(|&a, &b| places[a].along.total_cmp(&places[b].along));
    let mut found: Vec<Vec<usize>> = Vec::new();
    let mut going = false;
    for &at in &order {
        let now = is(&places[at]);
        if now && going {
            found.last_mut().expect("a run that goes on has begun").push(at);
        } else if now {
            found.push(vec![at]);
        }
        going = now;
    }
    // A ring's last run may go on in its first.
    let joins =
        system.mesh.closed && found.len() > 1 && is(&places[order[0]]) && is(&places[order[order.len() - 1]]);
    if joins {
        let mut last = found.pop().expect("there are two runs");
        last.append(&mut found[0]);
        found[0] = last;
    }
    found
        .into_iter()
        .map(|run| {
            let (first, last) = (run[0], run[run.len() - 1]);
            let worst = worst_of(places, run.iter().copied());
            let from = places[first].along - places[first].length / 2.0;
            let mut to = places[last].along + places[last].length / 2.0;
            if to < from {
                to += whole;
            }
            let between = spans
                .iter()
                .find(|span| (places[worst].along - along[span.bolts[0]]).rem_euclid(whole) <= span.length)
                .map_or_else(|| beside(along, places[worst].along), |span| span.bolts);
            Stretch {
                from,
                to,
                length: run.iter().map(|&at| places[at].length).sum(),
                worst,
                between,
            }
        })
        .collect()
}

/// Beyond the last bolt of an open rail: that bolt, twice.
fn beside(along: &[f64], at: f64) -> [usize; 2] {
    let near = (0..along.len())
        .min_by(|&a, &b| (along[a] - at).abs().total_cmp(&(along[b] - at).abs()))
        .unwrap_or(0);
    [near, near]
}

impl Joint {
    /// β of a beam [1/m] by its bending stiffness [N m²] and width [m].
    fn beta_of(&self, bending: f64, width: f64) -> f64 {
        let plate = super::Section::plate(width, 1.0);
        // β of a plate of that width, with its own bending replaced.
        let of_plate = self.flange.youngs * plate.stiffness().bending;
        self.beta(&plate) * (of_plate / bending).powf(0.25)
    }
}
