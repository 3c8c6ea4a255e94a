//! The joint: sentence, warnings, pictures, tables.

use super::figure::Figures;
use super::html::{escape, sentence};
use super::tables::table;
use crate::findings::{FaceFact, SealFacts};
use crate::numbers::line;
use crate::pictures::seal as picture;
use measure::{Dimension, UnitOrder, show_torque};
use std::fmt::Write;

/// The section.
pub fn seal(out: &mut String, facts: &SealFacts, order: UnitOrder, figures: &Figures) {
    let class = if facts.holds { "" } else { " class=\"warning\"" };
    let _ = writeln!(
        out,
        "<section id=\"seal\"><h2>Will the joint hold</h2>\n<p{class}>{}</p>",
        sentence(&facts.said)
    );
    if !facts.warnings.is_empty() {
        out.push_str("<ul>\n");
        for w in &facts.warnings {
            let _ = writeln!(
                out,
                "<li>{}. <span class=\"quiet\">Mend: {}.</span></li>",
                escape(&w.said),
                escape(&w.mend)
            );
        }
        out.push_str("</ul>\n");
    }
    figures.figure(
        out,
        |look| picture::pressure(facts, look),
        "The band stands on the seal's line; hatched where the seal gets too little. Counted with the least clamp load that \
         the torque may leave.",
    );
    press(out, facts, order);
    for face in &facts.faces {
        let _ = writeln!(out, "<p>{}</p>", escape(&face.said));
        let caption = format!("Heights count from {}.", face.datum);
        figures.figure(out, |look| picture::face(facts, face, look), &caption);
        spans(out, face, order);
    }
    bolts(out, facts, order);
    if let Some(o) = &facts.order {
        let _ = writeln!(out, "<h3>Order of tightening</h3>\n<p>{}</p>", escape(&o.said));
    }
    out.push_str("<ul class=\"quiet\">\n");
    for c in &facts.counted {
        let _ = writeln!(out, "<li>{}</li>", escape(c));
    }
    out.push_str("</ul>\n<ul>\n");
    for c in &facts.cautions {
        let _ = writeln!(out, "<li>{}</li>", escape(c));
    }
    out.push_str("</ul>\n</section>\n");
}

fn press(out: &mut String, facts: &SealFacts, order: UnitOrder) {
    let Some(press) = &facts.press else { return };
    let length = |v: f64| line(v, Dimension::Length, order);
    let _ = writeln!(out, "<p>{}</p>", escape(&press.said));
    let rows: Vec<Vec<String>> = press
        .what_ifs
        .iter()
        .map(|w| {
            vec![
                w.said.clone(),
                times(w.service),
                if w.short > 0.0 {
                    length(w.short)
                } else {
                    "none".to_owned()
                },
            ]
        })
        .collect();
    if !rows.is_empty() {
        table(
            out,
            "What a change would do, each alone",
            &["change", "need met at the worst place", "seal that falls short"],
            &rows,
        );
    }
}

/// "1.4 times".
pub fn times(service: f64) -> String {
    if service >= 10.0 {
        "over 10 times".to_owned()
    } else {
        format!("{service:.2} times")
    }
}

fn spans(out: &mut String, face: &FaceFact, order: UnitOrder) {
    let length = |v: f64| line(v, Dimension::Length, order);
    let mut worst: Vec<_> = face.spans.iter().filter(|s| s.readings > 0).collect();
    worst.sort_by(|a, b| b.hollow.max(b.crown).total_cmp(&a.hollow.max(a.crown)));
    let rows: Vec<Vec<String>> = worst
        .iter()
        .take(5)
        .map(|s| {
            vec![
                format!("{} to {}", s.bolts[0], s.bolts[1]),
                length(s.length),
                length(s.hollow),
                length(s.crown),
            ]
        })
        .collect();
    if !rows.is_empty() {
        table(
            out,
            "Spans between bolts, worst first",
            &["bolts, as the design lists them", "span", "hollow", "crown"],
            &rows,
        );
    }
}

fn bolts(out: &mut String, facts: &SealFacts, order: UnitOrder) {
    let b = &facts.bolts;
    let force = |v: f64| line(v, Dimension::Force, order);
    let length = |v: f64| line(v, Dimension::Length, order);
    let torque = |v: f64| show_torque(v, order);
    let _ = writeln!(out, "<h3>Bolts</h3>\n<p>{}</p>", escape(&b.said));
    let mut rows = vec![];
    let mut row = |name: &str, value: String| rows.push(vec![name.to_owned(), value]);
    if let Some(stated) = b.stated {
        row("torque stated", torque(stated));
    }
    row(
        "torque suggested, at most",
        b.suggested.map_or("none is safe".to_owned(), torque),
    );
    if let Some(least) = b.least {
        row("torque that the gasket needs, at least", torque(least));
    }
    row(
        "clamp load of a bolt: least, middle, most",
        format!(
            "{}; {}; {}",
            force(b.clamp[0]),
            force(b.clamp[1]),
            force(b.clamp[2])
        ),
    );
    row(
        "proof load; breaks at",
        format!("{}; {}", force(b.proof[0]), force(b.proof[1])),
    );
    row("thread in thread", length(b.engaged));
    row(
        "engagement that breaks the bolt first, on limit sizes; on basic sizes",
        format!(
            "{}; {}",
            length(b.engagement_wanted[0]),
            length(b.engagement_wanted[1])
        ),
    );
    row(
        "tapped thread strips at, on limit sizes; on basic sizes",
        format!("{}; {}", force(b.strips[0]), force(b.strips[1])),
    );
    row(
        "room before it bottoms",
        b.spare.map_or("not known".to_owned(), length),
    );
    let stress = |v: f64| line(v, Dimension::Stress, order);
    row(
        "pressure under the head; borne",
        format!("{}; {}", stress(b.under_head[0]), stress(b.under_head[1])),
    );
    row("lost by settling", force(b.settles));
    row(
        "gained at the coldest; at the hottest",
        format!("{}; {}", force(b.heat[0]), force(b.heat[1])),
    );
    if b.creep[1] > 0.0 {
        row(
            "lost by creep of the gasket",
            format!("{:.0} to {:.0} %", b.creep[0] * 100.0, b.creep[1] * 100.0),
        );
    }
    row(
        "left, least and most; with the worst temperature",
        format!(
            "{} to {}; {} to {}",
            force(b.left[0]),
            force(b.left[1]),
            force(b.left_at_worst[0]),
            force(b.left_at_worst[1])
        ),
    );
    row("slip of pan on block, cold to hot", length(b.slip));
    table(out, "One bolt", &["", ""], &rows);
    let limits: Vec<Vec<String>> = b
        .limits
        .iter()
        .map(|l| {
            vec![
                l.said.clone(),
                l.force.map(force).unwrap_or_default(),
                torque(l.torque),
            ]
        })
        .collect();
    table(
        out,
        "What limits the torque, lowest first",
        &["limit", "clamp load as tightened", "torque"],
        &limits,
    );
}
