//! Parts of the report that stand by themselves on another page, in the same markup.

use super::figure::{Figures, patterns};
use super::{cards, clearance, feed, seal};
use crate::cards::torque;
use crate::drawing::svg;
use crate::findings::{CardsFacts, ClearanceFacts, FeedFacts, SealFacts};
use measure::UnitOrder;

/// A part.
#[derive(Clone, Copy, Debug)]
pub enum Piece<'a> {
    /// Is the pump fed?
    Feed(&'a FeedFacts),
    /// Will the joint hold, and the torque card.
    Seal {
        /// Name of the design.
        design: &'a str,
        /// The joint.
        facts: &'a SealFacts,
    },
    /// Does it fit?
    Clearance(&'a ClearanceFacts),
    /// The cards of the bench.
    Cards {
        /// Name of the design.
        design: &'a str,
        /// What stands on them.
        facts: &'a CardsFacts,
        /// The joint, when it is known.
        seal: Option<&'a SealFacts>,
    },
}

/// A part as markup: a `<section>` and the hatches of its pictures. All of a user's text is escaped; there is no script and no
/// style in it, so a page needs no leave for either.
pub fn piece(piece: &Piece, order: UnitOrder) -> String {
    let mut out = String::new();
    let figures = Figures::of(order);
    patterns(&mut out);
    match *piece {
        Piece::Feed(facts) => feed::feed(&mut out, facts, order, &figures),
        Piece::Seal { design, facts } => {
            seal::seal(&mut out, facts, order, &figures);
            for mut sheet in torque::torque(facts, &cards::about(design, order)).unwrap_or_default() {
                sheet.id = format!("joint-{}", sheet.id);
                out.push_str("<figure class=\"card\">");
                out.push_str(&svg::inline(&sheet));
                out.push_str("</figure>\n");
            }
        }
        Piece::Clearance(facts) => clearance::clearance(&mut out, facts, order, &figures),
        Piece::Cards { design, facts, seal } => cards::cards(&mut out, design, facts, seal, order),
    }
    out
}
