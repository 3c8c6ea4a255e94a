//! The joint: flatness of a face, a flange on its gasket between bolts, bolts and threads, the order of tightening.
//!
//! [`flatness`] judges a face from measured points or straight-edge readings. [`bolts`] turns torque into clamp load and
//! holds it against what bolt, thread, head and gasket bear. [`joint`] presses the flange on its joint, [`order`]
//! tightens it bolt by bolt. [`materials`] are metals and sheets by name.
//!
//! Knows faces, sections, bolts and materials; deliberately knows no oil in motion, no design files.

pub mod bolts;
pub mod flatness;
pub mod joint;
pub mod materials;
pub mod order;
