//! Trade-offs: many designs as marks, one aim against another.
//!
//! A verdict shows by the shape of its mark and not by its colour; designs that nothing beats stand in a ring and are joined.

use super::Look;
use super::plot::{Lane, span_of, tick_text, ticks};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use glam::DVec2;
use pickup::verdict::Word;

/// A design on a panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// Across, in the unit of the axis.
    pub x: f64,
    /// Upward, in the unit of the axis.
    pub y: f64,
    /// Its verdict.
    pub word: Word,
    /// Whether nothing beats it.
    pub unbeaten: bool,
    /// Words beside it; empty for none.
    pub label: String,
}

/// One aim against another.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// What is across, with its unit.
    pub across: String,
    /// What is upward, with its unit.
    pub upward: String,
    /// A level line, such as a margin of nought, with its words.
    pub line: Option<(f64, String)>,
    /// The designs.
    pub marks: Vec<Mark>,
}

/// Height of a panel without its words [mm].
const TALL: f64 = 62.0;
/// Half the size of a mark [mm].
const SIZE: f64 = 1.1;

/// The panels under one another, with a legend above; `None` without a mark.
pub fn trade(panels: &[Panel], title: &str, said: &str, look: &Look) -> Option<Drawing> {
    let panels: Vec<&Panel> = panels.iter().filter(|panel| !panel.marks.is_empty()).collect();
    if panels.is_empty() {
        return None;
    }
    let words = look.words;
    let (head, foot) = (words * 2.2 + 2.0, words * 4.2 + 4.0);
    let legend = words * 2.0 * if look.is_narrow() { 3.0 } else { 1.0 } + 2.0;
    let each = head + TALL + foot;
    let mut d = Drawing::new(
        &look.id("trade-offs"),
        look.width,
        legend + each * panels.len() as f64,
        title,
    );
    d.said = said.to_owned();
    key(&mut d, look);
    for (i, panel) in panels.iter().enumerate() {
        let top = d.height - legend - each * i as f64;
        one(&mut d, look, panel, top - head - TALL);
    }
    Some(d)
}

/// What the shapes mean.
fn key(d: &mut Drawing, look: &Look) {
    let entries = [
        (Word::Go, false, "go"),
        (Word::Watch, false, "watch"),
        (Word::NotKnown, false, "not known"),
        (Word::Stop, false, "stop"),
        (Word::Go, true, "in a ring: nothing beats it"),
    ];
    let (mut x, mut y) = (2.0, d.height - look.words * 1.3);
    for (word, unbeaten, said) in entries {
        let wide = 5.0 + 0.56 * look.words * said.chars().count() as f64;
        if x + wide > look.width - 1.0 {
            (x, y) = (2.0, y - look.words * 2.0);
        }
        shape(d, DVec2::new(x + 1.5, y), word, unbeaten);
        d.text(
            DVec2::new(x + 4.0, y - 0.33 * look.words),
            said,
            look.words,
            Anchor::Start,
            Ink::Main,
        );
        x += wide + 4.0;
    }
}

fn one(d: &mut Drawing, look: &Look, panel: &Panel, y0: f64) {
    let words = look.words;
    let levels = panel
        .marks
        .iter()
        .map(|mark| mark.y)
        .chain(panel.line.as_ref().map(|line| line.0));
    let widened = |(low, high): (f64, f64)| {
        let room = if high > low {
            0.06 * (high - low)
        } else {
            0.5 * high.abs().max(1.0)
        };
        [low - room, high + room]
    };
    let nothing = (0.0, 1.0);
    let x = widened(span_of(panel.marks.iter().map(|mark| mark.x)).unwrap_or(nothing));
    let y = widened(span_of(levels).unwrap_or(nothing));
    let lane = Lane {
        x: [14.0, look.width - 6.0],
        y: [y0, y0 + TALL],
        time: x,
        value: y,
    };
    lane.frame(d, look, &panel.upward, 6);
    let list = ticks(x[0], x[1], ((lane.x[1] - lane.x[0]) / 18.0) as usize);
    let step = if list.len() > 1 { list[1] - list[0] } else { 1.0 };
    d.line(
        DVec2::new(lane.x[0], y0),
        DVec2::new(lane.x[1], y0),
        Pen::new(Ink::Quiet, Weight::Fine),
    );
    for &tick in &list {
        let at = lane.across(tick);
        d.line(
            DVec2::new(at, y0),
            DVec2::new(at, y0 - 1.0),
            Pen::new(Ink::Quiet, Weight::Fine),
        );
        let size = words * 0.88;
        let place = DVec2::new(at, y0 - 1.4 - size * 0.8);
        d.text(place, &tick_text(tick, step), size, Anchor::Middle, Ink::Quiet);
    }
    let name = DVec2::new(lane.x[1], y0 - 2.0 - words * 2.4);
    d.strong(name, &panel.across, words, Anchor::End, Ink::Main);
    if let Some((level, said)) = &panel.line {
        let (from, to) = (lane.at(x[0], *level), lane.at(x[1], *level));
        d.line(from, to, Pen::dashed(Ink::Bare, Weight::Fine));
        d.text(
            to + DVec2::new(0.0, 0.7),
            said,
            words * 0.88,
            Anchor::End,
            Ink::Quiet,
        );
    }
    let mut joined: Vec<&Mark> = panel.marks.iter().filter(|mark| mark.unbeaten).collect();
    joined.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    d.trace(
        joined.iter().map(|mark| lane.at(mark.x, mark.y)),
        Pen::new(Ink::Faint, Weight::Medium),
    );
    // The best are drawn last, so that they lie on top.
    let (best, others): (Vec<&Mark>, Vec<&Mark>) = panel.marks.iter().partition(|mark| mark.unbeaten);
    for mark in others.into_iter().chain(best) {
        shape(d, lane.at(mark.x, mark.y), mark.word, mark.unbeaten);
    }
    label(d, look, &lane, &panel.marks);
}

/// Words beside marks, left out where they would lie on one another.
fn label(d: &mut Drawing, look: &Look, lane: &Lane, marks: &[Mark]) {
    let size = look.words * 0.88;
    let mut taken: Vec<(DVec2, DVec2)> = Vec::new();
    for mark in marks.iter().filter(|mark| !mark.label.is_empty()) {
        let at = lane.at(mark.x, mark.y);
        let wide = 0.6 * size * mark.label.chars().count() as f64;
        let left = at.x + 2.0 * SIZE + 1.0 + wide > lane.x[1];
        let low = DVec2::new(
            if left {
                at.x - 2.0 * SIZE - 0.8 - wide
            } else {
                at.x + 2.0 * SIZE + 0.8
            },
            at.y + 0.4,
        );
        let high = low + DVec2::new(wide, size);
        let clear = taken
            .iter()
            .all(|(a, b)| low.x > b.x || high.x < a.x || low.y > b.y || high.y < a.y);
        if clear {
            d.label(low, &mark.label, size, Anchor::Start, Ink::Main);
            taken.push((low, high));
        }
    }
}

/// Disc: go; ring: watch; diamond: not known; cross: stop. What nothing beats stands in a ring of its own.
fn shape(d: &mut Drawing, at: DVec2, word: Word, unbeaten: bool) {
    let ink = if unbeaten { Ink::Main } else { Ink::Quiet };
    if unbeaten {
        d.circle(
            at,
            2.0 * SIZE,
            Some(Pen::new(Ink::OilEdge, Weight::Heavy)),
            Some(Fill::Solid(Ink::Ground)),
        );
    }
    let pen = Pen::new(ink, Weight::Fine);
    let empty = Some(Fill::Solid(Ink::Ground));
    match word {
        Word::Go => d.circle(at, SIZE, Some(pen), Some(Fill::Solid(ink))),
        Word::Watch => d.circle(at, SIZE, Some(pen), empty),
        Word::NotKnown => {
            let corner = |x: f64, y: f64| at + 1.2 * SIZE * DVec2::new(x, y);
            let outline = Path::closed([
                corner(1.0, 0.0),
                corner(0.0, 1.0),
                corner(-1.0, 0.0),
                corner(0.0, -1.0),
            ]);
            d.paths(vec![outline], Some(pen), empty);
        }
        Word::Stop => {
            for side in [-1.0, 1.0] {
                let arm = SIZE * DVec2::new(1.0, side);
                d.line(at - arm, at + arm, pen);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::UnitOrder;

    fn mark(x: f64, word: Word) -> Mark {
        Mark {
            x,
            y: 2.0 * x,
            word,
            unbeaten: false,
            label: String::new(),
        }
    }

    #[test]
    fn each_verdict_has_a_shape_of_its_own_without_its_colour() {
        let shapes = |word: Word| {
            let mut d = Drawing::new("a", 10.0, 10.0, "");
            shape(&mut d, DVec2::ZERO, word, false);
            format!(
                "{:?}",
                d.items.iter().map(|i| (&i.shape, i.fill)).collect::<Vec<_>>()
            )
        };
        let all = [Word::Go, Word::Watch, Word::NotKnown, Word::Stop].map(shapes);
        for (i, one) in all.iter().enumerate() {
            assert!(all[i + 1..].iter().all(|other| other != one), "{one}");
        }
    }

    #[test]
    fn one_design_alone_and_none_at_all_are_drawn_or_left_out() {
        let panel = |marks| Panel {
            across: "oil [L]".into(),
            upward: "margin [mm]".into(),
            line: None,
            marks,
        };
        let look = Look::wide(UnitOrder::MetricFirst);
        assert!(trade(&[panel(vec![])], "t", "s", &look).is_none());
        let drawing = trade(&[panel(vec![mark(5.0, Word::Stop)])], "t", "s", &look).unwrap();
        let svg = crate::drawing::svg::file(&drawing);
        assert!(!svg.contains("NaN") && svg.contains("margin [mm]"), "{svg}");
    }
}
