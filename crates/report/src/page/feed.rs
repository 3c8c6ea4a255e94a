//! The suction side: the sentence, the two pictures, the tables.

use super::figure::Figures;
use super::html::{escape, sentence};
use super::tables::table;
use crate::feed_rows::{self, Rows};
use crate::findings::FeedFacts;
use crate::pictures::feed as picture;
use measure::UnitOrder;
use std::fmt::Write;

/// The section.
pub fn feed(out: &mut String, facts: &FeedFacts, order: UnitOrder, figures: &Figures) {
    let class = if facts.holds { "" } else { " class=\"warning\"" };
    let _ = writeln!(
        out,
        "<section id=\"feed\"><h2>Is the pump fed</h2>\n<p{class}>{}</p>",
        sentence(&facts.said)
    );
    figures.figure(
        out,
        |look| picture::inlet(facts, look),
        "Lines of equal pressure under the worst push of the drive. Below the heavy line the pump is not fed: warm the engine \
         up below the engine speed that it allows.",
    );
    let set = |out: &mut String, rows: Rows| {
        let head: Vec<&str> = rows.head.iter().map(String::as_str).collect();
        if !rows.rows.is_empty() {
            table(out, rows.caption, &head, &rows.rows);
        }
    };
    set(out, feed_rows::speeds(facts, order));
    figures.figure(
        out,
        |look| picture::losses(facts, look),
        "From the pressure over the oil to what is left in the pump's inlet; the numbers are the parts below.",
    );
    set(out, feed_rows::parts(facts, order));
    set(out, feed_rows::changes(facts, order));
    out.push_str("<h3>Air at the joint</h3>\n");
    set(out, feed_rows::air(facts));
    set(out, feed_rows::carried(facts));
    out.push_str("<h3>The mouth</h3>\n");
    set(out, feed_rows::bells(facts, order));
    out.push_str("<ul>\n");
    for remark in &facts.remarks {
        let _ = writeln!(out, "<li>{}</li>", escape(remark));
    }
    out.push_str("</ul>\n</section>\n");
}
