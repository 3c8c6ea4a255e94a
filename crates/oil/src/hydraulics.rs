//! Flow through holes and bores, over walls and under gates, through tubes and screens. SI throughout.
//!
//! `gravity` is the body force where the opening is [m/s²]: in a moving car the local field, not the
//! standard one. A head is a height of oil along that field [m]. Each function takes heads of zero or more;
//! below zero (oil on the other side) the flow is zero, and what is no number stays none.

mod holes;
mod screens;
mod tubes;
mod weirs;

pub use holes::{
    THIN_PLATE, bore_coefficient, drain_time, levelling_time, orifice, submergence, tall_opening,
};
pub use screens::{perforated_plate, wire_screen};
pub use tubes::{
    bend, bend_turbulent, contraction, expansion, free_edge, friction_factor, rounded_entrance, slow,
    turbulent_friction, two_constants,
};
pub use weirs::{
    broad_crest, drowned_share, gate, gate_coefficient, gate_coefficient_momentum, kindsvater_carter, rehbock,
};

#[cfg(test)]
mod tests;
