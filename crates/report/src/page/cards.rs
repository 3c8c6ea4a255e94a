//! The cards of the bench, folded away until one is wanted: large enough to be read on a phone beside the work.

use super::html::escape;
use crate::cards::{About, all};
use crate::drawing::svg;
use crate::findings::{CardsFacts, SealFacts};
use measure::UnitOrder;
use std::fmt::Write;

/// Sheets of the page [mm]: narrower than paper, so that a phone shows the words large.
const SHEET: [f64; 2] = [172.0, 250.0];

/// What stands on every card of `design`.
pub fn about(design: &str, order: UnitOrder) -> About {
    About {
        design: design.to_owned(),
        paper: SHEET,
        order,
    }
}

/// The section.
pub fn cards(out: &mut String, design: &str, facts: &CardsFacts, seal: Option<&SealFacts>, order: UnitOrder) {
    out.push_str(
        "<section id=\"cards\"><h2>For the bench</h2>\n<p>Open a card and keep the phone beside the work. <code>sumpwright shop</code> \
         writes them for the printer, with cut files and templates.</p>\n",
    );
    for card in all(facts, seal, &about(design, order)) {
        let title = card
            .sheets
            .first()
            .map_or(card.name, |sheet| sheet.title.as_str());
        let _ = writeln!(
            out,
            "<details class=\"card\"><summary>{}: {}</summary>",
            escape(title),
            escape(card.what)
        );
        for sheet in &card.sheets {
            let mut sheet = sheet.clone();
            sheet.id = format!("card-{}", sheet.id);
            out.push_str(&svg::inline(&sheet));
        }
        out.push_str("</details>\n");
    }
    out.push_str("</section>\n");
}
