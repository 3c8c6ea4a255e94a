//! Dipstick card: litres against height along the stick, true size, to be laid beside it.

use super::About;
use super::sheet::{SMALL, Sheet};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::DipstickFacts;
use glam::DVec2;
use measure::{Dimension, show};

/// Most of the stick that a sheet takes [mm].
const LONGEST: f64 = 185.0;
/// From the words of a mark to those of the next [mm].
const APART: f64 = 11.0;
/// Width of the strip [mm].
const STRIP: f64 = 14.0;

/// The card.
pub fn dipstick(facts: &DipstickFacts, about: &About) -> Vec<Drawing> {
    let lead = "Print at 100 %. Lay the stick on the strip, its lower end on the line, and mark it.";
    let mut s = Sheet::new(about, "dipstick", "Dipstick", lead);
    let highest = facts.marks.iter().map(|m| m.along).fold(0.0, f64::max) * 1e3 + 12.0;
    let lowest = facts.marks.iter().map(|m| m.along).fold(f64::INFINITY, f64::min) * 1e3;
    // A long stick is shown from below its lowest mark.
    let from = if highest > LONGEST {
        (lowest - 25.0).max(0.0).floor()
    } else {
        0.0
    };
    let tall = (highest - from).clamp(40.0, LONGEST);
    let low = s.room(tall + 28.0) + DVec2::new(20.0, 24.0);
    let [_, right] = s.edges();
    let d = s.drawing();
    strip(d, facts, low, from, tall, right, about);
    bar(d, DVec2::new(low.x, low.y - 17.0));
    if from > 0.0 {
        s.words(&format!(
            "The line at the foot of the strip is {from:.0} mm up from the stick's lower end."
        ));
    }
    s.head("How to read it");
    for (i, step) in facts.steps.iter().enumerate() {
        s.step(i + 1, step);
    }
    for line in &facts.said {
        s.small(line);
    }
    s.done()
}

fn strip(
    d: &mut Drawing,
    facts: &DipstickFacts,
    low: DVec2,
    from: f64,
    tall: f64,
    right: f64,
    about: &About,
) {
    let at = |along: f64| low.y + along * 1e3 - from;
    let inside = |along: f64| (0.0..=tall).contains(&(along * 1e3 - from));
    let stick = Path::rectangle(low, low + DVec2::new(STRIP, tall));
    let marks: Vec<_> = facts
        .marks
        .iter()
        .filter(|m| !m.running && inside(m.along))
        .collect();
    let of = |name: &str| marks.iter().find(|m| m.name == name).map(|m| m.along);
    if let (Some(a), Some(b)) = (of("LOW"), of("HIGH")) {
        let good = Path::rectangle(DVec2::new(low.x, at(a)), DVec2::new(low.x + STRIP, at(b)));
        d.paths(vec![good], None, Some(Fill::Solid(Ink::Oil)));
    }
    d.paths(vec![stick], Some(Pen::new(Ink::Metal, Weight::Heavy)), None);
    for row in facts.rows.iter().filter(|r| inside(r.along)) {
        let y = at(row.along);
        d.line(
            DVec2::new(low.x, y),
            DVec2::new(low.x + 0.45 * STRIP, y),
            Pen::new(Ink::Main, Weight::Fine),
        );
    }
    // Small figures left of the strip, where two do not meet.
    let mut last = f64::NEG_INFINITY;
    for row in facts.rows.iter().filter(|r| inside(r.along)) {
        let y = at(row.along);
        // The line of the stick's end has its own words.
        if y - last > 4.4 && y - low.y > 2.5 {
            last = y;
            let litres = format!("{:.1} L", row.volume * 1e3);
            d.text(
                DVec2::new(low.x - 1.5, y - 1.3),
                &litres,
                4.0,
                Anchor::End,
                Ink::Main,
            );
        }
    }
    // Words right of it, pushed apart so that they can be read, each led to its line.
    let mut words: Vec<_> = facts.marks.iter().filter(|m| inside(m.along)).collect();
    words.sort_by(|a, b| a.along.total_cmp(&b.along));
    let mut places: Vec<f64> = words.iter().map(|m| at(m.along)).collect();
    for i in 1..places.len() {
        places[i] = places[i].max(places[i - 1] + APART);
    }
    // Not over the end of the strip: what was pushed up comes down together.
    let mut above = low.y + tall + 2.0;
    for place in places.iter_mut().rev() {
        *place = place.min(above);
        above = *place - APART;
    }
    for (m, place) in words.into_iter().zip(places) {
        let y = at(m.along);
        let end = low.x + STRIP;
        let pen = match m.running {
            true => Pen::dashed(Ink::Main, Weight::Medium),
            false => Pen::new(Ink::Main, Weight::Heavy),
        };
        d.line(DVec2::new(low.x, y), DVec2::new(end, y), pen);
        let fine = Pen::new(Ink::Quiet, Weight::Fine);
        d.trace(
            [
                DVec2::new(end, y),
                DVec2::new(end + 5.0, place),
                DVec2::new(end + 8.0, place),
            ],
            fine,
        );
        let size = if m.running { SMALL } else { 7.0 };
        let words = format!("{}  {:.1} mm up", m.name, m.along * 1e3);
        let base = DVec2::new(end + 10.0, place - 0.35 * size);
        match m.running {
            true => d.text(base, &words, size, Anchor::Start, Ink::Main),
            false => d.strong(base, &words, size, Anchor::Start, Ink::Main),
        }
        let litres = show(m.volume, Dimension::Volume, about.order);
        d.text(
            DVec2::new(right, place - 0.35 * SMALL),
            &litres,
            SMALL,
            Anchor::End,
            Ink::Main,
        );
    }
    let end = DVec2::new(low.x, low.y - 5.5);
    let words = if from > 0.0 {
        "stick goes on below"
    } else {
        "lower end of the stick on this line"
    };
    d.text(end, words, 4.0, Anchor::Start, Ink::Quiet);
    let reach = Pen::new(Ink::Main, Weight::Medium);
    d.line(
        DVec2::new(low.x - 6.0, low.y),
        DVec2::new(low.x + STRIP + 6.0, low.y),
        reach,
    );
}

/// A length to be measured on the paper.
fn bar(d: &mut Drawing, low: DVec2) {
    let pen = Pen::new(Ink::Main, Weight::Fine);
    d.line(low, low + DVec2::new(100.0, 0.0), pen);
    for x in [0.0, 100.0] {
        d.line(low + DVec2::new(x, -2.0), low + DVec2::new(x, 2.0), pen);
    }
    let words = "100 mm on this sheet: measure it before you trust the strip";
    d.text(low + DVec2::new(0.0, -5.5), words, 4.0, Anchor::Start, Ink::Main);
}
