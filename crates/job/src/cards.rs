//! What a design says for the cards: the stick, the tilt on the bench, the weld, the fit. SI, pan frame.

use glam::DVec3;

use crate::fault::Place;
use crate::section::Section;
use crate::sections::cards as section;

/// Everything that the cards need beside the design itself.
#[derive(Clone, Debug)]
pub struct CardsPlan {
    /// The dipstick, when it is described.
    pub dipstick: Option<Stick>,
    /// How far the pan is leaned on the bench [rad].
    pub tilt: f64,
    /// The weld of wall and flange.
    pub weld: Weld,
    /// How it is fitted.
    pub fit: Fit,
}

/// A dipstick.
#[derive(Clone, Debug)]
pub struct Stick {
    /// Its lower end.
    pub foot: DVec3,
    /// A point higher up, where it leaves the engine.
    pub top: DVec3,
    /// All the oil at the low mark, engine off [m³]; not known when `None`.
    pub low: Option<f64>,
    /// All the oil at the high mark, engine off [m³]; from the crank when `None`.
    pub high: Option<f64>,
    /// Where it is stated.
    pub place: Place,
}

/// The weld of wall and flange.
#[derive(Clone, Copy, Debug)]
pub struct Weld {
    /// Longest run at a time [m].
    pub run: f64,
    /// Metal left on the flange's face for the skim afterwards [m].
    pub skim: f64,
}

/// How it is fitted.
#[derive(Clone, Copy, Debug)]
pub struct Fit {
    /// Bead of sealant [m].
    pub bead: f64,
    /// From closing the joint to oil in it [s]; as the sealant's maker says when `None`.
    pub wait: Option<f64>,
    /// Whether the bolts are gone round again after the first heat; as the sealant's maker says when `None`.
    pub retorque: Option<bool>,
}

pub(crate) fn read(shop: &Section) -> Option<CardsPlan> {
    let stated = shop.has("dipstick");
    let dipstick = shop.below("dipstick").and_then(|s| {
        let stick = section::stick(&s);
        s.finish();
        stick
    });
    let tilt = shop.below_or_empty("tilt");
    let angle = section::tilt(&tilt);
    tilt.finish();
    let weld = shop.below_or_empty("weld");
    let welded = section::weld(&weld);
    weld.finish();
    let fit = shop.below_or_empty("fit");
    let fitted = section::fit(&fit);
    fit.finish();
    if stated && dipstick.is_none() {
        return None;
    }
    Some(CardsPlan {
        dipstick,
        tilt: angle?,
        weld: welded?,
        fit: fitted?,
    })
}
