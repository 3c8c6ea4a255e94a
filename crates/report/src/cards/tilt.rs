//! Tilt-bench card: how much oil, which angle, where the oil line must lie, so that the screen can be believed.

use super::About;
use super::sheet::Sheet;
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::{TiltCut, TiltFacts};
use glam::DVec2;
use measure::{Dimension, show};

/// The card; `None` when nothing can be shown.
pub fn tilt(facts: &TiltFacts, about: &About) -> Option<Vec<Drawing>> {
    if facts.cuts.is_empty() {
        return None;
    }
    let (volume, length) = (
        |v: f64| show(v, Dimension::Volume, about.order),
        |v: f64| show(v, Dimension::Length, about.order),
    );
    let lead = "Does the oil lie where the screen says? Find out on the bench before anything is trusted.";
    let mut s = Sheet::new(about, "tilt", "Tilt bench", lead);
    s.number("lean", &format!("{:.0}°", facts.angle.to_degrees()));
    for cut in &facts.cuts {
        let [wide_left, wide_right] = s.edges();
        s.need(picture_height(cut, facts.angle, wide_right - wide_left) + 85.0);
        s.head(&format!("{} low", crate::pictures::time::capital(&cut.low_side)));
        s.number("oil or water, measured", &volume(cut.volume));
        let [left, right] = s.edges();
        let height = picture_height(cut, facts.angle, right - left);
        let low = s.room(height);
        picture(
            s.drawing(),
            cut,
            facts.angle,
            [low, DVec2::new(right, low.y + height)],
        );
        for line in &cut.lines {
            match line.on_floor {
                true => s.number(
                    &format!("oil ends on the floor, {} the mouth", side_said(&line.side)),
                    &length(line.from_mouth),
                ),
                false => s.number(
                    &format!("{} wall, below flange face", line.side),
                    &length(line.depth),
                ),
            }
        }
        s.number(
            "over the mouth",
            &match cut.cover {
                c if c > 0.0 => length(c),
                c => format!("bare, {} short", length(-c)),
            },
        );
        s.small(&format!("{} {}", cut.why, cut.said));
    }
    s.head("How");
    for (i, step) in [
        "Level the pan first, flange up: the oil must lie as far below the flange face at both ends of a spirit level.".to_owned(),
        format!("Lean it by {:.0}°, with a protractor on the flange. Wait for the oil to come to rest.", facts.angle.to_degrees()),
        "Measure from the flange face straight down to the oil, square to the face, at the walls named.".to_owned(),
        format!(
            "Within {} of the card: the model of the pan is right. Otherwise find out which size is wrong before going on.",
            length(facts.band)
        ),
    ]
    .iter()
    .enumerate()
    {
        s.step(i + 1, step);
    }
    s.small(
        "The bench shows where the oil comes to rest, and not how fast: on the bench gravity is 1 g, in the car more presses on the \
         oil and it goes through doors faster.",
    );
    Some(s.done())
}

fn side_said(side: &str) -> String {
    match side {
        "front" => "in front of".to_owned(),
        "rear" => "behind".to_owned(),
        side => format!("{side} of"),
    }
}

/// How the cut stands when leaned: turned so that the oil lies level.
fn turned(cut: &TiltCut, angle: f64) -> impl Fn([f64; 2]) -> DVec2 {
    // The low side is at the right of the cut: turn it down.
    let turn = DVec2::from_angle(-angle);
    let side = if cut.mirrored { -1.0 } else { 1.0 };
    move |p: [f64; 2]| {
        let q = turn.rotate(DVec2::new(p[0], p[1]));
        DVec2::new(side * q.x, q.y)
    }
}

fn bounds(cut: &TiltCut, angle: f64) -> (DVec2, DVec2) {
    let on = turned(cut, angle);
    let points = cut.walls_cut.iter().flatten().map(|p| on(*p));
    points.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(a, b), p| {
        (a.min(p), b.max(p))
    })
}

fn picture_height(cut: &TiltCut, angle: f64, wide: f64) -> f64 {
    let (low, high) = bounds(cut, angle);
    let size = high - low;
    ((wide - 50.0) * size.y / size.x.max(1e-6) + 14.0).clamp(50.0, 120.0)
}

fn picture(d: &mut Drawing, cut: &TiltCut, angle: f64, [low, high]: [DVec2; 2]) {
    let on = turned(cut, angle);
    let (least, most) = bounds(cut, angle);
    let size = (most - least).max(DVec2::splat(1e-6));
    let scale = ((high - low - DVec2::new(50.0, 14.0)) / size).min_element();
    let corner = 0.5 * (low + high) - 0.5 * scale * size;
    let place = |p: [f64; 2]| corner + (on(p) - least) * scale;
    let path = |l: &Vec<[f64; 2]>| Path::closed(l.iter().map(|p| place(*p)));
    let oil: Vec<Path> = cut.oil.iter().map(path).collect();
    d.paths(
        oil,
        Some(Pen::new(Ink::OilEdge, Weight::Fine)),
        Some(Fill::Solid(Ink::Oil)),
    );
    let metal = Pen::new(Ink::Metal, Weight::Heavy);
    d.paths(cut.walls_cut.iter().map(path).collect(), Some(metal), None);
    let [a, b] = cut.flange.map(&place);
    d.line(a, b, Pen::dashed(Ink::Metal, Weight::Medium));
    let middle = a.lerp(b, 0.5);
    let up = (b - a).perp().normalize_or(DVec2::Y);
    let up = if up.y < 0.0 { -up } else { up };
    d.label(middle + up * 2.0, "flange face", 4.2, Anchor::Middle, Ink::Metal);
    for ([end, flange], line) in cut.ends.iter().zip(&cut.lines) {
        let (end, flange) = (place(*end), place(*flange));
        if !line.on_floor {
            d.arrow(flange, end, 2.4, Pen::new(Ink::Way, Weight::Medium));
        }
        let outside = if end.x > 0.5 * (low.x + high.x) { 1.0 } else { -1.0 };
        let at = flange.lerp(end, 0.5) + DVec2::new(outside * 4.0, -1.5);
        let anchor = if outside > 0.0 { Anchor::Start } else { Anchor::End };
        if !line.on_floor {
            d.label(at, &format!("{} wall", line.side), 4.6, anchor, Ink::Way);
        }
    }
    let mouth = place(cut.mouth);
    d.circle(
        mouth,
        1.4,
        Some(Pen::new(Ink::Main, Weight::Medium)),
        Some(Fill::Solid(Ink::Ground)),
    );
    d.label(
        mouth + DVec2::new(2.6, -1.4),
        "mouth",
        4.2,
        Anchor::Start,
        Ink::Main,
    );
}
