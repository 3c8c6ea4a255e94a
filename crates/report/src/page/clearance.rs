//! What stands round the pan: the sentence, the picture, the table.

use super::figure::Figures;
use super::html::{escape, sentence};
use super::tables::table;
use crate::findings::{ClearanceFacts, GapState};
use crate::numbers::line;
use crate::pictures::clearance as picture;
use measure::{Dimension, UnitOrder};
use std::fmt::Write;

/// The section.
pub fn clearance(out: &mut String, facts: &ClearanceFacts, order: UnitOrder, figures: &Figures) {
    let length = |v: f64| line(v, Dimension::Length, order);
    let class = if facts.holds() { "" } else { " class=\"warning\"" };
    let _ = writeln!(
        out,
        "<section id=\"clearance\"><h2>Does it fit</h2>\n<p{class}>{}</p>",
        sentence(&facts.said)
    );
    figures.figure(
        out,
        |look| picture::clearance(facts, look),
        "Each numbered line is a least gap, between the places where pan and body come nearest. Dashed outlines lie \
         behind the pan or inside it.",
    );
    let rows: Vec<Vec<String>> = facts
        .pairs
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let moved = if p.moved < p.at_rest {
                length(p.moved)
            } else {
                String::new()
            };
            let mut state = p.state.said().to_owned();
            if p.state != GapState::Clear {
                let [x, y, z] = p.on_pan.map(|v| v * 1e3);
                state = format!("{state}, on the pan at ({x:.0}, {y:.0}, {z:.0}) mm");
            }
            vec![
                format!("{}. {}", i + 1, p.body_said()),
                p.against_said(),
                length(p.at_rest),
                moved,
                length(p.wanted),
                state,
            ]
        })
        .collect();
    if !rows.is_empty() {
        let head = [
            "body",
            "nearest to",
            "gap at rest",
            "with the engine moved",
            "wanted",
            "state",
        ];
        table(out, "Least gaps", &head, &rows);
        let _ = writeln!(
            out,
            "<p>{}</p>",
            escape(
                "Gaps are those of the bodies as stated, to a hundredth of a millimetre; how well they were measured \
                 in the car is not in them. Prove tight places with clay."
            )
        );
    }
    growth(out, facts, order);
    way_out(out, facts);
    out.push_str("</section>\n");
}

/// How far each side of each pocket may move.
fn growth(out: &mut String, facts: &ClearanceFacts, order: UnitOrder) {
    if facts.growth.is_empty() {
        return;
    }
    let rows: Vec<Vec<String>> = facts
        .growth
        .iter()
        .map(|g| {
            let free = line(g.free, Dimension::Length, order);
            vec![
                format!("{}, {}", g.pocket, g.toward),
                if g.open { format!("over {free}") } else { free },
                if g.open {
                    String::new()
                } else {
                    line(g.gained, Dimension::Volume, order)
                },
                g.stopped_by
                    .clone()
                    .unwrap_or_else(|| "nothing stated".to_owned()),
            ]
        })
        .collect();
    table(
        out,
        "Room to grow",
        &["side", "may move", "gains", "stopped by"],
        &rows,
    );
    out.push_str(
        "<p>Each side by itself, below flange and bolt heads, until the first body stands at the gap wanted. Whether a \
         larger pan still comes off is asked by trying it.</p>\n",
    );
}

/// Whether and how it comes off.
fn way_out(out: &mut String, facts: &ClearanceFacts) {
    let Some(removal) = &facts.removal else { return };
    let class = if removal.comes_out {
        ""
    } else {
        " class=\"warning\""
    };
    let _ = writeln!(
        out,
        "<h3>Does it come off with the engine in the car</h3>\n<p{class}>{}</p>",
        escape(&removal.said)
    );
    if removal.way.len() > 1 {
        out.push_str("<ol>");
        for step in &removal.way {
            let _ = write!(out, "<li>{}</li>", escape(&step.said));
        }
        out.push_str("</ol>\n");
    }
}
