//! The flange seen from above: how hard the seal is pressed along it, the order of the bolts; and how high a face
//! stands where it was measured.

use super::Look;
use super::plot::{round_step, tick_text};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::{FaceFact, SealFacts, SealView};
use glam::DVec2;
use measure::{Dimension, UnitOrder, show};

/// The paper's frame of a view from above.
struct Sheet {
    low: DVec2,
    corner: DVec2,
    scale: f64,
    /// Where the words below the flange stand.
    foot: f64,
}

impl Sheet {
    fn on(&self, p: [f64; 2]) -> DVec2 {
        self.corner + (DVec2::from(p) - self.low) * self.scale
    }
}

/// Pressure along the seal, bolts with their number and their turn; `None` without a flange or a pressure.
pub fn pressure(facts: &SealFacts, look: &Look) -> Option<Drawing> {
    let press = facts.press.as_ref()?;
    let legend = 5.2 * look.words;
    let (mut d, sheet) = begin(
        &facts.view,
        look,
        &look.id("seal-pressure"),
        "How hard the seal is pressed",
        legend,
    )?;
    d.said = press.said.clone();
    let carried = press.along.iter().any(|a| a[2] > 0.0);
    let most = press.along.iter().map(|a| a[2]).fold(f64::MIN_POSITIVE, f64::max);
    let tallest = 4.2 * look.words;
    let share = |a: &[f64; 5]| match carried {
        true => a[2] / most,
        // Need over service is the share of the widest opening that may be.
        false => (1.0 / a[4].max(0.1)).min(1.2),
    };
    let line: Vec<DVec2> = press.along.iter().map(|a| sheet.on([a[0], a[1]])).collect();
    let n = line.len();
    let turn: f64 = (0..n).map(|i| line[i].perp_dot(line[(i + 1) % n])).sum();
    let top = |i: usize| {
        let way = (line[(i + 1) % n] - line[(i + n - 1) % n]).normalize_or(DVec2::X);
        line[i] - way.perp() * turn.signum() * (tallest * share(&press.along[i])).max(0.35)
    };
    // One area for each run of places of a kind: areas side by side would show their seams.
    let class = |i: usize| fill_of(press.along[i][4].min(press.along[(i + 1) % n][4]));
    let start = (0..n).find(|&i| class(i) != class((i + n - 1) % n)).unwrap_or(0);
    let mut i = 0;
    while i < n {
        let fill = class((start + i) % n);
        let mut run = vec![(start + i) % n];
        while i < n && class((start + i) % n) == fill {
            i += 1;
            run.push((start + i) % n);
        }
        let band = run
            .iter()
            .map(|&k| line[k])
            .chain(run.iter().rev().map(|&k| top(k)));
        d.paths(vec![Path::closed(band)], None, Some(fill));
        let ink = if fill == Fill::Bare { Ink::Bare } else { Ink::Main };
        d.trace(run.iter().map(|&k| top(k)), Pen::new(ink, Weight::Fine));
    }
    bolts(&mut d, facts, &sheet, look);
    for run in &press.short {
        let at = sheet.on(run.at);
        d.circle(at, 1.5, Some(Pen::new(Ink::Bare, Weight::Heavy)), None);
    }
    let said = if carried {
        format!("pressure, tallest {}", show(most, Dimension::Stress, look.order))
    } else {
        "opening, full height is the widest that is bridged".to_owned()
    };
    key(
        &mut d,
        look,
        &[
            (Fill::Solid(Ink::Way), "need met twice or more"),
            (Fill::Solid(Ink::Quiet), "met, less than twice"),
            (Fill::Bare, "not met; ringed where worst"),
        ],
        &format!("Band outside the seal's line: {said}. Ring: the bolt's number. Square: its turn."),
    );
    bar(&mut d, look, &sheet);
    Some(d)
}

fn fill_of(service: f64) -> Fill {
    if service < 1.0 {
        Fill::Bare
    } else if service < 2.0 {
        Fill::Solid(Ink::Quiet)
    } else {
        Fill::Solid(Ink::Way)
    }
}

/// A face as measured: each reading with its height over the lowest plane; `None` without readings.
pub fn face(facts: &SealFacts, face: &FaceFact, look: &Look) -> Option<Drawing> {
    if face.points.is_empty() {
        return None;
    }
    let title = match face.face.as_str() {
        "both" => "Both faces laid on each other".to_owned(),
        one => format!("How high the {one}'s face stands"),
    };
    let legend = 4.0 * look.words;
    let (mut d, sheet) = begin(
        &facts.view,
        look,
        &look.id(&format!("seal-face-{}", face.face)),
        &title,
        legend,
    )?;
    d.said = face.said.clone();
    for b in &facts.view.bolts {
        d.circle(
            sheet.on(*b),
            (0.5 * facts.view.hole * sheet.scale).max(0.5),
            Some(Pen::new(Ink::Quiet, Weight::Fine)),
            None,
        );
    }
    let most = face
        .points
        .iter()
        .map(|p| p[2])
        .fold(0.0, f64::max)
        .max(f64::MIN_POSITIVE);
    let cut = face.skim.as_ref().map(|s| face.flatness.unwrap_or(0.0) - s.depth);
    let mut taken: Vec<DVec2> = Vec::new();
    let middle =
        facts.view.outer.iter().map(|p| sheet.on(*p)).sum::<DVec2>() / facts.view.outer.len().max(1) as f64;
    let mut order: Vec<&[f64; 3]> = face.points.iter().collect();
    // The highest and the lowest have the first right to their words.
    order.sort_by(|a, b| (b[2] - 0.5 * most).abs().total_cmp(&(a[2] - 0.5 * most).abs()));
    for p in &order {
        let at = sheet.on([p[0], p[1]]);
        let radius = 0.5 + 1.5 * (p[2] / most).max(0.0);
        let over = cut.is_some_and(|c| p[2] > c + 1e-12);
        let ink = if over { Ink::Bare } else { Ink::Metal };
        let fill = if over { Fill::Bare } else { Fill::Solid(ink) };
        d.circle(at, radius, Some(Pen::new(ink, Weight::Medium)), Some(fill));
    }
    for p in order {
        let at = sheet.on([p[0], p[1]]);
        let size = 0.9 * look.words;
        // Words stand on the side of the flange where there is room: inside the opening.
        let inward = (middle - at).normalize_or(DVec2::Y);
        let inward = if inward.x.abs() * 0.6 > inward.y.abs() {
            DVec2::new(inward.x.signum(), 0.0)
        } else {
            DVec2::new(0.0, inward.y.signum())
        };
        let words = match look.order {
            UnitOrder::MetricFirst => format!("{:.0}", p[2] * 1e6),
            UnitOrder::InchFirst => format!("{:.1}", p[2] / 25.4e-6),
        };
        let spot =
            at + inward * (3.6 + if inward.x == 0.0 { 0.6 } else { 1.2 }) - DVec2::new(0.0, 0.35 * size);
        let free = |t: &DVec2| (t.x - spot.x).abs() > 2.1 * size || (t.y - spot.y).abs() > 1.15 * size;
        if taken.iter().all(free) {
            taken.push(spot);
            d.label(spot, &words, size, Anchor::Middle, Ink::Main);
        }
    }
    let unit = match look.order {
        UnitOrder::MetricFirst => "µm (thousandths of a mm)",
        UnitOrder::InchFirst => "thousandths of an inch divided by one: mil",
    };
    let unit = if look.order == UnitOrder::InchFirst {
        "mil (0.001 in)"
    } else {
        unit
    };
    let mut marks = vec![(Fill::Solid(Ink::Metal), "a reading; larger is higher")];
    if cut.is_some() {
        marks.push((Fill::Bare, "stands over the least cut: take off here"));
    }
    key(
        &mut d,
        look,
        &marks,
        &format!("Heights in {unit} over the lowest plane."),
    );
    bar(&mut d, look, &sheet);
    Some(d)
}

fn begin(view: &SealView, look: &Look, id: &str, title: &str, legend: f64) -> Option<(Drawing, Sheet)> {
    let ends = view
        .outer
        .iter()
        .map(|p| DVec2::from(*p))
        .fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| {
            (l.min(p), h.max(p))
        });
    let (low, high) = ends;
    let size = high - low;
    if !(size.min_element() > 0.0) || !size.is_finite() {
        return None;
    }
    let margin = 5.5 * look.words;
    let foot = legend + 3.2 * look.words;
    let scale = ((look.width - 2.0 * margin) / size.x).min(0.95 * look.width / size.y);
    let height = size.y * scale + margin + margin * 0.7 + foot;
    let mut d = Drawing::new(id, look.width, height, title);
    let corner = DVec2::new(0.5 * (look.width - size.x * scale), foot + 0.7 * margin);
    let sheet = Sheet {
        low,
        corner,
        scale,
        foot,
    };
    let edge = |l: &[[f64; 2]]| Path::closed(l.iter().map(|p| sheet.on(*p)));
    let pen = Some(Pen::new(Ink::Metal, Weight::Medium));
    d.paths(
        vec![edge(&view.outer), edge(&view.inner)],
        pen,
        Some(Fill::Solid(Ink::Faint)),
    );
    let words = look.words;
    let x = d.width - 2.0;
    d.text(
        DVec2::new(x, foot - 0.2 * words),
        "seen from above, engine front to the right",
        words,
        Anchor::End,
        Ink::Quiet,
    );
    Some((d, sheet))
}

/// Bolts with their number in the ring, and their turn in a square beside it, toward the flange's middle.
fn bolts(d: &mut Drawing, facts: &SealFacts, sheet: &Sheet, look: &Look) {
    let order = facts.order.as_ref().map(|o| &o.order[..]);
    numbered(d, &facts.view, order, &|p| sheet.on(p), 0.95 * look.words);
}

fn numbered(
    d: &mut Drawing,
    view: &SealView,
    order: Option<&[usize]>,
    on: &dyn Fn([f64; 2]) -> DVec2,
    size: f64,
) {
    let places: Vec<DVec2> = view.bolts.iter().map(|b| on(*b)).collect();
    let middle = places.iter().sum::<DVec2>() / places.len().max(1) as f64;
    let mut taken: Vec<DVec2> = Vec::new();
    for (i, at) in places.iter().enumerate() {
        bolt(d, *at, &(i + 1).to_string(), size);
        if let Some(place) = order.and_then(|o| o.iter().position(|b| *b == i + 1)) {
            // Straight in from the nearer side, so that the squares stand in rows as the bolts do; aside where two meet.
            let way = inward(view, i, on).unwrap_or_else(|| (middle - *at).normalize_or(DVec2::Y));
            let spots = [2.1, 2.7, 3.3].into_iter().flat_map(|far| {
                [0.0, 0.5, -0.5, 0.9, -0.9].map(|turn| *at + DVec2::from_angle(turn).rotate(way) * far * size)
            });
            let spots: Vec<DVec2> = spots.collect();
            let free = |s: &&DVec2| {
                let apart = |t: &DVec2| (t.x - s.x).abs() > 1.45 * size || (t.y - s.y).abs() > 1.25 * size;
                taken.iter().all(apart) && places.iter().all(|p| p.distance(**s) > 1.7 * size)
            };
            let spot = *spots.iter().find(free).unwrap_or(&spots[0]);
            taken.push(spot);
            turn(d, spot, &(place + 1).to_string(), 0.8 * size);
        }
    }
}

/// Square to the nearest side of the flange's inner edge, into the opening.
fn inward(view: &SealView, bolt: usize, on: &dyn Fn([f64; 2]) -> DVec2) -> Option<DVec2> {
    let at = on(view.bolts[bolt]);
    let edge: Vec<DVec2> = view.inner.iter().map(|p| on(*p)).collect();
    let near = (0..edge.len())
        .map(|i| {
            let (a, b) = (edge[i], edge[(i + 1) % edge.len()]);
            let share = ((at - a).dot(b - a) / (b - a).length_squared().max(1e-12)).clamp(0.0, 1.0);
            a.lerp(b, share)
        })
        .min_by(|p, q| p.distance(at).total_cmp(&q.distance(at)))?;
    (near - at).try_normalize()
}

/// A bolt's head with its number.
pub fn bolt(d: &mut Drawing, at: DVec2, number: &str, size: f64) {
    let pen = Pen::new(Ink::Main, Weight::Medium);
    d.circle(at, 0.9 * size, Some(pen), Some(Fill::Solid(Ink::Ground)));
    let base = at - DVec2::new(0.0, 0.35 * size);
    d.strong(base, number, size, Anchor::Middle, Ink::Main);
}

/// The turn at which a bolt is tightened.
pub fn turn(d: &mut Drawing, at: DVec2, number: &str, size: f64) {
    let half = DVec2::new(0.85 * size, 0.72 * size);
    let square = Path::rectangle(at - half, at + half);
    d.paths(vec![square], None, Some(Fill::Solid(Ink::Main)));
    let base = at - DVec2::new(0.0, 0.35 * size);
    d.strong(base, number, size, Anchor::Middle, Ink::Ground);
}

/// The flange from above in a rectangle [low, high] of the paper, bolts numbered as the design lists them and, where an
/// order is given, with their turn; letters `size` tall.
pub fn flange_with_bolts(
    d: &mut Drawing,
    view: &SealView,
    order: Option<&[usize]>,
    room: [DVec2; 2],
    size: f64,
) {
    let on = laid(view, room, size);
    let edge = |points: &[[f64; 2]]| Path::closed(points.iter().map(|p| on(*p)));
    flange(d, edge(&view.outer), edge(&view.inner));
    numbered(d, view, order, &on, size);
}

/// Lays the view into a rectangle of the paper, as large as it goes.
pub(crate) fn laid(view: &SealView, [low, high]: [DVec2; 2], margin: f64) -> impl Fn([f64; 2]) -> DVec2 {
    let points = view.outer.iter().chain(&view.bolts).map(|p| DVec2::from(*p));
    let (least, most) = points.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(a, b), p| {
        (a.min(p), b.max(p))
    });
    let size = (most - least).max(DVec2::splat(1e-6));
    let free = high - low - DVec2::splat(2.0 * margin);
    let scale = (free / size).min_element();
    let corner = 0.5 * (low + high) - 0.5 * scale * size;
    move |p| corner + (DVec2::from(p) - least) * scale
}

/// The flange's metal between its two edges.
pub(crate) fn flange(d: &mut Drawing, outer: Path, inner: Path) {
    d.paths(
        vec![outer, inner],
        Some(Pen::new(Ink::Metal, Weight::Medium)),
        Some(Fill::Solid(Ink::Faint)),
    );
}

fn key(d: &mut Drawing, look: &Look, marks: &[(Fill, &str)], last: &str) {
    let words = look.words;
    let mut y = if look.is_narrow() {
        1.9 * words * (marks.len() as f64 - 1.0) + 2.2 * words
    } else {
        2.2 * words
    };
    let mut x = 3.0;
    for (fill, text) in marks {
        let low = DVec2::new(x, y - 0.1 * words);
        d.paths(
            vec![Path::rectangle(low, low + DVec2::new(1.6 * words, 0.9 * words))],
            Some(Pen::new(Ink::Quiet, Weight::Fine)),
            Some(*fill),
        );
        d.text(
            DVec2::new(x + 2.1 * words, y),
            text,
            words,
            Anchor::Start,
            Ink::Main,
        );
        if look.is_narrow() {
            y -= 1.6 * words;
        } else {
            x += 2.1 * words + 0.56 * words * text.chars().count() as f64 + 2.0 * words;
        }
    }
    // A phone has room for the last of it.
    let last = match last.split_once(". ") {
        Some((_, rest)) if look.is_narrow() => rest,
        _ => last,
    };
    d.text(
        DVec2::new(3.0, 0.5 * words),
        last,
        words,
        Anchor::Start,
        Ink::Quiet,
    );
}

/// A bar of a round length.
fn bar(d: &mut Drawing, look: &Look, sheet: &Sheet) {
    let (unit, name) = match look.order {
        UnitOrder::MetricFirst => (1e-3, "mm"),
        UnitOrder::InchFirst => (0.0254, "in"),
    };
    let step = round_step(18.0 / sheet.scale / unit);
    let long = step * unit * sheet.scale;
    let y = sheet.foot + 0.15 * look.words;
    let pen = Pen::new(Ink::Quiet, Weight::Fine);
    d.line(DVec2::new(3.0, y), DVec2::new(3.0 + long, y), pen);
    for x in [3.0, 3.0 + long] {
        d.line(DVec2::new(x, y - 0.7), DVec2::new(x, y + 0.7), pen);
    }
    let at = DVec2::new(4.2 + long, y - 0.35 * look.words);
    d.text(
        at,
        &format!("{} {name}", tick_text(step, step)),
        look.words,
        Anchor::Start,
        Ink::Quiet,
    );
}
