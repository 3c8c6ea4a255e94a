//! The program against the world outside: each module computes the cases of one subject and hands over rows
//! of measured (or published) against computed. `cargo xtask validate` writes them all to
//! docs/validation.md; the quick ones are asserted in `tests/`.

pub mod air;
pub mod at_rest;
pub mod dam_break;
pub mod doors;
pub mod geometry;
pub mod hydraulics;
pub mod laps;
pub mod lateral;
pub mod oils;
pub mod passages;
pub mod rows;
mod shapes;
pub mod tanks;
pub mod thickness;
pub mod volumes;

pub use rows::{Row, Scale};

/// A subject of the page: its title and what computes its rows.
pub struct Subject {
    /// Heading.
    pub title: &'static str,
    /// One paragraph: what is compared and what to make of it.
    pub about: &'static str,
    /// Computes the rows; may take minutes.
    pub rows: fn() -> Vec<Row>,
}

/// All subjects, in the order of the page.
pub fn subjects() -> Vec<Subject> {
    vec![
        Subject {
            title: "Volumes and levels",
            about: volumes::ABOUT,
            rows: volumes::rows,
        },
        Subject {
            title: "Oil at rest under acceleration",
            about: at_rest::ABOUT,
            rows: at_rest::rows,
        },
        Subject {
            title: "Viscosity, density and air",
            about: oils::ABOUT,
            rows: oils::rows,
        },
        Subject {
            title: "Holes, weirs and gates by formula",
            about: hydraulics::ABOUT,
            rows: hydraulics::rows,
        },
        Subject {
            title: "Laps",
            about: laps::ABOUT,
            rows: laps::rows,
        },
        Subject {
            title: "Waves and standing tilt",
            about: tanks::ABOUT,
            rows: tanks::rows,
        },
        Subject {
            title: "A pan turned against the grid",
            about: geometry::ABOUT,
            rows: geometry::rows,
        },
        Subject {
            title: "Thin and thick oil",
            about: thickness::ABOUT,
            rows: thickness::rows,
        },
        Subject {
            title: "Gaps, walls and perforated sheets",
            about: passages::ABOUT,
            rows: passages::rows,
        },
        Subject {
            title: "Doors",
            about: doors::ABOUT,
            rows: doors::rows,
        },
        Subject {
            title: "Air at the mouth",
            about: air::ABOUT,
            rows: air::rows,
        },
        Subject {
            title: "Dam breaks",
            about: dam_break::ABOUT,
            rows: dam_break::rows,
        },
        Subject {
            title: "Water swung sideways",
            about: lateral::ABOUT,
            rows: lateral::rows,
        },
    ]
}
