//! SVG: width and height in mm, a view box in the same numbers, hairlines, groups named as layers.

use super::{BAR, CUT, Mark, MarkKind, mm};
use crate::figure::{Figure, Role, Shape};
use crate::svg::NOT_CUT;
use glam::DVec2;
use std::f64::consts::PI;

/// Room round the outline [m].
const MARGIN: f64 = 0.005;

pub(super) fn file(figure: &Figure, marks: Option<&[Mark]>) -> String {
    let (low, high) = figure.bounds();
    // The bar lies under the outline.
    let low = low - DVec2::new(MARGIN, 3.0 * MARGIN);
    let high = (high + MARGIN).max(low + BAR + 2.0 * MARGIN);
    let size = high - low;
    let at = |p: DVec2| format!("{} {}", mm(p.x - low.x), mm(high.y - p.y));
    let mut text = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" \
         height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n<g fill=\"none\" stroke=\"#000\" stroke-width=\"0.1\">\n",
        w = mm(size.x),
        h = mm(size.y)
    );
    if marks.is_some() {
        text += &format!("<g id=\"{}\">\n", CUT[1]);
    }
    for (role, group) in [
        (Role::Outline, "outline"),
        (Role::Window, "windows"),
        (Role::Hole, "holes"),
    ] {
        let mut shapes = figure.shapes.iter().filter(|s| s.role == role).peekable();
        if shapes.peek().is_some() {
            text += &format!("<g id=\"{group}\">\n");
            shapes.for_each(|s| text += &element(s, &at, low, high));
            text += "</g>\n";
        }
    }
    if marks.is_some() {
        text += "</g>\n";
    }
    let bar = low + DVec2::splat(MARGIN);
    text += &format!(
        "<g id=\"{NOT_CUT}\" stroke=\"#888\"><path d=\"M{}H{}\"/><text x=\"{}\" y=\"{}\" font-size=\"4\" fill=\"#888\" \
         stroke=\"none\">100 mm, measure it; do not cut</text>",
        at(bar),
        mm(bar.x + BAR - low.x),
        mm(bar.x - low.x),
        mm(high.y - bar.y - 0.001)
    );
    // Inside the group that is not cut, so that a reader without a chosen layer passes over them.
    for (kind, _, group) in MarkKind::ALL {
        let mut here = marks
            .unwrap_or_default()
            .iter()
            .filter(|m| m.kind() == kind)
            .peekable();
        if here.peek().is_some() {
            let colour = if kind == MarkKind::Bend {
                "#1d5a96"
            } else {
                "#5a6169"
            };
            text += &format!("\n<g id=\"{group}\" stroke=\"{colour}\">\n");
            here.for_each(|m| text += &mark(m, colour, &at));
            text += "</g>";
        }
    }
    text += "</g>\n</g>\n</svg>\n";
    text
}

fn element(shape: &Shape, at: &dyn Fn(DVec2) -> String, low: DVec2, high: DVec2) -> String {
    let id = &shape.name;
    if let Some(c) = shape.circle {
        let (x, y) = (mm(c.centre.x - low.x), mm(high.y - c.centre.y));
        return format!(
            "<circle id=\"{id}\" cx=\"{x}\" cy=\"{y}\" r=\"{}\"/>\n",
            mm(c.radius)
        );
    }
    let mut data = String::new();
    for (i, side) in shape.line.sides().enumerate() {
        if i == 0 {
            data += &format!("M{}", at(side.from));
        }
        if side.is_straight() {
            data += &format!("L{}", at(side.to));
            continue;
        }
        // y runs down on the page, so a turn to the left is sweep flag 0. Two halves: an arc of nearly a whole turn by
        // its ends alone would hang on their last digit.
        let sweep = u8::from(side.bulge < 0.0);
        let r = mm(side.radius());
        if side.sweep().abs() > 0.9 * PI {
            data += &format!("A{r} {r} 0 0 {sweep} {}", at(side.at(0.5)));
        }
        data += &format!("A{r} {r} 0 0 {sweep} {}", at(side.to));
    }
    format!("<path id=\"{id}\" d=\"{data}Z\"/>\n")
}

fn mark(mark: &Mark, colour: &str, at: &dyn Fn(DVec2) -> String) -> String {
    match mark {
        Mark::Line { from, to, .. } => {
            format!(
                "<path d=\"M{}L{}\" stroke-dasharray=\"3 1.5\"/>\n",
                at(*from),
                at(*to)
            )
        }
        Mark::Words {
            at: place,
            turn,
            height,
            words,
            ..
        } => {
            // Capitals stand about 0.7 of the em box high.
            let (size, turn) = (mm(height / 0.7), format!("{:.3}", -turn.to_degrees()));
            let words: String = words.chars().map(escaped).collect();
            format!(
                "<text transform=\"translate({}) rotate({turn})\" font-size=\"{size}\" font-family=\"sans-serif\" \
                 fill=\"{colour}\" stroke=\"none\">{words}</text>\n",
                at(*place)
            )
        }
    }
}

/// A character of a text as XML takes it.
fn escaped(c: char) -> String {
    match c {
        '&' => "&amp;".to_owned(),
        '<' => "&lt;".to_owned(),
        '>' => "&gt;".to_owned(),
        c if c.is_control() => " ".to_owned(),
        c => c.to_string(),
    }
}
