//! What is kept of each case, and what may be aimed at.

use pickup::verdict::Word;
use serde::{Deserialize, Serialize};

/// What a second with a bare mouth takes off the margin [m/s]. Below zero cover says nothing more, so a bare mouth counts on by
/// the time it is bare; else a search could not tell a gulp from a drought. A convention of this program: 1 mm for 0.1 s, the usual
/// limit of one gulp.
const BARE_RATE: f64 = 10e-3;

/// What a computed case comes to. All SI.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Figures {
    /// Verdict.
    pub word: Word,
    /// Least oil over the mouth [m]; 0 when it was bare.
    pub cover: f64,
    /// Time that the mouth was bare [s].
    pub bare: f64,
    /// Air drawn over the whole drive [m³].
    pub air: f64,
    /// Least cover less the limit of cover; where the mouth was bare, minus the limit and 10 mm for each second more [m].
    pub margin: f64,
    /// All the oil in the engine [m³].
    pub oil: f64,
    /// From the flange down to the lowest place of the cavity [m].
    pub depth: f64,
    /// Plates in the pan.
    pub plates: usize,
    /// Most oil inside the crank sweep [m³]; none where the design describes no crank.
    pub at_crank: Option<f64>,
    /// Where the cover was least, in words: "at 612 m in lap 2".
    pub place: String,
    /// When [s].
    pub time: f64,
}

/// Less air than this over a drive is not called drawing air [m³]: a millilitre is lost among the bubbles that oil carries anyway
/// (common practice, no source), and a mouth that is covered all the time still sees rounding.
const DRAWN: f64 = 1e-6;

impl Figures {
    /// Whether the pump draws air that counts.
    pub fn draws_air(&self) -> bool {
        self.air > DRAWN
    }

    /// The margin of a least cover, a limit of cover [m] and a time bare [s]; see [`Figures::margin`].
    pub fn margin_of(cover: f64, limit: f64, bare: f64) -> f64 {
        if bare > 0.0 {
            -limit - BARE_RATE * bare
        } else {
            cover - limit
        }
    }
}

/// A number of a case that a study may aim at or explain.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Figure {
    /// [`Figures::margin`]; more is better.
    Margin,
    /// [`Figures::cover`]; more is better.
    Cover,
    /// [`Figures::bare`].
    Bare,
    /// [`Figures::air`].
    Air,
    /// [`Figures::oil`].
    Oil,
    /// [`Figures::depth`].
    Depth,
    /// [`Figures::plates`].
    Plates,
    /// [`Figures::at_crank`].
    AtCrank,
}

impl Figure {
    /// All, with the words of the study file.
    pub const ALL: [(&'static str, Figure); 8] = [
        ("margin", Figure::Margin),
        ("cover", Figure::Cover),
        ("bare", Figure::Bare),
        ("air", Figure::Air),
        ("oil", Figure::Oil),
        ("depth", Figure::Depth),
        ("plates", Figure::Plates),
        ("at the crank", Figure::AtCrank),
    ];

    /// Its word.
    pub fn word(self) -> &'static str {
        let found = Figure::ALL.iter().find(|(_, figure)| *figure == self);
        found.expect("every figure is in the list").0
    }

    /// Whether more of it is better.
    pub fn more_is_better(self) -> bool {
        matches!(self, Figure::Margin | Figure::Cover)
    }

    /// Its value [SI], when the case has it.
    pub fn of(self, figures: &Figures) -> Option<f64> {
        match self {
            Figure::Margin => Some(figures.margin),
            Figure::Cover => Some(figures.cover),
            Figure::Bare => Some(figures.bare),
            Figure::Air => Some(figures.air),
            Figure::Oil => Some(figures.oil),
            Figure::Depth => Some(figures.depth),
            Figure::Plates => Some(figures.plates as f64),
            Figure::AtCrank => figures.at_crank,
        }
    }

    /// Its value so that less is better.
    pub fn cost(self, figures: &Figures) -> Option<f64> {
        let value = self.of(figures)?;
        Some(if self.more_is_better() { -value } else { value })
    }
}
