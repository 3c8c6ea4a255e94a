//! Oil at rest: where it lies under a steady acceleration, how much of it stands over the mouth, and which
//! moments of a drive look worst by that measure.
//!
//! Two limits bracket the truth. In a *long corner* the oil has had time to find its level through every
//! gap: plates do not matter. In the *first instant* every space between plates still keeps the oil it had
//! at rest. Knows no time but in [`moments`], where a simple lag stands for it.
//!
//! Gravity here is apparent gravity (gravity minus acceleration); *up* is the unit vector against it. At
//! 1 g sideways the oil lies at 45 degrees.

pub mod bench;
mod columns;
pub mod cover;
pub mod dipstick;
pub mod moments;
pub mod round;
pub mod spaces;
pub mod stick;
pub mod wave;

pub use bench::{Lean, LeanedCut};
pub use cover::{cover, level, margin, up_from};
pub use dipstick::{DipstickRow, dipstick};
pub use moments::{DriveView, Moment, Pick, Wanted, worst_moments};
pub use round::{RoundMap, RoundSpec, first_dry, round_map};
pub use spaces::FirstInstant;
pub use stick::Stick;
pub use wave::first_mode;

use pan::LevelFault;
use thiserror::Error;

/// Why oil at rest cannot be computed.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum StillFault {
    /// No level for this volume: too much oil, or numbers that are none.
    #[error(transparent)]
    Level(#[from] LevelFault),
    /// A number that must be finite (and where it matters above zero) is not.
    #[error("{what} is {value}, which is no usable number")]
    BadNumber {
        /// Which.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// Series of one drive differ in length, or time does not rise.
    #[error("the drive's {what} do not fit its time; every series needs one value for each rising time")]
    DriveRagged {
        /// Which series.
        what: &'static str,
    },
    /// The lattice has no cell under the mouth.
    #[error("the mouth lies in no space of the pan; move it inside the cavity")]
    MouthNowhere,
}
