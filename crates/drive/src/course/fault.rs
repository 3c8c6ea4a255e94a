//! Why points are no course.

use crate::table::TableFault;

/// Fewest distinct points of a course.
pub const FEWEST_POINTS: usize = 8;
/// Most points of a course; the search for crossings compares pieces with one another.
pub const MOST_POINTS: usize = 20_000;
/// Coordinates beyond this are no place on a course [m].
pub const FURTHEST: f64 = 1e7;

/// A place on a course: a line of the file it was read from, or a point number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// Line of the file, from 1.
    Line(usize),
    /// Point, from 1.
    Point(usize),
}

impl std::fmt::Display for Spot {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Spot::Line(n) => write!(f, "line {n}"),
            Spot::Point(n) => write!(f, "point {n}"),
        }
    }
}

/// Why points are no course.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CourseFault {
    /// The file is no table.
    #[error(transparent)]
    Table(#[from] TableFault),
    /// Columns for x and y are not told.
    #[error("no columns for x and y among: {found}")]
    NoColumns {
        /// Names found.
        found: String,
    },
    /// A unit that is not a length (or an angle, for banking).
    #[error("the unit '{unit}' of column '{column}' is not known")]
    Unit {
        /// Column.
        column: String,
        /// Unit.
        unit: String,
    },
    /// Too few points that differ.
    #[error("the course has {points} points that differ; a closed line needs at least {FEWEST_POINTS}")]
    TooFew {
        /// Points that differ.
        points: usize,
    },
    /// More points than [`MOST_POINTS`].
    #[error("the course has {points} points; at most {MOST_POINTS} are taken")]
    TooMany {
        /// Points there are.
        points: usize,
    },
    /// A coordinate or banking is no number, or lies out of all bounds.
    #[error("{spot} holds no number, or one beyond {FURTHEST:.0} m")]
    NotANumber {
        /// Where.
        spot: Spot,
    },
    /// Banking out of range.
    #[error("banking of {degrees:.1} degrees at {spot}; up to 45 degrees either way are taken")]
    Bank {
        /// Where.
        spot: Spot,
        /// Banking [degrees].
        degrees: f64,
    },
    /// The ends do not meet.
    #[error(
        "the course does not close: {gap:.1} m from {last} back to {first}, where points are {spacing:.1} m apart"
    )]
    Open {
        /// First point.
        first: Spot,
        /// Last point.
        last: Spot,
        /// Distance between them [m].
        gap: f64,
        /// Usual spacing [m].
        spacing: f64,
    },
    /// The line crosses itself.
    #[error("the course crosses itself: the piece after {one} cuts the piece after {other}")]
    Crosses {
        /// Start of one piece.
        one: Spot,
        /// Start of the other.
        other: Spot,
    },
    /// The line turns straight back on itself.
    #[error("the course turns straight back on itself at {spot}")]
    TurnsBack {
        /// Where.
        spot: Spot,
    },
}

impl CourseFault {
    /// Line of the file the fault stands on, from 1.
    pub fn line(&self) -> Option<usize> {
        let spot = match self {
            CourseFault::Table(t) => return t.line(),
            CourseFault::NotANumber { spot }
            | CourseFault::Bank { spot, .. }
            | CourseFault::TurnsBack { spot } => spot,
            CourseFault::Open { last, .. } => last,
            CourseFault::Crosses { one, .. } => one,
            _ => return None,
        };
        match spot {
            Spot::Line(n) => Some(*n),
            Spot::Point(_) => None,
        }
    }

    /// How to mend it.
    pub fn mend(&self) -> &'static str {
        match self {
            CourseFault::Table(t) => t.mend(),
            CourseFault::NoColumns { .. } => {
                "name two columns x_m and y_m, or leave the header out and give x, y in the first two columns"
            }
            CourseFault::Unit { .. } => "use m, km, ft or mi for x and y, deg or rad for banking",
            CourseFault::TooFew { .. } => "give points every 5 m or so along the line that the car drives",
            CourseFault::TooMany { .. } => "give a point every metre or more; 5 m is plenty",
            CourseFault::NotANumber { .. } => "fill the cell in or take the row out",
            CourseFault::Bank { .. } => {
                "give banking in degrees, above zero where the left side of the road is low"
            }
            CourseFault::Open { .. } => {
                "give the whole lap; the last point should lie about one spacing before the first"
            }
            CourseFault::Crosses { .. } => {
                "check the order of the points; if one part of the course does pass over the other, say bridge = true"
            }
            CourseFault::TurnsBack { .. } => "take the stray point out, or give more points around the bend",
        }
    }
}
