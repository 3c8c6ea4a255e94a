//! The program against the world outside: each module computes the cases of one subject and hands over rows
//! of measured (or published) against computed. `cargo xtask validate` writes them all to
//! docs/validation.md; the quick ones are asserted in `tests/`.

pub mod air;
pub mod at_rest;
pub mod bench;
pub mod columns;
pub mod curve;
pub mod doors;
pub mod geometry;
pub mod hydraulics;
pub mod laps;
pub mod lateral;
pub mod long_tank;
pub mod oils;
pub mod passages;
pub mod plot;
pub mod rows;
mod shapes;
pub mod sketch;
pub mod sway;
pub mod tanks;
pub mod thickness;
pub mod volumes;
pub mod wet_bed;

pub use rows::{Findings, Row, Scale, Study};

/// A subject of the page: its title and what computes its rows.
pub struct Subject {
    /// Heading.
    pub title: &'static str,
    /// One paragraph: what is compared and what to make of it.
    pub about: &'static str,
    /// Computes it; may take minutes.
    pub findings: fn() -> Findings,
}

/// All subjects, in the order of the page.
pub fn subjects() -> Vec<Subject> {
    vec![
        Subject {
            title: "Volumes and levels",
            about: volumes::ABOUT,
            findings: || volumes::rows().into(),
        },
        Subject {
            title: "Oil at rest under acceleration",
            about: at_rest::ABOUT,
            findings: || at_rest::rows().into(),
        },
        Subject {
            title: "Viscosity, density and air",
            about: oils::ABOUT,
            findings: || oils::rows().into(),
        },
        Subject {
            title: "Holes, weirs and gates by formula",
            about: hydraulics::ABOUT,
            findings: || hydraulics::rows().into(),
        },
        Subject {
            title: "Laps",
            about: laps::ABOUT,
            findings: || laps::rows().into(),
        },
        Subject {
            title: "Waves and standing tilt",
            about: tanks::ABOUT,
            findings: || tanks::rows().into(),
        },
        Subject {
            title: "A pan turned against the grid",
            about: geometry::ABOUT,
            findings: || geometry::rows().into(),
        },
        Subject {
            title: "Thin and thick oil",
            about: thickness::ABOUT,
            findings: || thickness::rows().into(),
        },
        Subject {
            title: "Gaps, walls and perforated sheets",
            about: passages::ABOUT,
            findings: || passages::rows().into(),
        },
        Subject {
            title: "Doors",
            about: doors::ABOUT,
            findings: || doors::rows().into(),
        },
        Subject {
            title: "Air at the mouth",
            about: air::ABOUT,
            findings: || air::rows().into(),
        },
        Subject {
            title: "The sketch against the solver",
            about: sketch::ABOUT,
            findings: sketch::findings,
        },
        Subject {
            title: "Tank swayed off resonance",
            about: sway::ABOUT,
            findings: sway::findings,
        },
        Subject {
            title: "Columns of water let go",
            about: columns::ABOUT,
            findings: columns::findings,
        },
        Subject {
            title: "Dam break in a long tank, wall pressures",
            about: long_tank::ABOUT,
            findings: long_tank::findings,
        },
        Subject {
            title: "Dam break onto a wet bed",
            about: wet_bed::ABOUT,
            findings: wet_bed::findings,
        },
        Subject {
            title: "Water swung sideways",
            about: lateral::ABOUT,
            findings: lateral::findings,
        },
    ]
}
