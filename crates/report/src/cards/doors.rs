//! Door card: which way each opens, how far, what stops it.

use super::About;
use super::sheet::{SMALL, Sheet, WORDS};
use crate::drawing::{Anchor, Drawing, Ink, Path, Pen, Weight};
use crate::findings::DoorCard;
use glam::DVec2;
use measure::{Dimension, show};

/// The card; `None` without doors.
pub fn doors(doors: &[DoorCard], about: &About) -> Option<Vec<Drawing>> {
    if doors.is_empty() {
        return None;
    }
    let lead =
        "Each door lets oil through one way. Hung the wrong way round it holds the oil where it must not be.";
    let mut s = Sheet::new(about, "doors", "Door card", lead);
    for door in doors {
        s.gap(4.0);
        let height = 62.0;
        s.need(height);
        let low = s.room(height);
        let [_, right] = s.edges();
        let d = s.drawing();
        let middle = low.x + 62.0;
        figure(d, door, [low, DVec2::new(middle, low.y + height)]);
        let x = middle + 6.0;
        let mut y = low.y + height - 9.0;
        d.strong(DVec2::new(x, y), &door.name, 8.5, Anchor::Start, Ink::Main);
        let angle = |a: f64| format!("{:.0}°", a.to_degrees());
        let lines = [
            format!("on {}", door.plate),
            format!("opens toward the {}", door.toward),
            format!("hinge {}, pin {} long", door.hinge, length(door.width, about)),
            format!("stop at {}", angle(door.stop)),
            match &door.strikes {
                Some((at, what)) => format!("strikes {what} at {}", angle(*at)),
                None => format!("swings free to the stop, edge {} out", length(door.out, about)),
            },
            format!("gap all round {}", length(door.gap, about)),
        ];
        for (i, line) in lines.iter().enumerate() {
            let strong = i == 1;
            let size = if strong { WORDS } else { SMALL };
            y -= size * 1.4;
            let fitted = fitted(line, size, right - x, strong);
            match strong {
                true => d.strong(DVec2::new(x, y), line, fitted, Anchor::Start, Ink::Main),
                false => d.text(DVec2::new(x, y), line, fitted, Anchor::Start, Ink::Main),
            }
        }
    }
    s.head("Before the pan goes on");
    for check in [
        "Oil poured on the side it comes from runs through; on the other side it stays.",
        "Every flap swings by its own weight, from shut to the stop and back, with a hand's shake.",
        "Pins peened or wired at both ends: a pin that walks out goes to the pickup.",
        "No weld, burr or wire within reach of a flap.",
    ] {
        s.tick(check);
    }
    Some(s.done())
}

fn length(value: f64, about: &About) -> String {
    show(value, Dimension::Length, about.order)
}

fn fitted(words: &str, size: f64, room: f64, strong: bool) -> f64 {
    (size * room / crate::drawing::words::width(words, size, strong)).min(size)
}

/// The flap from the side: its plate, shut, at its stop, and the way the oil goes.
fn figure(d: &mut Drawing, door: &DoorCard, [low, high]: [DVec2; 2]) {
    let (reach, opens) = (DVec2::from(door.reach), DVec2::from(door.opens));
    let middle = 0.5 * (low + high) + DVec2::new(0.0, 2.0);
    // Everything within half the room, whichever way it opens.
    let long = 22.0;
    let hinge = middle - reach * 0.5 * long - opens * 0.3 * long;
    let tip = |angle: f64| hinge + (reach * angle.cos() + opens * angle.sin()) * long;
    let metal = Pen::new(Ink::Metal, Weight::Heavy);
    // The plate goes on beyond hinge and free edge.
    for [a, b] in [
        [hinge - reach * 14.0, hinge],
        [tip(0.0) + reach * 1.0, tip(0.0) + reach * 14.0],
    ] {
        let side = opens * 0.9;
        d.paths(
            vec![Path::closed([a - side, b - side, b + side, a + side])],
            Some(Pen::new(Ink::Metal, Weight::Medium)),
            Some(crate::drawing::Fill::Solid(Ink::Metal)),
        );
    }
    d.line(hinge, tip(0.0), metal);
    d.circle(
        hinge,
        1.3,
        Some(metal),
        Some(crate::drawing::Fill::Solid(Ink::Ground)),
    );
    d.line(hinge, tip(door.stop), Pen::dashed(Ink::Metal, Weight::Medium));
    let steps = 24;
    let arc: Vec<DVec2> = (0..=steps)
        .map(|i| {
            let angle = door.stop * f64::from(i) / f64::from(steps);
            hinge + (tip(angle) - hinge) * 0.86
        })
        .collect();
    d.trace(arc.clone(), Pen::new(Ink::Way, Weight::Medium));
    if let [.., before, last] = arc[..] {
        d.arrow(before, last, 2.6, Pen::new(Ink::Way, Weight::Medium));
    }
    let stop = tip(door.stop) + (tip(door.stop) - hinge).normalize_or(DVec2::X) * 3.5;
    let words = format!("{:.0}°", door.stop.to_degrees());
    d.text(
        stop - DVec2::new(0.0, 1.5),
        &words,
        4.4,
        Anchor::Middle,
        Ink::Main,
    );
    // Oil through the opening.
    let through = hinge + reach * 0.72 * long;
    let oil = Pen::new(Ink::OilEdge, Weight::Heavy);
    d.arrow(through - opens * 17.0, through - opens * 4.0, 3.4, oil);
    let tail = through - opens * 19.5;
    d.text(
        tail - DVec2::new(0.0, 1.5),
        "oil",
        4.4,
        if opens.x > 0.5 {
            Anchor::End
        } else if opens.x < -0.5 {
            Anchor::Start
        } else {
            Anchor::Middle
        },
        Ink::OilEdge,
    );
    d.text(
        DVec2::new(middle.x, low.y),
        &door.view,
        3.8,
        Anchor::Middle,
        Ink::Quiet,
    );
}
