//! The cards: what a person at the bench reads while the hands are busy.
//!
//! One card a subject, of one sheet or several, in type that is read on a phone held at arm's length. A card says what to
//! do, with which numbers, and what to look for; a caution stands once, where it matters. Bolts are numbered as the
//! design lists them, on every card and picture.

pub mod dipstick;
pub mod doors;
pub mod first_laps;
pub mod fit;
pub mod leak;
pub mod rules;
mod sheet;
pub mod tilt;
pub mod torque;
pub mod weld;

use crate::drawing::Drawing;
use crate::findings::{CardsFacts, SealFacts};
use measure::UnitOrder;

/// What stands on every card.
#[derive(Clone, Debug)]
pub struct About {
    /// Name of the design.
    pub design: String,
    /// Width and height of the paper, upright [mm].
    pub paper: [f64; 2],
    /// Which unit stands first.
    pub order: UnitOrder,
}

/// A card.
#[derive(Clone, Debug)]
pub struct Card {
    /// Name, of letters and hyphens.
    pub name: &'static str,
    /// What it is for, in a few words.
    pub what: &'static str,
    /// Its sheets.
    pub sheets: Vec<Drawing>,
}

/// All cards that the facts allow, in the order of the work.
pub fn all(facts: &CardsFacts, seal: Option<&SealFacts>, about: &About) -> Vec<Card> {
    let weld = facts.weld.as_ref().zip(seal);
    let cards: [(&str, &str, Option<Vec<Drawing>>); 9] = [
        (
            "weld",
            "order of the weld, flange held down",
            weld.map(|(w, s)| weld::weld(w, &s.view, about)),
        ),
        (
            "leak",
            "leak test with limit and pass mark",
            Some(leak::leak(&facts.leak, about)),
        ),
        (
            "tilt",
            "where the oil line must lie on the bench",
            facts.tilt.as_ref().and_then(|t| tilt::tilt(t, about)),
        ),
        (
            "doors",
            "which way each door opens",
            doors::doors(&facts.doors, about),
        ),
        (
            "fit",
            "from clean faces to first pressure",
            Some(fit::fit(&facts.fit, about)),
        ),
        (
            "torque",
            "bolts, order, passes",
            seal.and_then(|s| torque::torque(s, about)),
        ),
        (
            "dipstick",
            "litres along the stick, true size",
            (facts.dipstick.as_ref()).map(|d| dipstick::dipstick(d, about)),
        ),
        (
            "first-laps",
            "first laps and what is looked at after",
            Some(first_laps::first_laps(&facts.fit, about)),
        ),
        (
            "rules",
            "what the event's rules may ask, to fill in",
            Some(rules::rules(&facts.rules, about)),
        ),
    ];
    let card = |(name, what, sheets): (&'static str, &'static str, Option<Vec<Drawing>>)| {
        sheets.map(|sheets| Card { name, what, sheets })
    };
    cards.into_iter().filter_map(card).collect()
}
