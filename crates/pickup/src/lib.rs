//! The pickup: the cover history that every depth of oil motion hands over, and the verdict read from it.
//!
//! The verdict does not know which depth computed a history, nor what drove it: places and directions come
//! to it as words.

pub mod allowance;
pub mod convergence;
pub mod fill;
pub mod grid_study;
pub mod history;
pub mod limits;
pub mod names;
pub mod verdict;

pub use allowance::{Allowance, Weighed, weigh};
pub use convergence::Estimate;
pub use fill::{FillSearch, lowest_safe_fill};
pub use grid_study::{Bands, GridStudy};
pub use history::{CoverHistory, HistoryFault, Ledger, Row};
pub use limits::Limits;
pub use names::{DoorWords, PanWords, SpaceWords, WallWords};
pub use verdict::{Judging, MomentHistory, Verdict, Word, judge};
