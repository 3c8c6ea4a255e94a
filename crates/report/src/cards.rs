//! The cards: what a person at the bench reads while the hands are busy.
//!
//! One card a subject, of one sheet or several, in type that is read on a phone held at arm's length. A card says what to
//! do, with which numbers, and what to look for; a caution stands once, where it matters. Bolts are numbered as the
//! design lists them, on every card and picture.

pub mod dipstick;
pub mod doors;
pub mod first_laps;
pub mod fit;
pub mod leak;
pub mod rules;
mod sheet;
pub mod tilt;
pub mod torque;
pub mod weld;

use measure::UnitOrder;

/// What stands on every card.
#[derive(Clone, Debug)]
pub struct About {
    /// Name of the design.
    pub design: String,
    /// Width and height of the paper, upright [mm].
    pub paper: [f64; 2],
    /// Which unit stands first.
    pub order: UnitOrder,
}
