//! What a sheet carries besides the drawing: bars, words, joints, and the map.

use super::{BAR, JOINTS, Layout, OVERLAP, TRUE_SIZE, letters, name, window};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Shape, Weight};
use glam::DVec2;
use shop::paper::Paper;
use std::f64::consts::FRAC_PI_2;

/// The bars, the words over the window, the name of the sheet.
pub(super) fn strips(page: &mut Drawing, title: &str, place: &str, at: DVec2, size: DVec2) {
    let top = at.y + size.y;
    page.strong(DVec2::new(at.x, top + 6.6), title, 4.6, Anchor::Start, Ink::Main);
    if !place.is_empty() {
        page.strong(
            DVec2::new(at.x + size.x, top + 6.6),
            place,
            4.6,
            Anchor::End,
            Ink::Main,
        );
    }
    page.text(
        DVec2::new(at.x, top + 2.2),
        TRUE_SIZE,
        3.3,
        Anchor::Start,
        Ink::Main,
    );
    bars(page, at);
}

/// A bar along and one across, each parted in tens.
fn bars(page: &mut Drawing, at: DVec2) {
    let pen = Pen::new(Ink::Main, Weight::Fine);
    let mut bar = |from: DVec2, along: DVec2, out: DVec2| {
        page.line(from, from + BAR * along, pen);
        for tens in 0..=10 {
            let p = from + 10.0 * f64::from(tens) * along;
            let long = if tens % 10 == 0 { 4.0 } else { 1.6 };
            page.line(p, p + long * out, pen);
        }
    };
    let lying = DVec2::new(at.x, at.y - 2.6);
    let standing = DVec2::new(at.x - 2.6, at.y);
    bar(lying, DVec2::X, -DVec2::Y);
    bar(standing, DVec2::Y, -DVec2::X);
    let words = "100 mm (3.937 in)";
    page.text(
        lying + DVec2::new(0.5 * BAR, -5.2),
        words,
        3.0,
        Anchor::Middle,
        Ink::Main,
    );
    page.text(
        standing + DVec2::new(-2.4, 0.5 * BAR),
        words,
        3.0,
        Anchor::Middle,
        Ink::Main,
    );
    turn_last(page, FRAC_PI_2);
}

fn turn_last(page: &mut Drawing, angle: f64) {
    if let Some(Shape::Text { turn, .. }) = page.items.last_mut().map(|i| &mut i.shape) {
        *turn = angle;
    }
}

/// The edges to cut, and the crosses that meet those of the neighbours.
pub(super) fn joints(page: &mut Drawing, layout: &Layout, row: usize, column: usize, at: DVec2) {
    let grid = &layout.grid;
    let size = grid.window;
    let there = |r: Option<usize>, c: Option<usize>| r.zip(c).filter(|cell| layout.full.contains(cell));
    let up = there(row.checked_sub(1), Some(column));
    let down = there(Some(row + 1), Some(column));
    let left = there(Some(row), column.checked_sub(1));
    let right = there(Some(row), Some(column + 1));
    let high = at + size;
    // Cut edges, with what they are laid on.
    let cut = Pen::dashed(Ink::Main, Weight::Fine);
    let words = |n: (usize, usize)| format!("cut along this line and lay it on {}", name(n.0, n.1));
    if let Some(next) = right {
        page.line(DVec2::new(high.x, at.y), high, cut);
        page.text(
            DVec2::new(high.x - 1.2, at.y + 0.3 * size.y),
            &words(next),
            2.6,
            Anchor::Middle,
            Ink::Quiet,
        );
        turn_last(page, FRAC_PI_2);
    }
    if let Some(next) = up {
        page.line(DVec2::new(at.x, high.y), high, cut);
        page.text(
            DVec2::new(at.x + 0.3 * size.x, high.y - 3.2),
            &words(next),
            2.6,
            Anchor::Middle,
            Ink::Quiet,
        );
    }
    let under = Pen::new(Ink::Faint, Weight::Fine);
    if left.is_some() {
        page.line(at, DVec2::new(at.x, high.y), under);
    }
    if down.is_some() {
        page.line(at, DVec2::new(high.x, at.y), under);
    }
    // Each joint has two crosses, in the middle of the overlap.
    let half = 0.5 * OVERLAP;
    for (next, own_is_first, across) in [
        (right, true, true),
        (left, false, true),
        (up, false, false),
        (down, true, false),
    ] {
        let Some(next) = next else { continue };
        let first = if own_is_first { (row, column) } else { next };
        for k in 0..2 {
            let letter = letter(layout, first, across, k);
            let part = [0.15, 0.65][k];
            let p = match (across, own_is_first) {
                (true, true) => DVec2::new(high.x - half, at.y + part * size.y),
                (true, false) => DVec2::new(at.x + half, at.y + part * size.y),
                (false, true) => DVec2::new(at.x + part * size.x, at.y + half),
                (false, false) => DVec2::new(at.x + part * size.x, high.y - half),
            };
            cross(page, p, &letter);
        }
    }
}

/// The letter of a joint's cross: joints to the right first, row by row, then those downward.
fn letter(layout: &Layout, first: (usize, usize), across: bool, k: usize) -> String {
    let joints = |across: bool| {
        (layout.full.iter()).filter(move |&&(r, c)| {
            let next = if across { (r, c + 1) } else { (r + 1, c) };
            layout.full.contains(&next)
        })
    };
    let before = if across { 0 } else { joints(true).count() };
    let own = joints(across).position(|cell| *cell == first).unwrap_or(0);
    letters(2 * (before + own) + k, JOINTS)
}

fn cross(page: &mut Drawing, p: DVec2, letter: &str) {
    let pen = Pen::new(Ink::Way, Weight::Fine);
    for way in [DVec2::X, DVec2::Y] {
        page.line(p - 4.0 * way, p + 4.0 * way, pen);
    }
    page.circle(p, 1.6, Some(pen), None);
    page.strong(p + DVec2::new(1.5, 1.5), letter, 3.4, Anchor::Start, Ink::Way);
}

/// Paints the strips round the window in the ground.
pub(super) fn mask(page: &mut Drawing, at: DVec2, size: DVec2) {
    let (sheet, high) = (DVec2::new(page.width, page.height), at + size);
    for (low, high) in [
        (DVec2::ZERO, DVec2::new(sheet.x, at.y)),
        (DVec2::new(0.0, high.y), sheet),
        (DVec2::ZERO, DVec2::new(at.x, sheet.y)),
        (DVec2::new(high.x, 0.0), sheet),
    ] {
        page.paths(
            vec![Path::rectangle(low, high)],
            None,
            Some(Fill::Solid(Ink::Ground)),
        );
    }
}

/// The first page: how to print, how the sheets join, which there are.
pub(super) fn map(layout: &Layout, paper: Paper, left_out: &[String], notes: &[String]) -> Drawing {
    let [width, height] = paper.size().map(|s| s * 1e3);
    let source = &layout.drawing;
    let (at, size) = window(paper);
    let mut page = Drawing::new(&format!("{}-map", source.id), width, height, &source.title);
    page.said = format!("Map of the {} sheets of {}.", layout.full.len(), source.title);
    strips(&mut page, &source.title, "map of the sheets", at, size);
    let mut y = at.y + size.y - 6.0;
    let mut steps = vec![
        "1. Print all pages at 100 % (“actual size”, scale “none”). Never “fit to page”.".to_owned(),
        "2. Measure both 100 mm bars on a sheet with a steel rule. If one is off by more than 0.5 mm, stop:".to_owned(),
        "    the part will not fit. Set the scale in the print window and print again.".to_owned(),
        "3. On each sheet cut along the dashed lines at the right and at the top.".to_owned(),
        "4. Lay each sheet on the next as the map shows, cross on cross, letter on letter; tape them on a flat board.".to_owned(),
        "5. Measure the whole once more:".to_owned(),
    ];
    if let Some(last) = steps.last_mut() {
        *last += &format!(
            " the drawing is {:.1} mm by {:.1} mm over all.",
            source.width, source.height
        );
    }
    if !left_out.is_empty() {
        steps.push(format!(
            "Sheets that would be empty are left out: {}.",
            left_out.join(", ")
        ));
    }
    for step in &steps {
        page.text(DVec2::new(at.x + 2.0, y), step, 3.4, Anchor::Start, Ink::Main);
        y -= 5.6;
    }
    y -= 1.5;
    for (i, note) in notes.iter().enumerate() {
        let at = DVec2::new(at.x + 2.0, y);
        match i {
            0 => page.strong(at, note, 3.8, Anchor::Start, Ink::Main),
            _ => page.text(at, note, 3.4, Anchor::Start, Ink::Main),
        }
        y -= 5.6;
    }
    let room = DVec2::new(size.x - 8.0, y - at.y - 6.0);
    let grid = &layout.grid;
    let whole = (grid.window - OVERLAP) * DVec2::new(grid.columns as f64, grid.rows as f64) + OVERLAP;
    let scale = (room / whole).min_element().min(0.5);
    let origin = DVec2::new(
        at.x + 4.0 + 0.5 * (room.x - scale * whole.x),
        y - 2.0 - scale * whole.y,
    );
    let place = |p: DVec2| origin + scale * (p - grid.low);
    for (row, column) in grid.cells() {
        let (low, high) = grid.own(row, column);
        let (low, high) = (place(low), place(high));
        let full = layout.full.contains(&(row, column));
        let pen = match full {
            true => Pen::new(Ink::Quiet, Weight::Fine),
            false => Pen::dashed(Ink::Faint, Weight::Hair),
        };
        page.paths(vec![Path::rectangle(low, high)], Some(pen), None);
        let ink = if full { Ink::Way } else { Ink::Faint };
        let words = name(row, column);
        let big = (0.3 * (high - low).min_element()).clamp(2.5, 9.0);
        page.strong(
            DVec2::new(low.x + 1.0, high.y - big),
            &words,
            big,
            Anchor::Start,
            ink,
        );
        if !full {
            page.text(
                DVec2::new(low.x + 1.0, high.y - big - 3.0),
                "left out",
                2.4,
                Anchor::Start,
                Ink::Quiet,
            );
        }
    }
    small(&mut page, source, &place, scale);
    page
}

/// The lines of the drawing on the map; words would be too small to read.
fn small(page: &mut Drawing, source: &Drawing, place: &dyn Fn(DVec2) -> DVec2, scale: f64) {
    let pen = Pen::new(Ink::Metal, Weight::Medium);
    for item in source.items.iter().filter(|i| i.pen.is_some()) {
        match &item.shape {
            Shape::Line { from, to } => page.line(place(*from), place(*to), pen),
            Shape::Arc {
                centre,
                radius,
                start,
                sweep,
            } => page.arc(place(*centre), scale * radius, *start, *sweep, pen),
            Shape::Circle { centre, radius } => page.circle(place(*centre), scale * radius, Some(pen), None),
            Shape::Paths(paths) => {
                let small = |p: &Path| Path {
                    vertices: p.vertices.iter().map(|&(p, b)| (place(p), b)).collect(),
                    closed: p.closed,
                };
                page.paths(paths.iter().map(small).collect(), Some(pen), None);
            }
            Shape::Picture { .. } | Shape::Text { .. } => {}
        }
    }
}
