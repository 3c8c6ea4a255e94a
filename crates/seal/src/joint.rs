//! The flange on its joint under the bolts: where the joint is pressed, where it opens, what would mend it.
//!
//! ```text
//!        bolt     bolt              the rail: a beam all round, bending out of its plane, shearing, twisting
//!     ____↓________↓____
//!    |__________________|           the joint: springs side by side that push and never pull,
//!     ≷ ≷ ≷ ≷    ≷ ≷ ≷ ≷            starting where the measured faces would meet
//!    ////////////////////           the block: stiff, or giving way as springs
//! ```
//!
//! [`clamp`] answers for bolts that all pull with their preload, as after a last round with the wrench; [`order`]
//! tightens them one after another. [`what_ifs`] tries changes. Everything in SI, places in the pan frame; bolts and
//! stations count from 0. The contact is solved exactly but for rounding (`newton`), and a solution that is out of
//! balance is an error.
//!
//! Left out, and which way it errs: the pan's closed box that holds the rail against bending (a rail with its wall
//! left out is too soft: openings come out too large); the bolt's own bending; slip and friction of the faces; how
//! much a joint's law spreads from one make to another (vary it); creep and heat, which the caller puts into the
//! preload. Inside corners of the seal count a little twice, outside ones a little less, by the turn of its width.
//!
//! [`order`]: crate::order

mod band;
mod beam;
mod clamped;
mod fault;
mod gap;
mod kinds;
mod law;
mod newton;
mod rail;
mod section;
mod system;
mod weak_bolt;
mod what_ifs;

pub use clamped::{Clamped, Place, PulledIn, Seat, Span, Stretch, clamp};
pub use fault::JointFault;
pub use gap::Gap;
pub use kinds::{Kind, Path, USUAL_BRIDGED, USUAL_MODULUS, USUAL_SQUEEZE};
pub use law::{F36_LOAD, Law};
pub use rail::{Flange, Station, rail_along, rail_between};
pub use section::{Section, Wall};
pub use weak_bolt::{WeakBolt, weak_bolts};
pub use what_ifs::{Change, Outcome, WhatIf, least_thickness, usual_changes, what_ifs};

pub(crate) use newton::{Pull, settle};
pub(crate) use system::{System, times};

use glam::DVec2;
use serde::{Deserialize, Serialize};

/// A bolt of the joint.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bolt {
    /// Its axis [m].
    pub place: DVec2,
    /// Its pull after the last round [N]; 0 for a bolt that is missing.
    pub preload: f64,
    /// Of the bolt with the metal clamped under its head, in series [N/m]; used when bolts are tightened in turn.
    pub stiffness: f64,
    /// Length of rail over which head and cone spread the pull [m]; 0 is a point.
    pub seat: f64,
}

/// All that decides how a joint is pressed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Joint {
    /// The flange.
    pub flange: Flange,
    /// Its bolts, in the caller's order.
    pub bolts: Vec<Bolt>,
    /// What seals.
    pub kind: Kind,
    /// How far the faces are out of flat.
    pub gap: Gap,
    /// How the block gives way under the joint [Pa/m]; none: not at all.
    pub block: Option<f64>,
    /// Length of the beams into which the rail is cut [m]; none: chosen by pitch and joint.
    pub element: Option<f64>,
}

impl Joint {
    /// Refuses what is not a joint.
    pub(crate) fn check(&self) -> Result<(), JointFault> {
        JointFault::positive("the flange's modulus", self.flange.youngs)?;
        JointFault::within("Poisson's ratio", self.flange.poisson, 0.0, 0.5)?;
        self.kind.check()?;
        if self.bolts.is_empty() {
            return Err(JointFault::NoBolts);
        }
        for (at, bolt) in self.bolts.iter().enumerate() {
            if !bolt.place.is_finite() {
                return Err(JointFault::NotFinite {
                    what: "a bolt's place",
                });
            }
            JointFault::within("a bolt's preload", bolt.preload, 0.0, 1e7)?;
            JointFault::positive("a bolt's stiffness", bolt.stiffness)?;
            JointFault::within("a bolt's seat", bolt.seat, 0.0, 0.2)?;
            let twin = self.bolts[..at]
                .iter()
                .position(|other| other.place.distance(bolt.place) < 1e-3);
            if let Some(one) = twin {
                return Err(JointFault::BoltsTogether { one, other: at });
            }
        }
        if !self.bolts.iter().any(|bolt| bolt.preload > 0.0) {
            return Err(JointFault::NotPositive {
                what: "the bolts' preload",
                value: 0.0,
            });
        }
        if let Some(element) = self.element {
            JointFault::positive("the beams' length", element)?;
        }
        Ok(())
    }

    /// Length of a beam [m]: six to a mean pitch, and short beside the length over which the rail spreads a
    /// load, 1/β (see [`Span`]).
    pub(crate) fn element(&self) -> f64 {
        if let Some(element) = self.element {
            return element;
        }
        let length = self.rail_length();
        let by_pitch = length / (6.0 * self.bolts.len() as f64);
        // Of metal on metal only the openings beside the bolts are read, and a beam carries those exactly.
        if !matches!(self.kind, Kind::Sheet { .. }) {
            return (0.75 * by_pitch).clamp(length / 1000.0, 5e-3);
        }
        let spread = self
            .flange
            .rail
            .iter()
            .map(|station| self.beta(&station.section))
            .fold(0.0, f64::max);
        by_pitch.min(0.35 / spread).clamp(length / 1000.0, 8e-3)
    }

    /// Length of the rail's line [m].
    pub(crate) fn rail_length(&self) -> f64 {
        let rail = &self.flange.rail;
        let sides: f64 = rail
            .windows(2)
            .map(|pair| pair[0].place.distance(pair[1].place))
            .sum();
        match (self.flange.closed, rail.first(), rail.last()) {
            (true, Some(first), Some(last)) => sides + last.place.distance(first.place),
            _ => sides,
        }
    }

    /// β of a rail on a plain bed [1/m]: `(k / 4EI)^¼`, k the joint's secant at the bolts' mean pressure over its
    /// width. Source: M. Hetényi, Beams on Elastic Foundation (1946).
    pub(crate) fn beta(&self, section: &Section) -> f64 {
        let pull: f64 = self.bolts.iter().map(|bolt| bolt.preload).sum();
        let path = match &self.kind {
            Kind::Sheet { path, .. } => path.width,
            _ => None,
        };
        let width = path.map_or(section.width, |width| width.min(section.width));
        let bed = self.kind.carrying().secant(pull / (self.rail_length() * width)) * width;
        (bed / (4.0 * self.flange.youngs * section.stiffness().bending)).powf(0.25)
    }
}
