//! Published cases and answers worked by other means: one file a subject, numbers as printed, the source
//! beside each. Data only; tests and the validation page compare against it.

pub mod accelerated_tanks;
pub mod free_surface;
pub mod hydraulics;
pub mod oils;
pub mod road;
pub mod suction;
pub mod tracks;
