//! The suction side: from the mouth in the oil to the pump's inlet, and the air that a poor joint lets in.
//!
//! - [`line`] is the line itself: mouth, screen, tube, steps, joint, each with its loss at any flow and any oil;
//! - [`supply`] puts oil, pump and line together: the pressure at the inlet at a speed and a temperature, the largest speed
//!   that holds it, how much of the screen may be blocked;
//! - [`leak`] is the air drawn in through a joint that is not flat, or a pinhole, and its share of what the pump takes;
//! - [`mouth`] is what the mouth wants of floor and depth, as a ranking of bells.
//!
//! Knows the oil and hydraulics; deliberately knows no pan's shape, no motion of oil, no design files. All pressures are
//! absolute [Pa], flows [m³/s], engine speeds [rev/s], temperatures [K].
//!
//! What acts on the oil along the tube comes in as one number, `push` [m²/s²]: apparent gravity (gravity minus
//! acceleration) times the way from mouth to pump. Standing level it is −g times the height of the pump over the mouth; `ρ·push`
//! is what the body of the oil adds to the pressure on its way.

pub mod leak;
pub mod line;
pub mod mouth;
pub mod supply;

pub use leak::{Joint, Seal};
pub use line::{Entry, Line, Part, Piece, Screen, Weave};
pub use supply::{Air, Holds, Pump, State, Supply};
