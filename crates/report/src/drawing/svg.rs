//! Prints a drawing as SVG: true units, arcs as arcs, words as escaped text.
//!
//! Inside a page the classes below get their colours from the page's style sheet, so a drawing follows light,
//! dark and print. A file of its own carries the light colours with it.

use super::{Anchor, Drawing, Fill, Ink, Item, Path, Pen, Shape, Weight};
use crate::page::html::escape;
use glam::DVec2;
use std::fmt::Write;

/// The colours of a drawing that stands alone; the page's `tokens` in light.
const ALONE: &str = "text{font-family:Archivo,Helvetica,Arial,sans-serif;font-variant-numeric:tabular-nums}\
.s-main{stroke:#1b1f23}.s-quiet{stroke:#5a6169}.s-faint{stroke:#c9cbc8}.s-metal{stroke:#39424c}\
.s-oil{stroke:#e2a21c}.s-oiledge{stroke:#8a5a00}.s-way{stroke:#1d5a96}.s-bare{stroke:#a3262a}\
.s-ground{stroke:#fbfaf6}.f-main{fill:#1b1f23}.f-quiet{fill:#5a6169}.f-faint{fill:#c9cbc8}\
.f-metal{fill:#39424c}.f-oil{fill:#e2a21c}.f-oiledge{fill:#8a5a00}.f-way{fill:#1d5a96}.f-bare{fill:#a3262a}\
.f-ground{fill:#fbfaf6}.strong{font-weight:600}";

/// The patterns for thin and bare. One copy serves a whole page; areas refer to them by these ids.
pub const PATTERNS: &str = "<defs>\
<pattern id=\"thin\" width=\"1.6\" height=\"1.6\" patternUnits=\"userSpaceOnUse\">\
<rect width=\"1.6\" height=\"1.6\" class=\"f-ground\"/><circle cx=\"0.4\" cy=\"0.4\" r=\"0.36\" class=\"f-oiledge\"/>\
<circle cx=\"1.2\" cy=\"1.2\" r=\"0.36\" class=\"f-oiledge\"/></pattern>\
<pattern id=\"bare\" width=\"1.5\" height=\"1.5\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
<rect width=\"1.5\" height=\"1.5\" class=\"f-ground\"/><rect width=\"0.55\" height=\"1.5\" class=\"f-bare\"/></pattern>\
</defs>";

/// The drawing as an `<svg>` element for a page that carries [`PATTERNS`] and the style sheet.
pub fn inline(drawing: &Drawing) -> String {
    let mut out = String::new();
    open(&mut out, drawing, false);
    body(&mut out, drawing);
    out.push_str("</svg>");
    out
}

/// The drawing as an SVG file: width and height in mm, viewBox in the same numbers.
pub fn file(drawing: &Drawing) -> String {
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    open(&mut out, drawing, true);
    let _ = write!(out, "<style>{ALONE}</style>{PATTERNS}");
    body(&mut out, drawing);
    out.push_str("</svg>\n");
    out
}

fn open(out: &mut String, d: &Drawing, alone: bool) {
    let (w, h) = (number(d.width), number(d.height));
    let size = if alone {
        format!(" width=\"{w}mm\" height=\"{h}mm\"")
    } else {
        String::new()
    };
    let (id, title, said) = (escape(&d.id), escape(&d.title), escape(&d.said));
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\"{size} viewBox=\"0 0 {w} {h}\" role=\"img\" \
         aria-labelledby=\"{id}-t {id}-d\"><title id=\"{id}-t\">{title}</title><desc id=\"{id}-d\">{said}</desc>"
    );
}

fn body(out: &mut String, d: &Drawing) {
    for (i, outline) in d.clips.iter().enumerate() {
        let _ = write!(out, "<clipPath id=\"{}-c{i}\"><path d=\"", escape(&d.id));
        paths(out, outline, d.height);
        out.push_str("\"/></clipPath>");
    }
    for item in &d.items {
        print(out, item, d);
    }
}

fn print(out: &mut String, item: &Item, d: &Drawing) {
    let y = |y: f64| number(d.height - y);
    match &item.shape {
        Shape::Line { from, to } => {
            let _ = write!(
                out,
                "<path d=\"M{} {}L{} {}\"{}/>",
                number(from.x),
                y(from.y),
                number(to.x),
                y(to.y),
                look(item, d)
            );
        }
        Shape::Arc {
            centre,
            radius,
            start,
            sweep,
        } => {
            let from = *centre + *radius * DVec2::from_angle(*start);
            let to = *centre + *radius * DVec2::from_angle(start + sweep);
            let _ = write!(out, "<path d=\"M{} {}", number(from.x), y(from.y));
            arc_to(out, *radius, *sweep, to, d.height);
            let _ = write!(out, "\"{}/>", look(item, d));
        }
        Shape::Picture { low, high, png } => {
            let _ = write!(
                out,
                "<image x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" preserveAspectRatio=\"none\" \
                 href=\"data:image/png;base64,{}\"/>",
                number(low.x),
                y(high.y),
                number(high.x - low.x),
                number(high.y - low.y),
                base64(png)
            );
        }
        Shape::Circle { centre, radius } => {
            let _ = write!(
                out,
                "<circle cx=\"{}\" cy=\"{}\" r=\"{}\"{}/>",
                number(centre.x),
                y(centre.y),
                number(*radius),
                look(item, d)
            );
        }
        Shape::Paths(list) => {
            out.push_str("<path d=\"");
            paths(out, list, d.height);
            let _ = write!(out, "\"{}/>", look(item, d));
        }
        Shape::Text {
            at,
            words,
            size,
            anchor,
            turn,
            strong,
        } => {
            let anchor = match anchor {
                Anchor::Start => "",
                Anchor::Middle => " text-anchor=\"middle\"",
                Anchor::End => " text-anchor=\"end\"",
            };
            let turned = if *turn == 0.0 {
                String::new()
            } else {
                format!(
                    " transform=\"rotate({} {} {})\"",
                    number(-turn.to_degrees()),
                    number(at.x),
                    y(at.y)
                )
            };
            let _ = write!(
                out,
                "<text x=\"{}\" y=\"{}\" font-size=\"{}\"{anchor}{turned}{}>{}</text>",
                number(at.x),
                y(at.y),
                number(*size),
                text_look(item, *strong),
                escape(words)
            );
        }
    }
}

fn paths(out: &mut String, list: &[Path], height: f64) {
    for path in list {
        for (i, &(at, _)) in path.vertices.iter().enumerate() {
            let bulge = if i == 0 { 0.0 } else { path.vertices[i - 1].1 };
            step(
                out,
                i,
                if i == 0 { at } else { path.vertices[i - 1].0 },
                at,
                bulge,
                height,
            );
        }
        if path.closed {
            if let (Some(&(last, bulge)), Some(&(first, _))) = (path.vertices.last(), path.vertices.first())
                && bulge != 0.0
            {
                step(out, path.vertices.len(), last, first, bulge, height);
            }
            out.push('Z');
        }
    }
}

fn step(out: &mut String, index: usize, from: DVec2, to: DVec2, bulge: f64, height: f64) {
    if bulge != 0.0 && from != to {
        // A bulge of tan(sweep/4) over a chord c gives the radius c (1 + b²) / (4 |b|).
        let radius = from.distance(to) * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
        arc_to(out, radius, 4.0 * bulge.atan(), to, height);
    } else {
        let letter = if index == 0 { 'M' } else { 'L' };
        let _ = write!(out, "{letter}{} {}", number(to.x), number(height - to.y));
    }
}

/// The paper's y runs up and SVG's runs down, so a turn to the left on paper is sweep flag 0.
fn arc_to(out: &mut String, radius: f64, sweep: f64, to: DVec2, height: f64) {
    let r = number(radius);
    let large = u8::from(sweep.abs() > std::f64::consts::PI);
    let flag = u8::from(sweep < 0.0);
    let _ = write!(
        out,
        "A{r} {r} 0 {large} {flag} {} {}",
        number(to.x),
        number(height - to.y)
    );
}

fn look(item: &Item, d: &Drawing) -> String {
    let mut classes = Vec::new();
    let mut rest = String::new();
    match item.fill {
        Some(Fill::Solid(ink)) => classes.push(fill_class(ink)),
        Some(Fill::Covered) => classes.push("f-oil"),
        Some(Fill::Thin) => rest.push_str(" fill=\"url(#thin)\""),
        Some(Fill::Bare) => rest.push_str(" fill=\"url(#bare)\""),
        None => rest.push_str(" fill=\"none\""),
    }
    if let Some(Pen { ink, weight, dashed }) = item.pen {
        classes.push(stroke_class(ink));
        let _ = write!(rest, " stroke-width=\"{}\"", number(weight.width()));
        if dashed {
            rest.push_str(" stroke-dasharray=\"1.4 0.9\"");
        }
        if weight != Weight::Hair {
            rest.push_str(" stroke-linejoin=\"round\" stroke-linecap=\"round\"");
        }
    }
    if let Some(clip) = item.clip {
        let _ = write!(rest, " clip-path=\"url(#{}-c{clip})\"", escape(&d.id));
    }
    if classes.is_empty() {
        rest
    } else {
        format!(" class=\"{}\"{rest}", classes.join(" "))
    }
}

fn text_look(item: &Item, strong: bool) -> String {
    let mut classes = Vec::new();
    if let Some(Fill::Solid(ink)) = item.fill {
        classes.push(fill_class(ink));
    }
    if strong {
        classes.push("strong");
    }
    let mut rest = String::new();
    if let Some(pen) = item.pen {
        classes.push(stroke_class(pen.ink));
        rest.push_str(" stroke-width=\"0.9\" stroke-linejoin=\"round\" paint-order=\"stroke\"");
    }
    format!(" class=\"{}\"{rest}", classes.join(" "))
}

fn fill_class(ink: Ink) -> &'static str {
    match ink {
        Ink::Main => "f-main",
        Ink::Quiet => "f-quiet",
        Ink::Faint => "f-faint",
        Ink::Metal => "f-metal",
        Ink::Oil => "f-oil",
        Ink::OilEdge => "f-oiledge",
        Ink::Way => "f-way",
        Ink::Bare => "f-bare",
        Ink::Ground => "f-ground",
    }
}

fn stroke_class(ink: Ink) -> &'static str {
    match ink {
        Ink::Main => "s-main",
        Ink::Quiet => "s-quiet",
        Ink::Faint => "s-faint",
        Ink::Metal => "s-metal",
        Ink::Oil => "s-oil",
        Ink::OilEdge => "s-oiledge",
        Ink::Way => "s-way",
        Ink::Bare => "s-bare",
        Ink::Ground => "s-ground",
    }
}

/// Bytes in the 64 letters of RFC 4648.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let word = three.iter().fold(0_u32, |w, b| w << 8 | u32::from(*b)) << (8 * (3 - three.len()));
        for k in 0..4 {
            match k <= three.len() {
                true => out.push(char::from(LETTERS[(word >> (18 - 6 * k)) as usize & 63])),
                false => out.push('='),
            }
        }
    }
    out
}

/// A length to a hundredth of a millimetre, without idle digits.
fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, PI};

    fn printed(shape: Shape) -> String {
        let mut d = Drawing::new("t", 100.0, 50.0, "t");
        d.items.push(Item {
            shape,
            pen: Some(Pen::new(Ink::Main, Weight::Fine)),
            fill: None,
            clip: None,
        });
        inline(&d)
    }

    /// The examples of RFC 4648, section 10.
    #[test]
    fn bytes_become_the_letters_of_the_standard() {
        let pairs = [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
        ];
        for (plain, letters) in pairs {
            assert_eq!(base64(plain.as_bytes()), letters);
        }
    }

    #[test]
    fn an_arc_is_printed_as_an_arc_that_turns_the_right_way() {
        // A quarter turn to the left from (30, 20) about (20, 20) ends at (20, 30): on SVG's downward y axis
        // that is from (30, 30) to (20, 20) against the clock as seen, sweep flag 0.
        let svg = printed(Shape::Arc {
            centre: DVec2::new(20.0, 20.0),
            radius: 10.0,
            start: 0.0,
            sweep: FRAC_PI_2,
        });
        assert!(svg.contains("M30 30A10 10 0 0 0 20 20"), "got {svg}");
    }

    #[test]
    fn a_bulge_of_one_is_half_a_circle() {
        let path = Path {
            vertices: vec![(DVec2::new(0.0, 10.0), 1.0), (DVec2::new(20.0, 10.0), 0.0)],
            closed: false,
        };
        let svg = printed(Shape::Paths(vec![path]));
        assert!(svg.contains("M0 40A10 10 0 0 0 20 40"), "got {svg}");
    }

    #[test]
    fn a_ring_piece_closes_with_arcs_on_both_rims() {
        let piece = Path::ring_piece(DVec2::new(50.0, 25.0), 5.0, 10.0, 0.0, PI / 2.0);
        let svg = printed(Shape::Paths(vec![piece]));
        assert_eq!(svg.matches('A').count(), 2, "got {svg}");
        assert!(
            svg.contains("A10 10 0 0 0") && svg.contains("A5 5 0 0 1"),
            "got {svg}"
        );
    }

    #[test]
    fn words_are_text_and_never_markup() {
        let mut d = Drawing::new("t", 10.0, 10.0, "<b>&\"");
        d.text(
            DVec2::ZERO,
            "</text><script>alert(1)</script>",
            2.0,
            Anchor::Start,
            Ink::Main,
        );
        let svg = inline(&d);
        assert!(!svg.contains("<script"), "got {svg}");
        assert!(svg.contains("&lt;/text&gt;&lt;script&gt;"), "got {svg}");
    }

    #[test]
    fn a_file_states_its_true_size_in_the_numbers_of_its_view_box() {
        let svg = file(&Drawing::new("t", 180.0, 62.5, "t"));
        assert!(
            svg.contains("width=\"180mm\" height=\"62.5mm\" viewBox=\"0 0 180 62.5\""),
            "got {svg}"
        );
    }
}
