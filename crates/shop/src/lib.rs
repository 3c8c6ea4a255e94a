//! What the bench and the mill work from: gasket, flat patterns of plates, solid parts, lists, time.
//!
//! Lengths in metres, pan frame unless a type says otherwise. Knows no files, no pages and no oil motion.

pub mod body;
pub mod gasket;
pub mod list;
pub mod paper;
pub mod sheet;
pub mod stock;
pub mod time;
pub mod weld;
