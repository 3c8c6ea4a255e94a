//! The parts of the report that are mostly words: replay, what is known, method, cautions, foot.

use super::html::escape;
use crate::findings::{Findings, Remark};
use crate::numbers::line;
use crate::replay::ReplayBundle;
use measure::{Dimension, UnitOrder};
use std::fmt::Write;

/// The place where the replay appears. Without scripts the sections above tell the same.
pub fn replay(out: &mut String, replay: &ReplayBundle) {
    if replay.moments.is_empty() {
        return;
    }
    out.push_str(
        "<section id=\"replay\"><h2>See the oil move</h2>\n<div id=\"replay-stage\">\n<p class=\"still-only\">The \
         replay needs scripts and WebGL, and this viewer does not run them. The sections above show the same oil \
         at the worst instants; open this file in a browser to turn and scrub it.</p>\n</div>\n",
    );
    if !replay.said.is_empty() {
        let _ = writeln!(out, "<p class=\"quiet\">{}</p>", escape(&replay.said));
    }
    out.push_str("</section>\n");
}

fn remarks(out: &mut String, list: &[Remark]) {
    out.push_str("<ul>\n");
    for r in list {
        let _ = write!(out, "<li>{}", escape(&r.said));
        if !r.effect.is_empty() {
            let _ = write!(out, " <span class=\"quiet\">{}</span>", escape(&r.effect));
        }
        out.push_str("</li>\n");
    }
    out.push_str("</ul>\n");
}

/// Assumptions and what is not known.
pub fn known(out: &mut String, f: &Findings) {
    out.push_str("<section id=\"known\"><h2>What this rests on</h2>\n");
    if !f.assumptions.is_empty() {
        out.push_str("<h3>Assumed</h3>\n");
        remarks(out, &f.assumptions);
    }
    if !f.not_known.is_empty() {
        out.push_str("<h3>Not known</h3>\n");
        remarks(out, &f.not_known);
    }
    out.push_str("</section>\n");
}

/// How it was computed.
pub fn method(out: &mut String, f: &Findings, order: UnitOrder) {
    out.push_str("<section id=\"method\"><h2>How it was computed</h2>\n<ol>\n");
    for step in &f.method {
        let _ = write!(
            out,
            "<li><strong>{}</strong>: {}",
            escape(&step.step),
            escape(&step.said)
        );
        if !step.source.is_empty() {
            let _ = write!(out, " <cite>{}</cite>", escape(&step.source));
        }
        out.push_str("</li>\n");
    }
    let _ = writeln!(
        out,
        "</ol>\n<p>Cells of {}, {} of them open. {}</p>",
        line(f.pan.cell, Dimension::Length, order),
        count(f.pan.cells as u64),
        escape(&f.pan.cell_why)
    );
    let share = if f.ledger.fill > 0.0 {
        f.ledger.worst_error / f.ledger.fill
    } else {
        f.ledger.worst_error
    };
    let _ = writeln!(
        out,
        "<p>Oil in the pan, in the engine and on its way back summed to the fill at each of {} steps, to within {} \
         of the fill.</p>",
        count(f.ledger.steps),
        power(share)
    );
    if !f.timings.is_empty() {
        let said: Vec<_> = f
            .timings
            .iter()
            .map(|t| format!("{} {:.1} s", escape(&t.step), t.seconds))
            .collect();
        let _ = writeln!(out, "<p class=\"quiet\">It took: {}.</p>", said.join(", "));
    }
    out.push_str("</section>\n");
}

/// A count in groups of three.
fn count(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::new();
    for (i, d) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push('\u{a0}');
        }
        out.push(d);
    }
    out
}

/// A small share as "3 × 10⁻¹²", in markup.
fn power(value: f64) -> String {
    if value == 0.0 {
        return "nothing at all".to_owned();
    }
    let exponent = value.abs().log10().floor();
    format!(
        "{:.0} × 10<sup>\u{2212}{:.0}</sup>",
        value / 10f64.powf(exponent),
        -exponent
    )
}

/// What the shop has to know before it relies on any of this.
pub const CAUTIONS: [&str; 4] = [
    "This is an aid to judgement, not a certificate. Keep the pressure alarm, and follow the engine maker's data, the event's \
     rules and local codes.",
    "A run-dry bearing can lock an engine at speed. Prove the pan with a pressure log before you race it.",
    "Hot oil burns. An oil leak on a header is a fire, and oil on a course endangers others.",
    "Have licensed people do licensed work: pressure, lifting, welding magnesium.",
];

/// The same as a section of the page, once and plainly.
pub fn cautions(out: &mut String, f: &Findings) {
    let under = if f.clearance.is_some() {
        "<li>Fitting and taking off a pan is work under a car and under a hung engine: use rated stands on firm ground \
         and a rated engine support from above, never a jack alone, and keep out from under while the pan comes down. \
         Have a licensed shop do what you are not equipped for.</li>\n"
    } else {
        ""
    };
    out.push_str("<section id=\"cautions\"><h2>Before you rely on this</h2>\n<ul>\n");
    for caution in CAUTIONS {
        let _ = writeln!(out, "<li>{}</li>", escape(caution));
    }
    let _ = write!(out, "{under}</ul>\n</section>\n");
}

/// The last line.
pub fn foot(out: &mut String, f: &Findings) {
    let _ = writeln!(
        out,
        "<footer><p>{} {}. {}. Letters: Archivo, SIL Open Font Licence 1.1. Replay: three.js, MIT licence.</p></footer>",
        escape(&f.program.name),
        escape(&f.program.version),
        escape(&f.format)
    );
}
