//! What the event's rules may ask, for the user to fill in from his own rule book.

use super::About;
use super::sheet::Sheet;
use crate::drawing::Drawing;
use crate::findings::RulesFacts;
use measure::{Dimension, show};

/// The card.
pub fn rules(facts: &RulesFacts, about: &About) -> Vec<Drawing> {
    let volume = |v: f64| show(v, Dimension::Volume, about.order);
    let lead = "Rules differ by event and year. Read yours, write down what it says, tick what the car has.";
    let mut s = Sheet::new(about, "rules", "Event rules", lead);
    s.fill_in("Event, rule book and date of its issue", "");
    s.fill_in("Wet sump of our own making allowed: paragraph", "");
    s.fill_in(
        &format!("Oil allowed at most (ours: {} in all)", volume(facts.fill)),
        "L",
    );
    s.fill_in(
        &format!("Pan to the flange, if asked (ours: {})", volume(facts.capacity)),
        "L",
    );
    s.fill_in("Catch tank for the breather, size asked", "L");
    s.tick("Drain plug wired, and the filter; wire pulls them tight.");
    s.fill_in("Ground clearance asked, lowest point, driver in", "mm");
    s.tick("The pan is not the lowest part, or it has its guard.");
    s.fill_in("Oil lines and joints near the header: shield asked", "");
    s.fill_in("Who said so, when it was not in the book", "");
    s.small(
        "No rule is quoted here: this list only names what rules often ask (common practice, no source).",
    );
    s.done()
}
