//! The answer: verdict in a sentence, the big numbers, what would cure it.

use super::figure::Figures;
use super::html::{escape, sentence};
use super::tables;
use crate::findings::{Depth, Findings, Instant, Measured, Word};
use crate::numbers::{Shown, air, line, measured, shown};
use measure::{Dimension, UnitOrder};
use std::fmt::Write;

/// The line at the top: what was asked.
pub fn head(out: &mut String, f: &Findings) {
    let _ = writeln!(
        out,
        "<header><p><strong>{}</strong> driven over <strong>{}</strong></p></header>",
        escape(&f.design.name),
        escape(&f.drive.name),
    );
}

/// A sign that differs by form, not only by colour.
fn sign(word: Word) -> &'static str {
    match word {
        Word::Go => {
            "<circle cx=\"12\" cy=\"12\" r=\"10\" class=\"f-main\"/><path d=\"M7 12.5l3.4 3.4L17 9\" class=\"tick\"/>"
        }
        Word::Watch => {
            "<path d=\"M12 2L23 21H1Z\" class=\"f-main\"/><path d=\"M12 9v6M12 17.6v.8\" class=\"tick\"/>"
        }
        Word::Stop => {
            "<path d=\"M8 2h8l6 6v8l-6 6H8l-6-6V8Z\" class=\"f-bare\"/><path d=\"M6.5 12h11\" class=\"tick\"/>"
        }
        Word::NotKnown => "<circle cx=\"12\" cy=\"12\" r=\"9.2\" class=\"ring\"/>",
    }
}

/// Verdict and big numbers.
pub fn verdict(out: &mut String, f: &Findings, order: UnitOrder) {
    let v = &f.verdict;
    let _ = writeln!(
        out,
        "<section id=\"verdict\">\n<p class=\"word\"><svg viewBox=\"0 0 24 24\" aria-hidden=\"true\">{}</svg>{}</p>\n\
         <h1>{}</h1>",
        sign(v.word),
        v.word.said(),
        sentence(&v.sentence)
    );
    if !v.reason.is_empty() && !v.sentence.contains(&v.reason) {
        let _ = writeln!(out, "<p class=\"reason\">{}</p>", sentence(&v.reason));
    }
    if f.depth == Depth::Bays {
        out.push_str(
            "<p class=\"sketch\"><strong>A sketch, not the proof.</strong> Computed between the spaces of the pan: waves \
             within a space but the first, spray, oil that climbs a wall and falls back are not seen. Look at what is not \
             known below, and run <code>sumpwright check</code> before metal is cut.</p>\n",
        );
    }
    out.push_str("<dl class=\"numbers\">\n");
    let (length, volume) = (Dimension::Length, Dimension::Volume);
    number(
        out,
        "least cover over the mouth",
        &measured(v.least_cover, length, order),
        &at(&v.least_cover_at),
    );
    number(
        out,
        "air drawn in the worst lap",
        &air(v.air_per_lap.value, v.air_per_lap.band, f.pan.cell, order),
        &first_air(f),
    );
    let gulp = if v.longest_gulp == 0.0 {
        none("s")
    } else {
        seconds(v.longest_gulp)
    };
    let gulp_at = v.longest_gulp_at.as_ref().map(at).unwrap_or_default();
    number(out, "longest gulp of air", &gulp, &gulp_at);
    if let Some(lowest) = &f.lowest_fill {
        match lowest.fill {
            Some(fill) => {
                let shown = measured(
                    Measured {
                        value: fill,
                        band: Some(lowest.band),
                    },
                    volume,
                    order,
                );
                number(
                    out,
                    "lowest fill that holds",
                    &shown,
                    &format!("filled with {}", line(f.pan.fill, volume, order)),
                );
            }
            None => {
                let none = Shown {
                    value: "none".into(),
                    unit: String::new(),
                    other: String::new(),
                };
                number(
                    out,
                    "lowest fill that holds",
                    &none,
                    "no fill below the brim or the crank",
                );
            }
        }
    }
    let crank = if v.most_at_crank == 0.0 {
        none("mL")
    } else {
        shown(v.most_at_crank, volume, order)
    };
    let crank_at = v.most_at_crank_at.as_ref().map(at).unwrap_or_default();
    number(out, "most oil inside the crank's sweep", &crank, &crank_at);
    out.push_str("</dl>\n</section>\n");
}

fn none(unit: &str) -> Shown {
    Shown {
        value: "0".into(),
        unit: unit.into(),
        other: String::new(),
    }
}

/// A short time, to a hundredth of a second.
pub fn seconds(value: f64) -> Shown {
    Shown {
        value: format!("{value:.2}"),
        unit: "s".into(),
        other: String::new(),
    }
}

fn at(instant: &Instant) -> String {
    if instant.place.is_empty() {
        format!("at {:.2} s", instant.time)
    } else {
        format!("{} ({:.2} s on the drive's clock)", instant.place, instant.time)
    }
}

fn first_air(f: &Findings) -> String {
    f.verdict
        .first_air
        .as_ref()
        .map_or_else(String::new, |i| format!("first: {}", at(i)))
}

fn number(out: &mut String, name: &str, shown: &Shown, under: &str) {
    let (value, band) = shown.value.split_once(" ± ").unwrap_or((&shown.value, ""));
    let band = if band.is_empty() {
        String::new()
    } else {
        format!("± {} ", escape(band))
    };
    let _ = write!(
        out,
        "<div><dt>{}</dt><dd><span class=\"big\">{}</span> <span class=\"unit\">{band}{}</span>",
        escape(name),
        escape(value),
        escape(&shown.unit)
    );
    if !shown.other.is_empty() {
        let _ = write!(out, " <span class=\"other\">{}</span>", escape(&shown.other));
    }
    if !under.is_empty() {
        let _ = write!(out, "<span class=\"under\">{}</span>", escape(under));
    }
    out.push_str("</dd></div>\n");
}

/// What would keep the mouth covered; lowest fill; the answer at low, mid, high oil aloft.
pub fn cures(out: &mut String, f: &Findings, order: UnitOrder, figures: &Figures) {
    out.push_str("<section id=\"cures\"><h2>What would cure it</h2>\n");
    if f.verdict.cures.is_empty() {
        let words = match f.verdict.word {
            Word::Go => "Nothing needs curing.",
            _ => "No cure was computed. The moments above say where the oil went and what decided it.",
        };
        let _ = writeln!(out, "<p>{words}</p>");
    } else {
        out.push_str("<ul>\n");
        for cure in &f.verdict.cures {
            let how = if cure.computed {
                "computed"
            } else {
                "by argument, not computed"
            };
            let _ = write!(
                out,
                "<li>{} <span class=\"quiet\">({how})</span>",
                sentence(&cure.said)
            );
            if !cure.cost.is_empty() {
                let _ = write!(out, "<br><span class=\"quiet\">{}</span>", escape(&cure.cost));
            }
            out.push_str("</li>\n");
        }
        out.push_str("</ul>\n");
    }
    if let Some(lowest) = &f.lowest_fill {
        let _ = writeln!(out, "<h3>Lowest fill</h3>\n<p>{}</p>", sentence(&lowest.said));
        tables::tried_fills(out, f, &lowest.tried, order);
    }
    if !f.aloft.is_empty() {
        out.push_str("<h3>With less and with more oil aloft</h3>\n");
        figures.allowances(out, f);
        tables::aloft(out, f, order);
    }
    out.push_str("</section>\n");
}
