//! The order of tightening: which bolt when, and what each does to those tightened before.
//!
//! [`from_the_middle`] gives an order for any pattern; [`tighten`] turns the bolts in that order, pass by pass, on the
//! joint of [`crate::joint`], and tells what each bolt still pulls; [`passes_worth`] how many passes pay;
//! [`turned`] reads torque and angle at the bench and finds a thread that gives way.
//!
//! Where the engine's maker gives an order and passes, those win: he has tested them on that engine.

mod pattern;
mod tightening;
mod turning;

pub use pattern::{from_the_middle, round_the_loop};
pub use tightening::{PASSES, Pass, Schedule, Spread, Tightened, Worth, passes_worth, tighten};
pub use turning::{Reading, Turn, TurnFault, Turning, turned};
