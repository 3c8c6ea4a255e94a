//! One moment close up: cover, air, where the oil went, and what the doors did, on one time axis.

use super::Look;
use super::plot::Lane;
use super::spells::spells;
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::{Findings, Moment};
use crate::numbers::axis_unit;
use glam::DVec2;
use measure::Dimension;

/// The moment against time; `None` when its history is empty.
pub fn moment(findings: &Findings, m: &Moment, look: &Look) -> Option<Drawing> {
    let h = &m.history;
    let (start, end) = (*h.time.first()?, *h.time.last()?);
    if end <= start {
        return None;
    }
    let spaces = h.spaces.first().map_or(0, Vec::len);
    let doors = h.doors.first().map_or(0, Vec::len);
    let gap = look.words + 2.6;
    let strip = 4.2;
    let (cover_tall, space_tall, door_tall) = (22.0, 9.0, 4.0);
    let height = 2.0
        + 1.2 * look.words
        + (gap + cover_tall + strip + 1.0)
        + spaces as f64 * (gap + space_tall)
        + doors as f64 * (gap + door_tall)
        + 4.0
        + 2.9 * look.words;
    let id = look.id(&format!("moment-{}", m.rank));
    let mut d = Drawing::new(&id, look.width, height, &format!("Moment {}: {}", m.rank, m.name));
    d.said = m.why.clone();
    let x = [9.5, look.width - 2.0];
    let (length, volume) = (
        axis_unit(Dimension::Length, look.order),
        axis_unit(Dimension::Volume, look.order),
    );

    let head = 2.0 + 1.2 * look.words;
    let mut top = height - head - gap;
    let limit = findings.limits.least_cover;
    let most = h.cover.iter().copied().fold(2.0 * limit, f64::max) / length.factor * 1.05;
    let lane = Lane {
        x,
        y: [top - cover_tall, top],
        time: [start, end],
        value: [0.0, most],
    };
    lane.frame(&mut d, look, &format!("oil over the mouth, {}", length.name), 3);
    lane.area(&mut d, &h.time, &h.cover, length.factor, Fill::Solid(Ink::Oil));
    lane.series(
        &mut d,
        &h.time,
        &h.cover,
        length.factor,
        Pen::new(Ink::OilEdge, Weight::Medium),
    );
    let y = lane.at(start, limit / length.factor).y;
    d.line(
        DVec2::new(x[0], y),
        DVec2::new(x[1], y),
        Pen::dashed(Ink::Bare, Weight::Fine),
    );
    top -= cover_tall + 0.8 + strip;
    for spell in spells(h, limit, m.counts_from) {
        let (a, b) = (lane.across(spell.from), lane.across(spell.to));
        let shape = Path::rectangle(DVec2::new(a, top), DVec2::new(b.max(a + 0.4), top + strip));
        d.paths(
            vec![shape],
            Some(Pen::new(Ink::Main, Weight::Hair)),
            Some(spell.state.fill()),
        );
        let words = spell.state.word();
        if b - a > 0.7 * look.words * words.len() as f64 {
            let at = DVec2::new(0.5 * (a + b), top + 1.2);
            d.label(at, words, look.words * 0.88, Anchor::Middle, Ink::Main);
        }
    }

    for i in 0..spaces {
        top -= gap;
        let facts = findings.pan.spaces.get(i);
        let brim = facts.map_or(0.0, |s| s.volume / volume.factor);
        let litres: Vec<f64> = h
            .spaces
            .iter()
            .map(|row| row.get(i).copied().unwrap_or(f64::NAN))
            .collect();
        let most = litres.iter().fold(0.0, |a: f64, b| a.max(b / volume.factor)) * 1.15;
        let top_value = if brim > 0.0 {
            brim.min(most.max(0.25 * brim))
        } else {
            most
        };
        let lane = Lane {
            x,
            y: [top - space_tall, top],
            time: [start, end],
            value: [0.0, top_value.max(1e-6)],
        };
        let name = facts.map_or_else(|| format!("space {}", i + 1), |s| s.name.clone());
        let mouth = if facts.is_some_and(|s| s.has_mouth) {
            " (mouth)"
        } else {
            ""
        };
        lane.frame(&mut d, look, &format!("{name}{mouth}, {}", volume.name), 2);
        lane.area(&mut d, &h.time, &litres, volume.factor, Fill::Solid(Ink::Oil));
        lane.series(
            &mut d,
            &h.time,
            &litres,
            volume.factor,
            Pen::new(Ink::OilEdge, Weight::Medium),
        );
        top -= space_tall;
    }
    for i in 0..doors {
        top -= gap;
        let facts = findings.pan.doors.get(i);
        let angles: Vec<f64> = h
            .doors
            .iter()
            .map(|row| row.get(i).copied().unwrap_or(f64::NAN))
            .collect();
        let stop = facts.map_or(1.0, |f| f.stop).max(1e-3);
        let lane = Lane {
            x,
            y: [top - door_tall, top],
            time: [start, end],
            value: [0.0, stop],
        };
        let name = facts.map_or_else(|| format!("door {}", i + 1), |f| f.name.clone());
        let widest = angles.iter().copied().fold(0.0, f64::max);
        let name = if widest < 0.02 {
            format!("{name}: shut throughout")
        } else {
            format!(
                "{name}: opens up to {:.0}° of {:.0}°",
                widest.to_degrees(),
                stop.to_degrees()
            )
        };
        lane.frame(&mut d, look, &name, 0);
        lane.area(&mut d, &h.time, &angles, 1.0, Fill::Solid(Ink::Way));
        d.line(
            DVec2::new(x[0], lane.y[0]),
            DVec2::new(x[1], lane.y[0]),
            Pen::new(Ink::Quiet, Weight::Hair),
        );
        top -= door_tall;
    }
    let all = Lane {
        x,
        y: [top - 1.0, height - head + 0.4],
        time: [start, end],
        value: [0.0, 1.0],
    };
    for (t, pen) in [
        (m.worst.time, Pen::new(Ink::Main, Weight::Fine)),
        (m.counts_from, Pen::dashed(Ink::Quiet, Weight::Fine)),
    ] {
        if t > start && t < end {
            let at = all.across(t);
            d.line(DVec2::new(at, all.y[0]), DVec2::new(at, all.y[1]), pen);
        }
    }
    let size = look.words * 0.88;
    let y = all.y[1] + 0.3;
    let worst = all.across(m.worst.time);
    let anchor = if worst > 0.9 * look.width {
        Anchor::End
    } else {
        Anchor::Middle
    };
    d.label(DVec2::new(worst, y), "worst", size, anchor, Ink::Main);
    // Only where the words clear the left edge and the word at the worst instant.
    let counts = all.across(m.counts_from);
    let words = "counts from here";
    let long = 0.52 * size * words.len() as f64;
    if m.counts_from > start && counts > long {
        d.label(DVec2::new(counts, y), words, size, Anchor::End, Ink::Quiet);
    } else if m.counts_from > start && worst - counts > long + 2.0 * look.words {
        d.label(DVec2::new(counts, y), words, size, Anchor::Start, Ink::Quiet);
    }
    all.time_axis(&mut d, look, "time on the drive's clock, s");
    Some(d)
}
