//! The lap trace: g, speed, engine speed and cover, all on one time axis.

use super::Look;
use super::plot::{Lane, span_of};
use super::spells::{State, spells};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::Findings;
use crate::numbers::{axis_unit, line, short};
use glam::DVec2;
use measure::{Dimension, UnitOrder};

/// The drive from start to end with the cover of the computed moments; `None` for a drive without length.
pub fn lap(findings: &Findings, look: &Look) -> Option<Drawing> {
    let trace = &findings.drive.trace;
    let (start, end) = (*trace.time.first()?, *trace.time.last()?);
    if end <= start {
        return None;
    }
    let order = look.order;
    let gap = look.words + 2.6;
    let heights = [15.0, 15.0, 13.0, 13.0, 24.0];
    let strip = 4.2;
    let below = 3.0 + 2.9 * look.words;
    let above = 1.5 * look.words + 2.0;
    let height = above + heights.iter().sum::<f64>() + 5.0 * gap + strip + 2.0 + below;
    let mut d = Drawing::new(
        &look.id("lap"),
        look.width,
        height,
        "The lap, and what stood over the mouth",
    );
    d.said = said(findings, order);

    let x = [9.5, look.width - 2.0];
    let mut top = height - above;
    let mut next = |d: &mut Drawing, tall: f64, value: [f64; 2], name: &str, count: usize| {
        top -= gap;
        let lane = Lane {
            x,
            y: [top - tall, top],
            time: [start, end],
            value,
        };
        lane.frame(d, look, name, count);
        top -= tall;
        lane
    };
    let (g, speed) = (
        axis_unit(Dimension::Acceleration, order),
        axis_unit(Dimension::Speed, order),
    );
    let (rpm, mm) = (
        axis_unit(Dimension::EngineSpeed, order),
        axis_unit(Dimension::Length, order),
    );
    let pen = Pen::new(Ink::Main, Weight::Medium);

    let both = |v: &[f64]| span_of(v.iter().map(|v| v / g.factor)).unwrap_or((0.0, 0.0));
    let widest = |v: &[f64]| both(v).0.abs().max(both(v).1.abs()).max(0.3) * 1.05;
    let reach = widest(&trace.ay);
    let lane = next(
        &mut d,
        heights[0],
        [-reach, reach],
        "sideways, g (turning left is up)",
        4,
    );
    lane.series(&mut d, &trace.time, &trace.ay, g.factor, pen);
    laps(&mut d, findings, &lane, look, height - above + 0.6);
    let reach = widest(&trace.ax);
    let lane = next(
        &mut d,
        heights[1],
        [-reach, reach],
        "along, g (braking is down)",
        4,
    );
    lane.series(&mut d, &trace.time, &trace.ax, g.factor, pen);
    let most = trace.speed.iter().fold(1.0, |a: f64, b| a.max(b / speed.factor)) * 1.05;
    let lane = next(
        &mut d,
        heights[2],
        [0.0, most],
        &format!("road speed, {}", speed.name),
        2,
    );
    lane.series(&mut d, &trace.time, &trace.speed, speed.factor, pen);
    let most = trace
        .engine_speed
        .iter()
        .fold(1.0, |a: f64, b| a.max(b / rpm.factor))
        * 1.05;
    let lane = next(&mut d, heights[3], [0.0, most], "engine speed, rpm", 2);
    lane.series(&mut d, &trace.time, &trace.engine_speed, rpm.factor, pen);

    let limit = findings.limits.least_cover;
    let computed = findings
        .moments
        .iter()
        .flat_map(|m| m.history.cover.iter().copied());
    let rest = trace.cover_at_rest.iter().flatten().copied();
    let most = computed.chain(rest).fold(2.0 * limit, f64::max) / mm.factor * 1.05;
    let name = format!("oil over the mouth, {}", mm.name);
    let lane = next(&mut d, heights[4], [0.0, most], &name, 3);
    if let Some(rest) = &trace.cover_at_rest {
        lane.series(
            &mut d,
            &trace.time,
            rest,
            mm.factor,
            Pen::dashed(Ink::Quiet, Weight::Fine),
        );
    }
    for m in &findings.moments {
        let from = m
            .history
            .time
            .iter()
            .position(|t| *t >= m.counts_from)
            .unwrap_or(0);
        let (time, cover) = (&m.history.time[from..], &m.history.cover[from..]);
        lane.area(&mut d, time, cover, mm.factor, Fill::Solid(Ink::Oil));
        lane.series(
            &mut d,
            time,
            cover,
            mm.factor,
            Pen::new(Ink::OilEdge, Weight::Medium),
        );
    }
    let y = lane.at(start, limit / mm.factor).y;
    d.line(
        DVec2::new(x[0], y),
        DVec2::new(x[1], y),
        Pen::dashed(Ink::Bare, Weight::Fine),
    );
    let words = format!("thin below {}", short(limit, Dimension::Length, order));
    d.label(
        DVec2::new(x[1], y + 0.8),
        &words,
        look.words * 0.88,
        Anchor::End,
        Ink::Main,
    );

    let foot = top - 1.2 - strip;
    states(
        &mut d,
        findings,
        &Lane {
            y: [foot, foot + strip],
            ..lane
        },
        look,
    );
    let axis = Lane {
        y: [foot - 0.8, foot + strip],
        ..lane
    };
    axis.time_axis(&mut d, look, "time on the drive's clock, s");
    Some(d)
}

/// The strip of patterns with words, and the number of each moment above it.
fn states(d: &mut Drawing, findings: &Findings, lane: &Lane, look: &Look) {
    for m in &findings.moments {
        for spell in spells(&m.history, findings.limits.least_cover, m.counts_from) {
            let from = lane.across(spell.from);
            let to = lane.across(spell.to).max(from + 0.5);
            let low = DVec2::new(from, lane.y[0]);
            let shape = Path::rectangle(low, DVec2::new(to, lane.y[1]));
            d.paths(
                vec![shape],
                Some(Pen::new(Ink::Main, Weight::Hair)),
                Some(spell.state.fill()),
            );
            let room = to - from > 0.62 * look.words * spell.state.word().len() as f64;
            if room && spell.state != State::Covered {
                let at = DVec2::new(0.5 * (from + to), lane.y[0] + 1.2);
                d.label(
                    at,
                    spell.state.word(),
                    look.words * 0.88,
                    Anchor::Middle,
                    Ink::Main,
                );
            }
        }
    }
    // The worst moment is numbered last, so that its number lies on top where two crowd each other.
    for m in findings.moments.iter().rev() {
        let at = DVec2::new(lane.across(m.worst.time), lane.y[1] + 24.0 + 1.2);
        d.circle(
            at - DVec2::new(0.0, 0.9),
            1.9,
            Some(Pen::new(Ink::Main, Weight::Fine)),
            Some(Fill::Solid(Ink::Ground)),
        );
        d.strong(
            at - DVec2::new(0.0, 0.9 + 0.33 * look.words),
            &m.rank.to_string(),
            look.words,
            Anchor::Middle,
            Ink::Main,
        );
    }
}

fn laps(d: &mut Drawing, findings: &Findings, lane: &Lane, look: &Look, y: f64) {
    for lap in &findings.drive.laps {
        let x = lane.across(lap.start).max(lane.x[0]);
        d.line(
            DVec2::new(x, y - 1.0),
            DVec2::new(x, y + look.words),
            Pen::new(Ink::Quiet, Weight::Fine),
        );
        let room = lane.across(lap.end) - x > 0.6 * look.words * lap.name.chars().count() as f64;
        if room {
            d.text(
                DVec2::new(x + 0.8, y),
                &lap.name,
                look.words,
                Anchor::Start,
                Ink::Quiet,
            );
        }
    }
}

fn said(findings: &Findings, order: UnitOrder) -> String {
    let mut words = String::from(
        "Sideways and along acceleration, road speed, engine speed and oil over the mouth against time. ",
    );
    for m in &findings.moments {
        words.push_str(&format!(
            "Moment {}, {}: least cover {}, thin for {:.2} s, bare for {:.2} s. ",
            m.rank,
            m.name,
            line(m.least_cover, Dimension::Length, order),
            m.thin_for,
            m.bare_for
        ));
    }
    words
}
