//! A gasket at true size: what is cut, bolts by number, the narrowest bridge, joints of its pieces.

use crate::drawing::{Anchor, Drawing, Ink, Path, Pen, Weight};
use glam::DVec2;
use outline::{Closed, Figure};
use shop::gasket::{Bridge, Gasket, HoleKind};

/// Room round the outline [mm].
const ROOM: f64 = 6.0;

/// The gasket as seen from the block, the car's front to the right; `about` are the words in its middle.
pub fn drawing(gasket: &Gasket, title: &str, about: &[String]) -> Drawing {
    let (low, high) = gasket.whole.bounds();
    let size = (high - low) * 1e3 + 2.0 * ROOM;
    let place = move |p: DVec2| (p - low) * 1e3 + ROOM;
    let mut d = Drawing::new("gasket", size.x, size.y, title);
    edges(&mut d, &gasket.whole, &place);
    for joint in &gasket.joints {
        joint_lines(&mut d, joint, &place);
    }
    for hole in &gasket.holes {
        let (at, radius) = (place(hole.at), 0.5e3 * hole.diameter);
        let fine = Pen::new(Ink::Quiet, Weight::Hair);
        for way in [DVec2::X, DVec2::Y] {
            d.line(at - (radius + 1.5) * way, at + (radius + 1.5) * way, fine);
        }
        let beside = at + DVec2::splat(0.75 * radius + 0.8);
        let words = match hole.kind {
            HoleKind::Bolt => hole.name.clone(),
            _ => format!("{} Ø{:.1}", hole.name, hole.diameter * 1e3),
        };
        d.label(beside, &words, 3.4, Anchor::Start, Ink::Main);
    }
    let told: Vec<&Bridge> = match gasket.narrow.is_empty() {
        true => gasket.least.iter().collect(),
        false => gasket.narrow.iter().take(12).collect(),
    };
    for bridge in told {
        bridge_mark(&mut d, bridge, !gasket.narrow.is_empty(), &place);
    }
    for piece in &gasket.pieces {
        if let Some(at) = inside(&piece.figure, &gasket.holes) {
            d.label(place(at), &piece.name, 6.0, Anchor::Middle, Ink::Way);
        }
    }
    words(&mut d, gasket, about);
    d.said = format!(
        "{title}: the gasket at true size, {:.0} mm by {:.0} mm.",
        size.x - 2.0 * ROOM,
        size.y - 2.0 * ROOM
    );
    d
}

fn path(line: &Closed, place: &dyn Fn(DVec2) -> DVec2) -> Path {
    Path {
        vertices: line.vertices.iter().map(|&(p, b)| (place(p), b)).collect(),
        closed: true,
    }
}

fn edges(d: &mut Drawing, figure: &Figure, place: &dyn Fn(DVec2) -> DVec2) {
    let pen = Pen::new(Ink::Metal, Weight::Medium);
    for shape in &figure.shapes {
        match shape.circle {
            Some(c) => d.circle(place(c.centre), 1e3 * c.radius, Some(pen), None),
            None => d.paths(vec![path(&shape.line, place)], Some(pen), None),
        }
    }
}

fn joint_lines(d: &mut Drawing, joint: &shop::gasket::Joint, place: &dyn Fn(DVec2) -> DVec2) {
    let pen = Pen::new(Ink::Way, Weight::Medium);
    let way = (joint.to - joint.from).normalize_or_zero();
    let mut from = joint.from;
    for &(head, radius) in &joint.heads {
        let foot = joint.from + (head - joint.from).dot(way) * way;
        let out = head - foot;
        let neck = (radius * radius - out.length_squared()).max(0.0).sqrt();
        let (a, b) = (foot - neck * way, foot + neck * way);
        d.line(place(from), place(a), pen);
        // The long way round the head, from the neck's one side to the other.
        let turn = 2.0 * (std::f64::consts::PI - (neck / radius).asin()) * out.perp_dot(way).signum();
        d.arc(place(head), 1e3 * radius, (a - head).to_angle(), turn, pen);
        from = b;
    }
    d.line(place(from), place(joint.to), pen);
}

/// Two arrows from outside onto the bridge, and its width.
fn bridge_mark(d: &mut Drawing, bridge: &Bridge, narrow: bool, place: &dyn Fn(DVec2) -> DVec2) {
    let ink = if narrow { Ink::Bare } else { Ink::Quiet };
    let pen = Pen::new(ink, Weight::Fine);
    let (a, b) = (place(bridge.from), place(bridge.to));
    let way = (b - a).normalize_or(DVec2::X);
    d.line(a, b, pen);
    d.arrow(a - 6.0 * way, a, 1.8, pen);
    d.arrow(b + 6.0 * way, b, 1.8, pen);
    let words = match narrow {
        true => format!("{:.2} mm: narrow", bridge.width * 1e3),
        false => format!("{:.2} mm, the narrowest", bridge.width * 1e3),
    };
    // On the side with more paper.
    let end = if b.x + 45.0 < d.width {
        (b + 6.0 * way, Anchor::Start)
    } else {
        (a - 6.0 * way, Anchor::End)
    };
    let aside = DVec2::new(if end.1 == Anchor::Start { 1.0 } else { -1.0 }, 0.8);
    d.label(end.0 + aside, &words, 3.4, end.1, ink);
}

/// A place in a piece's material, away from edges and holes, by trying a grid.
fn inside(figure: &Figure, holes: &[shop::gasket::Hole]) -> Option<DVec2> {
    let (low, high) = figure.bounds();
    let (outer, openings) = figure.shapes.split_first()?;
    let mut best: Option<(f64, DVec2)> = None;
    for i in 1..40 {
        for j in 1..40 {
            let p = low + (high - low) * DVec2::new(f64::from(i), f64::from(j)) / 40.0;
            if !outer.line.contains(p) || openings.iter().any(|o| o.line.contains(p)) {
                continue;
            }
            let hole = holes
                .iter()
                .map(|h| h.at.distance(p) - 0.5 * h.diameter)
                .fold(f64::INFINITY, f64::min);
            let room = outer.line.distance(p).min(0.5 * hole);
            if best.is_none_or(|b| room > b.0) {
                best = Some((room, p));
            }
        }
    }
    best.map(|b| b.1)
}

/// What it is, in the middle of the largest opening, or over the drawing where there is none.
fn words(d: &mut Drawing, gasket: &Gasket, about: &[String]) {
    let (low, _) = gasket.whole.bounds();
    let openings = gasket.whole.shapes.iter().skip(1).filter(|s| s.circle.is_none());
    let large = openings.max_by(|a, b| a.line.area().total_cmp(&b.line.area()));
    let Some(opening) = large.filter(|s| s.line.area() > 4e-3) else {
        return;
    };
    let (l, h) = opening.line.bounds();
    let (l, h) = ((l - low) * 1e3 + ROOM, (h - low) * 1e3 + ROOM);
    let mut at = DVec2::new(
        0.5 * (l.x + h.x),
        0.5 * (l.y + h.y) + 3.0 * about.len() as f64 + 4.0,
    );
    if about.is_empty() {
        // Beside the middle, where sheets meet.
        at += 0.2 * (h - l);
    }
    for (i, line) in about.iter().enumerate() {
        if i == 0 {
            d.strong(at, line, 6.0, Anchor::Middle, Ink::Main);
            at.y -= 8.0;
        } else {
            d.text(at, line, 4.0, Anchor::Middle, Ink::Main);
            at.y -= 6.0;
        }
    }
    at.y -= 4.0;
    let pen = Pen::new(Ink::Way, Weight::Medium);
    d.arrow(at + DVec2::new(-14.0, 0.0), at + DVec2::new(14.0, 0.0), 3.0, pen);
    d.text(
        at + DVec2::new(17.0, -1.4),
        "front of the car",
        4.0,
        Anchor::Start,
        Ink::Way,
    );
}
