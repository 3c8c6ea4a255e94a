//! Plates for the bench: the true-size template, and a page with sizes, bends and holes.

use crate::drawing::{Anchor, Drawing, Fill, Ink, Item, Path, Pen, Shape, Weight};
use glam::DVec2;
use measure::UnitOrder;
use outline::Role;
use shop::paper::Paper;
use shop::sheet::{Blank, FlatBend};

/// Room round a template [mm].
const MARGIN: f64 = 8.0;
/// Height of words [mm].
const WORDS: f64 = 3.2;
const SMALL: f64 = 2.6;
/// Height of a row of a table [mm].
const ROW: f64 = 4.6;

/// The blank at true size, to be cut from cardboard or laid on the sheet: edges, bend lines with their words, centres.
/// `id` is unique among the drawings of one file.
pub fn template(blank: &Blank, id: &str) -> Drawing {
    let size = blank.size * 1e3;
    let line = title(blank);
    let foot = 3.0 * WORDS;
    let wide = (size.x + 2.0 * MARGIN).max(0.56 * WORDS * line.chars().count() as f64 + 2.0 * MARGIN);
    let mut d = Drawing::new(id, wide, size.y + 2.0 * MARGIN + foot, &blank.name);
    d.said = format!(
        "True-size template of {}: cut along the full lines, bend along the dashed ones.",
        blank.name
    );
    let view = View {
        corner: DVec2::new(MARGIN, MARGIN + foot),
        scale: 1e3,
    };
    edges(&mut d, blank, &view, None);
    for bend in &blank.bends {
        bend_line(&mut d, bend, &view, true);
    }
    d.strong(
        DVec2::new(MARGIN, 1.9 * WORDS),
        &line,
        WORDS,
        Anchor::Start,
        Ink::Main,
    );
    let says = format!(
        "Cut along the full lines, bend along the dashed ones; up is toward you, seen from {}.",
        blank.seen_from
    );
    let says = match (blank.bends.is_empty(), blank.seen_from.is_empty()) {
        (true, true) => "Cut along the full lines.".to_owned(),
        (true, false) => format!("Cut along the full lines. Seen from {}.", blank.seen_from),
        (false, true) => "Cut along the full lines, bend along the dashed ones; up is toward you.".to_owned(),
        (false, false) => says,
    };
    d.text(
        DVec2::new(MARGIN, 0.5 * WORDS),
        &says,
        SMALL,
        Anchor::Start,
        Ink::Quiet,
    );
    d
}

fn title(blank: &Blank) -> String {
    let count = if blank.count > 1 {
        format!(", {} of it", blank.count)
    } else {
        String::new()
    };
    format!(
        "{} ({}), {} {:.1} mm{count}",
        blank.name,
        blank.kind,
        blank.metal.word(),
        blank.thickness * 1e3
    )
}

/// A page with the blank drawn small, its main sizes, its bends and its holes.
pub fn page(blank: &Blank, id: &str, paper: Paper, order: UnitOrder) -> Drawing {
    let [wide, high] = paper.size().map(|s| s * 1e3);
    let mut d = Drawing::new(id, wide, high, &blank.name);
    d.said = format!("Sizes, bends and holes of {}.", blank.name);
    let left = 15.0;
    let mut y = high - 18.0;
    d.strong(DVec2::new(left, y), &title(blank), 5.0, Anchor::Start, Ink::Main);
    y -= 6.0;
    let unit = match order {
        UnitOrder::MetricFirst => "mm",
        UnitOrder::InchFirst => "in",
    };
    let seen = if blank.seen_from.is_empty() {
        String::new()
    } else {
        format!("Seen from {}. ", blank.seen_from)
    };
    let flat = if blank.bends.is_empty() {
        ""
    } else {
        "Flat, before bending; up is toward you. "
    };
    d.text(
        DVec2::new(left, y),
        &format!("{flat}{seen}Lengths in {unit}, from the lower left corner of the blank."),
        WORDS,
        Anchor::Start,
        Ink::Quiet,
    );
    // The figure, in the upper part of the page.
    let room = DVec2::new(wide - 2.0 * left - 16.0, 0.42 * high);
    let scale = (room / blank.size).min_element().min(1e3);
    let view = View {
        corner: DVec2::new(left + 14.0, y - 8.0 - blank.size.y * scale),
        scale,
    };
    edges(&mut d, blank, &view, Some(SMALL));
    for bend in &blank.bends {
        bend_line(&mut d, bend, &view, true);
    }
    sizes(&mut d, blank, &view, order);
    y = view.corner.y - 16.0;
    d.text(
        DVec2::new(wide - left, y + 2.0),
        &format!("drawn at {:.2} of its size", scale * 1e-3),
        SMALL,
        Anchor::End,
        Ink::Quiet,
    );
    if !blank.bends.is_empty() {
        y = bends(&mut d, blank, DVec2::new(left, y - 2.0), order);
    }
    y = figures(&mut d, blank, DVec2::new(left, y - 3.0), order);
    y = holes(&mut d, blank, DVec2::new(left, y - 3.0), order);
    let sentence = |n: &String| {
        let mut letters = n.chars();
        let first: String = letters
            .next()
            .map(|c| c.to_uppercase().collect())
            .unwrap_or_default();
        format!("{first}{}.", letters.as_str())
    };
    let notes = blank.notes.iter().map(|n| (sentence(n), Ink::Main));
    let warnings = blank
        .warnings
        .iter()
        .map(|(said, mend)| (format!("Look out: {said}; {mend}"), Ink::Bare));
    for (words, ink) in notes.chain(warnings) {
        for line in wrapped(&words, (wide - 2.0 * left) / (0.53 * WORDS)) {
            d.text(DVec2::new(left, y - 2.0), &line, WORDS, Anchor::Start, ink);
            y -= ROW;
        }
    }
    d
}

/// From the blank to the paper.
struct View {
    corner: DVec2,
    scale: f64,
}

impl View {
    fn on(&self, p: DVec2) -> DVec2 {
        self.corner + p * self.scale
    }
}

fn edges(d: &mut Drawing, blank: &Blank, view: &View, names: Option<f64>) {
    let pen = Pen::new(Ink::Main, Weight::Medium);
    let path = |shape: &outline::Shape, back: bool| {
        // Openings turn the other way, so that they are no metal.
        let line = if back {
            shape.line.reversed()
        } else {
            shape.line.clone()
        };
        Path {
            vertices: line.vertices.iter().map(|(p, b)| (view.on(*p), *b)).collect(),
            closed: true,
        }
    };
    let metal = names.map(|_| Fill::Solid(Ink::Faint));
    let all = blank
        .figure
        .shapes
        .iter()
        .map(|s| path(s, s.role != Role::Outline));
    d.paths(all.collect(), Some(pen), metal);
    let fine = Pen::new(Ink::Quiet, Weight::Fine);
    for (shape, circle) in blank.figure.holes() {
        let (at, r) = (view.on(circle.centre), circle.radius * view.scale);
        let arm = (r + 1.2).min(3.0);
        d.line(at - DVec2::X * arm, at + DVec2::X * arm, fine);
        d.line(at - DVec2::Y * arm, at + DVec2::Y * arm, fine);
        if let Some(size) = names {
            d.text(
                at + DVec2::new(0.7 * r + 0.6, 0.7 * r + 0.4),
                &shape.name,
                0.8 * size,
                Anchor::Start,
                Ink::Quiet,
            );
        }
    }
    if let Some(size) = names {
        for shape in blank.figure.shapes.iter().filter(|s| s.role == Role::Window) {
            let (low, high) = shape.line.bounds();
            let at = view.on(0.5 * (low + high)) - DVec2::new(0.0, 0.35 * size);
            d.text(at, &shape.name, size, Anchor::Middle, Ink::Quiet);
        }
    }
}

fn bend_line(d: &mut Drawing, bend: &FlatBend, view: &View, named: bool) {
    for [a, b] in &bend.lines {
        d.line(view.on(*a), view.on(*b), Pen::dashed(Ink::Way, Weight::Medium));
    }
    let longest = bend
        .lines
        .iter()
        .max_by(|a, b| a[0].distance(a[1]).total_cmp(&b[0].distance(b[1])));
    let Some([a, b]) = longest.filter(|_| named) else {
        return;
    };
    // Words run to the right or upward.
    let (a, b) = if (b.x, b.y) < (a.x, a.y) { (b, a) } else { (a, b) };
    let along = (*b - *a).normalize_or(DVec2::X);
    let words = shop::sheet::blank::bend_words(bend);
    let size = WORDS.min(0.8 * a.distance(*b) * view.scale / (0.56 * words.chars().count() as f64));
    d.items.push(Item {
        shape: Shape::Text {
            at: view.on(a.lerp(*b, 0.5)) + along.perp() * 0.8,
            words,
            size,
            anchor: Anchor::Middle,
            turn: along.to_angle(),
            strong: true,
        },
        pen: Some(Pen::new(Ink::Ground, Weight::Heavy)),
        fill: Some(Fill::Solid(Ink::Way)),
        clip: None,
    });
}

/// Length and width of the blank with arrows.
fn sizes(d: &mut Drawing, blank: &Blank, view: &View, order: UnitOrder) {
    let (low, high) = (view.on(DVec2::ZERO), view.on(blank.size));
    let pen = Pen::new(Ink::Quiet, Weight::Fine);
    let y = low.y - 6.0;
    let (a, b) = (DVec2::new(low.x, y), DVec2::new(high.x, y));
    d.arrow(a.midpoint(b), a, 1.8, pen);
    d.arrow(a.midpoint(b), b, 1.8, pen);
    for x in [low.x, high.x] {
        d.line(DVec2::new(x, low.y - 1.0), DVec2::new(x, y - 1.5), pen);
    }
    d.label(
        a.midpoint(b) + DVec2::new(0.0, 0.9),
        &length(blank.size.x, order),
        WORDS,
        Anchor::Middle,
        Ink::Main,
    );
    let x = low.x - 6.0;
    let (a, b) = (DVec2::new(x, low.y), DVec2::new(x, high.y));
    d.arrow(a.midpoint(b), a, 1.8, pen);
    d.arrow(a.midpoint(b), b, 1.8, pen);
    for y in [low.y, high.y] {
        d.line(DVec2::new(low.x - 1.0, y), DVec2::new(x - 1.5, y), pen);
    }
    d.items.push(Item {
        shape: Shape::Text {
            at: a.midpoint(b) - DVec2::new(0.9, 0.0),
            words: length(blank.size.y, order),
            size: WORDS,
            anchor: Anchor::Middle,
            turn: std::f64::consts::FRAC_PI_2,
            strong: true,
        },
        pen: Some(Pen::new(Ink::Ground, Weight::Heavy)),
        fill: Some(Fill::Solid(Ink::Main)),
        clip: None,
    });
}

/// A length without its unit, as fine as a bench works.
fn length(metres: f64, order: UnitOrder) -> String {
    match order {
        UnitOrder::MetricFirst => format!("{:.1}", metres * 1e3),
        UnitOrder::InchFirst => format!("{:.3}", metres / 0.0254),
    }
}

/// A small length, to a hundredth of a millimetre.
fn fine(metres: f64, order: UnitOrder) -> String {
    match order {
        UnitOrder::MetricFirst => format!("{:.2}", metres * 1e3),
        UnitOrder::InchFirst => format!("{:.3}", metres / 0.0254),
    }
}

fn table(d: &mut Drawing, at: DVec2, columns: &[f64], rows: &[Vec<String>]) -> f64 {
    let mut y = at.y;
    for (i, row) in rows.iter().enumerate() {
        let mut x = at.x;
        for (cell, wide) in row.iter().zip(columns) {
            if i == 0 {
                d.text(DVec2::new(x, y), cell, SMALL, Anchor::Start, Ink::Quiet);
            } else {
                d.text(DVec2::new(x, y), cell, WORDS, Anchor::Start, Ink::Main);
            }
            x += wide;
        }
        let wide: f64 = columns.iter().sum();
        d.line(
            DVec2::new(at.x, y - 1.3),
            DVec2::new(at.x + wide, y - 1.3),
            Pen::new(Ink::Faint, Weight::Hair),
        );
        y -= ROW;
    }
    y
}

/// Where the die is set, how far and which way, and what it takes.
fn bends(d: &mut Drawing, blank: &Blank, at: DVec2, order: UnitOrder) -> f64 {
    let mut rows = vec![
        [
            "bend",
            "way",
            "angle",
            "line runs at",
            "inside radius",
            "allowance",
            "deduction",
            "leg outside",
            "bends",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    for bend in &blank.bends {
        let [a, b] = bend.lines[0];
        let place = if (a.x - b.x).abs() < 1e-6 {
            format!("x = {}", length(a.x, order))
        } else if (a.y - b.y).abs() < 1e-6 {
            format!("y = {}", length(a.y, order))
        } else {
            "see template".to_owned()
        };
        rows.push(vec![
            bend.name.clone(),
            if bend.up { "up" } else { "down" }.to_owned(),
            format!("{:.1}°", bend.bend.angle.to_degrees()),
            place,
            fine(bend.bend.radius, order),
            fine(bend.allowance, order),
            fine(bend.deduction, order),
            length(bend.leg, order),
            bend.bends.clone(),
        ]);
    }
    table(
        d,
        at,
        &[11.0, 12.0, 15.0, 26.0, 21.0, 19.0, 19.0, 19.0, 38.0],
        &rows,
    )
}

/// Area, mass and counts on one line.
fn figures(d: &mut Drawing, blank: &Blank, at: DVec2, order: UnitOrder) -> f64 {
    let area = match order {
        UnitOrder::MetricFirst => format!("{:.1} cm²", blank.area * 1e4),
        UnitOrder::InchFirst => format!("{:.2} in²", blank.area / 0.0254 / 0.0254),
    };
    let cut = match order {
        UnitOrder::MetricFirst => format!("{:.2} m", blank.cut_length),
        UnitOrder::InchFirst => format!("{:.1} in", blank.cut_length / 0.0254),
    };
    let holes_said = match blank.holes {
        0 => "no round holes".to_owned(),
        1 => "1 round hole".to_owned(),
        n => format!("{n} round holes"),
    };
    let mut line = format!(
        "area {area}, mass {:.0} g, cut {cut}, {}",
        blank.mass * 1e3,
        holes_said
    );
    if let Some(p) = blank.perforation {
        line += &format!(
            "; of perforated stock, {:.0} % open: holes {} in triangles {} apart",
            p.share * 1e2,
            fine(p.hole, order),
            fine(p.pitch, order)
        );
    }
    d.text(at, &line, WORDS, Anchor::Start, Ink::Main);
    at.y - ROW
}

/// Places of the holes in columns, windows by their corners.
fn holes(d: &mut Drawing, blank: &Blank, at: DVec2, order: UnitOrder) -> f64 {
    let mut y = at.y;
    let windows = blank.figure.shapes.iter().filter(|s| s.role == Role::Window);
    let rows: Vec<Vec<String>> = windows
        .map(|s| {
            let (low, high) = s.line.bounds();
            let size = high - low;
            vec![
                s.name.clone(),
                length(low.x, order),
                length(low.y, order),
                format!("{} × {}", length(size.x, order), length(size.y, order)),
            ]
        })
        .collect();
    if !rows.is_empty() {
        let head = ["window", "left", "bottom", "size"].map(str::to_owned).to_vec();
        let rows: Vec<Vec<String>> = std::iter::once(head).chain(rows).collect();
        y = table(d, DVec2::new(at.x, y), &[15.0, 20.0, 20.0, 35.0], &rows) - 2.0;
    }
    let rows: Vec<Vec<String>> = (blank.figure.holes())
        .map(|(s, c)| {
            vec![
                s.name.clone(),
                length(c.centre.x, order),
                length(c.centre.y, order),
                fine(2.0 * c.radius, order),
            ]
        })
        .collect();
    if rows.is_empty() {
        return y;
    }
    let columns = 3;
    let each = rows.len().div_ceil(columns).max(1);
    let head = || ["hole", "x", "y", "diameter"].map(str::to_owned).to_vec();
    let mut lowest = y;
    for (i, part) in rows.chunks(each).enumerate() {
        let part: Vec<Vec<String>> = std::iter::once(head()).chain(part.iter().cloned()).collect();
        let corner = DVec2::new(at.x + 62.0 * i as f64, y);
        lowest = lowest.min(table(d, corner, &[12.0, 16.0, 16.0, 14.0], &part));
    }
    lowest - 1.0
}

/// Words in lines of at most so many letters.
fn wrapped(words: &str, letters: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in words.split_whitespace() {
        let line = lines.last_mut().expect("there is a line");
        if !line.is_empty() && (line.chars().count() + 1 + word.chars().count()) as f64 > letters {
            lines.push(word.to_owned());
        } else {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}
