//! The pictures of the report, all made through the drawing list.
//!
//! Every picture exists for two papers: a page 180 mm wide (laptop and print) and one of 92 mm (phone), so
//! that words stay readable on both.

pub mod bars;
pub mod body;
pub mod clearance;
pub mod course;
pub mod feed;
pub mod gasket;
pub mod heights;
pub mod lap;
pub mod logged;
pub mod moment;
pub mod oil_shape;
pub mod outlined;
pub mod plates;
pub mod plot;
pub mod round;
pub mod routes;
pub mod seal;
pub mod section;
pub mod solid;
pub mod spaces;
pub mod spells;
pub mod time;
pub mod trade;

use measure::UnitOrder;

/// The paper and the units that a picture is made for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Width of the paper [mm].
    pub width: f64,
    /// Height of plain words [mm].
    pub words: f64,
    /// Which unit stands on the axes.
    pub order: UnitOrder,
    /// Ending of drawing names, so that both papers can stand in one page.
    pub ending: &'static str,
}

impl Look {
    /// Laptop and print.
    pub fn wide(order: UnitOrder) -> Look {
        Look {
            width: 180.0,
            words: 2.6,
            order,
            ending: "w",
        }
    }

    /// Phone.
    pub fn narrow(order: UnitOrder) -> Look {
        Look {
            width: 92.0,
            words: 3.1,
            order,
            ending: "n",
        }
    }

    /// True for the phone.
    pub fn is_narrow(&self) -> bool {
        self.width < 120.0
    }

    /// Name of a drawing on this paper.
    pub fn id(&self, name: &str) -> String {
        format!("{name}-{}", self.ending)
    }
}
