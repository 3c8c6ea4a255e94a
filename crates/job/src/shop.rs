//! What a design says of the shop that makes the pan. Everything has a usual value: a design without `[shop]` can be made.

use glam::DVec2;
use shop::list::Prices;
use shop::paper::Paper;
use std::path::Path;

use crate::assembly::finished;
use crate::cards::{self, CardsPlan};
use crate::fault::Place;
use crate::gasket::{self, Gasket};
use crate::sealing::Sealing;
use crate::section::{Desk, Section};
use crate::sections::outline_file::Files;
use crate::sections::{sheet, shop as section, shop_body, shop_prices};
use crate::sheet_work::SheetShop;
use crate::sources::Sources;
use crate::surroundings::Clearances;
use crate::time::{self, TimePlan};

/// What the shop works with, in SI.
#[derive(Clone, Debug)]
pub struct Shop {
    /// Paper in the printer.
    pub paper: Paper,
    /// The pan as a solid.
    pub body: Body,
    /// The gasket that is to be cut.
    pub gasket: Option<Gasket>,
    /// The time until an event, when one is stated.
    pub time: Option<TimePlan>,
    /// What the cards need.
    pub cards: CardsPlan,
    /// How plates and doors are made of sheet.
    pub sheet: SheetShop,
    /// The user's prices.
    pub prices: Prices,
    /// Keys of the prices that the design does not state.
    pub assumed: Vec<&'static str>,
    /// Parts that are bought.
    pub buy: Vec<Bought>,
}

/// A part that is bought.
#[derive(Clone, Debug, PartialEq)]
pub struct Bought {
    /// Its name.
    pub name: String,
    /// How many.
    pub count: usize,
    /// Price of one, in the currency of the prices.
    pub price: f64,
}

/// What the pan's solid has beside its pockets, in SI.
#[derive(Clone, Debug)]
pub struct Body {
    /// Thickness of the walls.
    pub wall: f64,
    /// Thickness of the floor.
    pub floor: f64,
    /// True when outside corners are round.
    pub round: bool,
    /// Least lean of the outside from upright [rad].
    pub draft: f64,
    /// What it is made of: the word of a metal or another stuff.
    pub metal: &'static str,
    /// Bolts, places in plan; none when no section states them.
    pub bolts: Vec<DVec2>,
    /// Ring under a bolt's head, washer included.
    pub head: f64,
    /// Diameter of the bolts' holes.
    pub bolt_hole: f64,
    /// Diameter of the metal round them.
    pub boss_diameter: f64,
    /// How far bosses stand down below the flange.
    pub boss_height: f64,
    /// Diameter of the drain's hole.
    pub drain_hole: f64,
    /// Where the section is, or would be.
    pub place: Place,
}

/// `plates` and `doors` are the names of those of the design, in order.
pub(crate) fn read(
    top: &Section,
    files: &Files,
    sealing: Option<&Sealing>,
    clearances: Option<&Clearances>,
    root: &Path,
    sources: &Sources,
    plates: &[String],
    doors: &[String],
) -> Option<Shop> {
    // A design that does not speak of the shop has no inputs from it: the usual values stand in docs/shop.md.
    let aside = Desk::new(top.desk.order);
    let empty = || Section::empty(&aside, top.place.clone(), "shop".to_owned());
    let section = top.below("shop").unwrap_or_else(empty);
    let paper = section::paper(&section);
    let body = finished(Some(section.below_or_empty("body")), |body| {
        shop_body::body(body, sealing, clearances.map(|c| &c.surroundings.outside))
    });
    let time = time::read(&section, root, sources);
    let cards = cards::read(&section);
    let prices = finished(Some(section.below_or_empty("prices")), shop_prices::prices);
    let currency = prices.as_ref().map_or("EUR", |p| p.0.currency.as_str());
    let buy: Option<Vec<Bought>> =
        section
            .parts("buy")
            .into_iter()
            .map(|(name, part)| {
                finished(Some(part), |part| shop_prices::bought(part, currency))
                    .map(|(count, price)| Bought { name, count, price })
            })
            .collect();
    let sheet = sheet::read(&section, plates, doors);
    let gasket = gasket::read(&section, files, sealing);
    section.finish();
    // What is wrong is told all the same.
    aside.done().0.into_iter().for_each(|fault| top.desk.fault(fault));
    let (prices, assumed) = prices?;
    Some(Shop {
        prices,
        assumed,
        buy: buy?,
        paper: paper?,
        body: body?,
        gasket: gasket?,
        time: time?,
        cards: cards?,
        sheet: sheet?,
    })
}
