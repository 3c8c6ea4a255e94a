//! Bolts: from torque to clamp load and back, and what limits it.
//!
//! A torque wrench knows nothing of the clamp load: friction takes about nine tenths of the torque, and nobody knows it
//! to better than a range. So every force here is a range, and every limit is held against its unfavourable end.
//! [`thread`] and [`class`] are the bolt, [`friction`] and [`torque`] turn the wrench, [`strip`], [`reach`] and [`head`]
//! ask what the parts bear, [`losses`] what heat and settling leave, [`advice`] puts it together.
//!
//! Forces in newtons, torques in N·m, lengths in metres, stresses in pascals.

pub mod advice;
pub mod class;
pub mod friction;
pub mod head;
pub mod losses;
pub mod practice;
pub mod reach;
pub mod strip;
pub mod thread;
pub mod torque;

pub use class::Class;
pub use friction::{Friction, Method};
pub use head::Head;
pub use thread::Thread;
