//! A solid as it was understood: seen from above and cut open, or, where it was refused, its edges and the places.

use super::Look;
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use glam::DVec2;

/// One view: everything in metres, in the plane of the view.
#[derive(Clone, Debug, Default)]
pub struct View {
    /// What it is, such as "from above".
    pub title: String,
    /// Names of the axes to the right and up.
    pub axes: [String; 2],
    /// Cut metal, as loops; holes turn the other way.
    pub metal: Vec<Vec<DVec2>>,
    /// Cut oil space.
    pub oil: Vec<Vec<DVec2>>,
    /// Visible edges.
    pub edges: Vec<[DVec2; 2]>,
    /// Outlines that matter, such as the flange's.
    pub outlines: Vec<Vec<DVec2>>,
    /// Places with a word or number.
    pub notes: Vec<Note>,
}

/// A place with a word.
#[derive(Clone, Debug)]
pub struct Note {
    /// Where.
    pub at: DVec2,
    /// How far across; a ring of that size is drawn round it.
    pub across: f64,
    /// The word or number.
    pub words: String,
    /// Something is wrong there.
    pub fault: bool,
}

impl View {
    fn reach(&self) -> Option<(DVec2, DVec2)> {
        let loops = self.metal.iter().chain(&self.oil).chain(&self.outlines).flatten();
        let notes = self.notes.iter().map(|n| &n.at);
        let mut points = loops.chain(self.edges.iter().flatten()).chain(notes);
        let first = *points.next()?;
        Some(points.fold((first, first), |(low, high), p| (low.min(*p), high.max(*p))))
    }
}

/// The views below one another at one scale; `None` when there is nothing to see.
pub fn solid(name: &str, views: &[View], look: &Look) -> Option<Drawing> {
    let seen: Vec<(&View, DVec2, DVec2)> = views
        .iter()
        .filter_map(|view| view.reach().map(|(low, high)| (view, low, high)))
        .collect();
    let widest = seen
        .iter()
        .map(|(_, low, high)| (*high - *low).x)
        .fold(0.0, f64::max);
    if !(widest > 0.0) || !widest.is_finite() {
        return None;
    }
    let (margin, head, gap) = (3.0 * look.words, 2.2 * look.words, 2.6 * look.words);
    let mut scale = (look.width - 2.0 * margin) / widest;
    // Upright things would make a page like a ribbon.
    let tall: f64 = seen.iter().map(|(_, low, high)| (*high - *low).y).sum();
    scale = scale.min(1.6 * look.width / tall.max(1e-9));
    let foot = 4.0 * look.words;
    let height = seen
        .iter()
        .map(|(_, low, high)| (*high - *low).y * scale + head + gap)
        .sum::<f64>()
        + foot;
    let mut d = Drawing::new(&look.id("solid"), look.width, height, "The solid as understood");
    let titles: Vec<&str> = seen.iter().map(|(view, ..)| view.title.as_str()).collect();
    d.said = format!("{name}: {}.", titles.join("; "));
    let mut top = height;
    for (view, low, high) in &seen {
        let size = (*high - *low) * scale;
        d.strong(
            DVec2::new(margin, top - 1.5 * look.words),
            &view.title,
            look.words,
            Anchor::Start,
            Ink::Main,
        );
        top -= head;
        let corner = DVec2::new(0.5 * (look.width - size.x), top - size.y);
        let on_paper = |p: DVec2| corner + (p - *low) * scale;
        draw(&mut d, view, look, scale, &on_paper);
        axes(&mut d, view, look, DVec2::new(margin * 0.4, corner.y));
        top -= size.y + gap;
    }
    bar(&mut d, look, scale, widest);
    Some(d)
}

fn draw(d: &mut Drawing, view: &View, look: &Look, scale: f64, on_paper: &impl Fn(DVec2) -> DVec2) {
    let closed = |loops: &[Vec<DVec2>]| -> Vec<Path> {
        let path = |points: &Vec<DVec2>| Path::closed(points.iter().map(|p| on_paper(*p)));
        loops.iter().filter(|l| l.len() > 2).map(path).collect()
    };
    let edge = Some(Pen::new(Ink::OilEdge, Weight::Fine));
    d.paths(closed(&view.oil), edge, Some(Fill::Solid(Ink::Oil)));
    let edge = Some(Pen::new(Ink::Metal, Weight::Fine));
    d.paths(closed(&view.metal), edge, Some(Fill::Solid(Ink::Metal)));
    for [a, b] in &view.edges {
        d.line(on_paper(*a), on_paper(*b), Pen::new(Ink::Quiet, Weight::Hair));
    }
    d.paths(
        closed(&view.outlines),
        Some(Pen::new(Ink::Metal, Weight::Medium)),
        None,
    );
    for note in &view.notes {
        let at = on_paper(note.at);
        let radius = (0.5 * note.across * scale).max(0.6);
        let (ink, weight) = match note.fault {
            true => (Ink::Bare, Weight::Heavy),
            false => (Ink::Main, Weight::Fine),
        };
        let radius = if note.fault { radius + 1.2 } else { radius };
        d.circle(at, radius, Some(Pen::new(ink, weight)), None);
        let words = at + DVec2::new(radius + 0.6, 0.3 * look.words);
        // No halo: simple viewers paint it over the letters.
        d.strong(words, &note.words, look.words, Anchor::Start, Ink::Main);
    }
}

/// Two small arrows that name the directions.
fn axes(d: &mut Drawing, view: &View, look: &Look, from: DVec2) {
    let pen = Pen::new(Ink::Quiet, Weight::Fine);
    let long = 2.2 * look.words;
    let ways = [
        (
            DVec2::new(long, 0.0),
            DVec2::new(0.4, 0.3 * look.words),
            Anchor::Start,
        ),
        (DVec2::new(0.0, long), DVec2::new(0.6, 0.0), Anchor::Start),
    ];
    for ((way, beside, anchor), name) in ways.into_iter().zip(&view.axes) {
        if !name.is_empty() {
            d.arrow(from, from + way, 1.2, pen);
            d.text(from + way + beside, name, look.words, anchor, Ink::Quiet);
        }
    }
}

/// A bar of 10, 20, 50, 100, ... mm, about a quarter of the width.
fn bar(d: &mut Drawing, look: &Look, scale: f64, width: f64) {
    let wish = width / 4.0;
    let power = 10f64.powf(wish.log10().floor());
    let long = [5.0, 2.0, 1.0]
        .into_iter()
        .map(|s| s * power)
        .find(|l| *l <= wish)
        .unwrap_or(power);
    let from = DVec2::new(3.0 * look.words, 1.2 * look.words);
    let to = from + DVec2::new(long * scale, 0.0);
    let pen = Pen::new(Ink::Quiet, Weight::Fine);
    d.line(from, to, pen);
    for end in [from, to] {
        d.line(end - DVec2::new(0.0, 0.8), end + DVec2::new(0.0, 0.8), pen);
    }
    let words = format!("{} mm", (long * 1e6).round() / 1e3);
    let at = to + DVec2::new(1.2, -0.35 * look.words);
    d.text(at, &words, look.words, Anchor::Start, Ink::Quiet);
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::UnitOrder;

    #[test]
    fn views_stand_below_one_another_at_one_scale() {
        let square = |side: f64| vec![DVec2::ZERO, DVec2::new(side, 0.0), DVec2::new(side, 0.5 * side)];
        let view = |side: f64| View {
            title: format!("{side}"),
            oil: vec![square(side)],
            ..View::default()
        };
        let d = solid("a", &[view(0.2), view(0.1)], &Look::wide(UnitOrder::MetricFirst)).unwrap();
        let spans: Vec<(f64, f64)> = d
            .items
            .iter()
            .filter_map(|item| match &item.shape {
                crate::drawing::Shape::Paths(paths) => {
                    let y = paths[0].vertices.iter().map(|v| v.0.y);
                    Some((
                        y.clone().fold(f64::INFINITY, f64::min),
                        y.fold(f64::NEG_INFINITY, f64::max),
                    ))
                }
                _ => None,
            })
            .collect();
        assert_eq!(spans.len(), 2);
        assert!(spans[0].0 > spans[1].1, "{spans:?}");
        let ratio = (spans[0].1 - spans[0].0) / (spans[1].1 - spans[1].0);
        assert!((ratio - 2.0).abs() < 1e-9, "{ratio}");
        assert!(solid("a", &[View::default()], &Look::wide(UnitOrder::MetricFirst)).is_none());
    }
}
