//! Flow through holes and bores, over walls and under gates. SI throughout.
//!
//! `gravity` is the body force where the opening is [m/s²]: in a moving car the local field, not the
//! standard one. A head is a height of oil along that field [m]. Each function takes heads of zero or more;
//! below zero (oil on the other side) the flow is zero, and what is no number stays none.

mod holes;
mod weirs;

pub use holes::{
    THIN_PLATE, bore_coefficient, drain_time, levelling_time, orifice, submergence, tall_opening,
};
pub use weirs::{
    broad_crest, drowned_share, gate, gate_coefficient, gate_coefficient_momentum, kindsvater_carter, rehbock,
};

#[cfg(test)]
mod tests;
