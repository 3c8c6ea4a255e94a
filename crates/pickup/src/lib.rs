//! The pickup: the cover history that every depth of oil motion hands over, and the verdict read from it.

pub mod history;

pub use history::CoverHistory;
