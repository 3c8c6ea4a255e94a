//! The course seen from above, with the cover of the computed moments along it.

use super::Look;
use super::plot::{round_step, slim, span_of, tick_text};
use super::spells::{State, spells};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::Findings;
use glam::DVec2;
use measure::UnitOrder;

/// The course map; `None` when the place is not known or has no extent.
pub fn course(findings: &Findings, look: &Look) -> Option<Drawing> {
    let trace = &findings.drive.trace;
    let place = trace.place.as_ref()?;
    let (west, east) = span_of(place.iter().map(|p| p[0]))?;
    let (south, north) = span_of(place.iter().map(|p| p[1]))?;
    let span = DVec2::new(east - west, north - south);
    if span.max_element() <= 0.0 {
        return None;
    }
    let edge = 7.0;
    let room = DVec2::new(
        look.width - 2.0 * edge,
        if look.is_narrow() { 80.0 } else { 78.0 },
    );
    let scale = (room.x / span.x.max(1.0)).min(room.y / span.y.max(1.0));
    let key_rows = if look.is_narrow() { 2.0 } else { 1.0 };
    let foot = 8.0 + 1.5 * look.words * key_rows;
    let height = span.y * scale + 2.0 * edge + foot;
    let mut d = Drawing::new(
        &look.id("course"),
        look.width,
        height,
        "The course, and what stood over the mouth",
    );
    d.said = format!(
        "Plan of the course. {}",
        findings
            .moments
            .iter()
            .map(|m| format!("Moment {} is {}.", m.rank, m.worst.place))
            .collect::<Vec<_>>()
            .join(" ")
    );
    let left = 0.5 * (look.width - span.x * scale);
    let on_paper = |p: DVec2| DVec2::new(left + (p.x - west) * scale, edge + foot + (p.y - south) * scale);
    let at = |t: f64| on_paper(place_at(&trace.time, place, t));

    let points: Vec<_> = place.iter().map(|p| on_paper(DVec2::from(*p))).collect();
    d.trace(slim(&points, 0.08), Pen::new(Ink::Quiet, Weight::Medium));
    for m in findings.moments.iter().rev() {
        for spell in spells(&m.history, findings.limits.least_cover, m.counts_from) {
            let steps = ((spell.to - spell.from) / 0.05).ceil().clamp(1.0, 400.0) as usize;
            let line: Vec<_> = (0..=steps)
                .map(|i| at(spell.from + (spell.to - spell.from) * i as f64 / steps as f64))
                .collect();
            let half = if spell.state == State::Covered { 0.7 } else { 1.5 };
            if let Some(band) = band(&slim(&line, 0.04), half) {
                d.paths(
                    vec![band],
                    Some(Pen::new(Ink::Main, Weight::Hair)),
                    Some(spell.state.fill()),
                );
            }
        }
    }
    travel_arrow(&mut d, &points);
    let mut numbered: Vec<DVec2> = Vec::new();
    for m in findings.moments.iter().rev() {
        let p = at(m.worst.time);
        let before = at(m.worst.time - 0.4);
        let mut out = (p - before).normalize_or(DVec2::X).perp();
        // Away from the middle of the map, where the other side of the course is less likely to lie.
        let middle = DVec2::new(0.5 * look.width, 0.5 * height);
        if out.dot(p - middle) < 0.0 {
            out = -out;
        }
        // Farther out until it stands clear of the numbers already there.
        let room =
            |far: f64| (p + far * out).clamp(DVec2::splat(2.4), DVec2::new(look.width - 2.4, height - 2.4));
        let clear = |c: DVec2| numbered.iter().all(|n: &DVec2| n.distance(c) > 4.8);
        let c = (0..6)
            .map(|i| room(5.2 + 4.9 * f64::from(i)))
            .find(|c| clear(*c))
            .unwrap_or(room(5.2));
        numbered.push(c);
        d.line(p, c, Pen::new(Ink::Main, Weight::Fine));
        d.circle(
            c,
            2.1,
            Some(Pen::new(Ink::Main, Weight::Fine)),
            Some(Fill::Solid(Ink::Ground)),
        );
        d.strong(
            c - DVec2::new(0.0, 0.35 * look.words),
            &m.rank.to_string(),
            look.words,
            Anchor::Middle,
            Ink::Main,
        );
    }
    scale_bar(&mut d, look, scale, foot);
    Some(d)
}

/// Place on the course at a time: straight lines between samples, held at the ends.
fn place_at(time: &[f64], place: &[[f64; 2]], t: f64) -> DVec2 {
    let count = time.len().min(place.len());
    let after = time[..count]
        .partition_point(|s| *s < t)
        .clamp(1, count.max(2) - 1);
    let (a, b) = (
        DVec2::from(place[after - 1]),
        DVec2::from(place[after.min(count - 1)]),
    );
    let share = (t - time[after - 1]) / (time[after] - time[after - 1]);
    a.lerp(b, share.clamp(0.0, 1.0))
}

/// The line made `half` wide to each side.
fn band(line: &[DVec2], half: f64) -> Option<Path> {
    let first = *line.first()?;
    if line.iter().all(|p| p.distance(first) < 1e-6) {
        return None;
    }
    let side = |i: usize| {
        let (a, b) = (line[i.saturating_sub(1)], line[(i + 1).min(line.len() - 1)]);
        (b - a).normalize_or(DVec2::X).perp() * half
    };
    let left = (0..line.len()).map(|i| line[i] + side(i));
    let right = (0..line.len()).rev().map(|i| line[i] - side(i));
    Some(Path::closed(left.chain(right)))
}

fn travel_arrow(d: &mut Drawing, points: &[DVec2]) {
    let Some(&start) = points.first() else { return };
    let Some(&ahead) = points.iter().find(|p| p.distance(start) > 6.0) else {
        return;
    };
    let along = (ahead - start).normalize_or_zero();
    let off = -along.perp() * 2.6;
    d.line(
        start + along.perp() * 1.6,
        start - along.perp() * 1.6,
        Pen::new(Ink::Main, Weight::Medium),
    );
    d.arrow(
        start + off,
        start + off + along * 6.0,
        1.6,
        Pen::new(Ink::Way, Weight::Medium),
    );
}

fn scale_bar(d: &mut Drawing, look: &Look, scale: f64, foot: f64) {
    let (metre, unit) = match look.order {
        UnitOrder::MetricFirst => (1.0, "m"),
        UnitOrder::InchFirst => (0.3048, "ft"),
    };
    let step = round_step(22.0 / scale / metre);
    let long = step * metre * scale;
    let y = foot - 3.0;
    let pen = Pen::new(Ink::Main, Weight::Fine);
    d.line(DVec2::new(4.0, y), DVec2::new(4.0 + long, y), pen);
    for x in [4.0, 4.0 + long] {
        d.line(DVec2::new(x, y - 0.8), DVec2::new(x, y + 0.8), pen);
    }
    let words = format!("{} {unit}", tick_text(step, step));
    d.text(
        DVec2::new(4.0 + long + 1.4, y - 0.35 * look.words),
        &words,
        look.words,
        Anchor::Start,
        Ink::Main,
    );
    let low_line = if look.is_narrow() {
        0.6 + 1.5 * look.words
    } else {
        0.6
    };
    let mut x = 4.0;
    let size = look.words;
    for state in [State::Covered, State::Thin, State::Bare] {
        let low = DVec2::new(x, low_line);
        let box_high = low + DVec2::new(5.0, 2.6);
        d.paths(
            vec![Path::rectangle(low, box_high)],
            Some(Pen::new(Ink::Main, Weight::Hair)),
            Some(state.fill()),
        );
        d.text(
            DVec2::new(x + 6.0, low_line + 0.5),
            state.word(),
            size,
            Anchor::Start,
            Ink::Main,
        );
        x += 8.5 + size * 0.6 * state.word().len() as f64;
    }
    let at = if look.is_narrow() {
        DVec2::new(4.0, 1.1)
    } else {
        DVec2::new(x, low_line + 0.5)
    };
    d.text(
        at,
        "plain line: not computed in 3-D",
        size,
        Anchor::Start,
        Ink::Quiet,
    );
}
