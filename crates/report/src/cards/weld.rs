//! Weld plan: the flange held down, the order of the runs, what is left for the skim.

use super::About;
use super::sheet::{SMALL, Sheet};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::{SealView, WeldFacts};
use crate::pictures::seal::{flange, laid};
use glam::DVec2;
use measure::{Dimension, show};

/// The card.
pub fn weld(facts: &WeldFacts, view: &SealView, about: &About) -> Vec<Drawing> {
    let length = |v: f64| show(v, Dimension::Length, about.order);
    let lead = "Heat bends a flange. Hold it, weld short runs far from each other, skim it after.";
    let mut s = Sheet::new(about, "weld", "Weld plan", lead);
    s.gap(2.0);
    let [_, right] = s.edges();
    let height = (s.free() - 95.0).clamp(80.0, 125.0);
    let low = s.room(height);
    let on = laid(view, [low, DVec2::new(right, low.y + height)], 3.0);
    let d = s.drawing();
    let edge = |points: &[[f64; 2]]| Path::closed(points.iter().map(|p| on(*p)));
    flange(d, edge(&view.outer), edge(&view.inner));
    for bolt in &view.bolts {
        let pen = Pen::new(Ink::Metal, Weight::Medium);
        d.circle(on(*bolt), 1.6, Some(pen), Some(Fill::Solid(Ink::Ground)));
    }
    let middle = view.inner.iter().map(|p| on(*p)).sum::<DVec2>() / view.inner.len().max(1) as f64;
    let size = if facts.runs.len() > 40 { 3.6 } else { SMALL };
    for run in &facts.runs {
        let line: Vec<DVec2> = run.line.iter().map(|p| on(*p)).collect();
        d.trace(line.clone(), Pen::new(Ink::Bare, Weight::Heavy));
        for end in [line.first(), line.last()].into_iter().flatten() {
            d.circle(*end, 0.7, None, Some(Fill::Solid(Ink::Bare)));
        }
        let (at, along) = half_way(&line);
        let inward = along.perp() * along.perp().dot(middle - at).signum();
        let spot = at + inward * 4.6;
        d.strong(
            spot - DVec2::new(0.0, 0.35 * size),
            &run.turn.to_string(),
            size,
            Anchor::Middle,
            Ink::Main,
        );
    }
    s.small("Numbers inside: order of the runs, each from dot to dot. Seen from above, engine front to the right.");
    let steps = [
        format!(
            "Bolt the flange to a plate at least {} thick, flat and stiff, through all {} holes, with {} of copper or steel shim \
             between for the heat. Tack the wall at every fourth run.",
            length(2.0 * facts.thickness),
            view.bolts.len(),
            length(1e-3)
        ),
        format!(
            "Weld the {} runs in the order of the numbers, {} each at most. Let the hand lie on the flange before the next one.",
            facts.runs.len(),
            length(facts.run)
        ),
        "Leave it bolted down until it is cold.".to_owned(),
        match facts.skim > 0.0 {
            true => format!(
                "Skim the face last: {} were left on for it. The flange is then {} thick. Holes and bores are finished after the skim.",
                length(facts.skim),
                length(facts.thickness)
            ),
            false => "Nothing was left on for a skim: look with the straight-edge, and lap or shim what the seal cannot bridge.".to_owned(),
        },
        "Read the face bolt by bolt (feeler and straight-edge) and give the readings to sumpwright seal.".to_owned(),
    ];
    for (i, step) in steps.iter().enumerate() {
        s.step(i + 1, step);
    }
    s.caution(
        "Cleaned of oil and solvent before the arc: their vapour burns and some of it poisons. Magnesium burns: it is welded by \
         those who are licensed for it. Air, mask, and someone who knows where you are.",
    );
    s.small("Order, shim and run length are common practice, no source: the welder's own trials win.");
    s.done()
}

/// The middle of a line by its length, and the way it runs there.
fn half_way(line: &[DVec2]) -> (DVec2, DVec2) {
    let half = 0.5 * line.windows(2).map(|w| w[0].distance(w[1])).sum::<f64>();
    let mut gone = 0.0;
    for w in line.windows(2) {
        let long = w[0].distance(w[1]);
        if gone + long >= half && long > 0.0 {
            return (w[0].lerp(w[1], (half - gone) / long), (w[1] - w[0]) / long);
        }
        gone += long;
    }
    (line.first().copied().unwrap_or_default(), DVec2::X)
}
