//! The joint: flatness of a face, a flange on its gasket between bolts, bolts and threads, the order of tightening.
//!
//! Knows faces, sections, bolts and materials; deliberately knows no oil in motion, no design files.

pub mod joint;
pub mod order;
