//! Litres against height, with the levels that matter: the picture behind the dipstick.

use super::Look;
use super::plot::{Lane, span_of, tick_text, ticks};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::Findings;
use crate::numbers::{axis_unit, line, short};
use glam::DVec2;
use measure::Dimension;

/// Litres against height; `None` without a table.
pub fn heights(findings: &Findings, look: &Look) -> Option<Drawing> {
    let pan = &findings.pan;
    let rows = &pan.heights;
    let (length, volume) = (
        axis_unit(Dimension::Length, look.order),
        axis_unit(Dimension::Volume, look.order),
    );
    let (low, high) = span_of(rows.iter().map(|r| r.height / length.factor))?;
    let most = rows.iter().map(|r| r.volume / volume.factor).fold(0.0, f64::max);
    if high <= low || most <= 0.0 {
        return None;
    }
    let foot = 4.0 + 2.9 * look.words;
    let tall = if look.is_narrow() { 66.0 } else { 62.0 };
    let height = tall + foot + 3.0 + 1.6 * look.words;
    let mut d = Drawing::new(
        &look.id("heights"),
        look.width,
        height,
        "Litres against height, engine off, as installed",
    );
    d.said = format!(
        "The pan holds {} to the flange. The fill of {} stands at {} from the flange face.",
        line(pan.capacity, Dimension::Volume, look.order),
        line(pan.fill, Dimension::Volume, look.order),
        line(pan.level_off, Dimension::Length, look.order)
    );
    let lane = Lane {
        x: [13.0, look.width - 3.0],
        y: [foot, foot + tall],
        time: [0.0, most],
        value: [low, high],
    };
    lane.frame(
        &mut d,
        look,
        &format!("height from the flange face, {}", length.name),
        6,
    );
    let (v, h): (Vec<f64>, Vec<f64>) = rows.iter().map(|r| (r.volume / volume.factor, r.height)).unzip();
    let below: Vec<DVec2> = rows
        .iter()
        .filter(|r| r.height <= pan.level_off)
        .map(|r| lane.at(r.volume / volume.factor, r.height / length.factor))
        .collect();
    if let (Some(first), Some(at_level)) = (below.first().copied(), volume_at(findings, pan.level_off)) {
        let last = lane.at(at_level / volume.factor, pan.level_off / length.factor);
        let mut points = below;
        points.push(last);
        points.push(DVec2::new(lane.x[0], last.y));
        points.push(DVec2::new(lane.x[0], first.y));
        d.paths(vec![Path::closed(points)], None, Some(Fill::Solid(Ink::Oil)));
    }
    lane.series(&mut d, &v, &h, length.factor, Pen::new(Ink::Main, Weight::Medium));

    let size = look.words * 0.88;
    let axis = |x: f64| DVec2::new(x, foot);
    d.line(
        axis(lane.x[0]),
        axis(lane.x[1]),
        Pen::new(Ink::Quiet, Weight::Fine),
    );
    let list = ticks(0.0, most, if look.is_narrow() { 5 } else { 9 });
    let step = list.get(1).copied().unwrap_or(1.0);
    for t in list {
        let x = lane.across(t);
        d.line(
            DVec2::new(x, foot),
            DVec2::new(x, foot - 1.0),
            Pen::new(Ink::Quiet, Weight::Fine),
        );
        d.text(
            DVec2::new(x, foot - 1.4 - 0.8 * size),
            &tick_text(t, step),
            size,
            Anchor::Middle,
            Ink::Quiet,
        );
    }
    let at = DVec2::new(lane.x[1], foot - 2.0 - 1.9 * size);
    d.text(
        at,
        &format!("oil in the pan, {}", volume.name),
        size,
        Anchor::End,
        Ink::Quiet,
    );
    marks(&mut d, findings, &lane, look, length.factor);
    Some(d)
}

/// Volume below a level, by straight lines between the rows of the table; `None` outside it.
fn volume_at(findings: &Findings, level: f64) -> Option<f64> {
    let rows = &findings.pan.heights;
    let after = rows.partition_point(|r| r.height < level);
    let (a, b) = (rows.get(after.checked_sub(1)?)?, rows.get(after)?);
    Some(a.volume + (b.volume - a.volume) * (level - a.height) / (b.height - a.height))
}

/// Levels worth a line, labelled where there is room: labels are pushed apart from the lowest upward.
fn marks(d: &mut Drawing, findings: &Findings, lane: &Lane, look: &Look, factor: f64) {
    let pan = &findings.pan;
    let mut list = vec![
        (pan.mouth[2], "mouth".to_owned(), Ink::Main),
        (pan.level_off, "level, engine off".to_owned(), Ink::OilEdge),
    ];
    if let Some(level) = pan.level_running {
        list.push((level, "level, running".to_owned(), Ink::OilEdge));
    }
    if let Some(gap) = pan.crank_gap {
        list.push((pan.level_off + gap, "crank".to_owned(), Ink::Metal));
    }
    list.retain(|(h, ..)| (lane.value[0]..=lane.value[1]).contains(&(h / factor)));
    list.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut free = f64::NEG_INFINITY;
    for (h, name, ink) in list {
        let y = lane.at(0.0, h / factor).y;
        d.line(
            DVec2::new(lane.x[0], y),
            DVec2::new(lane.x[1], y),
            Pen::dashed(ink, Weight::Fine),
        );
        let base = (y + 0.6).max(free);
        free = base + 1.25 * look.words;
        let words = format!("{name} {}", short(h, Dimension::Length, look.order));
        let ink = if ink == Ink::OilEdge {
            Ink::OilEdge
        } else {
            Ink::Main
        };
        // Low levels stand where the curve is on the left, so labels at the right end are clear of it;
        // high ones read from the left, above the curve.
        let high = y > 0.5 * (lane.y[0] + lane.y[1]);
        let (x, anchor) = if high {
            (lane.x[0] + 1.0, Anchor::Start)
        } else {
            (lane.x[1], Anchor::End)
        };
        d.label(DVec2::new(x, base), &words, look.words, anchor, ink);
    }
}
