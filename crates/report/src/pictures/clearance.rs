//! The pan among the bodies round it: from above, from the right and from the rear, with each pair's least gap.

use super::Look;
use super::plot::{round_step, tick_text};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::{ClearanceFacts, ClearanceView, GapState, SeenFrom};
use glam::DVec2;
use measure::UnitOrder;

/// All three views at one scale, in third-angle order; `None` when there is nothing to show.
pub fn clearance(facts: &ClearanceFacts, look: &Look) -> Option<Drawing> {
    let find = |side| facts.views.iter().find(|v| v.side == side);
    let (above, right, rear) = (
        find(SeenFrom::Above)?,
        find(SeenFrom::Right)?,
        find(SeenFrom::Rear)?,
    );
    let size = |v: &ClearanceView| DVec2::from(v.window[1]) - DVec2::from(v.window[0]);
    let (a, r, e) = (size(above), size(right), size(rear));
    let narrow = look.is_narrow();
    let (edge, gap, head) = (4.0, 7.0, 2.6 * look.words);
    let foot = 8.0 + 1.6 * look.words;
    let left = a.x.max(r.x);
    let wide = if narrow { left.max(e.x) } else { left + e.x };
    let tall = if narrow {
        a.y + r.y + e.y
    } else {
        a.y + r.y.max(e.y)
    };
    let free = look.width - 2.0 * edge - if narrow { 0.0 } else { gap };
    let scale = (free / wide).min(if narrow { 220.0 } else { 170.0 } / tall);
    let rows = if narrow { 3.0 } else { 2.0 };
    let height = tall * scale + rows * (head + gap) + foot;
    let mut d = Drawing::new(
        &look.id("clearance"),
        look.width,
        height,
        "The pan and what stands round it",
    );
    d.said = facts.said.clone();
    let used = if narrow { wide * scale } else { wide * scale + gap };
    let x = (0.5 * (look.width - used)).max(edge);
    let main = if narrow { x } else { x + e.x * scale + gap };
    let mut top = height - head;
    one(
        &mut d,
        above,
        DVec2::new(main, top - a.y * scale),
        scale,
        look,
        "from above",
    );
    top -= a.y * scale + gap + head;
    one(
        &mut d,
        right,
        DVec2::new(main, top - r.y * scale),
        scale,
        look,
        "from the engine's right",
    );
    if narrow {
        top -= r.y * scale + gap + head;
    }
    one(
        &mut d,
        rear,
        DVec2::new(x, top - e.y * scale),
        scale,
        look,
        "from the rear",
    );
    bar(&mut d, look, scale);
    Some(d)
}

fn one(d: &mut Drawing, view: &ClearanceView, corner: DVec2, scale: f64, look: &Look, name: &str) {
    let (low, high) = (DVec2::from(view.window[0]), DVec2::from(view.window[1]));
    let on = |p: [f64; 2]| corner + (DVec2::from(p) - low) * scale;
    let closed = |loops: &[Vec<[f64; 2]>]| -> Vec<Path> {
        loops
            .iter()
            .map(|l| Path::closed(l.iter().map(|p| on(*p))))
            .collect()
    };
    let clip = d.clip(vec![Path::rectangle(corner, corner + (high - low) * scale)]);
    for body in view.bodies.iter().filter(|b| !b.hidden) {
        let pen = Pen::new(Ink::Quiet, Weight::Fine);
        d.clipped(
            closed(&body.loops),
            Some(pen),
            Some(Fill::Solid(Ink::Faint)),
            clip,
        );
    }
    // The pan over the bodies, its ground showing: what lies behind it still shows its own line below.
    d.clipped(
        closed(&view.pan),
        Some(Pen::new(Ink::Metal, Weight::Heavy)),
        Some(Fill::Solid(Ink::Ground)),
        clip,
    );
    for body in &view.bodies {
        d.clipped(
            closed(&body.loops),
            Some(Pen::dashed(Ink::Quiet, Weight::Fine)),
            None,
            clip,
        );
    }
    let mut taken: Vec<(DVec2, f64)> = Vec::new();
    for body in &view.bodies {
        label(d, &body.loops, &body.name, &on, look, &mut taken);
    }
    for gap in &view.gaps {
        let ink = if gap.state == GapState::Clear {
            Ink::Way
        } else {
            Ink::Bare
        };
        let (from, to) = (on(gap.from), on(gap.to));
        d.line(from, to, Pen::new(ink, Weight::Medium));
        for end in [from, to] {
            d.circle(end, 0.5, None, Some(Fill::Solid(ink)));
        }
        // The number beside the line, off its ends.
        let across = (to - from).normalize_or(DVec2::X).perp();
        let across = if across.y < 0.0 { -across } else { across };
        let size = look.words * 0.9;
        let at = 0.5 * (from + to) + across * (0.9 + 0.6 * size) - DVec2::new(0.0, 0.35 * size);
        d.label(at, &gap.number.to_string(), size, Anchor::Middle, ink);
    }
    d.paths(
        vec![Path::rectangle(corner, corner + (high - low) * scale)],
        Some(Pen::new(Ink::Faint, Weight::Hair)),
        None,
    );
    let title = DVec2::new(corner.x, on([low.x, high.y]).y + 1.4);
    d.text(title, name, look.words, Anchor::Start, Ink::Main);
    let ends = match view.side {
        SeenFrom::Above | SeenFrom::Right => ["rear", "front"],
        SeenFrom::Rear => ["left", "right"],
    };
    let below = DVec2::new(0.0, -1.2 - look.words);
    d.text(
        on([low.x, low.y]) + below,
        ends[0],
        look.words,
        Anchor::Start,
        Ink::Quiet,
    );
    d.text(
        on([high.x, low.y]) + below,
        ends[1],
        look.words,
        Anchor::End,
        Ink::Quiet,
    );
}

/// A body's name at the middle of the lowest edge of its outline's box, moved up where another name stands.
fn label(
    d: &mut Drawing,
    loops: &[Vec<[f64; 2]>],
    name: &str,
    on: &dyn Fn([f64; 2]) -> DVec2,
    look: &Look,
    taken: &mut Vec<(DVec2, f64)>,
) {
    let Some(largest) = loops.iter().max_by(|a, b| size(a).total_cmp(&size(b))) else {
        return;
    };
    let points = largest.iter().map(|p| on(*p));
    let (low, high) = points.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| {
        (l.min(p), h.max(p))
    });
    let words = look.words * 0.85;
    let half = 0.27 * words * name.chars().count() as f64;
    let x = (0.5 * (low.x + high.x)).clamp(half + 1.0, (look.width - half - 1.0).max(half + 1.0));
    let mut at = DVec2::new(x, 0.5 * (low.y + high.y) - 0.35 * words);
    while taken
        .iter()
        .any(|(p, h)| (p.x - at.x).abs() < h + half && (p.y - at.y).abs() < 1.15 * words)
    {
        at.y -= 1.2 * words;
    }
    taken.push((at, half));
    d.label(at, name, words, Anchor::Middle, Ink::Quiet);
}

fn size(l: &[[f64; 2]]) -> f64 {
    let points = l.iter().map(|p| DVec2::from(*p));
    let (low, high) = points.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| {
        (l.min(p), h.max(p))
    });
    (high - low).element_product()
}

fn bar(d: &mut Drawing, look: &Look, scale: f64) {
    let (unit, name) = match look.order {
        UnitOrder::MetricFirst => (1e-3, "mm"),
        UnitOrder::InchFirst => (0.0254, "in"),
    };
    let step = round_step(20.0 / scale / unit);
    let long = step * unit * scale;
    let pen = Pen::new(Ink::Main, Weight::Fine);
    let y = 2.4;
    d.line(DVec2::new(4.0, y), DVec2::new(4.0 + long, y), pen);
    for x in [4.0, 4.0 + long] {
        d.line(DVec2::new(x, y - 0.8), DVec2::new(x, y + 0.8), pen);
    }
    let words = format!(
        "{} {name}, third angle, pan frame; numbers as in the table",
        tick_text(step, step)
    );
    let at = DVec2::new(5.4 + long, y - 0.35 * look.words);
    d.text(at, &words, look.words, Anchor::Start, Ink::Main);
}
