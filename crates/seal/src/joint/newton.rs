//! The contact solved: Newton's method on the joint's energy.
//!
//! With the rail risen by `u` the energy is `½ uᵀKu + Σ areas × (law integrated over closure) + Σ bolts`. Every law
//! rises with closure and every bolt's pull with its stretch, so it is convex, once differentiable, and made of
//! finitely many quadratic pieces. Newton's step from a point of one piece goes to that piece's minimum; along the
//! step a search takes care that the energy falls (Wolfe's conditions), which makes any start converge. Near the
//! minimum each piece the path can touch holds the minimum itself, so one whole step lands on it: the method ends
//! after finitely many steps, on the exact solution but for rounding. (Sun, On piecewise quadratic Newton and trust
//! region problems, Math. Programming 76 (1997) 451, from memory; the argument above is the proof.)
//!
//! The force left over is checked at the end, not trusted.

use super::JointFault;
use super::band::Band;
use super::system::{Contact, System, times};

/// Newton steps at most.
const MOST_STEPS: usize = 100;
/// Force left over that counts as none, as a share of the bolts' pull.
const BALANCED: f64 = 1e-8;
/// Lever that turns a moment left over into a force [m].
const LEVER: f64 = 0.01;
/// A rise beyond any flange: it has tipped [m].
const TIPPED: f64 = 0.05;

/// What a bolt does while the joint settles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Pull {
    /// Its pull is known [N]: the wrench has just left it.
    Known(f64),
    /// A spring [N/m] that was turned in by so much [m]: it pulls `stiffness × (turned + risen)`, and never pushes.
    Spring { stiffness: f64, turned: f64 },
}

impl Pull {
    /// Pull [N] and its slope [N/m] with the seat risen so far [m].
    pub(crate) fn at(self, risen: f64) -> (f64, f64) {
        match self {
            Pull::Known(force) => (force, 0.0),
            Pull::Spring { stiffness, turned } => {
                let stretch = turned + risen;
                if stretch < 0.0 {
                    (0.0, 0.0)
                } else {
                    (stiffness * stretch, stiffness)
                }
            }
        }
    }
}

/// A joint at rest.
#[derive(Clone, Debug)]
pub(crate) struct Settled {
    /// By freedom: rise [m] and turns [rad] of every node.
    pub risen: Vec<f64>,
    /// Newton steps.
    pub steps: usize,
    /// Force left over, as a share of the bolts' pull.
    pub residual: f64,
}

/// Settles the joint under its bolts. `most` is how far each contact was closed before [m]; `start` a first guess.
pub(crate) fn settle(
    system: &System,
    pulls: &[Pull],
    most: &[f64],
    start: Option<&[f64]>,
) -> Result<Settled, JointFault> {
    let mut at = State::new(
        system,
        start.map_or_else(|| pressed(system, pulls), <[f64]>::to_vec),
    );
    let mut steps = 0;
    loop {
        let residual = at.gradient(pulls, most);
        if residual <= BALANCED {
            return Ok(Settled {
                risen: at.risen,
                steps,
                residual,
            });
        }
        let flown = at.risen.chunks(3).any(|node| !(node[0].abs() < TIPPED));
        if flown || steps == MOST_STEPS {
            return Err(if flown {
                JointFault::Tips
            } else {
                JointFault::NotSettled { steps, residual }
            });
        }
        let Some(step) = at.newton_step(pulls, most) else {
            return Err(JointFault::Tips);
        };
        at.advance(&step, pulls, most);
        steps += 1;
    }
}

/// A first guess: the whole rail sunk so far that every place presses a little.
fn pressed(system: &System, pulls: &[Pull]) -> Vec<f64> {
    let area: f64 = system.contacts.iter().map(|contact| contact.area).sum();
    let force: f64 = pulls.iter().map(|pull| pull.at(0.0).0).sum();
    let closure = system
        .laws
        .iter()
        .flatten()
        .map(|law| law.closure_at(force / area))
        .fold(0.0, f64::max);
    let least = system
        .contacts
        .iter()
        .map(|contact| contact.start)
        .fold(f64::INFINITY, f64::min);
    let mut risen = vec![0.0; system.size];
    risen
        .iter_mut()
        .step_by(3)
        .for_each(|w| *w = least.min(0.0) - closure);
    risen
}

struct State<'a> {
    system: &'a System,
    risen: Vec<f64>,
    /// Gradient of the energy.
    slope: Vec<f64>,
    scratch: Vec<f64>,
}

impl State<'_> {
    fn new(system: &System, risen: Vec<f64>) -> State<'_> {
        State {
            system,
            risen,
            slope: vec![0.0; system.size],
            scratch: vec![0.0; system.size],
        }
    }

    /// Sets the gradient; returns the greatest force left over as a share of the bolts' pull.
    fn gradient(&mut self, pulls: &[Pull], most: &[f64]) -> f64 {
        let system = self.system;
        system.stiffness.times(&self.risen, &mut self.slope);
        for (contact, &most) in system.contacts.iter().zip(most) {
            let Some(law) = &system.laws[contact.bed] else {
                continue;
            };
            let force = contact.area * law.at(system.closure(contact, &self.risen), most).0;
            if force != 0.0 {
                for (at, weight) in contact.row {
                    self.slope[at] -= force * weight;
                }
            }
        }
        let mut pulled = 0.0;
        for (row, pull) in system.bolts.iter().zip(pulls) {
            let force = pull.at(times(row, &self.risen)).0;
            pulled += force;
            for &(at, weight) in row {
                self.slope[at] += force * weight;
            }
        }
        let left = self.slope.chunks(3).fold(0.0, |left: f64, node| {
            left.max(node[0].abs())
                .max(node[1].abs().max(node[2].abs()) / LEVER)
        });
        // With no bolt pulling nothing may be left but rounding.
        left / pulled.max(1e-3)
    }

    /// Newton's step from here; none when nothing holds the flange, whatever is done.
    fn newton_step(&mut self, pulls: &[Pull], most: &[f64]) -> Option<Vec<f64>> {
        // A flange that hangs on too few contacts has no Newton step. A little of the rail's own stiffness on the
        // diagonal gives one that still lowers the energy; more of it, until there is one.
        let mut help = 0.0;
        while help < 1.0 {
            let mut matrix = self.curvature(pulls, most);
            if help > 0.0 {
                for row in 0..self.system.size {
                    let diagonal = matrix.diagonal(row).max(self.system.stiffness.diagonal(row));
                    matrix.add(row, row, help * diagonal);
                }
            }
            if matrix.factor() {
                let mut step: Vec<f64> = self.slope.iter().map(|slope| -slope).collect();
                matrix.solve(&mut step);
                return Some(step);
            }
            help = if help == 0.0 { 1e-9 } else { help * 30.0 };
        }
        None
    }

    /// The energy's second derivative on the piece that it stands on.
    fn curvature(&self, pulls: &[Pull], most: &[f64]) -> Band {
        let system = self.system;
        let mut matrix = system.stiffness.clone();
        // Contacts under one beam share its six freedoms: they are summed before they go into the matrix.
        let rows = |contact: &Contact| contact.row.map(|entry| entry.0);
        let mut done = 0;
        for group in system.contacts.chunk_by(|a, b| rows(a) == rows(b)) {
            let mut patch = [0.0; 21];
            for (contact, &most) in group.iter().zip(&most[done..]) {
                let Some(law) = &system.laws[contact.bed] else {
                    continue;
                };
                let slope = contact.area * law.at(system.closure(contact, &self.risen), most).1;
                if slope == 0.0 {
                    continue;
                }
                let mut at = 0;
                for i in 0..6 {
                    let scaled = slope * contact.row[i].1;
                    for j in 0..=i {
                        patch[at] += scaled * contact.row[j].1;
                        at += 1;
                    }
                }
            }
            done += group.len();
            matrix.add_patch(&rows(&group[0]), &patch);
        }
        for (row, pull) in system.bolts.iter().zip(pulls) {
            let slope = pull.at(times(row, &self.risen)).1;
            if slope != 0.0 {
                matrix.add_outer(row, slope);
            }
        }
        matrix
    }

    /// Goes along the step: whole when it halves the energy's slope along itself and lowers the energy by a fair
    /// share (Wolfe's conditions), else to a place found by halving or doubling that does; there is always one.
    fn advance(&mut self, step: &[f64], pulls: &[Pull], most: &[f64]) {
        let system = self.system;
        system.stiffness.times(step, &mut self.scratch);
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let beam = [dot(&self.risen, &self.scratch), dot(step, &self.scratch)];
        let closures: Vec<[f64; 2]> = system
            .contacts
            .iter()
            .map(|contact| [system.closure(contact, &self.risen), -times(&contact.row, step)])
            .collect();
        let seats: Vec<[f64; 2]> = system
            .bolts
            .iter()
            .map(|row| [times(row, &self.risen), times(row, step)])
            .collect();
        let slope = |t: f64| {
            let mut sum = beam[0] + t * beam[1];
            for (at, contact) in system.contacts.iter().enumerate() {
                let Some(law) = &system.laws[contact.bed] else {
                    continue;
                };
                let [from, by] = closures[at];
                sum += contact.area * law.at(from + t * by, most[at]).0 * by;
            }
            for (pull, [from, by]) in pulls.iter().zip(&seats) {
                sum += pull.at(from + t * by).0 * by;
            }
            sum
        };
        // The slope only rises along the step, so the energy falls by at least −t/2 × (its half-way and its last slope).
        let start = slope(0.0).abs();
        let (mut low, mut high, mut t) = (0.0, f64::INFINITY, 1.0);
        for _ in 0..60 {
            let here = slope(t);
            if here < -0.5 * start {
                low = t;
            } else if slope(t / 2.0) + here > -0.1 * start {
                high = t;
            } else {
                break;
            }
            t = if high.is_finite() {
                (low + high) / 2.0
            } else {
                2.0 * t
            };
        }
        for (risen, by) in self.risen.iter_mut().zip(step) {
            *risen += t * by;
        }
    }
}
