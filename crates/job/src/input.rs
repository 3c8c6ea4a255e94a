//! Every input of a design, as read.

use crate::fault::Place;

/// One input.
#[derive(Clone, Debug, PartialEq)]
pub struct InputLine {
    /// Key in the design file, such as `pickup.mouth`.
    pub key: String,
    /// As written; empty for a default.
    pub text: String,
    /// As understood, with units, both of them where the trade has two.
    pub shown: String,
    /// Where it comes from.
    pub origin: Origin,
}

/// Where an input comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Origin {
    /// It stands in a design file.
    Written(Place),
    /// Not stated: the house's value. The reason names its source, or says that it has none.
    Default(&'static str),
    /// Worked out from other inputs, in the way the reason says.
    Derived(&'static str),
}
