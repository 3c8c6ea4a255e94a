//! What can be wrong with a joint, or stop its solution.

use glam::DVec2;
use thiserror::Error;

/// Why a joint has no answer. Bolts and stations count from 0; lengths in metres, forces in newtons.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum JointFault {
    /// A number that is none.
    #[error("{what} is no finite number")]
    NotFinite {
        /// Which one.
        what: &'static str,
    },
    /// A size that has to be above zero.
    #[error("{what} is {value}; it has to be above zero")]
    NotPositive {
        /// Which one.
        what: &'static str,
        /// As given, SI.
        value: f64,
    },
    /// A number outside the range in which it means something.
    #[error("{what} is {value}; it lies between {least} and {most}")]
    OutOfRange {
        /// Which one.
        what: &'static str,
        /// As given, SI.
        value: f64,
        /// Least it may be.
        least: f64,
        /// Most it may be.
        most: f64,
    },
    /// A line with too few places to be a rail.
    #[error("{what} has {places} places that differ; it needs {needed}")]
    TooShort {
        /// Which line.
        what: &'static str,
        /// Different places found.
        places: usize,
        /// Places needed.
        needed: usize,
    },
    /// No bolt.
    #[error("the joint has no bolts")]
    NoBolts,
    /// A bolt off the flange.
    #[error("bolt {} stands {:.1} mm from the rail's middle line, where the rail is {:.1} mm wide", .bolt + 1, .off * 1e3, .width * 1e3)]
    BoltOffFlange {
        /// Which bolt.
        bolt: usize,
        /// Its distance from the rail's middle line [m].
        off: f64,
        /// The rail's width there [m].
        width: f64,
    },
    /// Two bolts in one place.
    #[error("bolts {} and {} stand in one place", .one + 1, .other + 1)]
    BoltsTogether {
        /// The first.
        one: usize,
        /// The second.
        other: usize,
    },
    /// A measured height that belongs to no part of the rail.
    #[error("the height measured at x {:.1} mm, y {:.1} mm lies {:.1} mm from the rail's middle line", .place.x * 1e3, .place.y * 1e3, .off * 1e3)]
    HeightOffFlange {
        /// Which measured place, in the order given.
        point: usize,
        /// Where it was measured [m].
        place: DVec2,
        /// Its distance from the rail's middle line [m].
        off: f64,
    },
    /// The seal's line leaves the flange.
    #[error("the seal at x {:.1} mm, y {:.1} mm lies {:.1} mm from the rail's middle line, where the rail is {:.1} mm wide", .place.x * 1e3, .place.y * 1e3, .off * 1e3, .width * 1e3)]
    SealOffFlange {
        /// Where [m].
        place: DVec2,
        /// Distance from the rail's middle line [m].
        off: f64,
        /// The rail's width there [m].
        width: f64,
    },
    /// The inner outline touches or leaves the outer one.
    #[error("the rail between outer and inner outline is {:.2} mm wide near x {:.1} mm, y {:.1} mm", .width * 1e3, .place.x * 1e3, .place.y * 1e3)]
    NoRail {
        /// Where [m].
        place: DVec2,
        /// Width found; below zero when the inner outline lies outside [m].
        width: f64,
    },
    /// A law of the joint whose pressure falls while it closes.
    #[error("the joint's law falls or turns back at its point {}", .point + 1)]
    LawFalls {
        /// Which point, from 0.
        point: usize,
    },
    /// An order of tightening that names a bolt twice, or one that is not there.
    #[error("the order of tightening names bolt {} twice, or there is none of that number", .bolt + 1)]
    OrderNames {
        /// Which bolt.
        bolt: usize,
    },
    /// An order of tightening without one of the bolts.
    #[error("the order of tightening leaves out bolt {}", .bolt + 1)]
    OrderLeavesOut {
        /// Which bolt.
        bolt: usize,
    },
    /// No pass.
    #[error("the schedule has no pass")]
    NoPasses,
    /// The bolts cannot hold the flange down: it tips about the seal's edge.
    #[error("the bolts' pull lies outside the seal: the flange tips, and no pressure balances them")]
    Tips,
    /// The contact was not found within the steps allowed.
    #[error("the contact did not settle in {steps} steps: {:.2e} of the bolts' pull is left over", .residual)]
    NotSettled {
        /// Newton steps taken.
        steps: usize,
        /// Force left over, as a share of the bolts' pull.
        residual: f64,
    },
}

impl JointFault {
    /// Refuses what is not above zero.
    pub(crate) fn positive(what: &'static str, value: f64) -> Result<(), JointFault> {
        if !value.is_finite() {
            return Err(JointFault::NotFinite { what });
        }
        if value <= 0.0 {
            return Err(JointFault::NotPositive { what, value });
        }
        Ok(())
    }

    /// Refuses what lies outside a range.
    pub(crate) fn within(what: &'static str, value: f64, least: f64, most: f64) -> Result<(), JointFault> {
        if !value.is_finite() {
            return Err(JointFault::NotFinite { what });
        }
        if value < least || value > most {
            return Err(JointFault::OutOfRange {
                what,
                value,
                least,
                most,
            });
        }
        Ok(())
    }
}
